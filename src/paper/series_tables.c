// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/series_tables.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "paper/report_cell.h"
#include "paper/report_figures.h"
#include "quantity/display.h"

#define DIGITS 4
#define COVERAGE 2 /* of expanded uncertainties */

static const char *get_energy_unit(const struct series *series)
{
    return series->is_per_mass ? "J/kg" : "J/m³";
}

static const char *get_peak_name(const struct series *series)
{
    return series->uses_polarization ? "<i>J</i><span size=\"x-small\" rise=\"-2pt\">m</span>"
                                     : "<i>B</i><span size=\"x-small\" rise=\"-2pt\">m</span>";
}

/* --- loops -------------------------------------------------------------------------------------
 */

/* Figures of loops, with what the series found of them. */
struct rows {
    struct figures *figures;
    const struct figures **list;
    size_t count;
};

static bool rows_create(struct rows *rows, size_t count)
{
    *rows = (struct rows){.figures = memory_create(count + 1, sizeof *rows->figures),
        .list = memory_create(count + 1, sizeof *rows->list),
        .count = count};
    for (size_t i = 0; rows->figures != NULL && rows->list != NULL && i < count; i++) {
        rows->list[i] = &rows->figures[i];
    }
    return rows->figures != NULL && rows->list != NULL;
}

static void rows_clear(struct rows *rows)
{
    memory_destroy(rows->figures);
    memory_destroy(rows->list);
}

static void set_value(struct figures *figures, enum figure figure, double value, double u)
{
    if (isfinite(value)) {
        figures_set(figures, figure, value);
        if (u > 0) {
            figures_set_u(figures, figure, u);
        }
    }
}

static void set_loop(struct figures *row, const struct series *series, size_t loop)
{
    *row = series->loops[loop].figures;
    if (!series->is_per_mass) {
        set_value(row, FIGURE_LOOP_AREA, series->loops[loop].energy, series->loops[loop].u_energy);
    }
}

bool series_tables_add_curve(struct document *document, const struct series *series)
{
    const enum figure figures[] = {FIGURE_FIELD_PEAK, series_get_peak_figure(series),
        FIGURE_AMPLITUDE_PERMEABILITY, FIGURE_REMANENCE, FIGURE_COERCIVITY};
    struct rows rows;
    if (series->normal == SERIES_NONE) {
        return false;
    }
    const struct series_curve *curve = &series->curves[series->normal];
    if (rows_create(&rows, curve->count)) {
        for (size_t i = 0; i < curve->count; i++) {
            set_loop(&rows.figures[i], series, curve->loop[i]);
            set_value(&rows.figures[i], FIGURE_AMPLITUDE_PERMEABILITY, curve->permeability[i],
                curve->u_permeability[i]);
        }
        report_figures_add(document, &(struct report_figures){.count = curve->count,
                                         .rows = rows.list,
                                         .figure_count = sizeof figures / sizeof *figures,
                                         .figures = figures,
                                         .has_u = true});
    } else {
        document_set_failed(document);
    }
    rows_clear(&rows);
    return true;
}

void series_tables_add_loops(struct document *document, const struct series *series)
{
    const enum figure figures[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
        series_get_peak_figure(series), FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA,
        FIGURE_SPECIFIC_LOSS, FIGURE_LAG_ANGLE, FIGURE_FORM_FACTOR};
    static const char *const headings[] = {"from", "line"};
    const char **words = memory_create(2 * series->count + 1, sizeof *words);
    char(*lines)[24] = memory_create(series->count + 1, sizeof *lines);
    struct rows rows;
    if (!rows_create(&rows, series->count) || words == NULL || lines == NULL) {
        document_set_failed(document);
    } else {
        bool has_lines = false;
        for (size_t i = 0; i < series->count; i++) {
            has_lines = has_lines || series->loops[i].row > 0;
        }
        const size_t columns = has_lines ? 2 : 1;
        for (size_t i = 0; i < series->count; i++) {
            set_loop(&rows.figures[i], series, i);
            snprintf(lines[i], sizeof *lines, "%zu", series->loops[i].row);
            words[columns * i] = series->loops[i].file;
            words[columns * i + columns - 1] = !has_lines                 ? series->loops[i].file
                                               : series->loops[i].row > 0 ? lines[i]
                                                                          : NULL;
        }
        report_figures_add(document, &(struct report_figures){.word_columns = columns,
                                         .word_headings = headings,
                                         .words = words,
                                         .count = series->count,
                                         .rows = rows.list,
                                         .figure_count = sizeof figures / sizeof *figures,
                                         .figures = figures});
    }
    rows_clear(&rows);
    memory_destroy(words);
    memory_destroy(lines);
}

