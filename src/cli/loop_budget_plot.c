// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_budget_plot.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "cli/loop_budget.h"
#include "paper/bars_plot.h"
#include "quantity/display.h"

#define BARS_MOST 6       /* of a figure; what is left is one more */
#define SHARE_LEAST 0.005 /* smaller ones are summed up */
#define DIGITS 6

/* A figure's bars with their words. */
struct figure_bars {
    char heading[4 * DISPLAY_SIZE];
    char words[BARS_MOST][2 * DISPLAY_SIZE];
    struct bars_bar bars[BARS_MOST + 1];
    size_t count;
};

static void set_heading(struct figure_bars *made, const struct loop_budget *budget, size_t output)
{
    const enum figure figure = budget->model.output[output];
    struct figure_value value = {.value = budget->linear.value[output],
        .u = budget->linear.u[output],
        .is_present = true,
        .has_u = true};
    struct display display;
    char joined[2 * DISPLAY_SIZE];
    display_set_figure(&display, figure, &value, DIGITS);
    display_join(&display, joined, sizeof joined);
    snprintf(made->heading, sizeof made->heading, "= %s, %s", joined, figure_table[figure].name);
}

static void set_bars(struct figure_bars *made, const struct loop_budget *budget, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const size_t found = loop_budget_list(budget, output, list);
    double rest = 1;
    for (size_t i = 0; i < found && i < BARS_MOST && fabs(list[i].share) >= SHARE_LEAST; i++) {
        loop_budget_set_u(
            made->words[i], sizeof made->words[i], budget->model.output[output], list[i].u);
        made->bars[made->count++] = (struct bars_bar){
            .name = list[i].name, .words = made->words[i], .share = list[i].share};
        rest -= list[i].share;
    }
    if (fabs(rest) >= SHARE_LEAST)
        made->bars[made->count++] =
            (struct bars_bar){.name = "others", .share = rest, .is_rest = true};
}

enum status loop_budget_plot_write(
    const char *name, const struct loop_budget *budget, const char *path, struct error *err)
{
    struct figure_bars *made = memory_create(FIGURE_COUNT, sizeof *made);
    struct bars_group *groups = memory_create(FIGURE_COUNT, sizeof *groups);
    struct text title = {0};
    size_t count = 0;
    text_add_format(&title, "%s: what makes the uncertainty", name);
    enum status status =
        made == NULL || groups == NULL || title.failed ? fail_memory(err) : STATUS_OK;
    for (size_t i = 0; !status && i < loop_budget_shown_count; i++) {
        const size_t output = loop_budget_find(budget, loop_budget_shown[i]);
        if (output == budget->model.output_count || !(budget->linear.u[output] > 0))
            continue;
        set_heading(&made[count], budget, output);
        set_bars(&made[count], budget, output);
        groups[count] = (struct bars_group){.symbol = figure_table[loop_budget_shown[i]].symbol,
            .words = made[count].heading,
            .bars = made[count].bars,
            .count = made[count].count};
        count++;
    }
    if (!status && count == 0)
        status = fail(err, STATUS_CAPTURE, "state values in rig and specimen as 'value \u00B1 U'",
            "no figure has an uncertainty to draw");
    if (!status)
        status = bars_plot_write(title.bytes,
            "Bars: share of u\u00B2, the line half-way is 50 %, the outer one 100 %; beside them "
            "what each alone makes of the figure (k = 1). Empty bars: the rest, or a share that "
            "takes away from others by correlation.",
            groups, count, path, err);
    text_clear(&title);
    memory_destroy(made);
    memory_destroy(groups);
    return status;
}
