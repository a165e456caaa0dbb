// SPDX-License-Identifier: GPL-3.0-or-later
/* The numeric modules when memory runs out: each allocation fails once, is told, and leaves nothing
 * behind. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "num/fourier.h"
#include "num/isotonic.h"
#include "num/least_squares.h"
#include "num/monotone.h"
#include "num/normality.h"
#include "num/quadrature.h"
#include "num/range.h"
#include "num/rough.h"
#include "num/smooth.h"
#include "num/stray.h"
#include "num/thin.h"
#include "num/tolerance.h"
#include "num/variance.h"
#include "scarce.h"
#include "suites.h"
#include "tone_fit.h"

#define COUNT 12

static double rising[COUNT], rough[COUNT], bounds[COUNT];

static void set_up(void)
{
    for (int i = 0; i < COUNT; i++) {
        rising[i] = i + 0.3 * sin(i);
        rough[i] = i * i + 4.0 * sin(2.4 * i);
        bounds[i] = 1.5;
    }
}

static enum status run_normality(void *data, struct error *err)
{
    struct normality normality;
    (void)data;
    return normality_compute(rough, COUNT, &normality, err);
}

static enum status run_isotonic(void *data, struct error *err)
{
    double fit[COUNT];
    (void)data;
    return isotonic_compute(rough, COUNT, fit, err);
}

static enum status run_thin(void *data, struct error *err)
{
    bool keep[COUNT] = {false};
    (void)data;
    return thin_compute(rising, rough, COUNT, 0.5, keep, err);
}

static enum status run_smooth(void *data, struct error *err)
{
    double z[COUNT];
    (void)data;
    return smooth_compute(rising, rough, bounds, COUNT, z, err);
}

static enum status run_monotone(void *data, struct error *err)
{
    struct monotone *monotone = NULL;
    (void)data;
    const enum status status = monotone_create(rising, rough, COUNT, &monotone, err);
    ck_assert(status == STATUS_OK || monotone == NULL);
    monotone_destroy(monotone);
    return status;
}

static enum status run_variance(void *data, struct error *err)
{
    static const size_t group[2 * COUNT] = {
        0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5};
    struct variance_table table;
    (void)data;
    return variance_compute(rough, group, COUNT, 2, &table, err);
}

static enum status run_crossings(void *data, struct error *err)
{
    static const double complex c[] = {0.0, 1.0, 0.2 * I, -0.3};
    struct fourier_extremes extremes;
    struct fourier_crossing list[6];
    double values[7];
    size_t count = 0;
    (void)data;
    enum status status = fourier_sample(c, 3, 0.1, 7, values, err);
    if (status == STATUS_OK) {
        status = fourier_find_extremes(c, 3, &extremes, err);
    }
    return status == STATUS_OK ? fourier_find_crossings(c, 3, 0.0, list, 6, &count, err) : status;
}

static enum status run_linear(void *data, struct error *err)
{
    double matrix[3 * COUNT], solution[3], covariance[9], squares;
    bool is_bounded[3];
    (void)data;
    for (int i = 0; i < COUNT; i++) {
        matrix[3 * i] = 1.0;
        matrix[3 * i + 1] = rising[i];
        matrix[3 * i + 2] = -rising[i] * rising[i];
    }
    const struct linear_problem problem = {
        .matrix = matrix, .values = rough, .rows = COUNT, .terms = 3};
    return linear_problem_solve_positive(&problem, solution, covariance, &squares, is_bounded, err);
}

static bool get_residuals(const double *parameters, double *residuals, void *context)
{
    (void)context;
    for (int i = 0; i < COUNT; i++) {
        residuals[i] = parameters[0] * exp(parameters[1] * rising[i]) - rough[i];
    }
    return true;
}

static enum status run_nonlinear(void *data, struct error *err)
{
    static const double lowest[] = {0.01, -2.0}, highest[] = {1e3, 2.0};
    const struct nonlinear_problem problem = {.compute_residuals = get_residuals,
        .residual_count = COUNT,
        .parameter_count = 2,
        .lowest = lowest,
        .highest = highest};
    double parameters[2] = {1.0, 0.2}, covariance[4];
    struct nonlinear_fit fit;
    (void)data;
    return nonlinear_problem_solve(&problem, parameters, covariance, &fit, err);
}

static enum status run_tolerance(void *data, struct error *err)
{
    double one = 0.0, two = 0.0;
    (void)data;
    const enum status status = tolerance_compute_one_sided(9, 0.95, 0.9, &one, err);
    return status == STATUS_OK ? tolerance_compute_two_sided(9, 0.95, 0.9, &two, err) : status;
}

START_TEST(small_jobs_say_that_memory_is_out)
{
    static const struct {
        scenario *run;
        size_t least; /* allocations */
    } list[] = {{run_normality, 1}, {run_isotonic, 1}, {run_thin, 1}, {run_smooth, 4},
        {run_monotone, 3}, {run_variance, 3}, {run_crossings, 2}, {run_linear, 7},
        {run_nonlinear, 4}, {run_tolerance, 4}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        const size_t found = check_every_allocation(list[i].run, NULL);
        ck_assert_msg(found >= list[i].least, "job %zu has %zu allocations", i, found);
    }
}
END_TEST

