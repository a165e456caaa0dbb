// SPDX-License-Identifier: GPL-3.0-or-later
/* From a series to its card. The captures of the card are the loops of the series, in its order. */
#include "card/make.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "base/version.h"
#include "card/branch.h"
#include "card/keys.h"
#include "card/solver.h"
#include "quantity/constant.h"

struct maker {
    struct card *card;
    const struct series *series;
    const struct card_options *options;
    size_t major; /* the loop that the card's figures are of */
};

/* --- identity, validity, steel -----------------------------------------------------------------
 */

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

static void set_identity(struct maker *maker)
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

static void set_validity(struct maker *maker)
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

static void set_steel(struct maker *maker)
{
    struct card_steel *made = &maker->card->steel;
    const struct series_steel *steel = &maker->series->steel;
    set_quantity(&made->resistivity_ohm_m, &made->u_resistivity_ohm_m, &steel->resistivity);
    set_quantity(&made->density_kg_per_m3, &made->u_density_kg_per_m3, &steel->density);
    set_quantity(&made->thickness_m, &made->u_thickness_m, &steel->thickness);
    made->is_laminated = steel->is_laminated;
    maker->card->has_steel = card_keys_has_any(card_steel_keys, made);
}

/* --- loops -------------------------------------------------------------------------------------
 */

static enum status make_loop(
    struct maker *maker, size_t index, struct card_loop *loop, struct error *err)
{
    const struct series_loop *from = &maker->series->loops[index];
    const struct figure_value *frequency = &from->figures.list[FIGURE_FREQUENCY];
    card_keys_clear(card_drawn_keys, loop);
    loop->captures = card_copy_indices(maker->card, &index, 1);
    loop->specimen = card_copy_text(maker->card, from->specimen);
    loop->frequency_Hz = frequency->is_present ? frequency->value : NAN;
    loop->figures = from->figures;
    const double bound =
        maker->options->bound_relative > 0 ? maker->options->bound_relative : CARD_BOUND;
    return card_branch_draw(
        maker->card, from->field, from->flux_density, from->point_count, bound, loop, err);
}

/* A capture whose branches had to be bent far to be drawn as functions of H is told. */
#define REDRAWN 0.01
static void note_redrawn(struct maker *maker, const struct card_loop *loop)
{
    const struct figure_value *area = &loop->figures.list[FIGURE_LOOP_AREA];
    if (loop->rising.count == 0 || !area->is_present || !(area->value > 0)) {
        return;
    }
    const double off = loop->drawn_area_J_per_m3 / area->value - 1.0;
    if (fabs(off) > REDRAWN) {
        card_add_note(maker->card, &maker->card->notes, "redrawn", NOTE_WARNING,
            "take areas and losses from the figures, not from the branches; eddy currents round "
            "the tips, so measure slower, or thinner sheet",
            "'%s': the branches as drawn enclose %+.1f %% of the measured loop area (limit %g %%): "
            "B had to be moved by up to %.3g T to make J rise with H",
            maker->series->loops[loop->captures.list[0]].file, 100 * off, 100 * REDRAWN,
            loop->monotone_change_T);
    }
}

static enum status set_loops(struct maker *maker, struct error *err)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    card->loops = card_create_array(card, series->count, sizeof *card->loops);
    for (size_t i = 0; i < series->count && !card->failed; i++) {
        struct card_loop loop = {0};
        enum status status = make_loop(maker, i, &loop, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (!card->failed) {
            note_redrawn(maker, &loop);
        }
        if (i == maker->major && loop.rising.count > 0) {
            loop.is_saturating = series->is_major;
            card->major_loop = loop;
            card->has_major_loop = true;
        } else if (i != maker->major) {
            card->loops[card->loop_count++] = loop;
        }
    }
    card->figures = series->loops[maker->major].figures;
    return card->failed ? fail_memory(err) : STATUS_OK;
}

/* --- curves and laws ---------------------------------------------------------------------------
 */

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
static void set_normal_curve(struct maker *maker)
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

static void set_saturation(struct maker *maker)
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

static void set_laws(struct maker *maker)
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

/* --- where it came from ------------------------------------------------------------------------
 */

static struct card_notes copy_notes(struct card *card, const struct notes *from)
{
    struct card_notes notes = {.list = card_create_array(card, from->count, sizeof *notes.list)};
    for (size_t i = 0; notes.list != NULL && i < from->count; i++) {
        const struct note *note = &from->list[i];
        notes.list[notes.count++] = (struct card_note){.code = card_copy_text(card, note->code),
            .level = note->level,
            .message = card_copy_text(card, note->message),
            .hint = card_copy_text(card, note->hint)};
    }
    return notes;
}

/* The setup's place in the card: in the order in which the captures use them, so that the order
 * of the command line does not show. */
