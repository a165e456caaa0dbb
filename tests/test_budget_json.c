// SPDX-License-Identifier: GPL-3.0-or-later
/* Each member of a budget's JSON holds its own number: structs filled by hand, no number twice; and
 * what is drawn from such a budget: lists of contributions, what would halve u, inputs. */
#include <math.h>
#include <string.h>

#include "budget/loop_budget.h"
#include "num/student.h"
#include "suites.h"

enum { INPUTS = 6, OUTPUTS = 3 };

static double value[OUTPUTS], u[OUTPUTS], freedom[OUTPUTS], scatter_share[OUTPUTS];
static double sensitivity[OUTPUTS * INPUTS], share[OUTPUTS * INPUTS];
static struct budget_input scatter_list[OUTPUTS];
static struct trials_output trials_list[OUTPUTS];
static struct loop_budget budget;

/* The second output has no uncertainty; the first one has trials that agree with it. */
static void set_up(void)
{
    static const char *const names[INPUTS] = {"n", "r", "s", "a", "t", "b"};
    budget = (struct loop_budget){.inputs = {.count = INPUTS},
        .model = {.output = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK, FIGURE_COERCIVITY},
            .output_count = OUTPUTS},
        .linear = {.inputs = INPUTS,
            .outputs = OUTPUTS,
            .value = value,
            .u = u,
            .freedom = freedom,
            .sensitivity = sensitivity,
            .share = share,
            .scatter_share = scatter_share},
        .source = LOOP_SCATTER_NOISE,
        .repeats = 128,
        .scatter_list = scatter_list,
        .trials = {.count = 4000, .outputs = OUTPUTS, .list = trials_list}};
    for (int i = 0; i < INPUTS; i++) {
        budget.inputs.list[i] = (struct budget_input){.name = names[i],
            .value = 10 + i,
            .u = 0.5 * (i + 1),
            .distribution = (enum budget_distribution)i};
    }
    for (int i = 0; i < OUTPUTS * INPUTS; i++) {
        sensitivity[i] = i - 8;
        share[i] = 0;
    }
    share[0] = 0.125;
    share[2] = -0.25;
    share[2 * INPUTS + 1] = 0.999e-6;
    share[2 * INPUTS + 4] = 0.4375;
    for (int j = 0; j < OUTPUTS; j++) {
        value[j] = 100 * (j + 1);
        u[j] = j == 1 ? 0 : j + 3;
        freedom[j] = j == 0 ? 2 : INFINITY;
        scatter_share[j] = j == 0 ? 0.5 : 0;
        scatter_list[j] = (struct budget_input){.name = "scatter", .u = 40 + j};
        trials_list[j] = (struct trials_output){.mean = 200 + j,
            .u = 210 + j,
            .symmetric = {-300 - j, 300 + j},
            .shortest = {-400 - j, 400 + j},
            .u_end = {1, 1},
            .tolerance = j == 0 ? 1000 : 1,
            .is_settled = j == 0,
            .missing = (size_t)(60 + j)};
    }
}

static void write(struct text *out)
{
    struct json json;
    json_init(&json, out, 0);
    json_begin_object(&json, NULL);
    loop_budget_write_json(&json, "budget", &budget);
    json_end_object(&json);
}

#define HEAD                                                                                       \
    "\"inputs\": [{\"name\": \"n\", \"value\": 10, \"u\": 0.5, \"distribution\": \"normal\"}, "    \
    "{\"name\": \"r\", \"value\": 11, \"u\": 1, \"distribution\": \"rectangular\"}, "              \
    "{\"name\": \"s\", \"value\": 12, \"u\": 1.5, \"distribution\": \"triangular\"}, "             \
    "{\"name\": \"a\", \"value\": 13, \"u\": 2, \"distribution\": \"arcsine\"}, "                  \
    "{\"name\": \"t\", \"value\": 14, \"u\": 2.5, \"distribution\": \"t\"}, "                      \
    "{\"name\": \"b\", \"value\": 15, \"u\": 3, \"distribution\": \"curvilinear trapezoid\"}], "

