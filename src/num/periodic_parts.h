// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_PERIODIC_PARTS_H
#define LODECARD_NUM_PERIODIC_PARTS_H

/* Between the files of the estimator's frame only: periodic.c takes samples, periodic_head.c looks
 * at the head of a record, periodic_end.c makes the fit. */
#include "num/periodic.h"
#include "num/record.h"
#include "num/stream.h"

enum {
    HEAD_EVEN = 1 << 20,
    HEAD_UNEVEN = 1 << 19,
    BLOCK_CYCLES = 4,      /* of a block, at least */
    FOLD_CYCLES = 32,      /* fewer are fitted directly */
    FOLD_FRAMES = 1 << 15, /* so are shorter records */
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
    struct rounding rounding; /* steps as scaled; thinning and count are those of the moment */
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
    double complex *pairs; /* scratch of periodic_add */
    enum periodic_failure failure;
    const char *failure_key; /* NULL: nothing was counted */
    double failure_value, failure_limit;
};

bool periodic_is_even(const struct periodic *periodic);

/* Room for `more` samples in the head. */
enum status head_reserve(struct periodic *periodic, size_t more, struct error *err) MUST_CHECK;

/* Two channels many binary orders apart would lose digits to each other in one complex transform.
 */
void head_settle_scale(struct periodic *periodic);

struct record head_get_record(const struct periodic *periodic);

/* The rounding of what was taken so far, `thinning` samples averaged to one; none of uneven
 * records.
 */
struct rounding head_get_rounding(const struct periodic *periodic, size_t thinning);

/* Frequency of what is in the head: cycles per sample (even) or per second. */
enum status head_find_rough(
    const struct periodic *periodic, double *frequency, struct error *err) MUST_CHECK;

/* Folding leaves out every row of whole cycles that lacks a sample: too many, when more than a
 * fifth of the rows would go. */
bool head_is_riddled(const struct periodic *periodic, double nu);

/* The head is full: begins to stream, or makes room by averaging pairs, or (uneven) fits what is
 * there in blocks. */
enum status head_take_full(struct periodic *periodic, struct error *err) MUST_CHECK;

/* Uneven: a block of `count` samples of the head from `first` on. */
enum status head_fit_uneven_block(
    struct periodic *periodic, size_t first, size_t count, struct error *err) MUST_CHECK;

/* Fails when there are fewer than 3 cycles, by more than the margin. */
enum status periodic_check_cycles(
    struct periodic *periodic, double cycles, double margin, struct error *err) MUST_CHECK;

/* Fails when more harmonics were asked for than the sampling carries. */
enum status periodic_check_harmonics(
    struct periodic *periodic, double nu, struct error *err) MUST_CHECK;

/* The fit of a record that stayed in the head or that streamed, in seconds and the record's own
 * units; `fit` comes in zeroed and is cleared on failure. Frames, duration and what follows from
 * them are not set. */
enum status periodic_end(
    struct periodic *periodic, struct periodic_fit *fit, struct error *err) MUST_CHECK;

#endif