static double get_range(void)
{
    return range_compute_mean(5);
}

static double get_width(void)
{
    return range_compute_deviation(5);
}

static double get_confidence(void)
{
    return tolerance_compute_confidence(7, 0.9, 2.0);
}

static double get_share(void)
{
    return tolerance_compute_share(7, 0.9, 2.0);
}

static double get_cosine(double x, void *context)
{
    (void)context;
    return cos(x);
}

static double get_integral(void)
{
    return quadrature_compute(get_cosine, NULL, 0.0, 1.0);
}

/* These give a number only: it is NaN then. */
START_TEST(numbers_without_memory_are_not_numbers)
{
    static double (*const list[])(void) = {
        get_range, get_width, get_confidence, get_share, get_integral};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        for (size_t after = 0; after < 2; after++) {
            memory_fail_after(after);
            const double found = list[i]();
            ck_assert_uint_eq(memory_count_kept(), 0);
            ck_assert(after > 0 || memory_was_refused());
            ck_assert_msg(isnan(found) == memory_was_refused(), "%zu: %g", i, found);
        }
    }
}
END_TEST

/* A record of one of the ways that num/periodic.c knows. */
struct job {
    const char *name;
    double period;
    size_t frames, missing; /* a sample that is NaN; 0: none */
    bool is_uneven;
    double *values, *times;
};

static enum status run_periodic(void *data, struct error *err)
{
    const struct job *job = data;
    const struct tone_record record = {
        job->values, job->is_uneven ? job->times : NULL, job->frames, 2, 0, 5000};
    struct periodic_fit fit = {0};
    enum periodic_failure failure;
    const enum status status = tone_record_fit(&record, &fit, &failure, err);
    if (status == STATUS_OK) {
        ck_assert_double_eq_tol(fit.frequency_Hz * job->period / TONE_RATE, 1.0, 1e-4);
        periodic_fit_clear(&fit);
    } else {
        ck_assert(fit.blocks == NULL && fit.coefficient[0] == NULL);
    }
    return status;
}

static struct job job_list[] = {
    {.name = "short", .period = 27.3, .frames = 200},
    {.name = "folded", .period = 96.3, .frames = 40000},
    {.name = "streamed", .period = 96.3, .frames = 135000},
    {.name = "with a gap", .period = 96.3, .frames = 40000, .missing = 1000},
    {.name = "uneven", .period = 27.3, .frames = 300, .is_uneven = true},
};

