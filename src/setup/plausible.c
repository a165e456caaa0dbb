// SPDX-License-Identifier: GPL-3.0-or-later
/* What is possible but odd: mostly a slip of a prefix or a unit. What is impossible is refused when
 * a file is read (the ranges of the schemas). The limits are our judgement of benches and rings. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "setup/setup.h"

#define PI 3.14159265358979323846
#define SHOWN_SIZE 40
#define WIDE_SHARE 0.25 /* of a value, as its half-width */

/* A value that is odd outside `lowest` to `highest`, SI. */
struct usual {
    const char *key;
    size_t offset;
    enum dimension dimension;
    double lowest;
    double highest;
    const char *slip;
};

#define OF_RIG(member) offsetof(struct rig, member)
#define OF_SPECIMEN(member) offsetof(struct specimen, member)

static const struct usual usual_rig[] = {
    {"inputs.excitation.full_scale", OF_RIG(excitation.full_scale), DIMENSION_VOLTAGE, 1e-3, 100,
        "full scale is the peak voltage at sample value 1.0; did you mean mV or V?"},
    {"inputs.pickup.full_scale", OF_RIG(pickup.full_scale), DIMENSION_VOLTAGE, 1e-3, 100,
        "full scale is the peak voltage at sample value 1.0; did you mean mV or V?"},
    {"inputs.excitation.shunt", OF_RIG(excitation.shunt), DIMENSION_RESISTANCE, 1e-5, 100,
        "did you mean mohm or ohm?"},
    {"inputs.excitation.transfer", OF_RIG(excitation.transfer), DIMENSION_TRANSFER, 1e-3, 1e4,
        "a sensor of 100 mV/A has a transfer of 10 A/V"},
    {"inputs.excitation.divider", OF_RIG(excitation.divider), DIMENSION_NUMBER, 1e-4, 1e4,
        "the divider is volts at the sensor per volt at the input"},
    {"inputs.pickup.divider", OF_RIG(pickup.divider), DIMENSION_NUMBER, 1e-4, 1e4,
        "the divider is volts at the coil per volt at the input"},
    {"inputs.excitation.corner", OF_RIG(excitation.corner), DIMENSION_FREQUENCY, 1e-3, 100,
        "did you mean Hz or mHz?"},
    {"inputs.pickup.corner", OF_RIG(pickup.corner), DIMENSION_FREQUENCY, 1e-3, 100,
        "did you mean Hz or mHz?"},
    {"coupling.corner", OF_RIG(corner), DIMENSION_FREQUENCY, 1e-3, 100, "did you mean Hz or mHz?"},
    {"inputs.pickup.integrator.resistance", OF_RIG(pickup.integrator_resistance),
        DIMENSION_RESISTANCE, 100, 1e8, "did you mean kohm?"},
    {"inputs.pickup.integrator.capacitance", OF_RIG(pickup.integrator_capacitance),
        DIMENSION_CAPACITANCE, 1e-10, 1e-3, "did you mean uF or nF?"},
    {"inputs.pickup.fluxmeter", OF_RIG(pickup.fluxmeter), DIMENSION_FLUX_PER_VOLT, 1e-7, 1,
        "did you mean mWb/V?"},
    {"timing.sample_rate", OF_RIG(sample_rate), DIMENSION_FREQUENCY, 1, 2e7,
        "did you mean Hz or kHz?"},
    {"timing.pickup_delay", OF_RIG(pickup_delay), DIMENSION_TIME, -0.01, 0.01, "did you mean us?"},
    {"winding.secondary_area", OF_RIG(winding.secondary_area), DIMENSION_AREA, 1e-7, 0.1,
        "did you mean mm2?"},
};

