// SPDX-License-Identifier: GPL-3.0-or-later
/* Normal curve, saturation, separation of losses and power law of a card that is made. */
#include <math.h>
#include <string.h>

#include "card/keys.h"
#include "card/make_part.h"
#include "quantity/constant.h"

static bool has_any_above_zero(const double *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (list[i] > 0) {
            return true;
        }
    }
    return false;
}

static double *copy_numbers(struct card *card, const double *list, size_t count)
{
    double *copy = card_create_numbers(card, count);
    if (copy != NULL) {
        memcpy(copy, list, count * sizeof *copy);
    }
    return copy;
}

/* Tips of B; where the series counts by J, B = J + mu0 H. */
void maker_set_normal_curve(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    if (series->normal == SERIES_NONE) {
        return;
    }
    const struct series_curve *from = &series->curves[series->normal];
    struct card_normal_curve *made = &card->normal_curve;
    made->field_peak = copy_numbers(card, from->field_peak, from->count);
    made->flux_density_peak = copy_numbers(card, from->peak, from->count);
    if (card->failed || from->most == SERIES_NONE) {
        return;
    }
    for (size_t i = 0; series->uses_polarization && i < from->count; i++) {
        made->flux_density_peak[i] += MAGNETIC_CONSTANT * from->field_peak[i];
    }
    for (size_t i = 0; i < from->count; i++) {
        if (!(made->field_peak[i] > 0) || !(made->flux_density_peak[i] > 0) ||
            (i > 0 && !(made->field_peak[i] > made->field_peak[i - 1]))) {
            return; /* fields not known of all, or not in order: no curve */
        }
    }
    if (has_any_above_zero(from->u_field_peak, from->count)) {
        made->u_field_peak = copy_numbers(card, from->u_field_peak, from->count);
    }
    if (has_any_above_zero(from->u_peak, from->count)) {
        made->u_flux_density_peak = copy_numbers(card, from->u_peak, from->count);
    }
    made->frequency_Hz = from->frequency_Hz > 0 ? from->frequency_Hz : NAN;
    made->count = from->count;
}

void maker_set_saturation(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series_saturation *from = &maker->series->saturation;
    if (!from->is_present) {
        return;
    }
    struct text words = {0};
    text_add_format(&words, "law of approach J = Js - a/H - b/H², fitted from %.6g A/m to %.6g A/m",
        from->field_least, from->field_most);
    card->failed = card->failed || words.failed;
    card->saturation.polarization_T = from->polarization_T;
    card->saturation.u_polarization_T = from->u_polarization_T > 0 ? from->u_polarization_T : NAN;
    card->saturation.reached_T = from->reached_T;
    card->saturation.method = card_copy_text(card, words.bytes);
    card->has_saturation = !card->failed;
    text_clear(&words);
}

static double get_u(const struct series_separation *from, size_t term)
{
    return from->has_covariance ? sqrt(fmax(from->covariance[term][term], 0.0)) : NAN;
}

static void set_separation(
    const struct series *series, const struct series_separation *from, struct card_separation *made)
{
    const bool is_mass = series->is_per_mass;
    card_keys_clear(card_separation_keys, made);
    *(series->uses_polarization ? &made->polarization_peak_T : &made->flux_density_peak_T) =
        from->peak_T;
    double *hysteresis = is_mass ? &made->hysteresis_J_per_kg : &made->hysteresis_J_per_m3;
    double *u_hysteresis = is_mass ? &made->u_hysteresis_J_per_kg : &made->u_hysteresis_J_per_m3;
    double *classical = is_mass ? &made->classical_J_s_per_kg : &made->classical_J_s_per_m3;
    double *linear = is_mass ? &made->linear_J_s_per_kg : &made->linear_J_s_per_m3;
    double *u_linear = is_mass ? &made->u_linear_J_s_per_kg : &made->u_linear_J_s_per_m3;
    double *excess =
        is_mass ? &made->excess_J_per_kg_per_sqrt_Hz : &made->excess_J_per_m3_per_sqrt_Hz;
    double *u_excess =
        is_mass ? &made->u_excess_J_per_kg_per_sqrt_Hz : &made->u_excess_J_per_m3_per_sqrt_Hz;
    *hysteresis = from->hysteresis_J_per_m3;
    *u_hysteresis = get_u(from, 0);
    *(from->is_classical ? classical : linear) = from->linear_J_s_per_m3;
    if (!from->is_classical) {
        *u_linear = get_u(from, 1);
    }
    if (from->has_excess) {
        *excess = from->excess_J_per_m3_per_sqrt_Hz;
        *u_excess = get_u(from, 2);
    }
    made->residual_relative = from->residual_relative;
    if (from->count > 0) {
        made->frequency_least_Hz = from->frequency_Hz[0];
        made->frequency_most_Hz = from->frequency_Hz[from->count - 1];
    }
}

void maker_set_laws(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    card->separations =
        card_create_array(card, series->separation_count, sizeof *card->separations);
    for (size_t i = 0; card->separations != NULL && i < series->separation_count; i++) {
        set_separation(series, &series->separations[i], &card->separations[i]);
        card->separation_count = i + 1;
    }
    const struct series_power_law *from = &series->free;
    struct card_power_law *made = &card->power_law;
    if (!from->is_present) {
        return;
    }
    card->has_power_law = true;
    *(series->is_per_mass ? &made->coefficient_J_per_kg : &made->coefficient_J_per_m3) =
        from->coefficient;
    if (from->has_u) {
        *(series->is_per_mass ? &made->u_coefficient_J_per_kg : &made->u_coefficient_J_per_m3) =
            from->u_coefficient;
        made->u_exponent = from->u_exponent;
    }
    made->exponent = from->exponent;
    made->residual_relative = from->residual_relative;
    made->least_T = from->least_T;
    made->most_T = from->most_T;
}
