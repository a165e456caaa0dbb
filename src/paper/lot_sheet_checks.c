// SPDX-License-Identifier: GPL-3.0-or-later
/* The rings of a heat, a table a figure. */
#include <math.h>

#include "paper/lot_sheet_part.h"
#include "paper/markup.h"

struct report_scale lot_sheet_get_scale(const struct qualification *made, size_t index)
{
    const enum figure figure = made->figures[index];
    const struct limit *limit = &made->limits->figures[figure];
    double most = 0, u = INFINITY;
    for (size_t i = 0; i < made->specimen_count; i++) {
        const struct check *check = &made->specimens[i].checks[index];
        if (check->loops > 0) {
            most = fmax(most, fabs(check->decision.value));
            u = check->decision.u > 0 ? fmin(u, check->decision.u) : u;
        }
    }
    if (most == 0) {
        most = fmax(
            limit->has_lower ? fabs(limit->lower) : 0, limit->has_upper ? fabs(limit->upper) : 0);
    }
    return report_scale_compute(figure, most, isfinite(u) ? u : 0);
}

/* The risk of the decision that was taken, with whose it is. */
static void add_risk(struct report_table *table, const struct decision *decision)
{
    char share[REPORT_NUMBER_SIZE];
    if (!isnan(decision->consumer_risk)) {
        report_table_add(table, "C %s", report_write_share(decision->consumer_risk, share));
    } else if (!isnan(decision->producer_risk)) {
        report_table_add(table, "P %s", report_write_share(decision->producer_risk, share));
    } else {
        report_table_add(table, "%s", "");
    }
}

static void add_check(struct report_table *table, const struct report_scale *scale,
    const struct specimen_verdict *specimen, const struct check *check)
{
    const struct decision *decision = &check->decision;
    char value[2 * REPORT_NUMBER_SIZE], range[3 * REPORT_NUMBER_SIZE], share[REPORT_NUMBER_SIZE];
    report_table_add(table, "%s", specimen->specimen);
    if (check->loops == 0) {
        report_table_add(table, "not measured");
        report_table_add(table, "%s", "");
        report_table_add(table, "%s", "");
        report_table_add(table, "%s", "");
    } else {
        report_table_add(
            table, "%s", report_write_expanded(scale, decision->value, decision->u, value));
        report_table_add(table, "%s",
            decision->accept_lower > decision->accept_upper
                ? "nothing: u is too large"
                : report_write_range(scale, decision->accept_lower, decision->accept_upper, range));
        report_table_add(table, "%s", report_write_share(decision->probability_conforming, share));
        add_risk(table, decision);
    }
    report_table_add(table, "%s", verdict_get_name(decision->verdict));
}

static void add_caption(struct text *caption, const struct qualification *made, size_t index,
    const struct report_scale *scale)
{
    char limit[3 * REPORT_NUMBER_SIZE];
    const enum figure figure = made->figures[index];
    markup_add(caption, figure_table[figure].name);
    text_add(caption, " ");
    markup_add_symbol(caption, figure_table[figure].symbol);
    if (scale->unit[0] != '\0') {
        text_add(caption, " in ");
        markup_add(caption, scale->unit);
    }
    text_add(caption, "; limits ");
    markup_add(caption, report_write_limit(scale, &made->limits->figures[figure], limit));
}

static void add_figure(struct document *document, const struct qualification *made,
    const struct heat_verdict *heat, size_t index)
{
    static const char *const headings[] = {
        "ring", "value ± U", "accepted", "conforming", "risk", "verdict"};
    static const bool is_number[] = {false, true, true, true, true, false};
    struct report_table table = {.columns = 6, .headings = headings, .is_number = is_number};
    const struct report_scale scale = lot_sheet_get_scale(made, index);
    struct text caption = {0};
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        add_check(&table, &scale, &made->specimens[s], &made->specimens[s].checks[index]);
    }
    add_caption(&caption, made, index, &scale);
    table.failed = table.failed || caption.failed;
    report_table_finish(&table, document, caption.bytes);
    text_clear(&caption);
}

void lot_sheet_add_checks(struct document *document, const struct qualification *made, size_t heat)
{
    for (size_t f = 0; f < made->figure_count; f++) {
        add_figure(document, made, &made->heats[heat], f);
    }
}
