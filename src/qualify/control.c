// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/control.h"

#include <math.h>

#include "base/memory.h"
#include "num/range.h"
#include "num/statistics.h"

#define SIGMAS 3            /* where the limits stand */
#define RANGE_COUNT_MOST 10 /* above, the range wastes what the values tell */

const char *control_rule_get_name(enum control_rule rule)
{
    static const char *const names[CONTROL_RULE_COUNT] = {
        [CONTROL_BEYOND] = "one beyond three standard deviations",
        [CONTROL_RUN] = "nine in a row on one side of the centre",
        [CONTROL_TREND] = "six in a row rising or falling",
        [CONTROL_SAWTOOTH] = "fourteen in a row alternating",
        [CONTROL_OUTER] = "two of three beyond two standard deviations",
        [CONTROL_MIDDLE] = "four of five beyond one standard deviation",
        [CONTROL_HUGGING] = "fifteen in a row within one standard deviation",
        [CONTROL_AVOIDING] = "eight in a row beyond one standard deviation",
    };
    return names[rule];
}

/* Standard deviations of a point from the centre, by its own limits. */
static double get_score(const struct control *control, size_t at)
{
    const struct control_point *point = &control->points[at];
    return SIGMAS * (point->value - control->centre) / (point->upper - control->centre);
}

/* How many of the last `width` points up to `at` lie beyond `limit` on the side of `sign`. */
static size_t count_beyond(
    const struct control *control, size_t at, size_t width, double limit, double sign)
{
    size_t count = 0;
    for (size_t i = at + 1 - width; i <= at; i++) {
        count += sign * get_score(control, i) > limit;
    }
    return count;
}

static bool is_trend(const struct control *control, size_t at, size_t width, double sign)
{
    for (size_t i = at + 2 - width; i <= at; i++) {
        if (!(sign * (control->points[i].value - control->points[i - 1].value) > 0)) {
            return false;
        }
    }
    return true;
}

static bool is_sawtooth(const struct control *control, size_t at, size_t width)
{
    for (size_t i = at + 3 - width; i <= at; i++) {
        const double before = control->points[i - 1].value - control->points[i - 2].value;
        const double now = control->points[i].value - control->points[i - 1].value;
        if (!(before * now < 0)) {
            return false;
        }
    }
    return true;
}

/* Whether a test that looks at one side holds for either. */
static bool has_side(
    const struct control *control, size_t at, size_t width, size_t wanted, double limit)
{
    if (at + 1 < width) {
        return false;
    }
    for (int sign = -1; sign <= 1; sign += 2) {
        /* the last point is one of them: else the finding is an old one */
        if (sign * get_score(control, at) > limit &&
            count_beyond(control, at, width, limit, sign) >= wanted) {
            return true;
        }
    }
    return false;
}

static size_t count_within(const struct control *control, size_t at, size_t width)
{
    size_t count = 0;
    for (size_t i = at + 1 - width; i <= at; i++) {
        count += fabs(get_score(control, i)) < 1;
    }
    return count;
}

static bool is_found(const struct control *control, size_t at, enum control_rule rule)
{
    switch (rule) {
    case CONTROL_BEYOND:
        return has_side(control, at, 1, 1, SIGMAS);
    case CONTROL_RUN:
        return has_side(control, at, 9, 9, 0);
    case CONTROL_TREND:
        return at + 1 >= 6 && (is_trend(control, at, 6, 1) || is_trend(control, at, 6, -1));
    case CONTROL_SAWTOOTH:
        return at + 1 >= 14 && is_sawtooth(control, at, 14);
    case CONTROL_OUTER:
        return has_side(control, at, 3, 2, 2);
    case CONTROL_MIDDLE:
        return has_side(control, at, 5, 4, 1);
    case CONTROL_HUGGING:
        return at + 1 >= 15 && count_within(control, at, 15) == 15;
    case CONTROL_AVOIDING:
        return at + 1 >= 8 && count_within(control, at, 8) == 0 &&
               count_beyond(control, at, 8, 1, 1) > 0 && count_beyond(control, at, 8, 1, -1) > 0;
    case CONTROL_RULE_COUNT:
        break;
    }
    return false;
}

