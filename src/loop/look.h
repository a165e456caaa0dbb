// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_LOOK_H
#define LODECARD_LOOP_LOOK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "capture/capture.h"
#include "capture/sampling.h"
#include "loop/note.h"

/* What a capture holds, seen without a rig: each channel by itself (level, offset, frequency,
 * harmonics, noise), and which two look like the excitation and the pickup of a ring. */
#define LOOK_HARMONICS 9 /* shares are given of harmonics 2 to this */

struct look_channel {
    char *name;
    char *unit_written; /* as in the file, "" when there is none */
    size_t column;      /* its number as a person counts */
    size_t index;       /* its place in the capture: columns of text have none here */
    enum dimension dimension;
    bool has_unit; /* values are SI; else fractions of full scale (audio) or plain numbers */

    int64_t samples; /* that have a value */
    int64_t missing;
    double minimum, maximum; /* NaN when there is no sample, as all values that cannot be told */
    double offset;           /* of the periodic fit, else the mean */
    double rms;              /* about the offset */
    double crest_factor;     /* largest distance from the offset over rms; NaN when rms is 0 */
    double step;             /* smallest difference of neighbours: the resolution; 0: none */
    int64_t extreme_run;     /* longest run of samples at the maximum or the minimum */
    int64_t extreme_count;
    double natural_run; /* what a sine of this amplitude and frequency would make of it */
    bool is_clipped;

    bool is_periodic; /* else `reason` says why not, and what follows is not set */
    char reason[240]; /* one sentence, small letters, no full stop */
    double fit_share; /* of the rows the fit looked at; below 1 for long tables */
    double frequency_Hz, u_frequency_Hz;
    double cycles;
    size_t harmonics;   /* that the waveform holds, by the fit */
    double fundamental; /* peak value */
    double phase_deg;   /* of the fundamental at the middle of the record, cosine = 0 */
    double harmonic[LOOK_HARMONICS + 1]; /* [k]: amplitude over the fundamental's, k from 2 */
    double harmonic_floor; /* three standard deviations of such a share: below it is noise */
    double distortion;     /* rms of harmonics 2 ... over the fundamental's */
    double noise_rms;
    double signal_to_noise_dB; /* power of all harmonics over that of the noise */
};

/* Which channels (index) look like what, and why. */
struct look_pair {
    bool is_found;
    size_t excitation, pickup;
    bool has_lead;        /* both are periodic with one frequency */
    double lead_deg;      /* of the pickup over the excitation, 0 ... 360 */
    bool is_reversed;     /* the pickup coil, or one input, is turned round */
    bool is_contradicted; /* found by units, but the phase speaks against it */
    char reason[480];
};

struct look {
    char *file;
    char *format;
    char sha256[DIGEST_TEXT_SIZE];
    enum capture_kind kind;
    enum capture_timing timing;
    int bits; /* 0: a table */
    bool is_float;
    bool is_stream;
    int64_t frames;
    int64_t frames_expected; /* -1: unknown */
    int64_t missing;         /* rows with a missing value */
    int64_t missing_lines[16];
    size_t missing_line_count;
    int64_t repeated_run;  /* longest run of rows that repeat the one before in all channels (the
                              first LOOK_GROUP) */
    int64_t repeated_at;   /* row where it began, from 0 */
    double sample_rate_Hz; /* 0: uneven, or unknown */
    double start_s, length_s;
    bool has_sampling; /* tables with a time column */
    struct sampling sampling;
    struct look_channel *channels;
    size_t channel_count;
    size_t capture_channels; /* columns of text included */
    struct look_pair pair;
    struct notes notes;
};

/* Looks at the whole of the capture, or the part that `options` ask for. A table without time is
 * looked at as far as that goes. Files of more than LOOK_GROUP channels are read several times;
 * of a stream the channels behind these have no samples. */
#define LOOK_GROUP 8
enum status look_read(const char *path, const struct capture_options *options, struct look *look,
    struct error *err) MUST_CHECK;
void look_clear(struct look *look); /* safe on a zeroed struct and twice */

/* What a person counts in this capture: "channel" (audio) or "column". */
const char *look_get_channel_word(const struct look *look);

/* Highest absolute value of a channel in dB of full scale; -infinity for silence. */
double look_get_level_dBFS(const struct look_channel *channel);

/* The "lodecard-look/1" object. `indent` 0: one line. */
enum status look_write_json(
    const struct look *look, int indent, struct text *out, struct error *err) MUST_CHECK;

#endif
