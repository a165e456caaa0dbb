// SPDX-License-Identifier: GPL-3.0-or-later
/* The examples of JCGM 101:2008, clause 9, through the project's own code. Where the tables there
 * come from trials themselves, the values beside are closed forms or four million trials of other
 * software. */
#include "budget/trials.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "budget/draw.h"
#include "budget/tally.h"
#include "num/student.h"
#include "suites.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
enum { TRIALS = 200000 };

static struct trials run(const struct budget_problem *problem, size_t count, double probability)
{
    const struct trials_options options = {
        .count = count, .most = 4000000, .probability = probability, .digits = 2, .seed = 11};
    struct trials trials;
    ck_assert_int_eq(trials_create(&trials, problem, &options, NULL), STATUS_OK);
    return trials;
}

static void check_interval(const double *found, double low, double high, double tolerance)
{
    ck_assert_double_eq_tol(found[0], low, tolerance);
    ck_assert_double_eq_tol(found[1], high, tolerance);
}

/* ---- 9.2: sums of four ---- */

static void compute_sum(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0] + x[1] + x[2] + x[3];
}

static void fill(struct budget_input inputs[4], enum budget_distribution distribution, double last)
{
    for (size_t i = 0; i < 4; i++) {
        inputs[i] = (struct budget_input){
            .name = "x", .u = i == 3 ? last : 1, .freedom = INFINITY, .distribution = distribution};
    }
}

START_TEST(sum_of_four_normal_inputs_of_9_2_2)
{
    struct budget_input inputs[4];
    fill(inputs, BUDGET_NORMAL, 1);
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_sum}, .inputs = {inputs, 4, NULL}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    ck_assert_double_eq_tol(trials.list[0].mean, 0, 0.012);
    ck_assert_double_eq_tol(trials.list[0].u, 2, 0.01);
    /* ends of 200 000 trials wander by 2 * 0.006; three of them */
    check_interval(trials.list[0].symmetric, -3.92, 3.92, 0.035);
    ck_assert_int_eq(trials_validate(&trials.list[0], 0, 3.92), TRIALS_VALIDATED);
    trials_clear(&trials);
}
END_TEST

START_TEST(sum_of_four_rectangular_inputs_of_9_2_3)
{
    struct budget_input inputs[4];
    fill(inputs, BUDGET_RECTANGULAR, 1);
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_sum}, .inputs = {inputs, 4, NULL}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    const double end = 2 * sqrt(3) * (2 - pow(0.6, 0.25)); /* table 3: 3.88 */
    ck_assert_double_eq_tol(trials.list[0].u, 2, 0.01);
    check_interval(trials.list[0].symmetric, -end, end, 0.03);
    /* the shortest one of a flat optimum is never longer, and wanders more */
    ck_assert_double_le(trials.list[0].shortest[1] - trials.list[0].shortest[0],
        trials.list[0].symmetric[1] - trials.list[0].symmetric[0] + 1e-3);
    check_interval(trials.list[0].shortest, -end, end, 0.15);
    trials_clear(&trials);
}
END_TEST

START_TEST(one_large_rectangular_input_of_9_2_4_defeats_the_linear_result)
{
    struct budget_input inputs[4];
    fill(inputs, BUDGET_RECTANGULAR, 10);
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_sum}, .inputs = {inputs, 4, NULL}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    struct propagation linear;
    ck_assert_int_eq(propagation_create(&linear, &problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(linear.u[0], 10.14889156509222, 1e-9);
    ck_assert_double_eq_tol(trials.list[0].u, 10.14889156509222, 0.03);
    check_interval(trials.list[0].symmetric, -17.015814062664, 17.015814062664, 0.06);
    const double expanded = linear.u[0] * student_compute_coverage(0.95, linear.freedom[0]);
    ck_assert_double_eq_tol(expanded, 19.891462, 1e-6);
    ck_assert_int_eq(trials_validate(&trials.list[0], 0, expanded), TRIALS_NOT_VALIDATED);
    propagation_clear(&linear);
    trials_clear(&trials);
}
END_TEST

/* ---- 9.3: calibration of a weight, mass in mg and densities in kg/m3 ---- */

static const struct budget_input weight[] = {
    {"reference", 100000, 0.05, INFINITY, 0, BUDGET_NORMAL},
    {"added", 1.234, 0.02, INFINITY, 0, BUDGET_NORMAL},
    {"air", 1.2, 0.1 / 1.7320508075688772, INFINITY, 0, BUDGET_RECTANGULAR},
    {"weight's density", 8000, 1000 / 1.7320508075688772, INFINITY, 0, BUDGET_RECTANGULAR},
    {"reference's density", 8000, 50 / 1.7320508075688772, INFINITY, 0, BUDGET_RECTANGULAR},
};

static void compute_weight(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = (x[0] + x[1]) * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
}

START_TEST(mass_calibration_of_9_3)
{
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_weight}, .inputs = {weight, 5, NULL}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    struct propagation linear;
    double added;
    ck_assert_int_eq(propagation_create(&linear, &problem, NULL), STATUS_OK);
    ck_assert_int_eq(propagation_compute_second_order(&problem, &added, NULL), STATUS_OK);
    /* table 6: trials 1.2341, 0.0754, [1.0834, 1.3825]; linear 0.0539; with second order 0.0750 */
    ck_assert_double_eq_tol(trials.list[0].mean, 1.2341, 5e-4);
    ck_assert_double_eq_tol(trials.list[0].u, 0.0755, 3e-4);
    check_interval(trials.list[0].shortest, 1.085, 1.384, 0.006);
    ck_assert_double_eq_tol(trials.list[0].shortest[1] - trials.list[0].shortest[0], 0.2993, 2e-3);
    ck_assert_double_eq_tol(linear.u[0], 0.0539, 5e-5);
    ck_assert_double_eq_tol(sqrt(linear.u[0] * linear.u[0] + added), 0.0750, 5e-5);
    const double k = student_compute_coverage(0.95, linear.freedom[0]);
    ck_assert_double_eq_tol(1.234 - k * linear.u[0], 1.1285, 1e-4);
    ck_assert_double_eq_tol(1.234 + k * linear.u[0], 1.3395, 1e-4);
    ck_assert_int_eq(
        trials_validate(&trials.list[0], 1.234, k * linear.u[0]), TRIALS_NOT_VALIDATED);
    propagation_clear(&linear);
    trials_clear(&trials);
}
END_TEST

