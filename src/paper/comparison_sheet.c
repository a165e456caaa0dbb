// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/comparison_sheet.h"

#include <math.h>

#include "base/memory.h"
#include "base/version.h"
#include "num/statistics.h"
#include "paper/markup.h"
#include "paper/report_number.h"
#include "paper/strip_plot.h"

#define SPREADS_DIFFER 0.05 /* significance of the F test */

static const enum document_tone tones[] = {
    [EQUIVALENT] = DOCUMENT_GOOD, [DIFFERENT] = DOCUMENT_BAD, [CANNOT_TELL] = DOCUMENT_OPEN};

enum equivalence comparison_sheet_get_verdict(const struct comparison_sheet_input *input)
{
    enum equivalence worst = EQUIVALENT;
    for (size_t i = 0; i < input->count; i++) {
        const enum equivalence verdict = input->parts[i].comparison.verdict;
        if (verdict == DIFFERENT || (verdict == CANNOT_TELL && worst == EQUIVALENT)) {
            worst = verdict;
        }
    }
    return worst;
}

/* Prefix and decimals by the mean's standard error. */
static struct report_scale get_scale(const struct comparison_part *part)
{
    double most = 0;
    for (int side = 0; side < 2; side++) {
        const struct summary made =
            summary_compute(part->sides.values[side], part->sides.counts[side]);
        most = fmax(most, fmax(fabs(made.least), fabs(made.most)));
    }
    return report_scale_compute(part->sides.figure, most, part->comparison.u);
}

/* --- what it is about --------------------------------------------------------------------------
 */

/* "coercivity: cannot tell, difference -0.02 ± 0.79 kA/m, margin 0.5 kA/m." */
static void add_sentence(struct text *out, const struct comparison_part *part)
{
    const struct comparison *made = &part->comparison;
    const struct report_scale scale = get_scale(part);
    char lower[REPORT_NUMBER_SIZE], upper[REPORT_NUMBER_SIZE], difference[REPORT_NUMBER_SIZE];
    markup_add(out, figure_table[part->sides.figure].name);
    text_add_format(out, ": %s; difference %s (%s to %s)", equivalence_get_name(made->verdict),
        report_write_value(&scale, made->difference, false, difference),
        report_write_number(&scale, made->lower, lower),
        report_write_value(&scale, made->upper, false, upper));
    if (made->margin > 0) {
        text_add_format(out, ", margin %.10g %s", made->margin / scale.factor, scale.unit);
    }
    text_add(out, ". ");
}

static void add_verdict(struct document *document, const struct comparison_sheet_input *input)
{
    const enum equivalence verdict = comparison_sheet_get_verdict(input);
    struct text words = {0};
    for (size_t i = 0; i < input->count; i++) {
        add_sentence(&words, &input->parts[i]);
    }
    if (words.failed) {
        document_set_failed(document);
    } else {
        static const char *const names[] = {
            [EQUIVALENT] = "Equivalent", [DIFFERENT] = "Different", [CANNOT_TELL] = "Cannot tell"};
        document_add_verdict(document, tones[verdict], names[verdict], words.bytes);
    }
    text_clear(&words);
}

static void add_side(struct report_table *identity, const struct sides *sides, int side)
{
    report_table_add(
        identity, "%s %s", side == 0 ? "First" : "Second", sides->is_by_heat ? "heat" : "supplier");
    report_table_add(identity, "%s; %zu ring%s", sides->names[side], sides->counts[side],
        sides->counts[side] == 1 ? "" : "s");
}

static void add_identity(struct document *document, const struct comparison_sheet_input *input)
{
    struct report_table identity = {.columns = 2};
    bool has_margin = false;
    report_add_identity(&identity, &input->words);
    if (input->alloy[0] != '\0') {
        report_table_add(&identity, "Alloy");
        report_table_add(&identity, "%s", input->alloy);
    }
    for (int side = 0; side < 2; side++) {
        add_side(&identity, &input->parts[0].sides, side);
    }
    for (size_t i = 0; i < input->count; i++) {
        has_margin = has_margin || input->parts[i].comparison.margin > 0;
    }
    report_table_add(&identity, "Method");
    report_table_add(&identity,
        "means of rings; Welch's t with Satterthwaite's degrees of freedom, confidence %g %%%s",
        100 * input->confidence,
        has_margin ? "; two one-sided tests against the margin (Schuirmann 1987)" : "");
    report_add_program(&identity);
    report_table_finish_identity(&identity, document);
}

