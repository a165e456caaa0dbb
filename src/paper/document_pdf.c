// SPDX-License-Identifier: GPL-3.0-or-later
/* Pages from the top down. Everything is drawn twice: the first time tells how many pages there
 * are, which stands at the foot of each. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "paper/document_pen.h"
#include "paper/markup.h"

#define MARGIN 54.0
#define FOOT 30.0 /* from the lower margin to the page's number */
#define TITLE_TEXT 16.0
#define HEADING_TEXT 11.5
#define SUBHEADING_TEXT 9.5
#define SMALL_TEXT 8.0
#define GAP 8.0     /* between blocks */
#define PADDING 8.0 /* within boxes */
#define SIGN_ROOM 44.0
#define SHRINK_MOST 0.75  /* of a chart, to fit into the rest of a page */
#define SIGNED_ROOM 150.0 /* so that signatures never stand alone on a page */

static const double page_widths[] = {[DOCUMENT_A4] = 595.275590551, [DOCUMENT_LETTER] = 612};
static const double page_heights[] = {[DOCUMENT_A4] = 841.889763780, [DOCUMENT_LETTER] = 792};

void document_pen_set_ink(struct document_pen *pen, double grey)
{
    cairo_set_source_rgb(pen->canvas.cr, grey, grey, grey);
}

static void end_page(struct document_pen *pen)
{
    char words[64];
    document_pen_set_ink(pen, 0.35);
    if (pen->pages > 0) {
        snprintf(words, sizeof words, "page %zu of %zu", pen->page, pen->pages);
        const double y = pen->height - MARGIN + FOOT - SMALL_TEXT;
        canvas_add_text(&pen->canvas, words, SMALL_TEXT, pen->right, y, 1, 0);
        canvas_add_text_within(
            &pen->canvas, pen->foot, SMALL_TEXT, pen->left, y, 0, pen->right - pen->left - 90);
    }
    document_pen_set_ink(pen, 0.1);
}

static void turn_page(struct document_pen *pen)
{
    end_page(pen);
    cairo_show_page(pen->canvas.cr);
    pen->page++;
    pen->y = MARGIN;
}

void document_pen_need(struct document_pen *pen, double height)
{
    if (pen->y > MARGIN && pen->y + height > pen->height - MARGIN) {
        turn_page(pen);
    }
}

double document_pen_measure(struct document_pen *pen, const char *markup, double size, double width)
{
    return canvas_measure_paragraph(&pen->canvas, markup, size, width);
}

static void add_lines(struct document_pen *pen, const char *tag, const char *markup, double size)
{
    const double width = pen->right - pen->left;
    document_pen_need(pen, document_pen_measure(pen, markup, size, width));
    cairo_tag_begin(pen->canvas.cr, tag, NULL);
    pen->y += canvas_add_paragraph(&pen->canvas, markup, size, pen->left, pen->y, width);
    cairo_tag_end(pen->canvas.cr, tag);
}

/* An entry of the outline beside the pages, for documents that have several. */
static void add_outline(struct document_pen *pen, const char *markup, bool is_below)
{
    char *words = pen->pages > 1 ? markup_copy_plain(markup) : NULL;
    char place[80];
    if (words == NULL) {
        return;
    }
    snprintf(place, sizeof place, "page=%zu pos=[%.0f %.0f]", pen->page, pen->left, pen->y);
    const int entry = cairo_pdf_surface_add_outline(pen->canvas.surface,
        is_below ? pen->outline : CAIRO_PDF_OUTLINE_ROOT, words, place,
        CAIRO_PDF_OUTLINE_FLAG_OPEN);
    pen->outline = is_below ? pen->outline : entry;
    memory_destroy(words);
}

static double get_chart_scale(const struct document_pen *pen, const struct chart *chart)
{
    const double room = pen->height - 2 * MARGIN - 30;
    return fmin(1, fmin((pen->right - pen->left) / chart->width, room / chart_get_height(chart)));
}

/* What must stand on the same page as the heading above it. */
static double get_lead(const struct document_pen *pen, const struct block *next)
{
    if (next == NULL || next->kind != BLOCK_CHART) {
        return 40;
    }
    return GAP + SHRINK_MOST * get_chart_scale(pen, next->chart) * chart_get_height(next->chart) +
           (next->words != NULL ? 24 : 0);
}

