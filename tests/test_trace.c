// SPDX-License-Identifier: GPL-3.0-or-later
/* Traces as polygons: rectangles, parallelograms, ends that do not meet, rows too many. */
#include "loop/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "suites.h"

static const double MU0 = 4e-7 * 3.14159265358979323846;

static void trace_add(struct trace *trace, double field, double flux_density)
{
    trace->field[trace->count] = field;
    trace->flux_density[trace->count++] = flux_density;
}

enum { ROWS = 2000 };

static struct trace trace_create(void)
{
    return (struct trace){.field = memory_create(ROWS, sizeof(double)),
        .flux_density = memory_create(ROWS, sizeof(double))};
}

/* Straight from the last row to (field, flux), in steps. */
static void trace_go(struct trace *trace, double field, double flux_density, int steps)
{
    const double h = trace->field[trace->count - 1], b = trace->flux_density[trace->count - 1];
    for (int i = 1; i <= steps; i++) {
        trace_add(trace, h + (field - h) * i / steps, b + (flux_density - b) * i / steps);
    }
}

static void check(const struct figures *figures, enum figure figure, double truth, double tolerance)
{
    const struct figure_value *value = &figures->list[figure];
    ck_assert_msg(value->is_present, "%s is absent", figure_table[figure].key);
    ck_assert_msg(fabs(value->value - truth) <= tolerance, "%s: %.17g instead of %.17g",
        figure_table[figure].key, value->value, truth);
}

static void compute(struct trace *trace, enum trace_drift drift, struct figures *figures)
{
    struct error err = {0};
    ck_assert_msg(!trace_compute_figures(trace, drift, figures, &err), "%s", err.message);
}

/* From the upper tip around: down along the falling branch, up along the rising one. The rows stop
 * one short of the first, as a closed polygon has it. */
static struct trace create_rectangle(double hm, double hc, double br)
{
    struct trace trace = trace_create();
    trace_add(&trace, hm, br);
    trace_go(&trace, -hc, br, 100);
    trace_go(&trace, -hc, -br, 40);
    trace_go(&trace, -hm, -br, 30);
    trace_go(&trace, hc, -br, 110);
    trace_go(&trace, hc, br, 40);
    trace_go(&trace, hm, br, 30);
    trace.count--;
    return trace;
}

START_TEST(a_rectangle_has_four_times_the_product_of_its_half_sides)
{
    static const double shapes[][3] = {{3000, 1000, 1.0}, {25000, 18200, 0.953}, {61, 60, 2.385}};
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        const double hm = shapes[i][0], hc = shapes[i][1], br = shapes[i][2];
        struct trace trace = create_rectangle(hm, hc, br);
        struct figures figures;
        const double area = 4.0 * hc * br;
        ck_assert_double_eq_tol(trace_compute_area(&trace), area, 1e-12 * area);
        compute(&trace, TRACE_DRIFT_CHORD, &figures);
        check(&figures, FIGURE_LOOP_AREA, area, 1e-12 * area);
        check(&figures, FIGURE_LOOP_AREA_CHORD, area, 1e-12 * area);
        check(&figures, FIGURE_FIELD_PEAK, hm, 1e-13 * hm);
        check(&figures, FIGURE_FLUX_DENSITY_PEAK, br, 1e-13 * br);
        check(&figures, FIGURE_POLARIZATION_PEAK, br + MU0 * hc, 1e-12);
        check(&figures, FIGURE_REMANENCE, br, 1e-12 * br);
        check(&figures, FIGURE_REMANENCE_ASYMMETRY, 0.0, 1e-12);
        check(&figures, FIGURE_COERCIVITY, hc, 1e-12 * hc);
        check(&figures, FIGURE_COERCIVITY_FALLING, hc, 1e-12 * hc);
        check(&figures, FIGURE_COERCIVITY_RISING, hc, 1e-12 * hc);
        check(&figures, FIGURE_COERCIVITY_J, hc, 1e-12 * hc); /* the sides are upright */
        check(&figures, FIGURE_SQUARENESS, 1.0, 1e-12);
        check(&figures, FIGURE_LOOP_FULLNESS, hc / hm, 1e-12);
        check(&figures, FIGURE_AMPLITUDE_PERMEABILITY, br / (MU0 * hm), 1e-12 * br / (MU0 * hm));
        trace_clear(&trace);
        trace_clear(&trace);
    }
}
END_TEST

