// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_CONTAINER_H
#define LODECARD_CAPTURE_CONTAINER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "capture/source.h"

/* What the header of an audio file says, read ahead of libsndfile, which does not tell where a
 * header is wrong, how many samples it promises and what a sample rate's fraction is, and which
 * takes a length that was never filled in for an empty file. */
struct container {
    const char *name;   /* "WAV" */
    bool has_layout;    /* the rest is filled: WAV, RF64, W64, AIFF, CAF, AU and FLAC */
    bool is_big;        /* the container's byte order: most significant first */
    bool is_unfinished; /* the length in the header was never filled in, and has been mended */
    double sample_rate_Hz;
    int64_t rate_at; /* byte of the sample rate's field */
    uint64_t channels;
    int64_t channels_at;
    int64_t data_at;     /* first byte of the samples; -1: not a format with such a place */
    int64_t data_length; /* bytes of samples that the header promises; -1: unknown */
};

/* Whether these first bytes are those of an audio file that libsndfile reads. */
bool container_is_audio(const unsigned char *head, size_t count);

/* Reads the header, and mends a missing length by a patch of the source (WAV of a recorder that
 * was cut off, streams). STATUS_INPUT names the byte: a header that ends early, without samples,
 * without channels or with more than `channel_limit`, or with a sample rate that cannot be. */
enum status container_read(struct source *source, size_t channel_limit, struct container *container,
    struct error *err) MUST_CHECK;

#endif
