// SPDX-License-Identifier: GPL-3.0-or-later
/* The budget of loops made by hand: against derivatives on paper and against the figures' own code.
 */
#include "budget/loop_budget.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/tree.h"
#include "loop/convert.h"
#include "loop/trace.h"
#include "loop/track.h"
#include "suites.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static const double PI = 3.14159265358979323846;
static const double FREQUENCY = 53.7, LAG = 24.0, DELAY = 2.1e-6;

static struct quantity known(double value, double u)
{
    return (struct quantity){
        .value = value, .half_width = 2 * u, .is_present = true, .has_uncertainty = u > 0};
}

struct bench {
    struct rig rig;
    struct specimen specimen;
    struct loop loop;
    struct loop_budget *budget;
};

static void bench_set_setup(struct bench *bench)
{
    *bench =
        (struct bench){.rig = {.excitation = {.full_scale = known(1.55, 0), .shunt = known(0.1, 0)},
                           .pickup = {.full_scale = known(1.55, 0), .divider = known(11, 0)},
                           .pickup_delay = known(DELAY, 0),
                           .winding = {.is_present = true,
                               .primary_turns = known(200, 0),
                               .secondary_turns = known(100, 0)}},
            .specimen = {.outer_diameter = known(0.040, 0),
                .inner_diameter = known(0.032, 0),
                .height = known(0.006, 0),
                .density = known(8100, 0)}};
    ck_assert_int_eq(specimen_compute_geometry(&bench->specimen, NULL), STATUS_OK);
}

/* A loop of a few harmonics, and the recorded coefficients that the conversion makes it from: an
 * input's gain is what it makes of 1. */
static void bench_set_loop(struct bench *bench, size_t harmonics)
{
    struct conversion conversion;
    struct loop *loop = &bench->loop;
    struct fourier_loop *recorded = &loop->basis.recorded, gain;
    loop->basis.is_audio = true;
    loop->basis.frames = 48000;
    ck_assert_int_eq(fourier_loop_create(&loop->series, harmonics, NULL), STATUS_OK);
    ck_assert_int_eq(fourier_loop_create(recorded, harmonics, NULL), STATUS_OK);
    ck_assert_int_eq(fourier_loop_create(&gain, harmonics, NULL), STATUS_OK);
    ck_assert_int_eq(
        conversion_set(&conversion, &bench->rig, &bench->specimen, true, NULL), STATUS_OK);
    for (size_t k = 0; k <= harmonics; k++) {
        recorded->field[k] = recorded->flux_density[k] = k;
    }
    conversion.air_share = 0;
    conversion_apply(&conversion, FREQUENCY, recorded->field, recorded->flux_density, &gain);
    for (size_t k = 1; k <= harmonics; k++) {
        const double n = (double)k, size = k % 2 ? 1 / (n * n * n) : 0.002 / n;
        const double complex h = k == 1 ? 30000.0 : 40.0 / n * cexp(I * n);
        const double complex b = 1.1 * size * cexp(-I * (LAG * PI / 180 + 0.4 * (n - 1)));
        recorded->field[k] *= h / gain.field[k];
        recorded->flux_density[k] *= b / gain.flux_density[k];
    }
    fourier_loop_clear(&gain);
    ck_assert_int_eq(
        conversion_set(&conversion, &bench->rig, &bench->specimen, true, NULL), STATUS_OK);
    conversion_apply(
        &conversion, FREQUENCY, recorded->field, recorded->flux_density, &loop->series);
    ck_assert_int_eq(fourier_loop_compute_figures(&loop->series, FREQUENCY,
                         bench->specimen.density.is_present ? bench->specimen.density.value : 0,
                         &loop->figures, NULL),
        STATUS_OK);
}

static void bench_set_budget(struct bench *bench)
{
    ck_assert_int_eq(
        loop_budget_create(&bench->loop, &bench->rig, &bench->specimen, &bench->budget, NULL),
        STATUS_OK);
}

static void bench_clear(struct bench *bench)
{
    loop_budget_destroy(bench->budget);
    loop_clear(&bench->loop);
}

static double get_relative(const struct bench *bench, enum figure figure)
{
    const size_t j = loop_budget_find(bench->budget, figure);
    return bench->budget->linear.u[j] / fabs(bench->budget->linear.value[j]);
}

/* Relative uncertainties of Hm, Bm, W, µa that paper gives for one uncertain input. */
static const struct {
    const char *name;
    size_t offset;          /* in struct bench */
    double value, relative; /* the input's */
    double hm, bm, w, ua;   /* per relative uncertainty of the input */
} papers[] = {
#define AT(member) offsetof(struct bench, member)
    {"full scale 1", AT(rig.excitation.full_scale), 1.55, 1e-3, 1, 0, 1, 1},
    {"shunt", AT(rig.excitation.shunt), 0.1, 2e-3, 1, 0, 1, 1},
    {"full scale 2", AT(rig.pickup.full_scale), 1.55, 1e-3, 0, 1, 1, 1},
    {"divider 2", AT(rig.pickup.divider), 11, 1e-3, 0, 1, 1, 1},
    {"turns 1", AT(rig.winding.primary_turns), 200, 1e-3, 1, 0, 1, 1},
    {"turns 2", AT(rig.winding.secondary_turns), 100, 1e-3, 0, 1, 1, 1},
    /* l = pi (D + d)/2, A = (D - d)/2 h: dH/H = -D/(D+d), dB/B = -D/(D-d) times dD/D, and for d
     * -d/(D+d), +d/(D-d) */
    {"outer diameter", AT(specimen.outer_diameter), 0.040, 5e-4, 40. / 72, 5, 5 + 40. / 72,
        5 - 40. / 72},
    {"inner diameter", AT(specimen.inner_diameter), 0.032, 5e-4, 32. / 72, 4, 4 - 32. / 72,
        4 + 32. / 72},
    {"height", AT(specimen.height), 0.006, 1e-3, 0, 1, 1, 1},
    /* B = flux / (2 pi f): all that stands for time acts on B */
    {"clock", AT(rig.clock), 1, 1e-3, 0, 1, 1, 1},
    {"field", AT(rig.field_repeat), 1, 3e-3, 1, 0, 1, 1},
    {"flux density", AT(rig.flux_density_repeat), 1, 2e-3, 0, 1, 1, 1},
};

START_TEST(single_inputs_act_as_on_paper)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.pickup_delay.value = 0; /* with one, the clock turns B a little */
    bench_set_loop(&bench, 9);
    /* noise of no account: nothing but the input is left */
    *(struct quantity *)((char *)&bench + papers[_i].offset) =
        known(papers[_i].value, papers[_i].value * papers[_i].relative);
    bench_set_budget(&bench);
    ck_assert_uint_eq(bench.budget->inputs.count, 1);
    const double u = papers[_i].relative;
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_PEAK), u * papers[_i].hm, 1e-9);
    ck_assert_double_eq_tol(
        get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), u * papers[_i].bm, 1e-7);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_LOOP_AREA), u * papers[_i].w, 1e-7);
    ck_assert_double_eq_tol(
        get_relative(&bench, FIGURE_AMPLITUDE_PERMEABILITY), u * papers[_i].ua, 1e-7);
    bench_clear(&bench);
}
END_TEST