static void add_heading(
    struct document_pen *pen, const struct block *block, const struct block *next)
{
    struct text words = {0};
    const bool is_below = block->kind == BLOCK_SUBHEADING;
    document_pen_need(pen, (is_below ? 20 : 50) + get_lead(pen, next));
    pen->y += is_below ? 0 : GAP;
    add_outline(pen, block->words, is_below);
    text_add_format(&words, "<b>%s</b>", block->words);
    add_lines(pen, is_below ? "H3" : "H2", words.failed ? "" : words.bytes,
        is_below ? SUBHEADING_TEXT : HEADING_TEXT);
    if (!is_below) {
        document_pen_set_ink(pen, 0.5);
        cairo_set_line_width(pen->canvas.cr, 0.6);
        cairo_move_to(pen->canvas.cr, pen->left, pen->y + 2);
        cairo_line_to(pen->canvas.cr, pen->right, pen->y + 2);
        cairo_stroke(pen->canvas.cr);
        document_pen_set_ink(pen, 0.1);
        pen->y += 3;
    }
    text_clear(&words);
}

/* A chart that would just miss the rest of the page is drawn a little smaller. */
static double fit_chart(const struct document_pen *pen, const struct block *block, double scale)
{
    const double room = pen->height - MARGIN - pen->y - (block->words != NULL ? 24 : 0) - 1;
    const double needed = scale * chart_get_height(block->chart);
    return room < needed && room >= SHRINK_MOST * needed ? scale * room / needed : scale;
}

static enum status add_chart(struct document_pen *pen, const struct block *block, struct error *err)
{
    const double width = pen->right - pen->left, height = chart_get_height(block->chart);
    const double scale = fit_chart(pen, block, get_chart_scale(pen, block->chart));
    document_pen_need(pen, scale * height + (block->words != NULL ? 24 : 0));
    cairo_t *cr = pen->canvas.cr;
    cairo_tag_begin(cr, "Figure", NULL);
    cairo_save(cr);
    cairo_translate(cr, pen->left + 0.5 * (width - scale * block->chart->width), pen->y);
    cairo_scale(cr, scale, scale);
    enum status status = chart_draw(&pen->canvas, block->chart, err);
    cairo_restore(cr);
    cairo_tag_end(cr, "Figure");
    document_pen_set_ink(pen, 0.1);
    pen->y += scale * height + 2;
    if (status == STATUS_OK && block->words != NULL) {
        add_lines(pen, "Caption", block->words, SMALL_TEXT);
    }
    return status;
}

/* The frame of a box: solid, dashed or double, so that it is told apart in black and white. */
static void draw_frame(struct document_pen *pen, enum document_tone tone, double height)
{
    static const double dashes[] = {6, 3};
    cairo_t *cr = pen->canvas.cr;
    const double width = pen->right - pen->left;
    document_pen_set_ink(pen, 0.2);
    cairo_set_line_width(cr, tone == DOCUMENT_PLAIN ? 0.6 : 1.4);
    cairo_set_dash(cr, dashes, tone == DOCUMENT_OPEN ? 2 : 0, 0);
    cairo_rectangle(cr, pen->left, pen->y, width, height);
    cairo_stroke(cr);
    cairo_set_dash(cr, NULL, 0, 0);
    if (tone == DOCUMENT_BAD) {
        cairo_rectangle(cr, pen->left + 3, pen->y + 3, width - 6, height - 6);
        cairo_stroke(cr);
    }
    document_pen_set_ink(pen, 0.1);
}

static void add_box(
    struct document_pen *pen, enum document_tone tone, const char *large, const char *words)
{
    struct text head = {0};
    const double width = pen->right - pen->left - 2 * PADDING;
    if (large != NULL) {
        text_add_format(&head, "<b>%s</b>", large);
    }
    const bool has_head = large != NULL && !head.failed;
    const double first =
        has_head ? document_pen_measure(pen, head.bytes, TITLE_TEXT, width) + 2 : 0;
    const double height =
        2 * PADDING + first + document_pen_measure(pen, words, DOCUMENT_TEXT, width);
    document_pen_need(pen, height);
    draw_frame(pen, tone, height);
    cairo_tag_begin(pen->canvas.cr, "P", NULL);
    if (has_head) {
        canvas_add_paragraph(
            &pen->canvas, head.bytes, TITLE_TEXT, pen->left + PADDING, pen->y + PADDING, width);
    }
    canvas_add_paragraph(
        &pen->canvas, words, DOCUMENT_TEXT, pen->left + PADDING, pen->y + PADDING + first, width);
    cairo_tag_end(pen->canvas.cr, "P");
    pen->y += height;
    text_clear(&head);
}

static void add_note(struct document_pen *pen, const struct block *block)
{
    struct text words = {0};
    text_add_format(&words, "<b>%s</b> %s", block->words, block->more);
    if (block->hint != NULL && block->hint[0] != '\0') {
        text_add_format(&words, "\n<i>%s</i>", block->hint);
    }
    add_lines(pen, "P", words.failed ? "" : words.bytes, DOCUMENT_TEXT);
    text_clear(&words);
}

