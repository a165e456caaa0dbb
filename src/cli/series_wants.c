// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/series_wants.h"

#define AT(type, member) .offset = offsetof(struct type, member)

const struct option steel_options[] = {
    {.name = "density",
        .value = "D",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_DENSITY,
        .needs_unit = true,
        AT(series_options, density),
        .help = "of the steel, such as '7600 kg/m3': instead of the specimen's"},
    {.name = "resistivity",
        .value = "R",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_RESISTIVITY,
        .needs_unit = true,
        AT(series_options, resistivity),
        .help = "of the steel, such as '0.5 uohm m': instead of the specimen's"},
    {.name = "thickness",
        .value = "T",
        .type = OPTION_QUANTITY,
        .dimension = DIMENSION_LENGTH,
        .needs_unit = true,
        AT(series_options, thickness),
        .help = "of the sheets where eddy currents circulate, such as '0.2 mm' (default: the "
                "specimen's; of a solid ring the lesser of its width and height)"},
    {.name = "together",
        .type = OPTION_FLAG,
        AT(series_options, is_together),
        .help = "take several specimens of one alloy as one steel"},
    {.name = "polarization",
        .type = OPTION_FLAG,
        AT(series_options, uses_polarization),
        .help = "count by the peak of J instead of B"},
    {0},
};

const struct option series_choice_options[] = {
    {.name = "only",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(series_options, only),
        .help = "take the loops of this specimen alone"},
    {.name = "initial",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(series_options, initial),
        .help = "a table with the initial magnetization curve: field strength (A/m) and flux "
                "density (T) or polarization (T)"},
    {0},
};

const struct option separation_options[] = {
    {.name = "separate-at",
        .value = "PEAK",
        .type = OPTION_TEXTS,
        AT(series_wants, peaks),
        .help = "where losses are separated, such as '1 T' (default: the peaks of the loops, "
                "rounded); may be given often"},
    {.name = "terms",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 2,
        .most = 3,
        AT(series_wants, options.terms),
        .help = "of the separation: 2 without the excess term, 3 with it (default: as the number "
                "of frequencies allows)"},
    {.name = "up-to",
        .value = "HZ",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_FREQUENCY,
        AT(series_wants, options.frequency_most_Hz),
        .help = "separate with the loops up to this frequency only"},
    {.name = "fit-linear",
        .type = OPTION_FLAG,
        AT(series_wants, options.is_free),
        .help = "fit the linear term even where it can be computed from the eddy currents"},
    {.name = "exponent-of-B",
        .type = OPTION_FLAG,
        AT(series_wants, options.has_varying),
        .help = "fit a power law whose exponent varies with B as well"},
    {0},
};

const struct option model_options[] = {
    {.name = "model",
        .value = "NAME",
        .type = OPTION_TEXTS,
        .help = "fit a model of hysteresis to the loops of the normal curve (docs/models.md); may "
                "be given often"},
    {0},
};

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
    *options = wants->options;
    options->peaks = reading->peaks;
    options->peak_count = wants->peaks.count;
    options->wishes = reading->wishes;
    options->wish_count = wants->at.count;
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
    return status;
}
