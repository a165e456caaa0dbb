// SPDX-License-Identifier: GPL-3.0-or-later
/* A steel of many loops: a series, or the card made of it. Both have loops[] with figures and,
 * where several frequencies were measured, separation[] with the terms of W(f) at equal peaks.
 * Fields, lag angles and shapes come from the loops of the lowest frequency, which have least of
 * the eddy currents in them. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/text.h"
#include "motor/steel_part.h"
#include "quantity/constant.h"

static const double SAME_FREQUENCY = 1e-3; /* relative */
static const double SAME_AMPLITUDE = 1e-3; /* relative: of two such loops the first is taken */
#define POLARIZATION_STEPS 60              /* each adds some digits */

/* --- loops ---------------------------------------------------------------------------------- */

/* loops[] hold figures, or are figures; a card has those of its major loop at its top, which counts
 * as the last loop here. */
static size_t get_loop_count(const struct tree_value *root)
{
    return tree_get_count(tree_get(root, "loops")) + (tree_get(root, "figures") != NULL ? 1 : 0);
}

static void read_loop_figures(const struct tree_value *root, size_t index, struct figures *figures)
{
    const struct tree_value *loops = tree_get(root, "loops");
    const bool is_major = index == tree_get_count(loops);
    const struct tree_value *loop = is_major ? root : tree_get_at(loops, index);
    const struct tree_value *nested = tree_get(loop, "figures");
    steel_read_figures(nested != NULL ? nested : loop, figures);
}

/* 0: traversed slowly. */
static double get_frequency(const struct figures *figures)
{
    const struct figure_value *frequency = &figures->list[FIGURE_FREQUENCY];
    return frequency->is_present ? frequency->value : 0.0;
}

static double find_least_frequency(const struct tree_value *root)
{
    double least = INFINITY;
    for (size_t i = 0; i < get_loop_count(root); i++) {
        struct figures figures;
        struct steel_point point;
        bool unused;
        read_loop_figures(root, i, &figures);
        if (steel_point_set(&point, &figures, &unused)) {
            least = fmin(least, get_frequency(&figures));
        }
    }
    return least;
}

static int compare_fields(const void *a, const void *b)
{
    const double x = ((const struct steel_point *)a)->field_peak;
    const double y = ((const struct steel_point *)b)->field_peak;
    return (x > y) - (x < y);
}

/* By rising field; what does not rise in both field and flux density, also as the logarithms that
 * the curves run over, goes. */
static size_t sort_points(struct steel_point *points, size_t count)
{
    size_t kept = 0;
    qsort(points, count, sizeof *points, compare_fields);
    for (size_t i = 0; i < count; i++) {
        const struct steel_point *last = &points[kept > 0 ? kept - 1 : 0];
        if (kept == 0 || (points[i].field_peak > last->field_peak * (1.0 + SAME_AMPLITUDE) &&
                             log(points[i].flux_density_peak) > log(last->flux_density_peak))) {
            points[kept++] = points[i];
        }
    }
    return kept;
}

/* The loops of the lowest frequency as points, not separated. */
static enum status read_loops(const struct tree *tree, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    const double least = find_least_frequency(root);
    steel->points = memory_create(get_loop_count(root) + 1, sizeof *steel->points);
    if (steel->points == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < get_loop_count(root); i++) {
        struct figures figures;
        bool is_from_area;
        read_loop_figures(root, i, &figures);
        const double frequency = get_frequency(&figures);
        if (frequency > least * (1.0 + SAME_FREQUENCY) ||
            !steel_point_set(&steel->points[steel->count], &figures, &is_from_area)) {
            continue;
        }
        steel->has_lag_from_area = steel->has_lag_from_area || is_from_area;
        steel->frequency_most = fmax(steel->frequency_most, frequency);
        steel->count++;
    }
    steel->count = sort_points(steel->points, steel->count);
    steel->frequency_least = steel->frequency_most;
    if (steel->count > 0) {
        return STATUS_OK;
    }
    return fail(err, STATUS_INPUT,
        "a motor needs loops with field_peak_A_per_m, flux_density_peak_T and loop_area_J_per_m3",
        "'%s' has no loop with peak field, peak flux density and loop area", tree_get_name(tree));
}

/* --- separation ------------------------------------------------------------------------------ */

