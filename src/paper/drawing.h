// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_DRAWING_H
#define LODECARD_PAPER_DRAWING_H

/* cairo and pango by their usual names, loaded when the first picture is drawn: they bring thirty
 * libraries along, whose loading takes as long as half of what a short capture needs, and most runs
 * draw nothing. Include this in their headers' place. A function that is missing here does not
 * link: it needs a line in each of the two lists. */
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <pango/pangocairo.h>

#include "base/error.h"

/* Before anything is drawn or measured; safe to call often and from several threads. */
enum status drawing_load(struct error *err) MUST_CHECK;

/* clang-format off */
#define DRAWING_FUNCTIONS(DO) \
    DO(cairo_arc) DO(cairo_clip) DO(cairo_close_path) DO(cairo_create) DO(cairo_destroy) \
    DO(cairo_fill) DO(cairo_fill_preserve) DO(cairo_font_options_create) \
    DO(cairo_font_options_destroy) DO(cairo_font_options_set_antialias) \
    DO(cairo_font_options_set_hint_metrics) DO(cairo_font_options_set_hint_style) \
    DO(cairo_image_surface_create) DO(cairo_line_to) DO(cairo_move_to) DO(cairo_new_path) \
    DO(cairo_paint) DO(cairo_pdf_surface_add_outline) DO(cairo_pdf_surface_create_for_stream) \
    DO(cairo_pdf_surface_set_metadata) DO(cairo_rectangle) DO(cairo_restore) DO(cairo_save) \
    DO(cairo_scale) DO(cairo_set_dash) DO(cairo_set_line_join) DO(cairo_set_line_width) \
    DO(cairo_set_source_rgb) DO(cairo_show_page) DO(cairo_status) DO(cairo_status_to_string) \
    DO(cairo_stroke) DO(cairo_surface_destroy) DO(cairo_surface_finish) DO(cairo_surface_status) \
    DO(cairo_surface_write_to_png_stream) DO(cairo_svg_surface_create_for_stream) \
    DO(cairo_svg_surface_set_document_unit) DO(cairo_tag_begin) DO(cairo_tag_end) \
    DO(cairo_translate) DO(g_free) DO(g_object_unref) DO(pango_cairo_context_set_font_options) \
    DO(pango_cairo_context_set_resolution) DO(pango_cairo_create_layout) \
    DO(pango_cairo_show_layout) DO(pango_context_set_round_glyph_positions) \
    DO(pango_font_description_free) DO(pango_font_description_from_string) \
    DO(pango_font_description_set_size) DO(pango_layout_context_changed) \
    DO(pango_layout_get_context) DO(pango_layout_get_extents) DO(pango_layout_set_ellipsize) \
    DO(pango_layout_set_font_description) DO(pango_layout_set_markup) DO(pango_layout_set_width) \
    DO(pango_layout_set_wrap) \
    DO(pango_parse_markup)
/* clang-format on */

#define DRAWING_POINTER(name) __typeof__(name) *at_##name;
/* What the library calls so, NULL before it is loaded. */
extern struct drawing {
    DRAWING_FUNCTIONS(DRAWING_POINTER)
} drawing;
#undef DRAWING_POINTER

