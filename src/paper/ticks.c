// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/ticks.h"

#include <float.h>
#include <math.h>
#include <stdio.h>

/* Ends of an axis often are whole multiples but for their rounding: this much of a step is given
 * away so that the last tick is not lost. */
#define SLACK 1e-9

void ticks_compute(double least, double most, size_t wanted, struct ticks *ticks)
{
    if (wanted < 2)
        wanted = 2;
    double rough = (most - least) / (double)wanted;
    int exponent = (int)floor(log10(rough));
    double power = pow(10, exponent);
    double mantissa = rough / power; /* 1 <= mantissa < 10 */
    /* the geometric means between 1, 2, 5 and 10 part the cases */
    double nice = mantissa < sqrt(2) ? 1 : mantissa < sqrt(10) ? 2 : mantissa < sqrt(50) ? 5 : 10;
    ticks->step = nice * power;
    if (nice > 5)
        exponent++;
    ticks->first = (long long)ceil(least / ticks->step - SLACK);
    long long last = (long long)floor(most / ticks->step + SLACK);
    ticks->count = last >= ticks->first ? (size_t)(last - ticks->first + 1) : 0;
    ticks->decimals = exponent < 0 ? -exponent : 0;
    ticks->is_log = false;
}

/* Adds `digit` times every `every`-th power of ten; all of them in order if digits rise. */
static void add_log(double least, double most, int every, const char *digits, struct ticks *ticks)
{
    const size_t room = sizeof ticks->list / sizeof *ticks->list;
    ticks->count = 0;
    for (int exponent = (int)floor(log10(least) - SLACK); exponent <= ceil(log10(most)); exponent++)
        for (const char *digit = digits; *digit; digit++) {
            const double value = (*digit - '0') * pow(10, exponent);
            if (exponent % every == 0 && value >= least * (1 - SLACK) &&
                value <= most * (1 + SLACK) && ticks->count < room)
                ticks->list[ticks->count++] = value;
        }
}

void ticks_compute_log(double least, double most, struct ticks *ticks)
{
    least = fmax(least, DBL_MIN);
    most = fmin(most, DBL_MAX);
    const double decades = log10(most) - log10(least);
    ticks->is_log = true;
    ticks->first = 0;
    add_log(least, most, decades > 8 ? (int)ceil(decades / 8) : 1, "1", ticks);
    if (ticks->count < 4)
        add_log(least, most, 1, "125", ticks);
    if (ticks->count < 3)
        add_log(least, most, 1, "123456789", ticks);
}

double ticks_get(const struct ticks *ticks, size_t index)
{
    if (ticks->is_log)
        return ticks->list[index];
    return (double)(ticks->first + (long long)index) * ticks->step;
}

const char *ticks_write_label(const struct ticks *ticks, size_t index, char label[TICK_LABEL_SIZE])
{
    double value = ticks_get(ticks, index);
    if (ticks->is_log) {
        snprintf(label, TICK_LABEL_SIZE, "%g", value);
        return label;
    }
    snprintf(
        label, TICK_LABEL_SIZE, "%s%.*f", value < 0 ? "\u2212" : "", ticks->decimals, fabs(value));
    return label;
}
