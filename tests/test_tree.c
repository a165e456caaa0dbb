// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/tree.h"

#include <string.h>

#include "base/memory.h"
#include "scratch.h"
#include "suites.h"

static struct tree *read_words(const char *words)
{
    struct tree *tree = NULL;
    struct error err = {0};
    enum status status = tree_read_bytes("a.json", words, strlen(words), &tree, &err);
    ck_assert_msg(status == STATUS_OK, "%s: %s", words, err.message);
    return tree;
}

START_TEST(reads_all_kinds_in_the_order_of_the_file)
{
    struct tree *tree = read_words("{\"z\": 2.385, \"a\": \"\\u00b5\\\"\", \"b\": true, "
                                   "\"n\": null, \"l\": [1, -2e-3], \"o\": {\"k\": false}}");
    const struct tree_value *root = tree_get_root(tree);
    ck_assert_int_eq(tree_get_kind(root), TREE_OBJECT);
    ck_assert_uint_eq(tree_get_count(root), 6);
    static const char *const keys[] = {"z", "a", "b", "n", "l", "o"};
    static const enum tree_kind kinds[] = {
        TREE_NUMBER, TREE_TEXT, TREE_BOOL, TREE_NULL, TREE_ARRAY, TREE_OBJECT};
    for (size_t i = 0; i < 6; i++) {
        ck_assert_str_eq(tree_get_key_at(root, i), keys[i]);
        ck_assert_int_eq(tree_get_kind(tree_get_at(root, i)), kinds[i]);
        ck_assert_ptr_eq(tree_get(root, keys[i]), tree_get_at(root, i));
    }
    double number = 0;
    bool is_true = false;
    ck_assert(tree_get_number(tree_get(root, "z"), &number) && number == 2.385);
    ck_assert(tree_get_number(tree_get_at(tree_get(root, "l"), 1), &number) && number == -2e-3);
    ck_assert_str_eq(tree_get_text(tree_get(root, "a")), "\xC2\xB5\"");
    ck_assert(tree_get_bool(tree_get(root, "b"), &is_true) && is_true);
    ck_assert(tree_get_bool(tree_get(tree_get(root, "o"), "k"), &is_true) && !is_true);
    ck_assert_str_eq(tree_get_name(tree), "a.json");
    tree_destroy(tree);
}
END_TEST

START_TEST(gives_the_empty_answer_for_what_is_not_there)
{
    struct tree *tree = read_words("{\"a\": [1], \"t\": \"x\"}");
    const struct tree_value *root = tree_get_root(tree);
    double number = 7;
    bool is_true = true;
    ck_assert_ptr_null(tree_get(root, "b"));
    ck_assert_ptr_null(tree_get(tree_get(root, "b"), "c"));
    ck_assert_ptr_null(tree_get(tree_get(root, "a"), "c"));
    ck_assert_ptr_null(tree_get_at(tree_get(root, "a"), 1));
    ck_assert_ptr_null(tree_get_at(NULL, 0));
    ck_assert_ptr_null(tree_get_key_at(tree_get(root, "a"), 0));
    ck_assert_ptr_null(tree_get_text(tree_get(root, "a")));
    ck_assert_ptr_null(tree_get_root(NULL));
    ck_assert_int_eq(tree_get_kind(NULL), TREE_NONE);
    ck_assert_uint_eq(tree_get_count(tree_get(root, "t")), 0);
    ck_assert(!tree_get_number(tree_get(root, "t"), &number) && number == 7);
    ck_assert(!tree_get_bool(tree_get(root, "t"), &is_true) && is_true);
    tree_destroy(tree);
    tree_destroy(NULL);
}
END_TEST

