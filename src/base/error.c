// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/error.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/visible.h"

/* Ends a text that was cut in "...", at the border of a UTF-8 character. */
static void mark_cut(char *buffer, size_t size)
{
    static const char dots[] = "...";
    size_t end = size - sizeof dots;
    while (end > 0 && ((unsigned char)buffer[end] & 0xC0) == 0x80) {
        end--;
    }
    memcpy(buffer + end, dots, sizeof dots);
}

/* Copies what may be shown; false: there is no room for all of it. */
static bool copy_visible(char *buffer, size_t size, const char *words, const char *kept)
{
    const size_t length = strlen(words);
    size_t used = 0;
    for (size_t at = 0, taken; at < length; at += taken) {
        char piece[VISIBLE_SIZE];
        const size_t count = visible_write(piece, words + at, length - at, kept, &taken);
        if (used + count >= size) {
            memcpy(buffer + used, piece, size - used); /* mark_cut goes back to its beginning */
            return false;
        }
        memcpy(buffer + used, piece, count);
        used += count;
    }
    buffer[used] = '\0';
    return true;
}

static void fill(struct error *err, enum status status, const char *hint, const char *kept,
    const char *format, va_list arguments)
{
    /* Formatted apart: an argument may be the message that stands in `err` already. */
    char words[sizeof err->message];
    struct error made = {.status = status};
    const int length = vsnprintf(words, sizeof words, format, arguments);
    if (length < 0) {
        words[0] = '\0';
    } else if ((size_t)length >= sizeof words) {
        mark_cut(words, sizeof words);
    }
    if (!copy_visible(made.message, sizeof made.message, words, kept)) {
        mark_cut(made.message, sizeof made.message);
    }
    if (!copy_visible(made.hint, sizeof made.hint, hint != NULL ? hint : "", kept)) {
        mark_cut(made.hint, sizeof made.hint);
    }
    *err = made;
}

enum status fail(struct error *err, enum status status, const char *hint, const char *format, ...)
{
    if (err != NULL) {
        va_list arguments;
        va_start(arguments, format);
        fill(err, status, hint, "", format, arguments);
        va_end(arguments);
    }
    return status;
}

enum status fail_lines(
    struct error *err, enum status status, const char *hint, const char *format, ...)
{
    if (err != NULL) {
        va_list arguments;
        va_start(arguments, format);
        fill(err, status, hint, "\n", format, arguments);
        va_end(arguments);
    }
    return status;
}

enum status fail_memory(struct error *err)
{
    return fail(
        err, STATUS_FAULT, "close other programs, or use a shorter capture", "out of memory");
}
