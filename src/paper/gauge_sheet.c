// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/gauge_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/version.h"
#include "paper/markup.h"
#include "paper/report_number.h"

#define CLASSES_LEAST 5 /* that a bench should tell, to say anything of single rings */

/* Two digits of the bench's expanded deviation. */
static struct report_scale get_scale(const struct study *study)
{
    double most = 0;
    for (size_t i = 0; i < study->count; i++) {
        most = fmax(most, fabs(study->values[i].value));
    }
    return report_scale_compute(study->figure, most, study->gauge.bench);
}

/* --- what it is about --------------------------------------------------------------------------
 */

static void add_verdict(struct document *document, const struct gauge_sheet_input *input)
{
    struct text words = {0};
    double most = NAN;
    char word[80];
    for (size_t i = 0; i < input->count; i++) {
        const struct study *study = &input->studies[i];
        const struct gauge *gauge = &study->gauge;
        markup_add(&words, figure_table[study->figure].name);
        if (isfinite(gauge->share_of_tolerance)) {
            most = fmax(most, gauge->share_of_tolerance);
            text_add_format(&words,
                ": six standard deviations of the bench take %.3g %% of the distance of the limits",
                100 * gauge->share_of_tolerance);
        } else {
            text_add_format(
                &words, ": the bench takes %.3g %% of all scatter", 100 * gauge->share_of_total);
        }
        text_add_format(&words, "; it tells %.1f classes of rings. ", gauge->categories);
    }
    if (isfinite(most)) {
        snprintf(word, sizeof word, "%.3g %% of the tolerance", 100 * most);
    } else {
        snprintf(word, sizeof word, "The bench beside the rings");
    }
    if (words.failed) {
        document_set_failed(document);
    } else {
        document_add_verdict(document, DOCUMENT_PLAIN, word, words.bytes);
    }
    text_clear(&words);
}

static void add_names(
    struct report_table *identity, const char *name, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        report_table_add(identity, "%s", i == 0 ? name : " ");
        report_table_add(identity, "%s", list[i]);
    }
}

static void add_identity(struct document *document, const struct gauge_sheet_input *input)
{
    static const char *const kinds[STUDY_BY_COUNT] = {
        [STUDY_BY_RIG] = "Rigs", [STUDY_BY_HEAT] = "Heats", [STUDY_BY_SUPPLIER] = "Suppliers"};
    struct report_table identity = {.columns = 2};
    const struct study *study = &input->studies[0];
    struct text rings = {0};
    for (size_t i = 0; i < study->specimen_count; i++) {
        text_add_format(&rings, "%s%s", i > 0 ? ", " : "", study->specimens[i]);
    }
    report_add_identity(&identity, &input->words);
    report_table_add(&identity, "Rings");
    report_table_add(&identity, "%s", rings.failed ? "" : rings.bytes);
    add_names(&identity, kinds[study->by], study->conditions, study->condition_count);
    report_table_add(&identity, "Repeats");
    report_table_add(&identity, "%zu of each ring%s", study->gauge.repeats,
        study->gauge.conditions > 1 ? " under each condition" : "");
    report_table_add(&identity, "Method");
    report_table_add(&identity,
        "analysis of variance, random two-way model with interaction (ISO 5725-2; Searle, Casella, "
        "McCulloch 1992)");
    report_add_program(&identity);
    report_table_finish_identity(&identity, document);
    text_clear(&rings);
}

/* --- tables ------------------------------------------------------------------------------------
 */

static void add_deviations(struct document *document, const struct gauge_sheet_input *input)
{
    static const char *const headings[] = {"figure", "repeatability", "reproducibility",
        "the bench, both", "between rings", "bench of all", "of tolerance", "classes"};
    static const bool is_number[] = {false, true, true, true, true, true, true, true};
    struct report_table table = {.columns = 8, .headings = headings, .is_number = is_number};
    char words[REPORT_NUMBER_SIZE];
    for (size_t i = 0; i < input->count; i++) {
        const struct study *study = &input->studies[i];
        const struct gauge *gauge = &study->gauge;
        const struct report_scale scale = get_scale(study);
        const double deviations[] = {gauge->repeatability,
            gauge->conditions > 1 ? gauge->reproducibility : NAN, gauge->bench, gauge->specimen};
        report_table_add(&table, "%s", figure_table[study->figure].name);
        for (int k = 0; k < 4; k++) {
            report_table_add(&table, "%s", report_write_value(&scale, deviations[k], true, words));
        }
        report_table_add(&table, "%.3g %%", 100 * gauge->share_of_total);
        if (isfinite(gauge->share_of_tolerance)) {
            report_table_add(&table, "%.3g %%", 100 * gauge->share_of_tolerance);
        } else {
            report_table_add(&table, "%s", "");
        }
        report_table_add(&table, "%.1f", gauge->categories);
    }
    report_table_finish(&table, document,
        "Standard deviations; bench of all: its deviation over that of all values; of tolerance: "
        "six of them over the distance of the limits; classes: of rings that the bench can tell");
}

static void add_source(struct report_table *table, const char *name, const struct gauge_line *line,
    double significance)
{
    if (!(line->freedom > 0)) {
        return;
    }
    report_table_add(table, "%s", name);
    report_table_add(table, "%.5g", line->squares);
    report_table_add(table, "%g", line->freedom);
    report_table_add(table, "%.5g", line->mean_square);
    if (isfinite(significance)) {
        report_table_add(table, "%.2g %%", 100 * significance);
    } else {
        report_table_add(table, "%s", "");
    }
}

