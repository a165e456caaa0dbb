// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops of specimens. With --at each specimen's loops are taken as a series of its own and its
 * figures interpolated to the stated peak, so that heats are compared at the same excitation. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "quantity/display.h"
#include "quantity/quantity.h"

enum status qualify_copy_rig(const char *json, char *texts[2], struct error *err)
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

static enum status add_items(struct qualify_input *input, struct error *err)
{
    const struct series *series = &input->series;
    enum status status = STATUS_OK;
    input->loops = memory_create(series->count, sizeof *input->loops);
    input->items = memory_create(series->count, sizeof *input->items);
    input->rigs = memory_create(series->count, sizeof *input->rigs);
    input->texts = memory_create(2 * series->count, sizeof *input->texts);
    if (input->loops == NULL || input->items == NULL || input->rigs == NULL ||
        input->texts == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < series->count && status == STATUS_OK; i++) {
        const struct series_loop *loop = &series->loops[i];
        const struct series_setup *setup =
            loop->setup != SERIES_NONE ? &series->setups[loop->setup] : NULL;
        status = qualify_copy_rig(setup != NULL ? setup->rig : NULL, input->texts + 2 * i, err);
        input->rigs[i] = text_or_empty(input->texts[2 * i]);
        input->loops[i] = (struct lot_item){.file = text_or_empty(loop->file),
            .sha256 = loop->sha256,
            .supplier = text_or_empty(setup != NULL ? setup->steel.supplier : NULL),
            .heat = text_or_empty(setup != NULL ? setup->steel.heat : NULL),
            .specimen = text_or_empty(loop->specimen),
            .figures = &loop->figures};
        input->items[i] = input->loops[i];
        input->loop_count = ++input->count;
    }
    return status;
}

static bool is_same(const char *a, const char *b)
{
    return strcmp(a, b) == 0;
}

/* The wish: "field_peak 30 kA/m". */
static enum status read_wish(
    const char *words, enum figure *variable, double *value, struct error *err)
{
    static const char hint[] = "such as --at 'field_peak 30 kA/m'";
    char name[64];
    const size_t length = strcspn(words, " =");
    if (length == 0 || length >= sizeof name || words[length] == '\0') {
        return fail(err, STATUS_USAGE, hint,
            "option '--at' needs a figure and a value, not '%.80s'", words);
    }
    snprintf(name, sizeof name, "%.*s", (int)length, words);
    *variable = figure_find(name);
    if (*variable != FIGURE_FIELD_PEAK && *variable != FIGURE_FLUX_DENSITY_PEAK &&
        *variable != FIGURE_POLARIZATION_PEAK) {
        return fail(err, STATUS_USAGE, hint,
            "option '--at' takes field_peak, flux_density_peak or polarization_peak, not '%s'",
            name);
    }
    return qualify_read_value("--at", words + length + 1, *variable, value, err);
}

static bool is_of(const struct lot_item *loop, const struct lot_item *item)
{
    return is_same(loop->specimen, item->specimen) && is_same(loop->heat, item->heat) &&
           is_same(loop->supplier, item->supplier);
}

/* Its loops as a series of their own. */
static enum status compute_specimen(const struct qualify_input *input, const struct lot_item *item,
    enum figure variable, double value, struct figures *figures, struct error *err)
{
    struct series series = {0};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < input->loop_count && status == STATUS_OK; i++) {
        if (is_of(&input->loops[i], item)) {
            status = series_add_copy(&series, &input->series, i, err);
        }
    }
    if (status == STATUS_OK) {
        status = series_compute(&series, NULL, err);
    }
    if (status == STATUS_OK && series.curve_count != 1) {
        status = fail(err, STATUS_INPUT, "give the loops of one frequency",
            "specimen '%s' has loops of %zu frequencies", item->specimen, series.curve_count);
    }
    if (status == STATUS_OK) {
        status = series_compute_at(&series, 0, variable, value, figures, err);
    }
    series_clear(&series);
    return status;
}

/* One item a specimen is left, with its interpolated figures. */
static enum status reduce(
    const struct qualify_command *options, struct qualify_input *input, struct error *err)
{
    enum figure variable = FIGURE_FIELD_PEAK;
    double value = 0;
    size_t kept = 0;
    enum status status = read_wish(options->at, &variable, &value, err);
    input->at = memory_create(input->count, sizeof *input->at);
    if (input->at == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < input->loop_count && status == STATUS_OK; i++) {
        bool is_new = true;
        for (size_t k = 0; k < kept; k++) {
            is_new = is_new && !is_of(&input->loops[i], &input->items[k]);
        }
        if (!is_new) {
            continue;
        }
        status = compute_specimen(input, &input->loops[i], variable, value, &input->at[kept], err);
        input->items[kept] = input->loops[i];
        input->rigs[kept] = text_or_empty(input->texts[2 * i]);
        input->items[kept].figures = &input->at[kept];
        kept++;
    }
    input->count = kept;
    return status;
}

/* Which of both ways the loops come is told by what is given: a condition asks the ledger; so does
 * no file at all, where anything says that there is a ledger. */
static bool asks_ledger(const struct qualify_command *options, int count)
{
    return ledger_choice_has_condition(&options->choice) ||
           (count == 0 && (options->choice.ledger != NULL || options->is_kept));
}

