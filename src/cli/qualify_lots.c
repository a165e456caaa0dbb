// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict as a page: heat by heat, its rings, then the lot. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/columns.h"
#include "cli/help.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "cli/wrap.h"
#include "paper/quality_plot.h"
#include "setup/date.h"

static const char *const options_of_lots[] = {"limits", "at", "rig", "specimen", "json", "plot",
    "ledger", "where", "supplier", "alloy", "heat", "tag", "keep", "date", "person", NULL};

/* "17.58 to 20.42 kA/m", "above 0.92 T". */
static void write_interval(enum figure figure, double lower, double upper, char *out, size_t size)
{
    char a[80], b[80];
    if (isfinite(lower) && isfinite(upper)) {
        qualify_show(figure, lower, 0, a);
        qualify_show(figure, upper, 0, b);
        /* one unit where both have the same */
        char *unit = strrchr(a, ' ');
        const char *other = strrchr(b, ' ');
        if (unit != NULL && other != NULL && strcmp(unit, other) == 0) {
            *unit = '\0';
        }
        snprintf(out, size, "%s to %s", a, b);
    } else if (isfinite(lower)) {
        snprintf(out, size, "above %s", qualify_show(figure, lower, 0, a));
    } else if (isfinite(upper)) {
        snprintf(out, size, "below %s", qualify_show(figure, upper, 0, b));
    } else {
        snprintf(out, size, "-");
    }
}

static void write_share(double share, char out[24])
{
    if (isnan(share)) {
        snprintf(out, 24, "-");
    } else if (share > 0.9999 || share < 0.0001) {
        snprintf(out, 24, "%s", share > 0.5 ? "> 99.99 %" : "< 0.01 %");
    } else {
        snprintf(out, 24, "%.2f %%", 100 * share);
    }
}

static void add_check(
    struct columns *table, const struct specimen_verdict *specimen, const struct check *check)
{
    const struct decision *decision = &check->decision;
    char value[80], interval[180] = "-", share[24];
    columns_add_text(table, specimen->specimen);
    columns_add_text(table, figure_table[check->figure].name);
    if (check->loops == 0) {
        columns_add(table, "not measured");
    } else {
        columns_add_text(table, qualify_show(check->figure, decision->value, decision->u, value));
        if (decision->accept_lower > decision->accept_upper) {
            snprintf(interval, sizeof interval, "nothing: u is too large");
        } else {
            write_interval(check->figure, decision->accept_lower, decision->accept_upper, interval,
                sizeof interval);
        }
    }
    write_share(decision->probability_conforming, share);
    columns_add_text(table, interval);
    columns_add_text(table, share);
    columns_add_text(table, verdict_get_name(decision->verdict));
}

static bool is_all_measured(const struct qualification *made, const struct heat_verdict *heat)
{
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        for (size_t f = 0; f < made->figure_count; f++) {
            if (made->specimens[s].checks[f].loops == 0) {
                return false;
            }
        }
    }
    return true;
}

static void add_checks(
    struct text *out, const struct qualification *made, const struct heat_verdict *heat)
{
    struct columns table = {.columns = 6, .is_right = {[2] = true, [4] = true}};
    static const char *const heads[] = {
        "specimen", "figure", "value", "accepted", "conforming", "verdict"};
    for (size_t i = 0; i < 6; i++) {
        columns_add_text(&table, heads[i]);
    }
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        for (size_t f = 0; f < made->figure_count; f++) {
            add_check(&table, &made->specimens[s], &made->specimens[s].checks[f]);
        }
    }
    columns_finish(&table, 2, out);
    if (!is_all_measured(made, heat)) {
        wrap_add_blanks(out, 2);
        wrap_add(out,
            "'not measured': no loop of the ring meets the conditions of the acceptance file; with "
            "--at, the ring needs loops below and above that peak",
            2, 2);
    }
}

