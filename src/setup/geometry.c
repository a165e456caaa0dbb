// SPDX-License-Identifier: GPL-3.0-or-later
/* The path length and the cross-section of a ring with outer diameter D, inner diameter d, height h
 * (times the stacking factor).
 *
 *   mean          l = pi (D + d) / 2            A = (D - d) h / 2       IEC 60404-4, IEC 60404-6
 *   logarithmic   l = pi (D - d) / ln(D/d)      A = (D - d) h / 2       makes N I / l the mean over
 *                                               the section of the field N I / (pi x), x from d to
 * D effective     l = C1^2 / C2, A = C1 / C2                            IEC 60205 C1 = 2 pi / (h
 * ln(D/d)), C2 = 4 pi (1/d - 1/D) / (h^2 ln^3(D/d))
 *
 * ln(D/d) is taken as log1p((D - d)/d): D - d is exact for a thin ring, so that nothing cancels as
 * d comes near D, and lengths are good to a few units of the last digit at any D/d. */
#include <math.h>

#include "setup/setup.h"

#define PI 3.14159265358979323846

static double square(double x)
{
    return x * x;
}

static double get_stacking(const struct specimen *specimen)
{
    return specimen->stacking_factor.is_present ? specimen->stacking_factor.value : 1;
}

/* A length at the specimen's temperature over that at which it was measured. */
static double get_expansion(const struct specimen *specimen)
{
    double warmer = specimen->temperature.value - specimen->expansion_reference.value;
    return specimen->expansion.is_present && specimen->temperature.is_present
               ? 1 + specimen->expansion.value * warmer
               : 1;
}

static double get_mean_length(double outer, double inner)
{
    return PI * (outer + inner) / 2;
}

/* ln(D/d) */
static double get_log_ratio(double outer, double inner)
{
    return log1p((outer - inner) / inner);
}

static void compute_effective(
    double outer, double inner, double height, double *length, double *area)
{
    double log_ratio = get_log_ratio(outer, inner);
    double c1 = 2 * PI / (height * log_ratio);
    double c2 = 4 * PI * ((outer - inner) / (outer * inner)) /
                (square(height) * log_ratio * square(log_ratio));
    *length = c1 * c1 / c2;
    *area = c1 / c2;
}

/* |difference| of the section from mass and the section from dimensions, over its standard
 * uncertainty (JCGM 100:2008, 5.1.2). Compared with the mean path length, for which section times
 * length is the volume, so that a rule for the field does not look like a wrong mass. */
static double compute_difference_u(const struct specimen *it)
{
    double outer = it->outer_diameter.value;
    double inner = it->inner_diameter.value;
    double height = it->height.value;
    double stacking = get_stacking(it);
    double sum = outer + inner;
    double of_mass = it->mass.value / (it->density.value * get_mean_length(outer, inner));
    double of_size = (outer - inner) * height * stacking / 2;
    double half_height = height * stacking / 2;
    double variance =
        square(of_mass / it->mass.value * quantity_get_uncertainty(&it->mass)) +
        square(of_mass / it->density.value * quantity_get_uncertainty(&it->density)) +
        square((of_mass / sum + half_height) * quantity_get_uncertainty(&it->outer_diameter)) +
        square((of_mass / sum - half_height) * quantity_get_uncertainty(&it->inner_diameter)) +
        square(of_size / height * quantity_get_uncertainty(&it->height)) +
        square(of_size / stacking * quantity_get_uncertainty(&it->stacking_factor));
    return variance > 0 ? fabs(of_mass - of_size) / sqrt(variance) : 0;
}

static enum status check(const struct specimen *specimen, struct error *err)
{
    double outer = specimen->outer_diameter.value;
    double inner = specimen->inner_diameter.value;
    bool has_mass = specimen->mass.is_present && specimen->density.is_present;
    if (!specimen->outer_diameter.is_present || !specimen->inner_diameter.is_present) {
        return fail(err, STATUS_INPUT, "give both diameters",
            "the path length needs the outer and the inner diameter");
    }
    if (!(inner > 0) || !(outer > inner) || !isfinite(outer)) {
        return fail(err, STATUS_INPUT, "are the two swapped?",
            "an inner diameter of %g m does not go with an outer one of %g m", inner, outer);
    }
    if (!specimen->height.is_present && (!has_mass || specimen->path == PATH_EFFECTIVE)) {
        return fail(err, STATUS_INPUT, "give the height, or mass and density",
            "the area of the ring is not given");
    }
    return STATUS_OK;
}

enum status specimen_compute_geometry(struct specimen *specimen, struct error *err)
{
    enum status status = check(specimen, err);
    if (status != STATUS_OK) {
        return status;
    }
    double outer = specimen->outer_diameter.value;
    double inner = specimen->inner_diameter.value;
    double height = specimen->height.is_present ? specimen->height.value : 0;
    double length = get_mean_length(outer, inner);
    double of_size = (outer - inner) * height * get_stacking(specimen) / 2;
    if (specimen->path == PATH_LOGARITHMIC) {
        length = PI * (outer - inner) / get_log_ratio(outer, inner);
    } else if (specimen->path == PATH_EFFECTIVE) {
        compute_effective(outer, inner, height * get_stacking(specimen), &length, &of_size);
    }
    bool has_mass = specimen->mass.is_present && specimen->density.is_present;
    double of_mass = has_mass ? specimen->mass.value / (specimen->density.value * length) : 0;
    double area = has_mass && specimen->path != PATH_EFFECTIVE ? of_mass : of_size;
    if (!(area > 0) || !isfinite(area) || !(length > 0)) {
        return fail(err, STATUS_INPUT, "check the units of dimensions, mass and density",
            "the ring has an area of %g m²", area);
    }
    /* a warm ring is larger in every direction; its mass stays, its density falls likewise */
    const double scale = get_expansion(specimen);
    specimen->path_length_m = scale * length;
    specimen->area_m2 = square(scale) * area;
    specimen->area_from_mass_m2 = square(scale) * of_mass;
    specimen->area_from_dimensions_m2 = square(scale) * of_size;
    specimen->area_difference_u =
        has_mass && specimen->height.is_present ? compute_difference_u(specimen) : 0;
    specimen->diameter_ratio = outer / inner;
    return STATUS_OK;
}
