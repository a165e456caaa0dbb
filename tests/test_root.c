// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/root.h"

#include <math.h>
#include <string.h>

#include "suites.h"

static double get_miss_of_cosine(double x, void *context)
{
    (void)context;
    return cos(x) - x;
}

static double get_line(double x, void *context)
{
    return x - *(double *)context;
}

static double get_nothing(double x, void *context)
{
    (void)context;
    return x > 0.25 ? NAN : -1.0;
}

START_TEST(finds_the_root_from_either_end_of_the_bracket)
{
    struct root_finder *finder = root_finder_create();
    struct error err;
    double root = 0.0, at = 0.25;
    ck_assert(!root_finder_solve(finder, get_miss_of_cosine, NULL, 0.0, 1.0, 0.0, &root, &err));
    ck_assert_double_eq_tol(root, 0.73908513321516064, 1e-15); /* OEIS A003957 */
    ck_assert(!root_finder_solve(finder, get_miss_of_cosine, NULL, 2.0, -1.0, 0.0, &root, &err));
    ck_assert_double_eq_tol(root, 0.73908513321516064, 1e-15);
    /* on the edge of the bracket, and to a wide tolerance */
    ck_assert(!root_finder_solve(finder, get_line, &at, 0.25, 9.0, 1e-3, &root, &err));
    ck_assert_double_eq_tol(root, 0.25, 1e-3);
    root_finder_destroy(finder);
    root_finder_destroy(NULL);
}
END_TEST

START_TEST(refuses_a_bracket_without_a_root_and_leaves_the_result)
{
    struct root_finder *finder = root_finder_create();
    struct error err;
    double root = 7.0;
    ck_assert(root_finder_solve(finder, get_miss_of_cosine, NULL, 1.0, 2.0, 0.0, &root, &err) ==
              STATUS_FAULT);
    ck_assert_int_eq(strncmp(err.message, "no root between 1 and 2: ", 25), 0);
    ck_assert(
        root_finder_solve(finder, get_nothing, NULL, 0.0, 1.0, 0.0, &root, &err) == STATUS_FAULT);
    ck_assert_double_eq(root, 7.0);
    root_finder_destroy(finder);
}
END_TEST

Suite *root_suite(void)
{
    Suite *suite = suite_create("root");
    TCase *tests = tcase_create("root");
    tcase_add_test(tests, finds_the_root_from_either_end_of_the_bracket);
    tcase_add_test(tests, refuses_a_bracket_without_a_root_and_leaves_the_result);
    suite_add_tcase(suite, tests);
    return suite;
}
