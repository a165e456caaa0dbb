// SPDX-License-Identifier: GPL-3.0-or-later
/* One HTML file: style, pictures and data inside, nothing fetched. */
#include <string.h>

#include "base/memory.h"
#include "paper/document_part.h"
#include "paper/markup.h"

static const char style[] =
    ":root{color-scheme:light "
    "dark;--ink:#1a1a1a;--soft:#444;--line:#999;--faint:#ccc;--paper:#fff}\n"
    "body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.5 \"DejaVu "
    "Sans\",Verdana,sans-serif;overflow-wrap:break-word}\n"
    "main{max-width:60rem;margin:0 auto;padding:1.5rem 1rem 3rem}\n"
    "h1{font-size:1.5rem;line-height:1.25;margin:0 0 .25rem}\n"
    "h2{font-size:1.1rem;margin:2rem 0 .5rem;border-bottom:1px solid "
    "var(--line);padding-bottom:.2rem}\n"
    "h3{font-size:1rem;margin:1.5rem 0 .4rem}\n"
    "hr{border:0;margin:3rem 0 0}\n"
    ".subtitle{margin:0 0 1.25rem;color:var(--soft)}\n"
    ".wide{overflow-x:auto}\n"
    "table{border-collapse:collapse;font-size:.875rem;margin:.5rem 0}\n"
    "caption{text-align:left;padding:.25rem 0;color:var(--soft)}\n"
    "th,td{padding:.3rem .7rem;border-bottom:1px solid "
    "var(--faint);text-align:left;vertical-align:top}\n"
    "tbody th{font-weight:400;white-space:nowrap}\n"
    "thead th{border-bottom:2px solid var(--soft);vertical-align:bottom}\n"
    "sub,sup{font-size:.75em;line-height:0}\n"
    ".number{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}\n"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.2rem 1.25rem;margin:.5rem 0}\n"
    "dt{color:var(--soft)}\ndd{margin:0;overflow-wrap:anywhere}\n"
    "figure{margin:1rem 0}\n"
    "figure svg{display:block;width:100%;height:auto;max-width:52rem;background:#fff}\n"
    "figcaption{font-size:.875rem;color:var(--soft)}\n"
    ".verdict,.caution,.note{margin:1rem 0;padding:.75rem 1rem;border:2px solid var(--soft)}\n"
    ".verdict b{display:block;font-size:1.35rem}\n"
    ".good{border-style:solid}\n.open{border-style:dashed}\n.bad{border-style:double;border-width:"
    "6px}\n"
    ".note{border-width:0 0 0 4px;padding:.25rem 1rem}\n.note p{margin:.15rem 0}\n"
    ".caution{border-width:1px}\n"
    ".signatures{display:flex;flex-wrap:wrap;gap:2.5rem 2rem;margin:4rem 0 0}\n"
    ".signatures div{flex:1 1 12rem;border-top:1px solid "
    "var(--soft);font-size:.875rem;padding-top:.25rem}\n"
    "@media (max-width:30rem){dl{grid-template-columns:1fr;gap:0}dd{margin-bottom:.5rem}\n"
    "table{font-size:.8125rem}th,td{padding:.3rem .35rem}\n"
    "figure{overflow-x:auto}figure svg{min-width:24rem}}\n"
    "@media screen and (prefers-color-scheme:dark){:root{--ink:#e6e6e6;--soft:#bbb;"
    "--line:#777;--faint:#555;--paper:#161616}figure svg{padding:.5rem;box-sizing:border-box}}\n"
    "@media print{:root{color-scheme:light}main{max-width:none;padding:0}h2,h3{break-after:avoid}\n"
    "hr{break-after:page;margin:0}.wide{overflow:visible}\n"
    "table{font-size:.75rem}th,td{padding:.2rem .4rem}td{overflow-wrap:anywhere}\n"
    "figure,.verdict,.caution,.note,.signatures,tr{break-inside:avoid}thead{display:table-header-"
    "group}}\n";

