// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/history.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/langevin.h"
#include "model/preisach.h"
#include "num/random.h"
#include "quantity/constant.h"
#include "suites.h"

#define MU0 MAGNETIC_CONSTANT
#define PI 3.14159265358979323846

static const double soft[] = {1.6e6, 1100, 400, 0.2, 1.6e-3};
static const double semi_hard[] = {1.2e6, 9000, 8000, 0.1, 0.015};

static struct material create_material(const struct model *model, const double *parameters)
{
    struct material material = {.model = model};
    memcpy(material.parameters, parameters, model->parameter_count * sizeof *parameters);
    return material;
}

static struct history *create(const struct material *material)
{
    struct history *history;
    struct error err = {0};
    ck_assert_msg(!history_create(material, &history, &err), "%s", err.message);
    return history;
}

static double feed(struct history *history, enum model_drive drive, double value)
{
    double found;
    struct error err = {0};
    ck_assert_msg(!history_advance(history, drive, &value, 1, &found, &err), "%s", err.message);
    return found;
}

static double drive(struct history *history, double field)
{
    return feed(history, MODEL_DRIVE_FIELD, field);
}

/* A table whose density of switching units is even, 2 v' = 1e-9 T/(A/m)^2, over |H| <= 1200 A/m,
 * on uneven nodes: Rayleigh's law with m = mu0. */
enum { NODES = 6 };
#define EVEN_DENSITY 1e-9
static struct material create_even_table(void)
{
    static const double nodes[NODES] = {100, 230, 400, 750, 900, 1200};
    struct material material = {.model = &model_preisach};
    material.counts[PREISACH_FIELD] = NODES;
    material.counts[PREISACH_EVERETT] = NODES * (NODES + 1);
    material.curves[PREISACH_FIELD] = calloc(NODES, sizeof(double));
    double *values = material.curves[PREISACH_EVERETT] =
        calloc(NODES * (NODES + 1), sizeof(double));
    memcpy(material.curves[PREISACH_FIELD], nodes, sizeof nodes);
    for (int i = 1; i <= NODES; i++)
        for (int j = -i; j < i; j++) {
            double a = nodes[i - 1];
            double b = j == 0 ? 0 : j > 0 ? nodes[j - 1] : -nodes[-j - 1];
            *values++ = 0.5 * EVEN_DENSITY * (a - b) * (a - b);
        }
    return material;
}

/* The branches of a tanh loop, as a polygon of 121 nodes. */
enum { POLYGON = 121 };
static struct material create_tellinen(void)
{
    struct material material = {.model = &model_tellinen};
    material.counts[0] = material.counts[1] = POLYGON;
    double *field = material.curves[0] = calloc(POLYGON, sizeof(double));
    double *falling = material.curves[1] = calloc(POLYGON, sizeof(double));
    const double js = 1.3, hs = 19200, w = 19800, peak = 60000;
    double closing = js / 2 * (tanh((peak + hs) / w) - tanh((peak - hs) / w));
    for (int i = 0; i <= POLYGON / 2; i++) {
        int mirror = POLYGON - 1 - i;
        field[mirror] = peak * (mirror - POLYGON / 2) / (POLYGON / 2);
        field[i] = -field[mirror];
        falling[i] = js * tanh((field[i] + hs) / w) - closing;
        falling[mirror] = js * tanh((field[mirror] + hs) / w) - closing;
    }
    falling[0] = -falling[POLYGON - 1];
    return material;
}

static const double tanh_set[] = {1.3, 19200, 19800};
static const double rayleigh_set[] = {795.7747154594768, 500};
static const double factorised_set[] = {
    100, 0.95, 0.55, 1 / 0.24, 1 / 0.12, 1 / 0.8, 7.4}; /* of the table below */

/* One material of each model that has a history, with a field that drives it far. */
enum { MATERIALS = 8 };
static struct material create_one(int index, double *field)
{
    static const struct {
        const struct model *model;
        const double *parameters;
        double field;
    } list[MATERIALS - 2] = {{&model_tanh, tanh_set, 50000},
        {&model_jiles_atherton_1986, semi_hard, 30000},
        {&model_jiles_atherton_1992, semi_hard, 30000},
        {&model_jiles_atherton_field, semi_hard, 30000}, {&model_rayleigh, rayleigh_set, 300},
        {&model_preisach_factorised, factorised_set, 60}};
    *field = index == MATERIALS - 2 ? 1000 : index == MATERIALS - 1 ? 50000 : list[index].field;
    if (index == MATERIALS - 2)
        return create_even_table();
    return index == MATERIALS - 1 ? create_tellinen()
                                  : create_material(list[index].model, list[index].parameters);
}

