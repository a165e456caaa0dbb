// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"

START_TEST(grows_by_all_ways_of_adding)
{
    struct text text = {0};
    text_add(&text, "");
    ck_assert_str_eq(text.bytes, "");
    text_add(&text, "B = ");
    text_add_format(&text, "%d %s", 12, "T");
    text_add_bytes(&text, "\0x", 2);
    ck_assert_uint_eq(text.length, 10);
    ck_assert_int_eq(memcmp(text.bytes, "B = 12 T\0x", 11), 0);
    ck_assert(!text.failed);
    text_clear(&text);
    text_clear(&text);
    ck_assert_ptr_null(text.bytes);
}
END_TEST

START_TEST(holds_long_texts)
{
    struct text text = {0};
    for (int i = 0; i < 20000; i++) {
        text_add_format(&text, "%05d", i);
    }
    ck_assert_uint_eq(text.length, 100000);
    ck_assert_uint_eq(strlen(text.bytes), 100000);
    ck_assert_str_eq(text.bytes + 99990, "1999819999");
    text_clear(&text);
}
END_TEST

START_TEST(does_nothing_after_it_failed)
{
    struct text text = {0};
    text_add(&text, "a");
    text_add_bytes(&text, "b", SIZE_MAX - 1);
    ck_assert(text.failed);
    text_add(&text, "c");
    text_add_format(&text, "%d", 1);
    ck_assert_str_eq(text.bytes, "a");
    text_clear(&text);
    ck_assert(!text.failed);
}
END_TEST

static const struct {
    double value;
    const char *words;
} shortest[] = {
    {0.0, "0"},
    {-0.0, "-0"},
    {1.0, "1"},
    {0.1, "0.1"},
    {-2.385, "-2.385"},
    {123456789012345678.0, "1.2345678901234568e+17"}, /* 17 digits; 16 read back to another */
    {0.1 + 0.2, "0.30000000000000004"},
    {1.0 / 3.0, "0.3333333333333333"},
    {5e-324, "4.94065645841247e-324"}, /* at least 15 digits: the contract of the header */
    {1.7976931348623157e308, "1.7976931348623157e+308"},
    {INFINITY, "inf"},
    {-INFINITY, "-inf"},
    {NAN, "nan"},
};

START_TEST(writes_the_shortest_form_that_reads_back)
{
    char buffer[TEXT_NUMBER_SIZE];
    ck_assert_str_eq(text_number(buffer, shortest[_i].value), shortest[_i].words);
}
END_TEST

/* Correctly rounded decimal to binary conversion. The literals are converted by the compiler, which
 * computes with many more digits; the hard ones are from V. Paxson, A program for testing IEEE
 * decimal-binary conversion (1991), tables 1 and 3. */
#define NUMBER(literal)                                                                            \
    {                                                                                              \
        literal, #literal                                                                          \
    }
static const struct {
    double value;
    const char *words;
} numbers[] = {
    NUMBER(0),
    NUMBER(0.0),
    NUMBER(7),
    NUMBER(.5),
    NUMBER(5.),
    NUMBER(2.385),
    NUMBER(0.000021),
    NUMBER(1e22),
    NUMBER(1e23),
    NUMBER(1E-22),
    NUMBER(1e-23),
    NUMBER(9007199254740992.0),
    NUMBER(9007199254740993.0), /* halfway: to the even neighbour */
    NUMBER(9007199254740993.00000000000000000000000000000000000000000000000000001),
    NUMBER(9007199254740995.0),
    NUMBER(123456789012345678901234567890e-20),
    NUMBER(0.00000000000000000000000000000000000000123e38),
    NUMBER(4.9406564584124654e-324),
    NUMBER(2.2250738585072011e-308),
    NUMBER(2.2250738585072014e-308),
    NUMBER(1.7976931348623157e308),
    NUMBER(1.7976931348623158e308),
    NUMBER(5e125),
    NUMBER(69e267),
    NUMBER(999e-26),
    NUMBER(7861e-34),
    NUMBER(75569e-254),
    NUMBER(928609e-261),
    NUMBER(9210917e80),
    NUMBER(84863171e114),
    NUMBER(653777767e273),
    NUMBER(5232604057e-298),
    NUMBER(27235667517e-109),
    NUMBER(653532977297e-123),
    NUMBER(3142213164987e-294),
    NUMBER(46202199371337e-72),
    NUMBER(231010996856685e-73),
    NUMBER(9324754620109615e212),
    NUMBER(78459735791271921e49),
    NUMBER(272104041512242479e200),
    NUMBER(6802601037806061975e198),
    NUMBER(20505426358836677347e-221),
    NUMBER(836168422905420598437e-234),
    NUMBER(4891559871276714924261e222),
};

