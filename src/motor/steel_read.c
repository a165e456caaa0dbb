// SPDX-License-Identifier: GPL-3.0-or-later
/* Steels from results of this program. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "motor/steel_part.h"

void steel_read_figures(const struct tree_value *object, struct figures *figures)
{
    *figures = (struct figures){0};
    for (int i = 0; i < FIGURE_COUNT; i++) {
        char key[80];
        double value;
        if (tree_get_number(tree_get(object, figure_table[i].key), &value)) {
            figures_set(figures, (enum figure)i, value);
        }
        snprintf(key, sizeof key, "u_%s", figure_table[i].key);
        if (tree_get_number(tree_get(object, key), &value)) {
            figures_set_u(figures, (enum figure)i, value);
        }
    }
}

static void add_name(const struct tree_value *specimen, const char *source, struct text *out)
{
    const char *name = tree_get_text(tree_get(specimen, "name"));
    const char *alloy = tree_get_text(tree_get(specimen, "alloy"));
    const char *heat = tree_get_text(tree_get(specimen, "heat"));
    text_add(out, name != NULL ? name : alloy != NULL ? alloy : source);
    if (name != NULL && alloy != NULL) {
        text_add_format(out, " \u00B7 %s", alloy);
    }
    if (heat != NULL) {
        text_add_format(out, ", heat %s", heat);
    }
}

/* What eddy currents circulate in: the sheet of a laminated ring, else the lesser of width and
 * height of its section. */
static double get_thickness(const struct tree_value *specimen)
{
    const struct tree_value *ring = tree_get(specimen, "ring");
    double thickness, outer, inner, height, stacking = 1.0;
    if (tree_get_number(tree_get(specimen, "thickness_m"), &thickness)) {
        return thickness;
    }
    (void)tree_get_number(tree_get(ring, "stacking_factor"), &stacking);
    const bool is_whole = tree_get_number(tree_get(ring, "outer_diameter_m"), &outer) &&
                          tree_get_number(tree_get(ring, "inner_diameter_m"), &inner) &&
                          tree_get_number(tree_get(ring, "height_m"), &height);
    return is_whole && stacking >= 1.0 ? fmin(0.5 * (outer - inner), height) : 0.0;
}

enum status steel_read_specimen(const struct tree_value *specimen, const char *source,
    struct motor_steel *steel, struct error *err)
{
    struct text name = {0};
    add_name(specimen, source, &name);
    steel->name = name.failed ? NULL : memory_copy_text(name.bytes);
    text_clear(&name);
    steel->source = memory_copy_text(source);
    (void)tree_get_number(tree_get(specimen, "resistivity_ohm_m"), &steel->resistivity);
    steel->thickness = get_thickness(specimen);
    return steel->name == NULL || steel->source == NULL ? fail_memory(err) : STATUS_OK;
}

static enum status read_loop(const struct tree *tree, struct motor_steel *steel, struct error *err)
{
    const struct tree_value *root = tree_get_root(tree);
    const char *source = text_base_name(tree_get_name(tree));
    struct motor_steel told = {0}, fresh = {0};
    struct figures figures;
    steel_read_figures(tree_get(root, "figures"), &figures);
    enum status status = steel_read_specimen(tree_get(root, "specimen"), source, &told, err);
    if (status == STATUS_OK) {
        status = motor_steel_read_figures(told.name, source, &figures, &fresh, err);
    }
    if (status == STATUS_OK) {
        fresh.resistivity = told.resistivity;
        fresh.thickness = told.thickness;
        *steel = fresh;
    }
    motor_steel_clear(&told);
    return status;
}

static const struct {
    const char *schema;
    enum status (*read)(const struct tree *tree, struct motor_steel *steel, struct error *err);
} readers[] = {
    {"lodecard-loop/1", read_loop},
    {"lodecard-series/1", steel_read_series},
    {"lodecard-card/1", steel_read_card},
};

enum status motor_steel_read_tree(
    const struct tree *tree, struct motor_steel *steel, struct error *err)
{
    const char *schema = NULL;
    enum status status = tree_need_text(tree, tree_get_root(tree), "schema", &schema, err);
    for (size_t i = 0; status == STATUS_OK && i < sizeof readers / sizeof *readers; i++) {
        if (strcmp(schema, readers[i].schema) == 0) {
            return readers[i].read(tree, steel, err);
        }
    }
    return status != STATUS_OK
               ? status
               : fail(err, STATUS_INPUT, "the JSON of 'lodecard loop', 'series' or 'card' is read",
                     "'%s' has the schema '%.80s', which holds no steel", tree_get_name(tree),
                     schema);
}
