// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/options.h"

#include <stdio.h>
#include <string.h>

#include "cli/option_walk.h"
#include "suites.h"

#define WORDS_MOST 12

struct target {
    const char *file;
    double start_s;
    double ratio;
    struct quantity torque;
    size_t count;
    char sign;
    const char *place;
    const char *lines;
    bool is_quick;
    bool is_dry;
};

#define AT(member) .offset = offsetof(struct target, member)
static const char *const endings[] = {".jsonl", NULL};
static const struct option table[] = {
    {.name = "", .help = "Heading"},
    {.name = "file",
        .letter = 'f',
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(file),
        .help = "a file"},
    {.name = "start",
        .value = "S",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_TIME,
        AT(start_s),
        .help = "a time"},
    {.name = "ratio",
        .letter = 'r',
        .value = "R",
        .type = OPTION_NUMBER,
        .least = -2,
        .most = 2,
        AT(ratio),
        .help = "a number"},
    {.name = "torque",
        .value = "T",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_TORQUE,
        AT(torque),
        .help = "a torque"},
    {.name = "count",
        .letter = 'n',
        .value = "N",
        .type = OPTION_COUNT,
        .least = 1,
        AT(count),
        .help = "a whole number"},
    {.name = "sign",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ".,\t",
        AT(sign),
        .help = "a letter"},
    {.name = "place", .value = "[FILE]", .type = OPTION_PLACE, AT(place), .help = "a place"},
    {.name = "lines",
        .letter = 'l',
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .endings = endings,
        AT(lines),
        .help = "a place"},
    {.name = "quick", .letter = 'q', .type = OPTION_FLAG, AT(is_quick), .help = "a flag"},
    {.name = "dry", .letter = 'd', .type = OPTION_FLAG, AT(is_dry), .help = "a flag"},
    {0},
};

/* Reads `line`, split at its blanks, as the arguments of a command named "test". The words that are
 * left over are joined by blanks into `left`. */
static enum status read_line(
    const char *line, struct target *target, char left[200], struct error *err)
{
    static char copy[400];
    char *words[WORDS_MOST];
    int count = 0;
    snprintf(copy, sizeof copy, "%s", line);
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " "))
        words[count++] = word;
    enum status status = options_read("test", table, target, &count, words, err);
    left[0] = '\0';
    for (int i = 0; !status && i < count; i++)
        snprintf(left + strlen(left), 200 - strlen(left), i ? " %s" : "%s", words[i]);
    return status;
}

START_TEST(reads_every_way_to_write_an_option)
{
    static const char *const lines[] = {"--file a.wav --count 3 -q -d",
        "--file=a.wav --count=3 -qd", "-f a.wav -n 3 -dq", "-fa.wav -n3 --quick --dry",
        "-qdf a.wav -n 3", "-qdfa.wav -n3",
        "--file wrong --file a.wav --count 1 --count 3 -q -q -d"};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        struct target target = {.ratio = 0.25};
        struct error err = {0};
        char left[200];
        ck_assert_msg(!read_line(lines[i], &target, left, &err), "%s: %s", lines[i], err.message);
        ck_assert_str_eq(target.file, "a.wav");
        ck_assert_uint_eq(target.count, 3);
        ck_assert(target.is_quick && target.is_dry);
        ck_assert_double_eq(target.ratio, 0.25);
        ck_assert_str_eq(left, "");
    }
}
END_TEST

START_TEST(leaves_files_in_their_order)
{
    struct target target = {0};
    struct error err = {0};
    char left[200];
    ck_assert(!read_line("b.wav -q - --count 2 a.wav -- --file -q -", &target, left, &err));
    ck_assert_str_eq(left, "b.wav - a.wav --file -q -");
    ck_assert(target.is_quick);
    ck_assert_ptr_null(target.file);
    ck_assert_uint_eq(target.count, 2);
}
END_TEST

