// SPDX-License-Identifier: GPL-3.0-or-later
/* What the report on a bench says, from studies whose deviations follow from their values. */
#include "paper/gauge_sheet.h"

#include <string.h>

#include "base/memory.h"
#include "paper/report_data.h"
#include "scratch.h"
#include "sheet_text.h"
#include "suites.h"

#define MOST 64

static struct figures figure_list[MOST];
static struct lot_item items[MOST];
static struct report_input inputs[MOST];
static const char *rigs[MOST];
static size_t item_count;
static struct study studies[2];

static struct error err;

static char *write_sheet(const struct gauge_sheet_input *input)
{
    struct report_sheet sheet = {0};
    ck_assert_msg(gauge_sheet_create(input, &sheet, &err) == STATUS_OK, "%s", err.message);
    return sheet_write_html(&sheet);
}

/* `rings` rings 500 A/m apart, on `benches` benches `step` A/m apart, twice each, -+`repeat`. */
static void make_items(size_t rings, size_t benches, double step, double repeat)
{
    static const char *const names[] = {"R-1", "R-2", "R-3", "R-4"};
    static const char *const bench_names[] = {
        "bench 1", "bench 2", "bench 3", "bench 4", "bench 5", "bench 6", "bench 7", "bench 8"};
    item_count = 0;
    for (size_t i = 0; i < 2 * rings * benches; i++) {
        const size_t ring = i / 2 % rings, bench = i / 2 / rings;
        struct figures *figures = &figure_list[i];
        *figures = (struct figures){0};
        figures_set(figures, FIGURE_COERCIVITY,
            18000 + 500 * (double)ring + step * (double)bench + (i % 2 == 0 ? repeat : -repeat));
        figures_set(
            figures, FIGURE_SQUARENESS, 0.8 + 0.01 * (double)ring + (i % 2 == 0 ? 0.001 : -0.001));
        items[i] = (struct lot_item){.file = "ring.flac",
            .sha256 = "0a",
            .supplier = "Northgate Foundry",
            .heat = "H1",
            .specimen = names[ring],
            .figures = figures};
        rigs[i] = bench_names[bench];
        inputs[i] = (struct report_input){.capture_sha256 = "0a",
            .name = "ring.flac",
            .specimen = names[ring],
            .heat = "H1",
            .supplier = "Northgate Foundry",
            .rig = rigs[i],
            .rig_calibrated = "",
            .figures = figures};
        item_count++;
    }
}

static void study(size_t at, enum study_by by, enum figure figure, const struct limit *limit)
{
    ck_assert_msg(
        study_create(items, rigs, item_count, by, figure, limit, &studies[at], &err) == STATUS_OK,
        "%s", err.message);
}

static struct gauge_sheet_input get_input(size_t count)
{
    return (struct gauge_sheet_input){.studies = studies,
        .count = count,
        .inputs = inputs,
        .input_count = item_count,
        .words = {.number = "G-1"}};
}

static void leave(void)
{
    study_clear(&studies[0]);
    study_clear(&studies[1]);
    scratch_leave();
}

static const struct limit none = {false, false, 0, 0};

/* Two rings on two benches 100 A/m apart, repeats -+10: variances 200 and 100^2/2 (A/m)^2, since no
 * bench sees a ring in another way; six times the root of both over 3 kA/m is 14.4 %. */
START_TEST(parts_repeats_benches_and_rings)
{
    static const struct limit limit = {true, true, 17500, 20500};
    static const char *const parts[] = {"% of the tolerance", "<dt>Rings</dt>\n<dd>R-1, R-2</dd>",
        "<dt>Rigs</dt>\n<dd>bench 1</dd>", "<dd>2 of each ring under each condition</dd>",
        "coercivity: six standard deviations of the bench take", "<h2>The bench and the rings</h2>",
        "0.014 kA/m</td><td class=\"number\">0.071 kA/m</td><td class=\"number\">0.072 kA/m",
        ">14.4 %<", "both together (interaction)", "squares in (A/m)\u00B2",
        "Repeated values of coercivity of 2 rings under 2 conditions", "<h2>Recordings</h2>", NULL};
    make_items(2, 2, 100, 10);
    study(0, STUDY_BY_RIG, FIGURE_COERCIVITY, &limit);
    const struct gauge_sheet_input input = get_input(1);
    char *html = write_sheet(&input);
    sheet_check_parts(html, parts);
    ck_assert(strstr(html, "nothing is told of reproducibility") == NULL);
    memory_destroy(html);
}
END_TEST

/* One heat, one bench that scatters as much as the rings do; squareness has no unit. */
START_TEST(warns_of_a_bench_that_cannot_tell_the_rings_apart)
{
    static const char *const parts[] = {"The bench beside the rings",
        "one heat only: nothing is told of reproducibility", "classes of these rings",
        "<dt>Heats</dt>\n<dd>H1</dd>", "<dd>2 of each ring</dd>", "coercivity: the bench takes",
        "Analysis of variance of squareness<", NULL};
    make_items(2, 1, 0, 200);
    study(0, STUDY_BY_HEAT, FIGURE_COERCIVITY, &none);
    study(1, STUDY_BY_HEAT, FIGURE_SQUARENESS, &none);
    const struct gauge_sheet_input input = get_input(2);
    char *html = write_sheet(&input);
    sheet_check_parts(html, parts);
    ck_assert(strstr(html, "of the tolerance") == NULL);
    ck_assert(strstr(html, "interaction)") == NULL);
    memory_destroy(html);
}
END_TEST

START_TEST(takes_many_benches_into_one_picture)
{
    make_items(4, 8, 30, 5);
    study(0, STUDY_BY_RIG, FIGURE_COERCIVITY, &none);
    const struct gauge_sheet_input input = get_input(1);
    char *html = write_sheet(&input);
    ck_assert(strstr(html, "of 4 rings under 8 conditions") != NULL);
    ck_assert(strstr(html, "<dd>bench 8</dd>") != NULL);
    memory_destroy(html);
}
END_TEST

START_TEST(keeps_the_studies_that_it_shows)
{
    struct report_envelope envelope;
    struct text out = {0};
    make_items(2, 2, 100, 10);
    study(0, STUDY_BY_RIG, FIGURE_COERCIVITY, &none);
    study(1, STUDY_BY_RIG, FIGURE_SQUARENESS, &none);
    const struct gauge_sheet_input input = get_input(2);
    ck_assert_int_eq(gauge_sheet_write_data(&input, &out, &err), STATUS_OK);
    ck_assert_int_eq(report_data_read("memory", out.bytes, out.length, &envelope, &err), STATUS_OK);
    ck_assert_str_eq(envelope.kind, "gauge");
    ck_assert(envelope.is_unchanged);
    ck_assert(strstr(out.bytes, "\"gauge\": [{\"schema\": \"lodecard-gauge/1\"") != NULL);
    ck_assert(strstr(out.bytes, "\"figure\": \"squareness\"") != NULL);
    text_clear(&out);
}
END_TEST

Suite *gauge_sheet_suite(void)
{
    Suite *suite = suite_create("gauge_sheet");
    TCase *tests = tcase_create("gauge_sheet");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, scratch_enter, leave);
    tcase_add_test(tests, parts_repeats_benches_and_rings);
    tcase_add_test(tests, warns_of_a_bench_that_cannot_tell_the_rings_apart);
    tcase_add_test(tests, takes_many_benches_into_one_picture);
    tcase_add_test(tests, keeps_the_studies_that_it_shows);
    suite_add_tcase(suite, tests);
    return suite;
}
