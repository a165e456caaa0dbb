// SPDX-License-Identifier: GPL-3.0-or-later
#include "quantity/figure.h"

#include <stdio.h>
#include <string.h>

const struct figure_entry figure_table[FIGURE_COUNT] = {
    [FIGURE_FREQUENCY] = {"frequency", "frequency_Hz", "f", "frequency", "Hz",
        "fundamental frequency, found from the record itself", true},
    [FIGURE_CYCLES] = {"cycles", "cycles", "n", "cycles", "",
        "how many cycles the fit used, not necessarily a whole number", false},
    [FIGURE_HARMONICS] = {"harmonics", "harmonics", "K", "harmonics", "",
        "highest harmonic that the fit kept", false},
    [FIGURE_FIELD_PEAK] = {"field_peak", "field_peak_A_per_m", "Hm", "peak field strength", "A/m",
        "half the peak-to-peak excursion of H", true},
    [FIGURE_FLUX_DENSITY_PEAK] = {"flux_density_peak", "flux_density_peak_T", "Bm",
        "peak flux density", "T", "half the peak-to-peak excursion of B", true},
    [FIGURE_POLARIZATION_PEAK] = {"polarization_peak", "polarization_peak_T", "Jm",
        "peak polarization", "T", "half the peak-to-peak excursion of J = B - mu0 H", true},
    [FIGURE_REMANENCE] = {"remanence", "remanence_T", "Br", "remanence", "T",
        "half the distance of the falling and the rising branch at H = 0", true},
    [FIGURE_COERCIVITY] = {"coercivity", "coercivity_A_per_m", "HcB", "coercivity", "A/m",
        "half the distance of the rising and the falling branch at B = 0", true},
    [FIGURE_COERCIVITY_J] = {"coercivity_J", "coercivity_J_A_per_m", "HcJ",
        "coercivity of polarization", "A/m",
        "half the distance of the rising and the falling branch at J = 0", true},
    [FIGURE_LOOP_AREA] = {"loop_area", "loop_area_J_per_m3", "W", "loop area", "J/m³",
        "energy turned into heat by each cycle in each volume", true},
    [FIGURE_LOSS] = {"loss", "loss_W_per_m3", "P", "loss", "W/m³", "loop area times frequency",
        true},
    [FIGURE_SPECIFIC_LOSS] = {"specific_loss", "specific_loss_W_per_kg", "Ps",
        "specific total loss", "W/kg", "loss over density", true},
    [FIGURE_LAG_ANGLE] = {"lag_angle", "lag_angle_deg", "δ", "lag angle", "°",
        "phase of the fundamental of H minus phase of the fundamental of B", false},
    [FIGURE_LAG_ANGLE_AREA] = {"lag_angle_area", "lag_angle_area_deg", "δW", "lag angle from area",
        "°", "lag angle of the ellipse with the same peaks and the same area", false},
    [FIGURE_AMPLITUDE_PERMEABILITY] = {"amplitude_permeability", "amplitude_permeability", "µa",
        "amplitude permeability", "", "Bm / (µ0 Hm)", false},
    [FIGURE_SQUARENESS] = {"squareness", "squareness", "Br/Bm", "squareness", "",
        "remanence over peak flux density", false},
    [FIGURE_LOOP_FULLNESS] = {"loop_fullness", "loop_fullness", "W/4HmBm", "loop fullness", "",
        "share of the rectangle between the peaks that the loop fills", false},
    [FIGURE_FORM_FACTOR] = {"form_factor", "form_factor", "FF", "form factor of dB/dt", "",
        "rms over mean absolute value of dB/dt; 1.1107 for a sine", false},
    [FIGURE_FLUX_DISTORTION] = {"flux_distortion", "flux_distortion", "THD", "flux distortion", "",
        "rms of the harmonics of B from the second over its fundamental", false},
    [FIGURE_REMANENCE_FALLING] = {"remanence_falling", "remanence_falling_T", "Br↓",
        "remanence, falling branch", "T", "B on the falling branch at H = 0", true},
    [FIGURE_REMANENCE_RISING] = {"remanence_rising", "remanence_rising_T", "Br↑",
        "remanence, rising branch", "T", "minus B on the rising branch at H = 0", true},
    [FIGURE_REMANENCE_ASYMMETRY] = {"remanence_asymmetry", "remanence_asymmetry", "aBr",
        "asymmetry of remanence", "", "(|falling| - |rising|) / (|falling| + |rising|)", false},
    [FIGURE_COERCIVITY_FALLING] = {"coercivity_falling", "coercivity_falling_A_per_m", "HcB↓",
        "coercivity, falling branch", "A/m", "minus H on the falling branch at B = 0", true},
    [FIGURE_COERCIVITY_RISING] = {"coercivity_rising", "coercivity_rising_A_per_m", "HcB↑",
        "coercivity, rising branch", "A/m", "H on the rising branch at B = 0", true},
    [FIGURE_COERCIVITY_ASYMMETRY] = {"coercivity_asymmetry", "coercivity_asymmetry", "aHcB",
        "asymmetry of coercivity", "", "(|falling| - |rising|) / (|falling| + |rising|)", false},
    [FIGURE_COERCIVITY_J_FALLING] = {"coercivity_J_falling", "coercivity_J_falling_A_per_m", "HcJ↓",
        "coercivity of polarization, falling branch", "A/m",
        "minus H on the falling branch at J = 0", true},
    [FIGURE_COERCIVITY_J_RISING] = {"coercivity_J_rising", "coercivity_J_rising_A_per_m", "HcJ↑",
        "coercivity of polarization, rising branch", "A/m", "H on the rising branch at J = 0",
        true},
    [FIGURE_COERCIVITY_J_ASYMMETRY] = {"coercivity_J_asymmetry", "coercivity_J_asymmetry", "aHcJ",
        "asymmetry of coercivity of polarization", "",
        "(|falling| - |rising|) / (|falling| + |rising|)", false},
    [FIGURE_FIELD_BIAS] = {"field_bias", "field_bias_A_per_m", "H0", "mean field strength", "A/m",
        "mean of H over a cycle, where the rig keeps it", true},
    [FIGURE_LOOP_AREA_CHORD] = {"loop_area_chord", "loop_area_chord_J_per_m3", "Wc",
        "loop area, gap closed straight", "J/m³",
        "area of a trace closed by a straight line from its last row to its first", true},
    [FIGURE_LOOP_AREA_DRIFT_SHARED] = {"loop_area_drift_shared", "loop_area_drift_shared_J_per_m3",
        "Wd", "loop area, gap shared by row", "J/m³",
        "area of a trace with the closure gap shared out evenly over its rows", true},
    [FIGURE_CLOSURE_GAP] = {"closure_gap", "closure_gap_T", "ΔB", "closure gap", "T",
        "B of a trace's last row minus B of its first", true},
};