static void clear_one(struct material *material)
{
    for (int i = 0; i < MODEL_CURVES; i++)
        free(material->curves[i]);
}

START_TEST(history_cycled_with_a_sine_is_the_closed_loop)
{
    enum { COUNT = 64 };
    double peak, h[COUNT], b[COUNT], found[COUNT];
    struct material material = create_one(_i, &peak);
    struct error err = {0};
    ck_assert(!model_compute_cycle(
        material.model, material.parameters, MODEL_DRIVE_FIELD, peak, COUNT, h, b, &err));
    struct history *history = create(&material);
    ck_assert_msg(!history_compute_cycle(history, MODEL_DRIVE_FIELD, h, COUNT, found, &err), "%s",
        err.message);
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(found[i], b[i], 2e-11);
    history_destroy(history);
    clear_one(&material);
}
END_TEST

START_TEST(initial_curve_of_1992_leaves_with_its_exact_slope)
{
    /* x / (1 - alpha x), x = c Ms / (3 a) */
    struct material material = create_material(&model_jiles_atherton_1992, soft);
    struct history *history = create(&material);
    double slope = (drive(history, 1e-3) / MU0 - 1e-3) / 1e-3;
    ck_assert_double_eq_tol(slope, 114.77761836441894, 2e-3); /* the slope rises from there */
    history_destroy(history);
}
END_TEST

START_TEST(anhysteretic_curve_has_its_initial_slope_and_values)
{
    /* Ms / (3 a - alpha Ms); where nothing pins, the whole curve is anhysteretic: c near 1 */
    double m = 1e-6;
    double field = soft[1] * langevin_get_inverse(m / soft[0]) - soft[4] * m;
    ck_assert_double_eq_tol(m / field, 2162.162162162162, 1e-8);
    static const struct {
        double field, magnetization;
    } list[] = {
        {100, 206821.418825}, {500, 681164.066198}, {1000, 926455.335202}, {5000, 1354440.636383}};
    for (int i = 0; i < 4; i++) {
        double h = soft[1] * langevin_get_inverse(list[i].magnetization / soft[0]) -
                   soft[4] * list[i].magnetization;
        ck_assert_double_eq_tol(h, list[i].field, 1e-9 * list[i].field);
    }
}
END_TEST

/* M and dM/dH on the falling branch of the soft set between -+6000 A/m, by differences. */
static void get_slope(const struct material *material, double field, double *m, double *slope)
{
    struct history *history = create(material);
    for (int i = 0; i < 12; i++)
        drive(history, i % 2 ? -6000 : 6000);
    drive(history, 6000);
    const double width = 1e-2;
    double above = drive(history, field + width) / MU0 - (field + width);
    *m = drive(history, field) / MU0 - field;
    double below = drive(history, field - width) / MU0 - (field - width);
    *slope = (above - below) / (2 * width);
    history_destroy(history);
}

START_TEST(remanence_coercive_point_and_tip_obey_the_relations_of_1992)
{
    const double saturation = soft[0], a = soft[1], k = soft[2], c = soft[3], alpha = soft[4];
    struct material material = create_material(&model_jiles_atherton_1992, soft);
    double m, chi, rise;
    get_slope(&material, 0.0, &m, &chi);
    double man = saturation * langevin_get(alpha * m / a, &rise);
    double total = rise * saturation / a * (1 + alpha * chi);
    ck_assert_double_eq_tol(m, 501529.75604490563, 1e-2);
    ck_assert_double_eq_tol(chi, 1083.1792451205226, 1e-4);
    ck_assert_double_eq_tol(man, 375926.56818692945, 1e-2);
    /* Mr = Man(Mr) + k / [alpha/(1-c) + 1/(chi - c dMan/dH)] is exact */
    ck_assert_double_eq_tol(
        man + k / (alpha / (1 - c) + 1 / (chi - c * total)), m, 1e-7 * saturation);
    get_slope(&material, -316.14542023900594, &m, &chi);
    ck_assert_double_eq_tol(m, 0.0, 1e-2);
    ck_assert_double_eq_tol(chi, 2004.0894692731554, 1e-4);
    man = saturation * langevin_get(316.14542023900594 / a, &rise);
    total = rise * saturation / a * (1 + alpha * chi);
    ck_assert_double_eq_tol(
        man / (1 - c) * (alpha + 1 / (chi / (1 - c) - c / (1 - c) * total)), k, 1e-6 * k);
}
END_TEST

