// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_MACHINE_H
#define LODECARD_MOTOR_MACHINE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* The motor around the ring. What is not given is not present. */
struct motor_machine {
    size_t pole_pairs;
    struct quantity supply; /* Hz */
    struct quantity
        volume; /* m³ of the rotor's ring; found from its dimensions where it is absent */
    struct quantity outer_diameter, inner_diameter, height; /* m */
    struct quantity load_torque;                            /* N m, the same at every speed */
    struct quantity inertia;                                /* kg m², rotor and load */
    struct quantity air_gap; /* m, Carter's factor included; absent: 0; counts for ampere-turns */
};

/* What gives the amplitude in the ring; at most one of field, flux_density, air_gap_flux and
 * ampere_turns. */
struct motor_drive {
    struct quantity field;        /* A/m, peak */
    struct quantity flux_density; /* T, peak */
    struct quantity air_gap_flux; /* Wb of one pole, peak; with */
    struct quantity ring_section; /* m²: half of the flux goes round either way through it */
    struct quantity ampere_turns; /* A: amplitude of the fundamental of the air gap's magnetomotive
                                     force */
};

bool machine_has_ring(const struct motor_machine *machine); /* all three dimensions */

/* Checks that pole pairs, supply and ring are given and possible, and sets the volume. STATUS_USAGE
 * names what is missing. */
enum status machine_compute_volume(struct motor_machine *machine, struct error *err) MUST_CHECK;

/* The lesser of width and height of the ring's section, m; 0 without dimensions. */
double machine_get_thickness(const struct motor_machine *machine);

#endif