START_TEST(one_calibrator_for_both_inputs_doubles_in_the_area_and_cancels_in_the_permeability)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.full_scale = bench.rig.pickup.full_scale = known(1.55, 1.55e-3);
    bench_set_loop(&bench, 9);
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_LOOP_AREA), sqrt(2) * 1e-3, 1e-8);
    ck_assert_double_eq_tol(
        get_relative(&bench, FIGURE_AMPLITUDE_PERMEABILITY), sqrt(2) * 1e-3, 1e-8);
    loop_budget_destroy(bench.budget);
    bench.rig.has_same_calibrator = true;
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_LOOP_AREA), 2e-3, 1e-8);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_AMPLITUDE_PERMEABILITY), 0, 1e-8);
    bench_clear(&bench);
}
END_TEST

START_TEST(one_ruler_for_all_dimensions_lets_the_length_scale)
{
    /* all dimensions longer by the same error e: dA/A = e/h alone, as D - d stays */
    struct bench bench;
    bench_set_setup(&bench);
    const double u = 5e-6;
    bench.specimen.outer_diameter = known(0.040, u);
    bench.specimen.inner_diameter = known(0.032, u);
    bench.specimen.height = known(0.006, u);
    bench.specimen.has_same_ruler = true;
    bench_set_loop(&bench, 9);
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_PEAK), 2 * u / 0.072, 1e-8);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), u / 0.006, 1e-6);
    bench_clear(&bench);
}
END_TEST

START_TEST(delay_acts_on_an_ellipse_as_the_cotangent_of_its_lag_angle)
{
    /* W is proportional to sin(lag): dW/W = cot(lag) 2 pi f dt; the lag angle itself moves by 360 f
     * dt degrees */
    struct bench bench;
    bench_set_setup(&bench);
    const double u = 3e-7;
    bench.rig.pickup_delay = known(DELAY, u);
    bench_set_loop(&bench, 1);
    bench_set_budget(&bench);
    const double lag = bench.loop.figures.list[FIGURE_LAG_ANGLE].value;
    ck_assert_double_eq_tol(lag, LAG, 1e-9);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LAG_ANGLE);
    ck_assert_double_eq_tol(bench.budget->linear.u[j], 360 * FREQUENCY * u, 1e-9);
    ck_assert_double_eq_tol(
        get_relative(&bench, FIGURE_LOOP_AREA), 2 * PI * FREQUENCY * u / tan(LAG * PI / 180), 1e-9);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_PEAK), 0, 1e-12);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), 0, 1e-9);
    bench_clear(&bench);
}
END_TEST

START_TEST(inductance_of_the_shunt_acts_as_a_delay_of_its_time_constant)
{
    /* the field lags what the shunt shows by atan(x), x = w L / R: it is smaller by sqrt(1 + x^2),
     * and the lag angle is smaller by atan(x), whose slope is 1 / (1 + x^2) */
    struct bench bench;
    bench_set_setup(&bench);
    const double inductance = 2e-5, u = 1e-6;
    bench.rig.excitation.inductance = known(inductance, u);
    bench_set_loop(&bench, 1);
    bench_set_budget(&bench);
    const double x = 2 * PI * FREQUENCY * inductance / 0.1, dx = x * u / inductance;
    const size_t j = loop_budget_find(bench.budget, FIGURE_LAG_ANGLE);
    ck_assert_double_eq_tol(bench.budget->linear.u[j], dx / (1 + x * x) * 180 / PI, 1e-9);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_PEAK), x * dx / (1 + x * x), 1e-9);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), 0, 1e-12);
    loop_budget_destroy(bench.budget);
    bench.budget = NULL;
    /* the loop itself: against one without the inductance */
    struct figures with = bench.loop.figures, without;
    struct conversion conversion;
    bench.rig.excitation.inductance = known(0, 0);
    ck_assert_int_eq(
        conversion_set(&conversion, &bench.rig, &bench.specimen, true, NULL), STATUS_OK);
    conversion_apply(&conversion, FREQUENCY, bench.loop.basis.recorded.field,
        bench.loop.basis.recorded.flux_density, &bench.loop.series);
    ck_assert_int_eq(
        fourier_loop_compute_figures(&bench.loop.series, FREQUENCY, 8100, &without, NULL),
        STATUS_OK);
    ck_assert_double_eq_tol(without.list[FIGURE_LAG_ANGLE].value,
        with.list[FIGURE_LAG_ANGLE].value + atan(x) * 180 / PI, 1e-9);
    bench_clear(&bench);
}
END_TEST

static double get_share(const struct bench *bench, enum figure figure, const char *name)
{
    const size_t j = loop_budget_find(bench->budget, figure), n = bench->budget->inputs.count;
    for (size_t i = 0; i < n; i++) {
        if (strcmp(bench->budget->inputs.list[i].name, name) == 0) {
            return bench->budget->linear.sensitivity[j * n + i] * bench->budget->inputs.list[i].u /
                   bench->budget->linear.value[j];
        }
    }
    ck_abort_msg("'%s' is no input", name);
    return 0;
}

