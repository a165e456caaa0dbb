// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/lot_sheet.h"

#include <stdio.h>

#include "base/version.h"
#include "paper/lot_sheet_part.h"
#include "paper/markup.h"

static const enum document_tone tones[] = {[VERDICT_ACCEPTED] = DOCUMENT_GOOD,
    [VERDICT_UNDECIDED] = DOCUMENT_OPEN,
    [VERDICT_REJECTED] = DOCUMENT_BAD};

void lot_sheet_add_heat_name(struct text *out, const struct heat_verdict *heat)
{
    text_add_format(out, "%s%s%s%s", heat->supplier, heat->supplier[0] != '\0' ? ", " : "",
        heat->heat[0] != '\0' ? "heat " : "no heat stated", heat->heat);
}

/* --- what it is about --------------------------------------------------------------------------
 */

static void add_heats(struct report_table *identity, const struct qualification *made)
{
    for (size_t h = 0; h < made->heat_count; h++) {
        struct text words = {0};
        lot_sheet_add_heat_name(&words, &made->heats[h]);
        report_table_add(identity, "%s", h == 0 ? "Supplier and heat" : " ");
        report_table_add(identity, "%s; %zu ring%s", words.failed ? "" : words.bytes,
            made->heats[h].count, made->heats[h].count == 1 ? "" : "s");
        text_clear(&words);
    }
}

static void add_limit_rows(struct report_table *identity, const struct qualification *made)
{
    char words[3 * REPORT_NUMBER_SIZE];
    for (size_t f = 0; f < made->figure_count; f++) {
        const struct report_scale scale = lot_sheet_get_scale(made, f);
        report_table_add(identity, "%s", f == 0 ? "Limits" : " ");
        report_table_add(identity, "%s: %s", figure_table[made->figures[f]].name,
            report_write_limit(&scale, &made->limits->figures[made->figures[f]], words));
    }
    bool is_first = true;
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        const struct limit *limit = &made->limits->conditions[f];
        if (limit_is_present(limit)) {
            const struct report_scale scale = report_scale_compute(
                (enum figure)f, limit->has_upper ? limit->upper : limit->lower, 0);
            report_table_add(identity, "%s", is_first ? "Measured at" : " ");
            report_table_add(
                identity, "%s: %s", figure_table[f].name, report_write_limit(&scale, limit, words));
            is_first = false;
        }
    }
}

static void add_identity(struct document *document, const struct lot_sheet_input *input)
{
    const struct qualification *made = input->qualification;
    const struct limits *limits = made->limits;
    struct report_table identity = {.columns = 2};
    report_add_identity(&identity, &input->words);
    if (input->alloy[0] != '\0') {
        report_table_add(&identity, "Alloy");
        report_table_add(&identity, "%s", input->alloy);
    }
    if (input->condition[0] != '\0') {
        report_table_add(&identity, "Condition");
        report_table_add(&identity, "%s", input->condition);
    }
    add_heats(&identity, made);
    report_table_add(&identity, "Acceptance file");
    report_table_add(&identity, "%s%sSHA-256 %s", limits->name != NULL ? limits->name : "",
        limits->name != NULL ? "; " : "", limits->sha256);
    add_limit_rows(&identity, made);
    report_table_add(&identity, "Decision rule");
    report_table_add(&identity, "%s",
        limits->rule == RULE_GUARDED
            ? "guarded: a ring is accepted inside the limits drawn in by 1.645 u, rejected outside "
              "the limits widened by 1.645 u, else undecided (JCGM 106:2012)"
            : "simple: a ring's value itself lies inside the limits or not (JCGM 106:2012)");
    if (limits->has_lot) {
        report_table_add(&identity, "Lot");
        report_table_add(&identity,
            "%g %% of it must conform, with a confidence of %g %% (normal tolerance limits, ISO "
            "16269-6)",
            100 * limits->share, 100 * limits->confidence);
    }
    report_add_program(&identity);
    report_table_finish_identity(&identity, document);
}

/* --- the verdict -------------------------------------------------------------------------------
 */

/* "5 of 6 rings accepted, 1 undecided, 0 rejected; the lot is undecided." */
static void add_heat_sentence(
    struct text *out, const struct qualification *made, const struct heat_verdict *heat)
{
    size_t counts[3] = {0};
    struct text name = {0};
    for (size_t s = heat->first; s < heat->first + heat->count; s++) {
        counts[made->specimens[s].verdict]++;
    }
    lot_sheet_add_heat_name(&name, heat);
    markup_add(out, name.failed ? "" : name.bytes);
    text_add_format(out, ": %zu of %zu ring%s accepted", counts[VERDICT_ACCEPTED], heat->count,
        heat->count == 1 ? "" : "s");
    if (counts[VERDICT_UNDECIDED] > 0) {
        text_add_format(out, ", %zu undecided", counts[VERDICT_UNDECIDED]);
    }
    if (counts[VERDICT_REJECTED] > 0) {
        text_add_format(out, ", %zu rejected", counts[VERDICT_REJECTED]);
    }
    if (made->limits->has_lot) {
        text_add_format(out, "; the lot is %s", verdict_get_name(heat->lot));
    }
    text_add(out, ". ");
    text_clear(&name);
}

