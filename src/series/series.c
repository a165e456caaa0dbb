// SPDX-License-Identifier: GPL-3.0-or-later
/* A series from end to end: what it holds, and the order in which its results are worked out. */
#include "series/series.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "series/curve_part.h"
#include "series/series_part.h"

struct series_loop *series_new_loop(struct series *series)
{
    struct series_loop *list =
        memory_reserve(series->loops, &series->capacity, series->count + 1, sizeof *list);
    if (!list)
        return NULL;
    series->loops = list;
    struct series_loop *loop = &list[series->count++];
    *loop = (struct series_loop){.setup = SERIES_NONE, .energy = NAN};
    return loop;
}

static void clear_loop(struct series_loop *loop)
{
    memory_destroy(loop->file);
    memory_destroy(loop->specimen);
    memory_destroy(loop->field);
    memory_destroy(loop->flux_density);
    notes_clear(&loop->notes);
    memory_destroy(loop->note_codes);
}

static void clear_curves(struct series *series)
{
    for (size_t i = 0; i < series->curve_count; i++) {
        memory_destroy(series->curves[i].loop);
        memory_destroy(series->curves[i].field_peak); /* and all numbers behind it */
    }
    memory_destroy(series->curves);
}

void series_clear(struct series *series)
{
    for (size_t i = 0; i < series->count; i++)
        clear_loop(&series->loops[i]);
    memory_destroy(series->loops);
    for (size_t i = 0; i < series->setup_count; i++) {
        memory_destroy(series->setups[i].rig);
        memory_destroy(series->setups[i].specimen);
        steel_clear(&series->setups[i].steel);
    }
    memory_destroy(series->setups);
    steel_clear(&series->steel);
    clear_curves(series);
    for (size_t i = 0; i < series->separation_count; i++)
        memory_destroy(series->separations[i].frequency_Hz); /* and all numbers behind it */
    memory_destroy(series->separations);
    memory_destroy(series->initial.file);
    memory_destroy(series->initial.field);
    memory_destroy(series->initial.flux_density);
    memory_destroy(series->at);
    notes_clear(&series->notes);
    *series = (struct series){0};
}

enum figure series_get_peak_figure(const struct series *series)
{
    return series->uses_polarization ? FIGURE_POLARIZATION_PEAK : FIGURE_FLUX_DENSITY_PEAK;
}

double series_get_peak(const struct series *series, size_t loop)
{
    const struct figure_value *peak =
        &series->loops[loop].figures.list[series_get_peak_figure(series)];
    return peak->is_present ? peak->value : NAN;
}

/* --- energies ----------------------------------------------------------------------------------
 */

static double get_frequency(const struct series_loop *loop)
{
    const struct figure_value *frequency = &loop->figures.list[FIGURE_FREQUENCY];
    return frequency->is_present ? frequency->value : 0;
}

/* J/m³ and J/kg that a loop tells by itself or with a density; NaN: it does not. */
static void find_energies(const struct series_loop *loop, const struct quantity *density,
    struct figure_value *volume, struct figure_value *mass)
{
    const struct figure_value *area = &loop->figures.list[FIGURE_LOOP_AREA];
    const struct figure_value *loss = &loop->figures.list[FIGURE_LOSS];
    const struct figure_value *specific = &loop->figures.list[FIGURE_SPECIFIC_LOSS];
    const double frequency = get_frequency(loop);
    *volume = *mass = (struct figure_value){.value = NAN};
    if (specific->is_present && frequency > 0)
        *mass = (struct figure_value){
            specific->value / frequency, specific->u / frequency, true, specific->has_u};
    if (area->is_present)
        *volume = *area;
    else if (loss->is_present && frequency > 0)
        *volume =
            (struct figure_value){loss->value / frequency, loss->u / frequency, true, loss->has_u};
    else if (mass->is_present && density->is_present)
        *volume = (struct figure_value){mass->value * density->value,
            hypot(mass->u * density->value, mass->value * quantity_get_uncertainty(density)), true,
            mass->has_u};
}

/* Per volume if all loops that tell anything tell it so; else per mass. */
static void set_energies(struct series *series)
{
    struct figure_value volume, mass;
    size_t volumes = 0, masses = 0;
    for (size_t i = 0; i < series->count; i++) {
        find_energies(&series->loops[i], &series->steel.density, &volume, &mass);
        volumes += volume.is_present;
        masses += mass.is_present;
    }
    series->is_per_mass = masses > volumes;
    for (size_t i = 0; i < series->count; i++) {
        find_energies(&series->loops[i], &series->steel.density, &volume, &mass);
        const struct figure_value *energy = series->is_per_mass ? &mass : &volume;
        series->loops[i].energy = energy->is_present && energy->value > 0 ? energy->value : NAN;
        series->loops[i].u_energy = energy->has_u ? energy->u : 0;
    }
}

