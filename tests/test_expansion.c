// SPDX-License-Identifier: GPL-3.0-or-later
/* Expanded figures against the same conversion done harmonic by harmonic and its figures searched
 * for. */
#include "loop/expansion.h"

#include <math.h>

#include "num/random.h"
#include "suites.h"

static const double PI = 3.14159265358979323846, FREQUENCY = 53.7;

enum { SAMPLES = 1024, TRIALS = 60 };

/* A soft square wave of the phase, bent by its own third harmonic. */
static double get_steel(double x)
{
    return tanh(2.2 * sin(x) + 0.25 * sin(3 * x));
}

static double complex get_coefficient(size_t k)
{
    double complex sum = 0;
    for (int i = 0; i < SAMPLES; i++) {
        const double x = 2 * PI * i / SAMPLES;
        sum += get_steel(x) * cexp(-I * (double)k * x);
    }
    return 2 * sum / SAMPLES;
}

/* What both inputs recorded, of a steel of some width, with a little noise in all harmonics. */
static void set_recorded(
    struct fourier_loop *recorded, size_t harmonics, bool has_voltage, double ripple)
{
    struct random random;
    random_init(&random, 7, 0);
    ck_assert_int_eq(fourier_loop_create(recorded, harmonics, NULL), STATUS_OK);
    recorded->field[0] = 0.011;
    for (size_t k = 1; k <= harmonics; k++) {
        const double n = (double)k;
        const double complex noise = 1e-7 * random_get_normal(&random);
        const double complex steel = get_coefficient(k) * cexp(-I * n * 0.45);
        recorded->field[k] = noise + (k == 1      ? 0.6 * cexp(-I * PI / 2)
                                         : k == 3 ? 0.02 * cexp(I * 0.3)
                                                  : 0);
        recorded->flux_density[k] =
            (has_voltage ? I * n : 1) * steel * 0.05 + I * noise + (k == 7 ? ripple * cexp(I) : 0);
    }
}

static struct conversion get_nominal(int pickup)
{
    return (struct conversion){.excitation_gain = 50000,
        .excitation_corner_Hz = 3.4,
        .keeps_bias = pickup == PICKUP_J,
        .pickup_gain = 17,
        .pickup_corner_Hz = 2.1,
        .pickup_delay_s = 2.1e-6,
        .integrator_s = pickup == PICKUP_VOLTAGE ? 0 : 3e-4,
        .pickup = pickup,
        .linkage_to_density = pickup == PICKUP_VOLTAGE ? 400 : 1.2,
        .air_share = pickup <= PICKUP_LINKAGE ? 0.7 : 0};
}

/* The reference. */
static void search(const struct fourier_loop *recorded, const struct expansion_trial *trial,
    struct figures *figures, struct fourier_loop *loop)
{
    ck_assert_int_eq(fourier_loop_create(loop, recorded->harmonics, NULL), STATUS_OK);
    conversion_apply(
        trial->conversion, trial->frequency_Hz, recorded->field, recorded->flux_density, loop);
    for (size_t k = 0; k <= loop->harmonics; k++) {
        loop->field[k] *= trial->field_factor;
        loop->flux_density[k] *= trial->flux_density_factor;
    }
    ck_assert_int_eq(fourier_loop_compute_figures(
                         loop, trial->frequency_Hz, trial->density_kg_per_m3, figures, NULL),
        STATUS_OK);
}

static void check(const struct figures *found, const struct figures *wanted, uint64_t number)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const double size = fabs(wanted->list[i].value);
        /* an asymmetry is a difference of two numbers over their sum */
        const double tolerance = 2e-12 * (size > 1e-2 ? size : 1);
        if (i == FIGURE_HARMONICS) {
            continue;
        }
        ck_assert_msg(found->list[i].is_present == wanted->list[i].is_present, "%s in trial %d",
            figure_table[i].key, (int)number);
        ck_assert_msg(fabs(found->list[i].value - wanted->list[i].value) <= tolerance,
            "%s in trial %d: %.17g, not %.17g", figure_table[i].key, (int)number,
            found->list[i].value, wanted->list[i].value);
    }
}

