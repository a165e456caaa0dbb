// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "budget/loop_budget.h"

static const char *const distribution_names[] = {
    [BUDGET_NORMAL] = "normal",
    [BUDGET_RECTANGULAR] = "rectangular",
    [BUDGET_TRIANGULAR] = "triangular",
    [BUDGET_ARCSINE] = "arcsine",
    [BUDGET_T] = "t",
    [BUDGET_BLURRED] = "curvilinear trapezoid",
};

static const char *const verdict_words[] = {
    [TRIALS_NOT_VALIDATED] = "no",
    [TRIALS_VALIDATED] = "yes",
    [TRIALS_TOO_FEW] = "too few trials",
};

static void add_inputs(struct json *json, const struct loop_budget *budget)
{
    json_begin_array(json, "inputs");
    for (size_t i = 0; i < budget->inputs.count; i++) {
        const struct budget_input *input = &budget->inputs.list[i];
        json_begin_object(json, NULL);
        json_add_text(json, "name", input->name);
        json_add_number(json, "value", input->value);
        json_add_number(json, "u", input->u);
        json_add_text(json, "distribution", distribution_names[input->distribution]);
        json_end_object(json);
    }
    json_end_array(json);
}

static void add_contributions(struct json *json, const struct loop_budget *budget, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const size_t count = loop_budget_list(budget, output, list);
    json_begin_array(json, "contributions");
    for (size_t i = 0; i < count; i++) {
        json_begin_object(json, NULL);
        json_add_text(json, "name", list[i].name);
        json_add_number(json, "u", list[i].u);
        json_add_number(json, "share", list[i].share);
        json_end_object(json);
    }
    json_end_array(json);
}

static void add_trials(struct json *json, const struct loop_budget *budget, size_t output)
{
    const struct trials_output *found = &budget->trials.list[output];
    const double expanded = loop_budget_get_coverage(budget, output) * budget->linear.u[output];
    json_begin_object(json, "trials");
    json_add_number(json, "mean", found->mean);
    json_add_number(json, "u", found->u);
    json_add_number(json, "low", found->symmetric[0]);
    json_add_number(json, "high", found->symmetric[1]);
    json_add_number(json, "shortest_low", found->shortest[0]);
    json_add_number(json, "shortest_high", found->shortest[1]);
    json_add_integer(json, "missing", (long long)found->missing);
    json_add_bool(json, "settled", found->is_settled);
    json_add_text(json, "linear_validated",
        verdict_words[trials_validate(found, budget->linear.value[output], expanded)]);
    json_end_object(json);
}

static void add_figure(struct json *json, const struct loop_budget *budget, size_t output)
{
    const struct propagation *linear = &budget->linear;
    const double k = loop_budget_get_coverage(budget, output);
    json_begin_object(json, figure_table[budget->model.output[output]].key);
    json_add_number(json, "value", linear->value[output]);
    json_add_number(json, "u", linear->u[output]);
    json_add_number(json, "u_scatter",
        budget->source != LOOP_SCATTER_NONE ? budget->scatter_list[output].u : 0.0);
    if (isfinite(linear->freedom[output])) {
        json_add_number(json, "degrees_of_freedom", linear->freedom[output]);
    }
    json_add_number(json, "coverage_factor", k);
    json_add_number(json, "expanded", k * linear->u[output]);
    add_contributions(json, budget, output);
    if (budget->has_trials) {
        add_trials(json, budget, output);
    }
    json_end_object(json);
}

void loop_budget_write_json(struct json *json, const char *key, const struct loop_budget *budget)
{
    static const char *const sources[] = {"none", "blocks", "noise"};
    json_begin_object(json, key);
    json_add_number(json, "probability", 0.95);
    json_add_text(json, "scatter", sources[budget->source]);
    json_add_integer(json, "repeats", (long long)budget->repeats);
    if (budget->has_trials) {
        json_add_integer(json, "trials", (long long)budget->trials.count);
    }
    add_inputs(json, budget);
    json_begin_object(json, "figures");
    for (size_t j = 0; j < budget->model.output_count; j++) {
        if (isfinite(budget->linear.u[j]) && budget->linear.u[j] > 0.0) {
            add_figure(json, budget, j);
        }
    }
    json_end_object(json);
    json_end_object(json);
}
