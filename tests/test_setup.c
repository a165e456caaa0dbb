// SPDX-License-Identifier: GPL-3.0-or-later
/* Rig and specimen files. Run from the top of the repository: the files stand in tests/data/setup.
 */
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "setup/tables.h"
#include "suites.h"

#define DATA "tests/data/setup/"

/* Kept out of line: gcc 12 otherwise takes what it returns for the address of its own `bytes`. */
__attribute__((noinline)) static char *read_file(const char *path)
{
    char *bytes = NULL;
    size_t length;
    struct error err = {0};
    ck_assert_msg(file_read(path, 1 << 20, &bytes, &length, &err) == STATUS_OK, "%s", err.message);
    return bytes;
}

static enum status read_rig(const char *bytes, struct rig *rig, struct error *err)
{
    *rig = (struct rig){0};
    return schema_read_bytes("rig.yaml", bytes, strlen(bytes), rig_schema, rig_check, rig, err);
}

static enum status read_specimen(const char *bytes, struct specimen *specimen, struct error *err)
{
    *specimen = (struct specimen){0};
    return schema_read_bytes(
        "specimen.yaml", bytes, strlen(bytes), specimen_schema, specimen_check, specimen, err);
}

START_TEST(reads_a_rig)
{
    struct rig rig = {0};
    struct error err = {0};
    ck_assert_msg(rig_read(DATA "rig.yaml", &rig, &err) == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(rig.name, "bench 2, two-input sound card");
    ck_assert_str_eq(rig.excitation.channel, "1");
    ck_assert_int_eq(rig.excitation.quantity, INPUT_VOLTAGE);
    ck_assert_double_eq(rig.excitation.full_scale.value, 1.55);
    ck_assert_double_eq(rig.excitation.full_scale.half_width, 0.005);
    ck_assert_double_eq(rig.excitation.shunt.value, 0.1);
    ck_assert(!rig.excitation.transfer.is_present);
    ck_assert(!rig.excitation.is_inverted);
    ck_assert(!rig.excitation.keeps_bias);
    ck_assert_str_eq(rig.pickup.channel, "2");
    ck_assert_double_eq(rig.pickup.divider.value, 11);
    ck_assert_ptr_null(rig.time_column);
    ck_assert(!rig.is_trace);
    ck_assert_double_eq(rig.pickup_delay.value, 2.1e-6);
    ck_assert_double_eq(rig.corner.value, 3.4);
    ck_assert(rig.winding.is_present);
    ck_assert_double_eq(rig.winding.primary_turns.value, 200);
    ck_assert(!rig.winding.primary_turns.has_uncertainty);
    ck_assert_double_eq(rig.winding.secondary_area.value, 60e-6);
    rig_clear(&rig);
    ck_assert_ptr_null(rig.name);
    rig_clear(&rig);
}
END_TEST

START_TEST(reads_a_specimen)
{
    struct specimen it = {0};
    struct error err = {0};
    ck_assert_msg(specimen_read(DATA "specimen.yaml", &it, &err) == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(it.name, "R-17");
    ck_assert_str_eq(it.condition, "quenched 950 degC, tempered 500 degC");
    ck_assert_double_eq(it.outer_diameter.value, 0.04);
    ck_assert_double_eq(it.density.value, 8100);
    ck_assert_double_eq(it.resistivity.value, 0.27e-6);
    ck_assert_double_eq(it.temperature.value, 296.15);
    ck_assert_double_eq(it.temperature.half_width, 2);
    ck_assert_int_eq(it.path, PATH_MEAN);
    ck_assert(!it.winding.is_present);
    ck_assert_double_eq(it.diameter_ratio, 1.25);
    ck_assert_double_eq(it.area_m2, it.area_from_mass_m2);
    specimen_clear(&it);
    specimen_clear(&it);
}
END_TEST

START_TEST(defaults_act_without_being_written)
{
    struct rig rig;
    struct specimen specimen;
    struct error err = {0};
    ck_assert_int_eq(
        read_rig(
            "inputs: {excitation: {channel: 1, shunt: 1 ohm}, pickup: {channel: 2}}", &rig, &err),
        STATUS_OK);
    ck_assert_ptr_null(rig.name);
    ck_assert_double_eq(rig.excitation.divider.value, 1);
    ck_assert(!rig.excitation.divider.is_present);
    ck_assert_double_eq(rig.pickup.divider.value, 1);
    ck_assert_double_eq(rig.pickup_delay.value, 0);
    ck_assert(!rig.corner.is_present);
    ck_assert(!rig.winding.is_present);
    rig_clear(&rig);
    ck_assert_int_eq(read_specimen("ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 "
                                   "mm}",
                         &specimen, &err),
        STATUS_OK);
    ck_assert_double_eq(specimen.stacking_factor.value, 1);
    ck_assert(!specimen.stacking_factor.is_present);
    specimen_clear(&specimen);
}
END_TEST

#define EXCITATION "excitation: {channel: 1, shunt: 1 ohm}"
#define PICKUP "pickup: {channel: 2}"

START_TEST(reads_what_not_every_rig_has)
{
    struct rig rig;
    struct error err = {0};
    ck_assert_int_eq(
        read_rig("inputs:\n  excitation: {channel: a, quantity: field strength, bias: keep, "
                 "invert: yes, corner: 1 Hz}\n"
                 "  pickup: {channel: b, integrator: {resistance: 100 kohm, capacitance: 1 uF}, "
                 "corner: 2 Hz}\ntiming: {time: t, pickup_delay: -3 us}\n",
            &rig, &err),
        STATUS_OK);
    ck_assert_int_eq(rig.excitation.quantity, INPUT_FIELD_STRENGTH);
    ck_assert(rig.excitation.keeps_bias);
    ck_assert(rig.excitation.is_inverted);
    ck_assert_double_eq(rig.excitation.corner.value, 1);
    ck_assert_double_eq(rig.pickup.corner.value, 2);
    ck_assert_double_eq(rig.pickup.integrator_resistance.value, 1e5);
    ck_assert_double_eq(rig.pickup.integrator_capacitance.value, 1e-6);
    ck_assert_str_eq(rig.time_column, "t");
    ck_assert_double_eq(rig.pickup_delay.value, -3e-6);
    rig_clear(&rig);
    ck_assert_int_eq(read_rig("inputs:\n  excitation: {channel: a, transfer: 10 A/V}\n"
                              "  pickup: {channel: b, fluxmeter: 10 mWb/V}\n"
                              "timing: {trace: yes, drift: linear}\n",
                         &rig, &err),
        STATUS_OK);
    ck_assert(rig.is_trace);
    ck_assert_int_eq(rig.drift, TRACE_DRIFT_LINEAR);
    ck_assert_double_eq(rig.excitation.transfer.value, 10);
    ck_assert_double_eq(rig.pickup.fluxmeter.value, 0.01);
    rig_clear(&rig);
    ck_assert_int_eq(read_rig("inputs:\n  excitation: {channel: a, quantity: current}\n"
                              "  pickup: {channel: b, quantity: flux linkage, air_flux: removed}\n"
                              "timing: {sample_rate: 10 kHz, trace: no}\n",
                         &rig, &err),
        STATUS_OK);
    ck_assert_int_eq(rig.excitation.quantity, INPUT_CURRENT);
    ck_assert_int_eq(rig.pickup.quantity, INPUT_FLUX_LINKAGE);
    ck_assert(rig.pickup.air_flux_removed);
    ck_assert_double_eq(rig.sample_rate.value, 1e4);
    rig_clear(&rig);
}
END_TEST

static void assert_golden(const char *path, const struct error *err)
{
    char *wanted = read_file(path);
    wanted[strlen(wanted) - 1] = '\0'; /* the final new line */
    ck_assert_str_eq(err->message, wanted);
    memory_destroy(wanted);
}

START_TEST(tells_all_faults_of_a_rig_at_once)
{
    struct rig rig = {.name = NULL, .is_trace = true};
    struct error err = {0};
    ck_assert_int_eq(rig_read(DATA "broken_rig.yaml", &rig, &err), STATUS_INPUT);
    assert_golden(DATA "broken_rig.txt", &err);
    ck_assert(rig.is_trace); /* untouched */
}
END_TEST

START_TEST(tells_all_faults_of_a_specimen_at_once)
{
    struct specimen specimen = {.area_m2 = 7};
    struct error err = {0};
    ck_assert_int_eq(specimen_read(DATA "broken_specimen.yaml", &specimen, &err), STATUS_INPUT);
    assert_golden(DATA "broken_specimen.txt", &err);
    ck_assert_double_eq(specimen.area_m2, 7);
}
END_TEST

static const struct {
    const char *bytes;
    const char *message;
} faulty_rigs[] = {
    {"name: x",
        "1:1: inputs: missing, expected a group with the keys excitation, pickup, same_calibrator"},
    {"inputs: {" EXCITATION "}",
        "1:9: inputs.pickup: missing, expected a group with the keys channel, quantity, "
        "full_scale, divider, input_resistance, source_resistance, corner, invert, integrator, "
        "fluxmeter, air_flux"},
    {"inputs: {excitation: {shunt: 1 ohm}, " PICKUP "}",
        "1:22: inputs.excitation.channel: missing, expected a number from 1 or the text of a "
        "header cell"},
    {"inputs: {excitation: {channel: 1}, " PICKUP "}",
        "1:10: inputs.excitation: a voltage becomes a current by exactly one of 'shunt: 0.1 ohm' "
        "and 'transfer: 10 A/V'; both are missing"},
    {"inputs: {excitation: {channel: 1, shunt: 1 ohm, transfer: 1 A/V}, " PICKUP "}",
        "1:49: inputs.excitation.transfer: given beside 'shunt', expected exactly one of them"},
    {"inputs: {excitation: {channel: 1, transfer: 1 A/V, inductance: 1 nH}, " PICKUP "}",
        "1:52: inputs.excitation.inductance: this is the inductance of 'shunt', which is not "
        "there; leave it out"},
    {"inputs: {excitation: {channel: 1, transfer: 1 A/V, input_resistance: 1 kohm}, " PICKUP "}",
        "1:52: inputs.excitation.input_resistance: what the input loads is not known; add "
        "'source_resistance', that of the coil, the probe or the divider ahead of it"},
    {"inputs: {excitation: {channel: 1, transfer: 1 A/V, source_resistance: 1 kohm}, " PICKUP "}",
        "1:52: inputs.excitation.source_resistance: it acts with 'input_resistance: 10 kohm' only, "
        "which is missing"},
    {"inputs: {excitation: {channel: 1, quantity: current, input_resistance: 1 kohm}, " PICKUP "}",
        "1:54: inputs.excitation.input_resistance: this belongs to 'quantity: voltage' only; leave "
        "it out, or mend the quantity"},
    {"inputs: {excitation: {channel: 1, transfer: 1 A/V, shunt_temperature: {coefficient: 1 ppm/K, "
     "reference: 20 degC, actual: 30 degC}}, " PICKUP "}",
        "1:52: inputs.excitation.shunt_temperature: this is the temperature of 'shunt', which is "
        "not there; leave it out"},
    {"inputs: {excitation: {channel: 1, shunt: 1 ohm, quantity: current}, " PICKUP "}",
        "1:35: inputs.excitation.shunt: this belongs to 'quantity: voltage' only; leave it out, or "
        "mend the quantity"},
    {"inputs: {excitation: {channel: 1, transfer: 1 A/V, quantity: field strength}, " PICKUP "}",
        "1:35: inputs.excitation.transfer: this belongs to 'quantity: voltage' only; leave it out, "
        "or mend the quantity"},
    {"inputs: {excitation: {channel: 1, full_scale: 1 V, quantity: current}, " PICKUP "}",
        "1:35: inputs.excitation.full_scale: this belongs to 'quantity: voltage' only; leave it "
        "out, or mend the quantity"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, quantity: flux linkage, fluxmeter: 1 mWb/V}}",
        "1:95: inputs.pickup.fluxmeter: this belongs to 'quantity: voltage' only; leave it out, or "
        "mend the quantity"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, integrator: {resistance: 1 kohm, capacitance: "
     "1 uF}, fluxmeter: 1 mWb/V}}",
        "1:124: inputs.pickup.fluxmeter: given beside 'integrator', expected one of them: the "
        "integrator is a resistor and a capacitor, the fluxmeter an electronic one"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, integrator: {capacitance: 1 uF}}}",
        "1:83: inputs.pickup.integrator.resistance: missing, expected a resistance such as '0.1 "
        "ohm'"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, air_flux: removed}}",
        "1:71: inputs.pickup.air_flux: 'removed' belongs to 'quantity: flux linkage' only; leave "
        "it out"},
    {"inputs: {" EXCITATION ", pickup: {channel: 01}}",
        "1:59: inputs.pickup.channel: '1' is the channel of the excitation already"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {time: 2}",
        "2:10: timing.time: '2' is the channel of an input already"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {time: 3, sample_rate: 1 kHz}",
        "2:19: timing.sample_rate: given beside 'time', expected one of them: the rate is for "
        "tables without a time column"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {drift: linear}",
        "2:10: timing.drift: this belongs to 'trace: yes' only; leave it out"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, quantity: polarization}}\n"
     "timing: {trace: yes, time: 3, sample_rate: 1 Hz, pickup_delay: 1 us}\n"
     "coupling: {corner: 3 Hz}",
        "2:22: timing.time: a trace has no time axis; leave this or 'trace: yes' out\n"
        "2:31: timing.sample_rate: a trace has no time axis; leave this or 'trace: yes' out\n"
        "2:50: timing.pickup_delay: a trace has no time axis; leave this or 'trace: yes' out\n"
        "3:12: coupling.corner: a trace cannot come through an AC-coupled input; leave this or "
        "'trace: yes' out"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, quantity: polarization, corner: 1 Hz}}\n"
     "timing: {trace: yes}",
        "1:95: inputs.pickup.corner: a trace cannot come through an AC-coupled input; leave this "
        "or 'trace: yes' out"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {trace: yes}",
        "1:50: inputs.pickup: a trace cannot integrate a voltage: it needs 'fluxmeter', or "
        "'quantity: flux linkage', 'flux density' or 'polarization'"},
    {"inputs: {" EXCITATION ", pickup: {channel: 2, integrator: {resistance: 1 kohm, capacitance: "
     "1 uF}}}\ntiming: {trace: yes}",
        "1:71: inputs.pickup.integrator: a resistor and a capacitor cannot integrate a slow trace; "
        "with an electronic integrator write 'fluxmeter: 10 mWb/V'"},
    {"inputs: {" EXCITATION ", " PICKUP "}\nwinding: {secondary_area: 1 mm2}",
        "2:1: winding: no turns in it, expected 'primary_turns', 'secondary_turns' or both"},
    {"inputs: {excitation: {channel: 1, shunt: -1 ohm}, " PICKUP "}",
        "1:42: inputs.excitation.shunt: '-1 ohm' cannot be, expected more than 0, at most 1 Mohm; "
        "did you mean mohm or ohm?"},
    {"inputs: {excitation: {channel: 1, shunt: 1 ohm, full_scale: 0 V}, " PICKUP "}",
        "1:61: inputs.excitation.full_scale: '0 V' cannot be, expected more than 0, at most 1 MV; "
        "did you mean mV or V?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {pickup_delay: 2.1 s}",
        "2:24: timing.pickup_delay: '2.1 s' cannot be, expected -1 s to 1 s; did you mean us or "
        "ms?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ncoupling: {corner: 34 MHz}",
        "2:20: coupling.corner: '34 MHz' cannot be, expected more than 0, at most 1 MHz; leave it "
        "out for a DC-coupled input; did you mean Hz or mHz?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\nwinding: {primary_turns: -200}",
        "2:26: winding.primary_turns: '-200' cannot be, expected 1 to 1e6 turns; count the wire "
        "each time it passes through the ring"},
};