/* ---- 9.4: comparison loss in microwave power, Y = X1^2 + X2^2 ---- */

static void compute_loss(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0] * x[0] + x[1] * x[1];
}

static const struct {
    double x1, mean, u, low, high, linear, tolerance;
} losses[] = {
    /* tables 8 to 10, u in 1e-6: trials 50, 50; 150, 112; 2551, 502; linear 0, 100, 500 */
    {0.000, 50e-6, 50e-6, 0, 149.79e-6, 0, 1e-6},
    {0.010, 150e-6, 111.803e-6, 0, 366.0e-6, 100e-6, 2.5e-6},
    {0.050, 2550e-6, 502.4938e-6, 1593.6e-6, 3548.6e-6, 500e-6, 40e-6},
};

START_TEST(comparison_loss_of_9_4)
{
    const struct budget_input inputs[] = {{"X1", losses[_i].x1, 0.005, INFINITY, 0, BUDGET_NORMAL},
        {"X2", 0, 0.005, INFINITY, 0, BUDGET_NORMAL}};
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_loss}, .inputs = {inputs, 2, NULL}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    struct propagation linear;
    ck_assert_int_eq(propagation_create(&linear, &problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(linear.u[0], losses[_i].linear, 1e-12);
    ck_assert_double_eq_tol(trials.list[0].mean, losses[_i].mean, 4e-3 * losses[_i].u * 1.5);
    ck_assert_double_eq_tol(trials.list[0].u, losses[_i].u, 6e-3 * losses[_i].u);
    check_interval(trials.list[0].shortest, losses[_i].low, losses[_i].high, losses[_i].tolerance);
    propagation_clear(&linear);
    trials_clear(&trials);
}
END_TEST

START_TEST(correlated_inputs_of_9_4_3)
{
    /* 9.4.3 with r = 0.9 and X1 = 0: X1 and X2 turn into two free ones of u^2 (1 +- r): mean 2 u^2,
     * variance 4 u^4 (1 + r^2); table 11 prints 50 and 67 */
    const double r[] = {1, 0.9, 0.9, 1};
    const struct budget_input inputs[] = {
        {"X1", 0, 0.005, INFINITY, 0, BUDGET_NORMAL}, {"X2", 0, 0.005, INFINITY, 0, BUDGET_NORMAL}};
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_loss}, .inputs = {inputs, 2, r}};
    struct trials trials = run(&problem, TRIALS, 0.95);
    ck_assert_double_eq_tol(trials.list[0].mean, 50e-6, 0.5e-6);
    ck_assert_double_eq_tol(trials.list[0].u, 50e-6 * sqrt(1.81), 0.7e-6);
    trials_clear(&trials);
}
END_TEST

/* ---- 9.5: the end gauge, 99 %, nanometre; inputs of table 12 ---- */

static double half_blurred(double half, double blur)
{
    return sqrt(half * half / 3 + blur * blur / 9);
}

static void compute_gauge(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0] - 50e6 + x[1] + x[2] + x[3] - x[0] * (x[5] * (x[6] + x[7]) + x[4] * x[8]);
}

