// SPDX-License-Identifier: GPL-3.0-or-later
/* What people must know about a motor's figures. docs/motor.md has a section for each code. */
#include <math.h>

#include "motor/motor.h"

static const double pi = 3.14159265358979323846;
static const double SAME_THICKNESS = 0.05; /* relative */
static const double SAME_FREQUENCY = 1e-3; /* relative */
static const double MARGIN_LEAST = 2.0;    /* u of the margin to the load */

/* What the notes are made from. */
struct evidence {
    const struct motor_steel *steel;
    const struct motor_machine *machine;
    const struct motor_wanted *wanted;
    const struct motor *motor;
};

static void note_single_frequency(const struct evidence *from, struct notes *notes)
{
    const struct motor_steel *steel = from->steel;
    if (steel->is_separated) {
        return;
    }
    if (steel->frequency_most > 0.0) {
        notes_add(notes, "single-frequency", NOTE_WARNING,
            "measure further frequencies, let 'lodecard series' separate them, and give its JSON",
            "the loss was measured at %.4g Hz only: all of it counts as hysteresis, and the torque "
            "is an upper bound of the hysteresis torque",
            steel->frequency_most);
    } else {
        notes_add(notes, "single-frequency", NOTE_INFO,
            "measure some frequencies up to the supply's, and give the JSON of 'lodecard series'",
            "the loop was traversed slowly: its torque is the hysteresis torque, and nothing is "
            "known of eddy currents, which add torque and loss below synchronism");
    }
}

static void note_single_loop(const struct evidence *from, struct notes *notes)
{
    if (from->steel->count == 1) {
        notes_add(notes, "single-amplitude", NOTE_INFO,
            "a series over amplitude lets the peak field be chosen",
            "the torque is for %.4g kA/m, the only amplitude measured; what an uncertain field "
            "would do to it is not in its uncertainty",
            1e-3 * from->motor->state.point.field_peak);
    } else if (from->wanted->kind == WANTED_LARGEST) {
        notes_add(notes, "largest-amplitude", NOTE_INFO, "give --field or --flux-density",
            "no amplitude is asked for: the largest one measured is taken, %.4g kA/m",
            1e-3 * from->motor->state.point.field_peak);
    }
}

static void note_extrapolated(const struct evidence *from, struct notes *notes)
{
    const struct motor_steel *steel = from->steel;
    if (from->motor->state.is_beyond) {
        notes_add(notes, "extrapolated", NOTE_WARNING, "measure loops at that amplitude",
            "the amplitude of %.4g kA/m is outside the measured %.4g to %.4g kA/m: the power law "
            "at "
            "the end goes on",
            1e-3 * from->motor->state.point.field_peak, 1e-3 * steel->points[0].field_peak,
            1e-3 * steel->points[steel->count - 1].field_peak);
    }
}

static void note_frequency(const struct evidence *from, struct notes *notes)
{
    const double supply = from->machine->supply.value;
    const double most = from->motor->state.point.frequency_most;
    if (from->steel->is_separated && supply > most * (1.0 + SAME_FREQUENCY)) {
        notes_add(notes, "beyond-frequency", NOTE_WARNING,
            "measure loops up to the supply frequency",
            "the loops of that peak reach %.4g Hz, and the ring sees %.4g Hz at standstill: above "
            "a slip of "
            "%.3g the curve is extrapolated",
            most, supply, most / supply);
    }
}

static void note_lag(const struct evidence *from, struct notes *notes)
{
    if (from->steel->has_lag_from_area && !isnan(from->motor->state.point.lag_angle)) {
        notes_add(notes, "lag-from-area", NOTE_INFO,
            "periodic captures give the angle of the fundamentals",
            "the loops have no time: the lag angle is that of the ellipse with the same area and "
            "peaks");
    }
}

