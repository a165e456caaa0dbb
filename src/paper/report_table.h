// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_TABLE_H
#define LODECARD_PAPER_REPORT_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "paper/document.h"

/* A table of a report while it is filled, cell by cell, row after row. Begin with
 *     struct report_table table = {.columns = 3, .headings = headings, .is_number = is_number};
 * headings is markup. What fails (memory) is told by document_write. */
struct report_table {
    size_t columns;
    const char *const *headings; /* an identity has none */
    const bool *is_number;
    char **cells;
    size_t count, capacity;
    bool failed;
};

/* The next cell: words as they are; "" makes a dash. */
void report_table_add(struct report_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The next cell, in markup. */
void report_table_add_markup(struct report_table *table, const char *markup);

/* Puts the table into the document; caption (markup) may be NULL. Without rows it is left out.
 * Clears it. */
void report_table_finish(
    struct report_table *table, struct document *document, const char *caption);

/* The same for names and values, two columns. */
void report_table_finish_identity(struct report_table *table, struct document *document);

#endif