START_TEST(takes_whole_numbers_of_any_size_as_doubles)
{
    static const struct {
        const char *words;
        double value;
    } numbers[] = {
        {"[9007199254740993]", 9007199254740992.0}, /* to even: a double holds 53 bits */
        {"[123456789012345678901234567890]", 123456789012345678901234567890.0},
        {"[1e308]", 1e308},
        {"[-0]", -0.0},
        {"[4.9e-324]", 4.9e-324},
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        struct tree *tree = read_words(numbers[i].words);
        double number = 1;
        ck_assert(tree_get_number(tree_get_at(tree_get_root(tree), 0), &number));
        ck_assert_msg(memcmp(&number, &numbers[i].value, sizeof number) == 0, "%s: %.17g",
            numbers[i].words, number);
        tree_destroy(tree);
    }
}
END_TEST

/* The column is where reading ended; what stands behind it is jansson's and not compared whole. */
static const struct {
    const char *words;
    const char *message; /* how it begins */
} refusals[] = {
    {"", "line 1, column 1 of 'a.json': "},
    {"{\"a\": 1,\n \"b\": 2", "line 2, column 7 of 'a.json': "},
    {"{\"a\": 1,\n \"b\": 2,\n \"a\": 3}", "line 3, column 4 of 'a.json': duplicate object key"},
    {"[1, NaN]", "line 1, column 7 of 'a.json': "},
    {"[Infinity]", "line 1, column 9 of 'a.json': "},
    {"[1e999]", "line 1, column 6 of 'a.json': real number overflow"},
    {"[\"\xFF\"]", "line 1, column 2 of 'a.json': unable to decode byte 0xff"},
    {"[\"a\\u0000b\"]", "line 1, column 11 of 'a.json': \\u0000 is not allowed"},
    {"[1] 2", "line 1, column 5 of 'a.json': end of file expected"},
    {"[01]", "line 1, column 2 of 'a.json': "},
    {"{'a': 1}", "line 1, column 2 of 'a.json': "},
    {"2", "line 1, column 1 of 'a.json': '[' or '{' expected"},
};

START_TEST(refuses_what_is_not_json_and_says_where)
{
    struct tree *tree = NULL;
    struct error err = {0};
    const char *words = refusals[_i].words;
    ck_assert_int_eq(tree_read_bytes("a.json", words, strlen(words), &tree, &err), STATUS_INPUT);
    ck_assert_ptr_null(tree);
    ck_assert_msg(strncmp(err.message, refusals[_i].message, strlen(refusals[_i].message)) == 0,
        "%s", err.message);
    ck_assert_str_ne(err.hint, "");
}
END_TEST

static void nest(struct text *text, size_t depth)
{
    text_add(text, "{\"[[[\": \"\\\"[[\",\n\"a\":");
    for (size_t i = 1; i < depth; i++) {
        text_add(text, "[");
    }
    for (size_t i = 1; i < depth; i++) {
        text_add(text, "]");
    }
    text_add(text, "}");
}

