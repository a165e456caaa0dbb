// SPDX-License-Identifier: GPL-3.0-or-later
/* The walker, by a table of its own: a garden. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "setup/schema.h"
#include "suites.h"

enum colour { COLOUR_RED, COLOUR_BLUE };

struct bed {
    bool is_present;
    struct quantity length;
    char *plant;
};

struct garden {
    char *name;
    char *story;
    char *row;
    enum colour colour;
    bool is_open;
    struct bed bed;
};

static const struct schema_word colours[] = {{"red", COLOUR_RED}, {"blue", COLOUR_BLUE}, {NULL, 0}};
static const struct schema_range lengths = {
    .lowest = 0, .highest = 10, .said = "more than 0, at most 10 m", .slip = "did you mean cm?"};

static const struct schema_entry bed_schema[] = {
    {"length", SCHEMA_QUANTITY, .is_required = true, .offset = offsetof(struct bed, length),
        .dimension = DIMENSION_LENGTH, .range = &lengths},
    {"plant", SCHEMA_TEXT, .offset = offsetof(struct bed, plant)},
    {.key = NULL},
};
static const struct schema_entry garden_schema[] = {
    {"name", SCHEMA_TEXT, .offset = offsetof(struct garden, name)},
    {"story", SCHEMA_LINES, .offset = offsetof(struct garden, story)},
    {"row", SCHEMA_CHANNEL, .offset = offsetof(struct garden, row)},
    {"colour", SCHEMA_WORD, .offset = offsetof(struct garden, colour), .words = colours},
    {"open", SCHEMA_FLAG, .offset = offsetof(struct garden, is_open), .words = schema_yes_no},
    {"bed", SCHEMA_MAP, .is_required = true, .offset = offsetof(struct garden, bed),
        .map = bed_schema, .has_presence = true,
        .presence = offsetof(struct garden, bed) + offsetof(struct bed, is_present)},
    {.key = NULL},
};

static void bed_check(struct schema_reading *reading, void *target)
{
    struct bed *bed = target;
    if (!schema_has_fault(reading, "length") && bed->length.value < 1) {
        schema_add_fault(reading, "length", "too short for '%s'", bed->plant ? bed->plant : "");
    }
    if (!schema_has_key(reading, "plant")) {
        schema_add_fault(reading, "plant", "nothing grows here");
    }
}

static void garden_check(struct schema_reading *reading, void *target)
{
    struct garden *garden = target;
    if (schema_has_key(reading, "bed")) {
        schema_check_within(reading, "bed", bed_check, &garden->bed);
    }
}

static enum status read(const char *bytes, struct garden *garden, struct error *err)
{
    *garden = (struct garden){0};
    return schema_read_bytes(
        "garden.yaml", bytes, strlen(bytes), garden_schema, garden_check, garden, err);
}

START_TEST(reads_every_kind)
{
    struct garden garden;
    struct error err = {0};
    enum status status = read("name: my garden\nstory: |\n  one\n  two\nrow: 07\ncolour: blue\n"
                              "open: yes\nbed:\n  length: 250 cm ± 1\n  plant: kale\n",
        &garden, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(garden.name, "my garden");
    ck_assert_str_eq(garden.story, "one\ntwo\n");
    ck_assert_str_eq(garden.row, "7");
    ck_assert_int_eq(garden.colour, COLOUR_BLUE);
    ck_assert(garden.is_open);
    ck_assert(garden.bed.is_present);
    ck_assert_double_eq(garden.bed.length.value, 2.5);
    ck_assert_double_eq(garden.bed.length.half_width, 0.01);
    schema_clear(garden_schema, &garden);
    ck_assert_ptr_null(garden.name);
    ck_assert_ptr_null(garden.bed.plant);
    schema_clear(garden_schema, &garden);
}
END_TEST

START_TEST(names_words_by_value)
{
    ck_assert_str_eq(schema_find_word(colours, COLOUR_BLUE), "blue");
    ck_assert_ptr_null(schema_find_word(colours, 7));
}
END_TEST

#define BED "bed: {length: 2 m, plant: kale}\n"

static const struct {
    const char *bytes;
    const char *message;
} faulty[] = {
    {"hello", "garden.yaml:1:1: it is no group, expected a group with the keys name, story, row, "
              "colour, open, bed"},
    {"- hello", "garden.yaml:1:1: it is no group, expected a group with the keys name, story, row, "
                "colour, open, bed"},
    {"name: x", "garden.yaml:1:1: bed: missing, expected a group with the keys length, plant"},
    {"bed:\n", "garden.yaml:1:1: bed.plant: nothing grows here\n"
               "garden.yaml:1:5: bed: there is nothing in it, expected a group with the keys "
               "length, plant"},
    {"nane: x\n" BED, "garden.yaml:1:1: nane: unknown key; did you mean 'name'?"},
    {"Name: x\n" BED, "garden.yaml:1:1: Name: unknown key; did you mean 'name'?"},
    {"plant: x\n" BED, "garden.yaml:1:1: plant: unknown key here; it belongs into 'bed'"},
    {"bed: {length: 2 m, plant: kale, colour: red}\n",
        "garden.yaml:1:33: bed.colour: unknown key here; it belongs to the top of the file"},
    {"xyzzy: 1\n" BED, "garden.yaml:1:1: xyzzy: unknown key; expected one of name, story, row, "
                       "colour, open, bed"},
    {"? [a]\n: 1\n" BED, "garden.yaml:1:3: a key must be one word"},
    {"name: a\n" BED "name: b\n", "garden.yaml:3:1: name: written twice, first on line 1"},
    {"name:\n" BED, "garden.yaml:1:6: name: there is no value, expected a text"},
    {"name: ~\n" BED, "garden.yaml:1:7: name: there is no value, expected a text"},
    {"name: ' '\n" BED, "garden.yaml:1:7: name: the text is empty; leave the key out instead"},
    {"name: \"a\\nb\"\n" BED, "garden.yaml:1:7: name: the text has several lines, expected one"},
    {"name: [a]\n" BED, "garden.yaml:1:7: name: it is a list, expected a text"},
    {"colour: {a: 1}\n" BED,
        "garden.yaml:1:9: colour: it is a group of keys, expected red or blue"},
    {"colour: bleu\n" BED, "garden.yaml:1:9: colour: 'bleu' is not known here, expected red or "
                           "blue; did you mean 'blue'?"},
    {"colour: green\n" BED,
        "garden.yaml:1:9: colour: 'green' is not known here, expected red or blue"},
    {"open: perhaps\n" BED, "garden.yaml:1:7: open: 'perhaps' is not known here, expected yes, no, "
                            "true or false"},
    {"row: 0\n" BED, "garden.yaml:1:6: row: '0' is no channel; channels and columns are whole "
                     "numbers from 1"},
    {"row: -1\n" BED, "garden.yaml:1:6: row: '-1' is no channel; channels and columns are whole "
                      "numbers from 1"},
    {"row: 1.5\n" BED, "garden.yaml:1:6: row: '1.5' is no channel; channels and columns are whole "
                       "numbers from 1"},
    {"bed: {plant: kale}",
        "garden.yaml:1:6: bed.length: missing, expected a length such as '40 mm'"},
    {"bed: {length: 3, plant: kale}",
        "garden.yaml:1:15: bed.length: '3' has no unit, expected a length; write it like '40 mm'"},
    {"bed: {length: 300 m, plant: kale}", "garden.yaml:1:15: bed.length: '300 m' cannot be, "
                                          "expected more than 0, at most 10 m; did you mean cm?"},
    {"bed: {length: -3 m, plant: kale}", "garden.yaml:1:15: bed.length: '-3 m' cannot be, "
                                         "expected more than 0, at most 10 m; did you mean cm?"},
    {"bed: {length: 3 m ± 4, plant: kale}",
        "garden.yaml:1:15: bed.length: '3 m ± 4' has a half-width as large as its value; check the "
        "unit behind the ±"},
    {"bed: {length: 3 cm, plant: kale}", "garden.yaml:1:7: bed.length: too short for 'kale'"},
    {"bed: {length: 3 m}", "garden.yaml:1:1: bed.plant: nothing grows here"},
};

START_TEST(tells_fault_with_place_key_and_expectation)
{
    struct garden garden;
    struct error err = {0};
    ck_assert_int_eq(read(faulty[_i].bytes, &garden, &err), STATUS_INPUT);
    schema_clear(garden_schema, &garden);
    ck_assert_str_eq(err.message, faulty[_i].message);
}
END_TEST

START_TEST(tells_all_faults_at_once_in_the_order_of_the_file)
{
    struct garden garden;
    struct error err = {0};
    ck_assert_int_eq(
        read("bed:\n  plant: kale\n  length: 3 cm\nopen: maybe\nnaem: x\n", &garden, &err),
        STATUS_INPUT);
    schema_clear(garden_schema, &garden);
    ck_assert_str_eq(err.message,
        "garden.yaml:3:3: bed.length: too short for 'kale'\n"
        "garden.yaml:4:7: open: 'maybe' is not known here, expected yes, no, true or false\n"
        "garden.yaml:5:1: naem: unknown key; did you mean 'name'?");
    ck_assert_str_eq(err.hint, "docs/files.md explains every key, with examples");
}
END_TEST

START_TEST(tells_as_many_faults_as_fit_and_counts_the_rest)
{
    char bytes[20000];
    size_t length = 0;
    struct garden garden;
    struct error err = {0};
    for (int i = 0; i < 500; i++) {
        length += (size_t)snprintf(bytes + length, sizeof bytes - length, "naem: %d\n", i);
    }
    ck_assert_int_eq(read(bytes, &garden, &err), STATUS_INPUT);
    schema_clear(garden_schema, &garden);
    size_t lines = 1;
    for (const char *at = err.message; (at = strchr(at, '\n')) != NULL; at++) {
        lines++;
    }
    char tail[40];
    snprintf(tail, sizeof tail, "\n... and %zu more faults", 501 - (lines - 1));
    ck_assert_msg(strstr(err.message, tail) != NULL, "%s", err.message);
    ck_assert_uint_gt(lines, 20);
    ck_assert_ptr_null(strstr(err.message, "...\n"));
}
END_TEST

START_TEST(cuts_long_words_between_characters)
{
    struct garden garden;
    struct error err = {0};
    ck_assert_int_eq(
        read("colour: xµµµµµµµµµµµµµµµµµµµµµµµµµµµ\n" BED, &garden, &err), STATUS_INPUT);
    schema_clear(garden_schema, &garden);
    ck_assert_ptr_nonnull(strstr(err.message, "'xµµµµµµµµµµµµµµµµµµµ' is not known"));
    ck_assert_int_eq(read("xµµµµµµµµµµµµµµµµµµµµµµµµµµµ: 1\n" BED, &garden, &err), STATUS_INPUT);
    schema_clear(garden_schema, &garden);
    ck_assert_ptr_nonnull(strstr(err.message, ": xµµµµµµµµµµµµµµµµµµµ: unknown"));
}
END_TEST

START_TEST(tells_a_missing_file)
{
    struct garden garden = {0};
    struct error err = {0};
    ck_assert_int_eq(schema_read("no/such.yaml", garden_schema, NULL, &garden, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'no/such.yaml': No such file or directory");
}
END_TEST

Suite *schema_suite(void)
{
    Suite *suite = suite_create("schema");
    TCase *tests = tcase_create("schema");
    tcase_add_test(tests, reads_every_kind);
    tcase_add_test(tests, names_words_by_value);
    tcase_add_loop_test(
        tests, tells_fault_with_place_key_and_expectation, 0, sizeof faulty / sizeof faulty[0]);
    tcase_add_test(tests, tells_all_faults_at_once_in_the_order_of_the_file);
    tcase_add_test(tests, tells_as_many_faults_as_fit_and_counts_the_rest);
    tcase_add_test(tests, cuts_long_words_between_characters);
    tcase_add_test(tests, tells_a_missing_file);
    suite_add_tcase(suite, tests);
    return suite;
}