static void set_rules(struct control *control)
{
    for (size_t at = 0; at < control->count; at++) {
        for (unsigned rule = 0; rule < CONTROL_RULE_COUNT; rule++) {
            if (is_found(control, at, (enum control_rule)rule)) {
                control->points[at].rules |= 1U << rule;
            }
        }
        const struct control_point *point = &control->points[at];
        control->points[at].is_spread_beyond =
            point->spread > point->spread_upper || point->spread < point->spread_lower;
    }
}

/* Means and spreads; what the spreads say of single values is weighed by the number of values.
 * False: no memory for a constant. */
static bool set_points(
    struct control *control, const double *values, const struct control_heat *heats)
{
    double sum = 0, weights = 0, total = 0, number = 0;
    for (size_t i = 0; i < control->count; i++) {
        struct control_point *point = &control->points[i];
        const size_t n = heats[i].count;
        const struct summary summary = summary_compute(values + heats[i].first, n);
        double per_sigma = 1, weight = 0;
        point->value = summary.mean;
        if (control->kind == CONTROL_INDIVIDUALS) {
            point->spread = i > 0 ? fabs(point->value - control->points[i - 1].value) : NAN;
            per_sigma = range_compute_mean(2);
            weight = i > 0 ? 1 : 0;
        } else if (control->kind == CONTROL_RANGES) {
            point->spread = summary.most - summary.least;
            per_sigma = range_compute_mean(n);
            weight = 1;
        } else {
            point->spread = summary.deviation;
            per_sigma = deviation_compute_mean(n);
            weight = 1;
        }
        if (isnan(per_sigma)) {
            return false;
        }
        sum += weight > 0 ? weight * point->spread / per_sigma : 0;
        weights += weight;
        total += summary.mean * (double)n;
        number += (double)n;
    }
    control->centre = total / number;
    control->deviation = sum / weights;
    return true;
}

static bool set_limits(struct control *control, const struct control_heat *heats)
{
    for (size_t i = 0; i < control->count; i++) {
        struct control_point *point = &control->points[i];
        const size_t n = control->kind == CONTROL_INDIVIDUALS ? 2 : heats[i].count;
        const double reach = SIGMAS * control->deviation / sqrt((double)heats[i].count);
        double mean, width;
        if (control->kind == CONTROL_DEVIATIONS) {
            mean = deviation_compute_mean(n);
            width = sqrt(1 - mean * mean);
        } else {
            mean = range_compute_mean(n);
            width = range_compute_deviation(n);
        }
        if (isnan(mean) || isnan(width)) {
            return false;
        }
        point->lower = control->centre - reach;
        point->upper = control->centre + reach;
        point->spread_lower = fmax(0, control->deviation * (mean - SIGMAS * width));
        point->spread_upper = control->deviation * (mean + SIGMAS * width);
    }
    return true;
}

static enum status check(
    enum control_kind kind, const struct control_heat *heats, size_t count, struct error *err)
{
    if (count < 2) {
        return fail(err, STATUS_INPUT, "it takes two heats at least",
            "no control chart of %zu heat", count);
    }
    for (size_t i = 0; i < count; i++) {
        const size_t n = heats[i].count;
        if (kind == CONTROL_INDIVIDUALS ? n != 1
            : kind == CONTROL_RANGES    ? n < 2 || n > RANGE_COUNT_MOST
                                        : n < 2 || n > 100) {
            return fail(err, STATUS_INPUT,
                "individuals: one value a heat; ranges: 2 to 10; deviations: 2 to 100",
                "heat %zu has %zu values, which this control chart cannot take", i + 1, n);
        }
    }
    return STATUS_OK;
}

enum status control_compute(enum control_kind kind, const double *values,
    const struct control_heat *heats, size_t count, struct control *control, struct error *err)
{
    struct control made = {.kind = kind, .count = count};
    enum status status = check(kind, heats, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    made.points = memory_create(count, sizeof *made.points);
    if (made.points == NULL) {
        return fail_memory(err);
    }
    if (!set_points(&made, values, heats)) {
        control_clear(&made);
        return fail_memory(err);
    }
    if (!(made.deviation > 0)) {
        control_clear(&made);
        return fail(err, STATUS_INPUT, "all values are the same: are they copies?",
            "no control chart of values without scatter");
    }
    if (!set_limits(&made, heats)) {
        control_clear(&made);
        return fail_memory(err);
    }
    set_rules(&made);
    *control = made;
    return STATUS_OK;
}

void control_clear(struct control *control)
{
    memory_destroy(control->points);
    *control = (struct control){0};
}
