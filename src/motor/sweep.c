// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/sweep.h"

#include <math.h>

#include "base/memory.h"
#include "motor/drive.h"
#include "motor/torque.h"

#define ROWS 81
static const double WIDTH_LEAST = 0.25; /* of the ring's own, where no range is given */
static const double WIDTH_MOST = 2.5;
static const double RADIUS_MOST = 0.9; /* a width beyond this share of the radius is no ring */

static enum status create_rows(struct motor_sweep *sweep, struct error *err)
{
    double **const rows[] = {&sweep->variable, &sweep->field, &sweep->flux_density,
        &sweep->hysteresis, &sweep->u_hysteresis, &sweep->starting, &sweep->loss,
        &sweep->ampere_turns_taken};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        *rows[i] = memory_create(ROWS, sizeof **rows[i]);
        if (*rows[i] == NULL) {
            return fail_memory(err);
        }
    }
    return STATUS_OK;
}

void sweep_clear(struct motor_sweep *sweep)
{
    double *const rows[] = {sweep->variable, sweep->field, sweep->flux_density, sweep->hysteresis,
        sweep->u_hysteresis, sweep->starting, sweep->loss, sweep->ampere_turns_taken};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        memory_destroy(rows[i]);
    }
    *sweep = (struct motor_sweep){0};
}

/* The ring with another width inside the same outer diameter. */
static struct motor_machine set_width(const struct motor_machine *machine, double width)
{
    struct motor_machine other = *machine;
    other.volume = (struct quantity){0};
    other.inner_diameter.value = machine->outer_diameter.value - 2.0 * width;
    return other;
}

/* The machine of a row and the field in its ring; STATUS_USAGE: not to be had. */
static enum status find_row(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct sweep_options *options, double variable, struct motor_machine *other,
    struct motor_wanted *wanted, struct error *err)
{
    *other = *machine;
    *wanted = (struct motor_wanted){.kind = WANTED_FIELD, .value = variable};
    if (options->kind == SWEEP_FIELD) {
        return STATUS_OK;
    }
    *other = set_width(machine, variable);
    const enum status status = machine_compute_volume(other, err);
    return status != STATUS_OK
               ? status
               : drive_find_field(steel, other, options->ampere_turns, &wanted->value, err);
}

static void set_row(const struct motor_machine *other, const struct motor_wanted *wanted,
    const struct steel_state *state, double variable, struct motor_sweep *sweep)
{
    struct torque_law law = {.pole_pairs = (double)other->pole_pairs,
        .volume = other->volume.value,
        .supply = other->supply.value,
        .loss = {state->point.loss[STEEL_HYSTERESIS]}};
    if (sweep->has_eddy) {
        law.loss[STEEL_LINEAR] = state->point.loss[STEEL_LINEAR];
        law.loss[STEEL_EXCESS] = state->point.loss[STEEL_EXCESS];
    }
    const size_t row = sweep->count++;
    const double variance = state->point.covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS];
    const double relative = hypot(sqrt(fmax(variance, 0.0)) / law.loss[STEEL_HYSTERESIS],
        quantity_get_uncertainty(&other->volume) / law.volume);
    sweep->variable[row] = variable;
    sweep->field[row] = wanted->value;
    sweep->flux_density[row] = state->point.flux_density_peak;
    sweep->hysteresis[row] = torque_compute_term(&law, STEEL_HYSTERESIS, 0.0);
    sweep->u_hysteresis[row] = relative * sweep->hysteresis[row];
    sweep->starting[row] = torque_compute(&law, 1.0);
    sweep->loss[row] = torque_compute_loss(&law, 1.0);
    sweep->ampere_turns_taken[row] =
        machine_has_ring(other) ? drive_compute_ampere_turns(other, &state->point) : 0.0;
    sweep->best = sweep->hysteresis[row] > sweep->hysteresis[sweep->best] ? row : sweep->best;
}

/* A row, or one more that is left out. */
static enum status add_row(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct sweep_options *options, double variable, struct motor_sweep *sweep,
    struct error *err)
{
    struct motor_machine other;
    struct motor_wanted wanted;
    struct steel_state state;
    struct error fault;
    enum status status = find_row(steel, machine, options, variable, &other, &wanted, &fault);
    if (status == STATUS_OK) {
        status = motor_steel_find(steel, &wanted, &state, &fault);
    }
    if (status != STATUS_OK && status != STATUS_USAGE) {
        return fail(err, status, fault.hint, "%s", fault.message);
    }
    if (status == STATUS_OK && !state.is_beyond) {
        set_row(&other, &wanted, &state, variable, sweep);
    } else {
        sweep->left_out++;
    }
    return STATUS_OK;
}

