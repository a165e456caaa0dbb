// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_DOCUMENT_H
#define LODECARD_PAPER_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "paper/chart.h"

/* A document of blocks, written as a PDF to sign and file or as one HTML file that needs nothing
 * else, from one description. Blocks come out in the order of the calls. Texts are Pango markup
 * (paper/markup.h makes it), copied. A failed allocation is told by document_write. */

enum document_page { DOCUMENT_A4, DOCUMENT_LETTER };
enum document_tone { DOCUMENT_GOOD, DOCUMENT_OPEN, DOCUMENT_BAD, DOCUMENT_PLAIN };

struct document_options {
    const char *title;
    const char *subtitle; /* NULL: none */
    const char *language; /* "en" */
    enum document_page page;
};

struct document;
enum status document_create(const struct document_options *options, struct document **document,
    struct error *err) MUST_CHECK;
void document_destroy(struct document *document); /* NULL is allowed */

void document_add_heading(struct document *document, const char *words);
void document_add_subheading(struct document *document, const char *words); /* below a heading */
void document_add_paragraph(struct document *document, const char *words);

/* What follows begins on a new page. */
void document_add_break(struct document *document);

/* Names and values, two by two: who and what the document is about. */
void document_add_identity(
    struct document *document, const char *const *names, const char *const *values, size_t count);

/* Columns of numbers stand right. `caption` may be NULL. cells: rows * columns. */
struct document_table {
    const char *caption;
    size_t columns, rows;
    const char *const *headings;
    const char *const *cells;
    const bool *is_number; /* of each column */
};
void document_add_table(struct document *document, const struct document_table *table);

/* `object` is kept as long as the document and destroyed with it, by `destroy`, also when there is
 * no memory to note it: for what charts are in. */
void document_keep(struct document *document, void *object, void (*destroy)(void *object));

/* The chart is borrowed until the document is destroyed. `alternative`: what the picture shows, as
 * plain text for those who do not see it. */
void document_add_chart(struct document *document, const struct chart *chart,
    const char *alternative, const char *caption);

/* A box with a word in large letters and a sentence: a verdict. The frame differs with the tone, so
 * that it can be told without colours. */
void document_add_verdict(
    struct document *document, enum document_tone tone, const char *word, const char *sentence);

/* A note: its code and level, what was seen, what to do. */
void document_add_note(
    struct document *document, const char *heading, const char *message, const char *hint);

/* A framed box of cautions. */
void document_add_caution(struct document *document, const char *words);

/* Lines to sign on, with what stands below each. */
void document_add_signatures(struct document *document, const char *const *roles, size_t count);

/* The numbers behind the document: JSON, which is kept in the file and can be read back. */
void document_set_data(struct document *document, const char *json);

/* A part of it could not be made (no memory): document_write will tell. */
void document_set_failed(struct document *document);

/* Writes `path`, which ends in .pdf, .html or .htm (else STATUS_USAGE): the same bytes for the same
 * document. */
enum status document_write(
    struct document *document, const char *path, struct error *err) MUST_CHECK;
enum status document_check_path(const char *path, struct error *err) MUST_CHECK;

/* The JSON that document_set_data put into the file with these bytes: where it begins and its
 * length. STATUS_INPUT: none is there. HTML's "\u003c" stands as it is: it is JSON for "<". */
enum status document_find_data(const char *name, const char *bytes, size_t length,
    const char **json, size_t *json_length, struct error *err) MUST_CHECK;

#endif
