// SPDX-License-Identifier: GPL-3.0-or-later
/* Each note stands at its limit and not below it; a clean loop has none. docs/notes.md has the
 * limits. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "loop/evidence.h"
#include "scratch.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

/* ---- a clean loop and all that is known of it ---- */

enum { TOP = 8, BLOCKS = 16 };

static struct bench {
    struct capture_info info;
    struct rig rig;
    struct specimen specimen;
    struct survey survey;
    struct periodic_fit fit;
    struct periodic_block blocks[BLOCKS];
    struct sampling sampling;
    struct loop loop;
    struct evidence evidence;
    struct conversion conversion;
    struct stray stray;
    struct excerpt excerpt;
    double complex wave[2][TOP + 1], block_wave[BLOCKS][2][TOP + 1], series[2][TOP + 1];
} bench;

static const char rig_text[] = "name: bench\n"
                               "inputs:\n"
                               "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
                               "  pickup: {channel: 2, full_scale: 1.5 V}\n"
                               "timing: {pickup_delay: 0 us ± 0.02 us}\n"
                               "winding: {primary_turns: 200, secondary_turns: 100}\n";
static const char specimen_text[] =
    "name: R-1\n"
    "ring: {outer_diameter: 40 mm, inner_diameter: 33 mm, height: 6 mm, density: 8100 kg/m3}\n"
    "resistivity: 0.27 uohm m\n";

static void set_figure(enum figure figure, double value)
{
    figures_set(&bench.loop.figures, figure, value);
}

static void set_fit(void)
{
    bench.fit = (struct periodic_fit){.channels = 2,
        .harmonics = TOP,
        .frequency_Hz = 50.0,
        .frames = 9600.0,
        .duration_s = 1.2,
        .cycles = 60.0,
        .samples_per_cycle = 160.0,
        .noise_rms = {1e-6, 1e-6},
        .blocks = bench.blocks,
        .block_count = BLOCKS,
        .phase_drift_rad = 1e-5,
        .phase_drift_u_rad = 1e-5,
        .harmonics_limit = 79};
    for (int m = 0; m < 2; m++) {
        bench.fit.coefficient[m] = bench.wave[m];
        bench.wave[m][1] = m == 0 ? 0.5 : 0.5 * I;
        bench.series[m][1] = m == 0 ? 8000.0 : 1.0;
    }
    for (int b = 0; b < BLOCKS; b++) {
        bench.blocks[b] = (struct periodic_block){.time_s = 1.2 * (b + 0.5) / BLOCKS,
            .frames = 600.0,
            .coefficient = {bench.block_wave[b][0], bench.block_wave[b][1]}};
        bench.block_wave[b][0][1] = bench.wave[0][1];
        bench.block_wave[b][1][1] = bench.wave[1][1];
    }
}

static void set_up(void)
{
    struct error err = {0};
    memset(&bench, 0, sizeof bench);
    scratch_enter();
    scratch_write("rig.yaml", rig_text, strlen(rig_text));
    scratch_write("specimen.yaml", specimen_text, strlen(specimen_text));
    ck_assert_msg(!rig_read("rig.yaml", &bench.rig, &err), "%s", err.message);
    ck_assert_msg(!specimen_read("specimen.yaml", &bench.specimen, &err), "%s", err.message);
    bench.info = (struct capture_info){.kind = CAPTURE_AUDIO,
        .bits = 24,
        .frames = 9600,
        .frames_expected = 9600,
        .file = "a.wav"};
    set_fit();
    bench.survey = (struct survey){.frames = 9600};
    for (int m = 0; m < 2; m++) {
        bench.survey.channel[m] = (struct survey_channel){-0.5, 0.5, 1, 1, 2, 2};
    }
    bench.loop.series = (struct fourier_loop){
        .harmonics = TOP, .field = bench.series[0], .flux_density = bench.series[1]};
    bench.loop.block_count = BLOCKS;
    set_figure(FIGURE_FIELD_PEAK, 8000.0);
    set_figure(FIGURE_FLUX_DENSITY_PEAK, 1.0);
    set_figure(FIGURE_REMANENCE, 0.5);
    set_figure(FIGURE_COERCIVITY, 2000.0);
    set_figure(FIGURE_LOOP_AREA, 8000.0);
    set_figure(FIGURE_LAG_ANGLE, 60.0);
    set_figure(FIGURE_LAG_ANGLE_AREA, 20.0);
    set_figure(FIGURE_AMPLITUDE_PERMEABILITY, 100.0);
    set_figure(FIGURE_FORM_FACTOR, 1.1107);
    for (int f = 0; f < FIGURE_COUNT; f++) {
        if (bench.loop.figures.list[f].is_present) {
            figures_set_u(&bench.loop.figures, (enum figure)f, 0.0);
        }
    }
    bench.evidence = (struct evidence){.info = &bench.info,
        .rig = &bench.rig,
        .specimen = &bench.specimen,
        .survey = &bench.survey,
        .fit = &bench.fit,
        .loop = &bench.loop,
        .today = "2026-11-25"};
}

static void tear_down(void)
{
    rig_clear(&bench.rig);
    excerpt_clear(&bench.excerpt);
    specimen_clear(&bench.specimen);
    scratch_leave();
}

