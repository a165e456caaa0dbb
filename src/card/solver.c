// SPDX-License-Identifier: GPL-3.0-or-later
/* Single-valued curves for finite elements. What is interpolated is J = B - mu0 H, by Steffen's
 * monotone cubics (num/monotone.h): with mu0 H added to a J that never falls, dB/dH is mu0 at least
 * at every point of the curve, which solvers with Newton's method rely on; the sum is the cubic
 * of the same points in B with slopes larger by mu0.
 * A major loop that reaches beyond the normal curve gives one point more.
 *
 * Beyond what was measured J follows Weiss's law of approach, J = Js - a/H, or J = Js - a/(H + b)
 * where Js is known (P. Weiss, J. Phys. Theor. Appl. 9 (1910) 373), through the last point and the
 * last one below 0.9 of its field. */
#include "card/solver.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "card/branch.h"
#include "num/isotonic.h"
#include "num/monotone.h"
#include "num/smooth.h"
#include "quantity/constant.h"

#define TIPS_LEAST 4
#define TIP_BEYOND 1.02 /* the major loop's tip counts from this part of the largest field on */
#define LAW_FIELD                                                                                  \
    0.9 /* the law goes through the last point below this part of the largest field                \
         */
#define TAIL_RATIO 1.189207115002721 /* 2^(1/4): each point of the tail over the one before */
#define TAIL_LEAST 4
#define TAIL_MOST 64    /* 2^16 times the largest field */
#define TAIL_SLOPE 0.01 /* it ends where dB/dH is within this part of mu0 */

/* Points from the origin, the origin included. */
struct points {
    size_t count, measured;
    double *field, *polarization;
};

struct law { /* J = saturation - scale / (H + shift) */
    double saturation, scale, shift;
    bool is_given; /* the saturation is the card's */
};

static double law_get(const struct law *law, double field)
{
    return law->saturation - law->scale / (field + law->shift);
}

static struct law find_law(const struct points *points, double saturation)
{
    const size_t last = points->count - 1;
    size_t before = last - 1;
    while (before > 1 && points->field[before] > LAW_FIELD * points->field[last]) {
        before--;
    }
    const double h1 = points->field[before], h2 = points->field[last];
    const double j1 = points->polarization[before], j2 = points->polarization[last];
    if (h1 <= 0 || j2 <= j1) {
        return (struct law){.saturation = j2};
    }
    const double shift = ((saturation - j2) * h2 - (saturation - j1) * h1) / (j2 - j1);
    if (saturation > j2 && shift > -LAW_FIELD * h1) { /* false for NaN as well */
        return (struct law){.saturation = saturation,
            .scale = (saturation - j2) * (h2 + shift),
            .shift = shift,
            .is_given = true};
    }
    const double scale = (j2 - j1) / (1.0 / h1 - 1.0 / h2);
    return (struct law){.saturation = j2 + scale / h2, .scale = scale};
}

static void extend(struct points *points, const struct law *law)
{
    for (size_t i = 0; i < TAIL_MOST; i++) {
        const double reached = points->field[points->count - 1];
        const double steep = law->scale / ((reached + law->shift) * (reached + law->shift));
        if (i >= TAIL_LEAST && steep <= TAIL_SLOPE * MAGNETIC_CONSTANT) {
            return;
        }
        points->field[points->count] = reached * TAIL_RATIO;
        points->polarization[points->count] =
            fmax(law_get(law, reached * TAIL_RATIO), points->polarization[points->count - 1]);
        points->count++;
    }
}

/* --- what was measured -------------------------------------------------------------------------
 */

/* Smooths J over ln H within the uncertainty of B; where that is not told the tips stay. */
static enum status smooth_tips(struct card *card, double *polarization, struct error *err)
{
    const struct card_normal_curve *curve = &card->normal_curve;
    double *place = card_create_numbers(card, curve->count);
    for (size_t i = 0; i < curve->count && place != NULL; i++) {
        place[i] = log(curve->field_peak[i]);
        if (curve->u_flux_density_peak == NULL || !(curve->u_flux_density_peak[i] > 0)) {
            card_add_note(card, &card->notes, "unsmoothed", NOTE_WARNING,
                "state the uncertainties of rig and specimen, or do not smooth",
                "the curve for solvers is not smoothed: the uncertainty of its tips is not known");
            return STATUS_OK;
        }
    }
    return place == NULL ? fail_memory(err)
                         : smooth_compute(place, polarization, curve->u_flux_density_peak,
                               curve->count, polarization, err);
}