/* The wanted lines, each with the file's name ahead. */
static void assert_faults(const char *name, const char *wanted, const char *message)
{
    char lines[2000];
    size_t length = 0;
    for (const char *at = wanted; *at != '\0';) {
        size_t size = strcspn(at, "\n");
        length += (size_t)snprintf(lines + length, sizeof lines - length, "%s%s:%.*s",
            at == wanted ? "" : "\n", name, (int)size, at);
        at += size + (at[size] == '\n');
    }
    ck_assert_str_eq(message, lines);
}

START_TEST(refuses_a_rig_that_cannot_be)
{
    struct rig rig;
    struct error err = {0};
    ck_assert_int_eq(read_rig(faulty_rigs[_i].bytes, &rig, &err), STATUS_INPUT);
    rig_clear(&rig);
    assert_faults("rig.yaml", faulty_rigs[_i].message, err.message);
}
END_TEST

#define DIAMETERS "outer_diameter: 40 mm, inner_diameter: 32 mm"

static const struct {
    const char *bytes;
    const char *message;
} faulty_specimens[] = {
    {"ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, expansion: {coefficient: "
     "11 ppm/K, reference: 20 degC}}",
        "1:68: ring.expansion: the ring's temperature while it is measured is missing: "
        "'temperature: 35 degC'"},
    {"name: x",
        "1:1: ring: missing, expected a group with the keys outer_diameter, inner_diameter, "
        "height, mass, density, stacking_factor, sheet_thickness, expansion, same_ruler, path"},
    {"ring: {" DIAMETERS ", height: 6 mm}\nheight: 6 mm",
        "2:1: height: unknown key here; it belongs into 'ring'"},
    {"ring: {inner_diameter: 32 mm, height: 6 mm}",
        "1:7: ring.outer_diameter: missing, expected a length such as '40 mm'"},
    {"ring: {outer_diameter: 32 mm, inner_diameter: 40 mm, height: 6 mm}",
        "1:31: ring.inner_diameter: 40 mm is not below the outer diameter of 32 mm; are the two "
        "swapped?"},
    {"ring: {outer_diameter: 40 mm, inner_diameter: 40 mm, height: 6 mm}",
        "1:31: ring.inner_diameter: 40 mm is not below the outer diameter of 40 mm; are the two "
        "swapped?"},
    {"ring: {outer_diameter: 40 cm, inner_diameter: 32 mm, height: 6 mm}",
        "1:31: ring.inner_diameter: 32 mm is below a tenth of the outer diameter of 400 mm; is one "
        "of them in another unit?"},
    {"ring: {" DIAMETERS ", mass: 20 g, density: 7.9 g/cm3, path: effective}",
        "1:86: ring.path: 'effective' needs the height of the ring: 'height: 6 mm'"},
    {"ring: {" DIAMETERS ", height: 6 mm, mass: 21.9 kg, density: 8100 kg/m3}",
        "1:68: ring.mass: mass and density give an area of 2.391e+04 mm², the dimensions 24 mm²; "
        "is one of them in another unit?"},
    {"ring: {" DIAMETERS ", height: 6 mm, density: 7.9 kg/m3}",
        "1:77: ring.density: '7.9 kg/m3' cannot be, expected 100 kg/m³ to 25000 kg/m³; did you "
        "mean g/cm3? 7.9 g/cm3 is 7900 kg/m3"},
    {"ring: {" DIAMETERS ", height: -6 mm}",
        "1:62: ring.height: '-6 mm' cannot be, expected more than 0, at most 5 m; did you mean "
        "mm?"},
    {"ring: {outer_diameter: 40 m, inner_diameter: 32 mm, height: 6 mm}",
        "1:24: ring.outer_diameter: '40 m' cannot be, expected more than 0, at most 5 m; did you "
        "mean mm?"},
    {"ring: {" DIAMETERS ", height: 6 mm, stacking_factor: 1.01}",
        "1:85: ring.stacking_factor: '1.01' cannot be, expected more than 0, at most 1; the factor "
        "is the share of the height that is steel: 0.96, or 96 %"},
    {"ring: {" DIAMETERS ", height: 6 mm}\ntemperature: -300 degC",
        "2:14: temperature: '-300 degC' cannot be, expected above absolute zero (-273.15 degC), at "
        "most 2000 K; check its sign and unit"},
};

