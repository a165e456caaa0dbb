// SPDX-License-Identifier: GPL-3.0-or-later
/* How fast a table of commas is read, and how fast the C library reads the same numbers.
 *
 *     table FILE      prints lines "what bytes-a-second": of processor time, the best of some runs
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/memory.h"
#include "capture/capture.h"

#define RUNS 5
#define ROWS 4096
#define CHANNELS 2

static double sum; /* so that nothing is left out as unused */

static void need(enum status status, const struct error *err)
{
    if (status != STATUS_OK) {
        fprintf(stderr, "table: %s\n", err->message);
        exit(1);
    }
}

static double get_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now); /* the digest has a thread of its own */
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void read_all(const char *path, const char *bytes)
{
    static double values[ROWS * CHANNELS], times[ROWS];
    static const size_t channels[CHANNELS] = {0, 1};
    const struct capture_options options = {0};
    struct capture *capture;
    struct error err = {0};
    (void)bytes;
    need(capture_open(path, &options, &capture, &err), &err);
    need(capture_select(capture, channels, CHANNELS, &err), &err);
    for (size_t got = 1; got > 0;) {
        need(capture_read(capture, ROWS, values, times, &got, &err), &err);
        sum += values[0];
    }
    need(capture_finish(capture, &err), &err);
    capture_close(capture);
}

/* Every number of the bytes, which end in a zero, behind the first line. */
static void read_by_strtod(const char *path, const char *bytes)
{
    (void)path;
    for (const char *at = strchr(bytes, '\n'); at != NULL && at[1] != '\0';) {
        char *end;
        sum += strtod(at + 1, &end);
        at = *end != '\0' ? end : NULL;
    }
}

static char *take_in(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    char *bytes = NULL;
    if (file != NULL && fseek(file, 0, SEEK_END) == 0) {
        *size = (size_t)ftell(file);
        rewind(file);
        bytes = memory_create(*size + 1, 1);
    }
    if (bytes == NULL || fread(bytes, 1, *size, file) != *size) {
        fprintf(stderr, "table: cannot read '%s'\n", path);
        exit(1);
    }
    fclose(file);
    return bytes;
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        void (*read)(const char *path, const char *bytes);
    } ways[] = {{"reader", read_all}, {"strtod", read_by_strtod}};
    if (argc != 2) {
        fprintf(stderr, "usage: table FILE\n");
        return EXIT_FAILURE;
    }
    size_t size = 0;
    char *bytes = take_in(argv[1], &size);
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        double best = 1e9;
        for (int run = 0; run < RUNS; run++) {
            const double begin = get_seconds();
            ways[i].read(argv[1], bytes);
            const double taken = get_seconds() - begin;
            best = taken < best ? taken : best;
        }
        printf("%s %.6g\n", ways[i].name, (double)size / best);
    }
    memory_destroy(bytes);
    return sum != 0.0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
