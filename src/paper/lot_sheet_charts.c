// SPDX-License-Identifier: GPL-3.0-or-later
/* Pictures of the report on a lot. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/lot_sheet_part.h"
#include "paper/markup.h"
#include "paper/strip_plot.h"

static enum status keep(struct report_sheet *sheet, struct quality_chart *chart,
    const struct text *alternative, const char *caption, struct error *err)
{
    if (alternative->failed) {
        quality_chart_clear(chart);
        return fail_memory(err);
    }
    return report_sheet_add_chart(sheet, chart, alternative->bytes, caption, err);
}

/* --- normal plots ------------------------------------------------------------------------------
 */

static size_t count_measured(
    const struct qualification *made, const struct heat_verdict *heat, size_t index)
{
    size_t count = 0;
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        count += made->specimens[s].checks[index].loops > 0;
    }
    return count;
}

enum status lot_sheet_add_normal(
    struct report_sheet *sheet, const struct qualification *made, size_t heat, struct error *err)
{
    struct quality_chart chart;
    struct text words = {0};
    bool has_any = false;
    for (size_t f = 0; f < made->figure_count; f++) {
        has_any = has_any || count_measured(made, &made->heats[heat], f) > 2;
    }
    if (!has_any) {
        return STATUS_OK; /* two points always lie on a line */
    }
    enum status status = quality_chart_create_normal(made, heat, &chart, err);
    if (status == STATUS_OK) {
        text_add(&words, "Normal plot of ");
        lot_sheet_add_heat_name(&words, &made->heats[heat]);
        status = keep(sheet, &chart, &words,
            "Normal plot: rings of a normal population lie about the dashed line.", err);
    }
    text_clear(&words);
    return status;
}

/* --- rings in their order ----------------------------------------------------------------------
 */

static enum status add_rings(
    struct report_sheet *sheet, const struct qualification *made, size_t index, struct error *err)
{
    struct quality_chart chart;
    struct text words = {0};
    char limit[3 * REPORT_NUMBER_SIZE];
    const enum figure figure = made->figures[index];
    const struct report_scale scale = lot_sheet_get_scale(made, index);
    enum status status = quality_chart_create_lots(made, index, &chart, err);
    if (status == STATUS_OK) {
        text_add_format(&words,
            "%s of %zu rings with their expanded uncertainty, beside the limits: %s",
            figure_table[figure].name, made->specimen_count,
            report_write_limit(&scale, &made->limits->figures[figure], limit));
        status = keep(sheet, &chart, &words,
            made->limits->rule == RULE_GUARDED
                ? "Bars: expanded uncertainty U. Lines: limits; dotted: acceptance limits."
                : "Bars: expanded uncertainty U. Lines: limits.",
            err);
    }
    text_clear(&words);
    return status;
}

/* --- heats side by side ------------------------------------------------------------------------
 */

struct strips {
    struct strip_panel *panels;
    struct strip_group *groups; /* made->heat_count a panel */
    double *values;             /* made->specimen_count a panel */
};

static void strips_clear(struct strips *strips)
{
    memory_destroy(strips->panels);
    memory_destroy(strips->groups);
    memory_destroy(strips->values);
}

static struct strip_group get_group(
    const struct qualification *made, size_t heat, size_t index, double *values)
{
    const struct heat_verdict *verdict = &made->heats[heat];
    const struct lot_figure *lot = &verdict->figures[index].lot;
    const bool has_limits =
        made->limits->has_lot && verdict->figures[index].has_lot && !isnan(lot->factor);
    struct strip_group group = {
        .name = verdict->heat, .values = values, .lower = NAN, .upper = NAN};
    if (has_limits) {
        group.lower = lot->tolerance_lower;
        group.upper = lot->tolerance_upper;
    }
    for (size_t s = verdict->first; s < verdict->first + verdict->count; s++) {
        const struct check *check = &made->specimens[s].checks[index];
        if (check->loops > 0) {
            values[group.count++] = check->decision.value;
        }
    }
    return group;
}

static bool strips_fill(struct strips *strips, const struct qualification *made)
{
    strips->panels = memory_create(made->figure_count, sizeof *strips->panels);
    strips->groups = memory_create(made->figure_count * made->heat_count, sizeof *strips->groups);
    strips->values =
        memory_create(made->figure_count * made->specimen_count, sizeof *strips->values);
    if (strips->panels == NULL || strips->groups == NULL || strips->values == NULL) {
        return false;
    }
    for (size_t f = 0; f < made->figure_count; f++) {
        struct strip_group *groups = strips->groups + f * made->heat_count;
        double *values = strips->values + f * made->specimen_count;
        for (size_t h = 0; h < made->heat_count; h++) {
            groups[h] = get_group(made, h, f, values + made->heats[h].first);
        }
        strips->panels[f] = (struct strip_panel){.figure = made->figures[f],
            .groups = groups,
            .count = made->heat_count,
            .limit = &made->limits->figures[made->figures[f]]};
    }
    return true;
}

static enum status add_strips(
    struct report_sheet *sheet, const struct qualification *made, struct error *err)
{
    struct quality_chart chart;
    struct strips strips = {0};
    struct text words = {0};
    enum status status = strips_fill(&strips, made)
                             ? strip_chart_create(strips.panels, made->figure_count, &chart, err)
                             : fail_memory(err);
    if (status == STATUS_OK) {
        text_add_format(&words, "The rings of %zu heat%s side by side, figure by figure",
            made->heat_count, made->heat_count == 1 ? "" : "s");
        status = keep(sheet, &chart, &words,
            made->limits->has_lot
                ? "Each mark a ring; box: quartiles and median. Dashed: tolerance interval of the "
                  "lot. Lines across: limits."
                : "Each mark a ring; box: quartiles and median. Lines across: limits.",
            err);
    }
    text_clear(&words);
    strips_clear(&strips);
    return status;
}

enum status lot_sheet_add_charts(
    struct report_sheet *sheet, const struct qualification *made, struct error *err)
{
    enum status status = STATUS_OK;
    document_add_heading(sheet->document, "Rings and limits");
    for (size_t f = 0; f < made->figure_count && status == STATUS_OK; f++) {
        status = add_rings(sheet, made, f, err);
    }
    if (status == STATUS_OK && made->specimen_count > 1 && made->figure_count > 0) {
        status = add_strips(sheet, made, err);
    }
    return status;
}
