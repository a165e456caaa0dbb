// SPDX-License-Identifier: GPL-3.0-or-later
/* Loss separation and its classical term. Values: Bertotti's formula computed to the last digit;
 * torsion constants of Timoshenko and Goodier, Theory of Elasticity, section 109. */
#include <math.h>
#include <string.h>

#include "scratch.h"
#include "series/classical.h"
#include "series/series.h"
#include "suites.h"

static struct series series;
static struct error err;

static enum status read_words(const char *words, const struct series_options *options)
{
    const char *path = "loops.csv";
    scratch_write(path, words, strlen(words));
    series = (struct series){0};
    return series_read(&path, 1, options, &series, &err);
}

START_TEST(the_classical_loss_of_a_sheet_is_the_textbooks)
{
    /* 2e6 S/m, 0.5 mm, 1.5 T: 92.52754126021273 J/m3 at 50 Hz */
    ck_assert_double_eq_tol(50 * classical_compute(5e-7, 0.5e-3, INFINITY, 1.5, CLASSICAL_SINE),
        92.52754126021273, 1e-11);
    /* a form factor above that of a sine counts squared */
    ck_assert_double_eq_tol(classical_compute(5e-7, 0.5e-3, INFINITY, 1.5, 2 * CLASSICAL_SINE) /
                                classical_compute(5e-7, 0.5e-3, INFINITY, 1.5, CLASSICAL_SINE),
        4, 1e-13);
}
END_TEST

