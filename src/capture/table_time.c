// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_time.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "capture/table_cell.h"
#include "capture/table_clock.h"

#define COUNT_DIGITS                                                                               \
    10 /* ahead of the decimal sign: from here on a time is a count since long ago */
#define WHOLE_LIMIT 18 /* digits that fit an int64_t */

void table_time_init(struct table_time *time, struct table_scale scale)
{
    *time = (struct table_time){.scale = scale, .decimals = INT_MIN, .exponent = INT_MIN};
}

/* --- numbers ----------------------------------------------------------------------------------
 */

/* What a number looks like in print. */
struct print {
    int whole;        /* digits ahead of the decimal sign */
    int behind;       /* and behind it */
    int zeros;        /* at the begin */
    int power;        /* the exponent */
    const char *sign; /* the decimal sign, NULL when there is none */
};

static int read_power(const char *at, const char *end)
{
    bool is_negative = at < end && *at == '-';
    int power = 0;
    at += at < end && (*at == '-' || *at == '+');
    for (; at < end && power < 1000; at++) {
        power = power * 10 + (*at - '0');
    }
    return is_negative ? -power : power;
}

/* `text` is known to be a number. */
static struct print look(const char *text, size_t length)
{
    struct print print = {0};
    bool is_leading = true;
    for (const char *at = text; at < text + length; at++) {
        if (*at >= '0' && *at <= '9') {
            is_leading = is_leading && *at == '0';
            print.zeros += is_leading;
            print.whole += print.sign == NULL;
            print.behind += print.sign != NULL;
        } else if (*at == '.' || *at == ',') {
            print.sign = at;
        } else if (*at == 'e' || *at == 'E') {
            print.power = read_power(at + 1, text + length);
            break;
        }
    }
    return print;
}

static void note_print(struct table_time *time, const struct print *print)
{
    int significant = print->whole + print->behind - print->zeros;
    int decimals = print->behind - print->power;
    time->decimals = decimals > time->decimals ? decimals : time->decimals;
    if (significant > 0) {
        int exponent = print->whole - 1 - print->zeros + print->power;
        time->digits = significant > time->digits ? significant : time->digits;
        time->exponent = exponent > time->exponent ? exponent : time->exponent;
    }
}

/* A count as its whole part and the rest; false when it is not written plainly. */
static bool split_count(
    const char *text, size_t length, const struct print *print, int64_t *whole, double *rest)
{
    bool is_negative = text[0] == '-';
    const char *at = text + (is_negative || text[0] == '+');
    const char *end = print->sign != NULL ? print->sign : text + length;
    *whole = 0;
    *rest = 0;
    for (; at < end; at++) {
        bool is_digit = *at >= '0' && *at <= '9'; /* there may be an exponent */
        if (!is_digit || __builtin_mul_overflow(*whole, 10, whole) ||
            __builtin_add_overflow(*whole, *at - '0', whole)) {
            return false;
        }
    }
    if (print->power != 0) {
        return false;
    }
    if (print->behind > 0 &&
        !table_cell_read_number(end, (size_t)(text + length - end), *print->sign, rest)) {
        return false;
    }
    *whole = is_negative ? -*whole : *whole;
    *rest = is_negative ? -*rest : *rest;
    return true;
}

static bool read_count(struct table_time *time, const char *text, size_t length,
    const struct print *print, double *number)
{
    int64_t whole;
    double rest;
    if (!split_count(text, length, print, &whole, &rest)) {
        return false;
    }
    if (time->form == TABLE_TIME_NEW) {
        time->form = TABLE_TIME_COUNT;
        time->base_whole = whole;
        time->base_rest = rest;
    }
    if (__builtin_sub_overflow(whole, time->base_whole, &whole)) {
        return false;
    }
    *number = (double)whole + (rest - time->base_rest);
    return true;
}

