// SPDX-License-Identifier: GPL-3.0-or-later
/* A control chart over heats, in the order in which they are given. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "paper/quality_plot.h"
#include "qualify/control.h"

static const char *const options_of_chart[] = {"figure", "at", "kind", "rig", "specimen", "json",
    "plot", "ledger", "where", "supplier", "alloy", "heat", "tag", NULL};

static const char *const kind_names[] = {[CONTROL_INDIVIDUALS] = "individuals",
    [CONTROL_RANGES] = "ranges",
    [CONTROL_DEVIATIONS] = "deviations"};
#define KINDS 3

/* Values of the heats, one heat behind the other. */
struct heats {
    double *values;
    struct control_heat *list;
    const char **names;
    size_t count;
};

static bool is_same_ring(const struct lot_item *a, const struct lot_item *b)
{
    return strcmp(a->heat, b->heat) == 0 && strcmp(a->specimen, b->specimen) == 0;
}

static bool is_first_of_ring(const struct qualify_input *input, size_t at)
{
    for (size_t i = 0; i < at; i++) {
        if (is_same_ring(&input->items[i], &input->items[at])) {
            return false;
        }
    }
    return true;
}

/* Repeats on one ring scatter less than rings do: their mean is one value. */
static bool get_ring_mean(
    const struct qualify_input *input, size_t at, enum figure figure, double *mean)
{
    double count = 0;
    *mean = 0;
    for (size_t i = at; i < input->count; i++) {
        const struct figure_value *value = &input->items[i].figures->list[figure];
        if (value->is_present && is_same_ring(&input->items[i], &input->items[at])) {
            count += 1;
            *mean += (value->value - *mean) / count;
        }
    }
    return count > 0;
}

static enum status heats_fill(
    struct heats *heats, const struct qualify_input *input, enum figure figure, struct error *err)
{
    size_t made = 0;
    heats->values = memory_create(input->count, sizeof *heats->values);
    heats->list = memory_create(input->count, sizeof *heats->list);
    heats->names = memory_create(input->count, sizeof *heats->names);
    if (heats->values == NULL || heats->list == NULL || heats->names == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < input->count; i++) {
        const char *name = input->items[i].heat;
        bool is_new = true;
        for (size_t k = 0; k < heats->count && is_new; k++) {
            is_new = strcmp(heats->names[k], name) != 0;
        }
        if (!is_new) {
            continue;
        }
        struct control_heat heat = {.first = made};
        for (size_t k = i; k < input->count; k++) {
            double value;
            if (strcmp(input->items[k].heat, name) == 0 && is_first_of_ring(input, k) &&
                get_ring_mean(input, k, figure, &value)) {
                heats->values[made++] = value;
                heat.count++;
            }
        }
        if (heat.count > 0) {
            heats->names[heats->count] = name;
            heats->list[heats->count++] = heat;
        }
    }
    return STATUS_OK;
}

static void heats_clear(struct heats *heats)
{
    memory_destroy(heats->values);
    memory_destroy(heats->list);
    memory_destroy(heats->names);
}

/* One value each: individuals; up to ten: ranges; else deviations. */
static enum status find_kind(const struct qualify_command *options, const struct heats *heats,
    enum control_kind *kind, struct error *err)
{
    size_t most = 0;
    for (size_t i = 0; i < heats->count; i++) {
        most = heats->list[i].count > most ? heats->list[i].count : most;
    }
    *kind = most == 1 ? CONTROL_INDIVIDUALS : most <= 10 ? CONTROL_RANGES : CONTROL_DEVIATIONS;
    for (int i = 0; i < KINDS && options->kind != NULL; i++) {
        if (strcmp(options->kind, kind_names[i]) == 0) {
            *kind = (enum control_kind)i;
            return STATUS_OK;
        }
    }
    return options->kind == NULL ? STATUS_OK
                                 : fail(err, STATUS_USAGE, "individuals, ranges or deviations",
                                       "option '--kind' does not know '%.80s'", options->kind);
}

static void add_findings(struct columns *table, const struct control_point *point)
{
    struct text words = {0};
    for (unsigned rule = 0; rule < CONTROL_RULE_COUNT; rule++) {
        if (point->rules & (1U << rule)) {
            text_add_format(&words, "%s%s", words.length > 0 ? "; " : "",
                control_rule_get_name((enum control_rule)rule));
        }
    }
    if (point->is_spread_beyond) {
        text_add_format(&words, "%sscatter beyond its limit", words.length > 0 ? "; " : "");
    }
    columns_add(table, "%s", words.length > 0 ? words.bytes : "");
    text_clear(&words);
}

