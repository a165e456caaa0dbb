// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_FEED_H
#define LODECARD_TESTS_FEED_H

#include <pthread.h>
#include <stddef.h>

/* A named pipe in the scratch folder, fed by a thread: what a test reads from it cannot seek. */
struct feed {
    pthread_t thread;
    const char *name;
    const char *bytes; /* borrowed until feed_end */
    size_t count;
};

void feed_begin(struct feed *feed, const char *name, const char *bytes, size_t count);
void feed_end(struct feed *feed); /* after the reader has closed it */

/* The whole of a file; to be freed. */
char *feed_read_file(const char *name, size_t *count);

#endif
