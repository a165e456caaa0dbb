// SPDX-License-Identifier: GPL-3.0-or-later
/* What a document must hold whatever it looks like; the looks are for eyes, on the finished
 * reports. */
#include "paper/document.h"

#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "scratch.h"
#include "suites.h"

#define ROWS 120

static const char data[] = "{\"schema\": \"lodecard-verdict/1\", \"sign\": \"a < b\"}";

static void add_table(struct document *document)
{
    static char cells[ROWS][2][32];
    static const char *list[2 * ROWS];
    static const char *const headings[] = {"specimen", "coercivity"};
    static const bool is_number[] = {false, true};
    for (int i = 0; i < ROWS; i++) {
        snprintf(cells[i][0], sizeof cells[i][0], "R-%d", i + 1);
        snprintf(cells[i][1], sizeof cells[i][1], "%d.5", 17 + i % 3);
        list[2 * i] = cells[i][0];
        list[2 * i + 1] = cells[i][1];
    }
    const struct document_table table = {"all rings", 2, ROWS, headings, list, is_number};
    document_add_table(document, &table);
}

static void add_chart(struct document *document)
{
    static const double x[] = {0, 1, 2}, y[] = {0, 1, 0.5};
    static struct chart_line line = {.x = x, .y = y, .count = 3};
    static const struct chart_panel panel = {.width = 1,
        .height = 1,
        .x = {.label = "<i>H</i> (kA/m)", .least = 0, .most = 2},
        .y = {.label = "<i>B</i> (T)", .least = 0, .most = 1},
        .lines = &line,
        .line_count = 1};
    static const struct chart chart = {
        .title = "loop", .panels = &panel, .panel_count = 1, .width = 300, .height = 200};
    line.style = chart_style_get(0);
    document_add_chart(document, &chart, "a rise & a fall", "a picture");
}

static struct document *make(enum document_page page)
{
    struct document *document;
    const struct document_options options = {
        .title = "Lot H2291 &amp; others", .subtitle = "incoming", .language = "en", .page = page};
    static const char *const names[] = {"alloy", "supplier"};
    static const char *const values[] = {"RS-36", "Northgate Foundry"};
    static const char *const roles[] = {"measured", "released"};
    ck_assert(document_create(&options, &document, NULL) == STATUS_OK);
    document_add_verdict(document, DOCUMENT_OPEN, "undecided", "one ring lies near a limit");
    document_add_identity(document, names, values, 2);
    document_add_heading(document, "Rings &amp; limits");
    document_add_subheading(document, "Each <i>apart</i>");
    document_add_paragraph(document, "Limits of <i>H</i><span size=\"x-small\" "
                                     "rise=\"-2pt\">cB</span> are drawn in.");
    add_table(document);
    add_chart(document);
    add_chart(document);
    document_add_note(document, "noisy (warning)", "noise is 3 %", "use a larger range");
    document_add_break(document);
    document_add_break(document); /* a page is never left empty */
    document_add_heading(document, "Bench");
    document_add_caution(document, "Never open a driven winding.");
    document_add_signatures(document, roles, 2);
    document_set_data(document, data);
    ck_assert(document != NULL);
    return document;
}

static char *write_and_read(const char *name, enum document_page page, size_t *length)
{
    struct document *document = make(page);
    struct error err = {0};
    char *bytes;
    ck_assert_msg(document_write(document, name, &err) == STATUS_OK, "%s", err.message);
    ck_assert(file_read(name, 1 << 24, &bytes, length, &err) == STATUS_OK);
    document_destroy(document);
    return bytes;
}

START_TEST(writes_the_same_bytes_for_the_same_document)
{
    static const char *const names[] = {"a.pdf", "a.html"};
    for (int i = 0; i < 2; i++) {
        size_t first, second;
        char *one = write_and_read(names[i], DOCUMENT_A4, &first);
        char *two = write_and_read(names[i], DOCUMENT_A4, &second);
        ck_assert_uint_eq(first, second);
        ck_assert(memcmp(one, two, first) == 0);
        memory_destroy(one);
        memory_destroy(two);
    }
}
END_TEST

