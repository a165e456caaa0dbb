// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/residual.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/fourier.h"
#include "num/padded.h"
#include "num/pair.h"

static const double TURN = 6.283185307179586476925286766559;

enum {
    POINTS = 1 << 16,
    CYCLES_LEAST = 16,  /* in so many points, or runs of samples are averaged */
    TABLE_LEAST = 4096, /* places of a cycle's table */
    TABLE_PERIOD = 32,  /* of them to the cycle of the highest harmonic: 4e-5 of it is lost */
};
static const double WHOLE = 0.9; /* of the fit's record, from which on the points are all of it */

double residual_get_sinc(double x)
{
    return fabs(x) < 1e-8 ? 1.0 : sin(0.5 * TURN * x) / (0.5 * TURN * x);
}

void residual_clear(struct residual *residual)
{
    memory_destroy(residual->value);
    memory_destroy(residual->table);
    memory_destroy(residual->leak);
    padded_destroy(residual->padded);
    *residual = (struct residual){0};
}

static enum status set_shape(struct residual *residual, size_t frames, double rate,
    const struct periodic_fit *fit, struct error *err)
{
    const double per_cycle = rate / fit->frequency_Hz;
    size_t thinning = 1;
    while (frames / thinning > POINTS && CYCLES_LEAST * per_cycle > (double)thinning * POINTS) {
        thinning *= 2;
    }
    size_t count = frames / thinning;
    count = count < POINTS ? count : POINTS;
    size_t places = TABLE_LEAST;
    while (places < TABLE_PERIOD * fit->harmonics) {
        places *= 2;
    }
    *residual = (struct residual){.fit = fit,
        .count = count,
        .step = (double)thinning / rate,
        .first = 0.5 * (double)(thinning - 1) / rate,
        .duration = (double)(count * thinning) / rate,
        .thinning = thinning,
        .places = places,
        .size = padded_find_size(count)};
    residual->span = fmax(fit->duration_s, residual->duration);
    residual->is_part = residual->duration < WHOLE * residual->span;
    residual->value = memory_create(count, sizeof *residual->value);
    residual->table = memory_create(places + 3, sizeof *residual->table);
    residual->leak = memory_create(fit->harmonics + 1, sizeof *residual->leak);
    residual->padded = padded_create(residual->size);
    if (residual->value == NULL || residual->table == NULL || residual->leak == NULL ||
        residual->padded == NULL) {
        residual_clear(residual);
        return fail_memory(err);
    }
    return STATUS_OK;
}

static enum status set_table(
    struct residual *residual, const double complex *c, size_t harmonics, struct error *err)
{
    double *table = residual->table;
    const enum status status = fourier_sample(
        c, harmonics, -TURN / (double)residual->places, residual->places, table, err);
    memcpy(table + residual->places, table, 3 * sizeof *table);
    return status;
}

/* Lagrange's cubic through the four places around; table[1] is phase 0. Turns are 0 or more. */
static double look_up(const double *table, size_t places, double turns)
{
    const double at = (turns - (double)(long long)turns) * (double)places;
    const size_t i = (size_t)at < places ? (size_t)at : places - 1;
    const double x = at - (double)i, y = 1.0 - x;
    const double *p = table + i;
    return y * (1.0 + x) * (1.0 + y) * 0.5 * p[1] + x * (1.0 + x) * (1.0 + y) * 0.5 * p[2] -
           x * y * ((1.0 + y) * p[0] + (1.0 + x) * p[3]) / 6.0;
}

