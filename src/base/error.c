// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Ends a text that was cut by the formatter in "...", at the border of a UTF-8 character. */
static void mark_cut(char *buffer, size_t size)
{
    static const char dots[] = "...";
    size_t end = size - sizeof dots;
    while (end > 0 && ((unsigned char)buffer[end] & 0xC0) == 0x80) {
        end--;
    }
    memcpy(buffer + end, dots, sizeof dots);
}

static void format_into(char *buffer, size_t size, const char *format, va_list arguments)
{
    int length = vsnprintf(buffer, size, format, arguments);
    if (length < 0) {
        buffer[0] = '\0';
    } else if ((size_t)length >= size) {
        mark_cut(buffer, size);
    }
}

/* A hint is plain text: it may hold '%'. */
static void copy_into(char *buffer, size_t size, const char *words)
{
    size_t length = strlen(words);
    if (length < size) {
        memcpy(buffer, words, length + 1);
        return;
    }
    memcpy(buffer, words, size - 1);
    buffer[size - 1] = '\0';
    mark_cut(buffer, size);
}

enum status fail(struct error *err, enum status status, const char *hint, const char *format, ...)
{
    if (err == NULL) {
        return status;
    }
    /* Formatted apart: an argument may be the message that stands in `err` already. */
    struct error made = {.status = status};
    va_list arguments;
    va_start(arguments, format);
    format_into(made.message, sizeof made.message, format, arguments);
    va_end(arguments);
    copy_into(made.hint, sizeof made.hint, hint != NULL ? hint : "");
    *err = made;
    return status;
}

enum status fail_memory(struct error *err)
{
    return fail(
        err, STATUS_FAULT, "close other programs, or use a shorter capture", "out of memory");
}