/* --- tables ------------------------------------------------------------------------------------
 */

static void add_lots(struct document *document, const struct comparison_sheet_input *input)
{
    static const char *const headings[] = {
        "figure", "side", "rings", "mean", "standard deviation", "least", "most"};
    static const bool is_number[] = {false, false, true, true, true, true, true};
    struct report_table table = {.columns = 7, .headings = headings, .is_number = is_number};
    char words[REPORT_NUMBER_SIZE];
    for (size_t i = 0; i < input->count; i++) {
        const struct sides *sides = &input->parts[i].sides;
        const struct report_scale scale = get_scale(&input->parts[i]);
        for (int side = 0; side < 2; side++) {
            const struct summary made = summary_compute(sides->values[side], sides->counts[side]);
            report_table_add(&table, "%s", figure_table[sides->figure].name);
            report_table_add(&table, "%s", sides->names[side]);
            report_table_add(&table, "%zu", made.count);
            report_table_add(&table, "%s", report_write_value(&scale, made.mean, false, words));
            report_table_add(&table, "%s", report_write_value(&scale, made.deviation, true, words));
            report_table_add(&table, "%s", report_write_value(&scale, made.least, false, words));
            report_table_add(&table, "%s", report_write_value(&scale, made.most, false, words));
        }
    }
    report_table_finish(&table, document, "The rings of both sides");
}

static void add_share(struct report_table *table, double share)
{
    if (isnan(share)) {
        report_table_add(table, "%s", "");
    } else {
        report_table_add(table, share < 0.0001 ? "< 0.01 %%" : "%.2g %%", 100 * share);
    }
}

static void add_differences(struct document *document, const struct comparison_sheet_input *input)
{
    static const char *const headings[] = {
        "figure", "difference", "interval", "p (Welch)", "margin", "p (equivalence)", "verdict"};
    static const bool is_number[] = {false, true, true, true, true, true, false};
    struct report_table table = {.columns = 7, .headings = headings, .is_number = is_number};
    struct text caption = {0};
    for (size_t i = 0; i < input->count; i++) {
        const struct comparison *made = &input->parts[i].comparison;
        const struct report_scale scale = get_scale(&input->parts[i]);
        char difference[REPORT_NUMBER_SIZE], range[3 * REPORT_NUMBER_SIZE];
        report_table_add(&table, "%s", figure_table[input->parts[i].sides.figure].name);
        report_table_add(
            &table, "%s", report_write_value(&scale, made->difference, false, difference));
        report_table_add(&table, "%s %s",
            report_write_range(&scale, made->lower, made->upper, range), scale.unit);
        add_share(&table, made->significance);
        if (made->margin > 0) {
            report_table_add(&table, "%.10g %s", made->margin / scale.factor, scale.unit);
        } else {
            report_table_add(&table, "%s", "");
        }
        add_share(&table, made->margin > 0 ? made->significance_equivalence : NAN);
        report_table_add(&table, "%s", equivalence_get_name(made->verdict));
    }
    markup_add(&caption, input->parts[0].sides.names[1]);
    text_add(&caption, " less ");
    markup_add(&caption, input->parts[0].sides.names[0]);
    text_add_format(&caption,
        ", with its %g %% interval; p: probability of a difference this large without a cause, "
        "and of one this small from lots that differ by the margin",
        100 * input->confidence);
    table.failed = table.failed || caption.failed;
    report_table_finish(&table, document, caption.bytes);
    text_clear(&caption);
}

static void add_spread_notes(struct report_sheet *sheet, const struct comparison_sheet_input *input)
{
    for (size_t i = 0; i < input->count; i++) {
        const struct comparison *made = &input->parts[i].comparison;
        struct text words = {0};
        if (!(made->significance_spread < SPREADS_DIFFER)) {
            continue;
        }
        text_add_format(&words,
            "the rings of %s scatter %.2g times as much as those of %s (F test, p = %.2g)",
            input->parts[i].sides.names[1], made->spread_ratio, input->parts[i].sides.names[0],
            made->significance_spread);
        report_sheet_add_note(sheet, figure_table[input->parts[i].sides.figure].name, &words,
            "equal means are not equal lots: compare both with the limits ('lodecard report lot')");
        text_clear(&words);
    }
}

/* --- pictures ----------------------------------------------------------------------------------
 */

