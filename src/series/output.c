// SPDX-License-Identifier: GPL-3.0-or-later
/* The "lodecard-series/1" object; docs/output.md names its members. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "base/version.h"
#include "series/series_part.h"

#define KEY_SIZE 64

static void add_text(struct json *json, const char *key, const char *words)
{
    if (words)
        json_add_text(json, key, words);
}

static void add_u(struct json *json, const char *key, double u)
{
    char name[KEY_SIZE + 136];
    snprintf(name, sizeof name, "u_%s", key);
    json_add_number(json, name, u);
}

static void add_quantity(struct json *json, const char *key, const struct quantity *quantity)
{
    if (!quantity->is_present)
        return;
    json_add_number(json, key, quantity->value);
    if (quantity->has_uncertainty)
        add_u(json, key, quantity_get_uncertainty(quantity));
}

static void add_steel(struct json *json, const struct series_steel *steel)
{
    json_begin_object(json, "specimen");
    add_text(json, "name", steel->specimen);
    add_text(json, "alloy", steel->alloy);
    add_text(json, "supplier", steel->supplier);
    add_text(json, "heat", steel->heat);
    add_text(json, "condition", steel->condition);
    add_quantity(json, "density_kg_per_m3", &steel->density);
    add_quantity(json, "resistivity_ohm_m", &steel->resistivity);
    add_quantity(json, "thickness_m", &steel->thickness);
    if (steel->thickness.is_present)
        json_add_bool(json, "is_laminated", steel->is_laminated);
    add_quantity(json, "breadth_m", &steel->breadth);
    add_quantity(json, "temperature_K", &steel->temperature);
    json_end_object(json);
}

static void add_json(struct json *json, const char *key, const char *words)
{
    struct tree *tree = NULL;
    struct error err;
    if (!words || tree_read_bytes(key, words, strlen(words), &tree, &err))
        return;
    tree_write_json(json, key, tree_get_root(tree));
    tree_destroy(tree);
}

static void add_setups(struct json *json, const struct series *series)
{
    json_begin_array(json, "setups");
    for (size_t i = 0; i < series->setup_count; i++) {
        json_begin_object(json, NULL);
        add_json(json, "rig", series->setups[i].rig);
        add_json(json, "specimen", series->setups[i].specimen);
        json_end_object(json);
    }
    json_end_array(json);
}

static void add_figures(struct json *json, const struct figures *figures)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &figures->list[i];
        if (!value->is_present)
            continue;
        json_add_number(json, figure_table[i].key, value->value);
        if (value->has_u)
            add_u(json, figure_table[i].key, value->u);
    }
}

static void add_loop(struct json *json, const struct series_loop *loop, bool has_points)
{
    json_begin_object(json, NULL);
    add_figures(json, &loop->figures);
    add_text(json, "file", loop->file);
    if (loop->row)
        json_add_integer(json, "row", (long long)loop->row);
    if (loop->sha256[0])
        json_add_text(json, "sha256", loop->sha256);
    add_text(json, "specimen", loop->specimen);
    if (loop->setup != SERIES_NONE)
        json_add_integer(json, "setup", (long long)loop->setup);
    if (loop->temperature_K > 0)
        json_add_number(json, "temperature_K", loop->temperature_K);
    if (loop->notes.count)
        notes_write_json(json, "notes", &loop->notes);
    if (has_points && loop->point_count) {
        json_begin_object(json, "points");
        json_add_numbers(json, "field_A_per_m", loop->field, loop->point_count);
        json_add_numbers(json, "flux_density_T", loop->flux_density, loop->point_count);
        json_end_object(json);
    }
    json_end_object(json);
}

static bool has_any(const double *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (values[i] > 0)
            return true;
    return false;
}

static void add_list(
    struct json *json, const char *key, const double *values, const double *u, size_t count)
{
    char name[KEY_SIZE + 136];
    json_add_numbers(json, key, values, count);
    snprintf(name, sizeof name, "u_%s", key);
    if (has_any(u, count))
        json_add_numbers(json, name, u, count);
}

static const char *get_peak_key(const struct series *series)
{
    return figure_table[series_get_peak_figure(series)].key;
}

static void add_curve(struct json *json, const struct series *series)
{
    if (series->normal == SERIES_NONE)
        return;
    const struct series_curve *curve = &series->curves[series->normal];
    json_begin_object(json, "normal_curve");
    json_add_number(json, "frequency_Hz", curve->frequency_Hz);
    add_list(json, "field_peak_A_per_m", curve->field_peak, curve->u_field_peak, curve->count);
    add_list(json, get_peak_key(series), curve->peak, curve->u_peak, curve->count);
    add_list(
        json, "amplitude_permeability", curve->permeability, curve->u_permeability, curve->count);
    json_end_object(json);
    json_begin_object(json, "largest_permeability");
    json_add_number(json, "amplitude_permeability", curve->permeability[curve->most]);
    if (curve->u_permeability[curve->most] > 0)
        add_u(json, "amplitude_permeability", curve->u_permeability[curve->most]);
    json_add_number(json, "field_peak_A_per_m", curve->field_peak[curve->most]);
    json_add_number(json, get_peak_key(series), curve->peak[curve->most]);
    json_end_object(json);
}

static void add_initial(struct json *json, const struct series_initial *initial)
{
    if (!initial->count)
        return;
    json_begin_object(json, "initial_curve");
    add_text(json, "file", initial->file);
    json_add_numbers(json, "field_A_per_m", initial->field, initial->count);
    json_add_numbers(json, "flux_density_T", initial->flux_density, initial->count);
    if (!isnan(initial->permeability)) {
        json_add_number(json, "initial_permeability", initial->permeability);
        json_add_number(json, "rayleigh_constant_T_m2_per_A2", initial->rayleigh);
    }
    json_end_object(json);
}

/* --- separation --------------------------------------------------------------------------------
 */

