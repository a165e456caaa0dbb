// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger add`: captures, folders of them, and loops that were computed elsewhere (JSON). Each
 * capture is committed by itself and then told, each hundred lines of JSON likewise: what was told
 * is in the ledger, whatever happens next. */
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/lines.h"
#include "base/memory.h"
#include "cli/capture_paths.h"
#include "cli/common_options.h"
#include "cli/ledger.h"
#include "cli/loop_job.h"
#include "cli/loop_json.h"
#include "cli/output.h"
#include "ledger/document.h"
#include "ledger/record.h"

#define BATCH 100                    /* lines of JSON a commit */
#define HOPELESS 1000                /* lines */
#define LINE_MOST ((size_t)64 << 20) /* bytes of a file of one loop, or of a setup file */
#define BYTES_MOST ((size_t)1 << 30) /* of a capture that is kept */
#define SCHEMA_NEAR 100              /* within so many bytes a loop says that it is one */

struct adding {
    const struct ledger_command *options;
    struct ledger *ledger;
    struct loop_jobs *jobs;
    struct text told; /* of what is not committed yet */
    size_t counts[LEDGER_OUTCOMES], pending[LEDGER_OUTCOMES];
    size_t failures;
    size_t batch;
    int worst;
    struct error *err;
};

static void tell_failure(struct adding *adding, const char *name, const struct error *err)
{
    bool has_name = strstr(err->message, text_base_name(name)) != NULL;
    output_tell_failure(has_name ? NULL : name, err);
    adding->failures++;
    ledger_keep_worst(&adding->worst, (int)err->status);
}

/* "added     loop 12  r17.flac  R-17, RS-36, heat H2291". */
static void tell(struct adding *adding, enum ledger_outcome outcome, long long id,
    const struct ledger_loop *loop)
{
    adding->pending[outcome]++;
    if (adding->options->is_quiet)
        return;
    const char *parts[] = {loop->specimen_name, loop->alloy, loop->heat ? "heat " : NULL};
    const char *separator = "  ";
    text_add_format(&adding->told, "%-8s  loop %lld  %s", ledger_outcome_words[outcome], id,
        loop->file ? loop->file : "-");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (!parts[i])
            continue;
        text_add_format(&adding->told, "%s%s%s", separator, parts[i], i == 2 ? loop->heat : "");
        separator = ", ";
    }
    text_add(&adding->told, "\n");
}

/* Commits, and only then tells. */
static enum status finish_batch(struct adding *adding, struct error *err)
{
    if (adding->batch == 0)
        return STATUS_OK;
    adding->batch = 0;
    enum status status = ledger_commit(adding->ledger, err);
    if (!status)
        status = output_print(&adding->told, err);
    if (!status) {
        for (size_t i = 0; i < LEDGER_OUTCOMES; i++)
            adding->counts[i] += adding->pending[i];
    }
    memset(adding->pending, 0, sizeof adding->pending);
    text_clear(&adding->told);
    return status;
}

/* The ledger is at fault, not what should go into it: the whole batch goes. */
static void drop_batch(struct adding *adding)
{
    ledger_rollback(adding->ledger);
    adding->batch = 0;
    memset(adding->pending, 0, sizeof adding->pending);
    text_clear(&adding->told);
}

/* One loop into the batch in hand. */
static enum status add_loop(struct adding *adding, const struct ledger_loop *loop,
    const char *bytes, size_t length, struct error *err)
{
    enum ledger_outcome outcome = LEDGER_ADDED;
    long long id = 0;
    enum status status = adding->batch == 0 ? ledger_begin(adding->ledger, err) : STATUS_OK;
    if (status)
        return status;
    adding->batch++;
    status = ledger_add_loop(adding->ledger, loop, &outcome, &id, err);
    if (!status && bytes)
        status = ledger_add_bytes(adding->ledger, loop->sha256, bytes, length, err);
    if (!status) {
        tell(adding, outcome, id, loop);
        return STATUS_OK;
    }
    drop_batch(adding);
    return status;
}

/* --- captures ------------------------------------------------------------------------------- */

static char *write_settings(const struct loop_options *reading)
{
    const struct capture_options *capture = &reading->capture;
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    if (capture->start_s > 0)
        json_add_number(&json, "start_s", capture->start_s);
    if (capture->length_s > 0)
        json_add_number(&json, "length_s", capture->length_s);
    if (reading->harmonics > 0)
        json_add_integer(&json, "harmonics", (long long)reading->harmonics);
    if (reading->frequency_Hz > 0)
        json_add_number(&json, "fundamental_Hz", reading->frequency_Hz);
    if (capture->decimal)
        json_add_text(&json, "decimal", (char[]){capture->decimal, '\0'});
    if (capture->separator)
        json_add_text(&json, "separator", (char[]){capture->separator, '\0'});
    json_end_object(&json);
    if (out.failed)
        text_clear(&out);
    return out.bytes;
}

