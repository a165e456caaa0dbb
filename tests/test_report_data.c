// SPDX-License-Identifier: GPL-3.0-or-later
/* The numbers that a report carries. */
#include "paper/report_data.h"

#include <string.h>

#include "base/tree.h"
#include "suites.h"

/* A report's data with a name that HTML must not see. */
static void make(struct text *out)
{
    struct report_data data;
    struct figures figures = {0};
    figures_set(&figures, FIGURE_COERCIVITY, 18535.5);
    figures_set_u(&figures, FIGURE_COERCIVITY, 48);
    const struct report_input inputs[] = {{.capture_sha256 = "12ab",
                                              .name = "</script>.flac",
                                              .specimen = "R-17",
                                              .heat = "H2291",
                                              .supplier = "Northgate Foundry",
                                              .rig = "bench 2",
                                              .rig_calibrated = "2026-03-02",
                                              .figures = &figures},
        {.capture_sha256 = "",
            .name = "",
            .specimen = "",
            .heat = "",
            .supplier = "",
            .rig = "",
            .rig_calibrated = "",
            .figures = &figures}};
    report_data_begin(&data);
    json_begin_object(&data.json, "verdict");
    json_add_text(&data.json, "verdict", "accepted");
    json_end_object(&data.json);
    ck_assert(report_data_finish(&data, "lot", inputs, 2, out, NULL) == STATUS_OK);
}

START_TEST(writes_result_and_inputs_with_their_digest)
{
    struct text out = {0};
    struct tree *tree;
    double number;
    make(&out);
    ck_assert(tree_read_bytes("data", out.bytes, out.length, &tree, NULL) == STATUS_OK);
    const struct tree_value *root = tree_get_root(tree), *content = tree_get(root, "content");
    const struct tree_value *inputs = tree_get(content, "inputs");
    const struct tree_value *first = tree_get_at(inputs, 0), *second = tree_get_at(inputs, 1);
    ck_assert_str_eq(tree_get_text(tree_get(root, "schema")), "lodecard-report/1");
    ck_assert_str_eq(tree_get_text(tree_get(tree_get(content, "verdict"), "verdict")), "accepted");
    ck_assert_uint_eq(tree_get_count(inputs), 2);
    ck_assert_str_eq(tree_get_text(tree_get(first, "name")), "</script>.flac");
    ck_assert_str_eq(tree_get_text(tree_get(first, "rig_calibrated")), "2026-03-02");
    ck_assert(tree_get_kind(tree_get(second, "rig_calibrated")) == TREE_NULL);
    ck_assert(
        tree_get_number(tree_get(tree_get(first, "figures"), "u_coercivity_A_per_m"), &number));
    ck_assert_double_eq(number, 48);
    ck_assert(strchr(out.bytes, '<') == NULL);
    tree_destroy(tree);
    text_clear(&out);
}
END_TEST

START_TEST(sees_that_a_digit_was_changed)
{
    struct text out = {0};
    struct report_envelope envelope;
    make(&out);
    ck_assert(report_data_read("a", out.bytes, out.length, &envelope, NULL) == STATUS_OK);
    ck_assert_str_eq(envelope.kind, "lot");
    ck_assert(envelope.is_unchanged);
    ck_assert_int_eq(envelope.content[0], '{');
    ck_assert_int_eq(envelope.content[envelope.length - 1], '}');
    char *digit = strstr(out.bytes, "18535.5");
    ck_assert(digit != NULL);
    *digit = '2';
    ck_assert(report_data_read("a", out.bytes, out.length, &envelope, NULL) == STATUS_OK);
    ck_assert(!envelope.is_unchanged);
    text_clear(&out);
}
END_TEST

START_TEST(refuses_what_is_no_data_of_a_report)
{
    static const char *const list[] = {"", "{}", "{\"schema\": \"lodecard-loop/1\"}",
        "{\"schema\": \"lodecard-report/1\", \"kind\": \"lot",
        ("{\"schema\": \"lodecard-report/1\", \"kind\": \"a kind with a name that is far too "
         "long\", \"sha256\": \"12\", \"content\": {}}"),
        "{\"schema\": \"lodecard-report/1\", \"kind\": \"lot\", \"sha256\": \"12\", \"content\": "
        "{"};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        struct report_envelope envelope;
        struct error err = {0};
        ck_assert_msg(
            report_data_read("a.pdf", list[i], strlen(list[i]), &envelope, &err) == STATUS_INPUT,
            "took '%s'", list[i]);
        ck_assert_str_eq(
            err.message, "the numbers in 'a.pdf' are not those of a report (lodecard-report/1)");
    }
}
END_TEST

Suite *report_data_suite(void)
{
    Suite *suite = suite_create("report_data");
    TCase *tests = tcase_create("report_data");
    tcase_add_test(tests, writes_result_and_inputs_with_their_digest);
    tcase_add_test(tests, sees_that_a_digit_was_changed);
    tcase_add_test(tests, refuses_what_is_no_data_of_a_report);
    suite_add_tcase(suite, tests);
    return suite;
}