START_TEST(reads_numbers_correctly_rounded)
{
    const char *words = numbers[_i].words;
    double value = NAN;
    ck_assert_uint_eq(text_read_number(words, strlen(words), &value), strlen(words));
    ck_assert_msg(
        memcmp(&value, &numbers[_i].value, sizeof value) == 0, "%s became %.17g", words, value);
    char negative[100];
    snprintf(negative, sizeof negative, "-%s", words);
    ck_assert_uint_eq(text_read_number(negative, strlen(negative), &value), strlen(negative));
    ck_assert(value == -numbers[_i].value && signbit(value));
}
END_TEST

/* A million digits: 1.000...0001 just above halfway between 1 and the next double. */
START_TEST(reads_more_digits_than_any_buffer_holds)
{
    static const char halfway[] = "1.00000000000000011102230246251565404236316680908203125";
    size_t length = 1000000;
    char *words = malloc(length);
    ck_assert_ptr_nonnull(words);
    memset(words, '0', length);
    memcpy(words, halfway, sizeof halfway - 1);
    double value = 0;
    ck_assert_uint_eq(text_read_number(words, length, &value), length);
    ck_assert(value == 1.0);
    words[length - 1] = '1';
    ck_assert_uint_eq(text_read_number(words, length, &value), length);
    ck_assert(value == 0x1.0000000000001p0);
    words[1] = '0'; /* a whole number of a million digits */
    ck_assert_uint_eq(text_read_number(words, length, &value), length);
    ck_assert(isinf(value));
    free(words);
}
END_TEST

/* Random bit patterns, written with 1 to 20 digits, against the C library's conversion. */
START_TEST(agrees_with_the_c_library_on_random_numbers)
{
    uint64_t state = 20260101u + (uint64_t)_i;
    for (int i = 0; i < 30000; i++) {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        double x;
        memcpy(&x, &state, sizeof x);
        if (i % 2 == 0) {
            x = (double)(state % 2000000) / 1000 - 1000;
        }
        if (!isfinite(x)) {
            continue;
        }
        char words[64];
        snprintf(words, sizeof words, i % 3 == 0 ? "%.*f" : "%.*e", i % 20,
            fabs(x) < 1e15 ? x : ldexp(x, -ilogb(x)));
        double value = NAN;
        ck_assert_uint_eq(text_read_number(words, strlen(words), &value), strlen(words));
        ck_assert_msg(value == strtod(words, NULL), "seed %d: %s became %.17g", _i, words, value);
        char shortest_form[TEXT_NUMBER_SIZE];
        text_number(shortest_form, x);
        text_read_number(shortest_form, strlen(shortest_form), &value);
        ck_assert_msg(value == x, "seed %d: %s became %.17g", _i, shortest_form, value);
    }
}
END_TEST

static const struct {
    const char *words;
    size_t taken;
    double value;
} partial[] = {
    {"12.5;3", 4, 12.5},
    {"1.2.3", 3, 1.2},
    {"1e", 1, 1},
    {"1e+", 1, 1},
    {"1e+x", 1, 1},
    {"1e5e6", 3, 1e5},
    {"+4", 2, 4},
    {"0x10", 1, 0},
    {"7 mV", 1, 7},
    {"1,5", 1, 1},
    {"3-4", 1, 3},
    {"1e99999999999999999999", 22, INFINITY},
    {"1e-99999999999999999999", 23, 0},
    {"0e99999999999999999999", 22, 0},
};

