// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/markup.h"

#include <string.h>

#include "base/memory.h"
#include "base/visible.h"
#include "paper/drawing.h"

/* Bytes of the UTF-8 letter that begins at `at`, 0 when there is none: RFC 3629, with its limits on
 * the second byte (no overlong forms, no surrogates, nothing above U+10FFFF). */
static size_t letter_length(const unsigned char *at)
{
    unsigned char least = 0x80;
    unsigned char most = 0xBF;
    size_t length;
    if (at[0] < 0x80)
        return 1;
    if (at[0] >= 0xC2 && at[0] <= 0xDF)
        length = 2;
    else if (at[0] >= 0xE0 && at[0] <= 0xEF)
        length = 3;
    else if (at[0] >= 0xF0 && at[0] <= 0xF4)
        length = 4;
    else
        return 0;
    if (at[0] == 0xE0)
        least = 0xA0;
    if (at[0] == 0xED)
        most = 0x9F;
    if (at[0] == 0xF0)
        least = 0x90;
    if (at[0] == 0xF4)
        most = 0x8F;
    if (at[1] < least || at[1] > most)
        return 0;
    for (size_t i = 2; i < length; i++)
        if (at[i] < 0x80 || at[i] > 0xBF)
            return 0;
    return length;
}

void markup_add(struct text *out, const char *words)
{
    for (const char *at = words; *at;) {
        size_t length = letter_length((const unsigned char *)at);
        char piece[VISIBLE_SIZE];
        size_t taken, shown = visible_write(piece, at, length ? length : 1, "\n\t\r", &taken);
        if (length == 0)
            text_add(out, "\uFFFD");
        else if (*at == '&')
            text_add(out, "&amp;");
        else if (*at == '<')
            text_add(out, "&lt;");
        else if (*at == '>')
            text_add(out, "&gt;");
        else if ((unsigned char)*at < ' ' || *at == 0x7F)
            text_add(out, " ");
        else
            text_add_bytes(out, piece, shown);
        at += length ? length : 1;
    }
}

/* One symbol: its first letter in italics, the rest below it. */
static void add_symbol(struct text *out, const char *symbol, size_t length)
{
    size_t head = letter_length((const unsigned char *)symbol);
    if (head == 0 || length < head)
        return;
    text_add(out, "<i>");
    text_add_bytes(out, symbol, head);
    text_add(out, "</i>");
    if (length == head)
        return;
    /* <sub> of Pango 1.50 sets this font's subscripts larger than their symbol */
    struct text below = {0};
    text_add_bytes(&below, symbol + head, length - head);
    text_add(out, "<span size=\"x-small\" rise=\"-2pt\">");
    markup_add(out, below.failed ? "" : below.bytes);
    text_add(out, "</span>");
    out->failed = out->failed || below.failed;
    text_clear(&below);
}

/* What a ratio is by: "4HmBm" is a number and two symbols. */
static void add_divisor(struct text *out, const char *words)
{
    size_t digits = strspn(words, "0123456789");
    text_add_bytes(out, words, digits);
    for (words += digits; *words;) {
        size_t length = 1 + strcspn(words + 1, "ABCDEFGHIJKLMNOPQRSTUVWXYZ");
        add_symbol(out, words, length);
        words += length;
    }
}

void markup_add_symbol(struct text *out, const char *symbol)
{
    size_t length = strcspn(symbol, "/");
    if (length > 1 && strspn(symbol, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == length) {
        text_add_bytes(out, symbol, length); /* an abbreviation */
    } else {
        add_symbol(out, symbol, length);
    }
    if (symbol[length] == '/') {
        text_add(out, "/");
        add_divisor(out, symbol + length + 1);
    }
}

char *markup_copy_plain(const char *markup)
{
    char *words = NULL;
    if (drawing_load(NULL) != STATUS_OK ||
        !pango_parse_markup(markup, -1, 0, NULL, &words, NULL, NULL))
        return NULL;
    char *copy = memory_copy_text(words);
    g_free(words);
    return copy;
}
