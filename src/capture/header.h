// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_HEADER_H
#define LODECARD_CAPTURE_HEADER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "capture/container.h"
#include "capture/source.h"

/* The headers of the audio formats whose layout is known: container.c's part. */

/* The field of the header that says how many bytes of samples follow. */
struct length_field {
    int64_t at;
    size_t size;    /* 4 or 8 bytes */
    uint64_t extra; /* what it counts besides the samples */
    bool is_big;    /* most significant byte first */
    uint64_t value;
    uint64_t outer; /* bytes of the whole file by the outer header; 0: it does not tell */
};

/* What reading a header needs and finds. */
struct header {
    struct source *source;
    struct container *container;
    struct length_field length;
    struct length_field long_length; /* RF64; its size is 0 elsewhere */
    bool is_big;
    struct error *err;
};

/* Each fills container (layout and format) and length. */
enum status header_read_wave(struct header *header) MUST_CHECK; /* and RF64 */
enum status header_read_wave64(struct header *header) MUST_CHECK;
enum status header_read_aiff(struct header *header) MUST_CHECK;
enum status header_read_caf(struct header *header) MUST_CHECK;
enum status header_read_au(struct header *header) MUST_CHECK;
enum status header_read_flac(struct header *header) MUST_CHECK;

extern const char header_damage_hint[];

#endif