START_TEST(refuses_a_specimen_that_cannot_be)
{
    struct specimen specimen;
    struct error err = {0};
    ck_assert_int_eq(read_specimen(faulty_specimens[_i].bytes, &specimen, &err), STATUS_INPUT);
    specimen_clear(&specimen);
    assert_faults("specimen.yaml", faulty_specimens[_i].message, err.message);
}
END_TEST

/* --- what is odd ------------------------------------------------------------------------------*/

static const struct {
    const char *rig;
    const char *specimen;
    const char *message;
    const char *hint;
} odd[] = {
    {"inputs: {excitation: {channel: 1, shunt: 2 kohm}, " PICKUP "}", NULL,
        "'inputs.excitation.shunt' of the rig is 2 kohm, usual is 10 µohm to 100 ohm",
        "did you mean mohm or ohm?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ntiming: {pickup_delay: 20 ms}", NULL,
        "'timing.pickup_delay' of the rig is 20 ms, usual is -10 ms to 10 ms", "did you mean us?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\ncoupling: {corner: 340 Hz}", NULL,
        "'coupling.corner' of the rig is 340 Hz, usual is 1 mHz to 100 Hz",
        "did you mean Hz or mHz?"},
    {"inputs: {" EXCITATION ", " PICKUP "}\nwinding: {primary_turns: 200.5}", NULL,
        "'winding.primary_turns' of the rig is 200.5, not a whole number",
        "a wire passes through the ring a whole number of times; is it a divider?"},
    {"inputs: {excitation: {channel: 1, shunt: 1 ohm ± 0.5 ohm}, " PICKUP "}", NULL,
        "'inputs.excitation.shunt' of the rig is 1 ohm with a half-width of 50 %",
        "check the unit behind the ±"},
    {NULL, "ring: {" DIAMETERS ", height: 6 mm}\nresistivity: 0.27 ohm m",
        "'resistivity' of the specimen is 2.7e+05 uohm m, usual is 0.02 uohm m to 3 uohm m",
        "steels have 0.1 to 1.5 uohm m; did you mean uohm m?"},
    {NULL, "ring: {" DIAMETERS ", height: 6 mm}\ntemperature: 23 K",
        "'temperature' of the specimen is -250.15 degC, usual is -60 degC to 250 degC",
        "did you mean degC?"},
    {NULL, "ring: {" DIAMETERS ", height: 6 mm, density: 1200 kg/m3}",
        "'ring.density' of the specimen is 1200 kg/m³, usual is 4000 kg/m³ to 9500 kg/m³",
        "steels have 7000 to 8500 kg/m3"},
    {NULL, "ring: {outer_diameter: 4.0 m, inner_diameter: 3.2 m, height: 6 mm}",
        "'ring.outer_diameter' of the specimen is 4000 mm, usual is 2 mm to 1000 mm",
        "did you mean mm?"},
    {NULL,
        "ring: {" DIAMETERS ", height: 6 mm ± 0.01 mm, mass: 23 g ± 0.01 g, density: 8100 kg/m3}",
        "mass and density give a volume +4.61 % off that of the dimensions, 53.4 times its "
        "standard uncertainty",
        "weigh and measure again; laminations and coatings: give the stacking factor"},
    {NULL, "ring: {" DIAMETERS ", height: 6 mm, mass: 23 g, density: 8100 kg/m3}",
        "mass and density give a volume +4.61 % off that of the dimensions",
        "weigh and measure again; laminations and coatings: give the stacking factor"},
    {"inputs: {" EXCITATION ", " PICKUP "}\nwinding: {secondary_turns: 9, secondary_area: 20 mm2}",
        "ring: {" DIAMETERS ", height: 6 mm}",
        "'winding.secondary_area' is 20 mm², less than the 24 mm² of steel within it",
        "the turns lie around the steel; measure the mean area of the turns"},
    {"inputs: {" EXCITATION ", " PICKUP "}\nwinding: {secondary_turns: 9}",
        "ring: {" DIAMETERS ", height: 6 mm}\n"
        "winding: {secondary_turns: 9, secondary_area: 60 cm2}",
        "'winding.secondary_area' is 6000 mm², more than ten times the 24 mm² of steel within it",
        "did you mean another unit?"},
};

