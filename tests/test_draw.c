// SPDX-License-Identifier: GPL-3.0-or-later
/* Draws of inputs follow their distributions as they stand in books, and their correlations. */
#include "budget/draw.h"

#include <math.h>
#include <string.h>

#include "num/distribution.h"
#include "num/student.h"
#include "suites.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
enum { DRAWS = 60000, BINS = 50, INPUTS_MOST = 4, ROOM = 6 };

static const double PI = 3.14159265358979323846;

/* The share below x of an input of mean 0 and u = 1; t: scaled by u, so that its own deviation is
 * larger. A curvilinear trapezoid (JCGM 101:2008, 6.4.3) of half-width a and blur b is a uniform
 * mixture of rectangles of half-widths a - b ... a + b. */
static double get_share(const struct budget_input *input, double x)
{
    double width;
    switch (input->distribution) {
    case BUDGET_NORMAL:
        return normal_compute_share(x);
    case BUDGET_RECTANGULAR:
        return 0.5 + x / (2 * sqrt(3));
    case BUDGET_TRIANGULAR:
        width = 1 - fabs(x) / sqrt(6);
        return x < 0 ? 0.5 * width * width : 1 - 0.5 * width * width;
    case BUDGET_ARCSINE:
        return 0.5 + asin(x / sqrt(2)) / PI;
    case BUDGET_T:
        return isfinite(input->freedom) ? student_compute_share(x, input->freedom)
                                        : normal_compute_share(x);
    case BUDGET_BLURRED:
        break;
    }
    const double b = input->blur / input->u, a = sqrt(3 * (1 - b * b / 9)), y = fabs(x);
    const double inner = fmin(fmax(y, a - b), a + b);
    const double above = inner - (a - b) + y * log((a + b) / inner);
    return 0.5 + copysign(0.5, x) * above / (2 * b);
}

/* Draws of the inputs, each from a stream of its own: what a trial does. */
static void take(const struct budget_inputs *inputs, size_t draws, double *values)
{
    struct draw draw = {0};
    struct error err = {0};
    ck_assert_msg(draw_create(&draw, inputs, &err) == STATUS_OK, "%s", err.message);
    for (size_t i = 0; i < draws; i++) {
        double room[DRAW_ROOM * ROOM];
        struct random random;
        random_init(&random, 2024, i);
        draw_take(&draw, &random, room, values + i * inputs->count);
    }
    draw_clear(&draw);
}

static double values[DRAWS * INPUTS_MOST];

/* Whether input `at` has the shares that it should in bins of equal probability: chi^2 with 49
 * degrees of freedom exceeds 99 by chance once in 30 000. */
static void check_shares(const struct budget_inputs *inputs, size_t at)
{
    const struct budget_input *input = &inputs->list[at];
    double seen[BINS] = {0}, chi_square = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        const double x = (values[i * inputs->count + at] - input->value) / input->u;
        const double share = get_share(input, x);
        ck_assert_msg(share >= -1e-12 && share <= 1 + 1e-12, "beyond the limits: %.17g", x);
        seen[(int)fmin(fmax(share * BINS, 0), BINS - 1)] += 1;
    }
    for (int bin = 0; bin < BINS; bin++) {
        chi_square += pow(seen[bin] - (double)DRAWS / BINS, 2) * BINS / DRAWS;
    }
    ck_assert_msg(chi_square < 99, "chi^2 = %g", chi_square);
    ck_assert_msg(chi_square > 20, "chi^2 = %g", chi_square); /* as rare: too even for chance */
}

static const struct budget_input single_list[] = {
    {"x", 3, 0.5, INFINITY, 0, BUDGET_NORMAL},
    {"x", 3, 0.5, INFINITY, 0, BUDGET_RECTANGULAR},
    {"x", 3, 0.5, INFINITY, 0, BUDGET_TRIANGULAR},
    {"x", 3, 0.5, INFINITY, 0, BUDGET_ARCSINE},
    {"x", 3, 0.5, INFINITY, 0, BUDGET_T},
    {"x", 3, 0.5, 0.5, 0, BUDGET_T},
    {"x", 3, 0.5, 1, 0, BUDGET_T},
    {"x", 3, 0.5, 2, 0, BUDGET_T},
    {"x", 3, 0.5, 3, 0, BUDGET_T},
    {"x", 3, 0.5, 9.5, 0, BUDGET_T},
    {"x", 3, 1, INFINITY, 0.5, BUDGET_BLURRED},
    {"x", -3, 1, INFINITY, 1.25, BUDGET_BLURRED},
    {"x", 2, 0.25, INFINITY, 0.125, BUDGET_BLURRED},
};

START_TEST(draws_follow_their_distribution)
{
    const struct budget_inputs inputs = {&single_list[_i], 1, NULL};
    take(&inputs, DRAWS, values);
    check_shares(&inputs, 0);
}
END_TEST

