// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/series_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_text.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define DIGITS 4
#define CELL_SIZE 100

/* --- cells -------------------------------------------------------------------------------------
 */

/* "18.54 kA/m"; "18.535(48) kA/m" with a u. */
static const char *write_value(
    char cell[CELL_SIZE], double number, double u, const char *unit, bool has_prefix)
{
    const struct figure_value value = {number, u, true, u > 0};
    struct display display;
    if (!isfinite(number)) {
        snprintf(cell, CELL_SIZE, "-");
        return cell;
    }
    display_set(&display, &value, unit, has_prefix, DIGITS);
    display_join(&display, cell, CELL_SIZE);
    return cell;
}

static void add_cell(struct text *out, size_t columns, double number, double u, const char *unit)
{
    char cell[CELL_SIZE];
    wrap_add_apart(out, write_value(cell, number, u, unit, *unit != '\0'), columns);
}

static const char *get_energy_unit(const struct series *series)
{
    return series->is_per_mass ? "J/kg" : "J/m³";
}

static const char *get_peak_symbol(const struct series *series)
{
    return figure_table[series_get_peak_figure(series)].symbol;
}

/* --- heading -----------------------------------------------------------------------------------
 */

static void add_heading(struct text *out, const struct series *series)
{
    const struct series_steel *steel = &series->steel;
    char first[CELL_SIZE], last[CELL_SIZE];
    struct text words = {0};
    const char *names[] = {steel->specimen, steel->alloy, steel->heat};
    const char *before[] = {"", "", "heat "};
    for (size_t i = 0; i < 3; i++)
        if (names[i])
            text_add_format(&words, "%s%s%s", words.length ? ", " : "", before[i], names[i]);
    text_add_format(&words, "%s%zu loop%s", words.length ? ": " : "", series->count,
        series->count == 1 ? "" : "s");
    const struct series_curve *low = &series->curves[0],
                              *high = &series->curves[series->curve_count - 1];
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < series->count; i++) {
        least = fmin(least, series_get_peak(series, i));
        most = fmax(most, series_get_peak(series, i));
    }
    if (high->frequency_Hz > 0)
        text_add_format(&words, ", %zu frequenc%s (%s%s%s)", series->curve_count,
            series->curve_count == 1 ? "y" : "ies",
            low->frequency_Hz > 0 ? write_value(first, low->frequency_Hz, 0, "Hz", true)
                                  : "slow traces",
            series->curve_count > 1 ? " ... " : "",
            series->curve_count > 1 ? write_value(last, high->frequency_Hz, 0, "Hz", true) : "");
    text_add_format(&words, ", %s %s ... %s", get_peak_symbol(series),
        write_value(first, least, 0, "T", true), write_value(last, most, 0, "T", true));
    if (words.failed)
        out->failed = true;
    else
        wrap_add(out, words.bytes, 0, 2);
    text_clear(&words);
}

/* --- normal curve ------------------------------------------------------------------------------
 */

static void add_figure(
    struct text *out, const struct series_loop *loop, enum figure figure, size_t columns)
{
    const struct figure_value *value = &loop->figures.list[figure];
    char cell[CELL_SIZE];
    wrap_add_apart(out,
        write_value(cell, value->is_present ? value->value : NAN, 0, figure_table[figure].unit,
            figure_table[figure].has_prefix),
        columns);
}

static void add_curve(struct text *out, const struct series *series)
{
    static const char *const names[] = {"\u00B5a", "Br", "HcB", "W", "\u03B4"};
    const struct series_curve *curve = &series->curves[series->normal];
    char cell[CELL_SIZE];
    text_add_format(out, "\nNormal curve: the tips of the loops %s%s\n",
        curve->frequency_Hz > 0 ? "at " : "of slow traces",
        curve->frequency_Hz > 0 ? write_value(cell, curve->frequency_Hz, 0, "Hz", true) : "");
    wrap_add_apart(out, "Hm", 13);
    wrap_add_apart(out, get_peak_symbol(series), 11);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        wrap_add_apart(out, names[i], i == 2 ? 12 : i == 3 ? 13 : 10);
    text_add(out, "\n");
    for (size_t i = 0; i < curve->count; i++) {
        const struct series_loop *loop = &series->loops[curve->loop[i]];
        add_cell(out, 13, curve->field_peak[i], 0, "A/m");
        add_cell(out, 11, curve->peak[i], 0, "T");
        add_cell(out, 10, curve->permeability[i], 0, "");
        add_figure(out, loop, FIGURE_REMANENCE, 10);
        add_figure(out, loop, FIGURE_COERCIVITY, 12);
        add_cell(out, 13, loop->energy, 0, get_energy_unit(series));
        add_figure(out, loop, FIGURE_LAG_ANGLE, 10);
        text_add(out, "\n");
    }
}

