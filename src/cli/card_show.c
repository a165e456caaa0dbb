// SPDX-License-Identifier: GPL-3.0-or-later
/* A card as a page that people read. */
#include <math.h>
#include <string.h>

#include "cli/card.h"
#include "cli/output.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define DIGITS 5
#define NAME_COLUMNS 34
#define VALUE_COLUMNS 26

static void add_row(struct text *out, const char *name, const char *value)
{
    const size_t width = text_width(name);
    text_add_format(out, "  %s", name);
    wrap_add_blanks(out, width < NAME_COLUMNS ? NAME_COLUMNS - width : 1);
    wrap_add(out, value, NAME_COLUMNS + 2, NAME_COLUMNS + 2);
}

/* A value in SI with its u (NaN: none) as "18.535(48) kA/m". */
static void join(
    double value, double u, const char *unit, bool has_prefix, char *words, size_t size)
{
    struct figure_value figure = {
        .value = value, .u = u, .is_present = true, .has_u = !isnan(u) && u > 0};
    struct display display;
    display_set(&display, &figure, unit, has_prefix, DIGITS);
    display_join(&display, words, size);
}

static void add_value(struct text *out, const char *name, double value, double u, const char *unit)
{
    char words[DISPLAY_JOINED_SIZE];
    if (isnan(value))
        return;
    join(value, u, unit, unit[0] != '\0', words, sizeof words);
    add_row(out, name, words);
}

/* "20.000 Hz" or "10.0 Hz to 1.00 kHz" */
static void add_range(
    struct text *out, const char *name, double least, double most, const char *unit)
{
    char low[DISPLAY_JOINED_SIZE], high[DISPLAY_JOINED_SIZE];
    struct text words = {0};
    if (isnan(least) || isnan(most))
        return;
    join(least, NAN, unit, true, low, sizeof low);
    join(most, NAN, unit, true, high, sizeof high);
    text_add(&words, low);
    if (strcmp(low, high))
        text_add_format(&words, " to %s", high);
    add_row(out, name, words.failed ? "" : words.bytes);
    out->failed |= words.failed;
    text_clear(&words);
}

static void add_head(struct text *out, const struct card *card)
{
    text_add_format(out, "%s\n", card->name);
    if (card->date)
        text_add_format(out, "card of %s\n", card->date);
    text_add(out, "\n");
    const struct {
        const char *name, *value;
    } rows[] = {{"alloy", card->alloy}, {"supplier", card->supplier}, {"heat", card->heat},
        {"condition", card->condition}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].value)
            add_row(out, rows[i].name, rows[i].value);
    struct text names = {0};
    for (size_t i = 0; i < card->specimen_count; i++)
        text_add_format(&names, "%s%s", i ? ", " : "", card->specimens[i]);
    if (names.length)
        add_row(out, card->specimen_count == 1 ? "specimen" : "specimens", names.bytes);
    text_clear(&names);
    add_value(
        out, "resistivity", card->steel.resistivity_ohm_m, card->steel.u_resistivity_ohm_m, "Ω m");
    if (!isnan(card->steel.density_kg_per_m3)) {
        char words[DISPLAY_JOINED_SIZE];
        join(card->steel.density_kg_per_m3, card->steel.u_density_kg_per_m3, "kg/m³", false, words,
            sizeof words);
        add_row(out, "density", words);
    }
    add_value(out, card->steel.is_laminated ? "thickness of the sheet" : "thickness of the ring",
        card->steel.thickness_m, card->steel.u_thickness_m, "m");
}

