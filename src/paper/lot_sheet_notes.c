// SPDX-License-Identifier: GPL-3.0-or-later
/* What decides against a heat or leaves it open, and what to do about it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "paper/lot_sheet_part.h"
#include "paper/markup.h"

#define NOTES_MOST 12       /* rings that are told one by one */
#define NOT_NORMAL 0.05     /* significance */
#define COUNTS_FOR_MUCH 0.3 /* u over the deviation of the rings */

static void add_check(struct report_sheet *sheet, const struct qualification *made,
    const struct specimen_verdict *specimen, size_t index)
{
    const struct check *check = &specimen->checks[index];
    const struct decision *decision = &check->decision;
    const struct report_scale scale = lot_sheet_get_scale(made, index);
    char value[2 * REPORT_NUMBER_SIZE], limit[3 * REPORT_NUMBER_SIZE], share[REPORT_NUMBER_SIZE];
    struct text words = {0};
    const char *hint = "";
    text_add_format(&words, "%s ", figure_table[check->figure].name);
    if (check->loops == 0) {
        text_add(&words, "was not measured under the conditions of the acceptance file");
        hint = "measure it at the conditions asked for";
    } else {
        text_add_format(&words, "(%s) %s, limits %s: conforming with a probability of %s",
            report_write_expanded(&scale, decision->value, decision->u, value), scale.unit,
            report_write_limit(&scale, &decision->limit, limit),
            report_write_share(decision->probability_conforming, share));
        if (decision->verdict == VERDICT_UNDECIDED) {
            hint = decision->accept_lower > decision->accept_upper
                       ? "the uncertainty leaves nothing to accept between these limits: measure "
                         "on a better bench"
                       : "closer to a limit than its uncertainty allows: measure again on a better "
                         "bench, or let the ring go";
        }
    }
    report_sheet_add_note(sheet, specimen->specimen, &words, hint);
    text_clear(&words);
}

static void add_checks(
    struct report_sheet *sheet, const struct qualification *made, const struct heat_verdict *heat)
{
    size_t told = 0, open = 0;
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        for (size_t f = 0; f < made->figure_count; f++) {
            if (made->specimens[s].checks[f].decision.verdict != VERDICT_ACCEPTED) {
                open++;
                if (told < NOTES_MOST) {
                    add_check(sheet, made, &made->specimens[s], f);
                    told++;
                }
            }
        }
    }
    if (open > told) {
        struct text words = {0};
        text_add_format(&words, "%zu more values of rings are not accepted", open - told);
        report_sheet_add_note(sheet, "Others", &words, "the tables tell which");
        text_clear(&words);
    }
}

/* --- the lot -----------------------------------------------------------------------------------
 */

static void add_normality(
    struct report_sheet *sheet, const char *name, const struct lot_figure *lot)
{
    struct text words = {0};
    if (lot->has_normality && lot->normality.significance < NOT_NORMAL) {
        text_add_format(&words,
            "these rings do not lie as those of a normal population would (Shapiro and Wilk, p = "
            "%.2g): tolerance limits and capability do not hold for them",
            lot->normality.significance);
        report_sheet_add_note(sheet, name, &words,
            "look at the normal plot: one odd ring, or two populations in one lot?");
    }
    text_clear(&words);
}

static void add_spread(struct report_sheet *sheet, const char *name, const struct lot_figure *lot)
{
    struct text words = {0};
    const double share = lot->u / lot->summary.deviation;
    if (lot->specimens > 1 && isfinite(share) && share > COUNTS_FOR_MUCH) {
        text_add_format(&words,
            "the uncertainty of a ring is %.2g times the deviation between rings; what of it the "
            "rings share shifts all of them together and is in the guard, not in the deviation",
            share);
        report_sheet_add_note(sheet, name, &words, "");
    }
    text_clear(&words);
}

static void add_lot_verdict(struct report_sheet *sheet, const char *name,
    const struct lot_figure *lot, const struct limits *limits)
{
    struct text words = {0};
    char share[REPORT_NUMBER_SIZE];
    text_add_format(&words,
        "%s of the lot conform, with a confidence of %g %%; %g %% are asked for",
        report_write_share(lot->share_confident, share), 100 * limits->confidence,
        100 * limits->share);
    if (lot->verdict == VERDICT_ACCEPTED || isnan(lot->share_confident)) {
        text_clear(&words);
        return;
    }
    struct text hint = {0};
    if (lot->wanted > lot->specimens) {
        text_add_format(&hint,
            "measure %zu more ring%s; if they scatter like these, the lot is shown to conform",
            lot->wanted - lot->specimens, lot->wanted - lot->specimens == 1 ? "" : "s");
    } else if (lot->verdict == VERDICT_REJECTED) {
        text_add(&hint, "mean and deviation themselves tell of too many rings beyond the limits");
    } else {
        text_add(&hint, "no number of rings like these would show it");
    }
    struct text all = {0};
    text_add_format(&all, "at least %s", words.failed ? "" : words.bytes);
    all.failed = all.failed || words.failed || hint.failed;
    report_sheet_add_note(sheet, name, &all, hint.failed ? "" : hint.bytes);
    text_clear(&all);
    text_clear(&words);
    text_clear(&hint);
}

void lot_sheet_add_notes(struct report_sheet *sheet, const struct qualification *made, size_t heat)
{
    const struct heat_verdict *verdict = &made->heats[heat];
    add_checks(sheet, made, verdict);
    for (size_t f = 0; f < made->figure_count; f++) {
        const struct heat_figure *figure = &verdict->figures[f];
        char name[64];
        snprintf(name, sizeof name, "Lot, %s", figure_table[figure->figure].name);
        if (figure->has_lot) {
            if (made->limits->has_lot) {
                add_lot_verdict(sheet, name, &figure->lot, made->limits);
                add_normality(sheet, name, &figure->lot);
            }
            add_spread(sheet, name, &figure->lot);
        }
    }
}

void lot_sheet_add_left_out(struct report_sheet *sheet, const struct qualification *made)
{
    for (size_t i = 0; i < made->item_count; i++) {
        const struct lot_item *item = &made->items[i];
        struct text words = {0};
        if (made->counts[i]) {
            continue;
        }
        const enum figure unmet = qualification_find_unmet(made->limits, item->figures);
        const struct figure_value *value = &item->figures->list[unmet];
        const struct report_scale scale = report_scale_compute(unmet, fabs(value->value), 0);
        char shown[REPORT_NUMBER_SIZE];
        text_add_format(&words, "%s, whose %s is %s", item->file, figure_table[unmet].name,
            value->is_present ? report_write_value(&scale, value->value, false, shown)
                              : "not known");
        report_sheet_add_note(sheet, "Left out", &words, "");
        text_clear(&words);
    }
}
