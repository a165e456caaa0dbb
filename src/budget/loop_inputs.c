// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/loop_inputs.h"

#include <math.h>
#include <string.h>

enum { OF_SETTING = LOOP_INPUT_OF_CAPTURE, OF_RIG, OF_SPECIMEN, OF_WINDING };

/* Which inputs one instrument may have found, so that they are wrong by the same share. */
enum { ALONE, BY_CALIBRATOR, BY_RULER };

/* To add an input: a line here; where it acts is the business of conversion and geometry. */
static const struct entry {
    const char *key;
    int file;
    size_t offset; /* of the struct quantity */
    int instrument;
} entries[] = {
#define RIG(key, member, instrument)                                                               \
    {                                                                                              \
        key, OF_RIG, offsetof(struct rig, member), instrument                                      \
    }
#define RING(key, member, instrument)                                                              \
    {                                                                                              \
        key, OF_SPECIMEN, offsetof(struct specimen, member), instrument                            \
    }
#define WINDING(key, member)                                                                       \
    {                                                                                              \
        key, OF_WINDING, offsetof(struct winding, member), ALONE                                   \
    }
    RIG("inputs.excitation.full_scale", excitation.full_scale, BY_CALIBRATOR),
    RIG("inputs.excitation.shunt", excitation.shunt, ALONE),
    RIG("inputs.excitation.inductance", excitation.inductance, ALONE),
    RIG("inputs.excitation.shunt_temperature.coefficient", excitation.shunt_coefficient, ALONE),
    RIG("inputs.excitation.shunt_temperature.reference", excitation.shunt_reference, ALONE),
    RIG("inputs.excitation.shunt_temperature.actual", excitation.shunt_actual, ALONE),
    RIG("inputs.excitation.transfer", excitation.transfer, ALONE),
    RIG("inputs.excitation.divider", excitation.divider, ALONE),
    RIG("inputs.excitation.input_resistance", excitation.input_resistance, ALONE),
    RIG("inputs.excitation.source_resistance", excitation.source_resistance, ALONE),
    RIG("inputs.excitation.corner", excitation.corner, ALONE),
    RIG("inputs.pickup.full_scale", pickup.full_scale, BY_CALIBRATOR),
    RIG("inputs.pickup.divider", pickup.divider, ALONE),
    RIG("inputs.pickup.input_resistance", pickup.input_resistance, ALONE),
    RIG("inputs.pickup.source_resistance", pickup.source_resistance, ALONE),
    RIG("inputs.pickup.corner", pickup.corner, ALONE),
    RIG("inputs.pickup.integrator.resistance", pickup.integrator_resistance, ALONE),
    RIG("inputs.pickup.integrator.capacitance", pickup.integrator_capacitance, ALONE),
    RIG("inputs.pickup.fluxmeter", pickup.fluxmeter, ALONE),
    RIG("timing.sample_rate", sample_rate, ALONE),
    RIG("timing.clock", clock, ALONE),
    RIG("timing.pickup_delay", pickup_delay, ALONE),
    RIG("coupling.corner", corner, ALONE),
    RIG("reproducibility.field", field_repeat, ALONE),
    RIG("reproducibility.flux_density", flux_density_repeat, ALONE),
    WINDING("winding.primary_turns", primary_turns),
    WINDING("winding.secondary_turns", secondary_turns),
    WINDING("winding.secondary_area", secondary_area),
    RING("ring.outer_diameter", outer_diameter, BY_RULER),
    RING("ring.inner_diameter", inner_diameter, BY_RULER),
    RING("ring.height", height, BY_RULER),
    RING("ring.mass", mass, ALONE),
    RING("ring.density", density, ALONE),
    RING("ring.stacking_factor", stacking_factor, ALONE),
    RING("ring.expansion.coefficient", expansion, ALONE),
    RING("ring.expansion.reference", expansion_reference, ALONE),
    RING("temperature", temperature, ALONE),
};
#define ENTRIES (sizeof entries / sizeof *entries)
_Static_assert(ENTRIES + 2 <= LOOP_INPUTS_MOST, "the fit and the gap are inputs, too");

/* Gap of a trace: half-width |gap| Hm, rectangular. */
static const char GAP[] = "closure gap";
static const char FIT[] = "frequency of the fit";

static struct winding *find_winding(struct loop_setting *setting)
{
    return setting->specimen.winding.is_present ? &setting->specimen.winding
                                                : &setting->rig.winding;
}

