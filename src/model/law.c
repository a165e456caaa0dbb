// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/law.h"

#include <math.h>

#include "model/langevin.h"

enum { SATURATION, SHAPE, PINNING, REVERSIBILITY, COUPLING };

void law_init(struct law *law, const double *p, enum law_form form)
{
    double c = p[REVERSIBILITY];
    *law = (struct law){
        .saturation = p[SATURATION],
        .shape = p[SHAPE],
        .pinning = p[PINNING],
        .coupling = p[COUPLING],
        .reversible = form == LAW_1986 ? c / (1.0 + c) : c,
        .form = form,
    };
}

/* Newton's method; alpha Ms / (3 a) < 1 keeps the derivative of the excess positive. */
struct law_state law_get_state(struct law *law, double field, double irreversible)
{
    enum { ITERATIONS = 60 };
    struct law_state state = {.magnetization = law->guess};
    double fixed = (1.0 - law->reversible) * irreversible;
    for (int i = 0; i < ITERATIONS; i++) {
        double effective = field + law->coupling * state.magnetization;
        double slope;
        state.anhysteretic = law->saturation * langevin_get(effective / law->shape, &slope);
        state.slope = slope * law->saturation / law->shape;
        double excess = state.magnetization - fixed - law->reversible * state.anhysteretic;
        double step = excess / (1.0 - law->reversible * law->coupling * state.slope);
        state.magnetization -= step;
        if (fabs(step) <= 4e-16 * fabs(state.magnetization))
            break;
    }
    law->guess = state.magnetization;
    return state;
}

double law_get_susceptibility(struct law *law, const struct law_state *state, double irreversible)
{
    double lag =
        state->anhysteretic - (law->form == LAW_1986 ? state->magnetization : irreversible);
    double c = law->reversible;
    double resistance = law->form == LAW_FIELD
                            ? -law->pinning * (1.0 - c * law->coupling * state->slope) -
                                  law->coupling * (1.0 - c) * lag
                            : -law->pinning - law->coupling * lag;
    if (resistance < 0.0)
        return lag / resistance;
    law->is_coarse = true;
    return 0.0;
}

double law_get_total(const struct law *law, const struct law_state *state, double susceptibility)
{
    double c = law->reversible;
    double total = c * state->slope;
    total += (1.0 - c) * susceptibility;
    return total / (1.0 - c * law->coupling * state->slope);
}

double law_get_release(const struct law *law, double irreversible)
{
    return law->shape * langevin_get_inverse(irreversible / law->saturation) -
           law->coupling * irreversible;
}
