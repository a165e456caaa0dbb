// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_source.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#define SHARES_MOST 1000000

/* A whole number without sign, or 0. */
static size_t read_count(const char *words, const char **end)
{
    char *rest = NULL;
    if (*words < '0' || *words > '9')
        return 0;
    errno = 0;
    const unsigned long number = strtoul(words, &rest, 10);
    *end = rest;
    return errno || number > SHARES_MOST ? 0 : (size_t)number;
}

enum status loop_source_read_share(struct loop_source *source, const char *words, struct error *err)
{
    const char *end = "";
    const size_t share = read_count(words, &end);
    const size_t shares = share > 0 && *end == '/' ? read_count(end + 1, &end) : 0;
    if (shares == 0 || *end != '\0' || share > shares)
        return fail(err, STATUS_USAGE, "'--share 1/2' in one place, '--share 2/2' in the other",
            "'--share %.40s': expected K/N, share K of N", words);
    source->share = share;
    source->shares = shares;
    return STATUS_OK;
}

static bool is_ours(struct loop_source *source)
{
    const size_t at = source->seen++;
    return source->shares == 0 || at % source->shares == source->share - 1;
}

/* The next item of the list that is ours; one that cannot be understood is a job that failed. */
static bool next_item(struct loop_source *source, struct loop_job *job)
{
    bool is_found = true;
    while (source->list && !source->status) {
        const enum status status = loop_list_read(source->list, &job->item, &is_found, &job->error);
        if (!job->item.path) { /* the end, or nothing more can be read */
            source->status = status;
            source->error = job->error;
            return false;
        }
        job->path = job->item.path;
        job->status = status;
        if (is_ours(source))
            return true;
        loop_item_clear(&job->item);
    }
    return false;
}

bool loop_source_next(struct loop_job *job, void *user)
{
    struct loop_source *source = user;
    while (source->word < source->word_count) {
        job->path = source->words[source->word++];
        job->is_concise = source->is_concise;
        if (is_ours(source))
            return true;
    }
    return next_item(source, job);
}

void loop_source_clear(struct loop_source *source)
{
    loop_list_close(source->list);
    source->list = NULL;
}
