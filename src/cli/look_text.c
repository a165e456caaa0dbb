// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/look_text.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_text.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define LABEL_COLUMNS 22
#define CELL_COLUMNS 14
#define CELLS 4 /* channels side by side */
#define CELL_SIZE 96
#define DIGITS 5
#define HARMONICS_SHOWN 7

/* A value with its unit, rounded; "-" where there is none. */
static void set_value(char cell[CELL_SIZE], double number, const char *unit, bool has_prefix)
{
    struct figure_value value = {.value = number, .is_present = true};
    struct display display;
    if (!isfinite(number)) {
        snprintf(cell, CELL_SIZE, "-");
        return;
    }
    display_set(&display, &value, unit, has_prefix, DIGITS);
    display_join(&display, cell, CELL_SIZE);
}

static const char *get_unit(const struct look *look, const struct look_channel *channel)
{
    if (channel->has_unit) {
        return dimension_get_unit(channel->dimension);
    }
    return look->kind == CAPTURE_AUDIO ? "FS" : "";
}

static void set_amount(char cell[CELL_SIZE], const struct look *look,
    const struct look_channel *channel, double number)
{
    set_value(cell, number, get_unit(look, channel), channel->has_unit);
}

/* Below a millionth of the peak an offset is none. */
static void set_offset(
    char cell[CELL_SIZE], const struct look *look, const struct look_channel *channel)
{
    double peak = fmax(fabs(channel->minimum), fabs(channel->maximum));
    bool is_none = fabs(channel->offset) < 1e-6 * peak;
    set_amount(cell, look, channel, is_none ? 0 : channel->offset);
}

static void set_name(char cell[CELL_SIZE], const struct look_channel *channel)
{
    snprintf(cell, CELL_SIZE, "%s", channel->name[0] ? channel->name : "-");
    /* cut at a character's border where it is too long for its column */
    size_t length = strlen(cell);
    while (text_width(cell) > CELL_COLUMNS - 2) {
        do {
            length--;
        } while (((unsigned char)cell[length] & 0xC0) == 0x80);
        cell[length] = '\0';
    }
}

static void set_clipping(char cell[CELL_SIZE], const struct look_channel *channel)
{
    if (channel->is_clipped) {
        snprintf(cell, CELL_SIZE, "%" PRId64 " samples", channel->extreme_count);
    } else {
        snprintf(cell, CELL_SIZE, "none");
    }
}

enum row {
    ROW_NAME,
    ROW_LEVEL,
    ROW_MAXIMUM,
    ROW_MINIMUM,
    ROW_OFFSET,
    ROW_RMS,
    ROW_CREST,
    ROW_CLIPPING,
    ROW_MISSING,
    ROW_FREQUENCY,
    ROW_CYCLES,
    ROW_FUNDAMENTAL,
    ROW_HARMONIC, /* one a harmonic, from 2 */
    ROW_DISTORTION = ROW_HARMONIC + HARMONICS_SHOWN - 1,
    ROW_NOISE,
    ROW_COUNT
};

static void set_percent(char cell[CELL_SIZE], double share)
{
    int decimals = share >= 0.1 ? 2 : share >= 0.001 ? 3 : 5;
    if (share < 1e-7) {
        snprintf(cell, CELL_SIZE, "< 0.00001 %%");
        return;
    }
    snprintf(cell, CELL_SIZE, "%.*f %%", decimals, 100 * share);
}

/* No more digits than its uncertainty leaves. */
static void set_frequency(char cell[CELL_SIZE], const struct look_channel *channel)
{
    struct figure_value value = {.value = channel->frequency_Hz,
        .u = channel->u_frequency_Hz,
        .has_u = channel->u_frequency_Hz > 1e-8 * channel->frequency_Hz,
        .is_present = true};
    struct display display;
    display_set(&display, &value, "Hz", true, 8);
    snprintf(cell, CELL_SIZE, "%s %s", display.value, display.unit);
}

/* Rows of the fitted waveform. */
static void set_waveform(
    char cell[CELL_SIZE], const struct look *look, const struct look_channel *channel, enum row row)
{
    size_t harmonic = (size_t)row - ROW_HARMONIC + 2;
    if (!channel->is_periodic) {
        snprintf(cell, CELL_SIZE, "-");
    } else if (row == ROW_FREQUENCY) {
        set_frequency(cell, channel);
    } else if (row == ROW_CYCLES) {
        snprintf(cell, CELL_SIZE, "%.5g", channel->cycles);
    } else if (row == ROW_FUNDAMENTAL) {
        set_amount(cell, look, channel, channel->fundamental);
    } else if (row == ROW_DISTORTION && channel->harmonics > 1) {
        set_percent(cell, channel->distortion);
    } else if (row == ROW_NOISE) {
        snprintf(cell, CELL_SIZE, "%.1f dB", channel->signal_to_noise_dB);
    } else if (harmonic > channel->harmonics || row == ROW_DISTORTION ||
               channel->harmonic[harmonic] < channel->harmonic_floor) {
        snprintf(cell, CELL_SIZE, "-");
    } else {
        set_percent(cell, channel->harmonic[harmonic]);
    }
}

static void set_cell(
    char cell[CELL_SIZE], const struct look *look, const struct look_channel *channel, enum row row)
{
    double level = look_get_level_dBFS(channel);
    switch (row) {
    case ROW_NAME:
        set_name(cell, channel);
        break;
    case ROW_LEVEL:
        snprintf(cell, CELL_SIZE, isfinite(level) ? "%.2f dBFS" : "silent", level);
        break;
    case ROW_MAXIMUM:
        set_amount(cell, look, channel, channel->maximum);
        break;
    case ROW_MINIMUM:
        set_amount(cell, look, channel, channel->minimum);
        break;
    case ROW_OFFSET:
        set_offset(cell, look, channel);
        break;
    case ROW_RMS:
        set_amount(cell, look, channel, channel->rms);
        break;
    case ROW_CREST:
        set_value(cell, channel->crest_factor, "", false);
        break;
    case ROW_CLIPPING:
        set_clipping(cell, channel);
        break;
    case ROW_MISSING:
        snprintf(cell, CELL_SIZE, "%" PRId64, channel->missing);
        break;
    default:
        set_waveform(cell, look, channel, row);
    }
}