/* --- order -------------------------------------------------------------------------------------
 */

struct order {
    double frequency, peak;
    size_t index;
};

static int compare(const void *left, const void *right)
{
    const struct order *a = left, *b = right;
    if (a->frequency != b->frequency)
        return a->frequency < b->frequency ? -1 : 1;
    if (a->peak != b->peak)
        return a->peak < b->peak ? -1 : 1;
    return a->index < b->index ? -1 : 1;
}

static int compare_frequency(const void *left, const void *right)
{
    const struct order *a = left, *b = right;
    return a->frequency < b->frequency ? -1 : a->frequency > b->frequency;
}

/* By frequency, then peak; frequencies that are one take the first of them as their rank. */
static enum status sort(struct series *series, struct error *err)
{
    struct order *order = memory_create(series->count, sizeof *order);
    struct series_loop *sorted = memory_create(series->count, sizeof *sorted);
    if (!order || !sorted) {
        memory_destroy(order);
        memory_destroy(sorted);
        return fail_memory(err);
    }
    for (size_t i = 0; i < series->count; i++)
        order[i] = (struct order){get_frequency(&series->loops[i]), series_get_peak(series, i), i};
    qsort(order, series->count, sizeof *order, compare_frequency);
    for (size_t i = 1; i < series->count; i++)
        if (order[i].frequency <= order[i - 1].frequency * (1 + SERIES_SAME_FREQUENCY))
            order[i].frequency = order[i - 1].frequency;
    qsort(order, series->count, sizeof *order, compare);
    for (size_t i = 0; i < series->count; i++)
        sorted[i] = series->loops[order[i].index];
    memory_destroy(order);
    memory_destroy(series->loops);
    series->loops = sorted;
    series->capacity = series->count;
    return STATUS_OK;
}

/* Which peaks count: those of B, if every loop tells one. */
/* How many loops tell a figure, and the first that does not. */
static size_t count_told(const struct series *series, enum figure figure, size_t *without)
{
    size_t count = 0;
    *without = SERIES_NONE;
    for (size_t i = 0; i < series->count; i++) {
        const bool is_told = series->loops[i].figures.list[figure].is_present;
        count += is_told;
        if (!is_told && *without == SERIES_NONE)
            *without = i;
    }
    return count;
}

static enum status choose_peak(
    struct series *series, const struct series_options *options, struct error *err)
{
    size_t no_flux, no_polarization;
    const size_t flux = count_told(series, FIGURE_FLUX_DENSITY_PEAK, &no_flux);
    const size_t polarization = count_told(series, FIGURE_POLARIZATION_PEAK, &no_polarization);
    series->uses_polarization = options->uses_polarization || flux < series->count;
    if ((series->uses_polarization ? polarization : flux) == series->count)
        return STATUS_OK;
    return fail(err, STATUS_INPUT,
        "give each loop its peak flux density, or each its peak "
        "polarization",
        "of %zu loops %zu tell a peak flux density and %zu a peak polarization; one of '%s' lacks "
        "it",
        series->count, flux, polarization,
        series->loops[no_flux != SERIES_NONE ? no_flux : no_polarization].file);
}

static enum status compute(
    struct series *series, const struct series_options *options, struct error *err)
{
    if (series->count == 0)
        return fail(err, STATUS_INPUT, "check the inputs, and --only", "there are no loops");
    enum status status = series_check_mixture(series, options, err);
    if (!status)
        status = choose_peak(series, options, err);
    if (!status)
        status = sort(series, err);
    if (!status)
        set_energies(series);
    if (!status)
        status = series_set_curves(series, err);
    if (!status)
        status = series_check_twins(series, err);
    if (!status)
        status = series_set_saturation(series, err);
    if (!status)
        status = series_set_separations(series, options, err);
    if (!status)
        status = series_set_laws(series, options, err);
    if (!status)
        status = series_set_at(series, options, err);
    if (!status && series->notes.failed)
        status = fail_memory(err);
    return status;
}

enum status series_compute(
    struct series *series, const struct series_options *options, struct error *err)
{
    static const struct series_options none = {0};
    return compute(series, options ? options : &none, err);
}