/* Flanks B = s (H + Hc) falling and s (H - Hc) rising, cut off at +-Bm: area 4 Hc Bm. */
static struct trace create_parallelogram(double hc, double bm, double slope, int steps)
{
    const double reach = bm / slope;
    struct trace trace = trace_create();
    trace_add(&trace, reach + hc, bm);
    trace_go(&trace, reach - hc, bm, steps);
    trace_go(&trace, -reach - hc, -bm, 3 * steps);
    trace_go(&trace, -reach + hc, -bm, steps);
    trace_go(&trace, reach + hc, bm, 3 * steps);
    trace.count--;
    return trace;
}

START_TEST(a_parallelogram_has_the_figures_of_its_flanks)
{
    static const double slopes[] = {1e-3, 4e-4, 2.5e-3};
    const double hc = 1000.0, bm = 1.0;
    for (size_t i = 0; i < sizeof slopes / sizeof slopes[0]; i++) {
        const double s = slopes[i], reach = bm / s;
        struct trace trace = create_parallelogram(hc, bm, s, 37);
        struct figures figures;
        compute(&trace, TRACE_DRIFT_CHORD, &figures);
        check(&figures, FIGURE_LOOP_AREA, 4000.0, 1e-9);
        check(&figures, FIGURE_FIELD_PEAK, reach + hc, 1e-9);
        check(&figures, FIGURE_COERCIVITY, hc, 1e-9);
        check(&figures, FIGURE_REMANENCE, reach > hc ? s * hc : bm, 1e-12);
        /* J = B - mu0 H has flanks of slope s - mu0 */
        check(&figures, FIGURE_COERCIVITY_J, hc * s / (s - MU0), 1e-9);
        check(&figures, FIGURE_POLARIZATION_PEAK, bm - MU0 * (reach - hc), 1e-12);
        trace_clear(&trace);
    }
}
END_TEST

START_TEST(a_trace_may_begin_anywhere_and_go_either_way_in_sign)
{
    /* Begun at each of a few rows; or with both signs turned, which is the same loop. */
    for (size_t first = 0; first < 280; first += 27) {
        for (int sign = -1; sign <= 1; sign += 2) {
            struct trace whole = create_rectangle(3000.0, 1000.0, 1.2);
            struct trace trace = trace_create();
            struct figures figures;
            for (size_t i = 0; i < whole.count; i++) {
                const size_t row = (first + i) % whole.count;
                trace_add(&trace, sign * whole.field[row], sign * whole.flux_density[row]);
            }
            ck_assert_uint_eq(trace_cut_overrun(&trace), 0);
            compute(&trace, TRACE_DRIFT_CHORD, &figures);
            check(&figures, FIGURE_LOOP_AREA, 4800.0, 1e-9);
            check(&figures, FIGURE_COERCIVITY, 1000.0, 1e-9);
            check(&figures, FIGURE_REMANENCE, 1.2, 1e-12);
            trace_clear(&trace);
            trace_clear(&whole);
        }
    }
}
END_TEST

START_TEST(a_trace_that_runs_backwards_has_a_negative_area)
{
    struct trace whole = create_rectangle(3000.0, 1000.0, 1.2), trace = trace_create();
    for (size_t i = whole.count; i-- > 0;) {
        trace_add(&trace, whole.field[i], whole.flux_density[i]);
    }
    ck_assert_double_eq_tol(trace_compute_area(&trace), -4800.0, 1e-9);
    trace_clear(&trace);
    trace_clear(&whole);
}
END_TEST

