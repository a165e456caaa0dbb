// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/gauge.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "base/text.h"
#include "num/distribution.h"

/* The values in a box: specimens by conditions, mean and number in each cell. */
struct box {
    size_t *specimens, *conditions; /* their numbers, in the order in which they come first */
    size_t specimen_count, condition_count;
    double *mean; /* [specimen * condition_count + condition] */
    double *count;
    double *by_specimen, *by_condition;
    double middle;
};

static size_t find(size_t *list, size_t *count, size_t number)
{
    size_t at = 0;
    while (at < *count && list[at] != number) {
        at++;
    }
    if (at == *count) {
        list[(*count)++] = number;
    }
    return at;
}

static size_t get_cell(struct box *box, const struct gauge_value *value)
{
    return find(box->specimens, &box->specimen_count, value->specimen) * box->condition_count +
           find(box->conditions, &box->condition_count, value->condition);
}

static bool box_init(struct box *box, const struct gauge_value *values, size_t count)
{
    box->specimens = memory_create(count, sizeof *box->specimens);
    box->conditions = memory_create(count, sizeof *box->conditions);
    if (box->specimens == NULL || box->conditions == NULL) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        get_cell(box, &values[i]);
    }
    const size_t cells = box->specimen_count * box->condition_count;
    box->mean = memory_create(cells, sizeof *box->mean);
    box->count = memory_create(cells, sizeof *box->count);
    box->by_specimen = memory_create(box->specimen_count, sizeof *box->by_specimen);
    box->by_condition = memory_create(box->condition_count, sizeof *box->by_condition);
    return box->mean != NULL && box->count != NULL && box->by_specimen != NULL &&
           box->by_condition != NULL;
}

static void box_clear(struct box *box)
{
    memory_destroy(box->specimens);
    memory_destroy(box->conditions);
    memory_destroy(box->mean);
    memory_destroy(box->count);
    memory_destroy(box->by_specimen);
    memory_destroy(box->by_condition);
}

static void set_means(struct box *box, const struct gauge_value *values, size_t count)
{
    const double cells = (double)box->specimen_count * (double)box->condition_count;
    for (size_t i = 0; i < count; i++) {
        const size_t cell = get_cell(box, &values[i]);
        box->count[cell] += 1;
        box->mean[cell] += (values[i].value - values[0].value - box->mean[cell]) / box->count[cell];
    }
    for (size_t s = 0; s < box->specimen_count; s++) {
        for (size_t c = 0; c < box->condition_count; c++) {
            const double mean = box->mean[s * box->condition_count + c];
            box->by_specimen[s] += mean / (double)box->condition_count;
            box->by_condition[c] += mean / (double)box->specimen_count;
            box->middle += mean / cells;
        }
    }
}

/* "'R-17' has 2 values under 'rig-2'" */
static void add_cell(
    struct text *text, const struct box *box, const struct gauge_names *names, size_t cell)
{
    const size_t specimen = box->specimens[cell / box->condition_count];
    const size_t condition = box->conditions[cell % box->condition_count];
    if (names != NULL) {
        text_add_format(text, "'%s' has %g value%s under '%s'", names->specimens[specimen],
            box->count[cell], box->count[cell] == 1 ? "" : "s", names->conditions[condition]);
    } else {
        text_add_format(text, "specimen %zu has %g value%s under condition %zu", specimen,
            box->count[cell], box->count[cell] == 1 ? "" : "s", condition);
    }
}

static enum status fail_cell(
    const struct box *box, const struct gauge_names *names, size_t cell, struct error *err)
{
    struct text odd = {0}, first = {0};
    add_cell(&odd, box, names, cell);
    add_cell(&first, box, names, 0);
    const enum status status =
        odd.failed || first.failed
            ? fail_memory(err)
            : fail(err, STATUS_INPUT,
                  "measure every specimen equally often, twice at least, under every condition",
                  "in the gauge study %s%s%s", odd.bytes, cell > 0 ? ", " : "",
                  cell > 0 ? first.bytes : "");
    text_clear(&odd);
    text_clear(&first);
    return status;
}

static enum status check_cells(
    const struct box *box, const struct gauge_names *names, struct error *err)
{
    const size_t cells = box->specimen_count * box->condition_count;
    for (size_t i = 0; i < cells; i++) {
        if (box->count[i] != box->count[0] || box->count[i] < 2) {
            return fail_cell(box, names, i, err);
        }
    }
    if (box->specimen_count < 2) {
        return fail(
            err, STATUS_INPUT, "measure two specimens at least", "no gauge study of one specimen");
    }
    return STATUS_OK;
}