/* A note has its measured value and the limit it passed; what rig and specimen state has none. */
static void check_numbers(const struct note *note)
{
    bool has_limit = strcmp(note->code, "unlikely") == 0;
    for (size_t i = 0; i < note->number_count; i++) {
        const struct note_number *number = &note->numbers[i];
        ck_assert_msg(isfinite(number->value), "%s: %s", note->code, number->key);
        ck_assert_uint_gt(strlen(number->key), 3);
        has_limit = has_limit || isfinite(number->limit);
    }
    ck_assert_msg(has_limit, "%s has no value with a limit: %s", note->code, note->message);
}

/* The factor by which a number with a limit is beyond it, of several the one nearest to 1; NaN:
 * there is none. */
static double get_excess(const struct note *note)
{
    double nearest = NAN;
    for (size_t i = 0; i < note->number_count; i++) {
        const double factor = fabs(note->numbers[i].value / note->numbers[i].limit);
        if (isfinite(factor) && !(fabs(nearest - 1.0) <= fabs(factor - 1.0))) {
            nearest = factor;
        }
    }
    return nearest;
}

/* The level of the first note of that code, -1: there is none; all others are counted. Its measured
 * value is beyond its limit by the factor `excess`. */
static int find_level_and_excess(const char *code, size_t *others, double *excess)
{
    struct notes notes = {0};
    int level = -1;
    *excess = NAN;
    *others = 0;
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert(!notes.failed);
    for (size_t i = 0; i < notes.count; i++) {
        const struct note *note = &notes.list[i];
        ck_assert_uint_gt(strlen(note->message), 10);
        ck_assert_uint_gt(strlen(note->hint), 10);
        check_numbers(note);
        if (strcmp(note->code, code) != 0) {
            ++*others;
        } else if (level < 0) {
            level = (int)note->level;
            *excess = get_excess(note);
        }
    }
    notes_clear(&notes);
    return level;
}

static int find_level(const char *code, size_t *others)
{
    double unused;
    return find_level_and_excess(code, others, &unused);
}

START_TEST(a_clean_loop_has_no_note)
{
    size_t others;
    ck_assert_int_eq(find_level("none", &others), -1);
    ck_assert_uint_eq(others, 0);
}
END_TEST

/* ---- limits ---- */

static void set_cycles(double x)
{
    bench.fit.cycles = x;
}

static void set_phase_drift(double x)
{
    bench.fit.phase_drift_rad = x;
}

static void set_noisy_phase_drift(double x)
{
    bench.fit.phase_drift_u_rad = 1e-3;
    bench.fit.phase_drift_rad = x;
}

static void set_few_blocks(double x)
{
    bench.fit.block_count = 2;
    bench.fit.phase_drift_rad = x;
}

static void set_fade(double x)
{
    for (int b = 0; b < BLOCKS; b++) {
        bench.block_wave[b][0][1] = 0.5 * (1.0 - x * (bench.blocks[b].time_s / 1.2 - 0.5));
    }
}

static void set_noisy_fade(double x)
{
    set_fade(x);
    for (int b = 0; b < BLOCKS; b++) {
        bench.block_wave[b][0][1] *= b % 2 == 0 ? 1.01 : 0.99;
    }
}

static void set_area_noise(double x)
{
    figures_set_u(&bench.loop.figures, FIGURE_LOOP_AREA, x * 8000.0);
}

static void set_remanence_noise(double x)
{
    figures_set_u(&bench.loop.figures, FIGURE_REMANENCE, x * 0.5);
}

static void set_noise_of_few_blocks(double x)
{
    bench.loop.block_count = 7;
    set_area_noise(x);
}

static void set_offset(double x)
{
    bench.wave[0][0] = x * 0.5; /* the amplitude is 0.5 */
}

static void set_pickup_offset(double x)
{
    bench.wave[1][0] = -x * 0.5;
}

static void set_kept_bias(double x)
{
    bench.rig.excitation.keeps_bias = true;
    set_offset(x);
}

/* x: by what the fundamental is turned, rise / (pi cycles |c1|) */
static void set_mean_drift(double x)
{
    for (int b = 0; b < BLOCKS; b++) {
        const double rise = x * PI * 60.0 * 0.5;
        bench.block_wave[b][1][0] = rise * (bench.blocks[b].time_s / 1.2 - 0.5);
    }
}

static void set_mean_drift_of_narrow_loop(double x)
{
    set_figure(FIGURE_LAG_ANGLE, 1.0);
    set_mean_drift(x * tan(PI / 180.0));
}

static void set_mean_drift_in_noise(double x)
{
    bench.fit.noise_rms[1] = 1.0; /* 8 sqrt(12/9600) = 0.28 */
    set_mean_drift(x);
}

static void set_last_harmonic(double x)
{
    bench.fit.harmonics_limit = TOP;
    bench.wave[1][TOP] = 0.5 * x;
}

static void set_last_but_one(double x)
{
    bench.fit.harmonics_limit = TOP + 1;
    bench.wave[0][TOP] = 0.5 * x;
}

static void set_harmonic_far_below_the_last(double x)
{
    bench.fit.harmonics_limit = TOP + 2;
    bench.wave[0][TOP] = 0.5 * x;
}

static void set_second_of_field(double x)
{
    bench.series[0][2] = x * 8000.0;
}

static void set_even_of_flux(double x)
{
    bench.series[1][4] = x * 0.6;
    bench.series[1][2] = x * 0.8 * I;
}

static void set_odd(double x)
{
    bench.series[1][3] = bench.series[1][5] = x;
}

static void set_form_factor(double x)
{
    set_figure(FIGURE_FORM_FACTOR, x * PI / (2.0 * sqrt(2.0)));
}