/* Two normal deviates of correlation r have one sign in a share 1/2 + asin(r)/pi (W. F. Sheppard,
 * 1899); ranks keep it whatever the distribution, and spreading to t does not change signs. */
static const struct {
    struct budget_input list[INPUTS_MOST];
    double correlation[INPUTS_MOST * INPUTS_MOST];
} joint_list[] = {
    {{{"a", 1, 2, INFINITY, 0, BUDGET_NORMAL}, {"b", -4, 0.5, INFINITY, 0, BUDGET_NORMAL},
         {"c", 7, 1, INFINITY, 0, BUDGET_NORMAL}, {"d", 0, 3, INFINITY, 0, BUDGET_NORMAL}},
        {1, 0.5, -0.3, 0, 0.5, 1, 0.2, 0, -0.3, 0.2, 1, 0, 0, 0, 0, 1}},
    {{{"a", 1, 2, 4, 0, BUDGET_T}, {"b", -4, 0.5, INFINITY, 0, BUDGET_NORMAL},
         {"c", 7, 1, INFINITY, 0, BUDGET_RECTANGULAR}, {"d", 0, 3, 1.5, 0, BUDGET_T}},
        {1, 0, -0.6, 0.3, 0, 1, 0, 0, -0.6, 0, 1, 0.4, 0.3, 0, 0.4, 1}},
    {{{"a", 1, 2, INFINITY, 0, BUDGET_ARCSINE}, {"b", -4, 0.5, INFINITY, 0, BUDGET_TRIANGULAR},
         {"c", 7, 1, INFINITY, 0.75, BUDGET_BLURRED}, {"d", 0, 3, 2, 0, BUDGET_T}},
        {1, 0.9, 0.8, 0.7, 0.9, 1, 0.9, 0.8, 0.8, 0.9, 1, 0.9, 0.7, 0.8, 0.9, 1}},
    /* b is a, and c - its opposite: the root has rows of 0 */
    {{{"a", 1, 2, INFINITY, 0, BUDGET_NORMAL}, {"b", -4, 0.5, INFINITY, 0, BUDGET_NORMAL},
         {"c", 7, 1, INFINITY, 0, BUDGET_NORMAL}, {"d", 0, 3, INFINITY, 0, BUDGET_NORMAL}},
        {1, 1, -1, 0.6, 1, 1, -1, 0.6, -1, -1, 1, -0.6, 0.6, 0.6, -0.6, 1}},
};

START_TEST(draws_follow_their_correlations)
{
    const struct budget_inputs inputs = {
        joint_list[_i].list, INPUTS_MOST, joint_list[_i].correlation};
    take(&inputs, DRAWS, values);
    for (size_t a = 0; a < INPUTS_MOST; a++) {
        check_shares(&inputs, a);
        for (size_t b = 0; b < a; b++) {
            double alike = 0;
            for (size_t i = 0; i < DRAWS; i++) {
                const double *draw = values + i * INPUTS_MOST;
                alike += (draw[a] > inputs.list[a].value) == (draw[b] > inputs.list[b].value);
            }
            const double share = 0.5 + asin(inputs.correlation[a * INPUTS_MOST + b]) / PI;
            const double width = 4 * sqrt(share * (1 - share) / DRAWS);
            ck_assert_double_eq_tol(alike / DRAWS, share, width + 1e-12);
        }
    }
}
END_TEST

/* An input of Student's t that is a normal one fully correlated, but for its spread: the square of
 * their ratio is freedom over chi^2. */
START_TEST(spreads_follow_chi_square)
{
    static const double freedoms[] = {0.5, 1, 2, 2.5, 9};
    static const double correlation[] = {1, 1, 1, 1};
    const double freedom = freedoms[_i];
    const struct budget_input list[] = {
        {"a", 0, 2, INFINITY, 0, BUDGET_NORMAL}, {"b", 0, 0.5, freedom, 0, BUDGET_T}};
    const struct budget_inputs inputs = {list, 2, correlation};
    double seen[BINS] = {0}, sum = 0;
    take(&inputs, 2 * DRAWS, values);
    for (size_t i = 0; i < 2 * DRAWS; i++) {
        const double factor = 4 * values[2 * i + 1] / values[2 * i];
        const double share = chi_square_compute_share(freedom / (factor * factor), freedom);
        ck_assert_double_gt(factor, 0);
        seen[(int)fmin(share * BINS, BINS - 1)] += 1;
    }
    for (int bin = 0; bin < BINS; bin++) {
        sum += pow(seen[bin] - 2.0 * DRAWS / BINS, 2) * BINS / (2 * DRAWS);
    }
    ck_assert_msg(sum > 20 && sum < 99, "chi^2 = %g", sum);
}
END_TEST

