// SPDX-License-Identifier: GPL-3.0-or-later
/* Which channel is the excitation and which the pickup.
 *
 * Units tell first. Where both are voltages, physics does: in steel B lags H by the lag angle, 0 to
 * 90 degree, and the pickup voltage, the rate of B, leads B by 90. So the pickup leads the
 * excitation by 0 to 90 degree, or by 180 more where a coil is turned round; were the two swapped,
 * it would seem to lead by 90 to 180, or 270 to 360. Loop area does not tell them apart: the
 * product of current and voltage is the same both ways. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "loop/look_part.h"

#define UNSURE_DEG 1.0 /* nearer than this to a limit the phase does not decide */

enum role { ROLE_UNKNOWN, ROLE_EXCITATION, ROLE_PICKUP, ROLE_NEITHER };

/* What a unit says of a channel. A voltage may be either. */
static enum role get_role(const struct look_channel *channel)
{
    switch (channel->dimension) {
    case DIMENSION_CURRENT:
    case DIMENSION_FIELD_STRENGTH:
        return ROLE_EXCITATION;
    case DIMENSION_FLUX:
    case DIMENSION_FLUX_DENSITY:
        return ROLE_PICKUP;
    case DIMENSION_VOLTAGE:
        return ROLE_UNKNOWN;
    default:
        return channel->has_unit ? ROLE_NEITHER : ROLE_UNKNOWN;
    }
}

/* A flux or flux density follows the excitation by the lag angle; a voltage leads. */
static bool is_flux(const struct look_channel *channel)
{
    return channel->dimension == DIMENSION_FLUX || channel->dimension == DIMENSION_FLUX_DENSITY;
}

static bool has_one_frequency(
    const struct look *look, const struct look_channel *a, const struct look_channel *b)
{
    if (!a->is_periodic || !b->is_periodic || !(look->length_s > 0)) {
        return false;
    }
    double u = hypot(a->u_frequency_Hz, b->u_frequency_Hz);
    double limit = fmax(6 * u, 0.02 / look->length_s); /* a fiftieth of a cycle in all */
    return fabs(a->frequency_Hz - b->frequency_Hz) <= limit;
}

static double get_lead(const struct look_channel *pickup, const struct look_channel *excitation)
{
    double lead = fmod(pickup->phase_deg - excitation->phase_deg, 360);
    return lead < 0 ? lead + 360 : lead;
}

/* How far a lead is from the multiples of 90 degree, where it tells nothing. */
static double get_margin(double lead_deg)
{
    double half = fmod(lead_deg, 180);
    return fmin(half, fmin(fabs(half - 90), 180 - half));
}

/* How well two channels would do: 0 not at all. Units count most, then one frequency, then a phase
 * that tells something, then little noise. */
static double get_score(const struct look *look, size_t first, size_t second)
{
    const struct look_channel *a = &look->channels[first];
    const struct look_channel *b = &look->channels[second];
    enum role roles[2] = {get_role(a), get_role(b)};
    bool is_possible = roles[0] != ROLE_NEITHER && roles[1] != ROLE_NEITHER &&
                       (roles[0] != roles[1] || roles[0] == ROLE_UNKNOWN);
    bool is_one = has_one_frequency(look, a, b);
    bool is_told = roles[0] == ROLE_EXCITATION || roles[1] == ROLE_EXCITATION;
    if (!is_possible || (!is_one && !(is_told && look->timing == CAPTURE_TIMING_NONE))) {
        return 0;
    }
    double score = 1 + (roles[0] != ROLE_UNKNOWN) + (roles[1] != ROLE_UNKNOWN);
    if (is_one) {
        double quieter = fmin(a->signal_to_noise_dB, b->signal_to_noise_dB);
        bool is_decided = get_margin(get_lead(b, a)) >= UNSURE_DEG;
        score += 0.2 + (is_decided ? 0.4 : 0) + 0.3 * fmin(fmax(quieter / 200, 0), 1);
    }
    return score;
}

static bool find_best(const struct look *look, size_t *first, size_t *second)
{
    double best = 0;
    for (size_t i = 0; i < look->channel_count; i++) {
        for (size_t j = i + 1; j < look->channel_count; j++) {
            double score = get_score(look, i, j);
            if (score > best) {
                best = score;
                *first = i;
                *second = j;
            }
        }
    }
    return best > 0;
}

static const char *get_unit_words(const struct look_channel *channel)
{
    return channel->dimension == DIMENSION_FLUX_DENSITY ? "flux density"
                                                        : dimension_get_name(channel->dimension);
}

