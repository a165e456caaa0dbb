// SPDX-License-Identifier: GPL-3.0-or-later
/* Each member of a verdict's JSON holds its own number: structs filled by hand, no number twice. */
#include <math.h>

#include "qualify/qualification.h"
#include "suites.h"

static struct limits limits;
static struct figures measured[2];
static struct lot_item items[2];
static size_t order[] = {1, 0};
static bool counts[] = {true, false};
static struct check checks[2];
static struct specimen_verdict specimens[2];
static struct heat_figure figures[2];
static struct heat_verdict heats[2];
static struct qualification made;

static void set_up(void)
{
    limits = (struct limits){.name = "RS-36",
        .sha256 = "0f0f",
        .rule = RULE_SIMPLE,
        .has_lot = true,
        .share = 0.9,
        .confidence = 0.95};
    limits.conditions[FIGURE_FREQUENCY] = (struct limit){true, true, 19, 21};
    measured[0] = measured[1] = (struct figures){0};
    figures_set(&measured[0], FIGURE_FREQUENCY, 20);
    figures_set(&measured[1], FIGURE_FREQUENCY, 50);
    items[0] = (struct lot_item){"a.flac", "aa", "Northgate Foundry", "H1", "R-1", &measured[0]};
    items[1] = (struct lot_item){"b.flac", "", "", "H2", "R-2", &measured[1]};
    checks[0] = (struct check){FIGURE_COERCIVITY, 3,
        {.value = 19000,
            .u = 100,
            .limit = {true, true, 17500, 20500},
            .accept_lower = 17600,
            .accept_upper = 20400,
            .probability_conforming = 0.75,
            .consumer_risk = 0.25,
            .producer_risk = NAN,
            .verdict = VERDICT_ACCEPTED}};
    checks[1] = (struct check){FIGURE_COERCIVITY, 0,
        {.value = NAN,
            .u = NAN,
            .limit = {true, false, 17000, INFINITY},
            .accept_lower = 1,
            .accept_upper = 2,
            .probability_conforming = NAN,
            .consumer_risk = NAN,
            .producer_risk = 0.125,
            .verdict = VERDICT_UNDECIDED}};
    specimens[0] = (struct specimen_verdict){.supplier = "Northgate Foundry",
        .heat = "H1",
        .specimen = "R-1",
        .checks = &checks[0],
        .verdict = VERDICT_ACCEPTED,
        .all_least = 0.5,
        .all_most = 0.625};
    specimens[1] = (struct specimen_verdict){.supplier = "",
        .heat = "H2",
        .specimen = "R-2",
        .checks = &checks[1],
        .verdict = VERDICT_UNDECIDED,
        .all_least = NAN,
        .all_most = NAN};
    figures[0] = (struct heat_figure){.figure = FIGURE_COERCIVITY,
        .has_lot = true,
        .lot = {.values = 9,
            .specimens = 4,
            .summary = {.mean = 19100, .deviation = 60},
            .u = 110,
            .has_normality = true,
            .normality = {.w = 0.96, .significance = 0.4},
            .repeat_deviation = 7,
            .steel_deviation = 58,
            .factor = 3.5,
            .tolerance_lower = 18900,
            .tolerance_upper = 19300,
            .share = 0.98,
            .share_confident = 0.93,
            .wanted = 5,
            .verdict = VERDICT_REJECTED},
        .has_capability = true,
        .capability = {.cp = 1.5,
            .cp_lower = 1.25,
            .cp_upper = 1.75,
            .cpk = 1.375,
            .cpk_lower = 1.125,
            .cpk_upper = 1.625,
            .cpk_least = 1.1}};
    figures[1] = (struct heat_figure){.figure = FIGURE_COERCIVITY};
    heats[0] = (struct heat_verdict){.supplier = "Northgate Foundry",
        .heat = "H1",
        .count = 6,
        .figures = &figures[0],
        .specimens = VERDICT_ACCEPTED,
        .lot = VERDICT_REJECTED,
        .verdict = VERDICT_REJECTED};
    heats[1] = (struct heat_verdict){.supplier = "",
        .heat = "H2",
        .count = 1,
        .figures = &figures[1],
        .specimens = VERDICT_UNDECIDED,
        .lot = VERDICT_ACCEPTED,
        .verdict = VERDICT_UNDECIDED};
    made = (struct qualification){.limits = &limits,
        .items = items,
        .item_count = 2,
        .loops = items,
        .loop_count = 2,
        .order = order,
        .counts = counts,
        .figure_count = 1,
        .figures = {FIGURE_COERCIVITY},
        .specimens = specimens,
        .specimen_count = 2,
        .heats = heats,
        .heat_count = 2,
        .verdict = VERDICT_REJECTED};
}

static void check_verdict(const char *expected)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    qualification_write_json(&json, &made);
    json_end_object(&json);
    ck_assert_str_eq(out.bytes, expected);
    text_clear(&out);
}