START_TEST(end_gauge_of_9_5)
{
    const struct budget_input inputs[] = {
        {"standard", 50000623, 25, 18, 0, BUDGET_T},
        {"comparisons", 215, 6, 24, 0, BUDGET_T},
        {"comparator, random", 0, 4, 5, 0, BUDGET_T},
        {"comparator, systematic", 0, 7, 8, 0, BUDGET_T},
        {"expansion", 11.5e-6, 2e-6 / sqrt(3), INFINITY, 0, BUDGET_RECTANGULAR},
        {"difference of expansions", 0, half_blurred(1e-6, 0.1e-6), INFINITY, 0.1e-6,
            BUDGET_BLURRED},
        {"mean temperature", -0.1, 0.2, INFINITY, 0, BUDGET_NORMAL},
        {"swing of temperature", 0, 0.5 / sqrt(2), INFINITY, 0, BUDGET_ARCSINE},
        {"difference of temperatures", 0, half_blurred(0.05, 0.025), INFINITY, 0.025,
            BUDGET_BLURRED},
    };
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = compute_gauge}, .inputs = {inputs, COUNT(inputs), NULL}};
    struct trials trials = run(&problem, TRIALS, 0.99);
    /* 838, 36, [745, 932]; of four million trials 838.0, 35.8, [744.3, 931.6] */
    ck_assert_double_eq_tol(trials.list[0].mean, 838.0, 0.3);
    ck_assert_double_eq_tol(trials.list[0].u, 35.8, 0.2);
    check_interval(trials.list[0].shortest, 744.3, 931.6, 2.5);
    trials_clear(&trials);
}
END_TEST

/* ---- the procedure ---- */

static const struct budget_problem weight_problem = {
    .model = {.outputs = 1, .compute = compute_weight}, .inputs = {weight, 5, NULL}};

START_TEST(result_does_not_depend_on_the_number_of_threads)
{
    const int before = omp_get_max_threads();
    omp_set_num_threads(1);
    struct trials one = run(&weight_problem, 25001, 0.95);
    omp_set_num_threads(3);
    struct trials three = run(&weight_problem, 25001, 0.95);
    omp_set_num_threads(before);
    ck_assert_uint_eq(one.count, 25001);
    ck_assert_mem_eq(one.list, three.list, sizeof *one.list);
    trials_clear(&one);
    trials_clear(&three);
}
END_TEST

START_TEST(adaptive_procedure_stops_when_the_results_have_settled)
{
    const struct trials_options loose = {
        .most = 4000000, .probability = 0.95, .digits = 1, .seed = 3};
    struct trials trials;
    ck_assert_int_eq(trials_create(&trials, &weight_problem, &loose, NULL), STATUS_OK);
    /* 9.3.2.4 settled after 0.72e6 trials with delta = 0.0005, two digits; one digit takes few */
    ck_assert_uint_le(trials.count, 5 * TRIALS_LOT);
    ck_assert(trials.list[0].is_settled);
    ck_assert_double_eq(trials.list[0].tolerance, 0.005);
    trials_clear(&trials);
    trials = run(&weight_problem, 0, 0.95);
    ck_assert_uint_gt(trials.count, 200000);
    ck_assert_uint_lt(trials.count, 2000000);
    ck_assert_double_eq_tol(trials.list[0].tolerance, 0.0005, 1e-12);
    trials_clear(&trials);
    const struct trials_options short_of = {
        .most = 30000, .probability = 0.95, .digits = 2, .seed = 3};
    ck_assert_int_eq(trials_create(&trials, &weight_problem, &short_of, NULL), STATUS_OK);
    ck_assert_uint_eq(trials.count, 30000);
    ck_assert(!trials.list[0].is_settled);
    trials_clear(&trials);
}
END_TEST

static void pass_on(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0];
}

/* The first output never is, the second one only where the input is positive, the third is always
 * the same. */
static void compute_roots(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = NAN;
    y[1] = x[0] > 0 ? x[0] : NAN;
    y[2] = 7;
}

START_TEST(outputs_that_are_missing_are_counted_and_give_no_numbers)
{
    static const struct budget_input input = {"x", 0, 1, INFINITY, 0, BUDGET_NORMAL};
    const struct budget_problem problem = {
        .model = {.outputs = 3, .compute = compute_roots}, .inputs = {&input, 1, NULL}};
    struct trials trials = run(&problem, 40000, 0.95);
    const struct trials_output *list = trials.list;
    ck_assert_uint_eq(list[0].missing, 40000);
    ck_assert(isnan(list[0].mean) && isnan(list[0].u));
    ck_assert(isnan(list[0].symmetric[0]) && isnan(list[0].shortest[1]) && !list[0].is_settled);
    /* half of a normal distribution: mean sqrt(2/pi), u sqrt(1 - 2/pi); half of the trials, whose
     * number has a deviation of 100 */
    ck_assert_double_eq_tol((double)list[1].missing, 20000, 400);
    ck_assert_double_eq_tol(list[1].mean, 0.7978845608, 4 * 0.603 / 141);
    ck_assert_double_eq_tol(list[1].u, 0.6028102750, 0.02);
    ck_assert_uint_eq(list[2].missing, 0);
    ck_assert_double_eq_tol(list[2].mean, 7, 1e-12);
    ck_assert_double_eq_tol(list[2].u, 0, 1e-12);
    check_interval(list[2].shortest, 7, 7, 1e-9);
    trials_clear(&trials);
}
END_TEST

