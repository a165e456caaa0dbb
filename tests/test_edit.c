// SPDX-License-Identifier: GPL-3.0-or-later
/* Values change in a file that a person wrote; nothing else does. */
#include "setup/edit.h"

#include <stdio.h>
#include <string.h>

#include "setup/date.h"
#include "suites.h"

#define FULL_SCALE "inputs.pickup.full_scale"
#define DELAY "timing.pickup_delay"

static const struct {
    const char *key_path;
    const char *value;
    const char *before;
    const char *after;
} edit_list[] = {
    /* a value that is there: blanks, comments and order stay */
    {FULL_SCALE, "1.6 V",
        "# bench\ninputs:\n  pickup:   # coil\n     full_scale:   1.55 V   # by meter\n     "
        "channel: 2\n",
        "# bench\ninputs:\n  pickup:   # coil\n     full_scale:   1.6 V   # by meter\n     "
        "channel: 2\n"},
    {FULL_SCALE, "1.6 V", "inputs: {pickup: {channel: 2, full_scale: 1.55 V}, a: b} # one line\n",
        "inputs: {pickup: {channel: 2, full_scale: 1.6 V}, a: b} # one line\n"},
    {FULL_SCALE, "1.6 V", "inputs:\n  pickup: {full_scale: \"1.55 V\"}\n",
        "inputs:\n  pickup: {full_scale: 1.6 V}\n"},
    {FULL_SCALE, "1.6 V", "inputs:\n  pickup:\n    full_scale:\n    channel: 2\n",
        "inputs:\n  pickup:\n    full_scale: 1.6 V\n    channel: 2\n"},
    /* characters of several bytes, a byte order mark, line ends of another system, no last one */
    {FULL_SCALE, "1.6 V ± 1 mV",
        "\xEF\xBB\xBFname: Prüfstand µ∮\r\ninputs:\r\n  pickup:\r\n    full_scale: 1.55 V ± 5 mV",
        "\xEF\xBB\xBFname: Prüfstand µ∮\r\ninputs:\r\n  pickup:\r\n    full_scale: 1.6 V ± 1 mV"},
    /* a key that is not there */
    {FULL_SCALE, "1.6 V",
        "inputs:\n  pickup:\n    channel: 2  # right\n\n# clock\ntiming: {time: 1}\n",
        "inputs:\n  pickup:\n    channel: 2  # right\n    full_scale: 1.6 V\n\n# clock\ntiming: "
        "{time: 1}\n"},
    {FULL_SCALE, "1.6 V",
        "inputs:\n  pickup:\n    channel: 2\n    integrator:\n      resistance: 1 ohm\n  other: "
        "1\n",
        "inputs:\n  pickup:\n    channel: 2\n    integrator:\n      resistance: 1 ohm\n    "
        "full_scale: 1.6 V\n  other: 1\n"},
    {FULL_SCALE, "1.6 V", "inputs:\n  pickup: {channel: 2,\n     invert: yes  # coil\n  }\n",
        "inputs:\n  pickup: {channel: 2,\n     invert: yes, full_scale: 1.6 V  # coil\n  }\n"},
    {FULL_SCALE, "1.6 V", "inputs:\n  pickup: {}\n", "inputs:\n  pickup: {full_scale: 1.6 V}\n"},
    {FULL_SCALE, "1.6 V", "inputs:\n    pickup:\n        channel: 2",
        "inputs:\n    pickup:\n        channel: 2\n        full_scale: 1.6 V\n"},
    /* a group that is not there */
    {DELAY, "2 us", "inputs:\n  pickup:\n    channel: 2\n# the end\n",
        "inputs:\n  pickup:\n    channel: 2\ntiming:\n  pickup_delay: 2 us\n# the end\n"},
    {DELAY, "2 us", "{inputs: {pickup: {channel: 2}}}\n",
        "{inputs: {pickup: {channel: 2}}, timing: {pickup_delay: 2 us}}\n"},
    {DELAY, "2 us", "a: b\r\n", "a: b\r\ntiming:\r\n  pickup_delay: 2 us\r\n"},
};

START_TEST(changes_one_value_and_leaves_every_other_byte)
{
    const struct edit edit = {edit_list[_i].key_path, edit_list[_i].value};
    struct text out = {0};
    struct error err = {0};
    enum status status = edit_apply(
        "rig.yaml", edit_list[_i].before, strlen(edit_list[_i].before), &edit, 1, &out, &err);
    ck_assert_msg(!status, "%s", err.message);
    ck_assert_str_eq(out.bytes, edit_list[_i].after);
    text_clear(&out);
}
END_TEST

