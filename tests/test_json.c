// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/json.h"

#include <math.h>

#include "suites.h"

static void write_all_kinds(struct json *json)
{
    static const double points[] = {1, -2.385, 0.1, NAN};
    json_begin_object(json, NULL);
    json_add_text(json, "file", "a.wav");
    json_add_text(json, "heat", NULL);
    json_add_integer(json, "frames", -9007199254740993LL);
    json_add_number(json, "remanence_T", 0.93);
    json_add_number(json, "loss_W_per_m3", INFINITY);
    json_add_bool(json, "is_trace", true);
    json_begin_object(json, "rig");
    json_end_object(json);
    json_begin_array(json, "notes");
    json_begin_object(json, NULL);
    json_add_text(json, "code", "short");
    json_end_object(json);
    json_begin_object(json, NULL);
    json_add_bool(json, "x", false);
    json_end_object(json);
    json_end_array(json);
    json_begin_array(json, "none");
    json_end_array(json);
    json_begin_object(json, "points");
    json_add_numbers(json, "field_A_per_m", points, 4);
    json_add_numbers(json, "empty", points, 0);
    json_end_object(json);
    json_end_object(json);
    json_finish(json);
}

START_TEST(indents_and_keeps_numbers_on_one_line)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 2);
    write_all_kinds(&json);
    ck_assert_str_eq(out.bytes, "{\n"
                                "  \"file\": \"a.wav\",\n"
                                "  \"heat\": null,\n"
                                "  \"frames\": -9007199254740993,\n"
                                "  \"remanence_T\": 0.93,\n"
                                "  \"loss_W_per_m3\": null,\n"
                                "  \"is_trace\": true,\n"
                                "  \"rig\": {},\n"
                                "  \"notes\": [\n"
                                "    {\n"
                                "      \"code\": \"short\"\n"
                                "    },\n"
                                "    {\n"
                                "      \"x\": false\n"
                                "    }\n"
                                "  ],\n"
                                "  \"none\": [],\n"
                                "  \"points\": {\n"
                                "    \"field_A_per_m\": [1, -2.385, 0.1, null],\n"
                                "    \"empty\": []\n"
                                "  }\n"
                                "}\n");
    text_clear(&out);
}
END_TEST

START_TEST(writes_one_line_without_indent)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    write_all_kinds(&json);
    ck_assert_str_eq(out.bytes,
        "{\"file\": \"a.wav\", \"heat\": null, \"frames\": -9007199254740993, "
        "\"remanence_T\": 0.93, \"loss_W_per_m3\": null, \"is_trace\": true, \"rig\": {}, "
        "\"notes\": [{\"code\": \"short\"}, {\"x\": false}], \"none\": [], \"points\": "
        "{\"field_A_per_m\": [1, -2.385, 0.1, null], \"empty\": []}}\n");
    text_clear(&out);
}
END_TEST

static const struct {
    const char *words;
    const char *quoted;
} texts[] = {
    {"", "\"\"\n"},
    {"a \"b\" \\ /", "\"a \\\"b\\\" \\\\ /\"\n"},
    {"1\n2\t3\r4\x01\x7F", "\"1\\n2\\t3\\u000d4\\u0001\\u007f\"\n"},
    {"µ₀ \xF0\x9D\x84\x9E", "\"µ₀ \xF0\x9D\x84\x9E\"\n"},
    {"a\xFFz\xE2\x82", "\"a\xEF\xBF\xBDz\xEF\xBF\xBD\xEF\xBF\xBD\"\n"},
};

START_TEST(quotes_texts_and_replaces_broken_characters)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 2);
    json_add_text(&json, NULL, texts[_i].words);
    json_finish(&json);
    ck_assert_str_eq(out.bytes, texts[_i].quoted);
    text_clear(&out);
}
END_TEST

START_TEST(quotes_keys_too)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    json_add_bool(&json, "a\"b", false);
    json_end_object(&json);
    ck_assert_str_eq(out.bytes, "{\"a\\\"b\": false}");
    text_clear(&out);
}
END_TEST

Suite *json_suite(void)
{
    Suite *suite = suite_create("json");
    TCase *tests = tcase_create("json");
    tcase_add_test(tests, indents_and_keeps_numbers_on_one_line);
    tcase_add_test(tests, writes_one_line_without_indent);
    tcase_add_loop_test(tests, quotes_texts_and_replaces_broken_characters, 0, 5);
    tcase_add_test(tests, quotes_keys_too);
    suite_add_tcase(suite, tests);
    return suite;
}
