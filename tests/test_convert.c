// SPDX-License-Identifier: GPL-3.0-or-later
/* What a bench records, written here from physics alone, must come back as the H and B it was made
 * from. */
#include "loop/convert.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "suites.h"

static const double PI = 3.14159265358979323846;
static const double MU0 = 4e-7 * 3.14159265358979323846;

static struct quantity give(double value)
{
    return (struct quantity){.value = value, .is_present = true};
}

/* ---- the bench ---- */

enum pickup_kind { COIL, FLUXMETER, LINKAGE, LINKAGE_OF_J, DENSITY, POLARIZATION };
enum excitation_kind { SHUNT, TRANSFER, CURRENT, FIELD };

/* A bench and a ring; 0 means not there. */
struct bench {
    const char *name;
    enum excitation_kind excitation;
    enum pickup_kind pickup;
    bool is_audio;
    double full_scale[2], divider[2];
    bool is_inverted[2];
    double shunt, transfer;
    double corner[2], common_corner; /* Hz */
    double delay;                    /* s */
    double resistance, capacitance;  /* of a passive integrator */
    double fluxmeter;                /* Wb/V */
    double inductance, warmth;       /* of the shunt: H; relative change of its resistance */
    double input[2], source[2];      /* ohm: of the input, of what feeds it */
    double rig_turns[2], specimen_turns[2];
    double rig_area, specimen_area; /* of the pickup turns */
    bool keeps_bias;
};

static const double length = 0.1131, area = 24.07e-6;

static const struct bench bench_list[] = {
    {.name = "sound card, shunt",
        .is_audio = true,
        .full_scale = {1.55, 1.41},
        .shunt = 0.1,
        .rig_turns = {200, 100}},
    {.name = "transfer, dividers, one inverted",
        .excitation = TRANSFER,
        .is_audio = true,
        .full_scale = {10.0, 0.3},
        .transfer = 4.7,
        .divider = {2.0, 11.02},
        .is_inverted = {true, false},
        .rig_turns = {137, 59}},
    {.name = "both inverted, a table of volts",
        .shunt = 0.05,
        .divider = {0.0, 10.0},
        .is_inverted = {true, true},
        .rig_turns = {400, 33}},
    {.name = "a common corner and a delay",
        .is_audio = true,
        .full_scale = {1.0, 1.0},
        .shunt = 1.0,
        .common_corner = 3.4,
        .delay = 2.1e-6,
        .rig_turns = {200, 100}},
    {.name = "a corner of each input",
        .is_audio = true,
        .full_scale = {1.0, 1.0},
        .shunt = 1.0,
        .corner = {7.1, 0.9},
        .common_corner = 100.0,
        .delay = -1e-4,
        .rig_turns = {200, 100}},
    {.name = "one corner, the other input takes the common one",
        .shunt = 1.0,
        .corner = {0.0, 0.9},
        .common_corner = 2.0,
        .rig_turns = {200, 100}},
    {.name = "a passive integrator ahead of the input",
        .shunt = 0.1,
        .resistance = 1e5,
        .capacitance = 1e-6,
        .divider = {0.0, 11.0},
        .delay = 1e-5,
        .rig_turns = {200, 100}},
    {.name = "a fluxmeter",
        .pickup = FLUXMETER,
        .shunt = 0.1,
        .fluxmeter = 0.01,
        .is_inverted = {false, true},
        .rig_turns = {200, 100}},
    {.name = "current and flux linkage",
        .excitation = CURRENT,
        .pickup = LINKAGE,
        .delay = 3e-5,
        .rig_turns = {62, 41}},
    {.name = "flux linkage with the air flux already removed",
        .excitation = CURRENT,
        .pickup = LINKAGE_OF_J,
        .rig_turns = {62, 41},
        .rig_area = 60e-6},
    {.name = "field strength and flux density",
        .excitation = FIELD,
        .pickup = DENSITY,
        .divider = {1.01, 0.99}},
    {.name = "field strength and polarization", .excitation = FIELD, .pickup = POLARIZATION},
    {.name = "a wide pickup coil",
        .is_audio = true,
        .full_scale = {1.0, 1.0},
        .shunt = 1.0,
        .rig_turns = {2000, 100},
        .rig_area = 90e-6},
    {.name = "a wide pickup coil at a fluxmeter",
        .pickup = FLUXMETER,
        .shunt = 1.0,
        .fluxmeter = 2.385e-3,
        .rig_turns = {2000, 100},
        .rig_area = 90e-6},
    {.name = "a winding of the specimen's own",
        .shunt = 0.1,
        .rig_turns = {200, 100},
        .specimen_turns = {310, 77},
        .rig_area = 90e-6},
    {.name = "a winding of the specimen's own with its area",
        .shunt = 0.1,
        .rig_turns = {200, 100},
        .specimen_turns = {310, 77},
        .rig_area = 90e-6,
        .specimen_area = 44e-6},
    {.name = "a bias that is real", .shunt = 0.1, .rig_turns = {200, 100}, .keeps_bias = true},
    {.name = "a shunt with an inductance, warm, at an input that loads it",
        .is_audio = true,
        .full_scale = {1.0, 1.0},
        .shunt = 47.0,
        .inductance = 3e-3,
        .warmth = 0.02,
        .input = {1e3, 2e3},
        .source = {0.0, 300.0},
        .rig_turns = {200, 100}},
    {.name = "a divider and an integrator at inputs that load them",
        .is_audio = true,
        .full_scale = {1.0, 1.0},
        .shunt = 1.0,
        .divider = {3.0, 0.0},
        .resistance = 1e4,
        .capacitance = 1e-6,
        .input = {1e3, 5e4},
        .source = {700.0, 120.0},
        .rig_turns = {200, 100}},
    {.name = "everything at once",
        .is_audio = true,
        .full_scale = {1.55, 0.9},
        .divider = {3.0, 11.0},
        .is_inverted = {true, true},
        .shunt = 0.047,
        .corner = {5.0, 0.0},
        .common_corner = 1.7,
        .delay = 7e-6,
        .resistance = 47e3,
        .capacitance = 470e-9,
        .rig_turns = {100, 50},
        .specimen_turns = {331, 97},
        .specimen_area = 41e-6,
        .keeps_bias = true},
};

