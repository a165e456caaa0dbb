// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/sweep.h"

#include <math.h>

#include "model/langevin.h"
#include "num/ode.h"
#include "num/portable.h"
#include "quantity/constant.h"

static const double turn = 6.283185307179586477;

static double get_field(const struct sweep *sweep, double phase)
{
    double sine, cosine;
    portable_sin_cos_turns(phase, &sine, &cosine);
    return sweep->peak * cosine;
}

static double get_field_slope(const struct sweep *sweep, double phase)
{
    double sine, cosine;
    portable_sin_cos_turns(phase, &sine, &cosine);
    return -turn * sweep->peak * sine;
}

/* Newton's method; alpha Ms / (3 a) < 1 keeps the derivative of the excess positive. */
struct sweep_state sweep_get_state(struct sweep *sweep, double field, double irreversible)
{
    enum { ITERATIONS = 60 };
    struct sweep_state state = {.magnetization = sweep->guess};
    double fixed = (1.0 - sweep->reversible) * irreversible;
    for (int i = 0; i < ITERATIONS; i++) {
        double effective = field + sweep->coupling * state.magnetization;
        double slope;
        state.anhysteretic = sweep->saturation * langevin_get(effective / sweep->shape, &slope);
        state.slope = slope * sweep->saturation / sweep->shape;
        double excess = state.magnetization - fixed - sweep->reversible * state.anhysteretic;
        double step = excess / (1.0 - sweep->reversible * sweep->coupling * state.slope);
        state.magnetization -= step;
        if (fabs(step) <= 4e-16 * fabs(state.magnetization))
            break;
    }
    sweep->guess = state.magnetization;
    return state;
}

/* dMi/dH where Mi does not rest. */
static double get_susceptibility(
    struct sweep *sweep, const struct sweep_state *state, double irreversible)
{
    double lag = state->anhysteretic - (sweep->is_1986 ? state->magnetization : irreversible);
    double resistance = -sweep->pinning - sweep->coupling * lag;
    if (resistance < 0.0)
        return lag / resistance;
    sweep->is_coarse = true;
    return 0.0;
}

double sweep_get_flux_slope(struct sweep *sweep, double phase, double irreversible)
{
    struct sweep_state state = sweep_get_state(sweep, get_field(sweep, phase), irreversible);
    double c = sweep->reversible;
    double total = c * state.slope;
    if (phase > sweep->release)
        total += (1.0 - c) * get_susceptibility(sweep, &state, irreversible);
    total /= 1.0 - c * sweep->coupling * state.slope; /* dM/dH */
    return MAGNETIC_CONSTANT * (1.0 + total) * get_field_slope(sweep, phase);
}

void sweep_begin(struct sweep *sweep, double irreversible)
{
    double field = sweep->shape * langevin_get_inverse(irreversible / sweep->saturation) -
                   sweep->coupling * irreversible;
    double low = 0.0;
    double high = 0.5;
    for (;;) { /* bisection down to neighbouring numbers */
        double middle = 0.5 * (low + high);
        if (!(middle > low && middle < high))
            break;
        if (get_field(sweep, middle) > field)
            low = middle;
        else
            high = middle;
    }
    sweep->release = low;
}

static double compute_slope(double phase, double irreversible, void *context)
{
    struct sweep *sweep = context;
    struct sweep_state state = sweep_get_state(sweep, get_field(sweep, phase), irreversible);
    return get_susceptibility(sweep, &state, irreversible) * get_field_slope(sweep, phase);
}

double sweep_advance(
    struct sweep *sweep, double begin, double end, double irreversible, size_t steps, double *error)
{
    const struct ode ode = {.slope = compute_slope, .context = sweep};
    for (size_t i = 0; i < steps; i++) {
        double from = begin + (end - begin) * ((double)i / (double)steps);
        double to = begin + (end - begin) * ((double)(i + 1) / (double)steps);
        double step_error;
        if (to <= sweep->release)
            continue;
        if (from < sweep->release)
            from = sweep->release;
        irreversible = ode_compute_step(&ode, from, irreversible, to - from, &step_error);
        if (error != NULL)
            *error += step_error;
    }
    return irreversible;
}

/* A half cycle from Mi = start to minus Mi = end. The loop is closed where they are equal. */
static double run_half(struct sweep *sweep, double start, size_t steps, double *error)
{
    *error = 0.0;
    sweep->is_coarse = false;
    sweep_begin(sweep, start);
    return -sweep_advance(sweep, 0.0, 0.5, start, steps, error);
}

/* The secant method on end - start, from the initial curve: small loops approach their closed form
 * over thousands of cycles, so that cycling alone would not do. */
static enum status close_loop(struct sweep *sweep, size_t steps, double *start, double *error)
{
    enum { ITERATIONS = 60 };
    double here = *start, before = 0.0, excess_before = 0.0;
    for (int i = 0; i < ITERATIONS; i++) {
        double end = run_half(sweep, here, steps, error);
        double excess = end - here;
        if (sweep->is_coarse)
            return STATUS_INPUT;
        double next = end;
        if (i > 0 && excess != excess_before)
            next = here - excess * (here - before) / (excess - excess_before);
        if (!(fabs(next) < sweep->saturation))
            next = end;
        before = here;
        excess_before = excess;
        here = next;
        if (fabs(next - before) <= 1e-14 * sweep->scale) {
            *start = next;
            return STATUS_OK;
        }
    }
    return STATUS_INPUT;
}

/* The initial curve is a quarter cycle, mirrored: from H = 0 down to the negative tip. */
static double run_initial_curve(struct sweep *sweep, size_t steps)
{
    sweep->guess = 0.0;
    sweep_begin(sweep, 0.0);
    return -sweep_advance(sweep, 0.25, 0.5, 0.0, steps, NULL);
}

enum status sweep_find_loop(
    struct sweep *sweep, double *irreversible, size_t *steps, struct error *err)
{
    enum { STEPS = 128, STEPS_LIMIT = 1 << 17 };
    double initial = sweep->saturation / (3.0 * sweep->shape - sweep->coupling * sweep->saturation);
    sweep->scale = fmin(sweep->saturation, initial * sweep->peak);
    for (size_t count = *steps ? *steps : STEPS; count <= STEPS_LIMIT; count *= 2) {
        double error;
        double start = *steps ? *irreversible : run_initial_curve(sweep, count);
        if (close_loop(sweep, count, &start, &error))
            continue;
        double tolerance = count < STEPS_LIMIT ? 1e-12 : 1e-9;
        if (error <= tolerance * sweep->scale) {
            *irreversible = start;
            *steps = count;
            return STATUS_OK;
        }
    }
    return fail(err, STATUS_INPUT, "raise 'pinning' or 'shape', or lower the peak",
        "the Jiles-Atherton loop is not found: 'pinning' (%g A/m) is too small for a peak of %g "
        "A/m",
        sweep->pinning, sweep->peak);
}