START_TEST(a_rectangle_loses_as_a_bar_resists_torsion)
{
    /* width over thickness, torsion constant / (w d³) as printed */
    static const double cases[][2] = {{1, 0.1406}, {1.2, 0.166}, {1.5, 0.196}, {2, 0.229},
        {2.5, 0.249}, {3, 0.263}, {4, 0.281}, {5, 0.291}, {10, 0.312}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_double_eq_tol(
            classical_get_shape(1, cases[i][0]) / 3, cases[i][1], i == 0 ? 5e-5 : 6e-4);
    ck_assert_double_eq(classical_get_shape(1, INFINITY), 1);
}
END_TEST

START_TEST(the_skin_effect_takes_one_percent_where_it_is_said)
{
    const double depth = 5.032921210e-3; /* 100 µ0, 2e6 S/m, 50 Hz */
    const double thickness = 2e-3;
    const double limit = classical_get_skin_frequency(5e-7, thickness, 100);
    const double ratio = thickness / (depth * sqrt(50 / limit));
    ck_assert_double_eq_tol(classical_get_skin_share(ratio), 0.99, 1e-9);
    ck_assert_double_eq_tol(
        classical_get_skin_share(0.0999), classical_get_skin_share(0.1001), 1e-6);
    ck_assert_double_eq_tol(classical_get_skin_share(0.05), 1, 1e-6);
}
END_TEST

#define HEAD "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3,u_loop_area_J_per_m3\n"

START_TEST(shared_uncertainty_goes_along_with_every_term)
{
    /* 1 % of each, all of it shared: every term has 1 %, fully correlated */
    const struct series_options options = {.threads = 1};
    ck_assert_int_eq(read_words(HEAD "10,1.5,345.94733192202057,3.4594733192202057\n"
                                     "20,1.5,369.665631459995,3.69665631459995\n"
                                     "50,1.5,424.8528137423857,4.248528137423857\n"
                                     "100,1.5,500,5\n200,1.5,629.7056274847714,6.297056274847714\n",
                         &options),
        STATUS_OK);
    ck_assert_uint_eq(series.separation_count, 1);
    const struct series_separation *it = &series.separations[0];
    ck_assert(it->has_covariance && it->has_excess && !it->is_classical && !it->is_bounded);
    ck_assert_double_eq_tol(sqrt(it->covariance[0][0]), 3, 1e-6);
    ck_assert_double_eq_tol(sqrt(it->covariance[1][1]), 0.008, 1e-6);
    ck_assert_double_eq_tol(sqrt(it->covariance[2][2]), 0.12, 1e-6);
    ck_assert_double_eq_tol(it->covariance[0][2], 3 * 0.12, 1e-5);
    series_clear(&series);
}
END_TEST

/* A sheet whose classical loss is known leaves the rest to two terms. */
START_TEST(holds_a_computed_classical_term_fixed)
{
    struct text words = {0};
    const double kc = classical_compute(5e-7, 0.5e-3, INFINITY, 1, CLASSICAL_SINE);
    struct series_options options = {.threads = 1,
        .resistivity = {.value = 5e-7,
            .is_present = true,
            .has_uncertainty = true,
            .half_width = 1e-8},
        .thickness = {.value = 0.5e-3, .is_present = true}};
    text_add(&words, "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3\n");
    for (int i = 1; i <= 3; i++)
        text_add_format(&words, "%d,1,%.17g\n", 40 * i, 100 + kc * 40 * i + 3 * sqrt(40 * i));
    ck_assert_int_eq(read_words(words.bytes, &options), STATUS_OK);
    const struct series_separation *it = &series.separations[0];
    ck_assert(it->is_classical && it->has_excess);
    ck_assert_double_eq_tol(it->hysteresis_J_per_m3, 100, 1e-9);
    ck_assert_double_eq_tol(it->linear_J_s_per_m3, kc, 1e-12);
    ck_assert_double_eq_tol(it->excess_J_per_m3_per_sqrt_Hz, 3, 1e-10);
    /* 1 % of the resistivity is 1 % of kc */
    ck_assert_double_eq_tol(sqrt(it->covariance[1][1]), 0.01 * kc, 1e-5 * kc);
    ck_assert(it->covariance[0][0] > 0 && it->covariance[1][2] < 0);
    series_clear(&series);
    options.is_free = true; /* three free terms want four frequencies: two terms */
    ck_assert_int_eq(read_words(words.bytes, &options), STATUS_OK);
    ck_assert(!series.separations[0].is_classical && !series.separations[0].has_excess);
    series_clear(&series);
    text_clear(&words);
}
END_TEST

START_TEST(fits_the_linear_term_where_the_section_is_too_thick)
{
    /* Bm 1 T at Hm 100 A/m: µa 7958, 1 mm: the formula ends at 40 Hz */
    const struct series_options options = {.threads = 1,
        .resistivity = {.value = 5e-7, .is_present = true},
        .thickness = {.value = 1e-3, .is_present = true}};
    ck_assert_int_eq(
        read_words("frequency_Hz,field_peak_A_per_m,flux_density_peak_T,loop_area_J_per_m3\n"
                   "20,100,1,100\n50,100,1,150\n100,100,1,200\n",
            &options),
        STATUS_OK);
    ck_assert(!series.separations[0].is_classical);
    ck_assert(series.separations[0].skin_frequency_Hz > 35 &&
              series.separations[0].skin_frequency_Hz < 45);
    ck_assert(notes_has(&series.notes, "skin-effect"));
    series_clear(&series);
}
END_TEST

START_TEST(slow_traces_are_the_frequency_zero)
{
    const struct series_options options = {.threads = 1};
    ck_assert_int_eq(read_words("frequency_Hz,flux_density_peak_T,loop_area_J_per_m3\n"
                                ",1,100\n10,1,110\n20,1,120\n",
                         &options),
        STATUS_OK);
    ck_assert_double_eq_tol(series.separations[0].hysteresis_J_per_m3, 100, 1e-9);
    ck_assert_double_eq_tol(series.separations[0].linear_J_s_per_m3, 1, 1e-10);
    ck_assert_double_eq(series.separations[0].frequency_Hz[0], 0);
    series_clear(&series);
}
END_TEST

START_TEST(keeps_terms_from_going_below_zero_and_says_so)
{
    const struct series_options options = {.threads = 1};
    ck_assert_int_eq(read_words("frequency_Hz,flux_density_peak_T,loop_area_J_per_m3\n"
                                "10,1,100\n20,1,99\n40,1,98\n80,1,97\n",
                         &options),
        STATUS_OK);
    ck_assert(series.separations[0].is_bounded);
    ck_assert_double_eq(series.separations[0].linear_J_s_per_m3, 0);
    ck_assert_double_eq(series.separations[0].excess_J_per_m3_per_sqrt_Hz, 0);
    series_clear(&series);
}
END_TEST

START_TEST(refuses_a_peak_that_no_two_frequencies_reach)
{
    const double peaks[] = {1.5};
    const struct series_options options = {.threads = 1, .peaks = peaks, .peak_count = 1};
    ck_assert_int_eq(
        read_words(
            "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3\n10,1,100\n20,1,99\n", &options),
        STATUS_INPUT);
    ck_assert_str_eq(err.message,
        "no separation at 1.5 T: 0 frequencies reach it with losses that can be parted");
}
END_TEST

START_TEST(finds_a_saturation_only_where_the_data_carry_it)
{
    struct text words = {0};
    const struct series_options options = {.threads = 1};
    text_add(&words, "field_peak_A_per_m,polarization_peak_T\n");
    for (int i = 1; i <= 10; i++) /* Js 1.6 T, half of either law */
        text_add_format(&words, "%d,%.17g\n", 10000 * i,
            1.6 - 0.5 * 1e3 / (1e4 * i) - 0.5 * 5e7 / pow(1e4 * i, 2));
    ck_assert_int_eq(read_words(words.bytes, &options), STATUS_OK);
    ck_assert(series.saturation.is_present);
    ck_assert(
        fabs(series.saturation.polarization_T - 1.6) < 2 * series.saturation.u_polarization_T);
    ck_assert(series.saturation.u_polarization_T < 0.01);
    series_clear(&series);
    text_clear(&words);
    ck_assert_int_eq(read_words("field_peak_A_per_m,polarization_peak_T\n"
                                "1000,0.5\n2000,0.8\n2500,0.9\n3000,1\n3500,1.1\n4000,1.2\n",
                         &options),
        STATUS_OK);
    ck_assert(!series.saturation.is_present);
    ck_assert(strstr(series.saturation.reason, "J still rises by 33 %") != NULL);
    series_clear(&series);
}
END_TEST

Suite *separation_suite(void)
{
    Suite *suite = suite_create("separation");
    TCase *tests = tcase_create("separation");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, the_classical_loss_of_a_sheet_is_the_textbooks);
    tcase_add_test(tests, a_rectangle_loses_as_a_bar_resists_torsion);
    tcase_add_test(tests, the_skin_effect_takes_one_percent_where_it_is_said);
    tcase_add_test(tests, shared_uncertainty_goes_along_with_every_term);
    tcase_add_test(tests, holds_a_computed_classical_term_fixed);
    tcase_add_test(tests, fits_the_linear_term_where_the_section_is_too_thick);
    tcase_add_test(tests, slow_traces_are_the_frequency_zero);
    tcase_add_test(tests, keeps_terms_from_going_below_zero_and_says_so);
    tcase_add_test(tests, refuses_a_peak_that_no_two_frequencies_reach);
    tcase_add_test(tests, finds_a_saturation_only_where_the_data_carry_it);
    suite_add_tcase(suite, tests);
    return suite;
}