static void add_validity(struct text *out, const struct card *card)
{
    const struct card_validity *range = &card->validity;
    text_add(out, "\nMeasured\n");
    add_range(
        out, "peak field strength", range->field_least_A_per_m, range->field_most_A_per_m, "A/m");
    add_range(
        out, "peak flux density", range->flux_density_least_T, range->flux_density_most_T, "T");
    add_range(
        out, "peak polarization", range->polarization_least_T, range->polarization_most_T, "T");
    if (range->frequency_most_Hz > 0)
        add_range(out, "frequency", range->frequency_least_Hz, range->frequency_most_Hz, "Hz");
    else if (!isnan(range->frequency_most_Hz))
        add_row(out, "frequency", "slow traces");
    add_range(out, "temperature", range->temperature_least_K, range->temperature_most_K, "K");
}

/* The sides apart and what hangs on the bench stay in the card. */
static bool is_shown(enum figure figure)
{
    return figure != FIGURE_CYCLES && figure != FIGURE_HARMONICS &&
           figure < FIGURE_REMANENCE_FALLING;
}

static void add_spread(struct text *out, const struct card_spread *spread, enum figure figure)
{
    char least[DISPLAY_JOINED_SIZE], most[DISPLAY_JOINED_SIZE];
    const struct figure_entry *entry = &figure_table[figure];
    join(spread->least, NAN, entry->unit, entry->has_prefix, least, sizeof least);
    join(spread->most, NAN, entry->unit, entry->has_prefix, most, sizeof most);
    struct text words = {0};
    text_add_format(&words, "%s ... %s (%zu)", least, most, spread->specimens);
    add_row(out, "", words.failed ? "" : words.bytes);
    text_clear(&words);
}

static void add_figures(struct text *out, const struct card *card)
{
    text_add_format(out, "\n%s\n",
        card->has_spread ? "Figures, means of the specimens; below them least and most"
                         : "Figures of the loop with the largest field");
    for (int i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &card->figures.list[i];
        const struct figure_entry *entry = &figure_table[i];
        if (!value->is_present || !is_shown((enum figure)i))
            continue;
        char words[DISPLAY_JOINED_SIZE];
        struct display display;
        display_set_figure(&display, (enum figure)i, value, DIGITS);
        display_join(&display, words, sizeof words);
        add_row(out, entry->name, words);
        if (card->has_spread && card->spread[i].specimens > 1)
            add_spread(out, &card->spread[i], (enum figure)i);
    }
    text_add(out, "  Digits in parentheses: standard uncertainty (k = 1) in the last places.\n");
}

static void add_count(struct text *out, const char *name, size_t count, const char *what)
{
    struct text words = {0};
    text_add_format(&words, "%zu %s", count, what);
    add_row(out, name, words.failed ? "" : words.bytes);
    text_clear(&words);
}

static void add_curves(struct text *out, const struct card *card)
{
    text_add(out, "\nCurves\n");
    if (card->has_major_loop) {
        add_count(out, "major loop", card->major_loop.rising.count + card->major_loop.falling.count,
            "points");
        add_value(out, "  drawn within", card->major_loop.bound_T, NAN, "T");
        if (!card->major_loop.is_saturating)
            add_row(out, "",
                "its peak field is below 3 HcB: remanence and coercivity are "
                "those of this loop");
    }
    add_count(out, "other loops", card->loop_count, "");
    if (card->normal_curve.count)
        add_count(out, "normal curve", card->normal_curve.count, "tips");
    add_value(out, "saturation polarization", card->saturation.polarization_T,
        card->saturation.u_polarization_T, "T");
    if (card->solver.curve.count) {
        add_count(out, "curve for solvers", card->solver.curve.count, "points");
        add_row(out, "", card->solver.method);
        add_count(out, "reluctivity over B²", card->solver.reluctivity.count, "points");
    }
}

/* One term of the energy per cycle, f in Hz. */
static void add_term(struct text *words, double value, bool is_mass, const char *factor)
{
    char term[DISPLAY_JOINED_SIZE];
    if (isnan(value))
        return;
    join(value, NAN, is_mass ? "J/kg" : "J/m³", true, term, sizeof term);
    text_add_format(words, "%s%s%s", words->length ? " + " : "", term, factor);
}