START_TEST(doubts_what_is_odd)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct setup_warning list[8];
    struct error err = {0};
    if (odd[_i].rig != NULL) {
        ck_assert_msg(read_rig(odd[_i].rig, &rig, &err) == STATUS_OK, "%s", err.message);
    }
    if (odd[_i].specimen != NULL) {
        enum status status = read_specimen(odd[_i].specimen, &specimen, &err);
        ck_assert_msg(status == STATUS_OK, "%s", err.message);
    }
    size_t count = setup_find_warnings(
        odd[_i].rig != NULL ? &rig : NULL, odd[_i].specimen != NULL ? &specimen : NULL, list, 8);
    ck_assert_uint_ge(count, 1);
    ck_assert_str_eq(list[0].message, odd[_i].message);
    ck_assert_str_eq(list[0].hint, odd[_i].hint);
    ck_assert_uint_eq(setup_find_warnings(&rig, &specimen, list, 0), 0);
    rig_clear(&rig);
    specimen_clear(&specimen);
}
END_TEST

START_TEST(doubts_nothing_of_a_good_bench)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct setup_warning list[8];
    struct error err = {0};
    ck_assert_int_eq(rig_read(DATA "rig.yaml", &rig, &err), STATUS_OK);
    ck_assert_int_eq(specimen_read(DATA "specimen.yaml", &specimen, &err), STATUS_OK);
    ck_assert_uint_eq(setup_find_warnings(&rig, &specimen, list, 8), 0);
    rig_clear(&rig);
    specimen_clear(&specimen);
}
END_TEST

