// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/direct.h"
#include "num/pair.h"
#include "num/periodic_parts.h"
#include "num/rough.h"

enum {
    HEAD_FIRST = 1 << 12,
    BLOCK_FRAMES = 1 << 16,
    UNEVEN_BLOCKS = 8, /* that the head is cut into */
    STREAM_CYCLES = 64,
    STREAM_MARGIN = 8, /* times the harmonics that the head shows */
    SCALE_LEAST = 12,  /* binary orders that two channels may be apart before they are scaled */
};

/* The channels travel as real and imaginary part through the same transforms, whose rounding is
 * that of the larger: 20 mV beside 500 kA/m would keep 8 digits. Powers of two bring both near 1
 * and change no digit. */
void head_settle_scale(struct periodic *periodic)
{
    if (periodic->has_scale) {
        return;
    }
    double largest[2] = {0.0, 0.0};
    for (size_t n = 0; n < periodic->count; n++) {
        const double a = fabs(creal(periodic->value[n])), b = fabs(cimag(periodic->value[n]));
        largest[0] = isfinite(a) ? fmax(largest[0], a) : largest[0];
        largest[1] = isfinite(b) ? fmax(largest[1], b) : largest[1];
    }
    periodic->has_scale = true;
    rounding_find_steps(&periodic->rounding, periodic->value, periodic->count);
    if (!(largest[0] > 0.0 && largest[1] > 0.0 &&
            abs(ilogb(largest[0]) - ilogb(largest[1])) > SCALE_LEAST)) {
        return; /* alike enough as they are, such as any two inputs of a sound card */
    }
    for (int m = 0; m < 2; m++) {
        periodic->scale[m] = ldexp(1.0, -ilogb(largest[m]));
        periodic->rounding.step[m] *= periodic->scale[m];
    }
    for (size_t n = 0; n < periodic->count; n++) {
        periodic->value[n] = as_complex(creal(periodic->value[n]) * periodic->scale[0],
            cimag(periodic->value[n]) * periodic->scale[1]);
    }
    periodic->thin_sum = as_complex(creal(periodic->thin_sum) * periodic->scale[0],
        cimag(periodic->thin_sum) * periodic->scale[1]);
}

struct rounding head_get_rounding(const struct periodic *periodic, size_t thinning)
{
    struct rounding rounding = {.count = periodic->taken, .thinning = (double)thinning};
    if (periodic_is_even(periodic)) {
        rounding.step[0] = periodic->rounding.step[0];
        rounding.step[1] = periodic->rounding.step[1];
    }
    return rounding;
}

struct record head_get_record(const struct periodic *periodic)
{
    return (struct record){.channels = periodic->options.channels,
        .count = periodic->count,
        .value = periodic->value,
        .time = periodic_is_even(periodic) ? NULL : periodic->time,
        .grid_step = periodic->index_step,
        .has_missing = periodic->has_missing,
        .fixed_harmonics = periodic->options.harmonics,
        .rounding = head_get_rounding(periodic, periodic->thinning)};
}

enum status head_reserve(struct periodic *periodic, size_t more, struct error *err)
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
    if (value != NULL && !periodic_is_even(periodic)) {
        time = memory_resize(periodic->time, capacity, sizeof *time);
        periodic->time = time != NULL ? time : periodic->time;
    }
    if (value == NULL || (time == NULL && !periodic_is_even(periodic))) {
        return fail_memory(err);
    }
    periodic->capacity = capacity;
    return STATUS_OK;
}