START_TEST(loads_and_temperatures_act_as_on_paper)
{
    struct bench bench;
    bench_set_setup(&bench);
    struct rig_input *pickup = &bench.rig.pickup, *excitation = &bench.rig.excitation;
    pickup->input_resistance = known(1e4, 100);
    pickup->source_resistance = known(500, 20);
    excitation->input_resistance = known(50, 5);
    excitation->divider = known(1, 0);
    excitation->divider.is_present = false;
    excitation->shunt_coefficient = known(4e-3, 1e-4);
    excitation->shunt_reference = known(293, 0.5);
    excitation->shunt_actual = known(333, 2);
    bench.specimen.expansion = known(11e-6, 1e-6);
    bench.specimen.expansion_reference = known(293, 1);
    bench.specimen.temperature = known(353, 3);
    ck_assert_int_eq(specimen_compute_geometry(&bench.specimen, NULL), STATUS_OK);
    bench_set_loop(&bench, 9);
    bench_set_budget(&bench);
    /* e = v (1 + Rs / Ri): dB/B = (Rs / Ri) / (1 + Rs / Ri) dRs/Rs, and minus that for Ri */
    const double load = 0.05 / 1.05;
    const enum figure b = FIGURE_FLUX_DENSITY_PEAK, h = FIGURE_FIELD_PEAK;
    ck_assert_double_eq_tol(
        get_share(&bench, b, "inputs.pickup.source_resistance"), load * 20 / 500, 1e-7);
    /* central differences leave (u / Ri)^2 / 30 of it */
    ck_assert_double_eq_tol(
        get_share(&bench, b, "inputs.pickup.input_resistance"), -load * 0.01, 1e-7);
    /* i = v (1/R + 1/Ri), R = 0.1 ohm (1 + 4e-3 40): dR/R = (40 dalpha + alpha dT) / 1.16 acts
     * less by R / (R + Ri) */
    const double r = 0.116, parallel = 50 / (50 + r);
    ck_assert_double_eq_tol(
        get_share(&bench, h, "inputs.excitation.input_resistance"), -(r / (50 + r)) * 0.1, 1e-7);
    ck_assert_double_eq_tol(get_share(&bench, h, "inputs.excitation.shunt_temperature.coefficient"),
        -parallel * 40e-4 / 1.16, 1e-7);
    ck_assert_double_eq_tol(get_share(&bench, h, "inputs.excitation.shunt_temperature.actual"),
        -parallel * 8e-3 / 1.16, 1e-6);
    ck_assert_double_eq_tol(get_share(&bench, h, "inputs.excitation.shunt_temperature.reference"),
        parallel * 2e-3 / 1.16, 1e-7);
    /* l grows with s = 1 + alpha dT, A with its square */
    const double s = 1 + 11e-6 * 60;
    ck_assert_double_eq_tol(get_share(&bench, h, "temperature"), -33e-6 / s, 1e-9);
    ck_assert_double_eq_tol(get_share(&bench, b, "temperature"), -66e-6 / s, 1e-9);
    ck_assert_double_eq_tol(get_share(&bench, h, "ring.expansion.coefficient"), -60e-6 / s, 1e-9);
    ck_assert_double_eq_tol(get_share(&bench, b, "ring.expansion.reference"), 22e-6 / s, 1e-9);
    ck_assert_double_eq_tol(bench.specimen.path_length_m, PI * 0.036 * s, 1e-12);
    ck_assert_double_eq_tol(bench.specimen.area_m2, 24e-6 * s * s, 1e-15);
    bench_clear(&bench);
}
END_TEST

START_TEST(rate_of_a_table_acts_as_a_clock)
{
    /* B = flux / (2 pi f), and f is as wrong as the rate that the rig tells */
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.pickup_delay.value = 0;
    bench_set_loop(&bench, 5);
    bench.rig.sample_rate = known(48000, 96);
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), 0, 1e-12);
    loop_budget_destroy(bench.budget); /* but a sound file has a rate of its own */
    bench.loop.basis.is_audio = false;
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_PEAK), 0, 1e-12);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), 2e-3, 1e-7);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_LOOP_AREA), 2e-3, 1e-7);
    /* a faster clock makes less of the same flux, and the budget is about the loop's own figures,
     * which a table has in volts, without a full scale */
    const size_t j = loop_budget_find(bench.budget, FIGURE_FLUX_DENSITY_PEAK);
    const double peak = bench.loop.figures.list[FIGURE_FLUX_DENSITY_PEAK].value / 1.55;
    struct contribution list[20];
    ck_assert_double_eq_tol(bench.budget->linear.value[j], peak, 1e-6 * peak);
    ck_assert_uint_lt(bench.budget->inputs.count, COUNT(list));
    ck_assert_uint_eq(loop_budget_list(bench.budget, j, list), 1);
    ck_assert_double_eq_tol(list[0].u, -2e-3 * peak, 1e-6 * peak);
    bench_clear(&bench);
}
END_TEST

START_TEST(a_bias_that_is_kept_is_as_uncertain_as_the_field)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.keeps_bias = true;
    bench.rig.excitation.shunt = known(0.1, 2e-4);
    bench.rig.field_repeat = known(1, 1e-3);
    bench_set_loop(&bench, 3);
    struct fourier_loop *recorded = &bench.loop.basis.recorded;
    recorded->field[0] = 0.05 * cabs(recorded->field[1]);
    figures_set(&bench.loop.figures, FIGURE_FIELD_BIAS, 0.05 * 30000);
    bench_set_budget(&bench);
    const size_t j = loop_budget_find(bench.budget, FIGURE_FIELD_BIAS);
    ck_assert_uint_lt(j, bench.budget->model.output_count);
    ck_assert_double_eq_tol(bench.budget->linear.value[j], 1500, 1e-6);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FIELD_BIAS), sqrt(5) * 1e-3, 1e-8);
    bench_clear(&bench);
}
END_TEST

/* Five blocks with a mean of 100 J/m3 and a variance of 2.5, over a share of the record. */
static void bench_set_areas(struct bench *bench, double share)
{
    static const double area[] = {101, 99, 100, 102, 98};
    struct loop *loop = &bench->loop;
    loop->blocks = memory_create(COUNT(area), sizeof *loop->blocks);
    loop->block_count = COUNT(area);
    loop->basis.block_share = share;
    for (size_t b = 0; b < COUNT(area); b++) {
        loop->blocks[b] = loop->figures;
        loop->blocks[b].list[FIGURE_LOOP_AREA].value = area[b];
    }
}

START_TEST(contributions_stand_in_the_order_of_their_shares)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.shunt = known(0.1, 1e-4);
    bench.rig.pickup.divider = known(11, 33e-3);
    bench.specimen.height = known(0.006, 12e-6);
    bench_set_loop(&bench, 3);
    bench.loop.figures.list[FIGURE_LOOP_AREA].value = 100;
    bench_set_areas(&bench, 1);
    bench_set_budget(&bench);
    ck_assert(loop_budget_has_inputs(bench.budget));
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    const double value = bench.budget->linear.value[j], scatter = sqrt(0.5);
    /* of the value: 3e-3 divider, 2e-3 height, 1e-3 shunt; and the scatter as it is */
    const double whole = value * value * 14e-6 + 0.5;
    struct contribution list[LOOP_INPUTS_MOST + 1];
    ck_assert_uint_eq(loop_budget_list(bench.budget, j, list), 4);
    size_t seen = 0;
    for (size_t i = 0; i < 4; i++) {
        ck_assert(i == 0 || list[i - 1].share >= list[i].share);
        ck_assert_double_eq_tol(list[i].share, list[i].u * list[i].u / whole, 1e-5);
        if (strcmp(list[i].name, "scatter") == 0) {
            ck_assert(isnan(list[i].u_input));
            ck_assert_double_eq_tol(list[i].u, scatter, 1e-12);
            seen++;
        }
    }
    ck_assert_uint_eq(seen, 1);
    size_t count = 7;
    double factor = 7;
    loop_budget_find_half(list, 0, &count, &factor); /* nothing contributes: nothing to do */
    ck_assert_uint_eq(count, 0);
    ck_assert_double_eq(factor, 1);
    bench_clear(&bench);
}
END_TEST

