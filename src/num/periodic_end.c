// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/periodic_parts.h"

static const double TURN = 6.283185307179586476925286766559;

static const double CYCLES_LEAST = 2.95; /* 3, but for where the last sample lies */
static const double ROUGH_MARGIN = 0.2;  /* cycles that a rough frequency may be off */

enum {
    SAMPLES_LEAST = 16,
    DIRECT_PERIOD = 2048 /* samples a cycle that a direct fit of an even record needs at first */
};

void turn_series(double complex *c, size_t harmonics, double turns)
{
    const double part = turns - round(turns);
    for (size_t k = 1; k <= harmonics; k++) {
        const double whole = (double)k * part;
        c[k] *= cexp(I * TURN * (whole - round(whole)));
    }
}

enum status periodic_fit_create(
    struct periodic_fit *fit, size_t harmonics, size_t blocks, struct error *err)
{
    struct periodic_fit fresh = {.harmonics = harmonics};
    bool complete = true;
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        fresh.coefficient[m] = memory_create(harmonics + 1, sizeof *fresh.coefficient[m]);
        complete = complete && fresh.coefficient[m] != NULL;
    }
    fresh.blocks = memory_create(blocks + 1, sizeof *fresh.blocks);
    /* all blocks' coefficients in one piece, owned by the first */
    double complex *all =
        memory_create((blocks + 1) * PERIODIC_CHANNELS * (harmonics + 1), sizeof *all);
    if (!complete || fresh.blocks == NULL || all == NULL) {
        memory_destroy(all);
        periodic_fit_clear(&fresh);
        return fail_memory(err);
    }
    for (size_t b = 0; b <= blocks; b++) {
        for (int m = 0; m < PERIODIC_CHANNELS; m++) {
            fresh.blocks[b].coefficient[m] = all;
            all += harmonics + 1;
        }
    }
    *fit = fresh;
    return STATUS_OK;
}

void periodic_fit_clear(struct periodic_fit *fit)
{
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        memory_destroy(fit->coefficient[m]);
    }
    if (fit->blocks != NULL) {
        memory_destroy(fit->blocks[0].coefficient[0]);
    }
    memory_destroy(fit->blocks);
    *fit = (struct periodic_fit){0};
}

/* The list's mean and blocks in a fit, time in samples of the list. */
static enum status join_blocks(const struct periodic *periodic, struct block_list *blocks,
    struct periodic_fit *fit, struct error *err)
{
    const struct block_line line = block_list_fit_line(blocks);
    const double frames = fmax(blocks->freedom, 1.0);
    double variance[2] = {blocks->square_sum[0] / frames, blocks->square_sum[1] / frames};
    const double noise[2] = {sqrt(variance[0]), sqrt(variance[1])};
    double weight = 0.0;
    for (size_t b = 0; b < blocks->count; b++) {
        weight += blocks->list[b].frames;
    }
    block_list_compute_mean(blocks, &line, blocks->reference);
    size_t harmonics = periodic->options.harmonics;
    if (harmonics == 0) {
        const struct rounding rounding = head_get_rounding(periodic, periodic->thinning);
        rounding_raise_variance(&rounding, blocks->nu0 + line.slope / TURN, blocks->reference,
            blocks->harmonics, weight, variance);
        harmonics = choose_harmonics(
            blocks->reference, periodic->options.channels, blocks->harmonics, weight, variance);
    }
    const enum status status = periodic_fit_create(fit, harmonics, blocks->count, err);
    if (status != STATUS_OK) {
        return status;
    }
    /* phase of the record's first sample: nominal plus the line */
    const double turns = -blocks->nu0 * blocks->origin0 + line.offset / TURN;
    fit->channels = periodic->options.channels;
    fit->frequency_Hz = blocks->nu0 + line.slope / TURN;
    fit->u_frequency_Hz = line.u_slope / TURN * sqrt(fmax(line.scatter, 1.0));
    fit->phase_drift_rad = line.largest;
    fit->phase_drift_u_rad = line.expected;
    fit->is_unsteady = !line.is_steady;
    const size_t bytes = (harmonics + 1) * sizeof(double complex);
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        fit->noise_rms[m] = noise[m];
        memcpy(fit->coefficient[m], blocks->reference[m], bytes);
        turn_series(fit->coefficient[m], harmonics, turns);
    }
    for (size_t b = 0; b < blocks->count; b++) {
        const struct block *from = &blocks->list[b];
        struct periodic_block *block = &fit->blocks[fit->block_count++];
        block->time_s = from->centre;
        block->frames = from->frames;
        block->phase = from->phase - line.offset - line.slope * from->centre;
        for (int m = 0; m < PERIODIC_CHANNELS; m++) {
            memcpy(block->coefficient[m], from->value[m], bytes);
            turn_series(block->coefficient[m], harmonics, turns);
        }
    }
    return STATUS_OK;
}

