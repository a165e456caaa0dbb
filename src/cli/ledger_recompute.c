// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger recompute`: loops once more, by the present program, from the captures and the setup
 * files as they were. Each is laid out in a folder of its own as if it had just been recorded. What
 * comes out differently is told, against the uncertainty, and becomes the current loop; the old one
 * stays.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/leftover.h"
#include "base/memory.h"
#include "base/tree.h"
#include "cli/ledger.h"
#include "cli/ledger_find.h"
#include "cli/loop_job.h"
#include "cli/loop_json.h"
#include "cli/output.h"
#include "ledger/record.h"
#include "ledger/source.h"
#include "quantity/display.h"

#define DIGITS 3

/* One loop on its way. */
struct again {
    const struct ledger_command *options;
    struct ledger *ledger;
    char folder[4096];
    char *capture, *rig, *specimen; /* in the folder */
    /* what the ledger has of it */
    char *file, *path, *settings;
    char sha256[DIGEST_TEXT_SIZE];
    struct figures figures;
    size_t points;
    struct loop_options loop;
    /* how it went */
    struct ledger_loop found;
    struct error err;
};

struct sums {
    size_t same, changed, failed;
    double worst; /* largest change over its u */
    struct text out;
    int status;
};

static enum status write_file(const struct again *again, const char *name, const void *bytes,
    size_t count, char **path, struct error *err)
{
    struct text place = {0};
    text_add_format(&place, "%s/%s", again->folder, name);
    if (place.failed)
        return fail_memory(err);
    *path = place.bytes;
    leftover_add(place.bytes);
    return bytes ? file_write(place.bytes, bytes, count, err) : STATUS_OK;
}

/* The capture's bytes, or a link to where it lay. */
static enum status lay_capture(
    struct again *again, const struct ledger_source *source, struct error *err)
{
    const char *name = source->file && *source->file ? text_base_name(source->file) : "capture";
    enum status status =
        write_file(again, name, source->bytes, source->byte_count, &again->capture, err);
    if (status || source->bytes)
        return status;
    char *lay = source->path ? ledger_get_absolute(again->ledger, source->path) : NULL;
    char *real = lay ? realpath(lay, NULL) : NULL;
    memory_destroy(lay);
    if (!real)
        return fail(err, STATUS_IO, "bring it back there, or add it anew with --bytes",
            "the capture is not where it lay ('%s')", source->path ? source->path : "not told");
    if (symlink(real, again->capture) != 0)
        status = fail(err, STATUS_IO, "check the folder for temporary files", "cannot write '%s'",
            again->capture);
    memory_destroy(real);
    return status;
}

static void read_settings(struct again *again, const struct tree_value *settings)
{
    double harmonics = 0;
    const char *decimal = tree_get_text(tree_get(settings, "decimal"));
    const char *separator = tree_get_text(tree_get(settings, "separator"));
    struct loop_options *options = &again->loop;
    (void)tree_get_number(tree_get(settings, "start_s"), &options->capture.start_s);
    (void)tree_get_number(tree_get(settings, "length_s"), &options->capture.length_s);
    if (tree_get_number(tree_get(settings, "harmonics"), &harmonics))
        options->harmonics = (size_t)harmonics;
    (void)tree_get_number(tree_get(settings, "fundamental_Hz"), &options->frequency_Hz);
    options->capture.decimal = decimal ? *decimal : '\0';
    options->capture.separator = separator ? *separator : '\0';
}

static enum status read_points(
    struct again *again, const struct ledger_source *source, struct error *err)
{
    struct tree *tree = NULL;
    if (!source->points)
        return STATUS_OK;
    enum status status =
        tree_read_bytes("points", source->points, strlen(source->points), &tree, err);
    if (!status)
        again->points = tree_get_count(tree_get(tree_get_root(tree), "field_A_per_m"));
    tree_destroy(tree);
    return status;
}

