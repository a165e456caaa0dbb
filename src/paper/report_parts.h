// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_PARTS_H
#define LODECARD_PAPER_REPORT_PARTS_H

#include "loop/note.h"
#include "paper/document.h"
#include "paper/report_data.h"
#include "paper/report_table.h"

/* What all reports have: who and what they are about, the recordings they rest on, and the lines to
 * sign on. Plain words, borrowed. */
struct report_words {
    const char *title;                                            /* NULL: the kind's own */
    const char *number, *date, *laboratory, *order, *prepared_by; /* NULL: not given */
    const char *const *remarks;
    size_t remark_count;
    enum document_page page;
};

/* Title and subtitle are plain words; words->title goes before. */
enum status report_begin(const struct report_words *words, const char *title, const char *subtitle,
    struct document **document, struct error *err) MUST_CHECK;

/* The same for a title that was put together, which is cleared in any case. */
enum status report_begin_titled(const struct report_words *words, struct text *title,
    const char *subtitle, struct document **document, struct error *err) MUST_CHECK;

/* Hands the document over to `document` when `status` is good, else throws it away; returns
 * `status`. */
enum status report_finish(
    struct document *made, enum status status, struct document **document) MUST_CHECK;

/* Rows of the identity: number, date, laboratory, order, as far as they are given. */
void report_add_identity(struct report_table *identity, const struct report_words *words);

/* The program and its version. */
void report_add_program(struct report_table *identity);

/* "Recordings": each loop's file and digest; the rigs with the day of their calibration. */
void report_add_inputs(struct document *document, const struct report_input *inputs, size_t count);

/* Notes on a capture or a result, or that there are none. */
void report_add_notes(struct document *document, const struct notes *notes);

/* "Remarks" of words, if there are any. */
void report_add_remarks(struct document *document, const struct report_words *words);

/* Lines to sign on: who measured (or prepared_by), who checked, who releases. */
void report_add_signatures(struct document *document, const struct report_words *words);

/* Cautions for those who handle wound rings. */
void report_add_caution(struct document *document);

#endif
