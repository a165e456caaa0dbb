// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_LINES_H
#define LODECARD_BASE_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* A file read line by line, as its bytes arrive: a line is handed on as soon as it is whole. */
struct lines;

/* "-" is standard input. A line of more than `limit` bytes is STATUS_INPUT, and so is a zero byte
 * in a text (`is_text`), whose number the message tells. */
enum status lines_open(const char *path, size_t limit, bool is_text, struct lines **lines,
    struct error *err) MUST_CHECK;

struct line {
    const char *bytes; /* without its new line; a zero byte stands behind; until the next call */
    size_t length;
    size_t number;    /* from 1 */
    long long offset; /* of its first byte */
    bool has_end;     /* false: the file ends without a new line */
};

/* The next line; `*is_found` is false at the end of the file. */
enum status lines_read(
    struct lines *lines, struct line *line, bool *is_found, struct error *err) MUST_CHECK;
void lines_close(struct lines *lines); /* NULL is allowed */

#endif
