// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "num/record.h"
#include "num/rough.h"
#include "num/stream.h"

static const double TURN = 6.283185307179586476925286766559;

/* Of a harmonic near half the sampling rate only one part shows at a time; the other comes into
 * view as its phase against the samples drifts. Least drift over the record, in turns. */
static const double BEAT_LEAST = 0.1;
static const double ROUGH_MARGIN = 1.05; /* how far off a frequency may be before it is refined */
/* By which factor a frequency that drifts may rise beyond the highest in what is to come. */
static const double RISE_MARGIN = 1.1;
static const double GOAL = 1e-9; /* radian that the phases may slope over the record */

/* By how much a frequency must have moved for another look, in what noise makes of the record's
 * phase: phases that turn by x times that noise over the record leave x^2 / 12 more in a sum of
 * squares that is of the record's length, and x^2 / 12 / (2 pi cycles)^2 at most in a harmonic,
 * where 6 decide. */
static const double SMEAR_LEAST = 10.0;

enum {
    BLOCKS = 16,
    FIRST_HARMONICS = 16,
    ROUND_LIMIT = 8,
    LOOK_LIMIT = 5,
    STREAM_HARMONICS = 64,
    DRIFT_BLOCKS = 64,
    DRIFT_ROUNDS = 4,
    FIRST_CYCLES = 16, /* that tell the frequency of the record's begin */
};
/* Turns by which the phase may run away from one block to the next for whole turns to be sure. */
static const double RUNAWAY_SURE = 0.1;
/* Phases that stray less than this (radian) from an even clock change no figure by 1e-6. */
static const double DRIFT_LEAST = 5e-4;

size_t record_get_limit(double nu, size_t fixed_harmonics)
{
    if (fixed_harmonics > 0) {
        return fixed_harmonics;
    }
    /* a harmonic at half the rate itself shows one of its two parts only */
    const double below = ceil(0.5 / nu * (1.0 - 1e-9)) - 1.0;
    return (size_t)fmax(1.0, fmin(below, HARMONICS_LIMIT));
}

size_t record_get_safe_limit(double nu, double frames, size_t fixed_harmonics)
{
    return record_get_limit(nu / (1.0 - 2.0 * BEAT_LEAST / frames), fixed_harmonics);
}

/* With (nearly) a whole number of samples a cycle all rows show the same few: as many harmonics as
 * they carry describe noise and all. A quarter fewer leave a measure of the noise. */
static size_t find_loose_limit(double nu, size_t limit)
{
    const struct fold_shape shape = fold_find_shape(nu, limit);
    return 2 * limit + 1 > shape.row_length - shape.row_length / 8 ? limit - limit / 4 : limit;
}

static enum status run(const struct record *record, double nu, size_t frames_to_block, bool tracks,
    struct block_list *blocks, struct error *err)
{
    struct stream stream;
    enum status status = stream_init(&stream, blocks, nu, 0.0, frames_to_block, tracks, err);
    if (status != STATUS_OK) {
        return status;
    }
    status =
        stream_add(&stream, (const double *)record->value, record->count, record->has_missing, err);
    if (status == STATUS_OK) {
        status = stream_finish(&stream, err);
    }
    stream_clear(&stream);
    if (status == STATUS_OK && blocks->count == 0) {
        status = fail(err, STATUS_CAPTURE, "record a longer stretch without gaps",
            "every cycle of the record has missing samples");
    }
    return status;
}

static void set_variance(struct block_list *blocks, size_t channels, double variance[2])
{
    for (size_t m = 0; m < 2; m++) {
        variance[m] =
            m < channels && blocks->freedom > 0.0 ? blocks->square_sum[m] / blocks->freedom : 0.0;
    }
}

/* Phases against the mean of what `before` holds; nothing to do without it. */
static void adopt_reference(
    const struct record *record, struct block_list *before, struct block_list *blocks)
{
    if (before->count == 0) {
        return;
    }
    double variance[2];
    set_variance(before, record->channels, variance);
    const struct block_line line = block_list_fit_line(before);
    block_list_compute_mean(before, &line, before->reference);
    block_list_set_reference(blocks, before->reference, before->harmonics, variance);
}

