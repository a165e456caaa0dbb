// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_SOURCE_H
#define LODECARD_CLI_LOOP_SOURCE_H

#include "cli/loop_job.h"

/* The captures of a run, in their order: those of the command line, then those of a list; of all of
 * them one share, every n-th. */
struct loop_source {
    char **words;
    size_t word_count, word;
    struct loop_list *list; /* owned; NULL: none */
    size_t share, shares;   /* from 1; 0: all */
    size_t seen;            /* captures so far, those of other shares included */
    bool is_concise;
    enum status status; /* what ended the list */
    struct error error;
};

/* "2/8": share 2 of 8. */
enum status loop_source_read_share(
    struct loop_source *source, const char *words, struct error *err) MUST_CHECK;

/* The `next` of struct loop_jobs; `user` is the source. */
bool loop_source_next(struct loop_job *job, void *user);
void loop_source_clear(struct loop_source *source);

#endif