/* The keys of a term, in their order of preference; per kg they are times the density. */
static const struct {
    const char *per_volume[2];
    const char *per_mass[2];
} term_keys[STEEL_TERMS] = {
    {{"hysteresis_J_per_m3", NULL}, {"hysteresis_J_per_kg", NULL}},
    {{"classical_J_s_per_m3", "linear_J_s_per_m3"}, {"classical_J_s_per_kg", "linear_J_s_per_kg"}},
    {{"excess_J_per_m3_per_sqrt_Hz", NULL}, {"excess_J_per_kg_per_sqrt_Hz", NULL}},
};

/* A term and its u; false when it is not there. */
static bool read_term(const struct tree_value *entry, const char *const keys[2], double scale,
    double *value, double *u)
{
    for (int i = 0; i < 2 && keys[i] != NULL; i++) {
        char u_key[80];
        if (tree_get_number(tree_get(entry, keys[i]), value)) {
            snprintf(u_key, sizeof u_key, "u_%s", keys[i]);
            *value *= scale;
            *u = tree_get_number(tree_get(entry, u_key), u) ? *u * scale : 0.0;
            return true;
        }
    }
    return false;
}

/* "covariance": three rows of three; false when it is not there. */
static bool read_covariance(const struct tree_value *entry, double scale, struct steel_point *point)
{
    const struct tree_value *rows = tree_get(entry, "covariance");
    double covariance[STEEL_TERMS][STEEL_TERMS];
    for (int i = 0; i < STEEL_TERMS; i++) {
        for (int j = 0; j < STEEL_TERMS; j++) {
            const struct tree_value *row = tree_get_at(rows, (size_t)i);
            if (!tree_get_number(tree_get_at(row, (size_t)j), &covariance[i][j])) {
                return false;
            }
        }
    }
    for (int i = 0; i < STEEL_TERMS; i++) {
        for (int j = 0; j < STEEL_TERMS; j++) {
            point->covariance[i][j] = scale * scale * covariance[i][j];
        }
    }
    return true;
}

/* The peak of B whose J is wanted: B = J + µ0 H(B); NaN: not among the loops. */
static enum status find_flux_density(
    const struct motor_steel *loops, double polarization, double *found, struct error *err)
{
    double flux_density = polarization + MAGNETIC_CONSTANT * loops->points[0].field_peak;
    for (int i = 0; i < POLARIZATION_STEPS; i++) {
        const struct motor_wanted wanted = {.kind = WANTED_FLUX_DENSITY, .value = flux_density};
        struct steel_state state;
        const enum status status = motor_steel_find(loops, &wanted, &state, err);
        if (status == STATUS_USAGE) {
            flux_density = i == 0 ? NAN : flux_density;
            break;
        }
        if (status != STATUS_OK) {
            return status;
        }
        flux_density = polarization + MAGNETIC_CONSTANT * state.point.field_peak;
    }
    *found = flux_density;
    return STATUS_OK;
}

/* The highest frequency behind an entry: a series lists them, a card tells the range; `otherwise`
 * where neither does. */
static double get_frequency_most(const struct tree_value *entry, double otherwise)
{
    const struct tree_value *list = tree_get(entry, "frequency_Hz");
    double most = 0.0, frequency;
    for (size_t i = 0; i < tree_get_count(list); i++) {
        most = tree_get_number(tree_get_at(list, i), &frequency) ? fmax(most, frequency) : most;
    }
    if (most == 0.0 && !tree_get_number(tree_get(entry, "frequency_most_Hz"), &most)) {
        most = otherwise;
    }
    return most;
}

/* What the loops say at the amplitude of an entry of separation[]; STATUS_USAGE: the entry tells
 * none, or it is not among the loops. */