static enum status check_source(const struct qualify_command *options, int count, struct error *err)
{
    if (count == 0 && !asks_ledger(options, count)) {
        return fail(err, STATUS_USAGE, "'lodecard help qualify' tells what it takes",
            "'qualify' needs captures, loop JSON, tables of loops or --ledger");
    }
    if (options->is_kept && count > 0) {
        return fail(err, STATUS_USAGE,
            "'lodecard ledger add' puts captures in; then name them by --heat, --where ...",
            "option '--keep' keeps verdicts on loops of the ledger, and there are files");
    }
    if (options->choice.ledger != NULL && !asks_ledger(options, count)) {
        return fail(err, STATUS_USAGE, "such as --heat H2291, or leave the files out",
            "option '--ledger' beside files needs to know which loops of it");
    }
    return STATUS_OK;
}

static enum status read_loops(const struct qualify_command *options, char **paths, int count,
    struct qualify_input *input, struct error *err)
{
    const struct series_options wanted = {.setup = options->setup};
    size_t capacity = 0;
    enum status status = STATUS_OK;
    for (int i = 0; i < count && status == STATUS_OK; i++) {
        status = series_add_path(&input->series, paths[i], &wanted, err);
    }
    if (status == STATUS_OK) {
        const size_t own = input->series.count;
        input->ids = memory_reserve(NULL, &capacity, own + 1, sizeof *input->ids);
        if (input->ids == NULL) {
            return fail_memory(err);
        }
        memset(input->ids, 0, capacity * sizeof *input->ids);
    }
    if (status == STATUS_OK && asks_ledger(options, count)) {
        status =
            ledger_choice_add_loops(&options->choice, &input->series, &input->ids, &capacity, err);
    }
    return status;
}

enum status qualify_input_read(const struct qualify_command *options, char **paths, int count,
    struct qualify_input *input, struct error *err)
{
    struct qualify_input made = {0};
    enum status status = check_source(options, count, err);
    if (status == STATUS_OK) {
        status = read_loops(options, paths, count, &made, err);
    }
    if (status == STATUS_OK) {
        status = add_items(&made, err);
    }
    if (status == STATUS_OK && options->at != NULL) {
        status = reduce(options, &made, err);
    }
    if (status != STATUS_OK) {
        qualify_input_clear(&made);
        return status;
    }
    *input = made;
    return STATUS_OK;
}

void qualify_input_clear(struct qualify_input *input)
{
    for (size_t i = 0; input->texts != NULL && i < 2 * input->series.count; i++) {
        memory_destroy(input->texts[i]);
    }
    memory_destroy(input->texts);
    memory_destroy(input->ids);
    memory_destroy(input->loops);
    memory_destroy(input->items);
    memory_destroy(input->rigs);
    memory_destroy(input->at);
    series_clear(&input->series);
    *input = (struct qualify_input){0};
}

enum status qualify_find_figure(
    const struct qualify_command *options, enum figure *figure, struct error *err)
{
    const char *words[FIGURE_COUNT + 1] = {0};
    if (options->figure == NULL) {
        return fail(err, STATUS_USAGE, "such as --figure coercivity",
            "it takes the figure that is looked at");
    }
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        words[f] = figure_table[f].word;
    }
    *figure = figure_find(options->figure);
    if (*figure == FIGURE_COUNT) {
        const char *nearest = text_nearest(options->figure, words);
        char hint[120];
        snprintf(hint, sizeof hint,
            nearest != NULL ? "did you mean '%s'?" : "docs/figures.md lists them", nearest);
        return fail(err, STATUS_USAGE, hint, "there is no figure '%.80s'", options->figure);
    }
    return STATUS_OK;
}

enum status qualify_read_value(
    const char *option, const char *words, enum figure figure, double *value, struct error *err)
{
    enum dimension dimension = DIMENSION_NUMBER;
    double factor = 1, offset;
    struct quantity quantity;
    const char *unit = figure_table[figure].unit;
    struct error inner = {0};
    *value = 0;
    if (words == NULL) {
        return STATUS_OK;
    }
    if (unit[0] != '\0' && unit_read(unit, &dimension, &factor, &offset, err) != STATUS_OK) {
        return STATUS_FAULT;
    }
    if (quantity_read(words, dimension, &quantity, &inner) != STATUS_OK) {
        return fail(err, STATUS_USAGE, inner.hint, "option '%s': %s", option, inner.message);
    }
    *value = dimension == DIMENSION_ANGLE ? quantity.value / factor : quantity.value;
    return STATUS_OK;
}

const char *qualify_show(enum figure figure, double value, double u, char buffer[80])
{
    const struct figure_value number = {
        .value = value, .u = u, .is_present = true, .has_u = isfinite(u) && u > 0};
    struct display display;
    if (!isfinite(value)) {
        return "";
    }
    display_set_figure(&display, figure, &number, 5);
    display_join(&display, buffer, 80);
    return buffer;
}

enum status qualify_begin(const struct qualify_command *options, char **words, int count,
    enum figure *figure, struct qualify_input *input, struct error *err)
{
    const char *const places[] = {options->json, options->plot};
    enum status status = output_check(places, 2, words, (size_t)count, err);
    if (status == STATUS_OK) {
        status = qualify_find_figure(options, figure, err);
    }
    return status == STATUS_OK ? qualify_input_read(options, words, count, input, err) : status;
}