START_TEST(both_sides_are_given_apart)
{
    /* a rectangle with flanks at -1200 and +900, tops at +1.1 and -0.9 about the middle 0.1 */
    struct trace trace = trace_create();
    struct figures figures;
    trace_add(&trace, 3000.0, 1.1);
    trace_go(&trace, -1200.0, 1.1, 30);
    trace_go(&trace, -1200.0, -0.9, 30);
    trace_go(&trace, -3000.0, -0.9, 30);
    trace_go(&trace, 900.0, -0.9, 30);
    trace_go(&trace, 900.0, 1.1, 30);
    trace_go(&trace, 2990.0, 1.1, 30);
    compute(&trace, TRACE_DRIFT_CHORD, &figures);
    check(&figures, FIGURE_COERCIVITY_FALLING, 1200.0, 1e-9);
    check(&figures, FIGURE_COERCIVITY_RISING, 900.0, 1e-9);
    check(&figures, FIGURE_COERCIVITY, 1050.0, 1e-9);
    check(&figures, FIGURE_COERCIVITY_ASYMMETRY, 300.0 / 2100.0, 1e-12);
    check(&figures, FIGURE_REMANENCE_FALLING, 1.0, 1e-12); /* B is centred on its peaks */
    check(&figures, FIGURE_REMANENCE_RISING, 1.0, 1e-12);
    check(&figures, FIGURE_REMANENCE_ASYMMETRY, 0.0, 1e-12);
    /* in place: the rows that pictures are drawn from */
    ck_assert_double_eq_tol(trace.flux_density[0], 1.0, 1e-15);
    trace_clear(&trace);
}
END_TEST

START_TEST(crossings_are_interpolated_and_averaged_over_a_branch)
{
    /* the falling branch passes B = 0 at -1000 in one step, and H = 0 between two rows */
    struct trace trace = trace_create();
    struct figures figures;
    const double rows[][2] = {{3000, 1.0}, {700, 0.9}, {-300, 0.7}, {-900, 0.1}, {-1300, -0.3},
        {-3000, -1.0}, {-700, -0.9}, {300, -0.7}, {900, -0.1}, {800, 0.1}, {900, -0.1},
        {1300, 0.3}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        trace_add(&trace, rows[i][0], rows[i][1]);
    }
    compute(&trace, TRACE_DRIFT_CHORD, &figures);
    check(&figures, FIGURE_COERCIVITY_FALLING, 1000.0, 1e-10);
    check(&figures, FIGURE_REMANENCE_FALLING, 0.76, 1e-13);
    check(&figures, FIGURE_REMANENCE_RISING, 0.76, 1e-13);
    /* noise makes three passages: 850, 850 and 1000 */
    check(&figures, FIGURE_COERCIVITY_RISING, 900.0, 1e-10);
    trace_clear(&trace);
}
END_TEST

/* ---- ends that do not meet ---- */

START_TEST(a_gap_is_closed_by_a_chord_or_shared_by_row)
{
    /* an integrator that drifts by `drift` over the rows of a rectangle that comes back to its
     * first row */
    static const double drifts[] = {0.0, 0.02, -0.05};
    for (size_t i = 0; i < sizeof drifts / sizeof drifts[0]; i++) {
        for (int linear = 0; linear <= 1; linear++) {
            const double hm = 3000.0, hc = 1000.0, br = 1.2, drift = drifts[i];
            struct trace trace = create_rectangle(hm, hc, br);
            struct figures figures;
            trace_add(&trace, hm, br);
            double chord = 0.0; /* what the drift adds: integral of H over the rows */
            for (size_t n = 0; n < trace.count; n++) {
                trace.flux_density[n] += drift * (double)n / (double)(trace.count - 1);
            }
            for (size_t n = 0; n + 1 < trace.count; n++) {
                chord +=
                    0.5 * (trace.field[n] + trace.field[n + 1]) * drift / (double)(trace.count - 1);
            }
            chord -= hm * drift; /* down the chord at hm */
            compute(&trace, linear ? TRACE_DRIFT_LINEAR : TRACE_DRIFT_CHORD, &figures);
            const double area = 4.0 * hc * br;
            check(&figures, FIGURE_CLOSURE_GAP, drift, 1e-14);
            check(&figures, FIGURE_LOOP_AREA_CHORD, area + chord, 1e-9);
            check(&figures, FIGURE_LOOP_AREA_DRIFT_SHARED, area, 1e-9);
            check(&figures, FIGURE_LOOP_AREA, linear ? area : area + chord, 1e-9);
            /* |gap| Hm is the half-width of a rectangle */
            ck_assert(figures.list[FIGURE_LOOP_AREA].has_u);
            ck_assert_double_eq_tol(
                figures.list[FIGURE_LOOP_AREA].u, fabs(drift) * hm / sqrt(3.0), 1e-11);
            if (linear) {
                check(&figures, FIGURE_REMANENCE, br, 1e-12);
                check(&figures, FIGURE_FLUX_DENSITY_PEAK, br, 1e-12);
            } else {
                check(&figures, FIGURE_FLUX_DENSITY_PEAK, br + 0.5 * fabs(drift), 0.02);
            }
            trace_clear(&trace);
        }
    }
}
END_TEST