static enum status find_entry(const struct tree_value *entry, const struct motor_steel *loops,
    struct steel_state *state, struct error *err)
{
    struct motor_wanted wanted = {.kind = WANTED_FLUX_DENSITY, .value = NAN};
    double polarization;
    if (!tree_get_number(tree_get(entry, "flux_density_peak_T"), &wanted.value) &&
        tree_get_number(tree_get(entry, "polarization_peak_T"), &polarization)) {
        const enum status status = find_flux_density(loops, polarization, &wanted.value, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    return motor_steel_find(loops, &wanted, state, err);
}

/* One entry of separation[] as a point of what the loops say there; false when it tells no energy
 * per volume. */
static bool read_entry(const struct tree_value *entry, const struct steel_state *state,
    double density, double frequency_most, struct steel_point *point)
{
    double u[STEEL_TERMS] = {0};
    struct steel_point fresh = state->point;
    double unused[2];
    const bool is_per_mass =
        !read_term(entry, term_keys[STEEL_HYSTERESIS].per_volume, 1.0, &unused[0], &unused[1]);
    for (int i = 0; i < STEEL_TERMS; i++) {
        const char *const *keys = is_per_mass ? term_keys[i].per_mass : term_keys[i].per_volume;
        fresh.loss[i] = 0.0;
        if (!read_term(entry, keys, is_per_mass ? density : 1.0, &fresh.loss[i], &u[i]) &&
            i == STEEL_HYSTERESIS) {
            return false;
        }
        for (int j = 0; j < STEEL_TERMS; j++) {
            fresh.covariance[i][j] = i == j ? u[i] * u[i] : 0.0;
        }
    }
    fresh.frequency_most = get_frequency_most(entry, frequency_most);
    (void)read_covariance(entry, is_per_mass ? density : 1.0, &fresh);
    *point = fresh;
    return fresh.loss[STEEL_HYSTERESIS] > 0.0;
}

static double find_most_frequency(const struct tree_value *root)
{
    double most = 0.0;
    for (size_t i = 0; i < get_loop_count(root); i++) {
        struct figures figures;
        read_loop_figures(root, i, &figures);
        most = fmax(most, get_frequency(&figures));
    }
    return most;
}

/* Puts the separated points in the place of the loops', where there are any. */
static enum status read_separation(
    const struct tree_value *root, double density, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *list = tree_get(root, "separation");
    struct steel_point *points = memory_create(tree_get_count(list) + 1, sizeof *points);
    const double most = find_most_frequency(root);
    size_t count = 0;
    if (points == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < tree_get_count(list); i++) {
        const struct tree_value *entry = tree_get_at(list, i);
        struct steel_state state;
        struct error fault;
        const enum status status = find_entry(entry, steel, &state, &fault);
        if (status != STATUS_OK && status != STATUS_USAGE) {
            memory_destroy(points);
            return fail(err, status, fault.hint, "%s", fault.message);
        }
        count += status == STATUS_OK && read_entry(entry, &state, density, most, &points[count]);
    }
    count = sort_points(points, count);
    if (count == 0) {
        memory_destroy(points);
        return STATUS_OK;
    }
    memory_destroy(steel->points);
    steel->points = points;
    steel->count = count;
    steel->is_separated = true;
    steel->frequency_most = most;
    return STATUS_OK;
}

static enum status read_curves(
    const struct tree *tree, double density, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    enum status status = read_loops(tree, steel, err);
    return status != STATUS_OK ? status : read_separation(root, density, steel, err);
}

enum status steel_read_series(const struct tree *tree, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *specimen = tree_get(tree_get_root(tree), "specimen");
    struct motor_steel fresh = {.origin = STEEL_FROM_SERIES};
    double density = NAN;
    (void)tree_get_number(tree_get(tree_get(specimen, "ring"), "density_kg_per_m3"), &density);
    (void)tree_get_number(tree_get(specimen, "density_kg_per_m3"), &density);
    enum status status =
        steel_read_specimen(specimen, text_base_name(tree_get_name(tree)), &fresh, err);
    if (status == STATUS_OK) {
        status = read_curves(tree, density, &fresh, err);
    }
    if (status == STATUS_OK) {
        *steel = fresh;
    } else {
        motor_steel_clear(&fresh);
    }
    return status;
}

enum status steel_read_card(const struct tree *tree, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    const struct tree_value *told = tree_get(root, "steel");
    const char *source = text_base_name(tree_get_name(tree));
    const char *name = tree_get_text(tree_get(root, "name"));
    struct motor_steel fresh = {.origin = STEEL_FROM_CARD};
    double density = NAN;
    (void)tree_get_number(tree_get(told, "density_kg_per_m3"), &density);
    (void)tree_get_number(tree_get(told, "resistivity_ohm_m"), &fresh.resistivity);
    (void)tree_get_number(tree_get(told, "thickness_m"), &fresh.thickness);
    fresh.name = memory_copy_text(name != NULL ? name : source);
    fresh.source = memory_copy_text(source);
    enum status status = fresh.name == NULL || fresh.source == NULL
                             ? fail_memory(err)
                             : read_curves(tree, density, &fresh, err);
    if (status == STATUS_OK) {
        *steel = fresh;
    } else {
        motor_steel_clear(&fresh);
    }
    return status;
}
