// SPDX-License-Identifier: GPL-3.0-or-later
/* Identity, validity and the steel of a card that is made. */
#include <math.h>
#include <string.h>

#include "base/version.h"
#include "card/keys.h"
#include "card/make_part.h"

static bool has_specimen(const struct card *card, const char *name)
{
    for (size_t i = 0; i < card->specimen_count; i++) {
        if (strcmp(card->specimens[i], name) == 0) {
            return true;
        }
    }
    return false;
}

static void set_name(struct maker *maker)
{
    struct card *card = maker->card;
    struct text words = {0};
    if (maker->options->name != NULL) {
        card->name = card_copy_text(card, maker->options->name);
        return;
    }
    const char *specimen =
        card->specimens != NULL && card->specimen_count > 0 ? card->specimens[0] : NULL;
    text_add(&words, card->alloy != NULL ? card->alloy
                     : specimen != NULL  ? specimen
                                         : "steel without a name");
    if (card->heat != NULL) {
        text_add_format(&words, ", heat %s", card->heat);
    }
    card->failed = card->failed || words.failed;
    card->name = card_copy_text(card, words.bytes);
    text_clear(&words);
}

void maker_set_identity(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    card->version = LODECARD_VERSION;
    card->date = card_copy_text(card, maker->options->date);
    card->alloy = card_copy_text(card, series->steel.alloy);
    card->supplier = card_copy_text(card, series->steel.supplier);
    card->heat = card_copy_text(card, series->steel.heat);
    card->condition = card_copy_text(card, series->steel.condition);
    card->specimens = card_create_array(card, series->count, sizeof *card->specimens);
    for (size_t i = 0; card->specimens != NULL && i < series->count; i++) {
        const char *name = series->loops[i].specimen;
        if (name != NULL && !card->failed && !has_specimen(card, name)) {
            card->specimens[card->specimen_count++] = card_copy_text(card, name);
        }
    }
    if (!card->failed) {
        set_name(maker);
    }
}

static void widen(double *least, double *most, double value)
{
    *least = isnan(*least) ? value : fmin(*least, value);
    *most = isnan(*most) ? value : fmax(*most, value);
}

static void widen_figure(
    double *least, double *most, const struct figures *figures, enum figure figure)
{
    const struct figure_value *value = &figures->list[figure];
    if (value->is_present && value->value > 0) {
        widen(least, most, value->value);
    }
}

void maker_set_validity(struct maker *maker)
{
    struct card_validity *range = &maker->card->validity;
    for (size_t i = 0; i < maker->series->count; i++) {
        const struct series_loop *loop = &maker->series->loops[i];
        const struct figure_value *frequency = &loop->figures.list[FIGURE_FREQUENCY];
        widen_figure(&range->field_least_A_per_m, &range->field_most_A_per_m, &loop->figures,
            FIGURE_FIELD_PEAK);
        widen_figure(&range->flux_density_least_T, &range->flux_density_most_T, &loop->figures,
            FIGURE_FLUX_DENSITY_PEAK);
        if (maker->series->uses_polarization) {
            widen_figure(&range->polarization_least_T, &range->polarization_most_T, &loop->figures,
                FIGURE_POLARIZATION_PEAK);
        }
        widen(&range->frequency_least_Hz, &range->frequency_most_Hz,
            frequency->is_present ? frequency->value : 0.0);
        if (loop->temperature_K > 0) {
            widen(&range->temperature_least_K, &range->temperature_most_K, loop->temperature_K);
        }
    }
}

static void set_quantity(double *value, double *u, const struct quantity *quantity)
{
    if (quantity->is_present) {
        *value = quantity->value;
        *u = quantity->has_uncertainty ? quantity_get_uncertainty(quantity) : NAN;
    }
}

void maker_set_steel(struct maker *maker)
{
    struct card_steel *made = &maker->card->steel;
    const struct series_steel *steel = &maker->series->steel;
    set_quantity(&made->resistivity_ohm_m, &made->u_resistivity_ohm_m, &steel->resistivity);
    set_quantity(&made->density_kg_per_m3, &made->u_density_kg_per_m3, &steel->density);
    set_quantity(&made->thickness_m, &made->u_thickness_m, &steel->thickness);
    made->is_laminated = steel->is_laminated;
    maker->card->has_steel = card_keys_has_any(card_steel_keys, made);
}