static const char *get_label(enum row row, char buffer[CELL_SIZE])
{
    static const char *const labels[ROW_COUNT] = {
        [ROW_NAME] = "header",
        [ROW_LEVEL] = "peak level",
        [ROW_MAXIMUM] = "highest",
        [ROW_MINIMUM] = "lowest",
        [ROW_OFFSET] = "offset",
        [ROW_RMS] = "rms about the offset",
        [ROW_CREST] = "crest factor",
        [ROW_CLIPPING] = "clipping",
        [ROW_MISSING] = "missing samples",
        [ROW_FREQUENCY] = "frequency",
        [ROW_CYCLES] = "cycles",
        [ROW_FUNDAMENTAL] = "fundamental, peak",
        [ROW_DISTORTION] = "harmonic distortion",
        [ROW_NOISE] = "signal to noise",
    };
    if (labels[row] == NULL) {
        snprintf(buffer, CELL_SIZE, "harmonic %d", (int)row - ROW_HARMONIC + 2);
        return buffer;
    }
    return labels[row];
}

/* Rows that say nothing of this kind of capture are left out. */
static bool has_row(const struct look *look, enum row row)
{
    bool is_waveform = row >= ROW_FREQUENCY;
    if (row == ROW_NAME) {
        return look->kind == CAPTURE_TABLE;
    }
    if (row == ROW_LEVEL) {
        return look->kind == CAPTURE_AUDIO;
    }
    for (size_t i = 0; is_waveform && i < look->channel_count; i++) {
        if (look->channels[i].is_periodic) {
            return true;
        }
    }
    return !is_waveform;
}

static void add_row(
    struct text *out, const struct look *look, size_t first, size_t count, enum row row)
{
    char cell[CELL_SIZE];
    const char *label = get_label(row, cell);
    text_add_format(out, "  %-*s", LABEL_COLUMNS - 2, label);
    for (size_t i = first; i < first + count; i++) {
        set_cell(cell, look, &look->channels[i], row);
        wrap_add_apart(out, cell, CELL_COLUMNS);
    }
    text_add(out, "\n");
}

static void add_channels(struct text *out, const struct look *look, size_t first, size_t count)
{
    char cell[CELL_SIZE];
    text_add_format(out, "\n%-*s", LABEL_COLUMNS, look_get_channel_word(look));
    for (size_t i = first; i < first + count; i++) {
        snprintf(cell, sizeof cell, "%zu", look->channels[i].column);
        wrap_add_apart(out, cell, CELL_COLUMNS);
    }
    text_add(out, "\n");
    for (int row = 0; row < ROW_COUNT; row++) {
        if (has_row(look, (enum row)row)) {
            add_row(out, look, first, count, (enum row)row);
        }
    }
}

static void add_clock(struct text *out, const struct look *look)
{
    char cell[CELL_SIZE];
    if (look->timing == CAPTURE_TIMING_NONE) {
        text_add(out, ", no time column\n");
        return;
    }
    if (look->sample_rate_Hz > 0) {
        set_value(cell, look->sample_rate_Hz, "Hz", true);
        text_add_format(out, " at %s", cell);
    } else {
        text_add(out, " at uneven times");
    }
    set_value(cell, look->length_s, "s", true);
    text_add_format(out, ", %s", cell);
    if (look->start_s != 0) {
        set_value(cell, look->start_s, "s", true);
        text_add_format(out, " from %s", cell);
    }
    text_add(out, "\n");
    if (look->has_sampling && !look->sampling.is_grid) {
        set_value(cell, look->sampling.jitter_rms_s, "s", true);
        text_add_format(out, "the times stray by %s (rms) from an even clock\n", cell);
    }
}

static void add_pair(struct text *out, const struct look *look)
{
    const struct look_pair *pair = &look->pair;
    struct text words = {0};
    if (pair->is_found) {
        text_add_format(&words, "Looks like: excitation in %s %zu, pickup in %zu; %s.",
            look_get_channel_word(look), look->channels[pair->excitation].column,
            look->channels[pair->pickup].column, pair->reason);
    } else {
        text_add_format(&words, "Excitation and pickup cannot be told: %s.", pair->reason);
    }
    text_add(out, "\n");
    if (words.failed) {
        out->failed = true;
    } else {
        wrap_add(out, words.bytes, 0, 2);
    }
    text_clear(&words);
}

void look_text_add(struct text *out, const struct look *look)
{
    bool is_stdin = strcmp(look->file, "-") == 0;
    text_add_format(out, "%s: %s\n", is_stdin ? "standard input" : look->file, look->format);
    text_add_format(out, "%zu %s%s, %" PRId64 " rows", look->channel_count,
        look->kind == CAPTURE_AUDIO ? "channel" : "value column",
        look->channel_count == 1 ? "" : "s", look->frames);
    add_clock(out, look);
    for (size_t first = 0; first < look->channel_count; first += CELLS) {
        size_t left = look->channel_count - first;
        add_channels(out, look, first, left < CELLS ? left : CELLS);
    }
    add_pair(out, look);
    if (look->notes.count > 0) {
        text_add(out, "\nNotes\n");
        loop_text_add_notes(out, &look->notes, NULL);
    }
}