START_TEST(each_distribution_has_its_u_and_its_95_percent)
{
    /* half of the 95 % interval for u = 1: normal; sqrt 3 * 0.95; sqrt 6 (1 - sqrt 0.05); sqrt 2
     * sin(0.95 pi / 2); t of 6: 2.4469, and its u is sqrt(6/4) */
    static const struct {
        enum budget_distribution distribution;
        double freedom, end, u;
    } table[] = {{BUDGET_NORMAL, INFINITY, 1.959964, 1},
        {BUDGET_RECTANGULAR, INFINITY, 1.645448, 1}, {BUDGET_TRIANGULAR, INFINITY, 1.901767, 1},
        {BUDGET_ARCSINE, INFINITY, 1.409853, 1}, {BUDGET_T, 6, 2.446912, 1.2247449},
        {BUDGET_T, 1.5, 7.28, NAN}};
    const struct budget_input input = {"x", 10, 1, table[_i].freedom, 0, table[_i].distribution};
    const struct budget_problem problem = {
        .model = {.outputs = 1, .compute = pass_on}, .inputs = {&input, 1, NULL}};
    struct trials trials = run(&problem, 200000, 0.95);
    const double end =
        table[_i].freedom == 1.5 ? student_compute_coverage(0.95, 1.5) : table[_i].end;
    check_interval(trials.list[0].symmetric, 10 - end, 10 + end, 0.015 * end * end);
    if (!isnan(table[_i].u)) {
        ck_assert_double_eq_tol(trials.list[0].u, table[_i].u, 0.02);
    }
    trials_clear(&trials);
}
END_TEST

static void subtract(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0] - x[1];
    y[1] = x[0] + x[1];
    y[2] = x[0] > 0.0 ? x[0] : NAN;
}

START_TEST(fully_correlated_inputs_move_together_whatever_their_distribution)
{
    const double r[] = {1, 1, 1, 1};
    const struct budget_input inputs[] = {
        {"a", 1, 2, INFINITY, 0, BUDGET_RECTANGULAR}, {"b", 1, 2, INFINITY, 0, BUDGET_RECTANGULAR}};
    const struct budget_problem problem = {
        .model = {.outputs = 3, .compute = subtract}, .inputs = {inputs, 2, r}};
    struct trials trials = run(&problem, 100000, 0.95);
    ck_assert_double_eq_tol(trials.list[0].u, 0, 1e-12);
    check_interval(trials.list[1].symmetric, 2 - 4 * 1.645448, 2 + 4 * 1.645448, 0.05);
    /* x < 0 in a share (2 sqrt 3 - 1) / (4 sqrt 3) of the trials */
    ck_assert_double_eq_tol((double)trials.list[2].missing / 1e5, 0.35566, 0.005);
    trials_clear(&trials);
}
END_TEST

START_TEST(refuses_correlations_that_contradict_each_other)
{
    const double r[] = {1, 0.9, 0.9, 0.9, 1, -0.9, 0.9, -0.9, 1};
    struct budget_input inputs[4];
    fill(inputs, BUDGET_NORMAL, 1);
    const struct budget_problem problem = {
        .model = {.outputs = 3, .compute = subtract}, .inputs = {inputs, 3, r}};
    const struct trials_options options = {.count = 100, .probability = 0.95, .digits = 2};
    struct trials trials;
    struct error err;
    ck_assert_int_eq(trials_create(&trials, &problem, &options, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "contradict"));
}
END_TEST

/* Outputs that scatter by themselves, correlated: u of 2 and 0.5 of the inputs and 1.5 and 1.2 of
 * the scatter, of which 0.7 goes together; and work space of each thread's own. */
struct tool {
    double scale;
};

static void *create_tool(const void *subject)
{
    struct tool *tool = malloc(sizeof *tool);
    if (tool != NULL) {
        tool->scale = *(const double *)subject;
    }
    return tool;
}

static void use_tool(const void *subject, void *work, const double *x, double *y)
{
    const struct tool *tool = work;
    y[0] = tool->scale * x[0];
    y[1] = *(const double *)subject / 2 * x[1];
    y[2] = y[0] + y[1];
}

START_TEST(outputs_scatter_beside_their_inputs)
{
    static const struct budget_input inputs[] = {
        {"a", 5, 1, INFINITY, 0, BUDGET_NORMAL}, {"b", -3, 0.5, INFINITY, 0, BUDGET_NORMAL}};
    static const struct budget_input scatter[] = {{"", 0, 1.5, INFINITY, 0, BUDGET_T},
        {"", 0, 1.2, INFINITY, 0, BUDGET_T}, {"", 0, 0, INFINITY, 0, BUDGET_T}};
    static const double r[] = {1, 0.7, 0, 0.7, 1, 0, 0, 0, 1};
    const double scale = 2;
    struct budget_problem problem = {.model = {.outputs = 3,
                                         .subject = &scale,
                                         .create_work = create_tool,
                                         .destroy_work = free,
                                         .compute = use_tool},
        .inputs = {inputs, 2, NULL},
        .scatter = {scatter, 3, r}};
    for (int has_scatter = 1; has_scatter >= 0; has_scatter--) {
        problem.scatter.count = has_scatter ? 3 : 0;
        struct trials trials = run(&problem, 100000, 0.9);
        /* what 100 000 trials wander by: 1 / sqrt(2 n) of u, u / sqrt(n) of the mean; four times */
        const double us[] = {has_scatter ? 2.5 : 2, has_scatter ? 1.3 : 0.5, sqrt(4.25)};
        const double means[] = {10, -3, 7};
        ck_assert_uint_eq(trials.count, 100000);
        ck_assert_uint_eq(trials.outputs, 3);
        for (int j = 0; j < 3; j++) {
            const double end = 1.6448536269514722 * us[j];
            ck_assert_double_eq_tol(trials.list[j].u, us[j], 0.009 * us[j]);
            ck_assert_double_eq_tol(trials.list[j].mean, means[j], 0.0127 * us[j]);
            /* of an end: sqrt(0.05 0.95 / n) over the density there, 0.103 */
            check_interval(trials.list[j].symmetric, means[j] - end, means[j] + end, 0.027 * us[j]);
        }
        trials_clear(&trials);
    }
}
END_TEST

