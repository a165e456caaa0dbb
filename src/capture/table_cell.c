// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_cell.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "capture/table_clock.h"

/* --- taking a line apart ----------------------------------------------------------------------
 */

static bool is_line_end(char c)
{
    return c == '\n' || c == '\r';
}

static bool is_separator(const struct table_cursor *cursor, char c)
{
    return c == cursor->separator || (cursor->separator == ' ' && c == '\t');
}

static bool is_blank(const struct table_cursor *cursor, char c)
{
    return c == ' ' || (c == '\t' && cursor->separator != '\t');
}

void table_cursor_init(
    struct table_cursor *cursor, const char *at, const char *limit, char separator)
{
    cursor->at = at;
    cursor->limit = limit;
    cursor->separator = separator;
    cursor->newlines = 0;
    cursor->joins_dates = false;
    cursor->is_cell_due = true;
}

const char *table_skip_line_end(const char *at, const char *limit)
{
    bool is_pair = at + 1 < limit && at[0] == '\r' && at[1] == '\n';
    return at + (is_pair ? 2 : 1);
}

/* Goes from an opening quote to behind the closing one. */
static enum table_take take_quoted(struct table_cursor *cursor, struct table_cell *cell)
{
    const char *at = cursor->at + 1;
    size_t length = 0;
    for (; at < cursor->limit; at++) {
        if (*at == '"') {
            if (at + 1 >= cursor->limit || at[1] != '"') {
                break;
            }
            at++;
        }
        if (length == TABLE_CELL_LIMIT) {
            return TABLE_TAKE_LONG;
        }
        bool is_second_half = *at == '\n' && at[-1] == '\r';
        cursor->newlines += is_line_end(*at) && !is_second_half;
        cursor->unquoted[length++] = *at;
    }
    if (at >= cursor->limit) {
        return TABLE_TAKE_OPEN;
    }
    cursor->at = at + 1;
    cell->text = cursor->unquoted;
    cell->length = length;
    cell->is_quoted = true;
    return TABLE_TAKE_CELL;
}

static void trim(struct table_cell *cell)
{
    while (cell->length > 0 && (cell->text[0] == ' ' || cell->text[0] == '\t')) {
        cell->text++;
        cell->length--;
    }
    while (cell->length > 0 &&
           (cell->text[cell->length - 1] == ' ' || cell->text[cell->length - 1] == '\t')) {
        cell->length--;
    }
}

static const char *find_end(const struct table_cursor *cursor, const char *at)
{
    while (!is_line_end(*at) && !is_separator(cursor, *at)) {
        at++;
    }
    return at;
}

/* The end of the clock behind the date that ends at `end`; `end` when there is no date or none. */
static const char *join_clock(const struct table_cursor *cursor, const char *begin, const char *end)
{
    struct table_clock clock;
    const char *next = end;
    while (is_blank(cursor, *next)) {
        next++;
    }
    const char *next_end = find_end(cursor, next);
    size_t length = (size_t)(next_end - begin);
    bool is_joined = table_is_date(begin, (size_t)(end - begin)) && length <= TABLE_CELL_LIMIT &&
                     table_clock_read(begin, length, &clock);
    return is_joined ? next_end : end;
}

/* Goes to the separator or the line end behind the cell. */
static enum table_take take_plain(struct table_cursor *cursor, struct table_cell *cell)
{
    const char *begin = cursor->at;
    cursor->at = find_end(cursor, begin);
    if (cursor->joins_dates) {
        cursor->at = join_clock(cursor, begin, cursor->at);
    }
    cell->text = begin;
    cell->length = (size_t)(cursor->at - begin);
    cell->is_quoted = false;
    return cell->length > TABLE_CELL_LIMIT ? TABLE_TAKE_LONG : TABLE_TAKE_CELL;
}

/* What follows a closing quote: nothing, in a sound file; otherwise the cell is the whole text with
 * its quotes, which is no number. */
static enum table_take take_rest(
    struct table_cursor *cursor, const char *begin, struct table_cell *cell)
{
    struct table_cell rest;
    enum table_take take = take_plain(cursor, &rest);
    trim(&rest);
    if (take == TABLE_TAKE_CELL && rest.length > 0) {
        cell->text = begin;
        cell->length = (size_t)(cursor->at - begin);
        cell->is_quoted = false;
        return cell->length > TABLE_CELL_LIMIT ? TABLE_TAKE_LONG : TABLE_TAKE_CELL;
    }
    return take;
}

enum table_take table_cursor_take(struct table_cursor *cursor, struct table_cell *cell)
{
    while (is_blank(cursor, *cursor->at)) {
        cursor->at++;
    }
    if (is_line_end(*cursor->at) && (!cursor->is_cell_due || cursor->separator == ' ')) {
        return TABLE_TAKE_END;
    }
    const char *begin = cursor->at;
    enum table_take take;
    if (*begin == '"') {
        take = take_quoted(cursor, cell);
        if (take == TABLE_TAKE_CELL) {
            take = take_rest(cursor, begin, cell);
        }
    } else {
        take = take_plain(cursor, cell);
    }
    if (take == TABLE_TAKE_CELL) {
        trim(cell);
        cursor->is_cell_due = !is_line_end(*cursor->at);
        cursor->at += cursor->is_cell_due && cursor->separator != ' ';
    }
    return take;
}

bool table_is_comment(const char *at, char separator)
{
    while (*at == ' ' || *at == '\t') {
        at++;
    }
    bool is_semicolon = *at == ';' && separator != ';';
    return *at == '#' || *at == '%' || is_semicolon || (at[0] == '/' && at[1] == '/');
}

