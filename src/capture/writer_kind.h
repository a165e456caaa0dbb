// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_WRITER_KIND_H
#define LODECARD_CAPTURE_WRITER_KIND_H

#include "base/file.h"
#include "capture/writer.h"

/* How to add a kind of file to write: a const struct like this, and a create function that fills a
 * writer made by writer_create. */
struct writer_kind {
    enum status (*add)(struct writer *writer, const double *values, const double *times,
        size_t frames, struct error *err);
    enum status (*finish)(struct writer *writer, struct error *err); /* completes */
    void (*destroy)(struct writer *writer); /* closes and frees the state */
};

struct writer {
    const struct writer_kind *kind;
    struct file_draft draft;
    char *path; /* as given, for messages */
    size_t channels;
    int64_t frames; /* written so far */
    int64_t clipped;
    void *state; /* the kind's own */
};

#define WRITER_CHANNEL_LIMIT 64

/* A writer with its draft; `state_size` zeroed bytes for the kind. */
enum status writer_create(const char *path, const struct writer_kind *kind, size_t channels,
    size_t state_size, struct writer **writer, struct error *err) MUST_CHECK;

/* STATUS_IO with these words of the system. */
enum status writer_fail(const struct writer *writer, const char *words, struct error *err);

#endif