/* --- results and documents --------------------------------------------------------------------*/

START_TEST(writes_rig_and_specimen_in_si)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct error err = {0};
    struct text out = {0};
    struct json json;
    ck_assert_int_eq(rig_read(DATA "rig.yaml", &rig, &err), STATUS_OK);
    ck_assert_int_eq(specimen_read(DATA "specimen.yaml", &specimen, &err), STATUS_OK);
    json_init(&json, &out, 2);
    json_begin_object(&json, NULL);
    rig_write_json(&json, "rig", &rig);
    specimen_write_json(&json, "specimen", &specimen);
    json_end_object(&json);
    json_finish(&json);
    char *wanted = read_file(DATA "setup.json");
    ck_assert_str_eq(out.bytes, wanted);
    memory_destroy(wanted);
    text_clear(&out);
    rig_clear(&rig);
    specimen_clear(&specimen);
}
END_TEST

START_TEST(writes_words_of_a_trace)
{
    struct rig rig;
    struct error err = {0};
    struct text out = {0};
    struct json json;
    ck_assert_int_eq(
        read_rig("inputs:\n  excitation: {channel: i, quantity: current, bias: keep}\n"
                 "  pickup: {channel: f, quantity: flux linkage, air_flux: removed, invert: yes}\n"
                 "timing: {trace: yes}\n",
            &rig, &err),
        STATUS_OK);
    json_init(&json, &out, 0);
    rig_write_json(&json, NULL, &rig);
    ck_assert_str_eq(out.bytes,
        "{\"inputs\": {\"excitation\": {\"channel\": \"i\", \"quantity\": \"current\", \"invert\": "
        "false, \"bias\": \"keep\"}, \"pickup\": {\"channel\": \"f\", \"quantity\": \"flux "
        "linkage\", \"invert\": true, \"air_flux\": \"removed\"}}, \"timing\": {\"trace\": true, "
        "\"drift\": \"chord\"}}");
    text_clear(&out);
    rig_clear(&rig);
}
END_TEST

