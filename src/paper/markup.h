// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_MARKUP_H
#define LODECARD_PAPER_MARKUP_H

#include "base/text.h"

/* Adds words as Pango markup that shows exactly them; what is not UTF-8 becomes U+FFFD, control
 * characters become blanks. */
void markup_add(struct text *out, const char *words);

/* Adds a trade symbol: "HcB" as an italic H with cB below it. */
void markup_add_symbol(struct text *out, const char *symbol);

/* The plain words of a markup; free with memory_destroy; NULL when out of memory or no markup. */
char *markup_copy_plain(const char *markup);

#endif
