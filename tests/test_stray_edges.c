// SPDX-License-Identifier: GPL-3.0-or-later
/* Which tones count, from both sides of each border. Nothing here is random: waveforms of whole
 * cycles, whose least-squares fit is their spectrum, and for what is left a comb of many equal weak
 * tones in the upper part of the spectrum, at odd numbers of cycles: it is nothing at all at other
 * whole numbers of them. */
#include <math.h>
#include <string.h>

#include "num/stray.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;
static const double RATE = 8000.0;

enum { FRAMES_MOST = 80000, TOP_MOST = 9, TONES = 6, LIMIT = 5 };

struct part {
    size_t channel;
    double place; /* cycles over the record */
    double complex amplitude;
};

/* What is looked at; a part with amplitude 0 ends them. */
struct scene {
    size_t frames, cycles, top;
    double rest;   /* of the alternating share */
    double longer; /* how much longer the fit's record is than what is looked at; 0: not */
    bool is_unsteady;
    struct part parts[TONES];
};

static double values[2 * FRAMES_MOST];
static double complex coefficient[2][TOP_MOST + 1];
static struct periodic_fit fit;
static struct stray list[2 * LIMIT];
static size_t count;

static double complex get_turn(double turns)
{
    return cexp(2.0 * PI * I * turns);
}

/* Of unit variance: a tenth as many lines as samples, from 0.3 of the rate on, with phases that
 * spread them over time. */
static void set_comb(size_t frames, double *comb)
{
    const size_t lines = frames / 10, first = 3 * frames / 10 + 1;
    for (size_t n = 0; n < frames; n++) {
        comb[n] = 0.0;
        for (size_t i = 0; i < lines; i++) {
            const size_t place = (first + 2 * i) * n % frames;
            comb[n] += sqrt(2.0 / (double)lines) * cos(2.0 * PI * (double)place / (double)frames +
                                                       PI * (double)(i * i) / (double)lines);
        }
    }
}

static void set_scene(const struct scene *scene)
{
    static double comb[FRAMES_MOST];
    const double frames = (double)scene->frames;
    if (scene->rest > 0.0) {
        set_comb(scene->frames, comb);
    }
    for (size_t n = 0; n < scene->frames; n++) {
        for (size_t m = 0; m < 2; m++) {
            values[2 * n + m] = scene->rest * comb[n];
            for (size_t k = 0; k <= scene->top; k++) {
                const double turns = (double)(k * scene->cycles * n % scene->frames) / frames;
                values[2 * n + m] += cos(2.0 * PI * turns + (double)(k + m)) / (double)(k + 1);
            }
        }
        for (const struct part *part = scene->parts; cabs(part->amplitude) > 0.0; part++) {
            values[2 * n + part->channel] +=
                creal(part->amplitude * get_turn(part->place * (double)n / frames));
        }
    }
    for (size_t m = 0; m < 2; m++) {
        for (size_t k = 0; k <= scene->top; k++) {
            double complex sum = 0.0;
            for (size_t n = 0; n < scene->frames; n++) {
                sum += values[2 * n + m] *
                       get_turn(-(double)(k * scene->cycles * n % scene->frames) / frames);
            }
            coefficient[m][k] = (k == 0 ? 1.0 : 2.0) / frames * sum;
        }
    }
    const double duration = frames / RATE;
    fit = (struct periodic_fit){.channels = 2,
        .harmonics = scene->top,
        .frequency_Hz = (double)scene->cycles / duration,
        .frames = frames,
        .duration_s = duration * (1.0 + scene->longer),
        .cycles = (double)scene->cycles,
        .samples_per_cycle = frames / (double)scene->cycles,
        .is_unsteady = scene->is_unsteady,
        .coefficient = {coefficient[0], coefficient[1]}};
}

static void search(const struct scene *scene, size_t limit)
{
    struct error err = {0};
    set_scene(scene);
    ck_assert(!stray_find(values, scene->frames, RATE, &fit, limit, list, &count, &err));
}

/* Cycles over the record. */
static double get_place(const struct scene *scene, size_t i)
{
    return list[i].frequency_Hz * (double)scene->frames / RATE;
}

