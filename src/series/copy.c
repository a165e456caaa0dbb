// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops of one series taken into another, so that parts of what was read once can be worked out
 * apart. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "series/series_part.h"

#define CODE_SIZE 32 /* of a note */

static enum status copy_setup(
    struct series *series, const struct series *from, size_t setup, size_t *own, struct error *err)
{
    struct series_steel steel = {0};
    if (setup == SERIES_NONE) {
        return STATUS_OK;
    }
    const struct series_setup *known = &from->setups[setup];
    const enum status status = steel_copy(&steel, &known->steel, err);
    if (status != STATUS_OK) {
        return status;
    }
    const size_t made = series_add_setup(series, known->rig, known->specimen, &steel);
    *own = made;
    return made == SERIES_NONE ? fail_memory(err) : STATUS_OK;
}

static enum status copy_notes(
    struct series_loop *to, const struct series_loop *from, struct error *err)
{
    if (from->notes.count == 0) {
        return STATUS_OK;
    }
    to->note_codes = memory_create(from->notes.count, CODE_SIZE);
    if (to->note_codes == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < from->notes.count; i++) {
        const struct note *note = &from->notes.list[i];
        char *code = to->note_codes + i * CODE_SIZE;
        snprintf(code, CODE_SIZE, "%s", note->code);
        notes_add(&to->notes, code, note->level, note->hint, "%s", note->message);
    }
    return to->notes.failed ? fail_memory(err) : STATUS_OK;
}

static enum status copy_points(
    struct series_loop *to, const struct series_loop *from, struct error *err)
{
    if (from->point_count == 0) {
        return STATUS_OK;
    }
    to->field = memory_create(from->point_count, sizeof *to->field);
    to->flux_density = memory_create(from->point_count, sizeof *to->flux_density);
    if (to->field == NULL || to->flux_density == NULL) {
        return fail_memory(err);
    }
    memcpy(to->field, from->field, from->point_count * sizeof *to->field);
    memcpy(to->flux_density, from->flux_density, from->point_count * sizeof *to->flux_density);
    to->point_count = from->point_count;
    return STATUS_OK;
}

enum status series_add_copy(
    struct series *series, const struct series *from, size_t index, struct error *err)
{
    const struct series_loop *source = &from->loops[index];
    struct series_loop *loop = series_new_loop(series);
    if (loop == NULL) {
        return fail_memory(err);
    }
    loop->row = source->row;
    loop->figures = source->figures;
    loop->temperature_K = source->temperature_K;
    loop->energy = source->energy;
    loop->u_energy = source->u_energy;
    memcpy(loop->sha256, source->sha256, sizeof loop->sha256);
    loop->file = memory_copy_text(source->file);
    loop->specimen = memory_copy_text(source->specimen);
    if ((source->file != NULL && loop->file == NULL) ||
        (source->specimen != NULL && loop->specimen == NULL)) {
        return fail_memory(err);
    }
    enum status status = copy_setup(series, from, source->setup, &loop->setup, err);
    if (status == STATUS_OK) {
        status = copy_notes(loop, source, err);
    }
    if (status == STATUS_OK) {
        status = copy_points(loop, source, err);
    }
    return status;
}