START_TEST(a_budget_is_told_whole)
{
    const double two = student_compute_coverage(0.95, 2);
    const double many = student_compute_coverage(0.95, INFINITY);
    struct text out = {0}, expected = {0};
    char k[2][TEXT_NUMBER_SIZE], expanded[2][TEXT_NUMBER_SIZE];
    text_number(k[0], two);
    text_number(k[1], many);
    text_number(expanded[0], 3 * two);
    text_number(expanded[1], 5 * many);
    budget.has_trials = true;
    write(&out);
    text_add_format(&expected,
        "{\"budget\": {\"probability\": 0.95, \"scatter\": \"noise\", \"repeats\": 128, "
        "\"trials\": 4000, " HEAD
        "\"figures\": {\"frequency_Hz\": {\"value\": 100, \"u\": 3, \"u_scatter\": 40, "
        "\"degrees_of_freedom\": 2, \"coverage_factor\": %s, \"expanded\": %s, "
        "\"contributions\": [{\"name\": \"scatter\", \"u\": 40, \"share\": 0.5}, "
        "{\"name\": \"s\", \"u\": -9, \"share\": -0.25}, "
        "{\"name\": \"n\", \"u\": -4, \"share\": 0.125}], "
        "\"trials\": {\"mean\": 200, \"u\": 210, \"low\": -300, \"high\": 300, "
        "\"shortest_low\": -400, \"shortest_high\": 400, \"missing\": 60, \"settled\": true, "
        "\"linear_validated\": \"yes\"}}, "
        "\"coercivity_A_per_m\": {\"value\": 300, \"u\": 5, \"u_scatter\": 42, "
        "\"coverage_factor\": %s, \"expanded\": %s, "
        "\"contributions\": [{\"name\": \"t\", \"u\": 20, \"share\": 0.4375}], "
        "\"trials\": {\"mean\": 202, \"u\": 212, \"low\": -302, \"high\": 302, "
        "\"shortest_low\": -402, \"shortest_high\": 402, \"missing\": 62, \"settled\": false, "
        "\"linear_validated\": \"no\"}}}}}",
        k[0], expanded[0], k[1], expanded[1]);
    ck_assert_str_eq(out.bytes, expected.bytes);
    text_clear(&out);
    text_clear(&expected);
}
END_TEST

/* Without trials nothing is told of them, without scatter there is none; a u beyond numbers is none
 * either; too few trials are told apart. */
START_TEST(a_budget_tells_what_there_is)
{
    struct text out = {0};
    budget.source = LOOP_SCATTER_NONE;
    budget.repeats = 0;
    u[2] = INFINITY;
    write(&out);
    static const char head[] = "{\"budget\": {\"probability\": 0.95, \"scatter\": \"none\", "
                               "\"repeats\": 0, " HEAD "\"figures\": {\"frequency_Hz\": "
                               "{\"value\": 100, \"u\": 3, \"u_scatter\": 0, "
                               "\"degrees_of_freedom\": 2, \"coverage_factor\": ";
    static const char end[] = "\"contributions\": [{\"name\": \"s\", \"u\": -9, \"share\": -0.25}, "
                              "{\"name\": \"n\", \"u\": -4, \"share\": 0.125}]}}}}";
    ck_assert_int_eq(strncmp(out.bytes, head, strlen(head)), 0);
    ck_assert_str_eq(out.bytes + out.length - strlen(end), end);
    text_clear(&out);
    budget.source = LOOP_SCATTER_BLOCKS;
    budget.has_trials = true;
    u[2] = 5;
    trials_list[2].u_end[1] = 1e6;
    write(&out);
    ck_assert_ptr_nonnull(strstr(out.bytes, "\"scatter\": \"blocks\""));
    ck_assert_ptr_nonnull(strstr(out.bytes, "\"linear_validated\": \"too few trials\""));
    text_clear(&out);
}
END_TEST

/* Shares of 1e-6 count, what is below does not; of those that are alike but for rounding the first
 * stays the first; negative ones stand by their size. */
START_TEST(contributions_are_listed_by_size)
{
    struct contribution list[INPUTS + 1];
    static const double shares[INPUTS] = {0.1, -1e-6, 0.1 * (1 + 1e-9), -0.3, 0.3, 0.9999e-6};
    static const char *const names[] = {"a", "t", "scatter", "n", "s", "r"};
    memcpy(share, shares, sizeof shares);
    scatter_share[0] = 0.2;
    ck_assert_uint_eq(loop_budget_list(&budget, 0, list), 6);
    for (int i = 0; i < 6; i++) {
        ck_assert_str_eq(list[i].name, names[i]);
    }
    ck_assert(isnan(list[2].u_input));
    ck_assert_double_eq(list[2].u, 40);
    ck_assert_double_eq(list[0].u_input, 2);
    ck_assert_double_eq(list[0].u, -5 * 2);
    ck_assert_double_eq(list[5].share, -1e-6);
    share[2] = 0.1 * (1 + 1e-5); /* more than rounding */
    scatter_share[0] = 0.99e-6;
    ck_assert_uint_eq(loop_budget_list(&budget, 0, list), 5);
    ck_assert_str_eq(list[2].name, "s");
    ck_assert_str_eq(list[3].name, "n");
    scatter_share[0] = 1e-6;
    ck_assert_uint_eq(loop_budget_list(&budget, 0, list), 6);
}
END_TEST

/* With the largest brought down to a factor f, u^2 is a quarter: f^2 = (1/4 - rest) / held; the
 * fewest with f of a quarter or more. */
