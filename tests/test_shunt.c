// SPDX-License-Identifier: GPL-3.0-or-later
/* A shunt against a known resistor, on the virtual bench. */
#include "calibrate/shunt.h"

#include <math.h>
#include <string.h>

#include "ring_text.h"
#include "scratch.h"
#include "suites.h"
#include "virtual/bench.h"

#define SOURCE                                                                                     \
    "series: {field: '1: 3 kA/m, 0 deg; 5: 2 kA/m, 40 deg; 60: 1 kA/m, 7 deg'}\n"                  \
    "drive: {frequency: 97 Hz}\n"
#define RECORDING(words)                                                                           \
    "recording: {kind: shunt comparison, format: wav, encoding: double, sample_rate: 48 kHz, "     \
    "reference: 104.3 mohm, " words "}\n"

static const char *const rig_text =
    "rig:\n"
    "  inputs:\n"
    "    excitation: {channel: 1, full_scale: 1.537 V ± 0.006 V, shunt: 51.7 mohm}\n"
    "    pickup: {channel: 2, full_scale: 1.561 V ± 0.0062 V, divider: 2.5 ± 0.001, corner: 1.7 "
    "Hz}\n"
    "  timing: {pickup_delay: 2.1 us ± 0.02 us}\n"
    "  coupling: {corner: 3.4 Hz}\n"
    "  winding: {primary_turns: 400, secondary_turns: 100}\n";

static void make(const char *recording, const char *faults, uint64_t seed)
{
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(
        &(struct ring_text){
            .source = SOURCE, .recording = recording, .rig = rig_text, .faults = faults},
        &ring);
    ck_assert_msg(!bench_run(&ring, "out", seed, &err), "%s", err.message);
    ring_clear(&ring);
}

static struct quantity known(double value, double u)
{
    return (struct quantity){
        .value = value, .half_width = 2 * u, .is_present = true, .has_uncertainty = true};
}

/* Calibrates with the rig beside the recording. */
static enum status get_shunt(
    bool is_one_meter, double u_reference, struct calibration *calibration, struct error *err)
{
    struct rig rig = {0};
    ck_assert(!rig_read("out/rig.yaml", &rig, NULL));
    rig.has_same_calibrator = is_one_meter;
    const struct shunt_options options = {.capture = "out/capture.wav",
        .rig = &rig,
        .reference = known(0.1043, u_reference),
        .constant = known(0, 1e-9)};
    const enum status status = shunt_calibrate(&options, calibration, err);
    rig_clear(&rig);
    return status;
}

static const struct finding *find(const struct calibration *calibration, const char *label)
{
    for (size_t i = 0; i < calibration->count; i++)
        if (strstr(calibration->list[i].label, label))
            return &calibration->list[i];
    ck_abort_msg("nothing is called '%s'", label);
    return NULL;
}

static bool has_note(const struct calibration *calibration, const char *code)
{
    return notes_has(&calibration->notes, code);
}

START_TEST(resistance_and_inductance_are_found)
{
    make(RECORDING("duration: 1.0137 s, inductance: 73 nH"), NULL, 1);
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_msg(!get_shunt(false, 2e-5, &calibration, &err), "%s", err.message);
    const struct finding *shunt = find(&calibration, "resistance");
    const struct finding *inductance = find(&calibration, "inductance");
    ck_assert_double_eq_tol(shunt->value, 51.7e-3, 1e-11);
    ck_assert_double_eq_tol(inductance->value, 73e-9, 1e-15);
    ck_assert_str_eq(shunt->key_path, "inputs.excitation.shunt");
    ck_assert_str_eq(inductance->key_path, "inputs.excitation.inductance");
    ck_assert_double_eq_tol(find(&calibration, "L/R")->value, 73e-9 / 51.7e-3, 1e-14);
    const double angle = atan(6.283185307179586 * 60 * 97 * 73e-9 / 51.7e-3) * 57.29577951;
    ck_assert_double_eq_tol(find(&calibration, "angle")->value, angle, 1e-3 * angle);
    /* R = R0 F1 v1 / (F2 d2 v2); a delay acts as R times itself, as does the known L0/R0 */
    const double ratio = hypot(0.003 / 1.537, 0.0031 / 1.561);
    const double relative = hypot(hypot(ratio, 0.0005 / 2.5), 2e-5 / 0.1043);
    ck_assert_double_eq_tol(shunt->u / shunt->value, relative, 1e-3 * relative);
    /* the inductance has a share of 2.2 % of all relative errors: L/R over the delay's 1e-8 s */
    const double u = 51.7e-3 * hypot(1e-8, 1e-9);
    ck_assert_double_eq_tol(inductance->u, hypot(u, 73e-9 * relative), 1e-3 * u);
    ck_assert(has_note(&calibration, "two-meters"));
    ck_assert(!has_note(&calibration, "varies"));
    calibration_clear(&calibration);
}
END_TEST