/* What the bench's parts do to H and B at one frequency; DC only reaches the excitation. */
static void record(const struct bench *bench, double complex h, double complex b, double frequency,
    double complex *first, double complex *second)
{
    const bool has_own = bench->specimen_turns[0] > 0.0;
    const double *turns = has_own ? bench->specimen_turns : bench->rig_turns;
    const double coil = has_own ? bench->specimen_area : bench->rig_area;
    const double complex s = I * 2.0 * PI * frequency;
    /* excitation */
    double complex x = h;
    if (bench->excitation != FIELD) {
        x *= length / turns[0]; /* current */
    }
    if (bench->excitation == SHUNT) {
        const double shunt = bench->shunt * (1.0 + bench->warmth);
        x *= shunt + s * bench->inductance;
        if (bench->input[0] > 0.0 && bench->source[0] == 0.0) {
            x *= bench->input[0] / (bench->input[0] + shunt);
        }
    } else if (bench->excitation == TRANSFER) {
        x /= bench->transfer;
    }
    /* pickup */
    const double air = coil > 0.0 ? MU0 * (coil - area) : 0.0;
    const double complex flux = area * b + air * h;
    double complex y = bench->pickup == DENSITY        ? b
                       : bench->pickup == POLARIZATION ? b - MU0 * h
                       : bench->pickup == LINKAGE_OF_J ? turns[1] * area * (b - MU0 * h)
                                                       : turns[1] * flux;
    if (bench->pickup == COIL) {
        y *= s;
    } else if (bench->pickup == FLUXMETER) {
        y /= bench->fluxmeter;
    }
    /* what feeds an input and the input itself divide the voltage; with a capacitor beside it the
     * input is 1 / (1/Ri + s C) */
    if (bench->source[0] > 0.0) {
        x *= bench->input[0] / (bench->input[0] + bench->source[0]);
    }
    const double leak = bench->input[1] > 0.0 ? 1.0 / bench->input[1] : 0.0;
    y /= 1.0 + (bench->resistance + bench->source[1]) * (leak + s * bench->capacitance);
    y *= cexp(s * bench->delay); /* sampled later */
    double complex *const out[2] = {first, second};
    const double complex in[2] = {x, y};
    for (int m = 0; m < 2; m++) {
        const double corner = bench->corner[m] > 0.0 ? bench->corner[m] : bench->common_corner;
        double complex z = in[m] / (bench->divider[m] > 0.0 ? bench->divider[m] : 1.0);
        if (corner > 0.0) { /* a capacitor and a resistor: s RC / (1 + s RC), RC = 1/(2 pi fc) */
            const double complex src = s / (2.0 * PI * corner);
            z *= src / (1.0 + src);
        }
        *out[m] = (bench->is_inverted[m] ? -1.0 : 1.0) * z /
                  (bench->is_audio ? bench->full_scale[m] : 1.0);
    }
}

