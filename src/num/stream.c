// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/stream.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

static const double TURN = 6.283185307179586476925286766559;

/* The true phase may run away from the nominal one by this much (cycles) from one block to the next
 * before the nominal frequency is set anew: what that smears takes (2 pi k 1e-4)^2 / 24 off
 * harmonic k, 2e-8 off the fundamental. A phase that is off by a constant does no harm. */
static const double STRAY_LIMIT = 1e-4;
/* In standard deviations of the difference: below, it may be noise. */
static const double STRAY_NOISE = 6.0;

enum { SPAN_LIMIT = 4 };

enum status stream_init(struct stream *stream, struct block_list *blocks, double nu, double origin,
    size_t frames_to_block, bool tracks, struct error *err)
{
    struct stream fresh = {.blocks = blocks, .nu = nu, .origin = origin, .tracks = tracks};
    fresh.shape = fold_find_shape(nu, blocks->harmonics);
    fresh.fold = fold_create(&fresh.shape);
    fresh.carry = memory_create(2 * fresh.shape.row_length, sizeof *fresh.carry);
    fresh.value[0] = memory_create(blocks->harmonics + 1, sizeof *fresh.value[0]);
    fresh.value[1] = memory_create(blocks->harmonics + 1, sizeof *fresh.value[1]);
    if (fresh.fold == NULL || fresh.carry == NULL || fresh.value[0] == NULL ||
        fresh.value[1] == NULL) {
        stream_clear(&fresh);
        return fail_memory(err);
    }
    fresh.rows_to_block = frames_to_block / fresh.shape.row_length;
    fresh.rows_to_block = fresh.rows_to_block < 1 ? 1 : fresh.rows_to_block;
    *stream = fresh;
    return STATUS_OK;
}

void stream_clear(struct stream *stream)
{
    fold_destroy(stream->fold);
    memory_destroy(stream->carry);
    memory_destroy(stream->value[0]);
    memory_destroy(stream->value[1]);
    *stream = (struct stream){0};
}

static double get_row_begin(const struct stream *stream)
{
    return stream->origin + stream->row * (double)stream->shape.row_cycles / stream->nu;
}

/* Sets the nominal phase to what the last two blocks say, without a jump. */
static void follow(struct stream *stream, double centre, double phase, double moved)
{
    const double next = get_row_begin(stream);
    const double turns = stream->nu * (centre - stream->origin) + phase / TURN;
    stream->nu += moved / TURN / (centre - stream->last_centre);
    /* the next row begins with the first new cycle that no row had a share in */
    const double part = turns - floor(turns);
    const double whole = ceil((next - 0.5 - centre) * stream->nu + part);
    stream->origin = centre + (whole - part) / stream->nu;
    stream->row = 0.0;
    fold_set_frequency(stream->fold, stream->nu);
}

/* How many of the first blocks the next one stands for: as many as a listed one, up to a limit, for
 * what a sudden change smears grows with the block in which it comes. */
static void set_span(struct stream *stream)
{
    struct block_list *blocks = stream->blocks;
    if (stream->has_followed) {
        blocks->span = 1;
    } else if (blocks->pending >= blocks->merged) {
        blocks->span = blocks->merged < SPAN_LIMIT ? blocks->merged : SPAN_LIMIT;
    }
}

static enum status end_block(struct stream *stream, struct error *err)
{
    const double rows = (double)fold_get_rows(stream->fold);
    if (rows < 1.0) {
        stream->row_first = stream->row;
        return STATUS_OK;
    }
    struct fold_result result = {.coefficient = {stream->value[0], stream->value[1]}};
    fold_solve(stream->fold, &result);
    struct block_list *blocks = stream->blocks;
    const double centre = stream->middle / rows;
    stream->middle = 0.0;
    for (int m = 0; m < 2; m++) {
        blocks->square_sum[m] += result.square_sum[m];
    }
    blocks->freedom += result.freedom;
    double phase;
    const enum status status = block_list_add(blocks, stream->value, centre,
        rows * (double)stream->shape.row_length, stream->nu, stream->origin, &phase, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (stream->tracks && stream->has_last) {
        const double moved = remainder(phase - stream->last_phase, TURN);
        const double noise =
            block_list_get_phase_noise(blocks, rows * (double)stream->shape.row_length);
        if (fabs(moved) > fmax(STRAY_LIMIT * TURN, STRAY_NOISE * sqrt(2.0) * noise)) {
            follow(stream, centre, phase, moved);
            stream->has_followed = true;
            phase = 0.0;
        }
    }
    stream->last_phase = phase;
    stream->last_centre = centre;
    stream->has_last = true;
    stream->row_first = stream->row;
    set_span(stream);
    return STATUS_OK;
}

static bool has_nan(const double *row, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += row[i] * 0.0;
    }
    return !(sum == 0.0);
}

static enum status take_row(
    struct stream *stream, const double *row, double first, bool suspect, struct error *err)
{
    const size_t length = stream->shape.row_length;
    enum status status = STATUS_OK;
    if (!suspect || !has_nan(row, 2 * length)) {
        status = fold_add(stream->fold, row, first - get_row_begin(stream), err);
        stream->middle += first + 0.5 * (double)(length - 1);
    }
    stream->row += 1.0;
    const size_t rows = stream->rows_to_block * stream->blocks->span;
    if (status == STATUS_OK && stream->row - stream->row_first >= (double)rows) {
        status = end_block(stream, err);
    }
    return status;
}

enum status stream_add(
    struct stream *stream, const double *values, size_t frames, bool has_missing, struct error *err)
{
    const size_t length = stream->shape.row_length;
    const double chunk = stream->position; /* position of values[0] */
    stream->position += (double)frames;
    if (stream->carried > 0) {
        const size_t lack = length - stream->carried;
        const size_t part = lack < frames ? lack : frames;
        memcpy(stream->carry + 2 * stream->carried, values, 2 * part * sizeof *values);
        stream->carry_is_suspect |= has_missing;
        stream->carried += part;
        if (stream->carried < length) {
            return STATUS_OK;
        }
        const double first = chunk + (double)part - (double)length;
        stream->carried = 0;
        const enum status status =
            take_row(stream, stream->carry, first, stream->carry_is_suspect, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    for (;;) {
        const double first = round(get_row_begin(stream));
        if (first < chunk) {
            stream->row += 1.0; /* the record begins inside a cycle */
            continue;
        }
        if (first >= chunk + (double)frames) {
            return STATUS_OK;
        }
        const size_t start = (size_t)(first - chunk);
        if (start + length > frames) {
            stream->carried = frames - start;
            stream->carry_is_suspect = has_missing;
            memcpy(stream->carry, values + 2 * start, 2 * stream->carried * sizeof *values);
            return STATUS_OK;
        }
        const enum status status = take_row(stream, values + 2 * start, first, has_missing, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
}

enum status stream_finish(struct stream *stream, struct error *err)
{
    stream->tracks = false;
    return end_block(stream, err);
}
