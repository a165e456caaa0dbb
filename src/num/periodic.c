// SPDX-License-Identifier: GPL-3.0-or-later
/* The estimator's frame: the head of a record is kept until its frequency is known, then the rest
 * streams through.
 *
 *   even, up to 2^20 samples         in memory: record_fit_folded (many cycles) or
 * record_fit_direct even, longer                     the head fixes frequency and harmonics;
 * stream.c folds it and all that follows even, fewer than 64 cycles in the head   neighbours are
 * averaged by pairs (its effect on each harmonic is undone at the end) until the head holds them
 *   uneven, up to 2^19 samples       record_fit_direct
 *   uneven, longer                   blocks fitted directly, then joined as the others
 *
 * docs/estimator.md weighs the alternatives. */
#include "num/periodic.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/direct.h"
#include "num/record.h"
#include "num/rough.h"
#include "num/stream.h"

static const double TURN = 6.283185307179586476925286766559;

enum {
    HEAD_EVEN = 1 << 20,
    HEAD_UNEVEN = 1 << 19,
    HEAD_FIRST = 1 << 12,
    BLOCK_FRAMES = 1 << 16,
    BLOCK_CYCLES = 4,
    UNEVEN_BLOCKS = 8,     /* that the head is cut into */
    FOLD_CYCLES = 32,      /* fewer are fitted directly */
    FOLD_FRAMES = 1 << 15, /* so are shorter records */
    STREAM_CYCLES = 64,
    STREAM_MARGIN = 8,    /* times the harmonics that the head shows */
    DIRECT_PERIOD = 2048, /* samples a cycle that a direct fit of an even record needs at first */
    CHUNK = 4096,
    SCALE_LEAST = 12, /* binary orders that two channels may be apart before they are scaled */
};

struct periodic {
    struct periodic_options options;
    double complex *value; /* the head */
    double *time;          /* NULL when even */
    size_t count, capacity;
    bool has_missing;
    size_t missing; /* in the head */
    double taken;   /* samples given to periodic_add */
    double last_time, first_time;
    bool has_time;
    double scale[2]; /* powers of two that bring both channels near 1, once the head is known */
    bool has_scale;
    /* averaging by 2^n before everything else */
    size_t thinning;
    double complex thin_sum;
    size_t thin_count;
    /* after the head */
    bool is_streaming;
    double frequency; /* uneven: cycles per second */
    struct stream stream;
    struct block_list blocks;
    double index_step;     /* an even record taken as uneven: its step, s; 0: times are given */
    double complex *pairs; /* CHUNK of them */
    enum periodic_failure failure;
};

struct periodic *periodic_create(const struct periodic_options *options, struct error *err)
{
    struct periodic *periodic = memory_create(1, sizeof *periodic);
    if (periodic != NULL) {
        periodic->options = *options;
        periodic->thinning = 1;
        periodic->scale[0] = periodic->scale[1] = 1.0;
        periodic->pairs = memory_create(CHUNK, sizeof *periodic->pairs);
    }
    if (periodic == NULL || periodic->pairs == NULL) {
        periodic_destroy(periodic);
        (void)fail_memory(err);
        return NULL;
    }
    return periodic;
}

void periodic_destroy(struct periodic *periodic)
{
    if (periodic == NULL) {
        return;
    }
    stream_clear(&periodic->stream);
    block_list_clear(&periodic->blocks);
    memory_destroy(periodic->value);
    memory_destroy(periodic->time);
    memory_destroy(periodic->pairs);
    memory_destroy(periodic);
}

static bool is_even(const struct periodic *periodic)
{
    return periodic->options.sample_rate_Hz > 0.0;
}

/* The channels travel as real and imaginary part through the same transforms, whose rounding is
 * that of the larger: 20 mV beside 500 kA/m would keep 8 digits. Powers of two bring both near 1
 * and change no digit. */
