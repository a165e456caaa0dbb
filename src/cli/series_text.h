// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_SERIES_TEXT_H
#define LODECARD_CLI_SERIES_TEXT_H

#include "base/text.h"
#include "series/series.h"

/* A series as a page that people read, 80 columns wide. */
void series_text_add(struct text *out, const struct series *series);

/* A line for each loop: file, row, specimen, every figure with its u, codes of notes. Reads back as
 * a table of measured loops. */
void series_csv_add(struct text *out, const struct series *series);

#endif
