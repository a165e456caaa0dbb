// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_CSV_CELL_H
#define LODECARD_CLI_CSV_CELL_H

#include "base/text.h"

/* Adds a text as a cell of CSV (RFC 4180): in quotes where it holds a comma, a quote or a line
 * break. A text that a spreadsheet would compute, since it begins with = + - @ or a tab, gets an
 * apostrophe ahead of it; what would steer a terminal is made visible (base/visible.h). NULL: an
 * empty cell. */
void csv_cell_add(struct text *out, const char *words);

#endif
