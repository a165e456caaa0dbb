// SPDX-License-Identifier: GPL-3.0-or-later
/* Names with their values: in two columns side by side where the values are short. */
#include <math.h>

#include "paper/document_pen.h"

#define LINE_GAP 1.5    /* between rows */
#define ABREAST_LEAST 6 /* rows that are set in two columns */

/* A column of names and values. */
struct column {
    double left, right;
    double value; /* where the values begin */
};

static struct column get_column(struct document_pen *pen, const struct block *block)
{
    struct column column = {.left = pen->left, .right = pen->right};
    double most = 0;
    for (size_t i = 0; i < block->rows; i++) {
        double width, height;
        canvas_measure(&pen->canvas, block->cells[2 * i], DOCUMENT_TEXT, &width, &height);
        most = fmax(most, width);
    }
    column.value = pen->left + fmin(most + 16, 0.4 * (pen->right - pen->left));
    return column;
}

static double measure_pair(
    struct document_pen *pen, char *const *cells, const struct column *column)
{
    return fmax(document_pen_measure(pen, cells[1], DOCUMENT_TEXT, column->right - column->value),
        document_pen_measure(pen, cells[0], DOCUMENT_TEXT, column->value - column->left - 8));
}

static void draw_pair(
    struct document_pen *pen, char *const *cells, const struct column *column, double y)
{
    cairo_tag_begin(pen->canvas.cr, "P", NULL);
    document_pen_set_ink(pen, 0.35);
    canvas_add_paragraph(
        &pen->canvas, cells[0], DOCUMENT_TEXT, column->left, y, column->value - column->left - 8);
    document_pen_set_ink(pen, 0.1);
    canvas_add_paragraph(
        &pen->canvas, cells[1], DOCUMENT_TEXT, column->value, y, column->right - column->value);
    cairo_tag_end(pen->canvas.cr, "P");
}

static void add_pairs(struct document_pen *pen, const struct block *block, size_t from, size_t to,
    const struct column *column)
{
    for (size_t i = from; i < to; i++) {
        const double height = measure_pair(pen, block->cells + 2 * i, column);
        document_pen_need(pen, height);
        draw_pair(pen, block->cells + 2 * i, column, pen->y);
        pen->y += height + LINE_GAP;
    }
}

/* How many rows from `from` on are short enough for two columns side by side. */
static size_t count_short(
    struct document_pen *pen, const struct block *block, size_t from, const struct column *whole)
{
    const double room = 0.5 * (whole->right - whole->left) - (whole->value - whole->left) - 8;
    size_t count = 0;
    for (size_t i = from; i < block->rows; i++, count++) {
        double width, height;
        canvas_measure(&pen->canvas, block->cells[2 * i + 1], DOCUMENT_TEXT, &width, &height);
        if (width > room) {
            break;
        }
    }
    return count;
}

/* The first half left, the second half right of it. */
static void add_pairs_abreast(struct document_pen *pen, const struct block *block, size_t from,
    size_t count, const struct column *whole)
{
    const double step = 0.5 * (whole->right - whole->left);
    const size_t rows = (count + 1) / 2;
    double height = 0;
    for (size_t i = from; i < from + count; i++) {
        height = fmax(height, measure_pair(pen, block->cells + 2 * i, whole) + LINE_GAP);
    }
    document_pen_need(pen, height * (double)rows);
    for (size_t i = 0; i < count; i++) {
        const double shift = i < rows ? 0 : step;
        const struct column column = {whole->left + shift, whole->right, whole->value + shift};
        draw_pair(pen, block->cells + 2 * (from + i), &column,
            pen->y + height * (double)(i < rows ? i : i - rows));
    }
    pen->y += height * (double)rows;
}

void document_identity_draw(struct document_pen *pen, const struct block *block)
{
    const struct column whole = get_column(pen, block);
    for (size_t i = 0; i < block->rows;) {
        const size_t count = count_short(pen, block, i, &whole);
        if (count >= ABREAST_LEAST) {
            add_pairs_abreast(pen, block, i, count, &whole);
            i += count;
        } else {
            const size_t end = i + count + (i + count < block->rows ? 1 : 0);
            add_pairs(pen, block, i, end, &whole);
            i = end;
        }
    }
}
