// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/loop_tables.h"

#include <math.h>
#include <stdio.h>

#include "base/version.h"
#include "paper/report_cell.h"
#include "quantity/display.h"

#define DIGITS 5                    /* of a figure without uncertainty */
#define BARS_MOST 4                 /* contributions to a figure that are listed */
#define SHARE_LEAST 0.005           /* smaller ones are summed up */
#define SINE_FORM_FACTOR 1.11072073 /* pi / (2 sqrt 2) */
#define SINE_TOLERANCE 0.01         /* IEC 60404-6: of the form factor */
#define DAY 86400.0

const enum figure loop_tables_compared[LOOP_TABLES_COMPARED] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
    FIGURE_FLUX_DENSITY_PEAK, FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA};

/* --- identity ----------------------------------------------------------------------------------
 */

static void add_specimen(struct report_table *table, const struct specimen *specimen)
{
    const struct quantity length = {.value = specimen->path_length_m, .is_present = true};
    const struct quantity area = {.value = specimen->area_m2, .is_present = true};
    report_cell_add_name(table, "Specimen", specimen->name);
    report_cell_add_name(table, "Alloy", specimen->alloy);
    report_cell_add_name(table, "Heat", specimen->heat);
    report_cell_add_name(table, "Supplier", specimen->supplier);
    report_cell_add_name(table, "Condition", specimen->condition);
    report_cell_add_quantity(table, "Outer diameter", &specimen->outer_diameter, DIMENSION_LENGTH);
    report_cell_add_quantity(table, "Inner diameter", &specimen->inner_diameter, DIMENSION_LENGTH);
    report_cell_add_quantity(table, "Height", &specimen->height, DIMENSION_LENGTH);
    report_cell_add_quantity(table, "Mass", &specimen->mass, DIMENSION_MASS);
    report_cell_add_quantity(table, "Density", &specimen->density, DIMENSION_DENSITY);
    report_cell_add_quantity(table, "Magnetic path", &length, DIMENSION_LENGTH);
    report_cell_add_quantity(table, "Cross-section", &area, DIMENSION_AREA);
    report_cell_add_quantity(table, "Resistivity", &specimen->resistivity, DIMENSION_RESISTIVITY);
}

static void add_rig(struct report_table *table, const struct loop_sheet_item *item)
{
    const struct rig *rig = item->rig;
    const struct winding *winding =
        item->specimen->winding.is_present ? &item->specimen->winding : &rig->winding;
    report_cell_add_name(table, "Rig", rig->name);
    report_cell_add_name(table, "Calibrated",
        rig->calibration_date != NULL ? rig->calibration_date : "not told in the rig file");
    if (rig->calibration_interval.is_present) {
        report_cell_add(table, "Calibration holds for");
        report_table_add(table, "%.4g days", rig->calibration_interval.value / DAY);
    }
    if (winding->is_present) {
        report_cell_add(table, "Turns");
        report_table_add(table, "%.6g excitation, %.6g pickup", winding->primary_turns.value,
            winding->secondary_turns.value);
    }
}

static void add_capture(struct report_table *table, const struct loop_sheet_item *item)
{
    const struct loop *loop = item->loop;
    report_cell_add_name(table, "Capture", item->file);
    report_cell_add_name(table, "SHA-256", loop->sha256);
    report_cell_add(table, "Recording");
    if (loop->is_trace) {
        report_table_add(
            table, "%lld rows, one slow traverse without time", (long long)loop->frames);
    } else if (loop->sample_rate_Hz > 0) {
        report_table_add(table, "%lld rows at %.7g kHz, %.5g s", (long long)loop->frames,
            loop->sample_rate_Hz / 1e3, loop->length_s);
    } else {
        report_table_add(
            table, "%lld rows at uneven times, %.5g s", (long long)loop->frames, loop->length_s);
    }
    report_add_program(table);
}

void loop_tables_add_identity(
    struct document *document, const struct loop_sheet_item *item, const struct report_words *words)
{
    struct report_table table = {.columns = 2};
    if (words != NULL) {
        report_add_identity(&table, words);
    }
    add_specimen(&table, item->specimen);
    add_rig(&table, item);
    add_capture(&table, item);
    report_table_finish_identity(&table, document);
}

