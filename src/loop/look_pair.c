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
    double lead = pickup->phase_deg - excitation->phase_deg;
    return lead < 0 ? lead + 360 : lead;
}

/* How far a lead is from the multiples of 90 degree, where it tells nothing. */
static double get_margin(double lead_deg)
{
    double rest = fmod(lead_deg, 90);
    return fmin(rest, 90 - rest);
}

/* 0: from 0 to 90 degree, 1: to 180, and so on. */
static int get_quadrant(double lead_deg)
{
    return (int)(lead_deg / 90);
}

/* Whether two channels can belong together at all. */
static bool is_possible(
    const struct look *look, const struct look_channel *a, const struct look_channel *b)
{
    enum role first = get_role(a), second = get_role(b);
    if (first == ROLE_NEITHER || second == ROLE_NEITHER ||
        (first == second && first != ROLE_UNKNOWN)) {
        return false;
    }
    bool is_told = first == ROLE_EXCITATION || second == ROLE_EXCITATION;
    return has_one_frequency(look, a, b) || (is_told && look->timing == CAPTURE_TIMING_NONE);
}

/* How well two channels would do: units count most, then a phase that tells something, then little
 * noise. Without times neither phase nor noise is known, and both are 0. */
struct merit {
    int units;
    bool is_decided;
    double signal_to_noise_dB; /* of the noisier one */
};

static struct merit get_merit(const struct look_channel *a, const struct look_channel *b)
{
    return (struct merit){.units = (get_role(a) != ROLE_UNKNOWN) + (get_role(b) != ROLE_UNKNOWN),
        .is_decided = get_margin(get_lead(b, a)) >= UNSURE_DEG,
        .signal_to_noise_dB = fmin(a->signal_to_noise_dB, b->signal_to_noise_dB)};
}

static bool is_better(const struct merit *a, const struct merit *b)
{
    if (a->units < b->units) {
        return false;
    }
    if (a->units > b->units) {
        return true;
    }
    if (a->is_decided != b->is_decided) {
        return a->is_decided;
    }
    return a->signal_to_noise_dB > b->signal_to_noise_dB;
}

/* Leaves the best two in the pair, in the order of the channels. */
static bool find_best(struct look *look)
{
    struct merit best = {.signal_to_noise_dB = -INFINITY};
    for (size_t i = 0; i < look->channel_count; i++) {
        for (size_t j = i + 1; j < look->channel_count; j++) {
            const struct look_channel *a = &look->channels[i];
            const struct look_channel *b = &look->channels[j];
            struct merit merit = get_merit(a, b);
            if (is_possible(look, a, b) && is_better(&merit, &best)) {
                best = merit;
                look->pair.excitation = i;
                look->pair.pickup = j;
            }
        }
    }
    return best.signal_to_noise_dB > -INFINITY;
}

/* Where units tell: true, with the channels in their order. */
static bool order_by_unit(struct look *look)
{
    struct look_pair *pair = &look->pair;
    size_t first = pair->excitation, second = pair->pickup;
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
            dimension_get_name(excitation->dimension), look_get_channel_word(look),
            excitation->column, dimension_get_name(pickup->dimension), pickup->column);
    } else {
        const struct look_channel *told = excitation->has_unit ? excitation : pickup;
        snprintf(pair->reason, sizeof pair->reason, "by its unit, %s %zu is the %s (%s)",
            look_get_channel_word(look), told->column, told == excitation ? "excitation" : "pickup",
            dimension_get_name(told->dimension));
    }
    pair->is_found = true;
    return true;
}

static void order_by_phase(struct look *look)
{
    struct look_pair *pair = &look->pair;
    size_t first = pair->excitation, second = pair->pickup;
    const struct look_channel *a = &look->channels[first];
    const struct look_channel *b = &look->channels[second];
    double lead = get_lead(b, a);
    if (get_margin(lead) < UNSURE_DEG) {
        snprintf(pair->reason, sizeof pair->reason,
            "%ss %zu and %zu share one frequency, but are %.1f degree apart: too near to "
            "multiples of 90 to tell which is the pickup",
            look_get_channel_word(look), a->column, b->column, lead);
        return;
    }
    int quadrant = get_quadrant(lead);
    bool is_straight = quadrant == 0 || quadrant == 2;
    double half = fmod(lead, 180);
    pair->is_found = true;
    pair->excitation = is_straight ? first : second;
    pair->pickup = is_straight ? second : first;
    snprintf(pair->reason, sizeof pair->reason,
        "%ss %zu and %zu share one frequency, and %zu leads %zu by %.1f degree%s: a pickup "
        "voltage leads its excitation by 0 to 90, namely 90 less the lag angle",
        look_get_channel_word(look), a->column, b->column, look->channels[pair->pickup].column,
        look->channels[pair->excitation].column, is_straight ? half : 180 - half,
        quadrant == 1 || quadrant == 2 ? " and a reversal" : "");
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
    double lead = pair->lead_deg + (is_flux(pickup) ? 90 : 0); /* 360 ... 450 are as 0 ... 90 */
    bool is_sure = get_margin(lead) >= UNSURE_DEG;
    int quadrant = get_quadrant(lead);
    pair->is_reversed = is_sure && quadrant == 2;
    pair->is_contradicted = is_sure && (quadrant == 1 || quadrant == 3);
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
    look->pair = (struct look_pair){0};
    if (!find_best(look)) {
        set_no_pair(look);
        return;
    }
    if (!order_by_unit(look)) {
        order_by_phase(look);
    }
    if (look->pair.is_found) {
        set_lead(look);
    }
}