static size_t place_setup(struct maker *maker, size_t setup, size_t *places)
{
    struct card *card = maker->card;
    if (setup == SERIES_NONE) {
        return CARD_NONE;
    }
    if (places[setup] == CARD_NONE) {
        const struct series_setup *from = &maker->series->setups[setup];
        card->setups[card->setup_count] =
            (struct card_setup){.rig = card_copy_text(card, from->rig),
                .specimen = card_copy_text(card, from->specimen)};
        places[setup] = card->setup_count++;
    }
    return places[setup];
}

static void set_captures(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    size_t *places = card_create_array(card, series->setup_count, sizeof *places);
    card->setups = card_create_array(card, series->setup_count, sizeof *card->setups);
    card->captures = card_create_array(card, series->count, sizeof *card->captures);
    if (card->failed) {
        return;
    }
    for (size_t i = 0; i < series->setup_count; i++) {
        places[i] = CARD_NONE;
    }
    for (size_t i = 0; i < series->count; i++) {
        const struct series_loop *from = &series->loops[i];
        struct card_capture *capture = &card->captures[i];
        capture->file = card_copy_text(card, from->file);
        capture->row = from->row;
        memcpy(capture->sha256, from->sha256, sizeof capture->sha256);
        capture->specimen = card_copy_text(card, from->specimen);
        capture->setup = place_setup(maker, from->setup, places);
        capture->notes = copy_notes(card, &from->notes);
        card->capture_count = i + 1;
    }
}

#define SOURCES 10 /* card_add_model_source included */

static void add_source(struct card *card, const char *block, const size_t *list, size_t count)
{
    card->sources[card->source_count++] =
        (struct card_source){.block = block, .captures = card_copy_indices(card, list, count)};
}

static enum status set_sources(struct maker *maker, struct error *err)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    size_t *all = memory_create(series->count, sizeof *all);
    card->sources = card_create_array(card, SOURCES, sizeof *card->sources);
    if (all == NULL || card->sources == NULL) {
        memory_destroy(all);
        return fail_memory(err);
    }
    for (size_t i = 0; i < series->count; i++) {
        all[i] = i;
    }
    const size_t count = series->count;
    add_source(card, "identity", all, count);
    add_source(card, "validity", all, count);
    if (card->has_steel) {
        add_source(card, "steel", all, count);
    }
    add_source(card, "figures", &maker->major, 1);
    const struct series_curve *normal =
        card->normal_curve.count > 0 ? &series->curves[series->normal] : NULL;
    if (normal != NULL) {
        add_source(card, "normal_curve", normal->loop, normal->count);
    }
    if (card->has_saturation) {
        add_source(card, "saturation", all, count);
    }
    if (card->separation_count > 0) {
        add_source(card, "separation", all, count);
    }
    if (card->has_power_law) {
        add_source(card, "power_law", all, count);
    }
    if (card->solver.curve.count > 0) {
        const bool is_normal = normal != NULL && strcmp(card->solver.kind, "normal") == 0;
        add_source(card, "solver", is_normal ? normal->loop : &maker->major,
            is_normal ? normal->count : 1);
    }
    memory_destroy(all);
    return STATUS_OK;
}

/* The loop that figures and branches are of: the one of the largest field, or of the largest peak
 * where no field is known. */
static size_t find_major(const struct series *series)
{
    size_t found = 0;
    if (series->largest != SERIES_NONE) {
        return series->largest;
    }
    for (size_t i = 1; i < series->count; i++) {
        found = series_get_peak(series, i) > series_get_peak(series, found) ? i : found;
    }
    return found;
}

enum status card_make(const struct series *series, const struct card_options *options,
    struct card *card, struct error *err)
{
    if (series->count == 0) {
        return fail(err, STATUS_INPUT, "name a capture", "a card needs a loop");
    }
    struct maker maker = {.card = card, .series = series, .options = options};
    maker.major = find_major(series);
    card_init(card);
    set_identity(&maker);
    set_validity(&maker);
    set_steel(&maker);
    card->notes = copy_notes(card, &series->notes);
    enum status status = card->failed ? fail_memory(err) : set_loops(&maker, err);
    if (status == STATUS_OK) {
        set_normal_curve(&maker);
        set_saturation(&maker);
        set_laws(&maker);
        set_captures(&maker);
        status =
            card->failed ? fail_memory(err) : card_solver_make(card, options->is_smoothed, err);
    }
    if (status == STATUS_OK) {
        status = set_sources(&maker, err);
    }
    if (status == STATUS_OK && card->failed) {
        status = fail_memory(err);
    }
    if (status != STATUS_OK) {
        card_clear(card);
    }
    return status;
}

void card_add_model_source(struct card *card, const size_t *captures, size_t count)
{
    add_source(card, "models", captures, count);
}
