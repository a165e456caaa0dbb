// SPDX-License-Identifier: GPL-3.0-or-later
/* The share conforming with confidence: for one limit exact, by turning the non-central t about;
 * for two each tail is bounded at half of what the confidence leaves (Bonferroni), which is on the
 * safe side. */
#include "qualify/lot.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/memory.h"
#include "num/student.h"
#include "num/tolerance.h"
#include "num/variance.h"

#define WANTED_MOST 1000

/* Means of specimens, in the order in which they come first. */
struct means {
    double *value;
    double *count;
    size_t *number;
    size_t *place; /* of each value's specimen */
    size_t specimens;
};

static size_t find_place(const struct means *means, size_t number)
{
    size_t place = 0;
    while (place < means->specimens && means->number[place] != number) {
        place++;
    }
    return place;
}

static void set_means(struct means *means, const struct lot_value *values, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const size_t place = find_place(means, values[i].specimen);
        if (place == means->specimens) {
            means->number[means->specimens++] = values[i].specimen;
        }
        means->place[i] = place;
        means->count[place] += 1;
        /* running mean: no cancellation */
        means->value[place] += (values[i].value - means->value[place]) / means->count[place];
    }
}

static bool means_init(struct means *means, size_t count)
{
    means->value = memory_create(count, sizeof *means->value);
    means->count = memory_create(count, sizeof *means->count);
    means->number = memory_create(count, sizeof *means->number);
    means->place = memory_create(count, sizeof *means->place);
    return means->value != NULL && means->count != NULL && means->number != NULL &&
           means->place != NULL;
}

static void means_clear(struct means *means)
{
    memory_destroy(means->value);
    memory_destroy(means->count);
    memory_destroy(means->number);
    memory_destroy(means->place);
}

static double compute_u(const struct lot_value *values, size_t count)
{
    double squares = 0;
    for (size_t i = 0; i < count; i++) {
        squares += values[i].u * values[i].u;
    }
    return sqrt(squares / (double)count);
}

/* Repeats and steel apart, by one-way analysis of variance. */
static enum status set_scatter(struct lot_figure *lot, const struct lot_value *values,
    const struct means *means, struct error *err)
{
    struct variance_table table;
    double *list = NULL;
    lot->repeat_deviation = NAN;
    lot->steel_deviation = lot->summary.deviation;
    if (lot->specimens < 2 || lot->values == lot->specimens) {
        return STATUS_OK;
    }
    if ((list = memory_create(lot->values, sizeof *list)) == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < lot->values; i++) {
        list[i] = values[i].value;
    }
    enum status status = variance_compute(list, means->place, lot->values, 1, &table, err);
    if (status == STATUS_OK) {
        lot->repeat_deviation = sqrt(table.line[1].mean_square);
        lot->steel_deviation = sqrt(table.line[0].kept);
    }
    memory_destroy(list);
    return status;
}

static enum status compute_factor(const struct limit *limit, const struct limits *limits,
    size_t count, double *factor, struct error *err)
{
    return limit->has_lower && limit->has_upper
               ? tolerance_compute_two_sided(count, limits->share, limits->confidence, factor, err)
               : tolerance_compute_one_sided(count, limits->share, limits->confidence, factor, err);
}

/* The least distance of mean -+ k s from the limits drawn in by the guard. */
static double get_margin(
    const struct lot_figure *lot, const struct limit *limit, double factor, double guard)
{
    const double reach = factor * lot->summary.deviation + guard;
    double margin = INFINITY;
    if (limit->has_lower) {
        margin = fmin(margin, lot->summary.mean - reach - limit->lower);
    }
    if (limit->has_upper) {
        margin = fmin(margin, limit->upper - lot->summary.mean - reach);
    }
    return margin;
}

static double get_estimated_share(const struct lot_figure *lot, const struct limit *limit)
{
    const double mean = lot->summary.mean, deviation = lot->summary.deviation;
    if (!(deviation > 0)) {
        return limit_holds(limit, mean) ? 1 : 0;
    }
    double outside = 0;
    if (limit->has_lower) {
        outside += normal_compute_share((limit->lower - mean) / deviation);
    }
    if (limit->has_upper) {
        outside += normal_compute_share((mean - limit->upper) / deviation);
    }
    return 1 - outside;
}

static double get_confident_share(
    const struct lot_figure *lot, const struct limit *limit, double confidence)
{
    const double deviation = lot->summary.deviation;
    const bool is_two_sided = limit->has_lower && limit->has_upper;
    const double each = is_two_sided ? 0.5 * (1 + confidence) : confidence;
    double share = 1;
    if (!(deviation > 0)) {
        return NAN;
    }
    if (limit->has_lower) {
        share -= 1 - tolerance_compute_share(
                         lot->specimens, each, (lot->summary.mean - limit->lower) / deviation);
    }
    if (limit->has_upper) {
        share -= 1 - tolerance_compute_share(
                         lot->specimens, each, (limit->upper - lot->summary.mean) / deviation);
    }
    return isnan(share) ? NAN : fmax(share, 0);
}

