// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the numbers of a report come from: one entry a loop. */
#include <string.h>

#include "base/memory.h"
#include "cli/report.h"

enum status report_sources_create(
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
        status = qualify_copy_rig(setup != NULL ? setup->rig : NULL, made.texts + 2 * i, err);
        made.inputs[i] = (struct report_input){.capture_sha256 = loop->sha256,
            .name = text_or_empty(loop->file),
            .specimen = text_or_empty(loop->specimen),
            .heat = text_or_empty(setup != NULL ? setup->steel.heat : NULL),
            .supplier = text_or_empty(setup != NULL ? setup->steel.supplier : NULL),
            .rig = text_or_empty(made.texts[2 * i]),
            .rig_calibrated = text_or_empty(made.texts[2 * i + 1]),
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