bool series_tables_add_at(struct document *document, const struct series *series)
{
    const enum figure figures[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
        series_get_peak_figure(series), FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA,
        FIGURE_SPECIFIC_LOSS, FIGURE_LAG_ANGLE};
    struct rows rows;
    if (series->at_count == 0) {
        return false;
    }
    if (rows_create(&rows, series->at_count)) {
        for (size_t i = 0; i < series->at_count; i++) {
            rows.figures[i] = series->at[i].figures;
            if (series->at[i].frequency_Hz > 0) {
                figures_set(&rows.figures[i], FIGURE_FREQUENCY, series->at[i].frequency_Hz);
            }
        }
        report_figures_add(document, &(struct report_figures){.count = series->at_count,
                                         .rows = rows.list,
                                         .figure_count = sizeof figures / sizeof *figures,
                                         .figures = figures});
    } else {
        document_set_failed(document);
    }
    rows_clear(&rows);
    return true;
}

/* "+1.25 %"; no sign on what is rounded to 0. */
static void add_percent(struct report_table *table, double share, int decimals)
{
    const double least = pow(10, -decimals);
    const double shown = round(100 * share / least) * least;
    char words[32];
    snprintf(words, sizeof words, shown == 0 ? "%.*f %%" : "%+.*f %%", decimals, shown + 0.0);
    report_cell_add_number(table, isfinite(share) ? words : "\u2013");
}

/* --- separation --------------------------------------------------------------------------------
 */

static double get_u(const struct series_separation *it, size_t term)
{
    return it->has_covariance ? COVERAGE * sqrt(it->covariance[term][term]) : 0;
}

/* "85.83 ± 0.42 J/m³": with its expanded uncertainty, if there is one. */
static void add_term(struct report_table *table, double value, double expanded, const char *unit)
{
    const struct figure_value shown = {value, expanded, true, expanded > 0};
    struct display display;
    display_set(&display, &shown, unit, unit[0] == 'J', DIGITS);
    const char *blank = display.unit[0] != '\0' ? " " : "";
    if (shown.has_u) {
        report_table_add(table, "%s \u00B1 %s%s%s", display.value, display.u, blank, display.unit);
    } else {
        report_table_add(table, "%s%s%s", display.value, blank, display.unit);
    }
}

static void add_separation(
    struct report_table *table, const struct series *series, const struct series_separation *it)
{
    report_table_add(table, "%.4g T", it->peak_T);
    add_term(table, it->hysteresis_J_per_m3, get_u(it, 0), get_energy_unit(series));
    if (it->is_classical) {
        report_table_add(table, "%.4g, computed", it->linear_J_s_per_m3);
    } else {
        add_term(table, it->linear_J_s_per_m3, get_u(it, 1), "");
    }
    if (it->has_excess) {
        add_term(table, it->excess_J_per_m3_per_sqrt_Hz, get_u(it, 2), "");
    } else {
        report_cell_add(table, NULL);
    }
    report_table_add(
        table, "%.4g to %.4g Hz", it->frequency_Hz[0], it->frequency_Hz[it->count - 1]);
    report_table_add(table, "%.3f %%", 100 * it->residual_relative);
    report_table_add(table, "%.3f %%", 100 * it->residual_most);
}

bool series_tables_add_separation(struct document *document, const struct series *series)
{
    const char *const headings[] = {get_peak_name(series),
        "<i>W</i><span size=\"x-small\" rise=\"-2pt\">h</span>",
        series->is_per_mass ? "<i>k</i><span size=\"x-small\" rise=\"-2pt\">c</span> (J s/kg)"
                            : "<i>k</i><span size=\"x-small\" rise=\"-2pt\">c</span> (J s/m³)",
        series->is_per_mass
            ? "<i>k</i><span size=\"x-small\" rise=\"-2pt\">x</span> (J/kg/\u221AHz)"
            : "<i>k</i><span size=\"x-small\" rise=\"-2pt\">x</span> (J/m³/\u221AHz)",
        "over", "off, rms", "off, most"};
    static const bool is_number[] = {true, true, true, true, false, true, true};
    struct report_table table = {.columns = 7, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < series->separation_count; i++) {
        add_separation(&table, series, &series->separations[i]);
    }
    report_table_finish(&table, document, NULL);
    return series->separation_count > 0;
}

static void add_residual(struct report_table *table, const struct series *series,
    const struct series_separation *it, size_t i)
{
    const double fitted = it->energy[i] * (1 - it->residual[i]);
    report_table_add(table, "%.4g T", it->peak_T);
    report_cell_add_value(table, it->frequency_Hz[i], 0, "Hz", true, DIGITS);
    add_term(table, it->energy[i], COVERAGE * it->u_energy[i], get_energy_unit(series));
    report_cell_add_value(table, fitted, 0, get_energy_unit(series), true, DIGITS + 1);
    add_percent(table, it->residual[i], 3);
}