START_TEST(factorised_everett_gives_the_computed_loops)
{
    /* Sets of parameters of the Modelica Standard Library's FluxTubes materials (BSD-3-Clause), in
     * its units 1/(A/m) for q, p1 and p2; figures computed from the equation with 12 digits. */
    static const struct {
        double limit, m, r, q, p1, p2, hc, saturation, remanence, coercivity, area;
    } list[] = {
        {650, .980890, .429330, .027285, .48567, .000549, 24.4948, 1.36606291717, 0.934847983585,
            22.748765954, 203.706821401},
        {700, 1.1461, .1607, .012965, .18349, .000425, 100.0602, 1.51364968185, 1.38054114847,
            94.9716769306, 668.714689512},
        {100, .95, .55, .24, .12, .8, 7.4, 1.77659789487, 1.44875277968, 7.36137428859,
            59.1470165941},
    };
    for (int i = 0; i < 3; i++) {
        double p[] = {list[i].limit, list[i].m, list[i].r, 1 / list[i].q, 1 / list[i].p1,
            1 / list[i].p2, list[i].hc};
        struct material material = create_material(&model_preisach_factorised, p);
        struct history *history = create(&material);
        double top = drive(history, list[i].limit) - MU0 * list[i].limit;
        ck_assert_double_eq_tol(top, list[i].saturation, 6e-12);
        ck_assert_double_eq_tol(drive(history, 0.0), list[i].remanence, 6e-12);
        double h = -list[i].coercivity;
        ck_assert_double_eq_tol(drive(history, h) - MU0 * h, 0.0, 1e-11);
        /* area by Simpson's rule: 2 integral of (J falling) dH over the major loop's width */
        enum { STEPS = 60000 };
        double sum = 0;
        drive(history, -list[i].limit);
        drive(history, list[i].limit);
        for (int n = 0; n <= STEPS; n++) {
            double at = list[i].limit * (1 - 2.0 * n / STEPS);
            double weight = n == 0 || n == STEPS ? 1 : n % 2 ? 4 : 2;
            sum += weight * (drive(history, at) - MU0 * at);
        }
        double area = 2 * sum * (2 * list[i].limit / STEPS) / 3;
        ck_assert_double_eq_tol(area, list[i].area, 6e-10 * list[i].area);
        history_destroy(history);
    }
}
END_TEST

START_TEST(first_order_reversal_curves_are_the_everett_function)
{
    /* J(H) = J(a) - E(a, H) below a reversal at a, wherever a is and whatever came before */
    struct material material = create_even_table();
    struct history *history = create(&material);
    for (double a = -900; a <= 1000; a += 170) {
        drive(history, -1200);
        double top = drive(history, a);
        for (double h = a - 60; h > -1190; h -= 77)
            ck_assert_double_eq_tol(
                drive(history, h), top - preisach_get_everett(&material, a, h), 1e-15);
    }
    history_destroy(history);
    clear_one(&material);
}
END_TEST

START_TEST(even_density_is_rayleighs_law)
{
    /* B = (m + v Hm) H -+ (v/2) (Hm^2 - H^2), W = (4/3) v Hm^3, by a table on uneven nodes */
    struct material table = create_even_table();
    const double law[] = {1.0, MU0 / EVEN_DENSITY};
    struct material rayleigh = create_material(&model_rayleigh, law);
    struct history *a = create(&table), *b = create(&rayleigh);
    double x = 0, peak = 0;
    struct random random;
    random_init(&random, 5, 0);
    for (int i = 0; i < 400; i++) {
        x = 2400 * random_get_uniform(&random) - 1200;
        ck_assert_double_eq_tol(drive(a, x), drive(b, x), 1e-15);
    }
    for (peak = 200; peak < 1200; peak += 301) {
        history_reset(b);
        drive(b, peak);
        drive(b, -peak);
        enum { STEPS = 64 };
        double area = 0, last = 0;
        for (int n = 0; n <= STEPS; n++) { /* Simpson's rule is exact for parabolas */
            double h = peak * (2.0 * n / STEPS - 1);
            last = drive(b, h);
            area -= (n == 0 || n == STEPS ? 1 : n % 2 ? 4 : 2) * last;
        }
        area *= 2 * (2 * peak / STEPS) / 3;
        ck_assert_double_eq_tol(area, 4.0 / 3 * EVEN_DENSITY * peak * peak * peak, 1e-12 * area);
        ck_assert_double_eq_tol(last, (MU0 + EVEN_DENSITY * peak) * peak, 1e-15);
    }
    history_destroy(a);
    history_destroy(b);
    clear_one(&table);
}
END_TEST