static void add_most(struct text *out, const struct series *series)
{
    const struct series_curve *curve = &series->curves[series->normal];
    char cell[CELL_SIZE], field[CELL_SIZE];
    struct text words = {0};
    text_add_format(&words, "  The largest amplitude permeability is %s at %s%s.",
        write_value(
            cell, curve->permeability[curve->most], curve->u_permeability[curve->most], "", false),
        write_value(field, curve->field_peak[curve->most], 0, "A/m", true),
        curve->most == 0                  ? ", the smallest loop: it may lie below"
        : curve->most == curve->count - 1 ? ", the largest loop: it may lie above"
                                          : "");
    wrap_add(out, words.failed ? "" : words.bytes, 0, 2);
    text_clear(&words);
}

static void add_largest(struct text *out, const struct series *series)
{
    const struct series_loop *loop = &series->loops[series->largest];
    const double field = loop->figures.list[FIGURE_FIELD_PEAK].value;
    const struct figure_value *coercivity = &loop->figures.list[FIGURE_COERCIVITY];
    char cell[CELL_SIZE];
    struct text words = {0};
    text_add_format(
        &words, "  The largest loop reaches %s", write_value(cell, field, 0, "A/m", true));
    if (coercivity->is_present && coercivity->value > 0)
        text_add_format(&words, ", %.3g times its coercivity: %s", field / coercivity->value,
            series->is_major ? "it counts as the major loop."
                             : "below 3 times, it is no major loop; its remanence and coercivity "
                               "are those of this loop only.");
    else
        text_add(&words, "; whether it is the major loop its coercivity would tell.");
    wrap_add(out, words.failed ? "" : words.bytes, 0, 2);
    text_clear(&words);
}

static void add_saturation(struct text *out, const struct series_saturation *it)
{
    char cell[CELL_SIZE], low[CELL_SIZE], high[CELL_SIZE];
    struct text words = {0};
    if (it->is_present)
        text_add_format(&words,
            "  Saturation by the law of approach, from %s to %s: Js = %s (J reaches %.4g T).",
            write_value(low, it->field_least, 0, "A/m", true),
            write_value(high, it->field_most, 0, "A/m", true),
            write_value(cell, it->polarization_T, it->u_polarization_T, "T", true), it->reached_T);
    else
        text_add_format(&words, "  No saturation: %s.", it->reason);
    wrap_add(out, words.failed ? "" : words.bytes, 0, 2);
    text_clear(&words);
}

static void add_initial(struct text *out, const struct series_initial *initial)
{
    struct text words = {0};
    text_add_format(&words, "  Initial curve: %zu points of %s", initial->count, initial->file);
    if (!isnan(initial->permeability))
        text_add_format(&words,
            "; initial permeability %.4g, Rayleigh's constant %.4g T/(A/m)\u00B2",
            initial->permeability, initial->rayleigh);
    else
        text_add(&words, "; its foot does not obey Rayleigh's law: no initial permeability");
    text_add(&words, ".");
    wrap_add(out, words.failed ? "" : words.bytes, 0, 2);
    text_clear(&words);
}

/* --- separation --------------------------------------------------------------------------------
 */

static double get_u(const struct series_separation *it, size_t term)
{
    return it->has_covariance ? sqrt(it->covariance[term][term]) : 0;
}

