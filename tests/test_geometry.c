// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "setup/setup.h"
#include "suites.h"

static struct quantity make(double value)
{
    return (struct quantity){.value = value, .is_present = true};
}

static struct quantity make_with(double value, double half_width)
{
    return (struct quantity){
        .value = value, .half_width = half_width, .is_present = true, .has_uncertainty = true};
}

static struct specimen make_ring(double outer, double inner, double height)
{
    return (struct specimen){
        .outer_diameter = make(outer), .inner_diameter = make(inner), .height = make(height)};
}

static void compute(struct specimen *specimen)
{
    struct error err = {0};
    enum status status = specimen_compute_geometry(specimen, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
}

static void assert_near(double value, double wanted, double relative)
{
    ck_assert_msg(fabs(value / wanted - 1) <= relative, "%.17g instead of %.17g", value, wanted);
}

/* D = 50 mm, d = 40 mm. Lengths evaluated from the formulas to 50 digits:
 * arithmetic: IEC 60404-4, IEC 60404-6; effective: IEC 60205. */
START_TEST(gives_the_three_path_lengths)
{
    static const struct {
        enum path_rule path;
        double length;
    } list[] = {
        {PATH_MEAN, 0.1413716694115407},
        {PATH_LOGARITHMIC, 0.14078796519492952},
        {PATH_EFFECTIVE, 0.14020522830093168},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct specimen ring = make_ring(0.05, 0.04, 0.01);
        ring.path = list[i].path;
        compute(&ring);
        assert_near(ring.path_length_m, list[i].length, 5e-16);
        ck_assert_double_eq_tol(ring.diameter_ratio, 1.25, 1e-15);
    }
}
END_TEST

/* Arithmetic over logarithmic length less 1, per cent: (r + 1) ln r / (2 (r - 1)) - 1, r = D/d. */
START_TEST(mean_and_logarithmic_length_part_with_the_ratio_of_diameters)
{
    static const struct {
        double ratio;
        double percent;
    } list[] = {
        {1.10, 0.075689}, {1.25, 0.414598}, {1.40, 0.941671}, {1.60, 1.834120}, {2.00, 3.972077}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct specimen ring = make_ring(0.03 * list[i].ratio, 0.03, 0.01);
        compute(&ring);
        double mean = ring.path_length_m;
        ring.path = PATH_LOGARITHMIC;
        compute(&ring);
        double percent = 100 * (mean / ring.path_length_m - 1);
        ck_assert_double_eq_tol(percent, list[i].percent, 0.6e-6);
    }
}
END_TEST

/* As d comes near D all three lengths become pi D, to the second order in (D - d)/D. */
START_TEST(stays_exact_for_thin_rings)
{
    for (double gap = 1e-3; gap > 1e-15; gap /= 10) {
        double outer = 0.05;
        double inner = outer * (1 - gap);
        double true_gap = (outer - inner) / outer;
        double middle = 3.14159265358979323846 * (outer + inner) / 2;
        for (int path = PATH_LOGARITHMIC; path <= PATH_EFFECTIVE; path++) {
            struct specimen ring = make_ring(outer, inner, 0.01);
            ring.path = (enum path_rule)path;
            compute(&ring);
            /* logarithmic: - g^2/12 (1 + g), effective: - g^2/6 (1 + g), g = (D - d)/D */
            double share = path == PATH_LOGARITHMIC ? 12 : 6;
            double wanted = middle * (1 - true_gap * true_gap * (1 + true_gap) / share);
            assert_near(
                ring.path_length_m, wanted, 1e-15 + true_gap * true_gap * true_gap * true_gap);
            assert_near(ring.area_m2, (outer - inner) / 2 * 0.01, 1e-15 + true_gap * true_gap);
        }
    }
}
END_TEST

/* A measured stack of laminations: D 170 mm, d 150.5 mm, h 165 mm, stacking factor 0.96. Its source
 * states path length and section: github.com/pfyhr/statordata, commit 221c4fe (MIT licence). */
START_TEST(agrees_with_the_source_of_a_measured_ring)
{
    struct specimen ring = make_ring(0.170, 0.1505, 0.165);
    ring.stacking_factor = make(0.96);
    ring.path = PATH_EFFECTIVE;
    compute(&ring);
    assert_near(ring.path_length_m, 0.5021968775062834, 5e-16);
    assert_near(ring.area_m2, 1542.491013145277e-6, 1e-15);
}
END_TEST

START_TEST(takes_area_from_dimensions_or_from_mass)
{
    struct specimen ring = make_ring(0.040, 0.032, 0.006);
    compute(&ring);
    assert_near(ring.area_m2, 24e-6, 5e-16);
    ck_assert_double_eq(ring.area_from_mass_m2, 0);
    ck_assert_double_eq(ring.area_difference_u, 0);
    ring.mass = make(0.0219);
    compute(&ring);
    assert_near(ring.area_m2, 24e-6, 5e-16); /* a mass without density gives no area */
    ring.density = make(8100);
    compute(&ring);
    double length = 3.14159265358979323846 * 0.036;
    assert_near(ring.area_from_mass_m2, 0.0219 / (8100 * length), 5e-16);
    assert_near(ring.area_from_dimensions_m2, 24e-6, 5e-16);
    ck_assert_double_eq(ring.area_m2, ring.area_from_mass_m2);
    ring.height = (struct quantity){0};
    compute(&ring);
    ck_assert_double_eq(ring.area_m2, ring.area_from_mass_m2);
    ck_assert_double_eq(ring.area_from_dimensions_m2, 0);
}
END_TEST

START_TEST(effective_area_stays_with_the_dimensions)
{
    struct specimen ring = make_ring(0.040, 0.032, 0.006);
    ring.mass = make(0.0219);
    ring.density = make(8100);
    ring.path = PATH_EFFECTIVE;
    compute(&ring);
    ck_assert_double_eq(ring.area_m2, ring.area_from_dimensions_m2);
}
END_TEST

/* Volumes agree exactly: the difference is 0 whatever the path rule, though the logarithmic length
 * is 0.4 % shorter. Then the mass is off by twice its standard uncertainty. */
START_TEST(gives_the_difference_of_the_areas_in_standard_uncertainties)
{
    double volume = 3.14159265358979323846 / 4 * (0.050 * 0.050 - 0.040 * 0.040) * 0.010;
    for (int path = PATH_MEAN; path <= PATH_EFFECTIVE; path++) {
        struct specimen ring = make_ring(0.050, 0.040, 0.010);
        ring.path = (enum path_rule)path;
        ring.density = make(8000);
        ring.mass = make_with(8000 * volume, 2e-4);
        compute(&ring);
        ck_assert_double_lt(ring.area_difference_u, 1e-9);
        ring.mass.value += 2e-4;
        compute(&ring);
        ck_assert_double_eq_tol(ring.area_difference_u, 2, 1e-9);
    }
}
END_TEST

/* Against finite differences of the difference itself, each input in turn. */
START_TEST(difference_weighs_every_input)
{
    struct specimen plain = make_ring(0.050, 0.040, 0.010);
    plain.stacking_factor = make(0.95);
    plain.mass = make(0.055);
    plain.density = make(7800);
    size_t members[] = {offsetof(struct specimen, outer_diameter),
        offsetof(struct specimen, inner_diameter), offsetof(struct specimen, height),
        offsetof(struct specimen, stacking_factor), offsetof(struct specimen, mass),
        offsetof(struct specimen, density)};
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        struct specimen ring = plain;
        struct quantity *input = (struct quantity *)((char *)&ring + members[i]);
        double value = input->value;
        double u = 1e-3 * value;
        double difference[2];
        for (int side = 0; side < 2; side++) {
            input->value = value + (side == 0 ? -1e-5 : 1e-5) * value;
            compute(&ring);
            difference[side] = ring.area_from_mass_m2 - ring.area_from_dimensions_m2;
        }
        double slope = (difference[1] - difference[0]) / (2e-5 * value);
        *input = make_with(value, 2 * u);
        compute(&ring);
        double plain_difference = ring.area_from_mass_m2 - ring.area_from_dimensions_m2;
        ck_assert_double_eq_tol(
            ring.area_difference_u * u * fabs(slope) / fabs(plain_difference), 1, 1e-8);
    }
}
END_TEST