/* Models of Preisach's kind: tanh, rayleigh, factorised, table. */
static const int preisach_kind[] = {0, 4, 5, 6};

START_TEST(passed_turning_points_are_wiped_out)
{
    double most;
    struct material material = create_one(preisach_kind[_i], &most);
    struct history *long_way = create(&material), *short_way = create(&material);
    static const double way[] = {0.9, -0.7, 0.5, -0.3, 0.2, -0.1, 0.15, 0.1, 0.3, 0.6, -0.8};
    for (size_t i = 0; i < sizeof way / sizeof way[0]; i++)
        drive(long_way, way[i] * most);
    drive(short_way, 0.9 * most);
    drive(short_way, -0.8 * most);
    /* the same history is left: 0.9, then down to -0.8 */
    static const double on[] = {0.1, -0.2, 0.85, 0.95, -0.4, 1.0};
    for (size_t i = 0; i < sizeof on / sizeof on[0]; i++)
        ck_assert_double_eq_tol(
            drive(long_way, on[i] * most), drive(short_way, on[i] * most), 4e-15);
    history_destroy(long_way);
    history_destroy(short_way);
    clear_one(&material);
}
END_TEST

START_TEST(minor_loops_between_the_same_fields_are_congruent_and_closed)
{
    double most;
    struct material material = create_one(preisach_kind[_i], &most);
    struct history *history = create(&material);
    const double low = -0.1 * most, high = 0.35 * most;
    double first[21];
    for (int turn = 0; turn < 4; turn++) {
        static const double before[] = {-1.0, -0.4, 1.0, 0.5};
        history_reset(history);
        if (turn > 1)
            drive(history, -most);
        drive(history, before[turn] * most);
        drive(history, turn % 2 ? 0.4 * most : 0.6 * most);
        drive(history, low);
        double start = drive(history, low);
        for (int i = 0; i <= 20; i++) {
            double rise = drive(history, low + (high - low) * i / 20) - start;
            if (turn == 0)
                first[i] = rise;
            ck_assert_double_eq_tol(rise, first[i], 4e-15);
        }
        ck_assert_double_eq_tol(drive(history, low), start, 4e-15); /* closed */
    }
    history_destroy(history);
    clear_one(&material);
}
END_TEST

START_TEST(flux_driven_history_is_the_inverse_of_the_field_driven_one)
{
    double most;
    struct material material = create_one(_i, &most);
    struct history *by_field = create(&material), *by_flux = create(&material);
    struct random random;
    random_init(&random, (uint64_t)_i, 0);
    for (int i = 0; i < 120; i++) {
        double h = most * (2 * random_get_uniform(&random) - 1);
        double b = drive(by_field, h);
        double again = feed(by_flux, MODEL_DRIVE_FLUX_DENSITY, b);
        ck_assert_double_eq_tol(again, h, 1e-8 * most);
        ck_assert_double_eq_tol(history_get_flux_density(by_flux), b, 1e-12);
    }
    history_destroy(by_field);
    history_destroy(by_flux);
    clear_one(&material);
}
END_TEST

START_TEST(flux_density_rises_with_the_field_and_loops_lose_energy)
{
    double most;
    struct material material = create_one(_i, &most);
    struct history *history = create(&material);
    double area = 0, h = 0, b = 0;
    for (int i = 0; i < 3000; i++) {
        double next = most * (0.6 * sin(i * 2 * PI / 1000) + 0.5 * sin(i * 2 * PI / 200));
        double found = drive(history, next);
        ck_assert_double_ge((found - b) * (next - h), 0);
        if (i >= 2000)
            area += 0.5 * (h + next) * (found - b);
        h = next;
        b = found;
    }
    ck_assert_double_gt(area, 0);
    history_destroy(history);
    clear_one(&material);
}
END_TEST

