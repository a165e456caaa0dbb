// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_text.h"

#include <stdint.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/source.h"

#define BLOCK_SIZE ((size_t)1 << 18) /* read at once: stays in the second-level cache */
#define RAW_SIZE ((size_t)1 << 16)
#define MARK_SIZE 3        /* the longest byte order mark */
#define REPLACEMENT 0xFFFD /* for what is no character */

static const char encoding_hint[] =
    "save it as UTF-8 text (CSV); recordings must be in a container that libsndfile reads";

const char *table_encoding_get_name(enum table_encoding encoding)
{
    static const char *const names[] = {[TABLE_ENCODING_UTF8] = "UTF-8",
        [TABLE_ENCODING_UTF16_LITTLE] = "UTF-16",
        [TABLE_ENCODING_UTF16_BIG] = "UTF-16",
        [TABLE_ENCODING_LATIN1] = "Latin-1"};
    return names[encoding];
}

/* --- decoding ---------------------------------------------------------------------------------
 */

static size_t write_character(char *out, uint32_t code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xE0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3F));
        out[2] = (char)(0x80 | (code & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3F));
    out[2] = (char)(0x80 | (code >> 6 & 0x3F));
    out[3] = (char)(0x80 | (code & 0x3F));
    return 4;
}

static uint32_t get_unit(const unsigned char *bytes, bool is_big)
{
    return is_big ? (uint32_t)(bytes[0] << 8 | bytes[1]) : (uint32_t)(bytes[1] << 8 | bytes[0]);
}

/* Decodes one UTF-16 character; the bytes it takes, 0 when it is not there whole. */
static size_t read_utf16(const unsigned char *bytes, size_t count, bool is_big, uint32_t *code)
{
    if (count < 2) {
        return 0;
    }
    uint32_t first = get_unit(bytes, is_big);
    *code = first;
    if (first < 0xD800 || first > 0xDFFF) {
        return 2;
    }
    *code = REPLACEMENT;
    if (first > 0xDBFF) {
        return 2;
    }
    if (count < 4) {
        return 0;
    }
    uint32_t second = get_unit(bytes + 2, is_big);
    if (second < 0xDC00 || second > 0xDFFF) {
        return 2;
    }
    *code = 0x10000 + ((first & 0x3FF) << 10 | (second & 0x3FF));
    return 4;
}

/* Decodes what stands in `raw` to the end of the window, for which there is room. */
static void decode_raw(struct table_text *text)
{
    size_t at = 0;
    uint32_t code;
    bool is_big = text->encoding == TABLE_ENCODING_UTF16_BIG;
    if (text->encoding == TABLE_ENCODING_LATIN1) {
        for (; at < text->raw_count; at++) {
            text->end += write_character(text->bytes + text->end, text->raw[at]);
        }
    } else {
        size_t size = read_utf16(text->raw, text->raw_count, is_big, &code);
        while (size > 0) {
            text->end += write_character(text->bytes + text->end, code);
            at += size;
            size = read_utf16(text->raw + at, text->raw_count - at, is_big, &code);
        }
    }
    text->raw_count -= at;
    memmove(text->raw, text->raw + at, text->raw_count);
}

/* --- the window -------------------------------------------------------------------------------
 */

/* Room for `count` bytes behind the window, and one more for the end of the last line. */
static bool make_room(struct table_text *text, size_t count)
{
    if (text->begin > 0) {
        memmove(text->bytes, text->bytes + text->begin, text->end - text->begin);
        text->end -= text->begin;
        text->complete -= text->begin;
        text->begin = 0;
    }
    char *bytes = memory_reserve(text->bytes, &text->capacity, text->end + count + 1, 1);
    if (bytes == NULL) {
        return false;
    }
    text->bytes = bytes;
    return true;
}

static bool is_line_end(char c)
{
    return c == '\n' || c == '\r';
}