/* delta is half of the last digit of u (JCGM 101:2008, 7.9.2). */
START_TEST(delta_is_half_of_the_last_digit)
{
    static const struct {
        double u;
        int digits;
        double delta;
    } cases[] = {{0.035, 1, 0.005}, {0.035, 2, 0.0005}, {7.2, 1, 0.5}, {7.2, 2, 0.05},
        {0.97, 1, 0.05}, {970, 2, 5}, {0, 2, 0}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct budget_input input = {"x", 1, cases[i].u, INFINITY, 0, BUDGET_RECTANGULAR};
        const struct budget_problem problem = {
            .model = {.outputs = 1, .compute = pass_on}, .inputs = {&input, 1, NULL}};
        const struct trials_options options = {
            .count = 20000, .probability = 0.95, .digits = cases[i].digits, .seed = 1};
        struct trials trials;
        ck_assert_int_eq(trials_create(&trials, &problem, &options, NULL), STATUS_OK);
        ck_assert_double_eq_tol(trials.list[0].tolerance, cases[i].delta, 1e-12);
        trials_clear(&trials);
    }
}
END_TEST

/* Fewer than two whole lots tell nothing of how they scatter. */
START_TEST(one_lot_does_not_settle_anything)
{
    static const size_t counts[] = {1, 2, 9999, 10000, 10001, 19999, 20000};
    for (size_t i = 0; i < COUNT(counts); i++) {
        struct trials trials = run(&weight_problem, counts[i], 0.95);
        ck_assert_uint_eq(trials.count, counts[i]);
        ck_assert_int_eq(isnan(trials.list[0].u_end[0]), counts[i] < 20000);
        ck_assert_int_eq(isnan(trials.list[0].u), counts[i] < 2);
        ck_assert(!trials.list[0].is_settled);
        trials_clear(&trials);
    }
    const struct trials_options options = {
        .most = 12345, .probability = 0.95, .digits = 2, .seed = 3};
    struct trials trials;
    ck_assert_int_eq(trials_create(&trials, &weight_problem, &options, NULL), STATUS_OK);
    ck_assert_uint_eq(trials.count, 12345);
    trials_clear(&trials);
}
END_TEST

static int compare_numbers(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void mirror(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = exp(x[0]);
    y[1] = -y[0];
}

/* Of 10 000 trials the ends are those that leave a share (1 - p) / 2 of them outside, as many at
 * one end as at the other (JCGM 101:2008, 7.7.2); how they differ from lot to lot is worked out
 * here from the same draws, sorted. A fault of one place changes them: the draws lie apart. */
START_TEST(ends_of_lots_are_as_far_from_either_end)
{
    enum { LOTS = 4, MOST = LOTS * TRIALS_LOT };
    static const struct {
        double probability;
        int outside;
    } cases[] = {{0.95, 250}, {0.99, 50}, {0.5, 2500}, {0.9999, 0}};
    static double sorted[LOTS][TRIALS_LOT];
    const struct budget_input input = {"x", 0, 1, INFINITY, 0, BUDGET_NORMAL};
    const struct budget_problem problem = {
        .model = {.outputs = 2, .compute = mirror}, .inputs = {&input, 1, NULL}};
    struct draw draw = {0};
    ck_assert_int_eq(draw_create(&draw, &problem.inputs, NULL), STATUS_OK);
    for (int trial = 0; trial < MOST; trial++) {
        double room[DRAW_ROOM], x;
        struct random random;
        random_init(&random, 11, (uint64_t)trial);
        draw_take(&draw, &random, room, &x);
        sorted[trial / TRIALS_LOT][trial % TRIALS_LOT] = exp(x);
    }
    draw_clear(&draw);
    for (int lot = 0; lot < LOTS; lot++) {
        qsort(sorted[lot], TRIALS_LOT, sizeof **sorted, compare_numbers);
    }
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct trials trials = run(&problem, MOST, cases[i].probability);
        for (int end = 0; end < 2; end++) {
            const int at = end == 0 ? cases[i].outside : TRIALS_LOT - 1 - cases[i].outside;
            double mean = 0, squares = 0;
            for (int lot = 0; lot < LOTS; lot++) {
                mean += sorted[lot][at] / LOTS;
            }
            for (int lot = 0; lot < LOTS; lot++) {
                squares += pow(sorted[lot][at] - mean, 2);
            }
            const double u = sqrt(squares / (LOTS - 1) / LOTS);
            ck_assert_double_eq_tol(trials.list[0].u_end[end], u, 1e-9 * u);
            ck_assert_double_eq_tol(trials.list[1].u_end[1 - end], u, 1e-9 * u);
        }
        trials_clear(&trials);
    }
}
END_TEST