/* The published rule by itself: Runge and Kutta's classical method in many steps. */
static double compute_rule_slope(const struct material *material, double h, double b, bool rising)
{
    const double *x = material->curves[0], *y = material->curves[1];
    int i = 0;
    while (i + 2 < POLYGON && h > x[i + 1])
        i++;
    double part = (h - x[i]) / (x[i + 1] - x[i]);
    double falling = y[i] + part * (y[i + 1] - y[i]);
    double low = -y[POLYGON - 1 - i], high = -y[POLYGON - 2 - i];
    double up = low + part * (high - low);
    if (rising)
        return (falling - b) / (falling - up) * (high - low) / (x[i + 1] - x[i]);
    return (b - up) / (falling - up) * (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
}

START_TEST(tellinen_follows_its_published_rule)
{
    struct material material = create_tellinen();
    struct history *history = create(&material);
    static const double turns[] = {31000, -12300, 25100, 2000, 40500, -55000, 700};
    double h = 0, b = 0; /* of J */
    for (size_t t = 0; t < sizeof turns / sizeof turns[0]; t++) {
        /* whole steps of 1/50 of the polygon's sides, so that none crosses a node */
        int steps = (int)lround(fabs(turns[t] - h) / 10);
        double width = (turns[t] - h) / steps;
        bool rising = width > 0;
        for (int i = 0; i < steps; i++) {
            double middle = h + width / 2;
            double k1 = compute_rule_slope(&material, h + 1e-7 * width, b, rising);
            double k2 = compute_rule_slope(&material, middle, b + width / 2 * k1, rising);
            double k3 = compute_rule_slope(&material, middle, b + width / 2 * k2, rising);
            double k4 =
                compute_rule_slope(&material, h + width * (1 - 1e-7), b + width * k3, rising);
            b += width / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
            h += width;
        }
        ck_assert_double_eq_tol(drive(history, turns[t]), MU0 * turns[t] + b, 1e-9);
        h = turns[t];
    }
    history_destroy(history);
    clear_one(&material);
}
END_TEST

START_TEST(tellinen_runs_along_the_major_loop_it_was_given)
{
    struct material material = create_tellinen();
    struct history *history = create(&material);
    drive(history, 90000); /* beyond the tip and back: reversible */
    for (int i = POLYGON - 1; i >= 0; i--)
        ck_assert_double_eq_tol(drive(history, material.curves[0][i]) - MU0 * material.curves[0][i],
            material.curves[1][i], 1e-14);
    for (int i = 0; i < POLYGON; i++)
        ck_assert_double_eq_tol(drive(history, material.curves[0][i]) - MU0 * material.curves[0][i],
            -material.curves[1][POLYGON - 1 - i], 1e-14);
    history_destroy(history);
    clear_one(&material);
}
END_TEST

START_TEST(ellipse_turns_a_whole_cycle_and_refuses_a_history)
{
    const double set[] = {119.36620731892151, PI / 6};
    struct material material = create_material(&model_ellipse, set);
    struct history *history = create(&material);
    enum { COUNT = 50 };
    double h[COUNT], b[COUNT], again[COUNT];
    for (int i = 0; i < COUNT; i++)
        h[i] = 8000 * cos(2 * PI * i / COUNT) + 900 * sin(6 * PI * i / COUNT) + 50;
    struct error err = {0};
    ck_assert(!history_compute_cycle(history, MODEL_DRIVE_FIELD, h, COUNT, b, &err));
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(b[i],
            MU0 * set[0] *
                (8000 * cos(2 * PI * i / COUNT - PI / 6) + 900 * sin(6 * PI * i / COUNT - PI / 6) +
                    50),
            1e-14);
    ck_assert(!history_compute_cycle(history, MODEL_DRIVE_FLUX_DENSITY, b, COUNT, again, &err));
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(again[i], h[i], 1e-10);
    ck_assert_int_eq(history_advance(history, MODEL_DRIVE_FIELD, h, 1, b, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "model 'ellipse' knows only whole cycles, not a history");
    history_destroy(history);
}
END_TEST

START_TEST(refuses_what_is_not_finite_and_stays_where_it_was)
{
    double most;
    struct material material = create_one(1, &most);
    struct history *history = create(&material);
    double given[] = {1000, NAN, 2000}, found[3] = {0};
    struct error err = {0};
    ck_assert_int_eq(
        history_advance(history, MODEL_DRIVE_FIELD, given, 3, found, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "value 1 is not a finite number");
    ck_assert_double_eq(history_get_field(history), 1000);
    ck_assert_double_eq(history_get_flux_density(history), found[0]);
    history_destroy(history);
}
END_TEST

START_TEST(refuses_curves_that_are_no_loop_and_says_where)
{
    struct material material = create_tellinen();
    struct history *history;
    struct error err = {0};
    material.curves[1][40] = material.curves[1][39] - 0.01;
    ck_assert_int_eq(history_create(&material, &history, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "at -20000 A/m"));
    clear_one(&material);
    material = create_even_table();
    material.curves[PREISACH_EVERETT][25] *= 1.2;
    ck_assert_int_eq(history_create(&material, &history, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "negative density in row 5"));
    clear_one(&material);
}
END_TEST

START_TEST(material_reads_back_from_what_was_written)
{
    double most;
    struct material material = create_one(_i, &most), again = {0};
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 2);
    json_begin_object(&json, NULL);
    material_write_json(&json, &material, NULL);
    json_end_object(&json);
    json_finish(&json);
    struct tree *tree;
    struct error err = {0};
    ck_assert(!tree_read_bytes("text", out.bytes, out.length, &tree, &err));
    ck_assert_msg(!material_read(tree, tree_get_root(tree), &again, &err), "%s", err.message);
    ck_assert_ptr_eq(again.model, material.model);
    ck_assert_mem_eq(again.parameters, material.parameters, sizeof again.parameters);
    for (size_t i = 0; i < material.model->curve_count; i++) {
        ck_assert_uint_eq(again.counts[i], material.counts[i]);
        ck_assert_mem_eq(
            again.curves[i], material.curves[i], again.counts[i] * sizeof **again.curves);
    }
    tree_destroy(tree);
    text_clear(&out);
    material_clear(&again);
    clear_one(&material);
}
END_TEST

START_TEST(material_of_another_form_is_refused)
{
    static const char words[] = "{\"name\": \"jiles-atherton-1992\", \"form\": \"1986\"}";
    struct tree *tree;
    struct error err = {0};
    struct material material = {0};
    ck_assert(!tree_read_bytes("text", words, strlen(words), &tree, &err));
    ck_assert_int_eq(material_read(tree, tree_get_root(tree), &material, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "the form of model 'jiles-atherton-1992' is '1986', and here it is another");
    tree_destroy(tree);
}
END_TEST

Suite *history_suite(void)
{
    Suite *suite = suite_create("history");
    TCase *tests = tcase_create("history");
    tcase_set_timeout(tests, 120); /* the sanitizers are slow */
    tcase_add_loop_test(tests, history_cycled_with_a_sine_is_the_closed_loop, 0, 5);
    tcase_add_test(tests, initial_curve_of_1992_leaves_with_its_exact_slope);
    tcase_add_test(tests, anhysteretic_curve_has_its_initial_slope_and_values);
    tcase_add_test(tests, remanence_coercive_point_and_tip_obey_the_relations_of_1992);
    tcase_add_test(tests, factorised_everett_gives_the_computed_loops);
    tcase_add_test(tests, first_order_reversal_curves_are_the_everett_function);
    tcase_add_test(tests, even_density_is_rayleighs_law);
    tcase_add_loop_test(tests, passed_turning_points_are_wiped_out, 0, 4);
    tcase_add_loop_test(tests, minor_loops_between_the_same_fields_are_congruent_and_closed, 0, 4);
    tcase_add_loop_test(
        tests, flux_driven_history_is_the_inverse_of_the_field_driven_one, 0, MATERIALS);
    tcase_add_loop_test(
        tests, flux_density_rises_with_the_field_and_loops_lose_energy, 0, MATERIALS);
    tcase_add_test(tests, tellinen_follows_its_published_rule);
    tcase_add_test(tests, tellinen_runs_along_the_major_loop_it_was_given);
    tcase_add_test(tests, ellipse_turns_a_whole_cycle_and_refuses_a_history);
    tcase_add_test(tests, refuses_what_is_not_finite_and_stays_where_it_was);
    tcase_add_test(tests, refuses_curves_that_are_no_loop_and_says_where);
    tcase_add_loop_test(tests, material_reads_back_from_what_was_written, 0, MATERIALS);
    tcase_add_test(tests, material_of_another_form_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