START_TEST(keeps_its_numbers_for_those_who_ask)
{
    static const struct {
        const char *name, *json;
    } list[] = {{"a.pdf", data},
        {"a.html", "{\"schema\": \"lodecard-verdict/1\", \"sign\": \"a \\u003c b\"}"}};
    for (int i = 0; i < 2; i++) {
        size_t length, json_length;
        const char *json;
        struct error err = {0};
        char *bytes = write_and_read(list[i].name, DOCUMENT_LETTER, &length);
        ck_assert(document_find_data(list[i].name, bytes, length, &json, &json_length, &err) ==
                  STATUS_OK);
        ck_assert_uint_eq(json_length, strlen(list[i].json));
        ck_assert(memcmp(json, list[i].json, json_length) == 0);
        ck_assert(document_find_data("b", bytes + 1, length - 1, &json, &json_length, &err) ==
                  STATUS_INPUT);
        ck_assert_str_eq(err.message, "no numbers of a report in 'b'");
        memory_destroy(bytes);
    }
}
END_TEST

START_TEST(tells_language_title_and_what_pictures_show)
{
    size_t length;
    char *html = write_and_read("a.html", DOCUMENT_A4, &length);
    static const char *const parts[] = {"<html lang=\"en\">",
        "<title>Lot H2291 &amp; others</title>", "<h1>Lot H2291 &amp; others</h1>",
        "aria-label=\"a rise &amp; a fall\"", "<th scope=\"col\" class=\"number\">coercivity</th>",
        "<i>H</i><sub>cB</sub>", "<th scope=\"row\">R-120</th><td class=\"number\">19.5</td>",
        "id=\"p7-", "id=\"p8-", "<h2>Rings &amp; limits</h2>", "<h3>Each <i>apart</i></h3>",
        "<hr>"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        ck_assert_msg(strstr(html, parts[i]) != NULL, "no %s", parts[i]);
    }
    ck_assert(strstr(html, "http") == NULL || strstr(html, "src=") == NULL);
    memory_destroy(html);
    char *pdf = write_and_read("a.pdf", DOCUMENT_A4, &length);
    /* "a rise & a fall" in UTF-16 */
    static const char alternative[] = "/Alt <FEFF006100200072006900730065002000260020006100";
    ck_assert(memmem(pdf, length, "/Lang (en)", 10) != NULL);
    ck_assert(memmem(pdf, length, alternative, sizeof alternative - 1) != NULL);
    ck_assert(memmem(pdf, length, "/S /TH", 6) != NULL);
    ck_assert(memmem(pdf, length, "/S /H3", 6) != NULL);
    ck_assert(memmem(pdf, length, "/Outlines ", 10) != NULL);
    ck_assert(memmem(pdf, length, "/Title (Each apart)", 19) != NULL);
    memory_destroy(pdf);
}
END_TEST

START_TEST(refuses_a_name_that_tells_no_format)
{
    struct document *document = make(DOCUMENT_A4);
    struct error err = {0};
    ck_assert(document_write(document, "report.doc", &err) == STATUS_USAGE);
    ck_assert_str_eq(err.message, "cannot tell the format of the document 'report.doc'");
    document_destroy(document);
    document_destroy(NULL);
}
END_TEST

Suite *document_suite(void)
{
    Suite *suite = suite_create("document");
    TCase *tests = tcase_create("document");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, writes_the_same_bytes_for_the_same_document);
    tcase_add_test(tests, keeps_its_numbers_for_those_who_ask);
    tcase_add_test(tests, tells_language_title_and_what_pictures_show);
    tcase_add_test(tests, refuses_a_name_that_tells_no_format);
    suite_add_tcase(suite, tests);
    return suite;
}