START_TEST(reads_to_a_depth_of_64_and_not_deeper)
{
    struct text text = {0};
    nest(&text, 64);
    tree_destroy(read_words(text.bytes));
    text_clear(&text);
    nest(&text, 65);
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert_int_eq(tree_read_bytes("a.json", text.bytes, text.length, &tree, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "line 2, column 68 of 'a.json': nested more than 64 deep");
    text_clear(&text);
}
END_TEST

START_TEST(checked_reading_names_the_path_and_what_is_needed)
{
    struct tree *tree =
        read_words("{\"schema\": \"lodecard-loop/1\", \"loops\": [{\"figures\": {\"a\": \"x\", "
                   "\"l\": [1, 2, null], \"ok\": [2.385, 4]}}]}");
    const struct tree_value *figures =
        tree_get(tree_get_at(tree_get(tree_get_root(tree), "loops"), 0), "figures");
    struct error err = {0};
    double number = 7;
    double *list = NULL;
    const char *words = NULL;
    size_t count = 0;
    ck_assert_int_eq(tree_need_number(tree, figures, "a", &number, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.json': 'loops[0].figures.a' is a text; a number is needed");
    ck_assert_int_eq(tree_need_text(tree, figures, "b", &words, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.json': 'loops[0].figures.b' is missing; a text is needed");
    ck_assert_int_eq(tree_need_numbers(tree, figures, "l", &list, &count, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.json': 'loops[0].figures.l[2]' is null; a number is needed");
    ck_assert_int_eq(tree_need_numbers(tree, figures, "a", &list, &count, &err), STATUS_INPUT);
    ck_assert_int_eq(tree_need_number(tree, NULL, "top", &number, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.json': 'top' is missing; a number is needed");
    ck_assert(number == 7 && list == NULL && words == NULL && count == 0);
    ck_assert_int_eq(tree_need_numbers(tree, figures, "ok", &list, &count, &err), STATUS_OK);
    ck_assert(count == 2 && list[0] == 2.385 && list[1] == 4);
    ck_assert_int_eq(tree_need_text(tree, figures, "a", &words, &err), STATUS_OK);
    ck_assert_str_eq(words, "x");
    memory_destroy(list);
    tree_destroy(tree);
}
END_TEST

START_TEST(looks_at_the_schema)
{
    struct error err = {0};
    struct tree *tree = read_words("{\"schema\": \"lodecard-loop/1\"}");
    ck_assert_int_eq(tree_need_schema(tree, "lodecard-loop/1", &err), STATUS_OK);
    ck_assert_int_eq(tree_need_schema(tree, "lodecard-card/1", &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "'a.json' has the schema 'lodecard-loop/1'; 'lodecard-card/1' is needed");
    tree_destroy(tree);
    tree = read_words("[]");
    ck_assert_int_eq(tree_need_schema(tree, "lodecard-card/1", &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.json' has no 'schema'; 'lodecard-card/1' is needed");
    tree_destroy(tree);
}
END_TEST

START_TEST(writes_what_it_read)
{
    static const char words[] =
        "{\"z\": 2.385, \"a\": \"\xC2\xB5\\\"\", \"b\": true, \"n\": null, \"l\": [1, -0.002], "
        "\"e\": [], \"m\": [[1], []], \"o\": {\"k\": false, \"p\": {}}}";
    struct tree *tree = read_words(words);
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    tree_write_json(&json, NULL, tree_get_root(tree));
    ck_assert_str_eq(out.bytes, words);
    text_clear(&out);
    tree_destroy(tree);
}
END_TEST

START_TEST(reads_files_up_to_the_limit)
{
    scratch_write("t.json", "[1, 2]", 6);
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert_int_eq(tree_read("t.json", 6, &tree, &err), STATUS_OK);
    ck_assert_uint_eq(tree_get_count(tree_get_root(tree)), 2);
    tree_destroy(tree);
    ck_assert_int_eq(tree_read("t.json", 5, &tree, &err), STATUS_INPUT);
    ck_assert_int_eq(tree_read("there-is-no.json", 5, &tree, &err), STATUS_IO);
}
END_TEST

Suite *tree_suite(void)
{
    Suite *suite = suite_create("tree");
    TCase *test = tcase_create("tree");
    tcase_add_checked_fixture(test, scratch_enter, scratch_leave);
    tcase_add_test(test, reads_all_kinds_in_the_order_of_the_file);
    tcase_add_test(test, gives_the_empty_answer_for_what_is_not_there);
    tcase_add_test(test, takes_whole_numbers_of_any_size_as_doubles);
    tcase_add_loop_test(
        test, refuses_what_is_not_json_and_says_where, 0, sizeof refusals / sizeof refusals[0]);
    tcase_add_test(test, reads_to_a_depth_of_64_and_not_deeper);
    tcase_add_test(test, checked_reading_names_the_path_and_what_is_needed);
    tcase_add_test(test, looks_at_the_schema);
    tcase_add_test(test, writes_what_it_read);
    tcase_add_test(test, reads_files_up_to_the_limit);
    suite_add_tcase(suite, test);
    return suite;
}