/* What averaging `thinning` samples does to harmonic k, undone. */
static void undo_thinning(struct periodic_fit *fit, size_t thinning, double nu)
{
    for (size_t k = 0; k <= fit->harmonics; k++) {
        double complex box = 0.0;
        for (size_t i = 0; i < thinning; i++) {
            box += cexp(I * TURN * (double)k * nu * (double)i);
        }
        box /= (double)thinning;
        for (int m = 0; m < PERIODIC_CHANNELS; m++) {
            fit->coefficient[m][k] /= box;
            for (size_t b = 0; b < fit->block_count; b++) {
                fit->blocks[b].coefficient[m][k] /= box;
            }
        }
    }
}

/* From samples of `step` seconds, `thinning` of the record's own each, to seconds and the record's
 * samples. */
static void scale_time(struct periodic_fit *fit, double step, size_t thinning)
{
    undo_thinning(fit, thinning, fit->frequency_Hz / (double)thinning);
    fit->frequency_Hz /= step;
    fit->u_frequency_Hz /= step;
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        fit->noise_rms[m] *= sqrt((double)thinning);
    }
    for (size_t b = 0; b < fit->block_count; b++) {
        fit->blocks[b].time_s *= step;
        fit->blocks[b].frames *= (double)thinning;
    }
}

static void undo_scale(const struct periodic *periodic, struct periodic_fit *fit)
{
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        const double back = 1.0 / periodic->scale[m];
        fit->noise_rms[m] *= back;
        for (size_t k = 0; k <= fit->harmonics; k++) {
            fit->coefficient[m][k] *= back;
        }
        for (size_t b = 0; b < fit->block_count; b++) {
            for (size_t k = 0; k <= fit->harmonics; k++) {
                fit->blocks[b].coefficient[m][k] *= back;
            }
        }
    }
}

/* A short even record in as few samples a cycle as its harmonics need. */
static enum status fit_direct_even(struct periodic *periodic, double nu, size_t *thinning,
    struct periodic_fit *fit, struct error *err)
{
    double complex *thinned = memory_create(periodic->count, sizeof *thinned);
    if (thinned == NULL) {
        return fail_memory(err);
    }
    enum status status = STATUS_OK;
    /* averages would spread what is missing */
    *thinning = periodic->has_missing ? 1 : (size_t)(1.0 / (nu * DIRECT_PERIOD));
    for (;;) {
        *thinning = *thinning < 1 ? 1 : *thinning;
        struct record record = head_get_record(periodic);
        record.count = periodic->count / *thinning;
        record.value = thinned;
        record.rounding = head_get_rounding(periodic, periodic->thinning * *thinning);
        for (size_t n = 0; n < record.count; n++) {
            double complex sum = 0.0;
            for (size_t i = 0; i < *thinning; i++) {
                sum += periodic->value[n * *thinning + i];
            }
            thinned[n] = sum / (double)*thinning;
        }
        const double thinned_nu = nu * (double)*thinning;
        status = record_fit_direct(&record, thinned_nu, fit, err);
        /* averaging over a sixteenth of the highest harmonic's cycle costs it 1.3 % of its
         * information */
        if (status != STATUS_OK || *thinning == 1 ||
            (double)fit->harmonics * fit->frequency_Hz < 1.0 / 16.0) {
            break;
        }
        periodic_fit_clear(fit);
        *thinning /= 4;
    }
    memory_destroy(thinned);
    return status;
}

