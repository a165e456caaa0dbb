// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/study.h"

#include <string.h>

#include "base/memory.h"

const char *study_by_get_name(enum study_by by)
{
    static const char *const names[STUDY_BY_COUNT] = {
        [STUDY_BY_RIG] = "rig", [STUDY_BY_HEAT] = "heat", [STUDY_BY_SUPPLIER] = "supplier"};
    return names[by];
}

/* The number of a name, which is added where it is new. */
static size_t find(const char **names, size_t *count, const char *name)
{
    size_t at = 0;
    while (at < *count && strcmp(names[at], name) != 0) {
        at++;
    }
    if (at == *count) {
        names[(*count)++] = name;
    }
    return at;
}

static void fill(
    struct study *study, const struct lot_item *items, const char *const *rigs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct figure_value *value = &items[i].figures->list[study->figure];
        const char *const conditions[STUDY_BY_COUNT] = {[STUDY_BY_RIG] = rigs[i],
            [STUDY_BY_HEAT] = items[i].heat,
            [STUDY_BY_SUPPLIER] = items[i].supplier};
        if (value->is_present) {
            study->values[study->count++] = (struct gauge_value){
                find(study->specimens, &study->specimen_count, items[i].specimen),
                find(study->conditions, &study->condition_count, conditions[study->by]),
                value->value};
        }
    }
}

enum status study_create(const struct lot_item *items, const char *const *rigs, size_t count,
    enum study_by by, enum figure figure, const struct limit *limit, struct study *study,
    struct error *err)
{
    struct study made = {.figure = figure, .by = by};
    enum status status = STATUS_OK;
    made.values = memory_create(count, sizeof *made.values);
    made.specimens = memory_create(count, sizeof *made.specimens);
    made.conditions = memory_create(count, sizeof *made.conditions);
    if (made.values == NULL || made.specimens == NULL || made.conditions == NULL) {
        status = fail_memory(err);
    }
    if (status == STATUS_OK) {
        fill(&made, items, rigs, count);
        const struct gauge_names names = {made.specimens, made.conditions};
        status = gauge_compute(made.values, made.count, &names, limit, &made.gauge, err);
    }
    if (status != STATUS_OK) {
        study_clear(&made);
        return status;
    }
    *study = made;
    return STATUS_OK;
}

void study_clear(struct study *study)
{
    memory_destroy(study->values);
    memory_destroy(study->specimens);
    memory_destroy(study->conditions);
    *study = (struct study){0};
}

static void add_line(struct json *json, const char *name, const struct gauge_line *line)
{
    json_begin_object(json, name);
    json_add_number(json, "sum_of_squares", line->squares);
    json_add_number(json, "degrees_of_freedom", line->freedom);
    json_add_number(json, "mean_square", line->mean_square);
    json_end_object(json);
}

void study_write_json(struct json *json, const struct study *study)
{
    const struct gauge *gauge = &study->gauge;
    json_add_text(json, "figure", figure_table[study->figure].key);
    json_add_integer(json, "specimens", (long long)gauge->specimens);
    json_add_integer(json, "conditions", (long long)gauge->conditions);
    json_add_integer(json, "repeats", (long long)gauge->repeats);
    json_add_number(json, "repeatability", gauge->repeatability);
    json_add_number(json, "reproducibility", gauge->reproducibility);
    json_add_number(json, "interaction", gauge->interaction_deviation);
    json_add_number(json, "interaction_significance", gauge->interaction_significance);
    json_add_number(json, "bench", gauge->bench);
    json_add_number(json, "between_specimens", gauge->specimen);
    json_add_number(json, "share_of_total", gauge->share_of_total);
    json_add_number(json, "share_of_tolerance", gauge->share_of_tolerance);
    json_add_number(json, "categories", gauge->categories);
    add_line(json, "by_specimen", &gauge->by_specimen);
    add_line(json, "by_condition", &gauge->by_condition);
    add_line(json, "by_interaction", &gauge->interaction);
    add_line(json, "by_repeat", &gauge->repeat);
}