START_TEST(a_ring_whose_hole_may_be_as_wide_as_itself_is_missing_in_some_trials)
{
    /* D - d = 8 mm, and D known to 4 mm: below d by chance of the normal share at -2, 2.275 % */
    enum { TRIALS = 40000 };
    struct bench bench;
    bench_set_setup(&bench);
    bench.specimen.outer_diameter = known(0.040, 0.004);
    bench_set_loop(&bench, 3);
    bench_set_budget(&bench);
    const struct trials_options options = {
        .count = TRIALS, .probability = 0.95, .digits = 1, .seed = 5};
    ck_assert_int_eq(loop_budget_try(bench.budget, &options, NULL), STATUS_OK);
    const size_t j = loop_budget_find(bench.budget, FIGURE_FIELD_PEAK);
    const double share = 0.02275013, deviation = sqrt(share * (1 - share) / TRIALS);
    ck_assert_double_eq_tol(
        (double)bench.budget->trials.list[j].missing / TRIALS, share, 4 * deviation);
    bench_clear(&bench);
}
END_TEST

/* The member `key` of an object; a number. */
static double get_member(const struct tree_value *object, const char *key)
{
    double number = NAN;
    ck_assert_msg(tree_get_number(tree_get(object, key), &number), "'%s' is no number", key);
    return number;
}

START_TEST(json_tells_what_trials_and_blocks_gave)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.shunt = known(0.1, 1e-3);
    bench_set_loop(&bench, 3);
    bench.loop.figures.list[FIGURE_LOOP_AREA].value = 100;
    bench_set_areas(&bench, 1);
    bench_set_budget(&bench);
    const struct trials_options options = {
        .count = 4000, .probability = 0.95, .digits = 1, .seed = 5};
    ck_assert_int_eq(loop_budget_try(bench.budget, &options, NULL), STATUS_OK);
    struct text out = {0};
    struct json json;
    struct tree *tree;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    loop_budget_write_json(&json, "budget", bench.budget);
    json_end_object(&json);
    ck_assert_int_eq(tree_read_bytes("budget", out.bytes, out.length, &tree, NULL), STATUS_OK);
    const struct tree_value *budget = tree_get(tree_get_root(tree), "budget");
    ck_assert_str_eq(tree_get_text(tree_get(budget, "scatter")), "blocks");
    ck_assert_double_eq(get_member(budget, "repeats"), 5);
    ck_assert_double_eq(get_member(budget, "trials"), 4000);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    const struct trials_output *found = &bench.budget->trials.list[j];
    const struct tree_value *figure =
        tree_get(tree_get(budget, "figures"), figure_table[FIGURE_LOOP_AREA].key);
    const struct tree_value *trials = tree_get(figure, "trials");
    ck_assert_double_eq_tol(get_member(figure, "u_scatter"), sqrt(0.5), 1e-12);
    ck_assert_double_eq(get_member(figure, "degrees_of_freedom"), bench.budget->linear.freedom[j]);
    ck_assert_double_eq_tol(get_member(figure, "expanded"),
        get_member(figure, "coverage_factor") * bench.budget->linear.u[j], 1e-12);
    ck_assert_double_eq(get_member(trials, "u"), found->u);
    ck_assert_double_eq(get_member(trials, "low"), found->symmetric[0]);
    ck_assert_double_eq(get_member(trials, "shortest_high"), found->shortest[1]);
    ck_assert_double_eq(get_member(trials, "missing"), 0);
    /* an input without uncertainty would have no line; this one has a share of nearly all */
    ck_assert_uint_eq(tree_get_count(tree_get(budget, "inputs")), 1);
    tree_destroy(tree);
    text_clear(&out);
    bench_clear(&bench);
}
END_TEST

START_TEST(temperature_without_an_expansion_is_no_input)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.specimen.temperature = known(353, 3);
    bench_set_loop(&bench, 3);
    bench_set_budget(&bench);
    ck_assert_uint_eq(bench.budget->inputs.count, 0);
    bench_clear(&bench);
}
END_TEST

START_TEST(coupling_corner_of_both_inputs_leaves_the_lag_angle_alone)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.corner = known(3.4, 0.2);
    bench_set_loop(&bench, 9);
    bench_set_budget(&bench);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LAG_ANGLE);
    ck_assert_double_eq_tol(bench.budget->linear.u[j], 0, 1e-9);
    loop_budget_destroy(bench.budget);
    /* one of its own turns that input alone: by f dfc / (f^2 + fc^2) */
    bench.rig.pickup.corner = bench.rig.corner;
    bench.rig.corner = known(3.4, 0);
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(bench.budget->linear.u[j],
        0.2 * FREQUENCY / (FREQUENCY * FREQUENCY + 3.4 * 3.4) * 180 / PI, 1e-6);
    bench_clear(&bench);
}
END_TEST

START_TEST(figures_that_are_followed_are_those_that_are_searched_for)
{
    /* shifts in gain, phase and delay of a percent or so, and a coil with air in it */
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.winding.secondary_area = known(5e-5, 1e-6);
    bench_set_loop(&bench, 21);
    struct track track;
    struct fourier_loop moved;
    ck_assert_int_eq(
        track_create(&track, &bench.loop.series, &bench.loop.figures, NULL), STATUS_OK);
    ck_assert_int_eq(fourier_loop_create(&moved, 21, NULL), STATUS_OK);
    for (int step = -6; step <= 6; step++) {
        struct figures followed, searched;
        for (size_t k = 0; k <= 21; k++) {
            const double n = (double)k;
            moved.field[k] = bench.loop.series.field[k] * (1 + 0.003 * step);
            moved.flux_density[k] = bench.loop.series.flux_density[k] * cexp(I * 0.004 * n * step) *
                                    (1 - 0.002 * step * step + I * 0.001 * step);
        }
        track_compute(&track, &moved, FREQUENCY, 8100, &followed);
        ck_assert_int_eq(
            fourier_loop_compute_figures(&moved, FREQUENCY, 8100, &searched, NULL), STATUS_OK);
        for (size_t i = 0; i < FIGURE_COUNT; i++) {
            if (i == FIGURE_HARMONICS) {
                continue;
            }
            ck_assert_msg(followed.list[i].is_present == searched.list[i].is_present, "%s",
                figure_table[i].key);
            ck_assert_msg(fabs(followed.list[i].value - searched.list[i].value) <=
                              1e-8 * fabs(searched.list[i].value) + 1e-8,
                "%s at %d: %.12g, not %.12g", figure_table[i].key, step, followed.list[i].value,
                searched.list[i].value);
        }
    }
    fourier_loop_clear(&moved);
    track_clear(&track);
    bench_clear(&bench);
}
END_TEST