/* The origin stays, also where noise made J fall behind it. */
static void start_at_zero(double *polarization, size_t count)
{
    const double offset = polarization[0];
    for (size_t i = 0; i < count; i++) {
        polarization[i] -= offset;
    }
}

/* The tip of a major loop of another frequency that reaches beyond the normal curve, behind its
 * points: what was measured says more than any law of approach. Mean of both ends, as the tips of
 * the normal curve are. */
static bool add_major_tip(const struct card *card, struct points *points)
{
    const struct card_graph *rising = &card->major_loop.rising;
    if (rising->count == 0) {
        return false;
    }
    const size_t end = rising->count - 1, last = points->count - 1;
    const double field = 0.5 * (rising->field[end] - rising->field[0]);
    const double polarization =
        0.5 * (rising->flux_density[end] - rising->flux_density[0]) - MAGNETIC_CONSTANT * field;
    if (!(field > TIP_BEYOND * points->field[last]) || polarization < points->polarization[last]) {
        return false;
    }
    points->field[last + 1] = field;
    points->polarization[last + 1] = polarization;
    points->count++;
    return true;
}

static enum status set_tips(
    struct card *card, bool is_smoothed, struct points *points, struct error *err)
{
    const struct card_normal_curve *curve = &card->normal_curve;
    double *polarization = points->polarization + 1; /* behind the origin */
    for (size_t i = 0; i < curve->count; i++) {
        points->field[i + 1] = curve->field_peak[i];
        polarization[i] = curve->flux_density_peak[i] - MAGNETIC_CONSTANT * curve->field_peak[i];
    }
    points->count = curve->count + 1;
    enum status status = is_smoothed ? smooth_tips(card, polarization, err) : STATUS_OK;
    if (status == STATUS_OK) {
        status = isotonic_compute(points->polarization, points->count, points->polarization, err);
    }
    start_at_zero(points->polarization, points->count);
    for (size_t i = 0; i < curve->count && status == STATUS_OK; i++) {
        const double was = curve->flux_density_peak[i] - MAGNETIC_CONSTANT * curve->field_peak[i];
        card->solver.smoothing_T = fmax(card->solver.smoothing_T, fabs(polarization[i] - was));
    }
    return status;
}

/* Field of the centre line at B: mean of both branches, of B and -B turned. */
static double get_centre(const struct card_loop *loop, double flux_density)
{
    return 0.25 * (card_graph_find(&loop->rising, flux_density) +
                      card_graph_find(&loop->falling, flux_density) -
                      card_graph_find(&loop->rising, -flux_density) -
                      card_graph_find(&loop->falling, -flux_density));
}

/* Not thinned: a cubic through few points would leave the lines between them. */
static enum status set_centre(const struct card *card, struct points *points, struct error *err)
{
    const struct card_loop *loop = &card->major_loop;
    const size_t steps = loop->rising.count + loop->falling.count;
    const double top =
        fmin(-loop->rising.flux_density[0], loop->rising.flux_density[loop->rising.count - 1]);
    for (size_t i = 1; i <= steps; i++) {
        const double flux_density = top * (double)i / (double)steps;
        points->field[i] = get_centre(loop, flux_density);
        points->polarization[i] = flux_density - MAGNETIC_CONSTANT * points->field[i];
    }
    points->count = steps + 1;
    enum status status =
        isotonic_compute(points->polarization, points->count, points->polarization, err);
    start_at_zero(points->polarization, points->count);
    return status;
}

/* --- curve and branches ------------------------------------------------------------------------
 */