START_TEST(half_takes_the_fewest)
{
    static const struct {
        double shares[4];
        size_t listed, count;
        double square;
    } cases[] = {
        {{0.75, 0.25}, 2, 2, 0.25},          /* the first alone would have to go whole */
        {{0.9, 0.1}, 2, 1, 0.15 / 0.9},      /* 1/4 - 1/10 */
        {{0.8, 0.2}, 2, 1, 0.05 / 0.8},      /* just a sixteenth: still the first alone */
        {{0.799, 0.201}, 2, 2, 0.25},        /* just below */
        {{1}, 1, 1, 0.25},                   /* one alone is halved */
        {{0.5, 0.25, 0.25}, 3, 3, 0.25},     /* the third as well */
        {{0.5, 0.4, 0.1}, 3, 2, 0.15 / 0.9}, /* two of three */
        {{1.5, -0.5}, 2, 1, 0.25 / 1.5},     /* what runs against it is no rest */
        {{0.5}, 1, 1, 0},                    /* what is listed is not enough */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct contribution list[4];
        size_t count = 9;
        double factor = 9;
        for (size_t n = 0; n < cases[i].listed; n++) {
            list[n] = (struct contribution){.name = "x", .share = cases[i].shares[n]};
        }
        loop_budget_find_half(list, cases[i].listed, &count, &factor);
        ck_assert_uint_eq(count, cases[i].count);
        ck_assert_double_eq_tol(factor, sqrt(cases[i].square), 1e-9);
    }
}
END_TEST

START_TEST(coverage_is_that_of_the_degrees_of_freedom)
{
    /* JCGM 100:2008, table G.2; below 1 degree as for 1 */
    static const struct {
        double freedom, k;
    } cases[] = {{0.25, 12.71}, {1, 12.71}, {2, 4.30}, {5, 2.57}, {INFINITY, 1.960}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        freedom[2] = cases[i].freedom;
        ck_assert_double_eq_tol(loop_budget_get_coverage(&budget, 2), cases[i].k, 0.005);
    }
    ck_assert_uint_eq(loop_budget_find(&budget, FIGURE_FREQUENCY), 0);
    ck_assert_uint_eq(loop_budget_find(&budget, FIGURE_COERCIVITY), 2);
    ck_assert_uint_eq(loop_budget_find(&budget, FIGURE_LOSS), 3);
}
END_TEST

/* What the model does not follow keeps the u that it had. */
START_TEST(figures_get_the_us_that_there_are)
{
    struct figures figures = {0};
    for (int j = 0; j < OUTPUTS; j++) {
        figures_set(&figures, budget.model.output[j], 1);
        figures_set_u(&figures, budget.model.output[j], 0.25);
    }
    u[2] = NAN;
    loop_budget_set_figures(&budget, &figures);
    ck_assert_double_eq(figures.list[FIGURE_FREQUENCY].u, 3);
    ck_assert_double_eq(figures.list[FIGURE_FIELD_PEAK].u, 0.25);
    ck_assert_double_eq(figures.list[FIGURE_COERCIVITY].u, 0.25);
}
END_TEST

/* --- inputs ------------------------------------------------------------------------------------
 */

static struct quantity known(double number, double half_width, enum distribution distribution)
{
    return (struct quantity){.value = number,
        .half_width = half_width,
        .is_present = true,
        .has_uncertainty = half_width > 0,
        .distribution = distribution};
}

/* Full scales of one calibrator and dimensions of one ruler are fully correlated, each group when
 * its file says so, and with nothing else; a rectangular +-a has u = a / sqrt 3. */
