// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdint.h>
#include <string.h>

#include "base/memory.h"
#include "suites.h"

START_TEST(gives_zeroed_memory)
{
    static const size_t counts[] = {1, 7, 4096, 4097, 100003};
    size_t count = counts[_i];
    unsigned char *dirty = memory_create(count, 1);
    ck_assert_ptr_nonnull(dirty);
    memset(dirty, 0xA5, count); /* the allocator likes to give the same block again */
    memory_destroy(dirty);
    unsigned char *memory = memory_create(count, 1);
    ck_assert_ptr_nonnull(memory);
    for (size_t i = 0; i < count; i++) {
        ck_assert_uint_eq(memory[i], 0);
    }
    memory_destroy(memory);
}
END_TEST

START_TEST(aligns_what_is_larger_than_a_page)
{
    void *blocks[16];
    for (size_t i = 0; i < 16; i++) {
        blocks[i] = memory_create(4097 + 1000 * i, 1);
        ck_assert_ptr_nonnull(blocks[i]);
        ck_assert_uint_eq((uintptr_t)blocks[i] % 64, 0);
    }
    for (size_t i = 0; i < 16; i++) {
        memory_destroy(blocks[i]);
    }
}
END_TEST

START_TEST(refuses_a_size_that_overflows)
{
    ck_assert_ptr_null(memory_create(SIZE_MAX / 2, 3));
    ck_assert_ptr_null(memory_create(SIZE_MAX, 1));
    ck_assert_ptr_null(memory_resize(NULL, SIZE_MAX / 8 + 2, 8));
    size_t capacity = 4;
    ck_assert_ptr_null(memory_reserve(NULL, &capacity, SIZE_MAX - 1, 8));
    ck_assert_uint_eq(capacity, 4);
}
END_TEST

START_TEST(gives_something_for_nothing)
{
    void *memory = memory_create(0, 8);
    ck_assert_ptr_nonnull(memory);
    memory = memory_resize(memory, 0, 8);
    ck_assert_ptr_nonnull(memory);
    memory_destroy(memory);
    memory_destroy(NULL);
}
END_TEST

START_TEST(keeps_the_elements_when_it_grows)
{
    int *list = NULL;
    size_t capacity = 0;
    size_t moves = 0;
    for (int i = 0; i < 10000; i++) {
        size_t before = capacity;
        int *larger = memory_reserve(list, &capacity, (size_t)i + 1, sizeof *list);
        ck_assert_ptr_nonnull(larger);
        ck_assert_uint_gt(capacity, (size_t)i);
        moves += capacity != before;
        list = larger;
        list[i] = 3 * i;
    }
    ck_assert_uint_le(moves, 12); /* it doubles: 8 ... 16384 */
    for (int i = 0; i < 10000; i++) {
        ck_assert_int_eq(list[i], 3 * i);
    }
    memory_destroy(list);
}
END_TEST

START_TEST(copies_texts)
{
    const char words[] = "ring R-17";
    char *copy = memory_copy_text(words);
    ck_assert_str_eq(copy, words);
    ck_assert_ptr_ne(copy, words);
    memory_destroy(copy);
    ck_assert_ptr_null(memory_copy_text(NULL));
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tests = tcase_create("memory");
    tcase_add_loop_test(tests, gives_zeroed_memory, 0, 5);
    tcase_add_test(tests, aligns_what_is_larger_than_a_page);
    tcase_add_test(tests, refuses_a_size_that_overflows);
    tcase_add_test(tests, gives_something_for_nothing);
    tcase_add_test(tests, keeps_the_elements_when_it_grows);
    tcase_add_test(tests, copies_texts);
    suite_add_tcase(suite, tests);
    return suite;
}
