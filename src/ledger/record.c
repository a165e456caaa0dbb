// SPDX-License-Identifier: GPL-3.0-or-later
/* From a loop's JSON to what the ledger keeps of it. */
#include "ledger/record.h"

#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/tree.h"

const char *const ledger_outcome_words[LEDGER_OUTCOMES] = {"added", "known", "replaced"};

/* A member as JSON on one line; NULL when it is not there. */
static char *copy_json(const struct tree_value *value, bool *has_memory)
{
    struct text out = {0};
    struct json json;
    if (value == NULL) {
        return NULL;
    }
    json_init(&json, &out, 0);
    tree_write_json(&json, NULL, value);
    if (out.failed) {
        *has_memory = false;
        text_clear(&out);
    }
    return out.bytes;
}

static char *copy_text(const struct tree_value *object, const char *key, bool *has_memory)
{
    const char *words = tree_get_text(tree_get(object, key));
    char *copy = memory_copy_text(words);
    *has_memory = *has_memory && (words == NULL || copy != NULL);
    return copy;
}

static bool is_digest(const char *words)
{
    return strlen(words) == DIGEST_TEXT_SIZE - 1 &&
           strspn(words, "0123456789abcdef") == DIGEST_TEXT_SIZE - 1;
}

static enum status read_capture(
    const struct tree *tree, struct ledger_loop *loop, bool *has_memory, struct error *err)
{
    const struct tree_value *capture = tree_get(tree_get_root(tree), "capture");
    const char *digest = tree_get_text(tree_get(capture, "sha256"));
    double number = 0;
    if (digest == NULL || !is_digest(digest)) {
        return fail(err, STATUS_INPUT, "take the JSON that 'lodecard loop' writes",
            "'%s' does not tell the hash of its capture (capture.sha256)", tree_get_name(tree));
    }
    memcpy(loop->sha256, digest, DIGEST_TEXT_SIZE);
    loop->file = copy_text(capture, "file", has_memory);
    if (tree_get_number(tree_get(capture, "channels"), &number)) {
        loop->channels = (long long)number;
    }
    if (tree_get_number(tree_get(capture, "frames"), &number)) {
        loop->frames = (long long)number;
    }
    (void)tree_get_number(tree_get(capture, "sample_rate_Hz"), &loop->sample_rate_Hz);
    loop->has_part = tree_get_number(tree_get(capture, "start_s"), &loop->start_s) &&
                     tree_get_number(tree_get(capture, "length_s"), &loop->length_s);
    return STATUS_OK;
}

static void read_setup(const struct tree_value *root, struct ledger_loop *loop, bool *has_memory)
{
    const struct tree_value *rig = tree_get(root, "rig"), *specimen = tree_get(root, "specimen");
    loop->rig = copy_json(rig, has_memory);
    loop->rig_name = copy_text(rig, "name", has_memory);
    loop->calibration_day = copy_text(tree_get(rig, "calibration"), "date", has_memory);
    loop->specimen = copy_json(specimen, has_memory);
    loop->specimen_name = copy_text(specimen, "name", has_memory);
    loop->alloy = copy_text(specimen, "alloy", has_memory);
    loop->supplier = copy_text(specimen, "supplier", has_memory);
    loop->heat = copy_text(specimen, "heat", has_memory);
}

/* Keys that are no figure here are left: a newer program may have more. */
static void read_figures(const struct tree_value *object, struct figures *figures)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        char u_key[64];
        double value;
        if (!tree_get_number(tree_get(object, figure_table[i].key), &value)) {
            continue;
        }
        figures_set(figures, (enum figure)i, value);
        snprintf(u_key, sizeof u_key, "u_%s", figure_table[i].key);
        if (tree_get_number(tree_get(object, u_key), &value)) {
            figures_set_u(figures, (enum figure)i, value);
        }
    }
}

static void read_notes(const struct tree_value *notes, struct ledger_loop *loop, bool *has_memory)
{
    struct text codes = {0};
    text_add(&codes, "");
    for (size_t i = 0; i < tree_get_count(notes); i++) {
        const char *code = tree_get_text(tree_get(tree_get_at(notes, i), "code"));
        text_add_format(&codes, "%s%s", i > 0 ? " " : "", code != NULL ? code : "?");
    }
    *has_memory = *has_memory && !codes.failed;
    loop->note_codes = codes.bytes;
    loop->notes = copy_json(notes, has_memory);
}

static enum status read_members(
    const struct tree *tree, struct ledger_loop *loop, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    bool has_memory = true;
    enum status status = tree_need_schema(tree, "lodecard-loop/1", err);
    if (status == STATUS_OK && tree_get(root, "error") != NULL) {
        status = fail(err, STATUS_INPUT, "its message says why: mend that first",
            "'%s' is of a capture without a result", tree_get_name(tree));
    }
    if (status == STATUS_OK && tree_get_count(tree_get(root, "figures")) == 0) {
        status = fail(err, STATUS_INPUT, "take the JSON that 'lodecard loop' writes",
            "'%s' has no figures", tree_get_name(tree));
    }
    if (status == STATUS_OK) {
        status = read_capture(tree, loop, &has_memory, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    read_setup(root, loop, &has_memory);
    read_figures(tree_get(root, "figures"), &loop->figures);
    read_notes(tree_get(root, "notes"), loop, &has_memory);
    loop->program = copy_text(root, "version", &has_memory);
    loop->points = copy_json(tree_get(root, "points"), &has_memory);
    return has_memory ? STATUS_OK : fail_memory(err);
}

enum status ledger_loop_read(
    const char *name, const char *bytes, size_t length, struct ledger_loop *loop, struct error *err)
{
    struct tree *tree = NULL;
    struct ledger_loop made = {0};
    enum status status = tree_read_bytes(name, bytes, length, &tree, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = read_members(tree, &made, err);
    tree_destroy(tree);
    if (status != STATUS_OK) {
        ledger_loop_clear(&made);
        return status;
    }
    *loop = made;
    return STATUS_OK;
}

void ledger_loop_clear(struct ledger_loop *loop)
{
    char *const owned[] = {loop->file, loop->path, loop->rig_name, loop->calibration_day, loop->rig,
        loop->rig_source, loop->specimen_name, loop->alloy, loop->supplier, loop->heat,
        loop->specimen, loop->specimen_source, loop->program, loop->settings, loop->note_codes,
        loop->notes, loop->points};
    for (size_t i = 0; i < sizeof owned / sizeof owned[0]; i++) {
        memory_destroy(owned[i]);
    }
    *loop = (struct ledger_loop){0};
}