/* A carriage return at the very end may be the first half of a line end: it does not count yet. */
static void find_complete(struct table_text *text)
{
    size_t at = text->end;
    if (!text->is_at_end && at > text->complete && text->bytes[at - 1] == '\r') {
        at--;
    }
    while (at > text->complete && !is_line_end(text->bytes[at - 1])) {
        at--;
    }
    text->complete = at;
}

static void finish(struct table_text *text)
{
    text->is_at_end = true;
    if (text->raw_count > 0) { /* half a character: what it belongs to must not pass for whole */
        text->end += write_character(text->bytes + text->end, REPLACEMENT);
        text->raw_count = 0;
    }
    if (text->end > text->begin && !is_line_end(text->bytes[text->end - 1])) {
        text->bytes[text->end++] = '\n';
    }
}

/* Reads a whole block, however small the pieces are in which it comes: what is found from the head
 * must not depend on them. */
static bool read_block(struct source *source, char *into, size_t wanted, size_t *got)
{
    long piece = 1;
    while (*got < wanted && piece > 0) {
        piece = source_read(source, into + *got, wanted - *got);
        *got += piece > 0 ? (size_t)piece : 0;
    }
    return piece >= 0;
}

enum status table_text_fill(struct table_text *text, struct error *err)
{
    bool is_plain = text->encoding == TABLE_ENCODING_UTF8;
    size_t wanted = is_plain ? BLOCK_SIZE : RAW_SIZE - text->raw_count;
    if (!make_room(text, is_plain ? BLOCK_SIZE : 2 * RAW_SIZE)) {
        return fail_memory(err);
    }
    if (text->is_at_end) {
        return STATUS_OK;
    }
    char *into = is_plain ? text->bytes + text->end : (char *)text->raw + text->raw_count;
    size_t got = 0;
    if (!read_block(text->source, into, wanted, &got)) {
        return source_fail(text->source, err);
    }
    if (is_plain) {
        text->end += got;
    } else {
        text->raw_count += got;
        decode_raw(text);
    }
    if (got == 0) {
        finish(text);
    }
    find_complete(text);
    return STATUS_OK;
}

void table_text_clear(struct table_text *text)
{
    memory_destroy(text->bytes);
    memory_destroy(text->raw);
    *text = (struct table_text){0};
}

/* --- the head and its encoding ----------------------------------------------------------------
 */

/* Takes the first bytes of the file out of the window and has them decoded. */
static enum status start_decoding(
    struct table_text *text, enum table_encoding encoding, size_t mark, struct error *err)
{
    size_t count = text->end - mark;
    size_t room = count < RAW_SIZE ? RAW_SIZE : count;
    text->raw = memory_create(room, 1);
    if (text->raw == NULL) {
        return fail_memory(err);
    }
    memcpy(text->raw, text->bytes + mark, count);
    text->raw_count = count;
    text->encoding = encoding;
    text->begin = text->complete = text->end = 0;
    if (!make_room(text, 2 * room)) {
        return fail_memory(err);
    }
    decode_raw(text);
    find_complete(text);
    return STATUS_OK;
}

static enum status read_mark(struct table_text *text, struct error *err)
{
    static const struct {
        const char *mark;
        size_t size;
        enum table_encoding encoding;
    } list[] = {
        {"\xEF\xBB\xBF", 3, TABLE_ENCODING_UTF8},
        {"\xFF\xFE", 2, TABLE_ENCODING_UTF16_LITTLE},
        {"\xFE\xFF", 2, TABLE_ENCODING_UTF16_BIG},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        if (text->end < list[i].size || memcmp(text->bytes, list[i].mark, list[i].size) != 0) {
            continue;
        }
        if (list[i].encoding == TABLE_ENCODING_UTF8) {
            text->begin = list[i].size;
            text->complete = text->complete > text->begin ? text->complete : text->begin;
            return STATUS_OK;
        }
        return start_decoding(text, list[i].encoding, list[i].size, err);
    }
    return STATUS_OK;
}

