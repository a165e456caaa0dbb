// SPDX-License-Identifier: GPL-3.0-or-later
#include "setup/date.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

static bool is_leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int get_month_length(int year, int month)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return lengths[month - 1] + (month == 2 && is_leap(year));
}

static bool has_form(const char *words)
{
    static const char form[] = "dddd-dd-dd";
    if (strlen(words) != sizeof form - 1) {
        return false;
    }
    for (size_t i = 0; form[i] != '\0'; i++) {
        if (form[i] == 'd' ? !isdigit((unsigned char)words[i]) : words[i] != form[i]) {
            return false;
        }
    }
    return true;
}

static int get_number(const char *words, int digits)
{
    int number = 0;
    for (int i = 0; i < digits; i++) {
        number = 10 * number + (words[i] - '0');
    }
    return number;
}

enum status date_read(const char *words, long *day, struct error *err)
{
    static const char hint[] = "write year, month and day: 2026-11-25";
    if (!has_form(words)) {
        return fail(err, STATUS_INPUT, hint, "'%.40s' is no day", words);
    }
    const int year = get_number(words, 4), month = get_number(words + 5, 2);
    const int of_month = get_number(words + 8, 2);
    if (year < 1900 || month < 1 || month > 12 || of_month < 1 ||
        of_month > get_month_length(year, month)) {
        return fail(err, STATUS_INPUT, hint, "'%.40s' is not in the calendar", words);
    }
    long count = of_month - 1;
    for (int m = 1; m < month; m++) {
        count += get_month_length(year, m);
    }
    for (int y = 1970; y < year; y++) {
        count += is_leap(y) ? 366 : 365;
    }
    for (int y = year; y < 1970; y++) {
        count -= is_leap(y) ? 366 : 365;
    }
    *day = count;
    return STATUS_OK;
}
