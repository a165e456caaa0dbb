// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/direct.h"
#include "num/record.h"

static const double TURN = 6.283185307179586476925286766559;

enum {
    SCAN_POINTS = 8192,
    SCAN_STEPS = 12, /* to each side */
    SCAN_HARMONICS = 8,
    REFINE_STEPS = 12,
    RAMP = 4,
    BLOCK_MINIMUM = 3, /* below, no scatter is worth stating */
};
static const double SCAN_REACH = 0.6; /* cycles over the record */
static const double CYCLES_MINIMUM = 3.0;
static const double FULL_SHARE = 0.75;
static const double GAP_SHARE = 0.95;
static const double COVER_LEAST = 0.9;  /* of a block's samples that must be there */
static const double ROUGH_MARGIN = 1.1; /* how far off a frequency may be before it is refined */

/* The known samples of a record. */
struct known {
    size_t count;
    double *time;
    double complex *value;
};

static void known_clear(struct known *known)
{
    memory_destroy(known->time);
    memory_destroy(known->value);
}

/* Drops missing samples; of runs of `thinning` what is there is averaged, times too. */
static enum status known_init(
    struct known *known, const struct record *record, size_t thinning, struct error *err)
{
    const size_t limit = record->count / thinning;
    *known = (struct known){.time = memory_create(limit + 1, sizeof *known->time),
        .value = memory_create(limit + 1, sizeof *known->value)};
    if (known->time == NULL || known->value == NULL) {
        known_clear(known);
        return fail_memory(err);
    }
    for (size_t n = 0; n < limit; n++) {
        double time = 0.0, found = 0.0;
        double complex value = 0.0;
        for (size_t i = n * thinning; i < (n + 1) * thinning; i++) {
            const double here = record->time == NULL ? (double)i : record->time[i];
            const double complex sample = record->value[i];
            if (isfinite(here) && isfinite(creal(sample)) && isfinite(cimag(sample))) {
                time += here;
                value += sample;
                found += 1.0;
            }
        }
        if (found > 0.0) {
            known->time[known->count] = time / found;
            known->value[known->count++] = value / found;
        }
    }
    return STATUS_OK;
}