static void line_set(struct gauge_line *line, double squares, double freedom)
{
    *line = (struct gauge_line){squares, freedom, freedom > 0 ? squares / freedom : NAN};
}

static void set_lines(
    struct gauge *gauge, struct box *box, const struct gauge_value *values, size_t count)
{
    const double s = (double)gauge->specimens, c = (double)gauge->conditions;
    const double r = (double)gauge->repeats;
    double specimen = 0, condition = 0, cell = 0, repeat = 0;
    for (size_t i = 0; i < gauge->specimens; i++) {
        specimen += pow(box->by_specimen[i] - box->middle, 2);
        for (size_t j = 0; j < gauge->conditions; j++) {
            cell += pow(box->mean[i * gauge->conditions + j] - box->by_specimen[i] -
                            box->by_condition[j] + box->middle,
                2);
        }
    }
    for (size_t j = 0; j < gauge->conditions; j++) {
        condition += pow(box->by_condition[j] - box->middle, 2);
    }
    for (size_t i = 0; i < count; i++) {
        repeat += pow(values[i].value - values[0].value - box->mean[get_cell(box, &values[i])], 2);
    }
    line_set(&gauge->by_specimen, c * r * specimen, s - 1);
    line_set(&gauge->by_condition, s * r * condition, c - 1);
    line_set(&gauge->interaction, r * cell, (s - 1) * (c - 1));
    line_set(&gauge->repeat, repeat, s * c * (r - 1));
}

static double get_root(double variance)
{
    return sqrt(fmax(variance, 0));
}

static void set_deviations(struct gauge *gauge, const struct limit *limit)
{
    const double s = (double)gauge->specimens, c = (double)gauge->conditions;
    const double r = (double)gauge->repeats, within = gauge->repeat.mean_square;
    const bool is_crossed = gauge->conditions > 1;
    const double mixed = is_crossed ? gauge->interaction.mean_square : within;
    const double interaction = fmax((mixed - within) / r, 0);
    const double condition =
        is_crossed ? fmax((gauge->by_condition.mean_square - mixed) / (s * r), 0) : 0;
    gauge->interaction_significance = is_crossed && within > 0
                                          ? fisher_compute_share_above(mixed / within,
                                                gauge->interaction.freedom, gauge->repeat.freedom)
                                          : NAN;
    gauge->repeatability = get_root(within);
    gauge->interaction_deviation = sqrt(interaction);
    gauge->reproducibility = sqrt(condition + interaction);
    gauge->bench = sqrt(within + condition + interaction);
    gauge->specimen = get_root((gauge->by_specimen.mean_square - mixed) / (c * r));
    gauge->share_of_total = gauge->bench / hypot(gauge->bench, gauge->specimen);
    gauge->share_of_tolerance = limit->has_lower && limit->has_upper
                                    ? 6 * gauge->bench / (limit->upper - limit->lower)
                                    : NAN;
    gauge->categories = sqrt(2) * gauge->specimen / gauge->bench;
}

static enum status compute(struct gauge *gauge, struct box *box, const struct gauge_value *values,
    size_t count, const struct gauge_names *names, const struct limit *limit, struct error *err)
{
    set_means(box, values, count);
    enum status status = check_cells(box, names, err);
    if (status != STATUS_OK) {
        return status;
    }
    gauge->specimens = box->specimen_count;
    gauge->conditions = box->condition_count;
    gauge->repeats = (size_t)box->count[0];
    set_lines(gauge, box, values, count);
    set_deviations(gauge, limit);
    if (!(gauge->bench > 0)) {
        return fail(err, STATUS_INPUT, "no repeat differs from another: are they copies?",
            "no gauge study of a bench without scatter");
    }
    return STATUS_OK;
}

enum status gauge_compute(const struct gauge_value *values, size_t count,
    const struct gauge_names *names, const struct limit *limit, struct gauge *gauge,
    struct error *err)
{
    struct box box = {0};
    struct gauge made = {0};
    enum status status = STATUS_OK;
    if (count == 0) {
        return fail(
            err, STATUS_INPUT, "measure two specimens twice at least", "a gauge study of nothing");
    }
    status = box_init(&box, values, count) ? compute(&made, &box, values, count, names, limit, err)
                                           : fail_memory(err);
    box_clear(&box);
    if (status == STATUS_OK) {
        *gauge = made;
    }
    return status;
}