static enum status lay_out(const struct ledger_source *source, void *user, struct error *err)
{
    struct again *again = user;
    struct tree *tree = NULL;
    again->file = memory_copy_text(source->file);
    again->path = memory_copy_text(source->path);
    again->settings = memory_copy_text(source->settings);
    snprintf(again->sha256, sizeof again->sha256, "%s", source->sha256);
    again->figures = source->figures;
    if (!source->rig_source || !source->specimen_source || !source->settings)
        return fail(err, STATUS_INPUT, "add its capture itself: 'lodecard ledger add CAPTURE'",
            "it came as JSON, without capture, rig.yaml and specimen.yaml");
    if (!again->file || !again->settings)
        return fail_memory(err);
    enum status status = write_file(
        again, "rig.yaml", source->rig_source, strlen(source->rig_source), &again->rig, err);
    if (!status)
        status = write_file(again, "specimen.yaml", source->specimen_source,
            strlen(source->specimen_source), &again->specimen, err);
    if (!status)
        status = lay_capture(again, source, err);
    if (!status)
        status = read_points(again, source, err);
    if (!status)
        status =
            tree_read_bytes("settings", source->settings, strlen(source->settings), &tree, err);
    if (!status)
        read_settings(again, tree_get_root(tree));
    tree_destroy(tree);
    return status;
}

/* Called by loop_jobs_run: the result as the ledger would have it. */
static void keep_result(struct loop_job *job, void *user)
{
    struct again *again = user;
    struct text out = {0};
    again->err = job->error;
    if (!job->status && strcmp(job->loop.sha256, again->sha256))
        job->status = fail(&again->err, STATUS_INPUT, "bring the one back that was added",
            "the capture has other bytes than it had");
    again->err.status = job->status;
    if (!job->status)
        again->err.status = loop_json_add(&out, job, again->points, 0, &again->err);
    if (!again->err.status)
        again->err.status =
            ledger_loop_read(again->file, out.bytes, out.length, &again->found, &again->err);
    text_clear(&out);
    loop_job_clear(job);
}

static enum status compute(struct again *again)
{
    struct loop_job job = {.path = again->capture};
    struct loop_jobs jobs = {.setup = {again->rig, again->specimen},
        .options = again->loop,
        .list = &job,
        .count = 1,
        .report = keep_result,
        .user = again};
    loop_jobs_run(&jobs, 1);
    if (again->err.status)
        return again->err.status;
    again->found.path = memory_copy_text(again->path);
    again->found.settings = memory_copy_text(again->settings);
    return again->found.settings ? STATUS_OK : fail_memory(&again->err);
}

/* A line for each figure that came out differently; how many. */
static size_t compare(const struct again *again, struct sums *sums)
{
    size_t count = 0;
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *old = &again->figures.list[i];
        const struct figure_value *now = &again->found.figures.list[i];
        bool is_same = old->is_present == now->is_present && old->has_u == now->has_u &&
                       (!old->is_present || old->value == now->value) &&
                       (!old->has_u || old->u == now->u);
        if (is_same)
            continue;
        count++;
        text_add_format(&sums->out, "  %-34s ", figure_table[i].name);
        if (!old->is_present || !now->is_present) {
            text_add(&sums->out, now->is_present ? "is new\n" : "is gone\n");
            continue;
        }
        double step = now->value - old->value;
        struct figure_value values[2] = {*old, {.value = step, .is_present = true}};
        struct display shown[2];
        values[0].has_u = false;
        for (size_t j = 0; j < 2; j++)
            display_set_figure(&shown[j], (enum figure)i, &values[j], j == 0 ? 6 : DIGITS);
        text_add_format(&sums->out, "%s %s, by %s %s", shown[0].value, shown[0].unit,
            shown[1].value, shown[1].unit);
        if (old->has_u && old->u > 0) {
            text_add_format(&sums->out, ": %.2g u", fabs(step) / old->u);
            sums->worst = fmax(sums->worst, fabs(step) / old->u);
        }
        text_add(&sums->out, step == 0 ? " (its u changed)\n" : "\n");
    }
    return count;
}

static enum status put_in(struct again *again, enum ledger_outcome *outcome, struct error *err)
{
    long long id = 0;
    enum status status = ledger_begin(again->ledger, err);
    if (!status)
        status = ledger_add_loop(again->ledger, &again->found, outcome, &id, err);
    if (!status)
        return ledger_commit(again->ledger, err);
    ledger_rollback(again->ledger);
    return status;
}