/* Every key of a table has a row "| `key` |" in this part of the document. */
static size_t assert_documented(
    const struct schema_entry *table, const char *before, const char *part)
{
    size_t count = 0;
    for (const struct schema_entry *entry = table; entry->key != NULL; entry++) {
        char path[100];
        char row[120];
        snprintf(path, sizeof path, "%s%s%s", before, before[0] != '\0' ? "." : "", entry->key);
        snprintf(row, sizeof row, "\n| `%s` | ", path);
        ck_assert_msg(strstr(part, row) != NULL, "docs/files.md has no row for '%s'", path);
        count++;
        if (entry->kind == SCHEMA_MAP) {
            count += assert_documented(entry->map, path, part);
        }
    }
    return count;
}

/* Rows that begin with a key and have the five cells of a key's table. */
static size_t count_rows(const char *part)
{
    size_t count = 0;
    for (const char *at = part; (at = strstr(at, "\n| `")) != NULL; at++) {
        size_t cells = 0;
        for (const char *c = at + 1; *c != '\n' && *c != '\0'; c++) {
            cells += *c == '|';
        }
        count += cells == 6;
    }
    return count;
}

START_TEST(documents_every_key_and_no_other)
{
    char *document = read_file("docs/files.md");
    char *specimen = strstr(document, "\n## specimen.yaml");
    char *rig = strstr(document, "\n## rig.yaml");
    ck_assert_ptr_nonnull(rig);
    ck_assert_ptr_nonnull(specimen);
    *specimen = '\0';
    specimen++;
    char *end = strstr(specimen, "\n## ");
    if (end != NULL) {
        *end = '\0';
    }
    ck_assert_uint_eq(assert_documented(rig_schema, "", rig), count_rows(rig));
    ck_assert_uint_eq(assert_documented(specimen_schema, "", specimen), count_rows(specimen));
    memory_destroy(document);
}
END_TEST

