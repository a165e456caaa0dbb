// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_WRAP_H
#define LODECARD_CLI_WRAP_H

#include <stddef.h>

#include "base/text.h"

#define WRAP_WIDTH 80 /* columns of everything that people read */

/* Adds `words` broken at blanks so that no line passes WRAP_WIDTH. The first line goes on where
 * the text stands, at column `column`; the others begin with `indent` blanks. A new line in
 * `words` breaks the line; ends in a new line. Columns, not bytes: UTF-8. A word that is too long
 * stands alone and whole. */
void wrap_add(struct text *out, const char *words, size_t column, size_t indent);

/* Adds `count` blanks. */
void wrap_add_blanks(struct text *out, size_t count);

/* Adds `words` in a cell of `columns`; a cell that is too narrow grows. */
void wrap_add_left(struct text *out, const char *words, size_t columns);
void wrap_add_right(struct text *out, const char *words, size_t columns);

/* The same with a blank ahead at least. */
void wrap_add_apart(struct text *out, const char *words, size_t columns);

#endif