static double get_sinc(double x)
{
    return fabs(x) < 1e-9 ? 1.0 : sin(PI * x) / (PI * x);
}

/* The share of a tone that the fit does not take up: 1 less the squares of its products with the
 * harmonics, of both signs. */
static double get_left(const struct scene *scene, double place)
{
    const int top = (int)scene->top;
    double left = 1.0;
    for (int k = -top; k <= top && !(scene->longer > 0.2); k++) {
        left -= pow(get_sinc(place - k * (double)scene->cycles), 2.0);
    }
    return left;
}

/* GRID is looked at in exact halves of a cycle over the record. */
#define GRID .frames = 4000, .cycles = 40, .top = 5

/* 40 cycles in 3960 samples, or 10 in 200, whose 9 harmonics take a tenth of the samples' freedom.
 */
#define MANY .frames = 3960, .cycles = 40, .top = 5
#define FEW .frames = 200, .cycles = 10, .top = 9

/* With N samples a tone explains q a^2 / 2 of each, s^2 are left; of N tones noise explains so much
 * once in 1e7 = e^16 records when
 *     (freedom / 2) ln(1 + q a^2 / (2 s^2)) - ln N = 16. */
static const struct scene edge_list[] = {
    {FEW, .rest = 1.0, .parts = {{0, 24.0, 1.0}}}, {FEW, .rest = 1.0, .parts = {{1, 57.0, I}}},
    {FEW, .rest = 1.0, .longer = 1.0, .parts = {{0, 24.0, 1.0}}},
    {MANY, .rest = 1.0, .parts = {{0, 1013.0, 1.0}}},
    {MANY, .rest = 1.0, .parts = {{1, 80.7, 1.0}}}, {MANY, .rest = 1.0, .parts = {{0, 199.3, I}}},
    {MANY, .rest = 1.0, .parts = {{0, 238.7, I}}}, /* beside what would be the next harmonic */
};

START_TEST(a_tone_counts_from_its_share_of_what_is_left_on)
{
    struct scene scene = edge_list[_i];
    const double frames = (double)scene.frames, place = scene.parts[0].place;
    const double longer = 1.0 + scene.longer, left = get_left(&scene, place);
    const double freedom = frames - (2.0 * (double)scene.top + 1.0) / longer;
    const double share = exp(2.0 * (16.0 + log(frames)) / freedom) - 1.0;
    const double edge = sqrt(2.0 * share / left);
    const double complex direction = scene.parts[0].amplitude;
    const double margin = place == round(place) ? 0.002 : 0.01;
    scene.parts[0].amplitude = (1.0 - margin) * edge * direction;
    search(&scene, LIMIT);
    ck_assert_uint_eq(count, 0);
    scene.parts[0].amplitude = (1.0 + margin) * edge * direction;
    search(&scene, LIMIT);
    ck_assert_uint_eq(count, 1);
    ck_assert_uint_eq(list[0].channel, scene.parts[0].channel);
}
END_TEST

/* A tone and its mirror image, D places apart, add up to a peak that is by up to 0.304 / D beside
 * the tone's place (sinc^2 falls by pi^2 / 3 x^2, the image rises by 1 / D), a little more near
 * harmonics; its phase at the record's begin is off by pi times that. */
static const struct scene tone_list[] = {
    {MANY, .rest = 1e-3, .parts = {{0, 1013.4, 0.3 + 0.4 * I}}},
    {MANY, .rest = 1e-3, .parts = {{1, 80.7, -0.5 * I}}},
    {MANY, .rest = 1e-3, .parts = {{0, 79.3, 0.5}}},
    {MANY, .rest = 1e-3, .parts = {{1, 40.7, 0.2 - 0.2 * I}}},
    {MANY, .rest = 1e-3, .parts = {{0, 199.25, -0.5}}},
    {MANY, .rest = 1e-3, .parts = {{0, 200.75, 0.5 * I}}}, /* above the last harmonic */
    {MANY, .rest = 1e-3, .parts = {{0, 240.7, 0.5 * I}}},  /* no harmonic is fitted there */
    {MANY, .rest = 1e-3, .parts = {{0, 20.0, 0.5 * I}}},
    {FEW, .rest = 1e-3, .parts = {{0, 15.0, 0.5 * I}}}, /* its image is a tone of its own */
    {FEW, .rest = 1e-3, .parts = {{1, 97.0, 0.5}}},     /* its image lies above half the rate */
};