static enum status add_strips(
    struct report_sheet *sheet, const struct comparison_sheet_input *input, struct error *err)
{
    struct quality_chart chart;
    struct strip_group *groups = memory_create(2 * input->count, sizeof *groups);
    struct strip_panel *panels = memory_create(input->count, sizeof *panels);
    bool has_limit = false;
    enum status status = groups != NULL && panels != NULL ? STATUS_OK : fail_memory(err);
    for (size_t i = 0; i < input->count && status == STATUS_OK; i++) {
        const struct sides *sides = &input->parts[i].sides;
        for (int side = 0; side < 2; side++) {
            groups[2 * i + (size_t)side] = (struct strip_group){
                sides->names[side], sides->values[side], sides->counts[side], NAN, NAN};
        }
        panels[i] = (struct strip_panel){sides->figure, groups + 2 * i, 2, input->parts[i].limit};
        has_limit = has_limit || input->parts[i].limit != NULL;
    }
    if (status == STATUS_OK) {
        status = strip_chart_create(panels, input->count, &chart, err);
    }
    if (status == STATUS_OK) {
        status = report_sheet_add_chart(sheet, &chart,
            "The rings of both sides beside each other, figure by figure",
            has_limit ? "Each mark a ring; box: quartiles and median. Lines across: limits."
                      : "Each mark a ring; box: quartiles and median.",
            err);
    }
    memory_destroy(groups);
    memory_destroy(panels);
    return status;
}

static enum status add_difference(
    struct report_sheet *sheet, const struct comparison_part *part, struct error *err)
{
    struct quality_chart chart;
    struct text words = {0};
    enum status status = quality_chart_create_comparison(
        part->sides.figure, &part->comparison, part->sides.names, &chart, err);
    if (status != STATUS_OK) {
        return status;
    }
    text_add_format(&words, "Difference of %s with its interval%s",
        figure_table[part->sides.figure].name,
        part->comparison.margin > 0 ? ", between the margins" : "");
    if (words.failed) {
        quality_chart_clear(&chart);
        return fail_memory(err);
    }
    status = report_sheet_add_chart(sheet, &chart, words.bytes, NULL, err);
    text_clear(&words);
    return status;
}

/* --- the whole ---------------------------------------------------------------------------------
 */

static enum status add_all(
    struct report_sheet *sheet, const struct comparison_sheet_input *input, struct error *err)
{
    add_verdict(sheet->document, input);
    add_identity(sheet->document, input);
    document_add_heading(sheet->document, "Two sides");
    add_spread_notes(sheet, input);
    add_lots(sheet->document, input);
    add_differences(sheet->document, input);
    enum status status = add_strips(sheet, input, err);
    for (size_t i = 0; i < input->count && status == STATUS_OK; i++) {
        status = add_difference(sheet, &input->parts[i], err);
    }
    document_add_paragraph(sheet->document,
        "Both sides must come from one bench: what it shares, such as the error of a shunt, "
        "cancels in the difference. Means say nothing of single rings.");
    report_add_remarks(sheet->document, &input->words);
    report_add_caution(sheet->document);
    report_add_signatures(sheet->document, &input->words);
    report_add_inputs(sheet->document, input->inputs, input->input_count);
    return status;
}

enum status comparison_sheet_create(
    const struct comparison_sheet_input *input, struct report_sheet *sheet, struct error *err)
{
    struct report_sheet made = {0};
    struct text subtitle = {0};
    const struct sides *sides = &input->parts[0].sides;
    const char *kind = sides->is_by_heat ? "heat " : "";
    text_add_format(&subtitle, "%s%s and %s%s", kind, sides->names[0], kind, sides->names[1]);
    enum status status = report_sheet_begin(&made, &input->words,
        sides->is_by_heat ? "Comparison of two heats" : "Comparison of two suppliers", &subtitle,
        err);
    if (status == STATUS_OK) {
        status = add_all(&made, input, err);
    }
    return report_sheet_finish(&made, status, sheet);
}

enum status comparison_sheet_write_data(
    const struct comparison_sheet_input *input, struct text *out, struct error *err)
{
    struct report_data data;
    report_data_begin(&data);
    json_begin_array(&data.json, "comparison");
    for (size_t i = 0; i < input->count; i++) {
        json_begin_object(&data.json, NULL);
        json_add_text(&data.json, "schema", "lodecard-comparison/1");
        json_add_text(&data.json, "version", LODECARD_VERSION);
        sides_write_json(
            &data.json, &input->parts[i].sides, &input->parts[i].comparison, input->confidence);
        json_end_object(&data.json);
    }
    json_end_array(&data.json);
    return report_data_finish(&data, "compare", input->inputs, input->input_count, out, err);
}
