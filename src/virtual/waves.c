// SPDX-License-Identifier: GPL-3.0-or-later
/* The model's loop is sampled at 16 phases or more to the cycle of the last harmonic and summed
 * directly, in a fixed order: an FFT library chooses its order by the processor it finds, and the
 * same order must give the same bytes everywhere. */
#include "virtual/waves.h"

#include <math.h>

#include "base/memory.h"
#include "num/portable.h"
#include "quantity/constant.h"
#include "virtual/ring_losses.h"

static const double turn = 6.283185307179586477;

static void set_terms(double complex *c, const struct ring_series *series)
{
    for (size_t i = 0; i < series->count; i++) {
        const struct ring_term *term = &series->terms[i];
        double sine, cosine;
        portable_sin_cos_turns(term->phase / turn, &sine, &cosine);
        c[term->harmonic] = term->amplitude * cosine + I * (term->amplitude * sine);
    }
}

/* One cycle of a model at `count` phases, and the circle it is summed with. */
struct cycle {
    size_t count;
    double *field;
    double *flux_density;
    double *cosine; /* of 2 pi i / count */
    double *sine;
};

static void cycle_clear(struct cycle *cycle)
{
    memory_destroy(cycle->field);
    memory_destroy(cycle->flux_density);
    memory_destroy(cycle->cosine);
    memory_destroy(cycle->sine);
}

static enum status cycle_init(struct cycle *cycle, size_t harmonics, struct error *err)
{
    *cycle = (struct cycle){.count = 4096};
    while (cycle->count < 16 * harmonics)
        cycle->count *= 2;
    cycle->field = memory_create(cycle->count, sizeof(double));
    cycle->flux_density = memory_create(cycle->count, sizeof(double));
    cycle->cosine = memory_create(cycle->count, sizeof(double));
    cycle->sine = memory_create(cycle->count, sizeof(double));
    if (!cycle->field || !cycle->flux_density || !cycle->cosine || !cycle->sine) {
        cycle_clear(cycle);
        return fail_memory(err);
    }
    for (size_t i = 0; i < cycle->count; i++)
        portable_sin_cos_turns(
            (double)i / (double)cycle->count, &cycle->sine[i], &cycle->cosine[i]);
    return STATUS_OK;
}

/* The odd harmonics of a waveform whose second half is the first with its sign turned. */
static void transform(
    const struct cycle *cycle, const double *values, size_t harmonics, double complex *c)
{
    for (size_t k = 1; k <= harmonics; k += 2) {
        double real = 0.0, imaginary = 0.0;
        size_t place = 0;
        for (size_t i = 0; i < cycle->count / 2; i++) {
            real += values[i] * cycle->cosine[place];
            imaginary -= values[i] * cycle->sine[place];
            place = (place + k) % cycle->count;
        }
        double scale = 4.0 / (double)cycle->count;
        c[k] = scale * real + I * (scale * imaginary);
    }
}

static enum status compute_model(
    const struct ring *ring, struct fourier_loop *waves, struct error *err)
{
    struct cycle cycle;
    bool is_field = ring->drive.field_peak.is_present;
    double peak = is_field ? ring->drive.field_peak.value : ring->drive.flux_density_peak.value;
    enum status status = cycle_init(&cycle, waves->harmonics, err);
    if (status)
        return status;
    status = model_compute_cycle(ring->model, ring->parameters,
        is_field ? MODEL_DRIVE_FIELD : MODEL_DRIVE_FLUX_DENSITY, peak, cycle.count, cycle.field,
        cycle.flux_density, err);
    if (!status && is_field) {
        waves->field[1] = peak;
        transform(&cycle, cycle.flux_density, waves->harmonics, waves->flux_density);
    } else if (!status) {
        waves->flux_density[1] = peak;
        transform(&cycle, cycle.field, waves->harmonics, waves->field);
    }
    cycle_clear(&cycle);
    return status;
}

/* What losses add to the field: ahead of B by a quarter of a cycle, so that it takes their energy.
 */
static enum status add_losses(
    const struct ring *ring, struct fourier_loop *waves, struct error *err)
{
    struct ring_terms terms;
    enum status status = ring_losses_compute(ring, &terms, err);
    if (status)
        return status;
    const double energy = terms.classical_J_s_per_m3 * ring->frequency_Hz +
                          terms.excess_J_per_m3_per_sqrt_Hz * sqrt(ring->frequency_Hz);
    waves->field[1] += I * (energy / (0.5 * turn * ring->drive.flux_density_peak.value));
    return STATUS_OK;
}

enum status waves_compute(const struct ring *ring, struct fourier_loop *waves, struct error *err)
{
    struct fourier_loop made;
    size_t harmonics = ring->harmonics;
    if (ring->model && harmonics % 2 == 0)
        harmonics = harmonics > 1 ? harmonics - 1 : 1;
    enum status status = fourier_loop_create(&made, harmonics, err);
    if (status)
        return status;
    if (ring->model) {
        status = compute_model(ring, &made, err);
        if (!status && ring->losses.is_present)
            status = add_losses(ring, &made, err);
    } else {
        set_terms(made.field, ring_is_voltage(ring) ? &ring->voltage : &ring->field);
        set_terms(made.flux_density, &ring->flux_density);
    }
    if (ring->recording.kind == RING_KIND_COIL)
        for (size_t k = 0; k <= made.harmonics; k++)
            made.flux_density[k] = MAGNETIC_CONSTANT * made.field[k];
    if (status)
        fourier_loop_clear(&made);
    else
        *waves = made;
    return status;
}