START_TEST(a_tone_beside_a_harmonic_has_its_whole_amplitude)
{
    const struct scene *scene = &tone_list[_i];
    const struct part *part = scene->parts;
    search(scene, 1);
    ck_assert_uint_eq(count, 1);
    ck_assert_uint_eq(list[0].channel, part->channel);
    const double frames = (double)scene->frames;
    const double apart = fmin(2.0 * part->place, frames - 2.0 * part->place);
    ck_assert_double_eq_tol(get_place(scene, 0), part->place, 0.5 / apart);
    ck_assert_double_eq_tol(list[0].width_Hz, RATE / frames, 1e-12);
    const double off = cabs(list[0].amplitude - part->amplitude);
    ck_assert_msg(off < 2.0 / apart * cabs(part->amplitude), "off by %.2g", off);
}
END_TEST

/* Pairs of samples are averaged where there are many to the cycle: of a tone the averages keep
 * sin(2x) / (2 sin x), x = pi v / N, and lie half a sample later. */
START_TEST(a_tone_that_averages_weaken_has_its_whole_amplitude)
{
    const struct scene scene = {
        .frames = 80000, .cycles = 8, .top = 1, .parts = {{1, 15004.0, 0.3 - 0.4 * I}}};
    search(&scene, 1);
    ck_assert_uint_eq(count, 1);
    ck_assert_double_eq_tol(get_place(&scene, 0), 15004.0, 1e-3);
    ck_assert_double_lt(cabs(list[0].amplitude - scene.parts[0].amplitude), 0.05 * 0.5);
}
END_TEST

/* The amplitude is 2 R / (N q): R the sum over what the fit leaves, q what it leaves of a tone at
 * that place. With so few harmonics of
 * so few cycles each counts. */
static const struct {
    size_t top;
    double place;
} few_list[] = {{2, 3.4}, {1, 10.1}, {1, 5.1}};

START_TEST(the_share_that_the_fit_takes_is_summed_over_the_harmonics)
{
    const struct scene scene = {.frames = 200,
        .cycles = 8,
        .top = few_list[_i].top,
        .parts = {{0, few_list[_i].place, 0.5}}};
    search(&scene, 1);
    ck_assert_uint_eq(count, 1);
    const double place = get_place(&scene, 0);
    double complex sum = 0.0;
    for (size_t n = 0; n < scene.frames; n++) {
        const double t = (double)n / (double)scene.frames;
        double rest = values[2 * n];
        for (size_t k = 0; k <= scene.top; k++) {
            rest -= creal(coefficient[0][k] * get_turn((double)(k * scene.cycles) * t));
        }
        sum += rest * get_turn(-place * t);
    }
    const double complex amplitude = 2.0 * sum / (200.0 * get_left(&scene, place));
    ck_assert_double_lt(cabs(list[0].amplitude - amplitude), 1e-6);
}
END_TEST

/* ---- where tones can be told ---- */

static const struct {
    struct scene scene;
    bool is_found;
} place_list[] = {
    {{MANY, .rest = 1e-2, .parts = {{0, 80.55, 0.5}}}, false}, /* too near the second harmonic */
    {{MANY, .rest = 1e-2, .parts = {{0, 79.45, 0.5}}}, false},
    {{MANY, .rest = 1e-2, .parts = {{0, 80.7, 0.5}}}, true},
    {{MANY, .rest = 1e-2, .parts = {{0, 81.4, 0.5}}}, true},
    {{MANY, .rest = 1e-2, .is_unsteady = true, .parts = {{0, 81.4, 0.5}}}, false},
    {{MANY, .rest = 1e-2, .is_unsteady = true, .parts = {{0, 81.6, 0.5}}}, true},
    {{MANY, .rest = 1e-2, .longer = 0.5, .parts = {{0, 81.4, 0.5}}}, false},
    {{MANY, .rest = 1e-2, .longer = 0.05, .parts = {{0, 81.4, 0.5}}}, true}, /* nearly all of it */
    {{MANY, .rest = 1e-2, .parts = {{0, 1.4, 0.5}}}, false},                 /* as slow as drift */
    {{MANY, .rest = 1e-2, .parts = {{0, 2.0, 0.5}}}, true},
    {{FEW, .rest = 1e-2, .parts = {{0, 98.0, 0.5}}}, true}, /* below half the rate, 100 cycles */
    {{FEW, .rest = 1e-2, .parts = {{0, 99.2, 0.5}}}, false},
};

