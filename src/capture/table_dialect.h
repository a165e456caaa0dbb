// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_DIALECT_H
#define LODECARD_CAPTURE_TABLE_DIALECT_H

#include "base/error.h"
#include "capture/capture.h"
#include "capture/table_head.h"
#include "capture/table_header.h"
#include "capture/table_run.h"
#include "capture/table_text.h"

/* How a table is written, found from its head.
 *
 * Every separator is tried. One under which some column's cells are digits and signs but no numbers
 * ("5;2" between commas) is out; of the others the one that gives the most numbers wins. Where the
 * same digits can be read in two ways, nothing is guessed: the error says which option settles it.
 *
 *     1,234 on every line, no header        two columns, a decimal comma, or thousands
 *     1,234,567 on every line, no header    three columns, or thousands
 *     1,234 <tab> 5,678 (or blanks, or one column with a header): decimal commas or thousands, when
 *                                           every comma has one to three digits that do not begin
 *                                           with 0 ahead and exactly three behind
 *
 * Semicolons part cells where the comma is the decimal sign: 1,234;5,678 is clear. */
struct table_dialect {
    char separator;   /* ',' ';' '\t' ' ' or TABLE_ONE_COLUMN */
    char decimal;     /* '.' ',' or TABLE_DECIMAL_UNKNOWN: whole numbers only, as far as looked */
    bool joins_dates; /* blanks part cells, but not a date from its clock */
    struct table_head head;
    struct table_run run;
    struct table_header header;
};

/* `text` must hold the head; pointers into it are kept until table_dialect_clear. The struct must
 * be zeroed. */
enum status table_dialect_find(struct table_dialect *dialect, const struct table_text *text,
    const struct capture_options *options, struct error *err) MUST_CHECK;
void table_dialect_clear(struct table_dialect *dialect); /* safe on a zeroed struct and twice */

/* "semicolons", "one column"; "decimal commas", "whole numbers". */
const char *table_separator_get_name(char separator);
const char *table_decimal_get_name(char decimal);

#endif
