// SPDX-License-Identifier: GPL-3.0-or-later
/* What the sheet of a steel says, from a table of loops that obey W = B^2 (1000 + 10 f) J/m³. */
#include "paper/series_sheet.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "paper/report_data.h"
#include "scratch.h"
#include "suites.h"

enum { PEAKS = 3, FREQUENCIES = 4 };
static const double peaks[PEAKS] = {0.5, 1, 1.5}, frequencies[FREQUENCIES] = {10, 20, 50, 100};

static struct series series;
static struct report_input inputs[PEAKS * FREQUENCIES];
static struct error err;

static void enter(void)
{
    static const char *const path = "loops.csv";
    static const struct series_options options = {.threads = 1, .terms = 2};
    struct text table = {0};
    scratch_enter();
    series = (struct series){0};
    text_add(&table, "frequency (Hz),flux density peak (T),field strength peak (kA/m),"
                     "remanence (T),coercivity (A/m),loop area (J/m3)\n");
    for (int f = 0; f < FREQUENCIES; f++) {
        for (int p = 0; p < PEAKS; p++) {
            const double b = peaks[p];
            text_add_format(&table, "%g,%g,%g,%g,%g,%.9g\n", frequencies[f], b, 4 * b, 0.5 * b,
                1500 * b, b * b * (1000 + 10 * frequencies[f]));
        }
    }
    scratch_write(path, table.bytes, table.length);
    text_clear(&table);
    ck_assert_msg(series_read(&path, 1, &options, &series, &err) == STATUS_OK, "%s", err.message);
    for (size_t i = 0; i < series.count; i++) {
        inputs[i] = (struct report_input){.capture_sha256 = series.loops[i].sha256,
            .name = series.loops[i].file,
            .specimen = "",
            .heat = "",
            .supplier = "",
            .rig = "",
            .rig_calibrated = "",
            .figures = &series.loops[i].figures};
    }
}

static void leave(void)
{
    series_clear(&series);
    scratch_leave();
}

static char *write_sheet(const struct series_sheet_input *input)
{
    struct document *document;
    char *html;
    size_t length;
    ck_assert_int_eq(series_sheet_create(input, &document, &err), STATUS_OK);
    ck_assert_int_eq(document_write(document, "a.html", &err), STATUS_OK);
    ck_assert_int_eq(document_write(document, "a.pdf", &err), STATUS_OK);
    document_destroy(document);
    ck_assert_int_eq(file_read("a.html", 1 << 24, &html, &length, &err), STATUS_OK);
    return html;
}

static struct series_sheet_input get_input(void)
{
    return (struct series_sheet_input){
        .series = &series, .inputs = inputs, .words = {.number = "S-1"}};
}

static int count(const char *html, const char *part)
{
    int found = 0;
    for (const char *at = html; (at = strstr(at, part)) != NULL; at++) {
        found++;
    }
    return found;
}

START_TEST(tells_curve_losses_and_law_of_a_steel)
{
    /* 0.25 (1000 + 10 f) at 0.5 T; 1.5 T at 10 Hz; the whole is B^2 */
    static const char *const parts[] = {"<h1>Steel sheet</h1>", "<dt>Report</dt>\n<dd>S-1</dd>",
        "<dd>12; peak flux density 500.0 mT to 1.500 T</dd>", "<dd>10.00 Hz to 100.0 Hz (4)</dd>",
        "<h2>Normal curve</h2>", "at 10.00 Hz", "<i>H</i><sub>m</sub> (kA/m)",
        "<h2>Separation of losses</h2>",
        "<th scope=\"row\" class=\"number\">0.5 T</th><td class=\"number\">250.000000000 ",
        "<td class=\"number\">2.50000000000 ",
        "<td>10 to 100 Hz</td><td class=\"number\">0.000 %</td>", "<h2>Power law</h2>",
        "<th scope=\"row\">free</th><td class=\"number\">1000.00000000 ",
        "<td class=\"number\">2.00000000000 ", "<h2>Recordings</h2>",
        "<th scope=\"row\">loops.csv</th><td>2</td><td class=\"number\">10.00</td>",
        "<h2>Loops</h2>", "role=\"img\"", NULL};
    const struct series_sheet_input input = get_input();
    char *html = write_sheet(&input);
    for (size_t i = 0; parts[i] != NULL; i++) {
        ck_assert_msg(strstr(html, parts[i]) != NULL, "no %s", parts[i]);
    }
    ck_assert_int_eq(count(html, "<td>loops.csv</td>"), 1); /* among the recordings */
    ck_assert(strstr(html, "<h2>Model") == NULL);
    memory_destroy(html);
}
END_TEST

START_TEST(keeps_the_series_that_it_shows)
{
    const struct series_sheet_input input = get_input();
    struct text out = {0};
    struct report_envelope envelope;
    ck_assert_int_eq(series_sheet_write_data(&input, &out, &err), STATUS_OK);
    ck_assert_int_eq(report_data_read("memory", out.bytes, out.length, &envelope, &err), STATUS_OK);
    ck_assert_str_eq(envelope.kind, "series");
    ck_assert(envelope.is_unchanged);
    ck_assert(strstr(out.bytes, "\"series\": {\"schema\": \"lodecard-series/1\"") != NULL);
    ck_assert(strstr(out.bytes, "\"models\": []") != NULL);
    ck_assert(strstr(out.bytes, "\"inputs\": [{\"capture_sha256\": \"") != NULL);
    text_clear(&out);
}
END_TEST

Suite *series_sheet_suite(void)
{
    Suite *suite = suite_create("series_sheet");
    TCase *tests = tcase_create("series_sheet");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, enter, leave);
    tcase_add_test(tests, tells_curve_losses_and_law_of_a_steel);
    tcase_add_test(tests, keeps_the_series_that_it_shows);
    suite_add_tcase(suite, tests);
    return suite;
}