START_TEST(a_tone_is_told_from_harmonics_drift_and_half_the_rate)
{
    search(&place_list[_i].scene, 1);
    ck_assert_uint_eq(count, place_list[_i].is_found);
}
END_TEST

/* ---- lines that stand alone ---- */

/* The power of the neighbours is that share of the line's; places are whole, so that none leaks
 * into the other. Half of what is within 4 places to each side must be the line's own. */
static const struct {
    const char *name;
    double place, neighbours[2];
    double share; /* of its power, each */
    bool is_alone;
} neighbour_list[] = {
    {"less than half beside it", 1020.0, {1022.0, 1017.0}, 0.47, true},
    {"more than half beside it", 1020.0, {1022.0, 1017.0}, 0.53, false},
    {"4 above", 1020.0, {1024.0, 1023.0}, 0.6, false},
    {"4 below", 1020.0, {1016.0, 1017.0}, 0.6, false},
    {"5 to each side", 1020.0, {1025.0, 1015.0}, 0.8, true},
    {"next to it", 1020.0, {1021.0, 1019.0}, 0.6, false},
    {"an image below a harmonic, weak", 83.0, {77.0}, 0.23, true},
    {"an image below a harmonic", 83.0, {77.0}, 0.27, false},
    {"an image above a harmonic", 77.0, {83.0}, 0.27, false},
    {"far from the harmonic", 95.0, {65.0}, 0.27, false},
    {"farther from the harmonic", 97.0, {63.0}, 0.8, true},
    {"halfway between two harmonics", 60.0, {100.0}, 0.8, true},
};

START_TEST(a_line_is_a_tone_when_it_stands_alone)
{
    const double amplitude = sqrt(neighbour_list[_i].share);
    struct scene scene = {GRID, .rest = 1e-2, .parts = {{1, neighbour_list[_i].place, 1.0}}};
    for (size_t i = 0; i < 2 && neighbour_list[_i].neighbours[i] > 0.0; i++) {
        scene.parts[i + 1] = (struct part){1, neighbour_list[_i].neighbours[i], amplitude * I};
    }
    search(&scene, 1);
    ck_assert_msg(count == neighbour_list[_i].is_alone, "%s", neighbour_list[_i].name);
    if (count == 1) {
        ck_assert_double_eq_tol(get_place(&scene, 0), neighbour_list[_i].place, 0.3);
    }
}
END_TEST

/* Halfway between harmonics a few places apart every tone has an image; elsewhere one is seen. */
START_TEST(between_close_harmonics_images_are_looked_for_but_halfway)
{
    struct scene scene = {FEW, .rest = 1e-2, .parts = {{0, 15.0, 1.0}, {0, 25.0, 0.9}}};
    search(&scene, 1);
    ck_assert_uint_eq(count, 1);
    static const struct {
        double off; /* from halfway */
        size_t expected;
    } list_off[] = {{1.0, 0}, {0.6, 0}, {0.4, 1}};
    for (size_t i = 0; i < sizeof list_off / sizeof *list_off; i++) {
        scene.parts[0].place = 15.0 + list_off[i].off;
        scene.parts[1].place = 25.0 - list_off[i].off;
        search(&scene, 1);
        ck_assert_msg(count == list_off[i].expected, "off %g: %zu at %g", list_off[i].off, count,
            get_place(&scene, 0));
    }
}
END_TEST

/* ---- several tones ---- */