START_TEST(one_meter_for_both_inputs_cancels)
{
    make(RECORDING("duration: 1.0137 s"), "faults: {reversed: {pickup: yes}}\n", 1);
    struct calibration calibration = {0};
    ck_assert(!get_shunt(true, 2e-5, &calibration, NULL));
    const struct finding *shunt = find(&calibration, "resistance");
    const double r1 = 0.003 / 1.537, r2 = 0.0031 / 1.561; /* the second has a ratio's in addition */
    const double relative = hypot(hypot(sqrt(r2 * r2 - r1 * r1), 0.0005 / 2.5), 2e-5 / 0.1043);
    ck_assert_double_eq_tol(shunt->value, 51.7e-3, 1e-11);
    ck_assert_double_eq_tol(shunt->u / shunt->value, relative, 1e-3 * relative);
    ck_assert_ptr_null(find(&calibration, "inductance")->key_path);
    ck_assert(has_note(&calibration, "unidentified"));
    ck_assert(has_note(&calibration, "reversed"));
    ck_assert(!has_note(&calibration, "two-meters"));
    calibration_clear(&calibration);
}
END_TEST

/* The sum of 30 squares of error over u is between 13.8 and 53.7 in 99.5 of 100 cases (chi-square,
 * 30 degrees); the lower limit leaves room for the other inputs' u, of no account here. */
START_TEST(noise_is_told_at_its_size)
{
    double sums[2] = {0};
    for (uint64_t seed = 1; seed <= 30; seed++) {
        struct calibration calibration = {0};
        make(RECORDING("rows: 9600, inductance: 73 nH"),
            "faults: {noise: {excitation: 1 mV, pickup: 2 mV}}\n", seed);
        struct rig rig = {0};
        ck_assert(!rig_read("out/rig.yaml", &rig, NULL));
        rig.excitation.full_scale.has_uncertainty = rig.pickup.full_scale.has_uncertainty = false;
        rig.pickup.divider.has_uncertainty = rig.pickup_delay.has_uncertainty = false;
        ck_assert(!shunt_calibrate(
            &(struct shunt_options){
                .capture = "out/capture.wav", .rig = &rig, .reference = known(0.1043, 1e-12)},
            &calibration, NULL));
        const struct finding *shunt = find(&calibration, "resistance");
        const struct finding *inductance = find(&calibration, "inductance");
        sums[0] += pow((shunt->value - 51.7e-3) / shunt->u, 2);
        sums[1] += pow((inductance->value - 73e-9) / inductance->u, 2);
        rig_clear(&rig);
        calibration_clear(&calibration);
    }
    for (int i = 0; i < 2; i++)
        ck_assert_msg(sums[i] > 0.6 * 13.8 && sums[i] < 53.7, "%d: %g", i, sums[i]);
}
END_TEST

START_TEST(tones_that_do_not_follow_one_inductance_are_told)
{
    make(RECORDING("duration: 1.0137 s, inductance: 73 nH"),
        "faults: {coupling: {pickup: 20 Hz}, noise: {excitation: 10 uV, pickup: 10 uV}}\n", 1);
    struct calibration calibration = {0};
    ck_assert(!get_shunt(false, 2e-5, &calibration, NULL));
    ck_assert(has_note(&calibration, "varies"));
    calibration_clear(&calibration);
}
END_TEST

START_TEST(refuses_inputs_that_cannot_be_compared)
{
    struct calibration calibration = {0};
    struct error err = {0};
    struct rig rig = {0};
    make(RECORDING("rows: 9600"), NULL, 1);
    ck_assert(!rig_read("out/rig.yaml", &rig, NULL));
    rig.pickup.full_scale.is_present = false;
    const struct shunt_options options = {
        .capture = "out/capture.wav", .rig = &rig, .reference = known(0.1, 1e-5)};
    ck_assert_int_eq(shunt_calibrate(&options, &calibration, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "the rig lacks the full scale of an input"));
    rig.pickup.quantity = INPUT_FLUX_DENSITY;
    ck_assert_int_eq(shunt_calibrate(&options, &calibration, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "a shunt is compared by two voltages"));
    rig_clear(&rig);
}
END_TEST

Suite *shunt_suite(void)
{
    Suite *suite = suite_create("shunt");
    TCase *tests = tcase_create("shunt");
    tcase_set_timeout(tests, 120);
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, resistance_and_inductance_are_found);
    tcase_add_test(tests, one_meter_for_both_inputs_cancels);
    tcase_add_test(tests, noise_is_told_at_its_size);
    tcase_add_test(tests, tones_that_do_not_follow_one_inductance_are_told);
    tcase_add_test(tests, refuses_inputs_that_cannot_be_compared);
    suite_add_tcase(suite, tests);
    return suite;
}