START_TEST(reads_numbers_with_and_without_unit)
{
    static const struct {
        const char *line;
        double start_s, ratio;
    } cases[] = {{"--start 2.5", 2.5, 0}, {"--start 20ms", 0.02, 0}, {"--start=1.5e-3", 0.0015, 0},
        {"--start 250us", 250e-6, 0}, {"--ratio -1.5", 0, -1.5}, {"-r-2", 0, -2}, {"-r +2", 0, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct target target = {0};
        struct error err = {0};
        char left[200];
        ck_assert_msg(
            !read_line(cases[i].line, &target, left, &err), "%s: %s", cases[i].line, err.message);
        ck_assert_double_eq_tol(target.start_s, cases[i].start_s, 1e-15);
        ck_assert_double_eq(target.ratio, cases[i].ratio);
    }
}
END_TEST

START_TEST(reads_quantities_with_and_without_uncertainty)
{
    static const struct {
        const char *line;
        double value, u;
        bool has_u;
    } cases[] = {{"--torque 0.25", 0.25, 0, false}, {"--torque 20mN\u00B7m", 0.02, 0, false},
        {"--torque=20mN\u00B7m\u00B12mN\u00B7m", 0.02, 0.001, true},
        {"--torque 2N\u00B7m+/-1%", 2, 0.01, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct target target = {0};
        struct error err = {0};
        char left[200];
        ck_assert_msg(
            !read_line(cases[i].line, &target, left, &err), "%s: %s", cases[i].line, err.message);
        ck_assert(target.torque.is_present);
        ck_assert_double_eq_tol(target.torque.value, cases[i].value, 1e-15);
        ck_assert_int_eq(target.torque.has_uncertainty, cases[i].has_u);
        ck_assert_double_eq_tol(quantity_get_uncertainty(&target.torque), cases[i].u, 1e-15);
    }
}
END_TEST

START_TEST(reads_letters_and_their_names)
{
    static const struct {
        const char *line;
        char sign;
    } cases[] = {{"--sign ,", ','}, {"--sign=.", '.'}, {"--sign comma", ','}, {"--sign point", '.'},
        {"--sign tab", '\t'}, {"--sign \\t", '\t'}, {"--sign \t", '\t'}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct target target = {0};
        struct error err = {0};
        char left[200];
        ck_assert_msg(
            !read_line(cases[i].line, &target, left, &err), "%s: %s", cases[i].line, err.message);
        ck_assert_int_eq(target.sign, cases[i].sign);
    }
}
END_TEST

START_TEST(takes_standard_output_where_no_place_is_named)
{
    static const struct {
        const char *line, *place, *lines, *left;
    } cases[] = {{"--place", "-", NULL, ""}, {"--place -", "-", NULL, ""},
        {"--place a.wav b.wav", "a.wav", NULL, "b.wav"}, {"a.wav --place -q", "-", NULL, "a.wav"},
        {"--place --lines a.wav", "-", "-", "a.wav"}, {"--place -- -", "-", NULL, "-"},
        {"a.wav --lines x.jsonl", NULL, "x.jsonl", "a.wav"},
        {"--lines - a.wav", NULL, "-", "a.wav"}, {"--lines a.wav", NULL, "-", "a.wav"},
        {"--lines=a.wav", NULL, "a.wav", ""}, {"-l x.jsonl", NULL, "x.jsonl", ""},
        {"-l .jsonl", NULL, "-", ".jsonl"}, {"-qlx y", NULL, "x", "y"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct target target = {0};
        struct error err = {0};
        char left[200];
        ck_assert_msg(
            !read_line(cases[i].line, &target, left, &err), "%s: %s", cases[i].line, err.message);
        ck_assert_pstr_eq(target.place, cases[i].place);
        ck_assert_pstr_eq(target.lines, cases[i].lines);
        ck_assert_str_eq(left, cases[i].left);
    }
}
END_TEST

/* A default that is not zero is not given; what was read over it is, also a zero. */
START_TEST(tells_what_was_given_from_what_was_there)
{
    const struct target untouched = {.count = 100, .ratio = 1};
    struct target target = untouched;
    const char *const names[] = {"file", "count", NULL};
    for (const struct option *option = table; option->name; option++)
        ck_assert(!option_is_given(option, &target, &untouched));
    target.count = 0;
    target.ratio = -1;
    for (const struct option *option = table; option->name; option++) {
        const bool is_changed = !strcmp(option->name, "count") || !strcmp(option->name, "ratio");
        if (option->name[0])
            ck_assert(option_is_given(option, &target, &untouched) == is_changed);
    }
    ck_assert(option_is_listed(names, "count") && !option_is_listed(names, "ratio"));
    ck_assert(!option_is_listed(NULL, "count"));
}
END_TEST

/* Three tables in each other; the inner ones stand twice, with a struct for each place. */
struct innermost {
    bool is_dry;
    size_t count;
};
struct inner {
    const char *file;
    struct innermost innermost;
};
struct outer {
    char sign;
    struct inner first;
    double ratio;
    struct innermost last;
};
static const struct option innermost_table[] = {
    {.name = "count",
        .letter = 'n',
        .value = "N",
        .type = OPTION_COUNT,
        .offset = offsetof(struct innermost, count)},
    {0},
};
static const struct option inner_table[] = {
    {.name = "", .help = "Heading"},
    {.name = "file", .value = "FILE", .type = OPTION_TEXT, .offset = offsetof(struct inner, file)},
    {.table = innermost_table, .offset = offsetof(struct inner, innermost)},
    {0},
};
static const struct option flag_table[] = {
    {.name = "dry", .type = OPTION_FLAG, .offset = offsetof(struct innermost, is_dry)},
    {0},
};
static const struct option outer_table[] = {
    {.name = "sign",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ".,",
        .offset = offsetof(struct outer, sign)},
    {.table = inner_table, .offset = offsetof(struct outer, first)},
    {.name = "ratio", .value = "R", .type = OPTION_NUMBER, .offset = offsetof(struct outer, ratio)},
    {.table = flag_table, .offset = offsetof(struct outer, last)},
    {0},
};

START_TEST(walks_through_tables_that_take_in_others)
{
    static const char *const names[] = {"sign", "", "file", "count", "ratio", "dry"};
    const size_t offsets[] = {offsetof(struct outer, sign), offsetof(struct outer, first),
        offsetof(struct outer, first.file), offsetof(struct outer, first.innermost.count),
        offsetof(struct outer, ratio), offsetof(struct outer, last.is_dry)};
    size_t count = 0;
    for (struct option_walk walk = option_walk_begin(outer_table); option_walk_next(&walk);) {
        ck_assert_uint_lt(count, sizeof names / sizeof *names);
        ck_assert_str_eq(walk.option.name, names[count]);
        ck_assert_uint_eq(walk.option.offset, offsets[count]);
        count++;
    }
    ck_assert_uint_eq(count, sizeof names / sizeof *names);
    struct option_walk none = option_walk_begin(NULL);
    ck_assert(!option_walk_next(&none) && !option_walk_next(&none));
}
END_TEST

START_TEST(reads_into_the_structs_of_tables_that_are_taken_in)
{
    char line[][8] = {"--sign", ",", "--file", "a", "-n7", "--dry", "--ratio", "2", "b"};
    char *words[sizeof line / sizeof *line];
    int count = (int)(sizeof line / sizeof *line);
    struct outer outer = {0};
    struct error err = {0};
    for (int i = 0; i < count; i++)
        words[i] = line[i];
    ck_assert_int_eq(options_read("test", outer_table, &outer, &count, words, &err), STATUS_OK);
    ck_assert_int_eq(count, 1);
    ck_assert_int_eq(outer.sign, ',');
    ck_assert_str_eq(outer.first.file, "a");
    ck_assert_uint_eq(outer.first.innermost.count, 7);
    ck_assert(outer.last.is_dry && !outer.first.innermost.is_dry);
    ck_assert_double_eq(outer.ratio, 2);
    ck_assert_uint_eq(outer.last.count, 0);
    count = 1;
    words[0] = strcpy(line[0], "--coun");
    ck_assert_int_eq(options_read("test", outer_table, &outer, &count, words, &err), STATUS_USAGE);
    ck_assert_msg(strstr(err.hint, "'--count'") != NULL, "%s", err.hint);
}
END_TEST

START_TEST(refuses_what_it_cannot_read_and_says_what)
{
    static const struct {
        const char *line, *message, *hint;
    } cases[] = {
        {"--fiel a", "'test' has no option '--fiel'", "did you mean '--file'?"},
        {"--Quick", "'test' has no option '--Quick'", "did you mean '--quick'?"},
        {"--xyzzyplugh", "'test' has no option '--xyzzyplugh'", "'lodecard help test'"},
        {"--=3", "'test' has no option '--'", "'lodecard help test'"},
        {"-qx", "'test' has no option '-x' (in '-qx')", "'lodecard help test'"},
        {"--count", "option '--count' needs a value: '--count N'", ""},
        {"-f", "option '--file' needs a value: '--file FILE'", ""},
        {"--file --quick", "option '--file' needs a value: '--file FILE'", ""},
        {"--file --", "option '--file' needs a value: '--file FILE'", ""},
        {"--file=", "option '--file': '' is not a name", ""},
        {"--place=", "option '--place': '' is not a name", ""},
        {"--quick=1", "option '--quick' takes no value", ""},
        {"--count 2.5", "option '--count': '2.5' is not a whole number", ""},
        {"--count 3x", "option '--count': '3x' is not a whole number", ""},
        {"--count 0", "option '--count': '0' is not 1 or more", ""},
        {"--count nan", "option '--count': 'nan' is not a whole number", ""},
        {"--count 1e20", "option '--count': '1e20' is not a sensible number", ""},
        {"--ratio 2.5", "option '--ratio': '2.5' is not from -2 to 2", ""},
        {"--ratio 1e999", "option '--ratio': '1e999' is not a number", ""},
        {"--start -1", "option '--start': '-1' is not 0 s or more", ""},
        {"--torque 5Hz",
            "option '--torque': '5Hz' is not a number of N m or a torque with its unit", ""},
        {"--start 3kg", "option '--start': '3kg' is not a number of s or a time with its unit", ""},
        {"--sign ;", "option '--sign': ';' is not one of '.' ',' tab", ""},
        {"--sign .,", "option '--sign': '.,' is not one of '.' ',' tab", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct target target = {0};
        struct error err = {0};
        char left[200];
        ck_assert_int_eq(read_line(cases[i].line, &target, left, &err), STATUS_USAGE);
        ck_assert_str_eq(err.message, cases[i].message);
        ck_assert_msg(strstr(err.hint, cases[i].hint), "%s: %s", cases[i].line, err.hint);
        ck_assert_msg(strstr(err.hint, "'lodecard help test'"), "%s: %s", cases[i].line, err.hint);
    }
}
END_TEST

Suite *options_suite(void)
{
    Suite *suite = suite_create("options");
    TCase *tests = tcase_create("options");
    tcase_add_test(tests, reads_every_way_to_write_an_option);
    tcase_add_test(tests, leaves_files_in_their_order);
    tcase_add_test(tests, reads_numbers_with_and_without_unit);
    tcase_add_test(tests, reads_quantities_with_and_without_uncertainty);
    tcase_add_test(tests, reads_letters_and_their_names);
    tcase_add_test(tests, takes_standard_output_where_no_place_is_named);
    tcase_add_test(tests, tells_what_was_given_from_what_was_there);
    tcase_add_test(tests, walks_through_tables_that_take_in_others);
    tcase_add_test(tests, reads_into_the_structs_of_tables_that_are_taken_in);
    tcase_add_test(tests, refuses_what_it_cannot_read_and_says_what);
    suite_add_tcase(suite, tests);
    return suite;
}