struct sides {
    double scale, border;
};

static void take_side(const void *subject, void *work, const double *x, double *y)
{
    (void)work;
    const struct sides *sides = subject;
    y[0] = x[0] > sides->border ? sides->scale : -sides->scale;
}

/* Mean and standard deviation of each lot of +-1, and what they scatter by, of their mean. */
static void find_spreads(double border, int lots, double spread[2])
{
    const struct budget_input input = {"x", 0, 1, INFINITY, 0, BUDGET_NORMAL};
    const struct budget_inputs inputs = {&input, 1, NULL};
    double sums[2] = {0}, squares[2] = {0};
    struct draw draw = {0};
    ck_assert_int_eq(draw_create(&draw, &inputs, NULL), STATUS_OK);
    for (int lot = 0; lot < lots; lot++) {
        double above = 0;
        for (int n = 0; n < TRIALS_LOT; n++) {
            double room[DRAW_ROOM], x;
            struct random random;
            random_init(&random, 11, (uint64_t)(lot * TRIALS_LOT + n));
            draw_take(&draw, &random, room, &x);
            above += x > border;
        }
        const double share = above / TRIALS_LOT;
        const double values[2] = {
            2 * share - 1, 2 * sqrt(share * (1 - share) * TRIALS_LOT / (TRIALS_LOT - 1))};
        for (int i = 0; i < 2; i++) {
            sums[i] += values[i];
            squares[i] += values[i] * values[i];
        }
    }
    draw_clear(&draw);
    for (int i = 0; i < 2; i++) {
        spread[i] = sqrt((squares[i] - sums[i] * sums[i] / lots) / (lots - 1) / lots);
    }
}

/* JCGM 101:2008, 7.9.4: settled when twice the standard deviation of the mean, of u and of both
 * ends are delta or less. The ends of a value that is +1 or -1 do not scatter; where a twentieth is
 * +1 u scatters most, where a half is, the mean. */
START_TEST(results_have_settled_up_to_delta_and_not_beyond)
{
    static const double borders[] = {1.6448536, 0};
    enum { LOTS = 4 };
    for (int most = 0; most < 2; most++) {
        double spread[2];
        find_spreads(borders[most], LOTS, spread);
        ck_assert_int_eq(spread[1] > spread[0], most == 0);
        const double scale = 0.005 / (2 * fmax(spread[0], spread[1]));
        for (int side = -1; side <= 1; side += 2) {
            const struct sides sides = {scale * (1 + side * 2e-5), borders[most]};
            const struct budget_input input = {"x", 0, 1, INFINITY, 0, BUDGET_NORMAL};
            const struct budget_problem problem = {
                .model = {.outputs = 1, .subject = &sides, .compute = take_side},
                .inputs = {&input, 1, NULL}};
            struct trials trials = run(&problem, LOTS * TRIALS_LOT, 0.95);
            /* u of 0.1 to 1: delta is half of its second digit */
            ck_assert_double_eq_tol(trials.list[0].tolerance, 0.005, 1e-15);
            ck_assert_double_eq(trials.list[0].u_end[0], 0);
            ck_assert_int_eq(trials.list[0].is_settled, side < 0);
            trials_clear(&trials);
        }
    }
}
END_TEST

/* Clause 8: validated up to delta, from both sides and at either end; between there and what the
 * ends wander by, twice the larger u of them, more trials would be needed. */
START_TEST(a_verdict_on_the_linear_result_has_its_borders)
{
    const struct trials_output output = {
        .symmetric = {-2, 2}, .u_end = {0.0625, 0.125}, .tolerance = 0.25};
    struct trials_output other = output;
    other.u_end[0] = 0.125;
    other.u_end[1] = 0.0625;
    static const struct {
        double value, expanded;
        enum trials_verdict verdict;
    } cases[] = {{0, 2, TRIALS_VALIDATED}, {0, 2.25, TRIALS_VALIDATED}, {0, 1.75, TRIALS_VALIDATED},
        {0, 2.26, TRIALS_TOO_FEW}, {0, 1.74, TRIALS_TOO_FEW}, {0, 2.5, TRIALS_TOO_FEW},
        {0, 1.5, TRIALS_TOO_FEW}, {0, 2.51, TRIALS_NOT_VALIDATED}, {0, 1.49, TRIALS_NOT_VALIDATED},
        /* one end alone */
        {0.25, 2, TRIALS_VALIDATED}, {0.13, 2.13, TRIALS_TOO_FEW}, {-0.13, 2.13, TRIALS_TOO_FEW},
        {0.26, 2.26, TRIALS_NOT_VALIDATED}, {-0.26, 2.26, TRIALS_NOT_VALIDATED}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        ck_assert_int_eq(
            trials_validate(&output, cases[i].value, cases[i].expanded), cases[i].verdict);
        ck_assert_int_eq(
            trials_validate(&other, cases[i].value, cases[i].expanded), cases[i].verdict);
    }
}
END_TEST