static void set_missing(double x)
{
    bench.info.kind = CAPTURE_TABLE;
    bench.info.missing = (int64_t)x;
}

static void set_cut_file(double x)
{
    bench.info.frames_expected = 9600 + (int64_t)x;
}

static void set_gaps(double x)
{
    bench.sampling.gap_count = (size_t)x;
    bench.evidence.sampling = &bench.sampling;
}

static void set_16_bits(double x)
{
    bench.info.bits = 16;
    bench.survey.channel[1].minimum = -x;
    bench.survey.channel[1].maximum = x;
}

static void set_24_bits(double x)
{
    bench.survey.channel[0].minimum = 0.2 - x;
    bench.survey.channel[0].maximum = 0.2 + x;
    bench.wave[0][0] = 0.0;
}

static void set_float(double x)
{
    bench.info.is_float = true;
    set_24_bits(x);
}

static void set_corner(double x)
{
    bench.rig.corner = (struct quantity){.value = 50.0 * x, .is_present = true};
}

static void set_own_corner(double x)
{
    set_corner(0.01);
    bench.rig.pickup.corner = (struct quantity){.value = 50.0 * x, .is_present = true};
}

/* x: change of the area, 2 pi f u / tan 60 degree */
static void set_delay(double x)
{
    const double u = x * tan(PI / 3.0) / (2.0 * PI * 50.0);
    bench.rig.pickup_delay =
        (struct quantity){.half_width = 2.0 * u, .is_present = true, .has_uncertainty = true};
}

static void set_saturation(double x)
{
    set_figure(FIGURE_FIELD_PEAK, 2000.0 * x);
}

static void set_square(double x)
{
    bench.loop.figures.list[FIGURE_LAG_ANGLE_AREA].is_present = x < 1.0;
}

static void set_ratio(double x)
{
    bench.specimen.diameter_ratio = x;
}

/* x: wall in skin depths; the wall is 3.5 mm */
static void set_skin(double x)
{
    const double depth = 3.5e-3 / x;
    bench.specimen.resistivity.value = depth * depth * PI * 50.0 * 4e-7 * PI * 100.0;
}

static void set_stack(double x)
{
    bench.specimen.stacking_factor.value = 0.95;
    set_skin(x);
}

static void set_turns(double x)
{
    bench.rig.winding.primary_turns.value = x;
}

static void set_interval(double x)
{
    bench.rig.calibration_date = strdup("2026-11-05"); /* 20 days before today */
    bench.rig.calibration_interval = (struct quantity){.value = 86400.0 / x, .is_present = true};
}

static void set_interval_without_today(double x)
{
    bench.evidence.today = NULL;
    set_interval(x);
}

enum { NONE = -1, INFO = NOTE_INFO, WARNING = NOTE_WARNING };

