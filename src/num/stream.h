// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_STREAM_H
#define LODECARD_NUM_STREAM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "num/block.h"
#include "num/fold.h"

/* Even samples of two channels, cut into rows of whole cycles, folded in blocks, each block fitted
 * and listed. The nominal frequency follows the record when its phase runs away from one block to
 * the next. Of a record that never did, blocks are made larger as the list merges them, since each
 * costs a fit. */
#define STREAM_RISE_MOST 1.5    /* by which factor a frequency that is followed may change */
#define STREAM_CYCLES_LEAST 4.0 /* of a block that is made shorter */

struct stream {
    struct fold *fold;
    struct fold_shape shape;
    struct block_list *blocks; /* borrowed */
    size_t frames_at_first, frames_to_block;
    size_t
        rows_to_block; /* of the first blocks; those that come now have blocks->span times that */
    double nu, origin; /* the nominal phase: nu * (t - origin) cycles */
    double row;        /* index of the next row, a whole number */
    double row_first;  /* of the current block */
    double middle;     /* sum of the middles of the rows in the fold */
    double position;   /* samples taken so far */
    double *carry;     /* the head of a row that the last call did not complete */
    size_t carried;
    bool carry_is_suspect; /* it may hold missing samples */
    double complex *value[2];
    double last_phase, last_centre; /* of the block before, against the present nominal phase */
    double last_power[2];           /* of the block that was listed last */
    double listed, lost; /* frames of blocks that went into the list, and that were left out */
    bool has_last;
    bool tracks;
    bool has_followed;
};

/* Of how many frames a block may be, `most` at most, where the phase runs away by so many turns
 * from one block of `frames` to the next. */
size_t stream_limit_block(size_t frames, size_t most, double runaway);

/* origin: a sample position where a cycle begins, at or before the first row. */
enum status stream_init(struct stream *stream, struct block_list *blocks, double nu, double origin,
    size_t frames_to_block, bool tracks, struct error *err) MUST_CHECK;
void stream_clear(struct stream *stream);

/* values[2 * frame + m]. With `has_missing` rows that hold a NaN are left out. */
enum status stream_add(struct stream *stream, const double *values, size_t frames, bool has_missing,
    struct error *err) MUST_CHECK;

/* Fits what the last, shorter block holds. STATUS_CAPTURE when the frequency changed so fast that
 * most blocks were left out. */
enum status stream_finish(struct stream *stream, struct error *err) MUST_CHECK;

#endif
