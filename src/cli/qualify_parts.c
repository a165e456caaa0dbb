// SPDX-License-Identifier: GPL-3.0-or-later
/* How the scatter of a figure is shared: suppliers, heats within, rings within, repeats within.
 * Levels with one group only are left out. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "num/variance.h"

static const char *const options_of_parts[] = {"figure", "at", "rig", "specimen", "json", "ledger",
    "where", "supplier", "alloy", "heat", "tag", NULL};

#define LEVELS 3
static const char *const level_names[] = {"supplier", "heat", "ring"};

static const char *get_name(const struct lot_item *item, size_t level)
{
    return level == 0 ? item->supplier : level == 1 ? item->heat : item->specimen;
}

/* The values that are there, and for each level the number of its group. */
struct parts {
    double *values;
    size_t *groups; /* LEVELS runs of input->count */
    size_t *picked; /* items with a value */
    size_t count;
    size_t levels;
    size_t level[LEVELS]; /* those with more than one group, outermost first */
};

static bool is_same_group(const struct lot_item *a, const struct lot_item *b, size_t level)
{
    for (size_t l = 0; l <= level; l++) {
        if (strcmp(get_name(a, l), get_name(b, l)) != 0) {
            return false;
        }
    }
    return true;
}

/* Numbers the groups of a level; gives how many there are. */
static size_t number_groups(
    const struct qualify_input *input, struct parts *parts, size_t level, size_t *numbers)
{
    size_t found = 0;
    for (size_t i = 0; i < parts->count; i++) {
        size_t k = 0;
        while (k < i && !is_same_group(&input->items[parts->picked[k]],
                            &input->items[parts->picked[i]], level)) {
            k++;
        }
        numbers[i] = k < i ? numbers[k] : found++;
    }
    return found;
}

static enum status parts_fill(
    struct parts *parts, const struct qualify_input *input, enum figure figure, struct error *err)
{
    parts->values = memory_create(input->count, sizeof *parts->values);
    parts->groups = memory_create(LEVELS * input->count, sizeof *parts->groups);
    parts->picked = memory_create(input->count, sizeof *parts->picked);
    if (parts->values == NULL || parts->groups == NULL || parts->picked == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < input->count; i++) {
        const struct figure_value *value = &input->items[i].figures->list[figure];
        if (value->is_present) {
            parts->picked[parts->count] = i;
            parts->values[parts->count++] = value->value;
        }
    }
    for (size_t level = 0; level < LEVELS; level++) {
        size_t *numbers = parts->groups + parts->levels * parts->count;
        if (number_groups(input, parts, level, numbers) > 1) {
            parts->level[parts->levels++] = level;
        }
    }
    return STATUS_OK;
}

static void parts_clear(struct parts *parts)
{
    memory_destroy(parts->values);
    memory_destroy(parts->groups);
    memory_destroy(parts->picked);
}

static const char *get_line_name(const struct parts *parts, size_t line)
{
    return line < parts->levels ? level_names[parts->level[line]] : "within";
}

static void add_number(struct columns *table, double number, const char *unit)
{
    if (isnan(number)) {
        columns_add(table, "-");
    } else {
        columns_add(table, "%.3g%s", number, unit);
    }
}

static void add_page(struct text *out, enum figure figure, const struct parts *parts,
    const struct variance_table *variance)
{
    struct columns table = {
        .columns = 6, .is_right = {[1] = true, [2] = true, [3] = true, [4] = true, [5] = true}};
    static const char *const heads[] = {
        "between", "groups", "freedom", "F", "significance", "standard deviation"};
    char a[80];
    for (size_t i = 0; i < 6; i++) {
        columns_add_text(&table, heads[i]);
    }
    for (size_t i = 0; i <= variance->levels; i++) {
        const struct variance_line *line = &variance->line[i];
        columns_add_text(&table, get_line_name(parts, i));
        columns_add(&table, "%zu", variance->groups[i]);
        columns_add(&table, "%g", line->freedom);
        add_number(&table, line->ratio, "");
        add_number(&table, 100 * line->significance, " %");
        columns_add(
            &table, "%s", isnan(line->kept) ? "-" : qualify_show(figure, sqrt(line->kept), 0, a));
    }
    text_add_format(out, "%s: %zu values\n", figure_table[figure].name, parts->count);
    columns_finish(&table, 2, out);
}

static void add_json(struct text *out, enum figure figure, const struct parts *parts,
    const struct variance_table *variance)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-parts/1");
    json_add_text(&json, "figure", figure_table[figure].key);
    json_add_integer(&json, "values", (long long)parts->count);
    json_begin_array(&json, "levels");
    for (size_t i = 0; i <= variance->levels; i++) {
        const struct variance_line *line = &variance->line[i];
        json_begin_object(&json, NULL);
        json_add_text(&json, "between", get_line_name(parts, i));
        json_add_integer(&json, "groups", (long long)variance->groups[i]);
        json_add_number(&json, "sum_of_squares", line->squares);
        json_add_number(&json, "degrees_of_freedom", line->freedom);
        json_add_number(&json, "mean_square", line->mean_square);
        json_add_number(&json, "ratio", line->ratio);
        json_add_number(&json, "significance", line->significance);
        json_add_number(&json, "variance", line->component);
        json_add_number(&json, "deviation", sqrt(line->kept));
        json_end_object(&json);
    }
    json_end_array(&json);
    qualify_end_json(&json);
}

static enum status part(const struct qualify_command *options, const struct qualify_input *input,
    enum figure figure, struct parts *parts, struct error *err)
{
    struct variance_table table;
    struct text page = {0}, json = {0};
    enum status status = parts_fill(parts, input, figure, err);
    if (status == STATUS_OK && parts->levels == 0) {
        status = fail(err, STATUS_INPUT, "give loops of several rings, heats or suppliers",
            "all %zu values are of one ring: there is nothing to part", parts->count);
    }
    if (status == STATUS_OK) {
        status = variance_compute(
            parts->values, parts->groups, parts->count, parts->levels, &table, err);
    }
    if (status == STATUS_OK) {
        add_page(&page, figure, parts, &table);
        add_json(&json, figure, parts, &table);
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    return status;
}

static int run_parts(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    struct qualify_input input = {0};
    struct parts parts = {0};
    enum figure figure;
    enum status status = qualify_begin(options, words, count, &figure, &input, err);
    if (status == STATUS_OK) {
        status = part(options, &input, figure, &parts, err);
    }
    parts_clear(&parts);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_parts = {"parts", options_of_parts, run_parts};
