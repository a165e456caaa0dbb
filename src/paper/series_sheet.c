// SPDX-License-Identifier: GPL-3.0-or-later
/* The sheet of a steel as a whole; what stands in its tables is in series_tables.c. */
#include "paper/series_sheet.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/markup.h"
#include "paper/model_plot.h"
#include "paper/report_cell.h"
#include "paper/series_plot.h"
#include "paper/series_tables.h"
#include "quantity/display.h"

#define DIGITS 4
#define COVERAGE 2 /* of expanded uncertainties */

struct sheet {
    struct document *document;
    const struct series_sheet_input *input;
    const struct series *series;
};

/* "85.83 kJ/m³"; "85.83 ± 0.42 kJ/m³" with a standard uncertainty, k = 2. */
static void add_value(struct text *out, double number, double u, const char *unit, bool has_prefix)
{
    const struct figure_value value = {number, COVERAGE * u, true, u > 0};
    struct display display;
    display_set(&display, &value, unit, has_prefix, DIGITS);
    text_add_format(out, "%s%s%s%s%s", display.value, value.has_u ? " \u00B1 " : "", display.u,
        display.unit[0] != '\0' ? " " : "", display.unit);
}

/* Plain words become a paragraph; clears them. */
static void add_paragraph(const struct sheet *sheet, struct text *words)
{
    struct text markup = {0};
    if (words->failed || words->bytes == NULL) {
        document_set_failed(sheet->document);
    } else {
        markup_add(&markup, words->bytes);
        document_add_paragraph(sheet->document, markup.failed ? "" : markup.bytes);
    }
    text_clear(&markup);
    text_clear(words);
}

/* --- head --------------------------------------------------------------------------------------
 */

static void add_range(struct report_table *table, const struct series *series)
{
    double least = INFINITY, most = 0;
    struct text words = {0};
    const struct series_curve *low = &series->curves[0],
                              *high = &series->curves[series->curve_count - 1];
    for (size_t i = 0; i < series->count; i++) {
        least = fmin(least, series_get_peak(series, i));
        most = fmax(most, series_get_peak(series, i));
    }
    text_add_format(
        &words, "%zu; %s ", series->count, figure_table[series_get_peak_figure(series)].name);
    add_value(&words, least, 0, "T", true);
    if (most > least) {
        text_add(&words, " to ");
        add_value(&words, most, 0, "T", true);
    }
    report_cell_add_name(table, "Loops", words.failed ? "" : words.bytes);
    text_clear(&words);
    if (high->frequency_Hz > 0) {
        add_value(&words, low->frequency_Hz, 0, "Hz", true);
        if (series->curve_count > 1) {
            text_add(&words, " to ");
            add_value(&words, high->frequency_Hz, 0, "Hz", true);
            text_add_format(&words, " (%zu)", series->curve_count);
        }
        report_cell_add_name(table, series->curve_count > 1 ? "Frequencies" : "Frequency",
            words.failed ? "" : words.bytes);
    }
    text_clear(&words);
}

static void add_identity(const struct sheet *sheet)
{
    const struct series_steel *steel = &sheet->series->steel;
    struct report_table table = {.columns = 2};
    report_add_identity(&table, &sheet->input->words);
    report_cell_add_name(&table, "Specimen", steel->specimen);
    report_cell_add_name(&table, "Alloy", steel->alloy);
    report_cell_add_name(&table, "Heat", steel->heat);
    report_cell_add_name(&table, "Supplier", steel->supplier);
    report_cell_add_name(&table, "Condition", steel->condition);
    report_cell_add_quantity(&table, "Density", &steel->density, DIMENSION_DENSITY);
    report_cell_add_quantity(&table, "Resistivity", &steel->resistivity, DIMENSION_RESISTIVITY);
    report_cell_add_quantity(&table, steel->is_laminated ? "Sheet thickness" : "Ring section",
        &steel->thickness, DIMENSION_LENGTH);
    report_cell_add_quantity(&table, "Temperature", &steel->temperature, DIMENSION_TEMPERATURE);
    add_range(&table, sheet->series);
    report_add_program(&table);
    report_table_finish_identity(&table, sheet->document);
}

