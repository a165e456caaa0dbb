// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/limits.h"

#include <math.h>
#include <string.h>

#include "suites.h"

static enum status read(const char *words, struct limits *limits, struct error *err)
{
    return limits_read_bytes("limits.yaml", words, strlen(words), limits, err);
}

START_TEST(reads_an_acceptance_file)
{
    struct limits limits;
    struct error err = {0};
    ck_assert_msg(read("name: RS-36 ring steel, incoming lots\n"
                       "rule: guarded\n"
                       "figures:\n"
                       "  coercivity: {lower: 17.5 kA/m, upper: 20.5 kA/m}\n"
                       "  remanence: {lower: 0.92 T}\n"
                       "  lag_angle: {upper: 60 deg}\n"
                       "  squareness: {lower: 0.6}\n"
                       "conditions:\n"
                       "  field_peak: {lower: 25 kA/m}\n"
                       "lot: {share: 95 %, confidence: 0.9}\n",
                      &limits, &err) == STATUS_OK,
        "%s", err.message);
    ck_assert_str_eq(limits.name, "RS-36 ring steel, incoming lots");
    ck_assert(limits.rule == RULE_GUARDED && limits.has_lot);
    const struct limit *coercivity = &limits.figures[FIGURE_COERCIVITY];
    ck_assert(coercivity->has_lower && coercivity->has_upper);
    ck_assert_double_eq(coercivity->lower, 17500);
    ck_assert_double_eq(coercivity->upper, 20500);
    const struct limit *remanence = &limits.figures[FIGURE_REMANENCE];
    ck_assert(remanence->has_lower && !remanence->has_upper && isinf(remanence->upper));
    ck_assert_double_eq_tol(limits.figures[FIGURE_LAG_ANGLE].upper, 60, 1e-12);
    ck_assert_double_eq(limits.figures[FIGURE_SQUARENESS].lower, 0.6);
    ck_assert_double_eq(limits.conditions[FIGURE_FIELD_PEAK].lower, 25000);
    ck_assert(!limit_is_present(&limits.figures[FIGURE_LOSS]));
    ck_assert_double_eq_tol(limits.share, 0.95, 1e-15);
    ck_assert_double_eq(limits.confidence, 0.9);
    ck_assert_ptr_nonnull(strstr(limits.source, "\nlot: {share: 95 %, confidence: 0.9}\n"));
    limits_clear(&limits);
    limits_clear(&limits);
}
END_TEST

static const struct {
    const char *words, *message;
} refusal_list[] = {
    {"figures: {coercivty: {lower: 1 kA/m}}\n",
        "limits.yaml:1:11: figures.coercivty: unknown key; did you mean 'coercivity'?"},
    {"figures: {remanence: {lower: 1}}\n", "limits.yaml:1:30: figures.remanence.lower: "},
    {"figures: {remanence: {lower: 1 T ± 0.1 T}}\n", "a limit is exact"},
    {"figures: {remanence: {lower: 1 T, upper: 0.9 T}}\n",
        "limits.yaml:1:35: figures.remanence.upper: the upper limit must lie above the lower one"},
    {"figures: {remanence: {}}\n", "give 'lower', 'upper' or both"},
    {"name: x\n", "figures"},
    {"figures: {}\n", "no limit"},
    /* the other end, and conditions, are looked at as well */
    {"figures: {remanence: {upper: 1 T ± 0.1 T}}\n",
        "limits.yaml:1:23: figures.remanence.upper: a limit is exact; leave out its '±': the "
        "uncertainty of the figures counts"},
    {"figures: {remanence: {lower: 1 T}}\nconditions: {field_peak: {lower: 9 kA/m ± 1 kA/m}}\n",
        "limits.yaml:2:27: conditions.field_peak.lower: a limit is exact"},
    {"figures: {remanence: {lower: 1 T, upper: 1 T}}\n",
        "figures.remanence.upper: the upper limit must lie above the lower one"},
    {"figures: {remanence: {lower: 1 T}}\nconditions: {field_peak: {lower: 2 kA/m, upper: 1 "
     "kA/m}}\n",
        "conditions.field_peak.upper: the upper limit must lie above the lower one"},
    {"figures: {remanence: {lower: 1 T}}\nconditions: {field_peak: {}}\n",
        "limits.yaml:2:14: conditions.field_peak: give 'lower', 'upper' or both"},
    {"figures: {}\n", "limits.yaml:1:1: figures: no limit; write one, such as 'coercivity: "
                      "{lower: 17.5 kA/m}'"},
    {"figures: {squareness: {lower: 1 T}}\n", "limits.yaml:1:31: figures.squareness.lower: "},
    {"figures: {lag_angle: {lower: 1 T}}\n", "limits.yaml:1:30: figures.lag_angle.lower: "},
    {"figures: {remanence: {lower: 1 T}}\nlot: {share: 0.49, confidence: 0.95}\n",
        "limits.yaml:2:14: lot.share: "},
    {"figures: {remanence: {lower: 1 T}}\nlot: {share: 0.95, confidence: 0.9999991}\n",
        "limits.yaml:2:32: lot.confidence: "},
    {"figures: {remanence: {lower: 1 T}}\nlot: {share: 0.95}\n", "confidence"},
    {"figures: {remanence: {lower: 1 T}}\nlot: {confidence: 0.95}\n", "share"},
    {"rule: strict\nfigures: {remanence: {lower: 1 T}}\n", "limits.yaml:1:7: rule: "},
    {"figures: {remanence: {lower: 1 T}}\nlot: {share: 95, confidence: 0.95}\n",
        "limits.yaml:2:14: lot.share: "},
};