/* What stands just on either side of a limit. */
static const struct {
    const char *what, *code;
    void (*set)(double x);
    double below, above;
    int level_below, level_above;
} limit_list[] = {
    {"cycles", "short", set_cycles, 20.0, 19.999, NONE, INFO},
    {"few cycles", "short", set_cycles, 4.0, 3.999, INFO, WARNING},
    {"phase", "unsteady", set_phase_drift, 0.999e-3, 1.001e-3, NONE, WARNING},
    {"phase in noise", "unsteady", set_noisy_phase_drift, 5.99e-3, 6.01e-3, NONE, WARNING},
    {"phase of two blocks", "unsteady", set_few_blocks, 0.0, 1.0, NONE, NONE},
    {"fade", "unsteady", set_fade, 4.99e-3, 5.01e-3, NONE, WARNING},
    {"rise", "unsteady", set_fade, -4.99e-3, -5.01e-3, NONE, WARNING},
    {"fade in noise", "unsteady", set_noisy_fade, 0.02, 0.1, NONE, WARNING},
    {"noise of the area", "noisy", set_area_noise, 4.99e-3, 5.01e-3, NONE, WARNING},
    {"noise of Br", "noisy", set_remanence_noise, 4.99e-3, 5.01e-3, NONE, WARNING},
    {"noise of few blocks", "noisy", set_noise_of_few_blocks, 4.99e-3, 0.5, NONE, NONE},
    {"offset", "offset", set_offset, 0.01999, 0.02001, NONE, INFO},
    {"large offset", "offset", set_offset, -0.0999, -0.1001, INFO, WARNING},
    {"offset of the pickup", "offset", set_pickup_offset, 0.01999, 0.02001, NONE, INFO},
    {"bias that is kept", "offset", set_kept_bias, 0.01, 0.5, NONE, NONE},
    {"drifting mean", "drift", set_mean_drift, 0.99e-4 / 2, 1.01e-4 / 2, NONE, WARNING},
    {"sinking mean", "drift", set_mean_drift, -0.99e-4 / 2, -1.01e-4 / 2, NONE, WARNING},
    {"drifting mean of a narrow loop", "drift", set_mean_drift_of_narrow_loop, 0.99e-3, 1.01e-3,
        NONE, WARNING},
    {"drifting mean in noise", "drift", set_mean_drift_in_noise, 2.9e-3, 3.1e-3, NONE, WARNING},
    {"last harmonic", "undersampled", set_last_harmonic, 0.999e-3, 1.001e-3, NONE, INFO},
    {"strong last harmonic", "undersampled", set_last_harmonic, 0.999e-2, 1.001e-2, INFO, WARNING},
    {"last harmonic but one", "undersampled", set_last_but_one, 0.999e-3, 1.001e-3, NONE, INFO},
    {"harmonic below the last", "undersampled", set_harmonic_far_below_the_last, 0.0, 0.1, NONE,
        NONE},
    {"second harmonic of H", "asymmetric", set_second_of_field, 2.99e-3, 3.01e-3, NONE, WARNING},
    {"even harmonics of B", "asymmetric", set_even_of_flux, 2.99e-3, 3.01e-3, NONE, WARNING},
    {"odd harmonics", "asymmetric", set_odd, 0.0, 0.3, NONE, NONE},
    {"form factor above", "distorted", set_form_factor, 1.00999, 1.01001, NONE, INFO},
    {"form factor below", "distorted", set_form_factor, 0.99001, 0.98999, NONE, INFO},
    {"a missing row", "dropout", set_missing, 0, 1, NONE, INFO},
    {"one row in a hundred missing", "dropout", set_missing, 96, 97, INFO, WARNING},
    {"a file that was cut", "dropout", set_cut_file, 0, 1, NONE, WARNING},
    {"gaps of the clock", "dropout", set_gaps, 0, 1, NONE, WARNING},
    {"level of 16 bits", "quiet", set_16_bits, 257.0 / 32768, 255.0 / 32768, NONE, WARNING},
    {"level of 24 bits", "quiet", set_24_bits, 1.001e-3, 0.999e-3, NONE, WARNING},
    {"level of floats", "quiet", set_float, 1.0, 1e-5, NONE, NONE},
    {"corner", "coupled", set_corner, 0.1999, 0.2001, NONE, INFO},
    {"corner above the frequency", "coupled", set_corner, 0.999, 1.001, INFO, WARNING},
    {"corner of one input", "coupled", set_own_corner, 0.1999, 0.2001, NONE, INFO},
    {"uncertain delay", "delay-sensitive", set_delay, 0.999e-2, 1.001e-2, NONE, WARNING},
    {"peak field", "unsaturated", set_saturation, 3.001, 2.999, NONE, INFO},
    {"fullness", "square", set_square, 0.0, 1.0, NONE, INFO},
    {"wall", "thick-ring", set_ratio, 1.2499, 1.2501, NONE, INFO},
    {"thick wall", "thick-ring", set_ratio, 1.3999, 1.4001, INFO, WARNING},
    {"skin", "skin-effect", set_skin, 0.999, 1.001, NONE, INFO},
    {"thin skin", "skin-effect", set_skin, 1.999, 2.001, INFO, WARNING},
    {"stack of sheets", "skin-effect", set_stack, 0.9, 3.0, NONE, NONE},
    {"half a turn", "unlikely", set_turns, 200.0, 200.5, NONE, WARNING},
    {"calibration", "outdated", set_interval, 1.0 / 20.0, 1.0 / 19.99, NONE, WARNING},
    {"calibration without a day", "outdated", set_interval_without_today, 0.05, 1.0, NONE, NONE},
};

START_TEST(a_note_stands_at_its_limit_and_not_below_it)
{
    const int i = _i / 2, is_above = _i % 2; /* each on a bench of its own */
    const double x = is_above ? limit_list[i].above : limit_list[i].below;
    const int wanted = is_above ? limit_list[i].level_above : limit_list[i].level_below;
    const double span = fabs(limit_list[i].above / limit_list[i].below - 1.0);
    size_t others;
    double excess;
    limit_list[i].set(x);
    const int level = find_level_and_excess(limit_list[i].code, &others, &excess);
    ck_assert_msg(
        level == wanted, "%s, %g: level %d instead of %d", limit_list[i].what, x, level, wanted);
    ck_assert_msg(others == 0, "%s, %g: %zu other notes", limit_list[i].what, x, others);
    const bool is_told = strstr(limit_list[i].what, "in noise") == NULL && isfinite(excess);
    if (is_above && level >= 0 && span < 0.1 && is_told) {
        ck_assert_msg(fabs(excess - 1.0) <= 1.1 * span, "%s: told as %g of its limit",
            limit_list[i].what, excess);
    }
}
END_TEST

/* What a note says of a bench whose figures can be worked out by hand: 2e-3 rad are 0.11 degree;
 * the mean drifts by pi 60 cycles times 3e-4, which is 0.017 degree; a corner at half the frequency
 * turns by atan 0.5; of the ring 0.5 / 2.5; a wall of 3.5 mm over 1.5. */
