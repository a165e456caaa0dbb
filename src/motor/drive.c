// SPDX-License-Identifier: GPL-3.0-or-later
/* From what drives the ring to the amplitude in it. */
#include "motor/drive.h"

#include <math.h>

#include "motor/motor.h"
#include "quantity/constant.h"

static const double pi = 3.14159265358979323846;
#define HALVINGS 60 /* of the bracket of the field: below its rounding */

static double get_radius(const struct motor_machine *machine)
{
    return 0.25 * (machine->outer_diameter.value + machine->inner_diameter.value);
}

double drive_compute_ampere_turns(
    const struct motor_machine *machine, const struct steel_point *point)
{
    const double radius = get_radius(machine);
    const double wave = (double)machine->pole_pairs / radius; /* rad/m along the circumference */
    const double width = 0.5 * (machine->outer_diameter.value - machine->inner_diameter.value);
    const double gap =
        machine->air_gap.value * width / MAGNETIC_CONSTANT * wave * wave * point->flux_density_peak;
    const double lag = isnan(point->lag_angle) ? 0.0 : point->lag_angle * pi / 180.0;
    return hypot(point->field_peak + gap * cos(lag), gap * sin(lag)) / wave;
}

static enum status compute_at(const struct motor_steel *steel, const struct motor_machine *machine,
    double field, double *ampere_turns, struct error *err)
{
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = field};
    struct steel_state state;
    const enum status status = motor_steel_find(steel, &wanted, &state, err);
    if (status == STATUS_OK) {
        state.point.field_peak = field; /* a single loop stands for amplitudes close by */
        *ampere_turns = drive_compute_ampere_turns(machine, &state.point);
    }
    return status;
}

