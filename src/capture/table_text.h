// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_TEXT_H
#define LODECARD_CAPTURE_TABLE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/reader.h"

/* The text of a logger table as UTF-8, whatever its encoding: a window that slides over the file.
 *
 * A byte order mark tells UTF-8 and UTF-16; without one the text is UTF-8 when its head is valid
 * UTF-8, and Latin-1 (ISO 8859-1) otherwise. */
enum table_encoding {
    TABLE_ENCODING_UTF8,
    TABLE_ENCODING_UTF16_LITTLE,
    TABLE_ENCODING_UTF16_BIG,
    TABLE_ENCODING_LATIN1,
};

#define TABLE_LINE_LIMIT ((size_t)1 << 20) /* bytes of one line, or of one row with its quotes */
#define TABLE_HEAD_LIMIT ((size_t)1 << 20) /* bytes in which the table must begin */

struct table_text {
    struct source *source; /* borrowed */
    const char *path;      /* borrowed, for messages */
    enum table_encoding encoding;
    char *bytes;
    size_t begin;    /* of what is not taken yet */
    size_t complete; /* behind the last line end: whole lines stand between begin and here */
    size_t end;      /* of the window */
    size_t capacity;
    bool is_at_end;     /* the file has no more; its last line has been given an end */
    unsigned char *raw; /* bytes to be decoded (not for UTF-8) */
    size_t raw_count;
};

/* Reads the head: at least `lines` lines, unless the file or TABLE_HEAD_LIMIT ends sooner, and
 * finds the encoding. Empty files and files that are no text are refused. The struct must be
 * zeroed; table_text_clear it in any case. */
enum status table_text_init(struct table_text *text, struct source *source, const char *path,
    size_t lines, struct error *err) MUST_CHECK;

/* Reads more behind the window, dropping what was taken: pointers into the window become invalid.
 * Without more to read it only sets is_at_end. */
enum status table_text_fill(struct table_text *text, struct error *err) MUST_CHECK;

/* A line beyond TABLE_LINE_LIMIT. */
enum status table_text_fail_long(const struct table_text *text, size_t line, struct error *err);

void table_text_clear(struct table_text *text); /* safe on a zeroed struct and twice */

/* "UTF-8", "UTF-16" or "Latin-1". */
const char *table_encoding_get_name(enum table_encoding encoding);

/* A short, printable copy of foreign bytes for a message: at most TABLE_QUOTE_SIZE - 1 bytes, cut
 * at a character's border and then ending in "...". */
#define TABLE_QUOTE_SIZE 64
const char *table_quote(char buffer[TABLE_QUOTE_SIZE], const char *bytes, size_t length);

#endif
