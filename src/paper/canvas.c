// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/canvas.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/file.h"
#include "base/memory.h"

#define FONT "DejaVu Sans"
#define PNG_SCALE 2.0 /* pixels a point: sharp on today's screens and at 144 dpi on paper */

/* A PDF carries its creation date, which would make every run's bytes differ. */
#define PDF_DATE "2000-01-01T00:00:00Z"

enum canvas_format canvas_find_format(const char *path)
{
    static const char *const ends[CANVAS_FORMAT_COUNT] = {
        [CANVAS_SVG] = ".svg", [CANVAS_PNG] = ".png", [CANVAS_PDF] = ".pdf"};
    size_t length = strlen(path);
    for (int format = 0; format < CANVAS_FORMAT_COUNT; format++)
        if (length > 4 && !strcasecmp(path + length - 4, ends[format]))
            return (enum canvas_format)format;
    return CANVAS_FORMAT_COUNT;
}

static cairo_status_t keep_bytes(void *closure, const unsigned char *bytes, unsigned count)
{
    struct text *text = closure;
    text_add_bytes(text, (const char *)bytes, count);
    return text->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

/* The document's title is plain text. */
static void set_pdf_title(cairo_surface_t *surface, const char *markup)
{
    char *words = NULL;
    if (!markup || !pango_parse_markup(markup, -1, 0, NULL, &words, NULL, NULL))
        return;
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, words);
    g_free(words);
}

static cairo_surface_t *create_surface(
    struct canvas *canvas, double width, double height, const char *title)
{
    cairo_surface_t *surface;
    switch (canvas->format) {
    case CANVAS_SVG:
        surface = cairo_svg_surface_create_for_stream(keep_bytes, &canvas->bytes, width, height);
        cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PT);
        return surface;
    case CANVAS_PDF:
        surface = cairo_pdf_surface_create_for_stream(keep_bytes, &canvas->bytes, width, height);
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, PDF_DATE);
        set_pdf_title(surface, title);
        return surface;
    case CANVAS_PNG:
    case CANVAS_FORMAT_COUNT:
        break;
    }
    return cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)lround(width * PNG_SCALE), (int)lround(height * PNG_SCALE));
}

/* A point of text is a point of the page. Without hinting a text has the same width on every
 * surface, so that all formats look alike. */
static void set_font_options(PangoLayout *layout)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    cairo_font_options_destroy(options);
    pango_cairo_context_set_resolution(pango_layout_get_context(layout), 72);
    pango_context_set_round_glyph_positions(pango_layout_get_context(layout), FALSE);
    pango_layout_context_changed(layout);
}

enum status canvas_create(struct canvas *canvas, enum canvas_format format, double width,
    double height, const char *title, struct error *err)
{
    *canvas = (struct canvas){.format = format};
    if (drawing_load(err) != STATUS_OK)
        return STATUS_IO;
    canvas->surface = create_surface(canvas, width, height, title);
    canvas->cr = cairo_create(canvas->surface);
    if (format == CANVAS_PNG)
        cairo_scale(canvas->cr, PNG_SCALE, PNG_SCALE);
    canvas->layout = pango_cairo_create_layout(canvas->cr);
    if (cairo_status(canvas->cr) != CAIRO_STATUS_SUCCESS || !canvas->layout) {
        enum status status = fail(err, STATUS_FAULT, "", "cannot draw: %s",
            cairo_status_to_string(cairo_status(canvas->cr)));
        canvas_destroy(canvas);
        return status;
    }
    set_font_options(canvas->layout);
    pango_layout_set_wrap(canvas->layout, PANGO_WRAP_WORD_CHAR); /* digests are long words */
    cairo_set_source_rgb(canvas->cr, 1, 1, 1);
    cairo_paint(canvas->cr);
    return STATUS_OK;
}

/* cairo numbers the surfaces of a process and writes that number into an SVG as the name of its one
 * group: the same picture drawn twice would differ. The number goes. */
static void drop_surface_number(struct text *svg)
{
    static const char name[] = "<g id=\"surface";
    char *number = svg->failed || !svg->bytes ? NULL : strstr(svg->bytes, name);
    if (!number)
        return;
    number += sizeof name - 1;
    size_t digits = strspn(number, "0123456789");
    memmove(number, number + digits, svg->length - (size_t)(number + digits - svg->bytes) + 1);
    svg->length -= digits;
}