/* Inputs that are known have their value, and the others the same draws as without them. */
START_TEST(known_inputs_change_nothing)
{
    static const struct budget_input list[] = {{"a", 5, 0, INFINITY, 0, BUDGET_NORMAL},
        {"x", 1, 2, INFINITY, 0, BUDGET_NORMAL}, {"b", -2, 0, 3, 0, BUDGET_T},
        {"y", 3, 1, INFINITY, 0, BUDGET_RECTANGULAR}, {"z", 7, 0.5, 3, 0, BUDGET_T},
        {"c", 1, 0, INFINITY, 0, BUDGET_RECTANGULAR}};
    const struct budget_input unknown[] = {list[1], list[3], list[4]};
    const struct budget_inputs with = {list, 6, NULL}, without = {unknown, 3, NULL};
    static double others[300];
    take(&without, 100, others);
    take(&with, 100, values);
    for (size_t i = 0; i < 100; i++) {
        const double *x = values + 6 * i, *y = others + 3 * i;
        ck_assert(x[0] == 5 && x[2] == -2 && x[5] == 1);
        ck_assert(x[1] == y[0] && x[3] == y[1] && x[4] == y[2]);
    }
}
END_TEST

/* Which inputs are correlated with any other: the third is with none, and the second with the first
 * alone. */
START_TEST(only_what_is_correlated_goes_through_the_root)
{
    static const double correlation[] = {1, 0.5, 0, 0, 0.5, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1};
    const struct budget_inputs inputs = {joint_list[0].list, 4, correlation};
    const struct budget_inputs plain = {joint_list[0].list, 4, NULL};
    struct draw draw = {0};
    ck_assert_int_eq(draw_create(&draw, &inputs, NULL), STATUS_OK);
    ck_assert_uint_eq(draw.correlated_count, 2);
    ck_assert(draw.correlated[0] == 0 && draw.correlated[1] == 1);
    ck_assert(draw.is_correlated[0] && draw.is_correlated[1]);
    ck_assert(!draw.is_correlated[2] && !draw.is_correlated[3]);
    draw_clear(&draw);
    ck_assert_int_eq(draw_create(&draw, &plain, NULL), STATUS_OK);
    ck_assert_uint_eq(draw.correlated_count, 0);
    ck_assert_ptr_null(draw.root);
    draw_clear(&draw);
}
END_TEST

/* A matrix whose determinant is just below or above 0: with r, r and s off the diagonal it is
 * (1 - s) (1 + s - 2 r^2). */
START_TEST(a_matrix_is_one_up_to_its_border)
{
    static const struct budget_input list[] = {{"a", 0, 1, INFINITY, 0, BUDGET_NORMAL},
        {"b", 0, 1, INFINITY, 0, BUDGET_NORMAL}, {"c", 0, 1, INFINITY, 0, BUDGET_NORMAL}};
    static const struct {
        double off;
        enum status status;
    } cases[] = {{1e-6, STATUS_OK}, {0, STATUS_OK}, {-1e-6, STATUS_INPUT}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const double r = 0.6, s = 2 * r * r - 1 + cases[i].off;
        const double correlation[] = {1, r, r, r, 1, s, r, s, 1};
        const struct budget_inputs inputs = {list, 3, correlation};
        struct draw draw = {0};
        struct error err = {0};
        ck_assert_int_eq(draw_create(&draw, &inputs, &err), cases[i].status);
        if (cases[i].status == STATUS_OK) {
            /* correlation = root^T root */
            for (size_t a = 0; a < 3; a++) {
                for (size_t b = 0; b < 3; b++) {
                    double sum = 0;
                    for (size_t k = 0; k < 3; k++) {
                        sum += draw.root[k * 3 + a] * draw.root[k * 3 + b];
                    }
                    ck_assert_double_eq_tol(sum, correlation[a * 3 + b], 1e-9);
                }
            }
        } else {
            ck_assert_str_eq(err.message,
                "the correlations of 'c' with the inputs before it contradict each other");
        }
        draw_clear(&draw);
    }
}
END_TEST

Suite *draw_suite(void)
{
    Suite *suite = suite_create("draw");
    TCase *tests = tcase_create("draw");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, draws_follow_their_distribution, 0, (int)COUNT(single_list));
    tcase_add_loop_test(tests, draws_follow_their_correlations, 0, (int)COUNT(joint_list));
    tcase_add_loop_test(tests, spreads_follow_chi_square, 0, 5);
    tcase_add_test(tests, known_inputs_change_nothing);
    tcase_add_test(tests, only_what_is_correlated_goes_through_the_root);
    tcase_add_test(tests, a_matrix_is_one_up_to_its_border);
    suite_add_tcase(suite, tests);
    return suite;
}
