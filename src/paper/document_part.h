// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_DOCUMENT_PART_H
#define LODECARD_PAPER_DOCUMENT_PART_H

#include "base/text.h"
#include "paper/canvas.h"
#include "paper/document.h"

/* A document's blocks, for the two writers. */
enum block_kind {
    BLOCK_HEADING,
    BLOCK_SUBHEADING,
    BLOCK_BREAK,
    BLOCK_PARAGRAPH,
    BLOCK_IDENTITY,
    BLOCK_TABLE,
    BLOCK_CHART,
    BLOCK_VERDICT,
    BLOCK_NOTE,
    BLOCK_CAUTION,
    BLOCK_SIGNATURES,
};

struct block {
    enum block_kind kind;
    enum document_tone tone;
    char *words; /* heading, paragraph, caption, the verdict's word, the note's heading */
    char *more;  /* sentence, message, alternative text */
    char *hint;
    /* table, identity (2 columns), signatures (1 column) */
    size_t columns, rows;
    char **headings; /* columns; NULL: none */
    char **cells;    /* rows * columns */
    bool *is_number; /* columns */
    /* chart */
    const struct chart *chart; /* borrowed */
};

struct document {
    char *title;    /* markup */
    char *subtitle; /* NULL: none */
    char *language;
    enum document_page page;
    char *data; /* NULL: none */
    struct block *blocks;
    size_t count, capacity;
    struct {
        void *object;
        void (*destroy)(void *object);
    } * kept;
    size_t kept_count, kept_capacity;
    bool failed; /* out of memory */
};

enum status document_write_pdf(
    const struct document *document, struct text *bytes, struct error *err) MUST_CHECK;
enum status document_write_html(
    const struct document *document, struct text *bytes, struct error *err) MUST_CHECK;

/* Appends an incremental update (ISO 32000-1, 7.5.6) to a PDF that cairo wrote: language, that the
 * title is shown, alternative texts of the figures in their order, the data as an embedded file. */
struct pdf_update {
    const char *language;
    const char *data; /* NULL: none */
    const char *const *alternatives;
    size_t count;
};
enum status pdf_update_add(
    struct text *pdf, const struct pdf_update *update, struct error *err) MUST_CHECK;

/* Where every embedded data begins, in either format. */
#define DOCUMENT_DATA_NAME "lodecard-report.json"

#endif
