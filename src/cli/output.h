// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_OUTPUT_H
#define LODECARD_CLI_OUTPUT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

/* A place where results go: standard output ("-"), at once; or a file, whole at the end. */
struct output {
    const char *path; /* NULL: not wanted; "-": standard output */
    struct text kept; /* what a file will hold */
};

bool output_is_stdout(const struct output *output);

/* Whether the paths that are not NULL can be written, as far as that shows without writing: no
 * folder, in a folder that exists and lets us; none twice, none of the `inputs`; one "-" at most.
 * The early word spares people a long run for nothing. */
enum status output_check(const char *const *paths, size_t count, char *const *inputs,
    size_t input_count, struct error *err) MUST_CHECK;

void output_add(struct output *output, const char *bytes, size_t count);

/* Before anything is printed: standard output finishes what is interrupted, and keeps the reason of
 * a failure. */
void output_open_stdout(void);

/* The same for a page that people read: what would steer a terminal is made visible
 * (base/visible.h), for names come from anywhere. */
void output_add_page(struct output *output, const struct text *page);

/* Writes such a page to standard error. */
void output_tell_page(const struct text *page);

/* Says on standard error why something failed: "lodecard: name: message" and, on a line of its own,
 * the hint. `name` is the file's, for a message that does not name it; NULL or "": none. Nothing
 * without a message. */
void output_tell_failure(const char *name, const struct error *err);

/* Why writing to standard output failed first (an errno), 0: it has not. */
int output_get_failure(void);

/* Writes the file, whole or not at all. */
enum status output_finish(struct output *output, struct error *err) MUST_CHECK;
void output_clear(struct output *output);

/* The usual ways at once, for a text that is all of its place: bytes to a path ("-": standard
 * output), a page that people read to standard output. A text that failed is STATUS_FAULT. */
enum status output_write(const char *path, const struct text *bytes, struct error *err) MUST_CHECK;
enum status output_print(const struct text *page, struct error *err) MUST_CHECK;

#endif