/* --- what stands in a cell --------------------------------------------------------------------
 */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Copies a number so that its sign is '-' and its decimal sign a point; the length, 0 when it has
 * a decimal sign that it must not have. */
static size_t copy_number(char *copy, const char *text, size_t length, char decimal)
{
    static const char minus[] = "\xE2\x88\x92"; /* U+2212 */
    size_t count = 0;
    if (length > 3 && memcmp(text, minus, 3) == 0) {
        copy[count++] = '-';
        text += 3;
        length -= 3;
    }
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if ((c == '.' || c == ',') && c != decimal) {
            return 0;
        }
        copy[count++] = c == ',' ? '.' : c;
    }
    return count;
}

bool table_cell_read_number(const char *text, size_t length, char decimal, double *value)
{
    char copy[TABLE_CELL_LIMIT];
    double read;
    if (length == 0 || length > sizeof copy) {
        return false;
    }
    if (decimal != '.' || (unsigned char)text[0] >= 0x80) {
        length = copy_number(copy, text, length, decimal);
        text = copy;
    }
    if (length == 0 || text_read_number(text, length, &read) != length) {
        return false;
    }
    /* SCPI-99, 7.2.1.4 and 7.2.1.5: infinity, and not a number */
    if (!isfinite(read) || fabs(read) == 9.9e37 || fabs(read) == 9.91e37) {
        return false;
    }
    *value = read;
    return true;
}

static bool is_missing_word(const char *text, size_t length)
{
    static const char *const words[] = {"nan", "+nan", "-nan", "inf", "+inf", "-inf", "infinity",
        "+infinity", "-infinity", "na", "n/a", "n.a.", "#n/a", "#nv", "#value!", "#num!", "#ref!",
        "#name?", "#null!", "#div/0!", "null", "none", "nil", "over", "overflow", "overload",
        "overrange", "over range", "over-range", "ovld", "ovrng", "ovfl", "ol", "o.l", "under",
        "underflow", "underrange", "error", "err", "invalid", "bad", "missing", "open", "fault",
        "1.#qnan", "1.#ind", "-1.#ind", "1.#inf", "-1.#inf", "-1.#qnan"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strlen(words[i]) == length && strncasecmp(words[i], text, length) == 0) {
            return true;
        }
    }
    return false;
}

/* Empty, a known word, or nothing but dashes, stars, question marks, points. */
static bool is_missing(const char *text, size_t length)
{
    size_t same = 0;
    while (same < length && text[same] == text[0]) {
        same++;
    }
    bool is_filler = same == length && (length == 0 || strchr("-*?._", text[0]) != NULL);
    return is_filler || is_missing_word(text, length);
}

/* [+-]?[1-9]\d{0,2}(,\d{3})+ */
static bool is_grouped(const char *text, size_t length)
{
    size_t at = length > 0 && (text[0] == '-' || text[0] == '+');
    size_t digits = 0;
    size_t groups = 0;
    if (at >= length || text[at] == '0') {
        return false;
    }
    for (; at < length; at++) {
        if (is_digit(text[at])) {
            digits++;
        } else if (text[at] != ',' || digits == 0 || digits > 3 || (groups > 0 && digits != 3)) {
            return false;
        } else {
            digits = 0;
            groups++;
        }
    }
    return groups > 0 && digits == 3;
}

/* Digits with what stands in numbers or parts them: either a number spelt in a way that is not
 * read, or cells parted at the wrong sign. "1.2.3" may be a version and is left alone; 1.234.567
 * and 1,5,2 are not. */
static bool is_broken(const char *text, size_t length)
{
    bool has_digit = false;
    size_t points = 0;
    size_t others = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        bool is_space = (c == 0xC2 && i + 1 < length && (unsigned char)text[i + 1] == 0xA0) ||
                        (c == 0xE2 && i + 2 < length && (unsigned char)text[i + 1] == 0x80);
        if (c == '\0') {
            return false;
        }
        if (is_space) { /* no-break, thin and narrow blanks */
            i += c == 0xC2 ? 1 : 2;
            others++;
        } else if (is_digit((char)c)) {
            has_digit = true;
        } else if (c == '.') {
            points++;
        } else if (strchr(",; \t'", (int)c) != NULL) {
            others++;
        } else if (strchr("+-eETZ/:", (int)c) == NULL) {
            return false;
        }
    }
    return has_digit && (others > 0 || (points > 1 && length - points >= 3 * points + 1));
}

unsigned table_cell_find_kind(const struct table_cell *cell)
{
    const char *text = cell->text;
    size_t length = cell->length;
    double value;
    struct table_clock clock;
    if (length == 0) {
        return TABLE_KIND_EMPTY | TABLE_KIND_MISSING;
    }
    unsigned kind = 0;
    kind |= table_cell_read_number(text, length, '.', &value) ? TABLE_KIND_POINT : 0;
    kind |= table_cell_read_number(text, length, ',', &value) ? TABLE_KIND_COMMA : 0;
    if (kind != 0) {
        return kind | (is_grouped(text, length) ? TABLE_KIND_GROUPED : 0);
    }
    if (table_clock_read(text, length, &clock)) {
        return TABLE_KIND_CLOCK;
    }
    if (table_is_date(text, length)) {
        return TABLE_KIND_DATE;
    }
    if (is_missing(text, length)) {
        return TABLE_KIND_MISSING;
    }
    return is_broken(text, length) ? TABLE_KIND_BROKEN : 0;
}