/* Improves nu until the blocks' phases over the record lie level within `goal` radian. */
static enum status level(const struct record *record, size_t harmonics, double goal, double *nu,
    struct block_list *blocks, struct error *err)
{
    struct block_list before = {0};
    for (int round = 0; round < ROUND_LIMIT; round++) {
        enum status status = block_list_init(blocks, harmonics, *nu, 0.0, err);
        if (status == STATUS_OK) {
            adopt_reference(record, &before, blocks);
        }
        block_list_clear(&before);
        if (status == STATUS_OK) {
            status = run(record, *nu, record->count / BLOCKS, false, blocks, err);
        }
        if (status != STATUS_OK) {
            block_list_clear(blocks);
            return status;
        }
        const struct block_line line = block_list_fit_line(blocks);
        /* the first round weighs the channels alike and measures against a single block */
        const bool level_enough = fabs(line.slope) * (double)record->count < goal;
        if (round > 0 && (level_enough || round + 1 == ROUND_LIMIT)) {
            return STATUS_OK;
        }
        if (!level_enough) {
            *nu += line.slope / TURN;
        }
        before = *blocks;
        *blocks = (struct block_list){0};
    }
    return STATUS_OK;
}

/* So many harmonics fitted to the whole record as one block. */
static enum status fit_whole(const struct record *record, double nu, size_t harmonics,
    struct block_list *one, struct error *err)
{
    enum status status = block_list_init(one, harmonics, nu, 0.0, err);
    if (status == STATUS_OK) {
        status = run(record, nu, record->count, false, one, err);
    }
    if (status != STATUS_OK) {
        block_list_clear(one);
    }
    return status;
}

/* Of the `limit` harmonics that the sampling carries, how many are there? Looked for below the
 * loose limit first, which shows the noise for what it is. */