START_TEST(changes_several_values_at_once)
{
    static const struct edit edits[] = {
        {"a.b", "longer than before"}, {"c", "4"}, {"d.e", "5"}, {"d.f", "6"}};
    struct text out = {0}, changes = {0};
    static const char before[] = "a:\n  b: 1  # b\nc: 3\n";
    ck_assert(!edit_apply("x", before, strlen(before), edits, 4, &out, NULL));
    ck_assert_str_eq(out.bytes, "a:\n  b: longer than before  # b\nc: 4\nd:\n  e: 5\n  f: 6\n");
    edit_add_changes(&changes, before, out.bytes);
    ck_assert_str_eq(changes.bytes,
        "-   b: 1  # b\n+   b: longer than before  # b\n- c: 3\n+ c: 4\n"
        "+ d:\n+   e: 5\n+   f: 6\n");
    text_clear(&out);
    text_clear(&changes);
}
END_TEST

START_TEST(tells_a_changed_line_although_another_is_like_it)
{
    struct text changes = {0};
    edit_add_changes(
        &changes, "a:\n  x: 1\nb:\n  x: 1\nc: 2", "a:\n  x: 3\nb:\n  x: 1\nc: 2\nd: 4\n");
    ck_assert_str_eq(changes.bytes, "-   x: 1\n+   x: 3\n+ d: 4\n");
    text_clear(&changes);
}
END_TEST

static const char *const refusal_list[] = {
    "timing:\n", "timing: 5\n", "timing: [1, 2]\n", "timing: {pickup_delay: {a: b}}\n"};

START_TEST(refuses_a_file_that_has_no_place_for_it)
{
    const struct edit edit = {DELAY, "2 us"};
    struct text out = {0};
    struct error err = {0};
    const char *before = refusal_list[_i];
    ck_assert_int_eq(
        edit_apply("rig.yaml", before, strlen(before), &edit, 1, &out, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "'rig.yaml'"));
    ck_assert_str_eq(err.hint, "write 'timing.pickup_delay: 2 us' into it by hand");
    ck_assert_uint_eq(out.length, 0);
    text_clear(&out);
}
END_TEST

/* Days since 1970-01-01 as POSIX counts them: 86400 s each (IEEE Std 1003.1, 4.16). */
static const struct {
    const char *words;
    long day;
} date_list[] = {{"1970-01-01", 0}, {"1970-12-31", 364}, {"1972-03-01", 790}, {"2000-02-29", 11016},
    {"2026-11-25", 20782}, {"1969-12-31", -1}, {"1900-03-01", -25508}};

START_TEST(counts_days)
{
    long day = -7;
    ck_assert(!date_read(date_list[_i].words, &day, NULL));
    ck_assert_int_eq(day, date_list[_i].day);
}
END_TEST

static const char *const wrong_dates[] = {"", "2026-11", "2026-13-01", "2026-02-29", "1900-02-29",
    "25.11.2026", "2026-11-25 ", "2026-00-10", "2026-11-00", "0000-01-01"};

START_TEST(refuses_what_is_no_day)
{
    long day = -7;
    struct error err = {0};
    ck_assert_int_eq(date_read(wrong_dates[_i], &day, &err), STATUS_INPUT);
    ck_assert_int_eq(day, -7);
    ck_assert_str_eq(err.hint, "write year, month and day: 2026-11-25");
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof *(list)))

Suite *edit_suite(void)
{
    Suite *suite = suite_create("edit");
    TCase *tests = tcase_create("edit");
    tcase_add_loop_test(tests, changes_one_value_and_leaves_every_other_byte, 0, COUNT(edit_list));
    tcase_add_test(tests, changes_several_values_at_once);
    tcase_add_test(tests, tells_a_changed_line_although_another_is_like_it);
    tcase_add_loop_test(tests, refuses_a_file_that_has_no_place_for_it, 0, COUNT(refusal_list));
    tcase_add_loop_test(tests, counts_days, 0, COUNT(date_list));
    tcase_add_loop_test(tests, refuses_what_is_no_day, 0, COUNT(wrong_dates));
    suite_add_tcase(suite, tests);
    return suite;
}
