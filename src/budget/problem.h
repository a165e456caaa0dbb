// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_PROBLEM_H
#define LODECARD_BUDGET_PROBLEM_H

#include <stddef.h>

/* What an uncertainty is worked out for: a measurement model, what is known of its inputs, and
 * what the outputs scatter by themselves. Linear propagation (propagate.h) and Monte Carlo
 * (trials.h) take the same problem. */

enum budget_distribution {
    BUDGET_NORMAL,
    BUDGET_RECTANGULAR, /* half-width u sqrt 3 */
    BUDGET_TRIANGULAR,  /* half-width u sqrt 6 */
    BUDGET_ARCSINE,     /* half-width u sqrt 2: what swings like a sine */
    BUDGET_T,           /* u times Student's t with `freedom`: from few repeats (JCGM 101, 6.4.9) */
    BUDGET_BLURRED,     /* rectangular of half-width a, whose limits are known to +-blur: the
                           curvilinear trapezoid of JCGM 101, 6.4.3; u^2 = a^2 / 3 + blur^2 / 9 */
};

struct budget_input {
    const char *name; /* for people */
    double value;
    double u;       /* standard uncertainty, k = 1 */
    double freedom; /* degrees of freedom of u; INFINITY: u is known */
    double blur;
    enum budget_distribution distribution;
};

struct budget_inputs {
    const struct budget_input *list;
    size_t count;
    const double *correlation; /* count * count coefficients, symmetric, 1 on the diagonal; NULL:
                                  none. Other than normal and t inputs are correlated through the
                                  ranks of normal ones. */
};

/* Outputs as a function of the inputs. Called by several threads at once, each with work space of
 * its own; an output that does not exist for these inputs becomes NaN. */
struct budget_model {
    size_t outputs;
    const void *subject;
    void *(*create_work)(const void *subject); /* NULL: none is needed; gives NULL: no memory */
    void (*destroy_work)(void *work);
    void (*compute)(const void *subject, void *work, const double *inputs, double *outputs);
};

struct budget_problem {
    struct budget_model model;
    struct budget_inputs inputs;
    struct budget_inputs scatter; /* added to the outputs, one each in their order; count 0: none */
};

#endif
