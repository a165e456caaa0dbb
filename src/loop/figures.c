// SPDX-License-Identifier: GPL-3.0-or-later
/* Figures of a periodic loop from its two Fourier series. Peaks and crossings are roots of the
 * series itself, not of a sampled grid; the area is the closed integral of H dB term by term: W =
 * pi sum_k k Im(H_k conj(B_k)). Names follow IEC 60050-221. */
#include <math.h>

#include "base/memory.h"
#include "loop/figures_part.h"
#include "num/fourier.h"
#include "quantity/constant.h"

static const double PI = 3.14159265358979323846264338327950;
static const double MU0 = MAGNETIC_CONSTANT;

enum { CROSSING_LIMIT = 64 };

enum status fourier_loop_create(struct fourier_loop *loop, size_t harmonics, struct error *err)
{
    struct fourier_loop fresh = {.harmonics = harmonics};
    fresh.field = memory_create(harmonics + 1, sizeof *fresh.field);
    fresh.flux_density = memory_create(harmonics + 1, sizeof *fresh.flux_density);
    if (fresh.field == NULL || fresh.flux_density == NULL) {
        fourier_loop_clear(&fresh);
        return fail_memory(err);
    }
    *loop = fresh;
    return STATUS_OK;
}

void fourier_loop_clear(struct fourier_loop *loop)
{
    memory_destroy(loop->field);
    memory_destroy(loop->flux_density);
    *loop = (struct fourier_loop){0};
}

/* A waveform centred on its own peaks, and its half excursion. */
static enum status centre(
    double complex *c, size_t harmonics, struct fourier_extremes *extremes, struct error *err)
{
    const enum status status = fourier_find_extremes(c, harmonics, extremes, err);
    if (status == STATUS_OK) {
        c[0] -= 0.5 * (extremes->maximum + extremes->minimum);
    }
    return status;
}

/* The phase at which a branch that runs from phase `from` to phase `to` passes zero. A distorted or
 * noisy waveform may pass zero several times in a row, always an odd number: the middle one stands
 * for them. NAN: the branch does not pass zero. */
static double find_passage(
    const struct fourier_crossing *list, size_t count, double from, double to)
{
    double inside[CROSSING_LIMIT];
    size_t found = 0;
    for (int lap = 0; lap < 2; lap++) { /* first those up to the end of the cycle, then the rest */
        for (size_t i = 0; i < count; i++) {
            const double phase = list[i].phase;
            const bool is_inside =
                from <= to ? phase >= from && phase <= to : phase >= from || phase <= to;
            if (is_inside && (phase < from) == (lap == 1)) {
                inside[found++] = phase;
            }
        }
    }
    return found > 0 ? inside[found / 2] : NAN;
}

/* The value of `other` where `base` passes zero on its falling branch, from its maximum to its
 * minimum, and on its rising one. */
static enum status read_sides(const double complex *base, const struct fourier_extremes *extremes,
    const double complex *other, size_t harmonics, double *falling, double *rising,
    struct error *err)
{
    struct fourier_crossing list[CROSSING_LIMIT];
    size_t count;
    const enum status status =
        fourier_find_crossings(base, harmonics, 0.0, list, CROSSING_LIMIT, &count, err);
    if (status != STATUS_OK) {
        return status;
    }
    count = count < CROSSING_LIMIT ? count : CROSSING_LIMIT;
    const double top = extremes->maximum_phase, bottom = extremes->minimum_phase;
    const double down = find_passage(list, count, top, bottom);
    const double up = find_passage(list, count, bottom, top);
    *falling = isnan(down) ? NAN : fourier_get(other, harmonics, down, NULL);
    *rising = isnan(up) ? NAN : fourier_get(other, harmonics, up, NULL);
    return STATUS_OK;
}

/* falling and rising are the two half-axes, both positive on an ordinary loop. */
void figures_set_sides(
    struct figures *figures, enum figure mean, enum figure first, double falling, double rising)
{
    if (isnan(falling) || isnan(rising)) {
        return;
    }
    figures_set(figures, mean, 0.5 * (falling + rising));
    figures_set(figures, first, falling);
    figures_set(figures, (enum figure)(first + 1), rising);
    const double sum = fabs(falling) + fabs(rising);
    if (sum > 0.0) {
        figures_set(figures, (enum figure)(first + 2), (fabs(falling) - fabs(rising)) / sum);
    }
}