static struct winding get_winding(const double turns[2], double coil)
{
    struct winding winding = {.is_present = turns[0] > 0.0};
    if (winding.is_present) {
        winding.primary_turns = give(turns[0]);
        winding.secondary_turns = give(turns[1]);
    }
    if (coil > 0.0) {
        winding.secondary_area = give(coil);
    }
    return winding;
}

static struct quantity give_unless_zero(double value)
{
    return value != 0.0 ? give(value) : (struct quantity){0};
}

/* The bench as its user writes it down. */
static void describe(const struct bench *bench, struct rig *rig, struct specimen *specimen)
{
    static const enum input_quantity first[] = {[SHUNT] = INPUT_VOLTAGE,
        [TRANSFER] = INPUT_VOLTAGE,
        [CURRENT] = INPUT_CURRENT,
        [FIELD] = INPUT_FIELD_STRENGTH};
    static const enum input_quantity second[] = {[COIL] = INPUT_VOLTAGE,
        [FLUXMETER] = INPUT_VOLTAGE,
        [LINKAGE] = INPUT_FLUX_LINKAGE,
        [LINKAGE_OF_J] = INPUT_FLUX_LINKAGE,
        [DENSITY] = INPUT_FLUX_DENSITY,
        [POLARIZATION] = INPUT_POLARIZATION};
    *rig = (struct rig){.corner = give_unless_zero(bench->common_corner),
        .pickup_delay = give_unless_zero(bench->delay),
        .winding = get_winding(bench->rig_turns, bench->rig_area)};
    struct rig_input *const inputs[2] = {&rig->excitation, &rig->pickup};
    for (int m = 0; m < 2; m++) {
        inputs[m]->full_scale = give_unless_zero(bench->full_scale[m]);
        inputs[m]->divider = give_unless_zero(bench->divider[m]);
        inputs[m]->corner = give_unless_zero(bench->corner[m]);
        inputs[m]->input_resistance = give_unless_zero(bench->input[m]);
        inputs[m]->source_resistance = give_unless_zero(bench->source[m]);
        inputs[m]->is_inverted = bench->is_inverted[m];
    }
    rig->excitation.quantity = first[bench->excitation];
    rig->excitation.shunt = give_unless_zero(bench->shunt);
    rig->excitation.inductance = give_unless_zero(bench->inductance);
    if (bench->warmth != 0.0) {
        rig->excitation.shunt_coefficient = give(bench->warmth / 40.0);
        rig->excitation.shunt_reference = give(293.15);
        rig->excitation.shunt_actual = give(333.15);
    }
    rig->excitation.transfer = give_unless_zero(bench->transfer);
    rig->excitation.keeps_bias = bench->keeps_bias;
    rig->pickup.quantity = second[bench->pickup];
    rig->pickup.fluxmeter = give_unless_zero(bench->fluxmeter);
    rig->pickup.integrator_resistance = give_unless_zero(bench->resistance);
    rig->pickup.integrator_capacitance = give_unless_zero(bench->capacitance);
    rig->pickup.air_flux_removed = bench->pickup == LINKAGE_OF_J;
    *specimen = (struct specimen){.path_length_m = length,
        .area_m2 = area,
        .winding = get_winding(bench->specimen_turns, bench->specimen_area)};
}

