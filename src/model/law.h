// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_LAW_H
#define LODECARD_MODEL_LAW_H

#include <stdbool.h>

/* Jiles and Atherton's law in its three published forms, all in one shape:
 *
 *     M = (1-c) Mi + c Man(He),  He = H + alpha M,  Man = Ms L(He / a)
 *     dMi/dH = lag / resistance where that is positive, else 0; d = sign of dH
 *
 *     LAW_1986   lag = Man - M    resistance = k d - alpha lag     (its published c is c/(1-c)
 * here) LAW_1992   lag = Man - Mi   resistance = k d - alpha lag LAW_FIELD  lag = Man - Mi
 * resistance = k d (1 - alpha c Man') - alpha (1-c) lag
 *
 * The last is dM/dHe = (Man - M) / (k d) + c dMan/dHe: with M - c Man = (1-c) Mi and Man - M =
 * (1-c) (Man - Mi) it says dMi/dHe = (Man - Mi) / (k d), and dHe = (dH + alpha (1-c) dMi) / (1 -
 * alpha c Man'). The functions treat the falling field (d = -1); the rising one is its mirror. */
enum law_form { LAW_1986, LAW_1992, LAW_FIELD };

struct law {
    double saturation, shape, pinning, coupling; /* Ms, a, k in A/m; alpha */
    double reversible;                           /* c of the shape above */
    enum law_form form;
    double guess;   /* the magnetization found last */
    bool is_coarse; /* a falling field met a resistance that is not negative: steps far too long */
};

/* From the parameters in the order of the models' table (jiles_atherton.c). */
void law_init(struct law *law, const double *parameters, enum law_form form);

/* M, Man (A/m) and dMan/dHe at a field and an irreversible magnetization. */
struct law_state {
    double magnetization;
    double anhysteretic;
    double slope;
};
struct law_state law_get_state(struct law *law, double field, double irreversible);

/* dMi/dH in a falling field, where Mi does not rest. */
double law_get_susceptibility(struct law *law, const struct law_state *state, double irreversible);

/* dM/dH, from dMi/dH. */
double law_get_total(const struct law *law, const struct law_state *state, double susceptibility);

/* After a reversal Mi rests until Man = M = Mi, that is until this field: known in advance, so that
 * no step of an integration runs across the kink. */
double law_get_release(const struct law *law, double irreversible);

#endif
