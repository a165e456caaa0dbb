// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/machine.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

bool machine_has_ring(const struct motor_machine *machine)
{
    return machine->outer_diameter.is_present && machine->inner_diameter.is_present &&
           machine->height.is_present;
}

double machine_get_thickness(const struct motor_machine *machine)
{
    const double width = 0.5 * (machine->outer_diameter.value - machine->inner_diameter.value);
    return machine_has_ring(machine) ? fmin(width, machine->height.value) : 0.0;
}

/* V = pi/4 (D² - d²) h; D, d and h are taken as measured apart. */
static void set_ring_volume(struct motor_machine *machine)
{
    const double outer = machine->outer_diameter.value, inner = machine->inner_diameter.value;
    const double height = machine->height.value;
    const double face = 0.25 * pi * (outer - inner) * (outer + inner);
    const double u_outer =
        0.5 * pi * outer * height * quantity_get_uncertainty(&machine->outer_diameter);
    const double u_inner =
        0.5 * pi * inner * height * quantity_get_uncertainty(&machine->inner_diameter);
    const double u_height = face * quantity_get_uncertainty(&machine->height);
    const double u = sqrt(u_outer * u_outer + u_inner * u_inner + u_height * u_height);
    machine->volume = (struct quantity){.value = face * height,
        .half_width = 2.0 * u,
        .is_present = true,
        .has_uncertainty = u > 0.0};
}

static enum status check_ring(const struct motor_machine *machine, struct error *err)
{
    const double outer = machine->outer_diameter.value, inner = machine->inner_diameter.value;
    if (!(inner >= 0.0) || !(outer > inner) || !(machine->height.value > 0.0)) {
        return fail(err, STATUS_USAGE, "the outer diameter is the larger one, and all are above 0",
            "a ring of %.6g m outside, %.6g m inside and %.6g m height is impossible", outer, inner,
            machine->height.value);
    }
    return STATUS_OK;
}

/* What must be above 0 where it is given. */
static enum status check_positive(const struct motor_machine *machine, struct error *err)
{
    const struct {
        const char *name;
        const struct quantity *quantity;
        bool may_be_zero;
    } list[] = {{"supply", &machine->supply, false}, {"volume", &machine->volume, false},
        {"inertia", &machine->inertia, false}, {"load-torque", &machine->load_torque, true},
        {"air-gap", &machine->air_gap, true}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const double value = list[i].quantity->value;
        const bool is_good = list[i].may_be_zero ? value >= 0.0 : value > 0.0;
        if (list[i].quantity->is_present && !is_good) {
            return fail(err, STATUS_USAGE, "'lodecard help motor' lists the options",
                "--%s is %.6g, and must be %s", list[i].name, value,
                list[i].may_be_zero ? "0 or more" : "above 0");
        }
    }
    return STATUS_OK;
}

enum status machine_compute_volume(struct motor_machine *machine, struct error *err)
{
    const bool has_ring = machine_has_ring(machine);
    const bool has_some = machine->outer_diameter.is_present ||
                          machine->inner_diameter.is_present || machine->height.is_present;
    if (machine->pole_pairs == 0) {
        return fail(err, STATUS_USAGE, "a motor of 4 poles has '--pole-pairs 2'",
            "the number of pole pairs is missing");
    }
    if (!machine->supply.is_present) {
        return fail(err, STATUS_USAGE, "such as '--supply 50'", "the supply frequency is missing");
    }
    if (has_some && !has_ring) {
        return fail(err, STATUS_USAGE, "give --outer-diameter, --inner-diameter and --height",
            "the ring has only some of its dimensions");
    }
    if (!machine->volume.is_present && !has_ring) {
        return fail(err, STATUS_USAGE,
            "'--volume \"20 cm3\"', or --outer-diameter, --inner-diameter and --height",
            "the volume of the rotor's ring is missing");
    }
    if (machine->air_gap.is_present && !has_ring) {
        return fail(err, STATUS_USAGE, "give --outer-diameter, --inner-diameter and --height",
            "--air-gap needs the dimensions of the ring");
    }
    if (machine->volume.is_present && has_ring) {
        return fail(err, STATUS_USAGE, "leave one of them out",
            "the ring has both a volume and dimensions");
    }
    enum status status = has_ring ? check_ring(machine, err) : STATUS_OK;
    if (status == STATUS_OK) {
        status = check_positive(machine, err);
    }
    if (status == STATUS_OK && has_ring) {
        set_ring_volume(machine);
    }
    return status;
}