static const struct capture_channel columns[2] = {
    {.name = "first", .header = "", .unit = ""}, {.name = "second", .header = "", .unit = ""}};

static struct capture_info get_info(bool is_audio)
{
    return (struct capture_info){.kind = is_audio ? CAPTURE_AUDIO : CAPTURE_TABLE,
        .file = "capture",
        .channel_count = 2,
        .channels = columns};
}

/* ---- there and back ---- */

enum { TOP = 5 };
static const double frequency = 23.85;
static const double complex true_field[TOP + 1] = {
    310.0, 8000.0, 25.0 - 3.0 * I, 900.0 * I, 1.0, -40.0 + 20.0 * I};
static const double complex true_flux[TOP + 1] = {
    0.0, 0.9 - 0.7 * I, 0.01 * I, -0.1 + 0.02 * I, 1e-3, 0.04};

START_TEST(every_convention_of_a_bench_is_undone_exactly)
{
    const struct bench *bench = &bench_list[_i];
    struct rig rig;
    struct specimen specimen;
    struct conversion conversion;
    struct error err = {0};
    double complex first[TOP + 1], second[TOP + 1], field[TOP + 1], flux[TOP + 1];
    struct fourier_loop loop = {.harmonics = TOP, .field = field, .flux_density = flux};
    for (int k = 1; k <= TOP; k++) {
        record(bench, true_field[k], true_flux[k], k * frequency, &first[k], &second[k]);
    }
    struct bench coupled = *bench; /* its constants, without what blocks direct current */
    coupled.corner[0] = coupled.corner[1] = coupled.common_corner = 0.0;
    record(&coupled, true_field[0], 0.0, 0.0, &first[0], &second[0]);
    second[0] = 0.0123; /* an offset of the input: no field */
    describe(bench, &rig, &specimen);
    const struct capture_info info = get_info(bench->is_audio);
    ck_assert_msg(!conversion_init(&conversion, &rig, &specimen, &info, 0, 1, &err), "%s: %s",
        bench->name, err.message);
    conversion_apply(&conversion, frequency, first, second, &loop);
    for (int k = 1; k <= TOP; k++) {
        /* a dozen products */
        ck_assert_msg(cabs(field[k] - true_field[k]) < 4e-15 * cabs(true_field[k]),
            "%s: H at %d: %g %+g i", bench->name, k, creal(field[k]), cimag(field[k]));
        ck_assert_msg(cabs(flux[k] - true_flux[k]) < 4e-15 * cabs(true_flux[k]) + 1e-17,
            "%s: B at %d: %g %+g i", bench->name, k, creal(flux[k]), cimag(flux[k]));
    }
    ck_assert(flux[0] == 0.0);
    ck_assert_double_eq_tol(creal(field[0]), bench->keeps_bias ? 310.0 : 0.0, 1e-12);
    ck_assert_double_eq(cimag(field[0]), 0.0);
}
END_TEST

/* Rows of a trace: nothing that hangs on frequency. */
START_TEST(rows_of_a_trace_are_converted_alike)
{
    int count = 0;
    for (size_t i = 0; i < sizeof bench_list / sizeof bench_list[0]; i++) {
        const struct bench *bench = &bench_list[i];
        if (bench->pickup == COIL || bench->delay != 0.0) {
            continue;
        }
        struct rig rig;
        struct specimen specimen;
        struct conversion conversion;
        struct error err = {0};
        const struct capture_info info = get_info(false);
        double complex first, second;
        double field, flux;
        describe(bench, &rig, &specimen);
        rig.is_trace = true;
        ck_assert_msg(
            !conversion_init(&conversion, &rig, &specimen, &info, 0, 1, &err), "%s", err.message);
        record(bench, 2385.0, -0.77, 0.0, &first, &second);
        conversion_apply_row(&conversion, creal(first), creal(second), &field, &flux);
        ck_assert_msg(fabs(field / 2385.0 - 1.0) < 4e-15 && fabs(flux / -0.77 - 1.0) < 4e-15,
            "%s: %.17g, %.17g", bench->name, field, flux);
        count++;
    }
    ck_assert_int_ge(count, 5);
}
END_TEST

