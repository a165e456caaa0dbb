// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/document_pen.h"

#include <math.h>

#include "base/memory.h"

#define TEXT 8.0
#define TEXT_LEAST 7.0 /* of tables that would else be too wide */
#define CELL_GAP 10.0  /* between columns */
#define GAP_LEAST 5.0  /* of tables that would else be too wide */
#define ROW_GAP 3.0    /* above and below a row */
#define SHORT_MOST 8   /* rows of a table that is not broken */
#define CAPTION 20.0   /* room for a caption of one line */
#define LEAST 40.0     /* a column of words is never narrower */

struct table {
    struct document_pen *pen;
    const struct block *block;
    double *widths;
    double size; /* of its text */
    double gap;  /* between columns */
    double end;  /* of its lines */
};

/* Columns as wide as they like; columns of words give way until all fit. */
static void set_widths(struct table *table)
{
    const struct block *block = table->block;
    double sum = 0, words = 0;
    for (size_t c = 0; c < block->columns; c++) {
        double height;
        canvas_measure(&table->pen->canvas, block->headings[c], TEXT, &table->widths[c], &height);
        for (size_t r = 0; r < block->rows; r++) {
            double width;
            canvas_measure(
                &table->pen->canvas, block->cells[r * block->columns + c], TEXT, &width, &height);
            table->widths[c] = fmax(table->widths[c], width);
        }
        table->widths[c] += 1; /* rounding must not break a line */
        sum += table->widths[c];
        words += block->is_number[c] ? 0 : table->widths[c];
    }
    const double gaps = (double)(block->columns > 1 ? block->columns - 1 : 1);
    const double whole = table->pen->right - table->pen->left;
    table->gap = fmax(GAP_LEAST, fmin(CELL_GAP, (whole - sum) / gaps));
    const double room = whole - table->gap * (double)(block->columns - 1);
    table->size = TEXT;
    if (sum > room && sum <= room * TEXT / TEXT_LEAST) {
        table->size = TEXT * room / sum;
        for (size_t c = 0; c < block->columns; c++) {
            table->widths[c] *= room / sum;
        }
        sum = room;
    }
    for (size_t c = 0; c < block->columns && sum > room; c++) {
        const double least = fmin(LEAST, table->widths[c]);
        if (words > 0 && !block->is_number[c]) {
            table->widths[c] = fmax(least, table->widths[c] * fmax(0.1, 1 - (sum - room) / words));
        } else if (words == 0) {
            table->widths[c] *= room / sum;
        }
    }
    table->end = table->pen->left - table->gap;
    for (size_t c = 0; c < block->columns; c++) {
        table->end += table->widths[c] + table->gap;
    }
}

/* Rows with a subscript and rows without have the same height. */
static const char tallest[] = "<i>H</i><span size=\"x-small\" rise=\"-2pt\">cB</span>";

static double measure_row(const struct table *table, char *const *cells)
{
    double most = canvas_measure_paragraph(&table->pen->canvas, tallest, table->size, 1000);
    for (size_t c = 0; c < table->block->columns; c++) {
        most = fmax(most,
            canvas_measure_paragraph(&table->pen->canvas, cells[c], table->size, table->widths[c]));
    }
    return most + 2 * ROW_GAP;
}

static void draw_line(const struct table *table, double width)
{
    cairo_t *cr = table->pen->canvas.cr;
    cairo_set_line_width(cr, width);
    cairo_set_source_rgb(cr, 0.6, 0.6, 0.6);
    cairo_move_to(cr, table->pen->left, table->pen->y);
    cairo_line_to(cr, table->end, table->pen->y);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0.1, 0.1, 0.1);
}

static void draw_row(const struct table *table, char *const *cells, const char *tag)
{
    struct document_pen *pen = table->pen;
    const double height = measure_row(table, cells);
    double x = pen->left;
    cairo_tag_begin(pen->canvas.cr, "TR", NULL);
    for (size_t c = 0; c < table->block->columns; c++) {
        cairo_tag_begin(pen->canvas.cr, tag, NULL);
        if (table->block->is_number[c]) {
            canvas_add_text(
                &pen->canvas, cells[c], table->size, x + table->widths[c], pen->y + ROW_GAP, 1, 0);
        } else {
            canvas_add_paragraph(
                &pen->canvas, cells[c], table->size, x, pen->y + ROW_GAP, table->widths[c]);
        }
        cairo_tag_end(pen->canvas.cr, tag);
        x += table->widths[c] + table->gap;
    }
    cairo_tag_end(pen->canvas.cr, "TR");
    pen->y += height;
}

static void draw_head(const struct table *table)
{
    draw_row(table, table->block->headings, "TH");
    draw_line(table, 1);
}

/* A row never stands alone on a page: the last one takes the one before along. */
static void draw(const struct table *table)
{
    const struct block *block = table->block;
    struct document_pen *pen = table->pen;
    const double head = measure_row(table, block->headings);
    cairo_tag_begin(pen->canvas.cr, "Table", NULL);
    draw_head(table);
    for (size_t r = 0; r < block->rows; r++) {
        char *const *cells = block->cells + r * block->columns;
        const size_t page = pen->page;
        const bool is_last_but_one = r + 2 == block->rows && r > 0;
        document_pen_need(
            pen, measure_row(table, cells) +
                     (is_last_but_one ? measure_row(table, cells + block->columns) : 0));
        if (pen->page != page && head < 100) {
            draw_head(table);
        }
        draw_row(table, cells, "TD");
        draw_line(table, 0.4);
    }
    cairo_tag_end(pen->canvas.cr, "Table");
}

/* What must fit on the page for a table to begin there: a short one as a whole, of others the head
 * and two rows. */
static double measure_start(const struct table *table)
{
    const struct block *block = table->block;
    const size_t rows = block->rows <= SHORT_MOST ? block->rows : 2;
    double height = measure_row(table, block->headings) + (block->words != NULL ? CAPTION : 0);
    for (size_t r = 0; r < rows; r++) {
        height += measure_row(table, block->cells + r * block->columns);
    }
    return height;
}

enum status document_table_draw(
    struct document_pen *pen, const struct block *block, struct error *err)
{
    struct table table = {pen, block, memory_create(block->columns, sizeof(double)), 0, 0, 0};
    if (table.widths == NULL) {
        return fail_memory(err);
    }
    set_widths(&table);
    document_pen_need(pen, measure_start(&table));
    if (block->words != NULL) {
        cairo_tag_begin(pen->canvas.cr, "Caption", NULL);
        pen->y += canvas_add_paragraph(
                      &pen->canvas, block->words, TEXT, pen->left, pen->y, pen->right - pen->left) +
                  2;
        cairo_tag_end(pen->canvas.cr, "Caption");
    }
    draw(&table);
    memory_destroy(table.widths);
    return STATUS_OK;
}