START_TEST(noise_stands_in_where_there_are_no_blocks)
{
    /* var |c| of a harmonic is 2 s^2/N in each part: the area of an ellipse pi H B sin(lag) gets
     * (u(W)/W)^2 = (2 s1^2/(N a1^2) + 2 s2^2/(N a2^2)) / sin^2(lag) */
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_loop(&bench, 1);
    const double a1 = cabs(bench.loop.basis.recorded.field[1]);
    const double a2 = cabs(bench.loop.basis.recorded.flux_density[1]);
    bench.loop.basis.noise_rms[0] = 1e-2 * a1;
    bench.loop.basis.noise_rms[1] = 2e-2 * a2;
    bench_set_budget(&bench);
    ck_assert_int_eq(bench.budget->source, LOOP_SCATTER_NOISE);
    const double wanted = sqrt(2.0 / 48000 * (1e-4 + 4e-4)) / sin(LAG * PI / 180);
    /* 128 repeats tell a standard deviation within 6 %; three of them */
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_LOOP_AREA), wanted, 0.19 * wanted);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    ck_assert_double_eq_tol(bench.budget->linear.freedom[j], 127, 1e-6);
    bench_clear(&bench);
}
END_TEST

/* An ellipse with noise of s1 and s2 on its coefficients: sqrt(2/N) s/a of each peak, both of them
 * in the lag angle, sqrt(1/N) s1 in the bias, sqrt(2/N) s1/a1 of it in what it is measured in;
 * means stay. One input alone has noise, then both. */
START_TEST(simulated_noise_has_the_size_of_the_residual)
{
    enum { REPEATS = 4000 };
    static const double noises[][2] = {{1e-2, 0}, {0, 2e-2}, {1e-2, 2e-2}};
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.keeps_bias = true;
    bench.rig.field_repeat = known(1, 0);
    bench_set_loop(&bench, 1);
    bench.loop.basis.recorded.field[0] = 0.05 * cabs(bench.loop.basis.recorded.field[1]);
    figures_set(&bench.loop.figures, FIGURE_FIELD_BIAS, 0.05 * 30000);
    bench_set_budget(&bench);
    const struct loop_model *model = &bench.budget->model;
    const double unit = sqrt(2.0 / 48000);
    double *values = memory_create(REPEATS * model->output_count, sizeof *values);
    for (size_t n = 0; n < COUNT(noises); n++) {
        const double s[2] = {noises[n][0], noises[n][1]};
        bench.loop.basis.noise_rms[0] = s[0] * cabs(bench.loop.basis.recorded.field[1]);
        bench.loop.basis.noise_rms[1] = s[1] * cabs(bench.loop.basis.recorded.flux_density[1]);
        ck_assert_int_eq(loop_model_simulate(model, REPEATS, values, NULL), STATUS_OK);
        const struct {
            enum figure figure;
            double value, u;
        } wanted[] = {{FIGURE_FIELD_PEAK, 30000, 30000 * unit * s[0]},
            {FIGURE_FLUX_DENSITY_PEAK, 1.1, 1.1 * unit * s[1]},
            {FIGURE_LAG_ANGLE, LAG, hypot(s[0], s[1]) * unit * 180 / PI},
            {FIGURE_FIELD_BIAS, 1500, 30000 * unit * s[0] * sqrt(0.5)}};
        for (size_t i = 0; i < COUNT(wanted); i++) {
            const size_t j = loop_budget_find(bench.budget, wanted[i].figure);
            double sum = 0, squares = 0;
            ck_assert_uint_lt(j, model->output_count);
            for (size_t r = 0; r < REPEATS; r++) {
                const double off = values[r * model->output_count + j] - wanted[i].value;
                sum += off / REPEATS;
                squares += off * off / REPEATS;
            }
            /* four standard deviations of a mean and of a standard deviation of so many */
            const double u = wanted[i].u, tiny = 1e-9 * wanted[i].value;
            ck_assert_double_eq_tol(sum, 0, 4 * u / sqrt(REPEATS) + tiny);
            ck_assert_double_eq_tol(sqrt(squares), u, 4 * u / sqrt(2 * REPEATS) + tiny);
        }
    }
    memory_destroy(values);
    bench_clear(&bench);
}
END_TEST

/* The model at factors that are far from 1, harmonic by harmonic: fields scale with the one, flux
 * densities with the other, areas with both, shares and angles with none. */
START_TEST(figures_scale_with_factors_far_from_one)
{
    static const double factors[][2] = {{1.7, 0.6}, {0.5, 1}, {1, 2.25}};
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.field_repeat = known(1, 1e-3);
    bench.rig.flux_density_repeat = known(1, 1e-3);
    bench_set_loop(&bench, 9);
    bench_set_budget(&bench);
    const struct budget_model model = loop_model_get(&bench.budget->model);
    double outputs[FIGURE_COUNT];
    void *work = model.create_work(model.subject);
    ck_assert_ptr_nonnull(work);
    static const struct {
        enum figure figure;
        int by_field, by_flux;
    } wanted[] = {{FIGURE_FIELD_PEAK, 1, 0}, {FIGURE_FLUX_DENSITY_PEAK, 0, 1},
        {FIGURE_COERCIVITY, 1, 0}, {FIGURE_REMANENCE, 0, 1}, {FIGURE_LOOP_AREA, 1, 1},
        {FIGURE_AMPLITUDE_PERMEABILITY, -1, 1}, {FIGURE_LAG_ANGLE, 0, 0},
        {FIGURE_FLUX_DISTORTION, 0, 0}, {FIGURE_FREQUENCY, 0, 0}};
    for (size_t n = 0; n < COUNT(factors); n++) {
        model.compute(model.subject, work, factors[n], outputs);
        for (size_t i = 0; i < COUNT(wanted); i++) {
            const size_t j = loop_budget_find(bench.budget, wanted[i].figure);
            const double scale =
                pow(factors[n][0], wanted[i].by_field) * pow(factors[n][1], wanted[i].by_flux);
            const double value = bench.loop.figures.list[wanted[i].figure].value * scale;
            ck_assert_uint_lt(j, bench.budget->model.output_count);
            ck_assert_double_eq_tol(outputs[j], value, 1e-8 * fabs(value));
        }
    }
    model.destroy_work(work);
    bench_clear(&bench);
}
END_TEST

/* A clock's factor is in the frequency already: the budget is about the loop's own figures. */
START_TEST(a_clock_that_is_known_to_be_off_changes_no_figure)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.pickup_delay.value = 0;
    bench.rig.clock = known(1.25, 1.25e-3);
    bench_set_loop(&bench, 5);
    bench_set_budget(&bench);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FLUX_DENSITY_PEAK), 1e-3, 1e-7);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_FREQUENCY), 1e-3, 1e-9);
    for (size_t j = 0; j < bench.budget->model.output_count; j++) {
        const double value = bench.loop.figures.list[bench.budget->model.output[j]].value;
        ck_assert_double_eq_tol(bench.budget->linear.value[j], value, 1e-9 * fabs(value) + 1e-12);
    }
    bench_clear(&bench);
}
END_TEST

