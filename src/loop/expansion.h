// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_EXPANSION_H
#define LODECARD_LOOP_EXPANSION_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/convert.h"
#include "loop/loop.h"
#include "loop/track.h"

/* The figures of one recorded loop for conversions that differ a little from a known one, without
 * going through its harmonics again: about a microsecond whatever their number. For derivatives
 * and Monte Carlo trials, where only the bench's values change and the recording does not.
 *
 * With D = d/dx on the waveforms in phase x, a conversion (loop/convert.h) makes of the recorded
 * e(x) and p(x)
 *     H = g1 (1 + q1 / D) / (1 + l D) e,
 *     X = g2 (1 + q2 / D) (1 + r D) p / w D at x - w tau,   B = X + m H:
 * gains g, corners q in units of the fundamental, l = w L / R of the shunt, the integrator's r =
 * w RC, the delay tau, what the field's own flux adds m. So all that can change are factors before
 * e, e / D, p, p / D, p / D^2 and a shift; l, which is small and changes little, by the series of
 * 1 / (1 + l D) to the third order. Taylor series of these at the phases where the known loop has
 * its extremes and crossings give peaks and crossings; area and norms are sums over harmonics in
 * which the shift is a Taylor series too. Steps are allowed as far as what the series leave out
 * stays below 1e-13 of the waveforms: 0.02 radian with 99 harmonics of which the last are noise.
 * Several threads may compute with one expansion. */
enum { EXPANSION_TERMS = 16, EXPANSION_LANES = 8, EXPANSION_MOMENTS = 6, EXPANSION_LEADS = 4 };

/* Eight phases side by side: coefficients of step^n, that is derivative / n!. */
struct expansion_rows {
    double field[2 * EXPANSION_LEADS][EXPANSION_TERMS][EXPANSION_LANES]; /* e, e / D; with a shunt's
                       inductance the orders of l of both: (-D)^n e / (1 + l D)^(n + 1) */
    double pickup[3][EXPANSION_TERMS][EXPANSION_LANES]; /* p, p / D, p D (over D with a voltage) */
    double is_used[EXPANSION_LANES];                    /* 1 or 0 */
    double side[EXPANSION_LANES];                       /* of extremes: 1 tops, -1 bottoms */
};

struct expansion {
    size_t harmonics;
    bool has_voltage;  /* the pickup is integrated */
    double shift;      /* w tau that is in the tables, radian */
    double lead;       /* l that is in them */
    size_t leads;      /* orders of l: 1 without an inductance */
    double lead_reach; /* largest change of l */
    double reach;      /* largest step, radian */
    double bias;       /* mean of what the excitation recorded */
    struct expansion_tables *tables;
    size_t row_count; /* crossings; peaks; then all turns of B when they are more than 2 */
    size_t turn_count;
    double complex field_first, pickup_first; /* the fundamentals, pickup as p above */
    /* sums from k = 2 of k^n e conj(p), n = -2 ..., of k^n |e|^2 and k^n |p|^2, n = -2, 0, 2, 4 */
    double complex cross[EXPANSION_LEADS][EXPANSION_MOMENTS + EXPANSION_TERMS];
    double field_squares[EXPANSION_LEADS][4], pickup_squares[4]; /* by order of l */
};

/* `track` is of the loop that `nominal` makes of `recorded` (both channels as the conversion takes
 * them) at this frequency. */
enum status expansion_create(struct expansion *expansion, const struct fourier_loop *recorded,
    const struct conversion *nominal, double frequency_Hz, const struct track *track,
    struct error *err) MUST_CHECK;
void expansion_clear(struct expansion *expansion);

/* What a trial changes. */
struct expansion_trial {
    const struct conversion *conversion;
    double frequency_Hz;
    double field_factor, flux_density_factor; /* on H and on B as a whole */
    double density_kg_per_m3;                 /* 0: unknown */
};

/* The figures as track_compute has them; false, and nothing done, when something moved too far. */
bool expansion_compute(const struct expansion *expansion, const struct expansion_trial *trial,
    struct figures *figures);

#endif