/* ---- rows too many ---- */

/* A field that goes from `first` by way of its turns to `last` in steps of 1. */
struct run {
    const char *name;
    double first, turns[4], last; /* A/m: where it turns; NaN ends the list */
    size_t kept;                  /* rows; 0: all */
};

static const struct run run_list[] = {
    /* tips at +-100: 401 rows lead from a field inside back to it, 381 from 90 by one tip only */
    {"tip to tip, nothing over", 100, {-100, NAN}, 100, 0},
    {"the lower tip first", -100, {100, NAN}, -100, 0},
    {"a little over: below 1 % of 200", 100, {-100, 102, NAN}, 101, 0},
    {"begun below the tip, run on past it to the tip", 90, {-100, NAN}, 100, 381},
    {"the same upside down", -90, {100, NAN}, -100, 381},
    {"begun below the tip, over the tip and down again", 90, {-100, 100, NAN}, 20, 401},
    {"begun inside a branch, whole, nothing over", 20, {-100, 100, NAN}, 20, 0},
    {"begun inside a branch, run on past it", 20, {-100, 100, NAN}, -30, 401},
    {"the same upside down", -20, {100, -100, NAN}, 30, 401},
    {"begun inside the rising branch", -50, {100, -100, NAN}, -20, 401},
    {"begun far inside a branch and not whole", 0, {-100, NAN}, 100, 0},
    {"stopped short of its first field", 100, {-100, NAN}, 80, 0},
    {"stopped short inside a branch", 20, {-100, 100, NAN}, 40, 0},
};

static void walk(struct trace *trace, double target)
{
    while (trace->field[trace->count - 1] != target) {
        const double h = trace->field[trace->count - 1];
        trace_add(trace, h + (target > h ? 1.0 : -1.0), 0.001 * (double)trace->count);
    }
}

START_TEST(rows_past_the_first_field_are_cut)
{
    for (size_t i = 0; i < sizeof run_list / sizeof run_list[0]; i++) {
        struct trace trace = trace_create();
        trace_add(&trace, run_list[i].first, 0.0);
        for (int t = 0; t < 4 && !isnan(run_list[i].turns[t]); t++) {
            walk(&trace, run_list[i].turns[t]);
        }
        walk(&trace, run_list[i].last);
        const size_t rows = trace.count;
        const size_t kept = run_list[i].kept > 0 ? run_list[i].kept : rows;
        const size_t dropped = trace_cut_overrun(&trace);
        ck_assert_msg(dropped == rows - kept, "%s: %zu of %zu rows dropped instead of %zu",
            run_list[i].name, dropped, rows, rows - kept);
        ck_assert_uint_eq(trace.count, kept);
        trace_clear(&trace);
    }
}
END_TEST