static void add_lot_row(struct columns *table, const struct heat_figure *figure)
{
    const struct lot_figure *lot = &figure->lot;
    char mean[80], deviation[80], interval[180], share[24];
    columns_add_text(table, figure_table[figure->figure].name);
    columns_add_text(table, qualify_show(figure->figure, lot->summary.mean, 0, mean));
    columns_add_text(
        table, isnan(lot->summary.deviation)
                   ? "-"
                   : qualify_show(figure->figure, lot->summary.deviation, 0, deviation));
    write_interval(
        figure->figure, lot->tolerance_lower, lot->tolerance_upper, interval, sizeof interval);
    columns_add_text(table, isnan(lot->factor) ? "-" : interval);
    write_share(lot->share_confident, share);
    columns_add_text(table, share);
    if (figure->has_capability) {
        columns_add(table, "%.2f", figure->capability.cpk);
    } else {
        columns_add(table, "-");
    }
    columns_add_text(table, verdict_get_name(lot->verdict));
}

/* What to do about a figure of a lot, in a sentence. */
static void add_advice(
    struct text *out, const struct heat_figure *figure, const struct limits *limits)
{
    const struct lot_figure *lot = &figure->lot;
    const char *name = figure_table[figure->figure].name;
    struct text words = {0};
    if (lot->has_normality && lot->normality.significance < 0.05) {
        text_add_format(&words,
            "%s: these rings do not lie as a normal population would (Shapiro and Wilk, "
            "significance %.2g): tolerance limits do not hold for them.",
            name, lot->normality.significance);
    }
    if (lot->verdict != VERDICT_ACCEPTED && lot->wanted > lot->specimens) {
        text_add_format(&words,
            "%s%s: measure %zu more ring%s; if they scatter like these, the lot is shown to "
            "conform.",
            words.length > 0 ? "\n" : "", name, lot->wanted - lot->specimens,
            lot->wanted - lot->specimens == 1 ? "" : "s");
    } else if (lot->verdict == VERDICT_UNDECIDED && lot->specimens > 1) {
        text_add_format(&words,
            "%s%s: no number of rings like these would show that %g %% conform.",
            words.length > 0 ? "\n" : "", name, 100 * limits->share);
    }
    if (words.length > 0) {
        wrap_add_blanks(out, 2);
        wrap_add(out, words.bytes, 2, 2);
    }
    text_clear(&words);
}

static void add_lot(
    struct text *out, const struct qualification *made, const struct heat_verdict *heat)
{
    const struct limits *limits = made->limits;
    struct columns table = {
        .columns = 7, .is_right = {[1] = true, [2] = true, [4] = true, [5] = true}};
    static const char *const heads[] = {"figure", "mean", "deviation", "tolerance limits",
        "conforming, at least", "Cpk", "verdict"};
    text_add_format(out,
        "\n  lot of %zu ring%s: %s (%g %% must conform, with a confidence of %g %%)\n", heat->count,
        heat->count == 1 ? "" : "s", verdict_get_name(heat->lot), 100 * limits->share,
        100 * limits->confidence);
    for (size_t i = 0; i < 7; i++) {
        columns_add_text(&table, heads[i]);
    }
    for (size_t f = 0; f < made->figure_count; f++) {
        if (heat->figures[f].has_lot) {
            add_lot_row(&table, &heat->figures[f]);
        }
    }
    columns_finish(&table, 2, out);
    for (size_t f = 0; f < made->figure_count; f++) {
        if (heat->figures[f].has_lot) {
            add_advice(out, &heat->figures[f], limits);
        }
    }
}

static void add_heat(
    struct text *out, const struct qualification *made, const struct heat_verdict *heat)
{
    struct columns title = {.columns = 1};
    columns_add(&title, "%s, heat %s: %s",
        heat->supplier[0] != '\0' ? heat->supplier : "no supplier",
        heat->heat[0] != '\0' ? heat->heat : "-", verdict_get_name(heat->verdict));
    text_add(out, "\n");
    columns_finish(&title, 0, out);
    add_checks(out, made, heat);
    if (made->limits->has_lot) {
        add_lot(out, made, heat);
    }
}