static const struct {
    void (*set)(double x);
    double x;
    const char *message;
} message_list[] = {
    {set_cycles, 12.34, "the capture holds 12.34 cycles (20 or more are advised)"},
    {set_phase_drift, 2e-3,
        "the phase strays by 0.11 degree from an even clock (limit 0.057): the frequency drifts"},
    {set_fade, 0.03, "the excitation changes by 3 % over the capture (limit 0.5 %)"},
    {set_area_noise, 0.02,
        "noise leaves loop area uncertain by 2 % (standard uncertainty from the scatter of the "
        "cycles, limit 0.5 %)"},
    {set_offset, 0.04,
        "the excitation input has a mean of 4 % of its amplitude; it was removed (a mean carries "
        "no field in a closed loop)"},
    {set_pickup_offset, 0.2,
        "the pickup input has a mean of -20 % of its amplitude; it was removed (a mean carries no "
        "field in a closed loop)"},
    {set_mean_drift, 3e-4,
        "the mean of the pickup input drifts by 5.7 % of its fundamental over the capture: that "
        "turns it by up to 0.017 degree (limit 0.0029)"},
    {set_last_harmonic, 2e-3,
        "the last harmonics that the sampling carries (up to 8) still have 0.2 % of the "
        "fundamental of the pickup input (limit 1 %): higher ones may be lost or folded back"},
    {set_second_of_field, 4e-3,
        "even harmonics amount to 0.4 % of the fundamental of H (limit 0.3 %): the loop is not "
        "symmetric"},
    {set_even_of_flux, 5e-3,
        "even harmonics amount to 0.5 % of the fundamental of B (limit 0.3 %): the loop is not "
        "symmetric"},
    {set_form_factor, 1.1,
        "the form factor of dB/dt is 1.2218, outside 1.1107 +- 1 %: the loss is not one at "
        "sinusoidal flux"},
    {set_cut_file, 400,
        "the file ends after 9600 of the 10000 frames that its header promises: it was cut off"},
    {set_24_bits, 0.5e-3,
        "the excitation input reaches only 0.0005 of full scale (limit 0.001 for 24 bits)"},
    {set_corner, 0.5,
        "the coupling corner of the excitation input, 25 Hz, turns its fundamental by 26.6 degree, "
        "which was undone"},
    {set_delay, 0.02,
        "the stated uncertainty of pickup_delay moves the loop area by 2 % (limit 1 %) at a lag "
        "angle of 60.00 degree"},
    {set_saturation, 2.5,
        "the peak field is 2.50 times HcB (3 or more saturate the ring): remanence and coercivity "
        "are the remanent flux density and coercive field strength of this loop"},
    {set_ratio, 1.5,
        "the ratio of outer to inner diameter is 1.500 (1.25 is advised, 1.4 is the limit): the "
        "field varies by +-20.0 % over the wall"},
    {set_skin, 1.5,
        "the ring's wall is 1.50 skin depths thick (skin depth 2.33 mm at 50 Hz and a permeability "
        "of 100)"},
};

START_TEST(a_note_tells_the_figures_of_its_bench)
{
    struct notes notes = {0};
    message_list[_i].set(message_list[_i].x);
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert_uint_eq(notes.count, 1);
    ck_assert_str_eq(notes.list[0].message, message_list[_i].message);
    notes_clear(&notes);
}
END_TEST

START_TEST(what_an_uncertain_delay_turns_is_told_in_degrees)
{
    struct notes notes = {0};
    set_delay(0.0101);
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert_uint_eq(notes.count, 1);
    bool has_lag = false;
    for (size_t i = 0; i < notes.list[0].number_count; i++) {
        if (strcmp(notes.list[0].numbers[i].key, "lag_angle_deg") == 0) {
            has_lag = true;
            ck_assert_double_eq_tol(notes.list[0].numbers[i].value, 60.0, 1e-9);
        }
    }
    ck_assert(has_lag);
    notes_clear(&notes);
}
END_TEST

/* Few cycles make a frequency of every phase: 1e-5 of it is the limit there; and a lag of every
 * ramp: 5e-5 rad. */
START_TEST(what_moves_in_few_cycles_is_held_against_frequency_and_lag)
{
    size_t others;
    bench.fit.cycles = 10.0;
    for (int is_above = 0; is_above < 2; is_above++) {
        bench.fit.phase_drift_rad = (is_above ? 1.001e-5 : 0.999e-5) * 2.0 * PI * 10.0;
        ck_assert_int_eq(find_level("unsteady", &others), is_above ? WARNING : NONE);
        ck_assert_uint_eq(others, 1); /* short */
    }
    bench.fit.phase_drift_rad = 0.0;
    for (int is_above = 0; is_above < 2; is_above++) {
        set_fade((is_above ? 5.02e-5 : 4.98e-5) * 2.0 * PI * 10.0);
        ck_assert_int_eq(find_level("unsteady", &others), is_above ? WARNING : NONE);
    }
}
END_TEST

/* ---- steady tones ---- */

static void set_stray(double frequency, double amplitude)
{
    bench.stray = (struct stray){.channel = 0,
        .frequency_Hz = frequency,
        .width_Hz = 1.0 / 1.2,
        .amplitude = amplitude * cexp(0.4 * I)};
    bench.evidence.strays = &bench.stray;
    bench.evidence.stray_count = 1;
}

/* An ellipse of 30 degrees whose figures are those of its series. */
static void set_ellipse(void)
{
    struct error err = {0};
    bench.wave[1][1] = 0.5 * I * cexp(-I * PI / 6.0);
    ck_assert(!conversion_set(&bench.conversion, &bench.rig, &bench.specimen, true, &err));
    conversion_apply(&bench.conversion, 50.0, bench.wave[0], bench.wave[1], &bench.loop.series);
    ck_assert(
        !fourier_loop_compute_figures(&bench.loop.series, 50.0, 0.0, &bench.loop.figures, &err));
    bench.evidence.conversion = &bench.conversion;
}

static const struct note *find_note(const struct notes *notes, const char *code)
{
    for (size_t i = 0; i < notes->count; i++) {
        if (strcmp(notes->list[i].code, code) == 0) {
            return &notes->list[i];
        }
    }
    return NULL;
}

/* A tone 20 Hz beside the fundamental leaves 1 / (pi 20 Hz 1.2 s) of its amplitude in it; that
 * share e of the fundamental, at its worst phase, moves W = pi Hm Bm sin 30 deg by e sqrt(1 +
 * cot^2) = 2 e. HcB, which the other harmonics move too, may change by up to half more. */