/* Where units tell: true, with the channels in their order. */
static bool order_by_unit(struct look *look, size_t first, size_t second)
{
    struct look_pair *pair = &look->pair;
    enum role roles[2] = {get_role(&look->channels[first]), get_role(&look->channels[second])};
    bool is_straight = roles[0] == ROLE_EXCITATION || roles[1] == ROLE_PICKUP;
    if (!is_straight && roles[1] != ROLE_EXCITATION && roles[0] != ROLE_PICKUP) {
        return false;
    }
    pair->excitation = is_straight ? first : second;
    pair->pickup = is_straight ? second : first;
    const struct look_channel *excitation = &look->channels[pair->excitation];
    const struct look_channel *pickup = &look->channels[pair->pickup];
    if (excitation->has_unit && pickup->has_unit) {
        snprintf(pair->reason, sizeof pair->reason, "by their units: %s in %s %zu, %s in %zu",
            get_unit_words(excitation), look_get_channel_word(look), excitation->column,
            get_unit_words(pickup), pickup->column);
    } else {
        const struct look_channel *told = excitation->has_unit ? excitation : pickup;
        snprintf(pair->reason, sizeof pair->reason, "by its unit, %s %zu is the %s (%s)",
            look_get_channel_word(look), told->column, told == excitation ? "excitation" : "pickup",
            get_unit_words(told));
    }
    pair->is_found = true;
    return true;
}

static void order_by_phase(struct look *look, size_t first, size_t second)
{
    struct look_pair *pair = &look->pair;
    const struct look_channel *a = &look->channels[first];
    const struct look_channel *b = &look->channels[second];
    double lead = get_lead(b, a);
    double half = fmod(lead, 180);
    if (get_margin(lead) < UNSURE_DEG) {
        snprintf(pair->reason, sizeof pair->reason,
            "%ss %zu and %zu share one frequency, but are %.1f degree apart: too near to "
            "multiples of 90 to tell which is the pickup",
            look_get_channel_word(look), a->column, b->column, lead);
        return;
    }
    bool is_straight = half < 90;
    pair->is_found = true;
    pair->excitation = is_straight ? first : second;
    pair->pickup = is_straight ? second : first;
    snprintf(pair->reason, sizeof pair->reason,
        "%ss %zu and %zu share one frequency, and %zu leads %zu by %.1f degree%s: a pickup "
        "voltage leads its excitation by 0 to 90, namely 90 less the lag angle",
        look_get_channel_word(look), a->column, b->column, look->channels[pair->pickup].column,
        look->channels[pair->excitation].column, is_straight ? half : 180 - half,
        (is_straight ? lead : 360 - lead) >= 180 ? " and a reversal" : "");
}

static void set_lead(struct look *look)
{
    struct look_pair *pair = &look->pair;
    const struct look_channel *excitation = &look->channels[pair->excitation];
    const struct look_channel *pickup = &look->channels[pair->pickup];
    pair->has_lead = has_one_frequency(look, excitation, pickup);
    if (!pair->has_lead) {
        return;
    }
    pair->lead_deg = get_lead(pickup, excitation);
    double lead = fmod(pair->lead_deg + (is_flux(pickup) ? 90 : 0), 360);
    bool is_sure = get_margin(lead) >= UNSURE_DEG;
    pair->is_reversed = is_sure && lead > 180 && lead < 270;
    pair->is_contradicted = is_sure && fmod(lead, 180) > 90;
}

static void set_no_pair(struct look *look)
{
    struct look_pair *pair = &look->pair;
    size_t periodic = 0;
    for (size_t i = 0; i < look->channel_count; i++) {
        periodic += look->channels[i].is_periodic;
    }
    const char *words = look->channel_count < 2 ? "there is one channel alone: a loop needs two"
                        : look->timing == CAPTURE_TIMING_NONE
                            ? "without a time column only units tell, and they do not"
                        : periodic < 2 ? "fewer than two channels are periodic"
                                       : "no two channels that can belong together share one "
                                         "frequency";
    snprintf(pair->reason, sizeof pair->reason, "%s", words);
}

void look_find_pair(struct look *look)
{
    size_t first = 0;
    size_t second = 0;
    look->pair = (struct look_pair){0};
    if (!find_best(look, &first, &second)) {
        set_no_pair(look);
        return;
    }
    if (!order_by_unit(look, first, second)) {
        order_by_phase(look, first, second);
    }
    if (look->pair.is_found) {
        set_lead(look);
    }
}