enum status canvas_finish(struct canvas *canvas, struct error *err)
{
    cairo_status_t status = cairo_status(canvas->cr);
    if (status == CAIRO_STATUS_SUCCESS && canvas->format == CANVAS_PNG)
        status = cairo_surface_write_to_png_stream(canvas->surface, keep_bytes, &canvas->bytes);
    if (status == CAIRO_STATUS_SUCCESS && canvas->format != CANVAS_PNG)
        cairo_show_page(canvas->cr);
    cairo_surface_finish(canvas->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(canvas->surface);
    if (status != CAIRO_STATUS_SUCCESS)
        return fail(err, STATUS_FAULT, "", "cannot draw: %s", cairo_status_to_string(status));
    if (canvas->format == CANVAS_SVG)
        drop_surface_number(&canvas->bytes);
    return canvas->bytes.failed ? fail_memory(err) : STATUS_OK;
}

enum status canvas_write(struct canvas *canvas, const char *path, struct error *err)
{
    enum status status = canvas_finish(canvas, err);
    return status ? status : file_write(path, canvas->bytes.bytes, canvas->bytes.length, err);
}

void canvas_destroy(struct canvas *canvas)
{
    if (canvas->layout)
        g_object_unref(canvas->layout);
    if (canvas->cr)
        cairo_destroy(canvas->cr);
    if (canvas->surface)
        cairo_surface_destroy(canvas->surface);
    text_clear(&canvas->bytes);
    *canvas = (struct canvas){0};
}

static void set_text(struct canvas *canvas, const char *markup, double size)
{
    PangoFontDescription *font = pango_font_description_from_string(FONT);
    pango_font_description_set_size(font, (int)lround(size * PANGO_SCALE));
    pango_layout_set_font_description(canvas->layout, font);
    pango_font_description_free(font);
    pango_layout_set_width(canvas->layout, -1);
    /* Half a text is not for pango: it complains on its own. */
    pango_layout_set_markup(canvas->layout, memory_has_failed() ? "" : markup, -1);
}

void canvas_measure(
    struct canvas *canvas, const char *markup, double size, double *width, double *height)
{
    PangoRectangle box;
    set_text(canvas, markup, size);
    pango_layout_get_extents(canvas->layout, NULL, &box);
    *width = (double)box.width / PANGO_SCALE;
    *height = (double)box.height / PANGO_SCALE;
}

void canvas_add_text(struct canvas *canvas, const char *markup, double size, double x, double y,
    double anchor_x, double anchor_y)
{
    double width;
    double height;
    canvas_measure(canvas, markup, size, &width, &height);
    cairo_move_to(canvas->cr, x - anchor_x * width, y - anchor_y * height);
    pango_cairo_show_layout(canvas->cr, canvas->layout);
}

double canvas_measure_paragraph(
    struct canvas *canvas, const char *markup, double size, double width)
{
    PangoRectangle box;
    set_text(canvas, markup, size);
    pango_layout_set_width(canvas->layout, (int)lround(width * PANGO_SCALE));
    pango_layout_get_extents(canvas->layout, NULL, &box);
    return (double)box.height / PANGO_SCALE;
}

double canvas_add_paragraph(
    struct canvas *canvas, const char *markup, double size, double x, double y, double width)
{
    const double height = canvas_measure_paragraph(canvas, markup, size, width);
    cairo_move_to(canvas->cr, x, y);
    pango_cairo_show_layout(canvas->cr, canvas->layout);
    return height;
}

void canvas_add_text_within(struct canvas *canvas, const char *markup, double size, double x,
    double y, double anchor_y, double width)
{
    PangoRectangle box;
    set_text(canvas, markup, size);
    pango_layout_set_width(canvas->layout, (int)lround(width * PANGO_SCALE));
    pango_layout_set_ellipsize(canvas->layout, PANGO_ELLIPSIZE_END);
    pango_layout_get_extents(canvas->layout, NULL, &box);
    cairo_move_to(canvas->cr, x, y - anchor_y * (double)box.height / PANGO_SCALE);
    pango_cairo_show_layout(canvas->cr, canvas->layout);
    pango_layout_set_ellipsize(canvas->layout, PANGO_ELLIPSIZE_NONE);
}
