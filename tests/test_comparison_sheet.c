// SPDX-License-Identifier: GPL-3.0-or-later
/* What the report on two sides says, from rings whose means differ by what is written here. */
#include "paper/comparison_sheet.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/report_data.h"
#include "scratch.h"
#include "sheet_text.h"
#include "suites.h"

#define RINGS 4 /* of a side */

static const double offs[RINGS] = {-30, -10, 10, 30};
static struct figures figure_list[2 * RINGS];
static struct lot_item items[2 * RINGS];
static struct report_input inputs[2 * RINGS];
static struct comparison_part parts[2]; /* coercivity, remanence */

static struct error err;

static char *write_sheet(const struct comparison_sheet_input *input)
{
    struct report_sheet sheet = {0};
    ck_assert_msg(comparison_sheet_create(input, &sheet, &err) == STATUS_OK, "%s", err.message);
    return sheet_write_html(&sheet);
}

/* The second side has `step` more coercivity and `times` the scatter; remanence is alike. */
static void make_items(double step, double times)
{
    static const char *const names[RINGS] = {"1", "2", "3", "4"};
    for (size_t i = 0; i < 2 * RINGS; i++) {
        const bool is_second = i >= RINGS;
        const double off = offs[i % RINGS] * (is_second ? times : 1);
        figure_list[i] = (struct figures){0};
        figures_set(&figure_list[i], FIGURE_COERCIVITY, 19000 + (is_second ? step : 0) + off);
        figures_set(&figure_list[i], FIGURE_REMANENCE, 0.95 + 1e-5 * offs[i % RINGS]);
        items[i] = (struct lot_item){.file = "ring.flac",
            .sha256 = "0a",
            .supplier = is_second ? "Calder & Sons" : "Northgate Foundry",
            .heat = is_second ? "C7" : "H1",
            .specimen = names[i % RINGS],
            .figures = &figure_list[i]};
        inputs[i] = (struct report_input){.capture_sha256 = "0a",
            .name = "ring.flac",
            .specimen = names[i % RINGS],
            .heat = items[i].heat,
            .supplier = items[i].supplier,
            .rig = "bench 2",
            .rig_calibrated = "",
            .figures = &figure_list[i]};
    }
}

static void compare(
    struct comparison_part *part, enum figure figure, enum sides_by by, double margin)
{
    ck_assert_int_eq(sides_create(items, 2 * RINGS, by, figure, &part->sides, &err), STATUS_OK);
    const struct lot_sample a = {part->sides.values[0], part->sides.counts[0]};
    const struct lot_sample b = {part->sides.values[1], part->sides.counts[1]};
    ck_assert_msg(comparison_compute(a, b, 0, margin, 0.95, &part->comparison, &err) == STATUS_OK,
        "%s", err.message);
    part->limit = NULL;
}

static struct comparison_sheet_input get_input(size_t count)
{
    return (struct comparison_sheet_input){.parts = parts,
        .count = count,
        .confidence = 0.95,
        .inputs = inputs,
        .input_count = 2 * RINGS,
        .alloy = "",
        .words = {.number = "C-1"}};
}

static void leave(void)
{
    sides_clear(&parts[0].sides);
    sides_clear(&parts[1].sides);
    scratch_leave();
}

/* Means 1 A/m apart with rings of +-30: within 100 A/m, and as alike in remanence. */
START_TEST(finds_two_suppliers_equivalent_within_a_margin)
{
    static const struct limit limit = {true, true, 17500, 20500};
    static const char *const words[] = {"<h1>Comparison of two suppliers</h1>", "Equivalent",
        "<dt>Alloy</dt>\n<dd>RS-36</dd>",
        "<dt>First supplier</dt>\n<dd>Northgate Foundry; 4 rings</dd>",
        "<dt>Second supplier</dt>\n<dd>Calder &amp; Sons; 4 rings</dd>", "margin 0.1 kA/m",
        "two one-sided tests against the margin (Schuirmann 1987)",
        "Calder &amp; Sons less Northgate Foundry, with its 95 % interval", "Lines across: limits.",
        "Difference of coercivity with its interval, between the margins", NULL};
    make_items(1, 1);
    compare(&parts[0], FIGURE_COERCIVITY, SIDES_BY_ANY, 100);
    compare(&parts[1], FIGURE_REMANENCE, SIDES_BY_ANY, 0.01);
    parts[0].limit = &limit;
    struct comparison_sheet_input input = get_input(2);
    input.alloy = "RS-36";
    ck_assert(comparison_sheet_get_verdict(&input) == EQUIVALENT);
    char *html = write_sheet(&input);
    sheet_check_parts(html, words);
    ck_assert(strstr(html, "scatter") == NULL);
    memory_destroy(html);
}
END_TEST

