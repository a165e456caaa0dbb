// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/torque.h"

#include <math.h>

#include "num/quadrature.h"

static const double pi = 3.14159265358979323846;

/* What a term adds to W at a frequency. */
static double compute_energy(const struct torque_law *law, enum steel_term term, double frequency)
{
    switch (term) {
    case STEEL_LINEAR:
        return law->loss[STEEL_LINEAR] * frequency;
    case STEEL_EXCESS:
        return law->loss[STEEL_EXCESS] * sqrt(frequency);
    case STEEL_HYSTERESIS:
    case STEEL_TERMS:
        break;
    }
    return law->loss[STEEL_HYSTERESIS];
}

double torque_compute_term(const struct torque_law *law, enum steel_term term, double slip)
{
    return law->pole_pairs * law->volume / (2.0 * pi) *
           compute_energy(law, term, slip * law->supply);
}

double torque_compute(const struct torque_law *law, double slip)
{
    double sum = 0.0;
    for (int term = 0; term < STEEL_TERMS; term++) {
        sum += torque_compute_term(law, (enum steel_term)term, slip);
    }
    return sum;
}

double torque_compute_term_loss(const struct torque_law *law, enum steel_term term, double slip)
{
    const double frequency = slip * law->supply;
    return law->volume * frequency * compute_energy(law, term, frequency);
}

double torque_compute_loss(const struct torque_law *law, double slip)
{
    double sum = 0.0;
    for (int term = 0; term < STEEL_TERMS; term++) {
        sum += torque_compute_term_loss(law, (enum steel_term)term, slip);
    }
    return sum;
}

double torque_compute_synchronous_speed(const struct torque_law *law)
{
    return 2.0 * pi * law->supply / law->pole_pairs;
}

/* --- run-up: what is left of the torque is a + b x + c x², with x = sqrt(slip) -----------------
 */

struct surplus {
    double a, b, c; /* N m: hysteresis less load, excess, linear */
};

/* ds / torque as a function of x: the root of the slip has no part in it any more. */
static double get_time_density(double x, void *context)
{
    const struct surplus *surplus = context;
    return 2.0 * x / (surplus->a + x * (surplus->b + x * surplus->c));
}

/* The integral of ds / torque from standstill to synchronism. Without excess torque it has a closed
 * form. */
static double compute_time(struct surplus *surplus)
{
    if (surplus->b != 0.0) {
        return quadrature_compute(get_time_density, surplus, 0.0, 1.0);
    }
    const double ratio = surplus->c / surplus->a;
    return ratio != 0.0 ? log1p(ratio) / surplus->c : 1.0 / surplus->a;
}

/* Where the torque below synchronism equals the load, for a <= 0: the positive root, written so
 * that nothing cancels. */
static double compute_slip(const struct surplus *surplus)
{
    const double root = sqrt(surplus->b * surplus->b - 4.0 * surplus->a * surplus->c);
    const double x = surplus->a < 0.0 ? -2.0 * surplus->a / (surplus->b + root) : 0.0;
    return x < 1.0 ? x * x : 1.0;
}

void torque_compute_run_up(
    const struct torque_law *law, double load, double inertia, struct run_up *run_up)
{
    struct surplus surplus = {torque_compute_term(law, STEEL_HYSTERESIS, 1.0) - load,
        torque_compute_term(law, STEEL_EXCESS, 1.0), torque_compute_term(law, STEEL_LINEAR, 1.0)};
    *run_up = (struct run_up){.is_starting = surplus.a + surplus.b + surplus.c > 0.0,
        .is_synchronizing = surplus.a > 0.0,
        .time = NAN};
    if (!run_up->is_synchronizing) {
        run_up->slip = compute_slip(&surplus);
    } else if (inertia > 0.0) {
        run_up->time = inertia * torque_compute_synchronous_speed(law) * compute_time(&surplus);
    }
}

/* --- synchronism -------------------------------------------------------------------------------
 */

double torque_compute_at_angle(const struct torque_law *law, double lag, double angle)
{
    return torque_compute_term(law, STEEL_HYSTERESIS, 0.0) * sin(angle * pi / 180.0) /
           sin(lag * pi / 180.0);
}

double torque_compute_load_angle(const struct torque_law *law, double lag, double load)
{
    const double share = load / torque_compute_term(law, STEEL_HYSTERESIS, 0.0);
    return share <= 1.0 ? asin(share * sin(lag * pi / 180.0)) * 180.0 / pi : NAN;
}