static const struct {
    const char *name;
    size_t channel;
    double place, amplitude; /* of the second, beside one of 1 at 1020 cycles */
    size_t expected;
} remnant_list[] = {
    {"near and weak", 0, 1027.0, 0.09, 1},
    {"near on the other side and weak", 0, 1013.0, 0.09, 1},
    {"near and strong", 0, 1027.0, 0.11, 2},
    {"a little farther and weak", 0, 1029.0, 0.09, 2},
    {"near and weak in the other channel", 1, 1027.0, 0.09, 2},
};

START_TEST(what_is_weak_beside_a_strong_tone_is_left_over_from_it)
{
    const struct scene scene = {MANY, .rest = 1e-2,
        .parts = {{0, 1020.0, 1.0},
            {remnant_list[_i].channel, remnant_list[_i].place, remnant_list[_i].amplitude}}};
    search(&scene, LIMIT);
    ck_assert_msg(count == remnant_list[_i].expected, "%s: %zu", remnant_list[_i].name, count);
    if (count == 2) {
        ck_assert_double_eq_tol(cabs(list[1].amplitude), remnant_list[_i].amplitude, 1e-3);
    }
}
END_TEST

START_TEST(what_is_left_over_may_be_from_any_of_the_tones)
{
    const struct scene scene = {
        MANY, .rest = 1e-2, .parts = {{0, 500.0, 1.0}, {0, 1020.0, 0.8}, {0, 1027.0, 0.07}}};
    search(&scene, LIMIT);
    ck_assert_uint_eq(count, 2);
}
END_TEST

/* What lies where no tone can be told does not hide one elsewhere: here a harmonic that the fit has
 * too little of. */
START_TEST(a_tone_is_found_beside_what_is_stronger_at_a_harmonic)
{
    const struct scene scene = {MANY, .rest = 1e-2, .parts = {{0, 1020.0, 0.2}}};
    struct error err = {0};
    set_scene(&scene);
    coefficient[0][2] -= 0.3;
    ck_assert(!stray_find(values, scene.frames, RATE, &fit, 1, list, &count, &err));
    ck_assert_uint_eq(count, 1);
    ck_assert_double_eq_tol(get_place(&scene, 0), 1020.0, 0.05);
}
END_TEST

/* In any unit. */
START_TEST(tones_of_tiny_records_are_found_as_those_of_large_ones)
{
    static const double scale_list[] = {1e-12, 1e12};
    for (size_t i = 0; i < 2; i++) {
        const struct scene scene = {MANY, .rest = 1e-2, .parts = {{0, 1020.0, 0.2}}};
        set_scene(&scene);
        for (size_t n = 0; n < 2 * scene.frames; n++) {
            values[n] *= scale_list[i];
        }
        for (size_t k = 0; k <= scene.top; k++) {
            coefficient[0][k] *= scale_list[i];
            coefficient[1][k] *= scale_list[i];
        }
        struct error err = {0};
        ck_assert(!stray_find(values, scene.frames, RATE, &fit, 1, list, &count, &err));
        ck_assert_uint_eq(count, 1);
        ck_assert_double_eq_tol(cabs(list[0].amplitude) / scale_list[i], 0.2, 1e-3);
    }
}
END_TEST

/* The strongest is the one that explains most: of a tone that keeps the share q beside a harmonic
 * that is q a^2. */
START_TEST(the_tone_that_explains_most_comes_first)
{
    struct scene scene = {MANY, .rest = 1e-2, .parts = {{0, 80.7, 1.0}, {0, 1499.85, 1.0}}};
    const double left = get_left(&scene, 80.7);
    for (int i = 0; i < 2; i++) {
        scene.parts[1].amplitude = sqrt(left * (i == 0 ? 0.95 : 1.05));
        search(&scene, 1);
        ck_assert_uint_eq(count, 1);
        const double place = i == 0 ? 80.7 : 1499.85;
        ck_assert_double_eq_tol(get_place(&scene, 0), place, 0.05);
    }
}
END_TEST

