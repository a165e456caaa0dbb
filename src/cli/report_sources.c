// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the numbers of a report come from: one entry a loop. */
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "cli/report.h"

static const char *get(const char *words)
{
    return words != NULL ? words : "";
}

/* Name and day of calibration from the rig's JSON, as provenance keeps it. */
static enum status copy_rig(const char *json, char *texts[2], struct error *err)
{
    struct tree *tree = NULL;
    if (json == NULL) {
        return STATUS_OK;
    }
    enum status status = tree_read_bytes("rig", json, strlen(json), &tree, err);
    if (status == STATUS_OK) {
        const struct tree_value *root = tree_get_root(tree);
        const char *name = tree_get_text(tree_get(root, "name"));
        const char *day = tree_get_text(tree_get(tree_get(root, "calibration"), "date"));
        texts[0] = memory_copy_text(name);
        texts[1] = memory_copy_text(day);
        if ((name != NULL && texts[0] == NULL) || (day != NULL && texts[1] == NULL)) {
            status = fail_memory(err);
        }
        tree_destroy(tree);
    }
    return status;
}

enum status report_sources_create(
    const struct qualify_input *input, struct report_sources *sources, struct error *err)
{
    return report_sources_create_of(&input->series, sources, err);
}

enum status report_sources_create_of(
    const struct series *series, struct report_sources *sources, struct error *err)
{
    struct report_sources made = {.count = series->count};
    enum status status = STATUS_OK;
    made.inputs = memory_create(series->count, sizeof *made.inputs);
    made.texts = memory_create(2 * series->count, sizeof *made.texts);
    if (made.inputs == NULL || made.texts == NULL) {
        status = fail_memory(err);
    }
    for (size_t i = 0; i < series->count && status == STATUS_OK; i++) {
        const struct series_loop *loop = &series->loops[i];
        const struct series_setup *setup =
            loop->setup != SERIES_NONE ? &series->setups[loop->setup] : NULL;
        status = copy_rig(setup != NULL ? setup->rig : NULL, made.texts + 2 * i, err);
        made.inputs[i] = (struct report_input){.capture_sha256 = loop->sha256,
            .name = get(loop->file),
            .specimen = get(loop->specimen),
            .heat = get(setup != NULL ? setup->steel.heat : NULL),
            .supplier = get(setup != NULL ? setup->steel.supplier : NULL),
            .rig = get(made.texts[2 * i]),
            .rig_calibrated = get(made.texts[2 * i + 1]),
            .figures = &loop->figures};
    }
    if (status != STATUS_OK) {
        report_sources_clear(&made);
        return status;
    }
    *sources = made;
    return STATUS_OK;
}

void report_sources_clear(struct report_sources *sources)
{
    for (size_t i = 0; sources->texts != NULL && i < 2 * sources->count; i++) {
        memory_destroy(sources->texts[i]);
    }
    memory_destroy(sources->texts);
    memory_destroy(sources->inputs);
    *sources = (struct report_sources){0};
}

enum status report_finish_result(const struct report_command *options, struct report_result *result,
    enum status status, struct error *err)
{
    if (status == STATUS_OK) {
        status = report_write(options, result->sheet.document, &result->data, err);
    }
    text_clear(&result->data);
    report_sheet_clear(&result->sheet);
    report_sources_clear(&result->sources);
    return status;
}