/* --- pictures ----------------------------------------------------------------------------------
 */

static void destroy_series_plot(void *plot)
{
    series_plot_destroy(plot);
}

static void destroy_model_plot(void *plot)
{
    model_plot_destroy(plot);
}

static void add_series_picture(const struct sheet *sheet)
{
    struct series_plot *plot;
    struct error nothing_to_draw;
    if (series_plot_create(sheet->series, &plot, &nothing_to_draw) != STATUS_OK) {
        return; /* one loop without points: the tables have what there is */
    }
    document_keep(sheet->document, plot, destroy_series_plot);
    document_add_chart(sheet->document, series_plot_get_chart(plot),
        "The loops with the curve through their tips, amplitude permeability against field "
        "strength, energy per cycle against frequency with its parts, and energy against peak "
        "flux density with the power laws, as far as the series has them. The tables below have "
        "the numbers.",
        NULL);
}

static enum status add_model(
    const struct sheet *sheet, const struct model_fit *fit, struct error *err)
{
    struct model_plot *plot;
    struct text words = {0};
    text_add_format(&words, "Model %s", fit->material.model->name);
    document_add_heading(sheet->document, words.failed ? "" : words.bytes);
    text_clear(&words);
    enum status status =
        model_plot_create(fit, sheet->input->fit_loops, sheet->input->fit_loop_count, &plot, err);
    if (status != STATUS_OK) {
        return status;
    }
    document_keep(sheet->document, plot, destroy_model_plot);
    text_add_format(&words, "%s. Fitted to %zu loop%s: rms of B %.3g %% of the peak.",
        fit->material.model->form, sheet->input->fit_loop_count,
        sheet->input->fit_loop_count == 1 ? "" : "s", 100 * fit->residual_relative);
    add_paragraph(sheet, &words);
    series_tables_add_model(sheet->document, fit);
    document_add_chart(sheet->document, model_plot_get_chart(plot),
        "Measured loops, and the model's loops over them", NULL);
    return STATUS_OK;
}

/* --- sections ----------------------------------------------------------------------------------
 */

static void add_permeability(const struct sheet *sheet)
{
    const struct series_curve *curve = &sheet->series->curves[sheet->series->normal];
    struct text words = {0};
    if (curve->most == SERIES_NONE) {
        return;
    }
    text_add(&words, "The largest amplitude permeability is ");
    add_value(
        &words, curve->permeability[curve->most], curve->u_permeability[curve->most], "", false);
    text_add(&words, ", at ");
    add_value(&words, curve->field_peak[curve->most], 0, "A/m", true);
    text_add(&words, curve->most == 0                  ? ", the smallest loop: it may lie below."
                     : curve->most == curve->count - 1 ? ", the largest loop: it may lie above."
                                                       : ".");
    add_paragraph(sheet, &words);
}

static void add_largest(const struct sheet *sheet)
{
    const struct series *series = sheet->series;
    struct text words = {0};
    if (series->largest == SERIES_NONE) {
        return;
    }
    const struct figures *figures = &series->loops[series->largest].figures;
    const struct figure_value *coercivity = &figures->list[FIGURE_COERCIVITY];
    const double field = figures->list[FIGURE_FIELD_PEAK].value;
    text_add(&words, "The largest loop reaches ");
    add_value(&words, field, 0, "A/m", true);
    if (coercivity->is_present && coercivity->value > 0) {
        text_add_format(&words, ", %.4g times its coercivity: %s", field / coercivity->value,
            series->is_major ? "it counts as the major loop."
                             : "below 3 times it is no major loop, and its remanence and "
                               "coercivity are those of this loop only.");
    } else {
        text_add(&words, ".");
    }
    add_paragraph(sheet, &words);
}

static void add_saturation(const struct sheet *sheet)
{
    const struct series_saturation *found = &sheet->series->saturation;
    struct text words = {0};
    if (found->is_present) {
        text_add(&words, "Saturation by the law of approach: Js = ");
        add_value(&words, found->polarization_T, found->u_polarization_T, "T", true);
        text_add(&words, ", from loops between ");
        add_value(&words, found->field_least, 0, "A/m", true);
        text_add(&words, " and ");
        add_value(&words, found->field_most, 0, "A/m", true);
        text_add_format(&words, "; J reaches %.4g T.", found->reached_T);
    } else {
        text_add_format(&words, "No saturation: %s.", found->reason);
    }
    add_paragraph(sheet, &words);
}