START_TEST(each_channel_has_up_to_as_many_as_are_asked_for)
{
    const struct scene scene = {MANY, .rest = 1e-2,
        .parts = {
            {0, 500.0, 0.5}, {0, 700.0, 0.4}, {0, 1500.0, 0.3}, {1, 900.0, 0.2}, {1, 1100.0, 0.1}}};
    static const size_t expected[] = {0, 2, 4, 5, 5};
    for (size_t limit = 0; limit < 5; limit++) {
        search(&scene, limit);
        ck_assert_uint_eq(count, expected[limit]);
    }
    static const size_t order[] = {0, 1, 2, 3, 4};
    for (size_t i = 0; i < 5; i++) {
        ck_assert_uint_eq(list[i].channel, scene.parts[order[i]].channel);
        ck_assert_double_eq_tol(get_place(&scene, i), scene.parts[order[i]].place, 1e-2);
    }
}
END_TEST

START_TEST(fewer_than_64_samples_or_a_single_channel_have_none)
{
    const struct scene scene = {
        .frames = 64, .cycles = 8, .top = 2, .rest = 1e-2, .parts = {{0, 12.0, 1.0}}};
    struct error err = {0};
    search(&scene, 1);
    ck_assert_uint_eq(count, 1);
    ck_assert(!stray_find(values, 63, RATE, &fit, 1, list, &count, &err));
    ck_assert_uint_eq(count, 0);
    search(&scene, 1);
    fit.channels = 1;
    ck_assert(!stray_find(values, 64, RATE, &fit, 1, list, &count, &err));
    ck_assert_uint_eq(count, 0);
}
END_TEST

/* What explains nothing is none, also when nothing is left at all. */
START_TEST(where_the_fit_leaves_nothing_there_is_no_tone)
{
    memset(values, 0, sizeof values);
    memset(coefficient, 0, sizeof coefficient);
    fit = (struct periodic_fit){.channels = 2,
        .harmonics = 3,
        .frequency_Hz = 40.0,
        .duration_s = 0.5,
        .coefficient = {coefficient[0], coefficient[1]}};
    struct error err = {0};
    ck_assert(!stray_find(values, 3960, RATE, &fit, 1, list, &count, &err));
    ck_assert_uint_eq(count, 0);
}
END_TEST

#define LENGTH(array) (int)(sizeof(array) / sizeof *(array))

Suite *stray_edges_suite(void)
{
    Suite *suite = suite_create("stray_edges");
    TCase *tests = tcase_create("stray_edges");
    tcase_add_loop_test(
        tests, a_tone_counts_from_its_share_of_what_is_left_on, 0, LENGTH(edge_list));
    tcase_add_loop_test(
        tests, a_tone_beside_a_harmonic_has_its_whole_amplitude, 0, LENGTH(tone_list));
    tcase_add_test(tests, a_tone_that_averages_weaken_has_its_whole_amplitude);
    tcase_add_loop_test(
        tests, the_share_that_the_fit_takes_is_summed_over_the_harmonics, 0, LENGTH(few_list));
    tcase_add_loop_test(
        tests, a_tone_is_told_from_harmonics_drift_and_half_the_rate, 0, LENGTH(place_list));
    tcase_add_loop_test(tests, a_line_is_a_tone_when_it_stands_alone, 0, LENGTH(neighbour_list));
    tcase_add_test(tests, between_close_harmonics_images_are_looked_for_but_halfway);
    tcase_add_loop_test(
        tests, what_is_weak_beside_a_strong_tone_is_left_over_from_it, 0, LENGTH(remnant_list));
    tcase_add_test(tests, what_is_left_over_may_be_from_any_of_the_tones);
    tcase_add_test(tests, a_tone_is_found_beside_what_is_stronger_at_a_harmonic);
    tcase_add_test(tests, tones_of_tiny_records_are_found_as_those_of_large_ones);
    tcase_add_test(tests, the_tone_that_explains_most_comes_first);
    tcase_add_test(tests, each_channel_has_up_to_as_many_as_are_asked_for);
    tcase_add_test(tests, fewer_than_64_samples_or_a_single_channel_have_none);
    tcase_add_test(tests, where_the_fit_leaves_nothing_there_is_no_tone);
    suite_add_tcase(suite, tests);
    return suite;
}
