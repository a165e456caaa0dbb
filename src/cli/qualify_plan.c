// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/plan.h"

#include <math.h>

#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "paper/quality_plot.h"

static const char *const options_of_plan[] = {
    "good", "bad", "producer", "consumer", "known", "json", "plot", NULL};

static const double shares[] = {0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3};
#define SHARES (sizeof shares / sizeof *shares)

static void add_page(struct text *out, const struct plan *plan)
{
    struct columns table = {.columns = 2, .is_right = {true, true}};
    text_add_format(out,
        "measure %zu rings; accept the lot when the mean stands %.3f standard deviations%s\n"
        "or more inside the limit\n\n",
        plan->count, plan->factor, plan->is_deviation_known ? " (known ones)" : " of the sample");
    columns_add(&table, "nonconforming");
    columns_add(&table, "accepted");
    for (size_t i = 0; i < SHARES; i++) {
        columns_add(&table, "%g %%", 100 * shares[i]);
        columns_add(&table, "%.1f %%", 100 * plan_compute_acceptance(plan, shares[i]));
    }
    columns_finish(&table, 2, out);
}

static void add_json(struct text *out, const struct plan *plan)
{
    struct json json;
    double accepted[SHARES];
    for (size_t i = 0; i < SHARES; i++) {
        accepted[i] = plan_compute_acceptance(plan, shares[i]);
    }
    qualify_begin_json(&json, out, "lodecard-plan/1");
    json_add_integer(&json, "specimens", (long long)plan->count);
    json_add_number(&json, "factor", plan->factor);
    json_add_bool(&json, "deviation_known", plan->is_deviation_known);
    json_begin_object(&json, "operating_characteristic");
    json_add_numbers(&json, "nonconforming", shares, SHARES);
    json_add_numbers(&json, "probability_accepted", accepted, SHARES);
    json_end_object(&json);
    qualify_end_json(&json);
}

static double get_or(struct quantity value, double otherwise)
{
    return value.is_present ? value.value : otherwise;
}

static int run_plan(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    const char *const places[] = {options->json, options->plot};
    const double good = get_or(options->good, 0.01), bad = get_or(options->bad, 0.1);
    const double producer = get_or(options->producer, 0.05);
    const double consumer = get_or(options->consumer, 0.1);
    struct plan plan;
    struct text page = {0}, json = {0};
    if (count > 0) {
        return (int)fail(err, STATUS_USAGE, "'lodecard help qualify' tells what it takes",
            "'qualify plan' takes no file, but there is '%s'", words[0]);
    }
    enum status status = output_check(places, 2, words, 0, err);
    if (status == STATUS_OK) {
        status = plan_compute(good, producer, bad, consumer, options->is_known, &plan, err);
        status = status == STATUS_INPUT ? STATUS_USAGE : status;
    }
    if (status == STATUS_OK) {
        add_page(&page, &plan);
        add_json(&json, &plan);
        if (options->plot != NULL) {
            status = quality_plot_plan(&plan, good, bad, options->plot, err);
        }
    }
    if (status == STATUS_OK) {
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    return (int)status;
}

const struct verb qualify_plan = {"plan", options_of_plan, run_plan};