void series_tables_add_residuals(struct document *document, const struct series *series)
{
    const char *const headings[] = {get_peak_name(series), "<i>f</i>", "<i>W</i> measured",
        "<i>W</i> fitted", "measured less fitted"};
    static const bool is_number[] = {true, true, true, true, true};
    struct report_table table = {.columns = 5, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < series->separation_count; i++) {
        for (size_t k = 0; k < series->separations[i].count; k++) {
            add_residual(&table, series, &series->separations[i], k);
        }
    }
    report_table_finish(&table, document, NULL);
}

/* --- laws --------------------------------------------------------------------------------------
 */

static void add_law(struct report_table *table, const struct series *series, const char *name,
    const struct series_power_law *law)
{
    if (!law->is_present) {
        return;
    }
    report_cell_add(table, name);
    add_term(table, law->coefficient, law->has_u ? COVERAGE * law->u_coefficient : 0,
        get_energy_unit(series));
    if (law->is_fixed) {
        report_cell_add(table, "1.6");
    } else {
        add_term(table, law->exponent, law->has_u ? COVERAGE * law->u_exponent : 0, "");
    }
    if (law->is_varying) {
        add_term(
            table, law->exponent_per_T, law->has_u ? COVERAGE * law->u_exponent_per_T : 0, "1/T");
    } else {
        report_cell_add(table, NULL);
    }
    report_table_add(table, "%.2f %%", 100 * law->residual_relative);
    if (law->holds_most_T > 0) {
        report_table_add(table, "%.4g to %.4g T", law->holds_least_T, law->holds_most_T);
    } else {
        report_cell_add(table, "nowhere");
    }
}

bool series_tables_add_laws(struct document *document, const struct series *series)
{
    static const char *const headings[] = {
        "exponent", "<i>c</i>", "<i>n</i>", "<i>n</i> grows by", "off, rms", "within 3 % over"};
    static const bool is_number[] = {false, true, true, true, true, false};
    struct report_table table = {.columns = 6, .headings = headings, .is_number = is_number};
    add_law(&table, series, "free", &series->free);
    add_law(&table, series, "historical", &series->fixed);
    add_law(&table, series, "varying with B", &series->varying);
    const bool has_any = table.count > 0;
    report_table_finish(&table, document, NULL);
    return has_any;
}

/* --- models ------------------------------------------------------------------------------------
 */

static void add_parameters(struct document *document, const struct model_fit *fit)
{
    static const char *const headings[] = {"parameter", "value", "<i>U</i>", "remark"};
    static const bool is_number[] = {false, true, true, false};
    struct report_table table = {.columns = 4, .headings = headings, .is_number = is_number};
    const struct model *model = fit->material.model;
    for (size_t i = 0; i < model->parameter_count; i++) {
        const struct model_parameter *parameter = &model->parameters[i];
        const char *unit = dimension_get_unit(parameter->dimension);
        report_cell_add(&table, parameter->key);
        report_cell_add_value(
            &table, fit->material.parameters[i], 0, unit, unit[0] != '\0', DIGITS + 2);
        report_cell_add_value(
            &table, fit->u[i] > 0 ? COVERAGE * fit->u[i] : NAN, 0, unit, unit[0] != '\0', 2);
        report_table_add(&table, "%s", fit->is_at_limit[i] ? "at the limit of the search" : "");
    }
    report_table_finish(&table, document, NULL);
}

void series_tables_add_model(struct document *document, const struct model_fit *fit)
{
    static const char *const headings[] = {"<i>H</i><span size=\"x-small\" rise=\"-2pt\">m</span>",
        "<i>B</i><span size=\"x-small\" rise=\"-2pt\">m</span>", "rms of <i>B</i>", "area",
        "<i>H</i><span size=\"x-small\" rise=\"-2pt\">cB</span>",
        "<i>B</i><span size=\"x-small\" rise=\"-2pt\">r</span>"};
    static const bool is_number[] = {true, true, true, true, true, true};
    struct report_table table = {.columns = 6, .headings = headings, .is_number = is_number};
    add_parameters(document, fit);
    for (size_t i = 0; i < fit->count; i++) {
        const struct fit_residual *residual = &fit->residuals[i];
        const double relative[] = {
            residual->area_relative, residual->coercivity_relative, residual->remanence_relative};
        report_cell_add_value(&table, residual->field_peak, 0, "A/m", true, DIGITS);
        report_cell_add_value(&table, residual->flux_density_peak, 0, "T", true, DIGITS);
        report_table_add(&table, "%.2f %%", 100 * residual->rms_relative);
        for (size_t n = 0; n < 3; n++) {
            add_percent(&table, relative[n], 2);
        }
    }
    report_table_finish(&table, document, "Model less measured, loop by loop");
}