/* The text of a setup file that was looked for, as it was read; NULL: err tells why not. */
static enum status read_source(char *path, char **source, struct error *err)
{
    size_t length = 0;
    enum status status = path ? file_read(path, LINE_MOST, source, &length, err) : err->status;
    memory_destroy(path);
    return status;
}

/* What the ledger keeps of a job: its JSON as `loop` writes it, and where all came from. */
static enum status read_job(
    struct adding *adding, const struct loop_job *job, struct ledger_loop *loop, struct error *err)
{
    struct text out = {0};
    enum status status = loop_json_add(&out, job, adding->options->points, 0, err);
    if (!status)
        status = ledger_loop_read(text_base_name(job->path), out.bytes, out.length, loop, err);
    text_clear(&out);
    if (status)
        return status;
    loop->path = ledger_get_relative(adding->ledger, job->path);
    loop->settings = write_settings(&adding->options->reading);
    if (!loop->path || !loop->settings)
        return fail_memory(err);
    const struct setup_paths *setup = &adding->options->setup;
    status = read_source(setup_find_rig(setup, job->path, err), &loop->rig_source, err);
    if (!status)
        status =
            read_source(setup_find_specimen(setup, job->path, err), &loop->specimen_source, err);
    return status;
}

static void add_job(struct loop_job *job, void *user)
{
    struct adding *adding = user;
    struct ledger_loop loop = {0};
    char *bytes = NULL;
    size_t length = 0;
    struct error err = job->error;
    enum status status = job->status;
    if (!status)
        status = read_job(adding, job, &loop, &err);
    if (!status && adding->options->keeps_bytes)
        status = file_read(job->path, BYTES_MOST, &bytes, &length, &err);
    if (!status)
        status = add_loop(adding, &loop, bytes, length, &err);
    if (!status)
        status = finish_batch(adding, &err);
    if (status)
        tell_failure(adding, job->path, &err);
    memory_destroy(bytes);
    ledger_loop_clear(&loop);
    loop_job_clear(job);
}

static enum status add_captures(struct adding *adding, char **paths, size_t count)
{
    const struct ledger_command *options = adding->options;
    struct loop_jobs jobs = {.setup = options->setup,
        .options = options->reading,
        .list = memory_create(count, sizeof *jobs.list),
        .count = count,
        .report = add_job,
        .user = adding};
    if (!jobs.list)
        return fail_memory(adding->err);
    for (size_t i = 0; i < count; i++)
        jobs.list[i].path = paths[i];
    adding->jobs = &jobs;
    loop_jobs_run(&jobs, options->threads);
    memory_destroy(jobs.list);
    return STATUS_OK;
}

/* --- loops as JSON ------------------------------------------------------------------------- */

static bool is_json(const char *path)
{
    return !strcmp(path, "-") || path_has_ending(path, json_lines_endings);
}

/* A series, card or verdict into the batch in hand. */
static enum status put_document(
    struct adding *adding, const struct ledger_document *document, struct error *err)
{
    enum ledger_outcome outcome = LEDGER_ADDED;
    long long id = 0;
    enum status status = adding->batch == 0 ? ledger_begin(adding->ledger, err) : STATUS_OK;
    if (status)
        return status;
    adding->batch++;
    status = ledger_add_document(adding->ledger, document, &outcome, &id, err);
    if (status) {
        drop_batch(adding);
        return status;
    }
    adding->pending[outcome]++;
    if (!adding->options->is_quiet)
        text_add_format(&adding->told, "%-8s  %s %lld  %s\n", ledger_outcome_words[outcome],
            ledger_kind_get_name(document->kind), id, document->name);
    return STATUS_OK;
}

static enum status add_document(
    struct adding *adding, const char *name, const char *bytes, size_t length, struct error *err)
{
    struct ledger_document document = {0};
    enum status status = ledger_document_read(name, bytes, length, &document, err);
    if (status) {
        tell_failure(adding, name, err);
        *err = (struct error){0};
        return STATUS_OK;
    }
    status = put_document(adding, &document, err);
    ledger_document_clear(&document);
    return status;
}

