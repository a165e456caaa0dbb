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

/* Cycles that the phase may run away by in a block before the next one is made shorter; it grows
 * with the square of the block. */
static const double RUNAWAY_MOST = 1e-3;

/* Turns between two blocks by which the second one is smeared too much to be used: the fundamental
 * loses (2 pi LOST)^2 / 24, harmonics more. */
static const double LOST = 0.02;
static const double LOST_SHORTEST = 0.1; /* where blocks cannot be shorter */
/* The share of the power of the block before that one whose phase has moved must have. */
static const double POWER_LEAST = 0.9;

/* Cycles a sample up to which the highest harmonic may rise: what it mirrors on is still apart. */
static const double HALF_RATE_MOST = 0.51;

/* Rows that are as much shorter (share) than a cycle, or longer, are made anew: what no row has
 * seen of a cycle, no fit can tell. */
static const double ROW_LIMIT = 2e-3;

enum { SPAN_LIMIT = 4 };

static void set_rows(struct stream *stream)
{
    const size_t rows = stream->frames_to_block / stream->shape.row_length;
    stream->rows_to_block = rows < 1 ? 1 : rows;
}

/* What the rows' shape decides, but for where the nominal phase is. */
static enum status shape_rows(struct stream *stream, struct error *err)
{
    const struct fold_shape shape = fold_find_shape(stream->nu, stream->blocks->harmonics);
    struct fold *fold = fold_create(&shape);
    double *carry = memory_create(2 * shape.row_length, sizeof *carry);
    if (fold == NULL || carry == NULL) {
        fold_destroy(fold);
        memory_destroy(carry);
        return fail_memory(err);
    }
    fold_destroy(stream->fold);
    memory_destroy(stream->carry);
    stream->shape = shape;
    stream->fold = fold;
    stream->carry = carry;
    set_rows(stream);
    return STATUS_OK;
}