static void clear(struct again *again)
{
    char *const files[] = {again->capture, again->rig, again->specimen};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        if (!files[i])
            continue;
        unlink(files[i]);
        leftover_remove(files[i]);
        memory_destroy(files[i]);
    }
    if (again->folder[0]) {
        rmdir(again->folder);
        leftover_remove(again->folder);
    }
    memory_destroy(again->file);
    memory_destroy(again->path);
    memory_destroy(again->settings);
    ledger_loop_clear(&again->found);
}

static enum status make_folder(struct again *again, struct error *err)
{
    const char *place = getenv("TMPDIR");
    int length = snprintf(again->folder, sizeof again->folder, "%s/lodecard-XXXXXX",
        place && *place ? place : P_tmpdir);
    leftover_hold();
    const bool is_made =
        length > 0 && (size_t)length < sizeof again->folder && mkdtemp(again->folder) != NULL;
    if (is_made)
        leftover_add(again->folder);
    leftover_release();
    if (is_made)
        return STATUS_OK;
    again->folder[0] = '\0';
    return fail(err, STATUS_IO, "name one that can be written to in TMPDIR",
        "cannot make a folder for temporary files");
}

static enum status tell_change(
    struct again *again, long long id, struct sums *sums, struct error *err)
{
    struct text lines = sums->out;
    enum ledger_outcome outcome = LEDGER_KNOWN;
    sums->out = (struct text){0};
    size_t changed = compare(again, sums);
    struct text found = sums->out;
    sums->out = lines;
    if (changed == 0) {
        sums->same++;
        text_clear(&found);
        return STATUS_OK;
    }
    sums->changed++;
    text_add_format(&sums->out, "loop %lld  %s\n%s", id, again->file, found.bytes);
    text_clear(&found);
    return again->options->is_dry ? STATUS_OK : put_in(again, &outcome, err);
}

static enum status recompute(const struct ledger_command *options, struct ledger *ledger,
    long long id, struct sums *sums, struct error *err)
{
    struct again again = {.options = options, .ledger = ledger};
    enum status status = make_folder(&again, err);
    if (!status)
        status = ledger_visit_source_of(ledger, id, lay_out, &again, &again.err);
    if (!status && again.folder[0])
        status = compute(&again);
    if (status && again.folder[0]) {
        char name[32];
        snprintf(name, sizeof name, "loop %lld", id);
        output_tell_failure(name, &again.err);
        sums->failed++;
        ledger_keep_worst(&sums->status, (int)status);
        status = STATUS_OK; /* one that fails does not stop the others */
    } else if (!status) {
        status = tell_change(&again, id, sums, err);
    }
    clear(&again);
    return status;
}

static enum status find_ids(const struct ledger_command *options, struct ledger *ledger,
    struct ledger_ids *ids, struct error *err)
{
    struct ledger_search search;
    struct ledger_where *where = ledger_choice_read_where(&options->choice, err);
    if (!where)
        return err->status;
    enum status status = ledger_read_search(options, where, &search, err);
    search.limit = 0;
    if (!status)
        status = ledger_find_ids(ledger, &search, ids, err);
    ledger_where_destroy(where);
    return status;
}

static int run_recompute(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct sums sums = {0};
    struct ledger_ids ids = {0};
    (void)count;
    (void)words;
    enum status status = find_ids(options, ledger, &ids, err);
    for (size_t i = 0; i < ids.count && !status; i++)
        status = recompute(options, ledger, ids.list[i], &sums, err);
    text_add_format(
        &sums.out, "%zu the same, %zu changed, %zu failed", sums.same, sums.changed, sums.failed);
    if (sums.worst > 0)
        text_add_format(&sums.out, "; by %.2g u at most", sums.worst);
    text_add(&sums.out, options->is_dry && sums.changed > 0 ? "; nothing was written\n" : "\n");
    memory_destroy(ids.list);
    if (!status)
        status = ledger_print(&sums.out, err);
    text_clear(&sums.out);
    ledger_keep_worst(&sums.status, (int)status);
    return sums.status;
}

static const char *const own[] = {"where", "supplier", "alloy", "heat", "tag", "dry-run", NULL};
const struct ledger_mode ledger_mode_recompute = {
    .name = "recompute",
    .options = own,
    .access = LEDGER_WRITE,
    .needs = "which loops as options",
    .run = run_recompute,
};
