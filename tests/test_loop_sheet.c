// SPDX-License-Identifier: GPL-3.0-or-later
/* What a report on loops says, from a trace of few rows whose figures can be found by hand:
 * the parallelogram (-200, -0.5), (200, 0.3), (200, 0.5), (-200, -0.3). */
#include "paper/loop_sheet.h"

#include <string.h>

#include "base/memory.h"
#include "scratch.h"
#include "suites.h"

static const char capture[] = "H,B\n-200,-0.5\n0,-0.1\n200,0.3\n200,0.4\n200,0.5\n0,0.1\n"
                              "-200,-0.3\n-200,-0.4\n";
static const char rig_words[] =
    "name: bench <3>\ncalibration: {date: 2026-10-02, interval: 365 d}\ninputs:\n  excitation: "
    "{channel: H, quantity: field strength}\n  pickup: {channel: B, quantity: flux density}\n"
    "timing: {trace: yes}\n";
static const char specimen_words[] =
    "name: R-17 & co\nalloy: RS-36\nheat: H2291\nring: {outer_diameter: 40.00 mm ± 0.02 mm, "
    "inner_diameter: 32 mm, height: 6 mm}\ntemperature: 23 degC ± 2 degC\n";

struct bench {
    struct rig rig;
    struct specimen specimen;
    struct loop loop;
    struct loop_budget *budget;
};

static struct bench bench;
static struct error err;

static void write_file(const char *name, const char *words)
{
    scratch_write(name, words, strlen(words));
}

static void enter(void)
{
    static const struct loop_options options;
    scratch_enter();
    bench = (struct bench){0};
    write_file("ring.csv", capture);
    write_file("rig.yaml", rig_words);
    write_file("specimen.yaml", specimen_words);
    ck_assert_msg(rig_read("rig.yaml", &bench.rig, &err) == STATUS_OK, "%s", err.message);
    ck_assert_msg(
        specimen_read("specimen.yaml", &bench.specimen, &err) == STATUS_OK, "%s", err.message);
    ck_assert_msg(loop_read("ring.csv", &bench.rig, &bench.specimen, &options, &bench.loop, &err) ==
                      STATUS_OK,
        "%s", err.message);
    ck_assert_int_eq(
        loop_budget_create(&bench.loop, &bench.rig, &bench.specimen, &bench.budget, &err),
        STATUS_OK);
    loop_budget_set_figures(bench.budget, &bench.loop.figures);
}

static void leave(void)
{
    loop_budget_destroy(bench.budget);
    loop_clear(&bench.loop);
    rig_clear(&bench.rig);
    specimen_clear(&bench.specimen);
    scratch_leave();
}

static struct loop_sheet_item get_item(const char *file)
{
    return (struct loop_sheet_item){.file = file,
        .loop = &bench.loop,
        .rig = &bench.rig,
        .specimen = &bench.specimen,
        .budget = bench.budget};
}

/* The HTML of a report; free with memory_destroy. */
static char *write_sheet(
    const struct loop_sheet_item *items, size_t count, const struct report_words *words)
{
    struct document *document;
    char *html;
    size_t length;
    ck_assert_int_eq(loop_sheet_create(items, count, words, &document, &err), STATUS_OK);
    ck_assert_int_eq(document_write(document, "a.html", &err), STATUS_OK);
    ck_assert_int_eq(document_write(document, "a.pdf", &err), STATUS_OK);
    document_destroy(document);
    ck_assert_int_eq(file_read("a.html", 1 << 24, &html, &length, &err), STATUS_OK);
    return html;
}

static void check_has(const char *html, const char *const *parts)
{
    for (; *parts != NULL; parts++) {
        ck_assert_msg(strstr(html, *parts) != NULL, "no %s", *parts);
    }
}

