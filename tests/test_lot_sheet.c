// SPDX-License-Identifier: GPL-3.0-or-later
/* What the report on a lot says, from rings whose verdicts follow from their figures. */
#include "paper/lot_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "paper/report_data.h"
#include "scratch.h"
#include "sheet_text.h"
#include "suites.h"

#define ITEMS 24

static struct figures figure_list[ITEMS];
static struct lot_item items[ITEMS];
static struct report_input inputs[ITEMS];
static size_t item_count;
static struct limits limits;
static struct qualification made;
static struct error err;

static void enter(void)
{
    static char name[] = "RS-36 & more";
    scratch_enter();
    item_count = 0;
    limits = (struct limits){
        .name = name, .rule = RULE_GUARDED, .has_lot = true, .share = 0.9, .confidence = 0.9};
    limits.figures[FIGURE_COERCIVITY] = (struct limit){true, true, 17500, 20500};
    strcpy(limits.sha256, "abc");
}

static void leave(void)
{
    qualification_clear(&made);
    scratch_leave();
}

/* A loop; not measured where `coercivity` is 0. */
static void add(
    const char *supplier, const char *heat, const char *ring, double coercivity, double u)
{
    struct figures *figures = &figure_list[item_count];
    *figures = (struct figures){0};
    figures_set(figures, FIGURE_FIELD_PEAK, 30000);
    if (coercivity > 0) {
        figures_set(figures, FIGURE_COERCIVITY, coercivity);
        figures_set_u(figures, FIGURE_COERCIVITY, u);
    }
    items[item_count] = (struct lot_item){.file = "ring.flac",
        .sha256 = "0a",
        .supplier = supplier,
        .heat = heat,
        .specimen = ring,
        .figures = figures};
    inputs[item_count] = (struct report_input){.capture_sha256 = "0a",
        .name = "ring.flac",
        .specimen = ring,
        .heat = heat,
        .supplier = supplier,
        .rig = "bench 2",
        .rig_calibrated = "2026-11-01",
        .figures = figures};
    item_count++;
}

static struct lot_sheet_input qualify(void)
{
    ck_assert_msg(qualification_create(items, item_count, &limits, &made, &err) == STATUS_OK, "%s",
        err.message);
    return (struct lot_sheet_input){.qualification = &made,
        .inputs = inputs,
        .input_count = item_count,
        .alloy = "",
        .condition = "",
        .words = {.number = "L-1"}};
}

static char *write_sheet(const struct lot_sheet_input *input)
{
    struct report_sheet sheet = {0};
    ck_assert_msg(lot_sheet_create(input, &sheet, &err) == STATUS_OK, "%s", err.message);
    return sheet_write_html(&sheet);
}

/* Eight rings well inside: mean 19000, +-30 at most. */
static void add_good(const char *supplier, const char *heat)
{
    static const char *const rings[] = {"1", "2", "3", "4", "5", "6", "7", "8"};
    static const double offs[] = {-30, -18, -10, -3, 3, 10, 18, 30};
    for (size_t i = 0; i < 8; i++) {
        add(supplier, heat, rings[i], 19000 + offs[i], 5);
    }
}

START_TEST(accepts_a_good_lot_with_all_that_it_rests_on)
{
    static const char *const parts[] = {"<h1>Qualification of a lot</h1>", "Accepted",
        "Northgate Foundry, heat H1: 8 of 8 rings accepted; the lot is accepted.",
        "<dt>Alloy</dt>\n<dd>RS-36</dd>", "<dt>Condition</dt>\n<dd>aged</dd>",
        "Northgate Foundry, heat H1; 8 rings", "RS-36 &amp; more; SHA-256 abc",
        "coercivity: 17.5 to 20.5 kA/m", "peak field strength: at least 25 kA/m",
        "guarded: a ring is accepted inside the limits drawn in",
        "90 % of it must conform, with a confidence of 90 %", "Normal plot", "tolerance factor k",
        "verdict on the lot", "Dashed: tolerance interval of the lot", "<h2>Recordings</h2>", NULL};
    add_good("Northgate Foundry", "H1");
    limits.conditions[FIGURE_FIELD_PEAK] = (struct limit){true, false, 25000, INFINITY};
    struct lot_sheet_input input = qualify();
    input.alloy = "RS-36";
    input.condition = "aged";
    char *html = write_sheet(&input);
    sheet_check_parts(html, parts);
    ck_assert(strstr(html, ">undecided<") == NULL && strstr(html, "Left out") == NULL);
    memory_destroy(html);
}
END_TEST

/* 17520 lies 20 inside with a guard of 1.645 times 50; 21000 lies beyond. */
START_TEST(tells_ring_by_ring_what_decides_against_them)
{
    static const char *const parts[] = {"Rejected",
        "heat H1: 2 of 5 rings accepted, 2 undecided, 1 rejected; the lot is rejected.",
        "closer to a limit than its uncertainty allows",
        "was not measured under the conditions of the acceptance file",
        "measure it at the conditions asked for", ">not measured<", ">P ", ">C ",
        "mean and deviation themselves tell of too many rings beyond the limits", NULL};
    add("", "H1", "near", 17520, 50);
    add("", "H1", "beyond", 21000, 50);
    add("", "H1", "missing", 0, 0);
    add("", "H1", "good", 19000, 50);
    add("", "H1", "better", 18900, 50);
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input);
    sheet_check_parts(html, parts);
    memory_destroy(html);
}
END_TEST

START_TEST(tells_when_the_uncertainty_leaves_nothing_to_accept)
{
    add("Northgate Foundry", "", "1", 19000, 2000);
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input);
    static const char *const parts[] = {"Undecided",
        "Northgate Foundry, no heat stated: 0 of 1 ring", "nothing: u is too large",
        "the uncertainty leaves nothing to accept between these limits", NULL};
    sheet_check_parts(html, parts);
    ck_assert(strstr(html, "Normal plot") == NULL);
    memory_destroy(html);
}
END_TEST

