// SPDX-License-Identifier: GPL-3.0-or-later
/* Sources: G. Bertotti, Hysteresis in Magnetism (Academic Press 1998), chapter 12, for the sheet
 * and its share with skin effect. A rectangle: the stream function of the eddy currents obeys
 * Poisson's equation with a constant right side, zero at the rim, which is Saint-Venant's torsion
 * problem (S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, section 109): the loss is in
 * proportion to the torsion constant, w d³ (1/3 - 64 d/(pi^5 w) sum over odd n of tanh(n pi w/2d) /
 * n^5). */
#include "series/classical.h"

#include <math.h>

#include "quantity/constant.h"

static const double PI = 3.14159265358979323846;

/* x at which the share is 0.99: the root of the formula in the header. */
static const double SKIN_LIMIT = 1.5906546389344498;

double classical_get_shape(double thickness_m, double breadth_m)
{
    const double ratio = breadth_m / thickness_m;
    double sum = 0;
    if (!isfinite(ratio))
        return 1;
    for (int n = 1; n < 100; n += 2)
        sum += tanh(n * PI * ratio / 2) / pow(n, 5);
    return 1 - 192 / (pow(PI, 5) * ratio) * sum;
}

double classical_compute(double resistivity_ohm_m, double thickness_m, double breadth_m,
    double peak_T, double form_factor)
{
    const double slope = thickness_m * form_factor * peak_T;
    return classical_get_shape(thickness_m, breadth_m) * (4.0 / 3) * slope * slope /
           resistivity_ohm_m;
}

double classical_get_skin_share(double x)
{
    if (x < 0.1) /* the formula cancels; its series */
        return 1 - x * x * x * x / 630;
    return 3 / x * (sinh(x) - sin(x)) / (cosh(x) - cos(x));
}

double classical_get_skin_frequency(
    double resistivity_ohm_m, double thickness_m, double permeability)
{
    const double ratio = SKIN_LIMIT / thickness_m; /* 1 / depth; depth² = rho / (pi f mu) */
    return ratio * ratio * resistivity_ohm_m / (PI * MAGNETIC_CONSTANT * permeability);
}
