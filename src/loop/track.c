// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/track.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "loop/figures_part.h"
#include "num/fourier.h"
#include "quantity/constant.h"

static const double MU0 = MAGNETIC_CONSTANT;

enum { FIELD, FLUX, POLARIZATION };
enum { STEPS = 12, CROSSINGS = 64 };

/* Of a step in phase times the highest harmonic: a Taylor series of the second order then leaves
 * less than 1e-9 of the highest harmonic's share. */
static const double NEAR = 2e-3;

/* A value with its first two derivatives, by Horner's rule in e^{ix} for the coefficients times 1,
 * k and k^2, in plain reals. */
struct bend {
    double value, slope, curve;
};

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
    return (struct bend){pr, -qi, -sr};
}

static double extend(const struct bend *bend, double step)
{
    return bend->value + step * (bend->slope + 0.5 * step * bend->curve);
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

static double follow_variation(const struct track *track, const double complex *c)
{
    double sum = 0.0, first = 0.0, last = 0.0;
    for (size_t i = 0; i < track->turn_count; i++) {
        const double value = follow_extreme(c, track->harmonics, track->turns[i]);
        if (i == 0) {
            first = value;
        } else {
            sum += fabs(value - last);
        }
        last = value;
    }
    return sum + fabs(first - last);
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
    } sides[] = {{FLUX, FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, 1.0},
        {FIELD, FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, -1.0},
        {FIELD, FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, -1.0}};
    const size_t n = loop->harmonics;
    double complex *const wave[] = {loop->field, track->flux_density, track->polarization};
    *figures = (struct figures){0};
    for (size_t k = 0; k <= n; k++) {
        track->flux_density[k] = loop->flux_density[k];
        track->polarization[k] = loop->flux_density[k] - MU0 * loop->field[k];
    }
    for (int i = FIELD; i <= POLARIZATION; i++) {
        const double top = follow_extreme(wave[i], n, track->top[i]);
        const double bottom = follow_extreme(wave[i], n, track->bottom[i]);
        if (i != FIELD) {
            wave[i][0] -= 0.5 * (top + bottom);
        }
        figures_set(figures, peaks[i], 0.5 * (top - bottom));
    }
    for (int i = FIELD; i <= POLARIZATION; i++) {
        const double complex *other = wave[sides[i].other];
        figures_set_sides(figures, sides[i].mean, sides[i].first,
            sides[i].sign * follow_crossing(wave[i], other, n, track->falling[i]),
            -sides[i].sign * follow_crossing(wave[i], other, n, track->rising[i]));
    }
    /* two extremes are the peaks, which are known */
    const double variation = track->turn_count > 2
                                 ? follow_variation(track, track->flux_density)
                                 : 4.0 * figures->list[FIGURE_FLUX_DENSITY_PEAK].value;
    figures_set_energy(loop, frequency_Hz, density_kg_per_m3, figures);
    figures_set_ratios(loop, variation, figures);
    if (frequency_Hz > 0.0) {
        figures_set(figures, FIGURE_FREQUENCY, frequency_Hz);
    }
}

/* The crossing in that direction which the figure was read at. */
static double choose_crossing(const struct fourier_crossing *list, size_t count, int is_rising,
    const double complex *other, size_t harmonics, double wanted)
{
    double best = NAN, distance = INFINITY;
    for (size_t i = 0; i < count; i++) {
        const double off = fabs(fourier_get(other, harmonics, list[i].phase, NULL) - wanted);
        if (list[i].is_rising == is_rising && off < distance) {
            best = list[i].phase;
            distance = off;
        }
    }
    return best;
}

static enum status find_crossings(struct track *track, int which, const double complex *base,
    const double complex *other, const struct figure_value *falling, double sign, struct error *err)
{
    struct fourier_crossing list[CROSSINGS];
    size_t count = 0;
    track->falling[which] = track->rising[which] = NAN;
    if (!falling->is_present) {
        return STATUS_OK;
    }
    const enum status status =
        fourier_find_crossings(base, track->harmonics, 0.0, list, CROSSINGS, &count, err);
    if (status == STATUS_OK) {
        count = count < CROSSINGS ? count : CROSSINGS;
        track->falling[which] =
            choose_crossing(list, count, 0, other, track->harmonics, sign * falling[0].value);
        track->rising[which] =
            choose_crossing(list, count, 1, other, track->harmonics, -sign * falling[1].value);
    }
    return status;
}