/* The factor up to which the tolerance limits lie within; NaN where there is none. */
static double get_room(const struct lot_figure *lot, const struct limit *limit, double guard)
{
    const double room = get_margin(lot, limit, 0, guard) / lot->summary.deviation;
    return room > 0 ? room : NAN;
}

/* The fewest specimens that would do with this mean and deviation, by halving: the confidence that
 * a factor gives rises with the number. SIZE_MAX: no memory. */
static size_t find_wanted(const struct lot_figure *lot, const struct limit *limit,
    const struct limits *limits, double guard)
{
    double (*const compute)(size_t, double, double) = limit->has_lower && limit->has_upper
                                                          ? tolerance_compute_confidence_two_sided
                                                          : tolerance_compute_confidence;
    const double room = get_room(lot, limit, guard);
    size_t low = lot->specimens, high = WANTED_MOST;
    const double most = isnan(room) ? 0 : compute(high, limits->share, room);
    if (most < limits->confidence) {
        return 0;
    }
    while (high - low > 1) {
        const size_t middle = (low + high) / 2;
        const double confidence = compute(middle, limits->share, room);
        if (isnan(confidence) || isnan(most)) {
            return SIZE_MAX;
        }
        if (confidence >= limits->confidence) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return high;
}

static enum status set_population(struct lot_figure *lot, const struct limit *limit,
    const struct limits *limits, struct error *err)
{
    const double guard = limits->rule == RULE_GUARDED ? GUARD_FACTOR * lot->u : 0;
    enum status status = compute_factor(limit, limits, lot->specimens, &lot->factor, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double reach = lot->factor * lot->summary.deviation;
    lot->tolerance_lower = limit->has_lower ? lot->summary.mean - reach : -INFINITY;
    lot->tolerance_upper = limit->has_upper ? lot->summary.mean + reach : INFINITY;
    lot->share = get_estimated_share(lot, limit);
    lot->share_confident = get_confident_share(lot, limit, limits->confidence);
    lot->margin = get_margin(lot, limit, lot->factor, guard);
    if (lot->margin >= 0) {
        lot->verdict = VERDICT_ACCEPTED;
        lot->wanted = lot->specimens;
    } else {
        lot->verdict = lot->share < limits->share ? VERDICT_REJECTED : VERDICT_UNDECIDED;
        lot->wanted = find_wanted(lot, limit, limits, guard);
    }
    if (lot->wanted == SIZE_MAX || (lot->summary.deviation > 0 && isnan(lot->share_confident))) {
        return fail_memory(err);
    }
    return STATUS_OK;
}

static enum status compute(struct lot_figure *lot, struct means *means,
    const struct lot_value *values, const struct limit *limit, const struct limits *limits,
    struct error *err)
{
    set_means(means, values, lot->values);
    lot->specimens = means->specimens;
    lot->summary = summary_compute(means->value, means->specimens);
    lot->u = compute_u(values, lot->values);
    struct error why;
    enum status status = normality_compute(means->value, means->specimens, &lot->normality, &why);
    lot->has_normality = status == STATUS_OK;
    if (status == STATUS_FAULT) {
        *err = why;
    } else { /* too few, or no scatter: then without */
        status = set_scatter(lot, values, means, err);
    }
    if (status == STATUS_OK && lot->specimens > 1 && limits->has_lot && limit_is_present(limit)) {
        status = set_population(lot, limit, limits, err);
    }
    return status;
}

enum status lot_compute(const struct lot_value *values, size_t count, const struct limit *limit,
    const struct limits *limits, struct lot_figure *lot, struct error *err)
{
    struct means means = {0};
    struct lot_figure made = {.values = count,
        .factor = NAN,
        .tolerance_lower = -INFINITY,
        .tolerance_upper = INFINITY,
        .share = NAN,
        .share_confident = NAN,
        .margin = NAN,
        .verdict = VERDICT_UNDECIDED};
    enum status status = STATUS_OK;
    if (count == 0) {
        return fail(err, STATUS_INPUT, "it takes one loop at least", "a lot without a value");
    }
    if (!means_init(&means, count)) {
        status = fail_memory(err);
    } else {
        status = compute(&made, &means, values, limit, limits, err);
    }
    means_clear(&means);
    if (status == STATUS_OK) {
        *lot = made;
    }
    return status;
}
