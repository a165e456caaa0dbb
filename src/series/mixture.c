// SPDX-License-Identifier: GPL-3.0-or-later
/* Which loops belong together. What does not is refused with the two loops that show it: a mean
 * over two steels, or over two temperatures, is the property of nothing. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "series/series_part.h"

/* K: ring steels change by some 0.1 % a kelvin at most. */
static const double TEMPERATURE_LIMIT = 5;

/* Peaks this near (relative) are one working point. */
static const double SAME_PEAK = 3e-3;

/* Of loops that do not tell their uncertainty. */
static const double TWIN_LIMIT = 0.02, TWIN_LEAST = 5e-3;

#define ZERO_CELSIUS 273.15

static const char *get_name(const struct series_loop *loop, char buffer[160])
{
    if (loop->row)
        snprintf(buffer, 160, "%.120s:%zu", loop->file, loop->row);
    else
        snprintf(buffer, 160, "%.140s", loop->file ? loop->file : "a loop");
    return buffer;
}

static bool is_same(const char *one, const char *other)
{
    return one == other || (one && other && !strcmp(one, other));
}

static const struct series_steel *get_steel(const struct series *series, size_t i)
{
    static const struct series_steel unknown = {0};
    const size_t setup = series->loops[i].setup;
    return setup == SERIES_NONE ? &unknown : &series->setups[setup].steel;
}

/* --- --only ------------------------------------------------------------------------------------
 */

static enum status keep_only(struct series *series, const char *name, struct error *err)
{
    struct series rest = {0};
    size_t kept = 0;
    for (size_t i = 0; i < series->count; i++) {
        struct series_loop loop = series->loops[i];
        if (loop.specimen && !strcmp(loop.specimen, name)) {
            series->loops[i] = series->loops[kept];
            series->loops[kept++] = loop;
        }
    }
    if (kept == 0)
        return fail(err, STATUS_INPUT, "names are those of specimen.yaml",
            "no loop is of the specimen '%s'", name);
    /* the others go as a series of their own */
    rest.count = series->count - kept;
    rest.loops = memory_create(rest.count + 1, sizeof *rest.loops);
    if (!rest.loops)
        return fail_memory(err);
    memcpy(rest.loops, series->loops + kept, rest.count * sizeof *rest.loops);
    series_clear(&rest);
    series->count = kept;
    return STATUS_OK;
}

/* --- specimen and temperature ------------------------------------------------------------------
 */

/* The first loop that tells a specimen, and whether all others that do tell the same. */
static enum status check_specimens(
    struct series *series, const struct series_options *options, struct error *err)
{
    size_t first = SERIES_NONE;
    char one[160], other[160];
    for (size_t i = 0; i < series->count; i++) {
        const struct series_loop *loop = &series->loops[i];
        if (!loop->specimen)
            continue;
        if (first == SERIES_NONE)
            first = i;
        const struct series_loop *base = &series->loops[first];
        const char *alloy = get_steel(series, i)->alloy, *known = get_steel(series, first)->alloy;
        if (alloy && known && strcmp(alloy, known))
            return fail(err, STATUS_INPUT, "give one steel at a time", "%s is of %s and %s of %s",
                get_name(base, one), known, get_name(loop, other), alloy);
        if (!is_same(loop->specimen, base->specimen) && !options->is_together)
            return fail(err, STATUS_INPUT,
                "--only NAME takes one of them, --together takes them as one steel",
                "two specimens in one series: %s is of '%s', %s of '%s'", get_name(base, one),
                base->specimen, get_name(loop, other), loop->specimen);
        if (is_same(loop->specimen, base->specimen) &&
            !is_same(get_steel(series, i)->heat, get_steel(series, first)->heat) &&
            get_steel(series, i)->heat && get_steel(series, first)->heat)
            return fail(err, STATUS_INPUT, "mend the specimen files",
                "specimen '%s' is of heat %s in %s and of heat %s in %s", loop->specimen,
                get_steel(series, first)->heat, get_name(base, one), get_steel(series, i)->heat,
                get_name(loop, other));
    }
    return STATUS_OK;
}

static double get_temperature_u(const struct series *series, size_t i)
{
    return quantity_get_uncertainty(&get_steel(series, i)->temperature);
}

static enum status check_temperatures(struct series *series, struct error *err)
{
    size_t cold = SERIES_NONE, hot = SERIES_NONE;
    char one[160], other[160];
    for (size_t i = 0; i < series->count; i++) {
        const double at = series->loops[i].temperature_K;
        if (!(at > 0))
            continue;
        if (cold == SERIES_NONE || at < series->loops[cold].temperature_K)
            cold = i;
        if (hot == SERIES_NONE || at > series->loops[hot].temperature_K)
            hot = i;
    }
    if (hot == SERIES_NONE)
        return STATUS_OK;
    const double low = series->loops[cold].temperature_K, high = series->loops[hot].temperature_K;
    const double u = hypot(get_temperature_u(series, cold), get_temperature_u(series, hot));
    if (high - low > fmax(TEMPERATURE_LIMIT, 2 * u))
        return fail(err, STATUS_INPUT, "give the loops of one temperature at a time",
            "two temperatures in one series: %s at %.4g degC, %s at %.4g degC",
            get_name(&series->loops[cold], one), low - ZERO_CELSIUS,
            get_name(&series->loops[hot], other), high - ZERO_CELSIUS);
    series->steel.temperature = (struct quantity){.value = 0.5 * (low + high),
        .half_width =
            fmax(2 * fmax(get_temperature_u(series, cold), get_temperature_u(series, hot)),
                0.5 * (high - low)),
        .is_present = true};
    series->steel.temperature.has_uncertainty = series->steel.temperature.half_width > 0;
    return STATUS_OK;
}