static const struct {
    size_t harmonics;
    int pickup;
    double ripple;  /* of the seventh harmonic: more than two turns of B */
    double share;   /* how far inputs move, relative */
    double shunt_s; /* of the shunt */
} cases[] = {
    {64, PICKUP_VOLTAGE, 0, 3e-3, 0},
    {99, PICKUP_VOLTAGE, 0, 1e-3, 0},
    {21, PICKUP_VOLTAGE, 0, 3e-2, 0},
    {1, PICKUP_VOLTAGE, 0, 1e-2, 0},
    {2, PICKUP_VOLTAGE, 0, 1e-2, 0},
    {31, PICKUP_VOLTAGE, 0.3, 1e-3, 0},
    {64, PICKUP_LINKAGE, 0, 1e-3, 0},
    {31, PICKUP_LINKAGE_J, 0, 1e-3, 0},
    {31, PICKUP_B, 0, 1e-3, 0},
    {31, PICKUP_J, 0, 1e-3, 0},
    {64, PICKUP_VOLTAGE, 0, 1e-3, 3e-5},
    {25, PICKUP_VOLTAGE, 0, 1e-2, 2e-6},
};

START_TEST(trials_have_the_figures_of_the_same_loop_made_anew)
{
    struct fourier_loop recorded, loop;
    struct expansion expansion;
    struct figures wanted, found;
    struct track track;
    struct conversion nominal = get_nominal(cases[_i].pickup);
    nominal.shunt_s = cases[_i].shunt_s;
    struct conversion moved = nominal;
    struct expansion_trial trial = {&moved, FREQUENCY, 1, 1, 8100};
    set_recorded(
        &recorded, cases[_i].harmonics, nominal.pickup == PICKUP_VOLTAGE, cases[_i].ripple);
    search(&recorded, &trial, &wanted, &loop);
    ck_assert_int_eq(track_create(&track, &loop, &wanted, NULL), STATUS_OK);
    ck_assert(cases[_i].ripple == 0 || track.turn_count > 2);
    ck_assert_int_eq(
        expansion_create(&expansion, &recorded, &nominal, FREQUENCY, &track, NULL), STATUS_OK);
    fourier_loop_clear(&loop);
    for (uint64_t n = 0; n < TRIALS; n++) {
        struct random random;
        random_init(&random, 1, n);
        double *const inputs[] = {&moved.excitation_gain, &moved.excitation_corner_Hz,
            &moved.pickup_gain, &moved.pickup_corner_Hz, &moved.pickup_delay_s, &moved.integrator_s,
            &moved.linkage_to_density, &moved.air_share, &trial.frequency_Hz, &trial.field_factor,
            &trial.flux_density_factor};
        moved = nominal;
        trial = (struct expansion_trial){&moved, FREQUENCY, 1, 1, 8100};
        for (size_t i = 0; n > 0 && i < sizeof inputs / sizeof *inputs; i++) {
            *inputs[i] *= 1 + cases[_i].share * random_get_normal(&random);
        }
        ck_assert(expansion_compute(&expansion, &trial, &found));
        search(&recorded, &trial, &wanted, &loop);
        check(&found, &wanted, n);
        fourier_loop_clear(&loop);
    }
    expansion_clear(&expansion);
    track_clear(&track);
    fourier_loop_clear(&recorded);
}
END_TEST

START_TEST(what_moves_too_far_is_left_to_others)
{
    struct fourier_loop recorded, loop;
    struct expansion expansion;
    struct figures figures, found = {.list = {{.value = 5}}};
    struct track track;
    struct conversion conversion = get_nominal(PICKUP_VOLTAGE);
    const struct expansion_trial trial = {&conversion, FREQUENCY, 1, 1, 0};
    set_recorded(&recorded, 31, true, 0);
    search(&recorded, &trial, &figures, &loop);
    ck_assert_int_eq(track_create(&track, &loop, &figures, NULL), STATUS_OK);
    ck_assert_int_eq(
        expansion_create(&expansion, &recorded, &conversion, FREQUENCY, &track, NULL), STATUS_OK);
    conversion.pickup_delay_s = 1e-3; /* a third of a radian */
    ck_assert(!expansion_compute(&expansion, &trial, &found));
    ck_assert_double_eq(found.list[0].value, 5);
    conversion = get_nominal(PICKUP_VOLTAGE);
    conversion.excitation_corner_Hz = 600;
    ck_assert(!expansion_compute(&expansion, &trial, &found));
    conversion.excitation_corner_Hz = NAN;
    ck_assert(!expansion_compute(&expansion, &trial, &found));
    expansion_clear(&expansion);
    expansion_clear(&expansion);
    track_clear(&track);
    fourier_loop_clear(&loop);
    fourier_loop_clear(&recorded);
}
END_TEST

Suite *expansion_suite(void)
{
    Suite *suite = suite_create("expansion");
    TCase *tcase = tcase_create("expansion");
    tcase_add_loop_test(
        tcase, trials_have_the_figures_of_the_same_loop_made_anew, 0, sizeof cases / sizeof *cases);
    tcase_add_test(tcase, what_moves_too_far_is_left_to_others);
    suite_add_tcase(suite, tcase);
    return suite;
}
