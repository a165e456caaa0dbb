// SPDX-License-Identifier: GPL-3.0-or-later
/* Steels by file name: JSON by its first character, else a capture, whose loop is rebuilt first. */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "cli/loop_job.h"
#include "cli/motor_job.h"

#define JSON_LIMIT ((size_t)1 << 28) /* bytes */
#define HEAD 64                      /* bytes that are looked at */

/* Whether a file begins like JSON. */
static enum status find_kind(const char *path, bool *is_json, struct error *err)
{
    char head[HEAD + 1] = "";
    *is_json = true;
    if (!strcmp(path, "-"))
        return STATUS_OK;
    FILE *file = fopen(path, "rb");
    errno = file ? 0 : errno;
    size_t length = file ? fread(head, 1, HEAD, file) : 0;
    bool is_bad = !file || ferror(file);
    int reason = errno;
    if (file)
        fclose(file);
    if (is_bad)
        return fail(err, STATUS_IO, "check the path and the permissions", "cannot read '%s': %s",
            path, strerror(reason));
    const char *at = head;
    at += !strncmp(at, "\xEF\xBB\xBF", 3) ? 3 : 0;
    at += strspn(at, " \t\r\n");
    if (length == 0)
        return fail(err, STATUS_INPUT, "give a card, a series, a loop (JSON) or a capture",
            "'%s' is empty", path);
    *is_json = *at == '{' || *at == '[';
    return STATUS_OK;
}

static enum status read_json(const char *path, struct motor_steel *steel, struct error *err)
{
    struct tree *tree = NULL;
    enum status status = tree_read(path, JSON_LIMIT, &tree, err);
    if (!status)
        status = motor_steel_read_tree(tree, steel, err);
    tree_destroy(tree);
    return status;
}

static void keep_quiet(struct loop_job *job, void *user)
{
    (void)job;
    (void)user;
}

/* What the capture's JSON would tell, taken the short way. */
static enum status read_loop(
    const struct loop_job *job, struct motor_steel *steel, struct error *err)
{
    struct text name = {0};
    const struct specimen *specimen = &job->specimen;
    loop_job_add_name(&name, job);
    enum status status = name.failed
                             ? fail_memory(err)
                             : motor_steel_read_figures(name.bytes, text_base_name(job->path),
                                   &job->loop.figures, steel, err);
    text_clear(&name);
    if (status)
        return status;
    double width = 0.5 * (specimen->outer_diameter.value - specimen->inner_diameter.value);
    double height = specimen->height.value;
    bool is_solid = specimen->outer_diameter.is_present && specimen->height.is_present &&
                    specimen->stacking_factor.value >= 1;
    steel->resistivity = specimen->resistivity.value;
    steel->thickness = !is_solid ? 0 : width < height ? width : height;
    return STATUS_OK;
}

static enum status read_capture(const char *path, const struct motor_command *options,
    struct motor_steel *steel, struct error *err)
{
    struct loop_job job = {.path = path};
    struct loop_jobs jobs = {
        .setup = options->setup, .list = &job, .count = 1, .report = keep_quiet};
    loop_jobs_run(&jobs, 1);
    enum status status = job.status;
    if (status)
        *err = job.error;
    else
        status = read_loop(&job, steel, err);
    loop_job_clear(&job);
    return status;
}

enum status motor_steel_read(const char *path, const struct motor_command *options,
    struct motor_steel *steel, struct error *err)
{
    bool is_json;
    enum status status = find_kind(path, &is_json, err);
    if (status)
        return status;
    return is_json ? read_json(path, steel, err) : read_capture(path, options, steel, err);
}