static void add_verdict(struct document *document, const struct qualification *made)
{
    struct text words = {0};
    char word[24];
    snprintf(word, sizeof word, "%s", verdict_get_name(made->verdict));
    word[0] = (char)(word[0] - 'a' + 'A');
    for (size_t h = 0; h < made->heat_count; h++) {
        add_heat_sentence(&words, made, &made->heats[h]);
    }
    if (words.failed) {
        document_set_failed(document);
    } else {
        document_add_verdict(document, tones[made->verdict], word, words.bytes);
    }
    text_clear(&words);
}

static void add_legend(struct document *document)
{
    document_add_paragraph(document,
        "U: expanded uncertainty (<i>k</i> = 2, about 95 %). Accepted: where a value is accepted, "
        "given its uncertainty. Conforming: probability that the true value lies inside the "
        "limits. Risk: C, the consumer's, that an accepted ring does not conform; P, the "
        "producer's, that a rejected one does.");
}

static enum status add_heat(
    struct report_sheet *sheet, const struct qualification *made, size_t heat, struct error *err)
{
    struct text name = {0}, heading = {0};
    lot_sheet_add_heat_name(&name, &made->heats[heat]);
    markup_add(&heading, name.failed ? "" : name.bytes);
    text_add_format(&heading, ": %s", verdict_get_name(made->heats[heat].verdict));
    if (heading.failed) {
        document_set_failed(sheet->document);
    } else {
        document_add_heading(sheet->document, heading.bytes);
    }
    text_clear(&name);
    text_clear(&heading);
    lot_sheet_add_notes(sheet, made, heat);
    if (heat == 0) {
        add_legend(sheet->document);
    }
    lot_sheet_add_checks(sheet->document, made, heat);
    lot_sheet_add_lot(sheet->document, made, heat);
    return lot_sheet_add_normal(sheet, made, heat, err);
}

/* The heats' names, the first three of them. */
static void add_subtitle(struct text *out, const struct qualification *made)
{
    for (size_t h = 0; h < made->heat_count && h < 3; h++) {
        text_add(out, h > 0 ? " \u00B7 " : "");
        lot_sheet_add_heat_name(out, &made->heats[h]);
    }
    if (made->heat_count > 3) {
        text_add_format(out, " \u00B7 and %zu more", made->heat_count - 3);
    }
}

/* --- the whole ---------------------------------------------------------------------------------
 */

static enum status add_all(
    struct report_sheet *sheet, const struct lot_sheet_input *input, struct error *err)
{
    const struct qualification *made = input->qualification;
    enum status status = STATUS_OK;
    add_verdict(sheet->document, made);
    add_identity(sheet->document, input);
    for (size_t h = 0; h < made->heat_count && status == STATUS_OK; h++) {
        status = add_heat(sheet, made, h, err);
    }
    if (status == STATUS_OK) {
        status = lot_sheet_add_charts(sheet, made, err);
    }
    report_add_remarks(sheet->document, &input->words);
    report_add_caution(sheet->document);
    report_add_signatures(sheet->document, &input->words);
    report_add_inputs(sheet->document, input->inputs, input->input_count);
    lot_sheet_add_left_out(sheet, made);
    return status;
}

enum status lot_sheet_create(
    const struct lot_sheet_input *input, struct report_sheet *sheet, struct error *err)
{
    struct report_sheet made = {0};
    struct text subtitle = {0};
    add_subtitle(&subtitle, input->qualification);
    enum status status =
        report_sheet_begin(&made, &input->words, "Qualification of a lot", &subtitle, err);
    if (status == STATUS_OK) {
        status = add_all(&made, input, err);
    }
    return report_sheet_finish(&made, status, sheet);
}

enum status lot_sheet_write_data(
    const struct lot_sheet_input *input, struct text *out, struct error *err)
{
    struct report_data data;
    report_data_begin(&data);
    json_begin_object(&data.json, "verdict");
    json_add_text(&data.json, "schema", "lodecard-verdict/1");
    json_add_text(&data.json, "version", LODECARD_VERSION);
    qualification_write_json(&data.json, input->qualification);
    json_end_object(&data.json);
    return report_data_finish(&data, "lot", input->inputs, input->input_count, out, err);
}