START_TEST(refuses_what_is_no_ring)
{
    struct error err = {0};
    struct specimen ring = make_ring(0.032, 0.040, 0.006);
    ck_assert_int_eq(specimen_compute_geometry(&ring, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "an inner diameter of 0.04 m does not go with an outer one of 0.032 m");
    ck_assert_double_eq(ring.path_length_m, 0);
    ring = make_ring(0.040, 0.032, 0);
    ring.height.is_present = false;
    ck_assert_int_eq(specimen_compute_geometry(&ring, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the area of the ring is not given");
    ring.mass = make(0.0219);
    ring.density = make(8100);
    ring.path = PATH_EFFECTIVE;
    ck_assert_int_eq(specimen_compute_geometry(&ring, &err), STATUS_INPUT);
    ring.outer_diameter.is_present = false;
    ck_assert_int_eq(specimen_compute_geometry(&ring, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the path length needs the outer and the inner diameter");
    ring = make_ring(0.040, 0.032, -0.006);
    ck_assert_int_eq(specimen_compute_geometry(&ring, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the ring has an area of -2.4e-05 m²");
}
END_TEST

Suite *geometry_suite(void)
{
    Suite *suite = suite_create("geometry");
    TCase *tests = tcase_create("geometry");
    tcase_add_test(tests, gives_the_three_path_lengths);
    tcase_add_test(tests, mean_and_logarithmic_length_part_with_the_ratio_of_diameters);
    tcase_add_test(tests, stays_exact_for_thin_rings);
    tcase_add_test(tests, agrees_with_the_source_of_a_measured_ring);
    tcase_add_test(tests, takes_area_from_dimensions_or_from_mass);
    tcase_add_test(tests, effective_area_stays_with_the_dimensions);
    tcase_add_test(tests, gives_the_difference_of_the_areas_in_standard_uncertainties);
    tcase_add_test(tests, difference_weighs_every_input);
    tcase_add_test(tests, refuses_what_is_no_ring);
    suite_add_tcase(suite, tests);
    return suite;
}
