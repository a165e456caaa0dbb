// SPDX-License-Identifier: GPL-3.0-or-later
/* The public face of the library: thin, so that the modules behind it stay free to change. */
#include "liblodecard/lodecard.h"

#include <math.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/version.h"
#include "budget/loop_budget.h"
#include "loop/loop.h"
#include "quantity/figure.h"
#include "setup/setup.h"

struct lodecard_rig {
    struct rig rig;
};

struct lodecard_specimen {
    struct specimen specimen;
};

struct lodecard_loop {
    struct loop loop;
    const struct lodecard_rig *rig; /* the caller's or own_rig */
    const struct lodecard_specimen *specimen;
    struct lodecard_rig *own_rig; /* NULL: the caller gave one */
    struct lodecard_specimen *own_specimen;
};

const char *lodecard_get_version(void)
{
    return LODECARD_VERSION;
}

/* Tells the caller what stands in `inner`, if `status` is a failure. */
static enum lodecard_status pass(
    enum status status, const struct error *inner, struct lodecard_error *err)
{
    _Static_assert(sizeof inner->message <= sizeof err->message, "a message must fit");
    _Static_assert(sizeof inner->hint <= sizeof err->hint, "a hint must fit");
    if (status != STATUS_OK && err != NULL) {
        strcpy(err->message, inner->message);
        strcpy(err->hint, inner->hint);
    }
    return (enum lodecard_status)status;
}

enum lodecard_status lodecard_rig_read(
    const char *path, struct lodecard_rig **rig, struct lodecard_error *err)
{
    struct error inner = {0};
    struct lodecard_rig *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return pass(fail_memory(&inner), &inner, err);
    }
    enum status status = rig_read(path, &made->rig, &inner);
    if (status != STATUS_OK) {
        lodecard_rig_destroy(made);
        return pass(status, &inner, err);
    }
    *rig = made;
    return LODECARD_OK;
}

void lodecard_rig_destroy(struct lodecard_rig *rig)
{
    if (rig != NULL) {
        rig_clear(&rig->rig);
        memory_destroy(rig);
    }
}

enum lodecard_status lodecard_specimen_read(
    const char *path, struct lodecard_specimen **specimen, struct lodecard_error *err)
{
    struct error inner = {0};
    struct lodecard_specimen *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return pass(fail_memory(&inner), &inner, err);
    }
    enum status status = specimen_read(path, &made->specimen, &inner);
    if (status != STATUS_OK) {
        lodecard_specimen_destroy(made);
        return pass(status, &inner, err);
    }
    *specimen = made;
    return LODECARD_OK;
}

void lodecard_specimen_destroy(struct lodecard_specimen *specimen)
{
    if (specimen != NULL) {
        specimen_clear(&specimen->specimen);
        memory_destroy(specimen);
    }
}

/* Reads what the caller did not give. */
static enum lodecard_status read_setup(
    const char *capture, struct lodecard_loop *loop, struct lodecard_error *err)
{
    struct error inner = {0};
    enum lodecard_status status = LODECARD_OK;
    char *rig_path = file_path_beside(capture, "rig.yaml");
    char *specimen_path = file_path_beside(capture, "specimen.yaml");
    if (rig_path == NULL || specimen_path == NULL) {
        status = pass(fail_memory(&inner), &inner, err);
    }
    if (status == LODECARD_OK && loop->rig == NULL) {
        status = lodecard_rig_read(rig_path, &loop->own_rig, err);
        loop->rig = loop->own_rig;
    }
    if (status == LODECARD_OK && loop->specimen == NULL) {
        status = lodecard_specimen_read(specimen_path, &loop->own_specimen, err);
        loop->specimen = loop->own_specimen;
    }
    memory_destroy(rig_path);
    memory_destroy(specimen_path);
    return status;
}

static enum status set_uncertainty(struct lodecard_loop *loop, struct error *err)
{
    struct loop_budget *budget = NULL;
    const enum status status =
        loop_budget_create(&loop->loop, &loop->rig->rig, &loop->specimen->specimen, &budget, err);
    if (status == STATUS_OK) {
        loop_budget_set_figures(budget, &loop->loop.figures);
    }
    loop_budget_destroy(budget);
    return status;
}