/* Mantissas of 1 to 20 digits with powers of ten around the limits of each way of reading; every
 * other one near a double, or on the halfway point behind it. LODECARD_NUMBERS says how many. */
START_TEST(agrees_with_the_c_library_on_long_mantissas)
{
    const char *wanted = getenv("LODECARD_NUMBERS");
    const long count = wanted != NULL ? strtol(wanted, NULL, 10) : 50000;
    uint64_t state = 20270101u;
    for (long i = 0; i < count; i++) {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        char words[80];
        int exponent = (int)(state >> 8 & 63) - 32;
        if (i % 2 == 0) {
            const uint64_t limits[] = {10, 100000, UINT64_C(1) << 53, UINT64_C(100000000000000000),
                UINT64_C(10000000000000000000), UINT64_MAX};
            snprintf(words, sizeof words, "%llue%d",
                (unsigned long long)(state * 3 % limits[state >> 20 & 3 ? 3 + i % 3 : i % 3]),
                exponent);
        } else {
            /* 54 bits, the last of them set: halfway between two doubles, as it is and just beside
             */
            const uint64_t halfway = (state >> 10 | UINT64_C(1) << 53) | 1;
            const long double exact = ldexpl((long double)halfway, (int)(state & 7) - (int)(i % 9));
            snprintf(words, sizeof words, i % 4 == 1 ? "%.*Le" : "%.*Lf",
                (int)(state >> 4 & 7) + 12, exact);
        }
        double value = NAN;
        ck_assert_uint_eq(text_read_number(words, strlen(words), &value), strlen(words));
        ck_assert_msg(
            value == strtod(words, NULL), "number %ld, %s, became %.17g", i, words, value);
    }
}
END_TEST
START_TEST(reads_as_far_as_the_number_goes)
{
    double value = NAN;
    const char *words = partial[_i].words;
    ck_assert_uint_eq(text_read_number(words, strlen(words), &value), partial[_i].taken);
    ck_assert(value == partial[_i].value);
}
END_TEST

START_TEST(refuses_what_is_no_number)
{
    static const char *const words[] = {
        "", "-", "+", ".", "-.", "e5", ".e5", "nan", "inf", "infinity", " 1", "--1", "+-1", ",5"};
    double value = 42;
    ck_assert_uint_eq(text_read_number(words[_i], strlen(words[_i]), &value), 0);
    ck_assert(value == 42);
}
END_TEST

START_TEST(stops_at_the_length)
{
    double value = 0;
    ck_assert_uint_eq(text_read_number("12345", 3, &value), 3);
    ck_assert(value == 123);
    ck_assert_uint_eq(text_read_number("1e55", 3, &value), 3);
    ck_assert(value == 1e5);
    ck_assert_uint_eq(text_read_number("1e55", 2, &value), 1);
    ck_assert(value == 1);
}
END_TEST

static const struct {
    const char *word;
    const char *nearest;
} slips[] = {
    {"outer_diamter", "outer_diameter"},
    {"Height", "height"},
    {"hieght", "height"},
    {"densitiy", "density"},
    {"mas", "mass"},
    {"heigth", "height"},
    {"colour", NULL},
    {"x", NULL},
    {"", NULL},
};

START_TEST(finds_the_likely_slip)
{
    static const char *const words[] = {"mass", "outer_diameter", "inner_diameter", "height",
        "density", "an entry that is longer than any word that a person would write by a slip of",
        NULL};
    const char *nearest = text_nearest(slips[_i].word, words);
    if (slips[_i].nearest == NULL) {
        ck_assert_msg(nearest == NULL, "%s is not %s", slips[_i].word, nearest);
    } else {
        ck_assert_ptr_nonnull(nearest);
        ck_assert_str_eq(nearest, slips[_i].nearest);
    }
}
END_TEST

