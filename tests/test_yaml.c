// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "setup/yaml.h"
#include "suites.h"

static struct yaml *create(const char *bytes)
{
    struct yaml *yaml = NULL;
    struct error err = {0};
    enum status status = yaml_create("a.yaml", bytes, strlen(bytes), &yaml, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    return yaml;
}

static void assert_refused(const char *bytes, size_t length, const char *message, const char *hint)
{
    struct yaml *yaml = NULL;
    struct error err = {0};
    ck_assert_int_eq(yaml_create("a.yaml", bytes, length, &yaml, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, message);
    ck_assert_str_eq(err.hint, hint);
    ck_assert_ptr_null(yaml);
}

START_TEST(gives_the_tree_with_places)
{
    struct yaml *yaml = create("a: 1\nµb:\n  - x\n  - {c: '', d: }\n");
    yaml_node root = yaml_get_root(yaml);
    yaml_node key;
    yaml_node list;
    ck_assert_int_eq(yaml_get_kind(yaml, root), YAML_MAP);
    ck_assert_uint_eq(yaml_get_count(yaml, root), 2);
    yaml_get_pair(yaml, root, 1, &key, &list);
    ck_assert_str_eq(yaml_get_text(yaml, key), "µb");
    ck_assert_uint_eq(yaml_get_place(yaml, key).line, 2);
    ck_assert_uint_eq(yaml_get_place(yaml, key).column, 1);
    ck_assert_int_eq(yaml_get_kind(yaml, list), YAML_LIST);
    ck_assert_uint_eq(yaml_get_count(yaml, list), 2);
    yaml_node text = yaml_get_member(yaml, list, 0);
    ck_assert_int_eq(yaml_get_kind(yaml, text), YAML_TEXT);
    ck_assert_uint_eq(yaml_get_count(yaml, text), 0);
    ck_assert_uint_eq(yaml_get_place(yaml, text).line, 3);
    ck_assert_uint_eq(yaml_get_place(yaml, text).column, 5);
    yaml_node quoted;
    yaml_node nothing;
    yaml_node map = yaml_get_member(yaml, list, 1);
    yaml_get_pair(yaml, map, 0, &key, &quoted);
    yaml_get_pair(yaml, map, 1, &key, &nothing);
    ck_assert(!yaml_is_empty(yaml, quoted));
    ck_assert(yaml_is_empty(yaml, nothing));
    ck_assert_str_eq(yaml_get_text(yaml, map), "");
    yaml_destroy(yaml);
    yaml_destroy(NULL);
}
END_TEST

START_TEST(counts_columns_in_characters)
{
    struct yaml *yaml = create("{µµ: ±, b: 2}");
    yaml_node key;
    yaml_node value;
    yaml_get_pair(yaml, yaml_get_root(yaml), 1, &key, &value);
    ck_assert_uint_eq(yaml_get_place(yaml, key).column, 9);
    yaml_destroy(yaml);
}
END_TEST

START_TEST(takes_byte_order_mark_and_windows_lines)
{
    struct yaml *yaml = create("\xEF\xBB\xBF"
                               "a: 1\r\nb: 2\r\n");
    yaml_node key;
    yaml_node value;
    yaml_get_pair(yaml, yaml_get_root(yaml), 0, &key, &value);
    ck_assert_str_eq(yaml_get_text(yaml, key), "a");
    ck_assert_uint_eq(yaml_get_place(yaml, key).column, 1);
    yaml_get_pair(yaml, yaml_get_root(yaml), 1, &key, &value);
    ck_assert_str_eq(yaml_get_text(yaml, value), "2");
    ck_assert_uint_eq(yaml_get_place(yaml, value).line, 2);
    yaml_destroy(yaml);
}
END_TEST

static const char quotes_hint[] = "indent with blanks, not tabs; put text that begins with % @ or "
                                  "` in quotes";
static const char colon_hint[] =
    "the line above lacks a blank behind its colon, or a key stands too far to the right, or a "
    "text with ': ' in it needs quotes";
static const char anchor_hint[] =
    "write the value out, or put a text that begins with & or * in quotes";
static const char anchor_message[] = "anchors and aliases ('&', '*') are not used here";

static const struct {
    const char *bytes;
    const char *message;
    const char *hint;
} broken[] = {
    {"", "1:1: the file is empty", "docs/files.md shows what belongs into it"},
    {"# only words\n", "1:1: the file is empty", "docs/files.md shows what belongs into it"},
    {"a: 1\nb: \xE9\n", "2:4: a character is not UTF-8", "save the file as UTF-8"},
    {"\xFF\xFE"
     "a",
        "1:1: the file is UTF-16", "save the file as UTF-8"},
    {"a: \x07", "1:4: a control character", "remove it: the files are plain text"},
    {"a: \"\\e[31m\"", "1:4: a control character", "remove it: the values are plain text"},
    {"a: \"x\\0y\"", "1:4: a control character", "remove it: the values are plain text"},
    {"a: &x 1\n", "1:4: anchors", anchor_hint},
    {"a: {b: &x [1]}\n", "1:8: anchors", anchor_hint},
    {"a: *x\n", "1:4: anchors", anchor_hint},
    {"a: !!int 1\n", "1:4: tags ('!') are not used here",
        "leave it out, or put a text that begins with ! in quotes"},
    {"a: 1\n---\nb: 1\n", "2:1: a second document begins", "one document a file: remove the '---'"},
    {"[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]", "1:17: more than 16 levels of groups in groups",
        "no file of ours needs more than five"},
    {"a: b: c\n", "1:5: not valid YAML: mapping values are not allowed in this context",
        colon_hint},
    {"a:\n  b:1\n  c: 2\n", "3:4: not valid YAML: mapping values are not allowed in this context",
        colon_hint},
    {"a: %x\n", "1:4: not valid YAML: found character that cannot start any token", quotes_hint},
    {"a: 1\n\tb: 2\n",
        "2:1: not valid YAML: found a tab character that violates indentation (while scanning a "
        "plain scalar that begins on line 1)",
        "indent with blanks, not tabs"},
    {"a: \"b\nc: 1\n",
        "3:1: not valid YAML: found unexpected end of stream (while scanning a quoted scalar that "
        "begins on line 1)",
        "quotes are not closed"},
    {"a:\n   b: 1\n  c: 2\n",
        "3:3: not valid YAML: did not find expected key (while parsing a block mapping that begins "
        "on line 1)",
        "keys of one group begin in the same column"},
    {"a: [1, 2\nb: 3\n",
        "2:2: not valid YAML: did not find expected ',' or ']' (while parsing a flow sequence that "
        "begins on line 1)",
        "a '[' is not closed, or a comma is missing"},
    {"a: {b: 1\n",
        "2:1: not valid YAML: did not find expected ',' or '}' (while parsing a flow mapping that "
        "begins on line 1)",
        "a '{' is not closed, or a comma is missing"},
};

START_TEST(refuses_broken_file_and_says_where)
{
    char message[400];
    const char *said = broken[_i].message;
    const char *anchors = strstr(said, "anchors");
    snprintf(message, sizeof message, "a.yaml:%.*s%s",
        anchors != NULL ? (int)(anchors - said) : (int)strlen(said), said,
        anchors != NULL ? anchor_message : "");
    assert_refused(broken[_i].bytes, strlen(broken[_i].bytes), message, broken[_i].hint);
}
END_TEST

START_TEST(refuses_a_zero_byte)
{
    assert_refused(
        "a: 1\0", 5, "a.yaml:1:5: a control character", "remove it: the files are plain text");
}
END_TEST

/* libyaml alone takes 18 s for a tenth of this. Check's time limit of 4 s a test guards it. */
START_TEST(refuses_endless_brackets_at_once)
{
    size_t length = 1000000;
    char *bytes = malloc(length);
    ck_assert_ptr_nonnull(bytes);
    for (const char *bracket = "[{"; *bracket != '\0'; bracket++) {
        memset(bytes, *bracket, length);
        assert_refused(bytes, length, "a.yaml:1:17: more than 16 levels of groups in groups",
            "no file of ours needs more than five");
    }
    free(bytes);
}
END_TEST

START_TEST(takes_sixteen_levels)
{
    yaml_destroy(create("[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]"));
}
END_TEST

Suite *yaml_suite(void)
{
    Suite *suite = suite_create("yaml");
    TCase *tests = tcase_create("yaml");
    tcase_add_test(tests, gives_the_tree_with_places);
    tcase_add_test(tests, counts_columns_in_characters);
    tcase_add_test(tests, takes_byte_order_mark_and_windows_lines);
    tcase_add_loop_test(
        tests, refuses_broken_file_and_says_where, 0, sizeof broken / sizeof broken[0]);
    tcase_add_test(tests, refuses_a_zero_byte);
    tcase_add_test(tests, refuses_endless_brackets_at_once);
    tcase_add_test(tests, takes_sixteen_levels);
    suite_add_tcase(suite, tests);
    return suite;
}