static enum lodecard_status read_loop(const char *capture, const struct lodecard_options *options,
    struct lodecard_loop *loop, struct lodecard_error *err)
{
    struct error inner = {0};
    struct loop_options chosen = {0};
    if (options != NULL) {
        chosen.capture.start_s = options->start_s;
        chosen.capture.length_s = options->length_s;
        chosen.capture.decimal = options->decimal;
        chosen.capture.separator = options->separator;
        chosen.harmonics = options->harmonics;
    }
    enum status status = loop_read(
        capture, &loop->rig->rig, &loop->specimen->specimen, &chosen, &loop->loop, &inner);
    if (status == STATUS_OK) {
        status = set_uncertainty(loop, &inner);
    }
    return pass(status, &inner, err);
}

enum lodecard_status lodecard_loop_read(const char *capture, const struct lodecard_rig *rig,
    const struct lodecard_specimen *specimen, const struct lodecard_options *options,
    struct lodecard_loop **loop, struct lodecard_error *err)
{
    struct error inner = {0};
    struct lodecard_loop *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return pass(fail_memory(&inner), &inner, err);
    }
    made->rig = rig;
    made->specimen = specimen;
    enum lodecard_status status = read_setup(capture, made, err);
    if (status == LODECARD_OK) {
        status = read_loop(capture, options, made, err);
    }
    if (status != LODECARD_OK && status != LODECARD_CAPTURE) {
        lodecard_loop_destroy(made);
        return status;
    }
    *loop = made;
    return status;
}

void lodecard_loop_destroy(struct lodecard_loop *loop)
{
    if (loop != NULL) {
        loop_clear(&loop->loop);
        lodecard_rig_destroy(loop->own_rig);
        lodecard_specimen_destroy(loop->own_specimen);
        memory_destroy(loop);
    }
}

size_t lodecard_get_figure_count(void)
{
    return FIGURE_COUNT;
}

int lodecard_get_figure(size_t index, struct lodecard_figure *figure)
{
    if (index >= FIGURE_COUNT) {
        return 0;
    }
    const struct figure_entry *entry = &figure_table[index];
    *figure = (struct lodecard_figure){.key = entry->key,
        .symbol = entry->symbol,
        .name = entry->name,
        .unit = entry->unit,
        .meaning = entry->meaning};
    return 1;
}

int lodecard_loop_get_figure(
    const struct lodecard_loop *loop, const char *key, double *value, double *u)
{
    enum figure figure = figure_find(key);
    if (figure == FIGURE_COUNT || !loop->loop.figures.list[figure].is_present) {
        return 0;
    }
    const struct figure_value *found = &loop->loop.figures.list[figure];
    *value = found->value;
    if (u != NULL) {
        *u = found->has_u ? found->u : NAN;
    }
    return 1;
}

size_t lodecard_loop_get_note_count(const struct lodecard_loop *loop)
{
    return loop->loop.notes.count;
}

int lodecard_loop_get_note(
    const struct lodecard_loop *loop, size_t index, struct lodecard_note *note)
{
    if (index >= loop->loop.notes.count) {
        return 0;
    }
    const struct note *found = &loop->loop.notes.list[index];
    *note = (struct lodecard_note){.code = found->code,
        .level = note_level_get_name(found->level),
        .message = found->message,
        .hint = found->hint,
        .subject = found->subject};
    return 1;
}

int lodecard_loop_get_note_number(const struct lodecard_loop *loop, size_t note, size_t index,
    struct lodecard_note_number *number)
{
    const struct notes *notes = &loop->loop.notes;
    if (note >= notes->count || index >= notes->list[note].number_count) {
        return 0;
    }
    const struct note_number *found = &notes->list[note].numbers[index];
    *number = (struct lodecard_note_number){found->key, found->value, found->limit};
    return 1;
}

enum lodecard_status lodecard_loop_compute_points(const struct lodecard_loop *loop, size_t count,
    double *field, double *flux_density, struct lodecard_error *err)
{
    struct error inner = {0};
    enum status status = loop_compute_points(&loop->loop, count, field, flux_density, &inner);
    return pass(status, &inner, err);
}

enum lodecard_status lodecard_loop_write_json(const struct lodecard_loop *loop, size_t points,
    int indent, char **json, struct lodecard_error *err)
{
    struct error inner = {0};
    struct text out = {0};
    enum status status = loop_write_json(
        &loop->loop, &loop->rig->rig, &loop->specimen->specimen, points, indent, &out, &inner);
    if (status == STATUS_OK && out.failed) {
        status = fail_memory(&inner);
    }
    if (status != STATUS_OK) {
        text_clear(&out);
        return pass(status, &inner, err);
    }
    *json = out.bytes;
    return LODECARD_OK;
}

void lodecard_text_destroy(char *text)
{
    memory_destroy(text);
}
