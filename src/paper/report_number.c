// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "paper/plot_text.h"

#define EXPANDED 2     /* k */
#define PLAIN_DIGITS 5 /* without an uncertainty */
#define DIGITS_MOST 12

static const char dash[] = "\u2013";

/* The power of ten of the first digit once the value is rounded to so many digits. */
static int get_power(double value, int digits)
{
    char words[REPORT_NUMBER_SIZE];
    snprintf(words, sizeof words, "%.*e", digits - 1, fabs(value));
    const char *power = strchr(words, 'e');
    return power != NULL ? (int)strtol(power + 1, NULL, 10) : 0;
}

struct report_scale report_scale_compute(enum figure figure, double most, double u)
{
    const struct figure_entry *entry = &figure_table[figure];
    const struct plot_scale found =
        entry->has_prefix ? plot_scale_find(most) : (struct plot_scale){.factor = 1, .prefix = ""};
    struct report_scale scale = {.factor = found.factor};
    snprintf(scale.unit, sizeof scale.unit, "%s%s", found.prefix, entry->unit);
    const int most_decimals = DIGITS_MOST - 1 - get_power(most / scale.factor, DIGITS_MOST);
    if (u > 0 && isfinite(u)) {
        scale.decimals = 1 - get_power(EXPANDED * u / scale.factor, 2);
        scale.decimals = scale.decimals < most_decimals ? scale.decimals : most_decimals;
    } else {
        scale.decimals =
            PLAIN_DIGITS - 1 - get_power(most > 0 ? most / scale.factor : 1, PLAIN_DIGITS);
    }
    return scale;
}

/* No sign on what was rounded to zero. */
static void write_fixed(double value, int decimals, char out[REPORT_NUMBER_SIZE])
{
    if (decimals < 0) {
        const double place = pow(10, -decimals);
        value = round(value / place) * place;
        decimals = 0;
    }
    snprintf(out, REPORT_NUMBER_SIZE, "%.*f", decimals, value);
    if (out[0] == '-' && strpbrk(out, "123456789") == NULL) {
        memmove(out, out + 1, strlen(out));
    }
}

const char *report_write_number(
    const struct report_scale *scale, double value, char out[REPORT_NUMBER_SIZE])
{
    if (!isfinite(value)) {
        return dash;
    }
    write_fixed(value / scale->factor, scale->decimals, out);
    return out;
}

const char *report_write_value(
    const struct report_scale *scale, double value, bool is_finer, char out[REPORT_NUMBER_SIZE])
{
    char number[REPORT_NUMBER_SIZE];
    if (!isfinite(value)) {
        return dash;
    }
    write_fixed(value / scale->factor, scale->decimals + (is_finer ? 1 : 0), number);
    snprintf(out, REPORT_NUMBER_SIZE, "%.23s%s%.23s", number, scale->unit[0] != '\0' ? " " : "",
        scale->unit);
    return out;
}

const char *report_write_expanded(
    const struct report_scale *scale, double value, double u, char out[2 * REPORT_NUMBER_SIZE])
{
    char number[REPORT_NUMBER_SIZE], expanded[REPORT_NUMBER_SIZE];
    if (!isfinite(value)) {
        return dash;
    }
    report_write_number(scale, value, number);
    if (u > 0 && isfinite(u)) {
        report_write_number(scale, EXPANDED * u, expanded);
        snprintf(out, 2 * REPORT_NUMBER_SIZE, "%.45s \u00B1 %.45s", number, expanded);
    } else {
        snprintf(out, 2 * REPORT_NUMBER_SIZE, "%s", number);
    }
    return out;
}

static const char *write_ends(
    const char *lower, const char *upper, const char *unit, char out[3 * REPORT_NUMBER_SIZE])
{
    const char *blank = unit[0] != '\0' ? " " : "";
    if (lower != NULL && upper != NULL) {
        snprintf(out, 3 * REPORT_NUMBER_SIZE, "%.45s to %.45s%s%s", lower, upper, blank, unit);
    } else if (lower != NULL) {
        snprintf(out, 3 * REPORT_NUMBER_SIZE, "at least %.45s%s%s", lower, blank, unit);
    } else if (upper != NULL) {
        snprintf(out, 3 * REPORT_NUMBER_SIZE, "at most %.45s%s%s", upper, blank, unit);
    } else {
        return dash;
    }
    return out;
}

const char *report_write_limit(
    const struct report_scale *scale, const struct limit *limit, char out[3 * REPORT_NUMBER_SIZE])
{
    char lower[REPORT_NUMBER_SIZE], upper[REPORT_NUMBER_SIZE];
    snprintf(lower, sizeof lower, "%.10g", limit->lower / scale->factor);
    snprintf(upper, sizeof upper, "%.10g", limit->upper / scale->factor);
    return write_ends(
        limit->has_lower ? lower : NULL, limit->has_upper ? upper : NULL, scale->unit, out);
}

const char *report_write_range(
    const struct report_scale *scale, double lower, double upper, char out[3 * REPORT_NUMBER_SIZE])
{
    char a[REPORT_NUMBER_SIZE], b[REPORT_NUMBER_SIZE];
    report_write_number(scale, lower, a);
    report_write_number(scale, upper, b);
    return write_ends(isfinite(lower) ? a : NULL, isfinite(upper) ? b : NULL, "", out);
}

const char *report_write_share(double share, char out[REPORT_NUMBER_SIZE])
{
    if (isnan(share)) {
        return dash;
    }
    if (share > 0.9999 || share < 0.0001) {
        return share > 0.5 ? "> 99.99 %" : "< 0.01 %";
    }
    snprintf(out, REPORT_NUMBER_SIZE, "%.2f %%", 100 * share);
    return out;
}