static int compare_numbers(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Samples in a unit of time, by which the harmonics are counted that the sampling carries: those of
 * the grid where there is one, however many are missing from it. Else, where few are missing, what
 * the clock would give without gaps (one over the median step), so that a gap does not cost
 * harmonics; else the mean. */
static enum status find_rate(
    const struct record *record, const struct known *known, double *rate, struct error *err)
{
    if (record->time == NULL || record->grid_step > 0.0) {
        *rate = record->time == NULL ? 1.0 : 1.0 / record->grid_step;
        return STATUS_OK;
    }
    const size_t steps = known->count - 1;
    const double span = known->time[steps] - known->time[0];
    double *step = memory_create(steps, sizeof *step);
    if (step == NULL) {
        return fail_memory(err);
    }
    for (size_t n = 0; n < steps; n++) {
        step[n] = known->time[n + 1] - known->time[n];
    }
    qsort(step, steps, sizeof *step, compare_numbers);
    const double median = step[steps / 2];
    *rate = median * (double)steps > FULL_SHARE * span ? 1.0 / median : (double)steps / span;
    memory_destroy(step);
    return STATUS_OK;
}

static struct direct_points get_points(const struct known *known, size_t first, size_t count)
{
    return (struct direct_points){
        .count = count, .time = known->time + first, .value = known->value + first};
}

/* A direct fit with the arrays of its result. */
struct fitter {
    struct direct *direct;
    struct direct_result result;
};

static void fitter_clear(struct fitter *fitter)
{
    direct_destroy(fitter->direct);
    memory_destroy(fitter->result.coefficient[0]);
    memory_destroy(fitter->result.coefficient[1]);
    *fitter = (struct fitter){0};
}

static enum status fitter_init(
    struct fitter *fitter, size_t harmonics, size_t count, struct error *err)
{
    *fitter = (struct fitter){.direct = direct_create(harmonics, count)};
    for (int m = 0; m < 2; m++) {
        fitter->result.coefficient[m] =
            memory_create(harmonics + 1, sizeof *fitter->result.coefficient[m]);
    }
    if (fitter->direct == NULL || fitter->result.coefficient[0] == NULL ||
        fitter->result.coefficient[1] == NULL) {
        fitter_clear(fitter);
        return fail_memory(err);
    }
    return STATUS_OK;
}

/* How many harmonics the samples carry: at least two samples stand against each unknown. */
static size_t find_limit(const struct known *known, double nu, size_t fixed)
{
    const size_t limit = record_get_safe_limit(nu, (double)known->count, fixed);
    const size_t most = fixed > 0 ? limit : known->count / 4;
    return limit < most ? limit : most;
}

/* What the widest gap between the samples' phases allows where samples are missing or uneven: when
 * all of a few cycles lack the same phase, the highest harmonics may do there what they like. One
 * such place in an even grid stays determined up to nearly all of its harmonics. */
static enum status find_gap_limit(
    const struct known *known, double frequency, size_t *limit, struct error *err)
{
    double *phase = memory_create(known->count, sizeof *phase);
    if (phase == NULL) {
        return fail_memory(err);
    }
    for (size_t n = 0; n < known->count; n++) {
        const double turns = frequency * known->time[n];
        phase[n] = turns - floor(turns);
    }
    qsort(phase, known->count, sizeof *phase, compare_numbers);
    double widest = phase[0] + 1.0 - phase[known->count - 1];
    for (size_t n = 1; n < known->count; n++) {
        widest = fmax(widest, phase[n] - phase[n - 1]);
    }
    memory_destroy(phase);
    const double most = floor(GAP_SHARE / widest);
    *limit = (size_t)fmax(1.0, fmin(most, HARMONICS_LIMIT));
    return STATUS_OK;
}

/* Tries frequencies around the rough one with few harmonics: Gauss-Newton needs a start within a
 * quarter of a cycle. */
static enum status scan(const struct record *record, double *frequency, struct error *err)
{
    struct known known;
    const size_t thinning = 1 + (record->count - 1) / SCAN_POINTS;
    enum status status = known_init(&known, record, thinning, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double span = known.time[known.count - 1] - known.time[0];
    double rate;
    status = find_rate(record, &known, &rate, err);
    if (status != STATUS_OK) {
        known_clear(&known);
        return status;
    }
    size_t harmonics = find_limit(&known, *frequency / rate, 0);
    harmonics = harmonics < SCAN_HARMONICS ? harmonics : SCAN_HARMONICS;
    struct fitter fitter;
    status = fitter_init(&fitter, harmonics, known.count, err);
    if (status == STATUS_OK) {
        const struct direct_points points = get_points(&known, 0, known.count);
        double best = INFINITY, winner = *frequency;
        for (int i = -SCAN_STEPS; i <= SCAN_STEPS; i++) {
            const double f = *frequency + SCAN_REACH / span * (double)i / SCAN_STEPS;
            if (f * span < 0.5 * CYCLES_MINIMUM) {
                continue;
            }
            direct_solve(fitter.direct, &points, f, &fitter.result);
            double cost = 0.0;
            for (size_t m = 0; m < record->channels; m++) {
                cost += log(fitter.result.square_sum[m] + 1e-300);
            }
            winner = cost < best ? f : winner;
            best = fmin(best, cost);
        }
        *frequency = winner;
        fitter_clear(&fitter);
    }
    known_clear(&known);
    return status;
}

/* More and more harmonics, each time a better frequency: a high one turns far when the frequency is
 * off. How many the sampling carries is known for good once the frequency is. */
static enum status ramp(const struct record *record, const struct known *known, double *frequency,
    double rate, size_t *harmonics, struct error *err)
{
    const size_t channels = record->channels, fixed = record->fixed_harmonics;
    const bool has_gaps = record->time != NULL || known->count < record->count;
    const double frames = (double)known->count;
    size_t limit = find_limit(known, *frequency * ROUGH_MARGIN / rate, fixed);
    size_t k = SCAN_HARMONICS < limit ? SCAN_HARMONICS : limit;
    for (bool is_last = false; !is_last;) {
        struct fitter fitter;
        enum status status = fitter_init(&fitter, k, known->count, err);
        if (status != STATUS_OK) {
            return status;
        }
        const struct direct_points points = get_points(known, 0, known->count);
        double u;
        direct_refine(fitter.direct, &points, REFINE_STEPS, frequency, &u, &fitter.result);
        limit = find_limit(known, *frequency / rate, fixed);
        if (has_gaps && fixed == 0) {
            size_t gap_limit = limit;
            status = find_gap_limit(known, *frequency, &gap_limit, err);
            limit = gap_limit < limit ? gap_limit : limit;
            if (status != STATUS_OK) {
                fitter_clear(&fitter);
                return status;
            }
        }
        is_last = k >= limit;
        if (is_last) {
            double variance[2];
            for (int m = 0; m < 2; m++) {
                variance[m] = fitter.result.square_sum[m] / fitter.result.freedom;
            }
            rounding_raise_variance(
                &record->rounding, *frequency, fitter.result.coefficient, k, frames, variance);
            *harmonics = fixed > 0 ? fixed
                                   : choose_harmonics(
                                         fitter.result.coefficient, channels, k, frames, variance);
        }
        fitter_clear(&fitter);
        k = RAMP * k < limit ? RAMP * k : limit;
    }
    return STATUS_OK;
}

static double complex compute_product(
    const struct periodic_fit *fit, double complex *const value[2])
{
    double complex product = 0.0;
    for (size_t m = 0; m < fit->channels; m++) {
        const double scale = fit->noise_rms[m] > 0.0 ? fit->noise_rms[m] : 1.0;
        product += conj(fit->coefficient[m][1]) * value[m][1] / (scale * scale);
    }
    return product;
}

/* Each run of `cycles` cycles fitted alone at the record's frequency; runs with a gap, in which the
 * harmonics would be loose, are left out. */
static void fit_blocks(const struct known *known, double rate, size_t cycles, struct fitter *fitter,
    struct periodic_fit *fit)
{
    const double length = (double)cycles / fit->frequency_Hz;
    const double begin = known->time[0];
    const double least = fmax((double)(2 * fit->harmonics + 2), COVER_LEAST * length * rate);
    size_t first = 0;
    for (size_t b = 0; first < known->count; b++) {
        const double end = begin + (double)(b + 1) * length;
        size_t last = first;
        while (last < known->count && known->time[last] < end) {
            last++;
        }
        const bool is_whole = last < known->count ||
                              known->time[known->count - 1] + length * 1e-3 / (double)cycles > end;
        if (is_whole && (double)(last - first) >= least && fit->block_count < (size_t)fit->cycles) {
            const struct direct_points points = get_points(known, first, last - first);
            direct_solve(fitter->direct, &points, fit->frequency_Hz, &fitter->result);
            struct periodic_block *block = &fit->blocks[fit->block_count++];
            block->time_s = fitter->result.centre;
            block->frames = (double)(last - first);
            for (size_t m = 0; m < 2; m++) {
                memcpy(block->coefficient[m], fitter->result.coefficient[m],
                    (fit->harmonics + 1) * sizeof(double complex));
                turn_series(block->coefficient[m], fit->harmonics,
                    -fit->frequency_Hz * fitter->result.centre);
            }
            block->phase = carg(compute_product(fit, block->coefficient));
            turn_series(block->coefficient[0], fit->harmonics, -block->phase / TURN);
            turn_series(block->coefficient[1], fit->harmonics, -block->phase / TURN);
        }
        first = last;
    }
}

static void set_drift(struct periodic_fit *fit)
{
    double information = 0.0;
    for (size_t m = 0; m < fit->channels; m++) {
        const double noise = fit->noise_rms[m];
        const double size = cabs(fit->coefficient[m][1]);
        information += noise > 0.0 ? size * size / (2.0 * noise * noise) : 0.0;
    }
    for (size_t b = 0; b < fit->block_count; b++) {
        const double rest = fabs(fit->blocks[b].phase);
        fit->phase_drift_rad = fmax(fit->phase_drift_rad, rest);
    }
    if (fit->block_count > 0 && information > 0.0) {
        fit->phase_drift_u_rad = 1.0 / sqrt(information * fit->blocks[0].frames);
    }
}

static enum status finish(const struct record *record, const struct known *known, double rate,
    struct fitter *fitter, double frequency, double u, size_t harmonics, struct periodic_fit *fit,
    struct error *err)
{
    const double span = known->time[known->count - 1] - known->time[0];
    const double step = span / (double)(known->count - 1);
    const double cycles = (span + step) * frequency;
    /* a block must hold twice the unknowns, so that it stands on its own */
    const double need = 2.0 * (double)(2 * harmonics + 1) * step * frequency;
    const size_t run = (size_t)ceil(need);
    const size_t blocks = (size_t)(cycles * (1.0 + 1e-9)) / run;
    enum status status = periodic_fit_create(fit, harmonics, blocks, err);
    if (status != STATUS_OK) {
        return status;
    }
    fit->channels = record->channels;
    fit->frequency_Hz = frequency;
    fit->u_frequency_Hz = u;
    fit->frames = (double)known->count;
    fit->duration_s = span + step;
    fit->cycles = cycles;
    fit->samples_per_cycle = 1.0 / (frequency * step);
    for (size_t m = 0; m < 2; m++) {
        fit->noise_rms[m] = sqrt(fitter->result.square_sum[m] / fitter->result.freedom);
        memcpy(fit->coefficient[m], fitter->result.coefficient[m],
            (harmonics + 1) * sizeof(double complex));
        turn_series(fit->coefficient[m], harmonics, -frequency * fitter->result.centre);
    }
    if (blocks >= BLOCK_MINIMUM) {
        /* where many are missing everywhere, no run is whole */
        const double mean = 1.0 / step;
        fit_blocks(known, mean > FULL_SHARE * rate ? rate : mean, run, fitter, fit);
    }
    set_drift(fit);
    return status;
}

enum status record_fit_direct(
    const struct record *record, double frequency, struct periodic_fit *fit, struct error *err)
{
    struct known known;
    enum status status = known_init(&known, record, 1, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct fitter fitter = {0};
    size_t harmonics = 0;
    double u = 0.0;
    double rate;
    status = find_rate(record, &known, &rate, err);
    if (status == STATUS_OK) {
        status = scan(record, &frequency, err);
    }
    if (status == STATUS_OK) {
        status = ramp(record, &known, &frequency, rate, &harmonics, err);
    }
    if (status == STATUS_OK) {
        status = fitter_init(&fitter, harmonics, known.count, err);
    }
    if (status == STATUS_OK) {
        const struct direct_points points = get_points(&known, 0, known.count);
        direct_refine(fitter.direct, &points, REFINE_STEPS, &frequency, &u, &fitter.result);
        status = finish(record, &known, rate, &fitter, frequency, u, harmonics, fit, err);
    }
    fitter_clear(&fitter);
    known_clear(&known);
    return status;
}
