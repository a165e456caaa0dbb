// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_AUDIO_FILE_H
#define LODECARD_CAPTURE_AUDIO_FILE_H

#include <sndfile.h>
#include <stdint.h>

#include "base/error.h"
#include "capture/coding.h"
#include "capture/container.h"
#include "capture/source.h"

/* libsndfile on a capture's source. It reads through the source, regular files too, so that pipes,
 * headers that were never completed, files cut off and failing disks are handled in one place and
 * told apart. */
#define AUDIO_CHANNEL_LIMIT 64

struct audio_file {
    struct source *source; /* borrowed */
    SNDFILE *handle;
    struct container container;
    const struct coding *coding;
    size_t channels;
    double sample_rate_Hz;
    int64_t frames_promised; /* by the header; -1: unknown */
    int64_t frames_there;    /* -1: unknown (a stream, FLAC that does not tell) */
    int64_t base;            /* of libsndfile's byte 0 in the source */
};

/* Opens; the struct must stay where it is until it is cleared. */
enum status audio_file_init(
    struct audio_file *file, struct source *source, struct error *err) MUST_CHECK;
void audio_file_clear(struct audio_file *file); /* safe on a zeroed struct and twice */

#endif
