// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/study.h"

#include <string.h>

#include "suites.h"

#define ITEMS 9

static struct figures figure_list[ITEMS];
static struct lot_item items[ITEMS];
static const char *rigs[ITEMS];

/* Two rings of two heats and suppliers, on two benches, twice each; and a loop without coercivity.
 */
static void make_items(void)
{
    for (size_t i = 0; i < ITEMS; i++) {
        const size_t ring = i / 2 % 2, bench = i / 4 % 2;
        figure_list[i] = (struct figures){0};
        figures_set(&figure_list[i], FIGURE_REMANENCE, 0.9);
        if (i < 8) {
            figures_set(&figure_list[i], FIGURE_COERCIVITY,
                18000 + 500 * (double)ring + 60 * (double)bench + 10 * (double)(i % 2));
        }
        items[i] = (struct lot_item){.file = "",
            .sha256 = "",
            .supplier = bench == 0 ? "Northgate Foundry" : "Calder & Sons",
            .heat = bench == 0 ? "A" : "B",
            .specimen = ring == 0 ? "R-1" : "R-2",
            .figures = &figure_list[i]};
        rigs[i] = bench == 0 ? "bench 1" : "bench 2";
    }
}

/* Rings' means 18035 and 18535, benches' 18255 and 18315; repeats 10 apart. */
START_TEST(studies_the_condition_that_is_named)
{
    static const struct limit limit = {true, true, 17500, 20500};
    static const char *const names[STUDY_BY_COUNT][2] = {[STUDY_BY_RIG] = {"bench 1", "bench 2"},
        [STUDY_BY_HEAT] = {"A", "B"},
        [STUDY_BY_SUPPLIER] = {"Northgate Foundry", "Calder & Sons"}};
    static const char *const words[] = {"rig", "heat", "supplier"};
    struct study study;
    struct error err = {0};
    make_items();
    ck_assert_msg(study_create(items, rigs, ITEMS, (enum study_by)_i, FIGURE_COERCIVITY, &limit,
                      &study, &err) == STATUS_OK,
        "%s", err.message);
    ck_assert_str_eq(study_by_get_name(study.by), words[_i]);
    ck_assert_uint_eq(study.count, 8);
    ck_assert_uint_eq(study.specimen_count, 2);
    ck_assert_uint_eq(study.condition_count, 2);
    ck_assert_str_eq(study.specimens[1], "R-2");
    for (size_t i = 0; i < 2; i++) {
        ck_assert_str_eq(study.conditions[i], names[_i][i]);
    }
    ck_assert_double_eq_tol(study.gauge.by_specimen.squares, 8 * 250.0 * 250, 1e-6);
    ck_assert_double_eq_tol(study.gauge.by_condition.squares, 8 * 30.0 * 30, 1e-6);
    ck_assert_double_eq_tol(study.gauge.repeat.squares, 8 * 5.0 * 5, 1e-6);
    study_clear(&study);
    study_clear(&study);
}
END_TEST

START_TEST(refuses_a_study_of_a_figure_that_nothing_has)
{
    static const struct limit none = {false, false, 0, 0};
    struct study study = {0};
    struct error err = {0};
    make_items();
    ck_assert_int_eq(
        study_create(items, rigs, ITEMS, STUDY_BY_RIG, FIGURE_LOOP_AREA, &none, &study, &err),
        STATUS_INPUT);
    ck_assert_str_eq(err.message, "a gauge study of nothing");
    ck_assert_int_eq(
        study_create(items, rigs, 7, STUDY_BY_RIG, FIGURE_COERCIVITY, &none, &study, &err),
        STATUS_INPUT);
    ck_assert_str_eq(err.message, "in the gauge study 'R-2' has 1 value under 'bench 2', "
                                  "'R-1' has 2 values under 'bench 1'");
    ck_assert_ptr_null(study.values);
}
END_TEST

/* Each member holds its own number: a struct filled by hand, no number twice. */
START_TEST(writes_all_lines_of_its_table)
{
    const struct study study = {.figure = FIGURE_COERCIVITY,
        .gauge = {.specimens = 11,
            .conditions = 12,
            .repeats = 13,
            .by_specimen = {14, 15, 16},
            .by_condition = {17, 18, 19},
            .interaction = {20, 21, 22},
            .repeat = {23, 24, 25},
            .interaction_significance = 0.25,
            .repeatability = 26,
            .reproducibility = 27,
            .interaction_deviation = 28,
            .bench = 29,
            .specimen = 30,
            .share_of_total = 31,
            .share_of_tolerance = 32,
            .categories = 33}};
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    study_write_json(&json, &study);
    json_end_object(&json);
    ck_assert_str_eq(out.bytes,
        "{\"figure\": \"coercivity_A_per_m\", \"specimens\": 11, \"conditions\": 12, "
        "\"repeats\": 13, \"repeatability\": 26, \"reproducibility\": 27, \"interaction\": 28, "
        "\"interaction_significance\": 0.25, \"bench\": 29, \"between_specimens\": 30, "
        "\"share_of_total\": 31, \"share_of_tolerance\": 32, \"categories\": 33, "
        "\"by_specimen\": {\"sum_of_squares\": 14, \"degrees_of_freedom\": 15, "
        "\"mean_square\": 16}, "
        "\"by_condition\": {\"sum_of_squares\": 17, \"degrees_of_freedom\": 18, "
        "\"mean_square\": 19}, "
        "\"by_interaction\": {\"sum_of_squares\": 20, \"degrees_of_freedom\": 21, "
        "\"mean_square\": 22}, "
        "\"by_repeat\": {\"sum_of_squares\": 23, \"degrees_of_freedom\": 24, "
        "\"mean_square\": 25}}");
    text_clear(&out);
}
END_TEST

Suite *study_suite(void)
{
    Suite *suite = suite_create("study");
    TCase *tests = tcase_create("study");
    tcase_add_loop_test(tests, studies_the_condition_that_is_named, 0, STUDY_BY_COUNT);
    tcase_add_test(tests, refuses_a_study_of_a_figure_that_nothing_has);
    tcase_add_test(tests, writes_all_lines_of_its_table);
    suite_add_tcase(suite, tests);
    return suite;
}