START_TEST(other_values_of_the_same_rig_need_no_capture)
{
    for (size_t i = 0; i < sizeof bench_list / sizeof bench_list[0]; i++) {
        struct rig rig;
        struct specimen specimen;
        struct conversion whole = {0}, part = {0};
        describe(&bench_list[i], &rig, &specimen);
        const struct capture_info info = get_info(bench_list[i].is_audio);
        ck_assert(!conversion_init(&whole, &rig, &specimen, &info, 0, 1, NULL));
        ck_assert(!conversion_set(&part, &rig, &specimen, bench_list[i].is_audio, NULL));
        ck_assert_double_eq(whole.excitation_gain, part.excitation_gain);
        ck_assert_double_eq(whole.pickup_gain, part.pickup_gain);
        ck_assert_double_eq(whole.linkage_to_density, part.linkage_to_density);
        ck_assert_double_eq(whole.air_share, part.air_share);
        ck_assert_int_eq(whole.pickup, part.pickup);
    }
}
END_TEST

/* ---- refusals ---- */

enum fault {
    NO_EXCITATION_SCALE,
    NO_PICKUP_SCALE,
    AUDIO_CURRENT,
    AUDIO_FLUX,
    CURRENT_COLUMN,
    FLUX_COLUMN,
    POLARIZATION_COLUMN,
    NO_WINDING,
    NO_PICKUP_TURNS,
    NO_LENGTH,
    NO_AREA,
    TRACE_OF_VOLTS,
};

static const struct {
    enum fault fault;
    const char *message, *hint;
} fault_list[] = {
    {NO_EXCITATION_SCALE,
        "inputs.excitation.full_scale is missing in the rig, and 'capture' is an audio file",
        "give the voltage at digital full scale, such as full_scale: 1.550 V"},
    {NO_PICKUP_SCALE,
        "inputs.pickup.full_scale is missing in the rig, and 'capture' is an audio file",
        "give the voltage at digital full scale, such as full_scale: 1.550 V"},
    {AUDIO_CURRENT,
        "inputs.excitation.quantity: 'capture' is an audio file, whose samples are voltages",
        "leave 'quantity' out of the rig for audio files"},
    {AUDIO_FLUX, "inputs.pickup.quantity: 'capture' is an audio file, whose samples are voltages",
        "leave 'quantity' out of the rig for audio files"},
    {CURRENT_COLUMN,
        "inputs.excitation: column 'i' of 'capture' is in 'mA', but the rig expects voltage (V)",
        "name another column in inputs.channel, or set its quantity"},
    {FLUX_COLUMN,
        "inputs.pickup: column 'u' of 'capture' is in 'mV', but the rig expects flux (Wb)",
        "name another column in inputs.channel, or set its quantity"},
    {POLARIZATION_COLUMN,
        "inputs.pickup: column 'u' of 'capture' is in 'mV', but the rig expects flux density (T)",
        "name another column in inputs.channel, or set its quantity"},
    {NO_WINDING, "winding.primary_turns is given neither by the specimen nor by the rig",
        "count the turns and write them into the winding"},
    {NO_PICKUP_TURNS, "winding.secondary_turns is given neither by the specimen nor by the rig",
        "count the turns and write them into the winding"},
    {NO_LENGTH, "the specimen's path length is not known, so current gives no field",
        "give ring.outer_diameter and ring.inner_diameter"},
    {NO_AREA, "the specimen's cross-section is not known, so flux gives no flux density",
        "give ring.height, or ring.mass and ring.density, beside the diameters"},
    {TRACE_OF_VOLTS, "a trace has no time axis, so a pickup voltage cannot be integrated",
        "set inputs.pickup.quantity to flux linkage, flux density or polarization, or give"},
};