/* Without blocks and without a known number of samples nothing scatters. */
START_TEST(a_record_of_no_known_length_has_no_scatter)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_loop(&bench, 3);
    bench.loop.basis.frames = 0;
    bench.loop.basis.noise_rms[0] = bench.loop.basis.noise_rms[1] = 0.1;
    bench_set_budget(&bench);
    ck_assert_int_eq(bench.budget->source, LOOP_SCATTER_NONE);
    ck_assert_uint_eq(bench.budget->repeats, 0);
    bench_clear(&bench);
}
END_TEST

/* Simulated records: their squares are above the whole's by f^2, which may be 3 f^2 in the whole.
 */
START_TEST(simulated_noise_widens_a_distortion)
{
    enum { REPEATS = 128 };
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_loop(&bench, 3);
    bench.loop.basis.noise_rms[0] = 5 * cabs(bench.loop.basis.recorded.field[1]);
    bench.loop.basis.noise_rms[1] = 5 * cabs(bench.loop.basis.recorded.flux_density[1]);
    bench_set_budget(&bench);
    const struct loop_budget *budget = bench.budget;
    const size_t j = loop_budget_find(budget, FIGURE_FLUX_DISTORTION);
    const size_t outputs = budget->model.output_count;
    double *values = memory_create(REPEATS * outputs, sizeof *values), mean = 0, squares = 0;
    ck_assert_int_eq(loop_model_simulate(&budget->model, REPEATS, values, NULL), STATUS_OK);
    const double whole = bench.loop.figures.list[FIGURE_FLUX_DISTORTION].value;
    double noise = 0;
    for (size_t r = 0; r < REPEATS; r++) {
        mean += values[r * outputs + j] / REPEATS;
        noise += (pow(values[r * outputs + j], 2) - whole * whole) / REPEATS;
    }
    for (size_t r = 0; r < REPEATS; r++) {
        squares += pow(values[r * outputs + j] - mean, 2) / (REPEATS - 1);
    }
    ck_assert_double_gt(noise, 0);
    const double excess = whole - sqrt(fmax(whole * whole - 3 * noise, 0));
    const double u = sqrt(squares + excess * excess);
    ck_assert_double_gt(excess, 0.1 * sqrt(squares));
    ck_assert_double_eq_tol(budget->scatter_list[j].u, u, 1e-9 * u);
    memory_destroy(values);
    bench_clear(&bench);
}
END_TEST

/* Blocks that cover more than the record count as all of it. */
START_TEST(blocks_are_no_more_than_the_record)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_loop(&bench, 3);
    bench_set_areas(&bench, 1.25);
    bench_set_budget(&bench);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    ck_assert_double_eq_tol(bench.budget->linear.u[j], sqrt(0.5), 1e-12);
    bench_clear(&bench);
}
END_TEST

START_TEST(blocks_give_scatter_for_the_share_of_the_record_they_cover)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_loop(&bench, 3);
    bench_set_areas(&bench, 0.81);
    bench_set_budget(&bench);
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    /* s^2 = 2.5, of the mean 0.5, over the whole record 0.81 of it */
    ck_assert_double_eq_tol(bench.budget->linear.u[j], 0.9 * sqrt(0.5), 1e-12);
    ck_assert_double_eq_tol(bench.budget->linear.freedom[j], 4, 1e-9);
    ck_assert_double_eq_tol(loop_budget_get_coverage(bench.budget, j), 2.776, 5e-4);
    const size_t still = loop_budget_find(bench.budget, FIGURE_REMANENCE);
    ck_assert_double_eq(bench.budget->linear.u[still], 0);
    bench_clear(&bench);
}
END_TEST

static void set_blocks(struct loop *loop, size_t count)
{
    loop->blocks = memory_create(count, sizeof *loop->blocks);
    loop->block_count = count;
    loop->basis.block_share = 1.0;
    for (size_t b = 0; b < count; b++) {
        loop->blocks[b] = loop->figures;
    }
}

START_TEST(three_blocks_scatter_and_two_do_not)
{
    for (size_t count = 2; count <= 3; count++) {
        struct bench bench;
        bench_set_setup(&bench);
        bench_set_loop(&bench, 1);
        set_blocks(&bench.loop, count);
        bench_set_budget(&bench);
        ck_assert_int_eq(
            bench.budget->source, count == 3 ? LOOP_SCATTER_BLOCKS : LOOP_SCATTER_NOISE);
        ck_assert_uint_eq(bench.budget->repeats, count == 3 ? 3 : 128);
        bench_clear(&bench);
    }
}
END_TEST

/* Five blocks of m, m + s, m - s, m + 2 s, m - 2 s in units of the whole record's distortion: their
 * squares are on average m^2 + 2 s^2 - 1 above its own, a quarter of which is noise. */
START_TEST(noise_that_distortion_holds_widens_it)
{
    static const double offs[] = {1, -1, 0, 2, -2}, means[] = {1.1, 2, 0.9};
    for (size_t i = 0; i < COUNT(means); i++) {
        const double s = 0.01, m = means[i], noise = (m * m + 2 * s * s - 1) / 4;
        struct bench bench;
        bench_set_setup(&bench);
        bench_set_loop(&bench, 3);
        set_blocks(&bench.loop, 5);
        const double whole = bench.loop.figures.list[FIGURE_FLUX_DISTORTION].value;
        ck_assert_double_gt(whole, 0);
        for (size_t b = 0; b < 5; b++) {
            bench.loop.blocks[b].list[FIGURE_FLUX_DISTORTION].value = whole * (m + s * offs[b]);
        }
        bench_set_budget(&bench);
        const size_t at = loop_budget_find(bench.budget, FIGURE_FLUX_DISTORTION);
        const double excess = 1 - sqrt(fmax(1 - 3 * fmax(noise, 0), 0));
        const double u = whole * hypot(s * sqrt(0.5), excess);
        ck_assert_double_eq_tol(bench.budget->linear.u[at], u, 1e-9 * u);
        bench_clear(&bench);
    }
}
END_TEST

/* Figures that scatter beyond what a number holds have no scatter, and no correlation with the
 * others, wherever they stand. */