static void add_initial(const struct sheet *sheet)
{
    const struct series_initial *initial = &sheet->series->initial;
    struct text words = {0};
    if (initial->count == 0) {
        return;
    }
    text_add_format(&words, "Initial curve: %zu points of %s", initial->count, initial->file);
    if (isnan(initial->permeability)) {
        text_add(&words, "; its foot does not obey Rayleigh's law: no initial permeability.");
    } else {
        text_add_format(&words, "; initial permeability %.4g, Rayleigh's constant %.4g T/(A/m)².",
            initial->permeability, initial->rayleigh);
    }
    add_paragraph(sheet, &words);
}

static void add_curve(const struct sheet *sheet)
{
    struct text words = {0};
    if (sheet->series->normal == SERIES_NONE) {
        return;
    }
    const double frequency = sheet->series->curves[sheet->series->normal].frequency_Hz;
    document_add_heading(sheet->document, "Normal curve");
    text_add(&words, "The tips of the loops ");
    if (frequency > 0) {
        text_add(&words, "at ");
        add_value(&words, frequency, 0, "Hz", true);
    } else {
        text_add(&words, "of slow traces");
    }
    text_add(&words, "; \u00B1 is the expanded uncertainty (k = 2), where the loops have one.");
    add_paragraph(sheet, &words);
    (void)series_tables_add_curve(sheet->document, sheet->series);
    add_permeability(sheet);
    add_largest(sheet);
    add_saturation(sheet);
    add_initial(sheet);
}

static void add_losses(const struct sheet *sheet)
{
    const struct series *series = sheet->series;
    bool is_classical = false;
    if (series->separation_count == 0) {
        return;
    }
    for (size_t i = 0; i < series->separation_count; i++) {
        is_classical = is_classical || series->separations[i].is_classical;
    }
    document_add_heading(sheet->document, "Separation of losses");
    document_add_paragraph(sheet->document,
        "Energy per cycle at equal peak: <i>W</i>(<i>f</i>) = <i>W</i><span size=\"x-small\" "
        "rise=\"-2pt\">h</span> + "
        "<i>k</i><span size=\"x-small\" rise=\"-2pt\">c</span> <i>f</i> + <i>k</i><span "
        "size=\"x-small\" rise=\"-2pt\">x</span> \u221A<i>f</i>. "
        "<i>W</i><span size=\"x-small\" rise=\"-2pt\">h</span> is the quasi-static limit; off is "
        "what the fit leaves, relative; "
        "\u00B1 is the expanded uncertainty (k = 2).");
    if (is_classical) {
        document_add_paragraph(sheet->document,
            "Computed: from resistivity and thickness by the law of eddy currents, not fitted.");
    }
    (void)series_tables_add_separation(sheet->document, series);
    series_tables_add_residuals(sheet->document, series);
}

static void add_laws(const struct sheet *sheet)
{
    const struct series *series = sheet->series;
    struct text words = {0};
    if (!series->free.is_present && !series->fixed.is_present) {
        return;
    }
    document_add_heading(sheet->document, "Power law");
    text_add(&words, series->is_separated ? "<i>W</i><span size=\"x-small\" rise=\"-2pt\">h</span>"
                                          : "<i>W</i>");
    text_add(&words, " = <i>c</i> (");
    markup_add_symbol(&words, figure_table[series_get_peak_figure(series)].symbol);
    text_add_format(&words, " / 1 T)<sup><i>n</i></sup>, over %.4g to %.4g T.%s",
        series->free.least_T, series->free.most_T,
        series->is_separated
            ? ""
            : " <i>W</i> is the whole loss at one frequency: it holds what eddy currents add.");
    if (words.failed) {
        document_set_failed(sheet->document);
    } else {
        document_add_paragraph(sheet->document, words.bytes);
    }
    text_clear(&words);
    (void)series_tables_add_laws(sheet->document, series);
}