static enum status set_range(const struct motor_steel *steel, const struct motor_machine *machine,
    struct sweep_options *options, struct error *err)
{
    const double radius = 0.5 * machine->outer_diameter.value;
    const double width = radius - 0.5 * machine->inner_diameter.value;
    const bool is_field = options->kind == SWEEP_FIELD;
    if (!is_field && !machine_has_ring(machine)) {
        return fail(err, STATUS_USAGE, "give --outer-diameter, --inner-diameter and --height",
            "a sweep over the thickness needs the dimensions of the ring");
    }
    if (is_field && steel->count < 2) {
        return fail(err, STATUS_USAGE, "give a series or a card",
            "'%s' is one loop: there is no other field to sweep to", steel->source);
    }
    if (options->most == 0.0) {
        options->least = is_field ? steel->points[0].field_peak : WIDTH_LEAST * width;
        options->most = is_field ? steel->points[steel->count - 1].field_peak
                                 : fmin(WIDTH_MOST * width, RADIUS_MOST * radius);
    }
    if (!(options->least > 0.0 && options->most > options->least) ||
        (!is_field && options->most > radius)) {
        return fail(err, STATUS_USAGE, "such as '--sweep \"thickness=1 mm:5 mm\"'",
            "a sweep from %.4g to %.4g %s is impossible", options->least, options->most,
            is_field ? "A/m" : "m");
    }
    return STATUS_OK;
}

enum status sweep_create(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct sweep_options *options, struct motor_sweep *sweep, struct error *err)
{
    struct sweep_options range = *options;
    struct motor_sweep fresh = {.kind = options->kind,
        .has_eddy = steel->is_separated && options->kind == SWEEP_FIELD,
        .ampere_turns = options->kind == SWEEP_THICKNESS ? options->ampere_turns : 0.0,
        .air_gap = machine->air_gap.value};
    enum status status = set_range(steel, machine, &range, err);
    if (status == STATUS_OK) {
        status = create_rows(&fresh, err);
    }
    for (size_t i = 0; status == STATUS_OK && i < ROWS; i++) {
        const double share = (double)i / (ROWS - 1);
        const double variable = range.least + share * (range.most - range.least);
        status = add_row(steel, machine, &range, variable, &fresh, err);
    }
    if (status == STATUS_OK && fresh.count == 0) {
        status = fail(err, STATUS_USAGE, "sweep elsewhere, or measure further amplitudes",
            "no row of the sweep has a field among those measured in '%s'", steel->source);
    }
    if (status == STATUS_OK) {
        *sweep = fresh;
    } else {
        sweep_clear(&fresh);
    }
    return status;
}

static void add_numbers(
    struct json *json, const char *key, const double *values, const struct motor_sweep *sweep)
{
    if (values[0] > 0.0) {
        json_add_numbers(json, key, values, sweep->count);
    }
}

void sweep_write_json(struct json *json, const char *key, const struct motor_sweep *sweep)
{
    const bool is_field = sweep->kind == SWEEP_FIELD;
    json_begin_object(json, key);
    json_add_text(json, "variable", is_field ? "field_peak_A_per_m" : "thickness_m");
    if (!is_field) {
        json_add_number(json, "ampere_turns_A", sweep->ampere_turns);
        json_add_number(json, "air_gap_m", sweep->air_gap);
        json_add_numbers(json, "thickness_m", sweep->variable, sweep->count);
    }
    json_add_numbers(json, "field_peak_A_per_m", sweep->field, sweep->count);
    json_add_numbers(json, "flux_density_peak_T", sweep->flux_density, sweep->count);
    json_add_numbers(json, "hysteresis_torque_N_m", sweep->hysteresis, sweep->count);
    add_numbers(json, "u_hysteresis_torque_N_m", sweep->u_hysteresis, sweep);
    if (sweep->has_eddy) {
        json_add_numbers(json, "starting_torque_N_m", sweep->starting, sweep->count);
        json_add_numbers(json, "loss_standstill_W", sweep->loss, sweep->count);
    } else {
        json_add_numbers(json, "hysteresis_loss_standstill_W", sweep->loss, sweep->count);
    }
    if (is_field) {
        add_numbers(json, "ampere_turns_A", sweep->ampere_turns_taken, sweep);
    }
    json_end_object(json);
}