static void *find_base(struct loop_setting *setting, int file)
{
    return file == OF_RIG        ? (void *)&setting->rig
           : file == OF_SPECIMEN ? (void *)&setting->specimen
           : file == OF_WINDING  ? (void *)find_winding(setting)
                                 : (void *)setting;
}

static struct quantity *find_quantity(struct loop_setting *setting, const struct entry *entry)
{
    return (struct quantity *)((char *)find_base(setting, entry->file) + entry->offset);
}

static void add(
    struct loop_inputs *inputs, const struct budget_input *input, int file, size_t offset)
{
    inputs->place[inputs->count] = (struct loop_input){.offset = offset, .file = file};
    inputs->list[inputs->count++] = *input;
}

static void add_own(struct loop_inputs *inputs, const char *name, double value, double u,
    size_t offset, bool is_gap)
{
    const struct budget_input input = {.name = name,
        .value = value,
        .u = u,
        .freedom = INFINITY,
        .distribution = is_gap ? BUDGET_RECTANGULAR : BUDGET_NORMAL};
    add(inputs, &input, OF_SETTING, offset);
}

static void correlate(struct loop_inputs *inputs, const int *instrument, const struct rig *rig,
    const struct specimen *specimen)
{
    const size_t n = inputs->count;
    memset(inputs->correlation, 0, sizeof inputs->correlation);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < n; k++) {
            const bool are_one = instrument[i] == instrument[k] &&
                                 ((instrument[i] == BY_CALIBRATOR && rig->has_same_calibrator) ||
                                     (instrument[i] == BY_RULER && specimen->has_same_ruler));
            inputs->correlation[i * n + k] = i == k || are_one ? 1.0 : 0.0;
            inputs->is_correlated = inputs->is_correlated || (i != k && are_one);
        }
    }
}

void loop_inputs_find(struct loop_inputs *inputs, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen)
{
    struct loop_setting setting;
    int instrument[LOOP_INPUTS_MOST] = {0};
    inputs->count = 0;
    inputs->is_correlated = false;
    loop_setting_init(&setting, loop, rig, specimen);
    for (size_t i = 0; i < ENTRIES; i++) {
        const struct quantity *quantity = find_quantity(&setting, &entries[i]);
        const double u = quantity_get_uncertainty(quantity);
        if (!quantity->is_present || !quantity->has_uncertainty || !(u > 0.0)) {
            continue;
        }
        if (quantity == &setting.specimen.temperature && !specimen->expansion.is_present) {
            continue; /* nothing depends on it */
        }
        const struct budget_input input = {.name = entries[i].key,
            .value = quantity->value,
            .u = u,
            .freedom = INFINITY,
            .distribution = quantity->distribution == DISTRIBUTION_RECTANGULAR ? BUDGET_RECTANGULAR
                                                                               : BUDGET_NORMAL};
        instrument[inputs->count] = entries[i].instrument;
        add(inputs, &input, entries[i].file, entries[i].offset + offsetof(struct quantity, value));
    }
    const struct figure_value *frequency = &loop->figures.list[FIGURE_FREQUENCY];
    if (frequency->is_present && frequency->has_u && frequency->u > 0.0) {
        add_own(inputs, FIT, frequency->value, frequency->u,
            offsetof(struct loop_setting, frequency_Hz), false);
    }
    const struct figure_value *gap = &loop->figures.list[FIGURE_CLOSURE_GAP];
    if (gap->is_present && gap->value != 0.0) {
        add_own(inputs, GAP, 0.0, 1.0 / sqrt(3.0), offsetof(struct loop_setting, gap), true);
    }
    correlate(inputs, instrument, rig, specimen);
}

void loop_setting_init(struct loop_setting *setting, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen)
{
    *setting = (struct loop_setting){.rig = *rig, .specimen = *specimen, .frequency_Hz = NAN};
    if (loop->figures.list[FIGURE_FREQUENCY].is_present) {
        setting->frequency_Hz = loop->figures.list[FIGURE_FREQUENCY].value;
    }
}

void loop_setting_set(
    struct loop_setting *setting, const struct loop_inputs *inputs, const double *values)
{
    for (size_t i = 0; i < inputs->count; i++) {
        char *base = find_base(setting, inputs->place[i].file);
        memcpy(base + inputs->place[i].offset, &values[i], sizeof values[i]);
    }
}