/* --- what they share ---------------------------------------------------------------------------
 */

/* A text of all steels, where it is told once or alike. */
static enum status merge_text(
    const struct series *series, size_t offset, char **merged, struct error *err)
{
    const char *found = NULL;
    for (size_t i = 0; i < series->count; i++) {
        const char *words =
            *(char *const *)(const void *)((const char *)get_steel(series, i) + offset);
        if (words && found && strcmp(words, found))
            return STATUS_OK;
        found = words ? words : found;
    }
    *merged = memory_copy_text(found);
    return found && !*merged ? fail_memory(err) : STATUS_OK;
}

/* A value that the loops tell alike (to 1e-6), else none. */
static void merge_quantity(const struct series *series, size_t offset, struct quantity *merged)
{
    struct quantity found = {0};
    for (size_t i = 0; i < series->count; i++) {
        struct quantity it;
        memcpy(&it, (const char *)get_steel(series, i) + offset, sizeof it);
        if (!it.is_present)
            continue;
        if (found.is_present && fabs(it.value - found.value) > 1e-6 * found.value)
            return;
        found = it;
    }
    *merged = found;
}

static enum status merge_steel(
    struct series *series, const struct series_options *options, struct error *err)
{
    struct series_steel *steel = &series->steel;
    static const size_t texts[] = {offsetof(struct series_steel, alloy),
        offsetof(struct series_steel, supplier), offsetof(struct series_steel, heat),
        offsetof(struct series_steel, condition)};
    char **merged[] = {&steel->alloy, &steel->supplier, &steel->heat, &steel->condition};
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < sizeof texts / sizeof *texts; i++)
        status = merge_text(series, texts[i], merged[i], err);
    const char *name = NULL;
    bool is_one = true;
    for (size_t i = 0; i < series->count; i++) {
        const char *told = series->loops[i].specimen;
        is_one = is_one && (!told || !name || !strcmp(told, name));
        name = name ? name : told;
    }
    if (!status && is_one && name) {
        steel->specimen = memory_copy_text(name);
        status = steel->specimen ? STATUS_OK : fail_memory(err);
    }
    merge_quantity(series, offsetof(struct series_steel, resistivity), &steel->resistivity);
    merge_quantity(series, offsetof(struct series_steel, density), &steel->density);
    merge_quantity(series, offsetof(struct series_steel, thickness), &steel->thickness);
    merge_quantity(series, offsetof(struct series_steel, breadth), &steel->breadth);
    for (size_t i = 0; i < series->count; i++)
        steel->is_laminated |= get_steel(series, i)->is_laminated;
    if (options->resistivity.is_present)
        steel->resistivity = options->resistivity;
    if (options->density.is_present)
        steel->density = options->density;
    if (options->thickness.is_present) { /* of a sheet */
        steel->thickness = options->thickness;
        steel->is_laminated = true;
    }
    return status;
}

enum status series_check_mixture(
    struct series *series, const struct series_options *options, struct error *err)
{
    enum status status = STATUS_OK;
    if (options->only)
        status = keep_only(series, options->only, err);
    if (!status)
        status = check_specimens(series, options, err);
    if (!status)
        status = check_temperatures(series, err);
    return status ? status : merge_steel(series, options, err);
}

/* --- twins -------------------------------------------------------------------------------------
 */

static double get_relative_u(const struct series_loop *loop)
{
    return loop->u_energy > 0 ? loop->u_energy / loop->energy : NAN;
}

/* Two loops at one working point: their losses, brought to the same peak by B^1.8, must agree
 * within the expanded uncertainty of their difference. */
static enum status check_pair(const struct series *series, size_t i, size_t j, struct error *err)
{
    const struct series_loop *a = &series->loops[i], *b = &series->loops[j];
    const double ratio = series_get_peak(series, j) / series_get_peak(series, i);
    char one[160], other[160];
    if (!is_same(a->specimen, b->specimen) || isnan(a->energy) || isnan(b->energy))
        return STATUS_OK;
    const double off = fabs(log(b->energy / a->energy) - 1.8 * log(ratio));
    const double u = hypot(get_relative_u(a), get_relative_u(b));
    const double limit = isnan(u) ? TWIN_LIMIT : fmax(TWIN_LEAST, 2 * u);
    if (off <= limit)
        return STATUS_OK;
    return fail(err, STATUS_INPUT, "find out which one is right, and leave the other out",
        "%s and %s are at the same frequency and peak (%.4g T), and their losses differ by %.2g %% "
        "(limit %.2g %%)",
        get_name(a, one), get_name(b, other), series_get_peak(series, i), 100 * off, 100 * limit);
}

enum status series_check_twins(struct series *series, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t c = 0; c < series->curve_count; c++) {
        const struct series_curve *curve = &series->curves[c];
        for (size_t i = 0; !status && i < curve->count; i++)
            for (size_t j = i + 1;
                 !status && j < curve->count && curve->peak[j] <= curve->peak[i] * (1 + SAME_PEAK);
                 j++)
                status = check_pair(series, curve->loop[i], curve->loop[j], err);
    }
    return status;
}