static void add_page(
    struct text *out, enum figure figure, const struct control *control, const struct heats *heats)
{
    struct columns table = {.columns = 5, .is_right = {[1] = true, [2] = true, [3] = true}};
    const char *const heads[] = {"heat", "rings",
        control->kind == CONTROL_INDIVIDUALS ? "value" : "mean",
        control->kind == CONTROL_INDIVIDUALS ? "moving range"
        : control->kind == CONTROL_RANGES    ? "range"
                                             : "deviation",
        ""};
    char a[80], b[80];
    text_add_format(
        out, "%s, control chart (%s)\n", figure_table[figure].name, kind_names[control->kind]);
    text_add_format(out, "centre %s, standard deviation within heats %s\n",
        qualify_show(figure, control->centre, 0, a),
        qualify_show(figure, control->deviation, 0, b));
    text_add_format(out, "limits of the last heat: %s to %s\n\n",
        qualify_show(figure, control->points[control->count - 1].lower, 0, a),
        qualify_show(figure, control->points[control->count - 1].upper, 0, b));
    for (size_t i = 0; i < 5; i++) {
        columns_add_text(&table, heads[i]);
    }
    for (size_t i = 0; i < control->count; i++) {
        const struct control_point *point = &control->points[i];
        columns_add_text(&table, heats->names[i]);
        columns_add(&table, "%zu", heats->list[i].count);
        columns_add_text(&table, qualify_show(figure, point->value, 0, a));
        columns_add_text(&table, qualify_show(figure, point->spread, 0, b));
        add_findings(&table, point);
    }
    columns_finish(&table, 2, out);
}

static void add_point(
    struct json *json, const char *heat, size_t values, const struct control_point *point)
{
    json_begin_object(json, NULL);
    json_add_text(json, "heat", heat);
    json_add_integer(json, "values", (long long)values);
    json_add_number(json, "value", point->value);
    json_add_number(json, "lower", point->lower);
    json_add_number(json, "upper", point->upper);
    json_add_number(json, "spread", point->spread);
    json_add_number(json, "spread_lower", point->spread_lower);
    json_add_number(json, "spread_upper", point->spread_upper);
    json_begin_array(json, "findings");
    for (unsigned rule = 0; rule < CONTROL_RULE_COUNT; rule++) {
        if (point->rules & (1U << rule)) {
            json_add_text(json, NULL, control_rule_get_name((enum control_rule)rule));
        }
    }
    if (point->is_spread_beyond) {
        json_add_text(json, NULL, "scatter beyond its limit");
    }
    json_end_array(json);
    json_end_object(json);
}

static void add_json(
    struct text *out, enum figure figure, const struct control *control, const struct heats *heats)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-control/1");
    json_add_text(&json, "figure", figure_table[figure].key);
    json_add_text(&json, "kind", kind_names[control->kind]);
    json_add_number(&json, "centre", control->centre);
    json_add_number(&json, "deviation", control->deviation);
    json_begin_array(&json, "heats");
    for (size_t i = 0; i < control->count; i++) {
        add_point(&json, heats->names[i], heats->list[i].count, &control->points[i]);
    }
    json_end_array(&json);
    qualify_end_json(&json);
}

static enum status chart(const struct qualify_command *options, const struct qualify_input *input,
    enum figure figure, struct heats *heats, struct error *err)
{
    struct control control = {0};
    struct text page = {0}, json = {0};
    enum control_kind kind;
    enum status status = heats_fill(heats, input, figure, err);
    if (status == STATUS_OK) {
        status = find_kind(options, heats, &kind, err);
    }
    if (status == STATUS_OK) {
        status = control_compute(kind, heats->values, heats->list, heats->count, &control, err);
    }
    if (status == STATUS_OK && options->plot != NULL) {
        status = quality_plot_control(figure, &control, heats->names, options->plot, err);
    }
    if (status == STATUS_OK) {
        add_page(&page, figure, &control, heats);
        add_json(&json, figure, &control, heats);
        status = qualify_show_result(options, &page, &json, err);
    }
    control_clear(&control);
    text_clear(&page);
    text_clear(&json);
    return status;
}

static int run_chart(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    struct qualify_input input = {0};
    struct heats heats = {0};
    enum figure figure;
    enum status status = qualify_begin(options, words, count, &figure, &input, err);
    if (status == STATUS_OK) {
        status = chart(options, &input, figure, &heats, err);
    }
    heats_clear(&heats);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_chart = {"chart", options_of_chart, run_chart};
