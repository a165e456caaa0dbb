// SPDX-License-Identifier: GPL-3.0-or-later
/* The loops and curves of a card that is read. */
#include <math.h>
#include <string.h>

#include "card/reader.h"

static void read_loop(struct card_reader *reader, const struct tree_value *from, bool is_major,
    struct card_loop *loop)
{
    loop->captures = card_reader_get_indices(reader, from, "captures", true);
    loop->specimen = card_reader_get_text(reader, from, "specimen", false);
    loop->frequency_Hz = card_reader_get_number(reader, from, "frequency_Hz", CARD_POSITIVE, false);
    loop->is_saturating = card_reader_get_bool(reader, from, "is_saturating");
    if (!is_major) {
        loop->figures = card_reader_get_figures(reader, from, true);
    }
    const struct tree_value *rising =
        card_reader_get(reader, from, "rising", TREE_OBJECT, is_major);
    const struct tree_value *falling =
        card_reader_get(reader, from, "falling", TREE_OBJECT, is_major || rising != NULL);
    const struct tree_value *drawn =
        card_reader_get(reader, from, "drawn", TREE_OBJECT, is_major || rising != NULL);
    if (rising == NULL || falling == NULL || drawn == NULL) {
        card_keys_clear(card_drawn_keys, loop);
        return;
    }
    loop->rising = card_reader_get_graph(reader, rising, false);
    loop->falling = card_reader_get_graph(reader, falling, false);
    card_reader_get_keys(reader, drawn, card_drawn_keys, loop);
}

void card_reader_read_loops(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    const struct tree_value *major =
        card_reader_get(reader, root, "major_loop", TREE_OBJECT, false);
    if (major != NULL) {
        card->has_major_loop = true;
        read_loop(reader, major, true, &card->major_loop);
    }
    const struct tree_value *array = card_reader_get(reader, root, "loops", TREE_ARRAY, true);
    const size_t count = tree_get_count(array);
    card->loops = array == NULL ? NULL : card_create_array(card, count, sizeof *card->loops);
    for (size_t i = 0; card->loops != NULL && i < count && reader->status == STATUS_OK; i++) {
        read_loop(reader, tree_get_at(array, i), false, &card->loops[i]);
        card->loop_count = i + 1;
    }
}

static void check_rising(struct card_reader *reader, const struct tree_value *block,
    const char *key, const double *list, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        if (!(list[i] > list[i - 1])) {
            card_reader_fail(reader, tree_get(block, key),
                "does not rise from point %zu to "
                "point %zu",
                i - 1, i);
            return;
        }
    }
}

static void check_length(struct card_reader *reader, const struct tree_value *block,
    const char *key, size_t found, size_t wanted)
{
    if (found != wanted) {
        card_reader_fail(reader, tree_get(block, key),
            "has %zu members, and the list beside it "
            "has %zu",
            found, wanted);
    }
}

/* Uncertainties beside a list; absent: NULL. */
static double *read_beside(
    struct card_reader *reader, const struct tree_value *block, const char *key, size_t wanted)
{
    size_t found;
    double *list = card_reader_get_numbers(reader, block, key, CARD_NOT_NEGATIVE, false, &found);
    if (list != NULL) {
        check_length(reader, block, key, found, wanted);
    }
    return list;
}

static void read_normal_curve(struct card_reader *reader, const struct tree_value *root)
{
    struct card_normal_curve *curve = &reader->card->normal_curve;
    const struct tree_value *block =
        card_reader_get(reader, root, "normal_curve", TREE_OBJECT, false);
    if (block == NULL) {
        return;
    }
    size_t count, other;
    curve->frequency_Hz =
        card_reader_get_number(reader, block, "frequency_Hz", CARD_POSITIVE, false);
    curve->field_peak =
        card_reader_get_numbers(reader, block, "field_peak_A_per_m", CARD_POSITIVE, true, &count);
    curve->flux_density_peak =
        card_reader_get_numbers(reader, block, "flux_density_peak_T", CARD_POSITIVE, true, &other);
    if (reader->status != STATUS_OK) {
        return;
    }
    check_length(reader, block, "flux_density_peak_T", other, count);
    if (count == 0) {
        card_reader_fail(reader, block, "has no points");
    }
    curve->u_field_peak = read_beside(reader, block, "u_field_peak_A_per_m", count);
    curve->u_flux_density_peak = read_beside(reader, block, "u_flux_density_peak_T", count);
    if (reader->status == STATUS_OK) {
        check_rising(reader, block, "field_peak_A_per_m", curve->field_peak, count);
        curve->count = count;
    }
}

static void read_reluctivity(struct card_reader *reader, const struct tree_value *solver)
{
    struct card_reluctivity *made = &reader->card->solver.reluctivity;
    const struct tree_value *block =
        card_reader_get(reader, solver, "reluctivity", TREE_OBJECT, true);
    size_t count, other;
    made->bound_relative =
        card_reader_get_number(reader, block, "bound_relative", CARD_POSITIVE, block != NULL);
    made->flux_density_squared = card_reader_get_numbers(
        reader, block, "flux_density_squared_T2", CARD_NOT_NEGATIVE, block != NULL, &count);
    made->reluctivity = card_reader_get_numbers(
        reader, block, "reluctivity_m_per_H", CARD_POSITIVE, block != NULL, &other);
    if (reader->status != STATUS_OK) {
        return;
    }
    check_length(reader, block, "reluctivity_m_per_H", other, count);
    if (count < 2) {
        card_reader_fail(reader, block, "has %zu points; at least 2 are needed", count);
        return;
    }
    check_rising(reader, block, "flux_density_squared_T2", made->flux_density_squared, count);
    made->count = count;
}

static struct card_graph read_branch(
    struct card_reader *reader, const struct tree_value *solver, const char *key)
{
    const struct tree_value *block = card_reader_get(reader, solver, key, TREE_OBJECT, false);
    return block != NULL ? card_reader_get_graph(reader, block, true) : (struct card_graph){0};
}

void card_reader_read_curves(struct card_reader *reader, const struct tree_value *root)
{
    struct card_solver *solver = &reader->card->solver;
    read_normal_curve(reader, root);
    const struct tree_value *block = card_reader_get(reader, root, "solver", TREE_OBJECT, false);
    if (block == NULL) {
        return;
    }
    const struct tree_value *curve = card_reader_get(reader, block, "curve", TREE_OBJECT, true);
    if (curve == NULL) {
        return;
    }
    solver->kind = card_reader_get_text(reader, curve, "kind", true);
    if (solver->kind != NULL && strcmp(solver->kind, "normal") != 0 &&
        strcmp(solver->kind, "centre") != 0) {
        card_reader_fail(reader, tree_get(curve, "kind"), "must be 'normal' or 'centre'");
    }
    solver->method = card_reader_get_text(reader, curve, "method", true);
    solver->measured_points = card_reader_get_count(reader, curve, "measured_points", true);
    solver->smoothing_T =
        card_reader_get_number(reader, curve, "smoothing_T", CARD_NOT_NEGATIVE, true);
    solver->curve = card_reader_get_graph(reader, curve, true);
    if (reader->status == STATUS_OK &&
        (solver->measured_points < 2 || solver->measured_points > solver->curve.count)) {
        card_reader_fail(reader, tree_get(curve, "measured_points"),
            "must be from 2 to the %zu points of the curve", solver->curve.count);
    }
    read_reluctivity(reader, block);
    solver->rising = read_branch(reader, block, "rising");
    solver->falling = read_branch(reader, block, "falling");
}
