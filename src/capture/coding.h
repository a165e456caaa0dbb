// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_CODING_H
#define LODECARD_CAPTURE_CODING_H

#include <stdbool.h>

/* The sample formats of audio files that lose nothing. */
struct coding {
    int subtype; /* libsndfile's */
    const char *name;
    int bits;
    bool is_float;
    int bytes; /* a sample takes in the file; 0: packed */
};

/* The coding of a libsndfile format, or NULL when it is a lossy one. */
const struct coding *coding_find(int format);

/* What a lossy one is called. */
const char *coding_find_lossy(int format);

#endif