/* Frequency of what is in the head: cycles per sample (even) or per second. */
enum status head_find_rough(const struct periodic *periodic, double *frequency, struct error *err)
{
    if (periodic->options.frequency_Hz > 0.0) {
        *frequency = periodic_is_even(periodic)
                         ? periodic->options.frequency_Hz * (double)periodic->thinning /
                               periodic->options.sample_rate_Hz
                         : periodic->options.frequency_Hz;
        return STATUS_OK;
    }
    if (periodic_is_even(periodic)) {
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
        grid[n] = as_complex(NAN, NAN);
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

/* Of a record whose frequency drifts blocks are as short as its head asks for. */
static size_t get_block_frames(
    const struct block_list *head, const struct block_line *line, double nu)
{
    const size_t least = (size_t)(BLOCK_CYCLES / nu);
    const size_t frames = least > BLOCK_FRAMES ? least : BLOCK_FRAMES;
    return line->is_steady ? frames
                           : stream_limit_block((size_t)head->list[0].frames, frames,
                                 block_list_get_runaway(head));
}

static enum status stream_head(struct periodic *periodic, double nu, struct error *err)
{
    struct record record = head_get_record(periodic);
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
        status = stream_init(&periodic->stream, &periodic->blocks, nu, 0.0,
            get_block_frames(&head, &line, nu), true, err);
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
    _Static_assert(HEAD_EVEN % 2 == 0, "a full head has no odd sample left over");
    for (size_t n = 0; n < periodic->count / 2; n++) {
        periodic->value[n] = 0.5 * (periodic->value[2 * n] + periodic->value[2 * n + 1]);
    }
    periodic->count /= 2;
    periodic->thinning *= 2;
    periodic->missing = 0;
    for (size_t n = 0; periodic->has_missing && n < periodic->count; n++) {
        periodic->missing += !isfinite(cabs(periodic->value[n]));
    }
}

/* A block of the uneven record: all that is in the head now. */
enum status head_fit_uneven_block(
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
        direct_solve(direct, &points, periodic->frequency, &result);
        const double turns = blocks->nu0 * (result.centre - blocks->origin0);
        turn_series(value[0], blocks->harmonics, -turns);
        turn_series(value[1], blocks->harmonics, -turns);
        blocks->square_sum[0] += result.square_sum[0];
        blocks->square_sum[1] += result.square_sum[1];
        blocks->freedom += result.freedom;
        status = block_list_add(blocks, value, result.centre, (double)count, blocks->nu0,
            blocks->origin0, block_list_measure(blocks, value), err);
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
    enum status status = head_find_rough(periodic, &frequency, err);
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
    struct record record = head_get_record(periodic);
    record.count = periodic->count / UNEVEN_BLOCKS;
    status = record_fit_direct(&record, frequency, &fit, err);
    if (status == STATUS_OK) {
        size_t harmonics = periodic->options.harmonics;
        if (harmonics == 0) {
            const double nu = periodic->index_step > 0.0 ? fit.frequency_Hz * periodic->index_step
                                                         : 1.0 / fit.samples_per_cycle;
            const size_t limit = record_get_limit(nu, 0);
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
bool head_is_riddled(const struct periodic *periodic, double nu)
{
    const double row = fmax(1.0 / nu, 256.0);
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
    periodic->missing = 0;
    periodic->has_time = true;
    periodic->first_time = 0.0;
    periodic->last_time = periodic->time[known - 1];
    return STATUS_OK;
}

enum status head_take_full(struct periodic *periodic, struct error *err)
{
    enum status status = STATUS_OK;
    head_settle_scale(periodic);
    if (!periodic_is_even(periodic)) {
        if (!periodic->is_streaming) {
            status = start_uneven(periodic, err);
        }
        const size_t part = periodic->count / UNEVEN_BLOCKS;
        for (size_t b = 0; status == STATUS_OK && b < UNEVEN_BLOCKS; b++) {
            status = head_fit_uneven_block(periodic, b * part, part, err);
        }
        periodic->count = 0;
        return status;
    }
    double nu;
    status = head_find_rough(periodic, &nu, err);
    if (status == STATUS_OK && nu * (double)periodic->count >= STREAM_CYCLES) {
        if (periodic->thinning == 1 && head_is_riddled(periodic, nu)) {
            status = become_uneven(periodic, err);
            return status == STATUS_OK && periodic->count >= HEAD_UNEVEN
                       ? head_take_full(periodic, err)
                       : status;
        }
        status = periodic_check_harmonics(periodic, nu / (double)periodic->thinning, err);
        return status == STATUS_OK ? stream_head(periodic, nu, err) : status;
    }
    if (status == STATUS_OK || status == STATUS_CAPTURE) {
        halve_head(periodic); /* too slow, or not seen yet: look at more of it */
        return STATUS_OK;
    }
    return status;
}
