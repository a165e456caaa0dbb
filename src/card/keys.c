// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/keys.h"

#include <math.h>

#include "card/card.h"

#define AT(block, member) #member, offsetof(struct card_##block, member)

const struct card_key card_validity_keys[] = {
    {AT(validity, field_least_A_per_m), CARD_POSITIVE, false},
    {AT(validity, field_most_A_per_m), CARD_POSITIVE, false},
    {AT(validity, flux_density_least_T), CARD_POSITIVE, false},
    {AT(validity, flux_density_most_T), CARD_POSITIVE, false},
    {AT(validity, polarization_least_T), CARD_POSITIVE, false},
    {AT(validity, polarization_most_T), CARD_POSITIVE, false},
    {AT(validity, frequency_least_Hz), CARD_NOT_NEGATIVE, false},
    {AT(validity, frequency_most_Hz), CARD_NOT_NEGATIVE, false},
    {AT(validity, temperature_least_K), CARD_POSITIVE, false},
    {AT(validity, temperature_most_K), CARD_POSITIVE, false},
    {0},
};

const struct card_key card_steel_keys[] = {
    {AT(steel, resistivity_ohm_m), CARD_POSITIVE, false},
    {AT(steel, u_resistivity_ohm_m), CARD_NOT_NEGATIVE, false},
    {AT(steel, density_kg_per_m3), CARD_POSITIVE, false},
    {AT(steel, u_density_kg_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(steel, thickness_m), CARD_POSITIVE, false},
    {AT(steel, u_thickness_m), CARD_NOT_NEGATIVE, false},
    {0},
};

const struct card_key card_saturation_keys[] = {
    {AT(saturation, polarization_T), CARD_POSITIVE, true},
    {AT(saturation, u_polarization_T), CARD_NOT_NEGATIVE, false},
    {AT(saturation, reached_T), CARD_POSITIVE, true},
    {0},
};

const struct card_key card_separation_keys[] = {
    {AT(separation, flux_density_peak_T), CARD_POSITIVE, false},
    {AT(separation, polarization_peak_T), CARD_POSITIVE, false},
    {AT(separation, hysteresis_J_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_hysteresis_J_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(separation, classical_J_s_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(separation, linear_J_s_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_linear_J_s_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(separation, excess_J_per_m3_per_sqrt_Hz), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_excess_J_per_m3_per_sqrt_Hz), CARD_NOT_NEGATIVE, false},
    {AT(separation, hysteresis_J_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_hysteresis_J_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(separation, classical_J_s_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(separation, linear_J_s_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_linear_J_s_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(separation, excess_J_per_kg_per_sqrt_Hz), CARD_NOT_NEGATIVE, false},
    {AT(separation, u_excess_J_per_kg_per_sqrt_Hz), CARD_NOT_NEGATIVE, false},
    {AT(separation, residual_relative), CARD_NOT_NEGATIVE, true},
    {AT(separation, frequency_least_Hz), CARD_NOT_NEGATIVE, false},
    {AT(separation, frequency_most_Hz), CARD_NOT_NEGATIVE, false},
    {0},
};

const struct card_key card_power_law_keys[] = {
    {AT(power_law, coefficient_J_per_m3), CARD_POSITIVE, false},
    {AT(power_law, u_coefficient_J_per_m3), CARD_NOT_NEGATIVE, false},
    {AT(power_law, coefficient_J_per_kg), CARD_POSITIVE, false},
    {AT(power_law, u_coefficient_J_per_kg), CARD_NOT_NEGATIVE, false},
    {AT(power_law, exponent), CARD_ANY, true},
    {AT(power_law, u_exponent), CARD_NOT_NEGATIVE, false},
    {AT(power_law, residual_relative), CARD_NOT_NEGATIVE, true},
    {AT(power_law, least_T), CARD_POSITIVE, false},
    {AT(power_law, most_T), CARD_POSITIVE, false},
    {0},
};

const struct card_key card_drawn_keys[] = {
    {"loop_area_J_per_m3", offsetof(struct card_loop, drawn_area_J_per_m3), CARD_ANY, true},
    {AT(loop, bound_T), CARD_POSITIVE, true},
    {AT(loop, monotone_change_T), CARD_NOT_NEGATIVE, true},
    {AT(loop, points_read), CARD_POSITIVE, true},
    {0},
};

double *card_keys_find(const struct card_key *key, void *block)
{
    return (double *)(void *)((char *)block + key->offset);
}

static double get(const struct card_key *key, const void *block)
{
    return *(const double *)(const void *)((const char *)block + key->offset);
}

void card_keys_clear(const struct card_key *keys, void *block)
{
    for (; keys->key != NULL; keys++) {
        *card_keys_find(keys, block) = NAN;
    }
}

bool card_keys_has_any(const struct card_key *keys, const void *block)
{
    for (; keys->key != NULL; keys++) {
        if (!isnan(get(keys, block))) {
            return true;
        }
    }
    return false;
}

void card_keys_write(struct json *json, const struct card_key *keys, const void *block)
{
    for (; keys->key != NULL; keys++) {
        const double value = get(keys, block);
        if (!isnan(value)) {
            json_add_number(json, keys->key, value);
        }
    }
}