/* Values that are all the same get cells of a size of their own, 1e-12 of them, or of 1. */
START_TEST(tally_of_one_value_is_that_value)
{
    static const double list[] = {0.0, 1e-6, -4e6};
    for (int i = 0; i < 3; i++) {
        double same[100], interval[2];
        struct tally tally = {0};
        const double span = 1e-12 * fmax(fabs(list[i]), 1.0),
                     reach = 0.05 * span + 1e-15 * fabs(list[i]);
        for (int n = 0; n < 100; n++) {
            same[n] = list[i];
        }
        ck_assert_int_eq(tally_add(&tally, same, 100, NULL), STATUS_OK);
        ck_assert_double_eq_tol(tally.mean, list[i], reach);
        ck_assert_double_eq_tol(tally.lowest, list[i] - span, reach);
        ck_assert_double_eq_tol(tally_get_u(&tally), 0.0, reach);
        tally_find_symmetric(&tally, 0.95, interval);
        ck_assert_double_eq_tol(interval[0], list[i], reach);
        ck_assert_double_eq_tol(interval[1], list[i], reach);
        tally_clear(&tally);
    }
}
END_TEST

START_TEST(tally_finds_the_intervals_of_known_values)
{
    /* 0, 1, ... 9999, each once, in an order of no meaning: 95 % leaves 250 at each end */
    struct tally tally = {0};
    double values[10000], interval[2];
    for (size_t i = 0; i < 10000; i++) {
        values[i] = (double)(i * 7919 % 10000);
    }
    ck_assert_int_eq(tally_add(&tally, values, 10000, NULL), STATUS_OK);
    ck_assert_double_eq_tol(tally.mean, 4999.5, 1e-9);
    ck_assert_double_eq_tol(tally_get_u(&tally), 10000 / sqrt(12), 0.2);
    tally_find_symmetric(&tally, 0.95, interval);
    check_interval(interval, 249, 9750, 2);
    tally_find_shortest(&tally, 0.95, interval);
    ck_assert_double_eq_tol(interval[1] - interval[0], 9500, 2);
    tally_find_symmetric(&tally, 1, interval); /* all of them */
    ck_assert(isfinite(interval[0]) && interval[0] <= 0);
    ck_assert_double_eq_tol(interval[1], 9999, 2 * tally.cell);
    tally_clear(&tally);
}
END_TEST

/* The first lot, from 0 to 1, makes cells from -1 to 2; what comes later and lies at their borders
 * or beyond stands in the outermost, and the moments have it as it is. */
START_TEST(tally_keeps_what_lies_beyond_its_cells)
{
    static const double beyond[] = {2.0, 10.0, 1e6};
    const double cell = 3.0 / (1 << 17);
    for (size_t i = 0; i < COUNT(beyond); i++) {
        double first[100], above[100], below[100], interval[2];
        struct tally tally = {0};
        for (int n = 0; n < 100; n++) {
            first[n] = n / 99.0;
            above[n] = beyond[i];
            below[n] = 1.0 - beyond[i];
        }
        ck_assert_int_eq(tally_add(&tally, first, 100, NULL), STATUS_OK);
        ck_assert_double_eq_tol(tally.lowest, -1.0, 1e-15);
        ck_assert_double_eq_tol(tally.cell, cell, 1e-18);
        ck_assert_int_eq(tally_add(&tally, above, 100, NULL), STATUS_OK);
        tally_find_symmetric(&tally, 0.9, interval);
        /* 90 of the hundred in the last cell lie below; at the other end 10 of 0, 1/99, ... */
        ck_assert_double_eq_tol(interval[1], 2.0 - 0.1 * cell, 1e-10);
        ck_assert_double_eq_tol(interval[0], 9 / 99.0, 2 * cell);
        ck_assert_int_eq(tally_add(&tally, below, 100, NULL), STATUS_OK);
        tally_find_symmetric(&tally, 0.9, interval);
        check_interval(interval, -1.0 + 0.15 * cell, 2.0 - 0.15 * cell, 1e-10);
        ck_assert_uint_eq(tally.trials, 300);
        ck_assert_double_eq_tol(tally.mean, 0.5, 1e-9);
        /* about the mean: 200 of beyond - 1/2, and 100 from 0 to 1: (n^2 - 1) / 12 steps */
        const double squares = 200 * pow(beyond[i] - 0.5, 2) + 100 * 9999 / 12.0 / (99 * 99);
        ck_assert_double_eq_tol(tally.squares, squares, 1e-9 * squares);
        tally_clear(&tally);
    }
}
END_TEST