static void set_failure(struct periodic *periodic, enum periodic_failure failure, const char *key,
    double value, double limit)
{
    periodic->failure = failure;
    periodic->failure_key = key;
    periodic->failure_value = value;
    periodic->failure_limit = limit;
}

enum status periodic_check_cycles(
    struct periodic *periodic, double cycles, double margin, struct error *err)
{
    if (cycles < CYCLES_LEAST - margin) {
        set_failure(periodic, PERIODIC_SHORT, "cycles", cycles, 3.0);
        return fail(err, STATUS_CAPTURE, "record at least 3 whole cycles, better 50",
            "the capture holds only %.2f cycles, 3 are needed", cycles);
    }
    return STATUS_OK;
}

enum status periodic_check_harmonics(struct periodic *periodic, double nu, struct error *err)
{
    const size_t limit = record_get_limit(nu, 0);
    if (periodic->options.harmonics > limit) {
        set_failure(periodic, PERIODIC_UNFIT, "harmonics", (double)periodic->options.harmonics,
            (double)limit);
        return fail(err, STATUS_CAPTURE, "ask for fewer harmonics or sample faster",
            "%zu harmonics were asked for, but the sampling carries only %zu",
            periodic->options.harmonics, limit);
    }
    return STATUS_OK;
}

static enum status finish_head(
    struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    double rough;
    head_settle_scale(periodic);
    const size_t usable = periodic->count - periodic->missing;
    if (usable < SAMPLES_LEAST) {
        set_failure(periodic, PERIODIC_SHORT, "samples", (double)usable, SAMPLES_LEAST);
        return fail(err, STATUS_CAPTURE, "record at least 3 whole cycles, better 50",
            "the capture holds only %zu usable samples", usable);
    }
    enum status status = head_find_rough(periodic, &rough, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double span = periodic_is_even(periodic)
                            ? (double)periodic->count
                            : periodic->time[periodic->count - 1] - periodic->time[0];
    const double cycles = rough * span;
    const double nu = cycles / (double)periodic->count;
    status = periodic_check_cycles(periodic, cycles, ROUGH_MARGIN, err);
    if (status == STATUS_OK) {
        status = periodic_check_harmonics(periodic, nu, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    size_t thinning = 1;
    if (!periodic_is_even(periodic)) {
        const struct record record = head_get_record(periodic);
        status = record_fit_direct(&record, rough, fit, err);
    } else if (cycles < FOLD_CYCLES || periodic->count < FOLD_FRAMES ||
               head_is_riddled(periodic, rough)) {
        status = fit_direct_even(periodic, rough, &thinning, fit, err);
    } else {
        const struct record record = head_get_record(periodic);
        status = record_fit_folded(&record, 1, &rough, &periodic->blocks, err);
        if (status == STATUS_OK) {
            status = join_blocks(periodic, &periodic->blocks, fit, err);
        }
    }
    if (status == STATUS_OK && periodic_is_even(periodic)) {
        thinning *= periodic->thinning;
        scale_time(fit, (double)thinning / periodic->options.sample_rate_Hz, thinning);
    }
    return status;
}

static enum status finish_stream(
    struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    enum status status = STATUS_OK;
    if (periodic_is_even(periodic)) {
        status = stream_finish(&periodic->stream, err);
    } else if ((double)periodic->count > 4.0 * (double)(2 * periodic->blocks.harmonics + 1) &&
               periodic->frequency * (periodic->time[periodic->count - 1] - periodic->time[0]) >
                   BLOCK_CYCLES) {
        status = head_fit_uneven_block(periodic, 0, periodic->count, err);
    }
    if (status == STATUS_OK) {
        status = join_blocks(periodic, &periodic->blocks, fit, err);
    }
    if (status == STATUS_OK && periodic_is_even(periodic)) {
        scale_time(
            fit, (double)periodic->thinning / periodic->options.sample_rate_Hz, periodic->thinning);
    }
    return status;
}

enum status periodic_end(struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    const enum status status = periodic->is_streaming ? finish_stream(periodic, fit, err)
                                                      : finish_head(periodic, fit, err);
    if (status != STATUS_OK) {
        periodic_fit_clear(fit);
        return status;
    }
    undo_scale(periodic, fit);
    return STATUS_OK;
}
