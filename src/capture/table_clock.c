// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_clock.h"

#include "base/text.h"

#define DIGITS_LIMIT 18 /* that many fit an int64_t */
#define HOURS_DIGITS 5  /* an elapsed time may pass a day */

struct cursor {
    const char *at;
    const char *end;
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static char peek(const struct cursor *cursor)
{
    return cursor->at < cursor->end ? *cursor->at : '\0';
}

/* Takes a sign if it stands here. */
static bool take(struct cursor *cursor, char sign)
{
    bool is_here = cursor->at < cursor->end && *cursor->at == sign;
    cursor->at += is_here;
    return is_here;
}

/* Takes all digits that stand here; their number. */
static int take_digits(struct cursor *cursor, int64_t *value)
{
    int count = 0;
    *value = 0;
    for (; is_digit(peek(cursor)); cursor->at++) {
        *value = count < DIGITS_LIMIT ? *value * 10 + (*cursor->at - '0') : *value;
        count++;
    }
    return count;
}

/* --- dates ------------------------------------------------------------------------------------
 */

static bool is_leap(int64_t year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

/* Days from 1970-01-01 to the date, proleptic Gregorian calendar; false if there is no such day. */
static bool count_days(int64_t year, int64_t month, int64_t day, int64_t *days)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (month < 1 || month > 12 || day < 1 || year < 1 || year > 9999) {
        return false;
    }
    if (day > lengths[month - 1] + (month == 2 && is_leap(year))) {
        return false;
    }
    int64_t before = year - 1;
    int64_t count = before * 365 + before / 4 - before / 100 + before / 400;
    for (int64_t i = 1; i < month; i++) {
        count += lengths[i - 1] + (i == 2 && is_leap(year));
    }
    *days = count + day - 1 - 719162; /* the days from 0001-01-01 to 1970-01-01 */
    return true;
}

/* Takes a date, in days since 1970; false, and nothing taken, where none stands. */
static bool take_date(struct cursor *cursor, int64_t *days)
{
    struct cursor at = *cursor;
    int64_t parts[3];
    int digits[3];
    digits[0] = take_digits(&at, &parts[0]);
    char sign = peek(&at);
    if (sign != '-' && sign != '/' && sign != '.') {
        return false;
    }
    for (int i = 1; i < 3; i++) {
        if (!take(&at, sign)) {
            return false;
        }
        digits[i] = take_digits(&at, &parts[i]);
    }
    bool is_year_first = digits[0] == 4 && digits[1] == 2 && digits[2] == 2 && sign != '.';
    bool is_day_first = digits[0] >= 1 && digits[0] <= 2 && digits[1] >= 1 && digits[1] <= 2 &&
                        digits[2] == 4 && sign == '.';
    bool is_read = (is_year_first && count_days(parts[0], parts[1], parts[2], days)) ||
                   (is_day_first && count_days(parts[2], parts[1], parts[0], days));
    if (is_read) {
        *cursor = at;
    }
    return is_read;
}

/* 5/1/2024 or 5/1/24: a date, whatever its day is. */
static bool take_stroke_date(struct cursor *cursor)
{
    int64_t part;
    for (int i = 0; i < 3; i++) {
        if (take_digits(cursor, &part) == 0 || (i < 2 && !take(cursor, '/'))) {
            return false;
        }
    }
    return true;
}

bool table_is_date(const char *text, size_t length)
{
    struct cursor cursor = {text, text + length};
    int64_t days;
    return (take_date(&cursor, &days) || take_stroke_date(&cursor)) &&
           (cursor.at == cursor.end || *cursor.at == ' ');
}

/* --- clocks -----------------------------------------------------------------------------------
 */

/* Takes the digits behind a decimal sign, if one stands here. */
static bool take_fraction(struct cursor *cursor, struct table_clock *clock)
{
    clock->attoseconds = 0;
    clock->quantum_s = 1;
    if (!take(cursor, '.') && !take(cursor, ',')) {
        return true;
    }
    int64_t digits;
    int count = take_digits(cursor, &digits);
    double steps = 1; /* powers of ten up to 10^18 are doubles without error */
    for (int i = 0; i < DIGITS_LIMIT; i++) {
        steps *= i < count ? 10 : 1;
        digits *= i < count ? 1 : 10;
    }
    clock->attoseconds = digits;
    clock->quantum_s = 1 / steps;
    return count > 0;
}

/* Takes "hh:mm:ss.fff" or "mm:ss.fff"; behind a date two parts are hours and minutes. */
static bool take_clock(struct cursor *cursor, struct table_clock *clock)
{
    int64_t parts[3];
    int count = 0;
    do {
        int digits = take_digits(cursor, &parts[count]);
        bool is_first = count == 0;
        if (digits < 1 || digits > (is_first ? HOURS_DIGITS : 2) || (!is_first && digits != 2)) {
            return false;
        }
        count++;
    } while (count < 3 && take(cursor, ':'));
    if (count < 2 || !take_fraction(cursor, clock)) {
        return false;
    }
    clock->has_hours = count == 3 || clock->has_date;
    bool is_short = count == 2 && clock->has_date;
    int64_t hours = clock->has_hours ? parts[0] : 0;
    int64_t minutes = clock->has_hours ? parts[1] : parts[0];
    int64_t seconds = is_short ? 0 : parts[count - 1];
    if (is_short) {
        if (clock->quantum_s < 1) {
            return false;
        }
        clock->quantum_s = 60;
    }
    clock->seconds = (hours * 60 + minutes) * 60 + seconds;
    return minutes < 60 && seconds <= 60 &&
           (!clock->has_date || hours < 24); /* 60: a leap second */
}

static bool take_zone(struct cursor *cursor, struct table_clock *clock)
{
    if (take(cursor, 'Z') || take(cursor, 'z')) {
        clock->has_zone = true;
        return true;
    }
    char sign = peek(cursor);
    if (sign != '+' && sign != '-') {
        return true;
    }
    int64_t hours;
    int64_t minutes = 0;
    cursor->at++;
    int digits = take_digits(cursor, &hours);
    if (digits == 4) {
        minutes = hours % 100;
        hours /= 100;
    } else if (digits != 2 || (take(cursor, ':') && take_digits(cursor, &minutes) != 2)) {
        return false;
    }
    int64_t offset = (hours * 60 + minutes) * 60;
    clock->seconds -= sign == '-' ? -offset : offset;
    clock->has_zone = true;
    return hours <= 14 && minutes < 60;
}

bool table_clock_read(const char *text, size_t length, struct table_clock *clock)
{
    struct cursor cursor = {text, text + length};
    struct table_clock read = {0};
    int64_t days = 0;
    if (length == 0 || !is_digit(text[0])) {
        return false;
    }
    if (take_date(&cursor, &days)) {
        read.has_date = true;
        bool has_mark = take(&cursor, 'T') || take(&cursor, 't');
        while (!has_mark && take(&cursor, ' ')) {
        }
    }
    if (!take_clock(&cursor, &read)) {
        return false;
    }
    read.seconds += days * 86400;
    while (take(&cursor, ' ')) {
    }
    if (!take_zone(&cursor, &read) || cursor.at != cursor.end) {
        return false;
    }
    *clock = read;
    return true;
}