struct term_key {
    char key[KEY_SIZE];
};

/* The keys of the three terms; the linear one says whether it was computed. */
static void set_keys(struct term_key keys[3], const struct series *series, bool is_classical)
{
    const char *per = series->is_per_mass ? "kg" : "m3";
    snprintf(keys[0].key, KEY_SIZE, "hysteresis_J_per_%s", per);
    snprintf(keys[1].key, KEY_SIZE, "%s_J_s_per_%s", is_classical ? "classical" : "linear", per);
    snprintf(keys[2].key, KEY_SIZE, "excess_J_per_%s_per_sqrt_Hz", per);
}

static void add_separation(
    struct json *json, const struct series *series, const struct series_separation *it)
{
    const double terms[] = {
        it->hysteresis_J_per_m3, it->linear_J_s_per_m3, it->excess_J_per_m3_per_sqrt_Hz};
    struct term_key keys[3];
    char key[KEY_SIZE];
    set_keys(keys, series, it->is_classical);
    json_begin_object(json, NULL);
    json_add_number(json, get_peak_key(series), it->peak_T);
    for (size_t t = 0; t < 3; t++) {
        if (t == 2 && !it->has_excess)
            continue;
        json_add_number(json, keys[t].key, terms[t]);
        if (it->has_covariance)
            add_u(json, keys[t].key, sqrt(it->covariance[t][t]));
    }
    if (it->has_covariance) {
        json_begin_array(json, "covariance");
        for (size_t t = 0; t < 3; t++)
            json_add_numbers(json, NULL, it->covariance[t], 3);
        json_end_array(json);
    }
    json_add_bool(json, "is_bounded", it->is_bounded);
    json_add_number(json, "residual_relative", it->residual_relative);
    json_add_number(json, "residual_most", it->residual_most);
    json_add_numbers(json, "frequency_Hz", it->frequency_Hz, it->count);
    snprintf(key, sizeof key, "energy_J_per_%s", series->is_per_mass ? "kg" : "m3");
    add_list(json, key, it->energy, it->u_energy, it->count);
    json_add_numbers(json, "residual", it->residual, it->count);
    if (it->skin_frequency_Hz > 0)
        json_add_number(json, "skin_frequency_Hz", it->skin_frequency_Hz);
    json_end_object(json);
}

