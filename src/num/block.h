// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_BLOCK_H
#define LODECARD_NUM_BLOCK_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Blocks of a long record, each fitted alone, and how they become one fit: the blocks' phases
 * against a reference waveform lie on a line whose slope is what the frequency was off; turned onto
 * that line their coefficients add up coherently. When the phases do not lie on a line (the bench's
 * frequency drifts) each block is turned by its own phase instead. */
struct block {
    double centre; /* samples from the record's begin */
    double frames;
    double phase;             /* radian against nu0, origin0 */
    double complex *value[2]; /* K + 1, own phase taken out */
};

struct block_list {
    size_t harmonics;
    double nu0, origin0;          /* the nominal phase: nu0 * (t - origin0) cycles */
    double complex *reference[2]; /* the waveform that phases are measured against */
    bool has_reference;
    double variance[2];            /* of one sample's noise */
    double square_sum[2], freedom; /* summed over the blocks */
    double nominal;                /* sum of frames * nu over the blocks that were added */
    double complex *scratch;       /* K + 1 */
    bool has_last;
    double last_phase, last_centre; /* of the block that was added last */
    struct block *list;
    size_t count;
    size_t capacity;
    size_t merged;  /* each listed block but the last may stand for this many of the first ones */
    size_t pending; /* how many are in the last one */
    size_t span;    /* for how many of them each that is added now stands; its maker may set it */
};

enum status block_list_init(struct block_list *list, size_t harmonics, double nu0, double origin0,
    struct error *err) MUST_CHECK;
void block_list_clear(struct block_list *list); /* safe on a zeroed struct and twice */

/* Sets what phases are measured against and the noise that weighs the channels. */
void block_list_set_reference(struct block_list *list, double complex *const reference[2],
    size_t harmonics, const double variance[2]);

/* The phase (radian) of a fitted block against the reference: by how much the nominal phase that it
 * was fitted at is behind. Without a reference the block becomes it. */
double block_list_measure(struct block_list *list, double complex *const value[2]);

/* Adds a block fitted at the nominal phase nu * (t - origin), with the phase that was measured.
 * More than 256 blocks are merged by pairs. */
enum status block_list_add(struct block_list *list, double complex *const value[2], double centre,
    double frames, double nu, double origin, double phase, struct error *err) MUST_CHECK;

/* Standard uncertainty (radian) of the phase of a block of so many frames, from the noise. */
double block_list_get_phase_noise(const struct block_list *list, double frames);

/* The line through the phases. */
struct block_line {
    double offset; /* radian at t = 0 of the record, against the nominal phase */
    double slope;  /* radian a sample */
    double u_slope;
    double scatter;  /* chi-square over its degrees of freedom */
    double largest;  /* largest deviation, radian */
    double expected; /* standard uncertainty of one block's phase from noise */
    bool is_steady;
};
struct block_line block_list_fit_line(const struct block_list *list);

/* By how much (turns) the phase of a block is at most away from where the two blocks before it said
 * that it would be; 0 with fewer than three. */
double block_list_get_runaway(const struct block_list *list);

/* The mean of the blocks; phases as of the line (or own phases when it is not steady). Rows were
 * folded at nominal frequencies, whose mean may be off by a share e from that of the phases: each
 * harmonic l then slips by 2 pi l e in a row's cycle and is set back at its end. The sawtooth leaks
 * -e l c_l / (k - l) into harmonic k (l = -K ... K), which is taken off again. */
void block_list_compute_mean(
    struct block_list *list, const struct block_line *line, double complex *const mean[2]);

/* How many harmonics the data carry: the K that maximises the sum over k <= K of (|c_k|^2
 * information - 6) over the channels, where information = frames / (2 variance). The penalty of 6 a
 * channel (3 a parameter; H. Akaike's is 2) keeps the chance of an empty harmonic near 2 %.
 * Harmonics below 2e-11 of the largest are rounding. */
size_t choose_harmonics(double complex *const value[2], size_t channels, size_t harmonics,
    double frames, const double variance[2]);

#endif