/* One figure that differs decides; a p that small is not written out. */
START_TEST(tells_heats_that_differ_in_one_figure)
{
    static const char *const words[] = {"<h1>Comparison of two heats</h1>", "heat H1 and heat C7",
        "Different", "&lt; 0.01 %", "<dt>First heat</dt>", "coercivity: different; difference 1.0",
        "remanence: cannot tell", "Each mark a ring; box: quartiles and median.", NULL};
    make_items(1000, 1);
    compare(&parts[0], FIGURE_COERCIVITY, SIDES_BY_HEAT, 0);
    compare(&parts[1], FIGURE_REMANENCE, SIDES_BY_HEAT, 0);
    const struct comparison_sheet_input input = get_input(2);
    ck_assert(comparison_sheet_get_verdict(&input) == DIFFERENT);
    char *html = write_sheet(&input);
    sheet_check_parts(html, words);
    ck_assert(strstr(html, "Schuirmann") == NULL && strstr(html, "margin 0") == NULL);
    ck_assert(strstr(html, "between the margins") == NULL);
    memory_destroy(html);
}
END_TEST

/* Ten times the scatter about the same mean: F = 100 of 3 and 3 degrees of freedom, p = 0.33 %. */
START_TEST(warns_when_means_agree_but_scatter_does_not)
{
    static const char *const words[] = {"Cannot tell",
        "the rings of Calder &amp; Sons scatter 10 times as much as those of Northgate Foundry (F "
        "test, p = 0.0033)",
        "equal means are not equal lots", NULL};
    make_items(0, 10);
    compare(&parts[0], FIGURE_COERCIVITY, SIDES_BY_ANY, 50);
    const struct comparison_sheet_input input = get_input(1);
    ck_assert(comparison_sheet_get_verdict(&input) == CANNOT_TELL);
    char *html = write_sheet(&input);
    sheet_check_parts(html, words);
    memory_destroy(html);
}
END_TEST

START_TEST(keeps_the_comparisons_that_it_shows)
{
    struct report_envelope envelope;
    struct text out = {0};
    make_items(1, 1);
    compare(&parts[0], FIGURE_COERCIVITY, SIDES_BY_ANY, 100);
    compare(&parts[1], FIGURE_REMANENCE, SIDES_BY_ANY, 0);
    const struct comparison_sheet_input input = get_input(2);
    ck_assert_int_eq(comparison_sheet_write_data(&input, &out, &err), STATUS_OK);
    ck_assert_int_eq(report_data_read("memory", out.bytes, out.length, &envelope, &err), STATUS_OK);
    ck_assert_str_eq(envelope.kind, "compare");
    ck_assert(envelope.is_unchanged);
    ck_assert(strstr(out.bytes, "\"figure\": \"coercivity_A_per_m\"") != NULL);
    ck_assert(strstr(out.bytes, "\"figure\": \"remanence_T\"") != NULL);
    text_clear(&out);
}
END_TEST

Suite *comparison_sheet_suite(void)
{
    Suite *suite = suite_create("comparison_sheet");
    TCase *tests = tcase_create("comparison_sheet");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, scratch_enter, leave);
    tcase_add_test(tests, finds_two_suppliers_equivalent_within_a_margin);
    tcase_add_test(tests, tells_heats_that_differ_in_one_figure);
    tcase_add_test(tests, warns_when_means_agree_but_scatter_does_not);
    tcase_add_test(tests, keeps_the_comparisons_that_it_shows);
    suite_add_tcase(suite, tests);
    return suite;
}