enum status drive_find_field(const struct motor_steel *steel, const struct motor_machine *machine,
    double ampere_turns, double *field, struct error *err)
{
    const double beyond = steel->count > 1 ? 1.0 : 1.0099;
    double low = steel->points[0].field_peak / beyond;
    double high = steel->points[steel->count - 1].field_peak * beyond;
    double least, most, taken;
    enum status status = compute_at(steel, machine, low, &least, err);
    if (status == STATUS_OK) {
        status = compute_at(steel, machine, high, &most, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (!(ampere_turns >= least && ampere_turns <= most)) {
        return fail(err, STATUS_USAGE, "change the ampere-turns, or measure further amplitudes",
            "%.4g ampere-turns are not within what the amplitudes of '%s' take: %.4g A to %.4g A",
            ampere_turns, steel->source, least, most);
    }
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (low + high);
        status = compute_at(steel, machine, middle, &taken, err);
        if (status != STATUS_OK) {
            return status;
        }
        const bool is_below = taken < ampere_turns;
        low = is_below ? middle : low;
        high = is_below ? high : middle;
    }
    *field = 0.5 * (low + high);
    return STATUS_OK;
}

/* --- what the command line gives ---------------------------------------------------------------
 */

/* B = flux / 2 A: the flux of a pole goes round the ring half either way. */
static void set_from_flux(const struct motor_drive *drive, struct motor_wanted *wanted)
{
    const struct quantity *flux = &drive->air_gap_flux, *section = &drive->ring_section;
    wanted->kind = WANTED_FLUX_DENSITY;
    wanted->value = 0.5 * flux->value / section->value;
    wanted->u = wanted->value * hypot(quantity_get_uncertainty(flux) / flux->value,
                                    quantity_get_uncertainty(section) / section->value);
}

/* The ampere-turns, and how far from them, or from the gap, to look. */
struct step {
    double turns, u_turns, u_gap;
};

/* How far off the field that one input's u away gives is, upwards or else downwards; without
 * either, 0. */
static enum status find_beside(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct step *step, double field, double *off, struct error *err)
{
    double beside;
    *off = 0.0;
    for (int sign = 1; sign >= -1; sign -= 2) {
        struct motor_machine other = *machine;
        other.air_gap.value += sign * step->u_gap;
        const enum status status =
            drive_find_field(steel, &other, step->turns + sign * step->u_turns, &beside, err);
        if (status == STATUS_OK) {
            *off = beside - field;
        }
        if (status != STATUS_USAGE) {
            return status;
        }
    }
    return STATUS_OK;
}

static enum status find_u(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct quantity *turns, struct motor_wanted *wanted, struct error *err)
{
    const struct step steps[2] = {
        {.turns = turns->value, .u_turns = quantity_get_uncertainty(turns)},
        {.turns = turns->value, .u_gap = quantity_get_uncertainty(&machine->air_gap)}};
    double off[2];
    struct error fault;
    for (int i = 0; i < 2; i++) {
        const enum status status =
            find_beside(steel, machine, &steps[i], wanted->value, &off[i], &fault);
        if (status != STATUS_OK) {
            return fail(err, status, fault.hint, "%s", fault.message);
        }
    }
    wanted->u = hypot(off[0], off[1]);
    return STATUS_OK;
}

static enum status set_from_turns(const struct motor_drive *drive, const struct motor_steel *steel,
    const struct motor_machine *machine, struct motor_wanted *wanted, struct error *err)
{
    struct motor_wanted found = {.kind = WANTED_FIELD};
    if (!machine_has_ring(machine)) {
        return fail(err, STATUS_USAGE, "give --outer-diameter, --inner-diameter and --height",
            "ampere-turns need the dimensions of the ring");
    }
    enum status status =
        drive_find_field(steel, machine, drive->ampere_turns.value, &found.value, err);
    if (status == STATUS_OK) {
        status = find_u(steel, machine, &drive->ampere_turns, &found, err);
    }
    if (status == STATUS_OK) {
        *wanted = found;
    }
    return status;
}

/* One way of telling the amplitude at most, and all that belongs to it. */
static enum status check_drive(const struct motor_drive *drive, struct error *err)
{
    const struct {
        const char *name;
        const struct quantity *quantity;
    } list[] = {{"field", &drive->field}, {"flux-density", &drive->flux_density},
        {"air-gap-flux", &drive->air_gap_flux}, {"ampere-turns", &drive->ampere_turns},
        {"ring-section", &drive->ring_section}};
    const char *first = NULL;
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const bool is_present = list[i].quantity->is_present;
        const bool is_way = list[i].quantity != &drive->ring_section;
        if (is_present && !(list[i].quantity->value > 0.0)) {
            return fail(err, STATUS_USAGE, "peak values and sections are above 0", "--%s is %.6g",
                list[i].name, list[i].quantity->value);
        }
        if (is_present && is_way && first != NULL) {
            return fail(err, STATUS_USAGE, "leave one of them out",
                "--%s and --%s both give the amplitude in the ring", first, list[i].name);
        }
        first = is_present && is_way ? list[i].name : first;
    }
    if (drive->air_gap_flux.is_present != drive->ring_section.is_present) {
        return fail(err, STATUS_USAGE, "give --air-gap-flux (of one pole) and --ring-section",
            "the flux of a pole and the section of the ring belong together");
    }
    return STATUS_OK;
}

enum status motor_drive_find(const struct motor_drive *drive, const struct motor_steel *steel,
    const struct motor_machine *machine, struct motor_wanted *wanted, struct error *err)
{
    struct motor_wanted found = {.kind = WANTED_LARGEST};
    enum status status = check_drive(drive, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (drive->ampere_turns.is_present) {
        status = set_from_turns(drive, steel, machine, &found, err);
    } else if (drive->air_gap_flux.is_present) {
        set_from_flux(drive, &found);
    } else if (drive->field.is_present || drive->flux_density.is_present) {
        const bool is_field = drive->field.is_present;
        const struct quantity *peak = is_field ? &drive->field : &drive->flux_density;
        found = (struct motor_wanted){.kind = is_field ? WANTED_FIELD : WANTED_FLUX_DENSITY,
            .value = peak->value,
            .u = quantity_get_uncertainty(peak)};
    }
    if (status == STATUS_OK) {
        *wanted = found;
    }
    return status;
}
