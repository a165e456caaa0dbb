// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_SIGNAL_H
#define LODECARD_VIRTUAL_SIGNAL_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/loop.h"
#include "virtual/ring.h"

/* What arrives at one input, as a finite Fourier series in the unit of what it records: the waves
 * through the inverse of every convention of the measurement, harmonic by harmonic (winding, shunt
 * or transfer, integrator, fluxmeter, divider, coupling, direction; air flux), and through the
 * faults that act on harmonics (an unknown corner, a gain, exchanged wires). The delay is not in
 * it: the clock's. */
struct signal {
    size_t harmonics;
    double complex *c;  /* harmonics + 1; [0] real */
    bool is_odd;        /* no even harmonic */
    bool is_derivative; /* follows dB/dt: grows with the momentary frequency */
};

enum status signal_create(struct signal *signal, const struct ring *ring, enum ring_input input,
    const struct fourier_loop *waves, struct error *err) MUST_CHECK;
void signal_clear(struct signal *signal);

/* Values at `count` phases in turns, at most SIGNAL_BLOCK, by Horner's rule on all of them side by
 * side; rounding stays below 1e-13 of the sum of amplitudes. */
#define SIGNAL_BLOCK 256
void signal_compute(const struct signal *signal, const double *turns, size_t count, double *values);

#endif