/* UTF-8 all through, but for a character that the end of the window cuts. */
static bool is_utf8(const char *bytes, size_t length)
{
    size_t at = 0;
    while (at < length) {
        uint32_t code;
        size_t size = (unsigned char)bytes[at] < 0x80
                          ? 1
                          : text_read_character(bytes + at, length - at, &code);
        if (size == 0) {
            return length - at < 4 && (unsigned char)bytes[at] >= 0xC2;
        }
        at += size;
    }
    return true;
}

static enum status check_is_text(const struct table_text *text, struct error *err)
{
    size_t line = 1;
    for (size_t i = text->begin; i < text->end; i++) {
        unsigned char c = (unsigned char)text->bytes[i];
        bool is_control = c < 0x20 && (c < '\t' || c > '\r') && c != 0x1A;
        line += c == '\n';
        if (is_control) {
            return fail(err, STATUS_INPUT, encoding_hint,
                "'%s' is neither a recording nor a table: byte %zu of its text, on line %zu, is "
                "0x%02X",
                text->path, i - text->begin + 1, line, c);
        }
    }
    return STATUS_OK;
}

static size_t count_lines(const struct table_text *text)
{
    size_t count = 0;
    for (size_t i = text->begin; i < text->complete; i++) {
        char c = text->bytes[i];
        bool is_second_half = c == '\n' && i > text->begin && text->bytes[i - 1] == '\r';
        count += is_line_end(c) && !is_second_half;
    }
    return count;
}

enum status table_text_init(struct table_text *text, struct source *source, const char *path,
    size_t lines, struct error *err)
{
    text->source = source;
    text->path = path;
    enum status status = table_text_fill(text, err);
    while (status == STATUS_OK && text->end < MARK_SIZE && !text->is_at_end) {
        status = table_text_fill(text, err);
    }
    if (status == STATUS_OK) {
        status = read_mark(text, err);
    }
    while (status == STATUS_OK && !text->is_at_end && text->end - text->begin < TABLE_HEAD_LIMIT &&
           count_lines(text) < lines) {
        status = table_text_fill(text, err);
    }
    if (status == STATUS_OK && text->encoding == TABLE_ENCODING_UTF8 &&
        !is_utf8(text->bytes + text->begin, text->end - text->begin)) {
        status = start_decoding(text, TABLE_ENCODING_LATIN1, text->begin, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (text->end == text->begin) {
        return fail(err, STATUS_INPUT, "record or export it again", "'%s' is empty", path);
    }
    status = check_is_text(text, err);
    if (status == STATUS_OK && text->complete == text->begin) {
        return table_text_fail_long(text, 1, err);
    }
    return status;
}

enum status table_text_fail_long(const struct table_text *text, size_t line, struct error *err)
{
    return fail(err, STATUS_INPUT, "it may be no text with lines, or a quote does not close",
        "line %zu of '%s' is longer than %zu bytes", line, text->path, TABLE_LINE_LIMIT);
}

/* --- quoting ----------------------------------------------------------------------------------
 */

const char *table_quote(char buffer[TABLE_QUOTE_SIZE], const char *bytes, size_t length)
{
    size_t out = 0;
    size_t at = 0;
    while (at < length) {
        uint32_t code;
        size_t size = text_read_character(bytes + at, length - at, &code);
        bool is_printable = size > 0 && code >= 0x20 && (code < 0x7F || code > 0x9F);
        size_t wanted = is_printable ? size : 1;
        if (out + wanted > TABLE_QUOTE_SIZE - 4) {
            memcpy(buffer + out, "...", 3);
            out += 3;
            break;
        }
        memcpy(buffer + out, is_printable ? bytes + at : "?", wanted);
        out += wanted;
        at += size > 0 ? size : 1;
    }
    buffer[out] = '\0';
    return buffer;
}
