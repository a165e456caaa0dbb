// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/file.h"
#include "base/memory.h"
#include "cli/calibrate.h"
#include "setup/edit.h"
#include "setup/tables.h"
#include "setup/yaml.h"

#define EDITS_MOST (CALIBRATION_FINDINGS + 1)

/* The edits, and the texts of their values. */
struct edits {
    struct edit list[EDITS_MOST];
    struct text values[EDITS_MOST];
    size_t count;
};

static enum status fill_edits(
    struct edits *edits, const struct calibration *calibration, const char *date, struct error *err)
{
    for (size_t i = 0; i < calibration->count; i++) {
        const struct finding *finding = &calibration->list[i];
        if (!finding->key_path)
            continue;
        struct text *value = &edits->values[edits->count];
        finding_add_value(value, finding);
        edits->list[edits->count++] =
            (struct edit){.key_path = finding->key_path, .value = value->bytes};
        if (value->failed)
            return fail_memory(err);
    }
    if (date)
        edits->list[edits->count++] = (struct edit){.key_path = "calibration.date", .value = date};
    return STATUS_OK;
}

static void edits_clear(struct edits *edits)
{
    for (size_t i = 0; i < EDITS_MOST; i++)
        text_clear(&edits->values[i]);
}

/* A value that the reader of the file would refuse must not get into it. */
static enum status check_rig(const char *path, const struct text *text, struct error *err)
{
    struct rig read = {0};
    enum status status =
        schema_read_bytes(path, text->bytes, text->length, rig_schema, rig_check, &read, err);
    rig_clear(&read);
    return status;
}

static enum status check_specimen(const char *path, const struct text *text, struct error *err)
{
    struct specimen read = {0};
    enum status status = schema_read_bytes(
        path, text->bytes, text->length, specimen_schema, specimen_check, &read, err);
    specimen_clear(&read);
    return status;
}

/* The file was a right one before: if it is none now, then what was found is no value, and the
 * recordings are to blame. */
static enum status check(
    bool is_rig, const char *path, const struct text *text, const char *captures, struct error *err)
{
    struct error told = {0};
    enum status status = is_rig ? check_rig(path, text, &told) : check_specimen(path, text, &told);
    if (status == STATUS_INPUT)
        return fail_lines(err, STATUS_CAPTURE,
            "nothing was written; record again, louder or longer, and look at the recording with "
            "'lodecard look'",
            "%s: what was found is no value to write: %s", captures, told.message);
    if (status && err)
        *err = told;
    return status;
}

enum status calibrate_write(const char *path, const struct calibration *calibration,
    const struct calibrate_command *options, const char *captures, struct text *out,
    struct error *err)
{
    struct edits edits = {0};
    struct text after = {0};
    bool is_rig = path == options->rig;
    char *before = NULL;
    size_t length = 0;
    enum status status = file_read(path, YAML_SIZE_LIMIT, &before, &length, err);
    if (!status)
        status = fill_edits(&edits, calibration, is_rig ? options->date : NULL, err);
    if (!status)
        status = edit_apply(path, before, length, edits.list, edits.count, &after, err);
    if (!status)
        status = check(is_rig, path, &after, captures, err);
    if (!status) {
        text_add_format(out, "\n%s%s\n", path, options->is_dry ? " would change" : "");
        edit_add_changes(out, before, after.bytes);
        status = options->is_dry ? STATUS_OK : file_write(path, after.bytes, after.length, err);
    }
    memory_destroy(before);
    text_clear(&after);
    edits_clear(&edits);
    return status;
}