/* Markup of ours is HTML but for the subscripts, which Pango sets through a span. */
static void add_markup(struct text *out, const char *markup)
{
    static const char span[] = "<span size=\"x-small\" rise=\"-2pt\">", end[] = "</span>";
    while (*markup != '\0') {
        if (strncmp(markup, span, sizeof span - 1) == 0) {
            text_add(out, "<sub>");
            markup += sizeof span - 1;
        } else if (strncmp(markup, end, sizeof end - 1) == 0) {
            text_add(out, "</sub>");
            markup += sizeof end - 1;
        } else {
            text_add_bytes(out, markup++, 1);
        }
    }
}

static void add_element(struct text *out, const char *tag, const char *markup)
{
    text_add_format(out, "<%s>", tag);
    add_markup(out, markup);
    text_add_format(out, "</%.*s>\n", (int)strcspn(tag, " "), tag);
}

static void add_plain(struct text *out, const char *words)
{
    for (; *words != '\0'; words++) {
        switch (*words) {
        case '<':
            text_add(out, "&lt;");
            break;
        case '&':
            text_add(out, "&amp;");
            break;
        case '"':
            text_add(out, "&quot;");
            break;
        default:
            text_add_bytes(out, words, 1);
        }
    }
}

/* Pictures of one page must not share names: the picture's number goes in front of each. */
static void add_svg(struct text *out, const struct block *block, const char *svg, size_t number)
{
    static const char *const marks[] = {"id=\"", "href=\"#", "url(#"};
    const double width = block->chart->width, height = chart_get_height(block->chart);
    const char *open = strstr(svg, "<svg ");
    const char *at = open == NULL ? NULL : strchr(open, '>');
    if (at == NULL) {
        return;
    }
    /* cairo's own tag has its size in points, which HTML does not take */
    text_add_format(out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" "
        "width=\"%.0f\" height=\"%.0f\" viewBox=\"0 0 %g %g\" role=\"img\" aria-label=\"",
        width, height, width, height);
    add_plain(out, block->more);
    text_add(out, "\"");
    while (*at != '\0') {
        bool is_mark = false;
        for (size_t i = 0; i < sizeof marks / sizeof *marks && !is_mark; i++) {
            const size_t length = strlen(marks[i]);
            if (strncmp(at, marks[i], length) == 0) {
                text_add_format(out, "%sp%zu-", marks[i], number);
                at += length;
                is_mark = true;
            }
        }
        if (!is_mark) {
            text_add_bytes(out, at++, 1);
        }
    }
}

static void add_identity(struct text *out, const struct block *block)
{
    text_add(out, "<dl>\n");
    for (size_t i = 0; i < block->rows; i++) {
        add_element(out, "dt", block->cells[2 * i]);
        add_element(out, "dd", block->cells[2 * i + 1]);
    }
    text_add(out, "</dl>\n");
}

static void add_row(struct text *out, const struct block *block, char *const *cells, bool is_head)
{
    text_add(out, "<tr>");
    for (size_t i = 0; i < block->columns; i++) {
        const char *tag = is_head ? "th scope=\"col\"" : i == 0 ? "th scope=\"row\"" : "td";
        text_add_format(out, "<%s%s>", tag, block->is_number[i] ? " class=\"number\"" : "");
        add_markup(out, cells[i]);
        text_add(out, is_head || i == 0 ? "</th>" : "</td>");
    }
    text_add(out, "</tr>\n");
}

static void add_table(struct text *out, const struct block *block)
{
    text_add(out, "<div class=\"wide\">\n<table>\n");
    if (block->words != NULL) {
        add_element(out, "caption", block->words);
    }
    text_add(out, "<thead>\n");
    add_row(out, block, block->headings, true);
    text_add(out, "</thead>\n<tbody>\n");
    for (size_t i = 0; i < block->rows; i++) {
        add_row(out, block, block->cells + i * block->columns, false);
    }
    text_add(out, "</tbody>\n</table>\n</div>\n");
}

