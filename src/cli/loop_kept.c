// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_kept.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/loop_json.h"

void loop_kept_clear(struct loop_kept *kept)
{
    text_clear(&kept->options);
}

/* --- what a result is made from --------------------------------------------------------------- */

static void add_letter(struct json *json, const char *key, char letter)
{
    const char words[2] = {letter, '\0'};
    json_add_text(json, key, letter ? words : NULL);
}

/* All that changes the result, and nothing else. */
static void add_options(
    struct text *out, const struct loop_jobs *jobs, const struct loop_options *options)
{
    struct json json;
    json_init(&json, out, 0);
    json_begin_object(&json, NULL);
    json_add_number(&json, "start_s", options->capture.start_s);
    json_add_number(&json, "length_s", options->capture.length_s);
    add_letter(&json, "decimal", options->capture.decimal);
    add_letter(&json, "separator", options->capture.separator);
    json_add_integer(&json, "harmonics", (long long)options->harmonics);
    json_add_number(&json, "fundamental_Hz", options->frequency_Hz);
    json_add_text(&json, "today", options->today);
    json_add_integer(&json, "points", (long long)jobs->points);
    json_add_bool(&json, "budget", jobs->has_budget);
    if (jobs->has_trials) /* 0: auto */
        json_add_integer(&json, "trials", (long long)jobs->trials.count);
    json_end_object(&json);
}

/* Of a setup file that was looked for; NULL: not found, and err tells it. */
static enum status digest_setup(char *path, char sha256[DIGEST_TEXT_SIZE], struct error *err)
{
    if (!path)
        return err->status;
    const enum status status = digest_file(path, sha256, err);
    memory_destroy(path);
    return status;
}

static enum status set_origin(struct loop_kept *kept, const struct loop_jobs *jobs,
    const struct loop_job *job, struct error *err)
{
    struct loop_origin *origin = &kept->origin;
    add_options(&kept->options, jobs, job->item.path ? &job->item.options : &jobs->options);
    if (kept->options.failed)
        return fail_memory(err);
    origin->capture = job->path;
    origin->options = kept->options.bytes;
    const struct setup_paths setup = loop_job_get_setup(jobs, job);
    enum status status =
        digest_setup(setup_find_rig(&setup, job->path, err), origin->rig_sha256, err);
    if (!status)
        status =
            digest_setup(setup_find_specimen(&setup, job->path, err), origin->specimen_sha256, err);
    return status;
}

/* --- a result that was kept ------------------------------------------------------------------- */

static void read_figures(const struct tree_value *object, struct figures *figures)
{
    for (int i = 0; i < FIGURE_COUNT; i++) {
        char key[80];
        double value;
        snprintf(key, sizeof key, "u_%s", figure_table[i].key);
        if (tree_get_number(tree_get(object, figure_table[i].key), &value))
            figures_set(figures, (enum figure)i, value);
        if (tree_get_number(tree_get(object, key), &value))
            figures_set_u(figures, (enum figure)i, value);
    }
}

static const char *get_text(const struct tree_value *object, const char *key)
{
    return text_or_empty(tree_get_text(tree_get(object, key)));
}

static void read_notes(const struct tree_value *array, struct notes *notes)
{
    for (size_t i = 0; i < tree_get_count(array); i++) {
        const struct tree_value *note = tree_get_at(array, i);
        enum note_level level = NOTE_INFO;
        while (level < NOTE_FATAL && strcmp(note_level_get_name(level), get_text(note, "level")))
            level++;
        notes_add(notes, get_text(note, "code"), level, get_text(note, "hint"), "%s",
            get_text(note, "message"));
    }
}

static enum status fill_job(struct loop_job *job, struct error *err)
{
    const struct tree_value *root = tree_get_root(job->kept);
    const struct tree_value *error = tree_get(root, "error");
    const char *name = tree_get_text(tree_get(tree_get(root, "specimen"), "name"));
    double status = STATUS_OK;
    snprintf(job->loop.sha256, sizeof job->loop.sha256, "%s",
        get_text(tree_get(root, "capture"), "sha256"));
    read_figures(tree_get(root, "figures"), &job->loop.figures);
    read_notes(tree_get(root, "notes"), &job->loop.notes);
    job->specimen.name = memory_copy_text(name);
    if (job->loop.notes.failed || (name && !job->specimen.name))
        return fail_memory(err);
    if (tree_get_number(tree_get(error, "status"), &status) && status > STATUS_OK)
        return fail(err, status < STATUS_FAULT ? (enum status)status : STATUS_FAULT,
            get_text(error, "hint"), "%s", get_text(error, "message"));
    return STATUS_OK;
}

/* The status is of reading; that of the capture stands in the job, where it makes it a failed one.
 */
static enum status read_kept(
    const struct loop_jobs *jobs, struct loop_job *job, struct text *result, struct error *err)
{
    struct tree *tree = NULL;
    enum status status = tree_read_bytes("the manifest", result->bytes, result->length, &tree, err);
    if (status)
        return status;
    if (jobs->retries && tree_get(tree_get_root(tree), "error")) {
        tree_destroy(tree);
        return STATUS_OK;
    }
    job->kept = tree;
    job->result = *result;
    *result = (struct text){0};
    return fill_job(job, err);
}

enum status loop_kept_find(
    struct loop_kept *kept, const struct loop_jobs *jobs, struct loop_job *job, struct error *err)
{
    struct text result = {0};
    bool is_found = false;
    enum status status = set_origin(kept, jobs, job, err);
    if (status || loop_manifest_is_empty(jobs->manifest)) /* the hash comes out of computing */
        return status;
    status = digest_file(job->path, kept->origin.sha256, err);
    if (!status)
        status = loop_manifest_find(jobs->manifest, &kept->origin, &result, &is_found, err);
    if (!status && is_found)
        status = read_kept(jobs, job, &result, err);
    text_clear(&result);
    return status;
}

/* --- one to keep ------------------------------------------------------------------------------ */

enum status loop_kept_add(
    struct loop_kept *kept, const struct loop_jobs *jobs, struct loop_job *job)
{
    struct error err = {0};
    enum status status = loop_json_add(&job->result, job, jobs->points, 0, &err);
    const bool is_certain = job->status != STATUS_IO && job->status != STATUS_FAULT;
    if (!status && is_certain && job->loop.sha256[0]) /* what was read counts, if it changed */
        memcpy(kept->origin.sha256, job->loop.sha256, sizeof kept->origin.sha256);
    else if (!status && is_certain && !kept->origin.sha256[0])
        status = digest_file(job->path, kept->origin.sha256, &err);
    if (!status && job->result.length > 0)
        job->result.bytes[--job->result.length] = '\0'; /* the new line */
    if (!status && is_certain)
        status = loop_manifest_add(jobs->manifest, &kept->origin, job->status, &job->result, &err);
    if (status) {
        job->status = status;
        job->error = err;
    }
    return status;
}
