// SPDX-License-Identifier: GPL-3.0-or-later
/* A motor as a page that people read, 80 columns wide. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_text.h"
#include "cli/motor_job.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define DIGITS 6      /* of a figure without uncertainty */
#define LINE_DIGITS 4 /* in tables with many columns */
#define NAME_COLUMNS 35
#define SYMBOL_COLUMNS 7
#define VALUE_COLUMNS 12
#define U_COLUMNS 12
#define SLIP_STEPS 10 /* rows of the table of slips */

/* "94.15 kJ/m³" */
static void write_value(char cell[2 * DISPLAY_SIZE], double number, const char *unit)
{
    struct figure_value value = {.value = number, .is_present = true};
    struct display display;
    display_set(&display, &value, unit, *unit != '\0', LINE_DIGITS);
    display_join(&display, cell, 2 * DISPLAY_SIZE);
}

static void add_value(struct text *out, double number, const char *unit)
{
    char cell[2 * DISPLAY_SIZE];
    write_value(cell, number, unit);
    text_add(out, cell);
}

static void add_cell(struct text *out, double number, const char *unit, size_t columns)
{
    char cell[2 * DISPLAY_SIZE] = "-";
    if (!isnan(number))
        write_value(cell, number, unit);
    wrap_add_right(out, cell, columns);
}

static void add_heading(struct text *out, const struct motor_job *job)
{
    static const char *const origins[] = {"a loop", "a series", "a card"};
    const struct motor_steel *steel = &job->steels[0];
    const struct steel_point *point = &job->motor.state.point;
    text_add_format(out, "%s: %s, %s\n", steel->source, steel->name, origins[steel->origin]);
    text_add(out, "peaks of ");
    add_value(out, point->field_peak, "A/m");
    text_add(out, " and ");
    add_value(out, point->flux_density_peak, "T");
    text_add(out, steel->is_separated ? "; hysteresis " : "; loop area ");
    add_value(out, point->loss[STEEL_HYSTERESIS], "J/m\u00B3");
    if (!steel->is_separated && steel->frequency_most > 0) {
        text_add(out, " at ");
        add_value(out, steel->frequency_most, "Hz");
    }
    text_add_format(out, "\n%zu pole pair%s, ", job->machine.pole_pairs,
        job->machine.pole_pairs == 1 ? "" : "s");
    text_add_format(out, "%.4g cm\u00B3 of ring, ", 1e6 * job->machine.volume.value);
    add_value(out, job->machine.supply.value, "Hz");
    text_add(out, "\n");
}

static void add_row(struct text *out, const char *name, const char *symbol, const char *value,
    const char *u, const char *unit)
{
    text_add(out, "  ");
    wrap_add_left(out, name, NAME_COLUMNS);
    wrap_add_left(out, symbol, SYMBOL_COLUMNS);
    wrap_add_right(out, value, VALUE_COLUMNS);
    if (*u || *unit)
        wrap_add_right(out, u, U_COLUMNS);
    if (*unit)
        text_add_format(out, "  %s", unit);
    text_add(out, "\n");
}

static void add_figures(struct text *out, const struct motor *motor, bool is_separated)
{
    text_add(out, "\n");
    add_row(out, "figure", "symbol", "value", "u", "unit");
    for (int i = 0; i < MOTOR_FIGURE_COUNT; i++) {
        const struct motor_figure_entry *entry = &motor_figure_table[i];
        const struct figure_value *value = &motor->figures[i];
        struct display display;
        if (value->is_present) {
            display_set(&display, value, entry->unit, entry->has_prefix, DIGITS);
            add_row(out, entry->name, entry->symbol, display.value, display.u, display.unit);
        } else if (entry->is_promised) {
            add_row(out, entry->name, entry->symbol, "not known", "", "");
        }
    }
    wrap_add(out,
        is_separated ? "u: standard uncertainty (k = 1) from the loss terms with their covariance, "
                       "the amplitude, and what is stated of the motor."
                     : "u: standard uncertainty (k = 1) from the loop and what is stated of the "
                       "motor.",
        0, 2);
}

static void add_curve(struct text *out, const struct motor *motor)
{
    const struct motor_curve *curve = &motor->curve;
    static const char *const heads[] = {"torque", "hysteresis", "eddy", "excess", "loss in ring"};
    text_add(out, "\n  ");
    wrap_add_right(out, "slip", 5);
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        wrap_add_right(out, heads[i], 14);
    text_add(out, "\n");
    for (size_t i = 0; i <= SLIP_STEPS; i += 2) {
        size_t at = (curve->count - 1) * (SLIP_STEPS - i) / SLIP_STEPS;
        char slip[16];
        snprintf(slip, sizeof slip, "%.1f", curve->slip[at]);
        text_add(out, "  ");
        wrap_add_right(out, slip, 5);
        add_cell(out, curve->torque[at], "N m", 14);
        for (int term = 0; term < STEEL_TERMS; term++)
            add_cell(out, curve->term[term][at], "N m", 14);
        add_cell(out, curve->loss[at], "W", 14);
        text_add(out, "\n");
    }
    wrap_add(out,
        "At synchronism (slip 0) the motor gives any torque from 0 to the hysteresis torque; the "
        "row is the limit from below.",
        0, 2);
}

