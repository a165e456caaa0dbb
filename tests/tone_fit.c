// SPDX-License-Identifier: GPL-3.0-or-later
#include "tone_fit.h"

#include <math.h>
#include <stdlib.h>

#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { PIECE = 1 << 16 };

enum status tone_record_fit(const struct tone_record *record, struct periodic_fit *fit,
    enum periodic_failure *failure, struct error *err)
{
    const struct periodic_options options = {.channels = record->channels,
        .sample_rate_Hz = record->times == NULL ? TONE_RATE : 0.0,
        .harmonics = record->harmonics};
    struct periodic *periodic = periodic_create(&options, err);
    enum status status = periodic == NULL ? STATUS_FAULT : STATUS_OK;
    for (size_t n = 0; n < record->frames && !status; n += record->chunk) {
        const size_t left = record->frames - n;
        status = periodic_add(periodic, record->values + n * record->channels,
            record->times == NULL ? NULL : record->times + n,
            left < record->chunk ? left : record->chunk, err);
    }
    if (!status) {
        status = periodic_finish(periodic, fit, err);
    }
    if (periodic != NULL) {
        *failure = periodic_get_failure(periodic);
    }
    periodic_destroy(periodic);
    return status;
}

void tone_fit(const struct tone *tone, size_t frames, struct periodic_fit *fit)
{
    const struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    struct error err = {0};
    struct periodic *periodic = periodic_create(&options, &err);
    double *values = malloc(2 * PIECE * sizeof *values);
    for (size_t n = 0; n < frames; n += PIECE) {
        const size_t part = frames - n < PIECE ? frames - n : PIECE;
        tone_fill(tone, n, part, values);
        ck_assert_msg(!periodic_add(periodic, values, NULL, part, &err), "%s", err.message);
    }
    ck_assert_msg(!periodic_finish(periodic, fit, &err), "%s", err.message);
    ck_assert_int_eq(periodic_get_failure(periodic), PERIODIC_FINE);
    periodic_destroy(periodic);
    free(values);
}

static double complex get_coefficient(const struct periodic_fit *fit, size_t m, size_t k)
{
    return k <= fit->harmonics ? fit->coefficient[m][k] : 0.0;
}

void tone_check(const struct tone *tone, const struct periodic_fit *fit, double begin,
    double frequency_tolerance, double tolerance)
{
    const double off = fit->frequency_Hz / (tone->nu * TONE_RATE) - 1.0;
    ck_assert_msg(fabs(off) <= frequency_tolerance, "frequency: off by %.2g", off);
    const size_t top = fit->harmonics > tone->harmonics ? fit->harmonics : tone->harmonics;
    for (size_t m = 0; m < fit->channels; m++) {
        for (size_t k = 0; k <= top; k++) {
            double complex truth = 0.0;
            if (k <= tone->harmonics) {
                truth =
                    tone_get(tone, m, k) * cexp(I * TURN * fmod((double)k * tone->nu * begin, 1.0));
            }
            const double error = cabs(get_coefficient(fit, m, k) - truth) / cabs(tone->c[m][1]);
            ck_assert_msg(error <= tolerance, "channel %zu, k %zu of %zu: off by %.2g", m, k,
                fit->harmonics, error);
        }
    }
}

void tone_compare(
    const struct tone *tone, const struct periodic_fit *fit, size_t k, double *size, double *phase)
{
    const double complex a = get_coefficient(fit, 0, k), b = get_coefficient(fit, 1, k);
    const double off_a = fabs(cabs(a) / cabs(tone->c[0][k]) - 1.0);
    const double off_b = fabs(cabs(b) / cabs(tone->c[1][k]) - 1.0);
    *size = fmax(off_a, off_b);
    *phase = fabs(carg(a * conj(b) * conj(tone->c[0][k]) * tone->c[1][k]));
}