static const struct {
    double area_change, distance;
    int level;
} hum_list[] = {{0.5e-3, 20.0, INFO}, {1.02e-3, 20.0, WARNING}, {0.05e-3, 2.0, NONE},
    {1.02e-3, 2.0, WARNING}, {-1.02e-3, -20.0, WARNING}};

START_TEST(hum_is_judged_by_how_far_it_moves_a_figure)
{
    const double distance = hum_list[_i].distance;
    const double leak = 1.0 / (PI * distance * 1.2);
    const double amplitude = 0.5 * 0.5 * hum_list[_i].area_change / leak;
    struct notes notes = {0};
    set_ellipse();
    set_stray(50.0 + distance, amplitude);
    evidence_add_notes(&bench.evidence, &notes);
    const struct note *note = find_note(&notes, "hum");
    ck_assert_int_eq(note != NULL, hum_list[_i].level != NONE);
    if (note != NULL) {
        ck_assert_int_eq(note->level, hum_list[_i].level);
        ck_assert_str_eq(note->subject, "excitation");
        ck_assert_str_eq(note->numbers[0].key, "frequency_Hz");
        ck_assert_double_eq(note->numbers[0].value, 50.0 + distance);
        ck_assert_double_eq_tol(note->numbers[1].value, 2.0 * amplitude, 1e-12);
        const double moved = fabs(hum_list[_i].area_change);
        ck_assert_double_ge(note->numbers[2].value, 0.999 * moved);
        ck_assert_double_le(note->numbers[2].value, 1.5 * moved);
        ck_assert_int_eq(strstr(note->message, "from the mains") != NULL, false);
    }
    notes_clear(&notes);
}
END_TEST

START_TEST(mains_are_named_and_told_of_unsteady_captures_too)
{
    static const struct {
        double frequency;
        bool is_mains;
    } list[] = {{100.2, true}, {179.7, true}, {130.0, false}, {61.0, false}};
    set_ellipse();
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        for (int is_unsteady = 0; is_unsteady < 2; is_unsteady++) {
            struct notes notes = {0};
            set_stray(list[i].frequency, 0.1);
            bench.fit.phase_drift_rad = is_unsteady ? 0.1 : 1e-5;
            evidence_add_notes(&bench.evidence, &notes);
            const struct note *note = find_note(&notes, "hum");
            ck_assert_int_eq(note != NULL, list[i].is_mains || !is_unsteady);
            ck_assert(note == NULL ||
                      (strstr(note->message, "as from the mains") != NULL) == list[i].is_mains);
            notes_clear(&notes);
        }
    }
}
END_TEST

/* At 19.3 samples a cycle harmonic 11 comes back from 550 Hz at 415 Hz. */
static const struct {
    double frequency, share;
    size_t harmonics;
    const char *code;
    int level;
} fold_list[] = {{415.0, 0.0101, TOP, "undersampled", WARNING},
    {415.0, 0.0099, TOP, "undersampled", INFO}, {415.0, 0.0009, TOP, NULL, NONE},
    {415.15, 0.0101, TOP, "undersampled", WARNING}, {412.0, 0.0101, TOP, "hum", INFO},
    {415.0, 0.0101, 5, "hum", INFO}};

START_TEST(a_folded_harmonic_is_not_hum_but_undersampling)
{
    struct notes notes = {0};
    set_ellipse();
    bench.fit.samples_per_cycle = 19.3;
    bench.fit.harmonics_limit = 9;
    bench.fit.harmonics = fold_list[_i].harmonics;
    set_stray(fold_list[_i].frequency, 0.5 * fold_list[_i].share);
    evidence_add_notes(&bench.evidence, &notes);
    const struct note *folded = find_note(&notes, "undersampled");
    const struct note *hum = find_note(&notes, "hum");
    const char *code = fold_list[_i].code;
    ck_assert_int_eq(folded != NULL, code != NULL && strcmp(code, "undersampled") == 0);
    ck_assert_int_eq(hum != NULL, code != NULL && strcmp(code, "hum") == 0);
    if (folded != NULL) {
        ck_assert_int_eq(folded->level, fold_list[_i].level);
        ck_assert_double_eq_tol(folded->numbers[0].value, fold_list[_i].share, 1e-12);
        ck_assert_double_eq(
            folded->numbers[0].limit, fold_list[_i].level == WARNING ? 0.01 : 0.001);
        ck_assert_double_eq(folded->numbers[1].value, fold_list[_i].frequency);
        ck_assert_double_eq(folded->numbers[2].value, 11.0);
    }
    notes_clear(&notes);
}
END_TEST

/* ---- traces ---- */

START_TEST(a_trace_has_the_notes_of_traces_only)
{
    static const struct {
        double share; /* |gap| Hm / W */
        size_t dropped;
        int level;
    } list[] = {{0.00499, 0, NONE}, {0.00501, 0, WARNING}, {-0.00501, 0, WARNING}, {0.0, 1, INFO}};
    bench.evidence.fit = NULL;
    bench.evidence.survey = NULL;
    set_offset(1.0); /* what is no matter for a trace */
    set_cycles(1.0);
    set_form_factor(2.0);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        size_t others;
        set_figure(FIGURE_CLOSURE_GAP, list[i].share * 8000.0 / 8000.0);
        bench.evidence.trace_dropped = list[i].dropped;
        ck_assert_int_eq(find_level("drift", &others), list[i].level);
        ck_assert_uint_eq(others, 0);
    }
    size_t others;
    set_ratio(1.5);
    set_saturation(2.0);
    bench.evidence.trace_dropped = 0;
    ck_assert_int_eq(find_level("thick-ring", &others), WARNING);
    ck_assert_uint_eq(others, 1); /* unsaturated */
}
END_TEST

