// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops from captures: rebuilt, with the uncertainty that rig, specimen and scatter give them. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "budget/loop_budget.h"
#include "series/series_part.h"

#define POINTS 512

static enum status copy_points(
    struct series_loop *made, const struct loop *loop, size_t points, struct error *err)
{
    size_t count = points ? points : POINTS;
    if (loop->is_trace &&
        loop->trace_count > 0) /* so that each row is among them: no corner is cut */
        count = (count + loop->trace_count - 1) / loop->trace_count * loop->trace_count;
    made->field = memory_create(count, sizeof *made->field);
    made->flux_density = memory_create(count, sizeof *made->flux_density);
    if (!made->field || !made->flux_density)
        return fail_memory(err);
    made->point_count = count;
    return loop_compute_points(loop, count, made->field, made->flux_density, err);
}

static enum status copy_notes(
    struct series_loop *made, const struct notes *notes, struct error *err)
{
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        notes_add(&made->notes, note->code, note->level, note->hint, "%s", note->message);
        notes_set_subject(&made->notes, note->subject);
        for (size_t n = 0; n < note->number_count; n++)
            notes_add_measure(
                &made->notes, note->numbers[n].key, note->numbers[n].value, note->numbers[n].limit);
    }
    return made->notes.failed ? fail_memory(err) : STATUS_OK;
}

static enum status copy_setup(struct series *series, struct series_loop *made,
    const struct rig *rig, const struct specimen *specimen, struct error *err)
{
    struct text words[2] = {{0}, {0}};
    struct json json;
    struct series_steel steel = {0};
    json_init(&json, &words[0], 0);
    rig_write_json(&json, NULL, rig);
    json_init(&json, &words[1], 0);
    specimen_write_json(&json, NULL, specimen);
    enum status status =
        words[0].failed || words[1].failed ? fail_memory(err) : steel_set(&steel, specimen, err);
    if (!status) {
        made->setup = series_add_setup(series, words[0].bytes, words[1].bytes, &steel);
        status = made->setup == SERIES_NONE ? fail_memory(err) : STATUS_OK;
    }
    text_clear(&words[0]);
    text_clear(&words[1]);
    return status;
}

enum status series_add_loop(struct series *series, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, struct error *err)
{
    struct series_loop *made = series_new_loop(series);
    if (!made)
        return fail_memory(err);
    made->file = memory_copy_text(loop->file);
    made->specimen = memory_copy_text(specimen->name);
    if ((loop->file && !made->file) || (specimen->name && !made->specimen))
        return fail_memory(err);
    snprintf(made->sha256, sizeof made->sha256, "%s", loop->sha256);
    made->figures = loop->figures;
    made->temperature_K = specimen->temperature.is_present ? specimen->temperature.value : 0;
    enum status status = copy_setup(series, made, rig, specimen, err);
    if (!status)
        status = copy_notes(made, &loop->notes, err);
    return status ? status : copy_points(made, loop, points, err);
}

/* A capture without a setup may be none. */
static enum status suggest_table(const char *path, struct error *err)
{
    const struct error inner = *err;
    char hint[320];
    snprintf(hint, sizeof hint,
        "%.80s; or is '%.100s' a table of measured loops? Then head its columns 'frequency (Hz)', "
        "'flux density peak (T)' and so on",
        inner.hint, text_base_name(path));
    return inner.status == STATUS_IO ? fail(err, inner.status, hint, "%s", inner.message)
                                     : inner.status;
}

static enum status read_setup(const char *path, const struct series_options *options,
    struct rig *rig, struct specimen *specimen, struct error *err)
{
    char *rig_path = setup_find_rig(&options->setup, path, err);
    char *specimen_path = rig_path ? setup_find_specimen(&options->setup, path, err) : NULL;
    enum status status = specimen_path ? rig_read(rig_path, rig, err) : suggest_table(path, err);
    if (!status)
        status = specimen_read(specimen_path, specimen, err);
    memory_destroy(rig_path);
    memory_destroy(specimen_path);
    return status;
}

/* A failure of one capture among many names it. */
static enum status name_failure(const char *path, enum status status, struct error *err)
{
    struct error inner = *err;
    if (strstr(inner.message, text_base_name(path)))
        return status;
    return fail(err, status, inner.hint, "%s: %s", path, inner.message);
}

enum status series_add_capture(struct series *series, const char *path,
    const struct series_options *options, struct error *err)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct loop loop = {0};
    struct loop_budget *budget = NULL;
    enum status status = read_setup(path, options, &rig, &specimen, err);
    if (!status) {
        status = loop_read(path, &rig, &specimen, &options->loop, &loop, err);
        if (!status)
            status = loop_budget_create(&loop, &rig, &specimen, &budget, err);
        if (!status) {
            loop_budget_set_figures(budget, &loop.figures);
            status = series_add_loop(series, &loop, &rig, &specimen, options->points, err);
        }
        if (status)
            status = name_failure(path, status, err);
    }
    loop_budget_destroy(budget);
    loop_clear(&loop);
    specimen_clear(&specimen);
    rig_clear(&rig);
    return status;
}
