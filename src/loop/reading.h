// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_READING_H
#define LODECARD_LOOP_READING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/capture.h"
#include "capture/sampling.h"
#include "loop/excerpt.h"
#include "loop/loop.h"
#include "loop/note.h"
#include "loop/survey.h"
#include "num/periodic.h"
#include "num/stray.h"
#include "setup/setup.h"

enum { READING_STRAYS = 4 }; /* steady foreign tones of an input that are looked for */

/* A capture on its way to a loop: opened, its two channels found, read through once. */
struct reading {
    struct capture *capture;
    const struct capture_info *info; /* borrowed from it */
    size_t channel[2];               /* excitation, pickup */
    struct survey survey;
    struct periodic_fit fit; /* periodic captures, recorded units */
    struct excerpt excerpt;  /* even ones */
    struct stray strays[2 * READING_STRAYS];
    size_t stray_count;
    struct sampling sampling;
    bool has_sampling;
    double sample_rate_Hz; /* 0: uneven, or a trace */
    double start_s, length_s;
    double *column[2]; /* traces */
    size_t rows, row_capacity;
};

enum status reading_open(struct reading *reading, const char *path, const struct rig *rig,
    const struct loop_options *options, struct error *err) MUST_CHECK;

/* Reads to the end. What the samples cannot support is STATUS_CAPTURE and a fatal note. */
enum status reading_take(struct reading *reading, const struct rig *rig,
    const struct loop_options *options, struct notes *notes, struct error *err) MUST_CHECK;

void reading_clear(struct reading *reading);

#endif