START_TEST(survives_long_words)
{
    char word[1000];
    memset(word, 'a', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    static const char *const words[] = {"aaaa", NULL};
    ck_assert_ptr_null(text_nearest(word, words));
}
END_TEST

START_TEST(counts_columns)
{
    ck_assert_uint_eq(text_width(""), 0);
    ck_assert_uint_eq(text_width("A/m"), 3);
    ck_assert_uint_eq(text_width("µ₀·H ±"), 6);
    ck_assert_uint_eq(text_width("e\xCC\x81"), 1); /* a combining acute accent */
    ck_assert_uint_eq(text_width("a\xFF\xC3"
                                 "b"),
        4); /* broken bytes take a column each */
}
END_TEST

/* Table 3-7 of the Unicode standard: well-formed byte sequences, and what is just outside. */
static const struct {
    const char *bytes;
    size_t size;
    uint32_t code;
} characters[] = {
    {"a", 1, 'a'},
    {"\xC2\x80", 2, 0x80},
    {"\xE0\xA0\x80", 3, 0x800},
    {"\xED\x9F\xBF", 3, 0xD7FF},
    {"\xEF\xBF\xBF", 3, 0xFFFF},
    {"\xF0\x90\x80\x80", 4, 0x10000},
    {"\xF4\x8F\xBF\xBF", 4, 0x10FFFF},
    {"\xC1\xBF", 0, 0},         /* longer than needed */
    {"\xE0\x9F\xBF", 0, 0},     /* longer than needed */
    {"\xED\xA0\x80", 0, 0},     /* a surrogate */
    {"\xF0\x8F\xBF\xBF", 0, 0}, /* longer than needed */
    {"\xF4\x90\x80\x80", 0, 0}, /* beyond the last */
    {"\xF8\x88\x80\x80\x80", 0, 0},
    {"\x80", 0, 0},
    {"\xE2\x82", 0, 0}, /* cut */
    {"\xE2\x82q", 0, 0},
};

START_TEST(reads_characters_and_refuses_bad_ones)
{
    uint32_t code = 0;
    const char *bytes = characters[_i].bytes;
    ck_assert_uint_eq(text_read_character(bytes, strlen(bytes), &code), characters[_i].size);
    ck_assert_uint_eq(code, characters[_i].code);
}
END_TEST

START_TEST(names_files_without_folders)
{
    ck_assert_str_eq(text_base_name("a.wav"), "a.wav");
    ck_assert_str_eq(text_base_name("/x/y.z/a.wav"), "a.wav");
    ck_assert_str_eq(text_base_name("../a.wav"), "a.wav");
    ck_assert_str_eq(text_base_name("-"), "-");
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof *(list)))

Suite *text_suite(void)
{
    Suite *suite = suite_create("text");
    TCase *tests = tcase_create("text");
    tcase_add_test(tests, grows_by_all_ways_of_adding);
    tcase_add_test(tests, holds_long_texts);
    tcase_add_test(tests, does_nothing_after_it_failed);
    tcase_add_loop_test(tests, finds_the_likely_slip, 0, COUNT(slips));
    tcase_add_test(tests, survives_long_words);
    tcase_add_test(tests, counts_columns);
    tcase_add_loop_test(tests, reads_characters_and_refuses_bad_ones, 0, COUNT(characters));
    tcase_add_test(tests, names_files_without_folders);
    suite_add_tcase(suite, tests);
    TCase *numeric = tcase_create("numbers");
    tcase_add_loop_test(numeric, writes_the_shortest_form_that_reads_back, 0, COUNT(shortest));
    tcase_add_loop_test(numeric, reads_numbers_correctly_rounded, 0, COUNT(numbers));
    tcase_add_test(numeric, reads_more_digits_than_any_buffer_holds);
    tcase_add_loop_test(numeric, agrees_with_the_c_library_on_random_numbers, 0, 3);
    tcase_add_test(numeric, agrees_with_the_c_library_on_long_mantissas);
    tcase_add_loop_test(numeric, reads_as_far_as_the_number_goes, 0, COUNT(partial));
    tcase_add_loop_test(numeric, refuses_what_is_no_number, 0, 14);
    tcase_add_test(numeric, stops_at_the_length);
    tcase_set_timeout(numeric, 60);
    suite_add_tcase(suite, numeric);
    return suite;
}