START_TEST(a_verdict_is_told_whole)
{
    check_verdict(
        "{\"verdict\": \"rejected\", \"limits\": \"RS-36\", \"limits_sha256\": \"0f0f\", "
        "\"rule\": \"simple\", \"checks\": [{\"supplier\": \"Northgate Foundry\", "
        "\"heat\": \"H1\", \"specimen\": \"R-1\", \"figure\": \"coercivity_A_per_m\", "
        "\"loops\": 3, \"value\": 19000, \"u\": 100, \"lower\": 17500, \"upper\": 20500, "
        "\"accept_lower\": 17600, \"accept_upper\": 20400, "
        "\"probability_conforming\": 0.75, \"consumer_risk\": 0.25, "
        "\"verdict\": \"accepted\"}, {\"heat\": \"H2\", \"specimen\": \"R-2\", "
        "\"figure\": \"coercivity_A_per_m\", \"loops\": 0, \"lower\": 17000, "
        "\"producer_risk\": 0.125, \"verdict\": \"undecided\"}], "
        "\"rings\": [{\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", "
        "\"specimen\": \"R-1\", \"verdict\": \"accepted\", "
        "\"probability_conforming_all_least\": 0.5, "
        "\"probability_conforming_all_most\": 0.625}, {\"heat\": \"H2\", "
        "\"specimen\": \"R-2\", \"verdict\": \"undecided\"}], "
        "\"lots\": [{\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", "
        "\"specimens\": 6, \"verdict\": \"rejected\", \"verdict_specimens\": \"accepted\", "
        "\"verdict_lot\": \"rejected\", \"share\": 0.9, \"confidence\": 0.95, "
        "\"figures\": [{\"figure\": \"coercivity_A_per_m\", \"values\": 9, "
        "\"specimens\": 4, \"mean\": 19100, \"u\": 110, \"deviation\": 60, "
        "\"repeat_deviation\": 7, \"steel_deviation\": 58, \"normality_w\": 0.96, "
        "\"normality_significance\": 0.4, \"tolerance_factor\": 3.5, "
        "\"tolerance_lower\": 18900, \"tolerance_upper\": 19300, "
        "\"share_conforming\": 0.98, \"share_conforming_confident\": 0.93, "
        "\"specimens_wanted\": 5, \"capability\": {\"cp\": 1.5, \"cp_lower\": 1.25, "
        "\"cp_upper\": 1.75, \"cpk\": 1.375, \"cpk_lower\": 1.125, \"cpk_upper\": 1.625, "
        "\"cpk_least\": 1.1}, \"verdict\": \"rejected\"}]}, {\"heat\": \"H2\", "
        "\"specimens\": 1, \"verdict\": \"undecided\", "
        "\"verdict_specimens\": \"undecided\", \"verdict_lot\": \"accepted\", "
        "\"share\": 0.9, \"confidence\": 0.95, "
        "\"figures\": [{\"figure\": \"coercivity_A_per_m\", "
        "\"verdict\": \"undecided\"}]}], \"left_out\": [{\"file\": \"b.flac\", "
        "\"condition\": \"frequency_Hz\", \"value\": 50}], \"captures\": [{\"heat\": \"H2\", "
        "\"specimen\": \"R-2\", \"file\": \"b.flac\"}, {\"supplier\": \"Northgate Foundry\", "
        "\"heat\": \"H1\", \"specimen\": \"R-1\", \"file\": \"a.flac\", \"sha256\": \"aa\"}]}");
}
END_TEST

/* One heat is "lot", not in a list; without a lot's share nothing is told of it. */
START_TEST(a_verdict_on_one_heat_is_told_whole)
{
    limits = (struct limits){.rule = RULE_GUARDED};
    figures[0].lot.has_normality = figures[0].has_capability = false;
    figures[0].lot.factor = figures[0].lot.repeat_deviation = NAN;
    made.heat_count = made.specimen_count = made.item_count = 1;
    made.loop_count = 2; /* interpolated from two */
    check_verdict(
        "{\"verdict\": \"rejected\", \"rule\": \"guarded\", "
        "\"checks\": [{\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", "
        "\"specimen\": \"R-1\", \"figure\": \"coercivity_A_per_m\", \"loops\": 3, "
        "\"value\": 19000, \"u\": 100, \"lower\": 17500, \"upper\": 20500, "
        "\"accept_lower\": 17600, \"accept_upper\": 20400, "
        "\"probability_conforming\": 0.75, \"consumer_risk\": 0.25, "
        "\"verdict\": \"accepted\"}], \"rings\": [{\"supplier\": \"Northgate Foundry\", "
        "\"heat\": \"H1\", \"specimen\": \"R-1\", \"verdict\": \"accepted\", "
        "\"probability_conforming_all_least\": 0.5, "
        "\"probability_conforming_all_most\": 0.625}], "
        "\"lot\": {\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", \"specimens\": 6, "
        "\"verdict\": \"rejected\", \"verdict_specimens\": \"accepted\", "
        "\"figures\": [{\"figure\": \"coercivity_A_per_m\", \"values\": 9, "
        "\"specimens\": 4, \"mean\": 19100, \"u\": 110, \"deviation\": 60, "
        "\"steel_deviation\": 58, \"share_conforming\": 0.98, "
        "\"share_conforming_confident\": 0.93}]}, \"left_out\": [], "
        "\"captures\": [{\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", "
        "\"specimen\": \"R-1\", \"file\": \"a.flac\", \"sha256\": \"aa\"}, {\"heat\": \"H2\", "
        "\"specimen\": \"R-2\", \"file\": \"b.flac\"}]}");
}
END_TEST

Suite *verdict_json_suite(void)
{
    Suite *suite = suite_create("verdict_json");
    TCase *tests = tcase_create("verdict_json");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, a_verdict_is_told_whole);
    tcase_add_test(tests, a_verdict_on_one_heat_is_told_whole);
    suite_add_tcase(suite, tests);
    return suite;
}