static enum status add_chart(
    struct text *out, const struct block *block, size_t number, struct error *err)
{
    struct canvas canvas;
    enum status status = canvas_create(&canvas, CANVAS_SVG, block->chart->width,
        chart_get_height(block->chart), block->chart->title, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = chart_draw(&canvas, block->chart, err);
    if (status == STATUS_OK) {
        status = canvas_finish(&canvas, err);
    }
    if (status == STATUS_OK) {
        text_add(out, "<figure>\n");
        add_svg(out, block, canvas.bytes.bytes, number);
        if (block->words != NULL) {
            add_element(out, "figcaption", block->words);
        }
        text_add(out, "</figure>\n");
    }
    canvas_destroy(&canvas);
    return status;
}

static void add_verdict(struct text *out, const struct block *block)
{
    static const char *const names[] = {[DOCUMENT_GOOD] = "good",
        [DOCUMENT_OPEN] = "open",
        [DOCUMENT_BAD] = "bad",
        [DOCUMENT_PLAIN] = "plain"};
    text_add_format(out, "<div class=\"verdict %s\">", names[block->tone]);
    add_element(out, "b", block->words);
    add_markup(out, block->more);
    text_add(out, "</div>\n");
}

static void add_note(struct text *out, const struct block *block)
{
    text_add(out, "<div class=\"note\">\n<p><b>");
    add_markup(out, block->words);
    text_add(out, "</b> ");
    add_markup(out, block->more);
    text_add(out, "</p>\n");
    if (block->hint != NULL && block->hint[0] != '\0') {
        add_element(out, "p", block->hint);
    }
    text_add(out, "</div>\n");
}

static void add_signatures(struct text *out, const struct block *block)
{
    text_add(out, "<div class=\"signatures\">\n");
    for (size_t i = 0; i < block->rows; i++) {
        add_element(out, "div", block->cells[i]);
    }
    text_add(out, "</div>\n");
}

static enum status add_block(
    struct text *out, const struct block *block, size_t number, struct error *err)
{
    switch (block->kind) {
    case BLOCK_HEADING:
        add_element(out, "h2", block->words);
        break;
    case BLOCK_SUBHEADING:
        add_element(out, "h3", block->words);
        break;
    case BLOCK_BREAK:
        text_add(out, "<hr>\n");
        break;
    case BLOCK_PARAGRAPH:
        add_element(out, "p", block->words);
        break;
    case BLOCK_IDENTITY:
        add_identity(out, block);
        break;
    case BLOCK_TABLE:
        add_table(out, block);
        break;
    case BLOCK_CHART:
        return add_chart(out, block, number, err);
    case BLOCK_VERDICT:
        add_verdict(out, block);
        break;
    case BLOCK_NOTE:
        add_note(out, block);
        break;
    case BLOCK_CAUTION:
        add_element(out, "div class=\"caution\"", block->words);
        break;
    case BLOCK_SIGNATURES:
        add_signatures(out, block);
        break;
    }
    return STATUS_OK;
}

/* JSON in which nothing can end the element that it stands in. */
static void add_data(struct text *out, const char *json)
{
    text_add(out, "<script type=\"application/json\" id=\"lodecard-report\">");
    for (; *json != '\0'; json++) {
        if (*json == '<') {
            text_add(out, "\\u003c");
        } else {
            text_add_bytes(out, json, 1);
        }
    }
    text_add(out, "</script>\n");
}

enum status document_write_html(
    const struct document *document, struct text *bytes, struct error *err)
{
    char *title = markup_copy_plain(document->title);
    enum status status = STATUS_OK;
    if (title == NULL) {
        return fail_memory(err);
    }
    text_add_format(bytes,
        "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n",
        document->language);
    text_add(bytes, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    text_add(bytes, "<title>");
    add_plain(bytes, title);
    text_add_format(bytes, "</title>\n<style>\n%s</style>\n</head>\n<body>\n<main>\n", style);
    add_element(bytes, "h1", document->title);
    if (document->subtitle != NULL) {
        add_element(bytes, "p class=\"subtitle\"", document->subtitle);
    }
    for (size_t i = 0; i < document->count && status == STATUS_OK; i++) {
        status = add_block(bytes, &document->blocks[i], i + 1, err);
    }
    text_add(bytes, "</main>\n");
    if (document->data != NULL) {
        add_data(bytes, document->data);
    }
    text_add(bytes, "</body>\n</html>\n");
    memory_destroy(title);
    return status;
}