/* --- laws --------------------------------------------------------------------------------------
 */

static void add_law(struct json *json, const char *key, const struct series *series,
    const struct series_power_law *law)
{
    const char *coefficient = series->is_per_mass ? "coefficient_J_per_kg" : "coefficient_J_per_m3";
    if (!law->is_present)
        return;
    json_begin_object(json, key);
    json_add_text(json, "of", series->is_separated ? "hysteresis" : "loss");
    json_add_number(json, coefficient, law->coefficient);
    if (law->has_u)
        add_u(json, coefficient, law->u_coefficient);
    json_add_number(json, "exponent", law->exponent);
    if (law->has_u && !law->is_fixed)
        add_u(json, "exponent", law->u_exponent);
    if (law->is_varying) {
        json_add_number(json, "exponent_per_T", law->exponent_per_T);
        if (law->has_u)
            add_u(json, "exponent_per_T", law->u_exponent_per_T);
    }
    json_add_number(json, "residual_relative", law->residual_relative);
    json_add_number(json, "residual_most", law->residual_most);
    json_add_integer(json, "points", (long long)law->count);
    json_add_number(json, "least_T", law->least_T);
    json_add_number(json, "most_T", law->most_T);
    if (law->holds_most_T > 0) {
        json_add_number(json, "holds_least_T", law->holds_least_T);
        json_add_number(json, "holds_most_T", law->holds_most_T);
    }
    json_end_object(json);
}

static void add_saturation(struct json *json, const struct series_saturation *saturation)
{
    json_begin_object(json, "saturation");
    if (saturation->is_present) {
        json_add_number(json, "polarization_T", saturation->polarization_T);
        add_u(json, "polarization_T", saturation->u_polarization_T);
        json_add_number(json, "reached_T", saturation->reached_T);
        json_add_number(json, "field_least_A_per_m", saturation->field_least);
        json_add_number(json, "field_most_A_per_m", saturation->field_most);
    } else {
        json_add_text(json, "reason", saturation->reason);
    }
    json_end_object(json);
}

static void add_at(struct json *json, const struct series *series)
{
    json_begin_array(json, "at");
    for (size_t i = 0; i < series->at_count; i++) {
        json_begin_object(json, NULL);
        json_add_text(json, "variable", figure_table[series->at[i].variable].key);
        json_add_number(json, "value", series->at[i].value);
        figures_write_json(json, "figures", &series->at[i].figures);
        json_end_object(json);
    }
    json_end_array(json);
}

void series_write_members(struct json *json, const struct series *series, bool has_points)
{
    json_add_text(json, "schema", "lodecard-series/1");
    json_add_text(json, "version", LODECARD_VERSION);
    add_steel(json, &series->steel);
    add_setups(json, series);
    json_begin_array(json, "loops");
    for (size_t i = 0; i < series->count; i++)
        add_loop(json, &series->loops[i], has_points);
    json_end_array(json);
    add_curve(json, series);
    add_initial(json, &series->initial);
    if (series->largest != SERIES_NONE) {
        json_begin_object(json, "largest_loop");
        json_add_integer(json, "loop", (long long)series->largest);
        json_add_bool(json, "is_major", series->is_major);
        json_end_object(json);
    }
    json_begin_array(json, "separation");
    for (size_t i = 0; i < series->separation_count; i++)
        add_separation(json, series, &series->separations[i]);
    json_end_array(json);
    add_law(json, "power_law", series, &series->free);
    add_law(json, "power_law_fixed", series, &series->fixed);
    add_law(json, "power_law_varying", series, &series->varying);
    add_saturation(json, &series->saturation);
    if (series->at_count)
        add_at(json, series);
}
