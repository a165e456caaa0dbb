// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/qualification.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum figure qualification_find_unmet(const struct limits *limits, const struct figures *figures)
{
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        const struct limit *limit = &limits->conditions[f];
        const struct figure_value *value = &figures->list[f];
        if (limit_is_present(limit) && !(value->is_present && limit_holds(limit, value->value))) {
            return (enum figure)f;
        }
    }
    return FIGURE_COUNT;
}

static bool is_same_heat(const struct lot_item *a, const struct lot_item *b)
{
    return strcmp(a->supplier, b->supplier) == 0 && strcmp(a->heat, b->heat) == 0;
}

static bool is_same_specimen(const struct lot_item *a, const struct lot_item *b)
{
    return is_same_heat(a, b) && strcmp(a->specimen, b->specimen) == 0;
}

/* Groups keep the order in which they first come: an item goes behind the last of its specimen, a
 * new specimen behind the last of its heat, a new heat to the end. */
static void set_order(struct qualification *made)
{
    for (size_t i = 0; i < made->item_count; i++) {
        size_t place = i;
        bool has_specimen = false;
        for (size_t k = 0; k < i; k++) {
            const struct lot_item *other = &made->items[made->order[k]];
            if (is_same_specimen(other, &made->items[i])) {
                place = k + 1;
                has_specimen = true;
            } else if (!has_specimen && is_same_heat(other, &made->items[i])) {
                place = k + 1;
            }
        }
        memmove(made->order + place + 1, made->order + place, (i - place) * sizeof *made->order);
        made->order[place] = i;
    }
}

static void find_figures(struct qualification *made)
{
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        if (limit_is_present(&made->limits->figures[f])) {
            made->figures[made->figure_count++] = (enum figure)f;
        }
    }
}

static void find_groups(struct qualification *made)
{
    for (size_t i = 0; i < made->item_count; i++) {
        const struct lot_item *item = &made->items[made->order[i]];
        const struct lot_item *before = i > 0 ? &made->items[made->order[i - 1]] : NULL;
        if (before == NULL || !is_same_specimen(before, item)) {
            if (before == NULL || !is_same_heat(before, item)) {
                made->heats[made->heat_count++] = (struct heat_verdict){
                    .supplier = item->supplier, .heat = item->heat, .first = made->specimen_count};
            }
            made->specimens[made->specimen_count++] =
                (struct specimen_verdict){.supplier = item->supplier,
                    .heat = item->heat,
                    .specimen = item->specimen,
                    .first = i};
            made->heats[made->heat_count - 1].count++;
        }
        made->specimens[made->specimen_count - 1].count++;
    }
}

static void set_check(
    const struct qualification *made, const struct specimen_verdict *specimen, struct check *check)
{
    double mean = 0, squares = 0;
    for (size_t i = 0; i < specimen->count; i++) {
        const size_t at = made->order[specimen->first + i];
        const struct figure_value *value = &made->items[at].figures->list[check->figure];
        if (made->counts[at] && value->is_present) {
            check->loops++;
            mean += (value->value - mean) / (double)check->loops;
            squares += value->has_u ? value->u * value->u : 0;
        }
    }
    if (check->loops > 0) {
        check->decision = decision_compute(mean, sqrt(squares / (double)check->loops),
            &made->limits->figures[check->figure], made->limits->rule);
    } else {
        check->decision = (struct decision){.value = NAN,
            .u = NAN,
            .limit = made->limits->figures[check->figure],
            .probability_conforming = NAN,
            .consumer_risk = NAN,
            .producer_risk = NAN,
            .verdict = VERDICT_UNDECIDED};
    }
}

/* Another figure that must conform too, with that probability. */
static void add_bound(struct specimen_verdict *specimen, double probability)
{
    if (isnan(probability) || isnan(specimen->all_least)) {
        specimen->all_least = specimen->all_most = NAN;
        return;
    }
    specimen->all_least = fmax(specimen->all_least - (1 - probability), 0);
    specimen->all_most = fmin(specimen->all_most, probability);
}

static void set_specimen(struct qualification *made, size_t index)
{
    struct specimen_verdict *specimen = &made->specimens[index];
    specimen->checks = made->checks + index * made->figure_count;
    for (size_t i = 0; i < specimen->count; i++) {
        const size_t at = made->order[specimen->first + i];
        made->counts[at] =
            qualification_find_unmet(made->limits, made->items[at].figures) == FIGURE_COUNT;
        specimen->counted += made->counts[at];
    }
    specimen->verdict = VERDICT_ACCEPTED;
    specimen->all_least = specimen->all_most = 1;
    for (size_t f = 0; f < made->figure_count; f++) {
        specimen->checks[f].figure = made->figures[f];
        set_check(made, specimen, &specimen->checks[f]);
        add_bound(specimen, specimen->checks[f].decision.probability_conforming);
        specimen->verdict =
            verdict_combine(specimen->verdict, specimen->checks[f].decision.verdict);
    }
}

