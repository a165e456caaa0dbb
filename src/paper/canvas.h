// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_CANVAS_H
#define LODECARD_PAPER_CANVAS_H

#include "base/error.h"
#include "base/text.h"
#include "paper/drawing.h"

/* A page to draw on, kept in memory until it is written. Units are points, from the top left. */
enum canvas_format { CANVAS_SVG, CANVAS_PNG, CANVAS_PDF, CANVAS_FORMAT_COUNT };

struct canvas {
    enum canvas_format format;
    cairo_surface_t *surface;
    cairo_t *cr;
    PangoLayout *layout;
    struct text bytes; /* of the finished file */
};

/* The format that the end of a file's name asks for; CANVAS_FORMAT_COUNT: none. */
enum canvas_format canvas_find_format(const char *path);

/* `title`, in markup, is for the PDF's document information; may be NULL. On failure nothing is to
 * be destroyed. */
enum status canvas_create(struct canvas *canvas, enum canvas_format format, double width,
    double height, const char *title, struct error *err) MUST_CHECK;

/* Finishes the page: `bytes` are the file's. Nothing can be drawn afterwards. */
enum status canvas_finish(struct canvas *canvas, struct error *err) MUST_CHECK;

/* Finishes the page and writes the file. */
enum status canvas_write(struct canvas *canvas, const char *path, struct error *err) MUST_CHECK;
void canvas_destroy(struct canvas *canvas); /* safe on a zeroed struct and twice */

/* Size of a line of markup set in `size` points. */
void canvas_measure(
    struct canvas *canvas, const char *markup, double size, double *width, double *height);

/* Sets a paragraph from the top left corner, its lines no longer than `width` where blanks allow;
 * gives its height. */
double canvas_add_paragraph(
    struct canvas *canvas, const char *markup, double size, double x, double y, double width);

/* The height that paragraph would take. */
double canvas_measure_paragraph(
    struct canvas *canvas, const char *markup, double size, double width);

/* Sets a line of markup: (x, y) is the point of its box given by the anchors (0: left or top, 1:
 * right or bottom). */
void canvas_add_text(struct canvas *canvas, const char *markup, double size, double x, double y,
    double anchor_x, double anchor_y);

/* The same for a line that may be too long: what does not fit into `width` becomes an ellipsis. */
void canvas_add_text_within(struct canvas *canvas, const char *markup, double size, double x,
    double y, double anchor_y, double width);

#endif