START_TEST(what_scatters_beyond_numbers_leaves_the_others_alone)
{
    static const double area[] = {101, 99, 100, 102, 98};
    for (int which = 0; which < 2; which++) {
        struct bench bench;
        bench_set_setup(&bench);
        bench_set_loop(&bench, 3);
        struct loop *loop = &bench.loop;
        loop->blocks = memory_create(COUNT(area), sizeof *loop->blocks);
        loop->block_count = COUNT(area);
        loop->basis.block_share = 1.0;
        for (size_t b = 0; b < COUNT(area); b++) {
            loop->blocks[b] = loop->figures;
            for (int f = 0; f < FIGURE_COUNT; f++) {
                if (which == 0 || f > FIGURE_LOOP_AREA) {
                    loop->blocks[b].list[f].value = 1e200 * (double)(b + 1);
                }
            }
            loop->blocks[b].list[FIGURE_LOOP_AREA].value = area[b];
        }
        bench_set_budget(&bench);
        const struct loop_budget *budget = bench.budget;
        const size_t area_at = loop_budget_find(budget, FIGURE_LOOP_AREA);
        ck_assert_uint_gt(area_at, 0);
        ck_assert_double_eq_tol(budget->linear.u[area_at], sqrt(0.5), 1e-12);
        const size_t count = budget->model.output_count;
        for (size_t j = 0; j < count; j++) {
            for (size_t k = 0; k < count; k++) {
                const double r = budget->scatter.correlation[j * count + k];
                ck_assert_double_eq(r, j == k ? 1.0 : 0.0);
            }
            ck_assert(j == area_at || budget->scatter_list[j].u == 0.0 ||
                      budget->model.output[j] == FIGURE_FLUX_DISTORTION);
        }
        bench_clear(&bench);
    }
}
END_TEST

START_TEST(what_would_halve_u_takes_the_fewest_that_can)
{
    static const struct contribution one[] = {{"a", 1, 1, 0.9}, {"b", 1, 1, 0.1}};
    static const struct contribution even[] = {
        {"a", 1, 1, 0.25}, {"b", 1, 1, 0.25}, {"c", 1, 1, 0.25}, {"d", 1, 1, 0.25}};
    size_t count;
    double factor;
    loop_budget_find_half(one, 2, &count, &factor);
    ck_assert_uint_eq(count, 1);
    ck_assert_double_eq_tol(0.9 * factor * factor + 0.1, 0.25, 1e-12);
    loop_budget_find_half(even, 4, &count, &factor);
    ck_assert_uint_eq(count, 4);
    ck_assert_double_eq_tol(factor, 0.5, 1e-12);
}
END_TEST

START_TEST(trials_of_a_loop_agree_with_its_linear_budget)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.excitation.shunt = known(0.1, 2e-4);
    bench.rig.pickup.full_scale = known(1.55, 3e-3);
    bench.rig.pickup_delay = known(DELAY, 3e-7);
    bench.specimen.outer_diameter = known(0.040, 1e-5);
    bench_set_loop(&bench, 15);
    bench_set_budget(&bench);
    const struct trials_options options = {
        .count = 30000, .probability = 0.95, .digits = 1, .seed = 5};
    ck_assert_int_eq(loop_budget_try(bench.budget, &options, NULL), STATUS_OK);
    static const enum figure figures[] = {FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK,
        FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA, FIGURE_LAG_ANGLE};
    for (size_t i = 0; i < COUNT(figures); i++) {
        const size_t j = loop_budget_find(bench.budget, figures[i]);
        const struct trials_output *found = &bench.budget->trials.list[j];
        const double u = bench.budget->linear.u[j];
        ck_assert_double_eq_tol(found->u, u, 0.02 * u);
        ck_assert_int_eq(
            trials_validate(found, bench.budget->linear.value[j], 1.959964 * u), TRIALS_VALIDATED);
    }
    bench_clear(&bench);
}
END_TEST

/* ---- traces ---- */

static void bench_set_trace(struct bench *bench, double gap)
{
    enum { ROWS = 400 };
    struct loop *loop = &bench->loop;
    bench->rig.is_trace = true;
    bench->rig.pickup.quantity = INPUT_FLUX_LINKAGE;
    loop->is_trace = true;
    loop->trace_field = memory_create(ROWS, sizeof *loop->trace_field);
    loop->trace_flux_density = memory_create(ROWS, sizeof *loop->trace_flux_density);
    loop->trace_count = ROWS;
    for (size_t i = 0; i < ROWS; i++) {
        const double x = 2 * PI * (double)i / ROWS;
        loop->trace_field[i] = 30000 * cos(x);
        loop->trace_flux_density[i] = 1.1 * cos(x - 0.6) + gap * (double)i / (ROWS - 1);
    }
    struct trace trace = {loop->trace_field, loop->trace_flux_density, ROWS, NULL};
    ck_assert_int_eq(
        trace_compute_figures(&trace, bench->rig.drift, &loop->figures, NULL), STATUS_OK);
}

START_TEST(gap_of_a_trace_is_a_rectangular_input_of_its_area)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_trace(&bench, 0.004);
    bench_set_budget(&bench);
    ck_assert_uint_eq(bench.budget->inputs.count, 1);
    const struct figures *figures = &bench.loop.figures;
    const size_t j = loop_budget_find(bench.budget, FIGURE_LOOP_AREA);
    ck_assert_double_eq_tol(bench.budget->linear.u[j],
        fabs(figures->list[FIGURE_CLOSURE_GAP].value) * 30000 / sqrt(3), 1e-6);
    ck_assert_double_eq_tol(
        bench.budget->linear.value[j], figures->list[FIGURE_LOOP_AREA].value, 1e-6);
    /* more of it is more area, and as much more of the fullness */
    const double share = get_share(&bench, FIGURE_LOOP_AREA, "closure gap");
    ck_assert_double_gt(share, 0);
    ck_assert_double_eq_tol(
        get_share(&bench, FIGURE_LOOP_FULLNESS, "closure gap"), share, 1e-9 * share);
    bench_clear(&bench);
}
END_TEST

START_TEST(rows_of_a_trace_scale_with_its_inputs)
{
    for (int drift = TRACE_DRIFT_CHORD; drift <= TRACE_DRIFT_LINEAR; drift++) {
        struct bench bench;
        bench_set_setup(&bench);
        bench.rig.drift = (enum trace_drift)drift;
        bench.rig.excitation.shunt = known(0.1, 1e-4);
        bench.specimen.height = known(0.006, 1.2e-5);
        bench_set_trace(&bench, 0.004);
        bench_set_budget(&bench);
        for (size_t j = 0; j < bench.budget->model.output_count; j++) {
            const double value = bench.loop.figures.list[bench.budget->model.output[j]].value;
            ck_assert_double_eq_tol(
                bench.budget->linear.value[j], value, 1e-9 * fabs(value) + 1e-12);
        }
        ck_assert_double_eq_tol(get_relative(&bench, FIGURE_COERCIVITY), 1e-3, 1e-8);
        ck_assert_double_eq_tol(get_relative(&bench, FIGURE_REMANENCE), 2e-3, 1e-7);
        bench_clear(&bench);
    }
}
END_TEST

/* Traces in B or in J, without and with air in the coil: the figures are those of the loop, and
 * what acts on the one or the other quantity acts on all of it. */