static double compute_area(const struct fourier_loop *loop)
{
    double area = 0.0;
    for (size_t k = loop->harmonics; k >= 1; k--) {
        area += PI * (double)k * cimag(loop->field[k] * conj(loop->flux_density[k]));
    }
    return area;
}

/* The waveform's rms times sqrt 2 over harmonics from `first`, each weighted by k^power. */
static double compute_norm(const double complex *c, size_t harmonics, size_t first, int power)
{
    double sum = 0.0;
    for (size_t k = harmonics; k >= first; k--) {
        const double weight = power == 1 ? (double)k : 1.0;
        sum += (creal(c[k]) * creal(c[k]) + cimag(c[k]) * cimag(c[k])) * weight * weight;
    }
    return sqrt(sum);
}

double figures_wrap_lag(double lag_deg)
{
    return lag_deg - 360.0 * ceil((lag_deg - 180.0) / 360.0);
}

void figures_sum(const struct fourier_loop *loop, struct figures_sums *sums)
{
    const double complex *b = loop->flux_density;
    *sums = (struct figures_sums){.area_J_per_m3 = compute_area(loop),
        .lag_deg = figures_wrap_lag((carg(loop->field[1]) - carg(b[1])) * 180.0 / PI),
        .fundamental = cabs(b[1]),
        .overtones = compute_norm(b, loop->harmonics, 2, 0),
        .slope = compute_norm(b, loop->harmonics, 1, 1)};
}

void figures_set_ratios(const struct figures_sums *sums, struct figures *figures)
{
    const double hm = figures->list[FIGURE_FIELD_PEAK].value;
    const double bm = figures->list[FIGURE_FLUX_DENSITY_PEAK].value;
    const double area = figures->list[FIGURE_LOOP_AREA].value;
    if (figures->list[FIGURE_REMANENCE].is_present && bm > 0.0) {
        figures_set(figures, FIGURE_SQUARENESS, figures->list[FIGURE_REMANENCE].value / bm);
    }
    if (hm > 0.0 && bm > 0.0) {
        figures_set(figures, FIGURE_AMPLITUDE_PERMEABILITY, bm / (MU0 * hm));
        figures_set(figures, FIGURE_LOOP_FULLNESS, area / (4.0 * hm * bm));
        /* an ellipse at 90 degrees has the argument 1 but for rounding */
        const double sine = area / (PI * hm * bm);
        if (fabs(sine) <= 1.0 + 1e-9) {
            figures_set(
                figures, FIGURE_LAG_ANGLE_AREA, asin(fmax(-1.0, fmin(1.0, sine))) * 180.0 / PI);
        }
    }
    if (sums->total_variation > 0.0) {
        const double rms = sums->slope / sqrt(2.0);
        figures_set(figures, FIGURE_FORM_FACTOR, rms * 2.0 * PI / sums->total_variation);
    }
    if (sums->fundamental > 0.0) {
        figures_set(figures, FIGURE_FLUX_DISTORTION, sums->overtones / sums->fundamental);
    }
}

void figures_set_energy(const struct figures_sums *sums, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures)
{
    const double area = sums->area_J_per_m3;
    figures_set(figures, FIGURE_LOOP_AREA, area);
    if (frequency_Hz > 0.0) {
        figures_set(figures, FIGURE_LOSS, area * frequency_Hz);
        if (density_kg_per_m3 > 0.0) {
            figures_set(figures, FIGURE_SPECIFIC_LOSS, area * frequency_Hz / density_kg_per_m3);
        }
    }
    figures_set(figures, FIGURE_LAG_ANGLE, sums->lag_deg);
}

/* B and J as coefficient arrays of their own, each centred on its peaks. */
struct centred {
    double complex *flux_density;
    double complex *polarization;
    struct fourier_extremes flux_extremes;
    struct fourier_extremes polarization_extremes;
};