static void add_variance(struct document *document, const struct study *study)
{
    static const char *const headings[] = {
        "between", "sum of squares", "freedom", "mean square", "p"};
    static const bool is_number[] = {false, true, true, true, true};
    struct report_table table = {.columns = 5, .headings = headings, .is_number = is_number};
    const struct gauge *gauge = &study->gauge;
    const struct figure_entry *entry = &figure_table[study->figure];
    struct text caption = {0};
    char condition[40];
    snprintf(condition, sizeof condition, "%ss", study_by_get_name(study->by));
    add_source(&table, "rings", &gauge->by_specimen, NAN);
    add_source(&table, condition, &gauge->by_condition, NAN);
    add_source(&table, "both together (interaction)", &gauge->interaction,
        gauge->interaction_significance);
    add_source(&table, "repeats", &gauge->repeat, NAN);
    text_add_format(&caption, "Analysis of variance of %s", entry->name);
    if (entry->unit[0] != '\0') {
        const bool has_bar = strchr(entry->unit, '/') != NULL;
        text_add(&caption, has_bar ? "; squares in (" : "; squares in ");
        markup_add(&caption, entry->unit);
        text_add(&caption, has_bar ? ")\u00B2" : "\u00B2");
    }
    table.failed = table.failed || caption.failed;
    report_table_finish(&table, document, caption.bytes);
    text_clear(&caption);
}

static void add_notes(struct report_sheet *sheet, const struct gauge_sheet_input *input)
{
    for (size_t i = 0; i < input->count; i++) {
        const struct study *study = &input->studies[i];
        const struct gauge *gauge = &study->gauge;
        struct text words = {0};
        if (gauge->conditions == 1 && i == 0) {
            text_add_format(&words, "one %s only: nothing is told of reproducibility",
                study_by_get_name(study->by));
            report_sheet_add_note(sheet, "Conditions", &words,
                "measure the same rings on another bench, or on other days with rigs of other "
                "names");
        }
        text_clear(&words);
        if (gauge->categories < CLASSES_LEAST) {
            text_add_format(
                &words, "the bench tells only %.1f classes of these rings", gauge->categories);
            report_sheet_add_note(sheet, figure_table[study->figure].name, &words,
                "for verdicts on single rings find what scatters most ('lodecard loop --budget'), "
                "or measure each ring several times");
        }
        text_clear(&words);
    }
}

/* --- the whole ---------------------------------------------------------------------------------
 */

static enum status add_chart(
    struct report_sheet *sheet, const struct study *study, struct error *err)
{
    struct quality_chart chart;
    struct text words = {0};
    enum status status = gauge_chart_create(study, &chart, err);
    if (status != STATUS_OK) {
        return status;
    }
    text_add_format(&words, "Repeated values of %s of %zu rings under %zu conditions",
        figure_table[study->figure].name, study->specimen_count, study->condition_count);
    if (words.failed) {
        quality_chart_clear(&chart);
        return fail_memory(err);
    }
    status = report_sheet_add_chart(sheet, &chart, words.bytes,
        "Each mark a measurement; short lines: means of a ring under one condition.", err);
    text_clear(&words);
    return status;
}

static enum status add_all(
    struct report_sheet *sheet, const struct gauge_sheet_input *input, struct error *err)
{
    enum status status = STATUS_OK;
    add_verdict(sheet->document, input);
    add_identity(sheet->document, input);
    document_add_heading(sheet->document, "The bench and the rings");
    add_notes(sheet, input);
    add_deviations(sheet->document, input);
    for (size_t i = 0; i < input->count && status == STATUS_OK; i++) {
        add_variance(sheet->document, &input->studies[i]);
        status = add_chart(sheet, &input->studies[i], err);
    }
    document_add_paragraph(sheet->document,
        "What all measurements share, such as the error of a shunt that all rigs use, does not "
        "show here: it is in the uncertainty of each figure.");
    report_add_remarks(sheet->document, &input->words);
    report_add_caution(sheet->document);
    report_add_signatures(sheet->document, &input->words);
    report_add_inputs(sheet->document, input->inputs, input->input_count);
    return status;
}

enum status gauge_sheet_create(
    const struct gauge_sheet_input *input, struct report_sheet *sheet, struct error *err)
{
    struct report_sheet made = {0};
    struct text subtitle = {0};
    const struct gauge *gauge = &input->studies[0].gauge;
    text_add_format(&subtitle, "%zu rings, %zu %s%s, %zu times each", gauge->specimens,
        gauge->conditions, study_by_get_name(input->studies[0].by),
        gauge->conditions == 1 ? "" : "s", gauge->repeats);
    enum status status =
        report_sheet_begin(&made, &input->words, "Study of the bench", &subtitle, err);
    if (status == STATUS_OK) {
        status = add_all(&made, input, err);
    }
    return report_sheet_finish(&made, status, sheet);
}

enum status gauge_sheet_write_data(
    const struct gauge_sheet_input *input, struct text *out, struct error *err)
{
    struct report_data data;
    report_data_begin(&data);
    json_begin_array(&data.json, "gauge");
    for (size_t i = 0; i < input->count; i++) {
        json_begin_object(&data.json, NULL);
        json_add_text(&data.json, "schema", "lodecard-gauge/1");
        json_add_text(&data.json, "version", LODECARD_VERSION);
        study_write_json(&data.json, &input->studies[i]);
        json_end_object(&data.json);
    }
    json_end_array(&data.json);
    return report_data_finish(&data, "gauge", input->inputs, input->input_count, out, err);
}