static enum status find_harmonics(
    const struct record *record, double nu, size_t limit, size_t *harmonics, struct error *err)
{
    const size_t loose = find_loose_limit(nu, limit);
    struct block_list list;
    double variance[2];
    enum status status = fit_whole(record, nu, loose, &list, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t channels = record->channels;
    set_variance(&list, channels, variance);
    rounding_raise_variance(
        &record->rounding, nu, list.list[0].value, loose, list.list[0].frames, variance);
    *harmonics =
        choose_harmonics(list.list[0].value, channels, loose, list.list[0].frames, variance);
    block_list_clear(&list);
    if (loose<limit && * harmonics> loose - loose / 10) {
        status = fit_whole(record, nu, limit, &list, err);
        if (status == STATUS_OK) {
            *harmonics = choose_harmonics(
                list.list[0].value, channels, limit, list.list[0].frames, variance);
            block_list_clear(&list);
        }
    }
    return status;
}

/* The highest frequency between two neighbours. */
static double get_highest(const struct block_list *blocks)
{
    double most = blocks->nu0;
    for (size_t b = 1; b < blocks->count; b++) {
        const struct block *at = &blocks->list[b];
        const double slope = (at[0].phase - at[-1].phase) / (at[0].centre - at[-1].centre);
        most = fmax(most, blocks->nu0 + slope / TURN);
    }
    return most;
}

/* The frequency of the record's begin: from the first two blocks, or from its first cycles where
 * nobody can tell how many whole turns lie between blocks. */
static enum status find_begin(
    const struct record *record, const struct block_list *blocks, double *nu, struct error *err)
{
    if (block_list_get_runaway(blocks) < RUNAWAY_SURE) {
        const struct block *first = blocks->list;
        *nu += (first[1].phase - first[0].phase) / (first[1].centre - first[0].centre) / TURN;
        return STATUS_OK;
    }
    const size_t part = record->count / BLOCKS, least = (size_t)(FIRST_CYCLES / *nu);
    const size_t wanted = part > least ? part : least;
    return rough_find_frequency(
        record->value, wanted < record->count ? wanted : record->count, nu, err);
}

/* Blocks of some `part` frames, the nominal frequency following the phase from the record's begin,
 * which becomes *nu. `blocks` come in as those of the look before. */
static enum status follow(const struct record *record, size_t harmonics, size_t part, double *nu,
    struct block_list *blocks, struct error *err)
{
    struct block_list fine = {0};
    enum status status = find_begin(record, blocks, nu, err);
    if (status == STATUS_OK) {
        status = block_list_init(&fine, harmonics, *nu, 0.0, err);
    }
    if (status == STATUS_OK) {
        const size_t least = (size_t)(STREAM_CYCLES_LEAST / *nu);
        adopt_reference(record, blocks, &fine);
        status = run(record, *nu, part > least ? part : least, true, &fine, err);
    }
    block_list_clear(blocks);
    *blocks = fine;
    if (status != STATUS_OK) {
        block_list_clear(blocks);
    }
    return status;
}

/* A bench whose frequency drifts: many small blocks; with few harmonics until they are short
 * enough, then with those that the highest frequency leaves room for. `blocks` come in as those of
 * the first look. */
static enum status follow_drift(const struct record *record, size_t margin, double *nu,
    struct block_list *blocks, struct error *err)
{
    size_t harmonics = record_get_limit(STREAM_RISE_MOST * *nu, 0);
    size_t part = record->count / DRIFT_BLOCKS, before = 2 * part;
    enum status status = STATUS_OK;
    harmonics = harmonics < blocks->harmonics ? harmonics : blocks->harmonics;
    for (int round = 0; round < DRIFT_ROUNDS && 2 * part <= before; round++) {
        status = follow(record, harmonics, part, nu, blocks, err);
        if (status != STATUS_OK) {
            return status;
        }
        before = part;
        part = stream_limit_block(part, part, block_list_get_runaway(blocks));
    }
    const double highest = get_highest(blocks) * (margin > 1 ? RISE_MARGIN : 1.0);
    const size_t limit =
        record_get_safe_limit(highest, (double)record->count, record->fixed_harmonics);
    harmonics = record->fixed_harmonics > 0 ? limit : STREAM_HARMONICS * margin;
    return follow(record, harmonics < limit ? harmonics : limit, part, nu, blocks, err);
}

/* A frequency that is a little off smears the strong harmonics and hides the weak ones, and
 * harmonics left out put the frequency off: both are found in turn until no more turn up. */
static enum status look_for_harmonics(
    const struct record *record, size_t limit, double *nu, size_t *harmonics, struct error *err)
{
    size_t seen = 0;
    for (int look = 0; look < LOOK_LIMIT; look++) {
        enum status status = find_harmonics(record, *nu, limit, harmonics, err);
        if (status != STATUS_OK || *harmonics <= seen) {
            return status;
        }
        seen = *harmonics;
        struct block_list blocks;
        const double before = *nu;
        status = level(record, seen, GOAL, nu, &blocks, err);
        if (status != STATUS_OK) {
            return status;
        }
        const double turned = fabs(*nu - before) * TURN * (double)record->count;
        const double noise = block_list_get_phase_noise(&blocks, (double)record->count);
        block_list_clear(&blocks);
        if (turned < SMEAR_LEAST * noise) {
            return STATUS_OK;
        }
    }
    return STATUS_OK;
}

/* Room for harmonics that only the data to come may show. */
static size_t widen(size_t found, size_t margin, double nu, size_t limit)
{
    const size_t wanted = margin * found < STREAM_HARMONICS ? STREAM_HARMONICS : margin * found;
    const size_t most = find_loose_limit(nu, limit);
    const size_t wide = wanted < most ? wanted : most;
    return wide > found ? wide : found;
}

enum status record_fit_folded(const struct record *record, size_t margin, double *nu,
    struct block_list *blocks, struct error *err)
{
    const double frames = (double)record->count;
    size_t limit = record_get_safe_limit(*nu * ROUGH_MARGIN, frames, record->fixed_harmonics);
    size_t harmonics = limit < FIRST_HARMONICS ? limit : FIRST_HARMONICS;
    enum status status = level(record, harmonics, GOAL, nu, blocks, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct block_line line = block_list_fit_line(blocks);
    if (!line.is_steady && line.largest > DRIFT_LEAST) {
        return follow_drift(record, margin, nu, blocks, err);
    }
    block_list_clear(blocks);
    limit = record_get_safe_limit(*nu, frames, record->fixed_harmonics);
    harmonics = record->fixed_harmonics;
    if (harmonics == 0) {
        size_t found = 0;
        status = look_for_harmonics(record, limit, nu, &found, err);
        harmonics = margin > 1 ? widen(found, margin, *nu, limit) : found;
    }
    return status != STATUS_OK ? status : level(record, harmonics, GOAL, nu, blocks, err);
}
