// SPDX-License-Identifier: GPL-3.0-or-later
/* Tellinen's rule (J. Tellinen, IEEE Trans. Magn. 34 (1998) 2200), which needs nothing but the two
 * branches of the major loop, here of its polarization, F(H) falling and R(H) = -F(-H) rising:
 *
 *     dJ/dH = (F - J) / (F - R) dR/dH   H rising
 *     dJ/dH = (J - R) / (F - R) dF/dH   H falling;  B = mu0 H + J
 *
 * With v = (J - R) / (F - R), the share of the gap below J, this is dv/dH = -v F' / (F - R) rising
 * and d(1-v)/dH = (1-v) R' / (F - R) falling: both are solved by an exponential. The branches are
 * polygons over the same nodes, so that the exponent is F' / (F' - R') ln of the gap's ratio over
 * each side, and nothing is integrated numerically. Beyond the tips J stays as it is. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"
#include "model/fit.h"
#include "model/history.h"
#include "model/model.h"
#include "num/isotonic.h"
#include "num/monotone.h"
#include "quantity/constant.h"

enum { FIELD, FALLING };

static const struct model_curve curves[] = {
    [FIELD] = {"field", DIMENSION_FIELD_STRENGTH,
        "nodes of the falling branch, rising and symmetric about 0"},
    [FALLING] = {"falling_polarization", DIMENSION_FLUX_DENSITY,
        "polarization of the falling branch at the nodes, never falling with the field"},
};

struct machine {
    const double *nodes;   /* A/m, rising */
    const double *falling; /* T */
    size_t count;
    double field;
    double share; /* v */
    size_t side;  /* the polygon's side at which the search begins: nodes side ... side + 1 */
};

static double get_rising(const struct machine *m, size_t node)
{
    return -m->falling[m->count - 1 - node];
}

static enum status create(const struct material *material, void **machine, struct error *err)
{
    struct machine *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->nodes = material->curves[FIELD];
    made->falling = material->curves[FALLING];
    made->count = material->counts[FIELD];
    *machine = made;
    return STATUS_OK;
}

static void destroy(void *machine)
{
    memory_destroy(machine);
}

static void reset(void *machine)
{
    struct machine *m = machine;
    m->field = 0.0;
    m->share = 0.5; /* J = 0 is the middle of the gap at H = 0 */
    m->side = (m->count - 1) / 2;
}

static size_t find_side(const struct machine *m, double field)
{
    size_t side = m->side;
    while (side > 0 && field < m->nodes[side])
        side--;
    while (side + 2 < m->count && field > m->nodes[side + 1])
        side++;
    return side;
}

/* A polygon's side. */
struct side {
    double low, width;                                 /* A/m */
    double falling, falling_rise, rising, rising_rise; /* T, at the lower node and to the upper */
};

static struct side get_side(const struct machine *m, size_t node)
{
    double falling = m->falling[node], rising = get_rising(m, node);
    return (struct side){m->nodes[node], m->nodes[node + 1] - m->nodes[node], falling,
        m->falling[node + 1] - falling, rising, get_rising(m, node + 1) - rising};
}

static double get_gap(const struct side *side, double field)
{
    double part = (field - side->low) / side->width;
    return side->falling - side->rising + part * (side->falling_rise - side->rising_rise);
}

/* exp(-|integral of slope / gap dH|) over a part of one side. */
static double get_decay(const struct side *side, double from, double to, double rise)
{
    double first = get_gap(side, from), last = get_gap(side, to);
    double growth = side->falling_rise - side->rising_rise; /* over the whole side */
    if (first <= 0.0 || last <= 0.0) /* a tip: from there on along the branch itself */
        return 0.0;
    if (rise <= 0.0)
        return 1.0;
    double part = fabs(to - from) / side->width;
    double change = fabs(last - first) / fmin(first, last);
    if (change < 1e-6)
        return exp(-rise * part / (0.5 * (first + last)));
    return exp(-fabs(rise / growth * log(last / first)));
}

/* v after H has gone to `field`. */
static double find_share(const struct machine *m, double field, size_t *side)
{
    bool is_rising = field > m->field;
    double most = m->nodes[m->count - 1];
    double from = fmax(fmin(m->field, most), -most);
    double to = fmax(fmin(field, most), -most);
    double share = m->share;
    *side = find_side(m, from);
    while (from != to) {
        struct side here = get_side(m, *side);
        double end = is_rising ? fmin(to, here.low + here.width) : fmax(to, here.low);
        if (*side + 2 == m->count && is_rising)
            end = to; /* the last node, whatever its rounding */
        if (is_rising)
            share *= get_decay(&here, from, end, here.falling_rise);
        else
            share = 1.0 - (1.0 - share) * get_decay(&here, from, end, here.rising_rise);
        from = end;
        if (from != to)
            *side = is_rising ? *side + 1 : *side - 1;
    }
    return share;
}

static double get_flux(const struct machine *m, double field, size_t node, double share)
{
    double most = m->nodes[m->count - 1];
    double inside = fmax(fmin(field, most), -most);
    struct side side = get_side(m, node);
    double part = (inside - side.low) / side.width;
    return side.rising + part * side.rising_rise + share * get_gap(&side, inside) +
           MAGNETIC_CONSTANT * field;
}

static enum status look(void *machine, double field, double *flux_density, struct error *err)
{
    (void)err;
    const struct machine *m = machine;
    size_t side;
    double share = find_share(m, field, &side);
    *flux_density = get_flux(m, field, side, share);
    return STATUS_OK;
}