/* ---- clipped tops and repeated frames, from samples ---- */

/* A recording of rounded samples, surveyed and fitted. */
struct recording {
    double samples_per_cycle;
    int bits;
    double level;      /* of full scale */
    double third;      /* third harmonic of both inputs: > 0 flattens the tops */
    double clip;       /* at this share of the peak; 1: not */
    size_t held_every; /* frames; 0: none held */
    size_t held;       /* frames that repeat the one before */
};

static void record(const struct recording *recording)
{
    enum { FRAMES = 12000 };
    double *values = malloc(2 * FRAMES * sizeof *values);
    const double steps = ldexp(1.0, recording->bits - 1);
    for (size_t n = 0; n < FRAMES; n++) {
        for (int m = 0; m < 2; m++) {
            const double x = 2.0 * PI * (double)n / recording->samples_per_cycle - 0.7 * m + 0.123;
            double wave = cos(x) - recording->third * cos(3.0 * x);
            const double limit = recording->clip * (1.0 - recording->third);
            wave = m == 0 ? fmax(-limit, fmin(limit, wave)) : wave;
            values[2 * n + m] = fmin(round(recording->level * wave * steps), steps - 1.0) / steps;
        }
        if (recording->held_every > 0 && n >= 1000 && n % recording->held_every < recording->held) {
            values[2 * n] = values[2 * n - 2];
            values[2 * n + 1] = values[2 * n - 1];
        }
    }
    survey_init(&bench.survey);
    survey_add(&bench.survey, values, FRAMES);
    const struct periodic_options options = {.channels = 2, .sample_rate_Hz = 8000.0};
    struct periodic *periodic = periodic_create(&options, NULL);
    struct error err = {0};
    ck_assert(!periodic_add(periodic, values, NULL, FRAMES, &err));
    ck_assert_msg(!periodic_finish(periodic, &bench.fit, &err), "%s", err.message);
    periodic_destroy(periodic);
    excerpt_clear(&bench.excerpt);
    ck_assert(!excerpt_add(&bench.excerpt, values, FRAMES, &err));
    bench.evidence.excerpt = &bench.excerpt;
    bench.info.bits = recording->bits;
    bench.info.frames = bench.info.frames_expected = FRAMES;
    free(values);
}

static const struct recording honest_list[] = {
    {160.3, 24, 0.9, 0.0, 1.0, 0, 0},
    {160.3, 16, 0.9, 0.0, 1.0, 0, 0},
    {160.0, 16, 0.99997, 0.0, 1.0, 0, 0}, /* up to the last step */
    {2400.7, 24, 0.5, 0.0, 1.0, 0, 0},
    {2400.7, 16, 0.5, 0.0, 1.0, 0, 0}, /* tops of many equal samples */
    {2400.7, 16, 0.05, 0.0, 1.0, 0, 0},
    {400.3, 16, 0.8, 0.1, 1.0, 0, 0}, /* flat tops */
    {400.3, 24, 0.8, -0.2, 1.0, 0, 0},
    {13.7, 16, 0.9, 0.0, 1.0, 0, 0},
    {800.0, 16, 0.3, 0.0, 1.0, 0, 0},   /* the same samples in every cycle */
    {4000.0, 16, 0.3, 0.11, 1.0, 0, 0}, /* as flat as x^4 */
    {4000.3, 24, 0.3, 0.11, 1.0, 0, 0},
};

START_TEST(honest_tops_are_neither_clipped_nor_held)
{
    struct notes notes = {0};
    record(&honest_list[_i]);
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert(!notes_has(&notes, "clipped"));
    ck_assert(!notes_has(&notes, "dropout"));
    notes_clear(&notes);
    periodic_fit_clear(&bench.fit);
}
END_TEST

static const struct recording spoiled_list[] = {
    {160.3, 24, 0.5, 0.0, 0.97, 0, 0},
    {160.3, 16, 0.5, 0.0, 0.97, 0, 0},
    {160.3, 16, 1.03, 0.0, 1.0, 0, 0}, /* at full scale */
    {2400.7, 16, 0.5, 0.0, 0.95, 0, 0},
    {686.4, 16, 0.116, 0.0, 0.998, 0, 0}, /* a plateau shorter than an honest flat top */
    {400.3, 24, 0.5, 0.0, 0.98, 0, 0},
};

START_TEST(clipped_tops_are_noted)
{
    struct notes notes = {0};
    record(&spoiled_list[_i]);
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert(notes_has(&notes, "clipped"));
    ck_assert(notes_find_fatal(&notes) == NULL);
    notes_clear(&notes);
    periodic_fit_clear(&bench.fit);
}
END_TEST

START_TEST(held_frames_are_noted_with_their_place)
{
    static const struct recording held = {160.3, 24, 0.5, 0.0, 1.0, 4000, 12};
    struct notes notes = {0};
    record(&held);
    evidence_add_notes(&bench.evidence, &notes);
    ck_assert(notes_has(&notes, "dropout"));
    for (size_t i = 0; i < notes.count; i++) {
        if (strcmp(notes.list[i].code, "dropout") == 0) {
            /* frames are counted from 1; 4000 ... 4011 repeat the 4000th of them */
            ck_assert_ptr_nonnull(
                strstr(notes.list[i].message, "12 frames from frame 4000 on repeat"));
        }
    }
    notes_clear(&notes);
    periodic_fit_clear(&bench.fit);
}
END_TEST

