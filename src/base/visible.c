// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/visible.h"

#include <stdio.h>
#include <string.h>

/* Of the format characters those that reorder what is shown (Unicode Standard Annex 9), and the two
 * separators that some programs take for the end of a line. */
bool visible_is_steering(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x061C || code == 0x200E ||
           code == 0x200F || (code >= 0x2028 && code <= 0x202E) ||
           (code >= 0x2066 && code <= 0x2069);
}

static int write_code(char piece[VISIBLE_SIZE], uint32_t code)
{
    if (code == '\n' || code == '\t' || code == '\r') {
        const int letter = code == '\n' ? 'n' : code == '\t' ? 't' : 'r';
        return snprintf(piece, VISIBLE_SIZE, "\\%c", letter);
    }
    return snprintf(piece, VISIBLE_SIZE, code < 0x80 ? "\\x%02x" : "\\u%04x", code & 0xFFFF);
}

size_t visible_write(
    char piece[VISIBLE_SIZE], const char *bytes, size_t length, const char *kept, size_t *taken)
{
    uint32_t code = 0;
    if (length > 0 && bytes[0] >= ' ' && bytes[0] < 0x7F) { /* nearly all of them */
        piece[0] = bytes[0];
        *taken = 1;
        return 1;
    }
    const size_t size = text_read_character(bytes, length, &code);
    *taken = size > 0 ? size : 1;
    if (size == 0) {
        return (size_t)snprintf(piece, VISIBLE_SIZE, "\\x%02x", (unsigned char)bytes[0]);
    }
    if (visible_is_steering(code) &&
        (code == 0 || code > 0x7F || strchr(kept, (int)code) == NULL)) {
        return (size_t)write_code(piece, code);
    }
    memcpy(piece, bytes, size);
    return size;
}

void visible_add(struct text *out, const char *bytes, size_t length, const char *kept)
{
    char piece[VISIBLE_SIZE];
    for (size_t at = 0, taken; at < length; at += taken) {
        const size_t size = visible_write(piece, bytes + at, length - at, kept, &taken);
        text_add_bytes(out, piece, size);
    }
}
