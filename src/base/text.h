// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_TEXT_H
#define LODECARD_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A growing text. A zeroed struct is an empty text. A failed allocation sets `failed` and later
 * calls do nothing, so that a writer checks once at its end. */
struct text {
    char *bytes; /* always ends in a zero byte once something was added; NULL before */
    size_t length;
    size_t capacity;
    bool failed;
};

void text_clear(struct text *text); /* frees; safe on a zeroed struct and twice */
void text_add(struct text *text, const char *words);
void text_add_bytes(struct text *text, const char *bytes, size_t count);
void text_add_format(struct text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The shortest decimal form (15 to 17 significant digits) that reads back to the same double,
 * with '.' whatever the locale. "nan", "inf" and "-inf" for what is not finite. */
#define TEXT_NUMBER_SIZE 32
const char *text_number(char buffer[TEXT_NUMBER_SIZE], double value);

/* The word of `words` (a list that ends in NULL) nearest to `word` by edit distance, letters'
 * case ignored, or NULL when none is near enough to be a likely slip. */
const char *text_nearest(const char *word, const char *const *words);

/* Number of columns a UTF-8 text takes on a terminal (one per code point, none for combining). */
size_t text_width(const char *words);

/* Reads one UTF-8 character (RFC 3629) of at most `length` bytes: the number of bytes it takes, and
 * its code point; 0, with `code` untouched, where there is no valid one. */
size_t text_read_character(const char *bytes, size_t length, uint32_t *code);

/* Correctly rounded, locale-free reading of a decimal number with '.' as its point. Reads from
 * `bytes` (at most `length`), gives the number of bytes taken, 0 if there is no number. Does not
 * read hexadecimal, "nan" or "inf"; a number beyond the largest double gives infinity. No blanks
 * are skipped; "5." and ".5" are numbers. */
size_t text_read_number(const char *bytes, size_t length, double *value);

/* The file name without its folders: what a result may name (never a path). */
const char *text_base_name(const char *path);

/* The words, or "" for NULL. */
const char *text_or_empty(const char *words);

#endif