/* --- figures -----------------------------------------------------------------------------------
 */

/* U of a figure and its k; 0: none is known. */
static double get_expanded(
    const struct loop_budget *budget, enum figure figure, double u, double *coverage)
{
    const size_t output = loop_budget_find(budget, figure);
    *coverage = output < budget->model.output_count ? loop_budget_get_coverage(budget, output) : 2;
    return *coverage * u;
}

static void add_figure(
    struct report_table *table, const struct loop_sheet_item *item, enum figure figure)
{
    struct figure_value value = item->loop->figures.list[figure];
    struct display display;
    double coverage = 0;
    if (value.has_u) {
        value.u = get_expanded(item->budget, figure, value.u, &coverage);
    }
    display_set_figure(&display, figure, &value, DIGITS);
    report_cell_add(table, figure_table[figure].name);
    report_cell_add_symbol(table, figure);
    report_cell_add_number(table, display.value);
    report_cell_add_number(table, value.has_u ? display.u : "\u2013");
    report_cell_add(table, display.unit);
    if (value.has_u) {
        report_table_add(table, "%.2f", coverage);
    } else {
        report_table_add_markup(table, "");
    }
}

void loop_tables_add_figures(struct document *document, const struct loop_sheet_item *item)
{
    static const char *const headings[] = {
        "figure", "symbol", "value", "<i>U</i> (95 %)", "unit", "<i>k</i>"};
    static const bool is_number[] = {false, false, true, true, false, true};
    struct report_table table = {.columns = 6, .headings = headings, .is_number = is_number};
    bool has_u = false;
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &item->loop->figures.list[i];
        if (value->is_present && !figure_is_of_side((enum figure)i)) {
            add_figure(&table, item, (enum figure)i);
            has_u = has_u || value->has_u;
        }
    }
    report_table_finish(&table, document, NULL);
    document_add_paragraph(document,
        !has_u ? "No uncertainty: the capture shows no scatter, and rig and specimen state none."
        : loop_budget_has_inputs(item->budget)
            ? "<i>U</i>: expanded uncertainty for 95 %, the combined standard uncertainty times "
              "<i>k</i> (Student's t): what rig and specimen state about themselves, and the "
              "scatter of the cycles or the gap of a trace."
            : "<i>U</i>: expanded uncertainty for 95 % as far as the capture itself shows it. What "
              "sensors, dimensions and turns add is not in it: rig and specimen do not state it.");
}

static void add_side(struct report_table *table, const struct figures *figures, size_t side)
{
    const enum figure both[2] = {figure_sides[side].falling, figure_sides[side].rising};
    const struct figure_value *asymmetry = &figures->list[figure_sides[side].asymmetry];
    report_cell_add(table, figure_table[figure_sides[side].both].name);
    for (size_t i = 0; i < 2; i++) {
        const struct figure_entry *entry = &figure_table[figure_sides[side].both];
        report_cell_add_value(
            table, figures->list[both[i]].value, 0, entry->unit, entry->has_prefix, DIGITS);
    }
    if (asymmetry->is_present) { /* + 0.0: no minus sign on what is rounded to 0 */
        char words[32];
        snprintf(words, sizeof words, "%.3f %%", round(1e5 * asymmetry->value) / 1e3 + 0.0);
        report_cell_add_number(table, words);
    } else {
        report_cell_add(table, NULL);
    }
}

void loop_tables_add_sides(struct document *document, const struct figures *figures)
{
    static const char *const headings[] = {
        "the two sides apart", "falling branch", "rising branch", "asymmetry"};
    static const bool is_number[] = {false, true, true, true};
    struct report_table table = {.columns = 4, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < FIGURE_SIDES; i++) {
        if (figures->list[figure_sides[i].falling].is_present &&
            figures->list[figure_sides[i].rising].is_present) {
            add_side(&table, figures, i);
        }
    }
    report_table_finish(&table, document, NULL);
}

/* --- conditions --------------------------------------------------------------------------------
 */

