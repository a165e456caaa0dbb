// SPDX-License-Identifier: GPL-3.0-or-later
/* The estimator's frame: the head of a record is kept until its frequency is known, then the rest
 * streams through.
 *
 *   even, up to 2^20 samples     in memory, by record_fit_folded (many cycles) or record_fit_direct
 *
 *   even, longer                 the head fixes frequency and harmonics; stream.c folds it and all
 * that follows
 *
 *   even and slow                fewer than 64 cycles in the head: neighbours are averaged by pairs
 * until it holds them; what that does to each harmonic is undone at the end
 *
 *   uneven, up to 2^19 samples   record_fit_direct
 *
 *   uneven, longer               blocks fitted directly, then joined as the others
 *
 * docs/estimator.md weighs the alternatives. */
#include "num/periodic.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/pair.h"
#include "num/periodic_parts.h"

enum { CHUNK = 4096 };

bool periodic_is_even(const struct periodic *periodic)
{
    return periodic->options.sample_rate_Hz > 0.0;
}

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

static enum status add_even(struct periodic *periodic, const double complex *pairs, size_t count,
    bool has_missing, struct error *err)
{
    periodic->has_missing |= has_missing;
    if (periodic->is_streaming) {
        return stream_add(&periodic->stream, (const double *)pairs, count, has_missing, err);
    }
    enum status status = head_reserve(periodic, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    memcpy(periodic->value + periodic->count, pairs, count * sizeof *pairs);
    for (size_t n = 0; has_missing && n < count; n++) {
        periodic->missing += !isfinite(creal(pairs[n])) || !isfinite(cimag(pairs[n]));
    }
    periodic->count += count;
    return periodic->count >= HEAD_EVEN ? head_take_full(periodic, err) : STATUS_OK;
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
        periodic->pairs[n] = as_complex(a, b);
    }
    return !(check == 0.0);
}

/* `first` is the index of the first of them in the record. */
static enum status add_uneven(struct periodic *periodic, const double *values, const double *times,
    double first, size_t count, struct error *err)
{
    enum status status = head_reserve(periodic, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t channels = periodic->options.channels;
    for (size_t n = 0; n < count; n++) {
        const double a = values[n * channels], b = channels > 1 ? values[n * channels + 1] : 0.0;
        const double time = times == NULL || periodic->index_step > 0.0
                                ? (first + (double)n) * periodic->index_step
                                : times[n];
        if (!isfinite(a) || !isfinite(b) || !isfinite(time)) {
            continue;
        }
        if (!periodic->has_time) {
            periodic->first_time = time;
            periodic->has_time = true;
        }
        periodic->last_time = time;
        periodic->time[periodic->count] = time - periodic->first_time;
        periodic->value[periodic->count++] =
            as_complex(a * periodic->scale[0], b * periodic->scale[1]);
    }
    return periodic->count >= HEAD_UNEVEN ? head_take_full(periodic, err) : STATUS_OK;
}

/* How many frames fill the head, to the last one: results do not hang on how a record is cut. */
static size_t find_room(const struct periodic *periodic)
{
    if (!periodic_is_even(periodic)) {
        return HEAD_UNEVEN - periodic->count;
    }
    return periodic->is_streaming
               ? SIZE_MAX
               : (HEAD_EVEN - periodic->count) * periodic->thinning - periodic->thin_count;
}

/* The usual long record: its samples are folded from where they lie. */
static bool is_plain(const struct periodic *periodic)
{
    return periodic->is_streaming && periodic_is_even(periodic) && periodic->thinning == 1 &&
           periodic->scale[0] == 1.0 && periodic->scale[1] == 1.0 &&
           periodic->options.channels == 2;
}

/* A few frames (of a plain record as many as there are); `taken` counts them. */
static enum status add_chunk(struct periodic *periodic, const double *values, const double *times,
    size_t frames, struct error *err)
{
    const double first = periodic->taken;
    periodic->taken += (double)frames;
    if (!periodic_is_even(periodic)) {
        return add_uneven(periodic, values, times, first, frames, err);
    }
    if (is_plain(periodic)) {
        const bool has_missing =
            !periodic->options.is_complete && has_missing_value(values, 2 * frames);
        return stream_add(&periodic->stream, values, frames, has_missing, err);
    }
    const bool has_missing = copy_pairs(periodic, values, frames);
    const size_t count = periodic->thinning > 1 ? thin(periodic, periodic->pairs, frames) : frames;
    return add_even(periodic, periodic->pairs, count, has_missing, err);
}

enum periodic_failure periodic_get_failure(const struct periodic *periodic)
{
    return periodic->failure;
}

const char *periodic_get_failure_count(
    const struct periodic *periodic, double *value, double *limit)
{
    if (periodic->failure_key != NULL) {
        *value = periodic->failure_value;
        *limit = periodic->failure_limit;
    }
    return periodic->failure_key;
}

/* Whatever fails for the capture's sake has a reason. */
static enum status give_reason(struct periodic *periodic, enum status status)
{
    if (status == STATUS_CAPTURE && periodic->failure == PERIODIC_FINE) {
        periodic->failure = PERIODIC_ABSENT;
    }
    return status;
}

enum status periodic_add(struct periodic *periodic, const double *values, const double *times,
    size_t frames, struct error *err)
{
    const size_t channels = periodic->options.channels;
    for (size_t done = 0; done < frames;) {
        const size_t room = find_room(periodic);
        size_t part = frames - done < room ? frames - done : room;
        part = part < CHUNK || is_plain(periodic) ? part : CHUNK;
        const enum status status = add_chunk(
            periodic, values + done * channels, times == NULL ? NULL : times + done, part, err);
        if (status != STATUS_OK) {
            return give_reason(periodic, status);
        }
        done += part;
    }
    return STATUS_OK;
}

static void set_extent(const struct periodic *periodic, struct periodic_fit *fit)
{
    fit->frames = periodic->taken;
    if (periodic_is_even(periodic)) {
        fit->duration_s = periodic->taken / periodic->options.sample_rate_Hz;
        fit->samples_per_cycle = periodic->options.sample_rate_Hz / fit->frequency_Hz;
    } else {
        fit->duration_s = (periodic->last_time - periodic->first_time) * periodic->taken /
                          (periodic->taken - 1.0);
        fit->samples_per_cycle = periodic->taken / (fit->duration_s * fit->frequency_Hz);
    }
    fit->cycles = fit->duration_s * fit->frequency_Hz;
    fit->harmonics_limit = record_get_limit(1.0 / fit->samples_per_cycle, 0);
}

enum status periodic_finish(struct periodic *periodic, struct periodic_fit *fit, struct error *err)
{
    struct periodic_fit result = {0};
    enum status status = periodic_end(periodic, &result, err);
    if (status == STATUS_OK) {
        set_extent(periodic, &result);
        status = periodic_check_cycles(periodic, result.cycles, 0.0, err);
    }
    if (status != STATUS_OK) {
        periodic_fit_clear(&result);
        return give_reason(periodic, status);
    }
    *fit = result;
    return STATUS_OK;
}