/* All extremes of B: where dB/dx passes zero. */
static enum status find_turns(struct track *track, struct error *err)
{
    const size_t n = track->harmonics, limit = 2 * n + 2;
    double complex *slope = memory_create(n + 1, sizeof *slope);
    struct fourier_crossing *list = memory_create(limit, sizeof *list);
    enum status status = slope == NULL || list == NULL ? fail_memory(err) : STATUS_OK;
    for (size_t k = 0; status == STATUS_OK && k <= n; k++) {
        slope[k] = I * (double)k * track->flux_density[k];
    }
    size_t count = 0;
    if (status == STATUS_OK) {
        status = fourier_find_crossings(slope, n, 0.0, list, limit, &count, err);
    }
    if (status == STATUS_OK) {
        track->turn_count = count < limit ? count : limit;
        track->turns = memory_create(track->turn_count + 1, sizeof *track->turns);
        status = track->turns == NULL ? fail_memory(err) : STATUS_OK;
    }
    for (size_t i = 0; status == STATUS_OK && i < track->turn_count; i++) {
        track->turns[i] = list[i].phase;
    }
    memory_destroy(slope);
    memory_destroy(list);
    return status;
}

static enum status create_room(struct track *track, struct error *err)
{
    track->polarization = memory_create(track->harmonics + 1, sizeof *track->polarization);
    track->flux_density = memory_create(track->harmonics + 1, sizeof *track->flux_density);
    return track->polarization == NULL || track->flux_density == NULL ? fail_memory(err)
                                                                      : STATUS_OK;
}

static enum status find_places(struct track *track, const struct fourier_loop *loop,
    const struct figures *figures, struct error *err)
{
    static const enum figure first[] = {
        FIGURE_REMANENCE_FALLING, FIGURE_COERCIVITY_FALLING, FIGURE_COERCIVITY_J_FALLING};
    double complex *const wave[] = {loop->field, track->flux_density, track->polarization};
    for (size_t k = 0; k <= track->harmonics; k++) {
        track->flux_density[k] = loop->flux_density[k];
        track->polarization[k] = loop->flux_density[k] - MU0 * loop->field[k];
    }
    for (int i = FIELD; i <= POLARIZATION; i++) {
        struct fourier_extremes extremes;
        const enum status status = fourier_find_extremes(wave[i], track->harmonics, &extremes, err);
        if (status != STATUS_OK) {
            return status;
        }
        track->top[i] = extremes.maximum_phase;
        track->bottom[i] = extremes.minimum_phase;
        if (i != FIELD) {
            wave[i][0] -= 0.5 * (extremes.maximum + extremes.minimum);
        }
    }
    for (int i = FIELD; i <= POLARIZATION; i++) {
        const enum status status =
            find_crossings(track, i, wave[i], wave[i == FIELD ? FLUX : FIELD],
                &figures->list[first[i]], i == FIELD ? 1.0 : -1.0, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    return find_turns(track, err);
}

enum status track_create(struct track *track, const struct fourier_loop *loop,
    const struct figures *figures, struct error *err)
{
    struct track fresh = {.harmonics = loop->harmonics};
    enum status status = create_room(&fresh, err);
    if (status == STATUS_OK) {
        status = find_places(&fresh, loop, figures, err);
    }
    if (status != STATUS_OK) {
        track_clear(&fresh);
        return status;
    }
    *track = fresh;
    return STATUS_OK;
}

enum status track_copy(struct track *copy, const struct track *track, struct error *err)
{
    struct track fresh = *track;
    fresh.turns = memory_create(track->turn_count + 1, sizeof *fresh.turns);
    fresh.polarization = fresh.flux_density = NULL;
    const enum status status = create_room(&fresh, err);
    if (status != STATUS_OK || fresh.turns == NULL) {
        track_clear(&fresh);
        return fail_memory(err);
    }
    memcpy(fresh.turns, track->turns, track->turn_count * sizeof *fresh.turns);
    *copy = fresh;
    return STATUS_OK;
}

void track_clear(struct track *track)
{
    memory_destroy(track->polarization);
    memory_destroy(track->flux_density);
    memory_destroy(track->turns);
    *track = (struct track){0};
}