enum status stream_init(struct stream *stream, struct block_list *blocks, double nu, double origin,
    size_t frames_to_block, bool tracks, struct error *err)
{
    struct stream fresh = {.blocks = blocks,
        .nu = nu,
        .origin = origin,
        .tracks = tracks,
        .frames_at_first = frames_to_block,
        .frames_to_block = frames_to_block};
    fresh.value[0] = memory_create(blocks->harmonics + 1, sizeof *fresh.value[0]);
    fresh.value[1] = memory_create(blocks->harmonics + 1, sizeof *fresh.value[1]);
    const bool has_values = fresh.value[0] != NULL && fresh.value[1] != NULL;
    const enum status status = has_values ? shape_rows(&fresh, err) : fail_memory(err);
    if (status != STATUS_OK) {
        stream_clear(&fresh);
        return status;
    }
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

size_t stream_limit_block(size_t frames, size_t most, double runaway)
{
    const double wanted = (double)frames * sqrt(RUNAWAY_MOST / runaway);
    return wanted < (double)most ? (size_t)wanted : most;
}

/* Shorter blocks where the frequency changes fast, up to the first ones again where it does not. */
static void set_block(struct stream *stream, double moved)
{
    const size_t least = (size_t)(STREAM_CYCLES_LEAST / stream->nu);
    const size_t frames =
        stream_limit_block(stream->frames_to_block, stream->frames_at_first, fabs(moved) / TURN);
    stream->frames_to_block = frames < least ? least : frames;
    set_rows(stream);
}

static enum status fail_to_follow(struct error *err)
{
    return fail(err, STATUS_CAPTURE, "drive from a generator with a steady clock",
        "the frequency changes faster than can be followed, or noise hides it");
}

/* Sets the nominal phase to what the last two blocks say, without a jump. */
static enum status follow(
    struct stream *stream, double centre, double phase, double moved, struct error *err)
{
    const double next = get_row_begin(stream), first = stream->blocks->nu0;
    const double turns = stream->nu * (centre - stream->origin) + phase / TURN;
    stream->nu += moved / TURN / (centre - stream->last_centre);
    if (!(stream->nu > first / STREAM_RISE_MOST && stream->nu < first * STREAM_RISE_MOST)) {
        return fail_to_follow(err);
    }
    if ((double)stream->blocks->harmonics * stream->nu > HALF_RATE_MOST) {
        return fail(err, STATUS_CAPTURE, "ask for fewer harmonics or sample faster",
            "the frequency rises so far that the sampling does not carry %zu harmonics any more",
            stream->blocks->harmonics);
    }
    /* the next row begins with the first new cycle that no row had a share in */
    const double part = turns - floor(turns);
    const double whole = ceil((next - 0.5 - centre) * stream->nu + part);
    stream->origin = centre + (whole - part) / stream->nu;
    stream->row = 0.0;
    set_block(stream, moved);
    const size_t wanted = fold_find_shape(stream->nu, stream->blocks->harmonics).row_length;
    const double have = (double)stream->shape.row_length;
    if (fabs((double)wanted - have) > fmax(1.0, ROW_LIMIT * have)) {
        return shape_rows(stream, err);
    }
    fold_set_frequency(stream->fold, stream->nu);
    return STATUS_OK;
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

static double get_power(const struct stream *stream, size_t channel)
{
    double sum = 0.0;
    for (size_t k = 1; k <= stream->blocks->harmonics; k++) {
        const double size = cabs(stream->value[channel][k]);
        sum += size * size;
    }
    return sum;
}

/* Whether the frequency changed so much within the block that its waveform is smeared: its phase
 * has run away or, where the frequency stepped and whole turns cancel out, much of its power is
 * gone. A block that cannot be shorter may smear more. */
static bool is_lost(const struct stream *stream, double moved)
{
    const bool is_shortest =
        (double)stream->frames_to_block < 2.0 * STREAM_CYCLES_LEAST / stream->nu;
    bool is_smeared = fabs(moved) > TURN * (is_shortest ? LOST_SHORTEST : LOST);
    for (size_t m = 0; m < 2 && moved != 0.0; m++) {
        is_smeared = is_smeared || get_power(stream, m) < POWER_LEAST * stream->last_power[m];
    }
    return is_smeared;
}

/* Puts the solved block into the list, or leaves it out. */
static enum status list_block(struct stream *stream, const struct fold_result *result,
    double centre, double frames, double phase, bool is_out, struct error *err)
{
    struct block_list *blocks = stream->blocks;
    if (is_out) {
        stream->lost += frames;
        return STATUS_OK;
    }
    for (int m = 0; m < 2; m++) {
        blocks->square_sum[m] += result->square_sum[m];
        stream->last_power[m] = get_power(stream, (size_t)m);
    }
    blocks->freedom += result->freedom;
    stream->listed += frames;
    return block_list_add(
        blocks, stream->value, centre, frames, stream->nu, stream->origin, phase, err);
}

static enum status end_block(struct stream *stream, bool is_last, struct error *err)
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
    const double frames = rows * (double)stream->shape.row_length;
    double phase = block_list_measure(blocks, stream->value), moved = 0.0;
    if (stream->tracks && stream->has_last) {
        moved = remainder(phase - stream->last_phase, TURN);
        const double noise = sqrt(2.0) * block_list_get_phase_noise(blocks, frames);
        moved = fabs(moved) > fmax(STRAY_LIMIT * TURN, STRAY_NOISE * noise) ? moved : 0.0;
    }
    enum status status =
        list_block(stream, &result, centre, frames, phase, is_lost(stream, moved), err);
    if (status == STATUS_OK && moved != 0.0 && !is_last) {
        status = follow(stream, centre, phase, moved, err);
        stream->has_followed = true;
        phase = 0.0;
    }
    stream->middle = 0.0;
    stream->last_phase = phase;
    stream->last_centre = centre;
    stream->has_last = true;
    stream->row_first = stream->row;
    set_span(stream);
    return status;
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
        status = end_block(stream, false, err);
    }
    return status;
}

enum status stream_add(
    struct stream *stream, const double *values, size_t frames, bool has_missing, struct error *err)
{
    const double chunk = stream->position; /* position of values[0] */
    stream->position += (double)frames;
    if (stream->carried > 0) {
        const size_t length = stream->shape.row_length;
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
        const size_t length = stream->shape.row_length; /* changes with the frequency */
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
    const enum status status = end_block(stream, true, err);
    return status == STATUS_OK && stream->lost > stream->listed ? fail_to_follow(err) : status;
}