/* B and dB/dH at points of J(H), as memory of the card. */
static enum status set_graph(struct card *card, const double *field, const double *polarization,
    size_t count, struct card_graph *graph, struct error *err)
{
    struct monotone *curve = NULL;
    struct card_graph made = {.field = card_create_numbers(card, count),
        .flux_density = card_create_numbers(card, count),
        .slope = card_create_numbers(card, count)};
    if (card->failed) {
        return fail_memory(err);
    }
    enum status status = monotone_create(field, polarization, count, &curve, err);
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        made.field[i] = field[i];
        made.flux_density[i] = polarization[i] + MAGNETIC_CONSTANT * field[i];
        monotone_get(curve, field[i], &made.slope[i]);
        made.slope[i] += MAGNETIC_CONSTANT;
    }
    monotone_destroy(curve);
    made.count = count;
    if (status == STATUS_OK) {
        *graph = made;
    }
    return status;
}

static enum status set_branch(
    struct card *card, const struct card_graph *branch, struct card_graph *graph, struct error *err)
{
    double *polarization = memory_create(branch->count, sizeof *polarization);
    if (polarization == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < branch->count; i++) {
        polarization[i] = branch->flux_density[i] - MAGNETIC_CONSTANT * branch->field[i];
    }
    enum status status =
        isotonic_compute(polarization, branch->count, polarization, err); /* rounding of J */
    if (status == STATUS_OK) {
        status = set_graph(card, branch->field, polarization, branch->count, graph, err);
    }
    memory_destroy(polarization);
    return status;
}

static void set_words(struct card *card, bool is_normal, bool has_major, bool is_given)
{
    struct text words = {0};
    text_add(&words, is_normal ? "through the origin and the tips of the loops"
                               : "mean field of the two branches of the major loop at equal B");
    if (has_major) {
        text_add(&words, ", the last of them the major loop's, of another frequency");
    }
    text_add_format(&words,
        "; beyond, J = Js - a/%s through the last point and the last one below "
        "0.9 of its field%s, until dB/dH is within 1 %% of mu0",
        is_given ? "(H + b)" : "H", is_given ? ", Js the saturation of this card" : "");
    card->failed = card->failed || words.failed;
    card->solver.method = card_copy_text(card, words.bytes);
    card->solver.kind = is_normal ? "normal" : "centre";
    text_clear(&words);
}

static enum status make_curve(
    struct card *card, bool is_normal, bool is_smoothed, struct points *points, struct error *err)
{
    enum status status =
        is_normal ? set_tips(card, is_smoothed, points, err) : set_centre(card, points, err);
    if (status != STATUS_OK) {
        return status;
    }
    const bool has_major = is_normal && add_major_tip(card, points);
    points->measured = points->count;
    const struct law law = find_law(points, card->saturation.polarization_T);
    extend(points, &law);
    status = set_graph(
        card, points->field, points->polarization, points->count, &card->solver.curve, err);
    if (status == STATUS_OK) {
        status = card_reluctivity_make(card, err);
    }
    card->solver.measured_points = points->measured;
    set_words(card, is_normal, has_major, law.is_given);
    return status;
}

enum status card_solver_make(struct card *card, bool is_smoothed, struct error *err)
{
    const struct card_loop *loop = &card->major_loop;
    const bool is_normal = card->normal_curve.count >= TIPS_LEAST;
    if (!is_normal && loop->rising.count == 0) {
        return STATUS_OK;
    }
    const size_t room =
        1 + TAIL_MOST + card->normal_curve.count + loop->rising.count + loop->falling.count;
    struct points points = {.field = memory_create(room, sizeof(double)),
        .polarization = memory_create(room, sizeof(double))};
    enum status status = points.field == NULL || points.polarization == NULL
                             ? fail_memory(err)
                             : make_curve(card, is_normal, is_smoothed, &points, err);
    memory_destroy(points.field);
    memory_destroy(points.polarization);
    if (status == STATUS_OK && loop->rising.count > 0) {
        status = set_branch(card, &loop->rising, &card->solver.rising, err);
    }
    if (status == STATUS_OK && loop->rising.count > 0) {
        status = set_branch(card, &loop->falling, &card->solver.falling, err);
    }
    return status;
}
