// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_TAKE_H
#define LODECARD_CALIBRATE_TAKE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/reading.h"
#include "num/periodic.h"
#include "setup/setup.h"

/* A recording to calibrate with, read through: one or two of its channels as a Fourier series. */
struct take {
    struct periodic_fit fit; /* in recorded units: fractions of full scale, or volts of a table */
    struct reading reading;  /* two channels: still open, without its fit */
    bool is_audio;
    double peak[PERIODIC_CHANNELS]; /* largest size of a sample */
};

/* One channel of an audio file, counted from 1. STATUS_CAPTURE when nothing in it repeats, or when
 * it ends at digital full scale. */
enum status take_read_one(
    const char *path, size_t channel, struct take *take, struct error *err) MUST_CHECK;

/* The two channels that the rig names, from an audio file or a table. `frequency_Hz` is the
 * fundamental of a multi-sine (num/periodic.h), 0: found from the data, which needs a fundamental
 * among the large tones. With `may_be_silent` one of the channels need not repeat: it is fitted at
 * the harmonics of the other one. */
struct take_options {
    const char *path;
    const struct rig *rig;
    double frequency_Hz;
    bool may_be_silent;
};
enum status take_read_two(
    const struct take_options *options, struct take *take, struct error *err) MUST_CHECK;

/* Puts the file's name before the message of a STATUS_CAPTURE. */
void take_name_fault(const char *path, enum status status, struct error *err);

void take_clear(struct take *take); /* safe on a zeroed struct and twice */

/* Takes a first-order AC coupling of a channel out of its coefficients, those of the blocks too. */
void take_undo_corner(struct take *take, int channel, double corner_Hz);

/* The variance of each of the two parts, real and imaginary, of a coefficient of a channel. */
double take_get_variance(const struct take *take, int channel);

#endif