static const struct usual usual_specimen[] = {
    {"ring.outer_diameter", OF_SPECIMEN(outer_diameter), DIMENSION_LENGTH, 2e-3, 1,
        "did you mean mm?"},
    {"ring.inner_diameter", OF_SPECIMEN(inner_diameter), DIMENSION_LENGTH, 1e-3, 1,
        "did you mean mm?"},
    {"ring.height", OF_SPECIMEN(height), DIMENSION_LENGTH, 2e-5, 0.5, "did you mean mm?"},
    {"ring.mass", OF_SPECIMEN(mass), DIMENSION_MASS, 1e-5, 50, "did you mean g?"},
    {"ring.density", OF_SPECIMEN(density), DIMENSION_DENSITY, 4000, 9500,
        "steels have 7000 to 8500 kg/m3"},
    {"ring.stacking_factor", OF_SPECIMEN(stacking_factor), DIMENSION_NUMBER, 0.5, 1,
        "stacks of laminations have 0.9 to 0.98"},
    {"resistivity", OF_SPECIMEN(resistivity), DIMENSION_RESISTIVITY, 2e-8, 3e-6,
        "steels have 0.1 to 1.5 uohm m; did you mean uohm m?"},
    {"temperature", OF_SPECIMEN(temperature), DIMENSION_TEMPERATURE, 213.15, 523.15,
        "did you mean degC?"},
    {"winding.secondary_area", OF_SPECIMEN(winding.secondary_area), DIMENSION_AREA, 1e-7, 0.1,
        "did you mean mm2?"},
};

/* The list being filled. */
struct warnings {
    struct setup_warning *list;
    size_t limit;
    size_t count;
};

static void warn(struct warnings *warnings, const char *hint, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void warn(struct warnings *warnings, const char *hint, const char *format, ...)
{
    if (warnings->count >= warnings->limit) {
        return;
    }
    struct setup_warning *made = &warnings->list[warnings->count++];
    made->is_minor = false;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(made->message, sizeof made->message, format, arguments);
    va_end(arguments);
    snprintf(made->hint, sizeof made->hint, "%s", hint);
}

/* A value in the unit a person would write. */
static const char *show(enum dimension dimension, double value, char buffer[SHOWN_SIZE])
{
    static const struct {
        enum dimension dimension;
        double scale;
        double offset;
        const char *unit;
    } written[] = {
        {DIMENSION_NUMBER, 1, 0, ""},
        {DIMENSION_LENGTH, 1e3, 0, " mm"},
        {DIMENSION_AREA, 1e6, 0, " mm²"},
        {DIMENSION_MASS, 1e3, 0, " g"},
        {DIMENSION_DENSITY, 1, 0, " kg/m³"},
        {DIMENSION_RESISTIVITY, 1e6, 0, " uohm m"},
        {DIMENSION_TEMPERATURE, 1, -273.15, " degC"},
    };
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++) {
        if (written[i].dimension == dimension) {
            snprintf(buffer, SHOWN_SIZE, "%.5g%s", value * written[i].scale + written[i].offset,
                written[i].unit);
            return buffer;
        }
    }
    double scale;
    const char *prefix = unit_get_prefix(value, &scale);
    snprintf(buffer, SHOWN_SIZE, "%.5g %s%s", value / scale, prefix, dimension_get_unit(dimension));
    return buffer;
}

static void check_usual(struct warnings *warnings, const char *file, const struct usual *list,
    size_t count, const void *target)
{
    for (size_t i = 0; i < count; i++) {
        char shown[SHOWN_SIZE];
        char lowest[SHOWN_SIZE];
        char highest[SHOWN_SIZE];
        struct quantity quantity;
        const struct usual *it = &list[i];
        memcpy(&quantity, (const char *)target + it->offset, sizeof quantity);
        if (!quantity.is_present) {
            continue;
        }
        show(it->dimension, quantity.value, shown);
        if (quantity.value < it->lowest || quantity.value > it->highest) {
            warn(warnings, it->slip, "'%s' of the %s is %s, usual is %s to %s", it->key, file,
                shown, show(it->dimension, it->lowest, lowest),
                show(it->dimension, it->highest, highest));
        }
        bool has_origin = it->lowest >= 0 && it->dimension != DIMENSION_TEMPERATURE;
        if (has_origin && quantity.half_width > WIDE_SHARE * quantity.value) {
            warn(warnings, "check the unit behind the ±",
                "'%s' of the %s is %s with a half-width of %.3g %%", it->key, file, shown,
                100 * quantity.half_width / quantity.value);
        }
    }
}