/* Classical eddy loss goes with the square of what the currents circulate in. */
static void note_thickness(const struct evidence *from, struct notes *notes)
{
    const double ring = machine_get_thickness(from->machine), specimen = from->steel->thickness;
    const double ratio = ring / specimen;
    if (from->steel->is_separated && ring > 0.0 && specimen > 0.0 &&
        fabs(ratio - 1.0) > SAME_THICKNESS) {
        notes_add(notes, "other-thickness", NOTE_WARNING,
            "measure a ring of the rotor's section, or scale the eddy part yourself",
            "the loops are of a section %.3g mm thick, and the rotor's ring has %.3g mm: its eddy "
            "torque is about %.2g times what stands here (thickness squared)",
            1e3 * specimen, 1e3 * ring, ratio * ratio);
    }
}

/* Depth sqrt(rho / (pi f mu)), with the amplitude permeability of the state. */
static void note_skin(const struct evidence *from, struct notes *notes)
{
    const struct steel_point *point = &from->motor->state.point;
    const double ring = machine_get_thickness(from->machine);
    const double thickness = ring > 0.0 ? ring : from->steel->thickness;
    const double depth = sqrt(from->steel->resistivity / (pi * from->machine->supply.value) *
                              point->field_peak / point->flux_density_peak);
    if (from->steel->resistivity > 0.0 && thickness > depth) {
        notes_add(notes, "skin-effect", NOTE_WARNING,
            "take a thinner or laminated ring, or measure at the supply frequency",
            "at standstill the field reaches about %.3g mm deep (skin depth at %.4g Hz), less than "
            "the %.3g mm of the section: there the ring's flux and torque are smaller than "
            "computed",
            1e3 * depth, from->machine->supply.value, 1e3 * thickness);
    }
}

static void note_load(const struct evidence *from, struct notes *notes)
{
    const struct motor *motor = from->motor;
    const struct figure_value *margin = &motor->figures[MOTOR_LOAD_MARGIN];
    const double load = from->machine->load_torque.value;
    if (!margin->is_present) {
        return;
    }
    if (!motor->run_up.is_starting) {
        notes_add(notes, "load-too-large", NOTE_WARNING,
            "more ring, more pole pairs, a larger field, or less load",
            "the load of %.4g N m is above the torque at standstill, %.4g N m: it does not start",
            load, torque_compute(&motor->law, 1.0));
    } else if (!motor->run_up.is_synchronizing) {
        notes_add(notes, "load-too-large", NOTE_WARNING,
            "more ring, more pole pairs, a larger field, or less load",
            "the load of %.4g N m is not below the hysteresis torque: it stays at a slip of %.3g "
            "and does not synchronize",
            load, motor->run_up.slip);
    } else if (margin->has_u && margin->value < MARGIN_LEAST * margin->u) {
        notes_add(notes, "load-near-limit", NOTE_WARNING,
            "leave a margin: the hysteresis torque is known to its u only",
            "the load of %.4g N m is below the hysteresis torque by %.2g standard uncertainties "
            "only",
            load, margin->value / margin->u);
    }
}

static void note_uncertainty(const struct evidence *from, struct notes *notes)
{
    const struct steel_point *point = &from->motor->state.point;
    const bool has_steel = point->covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS] > 0.0;
    const bool has_volume = from->machine->volume.has_uncertainty;
    if (!has_steel || !has_volume) {
        notes_add(notes, "incomplete-uncertainty", NOTE_INFO,
            "state what is known, such as '--volume \"20 cm3 \u00B1 0.1 cm3\"'",
            "the uncertainties have no part from %s",
            !has_steel && !has_volume ? "the loops and the volume"
            : has_steel               ? "the volume"
                                      : "the loops");
    }
}

static void note_left_out(const struct evidence *from, struct notes *notes)
{
    (void)from;
    notes_add(notes, "left-out", NOTE_INFO, "docs/motor.md says by how much each usually counts",
        "space harmonics and the minor loops they cause, rotational hysteresis, end effects and "
        "the warming of the ring are not in these figures");
}

void motor_add_notes(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor_wanted *wanted, struct motor *motor)
{
    static void (*const list[])(const struct evidence *from, struct notes *notes) = {
        note_single_frequency, note_single_loop, note_extrapolated, note_frequency, note_lag,
        note_thickness, note_skin, note_load, note_uncertainty, note_left_out};
    const struct evidence from = {steel, machine, wanted, motor};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        list[i](&from, &motor->notes);
    }
}
