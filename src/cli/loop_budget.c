// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_budget.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/wrap.h"
#include "quantity/display.h"

#define NAME_COLUMNS 40
#define U_COLUMNS 20
#define SHARE_COLUMNS 10
#define SHARE_LEAST 0.001 /* smaller ones are summed up */
#define DIGITS 6

const enum figure loop_budget_shown[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
    FIGURE_FLUX_DENSITY_PEAK, FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_COERCIVITY_J,
    FIGURE_LOOP_AREA, FIGURE_LOSS, FIGURE_LAG_ANGLE, FIGURE_AMPLITUDE_PERMEABILITY};
const size_t loop_budget_shown_count = sizeof loop_budget_shown / sizeof *loop_budget_shown;

static void add_cell(struct text *out, const char *words, size_t columns, bool is_right)
{
    size_t width = text_width(words);
    size_t blanks = width < columns ? columns - width : 0;
    wrap_add_blanks(out, is_right ? blanks : 0);
    text_add(out, words);
    wrap_add_blanks(out, is_right ? 0 : blanks);
}

void loop_budget_set_u(char *words, size_t size, enum figure figure, double u)
{
    struct figure_value value = {.value = fabs(u), .is_present = true};
    struct display display;
    display_set(&display, &value, figure_table[figure].unit, figure_table[figure].has_prefix, 2);
    snprintf(words, size, "%s%s%s", display.value, *display.unit ? " " : "", display.unit);
}

static void add_row(struct text *out, enum figure figure, const char *name, double u, double share)
{
    char cell[2 * DISPLAY_SIZE] = "";
    text_add(out, "    ");
    add_cell(out, name, NAME_COLUMNS, false);
    if (!isnan(u))
        loop_budget_set_u(cell, sizeof cell, figure, u);
    add_cell(out, cell, U_COLUMNS, true);
    snprintf(cell, sizeof cell, "%.1f %%", 100 * share);
    add_cell(out, cell, SHARE_COLUMNS, true);
    text_add(out, "\n");
}

static void add_half(struct text *out, const struct contribution *list, size_t listed)
{
    size_t count;
    double factor;
    struct text words = {0};
    loop_budget_find_half(list, listed, &count, &factor);
    if (count == 0)
        return;
    text_add(&words, "to halve u: ");
    for (size_t i = 0; i < count; i++)
        text_add_format(&words, "%s%s",
            i == 0           ? ""
            : i + 1 == count ? " and "
                             : ", ",
            list[i].name);
    text_add_format(&words, " down to %.0f %% of %s", 100 * factor, count > 1 ? "theirs" : "it");
    for (size_t i = 0; i < count; i++)
        if (isnan(list[i].u_input) && factor > 0)
            text_add_format(
                &words, " (scatter: a record %.2g times as long)", 1 / (factor * factor));
    text_add(out, "    ");
    if (words.failed)
        out->failed = true;
    else
        wrap_add(out, words.bytes, 4, 6);
    text_clear(&words);
}

static void add_trials(struct text *out, const struct loop_budget *budget, size_t output)
{
    static const char *const verdicts[] = {[TRIALS_NOT_VALIDATED] = "no",
        [TRIALS_VALIDATED] = "yes",
        [TRIALS_TOO_FEW] = "undecided, more trials are needed"};
    const struct trials_output *found = &budget->trials.list[output];
    const enum figure figure = budget->model.output[output];
    const double expanded = loop_budget_get_coverage(budget, output) * budget->linear.u[output];
    char ends[2][2 * DISPLAY_SIZE];
    for (int i = 0; i < 2; i++) {
        struct figure_value value = {
            .value = found->symmetric[i], .u = found->u, .is_present = true, .has_u = true};
        struct display display;
        display_set_figure(&display, figure, &value, DIGITS);
        snprintf(ends[i], sizeof ends[i], "%s%s%s", display.value, *display.unit ? " " : "",
            display.unit);
    }
    text_add_format(out, "    trials: 95 %% from %s to %s; linear result validated: %s\n", ends[0],
        ends[1], verdicts[trials_validate(found, budget->linear.value[output], expanded)]);
}

static void add_figure(struct text *out, const struct loop_budget *budget, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const enum figure figure = budget->model.output[output];
    const size_t count = loop_budget_list(budget, output, list);
    const double u = budget->linear.u[output], k = loop_budget_get_coverage(budget, output);
    struct figure_value value = {
        .value = budget->linear.value[output], .u = u, .is_present = true, .has_u = true};
    struct display display;
    char expanded[2 * DISPLAY_SIZE];
    display_set_figure(&display, figure, &value, DIGITS);
    loop_budget_set_u(expanded, sizeof expanded, figure, k * u);
    text_add_format(out, "\n  %s %s = %s%s%s, u = %s%s%s (%.2g %%), U = %s (95 %%, k = %.2f)\n",
        figure_table[figure].name, figure_table[figure].symbol, display.value,
        *display.unit ? " " : "", display.unit, display.u, *display.unit ? " " : "", display.unit,
        100 * fabs(u / value.value), expanded, k);
    double rest = 1;
    for (size_t i = 0; i < count && fabs(list[i].share) >= SHARE_LEAST; i++) {
        add_row(out, figure, list[i].name, list[i].u, list[i].share);
        rest -= list[i].share;
    }
    if (rest >= SHARE_LEAST / 2)
        add_row(out, figure, "others", NAN, rest);
    add_half(out, list, count);
    if (budget->has_trials)
        add_trials(out, budget, output);
}

void loop_budget_text_add(struct text *out, const struct loop_budget *budget)
{
    text_add(out, "\nBudget: what makes u, largest first; u alone; share of u²\n");
    for (size_t i = 0; i < loop_budget_shown_count; i++) {
        size_t output = loop_budget_find(budget, loop_budget_shown[i]);
        if (output < budget->model.output_count && budget->linear.u[output] > 0)
            add_figure(out, budget, output);
    }
    if (budget->source == LOOP_SCATTER_BLOCKS)
        text_add_format(out, "\n  scatter: of %zu runs of cycles", budget->repeats);
    if (budget->source == LOOP_SCATTER_NOISE)
        text_add(
            out, "\n  scatter: from the noise of single samples (fewer than 3 runs of cycles)");
    if (budget->has_trials)
        text_add_format(out, "\n  %zu trials", budget->trials.count);
    text_add(out, "\n");
}