/* The points of a channel: samples less the fit, averaged over runs; 0 where one is missing. */
static enum status set_values(
    struct residual *residual, const double *values, int m, struct error *err)
{
    const struct periodic_fit *fit = residual->fit;
    const enum status status = set_table(residual, fit->coefficient[m], fit->harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double turn = fit->frequency_Hz * residual->step / (double)residual->thinning;
    for (size_t n = 0, i = 0; n < residual->count; n++) {
        double sum = 0.0;
        for (size_t run = 0; run < residual->thinning; run++, i++) {
            sum += values[2 * i + (size_t)m] -
                   look_up(residual->table, residual->places, turn * (double)i);
        }
        sum = isfinite(sum) ? sum / (double)residual->thinning : 0.0;
        residual->value[n] = m == 0 ? as_complex(sum, cimag(residual->value[n]))
                                    : as_complex(creal(residual->value[n]), sum);
    }
    return STATUS_OK;
}

enum status residual_init(struct residual *residual, const double *values, size_t frames,
    double sample_rate_Hz, const struct periodic_fit *fit, struct error *err)
{
    struct residual fresh;
    enum status status = set_shape(&fresh, frames, sample_rate_Hz, fit, err);
    for (int m = 0; status == STATUS_OK && m < 2; m++) {
        status = set_values(&fresh, values, m, err);
        if (status != STATUS_OK) {
            residual_clear(&fresh);
        }
    }
    if (status == STATUS_OK) {
        *residual = fresh;
    }
    return status;
}

static double get_part(double complex value, size_t m)
{
    return m == 0 ? creal(value) : cimag(value);
}

double residual_compute_square_sum(const struct residual *residual, size_t m)
{
    double sum = 0.0;
    for (size_t n = 0; n < residual->count; n++) {
        const double part = get_part(residual->value[n], m);
        sum += part * part;
    }
    return sum;
}

void residual_transform(struct residual *residual)
{
    padded_compute(residual->padded, residual->value, residual->count);
}

double residual_get_power(const struct residual *residual, size_t m, ptrdiff_t i)
{
    const ptrdiff_t size = (ptrdiff_t)residual->size;
    const ptrdiff_t at = i > 0 && i < size ? i : (i % size + size) % size;
    const double complex a = padded_get(residual->padded, (size_t)at);
    const double complex b = conj(padded_get(residual->padded, (size_t)(at == 0 ? 0 : size - at)));
    const double complex half = m == 0 ? 0.5 * (a + b) : 0.5 * (a - b);
    return creal(half) * creal(half) + cimag(half) * cimag(half);
}

double complex residual_compute_line(const struct residual *residual, size_t m, double frequency)
{
    enum { RUN = 256 };
    const double turns = frequency * residual->step;
    const double complex step = cexp(-I * TURN * turns);
    double complex sum = 0.0;
    for (size_t begin = 0; begin < residual->count; begin += RUN) {
        const size_t end = begin + RUN < residual->count ? begin + RUN : residual->count;
        const double whole = turns * (double)begin;
        double complex turn = cexp(-I * TURN * (whole - floor(whole)));
        for (size_t n = begin; n < end; n++) {
            sum += get_part(residual->value[n], m) * turn;
            turn *= step;
        }
    }
    return sum;
}

double residual_get_thinned(const struct residual *residual, double frequency)
{
    return residual_get_sinc(frequency * residual->step) /
           residual_get_sinc(frequency * residual->step / (double)residual->thinning);
}

/* The mean of e^{i 2 pi d t} over the record. */
static double complex get_mean_turn(double distance, double duration)
{
    return residual_get_sinc(distance * duration) * cexp(I * 0.5 * TURN * distance * duration);
}

enum status residual_take_off(struct residual *residual, size_t m, double frequency,
    double complex amplitude, struct error *err)
{
    const struct periodic_fit *fit = residual->fit;
    const double f = frequency;
    const double complex a = amplitude * residual_get_thinned(residual, f);
    double complex *leak = residual->leak;
    for (size_t k = 0; k <= fit->harmonics; k++) {
        const double at = (double)k * fit->frequency_Hz;
        leak[k] = a * get_mean_turn(f - at, residual->span) +
                  conj(a) * get_mean_turn(-f - at, residual->span);
    }
    leak[0] = 0.5 * creal(leak[0]);
    const enum status status = set_table(residual, leak, fit->harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    for (size_t n = 0; n < residual->count; n++) {
        const double t = residual->first + (double)n * residual->step;
        const double whole = f * t;
        const double part = TURN * (whole - floor(whole));
        const double wave = creal(a) * cos(part) - cimag(a) * sin(part) -
                            look_up(residual->table, residual->places, fit->frequency_Hz * t);
        residual->value[n] -= m == 0 ? as_complex(wave, 0.0) : as_complex(0.0, wave);
    }
    return STATUS_OK;
}