static enum status centred_init(
    struct centred *centred, const struct fourier_loop *loop, struct error *err)
{
    const size_t count = loop->harmonics + 1;
    *centred = (struct centred){.flux_density = memory_create(count, sizeof(double complex)),
        .polarization = memory_create(count, sizeof(double complex))};
    if (centred->flux_density == NULL || centred->polarization == NULL) {
        return fail_memory(err);
    }
    for (size_t k = 0; k < count; k++) {
        centred->flux_density[k] = loop->flux_density[k];
        centred->polarization[k] = loop->flux_density[k] - MU0 * loop->field[k];
    }
    const enum status status =
        centre(centred->flux_density, loop->harmonics, &centred->flux_extremes, err);
    return status != STATUS_OK ? status
                               : centre(centred->polarization, loop->harmonics,
                                     &centred->polarization_extremes, err);
}

static void centred_clear(struct centred *centred)
{
    memory_destroy(centred->flux_density);
    memory_destroy(centred->polarization);
}

static enum status compute_sides(const struct fourier_loop *loop,
    const struct fourier_extremes *field, const struct centred *centred, struct figures *figures,
    struct error *err)
{
    const size_t n = loop->harmonics;
    double falling, rising;
    enum status status =
        read_sides(loop->field, field, centred->flux_density, n, &falling, &rising, err);
    if (status != STATUS_OK) {
        return status;
    }
    figures_set_sides(figures, FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, falling, -rising);
    status = read_sides(
        centred->flux_density, &centred->flux_extremes, loop->field, n, &falling, &rising, err);
    if (status != STATUS_OK) {
        return status;
    }
    figures_set_sides(figures, FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, -falling, rising);
    status = read_sides(centred->polarization, &centred->polarization_extremes, loop->field, n,
        &falling, &rising, err);
    if (status == STATUS_OK) {
        figures_set_sides(
            figures, FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, -falling, rising);
    }
    return status;
}

enum status fourier_loop_compute_figures(const struct fourier_loop *loop, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures, struct error *err)
{
    struct figures result = {0};
    struct fourier_extremes field;
    struct centred centred;
    enum status status = centred_init(&centred, loop, err);
    if (status == STATUS_OK) {
        status = fourier_find_extremes(loop->field, loop->harmonics, &field, err);
    }
    if (status == STATUS_OK) {
        figures_set(&result, FIGURE_FIELD_PEAK, 0.5 * (field.maximum - field.minimum));
        figures_set(&result, FIGURE_FLUX_DENSITY_PEAK,
            0.5 * (centred.flux_extremes.maximum - centred.flux_extremes.minimum));
        figures_set(&result, FIGURE_POLARIZATION_PEAK,
            0.5 * (centred.polarization_extremes.maximum - centred.polarization_extremes.minimum));
        status = compute_sides(loop, &field, &centred, &result, err);
    }
    if (status == STATUS_OK) {
        struct figures_sums sums;
        figures_sum(loop, &sums);
        sums.total_variation = centred.flux_extremes.total_variation;
        figures_set_energy(&sums, frequency_Hz, density_kg_per_m3, &result);
        figures_set_ratios(&sums, &result);
        figures_set(&result, FIGURE_HARMONICS, (double)loop->harmonics);
        if (frequency_Hz > 0.0) {
            figures_set(&result, FIGURE_FREQUENCY, frequency_Hz);
        }
        *figures = result;
    }
    centred_clear(&centred);
    return status;
}

enum status fourier_loop_compute_points(const struct fourier_loop *loop, size_t count,
    double *field, double *flux_density, struct error *err)
{
    struct fourier_extremes extremes;
    struct centred centred;
    enum status status = centred_init(&centred, loop, err);
    if (status == STATUS_OK) {
        status = fourier_find_extremes(loop->field, loop->harmonics, &extremes, err);
    }
    if (status == STATUS_OK) {
        const double x0 = extremes.minimum_phase;
        status = fourier_sample(loop->field, loop->harmonics, x0, count, field, err);
        if (status == STATUS_OK) {
            status =
                fourier_sample(centred.flux_density, loop->harmonics, x0, count, flux_density, err);
        }
    }
    centred_clear(&centred);
    return status;
}
