// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

void text_clear(struct text *text)
{
    memory_destroy(text->bytes);
    *text = (struct text){0};
}

/* Makes room for `count` more bytes and the zero byte behind them. */
static bool reserve(struct text *text, size_t count)
{
    if (text->failed) {
        return false;
    }
    size_t wanted;
    char *bytes = NULL;
    if (!__builtin_add_overflow(text->length + 1, count, &wanted)) {
        bytes = memory_reserve(text->bytes, &text->capacity, wanted, 1);
    }
    if (bytes == NULL) {
        text->failed = true;
        return false;
    }
    text->bytes = bytes;
    return true;
}

void text_add_bytes(struct text *text, const char *bytes, size_t count)
{
    if (!reserve(text, count)) {
        return;
    }
    if (count > 0) {
        memcpy(text->bytes + text->length, bytes, count);
    }
    text->length += count;
    text->bytes[text->length] = '\0';
}

void text_add(struct text *text, const char *words)
{
    text_add_bytes(text, words, strlen(words));
}

void text_add_format(struct text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int count = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (count < 0) {
        text->failed = true;
        return;
    }
    if (!reserve(text, (size_t)count)) {
        return;
    }
    va_start(arguments, format);
    vsnprintf(text->bytes + text->length, (size_t)count + 1, format, arguments);
    va_end(arguments);
    text->length += (size_t)count;
}

/* The formatter writes the decimal point of the caller's locale, which may take several bytes:
 * what is no digit, sign or exponent is that point. */
static void mend_point(char *number)
{
    size_t point = strspn(number, "+-0123456789eE");
    if (number[point] == '\0') {
        return;
    }
    size_t after = point + strcspn(number + point, "0123456789");
    number[point] = '.';
    memmove(number + point + 1, number + after, strlen(number + after) + 1);
}

const char *text_number(char buffer[TEXT_NUMBER_SIZE], double value)
{
    if (isnan(value)) {
        return strcpy(buffer, "nan");
    }
    if (isinf(value)) {
        return strcpy(buffer, value > 0 ? "inf" : "-inf");
    }
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(buffer, TEXT_NUMBER_SIZE, "%.*g", digits, value);
        if (strtod(buffer, NULL) == value) {
            break;
        }
    }
    mend_point(buffer);
    return buffer;
}

size_t text_read_character(const char *bytes, size_t length, uint32_t *code)
{
    static const uint32_t smallest[5] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char *b = (const unsigned char *)bytes;
    if (length == 0) {
        return 0;
    }
    size_t size = b[0] < 0x80       ? 1
                  : b[0] >> 5 == 6  ? 2
                  : b[0] >> 4 == 14 ? 3
                  : b[0] >> 3 == 30 ? 4
                                    : 0;
    if (size == 0 || size > length) {
        return 0;
    }
    uint32_t value = size == 1 ? b[0] : b[0] & (0x7Fu >> size);
    for (size_t i = 1; i < size; i++) {
        if ((b[i] & 0xC0) != 0x80) {
            return 0;
        }
        value = value << 6 | (b[i] & 0x3F);
    }
    if (value < smallest[size] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) {
        return 0;
    }
    *code = value;
    return size;
}

/* Marks that stand on the character before them, and what has no width at all. */
static bool is_zero_width(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || (code >= 0x300 && code <= 0x36F) ||
           (code >= 0x1AB0 && code <= 0x1AFF) || (code >= 0x1DC0 && code <= 0x1DFF) ||
           (code >= 0x200B && code <= 0x200F) || (code >= 0x20D0 && code <= 0x20FF) ||
           (code >= 0xFE20 && code <= 0xFE2F) || code == 0xFEFF;
}

size_t text_width(const char *words)
{
    size_t width = 0;
    size_t length = strlen(words);
    while (length > 0) {
        uint32_t code = 0xFFFD;
        size_t size = text_read_character(words, length, &code);
        width += !is_zero_width(code);
        size = size == 0 ? 1 : size;
        words += size;
        length -= size;
    }
    return width;
}

const char *text_or_empty(const char *words)
{
    return words != NULL ? words : "";
}

const char *text_base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}