static void add_laws(struct text *out, const struct card *card)
{
    if (card->separation_count || card->has_power_law || card->model_count)
        text_add(out, "\nLaws and models\n");
    for (size_t i = 0; i < card->separation_count; i++) {
        const struct card_separation *law = &card->separations[i];
        const bool is_mass = isnan(law->hysteresis_J_per_m3);
        const bool is_flux = isnan(law->polarization_peak_T);
        const double linear = is_mass ? fmax(law->classical_J_s_per_kg, law->linear_J_s_per_kg)
                                      : fmax(law->classical_J_s_per_m3, law->linear_J_s_per_m3);
        const double excess =
            is_mass ? law->excess_J_per_kg_per_sqrt_Hz : law->excess_J_per_m3_per_sqrt_Hz;
        struct text words = {0};
        add_term(
            &words, is_mass ? law->hysteresis_J_per_kg : law->hysteresis_J_per_m3, is_mass, "");
        add_term(&words, linear, is_mass, "·f");
        add_term(&words, excess, is_mass, "·√f");
        struct text name = {0};
        text_add_format(&name, "energy per cycle at %s %.4g T", is_flux ? "B" : "J",
            is_flux ? law->flux_density_peak_T : law->polarization_peak_T);
        if (!words.failed && !name.failed)
            add_row(out, name.bytes, words.bytes);
        text_clear(&words);
        text_clear(&name);
    }
    if (card->has_power_law) {
        const struct card_power_law *law = &card->power_law;
        const bool is_mass = isnan(law->coefficient_J_per_m3);
        struct text words = {0};
        add_term(&words, is_mass ? law->coefficient_J_per_kg : law->coefficient_J_per_m3, is_mass,
            "·(B/1 T)");
        text_add_format(&words, "^%.4g", law->exponent);
        add_row(out, "hysteresis loss", words.failed ? "" : words.bytes);
        text_clear(&words);
    }
    for (size_t i = 0; i < card->model_count; i++) {
        struct text words = {0};
        text_add_format(&words, "misfit %.2g %%", 100 * card->models[i].residual_relative);
        add_row(out, card->models[i].name, words.failed ? "" : words.bytes);
        text_clear(&words);
    }
}

static void add_notes(struct text *out, const struct card *card)
{
    text_add(out, "\nProvenance\n");
    add_count(out, "captures", card->capture_count, "");
    if (card->part_count)
        add_count(out, "merged from", card->part_count, "cards");
    add_row(out, "made by lodecard", card->version);
    if (card->notes.count)
        text_add(out, "\nNotes\n");
    for (size_t i = 0; i < card->notes.count; i++) {
        const struct card_note *note = &card->notes.list[i];
        struct text words = {0};
        text_add_format(&words, "%s, %s: %s%s%s", note_level_get_name(note->level), note->code,
            note->message, note->hint[0] ? "\nhint: " : "", note->hint);
        text_add(out, "  ");
        wrap_add(out, words.failed ? "" : words.bytes, 2, 4);
        text_clear(&words);
    }
}

static int run_show(const struct card_command *options, int count, char **words, struct error *err)
{
    (void)options;
    if (count != 1)
        return (int)fail(err, STATUS_USAGE, "'lodecard card show card.json'",
            "'card show' needs one card, and there are %d", count);
    struct card card;
    enum status status = card_read(words[0], &card, err);
    if (status)
        return (int)status;
    struct text out = {0};
    add_head(&out, &card);
    add_validity(&out, &card);
    add_figures(&out, &card);
    add_curves(&out, &card);
    add_laws(&out, &card);
    add_notes(&out, &card);
    status = output_print(&out, err);
    text_clear(&out);
    card_clear(&card);
    return (int)status;
}

static const char *const own_options[] = {NULL};
const struct card_verb card_show = {.name = "show", .options = own_options, .run = run_show};