static bool read_number(
    struct table_time *time, const char *text, size_t length, char decimal, double *seconds)
{
    double number;
    if (!table_cell_read_number(text, length, decimal, &number)) {
        return false;
    }
    struct print print = look(text, length);
    bool may_count = time->form == TABLE_TIME_COUNT ||
                     (time->form == TABLE_TIME_NEW && print.whole - print.zeros >= COUNT_DIGITS);
    if (may_count && !read_count(time, text, length, &print, &number) &&
        time->form == TABLE_TIME_COUNT) {
        return false;
    }
    if (time->form == TABLE_TIME_NEW) {
        time->form = TABLE_TIME_NUMBER;
    }
    note_print(time, &print);
    *seconds = table_scale_apply(&time->scale, number);
    return true;
}

/* --- clocks -----------------------------------------------------------------------------------
 */

/* Seconds and attoseconds as one number, rounded once where nanoseconds suffice. */
static double add_parts(int64_t seconds, int64_t attoseconds)
{
    const int64_t nano = 1000000000;
    bool fits = seconds > -nano && seconds < nano;
    if (fits && attoseconds % nano == 0) {
        const int64_t whole = attoseconds / nano;
        return (double)(seconds * nano + whole) / (double)nano;
    }
    return (double)seconds + (double)attoseconds / ((double)nano * (double)nano);
}

static bool read_clock(struct table_time *time, const char *text, size_t length, double *seconds)
{
    struct table_clock clock;
    if (!table_clock_read(text, length, &clock)) {
        return false;
    }
    if (time->form == TABLE_TIME_NEW) {
        time->form = TABLE_TIME_CLOCK;
        time->base_seconds = time->last_seconds = clock.seconds;
        time->base_attoseconds = clock.attoseconds;
        time->clock_quantum_s = clock.quantum_s;
        time->has_date = clock.has_date;
        time->has_zone = clock.has_zone;
        time->has_hours = clock.has_hours;
    }
    if (clock.has_date != time->has_date || clock.has_zone != time->has_zone ||
        clock.has_hours != time->has_hours) {
        return false;
    }
    int64_t turn = clock.has_hours ? 86400 : 3600;
    if (!clock.has_date && clock.seconds < turn && clock.seconds < time->last_seconds - turn / 2) {
        time->carry_seconds += turn;
    }
    time->last_seconds = clock.seconds;
    if (clock.quantum_s < time->clock_quantum_s) {
        time->clock_quantum_s = clock.quantum_s;
    }
    *seconds = add_parts(clock.seconds + time->carry_seconds - time->base_seconds,
        clock.attoseconds - time->base_attoseconds);
    return true;
}

bool table_time_read(
    struct table_time *time, const char *text, size_t length, char decimal, double *seconds)
{
    if (time->form != TABLE_TIME_CLOCK && read_number(time, text, length, decimal, seconds)) {
        return true;
    }
    bool may_be_clock = time->form == TABLE_TIME_CLOCK || time->form == TABLE_TIME_NEW;
    return may_be_clock && read_clock(time, text, length, seconds);
}

/* --- the printed step -------------------------------------------------------------------------
 */

static double get_power_of_ten(int exponent)
{
    char number[16];
    double power = 0;
    int length = snprintf(number, sizeof number, "1e%d", exponent);
    text_read_number(number, (size_t)length, &power);
    return power;
}

double table_time_get_quantum(const struct table_time *time)
{
    if (time->form == TABLE_TIME_NEW) {
        return 0;
    }
    if (time->form == TABLE_TIME_CLOCK) {
        return time->clock_quantum_s;
    }
    int step = -time->decimals;
    if (time->digits > 0 && time->exponent + 1 - time->digits > step) {
        step = time->exponent + 1 - time->digits;
    }
    /* powers of ten from 1 up are exact, 0.001 is not */
    return step < 0 ? time->scale.factor / (get_power_of_ten(-step) * time->scale.divisor)
                    : get_power_of_ten(step) * time->scale.factor / time->scale.divisor;
}
