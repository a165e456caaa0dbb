// SPDX-License-Identifier: GPL-3.0-or-later
#include "feed.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "suites.h"

#define PIECE 3001 /* odd, so that pieces and samples do not line up */

static void *run(void *argument)
{
    const struct feed *feed = argument;
    int file = open(feed->name, O_WRONLY);
    size_t done = 0;
    while (file >= 0 && done < feed->count) {
        size_t left = feed->count - done;
        ssize_t written = write(file, feed->bytes + done, left < PIECE ? left : PIECE);
        if (written <= 0) {
            break; /* the reader has had enough */
        }
        done += (size_t)written;
    }
    close(file);
    return NULL;
}

void feed_begin(struct feed *feed, const char *name, const char *bytes, size_t count)
{
    *feed = (struct feed){.name = name, .bytes = bytes, .count = count};
    signal(SIGPIPE, SIG_IGN);
    ck_assert_int_eq(mkfifo(name, 0666), 0);
    ck_assert_int_eq(pthread_create(&feed->thread, NULL, run, feed), 0);
}

void feed_end(struct feed *feed)
{
    pthread_join(feed->thread, NULL);
    ck_assert_int_eq(unlink(feed->name), 0);
}

char *feed_read_file(const char *name, size_t *count)
{
    FILE *file = fopen(name, "rb");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(fseek(file, 0, SEEK_END), 0);
    *count = (size_t)ftell(file);
    rewind(file);
    char *bytes = malloc(*count + 1);
    ck_assert_ptr_nonnull(bytes);
    ck_assert_uint_eq(fread(bytes, 1, *count, file), *count);
    fclose(file);
    return bytes;
}