static void add_signatures(struct document_pen *pen, const struct block *block)
{
    const double gap = 18;
    const double count = (double)(block->rows > 0 ? block->rows : 1);
    const double width = (pen->right - pen->left - gap * (count - 1)) / count;
    document_pen_need(pen, SIGN_ROOM + 24);
    pen->y += SIGN_ROOM;
    cairo_set_line_width(pen->canvas.cr, 0.8);
    for (size_t i = 0; i < block->rows; i++) {
        const double x = pen->left + (double)i * (width + gap);
        cairo_move_to(pen->canvas.cr, x, pen->y);
        cairo_line_to(pen->canvas.cr, x + width, pen->y);
        cairo_stroke(pen->canvas.cr);
        canvas_add_paragraph(&pen->canvas, block->cells[i], SMALL_TEXT, x, pen->y + 2, width);
    }
    pen->y += 24;
}

/* `next`: the block behind it; NULL: none. */
static enum status add_block(struct document_pen *pen, const struct block *block,
    const struct block *next, struct error *err)
{
    switch (block->kind) {
    case BLOCK_HEADING:
    case BLOCK_SUBHEADING:
        add_heading(pen, block, next);
        break;
    case BLOCK_BREAK:
        if (pen->y > MARGIN) {
            turn_page(pen);
        }
        break;
    case BLOCK_PARAGRAPH:
        add_lines(pen, "P", block->words, DOCUMENT_TEXT);
        break;
    case BLOCK_IDENTITY:
        document_identity_draw(pen, block);
        break;
    case BLOCK_TABLE:
        return document_table_draw(pen, block, err);
    case BLOCK_CHART:
        return add_chart(pen, block, err);
    case BLOCK_VERDICT:
        add_box(pen, block->tone, block->words, block->more);
        break;
    case BLOCK_NOTE:
        add_note(pen, block);
        break;
    case BLOCK_CAUTION:
        add_box(pen, DOCUMENT_PLAIN, NULL, block->words);
        break;
    case BLOCK_SIGNATURES:
        add_signatures(pen, block);
        break;
    }
    return STATUS_OK;
}

static void add_title(struct document_pen *pen, const struct document *document)
{
    struct text words = {0};
    text_add_format(&words, "<b>%s</b>", document->title);
    add_lines(pen, "H1", words.failed ? "" : words.bytes, TITLE_TEXT);
    if (document->subtitle != NULL) {
        document_pen_set_ink(pen, 0.3);
        add_lines(pen, "P", document->subtitle, DOCUMENT_TEXT);
        document_pen_set_ink(pen, 0.1);
    }
    pen->y += GAP;
    text_clear(&words);
}

/* Draws all; `pages` 0 when they are still to be counted. */
static enum status draw(
    const struct document *document, size_t pages, struct document_pen *pen, struct error *err)
{
    *pen = (struct document_pen){.page = 1,
        .pages = pages,
        .y = MARGIN,
        .left = MARGIN,
        .right = page_widths[document->page] - MARGIN,
        .height = page_heights[document->page],
        .foot = document->title};
    enum status status = canvas_create(&pen->canvas, CANVAS_PDF, page_widths[document->page],
        page_heights[document->page], document->title, err);
    if (status != STATUS_OK) {
        return status;
    }
    document_pen_set_ink(pen, 0.1);
    add_title(pen, document);
    for (size_t i = 0; i < document->count && status == STATUS_OK; i++) {
        const struct block *block = &document->blocks[i];
        const bool has_next = i + 1 < document->count;
        if (has_next && block[1].kind == BLOCK_SIGNATURES) {
            document_pen_need(pen, SIGNED_ROOM);
        }
        status = add_block(pen, block, has_next ? block + 1 : NULL, err);
        pen->y += pen->y > MARGIN ? GAP : 0;
    }
    end_page(pen);
    if (status == STATUS_OK) {
        status = canvas_finish(&pen->canvas, err);
    }
    return status;
}

static enum status update(const struct document *document, struct text *pdf, struct error *err)
{
    struct pdf_update wanted = {.language = document->language, .data = document->data};
    const char **list = memory_create(document->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < document->count; i++) {
        if (document->blocks[i].kind == BLOCK_CHART) {
            list[wanted.count++] = document->blocks[i].more;
        }
    }
    wanted.alternatives = list;
    enum status status = pdf_update_add(pdf, &wanted, err);
    memory_destroy(list);
    return status;
}

enum status document_write_pdf(
    const struct document *document, struct text *bytes, struct error *err)
{
    struct document_pen pen;
    enum status status = draw(document, 0, &pen, err);
    const size_t pages = pen.page;
    canvas_destroy(&pen.canvas);
    if (status == STATUS_OK) {
        status = draw(document, pages, &pen, err);
        if (status == STATUS_OK) {
            *bytes = pen.canvas.bytes;
            pen.canvas.bytes = (struct text){0};
            status = update(document, bytes, err);
        }
        canvas_destroy(&pen.canvas);
    }
    return status;
}