void figures_set(struct figures *figures, enum figure figure, double value)
{
    figures->list[figure].value = value;
    figures->list[figure].is_present = true;
}

void figures_set_u(struct figures *figures, enum figure figure, double u)
{
    figures->list[figure].u = u;
    figures->list[figure].has_u = true;
}

void figures_write_json(struct json *json, const char *key, const struct figures *figures)
{
    json_begin_object(json, key);
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &figures->list[i];
        if (!value->is_present) {
            continue;
        }
        json_add_number(json, figure_table[i].key, value->value);
        if (value->has_u) {
            char name[64];
            snprintf(name, sizeof name, "u_%s", figure_table[i].key);
            json_add_number(json, name, value->u);
        }
    }
    json_end_object(json);
}

enum figure figure_find(const char *word_or_key)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        if (strcmp(word_or_key, figure_table[i].word) == 0 ||
            strcmp(word_or_key, figure_table[i].key) == 0) {
            return (enum figure)i;
        }
    }
    return FIGURE_COUNT;
}

const struct figure_side figure_sides[FIGURE_SIDES] = {
    {FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, FIGURE_REMANENCE_RISING,
        FIGURE_REMANENCE_ASYMMETRY},
    {FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, FIGURE_COERCIVITY_RISING,
        FIGURE_COERCIVITY_ASYMMETRY},
    {FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, FIGURE_COERCIVITY_J_RISING,
        FIGURE_COERCIVITY_J_ASYMMETRY},
};

bool figure_is_of_side(enum figure figure)
{
    for (size_t i = 0; i < FIGURE_SIDES; i++) {
        const struct figure_side *side = &figure_sides[i];
        if (figure == side->falling || figure == side->rising || figure == side->asymmetry) {
            return true;
        }
    }
    return false;
}