static void add_form_factor(struct report_table *table, double factor)
{
    const bool is_sine = fabs(factor / SINE_FORM_FACTOR - 1) <= SINE_TOLERANCE;
    report_cell_add(table, "Form factor of dB/dt");
    report_table_add(table, "%.4f: %s", factor,
        is_sine ? "the flux is a sine (1.1107 within 1 %)"
                : "the flux is no sine (1.1107 within 1 %), and the loss is not one at sine flux");
}

void loop_tables_add_conditions(struct document *document, const struct loop_sheet_item *item)
{
    const struct figures *figures = &item->loop->figures;
    const struct figure_value *factor = &figures->list[FIGURE_FORM_FACTOR];
    struct report_table table = {.columns = 2};
    report_cell_add(&table, "Frequency");
    if (figures->list[FIGURE_FREQUENCY].is_present) {
        report_cell_add_value(&table, figures->list[FIGURE_FREQUENCY].value, 0, "Hz", true, DIGITS);
        report_cell_add(&table, "Cycles");
        report_table_add(&table, "%.6g, fitted with %.0f harmonics",
            figures->list[FIGURE_CYCLES].value, figures->list[FIGURE_HARMONICS].value);
    } else {
        report_cell_add(&table, "none: one slow traverse");
    }
    report_cell_add(&table, "Peak field strength");
    report_cell_add_value(&table, figures->list[FIGURE_FIELD_PEAK].value, 0, "A/m", true, DIGITS);
    if (item->specimen->temperature.is_present) {
        report_cell_add_quantity(
            &table, "Temperature", &item->specimen->temperature, DIMENSION_TEMPERATURE);
    } else {
        report_cell_add_name(&table, "Temperature", "not told in the specimen file");
    }
    if (factor->is_present) {
        add_form_factor(&table, factor->value);
    }
    report_table_finish_identity(&table, document);
}

/* --- budget ------------------------------------------------------------------------------------
 */

static const enum figure budgeted[] = {FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK,
    FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA, FIGURE_LAG_ANGLE};

static void add_contribution(
    struct report_table *table, enum figure figure, const char *name, double u, double share)
{
    const struct figure_entry *entry = &figure_table[figure];
    report_cell_add(table, name);
    report_cell_add_value(table, fabs(u), 0, entry->unit, entry->has_prefix, 2);
    report_table_add(table, "%.1f %%", 100 * share);
}

static void add_contributions(
    struct report_table *table, const struct loop_budget *budget, enum figure figure, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const size_t found = loop_budget_list(budget, output, list);
    double rest = 1;
    for (size_t i = 0; i < found && i < BARS_MOST && fabs(list[i].share) >= SHARE_LEAST; i++) {
        report_cell_add_symbol(table, figure);
        add_contribution(table, figure, list[i].name, list[i].u, list[i].share);
        rest -= list[i].share;
    }
    if (fabs(rest) >= SHARE_LEAST) {
        report_cell_add_symbol(table, figure);
        add_contribution(table, figure, "others", NAN, rest);
    }
}

void loop_tables_add_budget(struct document *document, const struct loop_budget *budget)
{
    static const char *const headings[] = {
        "figure", "contribution", "<i>u</i> it alone makes", "share of <i>u</i>²"};
    static const bool is_number[] = {false, false, true, true};
    struct report_table table = {.columns = 4, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < sizeof budgeted / sizeof *budgeted; i++) {
        const size_t output = loop_budget_find(budget, budgeted[i]);
        if (output < budget->model.output_count && budget->linear.u[output] > 0) {
            add_contributions(&table, budget, budgeted[i], output);
        }
    }
    if (table.count == 0) {
        document_add_paragraph(document, "No main figure has an uncertainty.");
    }
    report_table_finish(&table, document, NULL);
    if (budget->source == LOOP_SCATTER_BLOCKS) {
        struct text words = {0};
        text_add_format(&words, "Scatter: of %zu runs of cycles.", budget->repeats);
        document_add_paragraph(document, words.failed ? "" : words.bytes);
        text_clear(&words);
    } else if (budget->source == LOOP_SCATTER_NOISE) {
        document_add_paragraph(document,
            "Scatter: from the noise of single samples, for want of three runs of cycles.");
    }
}
