// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_READER_H
#define LODECARD_CAPTURE_READER_H

#include <stdbool.h>
#include <stddef.h>

#include "capture/capture.h"

/* How to add a reader: a const struct like these in a file of its own, and a line in reader_list
 * (capture.c). */
struct reader {
    const char *name;
    /* True when the first bytes of a file (at most READER_HEAD_SIZE, fewer when the file is
     * shorter) look like this reader's. The last reader of the list takes what no other wants. */
    bool (*is_mine)(const unsigned char *head, size_t count);
    enum status (*open)(struct capture *capture, struct error *err);
    enum status (*select)(
        struct capture *capture, const size_t *indices, size_t count, struct error *err);
    enum status (*read)(struct capture *capture, size_t frames, double *values, double *times,
        size_t *got, struct error *err);
    void (*close)(struct capture *capture);
};

#define READER_HEAD_SIZE 4096

/* Bytes that come forward only, from a file or a pipe, digested as they pass (files are digested by
 * a thread of their own instead, see capture.c). The head is kept so that a reader is chosen by
 * content and may begin again. */
struct source;
/* Reads up to `count` bytes; 0 at the end; -1 on a failure (errno is set). */
long source_read(struct source *source, void *bytes, size_t count);

struct capture {
    const struct reader *reader;
    char *path;
    struct source *source;
    struct capture_options options; /* texts copied */
    struct capture_info info; /* the reader fills it, frames and missing rows (as they are read)
                                 included; file, is_stream and sha256 are
                                       capture.c's */
    size_t selected;          /* channels; 0: capture.c selects all before the first read */
    struct ahead *ahead;      /* of capture_take */
    void *state;              /* the reader's own */
};

extern const struct reader reader_audio;
extern const struct reader reader_table;

#endif