static void job_make(struct job *job)
{
    struct tone tone;
    tone_init(&tone, 3, 1.0 / job->period);
    tone.noise[0] = tone.noise[1] = 1e-3;
    job->values = calloc(2 * job->frames, sizeof(double));
    job->times = calloc(job->frames, sizeof(double));
    for (size_t n = 0; n < job->frames; n++) {
        job->times[n] = (double)n + (job->is_uneven ? 0.3 * sin(0.7 * (double)n) : 0.0);
    }
    tone_fill_at(&tone, job->times, job->frames, job->values);
    for (size_t n = 0; n < job->frames; n++) {
        job->times[n] /= TONE_RATE;
    }
    if (job->missing > 0) {
        job->values[2 * job->missing] = NAN;
    }
}

START_TEST(fits_of_records_say_that_memory_is_out)
{
    struct job *job = &job_list[_i];
    job_make(job);
    const size_t places = check_every_place(run_periodic, job);
    ck_assert_msg(places >= 10, "'%s' asks for memory in %zu places", job->name, places);
    free(job->values);
    free(job->times);
}
END_TEST

struct strays {
    struct job job;
    struct periodic_fit fit;
};

static enum status run_strays(void *data, struct error *err)
{
    struct strays *strays = data;
    struct stray list[4];
    size_t count = 0;
    const enum status status = stray_find(
        strays->job.values, strays->job.frames, TONE_RATE, &strays->fit, 4, list, &count, err);
    ck_assert(status != STATUS_OK || count == 1);
    return status;
}

START_TEST(the_search_for_strays_says_that_memory_is_out)
{
    struct strays strays = {.job = {.period = 27.3, .frames = 8000}};
    enum periodic_failure failure;
    struct error err = {0};
    job_make(&strays.job);
    for (size_t n = 0; n < strays.job.frames; n++) {
        strays.job.values[2 * n] += 0.05 * cos(0.0417 * (double)n);
    }
    const struct tone_record record = {strays.job.values, NULL, strays.job.frames, 2, 3, 5000};
    ck_assert_msg(
        tone_record_fit(&record, &strays.fit, &failure, &err) == STATUS_OK, "%s", err.message);
    ck_assert_uint_ge(check_every_allocation(run_strays, &strays), 4);
    periodic_fit_clear(&strays.fit);
    free(strays.job.values);
    free(strays.job.times);
}
END_TEST

/* What the other tests here rely on. */
START_TEST(memory_runs_out_when_it_is_told_to)
{
    memory_fail_after(2);
    void *first = memory_create(3, 8), *second = memory_create(5000, 1);
    ck_assert(first != NULL && second != NULL && !memory_was_refused());
    ck_assert_ptr_null(memory_resize(first, 9, 8));
    ck_assert(memory_was_refused());
    void *third = memory_copy_text("ring");
    ck_assert_ptr_nonnull(third);
    first = memory_resize(first, 900, 8);
    ck_assert_ptr_nonnull(first);
    memory_destroy(second);
    ck_assert_uint_eq(memory_count_kept(), 2);
    memory_destroy(first);
    memory_destroy(third);
    ck_assert_ptr_nonnull(first = memory_create(1, 1));
    memory_destroy(first);
}
END_TEST

Suite *scarce_fit_suite(void)
{
    Suite *suite = suite_create("scarce_fit");
    TCase *tests = tcase_create("scarce_fit");
    tcase_add_unchecked_fixture(tests, set_up, NULL);
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, memory_runs_out_when_it_is_told_to);
    tcase_add_test(tests, small_jobs_say_that_memory_is_out);
    tcase_add_test(tests, numbers_without_memory_are_not_numbers);
    tcase_add_loop_test(
        tests, fits_of_records_say_that_memory_is_out, 0, sizeof job_list / sizeof job_list[0]);
    tcase_add_test(tests, the_search_for_strays_says_that_memory_is_out);
    suite_add_tcase(suite, tests);
    return suite;
}