START_TEST(refuses_what_is_no_limit_and_says_where)
{
    struct limits limits = {.share = 7};
    struct error err = {0};
    ck_assert(read(refusal_list[_i].words, &limits, &err) == STATUS_INPUT);
    ck_assert_msg(strstr(err.message, refusal_list[_i].message) != NULL, "got: %s", err.message);
    ck_assert_double_eq(limits.share, 7);
}
END_TEST

/* One limit of one end is enough; the ends of shares and confidences belong to their range; degrees
 * stay degrees, of figures and of conditions, at either end. */
START_TEST(takes_what_is_just_a_limit)
{
    struct limits limits;
    struct error err = {0};
    ck_assert_msg(read("figures: {lag_angle: {upper: 90 deg}}\n", &limits, &err) == STATUS_OK, "%s",
        err.message);
    ck_assert(!limits.has_lot && limits.name == NULL && limits.rule == RULE_GUARDED);
    ck_assert_double_eq_tol(limits.figures[FIGURE_LAG_ANGLE].upper, 90, 1e-12);
    ck_assert(limits.figures[FIGURE_LAG_ANGLE].lower == -INFINITY);
    for (int f = 0; f < FIGURE_COUNT; f++) {
        ck_assert(limit_is_present(&limits.figures[f]) == (f == FIGURE_LAG_ANGLE));
        ck_assert(!limit_is_present(&limits.conditions[f]));
    }
    limits_clear(&limits);
    ck_assert_msg(read("rule: simple\n"
                       "figures: {lag_angle: {lower: 0.5 rad}, loop_area: {lower: 3 kJ/m3}}\n"
                       "conditions: {lag_angle: {lower: 10 deg, upper: 20 deg}, frequency: {upper: "
                       "0.1 kHz}}\nlot: {share: 0.5, confidence: 0.999999}\n",
                      &limits, &err) == STATUS_OK,
        "%s", err.message);
    ck_assert(limits.rule == RULE_SIMPLE && limits.has_lot);
    ck_assert_double_eq(limits.share, 0.5);
    ck_assert_double_eq(limits.confidence, 0.999999);
    ck_assert_double_eq_tol(limits.figures[FIGURE_LAG_ANGLE].lower, 0.5 * 90 / acos(0), 1e-12);
    ck_assert_double_eq_tol(limits.figures[FIGURE_LOOP_AREA].lower, 3000, 1e-9);
    ck_assert_double_eq_tol(limits.conditions[FIGURE_LAG_ANGLE].lower, 10, 1e-12);
    ck_assert_double_eq_tol(limits.conditions[FIGURE_LAG_ANGLE].upper, 20, 1e-12);
    ck_assert_double_eq_tol(limits.conditions[FIGURE_FREQUENCY].upper, 100, 1e-12);
    limits_clear(&limits);
    ck_assert(limits_read("no/such/limits.yaml", &limits, &err) != STATUS_OK);
    ck_assert_ptr_nonnull(strstr(err.message, "no/such/limits.yaml"));
}
END_TEST

START_TEST(knows_the_file_by_its_hash)
{
    /* printf 'figures: {remanence: {lower: 1 T}}\n' | sha256sum */
    static const char digest[] = "0ecdb26cfe5a58768b60683d1dca1ff6feefe6e7033e561927970a98caf69169";
    struct limits limits;
    struct error err = {0};
    ck_assert(read("figures: {remanence: {lower: 1 T}}\n", &limits, &err) == STATUS_OK);
    ck_assert_str_eq(limits.sha256, digest);
    ck_assert_str_eq(limits.source, "figures: {remanence: {lower: 1 T}}\n");
    limits_clear(&limits);
}
END_TEST

START_TEST(holds_its_borders)
{
    const struct limit limit = {.has_lower = true, .lower = 1, .upper = INFINITY};
    const struct limit below = {.has_upper = true, .lower = -INFINITY, .upper = 2}, open = {0};
    const struct limit both = {true, true, 1, 2};
    ck_assert(limit_holds(&limit, 1) && limit_holds(&limit, 2) && !limit_holds(&limit, 0.99));
    ck_assert(limit_holds(&below, 2) && limit_holds(&below, 1) && !limit_holds(&below, 2.01));
    ck_assert(limit_holds(&both, 1) && limit_holds(&both, 2));
    ck_assert(!limit_holds(&both, 0.99) && !limit_holds(&both, 2.01));
    ck_assert(limit_holds(&open, 5) && limit_holds(&open, -5));
    ck_assert(!limit_is_present(&open) && limit_is_present(&limit));
    ck_assert(limit_is_present(&below) && limit_is_present(&both));
    ck_assert_str_eq(decision_rule_get_name(RULE_GUARDED), "guarded");
    ck_assert_str_eq(decision_rule_get_name(RULE_SIMPLE), "simple");
}
END_TEST

Suite *limits_suite(void)
{
    Suite *suite = suite_create("limits");
    TCase *tests = tcase_create("limits");
    tcase_add_test(tests, reads_an_acceptance_file);
    tcase_add_loop_test(tests, refuses_what_is_no_limit_and_says_where, 0,
        sizeof refusal_list / sizeof *refusal_list);
    tcase_add_test(tests, takes_what_is_just_a_limit);
    tcase_add_test(tests, knows_the_file_by_its_hash);
    tcase_add_test(tests, holds_its_borders);
    suite_add_tcase(suite, tests);
    return suite;
}