static void add_notes(const struct sheet *sheet)
{
    const struct notes *notes = &sheet->series->notes;
    document_add_heading(sheet->document, "Notes");
    report_add_notes(sheet->document, notes);
    for (size_t i = 0; i < sheet->series->count; i++) {
        struct text words = {0};
        const struct series_loop *loop = &sheet->series->loops[i];
        for (size_t n = 0; n < loop->notes.count; n++) {
            if (loop->notes.list[n].level != NOTE_INFO) {
                text_add_format(
                    &words, "%s%s", words.length > 0 ? ", " : "", loop->notes.list[n].code);
            }
        }
        if (words.length > 0) {
            text_add_format(&words, ": of %s", loop->file);
            add_paragraph(sheet, &words);
        }
        text_clear(&words);
    }
}

/* Captures with their digests; a table that many loops are rows of comes once. */
static enum status add_recordings(const struct sheet *sheet, struct error *err)
{
    const struct report_input *inputs = sheet->input->inputs;
    struct report_input *list = memory_create(sheet->series->count + 1, sizeof *list);
    size_t count = 0;
    if (list == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < sheet->series->count; i++) {
        const bool is_same = count > 0 && strcmp(list[count - 1].name, inputs[i].name) == 0 &&
                             strcmp(list[count - 1].capture_sha256, inputs[i].capture_sha256) == 0;
        if (inputs[i].capture_sha256[0] != '\0' && !is_same) {
            list[count++] = inputs[i];
        }
    }
    if (count > 0) {
        report_add_inputs(sheet->document, list, count);
    }
    memory_destroy(list);
    return STATUS_OK;
}

static enum status fill(const struct sheet *sheet, struct error *err)
{
    const struct series_sheet_input *input = sheet->input;
    enum status status = STATUS_OK;
    add_identity(sheet);
    add_series_picture(sheet);
    add_curve(sheet);
    add_losses(sheet);
    add_laws(sheet);
    for (size_t i = 0; i < input->fit_count && status == STATUS_OK; i++) {
        status = add_model(sheet, &input->fits[i], err);
    }
    if (sheet->series->at_count > 0) {
        document_add_heading(sheet->document, "At a stated peak");
        (void)series_tables_add_at(sheet->document, sheet->series);
    }
    add_notes(sheet);
    report_add_remarks(sheet->document, &input->words);
    report_add_caution(sheet->document);
    report_add_signatures(sheet->document, &input->words);
    document_add_heading(sheet->document, "Loops");
    series_tables_add_loops(sheet->document, sheet->series);
    if (status == STATUS_OK) {
        status = add_recordings(sheet, err);
    }
    return status;
}

enum status series_sheet_create(
    const struct series_sheet_input *input, struct document **document, struct error *err)
{
    const struct series_steel *steel = &input->series->steel;
    const char *const names[] = {steel->alloy, steel->specimen, steel->heat};
    struct sheet sheet = {.input = input, .series = input->series};
    struct text title = {0};
    for (size_t i = 0; i < 3; i++) {
        if (names[i] != NULL) {
            text_add_format(&title, "%s%s%s",
                title.length > 0 ? ", " : "Steel sheet: ", i == 2 ? "heat " : "", names[i]);
        }
    }
    text_add(&title, title.length > 0 ? "" : "Steel sheet");
    enum status status = report_begin_titled(&input->words, &title,
        "B\u2013H loops of a ring over amplitude and frequency, and what follows from them",
        &sheet.document, err);
    if (status == STATUS_OK) {
        status = fill(&sheet, err);
    }
    return report_finish(sheet.document, status, document);
}

enum status series_sheet_write_data(
    const struct series_sheet_input *input, struct text *out, struct error *err)
{
    struct report_data data;
    report_data_begin(&data);
    json_begin_object(&data.json, "series");
    series_write_members(&data.json, input->series, false);
    json_begin_array(&data.json, "models");
    for (size_t i = 0; i < input->fit_count; i++) {
        model_fit_write_json(&data.json, &input->fits[i]);
    }
    json_end_array(&data.json);
    notes_write_json(&data.json, "notes", &input->series->notes);
    json_end_object(&data.json);
    return report_data_finish(&data, "series", input->inputs, input->series->count, out, err);
}