static enum status add_json(
    struct adding *adding, const char *name, const char *bytes, size_t length, struct error *err)
{
    struct ledger_loop loop = {0};
    const char *schema = strstr(bytes, "\"lodecard-loop/1\"");
    if (!schema || schema > bytes + SCHEMA_NEAR) { /* elsewhere: of a loop that it holds */
        enum ledger_kind kind = ledger_find_schema(bytes, length);
        if (kind != LEDGER_KIND_LOOP && kind != LEDGER_KIND_COUNT)
            return add_document(adding, name, bytes, length, err);
    }
    enum status status = ledger_loop_read(name, bytes, length, &loop, err);
    if (status) {
        tell_failure(adding, name, err);
        *err = (struct error){0};
        return STATUS_OK;
    }
    status = add_loop(adding, &loop, NULL, 0, err);
    ledger_loop_clear(&loop);
    if (!status && adding->batch >= BATCH)
        status = finish_batch(adding, err);
    return status;
}

/* Lines of which none was a loop: what has no end need not be read to it. */
static bool is_hopeless(const struct adding *adding, size_t number)
{
    return number >= HOPELESS && adding->failures >= number;
}

static enum status add_lines(struct adding *adding, const char *path, struct error *err)
{
    const char *shown = strcmp(path, "-") ? path : "standard input";
    const size_t failures = adding->failures;
    struct lines *lines = NULL;
    struct line line;
    bool is_found = true;
    enum status status = lines_open(path, LINE_MOST, false, &lines, err);
    adding->failures = 0;
    while (!status) {
        char name[200];
        status = lines_read(lines, &line, &is_found, err);
        if (status || !is_found)
            break;
        snprintf(name, sizeof name, "%.160s:%zu", shown, line.number);
        if (strspn(line.bytes, " \t\r\n") < line.length)
            status = add_json(adding, name, line.bytes, line.length, err);
        if (!status && is_hopeless(adding, line.number))
            status = fail(err, STATUS_INPUT, "'lodecard loop --json-lines' writes such a file",
                "none of the first %zu lines of '%s' is a loop", line.number, shown);
    }
    lines_close(lines);
    adding->failures += failures;
    enum status rest = status ? status : finish_batch(adding, err);
    return status ? status : rest;
}

static enum status add_file(struct adding *adding, const char *path, struct error *err)
{
    static const char *const whole[] = {".json", NULL};
    char *bytes = NULL;
    size_t length = 0;
    if (!path_has_ending(path, whole))
        return add_lines(adding, path, err);
    enum status status = file_read(path, LINE_MOST, &bytes, &length, err);
    if (!status)
        status = add_json(adding, path, bytes, length, err);
    memory_destroy(bytes);
    return status ? status : finish_batch(adding, err);
}

/* --- folders -------------------------------------------------------------------------------- */

static enum status find_paths(
    struct adding *adding, struct capture_paths *paths, int count, char **words, struct error *err)
{
    enum status status = STATUS_OK;
    for (int i = 0; i < count && !status; i++) {
        size_t before = paths->count;
        if (is_json(words[i]))
            continue;
        if (!path_is_folder(words[i])) {
            status = capture_paths_add(paths, words[i], err);
            continue;
        }
        status = capture_paths_add_folder(paths, words[i], err);
        if (!status && paths->count == before) {
            struct error empty = {0};
            (void)fail(&empty, STATUS_INPUT,
                "captures in folders are audio files, .csv and .tsv; name others themselves",
                "there is no capture in '%s'", words[i]);
            tell_failure(adding, words[i], &empty);
        }
    }
    return status;
}

static enum status tell_sum(const struct adding *adding, struct error *err)
{
    struct text out = {0};
    text_add_format(&out, "%zu added, %zu known, %zu replaced", adding->counts[LEDGER_ADDED],
        adding->counts[LEDGER_KNOWN], adding->counts[LEDGER_REPLACED]);
    if (adding->failures > 0)
        text_add_format(&out, "; %zu failed", adding->failures);
    text_add(&out, "\n");
    return ledger_print(&out, err);
}

static int run_add(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct adding adding = {.options = options, .ledger = ledger, .err = err};
    struct capture_paths paths = {0};
    enum status status = find_paths(&adding, &paths, count, words, err);
    if (!status && paths.count > 0)
        status = add_captures(&adding, paths.list, paths.count);
    for (int i = 0; i < count && !status; i++)
        if (is_json(words[i]))
            status = add_file(&adding, words[i], err);
    if (!status)
        status = tell_sum(&adding, err);
    capture_paths_clear(&paths);
    text_clear(&adding.told);
    ledger_keep_worst(&adding.worst, (int)status);
    return adding.worst;
}

static const char *const own[] = {"rig", "specimen", "start", "length", "decimal", "separator",
    "harmonics", "fundamental", "points", "bytes", "jobs", "quiet", NULL};
const struct ledger_mode ledger_mode_add = {
    .name = "add",
    .options = own,
    .access = LEDGER_CREATE,
    .least = 1,
    .most = -1,
    .needs = "captures, folders or loop JSON",
    .run = run_add,
};