#define cairo_arc (*drawing.at_cairo_arc)
#define cairo_clip (*drawing.at_cairo_clip)
#define cairo_close_path (*drawing.at_cairo_close_path)
#define cairo_create (*drawing.at_cairo_create)
#define cairo_destroy (*drawing.at_cairo_destroy)
#define cairo_fill (*drawing.at_cairo_fill)
#define cairo_fill_preserve (*drawing.at_cairo_fill_preserve)
#define cairo_font_options_create (*drawing.at_cairo_font_options_create)
#define cairo_font_options_destroy (*drawing.at_cairo_font_options_destroy)
#define cairo_font_options_set_antialias (*drawing.at_cairo_font_options_set_antialias)
#define cairo_font_options_set_hint_metrics (*drawing.at_cairo_font_options_set_hint_metrics)
#define cairo_font_options_set_hint_style (*drawing.at_cairo_font_options_set_hint_style)
#define cairo_image_surface_create (*drawing.at_cairo_image_surface_create)
#define cairo_line_to (*drawing.at_cairo_line_to)
#define cairo_move_to (*drawing.at_cairo_move_to)
#define cairo_new_path (*drawing.at_cairo_new_path)
#define cairo_paint (*drawing.at_cairo_paint)
#define cairo_pdf_surface_add_outline (*drawing.at_cairo_pdf_surface_add_outline)
#define cairo_pdf_surface_create_for_stream (*drawing.at_cairo_pdf_surface_create_for_stream)
#define cairo_pdf_surface_set_metadata (*drawing.at_cairo_pdf_surface_set_metadata)
#define cairo_rectangle (*drawing.at_cairo_rectangle)
#define cairo_restore (*drawing.at_cairo_restore)
#define cairo_save (*drawing.at_cairo_save)
#define cairo_scale (*drawing.at_cairo_scale)
#define cairo_set_dash (*drawing.at_cairo_set_dash)
#define cairo_set_line_join (*drawing.at_cairo_set_line_join)
#define cairo_set_line_width (*drawing.at_cairo_set_line_width)
#define cairo_set_source_rgb (*drawing.at_cairo_set_source_rgb)
#define cairo_show_page (*drawing.at_cairo_show_page)
#define cairo_status (*drawing.at_cairo_status)
#define cairo_status_to_string (*drawing.at_cairo_status_to_string)
#define cairo_stroke (*drawing.at_cairo_stroke)
#define cairo_surface_destroy (*drawing.at_cairo_surface_destroy)
#define cairo_surface_finish (*drawing.at_cairo_surface_finish)
#define cairo_surface_status (*drawing.at_cairo_surface_status)
#define cairo_surface_write_to_png_stream (*drawing.at_cairo_surface_write_to_png_stream)
#define cairo_svg_surface_create_for_stream (*drawing.at_cairo_svg_surface_create_for_stream)
#define cairo_svg_surface_set_document_unit (*drawing.at_cairo_svg_surface_set_document_unit)
#define cairo_tag_begin (*drawing.at_cairo_tag_begin)
#define cairo_tag_end (*drawing.at_cairo_tag_end)
#define cairo_translate (*drawing.at_cairo_translate)
#define g_free (*drawing.at_g_free)
#define g_object_unref (*drawing.at_g_object_unref)
#define pango_cairo_context_set_font_options (*drawing.at_pango_cairo_context_set_font_options)
#define pango_cairo_context_set_resolution (*drawing.at_pango_cairo_context_set_resolution)
#define pango_cairo_create_layout (*drawing.at_pango_cairo_create_layout)
#define pango_cairo_show_layout (*drawing.at_pango_cairo_show_layout)
#define pango_context_set_round_glyph_positions                                                    \
    (*drawing.at_pango_context_set_round_glyph_positions)
#define pango_font_description_free (*drawing.at_pango_font_description_free)
#define pango_font_description_from_string (*drawing.at_pango_font_description_from_string)
#define pango_font_description_set_size (*drawing.at_pango_font_description_set_size)
#define pango_layout_context_changed (*drawing.at_pango_layout_context_changed)
#define pango_layout_get_context (*drawing.at_pango_layout_get_context)
#define pango_layout_get_extents (*drawing.at_pango_layout_get_extents)
#define pango_layout_set_ellipsize (*drawing.at_pango_layout_set_ellipsize)
#define pango_layout_set_font_description (*drawing.at_pango_layout_set_font_description)
#define pango_layout_set_markup (*drawing.at_pango_layout_set_markup)
#define pango_layout_set_width (*drawing.at_pango_layout_set_width)
#define pango_layout_set_wrap (*drawing.at_pango_layout_set_wrap)
#define pango_parse_markup (*drawing.at_pango_parse_markup)

#endif
