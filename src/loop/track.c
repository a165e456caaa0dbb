// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/track.h"

#include <math.h>

#include "loop/figures_part.h"
#include "loop/track_part.h"
#include "num/fourier.h"

enum { STEPS = 12 };

/* Of a step in phase times the highest harmonic. At the known phases a Taylor series of the third
 * order then leaves at most 4e-6 of the highest harmonic's share, which is 4e-5 of what the step
 * itself makes of it; elsewhere one of the second order leaves 1e-9. */
static const double NEAR_KNOWN = 0.1, NEAR = 2e-3;

/* A value with its derivatives. */
struct bend {
    double value, slope, curve, third;
};

/* By Horner's rule in e^{ix} for the coefficients times 1, k and k^2, in plain reals. */
static struct bend bend_at(const double complex *c, size_t harmonics, double x)
{
    const double zr = cos(x), zi = sin(x);
    double pr = 0.0, pi = 0.0, qr = 0.0, qi = 0.0, sr = 0.0, si = 0.0;
    for (size_t k = harmonics + 1; k-- > 0;) {
        const double ar = creal(c[k]), ai = cimag(c[k]), n = (double)k;
        const double p = pr * zr - pi * zi + ar, q = qr * zr - qi * zi + n * ar;
        const double s = sr * zr - si * zi + n * n * ar;
        pi = pr * zi + pi * zr + ai;
        qi = qr * zi + qi * zr + n * ai;
        si = sr * zi + si * zr + n * n * ai;
        pr = p;
        qr = q;
        sr = s;
    }
    return (struct bend){pr, -qi, -sr, 0.0};
}

/* By columns at a known phase: lanes that a compiler turns into vector code, added in an order that
 * does not depend on the processor. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default")))
#endif
static struct bend
bend_known(const double *restrict part, const double *restrict table, size_t padded)
{
    const double *restrict re = part, *restrict im = part + padded;
    const double *restrict c = table, *restrict s = table + padded;
    double v[TRACK_LANES] = {0}, d1[TRACK_LANES] = {0}, d2[TRACK_LANES] = {0},
           d3[TRACK_LANES] = {0};
    double n[TRACK_LANES] = {0, 1, 2, 3};
    for (size_t k = 0; k < padded; k += TRACK_LANES) {
        for (int i = 0; i < TRACK_LANES; i++) {
            const double p = re[k + i] * c[k + i] - im[k + i] * s[k + i];
            const double q = n[i] * (re[k + i] * s[k + i] + im[k + i] * c[k + i]);
            const double square = n[i] * n[i];
            v[i] += p;
            d1[i] -= q;
            d2[i] -= square * p;
            d3[i] += square * q;
            n[i] += TRACK_LANES;
        }
    }
    return (struct bend){(v[0] + v[1]) + (v[2] + v[3]), (d1[0] + d1[1]) + (d1[2] + d1[3]),
        (d2[0] + d2[1]) + (d2[2] + d2[3]), (d3[0] + d3[1]) + (d3[2] + d3[3])};
}

static double extend(const struct bend *bend, double step)
{
    return bend->value +
           step * (bend->slope + step * (0.5 * bend->curve + step / 6.0 * bend->third));
}

/* The value at the extreme next to phase x. */
static double follow_extreme(const double complex *c, size_t harmonics, double x)
{
    const double near = NEAR / (double)(harmonics + 1), most = 0.5 / (double)(harmonics + 1);
    struct bend bend = {0};
    for (int i = 0; i < STEPS; i++) {
        bend = bend_at(c, harmonics, x);
        const double step = bend.curve != 0.0 ? -bend.slope / bend.curve : 0.0;
        if (fabs(step) < near) {
            return extend(&bend, step);
        }
        x += fmax(-most, fmin(most, step));
    }
    return bend.value;
}

/* `other` where `base` passes zero next to phase x. */
static double follow_crossing(
    const double complex *base, const double complex *other, size_t harmonics, double x)
{
    const double near = NEAR / (double)(harmonics + 1), most = 0.5 / (double)(harmonics + 1);
    if (isnan(x)) {
        return NAN;
    }
    for (int i = 0; i < STEPS; i++) {
        const struct bend bend = bend_at(base, harmonics, x);
        double step = bend.slope != 0.0 ? -bend.value / bend.slope : 0.0;
        if (fabs(step) < near) {
            /* Halley's correction to Newton's step */
            step /= 1.0 + 0.5 * step * bend.curve / bend.slope;
            const struct bend there = bend_at(other, harmonics, x);
            return extend(&there, step);
        }
        x += fmax(-most, fmin(most, step));
    }
    return fourier_get(other, harmonics, x, NULL);
}