START_TEST(traces_of_either_quantity_scale_whole)
{
    for (int n = 0; n < 4; n++) {
        struct bench bench;
        bench_set_setup(&bench);
        bench.rig.pickup.air_flux_removed = n % 2;
        if (n / 2) {
            bench.rig.winding.secondary_area = known(5e-5, 0);
        }
        bench.rig.field_repeat = known(1, 3e-3);
        bench.rig.flux_density_repeat = known(1, 2e-3);
        bench.specimen.height = known(0.006, 1.2e-5);
        bench_set_trace(&bench, 0.004);
        bench.loop.basis.frames = 1000; /* of no account here */
        bench_set_budget(&bench);
        ck_assert_int_eq(bench.budget->source, LOOP_SCATTER_NONE);
        for (size_t j = 0; j < bench.budget->model.output_count; j++) {
            const double value = bench.loop.figures.list[bench.budget->model.output[j]].value;
            ck_assert_double_eq_tol(
                bench.budget->linear.value[j], value, 1e-9 * fabs(value) + 1e-12);
        }
        ck_assert_double_eq_tol(
            get_share(&bench, FIGURE_FIELD_PEAK, "reproducibility.field"), 3e-3, 1e-8);
        ck_assert_double_eq_tol(
            get_share(&bench, FIGURE_COERCIVITY, "reproducibility.field"), 3e-3, 1e-7);
        ck_assert_double_eq_tol(
            get_share(&bench, FIGURE_REMANENCE, "reproducibility.flux_density"), 2e-3, 1e-7);
        ck_assert_double_eq_tol(
            get_share(&bench, FIGURE_LOOP_AREA, "reproducibility.flux_density"), 2e-3, 1e-7);
        /* a higher ring has more section: less of either quantity */
        ck_assert_double_eq_tol(get_share(&bench, FIGURE_REMANENCE, "ring.height"), -2e-3, 1e-5);
        bench_clear(&bench);
    }
}
END_TEST

START_TEST(a_trace_of_polarization_keeps_its_polarization_when_the_field_scales)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.pickup.air_flux_removed = true;
    bench.rig.excitation.shunt = known(0.1, 1e-4);
    bench_set_trace(&bench, 0);
    bench_set_budget(&bench);
    /* J = 0 where it was, at a field that scales; B there is mu0 H more */
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_COERCIVITY_J), 1e-3, 1e-6);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_REMANENCE), 0, 1e-9);
    ck_assert_double_lt(get_relative(&bench, FIGURE_COERCIVITY), 1e-3);
    ck_assert_double_eq_tol(
        get_share(&bench, FIGURE_LOOP_AREA, "inputs.excitation.shunt"), -1e-3, 1e-6);
    bench_clear(&bench);
}
END_TEST

START_TEST(air_in_the_coil_of_a_trace_acts_with_the_field_at_the_peak)
{
    /* B = q - mu0 H (A2 - A)/A: at the peak of B, 0.6 rad behind that of H */
    struct bench bench;
    bench_set_setup(&bench);
    bench.rig.winding.secondary_area = known(5e-5, 1e-6);
    bench_set_trace(&bench, 0);
    bench_set_budget(&bench);
    const size_t j = loop_budget_find(bench.budget, FIGURE_FLUX_DENSITY_PEAK);
    const double wanted = 4e-7 * PI * 30000 * cos(0.6) * 1e-6 / 24e-6;
    ck_assert_double_eq_tol(bench.budget->linear.u[j], wanted, 0.02 * wanted);
    ck_assert_double_eq_tol(get_relative(&bench, FIGURE_REMANENCE), 0, 1e-9);
    ck_assert(!bench.loop.figures.list[FIGURE_FREQUENCY].is_present);
    bench_clear(&bench);
}
END_TEST

START_TEST(a_gap_alone_is_no_input_of_the_bench)
{
    struct bench bench;
    bench_set_setup(&bench);
    bench_set_trace(&bench, 0.004);
    bench_set_budget(&bench);
    ck_assert(!loop_budget_has_inputs(bench.budget));
    bench_clear(&bench);
}
END_TEST

Suite *loop_budget_suite(void)
{
    Suite *suite = suite_create("loop_budget");
    TCase *tests = tcase_create("budget of a loop");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, single_inputs_act_as_on_paper, 0, COUNT(papers));
    tcase_add_test(
        tests, one_calibrator_for_both_inputs_doubles_in_the_area_and_cancels_in_the_permeability);
    tcase_add_test(tests, one_ruler_for_all_dimensions_lets_the_length_scale);
    tcase_add_test(tests, delay_acts_on_an_ellipse_as_the_cotangent_of_its_lag_angle);
    tcase_add_test(tests, inductance_of_the_shunt_acts_as_a_delay_of_its_time_constant);
    tcase_add_test(tests, loads_and_temperatures_act_as_on_paper);
    tcase_add_test(tests, rate_of_a_table_acts_as_a_clock);
    tcase_add_test(tests, a_bias_that_is_kept_is_as_uncertain_as_the_field);
    tcase_add_test(tests, contributions_stand_in_the_order_of_their_shares);
    tcase_add_test(tests, a_ring_whose_hole_may_be_as_wide_as_itself_is_missing_in_some_trials);
    tcase_add_test(tests, json_tells_what_trials_and_blocks_gave);
    tcase_add_test(tests, temperature_without_an_expansion_is_no_input);
    tcase_add_test(tests, coupling_corner_of_both_inputs_leaves_the_lag_angle_alone);
    tcase_add_test(tests, figures_that_are_followed_are_those_that_are_searched_for);
    tcase_add_test(tests, noise_stands_in_where_there_are_no_blocks);
    tcase_add_test(tests, simulated_noise_has_the_size_of_the_residual);
    tcase_add_test(tests, figures_scale_with_factors_far_from_one);
    tcase_add_test(tests, a_clock_that_is_known_to_be_off_changes_no_figure);
    tcase_add_test(tests, a_record_of_no_known_length_has_no_scatter);
    tcase_add_test(tests, simulated_noise_widens_a_distortion);
    tcase_add_test(tests, blocks_are_no_more_than_the_record);
    tcase_add_test(tests, blocks_give_scatter_for_the_share_of_the_record_they_cover);
    tcase_add_test(tests, three_blocks_scatter_and_two_do_not);
    tcase_add_test(tests, noise_that_distortion_holds_widens_it);
    tcase_add_test(tests, what_scatters_beyond_numbers_leaves_the_others_alone);
    tcase_add_test(tests, what_would_halve_u_takes_the_fewest_that_can);
    tcase_add_test(tests, trials_of_a_loop_agree_with_its_linear_budget);
    tcase_add_test(tests, gap_of_a_trace_is_a_rectangular_input_of_its_area);
    tcase_add_test(tests, rows_of_a_trace_scale_with_its_inputs);
    tcase_add_test(tests, traces_of_either_quantity_scale_whole);
    tcase_add_test(tests, a_trace_of_polarization_keeps_its_polarization_when_the_field_scales);
    tcase_add_test(tests, air_in_the_coil_of_a_trace_acts_with_the_field_at_the_peak);
    tcase_add_test(tests, a_gap_alone_is_no_input_of_the_bench);
    suite_add_tcase(suite, tests);
    return suite;
}