START_TEST(tally_leaves_out_what_is_no_number)
{
    const double values[] = {NAN, 1, INFINITY, 2, -INFINITY, 3}, none[] = {NAN, NAN};
    double interval[2];
    struct tally tally = {0};
    ck_assert_int_eq(tally_add(&tally, none, 2, NULL), STATUS_OK);
    tally_find_symmetric(&tally, 0.95, interval);
    ck_assert(isnan(interval[0]) && isnan(interval[1]) && isnan(tally_get_u(&tally)));
    tally_find_shortest(&tally, 0.95, interval);
    ck_assert(isnan(interval[0]) && isnan(interval[1]));
    ck_assert_int_eq(tally_add(&tally, values + 1, 1, NULL), STATUS_OK);
    ck_assert(isnan(tally_get_u(&tally))); /* of one trial */
    ck_assert_double_eq_tol(tally.mean, 1, 1e-15);
    ck_assert_int_eq(tally_add(&tally, values + 2, 4, NULL), STATUS_OK);
    ck_assert_uint_eq(tally.trials, 3);
    ck_assert_uint_eq(tally.missing, 4);
    ck_assert_double_eq_tol(tally.mean, 2, 1e-12);
    ck_assert_double_eq_tol(tally_get_u(&tally), 1, 1e-12);
    tally_clear(&tally);
}
END_TEST

/* The squares of 0, 1, ... 9999 crowd at 0: the shortest interval begins there, at the last of
 * their negatives it ends. */
START_TEST(tally_finds_the_shortest_interval_where_values_crowd)
{
    static double values[10000];
    for (int sign = -1; sign <= 1; sign += 2) {
        double interval[2];
        struct tally tally = {0};
        for (size_t i = 0; i < 10000; i++) {
            const double root = (double)(i * 7919 % 10000);
            values[i] = sign * root * root;
        }
        ck_assert_int_eq(tally_add(&tally, values, 10000, NULL), STATUS_OK);
        tally_find_shortest(&tally, 0.9, interval);
        const double reach = 2 * tally.cell, end = 8999.0 * 8999.0;
        if (sign > 0) {
            check_interval(interval, 0, end, reach);
        } else {
            check_interval(interval, -end, 0, reach);
        }
        tally_find_symmetric(&tally, 0.9, interval);
        const double low = 499.0 * 499.0, high = 9499.0 * 9499.0;
        check_interval(interval, sign > 0 ? low : -high, sign > 0 ? high : -low, 8 * tally.cell);
        tally_clear(&tally);
    }
}
END_TEST

Suite *trials_suite(void)
{
    Suite *suite = suite_create("trials");
    TCase *examples = tcase_create("JCGM 101, clause 9");
    tcase_set_timeout(examples, 60);
    tcase_add_test(examples, sum_of_four_normal_inputs_of_9_2_2);
    tcase_add_test(examples, sum_of_four_rectangular_inputs_of_9_2_3);
    tcase_add_test(examples, one_large_rectangular_input_of_9_2_4_defeats_the_linear_result);
    tcase_add_test(examples, mass_calibration_of_9_3);
    tcase_add_loop_test(examples, comparison_loss_of_9_4, 0, 3);
    tcase_add_test(examples, correlated_inputs_of_9_4_3);
    tcase_add_test(examples, end_gauge_of_9_5);
    suite_add_tcase(suite, examples);
    TCase *procedure = tcase_create("procedure");
    tcase_set_timeout(procedure, 60);
    tcase_add_test(procedure, result_does_not_depend_on_the_number_of_threads);
    tcase_add_test(procedure, adaptive_procedure_stops_when_the_results_have_settled);
    tcase_add_test(procedure, outputs_that_are_missing_are_counted_and_give_no_numbers);
    tcase_add_loop_test(procedure, each_distribution_has_its_u_and_its_95_percent, 0, 6);
    tcase_add_test(procedure, fully_correlated_inputs_move_together_whatever_their_distribution);
    tcase_add_test(procedure, refuses_correlations_that_contradict_each_other);
    tcase_add_test(procedure, outputs_scatter_beside_their_inputs);
    tcase_add_test(procedure, delta_is_half_of_the_last_digit);
    tcase_add_test(procedure, one_lot_does_not_settle_anything);
    tcase_add_test(procedure, ends_of_lots_are_as_far_from_either_end);
    tcase_add_test(procedure, results_have_settled_up_to_delta_and_not_beyond);
    tcase_add_test(procedure, a_verdict_on_the_linear_result_has_its_borders);
    tcase_add_test(procedure, tally_of_one_value_is_that_value);
    tcase_add_test(procedure, tally_finds_the_intervals_of_known_values);
    tcase_add_test(procedure, tally_keeps_what_lies_beyond_its_cells);
    tcase_add_test(procedure, tally_leaves_out_what_is_no_number);
    tcase_add_test(procedure, tally_finds_the_shortest_interval_where_values_crowd);
    suite_add_tcase(suite, procedure);
    return suite;
}