static void add_left_out(struct text *out, const struct qualification *made)
{
    for (size_t i = 0; i < made->item_count; i++) {
        if (made->counts[i]) {
            continue;
        }
        const struct figures *figures = made->items[i].figures;
        const enum figure unmet = qualification_find_unmet(made->limits, figures);
        char value[80];
        struct columns line = {.columns = 1};
        columns_add(&line, "left out: %s, whose %s is %s", made->items[i].file,
            figure_table[unmet].name,
            figures->list[unmet].is_present
                ? qualify_show(unmet, figures->list[unmet].value, 0, value)
                : "not known");
        columns_finish(&line, 0, out);
    }
}

static void add_page(struct text *out, const struct qualification *made)
{
    text_add_format(out, "%s: %s rule\n",
        made->limits->name != NULL ? made->limits->name : "limits",
        decision_rule_get_name(made->limits->rule));
    for (size_t h = 0; h < made->heat_count; h++) {
        add_heat(out, made, &made->heats[h]);
    }
    text_add(out, "\n");
    add_left_out(out, made);
    text_add_format(out, "verdict: %s\n", verdict_get_name(made->verdict));
}

static enum status show(const struct qualify_command *options, const struct qualify_input *input,
    const struct qualification *made, struct error *err)
{
    struct text page = {0}, words = {0};
    struct json json;
    add_page(&page, made);
    qualify_begin_json(&json, &words, "lodecard-verdict/1");
    qualification_write_json(&json, made);
    qualify_end_json(&json);
    enum status status = STATUS_OK;
    if (options->plot != NULL) {
        status = quality_plot_lots(made, options->plot, err);
    }
    if (status == STATUS_OK && options->is_kept) {
        status = words.failed ? fail_memory(err)
                              : qualify_keep(options, made->limits, input, &words, &page, err);
    }
    if (status == STATUS_OK) {
        status = qualify_show_result(options, &page, &words, err);
    }
    text_clear(&page);
    text_clear(&words);
    return status;
}

/* The day and the person are those of a verdict that is kept. */
static enum status check_keep(const struct qualify_command *options, struct error *err)
{
    long day;
    if (!options->is_kept && (options->day != NULL || options->person != NULL)) {
        return fail(err, STATUS_USAGE, "with --keep the ledger holds them with the verdict",
            "option '--%s' needs '--keep'", options->day != NULL ? "date" : "person");
    }
    if (options->day != NULL && date_read(options->day, &day, err) != STATUS_OK) {
        return err->status = STATUS_USAGE;
    }
    return STATUS_OK;
}

static int run_lots(const void *data, int count, char **words, struct error *err)
{
    static const int statuses[] = {[VERDICT_ACCEPTED] = 0,
        [VERDICT_UNDECIDED] = QUALIFY_UNDECIDED,
        [VERDICT_REJECTED] = QUALIFY_REJECTED};
    const struct qualify_command *options = data;
    const char *const places[] = {options->json, options->plot};
    struct limits limits = {0};
    struct qualify_input input = {0};
    struct qualification made = {0};
    if (options->limits == NULL) {
        return (int)fail(err, STATUS_USAGE, "docs/qualify.md shows one",
            "'qualify' needs an acceptance file: --limits limits.yaml");
    }
    enum status status = check_keep(options, err);
    if (status == STATUS_OK) {
        status = output_check(places, 2, words, (size_t)count, err);
    }
    if (status == STATUS_OK && options->plot != NULL) {
        status = chart_check_path(options->plot, err);
    }
    if (status == STATUS_OK) {
        status = limits_read(options->limits, &limits, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(options, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = qualification_create(input.items, input.count, &limits, &made, err);
    }
    if (status == STATUS_OK) {
        made.loops = input.loops;
        made.loop_count = input.loop_count;
        status = show(options, &input, &made, err);
    }
    const int exit_status = status == STATUS_OK ? statuses[made.verdict] : (int)status;
    qualification_clear(&made);
    qualify_input_clear(&input);
    limits_clear(&limits);
    return exit_status;
}

const struct verb qualify_lots = {"--limits", options_of_lots, run_lots};
