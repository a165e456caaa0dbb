// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "cli/calibrate.h"
#include "cli/wrap.h"

#define LABEL_COLUMNS 52

static bool has_u(const struct calibration *calibration)
{
    for (size_t i = 0; i < calibration->count; i++)
        if (calibration->list[i].u > 0)
            return true;
    return false;
}

static void add_notes(struct text *out, const struct notes *notes)
{
    if (notes->count > 0)
        text_add(out, "\nNotes\n");
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        struct text words = {0};
        text_add_format(&words, "%s, %s: %s\nhint: %s", note_level_get_name(note->level),
            note->code, note->message, note->hint);
        text_add(out, "  ");
        out->failed |= words.failed;
        wrap_add(out, words.failed ? "" : words.bytes, 2, 4);
        text_clear(&words);
    }
}

void calibrate_text_add(struct text *out, const struct calibration *calibration)
{
    for (size_t i = 0; i < calibration->count; i++) {
        const struct finding *finding = &calibration->list[i];
        size_t width = text_width(finding->label);
        text_add_format(out, "  %s", finding->label);
        wrap_add_blanks(out, width < LABEL_COLUMNS ? LABEL_COLUMNS - width : 1);
        finding_add_value(out, finding);
        text_add(out, "\n");
    }
    if (has_u(calibration))
        text_add(out, "  \u00B1: expanded uncertainty, k = 2\n");
    add_notes(out, &calibration->notes);
}

/* "inputs.pickup.full_scale" as "full_scale: ...   # in inputs.pickup". */
static void add_line(struct text *out, const struct finding *finding)
{
    const char *last = strrchr(finding->key_path, '.');
    text_add_format(out, "  %s: ", last ? last + 1 : finding->key_path);
    finding_add_value(out, finding);
    if (last)
        text_add_format(out, "   # in %.*s", (int)(last - finding->key_path), finding->key_path);
    text_add(out, "\n");
}

void calibrate_text_add_lines(
    struct text *out, const struct calibration *calibration, const char *date)
{
    bool has_any = false;
    for (size_t i = 0; i < calibration->count; i++) {
        if (!calibration->list[i].key_path)
            continue;
        if (!has_any)
            text_add(out, "\nFor rig.yaml\n");
        has_any = true;
        add_line(out, &calibration->list[i]);
    }
    if (has_any && date)
        text_add_format(out, "  date: %s   # in calibration\n", date);
}