/* Breaks a good bench in one place. */
static void spoil(enum fault fault, struct rig *rig, struct specimen *specimen,
    struct capture_info *info, struct capture_channel list[2])
{
    static const struct quantity none = {0};
    switch (fault) {
    case NO_EXCITATION_SCALE:
        rig->excitation.full_scale = none;
        break;
    case NO_PICKUP_SCALE:
        rig->pickup.full_scale = none;
        break;
    case AUDIO_CURRENT:
        rig->excitation.quantity = INPUT_CURRENT;
        break;
    case AUDIO_FLUX:
        rig->pickup.quantity = INPUT_FLUX_LINKAGE;
        break;
    case CURRENT_COLUMN:
        info->kind = CAPTURE_TABLE;
        list[0] = (struct capture_channel){
            .name = "i", .unit = "mA", .has_unit = true, .dimension = DIMENSION_CURRENT};
        break;
    case FLUX_COLUMN:
    case POLARIZATION_COLUMN:
        info->kind = CAPTURE_TABLE;
        rig->pickup.quantity = fault == FLUX_COLUMN ? INPUT_FLUX_LINKAGE : INPUT_POLARIZATION;
        list[1] = (struct capture_channel){
            .name = "u", .unit = "mV", .has_unit = true, .dimension = DIMENSION_VOLTAGE};
        break;
    case NO_WINDING:
        rig->winding.is_present = false;
        break;
    case NO_PICKUP_TURNS:
        /* the specimen's winding replaces the rig's as a whole */
        specimen->winding = (struct winding){.is_present = true, .primary_turns = give(100)};
        break;
    case NO_LENGTH:
        specimen->path_length_m = 0.0;
        break;
    case NO_AREA:
        specimen->area_m2 = 0.0;
        break;
    case TRACE_OF_VOLTS:
        info->kind = CAPTURE_TABLE;
        rig->is_trace = true;
        break;
    }
}

START_TEST(what_is_missing_or_does_not_fit_is_refused_with_its_name)
{
    struct rig rig;
    struct specimen specimen;
    struct capture_info info = get_info(true);
    struct capture_channel list[2] = {columns[0], columns[1]};
    info.channels = list;
    describe(&bench_list[0], &rig, &specimen);
    spoil(fault_list[_i].fault, &rig, &specimen, &info, list);
    struct conversion conversion = {.air_share = 77.0};
    struct error err = {0};
    ck_assert_int_eq(
        conversion_init(&conversion, &rig, &specimen, &info, 0, 1, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, fault_list[_i].message);
    ck_assert_int_eq(strncmp(err.hint, fault_list[_i].hint, strlen(fault_list[_i].hint)), 0);
    ck_assert_double_eq(conversion.air_share, 77.0);
    /* of files: the one to be mended is named */
    const bool is_ring = fault_list[_i].fault >= NO_WINDING && fault_list[_i].fault <= NO_AREA;
    char wanted[200];
    rig.file = "bench/rig.yaml";
    specimen.file = "R-17.yaml";
    snprintf(wanted, sizeof wanted, "'%s': %s", is_ring ? specimen.file : rig.file,
        fault_list[_i].message);
    ck_assert_int_eq(
        conversion_init(&conversion, &rig, &specimen, &info, 0, 1, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, wanted);
}
END_TEST

START_TEST(columns_that_carry_field_and_flux_density_need_no_ring)
{
    struct rig rig;
    struct specimen specimen = {0};
    struct specimen ignored;
    const struct bench bench = {.excitation = FIELD, .pickup = DENSITY};
    struct conversion conversion;
    describe(&bench, &rig, &ignored);
    const struct capture_info info = get_info(false);
    ck_assert(!conversion_init(&conversion, &rig, &specimen, &info, 0, 1, NULL));
    double field, flux;
    conversion_apply_row(&conversion, 12.5, 0.25, &field, &flux);
    ck_assert_double_eq(field, 12.5);
    ck_assert_double_eq(flux, 0.25);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *convert_suite(void)
{
    Suite *suite = suite_create("convert");
    TCase *tests = tcase_create("convert");
    tcase_add_loop_test(
        tests, every_convention_of_a_bench_is_undone_exactly, 0, LENGTH(bench_list));
    tcase_add_test(tests, rows_of_a_trace_are_converted_alike);
    tcase_add_test(tests, other_values_of_the_same_rig_need_no_capture);
    tcase_add_loop_test(
        tests, what_is_missing_or_does_not_fit_is_refused_with_its_name, 0, LENGTH(fault_list));
    tcase_add_test(tests, columns_that_carry_field_and_flux_density_need_no_ring);
    suite_add_tcase(suite, tests);
    return suite;
}