static void settle_scale(struct periodic *periodic)
{
    if (periodic->has_scale) {
        return;
    }
    double largest[2] = {0.0, 0.0};
    for (size_t n = 0; n < periodic->count; n++) {
        const double a = fabs(creal(periodic->value[n])), b = fabs(cimag(periodic->value[n]));
        largest[0] = a > largest[0] ? a : largest[0];
        largest[1] = b > largest[1] ? b : largest[1];
    }
    periodic->has_scale = true;
    if (!(largest[0] > 0.0 && largest[1] > 0.0 &&
            abs(ilogb(largest[0]) - ilogb(largest[1])) > SCALE_LEAST)) {
        return; /* alike enough as they are, such as any two inputs of a sound card */
    }
    for (int m = 0; m < 2; m++) {
        periodic->scale[m] = ldexp(1.0, -ilogb(largest[m]));
    }
    for (size_t n = 0; n < periodic->count; n++) {
        periodic->value[n] = CMPLX(creal(periodic->value[n]) * periodic->scale[0],
            cimag(periodic->value[n]) * periodic->scale[1]);
    }
    periodic->thin_sum = CMPLX(creal(periodic->thin_sum) * periodic->scale[0],
        cimag(periodic->thin_sum) * periodic->scale[1]);
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

static struct record get_record(const struct periodic *periodic)
{
    return (struct record){.channels = periodic->options.channels,
        .count = periodic->count,
        .value = periodic->value,
        .time = is_even(periodic) ? NULL : periodic->time,
        .has_missing = periodic->has_missing,
        .fixed_harmonics = periodic->options.harmonics};
}

static enum status reserve_head(struct periodic *periodic, size_t more, struct error *err)
{
    const size_t wanted = periodic->count + more;
    if (wanted <= periodic->capacity) {
        return STATUS_OK;
    }
    size_t capacity = periodic->capacity < HEAD_FIRST ? HEAD_FIRST : periodic->capacity;
    while (capacity < wanted) {
        capacity *= 2;
    }
    double complex *value = memory_resize(periodic->value, capacity, sizeof *value);
    periodic->value = value != NULL ? value : periodic->value;
    double *time = periodic->time;
    if (value != NULL && !is_even(periodic)) {
        time = memory_resize(periodic->time, capacity, sizeof *time);
        periodic->time = time != NULL ? time : periodic->time;
    }
    if (value == NULL || (time == NULL && !is_even(periodic))) {
        return fail_memory(err);
    }
    periodic->capacity = capacity;
    return STATUS_OK;
}

/* Frequency of what is in the head: cycles per sample (even) or per second. */
static enum status find_rough(const struct periodic *periodic, double *frequency, struct error *err)
{
    if (is_even(periodic)) {
        return rough_find_frequency(periodic->value, periodic->count, frequency, err);
    }
    /* an even grid of as many places as there are samples, each sample in the nearest */
    const double begin = periodic->time[0];
    const double step =
        (periodic->time[periodic->count - 1] - begin) / (double)(periodic->count - 1);
    double complex *grid = memory_create(periodic->count, sizeof *grid);
    if (grid == NULL) {
        return fail_memory(err);
    }
    for (size_t n = 0; n < periodic->count; n++) {
        grid[n] = CMPLX(NAN, NAN);
    }
    for (size_t n = 0; n < periodic->count; n++) {
        const double place = round((periodic->time[n] - begin) / step);
        grid[place < (double)periodic->count ? (size_t)place : periodic->count - 1] =
            periodic->value[n];
    }
    const enum status status = rough_find_frequency(grid, periodic->count, frequency, err);
    memory_destroy(grid);
    *frequency = status == STATUS_OK ? *frequency / step : *frequency;
    return status;
}

static enum status stream_head(struct periodic *periodic, double nu, struct error *err)
{
    struct record record = get_record(periodic);
    enum status status = record_fit_folded(&record, STREAM_MARGIN, &nu, &periodic->blocks, err);
    if (status != STATUS_OK) {
        return status;
    }
    /* the head's blocks give the reference; then the head goes through the stream like all else */
    const struct block_line line = block_list_fit_line(&periodic->blocks);
    struct block_list head = periodic->blocks;
    periodic->blocks = (struct block_list){0};
    status = block_list_init(&periodic->blocks, head.harmonics, nu, 0.0, err);
    if (status == STATUS_OK) {
        const double variance[2] = {
            head.square_sum[0] / head.freedom, head.square_sum[1] / head.freedom};
        block_list_compute_mean(&head, &line, head.reference);
        block_list_set_reference(&periodic->blocks, head.reference, head.harmonics, variance);
        const size_t least = (size_t)(BLOCK_CYCLES / nu);
        status = stream_init(&periodic->stream, &periodic->blocks, nu, 0.0,
            least > BLOCK_FRAMES ? least : BLOCK_FRAMES, true, err);
    }
    block_list_clear(&head);
    if (status == STATUS_OK) {
        status = stream_add(&periodic->stream, (const double *)periodic->value, periodic->count,
            periodic->has_missing, err);
        periodic->is_streaming = true;
        memory_destroy(periodic->value);
        periodic->value = NULL;
        periodic->count = periodic->capacity = 0;
    }
    return status;
}

static void halve_head(struct periodic *periodic)
{
    if (periodic->count % 2 == 1) { /* the odd one begins the next run */
        const double complex last = periodic->value[periodic->count - 1];
        periodic->thin_sum += last * (double)periodic->thinning;
        periodic->thin_count += periodic->thinning;
    }
    for (size_t n = 0; n < periodic->count / 2; n++) {
        periodic->value[n] = 0.5 * (periodic->value[2 * n] + periodic->value[2 * n + 1]);
    }
    periodic->count /= 2;
    periodic->thinning *= 2;
}

/* A block of the uneven record: all that is in the head now. */
static enum status fit_uneven_block(
    struct periodic *periodic, size_t first, size_t count, struct error *err)
{
    struct block_list *blocks = &periodic->blocks;
    struct direct *direct = direct_create(blocks->harmonics, count);
    double complex *value[2] = {memory_create(blocks->harmonics + 1, sizeof **value),
        memory_create(blocks->harmonics + 1, sizeof **value)};
    enum status status = STATUS_OK;
    if (direct == NULL || value[0] == NULL || value[1] == NULL) {
        status = fail_memory(err);
    } else {
        const struct direct_points points = {
            .count = count, .time = periodic->time + first, .value = periodic->value + first};
        struct direct_result result = {.coefficient = {value[0], value[1]}};
        double phase;
        direct_solve(direct, &points, periodic->frequency, &result);
        const double turns = blocks->nu0 * (result.centre - blocks->origin0);
        turn_series(value[0], blocks->harmonics, -turns);
        turn_series(value[1], blocks->harmonics, -turns);
        blocks->square_sum[0] += result.square_sum[0];
        blocks->square_sum[1] += result.square_sum[1];
        blocks->freedom += result.freedom;
        status = block_list_add(
            blocks, value, result.centre, (double)count, blocks->nu0, blocks->origin0, &phase, err);
    }
    direct_destroy(direct);
    memory_destroy(value[0]);
    memory_destroy(value[1]);
    return status;
}

/* The head of a long uneven record: its own direct fit gives frequency, harmonics and reference. */
static enum status start_uneven(struct periodic *periodic, struct error *err)
{
    double frequency;
    enum status status = find_rough(periodic, &frequency, err);
    const double span = periodic->time[periodic->count - 1] - periodic->time[0];
    if (status != STATUS_OK) {
        periodic->failure = PERIODIC_ABSENT;
        return status;
    }
    if (frequency * span < BLOCK_CYCLES * UNEVEN_BLOCKS) {
        periodic->failure = PERIODIC_UNFIT;
        return fail(err, STATUS_CAPTURE,
            "record with an even clock, or thin the table before reading it",
            "uneven sampling with fewer than %d cycles in %d rows", BLOCK_CYCLES * UNEVEN_BLOCKS,
            HEAD_UNEVEN);
    }
    struct periodic_fit fit = {0};
    struct record record = get_record(periodic);
    record.count = periodic->count / UNEVEN_BLOCKS;
    status = record_fit_direct(&record, frequency, &fit, err);
    if (status == STATUS_OK) {
        size_t harmonics = periodic->options.harmonics;
        if (harmonics == 0) {
            const size_t limit = record_get_limit(1.0 / fit.samples_per_cycle, 0);
            harmonics = STREAM_MARGIN * fit.harmonics;
            harmonics = harmonics < limit ? harmonics : limit;
        }
        periodic->frequency = fit.frequency_Hz;
        status = block_list_init(&periodic->blocks, harmonics, fit.frequency_Hz, 0.0, err);
        if (status == STATUS_OK) {
            const double variance[2] = {
                fit.noise_rms[0] * fit.noise_rms[0], fit.noise_rms[1] * fit.noise_rms[1]};
            block_list_set_reference(&periodic->blocks, fit.coefficient, fit.harmonics, variance);
        }
        periodic_fit_clear(&fit);
    }
    periodic->is_streaming = status == STATUS_OK;
    return status;
}

/* Folding leaves out every row of whole cycles that lacks a sample: too many, when more than a
 * fifth of the rows would go. */
static bool is_riddled(const struct periodic *periodic, double nu)
{
    const double row = 1.0 / nu > 256.0 ? 1.0 / nu : 256.0;
    return (double)periodic->missing * row > 0.2 * (double)periodic->count;
}

/* From here on the record counts as unevenly sampled: samples that are there, with their times. */
static enum status become_uneven(struct periodic *periodic, struct error *err)
{
    periodic->time = memory_create(periodic->capacity, sizeof *periodic->time);
    if (periodic->time == NULL) {
        return fail_memory(err);
    }
    periodic->index_step = 1.0 / periodic->options.sample_rate_Hz;
    periodic->options.sample_rate_Hz = 0.0;
    size_t known = 0;
    for (size_t n = 0; n < periodic->count; n++) {
        const double complex value = periodic->value[n];
        if (isfinite(creal(value)) && isfinite(cimag(value))) {
            periodic->time[known] = (double)n * periodic->index_step;
            periodic->value[known++] = value;
        }
    }
    periodic->count = known;
    periodic->has_time = true;
    periodic->first_time = 0.0;
    periodic->last_time = periodic->time[known - 1];
    return STATUS_OK;
}

static enum status take_full_head(struct periodic *periodic, struct error *err)
{
    enum status status = STATUS_OK;
    settle_scale(periodic);
    if (!is_even(periodic)) {
        if (!periodic->is_streaming) {
            status = start_uneven(periodic, err);
        }
        const size_t part = periodic->count / UNEVEN_BLOCKS;
        for (size_t b = 0; status == STATUS_OK && b < UNEVEN_BLOCKS; b++) {
            status = fit_uneven_block(periodic, b * part, part, err);
        }
        periodic->count = 0;
        return status;
    }
    double nu;
    status = find_rough(periodic, &nu, err);
    if (status == STATUS_OK && nu * (double)periodic->count >= STREAM_CYCLES) {
        if (periodic->thinning == 1 && is_riddled(periodic, nu)) {
            return become_uneven(periodic, err);
        }
        return stream_head(periodic, nu, err);
    }
    if (status == STATUS_OK || status == STATUS_CAPTURE) {
        halve_head(periodic); /* too slow, or not seen yet: look at more of it */
        return STATUS_OK;
    }
    return status;
}

static enum status add_even(struct periodic *periodic, const double complex *pairs, size_t count,
    bool has_missing, struct error *err)
{
    periodic->has_missing |= has_missing;
    if (periodic->is_streaming) {
        return stream_add(&periodic->stream, (const double *)pairs, count, has_missing, err);
    }
    enum status status = reserve_head(periodic, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    memcpy(periodic->value + periodic->count, pairs, count * sizeof *pairs);
    for (size_t n = 0; has_missing && n < count; n++) {
        periodic->missing += !isfinite(creal(pairs[n])) || !isfinite(cimag(pairs[n]));
    }
    periodic->count += count;
    return periodic->count >= HEAD_EVEN ? take_full_head(periodic, err) : STATUS_OK;
}

/* Averages runs of `thinning` samples in place; gives how many came out. */
static size_t thin(struct periodic *periodic, double complex *pairs, size_t count)
{
    size_t out = 0;
    for (size_t n = 0; n < count; n++) {
        periodic->thin_sum += pairs[n];
        if (++periodic->thin_count == periodic->thinning) {
            pairs[out++] = periodic->thin_sum / (double)periodic->thinning;
            periodic->thin_sum = 0.0;
            periodic->thin_count = 0;
        }
    }
    return out;
}

/* Whether anything is not a finite number: it spoils the sum. */
static bool has_missing_value(const double *values, size_t count)
{
    double sum[16] = {0.0};
    size_t n = 0;
    for (; n + 16 <= count; n += 16) {
        for (size_t i = 0; i < 16; i++) {
            sum[i] += values[n + i];
        }
    }
    for (; n < count; n++) {
        sum[0] += values[n];
    }
    for (size_t i = 1; i < 16; i++) {
        sum[0] += sum[i];
    }
    return !isfinite(sum[0]);
}

static bool copy_pairs(struct periodic *periodic, const double *values, size_t count)
{
    double check = 0.0;
    const size_t channels = periodic->options.channels;
    const double *scale = periodic->scale;
    for (size_t n = 0; n < count; n++) {
        const double a = values[n * channels] * scale[0];
        const double b = channels > 1 ? values[n * channels + 1] * scale[1] : 0.0;
        check += (a + b) * 0.0;
        periodic->pairs[n] = CMPLX(a, b);
    }
    return !(check == 0.0);
}

/* `first` is the index of the first of them in the record. */
static enum status add_uneven(struct periodic *periodic, const double *values, const double *times,
    double first, size_t count, struct error *err)
{
    enum status status = reserve_head(periodic, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t channels = periodic->options.channels;
    for (size_t n = 0; n < count; n++) {
        const double a = values[n * channels], b = channels > 1 ? values[n * channels + 1] : 0.0;
        const double time =
            periodic->index_step > 0.0 ? (first + (double)n) * periodic->index_step : times[n];
        if (!isfinite(a) || !isfinite(b) || !isfinite(time)) {
            continue;
        }
        if (!periodic->has_time) {
            periodic->first_time = time;
            periodic->has_time = true;
        }
        periodic->last_time = time;
        periodic->time[periodic->count] = time - periodic->first_time;
        periodic->value[periodic->count++] = CMPLX(a * periodic->scale[0], b * periodic->scale[1]);
    }
    return periodic->count >= HEAD_UNEVEN ? take_full_head(periodic, err) : STATUS_OK;
}

enum status periodic_add(struct periodic *periodic, const double *values, const double *times,
    size_t frames, struct error *err)
{
    const double first = periodic->taken;
    periodic->taken += (double)frames;
    for (size_t done = 0; done < frames;) {
        const size_t part = frames - done < CHUNK ? frames - done : CHUNK;
        const double *here = values + done * periodic->options.channels;
        enum status status;
        if (periodic->is_streaming && is_even(periodic) && periodic->thinning == 1 &&
            periodic->scale[0] == 1.0 && periodic->scale[1] == 1.0 &&
            periodic->options.channels == 2) {
            /* the usual long record: its samples are folded from where they lie */
            status =
                stream_add(&periodic->stream, here, part, has_missing_value(here, 2 * part), err);
        } else if (is_even(periodic)) {
            const bool has_missing = copy_pairs(periodic, here, part);
            const size_t count =
                periodic->thinning > 1 ? thin(periodic, periodic->pairs, part) : part;
            status = add_even(periodic, periodic->pairs, count, has_missing, err);
        } else {
            status = add_uneven(periodic, here, times == NULL ? NULL : times + done,
                first + (double)done, part, err);
        }
        if (status != STATUS_OK) {
            return status;
        }
        done += part;
    }
    return STATUS_OK;
}

/* ---- the end ---- */

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
    const double frames = blocks->freedom > 0.0 ? blocks->freedom : 1.0;
    const double variance[2] = {blocks->square_sum[0] / frames, blocks->square_sum[1] / frames};
    double weight = 0.0;
    for (size_t b = 0; b < blocks->count; b++) {
        weight += blocks->list[b].frames;
    }
    block_list_compute_mean(blocks, &line, blocks->reference);
    size_t harmonics = periodic->options.harmonics;
    if (harmonics == 0) {
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
    fit->u_frequency_Hz = line.u_slope / TURN * sqrt(line.scatter > 1.0 ? line.scatter : 1.0);
    fit->phase_drift_rad = line.largest;
    fit->phase_drift_u_rad = line.expected;
    fit->is_unsteady = !line.is_steady;
    const size_t bytes = (harmonics + 1) * sizeof(double complex);
    for (int m = 0; m < PERIODIC_CHANNELS; m++) {
        fit->noise_rms[m] = sqrt(variance[m]);
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
    if (thinning > 1) {
        undo_thinning(fit, thinning, fit->frequency_Hz / (double)thinning);
    }
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
        struct record record = get_record(periodic);
        record.count = periodic->count / *thinning;
        record.value = thinned;
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

static enum status check_enough(
    struct periodic *periodic, double cycles, double nu, struct error *err)
{
    if (cycles < 2.95) {
        periodic->failure = PERIODIC_SHORT;
        return fail(err, STATUS_CAPTURE, "record at least 3 whole cycles, better 50",
            "the capture holds only %.2f cycles, 3 are needed", cycles);
    }
    const size_t limit = record_get_limit(nu, 0);
    if (periodic->options.harmonics > limit) {
        periodic->failure = PERIODIC_UNFIT;
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
    settle_scale(periodic);
    if (periodic->count < 16) {
        periodic->failure = PERIODIC_SHORT;
        return fail(err, STATUS_CAPTURE, "record at least 3 whole cycles, better 50",
            "the capture holds only %zu usable samples", periodic->count);
    }
    enum status status = find_rough(periodic, &rough, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double span = is_even(periodic) ? (double)periodic->count
                                          : periodic->time[periodic->count - 1] - periodic->time[0];
    const double cycles = rough * span;
    const double nu = cycles / (double)periodic->count;
    status = check_enough(periodic, cycles + 0.2, nu, err);
    if (status != STATUS_OK) {
        return status;
    }
    size_t thinning = 1;
    if (!is_even(periodic)) {
        const struct record record = get_record(periodic);
        status = record_fit_direct(&record, rough, fit, err);
    } else if (cycles < FOLD_CYCLES || periodic->count < FOLD_FRAMES ||
               is_riddled(periodic, rough)) {
        status = fit_direct_even(periodic, rough, &thinning, fit, err);
    } else {
        const struct record record = get_record(periodic);
        status = record_fit_folded(&record, 1, &rough, &periodic->blocks, err);
        if (status == STATUS_OK) {
            status = join_blocks(periodic, &periodic->blocks, fit, err);
        }
    }
    if (status == STATUS_OK && is_even(periodic)) {
        thinning *= periodic->thinning;
        scale_time(fit, (double)thinning / periodic->options.sample_rate_Hz, thinning);
    }
    return status;
}

static enum status finish_stream(
    struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    enum status status = STATUS_OK;
    if (is_even(periodic)) {
        status = stream_finish(&periodic->stream, err);
    } else if ((double)periodic->count > 4.0 * (double)(2 * periodic->blocks.harmonics + 1) &&
               periodic->frequency * (periodic->time[periodic->count - 1] - periodic->time[0]) >
                   BLOCK_CYCLES) {
        status = fit_uneven_block(periodic, 0, periodic->count, err);
    }
    if (status == STATUS_OK) {
        status = join_blocks(periodic, &periodic->blocks, fit, err);
    }
    if (status == STATUS_OK && is_even(periodic)) {
        scale_time(
            fit, (double)periodic->thinning / periodic->options.sample_rate_Hz, periodic->thinning);
    }
    return status;
}

enum periodic_failure periodic_get_failure(const struct periodic *periodic)
{
    return periodic->failure;
}

enum status periodic_finish(struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    struct periodic_fit result = {0};
    const enum status status = periodic->is_streaming ? finish_stream(periodic, &result, err)
                                                      : finish_head(periodic, &result, err);
    if (status != STATUS_OK) {
        periodic_fit_clear(&result);
        return status;
    }
    undo_scale(periodic, &result);
    result.frames = periodic->taken;
    if (is_even(periodic)) {
        result.duration_s = periodic->taken / periodic->options.sample_rate_Hz;
        result.samples_per_cycle = periodic->options.sample_rate_Hz / result.frequency_Hz;
    } else {
        result.duration_s = (periodic->last_time - periodic->first_time) * periodic->taken /
                            (periodic->taken - 1.0);
        result.samples_per_cycle = periodic->taken / (result.duration_s * result.frequency_Hz);
    }
    result.cycles = result.duration_s * result.frequency_Hz;
    result.harmonics_limit = record_get_limit(1.0 / result.samples_per_cycle, 0);
    *fit = result;
    return STATUS_OK;
}
