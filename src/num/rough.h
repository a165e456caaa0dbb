// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_ROUGH_H
#define LODECARD_NUM_ROUGH_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"

/* First guess of the fundamental frequency of two channels (real and imaginary part of `values`;
 * NaN where missing) on an even grid, in cycles per sample, to about a tenth of 1/count. From the
 * summed periodograms of both channels, each scaled to its own variance. A spiky pickup voltage can
 * have a harmonic above its fundamental: a line at a third or a fifth (or another small part) of
 * the highest peak, with lines at its multiples, is preferred. STATUS_CAPTURE when nothing stands
 * out or fewer than about two cycles are there. */
enum status rough_find_frequency(
    const double complex *values, size_t count, double *frequency, struct error *err) MUST_CHECK;

#endif
