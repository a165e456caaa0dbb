// SPDX-License-Identifier: GPL-3.0-or-later
/* What an honest waveform does of itself: how long its tops, its pauses, its heaps of equal values
 * may be. */
#include "loop/natural.h"

#include <math.h>

#include "loop/notes_part.h"
#include "num/fourier.h"

/* The waveform of an input on an even grid of a cycle, without the harmonics that only a staircase
 * of rounding has: those above a sixteenth of the sampling rate. `values` has GRID + 1 places. */
enum { GRID = 4096 };

static bool sample_smooth(const struct evidence *evidence, int m, double *values)
{
    const struct periodic_fit *fit = evidence->fit;
    size_t harmonics = (size_t)(fit->samples_per_cycle / 16.0);
    harmonics = harmonics < 3 ? 3 : harmonics;
    harmonics = harmonics < fit->harmonics ? harmonics : fit->harmonics;
    if (fourier_sample(fit->coefficient[m], harmonics, 0.0, GRID, values, NULL) != STATUS_OK) {
        return false;
    }
    values[GRID] = values[0];
    return true;
}

/* The longest stretch of a cycle, in samples, over which `is_inside` holds; it may run over the
 * grid's end. */
static double find_stretch(const struct evidence *evidence, const bool *is_inside)
{
    size_t longest = 0, run = 0;
    for (size_t i = 0; i < 2 * GRID && run < GRID; i++) {
        run = is_inside[i % GRID] ? run + 1 : 0;
        longest = run > longest ? run : longest;
    }
    return (double)longest * evidence->fit->samples_per_cycle / GRID;
}

/* What counts as equal: a step of the format, or for floats and tables 1e-7 of the amplitude. */
static double get_resolution(const struct evidence *evidence, int m)
{
    return fmax(evidence_get_step(evidence), 1e-7 * evidence_get_amplitude(evidence, m));
}

/* The width of the top at
 * a depth of 1 % is measured and carried to the depth of a step as if the top were as flat as x^4:
 * a parabola is sharper, a clipped top is as wide at a step as at 1 %. */
double natural_get_top(const struct evidence *evidence, int m)
{
    double values[GRID + 1];
    bool is_inside[GRID];
    if (!sample_smooth(evidence, m, values)) {
        return NAN; /* no memory */
    }
    double high = values[0], low = values[0];
    for (size_t i = 1; i < GRID; i++) {
        high = fmax(high, values[i]);
        low = fmin(low, values[i]);
    }
    const double depth = 0.005 * (high - low);
    double widest = 0.0;
    for (int side = 0; side < 2; side++) {
        for (size_t i = 0; i < GRID; i++) {
            is_inside[i] = side == 0 ? values[i] > high - depth : values[i] < low + depth;
        }
        widest = fmax(widest, find_stretch(evidence, is_inside));
    }
    return 1.0 + widest * fmin(1.0, pow(1.5 * get_resolution(evidence, m) / depth, 0.25));
}

/* How many frames in a row may repeat the one before because both inputs change by less than a step
 * a sample. */
double natural_get_repeat(const struct evidence *evidence)
{
    double values[2][GRID + 1];
    bool is_inside[GRID];
    if (!sample_smooth(evidence, 0, values[0]) || !sample_smooth(evidence, 1, values[1])) {
        return NAN; /* no memory */
    }
    const double scale = GRID / evidence->fit->samples_per_cycle;
    for (size_t i = 0; i < GRID; i++) {
        is_inside[i] = true;
        for (int m = 0; m < 2; m++) {
            const double change = fabs(values[m][i + 1] - values[m][i]) * scale;
            is_inside[i] = is_inside[i] && change < 1.5 * get_resolution(evidence, m);
        }
    }
    return 1.0 + find_stretch(evidence, is_inside);
}

/* How many samples may share one extreme where noise is wider than a step of the format: the tail
 * of the noise falls off as e^(-x/s) with s = rms/sqrt(2 ln n), so that more than n samples lie in
 * the outermost step with the chance (1 - e^(-step/s))^n. Here that is 1e-6. */
double natural_get_pile(const struct evidence *evidence, int m)
{
    const struct periodic_fit *fit = evidence->fit;
    const double step = evidence_get_step(evidence);
    const double square = fit->noise_rms[m] * fit->noise_rms[m] - step * step / 12.0;
    /* a residual this small is made of rounding, and a clock locked to the sampling repeats the
     * same extreme in every cycle */
    const bool is_noise = fit->noise_rms[m] > 1e-6 * evidence_get_amplitude(evidence, m);
    if (!(step > 0.0) || !(square > 0.0) || !is_noise || fit->frames < 16.0) {
        return INFINITY;
    }
    const double widths = step * sqrt(2.0 * log(fit->frames) / square);
    return widths < 3.0 ? fmax(4.0, log(1e-6) / log1p(-exp(-widths))) : INFINITY;
}
