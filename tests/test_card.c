// SPDX-License-Identifier: GPL-3.0-or-later
/* Reading and writing cards; what a broken one is told. The card is the first that was ever
 * written, so that it stays readable.
 */
#include "card/card.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "suites.h"

#define SAMPLE "tests/data/card/rs36-first.json"

static char *sample;
static size_t sample_length;

static void read_sample(void)
{
    struct error err = {0};
    ck_assert_msg(file_read(SAMPLE, CARD_BYTES_MOST, &sample, &sample_length, &err) == STATUS_OK,
        "%s", err.message);
}

static void drop_sample(void)
{
    memory_destroy(sample);
}

/* The sample with the first `from` behind `after` replaced by `to`. */
static char *change(const char *after, const char *from, const char *to)
{
    struct text text = {0};
    const char *start = strstr(sample, after);
    ck_assert_ptr_nonnull(start);
    const char *at = strstr(start, from);
    ck_assert_ptr_nonnull(at);
    text_add_bytes(&text, sample, (size_t)(at - sample));
    text_add(&text, to);
    text_add(&text, at + strlen(from));
    return text.bytes;
}

START_TEST(reads_what_stands_in_the_sample)
{
    struct card card;
    struct error err = {0};
    ck_assert_msg(card_read(SAMPLE, &card, &err) == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(card.alloy, "RS-36");
    ck_assert_uint_eq(card.specimen_count, 1);
    ck_assert_str_eq(card.specimens[0], "R-17");
    ck_assert(card.has_major_loop && card.major_loop.rising.count > 50);
    ck_assert_double_eq_tol(card.major_loop.rising.field[0], -card.validity.field_most_A_per_m, 1);
    ck_assert(card.figures.list[FIGURE_REMANENCE].has_u);
    ck_assert_double_eq_tol(card.figures.list[FIGURE_REMANENCE].value, 0.9528, 1e-4);
    ck_assert_uint_eq(card.loop_count, 7);
    ck_assert_uint_eq(card.normal_curve.count, 8);
    ck_assert_uint_eq(card.capture_count, 8);
    ck_assert_str_eq(card.captures[7].file, "r17-60kam-20hz.flac");
    ck_assert_uint_eq(card.setup_count, 1);
    ck_assert_ptr_nonnull(strstr(card.setups[0].rig, "\"shunt_ohm\": 0.05"));
    ck_assert(card.solver.curve.count > card.solver.measured_points);
    ck_assert(isnan(card.validity.polarization_least_T));
    card_clear(&card);
    card_clear(&card);
}
END_TEST

START_TEST(writes_the_same_bytes_again)
{
    struct card card;
    struct error err = {0};
    struct text out = {0};
    ck_assert_msg(card_read(SAMPLE, &card, &err) == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(card_write(&card, &out, &err), STATUS_OK);
    ck_assert_uint_eq(out.length, sample_length);
    ck_assert_int_eq(memcmp(out.bytes, sample, out.length), 0);
    text_clear(&out);
    card_clear(&card);
}
END_TEST

START_TEST(passes_over_keys_that_it_does_not_know)
{
    char *words = change("\"identity\"", "{", "{\"colour\": [1, {\"x\": null}],");
    struct card card;
    struct error err = {0};
    ck_assert_msg(
        card_read_bytes("a", words, strlen(words), &card, &err) == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(card.alloy, "RS-36");
    card_clear(&card);
    memory_destroy(words);
}
END_TEST

static const struct {
    const char *after, *from, *to;
    const char *message; /* how it begins behind "'a': " */
} edits[] = {
    {"{", "lodecard-card/1", "lodecard-card/2",
        "'a' has the schema 'lodecard-card/2'; 'lodecard-card/1' is needed"},
    {"\"identity\"", "\"alloy\": \"RS-36\"", "\"alloy\": 36",
        "'a': 'identity.alloy' is a number; a text is needed"},
    {"\"identity\"", "\"specimens\"", "\"rings\"",
        "'a': 'identity' has no 'specimens'; a list is needed"},
    {"\"figures\"", "\"remanence_T\": ", "\"remanence_T\": null, \"x\": ",
        "'a': 'figures.remanence_T' is null; a number is needed"},
    {"\"figures\"", "\"u_remanence_T\": ", "\"u_remanence_T\": -",
        "'a': 'figures.u_remanence_T' is -"},
    {"\"major_loop\"", "\"field_A_per_m\": [", "\"field_A_per_m\": [-1e9, ",
        "'a': 'major_loop.rising' has lists of different lengths: "},
    {"\"major_loop\"", "\"field_A_per_m\": [", "\"field_A_per_m\": [true, ",
        "'a': 'major_loop.rising.field_A_per_m[0]' is true or false; a number is needed"},
    {"\"major_loop\"", "\"flux_density_T\": [-", "\"flux_density_T\": [",
        "'a': 'major_loop.rising' does not rise from point 0 to point 1, in flux_density_T"},
    {"\"major_loop\"", "\"captures\": [7]", "\"captures\": [8]",
        "'a': 'major_loop.captures[0]' is capture 8, and provenance.captures has 8"},
    {"\"major_loop\"", "\"captures\": [7]", "\"captures\": [0.5]",
        "'a': 'major_loop.captures[0]' must be a whole number from 0"},
    {"\"normal_curve\"", "\"flux_density_peak_T\": [", "\"flux_density_peak_T\": [1, ",
        "'a': 'normal_curve.flux_density_peak_T' has 9 members, and the list beside it has 8"},
    {"\"normal_curve\"", "\"field_peak_A_per_m\": [", "\"field_peak_A_per_m\": [-",
        "'a': 'normal_curve.field_peak_A_per_m[0]' is -"},
    {"\"separation\"", "\"hysteresis_J_per_m3\": ", "\"hysteresis_J_per_m3\": -",
        "'a': 'separation[0].hysteresis_J_per_m3' is -"},
    {"\"separation\"", "\"flux_density_peak_T\"", "\"peak_T\"",
        "'a': 'separation[0]' needs either 'flux_density_peak_T' or 'polarization_peak_T'"},
    {"\"models\"", "\"form\"", "\"shape\"", "'a': 'models[0]' has no 'form'; a text is needed"},
    {"\"solver\"", "\"measured_points\": ", "\"measured_points\": 9",
        "'a': 'solver.curve.measured_points' must be from 2 to the "},
    {"\"solver\"", "\"slope_H_per_m\": [", "\"slope_H_per_m\": [-",
        "'a': 'solver.curve.slope_H_per_m[0]' is -"},
    {"\"solver\"", "\"flux_density_squared_T2\": [0", "\"flux_density_squared_T2\": [7",
        "'a': 'solver.reluctivity.flux_density_squared_T2' does not rise from point 0 to point 1"},
    {"\"provenance\"", "\"file\": \"", "\"file\": \"../",
        "'a': 'provenance.captures[0].file' must be a file's name without folders"},
    {"\"provenance\"", "\"sha256\": \"", "\"sha256\": \"x",
        "'a': 'provenance.captures[0].sha256' is no SHA-256 in hexadecimal"},
    {"\"provenance\"", "\"setup\": 0", "\"setup\": 3",
        "'a': 'provenance.captures[0].setup' is setup 3, and provenance.setups has 1"},
    {"\"provenance\"", "\"level\": \"info\"", "\"level\": \"loud\"",
        "'a': 'provenance.captures[0].notes[0].level' must be 'info', 'warning' or 'fatal'"},
    {"\"version\"", "\"name\"", "\"date\": \"25.11.2026\", \"name\"",
        "'a': 'date' is no date such as 2026-11-25"},
};

START_TEST(refuses_what_is_wrong_and_says_where)
{
    char *words = change(edits[_i].after, edits[_i].from, edits[_i].to);
    struct card card = {0};
    struct error err = {0};
    ck_assert_int_eq(card_read_bytes("a", words, strlen(words), &card, &err), STATUS_INPUT);
    ck_assert_msg(
        strncmp(err.message, edits[_i].message, strlen(edits[_i].message)) == 0, "%s", err.message);
    ck_assert_str_ne(err.hint, "");
    ck_assert_ptr_null(card.blocks);
    memory_destroy(words);
}
END_TEST

START_TEST(refuses_a_card_cut_anywhere)
{
    for (size_t length = 0; length + 2 < sample_length; length += 4001) {
        struct card card = {0};
        struct error err = {0};
        ck_assert_int_eq(card_read_bytes("a", sample, length, &card, &err), STATUS_INPUT);
    }
}
END_TEST

/* Any member taken out is either missed with a message or was not needed; nothing else happens. */
START_TEST(stands_members_of_any_other_kind)
{
    static const char *const others[] = {"null", "[]", "{}", "\"x\"", "-1", "1e308", "[[1], 2]"};
    size_t refused = 0;
    for (const char *at = strstr(sample, "\": "); at != NULL; at = strstr(at + 600, "\": ")) {
        const size_t head = (size_t)(at - sample) + 3;
        for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
            /* the member goes into one of an unknown name behind it */
            struct text text = {0};
            struct card card = {0};
            struct error err = {0};
            text_add_bytes(&text, sample, head);
            text_add_format(&text, "%s, \"unknown%zu\": ", others[i], head);
            text_add(&text, sample + head);
            enum status status = card_read_bytes("a", text.bytes, text.length, &card, &err);
            ck_assert(status == STATUS_OK || (status == STATUS_INPUT && err.message[0] != '\0'));
            refused += status != STATUS_OK;
            card_clear(&card);
            text_clear(&text);
        }
    }
    ck_assert_uint_gt(refused, 50);
}
END_TEST

START_TEST(refuses_lists_beyond_the_limit)
{
    struct text list = {0};
    text_add(&list, "\"captures\": [7");
    for (int i = 0; i < CARD_LIST_MOST; i++) {
        text_add(&list, ",7");
    }
    text_add(&list, "]");
    char *words = change("\"major_loop\"", "\"captures\": [7]", list.bytes);
    struct card card = {0};
    struct error err = {0};
    ck_assert_int_eq(card_read_bytes("a", words, strlen(words), &card, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "'a': 'major_loop.captures' has 100001 members; at most 100000 are read");
    memory_destroy(words);
    text_clear(&list);
}
END_TEST

Suite *card_suite(void)
{
    Suite *suite = suite_create("card");
    TCase *test = tcase_create("card");
    tcase_add_checked_fixture(test, read_sample, drop_sample);
    tcase_set_timeout(test, 60);
    tcase_add_test(test, reads_what_stands_in_the_sample);
    tcase_add_test(test, writes_the_same_bytes_again);
    tcase_add_test(test, passes_over_keys_that_it_does_not_know);
    tcase_add_loop_test(
        test, refuses_what_is_wrong_and_says_where, 0, sizeof edits / sizeof edits[0]);
    tcase_add_test(test, refuses_a_card_cut_anywhere);
    tcase_add_test(test, stands_members_of_any_other_kind);
    tcase_add_test(test, refuses_lists_beyond_the_limit);
    suite_add_tcase(suite, test);
    return suite;
}