/* ---- notes as data ---- */

START_TEST(notes_are_kept_in_order_and_written_as_json)
{
    struct notes notes = {0};
    struct text text = {0};
    struct json json;
    notes_add(&notes, "short", NOTE_INFO, "record 50 % more", "%d cycles", 7);
    notes_add(&notes, "swapped", NOTE_FATAL, "exchange", "the \"loop\" runs backwards");
    notes_add(&notes, "drift", NOTE_FATAL, "null it", "second fatal");
    notes_add(&notes, "clipped", NOTE_WARNING, "less", "full");
    notes_set_subject(&notes, "pickup");
    notes_add_measure(&notes, "run_samples", 7.0, 3.0);
    notes_add_number(&notes, "count", 9.0);
    notes_add_number(&notes, "unknown", NAN);
    ck_assert_uint_eq(notes.list[3].number_count, 2);
    ck_assert(notes_has(&notes, "short") && notes_has(&notes, "drift"));
    ck_assert(!notes_has(&notes, "hum"));
    ck_assert_str_eq(notes_find_fatal(&notes)->code, "swapped");
    ck_assert_str_eq(note_level_get_name(NOTE_WARNING), "warning");
    json_init(&json, &text, 0);
    json_begin_object(&json, NULL);
    notes_write_json(&json, "notes", &notes);
    json_end_object(&json);
    ck_assert_ptr_nonnull(strstr(text.bytes, "{\"code\": \"short\", \"level\": \"info\", "
                                             "\"message\": \"7 cycles\", \"hint\": \"record 50 % "
                                             "more\"}"));
    ck_assert_ptr_nonnull(strstr(text.bytes,
        "\"level\": \"warning\", \"subject\": \"pickup\", \"message\": \"full\", "
        "\"hint\": \"less\", \"numbers\": {\"run_samples\": 7, \"limit_run_samples\": 3, "
        "\"count\": 9}}"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "the \\\"loop\\\" runs backwards"));
    text_clear(&text);
    notes_clear(&notes);
    ck_assert_uint_eq(notes.count, 0);
    ck_assert_ptr_null(notes_find_fatal(&notes));
    notes_clear(&notes);
}
END_TEST

START_TEST(numbers_without_a_note_or_beyond_their_places_are_left_out)
{
    struct notes notes = {0};
    notes_add_number(&notes, "count", 1.0);
    notes_set_subject(&notes, "pickup");
    ck_assert_uint_eq(notes.count, 0);
    notes_add(&notes, "short", NOTE_INFO, "", "few");
    ck_assert_ptr_null(notes.list[0].subject);
    for (int i = 0; i < NOTE_NUMBERS + 3; i++) {
        notes_add_number(&notes, "count", i);
    }
    ck_assert_uint_eq(notes.list[0].number_count, NOTE_NUMBERS);
    notes_clear(&notes);
}
END_TEST

START_TEST(a_message_that_is_too_long_is_cut)
{
    struct notes notes = {0};
    char words[500];
    memset(words, 'a', sizeof words - 1);
    words[sizeof words - 1] = '\0';
    notes_add(&notes, "short", NOTE_INFO, words, "%s", words);
    ck_assert_uint_eq(strlen(notes.list[0].message), sizeof notes.list[0].message - 1);
    ck_assert_uint_eq(strlen(notes.list[0].hint), sizeof notes.list[0].hint - 1);
    notes_clear(&notes);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *notes_suite(void)
{
    Suite *suite = suite_create("notes");
    TCase *tests = tcase_create("notes");
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_clean_loop_has_no_note);
    tcase_add_loop_test(
        tests, a_note_stands_at_its_limit_and_not_below_it, 0, 2 * LENGTH(limit_list));
    tcase_add_loop_test(tests, hum_is_judged_by_how_far_it_moves_a_figure, 0, LENGTH(hum_list));
    tcase_add_loop_test(tests, a_note_tells_the_figures_of_its_bench, 0, LENGTH(message_list));
    tcase_add_test(tests, what_an_uncertain_delay_turns_is_told_in_degrees);
    tcase_add_test(tests, what_moves_in_few_cycles_is_held_against_frequency_and_lag);
    tcase_add_test(tests, mains_are_named_and_told_of_unsteady_captures_too);
    tcase_add_loop_test(
        tests, a_folded_harmonic_is_not_hum_but_undersampling, 0, LENGTH(fold_list));
    tcase_add_test(tests, a_trace_has_the_notes_of_traces_only);
    tcase_add_loop_test(tests, honest_tops_are_neither_clipped_nor_held, 0, LENGTH(honest_list));
    tcase_add_loop_test(tests, clipped_tops_are_noted, 0, LENGTH(spoiled_list));
    tcase_add_test(tests, held_frames_are_noted_with_their_place);
    tcase_add_test(tests, notes_are_kept_in_order_and_written_as_json);
    tcase_add_test(tests, numbers_without_a_note_or_beyond_their_places_are_left_out);
    tcase_add_test(tests, a_message_that_is_too_long_is_cut);
    suite_add_tcase(suite, tests);
    return suite;
}
