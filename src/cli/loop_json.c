// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_json.h"

#include "base/json.h"
#include "base/version.h"
#include "budget/loop_budget.h"

static void add_failure(struct text *out, const struct loop_job *job, int indent)
{
    struct json json;
    json_init(&json, out, indent);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-loop/1");
    json_add_text(&json, "version", LODECARD_VERSION);
    json_begin_object(&json, "capture");
    json_add_text(&json, "file", text_base_name(job->path));
    if (job->loop.sha256[0])
        json_add_text(&json, "sha256", job->loop.sha256);
    json_end_object(&json);
    json_begin_object(&json, "error");
    json_add_integer(&json, "status", (long long)job->status);
    json_add_text(&json, "message", job->error.message);
    json_add_text(&json, "hint", job->error.hint);
    json_end_object(&json);
    if (job->loop.notes.count)
        notes_write_json(&json, "notes", &job->loop.notes);
    json_end_object(&json);
    json_finish(&json);
}

static enum status add_result(
    struct text *out, const struct loop_job *job, size_t points, int indent, struct error *err)
{
    struct json json;
    json_init(&json, out, indent);
    json_begin_object(&json, NULL);
    enum status status =
        loop_write_members(&json, &job->loop, &job->rig, &job->specimen, points, err);
    if (job->shows_budget)
        loop_budget_write_json(&json, "budget", job->budget);
    json_end_object(&json);
    json_finish(&json);
    return !status && out->failed ? fail_memory(err) : status;
}

enum status loop_json_add(
    struct text *out, const struct loop_job *job, size_t points, int indent, struct error *err)
{
    if (!job->status)
        return add_result(out, job, points, indent, err);
    add_failure(out, job, indent);
    return out->failed ? fail_memory(err) : STATUS_OK;
}