static const double *get_table(const struct track *track, size_t row)
{
    return track->table + 2 * track->padded * row;
}

/* The value at the extreme next to a phase, which the table has in this row, if it has. */
static double find_extreme(const struct track *track, int which, size_t row, double phase)
{
    const size_t n = track->harmonics;
    if (row >= track->rows) {
        return follow_extreme(track->wave[which], n, phase);
    }
    const struct bend bend = bend_known(track->parts[which], get_table(track, row), track->padded);
    const double first = bend.curve != 0.0 ? -bend.slope / bend.curve : 0.0;
    const double bent = bend.curve + 0.5 * first * bend.third;
    const double step = bent != 0.0 ? -bend.slope / bent : first;
    return fabs(step) * (double)(n + 1) < NEAR_KNOWN ? extend(&bend, step)
                                                     : follow_extreme(track->wave[which], n, phase);
}

static double find_peak(const struct track *track, int which, int place)
{
    const int row = which * TRACK_PLACES + place;
    return find_extreme(track, which, (size_t)row, track_get_phase(track, which, place));
}

/* Integral of |dB/dx|, from the values at all extremes. */
static double find_variation(const struct track *track)
{
    double sum = 0.0, first = 0.0, last = 0.0;
    for (size_t i = 0; i < track->turn_count; i++) {
        const double value = find_extreme(track, TRACK_FLUX, 3 * TRACK_PLACES + i, track->turns[i]);
        if (i == 0) {
            first = value;
        } else {
            sum += fabs(value - last);
        }
        last = value;
    }
    return sum + fabs(first - last);
}

static double find_crossing(const struct track *track, int which, int other, int place)
{
    const size_t n = track->harmonics;
    const double phase = track_get_phase(track, which, place);
    const int row = which * TRACK_PLACES + place;
    const double *table = get_table(track, (size_t)row);
    if (isnan(phase)) {
        return NAN;
    }
    const struct bend bend = bend_known(track->parts[which], table, track->padded);
    double step = 0.0;
    for (int i = 0; i < 4; i++) {
        const double slope = bend.slope + step * (bend.curve + 0.5 * step * bend.third);
        step -= slope != 0.0 ? extend(&bend, step) / slope : 0.0;
    }
    if (!(fabs(step) * (double)(n + 1) < NEAR_KNOWN)) {
        return follow_crossing(track->wave[which], track->wave[other], n, phase);
    }
    const struct bend there = bend_known(track->parts[other], table, track->padded);
    return extend(&there, step);
}

static void set_parts(struct track *track, int which)
{
    for (size_t k = 0; k <= track->harmonics; k++) {
        track->parts[which][k] = creal(track->wave[which][k]);
        track->parts[which][track->padded + k] = cimag(track->wave[which][k]);
    }
}

/* Centred on its peaks: B and J. */
static void shift(struct track *track, int which, double by)
{
    track->wave[which][0] += by;
    track->parts[which][0] += by;
}

void track_compute(struct track *track, const struct fourier_loop *loop, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures)
{
    static const enum figure peaks[] = {
        FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_POLARIZATION_PEAK};
    static const struct {
        int other;
        enum figure mean, first;
        double sign;
    } sides[] = {{TRACK_FLUX, FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, 1.0},
        {TRACK_FIELD, FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, -1.0},
        {TRACK_FIELD, FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, -1.0}};
    *figures = (struct figures){0};
    track_set_waves(track, loop);
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        set_parts(track, i);
        const double top = find_peak(track, i, TRACK_TOP),
                     bottom = find_peak(track, i, TRACK_BOTTOM);
        if (i != TRACK_FIELD) {
            shift(track, i, -0.5 * (top + bottom));
        }
        figures_set(figures, peaks[i], 0.5 * (top - bottom));
    }
    for (int i = TRACK_FIELD; i <= TRACK_POLARIZATION; i++) {
        figures_set_sides(figures, sides[i].mean, sides[i].first,
            sides[i].sign * find_crossing(track, i, sides[i].other, TRACK_FALLING),
            -sides[i].sign * find_crossing(track, i, sides[i].other, TRACK_RISING));
    }
    /* two extremes are the peaks, which are known */
    struct figures_sums sums;
    figures_sum(loop, &sums);
    sums.total_variation = track->turn_count > 2
                               ? find_variation(track)
                               : 4.0 * figures->list[FIGURE_FLUX_DENSITY_PEAK].value;
    figures_set_energy(&sums, frequency_Hz, density_kg_per_m3, figures);
    figures_set_ratios(&sums, figures);
    if (frequency_Hz > 0.0) {
        figures_set(figures, FIGURE_FREQUENCY, frequency_Hz);
    }
}
