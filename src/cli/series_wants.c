// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/series_wants.h"

static enum status read_quantity(const char *option, const char *words, enum dimension dimension,
    struct quantity *quantity, struct error *err)
{
    struct error inner;
    if (!words || !quantity_read(words, dimension, quantity, &inner))
        return STATUS_OK;
    return fail(
        err, STATUS_USAGE, inner.hint, "option '--%s': '%s': %s", option, words, inner.message);
}

/* "40 kA/m", "1 T". */
static enum status read_peak(
    const char *option, const char *words, struct series_wish *wish, struct error *err)
{
    struct quantity peak = {0};
    bool is_field = !quantity_read(words, DIMENSION_FIELD_STRENGTH, &peak, NULL);
    if (!is_field && quantity_read(words, DIMENSION_FLUX_DENSITY, &peak, NULL))
        return fail(err, STATUS_USAGE, "write it like '40 kA/m' or '1 T'",
            "option '--%s': '%s' is neither a field strength nor a flux density", option, words);
    if (!(peak.value > 0))
        return fail(err, STATUS_USAGE, "peaks are above 0", "option '--%s': '%s'", option, words);
    wish->variable = is_field ? FIGURE_FIELD_PEAK : FIGURE_FLUX_DENSITY_PEAK;
    wish->value = peak.value;
    return STATUS_OK;
}

enum status series_wants_read(
    const struct series_wants *wants, struct series_reading *reading, struct error *err)
{
    enum status status = STATUS_OK;
    struct series_options *options = &reading->options;
    *options = (struct series_options){.rig = wants->rig,
        .specimen = wants->specimen,
        .initial = wants->initial,
        .only = wants->only,
        .threads = wants->threads,
        .is_together = wants->is_together,
        .uses_polarization = wants->uses_polarization,
        .terms = wants->terms,
        .frequency_most_Hz = wants->frequency_most_Hz,
        .is_free = wants->is_free,
        .has_varying = wants->has_varying,
        .peaks = reading->peaks,
        .peak_count = wants->peaks.count,
        .wishes = reading->wishes,
        .wish_count = wants->at.count};
    for (size_t i = 0; !status && i < wants->at.count; i++)
        status = read_peak("at", wants->at.list[i], &reading->wishes[i], err);
    for (size_t i = 0; !status && i < wants->peaks.count; i++) {
        struct series_wish wish = {0};
        status = read_peak("separate-at", wants->peaks.list[i], &wish, err);
        if (!status && wish.variable == FIGURE_FIELD_PEAK)
            status = fail(err, STATUS_USAGE, "'--separate-at \"1 T\"'",
                "losses are separated at equal flux density, not at '%s'", wants->peaks.list[i]);
        if (!status)
            reading->peaks[i] = wish.value;
    }
    if (!status)
        status =
            read_quantity("density", wants->density, DIMENSION_DENSITY, &options->density, err);
    if (!status)
        status = read_quantity(
            "resistivity", wants->resistivity, DIMENSION_RESISTIVITY, &options->resistivity, err);
    if (!status)
        status = read_quantity(
            "thickness", wants->thickness, DIMENSION_LENGTH, &options->thickness, err);
    return status;
}