static void add_separation(
    struct text *out, const struct series *series, const struct series_separation *it)
{
    char cell[CELL_SIZE];
    add_cell(out, 9, it->peak_T, 0, "T");
    add_cell(out, 21, it->hysteresis_J_per_m3, get_u(it, 0), get_energy_unit(series));
    snprintf(cell, sizeof cell, "%.4g%s", it->linear_J_s_per_m3, it->is_classical ? " c" : "");
    wrap_add_apart(out, cell, 14);
    snprintf(cell, sizeof cell, it->has_excess ? "%.4g" : "-", it->excess_J_per_m3_per_sqrt_Hz);
    wrap_add_apart(out, cell, 12);
    snprintf(cell, sizeof cell, "%.2f %%", 100 * it->residual_relative);
    wrap_add_apart(out, cell, 9);
    snprintf(cell, sizeof cell, "%.4g ... %.4g Hz", it->frequency_Hz[0],
        it->frequency_Hz[it->count - 1]);
    wrap_add_apart(out, cell, 15);
    text_add(out, "\n");
}

static void add_separations(struct text *out, const struct series *series)
{
    static const char *const names[] = {"Wh", "kc", "kx", "off", "over"};
    static const size_t columns[] = {21, 14, 12, 9, 15};
    bool is_classical = false;
    text_add(out, "\nLoss per cycle at equal peak: W(f) = Wh + kc f + kx \u221Af\n");
    wrap_add_apart(out, get_peak_symbol(series), 9);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        wrap_add_apart(out, names[i], columns[i]);
    text_add(out, "\n");
    for (size_t i = 0; i < series->separation_count; i++) {
        add_separation(out, series, &series->separations[i]);
        is_classical = is_classical || series->separations[i].is_classical;
    }
    wrap_add(out,
        series->is_per_mass ? "  Per kg: no density is told. kc in J s/kg, kx in J/kg/\u221AHz."
                            : "  kc in J s/m\u00B3, kx in J/m\u00B3/\u221AHz.",
        0, 2);
    if (is_classical)
        wrap_add(out,
            "  c: computed from resistivity and thickness, not fitted. Wh is the quasi-static "
            "limit; off is the root mean square of the relative residuals.",
            0, 2);
    else
        wrap_add(out,
            "  Wh is the quasi-static limit; off is the root mean square of the relative "
            "residuals.",
            0, 2);
}

/* --- laws --------------------------------------------------------------------------------------
 */

static void add_law(struct text *out, const struct series *series, const char *name,
    const struct series_power_law *law)
{
    char cell[CELL_SIZE];
    if (!law->is_present)
        return;
    text_add(out, "  ");
    text_add(out, name);
    wrap_add_blanks(out, 14 - text_width(name));
    add_cell(
        out, 22, law->coefficient, law->has_u ? law->u_coefficient : 0, get_energy_unit(series));
    if (law->is_fixed)
        snprintf(cell, sizeof cell, "1.6");
    else
        (void)write_value(cell, law->exponent, law->has_u ? law->u_exponent : 0, "", false);
    wrap_add_apart(out, cell, 13);
    snprintf(cell, sizeof cell, "%.2f %%", 100 * law->residual_relative);
    wrap_add_apart(out, cell, 10);
    if (law->holds_most_T > 0)
        snprintf(cell, sizeof cell, "%.4g ... %.4g T", law->holds_least_T, law->holds_most_T);
    else
        snprintf(cell, sizeof cell, "nowhere");
    wrap_add_apart(out, cell, 19);
    text_add(out, "\n");
    if (law->is_varying) {
        text_add(out, "                  n = exponent + slope \u00B7 B, slope ");
        text_add_format(out, "%s per T\n",
            write_value(
                cell, law->exponent_per_T, law->has_u ? law->u_exponent_per_T : 0, "", false));
    }
}