START_TEST(inputs_are_those_that_files_and_capture_state)
{
    static const char *const names[] = {"inputs.excitation.full_scale", "inputs.excitation.shunt",
        "inputs.pickup.full_scale", "winding.primary_turns", "ring.outer_diameter", "ring.height",
        "frequency of the fit", "closure gap"};
    static const int groups[] = {1, 0, 1, 0, 2, 2, 0, 0};
    struct rig rig = {.excitation = {.full_scale = known(1.5, 0.02, DISTRIBUTION_NORMAL),
                          .shunt = known(0.1, 0.003, DISTRIBUTION_RECTANGULAR)},
        .pickup = {.full_scale = known(2.5, 0.04, DISTRIBUTION_NORMAL),
            .divider = known(11, 0, DISTRIBUTION_NORMAL)},
        .winding = {.is_present = true, .primary_turns = known(200, 2, DISTRIBUTION_NORMAL)}};
    struct specimen specimen = {.outer_diameter = known(0.04, 1e-5, DISTRIBUTION_NORMAL),
        .inner_diameter = known(0.03, 0, DISTRIBUTION_NORMAL),
        .height = known(0.006, 2e-5, DISTRIBUTION_NORMAL)};
    struct loop loop = {0};
    figures_set(&loop.figures, FIGURE_FREQUENCY, 50);
    figures_set_u(&loop.figures, FIGURE_FREQUENCY, 0.001);
    figures_set(&loop.figures, FIGURE_CLOSURE_GAP, -0.004);
    for (int n = 0; n < 4; n++) {
        struct loop_inputs inputs;
        rig.has_same_calibrator = n % 2;
        specimen.has_same_ruler = n / 2;
        loop_inputs_find(&inputs, &loop, &rig, &specimen);
        ck_assert_uint_eq(inputs.count, 8);
        ck_assert_int_eq(inputs.is_correlated, n > 0);
        for (size_t i = 0; i < 8; i++) {
            ck_assert_str_eq(inputs.list[i].name, names[i]);
            ck_assert_double_eq(inputs.list[i].freedom, INFINITY);
            ck_assert_int_eq(
                inputs.list[i].distribution, i == 1 || i == 7 ? BUDGET_RECTANGULAR : BUDGET_NORMAL);
            ck_assert_int_eq(inputs.place[i].file == LOOP_INPUT_OF_CAPTURE, i >= 6);
            for (size_t k = 0; k < 8; k++) {
                const bool is_one = i == k || (groups[i] == groups[k] &&
                                                  ((groups[i] == 1 && rig.has_same_calibrator) ||
                                                      (groups[i] == 2 && specimen.has_same_ruler)));
                ck_assert_double_eq(inputs.correlation[i * 8 + k], is_one);
            }
        }
        ck_assert_double_eq_tol(inputs.list[0].u, 0.01, 1e-15);
        ck_assert_double_eq_tol(inputs.list[1].u, 0.003 / sqrt(3), 1e-15);
        ck_assert_double_eq(inputs.list[1].value, 0.1);
        ck_assert_double_eq(inputs.list[6].value, 50);
        ck_assert_double_eq(inputs.list[6].u, 0.001);
        ck_assert_double_eq(inputs.list[7].value, 0);
        ck_assert_double_eq_tol(inputs.list[7].u, 1 / sqrt(3), 1e-15);

        /* values go where they came from */
        struct loop_setting setting;
        const double values[] = {1, 2, 3, 4, 5, 6, 7, 8};
        loop_setting_init(&setting, &loop, &rig, &specimen);
        ck_assert_double_eq(setting.frequency_Hz, 50);
        ck_assert_double_eq(setting.gap, 0);
        loop_setting_set(&setting, &inputs, values);
        const double found[] = {setting.rig.excitation.full_scale.value,
            setting.rig.excitation.shunt.value, setting.rig.pickup.full_scale.value,
            setting.rig.winding.primary_turns.value, setting.specimen.outer_diameter.value,
            setting.specimen.height.value, setting.frequency_Hz, setting.gap};
        ck_assert_mem_eq(found, values, sizeof values);
    }
    /* what has no u, or is 0, is no input; the specimen's own winding stands before the rig's */
    struct loop_inputs inputs;
    figures_set_u(&loop.figures, FIGURE_FREQUENCY, 0);
    figures_set(&loop.figures, FIGURE_CLOSURE_GAP, 0);
    rig.excitation.shunt.is_present = false;
    rig.excitation.full_scale.has_uncertainty = false;
    specimen.winding.is_present = true;
    specimen.winding.secondary_turns = known(100, 1, DISTRIBUTION_NORMAL);
    loop_inputs_find(&inputs, &loop, &rig, &specimen);
    static const char *const fewer[] = {"inputs.pickup.full_scale", "winding.secondary_turns",
        "ring.outer_diameter", "ring.height"};
    ck_assert_uint_eq(inputs.count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_str_eq(inputs.list[i].name, fewer[i]);
    }
    struct loop_setting setting;
    const double values[] = {1, 2, 3, 4};
    loop.figures.list[FIGURE_FREQUENCY].is_present = false;
    loop_setting_init(&setting, &loop, &rig, &specimen);
    ck_assert(isnan(setting.frequency_Hz));
    loop_setting_set(&setting, &inputs, values);
    ck_assert_double_eq(setting.specimen.winding.secondary_turns.value, 2);
}
END_TEST

Suite *budget_json_suite(void)
{
    Suite *suite = suite_create("budget_json");
    TCase *tests = tcase_create("budget_json");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, a_budget_is_told_whole);
    tcase_add_test(tests, a_budget_tells_what_there_is);
    tcase_add_test(tests, contributions_are_listed_by_size);
    tcase_add_test(tests, half_takes_the_fewest);
    tcase_add_test(tests, coverage_is_that_of_the_degrees_of_freedom);
    tcase_add_test(tests, figures_get_the_us_that_there_are);
    tcase_add_test(tests, inputs_are_those_that_files_and_capture_state);
    suite_add_tcase(suite, tests);
    return suite;
}