/* Three rings with a wide scatter: more of them would show it. */
START_TEST(says_how_many_more_rings_would_do)
{
    add("Northgate Foundry", "H1", "1", 18700, 10);
    add("Northgate Foundry", "H1", "2", 19000, 10);
    add("Northgate Foundry", "H1", "3", 19300, 10);
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input), words[120];
    const struct lot_figure *lot = &made.heats[0].figures[0].lot;
    ck_assert_uint_gt(lot->wanted, 3);
    snprintf(words, sizeof words, "measure %zu more ring%s; if they scatter like these",
        lot->wanted - 3, lot->wanted == 4 ? "" : "s");
    ck_assert_msg(strstr(html, words) != NULL, "no '%s'", words);
    memory_destroy(html);
}
END_TEST

/* One ring far off: no normal population. Repeats on a ring show as loops. */
START_TEST(warns_of_rings_that_are_not_normal_and_of_coarse_benches)
{
    add_good("Northgate Foundry", "H1");
    add("Northgate Foundry", "H1", "1", 18972, 5);
    add("Northgate Foundry", "H1", "odd", 19900, 400);
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input);
    ck_assert(strstr(html, "these rings do not lie as those of a normal population would") != NULL);
    ck_assert(strstr(html, "times the deviation between rings") != NULL);
    ck_assert(strstr(html, "9 (10 loops)") != NULL);
    ck_assert(strstr(html, "of repeats on a ring") != NULL);
    memory_destroy(html);
}
END_TEST

/* The rule without guard, no demands on the lot, a limit on one side, loops under other conditions.
 */
START_TEST(leaves_out_what_the_file_does_not_ask_for)
{
    limits.rule = RULE_SIMPLE;
    limits.has_lot = false;
    limits.name = NULL;
    limits.figures[FIGURE_COERCIVITY] = (struct limit){true, false, 17500, INFINITY};
    limits.conditions[FIGURE_FIELD_PEAK] = (struct limit){false, true, -INFINITY, 31000};
    limits.conditions[FIGURE_FREQUENCY] = (struct limit){true, true, 19, 21};
    add_good("Northgate Foundry", "H1");
    for (size_t i = 0; i < 7; i++) {
        figures_set(&figure_list[i], FIGURE_FREQUENCY, 20);
    }
    figures_set(&figure_list[3], FIGURE_FIELD_PEAK, 32000);
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input);
    static const char *const parts[] = {"simple: a ring", "<dd>SHA-256 abc</dd>",
        "at least 17.5 kA/m", "at most 31 kA/m", "whose frequency is not known",
        "whose peak field strength is 32", "Bars: expanded uncertainty U. Lines: limits.",
        "Each mark a ring; box: quartiles and median. Lines across: limits.", NULL};
    sheet_check_parts(html, parts);
    ck_assert(strstr(html, "tolerance factor") == NULL);
    ck_assert(strstr(html, "the lot is") == NULL);
    memory_destroy(html);
}
END_TEST

/* Twelve rings are told one by one, and the first three heats in the title. */
START_TEST(sums_up_what_would_fill_pages)
{
    static const char *const rings[] = {
        "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14", "15"};
    static const char *const heats[] = {"H2", "H3", "H4", "H5"};
    for (size_t i = 0; i < 15; i++) {
        add("Northgate Foundry", "H1", rings[i], 22000 + 10 * (double)i, 20);
    }
    for (size_t i = 0; i < 4; i++) {
        add("Northgate Foundry", heats[i], "1", 19000, 20);
    }
    const struct lot_sheet_input input = qualify();
    char *html = write_sheet(&input);
    static const char *const parts[] = {"3 more values of rings are not accepted",
        "heat H3 \u00B7 and 2 more", "The rings of 5 heats side by side", NULL};
    sheet_check_parts(html, parts);
    memory_destroy(html);
}
END_TEST

START_TEST(keeps_the_verdict_that_it_shows)
{
    struct report_envelope envelope;
    struct text out = {0};
    add_good("Northgate Foundry", "H1");
    const struct lot_sheet_input input = qualify();
    ck_assert_int_eq(lot_sheet_write_data(&input, &out, &err), STATUS_OK);
    ck_assert_int_eq(report_data_read("memory", out.bytes, out.length, &envelope, &err), STATUS_OK);
    ck_assert_str_eq(envelope.kind, "lot");
    ck_assert(envelope.is_unchanged);
    ck_assert(strstr(out.bytes, "\"verdict\": {\"schema\": \"lodecard-verdict/1\"") != NULL);
    ck_assert(strstr(out.bytes, "\"verdict\": \"accepted\"") != NULL);
    text_clear(&out);
}
END_TEST

Suite *lot_sheet_suite(void)
{
    Suite *suite = suite_create("lot_sheet");
    TCase *tests = tcase_create("lot_sheet");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, enter, leave);
    tcase_add_test(tests, accepts_a_good_lot_with_all_that_it_rests_on);
    tcase_add_test(tests, tells_ring_by_ring_what_decides_against_them);
    tcase_add_test(tests, tells_when_the_uncertainty_leaves_nothing_to_accept);
    tcase_add_test(tests, says_how_many_more_rings_would_do);
    tcase_add_test(tests, warns_of_rings_that_are_not_normal_and_of_coarse_benches);
    tcase_add_test(tests, leaves_out_what_the_file_does_not_ask_for);
    tcase_add_test(tests, sums_up_what_would_fill_pages);
    tcase_add_test(tests, keeps_the_verdict_that_it_shows);
    suite_add_tcase(suite, tests);
    return suite;
}