START_TEST(tells_ring_rig_and_capture_with_its_digest)
{
    static const char *const parts[] = {"<h1>Loop report: R-17 &amp; co, RS-36, heat H2291</h1>",
        "<dt>Report</dt>\n<dd>L-7</dd>", "<dt>Outer diameter</dt>\n<dd>40.000\u00A0mm \u00B1 0.020",
        "<dt>Rig</dt>\n<dd>bench &lt;3&gt;</dd>", "<dt>Calibrated</dt>\n<dd>2026-10-02</dd>",
        "<dt>Calibration holds for</dt>\n<dd>365 days</dd>", "<dd>ring.csv</dd>",
        "8 rows, one slow traverse", "<dt>Temperature</dt>\n<dd>23.0\u00A0\u00B0C \u00B1 2.0",
        "aria-label=\"Loop of flux density against field strength; peak field strength 200 A/m; "
        "peak flux density 500 mT",
        NULL};
    const struct loop_sheet_item item = get_item("ring.csv");
    char *html = write_sheet(&item, 1, &(struct report_words){.number = "L-7"});
    check_has(html, parts);
    ck_assert(strstr(html, bench.loop.sha256) != NULL);
    ck_assert(strstr(html, "Waveforms") == NULL); /* a trace has none */
    memory_destroy(html);
}
END_TEST

/* Remanence 0.1 T at either side, coercivity 50 A/m; loop area 0.2 T * 400 A/m. */
START_TEST(has_the_figures_and_what_they_are_made_of)
{
    static const char *const parts[] = {
        "<th scope=\"row\">remanence</th><td><i>B</i><sub>r</sub></td>",
        "<th scope=\"row\">loop area</th><td><i>W</i></td><td class=\"number\">80</td><td "
        "class=\"number\">23</td>",
        "<i>B</i><sub>r</sub>/<i>B</i><sub>m</sub>",
        "<th scope=\"row\">coercivity</th><td class=\"number\">50.000\u00A0A/m</td>", NULL};
    const struct loop_sheet_item item = get_item("ring.csv");
    char *html = write_sheet(&item, 1, &(struct report_words){0});
    check_has(html, parts);
    memory_destroy(html);
}
END_TEST

START_TEST(puts_a_table_ahead_of_several_and_tells_what_failed)
{
    static const char *const parts[] = {"<h1>Loop report: 3 captures</h1>",
        "<th scope=\"col\" class=\"number\"><i>H</i><sub>m</sub> (A/m)</th>",
        "<th scope=\"row\">R-17 &amp; co</th><td>b.csv</td><td class=\"number\">200",
        "<b>c.csv gave no result:</b> line 3 is &lt;odd&gt;", "<hr>",
        "<h2>R-17 &amp; co, RS-36, heat H2291: b.csv</h2>", "<h3>Figures</h3>", NULL};
    struct loop_sheet_item items[] = {get_item("a.csv"), get_item("b.csv"), get_item("c.csv")};
    items[2].failure = "line 3 is <odd>";
    char *html = write_sheet(items, 3, &(struct report_words){0});
    check_has(html, parts);
    ck_assert(strstr(html, "H2291: c.csv</h2>") == NULL);
    memory_destroy(html);
}
END_TEST

START_TEST(keeps_the_loops_that_it_has)
{
    struct loop_sheet_item items[] = {get_item("a.csv"), get_item("b.csv")};
    struct text out = {0};
    struct report_envelope envelope;
    items[0].failure = "no";
    ck_assert_int_eq(loop_sheet_write_data(items, 2, 4, &out, &err), STATUS_OK);
    ck_assert_int_eq(report_data_read("memory", out.bytes, out.length, &envelope, &err), STATUS_OK);
    ck_assert_str_eq(envelope.kind, "loop");
    ck_assert(envelope.is_unchanged);
    ck_assert(strstr(out.bytes, "\"loops\": [{\"schema\": \"lodecard-loop/1\"") != NULL);
    ck_assert(strstr(out.bytes, "\"budget\"") != NULL);
    ck_assert(strstr(out.bytes, "\"name\": \"a.csv\"") == NULL);
    ck_assert(strstr(out.bytes, "\"rig_calibrated\": \"2026-10-02\"") != NULL);
    text_clear(&out);
}
END_TEST

Suite *loop_sheet_suite(void)
{
    Suite *suite = suite_create("loop_sheet");
    TCase *tests = tcase_create("loop_sheet");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, enter, leave);
    tcase_add_test(tests, tells_ring_rig_and_capture_with_its_digest);
    tcase_add_test(tests, has_the_figures_and_what_they_are_made_of);
    tcase_add_test(tests, puts_a_table_ahead_of_several_and_tells_what_failed);
    tcase_add_test(tests, keeps_the_loops_that_it_has);
    suite_add_tcase(suite, tests);
    return suite;
}