START_TEST(reads_the_examples_of_the_document)
{
    static const char fence[] = "```yaml\n";
    struct rig rig;
    struct specimen specimen;
    struct error err = {0};
    char *document = read_file("docs/files.md");
    char *first = strstr(document, fence) + strlen(fence);
    char *first_end = strstr(first, "```");
    char *second = strstr(first_end, fence) + strlen(fence);
    *first_end = '\0';
    *strstr(second, "```") = '\0';
    ck_assert_msg(read_rig(first, &rig, &err) == STATUS_OK, "%s", err.message);
    ck_assert_msg(read_specimen(second, &specimen, &err) == STATUS_OK, "%s", err.message);
    rig_clear(&rig);
    specimen_clear(&specimen);
    memory_destroy(document);
}
END_TEST

/* --- foreign bytes ----------------------------------------------------------------------------*/

static uint32_t draw(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

/* Overwrites, doubles or drops a few stretches of a text, with the signs that YAML and values know.
 */
static size_t mutate(char *bytes, size_t length, size_t limit, uint32_t *state)
{
    static const char signs[] = ":-#{}[],&*!|>'\"%@ \t\n0.e+/\xC2\xB1\xB5^()~?";
    for (uint32_t round = draw(state) % 4 + 1; round > 0 && length > 0; round--) {
        size_t at = draw(state) % length;
        size_t size = draw(state) % 12 % (length - at) + 1;
        switch (draw(state) % 3) {
        case 0:
            bytes[at] = signs[draw(state) % (sizeof signs - 1)];
            break;
        case 1:
            memmove(bytes + at, bytes + at + size, length - at - size);
            length -= size;
            break;
        default:
            if (length + size <= limit) {
                memmove(bytes + at + size, bytes + at, length - at);
                length += size;
            }
            break;
        }
    }
    return length;
}

/* Read or refused with a place, never anything else; what is read is finite. Seeds are the loop. */
START_TEST(survives_mutated_files)
{
    char bytes[4000];
    char *good = read_file(_i % 2 == 0 ? DATA "rig.yaml" : DATA "specimen.yaml");
    uint32_t state = (uint32_t)_i;
    for (int round = 0; round < 100; round++) {
        struct rig rig = {0};
        struct specimen specimen = {0};
        struct error err = {0};
        size_t length = strlen(good);
        memcpy(bytes, good, length);
        length = mutate(bytes, length, sizeof bytes, &state);
        enum status status =
            _i % 2 == 0 ? schema_read_bytes("f", bytes, length, rig_schema, rig_check, &rig, &err)
                        : schema_read_bytes(
                              "f", bytes, length, specimen_schema, specimen_check, &specimen, &err);
        size_t line;
        size_t column;
        bool has_place = sscanf(err.message, "f:%zu:%zu: ", &line, &column) == 2;
        ck_assert_msg(status == STATUS_OK || (status == STATUS_INPUT && has_place && line > 0),
            "seed %d, round %d: %s", _i, round, err.message);
        if (status == STATUS_OK && _i % 2 == 1) {
            ck_assert_double_gt(specimen.area_m2, 0);
            ck_assert_double_finite(specimen.path_length_m);
        }
        rig_clear(&rig);
        specimen_clear(&specimen);
    }
    memory_destroy(good);
}
END_TEST

#define LENGTH(list) (sizeof(list) / sizeof(list)[0])

Suite *setup_suite(void)
{
    Suite *suite = suite_create("setup");
    TCase *tests = tcase_create("setup");
    tcase_add_test(tests, reads_a_rig);
    tcase_add_test(tests, reads_a_specimen);
    tcase_add_test(tests, defaults_act_without_being_written);
    tcase_add_test(tests, reads_what_not_every_rig_has);
    tcase_add_test(tests, tells_all_faults_of_a_rig_at_once);
    tcase_add_test(tests, tells_all_faults_of_a_specimen_at_once);
    tcase_add_loop_test(tests, refuses_a_rig_that_cannot_be, 0, LENGTH(faulty_rigs));
    tcase_add_loop_test(tests, refuses_a_specimen_that_cannot_be, 0, LENGTH(faulty_specimens));
    tcase_add_loop_test(tests, doubts_what_is_odd, 0, LENGTH(odd));
    tcase_add_test(tests, doubts_nothing_of_a_good_bench);
    tcase_add_test(tests, writes_rig_and_specimen_in_si);
    tcase_add_test(tests, writes_words_of_a_trace);
    tcase_add_test(tests, documents_every_key_and_no_other);
    tcase_add_test(tests, reads_the_examples_of_the_document);
    tcase_add_loop_test(tests, survives_mutated_files, 0, 20);
    suite_add_tcase(suite, tests);
    return suite;
}