static void check_turns(
    struct warnings *warnings, const char *file, const char *key, const struct quantity *turns)
{
    if (turns->is_present && turns->value != floor(turns->value)) {
        warn(warnings, "a wire passes through the ring a whole number of times; is it a divider?",
            "'%s' of the %s is %.6g, not a whole number", key, file, turns->value);
    }
}

static void check_winding(
    struct warnings *warnings, const char *file, const struct winding *winding)
{
    check_turns(warnings, file, "winding.primary_turns", &winding->primary_turns);
    check_turns(warnings, file, "winding.secondary_turns", &winding->secondary_turns);
}

/* The pickup turns lie around the steel: they cannot enclose less than it. */
static void check_pickup_area(
    struct warnings *warnings, const struct winding *winding, const struct specimen *specimen)
{
    char coil[SHOWN_SIZE];
    char steel[SHOWN_SIZE];
    const struct quantity *area = &winding->secondary_area;
    if (!winding->is_present || !area->is_present || !(specimen->area_m2 > 0)) {
        return;
    }
    show(DIMENSION_AREA, area->value, coil);
    show(DIMENSION_AREA, specimen->area_m2, steel);
    if (area->value + area->half_width < specimen->area_m2) {
        warn(warnings, "the turns lie around the steel; measure the mean area of the turns",
            "'winding.secondary_area' is %s, less than the %s of steel within it", coil, steel);
    } else if (area->value > 10 * specimen->area_m2) {
        warn(warnings, "did you mean another unit?",
            "'winding.secondary_area' is %s, more than ten times the %s of steel within it", coil,
            steel);
    }
}

static void set_minor(struct warnings *warnings)
{
    if (warnings->count > 0) {
        warnings->list[warnings->count - 1].is_minor = true;
    }
}

/* Mass against dimensions: beyond 2 u, or beyond 1 % where no uncertainty is stated. */
static void check_areas(struct warnings *warnings, const struct specimen *specimen)
{
    static const char hint[] =
        "weigh and measure again; laminations and coatings: give the stacking factor";
    double outer = specimen->outer_diameter.value;
    double inner = specimen->inner_diameter.value;
    double stacking = specimen->stacking_factor.is_present ? specimen->stacking_factor.value : 1;
    if (specimen->area_from_mass_m2 == 0 || specimen->area_from_dimensions_m2 == 0) {
        return;
    }
    double of_mass = specimen->mass.value / specimen->density.value;
    double of_size = PI / 4 * (outer - inner) * (outer + inner) * specimen->height.value * stacking;
    double percent = 100 * (of_mass / of_size - 1);
    if (specimen->area_difference_u > 2) {
        warn(warnings, hint,
            "mass and density give a volume %+.3g %% off that of the dimensions, %.3g times its "
            "standard uncertainty",
            percent, specimen->area_difference_u);
        set_minor(warnings); /* beyond 2 u lies one honest ring in twenty */
    } else if (specimen->area_difference_u == 0 && fabs(percent) > 1) {
        warn(warnings, hint, "mass and density give a volume %+.3g %% off that of the dimensions",
            percent);
        set_minor(warnings);
    }
}

size_t setup_find_warnings(const struct rig *rig, const struct specimen *specimen,
    struct setup_warning *list, size_t limit)
{
    struct warnings warnings = {.list = list, .limit = limit};
    if (rig != NULL) {
        check_usual(&warnings, "rig", usual_rig, sizeof usual_rig / sizeof usual_rig[0], rig);
        check_winding(&warnings, "rig", &rig->winding);
    }
    if (specimen != NULL) {
        check_usual(&warnings, "specimen", usual_specimen,
            sizeof usual_specimen / sizeof usual_specimen[0], specimen);
        check_winding(&warnings, "specimen", &specimen->winding);
        check_areas(&warnings, specimen);
    }
    if (rig != NULL && specimen != NULL) {
        bool is_own = specimen->winding.is_present;
        check_pickup_area(&warnings, is_own ? &specimen->winding : &rig->winding, specimen);
    }
    return warnings.count;
}
