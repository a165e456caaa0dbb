// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/wrap.h"

#include <string.h>

/* Columns of the first `bytes` bytes: code points, which is exact for the letters used here. */
static size_t count_columns(const char *words, size_t bytes)
{
    size_t columns = 0;
    for (size_t i = 0; i < bytes; i++)
        columns += ((unsigned char)words[i] & 0xC0) != 0x80;
    return columns;
}

void wrap_add_blanks(struct text *out, size_t count)
{
    for (size_t i = 0; i < count; i++)
        text_add(out, " ");
}

void wrap_add(struct text *out, const char *words, size_t column, size_t indent)
{
    bool is_first = true; /* of its line */
    while (*words) {
        if (*words == '\n') {
            text_add(out, "\n");
            words++;
            is_first = true;
            column = 0;
            continue;
        }
        const size_t blanks = strspn(words, " ");
        size_t length = strcspn(words + blanks, " \n");
        size_t columns = count_columns(words + blanks, length);
        if (!is_first && column + blanks + columns > WRAP_WIDTH) {
            text_add(out, "\n");
            is_first = true;
            column = 0;
        }
        if (is_first && column == 0 && length > 0) {
            wrap_add_blanks(out, indent);
            column = indent;
        }
        if (!is_first && length > 0) {
            wrap_add_blanks(out, blanks);
            column += blanks;
        }
        text_add_bytes(out, words + blanks, length);
        column += columns;
        is_first = is_first && length == 0;
        words += blanks + length;
    }
    text_add(out, "\n");
}

void wrap_add_left(struct text *out, const char *words, size_t columns)
{
    const size_t width = text_width(words);
    text_add(out, words);
    wrap_add_blanks(out, width < columns ? columns - width : 0);
}

void wrap_add_right(struct text *out, const char *words, size_t columns)
{
    const size_t width = text_width(words);
    wrap_add_blanks(out, width < columns ? columns - width : 0);
    text_add(out, words);
}

void wrap_add_apart(struct text *out, const char *words, size_t columns)
{
    const size_t width = text_width(words);
    wrap_add_blanks(out, width < columns ? columns - width : 1);
    text_add(out, words);
}
