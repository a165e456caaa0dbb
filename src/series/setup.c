// SPDX-License-Identifier: GPL-3.0-or-later
/* What is known of the steel, from a specimen or from the JSON that a specimen was written to. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "series/series_part.h"

static bool is_same(const char *one, const char *other)
{
    return one == other || (one && other && !strcmp(one, other));
}

void steel_clear(struct series_steel *steel)
{
    char *texts[] = {steel->specimen, steel->alloy, steel->supplier, steel->heat, steel->condition};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        memory_destroy(texts[i]);
    *steel = (struct series_steel){0};
}

size_t series_add_setup(
    struct series *series, const char *rig, const char *specimen, struct series_steel *steel)
{
    for (size_t i = 0; i < series->setup_count; i++)
        if (is_same(series->setups[i].rig, rig) && is_same(series->setups[i].specimen, specimen)) {
            steel_clear(steel);
            return i;
        }
    struct series_setup *list = memory_reserve(
        series->setups, &series->setup_capacity, series->setup_count + 1, sizeof *list);
    struct series_setup made = {memory_copy_text(rig), memory_copy_text(specimen), *steel};
    if (list)
        series->setups = list;
    if (!list || (rig && !made.rig) || (specimen && !made.specimen)) {
        memory_destroy(made.rig);
        memory_destroy(made.specimen);
        steel_clear(steel);
        return SERIES_NONE;
    }
    *steel = (struct series_steel){0};
    list[series->setup_count] = made;
    return series->setup_count++;
}

/* What the eddy currents circulate in: the sheet; or, of a solid ring, the lesser of its width and
 * its height. A stacked ring whose sheet is not told has none. */
struct ring_size {
    struct quantity outer, inner, height, sheet;
    double stacking, area_m2;
};

static void set_thickness(struct series_steel *steel, const struct ring_size *ring)
{
    const double width = 0.5 * (ring->outer.value - ring->inner.value);
    const double height = ring->height.is_present ? ring->height.value
                          : width > 0             ? ring->area_m2 / width
                                                  : 0;
    const double u =
        0.5 * hypot(quantity_get_uncertainty(&ring->outer), quantity_get_uncertainty(&ring->inner));
    const struct quantity across = {
        .value = width, .half_width = 2 * u, .is_present = width > 0, .has_uncertainty = u > 0};
    const struct quantity along = {.value = height, .is_present = height > 0};
    if (ring->sheet.is_present) {
        steel->thickness = ring->sheet;
        steel->breadth = across;
        steel->is_laminated = true;
        return;
    }
    if (!(width > 0) || !(height > 0) || ring->stacking < 1)
        return;
    steel->thickness = width <= height ? across : ring->height.is_present ? ring->height : along;
    steel->breadth = width <= height ? along : across;
}

static enum status set_texts(
    struct series_steel *steel, const char *const words[5], struct error *err)
{
    char **places[] = {
        &steel->specimen, &steel->alloy, &steel->supplier, &steel->heat, &steel->condition};
    for (size_t i = 0; i < 5; i++) {
        *places[i] = memory_copy_text(words[i]);
        if (words[i] && !*places[i]) {
            steel_clear(steel);
            return fail_memory(err);
        }
    }
    return STATUS_OK;
}

enum status steel_copy(
    struct series_steel *steel, const struct series_steel *from, struct error *err)
{
    const char *const words[] = {
        from->specimen, from->alloy, from->supplier, from->heat, from->condition};
    *steel = *from;
    steel->specimen = steel->alloy = steel->supplier = steel->heat = steel->condition = NULL;
    return set_texts(steel, words, err);
}

enum status steel_set(
    struct series_steel *steel, const struct specimen *specimen, struct error *err)
{
    const char *const words[] = {
        specimen->name, specimen->alloy, specimen->supplier, specimen->heat, specimen->condition};
    const struct ring_size ring = {specimen->outer_diameter, specimen->inner_diameter,
        specimen->height, specimen->sheet_thickness,
        specimen->stacking_factor.is_present ? specimen->stacking_factor.value : 1,
        specimen->area_m2};
    *steel = (struct series_steel){.resistivity = specimen->resistivity,
        .density = specimen->density,
        .temperature = specimen->temperature};
    set_thickness(steel, &ring);
    return set_texts(steel, words, err);
}

static struct quantity read_quantity(const struct tree_value *object, const char *key)
{
    char u_key[64];
    struct quantity quantity = {0};
    double u = 0;
    snprintf(u_key, sizeof u_key, "u_%s", key);
    quantity.is_present = tree_get_number(tree_get(object, key), &quantity.value);
    quantity.has_uncertainty = tree_get_number(tree_get(object, u_key), &u);
    quantity.half_width = 2 * u;
    return quantity;
}

enum status steel_read(
    struct series_steel *steel, const struct tree_value *specimen, struct error *err)
{
    static const char *const keys[] = {"name", "alloy", "supplier", "heat", "condition"};
    const struct tree_value *ring = tree_get(specimen, "ring");
    const char *words[5];
    struct ring_size size = {read_quantity(ring, "outer_diameter_m"),
        read_quantity(ring, "inner_diameter_m"), read_quantity(ring, "height_m"),
        read_quantity(ring, "sheet_thickness_m"), 1, 0};
    (void)tree_get_number(tree_get(ring, "stacking_factor"), &size.stacking);
    (void)tree_get_number(tree_get(specimen, "area_m2"), &size.area_m2);
    for (size_t i = 0; i < 5; i++)
        words[i] = tree_get_text(tree_get(specimen, keys[i]));
    *steel = (struct series_steel){.resistivity = read_quantity(specimen, "resistivity_ohm_m"),
        .density = read_quantity(ring, "density_kg_per_m3"),
        .temperature = read_quantity(specimen, "temperature_K")};
    set_thickness(steel, &size);
    return set_texts(steel, words, err);
}
