// SPDX-License-Identifier: GPL-3.0-or-later
/* A gauge study of the bench: conditions are rigs, by their names, or what --by says. */
#include "qualify/gauge.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"

static const char *const options_of_gauge[] = {"figure", "limits", "by", "rig", "specimen", "json",
    "ledger", "where", "supplier", "alloy", "heat", "tag", NULL};

static const char *get_condition(
    const struct qualify_command *options, const struct qualify_input *input, size_t at)
{
    if (options->by == NULL || strcmp(options->by, "rig") == 0) {
        return input->rigs[at];
    }
    return strcmp(options->by, "heat") == 0 ? input->items[at].heat : input->items[at].supplier;
}

/* Numbers for names: the place of the first item that has the same one. */
static size_t get_number(
    const struct qualify_command *options, const struct qualify_input *input, size_t at)
{
    size_t first = 0;
    while (strcmp(get_condition(options, input, first), get_condition(options, input, at)) != 0) {
        first++;
    }
    return first;
}

static size_t get_specimen(const struct qualify_input *input, size_t at)
{
    size_t first = 0;
    while (strcmp(input->items[first].specimen, input->items[at].specimen) != 0) {
        first++;
    }
    return first;
}

static enum status compute(const struct qualify_command *options, const struct qualify_input *input,
    enum figure figure, const struct limit *limit, struct gauge *gauge, struct error *err)
{
    struct gauge_value *values = memory_create(input->count, sizeof *values);
    size_t count = 0;
    if (values == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < input->count; i++) {
        const struct figure_value *value = &input->items[i].figures->list[figure];
        if (value->is_present) {
            values[count++] = (struct gauge_value){
                get_specimen(input, i), get_number(options, input, i), value->value};
        }
    }
    enum status status = gauge_compute(values, count, limit, gauge, err);
    memory_destroy(values);
    return status;
}

static void add_page(struct text *out, enum figure figure, const struct gauge *gauge)
{
    struct columns table = {.columns = 2, .is_right = {[1] = true}};
    const struct {
        const char *name;
        double deviation;
    } rows[] = {{"repeatability", gauge->repeatability},
        {"reproducibility", gauge->reproducibility},
        {"  of it: conditions differ from ring to ring", gauge->interaction_deviation},
        {"the bench, both together", gauge->bench}, {"between rings", gauge->specimen}};
    char a[80];
    text_add_format(out, "%s: %zu rings, %zu condition%s, %zu times each\n",
        figure_table[figure].name, gauge->specimens, gauge->conditions,
        gauge->conditions == 1 ? "" : "s", gauge->repeats);
    columns_add(&table, "standard deviation of");
    columns_add(&table, "%s", "");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        columns_add(&table, "%s", rows[i].name);
        columns_add(&table, "%s", qualify_show(figure, rows[i].deviation, 0, a));
    }
    columns_finish(&table, 2, out);
    text_add_format(out, "the bench takes %.3g %% of all scatter; it tells %.1f classes of rings\n",
        100 * gauge->share_of_total, gauge->categories);
    if (isfinite(gauge->share_of_tolerance)) {
        text_add_format(out, "six of its deviations take %.3g %% of the distance of the limits\n",
            100 * gauge->share_of_tolerance);
    }
    if (gauge->conditions == 1) {
        text_add(out, "one condition only: nothing is told of reproducibility\n");
    }
}

static void add_line(struct json *json, const char *name, const struct gauge_line *line)
{
    json_begin_object(json, name);
    json_add_number(json, "sum_of_squares", line->squares);
    json_add_number(json, "degrees_of_freedom", line->freedom);
    json_add_number(json, "mean_square", line->mean_square);
    json_end_object(json);
}

static void add_json(struct text *out, enum figure figure, const struct gauge *gauge)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-gauge/1");
    json_add_text(&json, "figure", figure_table[figure].key);
    json_add_integer(&json, "specimens", (long long)gauge->specimens);
    json_add_integer(&json, "conditions", (long long)gauge->conditions);
    json_add_integer(&json, "repeats", (long long)gauge->repeats);
    json_add_number(&json, "repeatability", gauge->repeatability);
    json_add_number(&json, "reproducibility", gauge->reproducibility);
    json_add_number(&json, "interaction", gauge->interaction_deviation);
    json_add_number(&json, "interaction_significance", gauge->interaction_significance);
    json_add_number(&json, "bench", gauge->bench);
    json_add_number(&json, "between_specimens", gauge->specimen);
    json_add_number(&json, "share_of_total", gauge->share_of_total);
    json_add_number(&json, "share_of_tolerance", gauge->share_of_tolerance);
    json_add_number(&json, "categories", gauge->categories);
    add_line(&json, "by_specimen", &gauge->by_specimen);
    add_line(&json, "by_condition", &gauge->by_condition);
    add_line(&json, "by_interaction", &gauge->interaction);
    add_line(&json, "by_repeat", &gauge->repeat);
    qualify_end_json(&json);
}

static enum status check_by(const struct qualify_command *options, struct error *err)
{
    static const char *const words[] = {"rig", "heat", "supplier"};
    for (size_t i = 0; i < 3 && options->by != NULL; i++) {
        if (strcmp(options->by, words[i]) == 0) {
            return STATUS_OK;
        }
    }
    return options->by == NULL ? STATUS_OK
                               : fail(err, STATUS_USAGE, "rig, heat or supplier",
                                     "option '--by' does not know '%.80s'", options->by);
}

static int run_gauge(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    struct qualify_input input = {0};
    struct limits limits = {0};
    struct gauge gauge;
    struct text page = {0}, json = {0};
    enum figure figure;
    enum status status = output_check(&options->json, 1, words, (size_t)count, err);
    if (status == STATUS_OK) {
        status = check_by(options, err);
    }
    if (status == STATUS_OK) {
        status = qualify_find_figure(options, &figure, err);
    }
    if (status == STATUS_OK && options->limits != NULL) {
        status = limits_read(options->limits, &limits, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(options, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = compute(options, &input, figure, &limits.figures[figure], &gauge, err);
    }
    if (status == STATUS_OK) {
        add_page(&page, figure, &gauge);
        add_json(&json, figure, &gauge);
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    limits_clear(&limits);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_gauge = {"gauge", options_of_gauge, run_gauge};