static void add_laws(struct text *out, const struct series *series)
{
    const char *symbol = get_peak_symbol(series);
    text_add_format(out, "\nLaws: %s = c \u00B7 (%s / 1 T)^n, over %.4g ... %.4g T\n",
        series->is_separated ? "Wh" : "W", symbol, series->free.least_T, series->free.most_T);
    text_add(out, "  exponent");
    wrap_add_apart(out, "c", 28);
    wrap_add_apart(out, "n", 13);
    wrap_add_apart(out, "off", 10);
    wrap_add_apart(out, "within 3 % over", 19);
    text_add(out, "\n");
    add_law(out, series, "free", &series->free);
    add_law(out, series, "historical", &series->fixed);
    add_law(out, series, "varying with B", &series->varying);
    if (!series->is_separated)
        wrap_add(
            out, "  W is the whole loss at one frequency: it holds what eddy currents add.", 0, 2);
}

/* --- at ----------------------------------------------------------------------------------------
 */

/* What the loops tell of their losses. */
static enum figure find_loss(const struct series *series)
{
    static const enum figure wanted[] = {FIGURE_LOOP_AREA, FIGURE_LOSS, FIGURE_SPECIFIC_LOSS};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        if (series->at[0].figures.list[wanted[i]].is_present)
            return wanted[i];
    return FIGURE_LOOP_AREA;
}

static void add_at(struct text *out, const struct series *series)
{
    const enum figure shown[] = {FIGURE_FIELD_PEAK, series_get_peak_figure(series),
        FIGURE_REMANENCE, FIGURE_COERCIVITY, find_loss(series)};
    static const size_t columns[] = {15, 13, 13, 15, 15};
    text_add(out, "\nInterpolated to a stated peak\n");
    wrap_add_apart(out, "f", 9);
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++)
        wrap_add_apart(out, figure_table[shown[i]].symbol, columns[i]);
    text_add(out, "\n");
    for (size_t i = 0; i < series->at_count; i++) {
        const struct series_at *at = &series->at[i];
        char cell[CELL_SIZE];
        wrap_add_apart(out,
            at->frequency_Hz > 0 ? write_value(cell, at->frequency_Hz, 0, "Hz", true) : "slow", 9);
        for (size_t n = 0; n < sizeof shown / sizeof *shown; n++) {
            const struct figure_value *value = &at->figures.list[shown[n]];
            wrap_add_apart(out,
                write_value(cell, value->is_present ? value->value : NAN, value->u,
                    figure_table[shown[n]].unit, figure_table[shown[n]].has_prefix),
                columns[n]);
        }
        text_add(out, "\n");
    }
}

/* --- notes -------------------------------------------------------------------------------------
 */

/* How many loops have which note: the loops' own pages tell them in full. */
static void add_loop_notes(struct text *out, const struct series *series)
{
    for (size_t i = 0; i < series->count; i++)
        for (size_t n = 0; n < series->loops[i].notes.count; n++) {
            const struct note *note = &series->loops[i].notes.list[n];
            size_t count = 0;
            bool is_first = true;
            for (size_t j = 0; j < series->count; j++) {
                bool has = notes_has(&series->loops[j].notes, note->code);
                is_first = is_first && (j >= i || !has);
                count += has;
            }
            for (size_t m = 0; m < n; m++)
                is_first = is_first && strcmp(series->loops[i].notes.list[m].code, note->code) != 0;
            if (is_first)
                text_add_format(out, "  %s, %s: of %zu loop%s, first %s\n",
                    note_level_get_name(note->level), note->code, count, count == 1 ? "" : "s",
                    series->loops[i].file);
        }
}

void series_text_add(struct text *out, const struct series *series)
{
    struct text notes = {0};
    add_heading(out, series);
    if (series->normal != SERIES_NONE) {
        add_curve(out, series);
        add_most(out, series);
    }
    if (series->largest != SERIES_NONE)
        add_largest(out, series);
    if (series->normal != SERIES_NONE)
        add_saturation(out, &series->saturation);
    if (series->initial.count)
        add_initial(out, &series->initial);
    if (series->separation_count)
        add_separations(out, series);
    if (series->free.is_present || series->fixed.is_present)
        add_laws(out, series);
    if (series->at_count)
        add_at(out, series);
    loop_text_add_notes(&notes, &series->notes, NULL);
    add_loop_notes(&notes, series);
    if (notes.length)
        text_add_format(out, "\nNotes\n%s", notes.bytes);
    out->failed = out->failed || notes.failed;
    text_clear(&notes);
}
