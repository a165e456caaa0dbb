// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_RESIDUAL_H
#define LODECARD_NUM_RESIDUAL_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "num/periodic.h"

/* What a periodic fit leaves over of an even record's first part, and its spectrum: at most 65536
 * points; runs of samples are averaged where that many samples would not hold 16 cycles. */
struct residual {
    const struct periodic_fit *fit; /* borrowed */
    size_t count;                   /* points */
    size_t thinning;                /* samples to a point */
    double step;                    /* s between points */
    double first;                   /* s, time of point 0 */
    double duration;                /* T of the points, s */
    double span;                    /* T of the fit, s */
    bool is_part;                   /* the fit is of more than these points */
    double complex *value;          /* of both channels as real and imaginary part */
    double *table;                  /* a cycle of a waveform, 3 places more than `places` */
    size_t places;
    double complex *leak; /* K + 1: what a tone left in the fit */
    struct padded *padded;
    size_t size; /* places of the spectrum, twice the points or a little more */
};

/* values[2 * frame + m], NaN where missing: those points are 0. */
enum status residual_init(struct residual *residual, const double *values, size_t frames,
    double sample_rate_Hz, const struct periodic_fit *fit, struct error *err) MUST_CHECK;
void residual_clear(struct residual *residual);

double residual_compute_square_sum(const struct residual *residual, size_t m);

/* The spectrum R(v) = sum_n value_n e^{-2 pi i v t}, t from point 0: of all places at once, its
 * power |R|^2 at one of them (also beyond the ends), and R at any frequency, Hz. */
void residual_transform(struct residual *residual);
double residual_get_power(const struct residual *residual, size_t m, ptrdiff_t place);
double complex residual_compute_line(const struct residual *residual, size_t m, double frequency);

/* What averaging leaves of the amplitude of a tone. */
double residual_get_thinned(const struct residual *residual, double frequency);

/* Takes Re(amplitude e^{2 pi i f t}), t from the record's first sample, off a channel, with what it
 * left in the fit. */
enum status residual_take_off(struct residual *residual, size_t m, double frequency,
    double complex amplitude, struct error *err) MUST_CHECK;

/* sin(pi x) / (pi x) */
double residual_get_sinc(double x);

#endif