static enum status move(void *machine, double field, double *flux_density, struct error *err)
{
    (void)err;
    struct machine *m = machine;
    size_t side;
    m->share = find_share(m, field, &side);
    m->side = side;
    m->field = field;
    *flux_density = get_flux(m, field, side, m->share);
    return STATUS_OK;
}

static enum status check_curves(const struct material *material, struct error *err)
{
    size_t count = material->counts[FIELD];
    const double *field = material->curves[FIELD], *falling = material->curves[FALLING];
    const char *hint = "'lodecard series --model tellinen' makes them from a major loop";
    if (count != material->counts[FALLING] || count < 3)
        return fail(err, STATUS_INPUT, hint,
            "model 'tellinen' needs two curves of one length, from 3 up, and they have %zu and %zu",
            count, material->counts[FALLING]);
    for (size_t i = 0; i < count; i++) {
        size_t mirror = count - 1 - i;
        if (field[i] != -field[mirror] || (i > 0 && !(field[i] > field[i - 1])))
            return fail(err, STATUS_INPUT, hint,
                "the nodes of model 'tellinen' are not rising and symmetric: number %zu is %g A/m",
                i + 1, field[i]);
        if ((i > 0 && !(falling[i] >= falling[i - 1])) || !(falling[i] + falling[mirror] >= 0.0))
            return fail(err, STATUS_INPUT, hint,
                "the falling branch of model 'tellinen' falls with the field, or runs below the "
                "rising one, at %g A/m",
                field[i]);
    }
    if (falling[0] != -falling[count - 1] || !(falling[count - 1] > 0.0))
        return fail(err, STATUS_INPUT, hint, "the loop of model 'tellinen' is not closed");
    return STATUS_OK;
}

static const struct history_rule history = {
    .create = create, .destroy = destroy, .reset = reset, .look = look, .move = move};

static int compare_numbers(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The distances of the loop's points from 0, and 0, each once: the nodes are these and their
 * mirrors. Gives how many; the last is the peak. */
static size_t collect_distances(const struct branch *loop, double *distances)
{
    distances[0] = 0.0;
    for (size_t i = 0; i < loop->count; i++)
        distances[i + 1] = fabs(loop->field[i]);
    qsort(distances, loop->count + 1, sizeof *distances, compare_numbers);
    size_t count = 1;
    for (size_t i = 1; i <= loop->count; i++)
        if (distances[i] > distances[count - 1] + 1e-6 * loop->peak)
            distances[count++] = distances[i];
    distances[count - 1] = loop->peak;
    return count;
}

/* Makes `falling` a branch that never falls and never runs below its mirror; gives by how much it
 * was changed at most. */
static enum status repair(double *falling, size_t count, double *change, struct error *err)
{
    double fit[2 * BRANCH_POINTS + 5];
    enum status status = isotonic_compute(falling, count, fit, err);
    if (status)
        return status;
    for (size_t i = 0; i <= count / 2; i++) {
        size_t mirror = count - 1 - i;
        double below = 0.5 * fmax(-(fit[i] + fit[mirror]), 0.0);
        fit[i] += below;
        if (mirror != i)
            fit[mirror] += below;
    }
    fit[0] = -fit[count - 1];
    *change = 0.0;
    for (size_t i = 0; i < count; i++) {
        *change = fmax(*change, fabs(fit[i] - falling[i]));
        falling[i] = i > 0 ? fmax(fit[i], falling[i - 1]) : fit[i];
    }
    return STATUS_OK;
}

/* The largest loop's falling branch at nodes that are symmetric. */
static enum status build(const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    const struct branch *loop = &data->branches[data->count - 1];
    double distances[BRANCH_POINTS + 3], rising_field[BRANCH_POINTS + 2], rising[BRANCH_POINTS + 2];
    for (size_t i = 0; i < loop->count; i++) {
        rising_field[i] = loop->field[loop->count - 1 - i];
        rising[i] = loop->polarization[loop->count - 1 - i];
    }
    size_t half = collect_distances(loop, distances), count = 2 * half - 1;
    struct material *material = &fit->material;
    struct monotone *curve;
    enum status status = monotone_create(rising_field, rising, loop->count, &curve, err);
    if (status)
        return status;
    for (int i = 0; i < 2; i++) {
        material->curves[i] = memory_create(count, sizeof **material->curves);
        material->counts[i] = count;
        status = material->curves[i] ? status : fail_memory(err);
    }
    for (size_t i = 0; !status && i < count; i++) {
        double field = i < half ? -distances[half - 1 - i] : distances[i - half + 1];
        material->curves[FIELD][i] = i == half - 1 ? 0.0 : field;
        material->curves[FALLING][i] = monotone_get(curve, field, NULL);
    }
    monotone_destroy(curve);
    double change;
    if (!status)
        status = repair(material->curves[FALLING], count, &change, err);
    if (!status)
        fit->repair_relative = change / data->polarization_peak;
    return status;
}

static const struct fit_rule fit = {.build = build};

const struct model model_tellinen = {
    .name = "tellinen",
    .purpose = "Tellinen's rule, from the branches of the major loop",
    .form =
        "dJ/dH = (F - J) / (F - R) dR/dH rising, (J - R) / (F - R) dF/dH falling, R(H) = -F(-H), "
        "B = mu0 H + J",
    .curves = curves,
    .curve_count = sizeof curves / sizeof curves[0],
    .check_curves = check_curves,
    .history = &history,
    .fit = &fit,
};