/* The heat's values of one figure: every loop that counts. Gives how many. */
static size_t collect(const struct qualification *made, const struct heat_verdict *heat,
    enum figure figure, struct lot_value *values)
{
    size_t count = 0;
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        const struct specimen_verdict *specimen = &made->specimens[s];
        for (size_t i = 0; i < specimen->count; i++) {
            const size_t at = made->order[specimen->first + i];
            const struct figure_value *value = &made->items[at].figures->list[figure];
            if (made->counts[at] && value->is_present) {
                values[count++] = (struct lot_value){s, value->value, value->has_u ? value->u : 0};
            }
        }
    }
    return count;
}

static enum status set_heat_figure(const struct qualification *made,
    const struct heat_verdict *heat, struct heat_figure *figure, struct lot_value *values,
    struct error *err)
{
    const struct limit *limit = &made->limits->figures[figure->figure];
    const size_t count = collect(made, heat, figure->figure, values);
    if (count == 0) {
        return STATUS_OK;
    }
    enum status status = lot_compute(values, count, limit, made->limits, &figure->lot, err);
    if (status == STATUS_OK) {
        const struct lot_figure *lot = &figure->lot;
        figure->has_lot = true;
        figure->has_capability =
            capability_compute(lot->specimens, lot->summary.mean, lot->summary.deviation, limit,
                made->limits->has_lot ? made->limits->confidence : 0.95, &figure->capability,
                NULL) == STATUS_OK;
    }
    return status;
}

static enum status set_heat(
    struct qualification *made, size_t index, struct lot_value *values, struct error *err)
{
    struct heat_verdict *heat = &made->heats[index];
    enum status status = STATUS_OK;
    heat->figures = made->figure_list + index * made->figure_count;
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        heat->specimens = verdict_combine(heat->specimens, made->specimens[s].verdict);
    }
    heat->lot = made->limits->has_lot ? VERDICT_ACCEPTED : heat->specimens;
    for (size_t f = 0; f < made->figure_count && status == STATUS_OK; f++) {
        heat->figures[f].figure = made->figures[f];
        status = set_heat_figure(made, heat, &heat->figures[f], values, err);
        if (made->limits->has_lot) {
            heat->lot = verdict_combine(heat->lot,
                heat->figures[f].has_lot ? heat->figures[f].lot.verdict : VERDICT_UNDECIDED);
        }
    }
    heat->verdict = verdict_combine(heat->specimens, heat->lot);
    made->verdict = verdict_combine(made->verdict, heat->verdict);
    return status;
}

static bool make_room(struct qualification *made)
{
    const size_t count = made->item_count;
    made->order = memory_create(count, sizeof *made->order);
    made->counts = memory_create(count, sizeof *made->counts);
    made->specimens = memory_create(count, sizeof *made->specimens);
    made->heats = memory_create(count, sizeof *made->heats);
    made->checks = memory_create(count * made->figure_count, sizeof *made->checks);
    made->figure_list = memory_create(count * made->figure_count, sizeof *made->figure_list);
    return made->order != NULL && made->counts != NULL && made->specimens != NULL &&
           made->heats != NULL && made->checks != NULL && made->figure_list != NULL;
}

static enum status fill(struct qualification *made, struct error *err)
{
    struct lot_value *values = memory_create(made->item_count, sizeof *values);
    enum status status = STATUS_OK;
    if (values == NULL) {
        return fail_memory(err);
    }
    set_order(made);
    find_groups(made);
    for (size_t i = 0; i < made->specimen_count; i++) {
        set_specimen(made, i);
    }
    for (size_t i = 0; i < made->heat_count && status == STATUS_OK; i++) {
        status = set_heat(made, i, values, err);
    }
    memory_destroy(values);
    return status;
}

enum status qualification_create(const struct lot_item *items, size_t count,
    const struct limits *limits, struct qualification *qualification, struct error *err)
{
    struct qualification made = {
        .limits = limits, .items = items, .item_count = count, .loops = items, .loop_count = count};
    if (count == 0) {
        return fail(
            err, STATUS_INPUT, "give captures or loops of the specimens", "nothing to qualify");
    }
    find_figures(&made);
    enum status status = make_room(&made) ? fill(&made, err) : fail_memory(err);
    if (status != STATUS_OK) {
        qualification_clear(&made);
        return status;
    }
    *qualification = made;
    return STATUS_OK;
}

void qualification_clear(struct qualification *qualification)
{
    memory_destroy(qualification->order);
    memory_destroy(qualification->counts);
    memory_destroy(qualification->specimens);
    memory_destroy(qualification->heats);
    memory_destroy(qualification->checks);
    memory_destroy(qualification->figure_list);
    *qualification = (struct qualification){0};
}