START_TEST(noise_at_the_begin_does_not_hide_the_direction)
{
    struct trace trace = trace_create();
    for (int i = 0; i < 20; i++) {
        trace_add(&trace, i % 2 == 0 ? 90.0 : 91.0, 0.0); /* within 1 % of 200 */
    }
    trace_add(&trace, 90.0, 0.0);
    walk(&trace, -100.0);
    walk(&trace, 100.0);
    ck_assert_uint_eq(trace_cut_overrun(&trace), 10);
    trace_clear(&trace);
}
END_TEST

/* ---- failures ---- */

START_TEST(what_is_no_loop_is_refused)
{
    static const struct {
        const char *message;
        double rows[9][2];
        size_t count;
    } list[] = {
        {"the trace has only 7 rows, 8 are needed",
            {{3, 1}, {0, 1}, {-1, -1}, {-3, -1}, {0, -1}, {1, 1}, {2, 1}}, 7},
        {"the trace does not pass zero on both of its branches", /* only positive fields */
            {{3, 1}, {2, .9}, {1, -.9}, {.5, -1}, {.6, -1}, {.8, -.9}, {1, -.8}, {1.5, .8}}, 8},
        {"the trace does not pass zero on both of its branches", /* one row again and again */
            {{1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}}, 8},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct trace trace = trace_create();
        struct figures figures = {0};
        struct error err = {0};
        for (size_t n = 0; n < list[i].count; n++) {
            trace_add(&trace, list[i].rows[n][0], list[i].rows[n][1]);
        }
        ck_assert_uint_eq(trace_cut_overrun(&trace), 0);
        ck_assert_int_eq(
            trace_compute_figures(&trace, TRACE_DRIFT_CHORD, &figures, &err), STATUS_CAPTURE);
        ck_assert_str_eq(err.message, list[i].message);
        ck_assert(strstr(err.hint, "a trace is one whole traverse of a loop") == err.hint);
        for (size_t f = 0; f < FIGURE_COUNT; f++) {
            ck_assert(!figures.list[f].is_present);
        }
        trace_clear(&trace);
    }
}
END_TEST

START_TEST(a_trace_that_goes_around_more_than_once_is_refused)
{
    static const struct {
        int rounds;
        size_t first;
    } list[] = {{1, 0}, {1, 20}, {1, 133}, {1, 250}, {2, 0}, {2, 133}, {3, 20}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct trace once = create_rectangle(3000.0, 1000.0, 1.2), trace = trace_create();
        struct figures figures;
        struct error err = {0};
        for (size_t n = 0; n < (size_t)list[i].rounds * once.count; n++) {
            const size_t row = (list[i].first + n) % once.count;
            trace_add(&trace, once.field[row], once.flux_density[row]);
        }
        const enum status status = trace_compute_figures(&trace, TRACE_DRIFT_CHORD, &figures, &err);
        ck_assert_int_eq(status, list[i].rounds == 1 ? STATUS_OK : STATUS_CAPTURE);
        ck_assert_str_eq(
            err.message, list[i].rounds == 1 ? "" : "the trace goes around more than once");
        trace_clear(&trace);
        trace_clear(&once);
    }
}
END_TEST

Suite *trace_suite(void)
{
    Suite *suite = suite_create("trace");
    TCase *tests = tcase_create("trace");
    tcase_add_test(tests, a_rectangle_has_four_times_the_product_of_its_half_sides);
    tcase_add_test(tests, a_parallelogram_has_the_figures_of_its_flanks);
    tcase_add_test(tests, a_trace_may_begin_anywhere_and_go_either_way_in_sign);
    tcase_add_test(tests, a_trace_that_runs_backwards_has_a_negative_area);
    tcase_add_test(tests, both_sides_are_given_apart);
    tcase_add_test(tests, crossings_are_interpolated_and_averaged_over_a_branch);
    tcase_add_test(tests, a_gap_is_closed_by_a_chord_or_shared_by_row);
    tcase_add_test(tests, rows_past_the_first_field_are_cut);
    tcase_add_test(tests, noise_at_the_begin_does_not_hide_the_direction);
    tcase_add_test(tests, what_is_no_loop_is_refused);
    tcase_add_test(tests, a_trace_that_goes_around_more_than_once_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