static void add_sweep_row(struct text *out, const struct motor_sweep *sweep, size_t row)
{
    text_add(out, "  ");
    if (sweep->kind == SWEEP_THICKNESS)
        add_cell(out, sweep->variable[row], "m", 12);
    add_cell(out, sweep->field[row], "A/m", 13);
    add_cell(out, sweep->flux_density[row], "T", 11);
    add_cell(out, sweep->hysteresis[row], "N m", 13);
    if (sweep->has_eddy)
        add_cell(out, sweep->starting[row], "N m", 13);
    add_cell(out, sweep->loss[row], "W", 11);
    text_add_format(out, "%s\n", row == sweep->best ? "  *" : "");
}

static void add_sweep(struct text *out, const struct motor_sweep *sweep)
{
    text_add(out, sweep->kind == SWEEP_FIELD ? "\nOver the peak field\n"
                                             : "\nOver the thickness of the ring, at ");
    if (sweep->kind == SWEEP_THICKNESS) {
        add_value(out, sweep->ampere_turns, "A");
        text_add(out, " of ampere-turns");
        if (sweep->air_gap > 0) {
            text_add(out, " and a gap of ");
            add_value(out, sweep->air_gap, "m");
        }
        text_add(out, "\n");
    }
    text_add(out, "  ");
    if (sweep->kind == SWEEP_THICKNESS)
        wrap_add_right(out, "thickness", 12);
    wrap_add_right(out, "Hm", 13);
    wrap_add_right(out, "Bm", 11);
    wrap_add_right(out, "Th", 13);
    if (sweep->has_eddy)
        wrap_add_right(out, "T(1)", 13);
    wrap_add_right(out, sweep->has_eddy ? "P0" : "Ph0", 11);
    text_add(out, "\n");
    size_t step = sweep->count > SLIP_STEPS ? (sweep->count - 1) / SLIP_STEPS : 1;
    for (size_t i = 0; i < sweep->count; i++) {
        bool is_shown = i % step == 0 || i + 1 == sweep->count;
        if (is_shown || i == sweep->best)
            add_sweep_row(out, sweep, i);
    }
    text_add(out, "  * largest hysteresis torque of the sweep\n");
    if (sweep->kind == SWEEP_THICKNESS)
        wrap_add(out,
            "Of hysteresis alone: the eddy part goes with the square of the thickness, and was "
            "measured at one.",
            0, 2);
    if (sweep->left_out > 0)
        wrap_add(out, "Rows whose field is outside the measured range are left out.", 0, 2);
}

static void add_entry(struct text *out, const char *name, const struct comparison_entry *entry)
{
    text_add_format(out, "  %s", name);
    size_t width = text_width(name);
    if (width > 22) {
        text_add(out, "\n  ");
        width = 0;
    }
    wrap_add_blanks(out, 22 - width);
    if (!entry->is_present) {
        text_add(out, "  not measured at that amplitude\n");
        return;
    }
    add_cell(out, entry->point.field_peak, "A/m", 11);
    add_cell(out, entry->point.flux_density_peak, "T", 9);
    add_cell(out, entry->torque, "N m", 11);
    add_cell(out, entry->per_field, "", 8);
    add_cell(out, entry->point.squareness, "", 8);
    add_cell(out, entry->point.fullness, "", 8);
    text_add(out, "\n");
}

static void add_entries_heading(struct text *out, const char *words)
{
    text_add_format(out, "\n%s\n  ", words);
    wrap_add_left(out, "steel", 22);
    wrap_add_right(out, "Hm", 11);
    wrap_add_right(out, "Bm", 9);
    wrap_add_right(out, "Th", 11);
    wrap_add_right(out, "Wh/Hm", 8);
    wrap_add_right(out, "Br/Bm", 8);
    wrap_add_right(out, "full", 8);
    text_add(out, "\n");
}

static void add_comparison(struct text *out, const struct motor_job *job)
{
    bool has_bound = false;
    add_entries_heading(out, job->wanted.kind == WANTED_LARGEST ? "At the largest amplitude of each"
                                                                : "At the amplitude asked for");
    for (size_t i = 0; i < job->count; i++) {
        add_entry(out, job->steels[i].name, &job->rows[i].asked);
        has_bound = has_bound || !job->steels[i].is_separated;
    }
    add_entries_heading(out, "Where each gives most torque per ampere-turn");
    for (size_t i = 0; i < job->count; i++) {
        char name[120];
        snprintf(name, sizeof name, "%s%s", job->rows[i].is_best_at_end ? "at the end: " : "",
            job->steels[i].name);
        add_entry(out, name, &job->rows[i].best);
    }
    wrap_add(out,
        "Wh/Hm (T): energy per cycle over peak field; torque per volume and ampere-turn go with "
        "it. It is 4 Bm times the fullness of the loop, W/(4 Hm Bm). 'At the end': the best "
        "measured amplitude is the first or the last one, and the true one may be beyond.",
        0, 2);
    if (has_bound)
        wrap_add(out,
            "Where a steel's loss was not separated, Th is an upper bound and the eddy loss of its "
            "loops is in the comparison.",
            0, 2);
}

void motor_text_add(struct text *out, const struct motor_job *job)
{
    add_heading(out, job);
    add_figures(out, &job->motor, job->steels[0].is_separated);
    if (job->steels[0].is_separated)
        add_curve(out, &job->motor);
    if (job->sweep.count > 0)
        add_sweep(out, &job->sweep);
    if (job->rows)
        add_comparison(out, job);
    text_add(out, "\nNotes\n");
    loop_text_add_notes(out, &job->motor.notes, NULL);
}
