// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands out in a capture before any rig is known. The codes are those of loops; the limits
 * are reasoned in docs/notes.md. */
#include <inttypes.h>
#include <math.h>

#include "loop/look_part.h"

static const double PI = 3.14159265358979323846264338327950;

static bool has_format_step(const struct look *look)
{
    return look->bits != 0 && !look->is_float;
}

/* One step of an integer format as a fraction of full scale; otherwise the resolution seen. */
static double get_step(const struct look *look, const struct look_channel *channel)
{
    return has_format_step(look) ? ldexp(1, 1 - look->bits) : channel->step;
}

/* How many samples in a row a sine stays within one step of its top, which is a parabola. */
static double get_natural_run(const struct look *look, const struct look_channel *channel)
{
    double amplitude = (channel->maximum - channel->minimum) / 2;
    double rate = look->sample_rate_Hz;
    if (!channel->is_periodic || !(amplitude > 0) || !(rate > 0)) {
        return NAN;
    }
    double angle = 2 * sqrt(2 * get_step(look, channel) / amplitude);
    return angle / (2 * PI) * rate / channel->frequency_Hz;
}

static bool is_at_full_scale(const struct look *look, const struct look_channel *channel)
{
    double peak = fmax(fabs(channel->minimum), fabs(channel->maximum));
    return has_format_step(look) && peak >= 1 - 1.5 * get_step(look, channel);
}

/* More samples in a row at an extreme are no top any more; INFINITY: that cannot be told. */
static double get_run_limit(const struct look *look, const struct look_channel *channel)
{
    bool is_full = is_at_full_scale(look, channel);
    double natural = channel->natural_run;
    if (isnan(natural)) {
        return is_full ? 2 : INFINITY;
    }
    return is_full ? fmax(2, 1.5 * natural) : fmax(3, 3 * natural);
}

static void find_clipping(const struct look *look, struct look_channel *channel)
{
    channel->natural_run = get_natural_run(look, channel);
    /* What does not move at all is not cut off. */
    channel->is_clipped = (double)channel->extreme_run > get_run_limit(look, channel) &&
                          channel->maximum > channel->minimum;
}

/* The limits of loops: the mean over the amplitude, the cycles, missing rows over all. */
static const double OFFSET_INFO = 0.02, OFFSET_WARNING = 0.1;
static const double CYCLES_ADVISED = 20, CYCLES_FEW = 4;
static const double MISSING_WARNING = 0.01;

static void note_clipped(struct look *look, const struct look_channel *channel)
{
    if (channel->is_clipped) {
        notes_add(&look->notes, "clipped", NOTE_WARNING,
            "lower the input gain or the drive until the peaks stay 3 dB below full scale",
            "%s %zu stays at its extreme for %" PRId64 " samples in a row, %" PRId64
            " in all: its peaks are cut off",
            look_get_channel_word(look), channel->column, channel->extreme_run,
            channel->extreme_count);
        notes_add_number(&look->notes, "channel", (double)channel->column);
        notes_add_measure(&look->notes, "extreme_run_samples", (double)channel->extreme_run,
            get_run_limit(look, channel));
        notes_add_number(&look->notes, "extreme_count_samples", (double)channel->extreme_count);
    }
}

static void note_offset(struct look *look, const struct look_channel *channel)
{
    double amplitude = (channel->maximum - channel->minimum) / 2;
    double share = channel->offset / amplitude;
    bool is_large = fabs(share) > OFFSET_WARNING;
    if (channel->is_periodic && fabs(share) > OFFSET_INFO) {
        notes_add(&look->notes, "offset", is_large ? NOTE_WARNING : NOTE_INFO,
            "check the input's offset, and the excitation for a direct current",
            "%s %zu has a mean of %.2g %% of its amplitude", look_get_channel_word(look),
            channel->column, 100 * fabs(share));
        notes_add_number(&look->notes, "channel", (double)channel->column);
        notes_add_measure(
            &look->notes, "mean_over_amplitude", share, is_large ? OFFSET_WARNING : OFFSET_INFO);
    }
}

static void note_quiet(struct look *look, const struct look_channel *channel)
{
    double amplitude = (channel->maximum - channel->minimum) / 2;
    double limit = fmax(256 * get_step(look, channel), 1e-3);
    if (has_format_step(look) && amplitude < limit) {
        notes_add(&look->notes, "quiet", NOTE_WARNING,
            "raise the gain, use a larger shunt or more pickup turns, or record with more bits",
            "%s %zu reaches only %.3g of full scale (limit %.2g for %d bits)",
            look_get_channel_word(look), channel->column, amplitude, limit, look->bits);
        notes_add_number(&look->notes, "channel", (double)channel->column);
        notes_add_measure(&look->notes, "level_over_full_scale", amplitude, limit);
    }
}

static void note_not_periodic(struct look *look, const struct look_channel *channel)
{
    if (!channel->is_periodic && look->timing != CAPTURE_TIMING_NONE) {
        notes_add(&look->notes, "not-periodic", NOTE_INFO,
            "look at a part of it with --start and --length, if it begins or ends with silence",
            "%s %zu: %s", look_get_channel_word(look), channel->column, channel->reason);
        notes_add_number(&look->notes, "channel", (double)channel->column);
    }
}

static void note_short(struct look *look)
{
    const struct look_channel *channel = &look->channels[look->pair.excitation];
    bool is_few = channel->cycles < CYCLES_FEW;
    if (look->pair.is_found && channel->is_periodic && channel->cycles < CYCLES_ADVISED) {
        notes_add(&look->notes, "short", is_few ? NOTE_WARNING : NOTE_INFO,
            "record 50 cycles or more: the scatter of the cycles is then known",
            "the capture holds %.4g cycles (20 or more are advised)", channel->cycles);
        notes_add_measure(
            &look->notes, "cycles", channel->cycles, is_few ? CYCLES_FEW : CYCLES_ADVISED);
    }
}

/* A slow waveform repeats itself around its extremes; all channels seldom do at once. */
static void note_repeats(struct look *look)
{
    double natural = INFINITY;
    bool has_motion = false;
    for (size_t i = 0; i < look->channel_count; i++) {
        const struct look_channel *channel = &look->channels[i];
        has_motion = has_motion || channel->maximum > channel->minimum;
        natural = isnan(channel->natural_run) ? natural : fmin(natural, channel->natural_run);
    }
    double limit = fmax(3, 3 * natural);
    if (has_motion && isfinite(limit) && (double)look->repeated_run > limit) {
        notes_add(&look->notes, "dropout", NOTE_WARNING,
            "close other programs, enlarge the recorder's buffer, record again",
            "%" PRId64 " rows from row %" PRId64 " on repeat the one before in all channels (up to "
            "%.0f would be natural): samples were lost or filled in",
            look->repeated_run, look->repeated_at + 1, limit);
        notes_add_measure(&look->notes, "repeated_run_frames", (double)look->repeated_run, limit);
        notes_add_number(&look->notes, "first_repeated_frame", (double)look->repeated_at + 1);
    }
}

static void note_dropout(struct look *look)
{
    double share = (double)look->missing / (double)look->frames;
    bool is_much = share > MISSING_WARNING;
    if (look->missing > 0) {
        notes_add(&look->notes, "dropout", is_much ? NOTE_WARNING : NOTE_INFO,
            "check the logger's range and its connection; a fit leaves such rows out",
            "%" PRId64 " of %" PRId64 " rows lack a value, the first in %s %" PRId64, look->missing,
            look->frames, look->kind == CAPTURE_AUDIO ? "frame" : "line", look->missing_lines[0]);
        notes_add_measure(&look->notes, "missing_over_rows", share, is_much ? MISSING_WARNING : 0);
        notes_add_number(&look->notes, "missing_rows", (double)look->missing);
    }
    if (look->has_sampling && look->sampling.gap_count > 0) {
        notes_add(&look->notes, "dropout", NOTE_WARNING,
            "check the logger's buffer; a fit uses the times as they are",
            "the times jump %zu times, by up to %.3g s: rows are missing", look->sampling.gap_count,
            look->sampling.gap_longest_s);
        notes_add_measure(&look->notes, "gap_count", (double)look->sampling.gap_count, 0);
        notes_add_number(&look->notes, "longest_gap_s", look->sampling.gap_longest_s);
    }
    if (look->frames_expected > look->frames) {
        notes_add(&look->notes, "dropout", NOTE_WARNING,
            "copy the file again; what is there can be used",
            "the file is cut off: it holds %" PRId64 " of the %" PRId64
            " frames that its header promises",
            look->frames, look->frames_expected);
        notes_add_measure(
            &look->notes, "frames", (double)look->frames, (double)look->frames_expected);
    }
}

static void note_reversed(struct look *look)
{
    const struct look_pair *pair = &look->pair;
    if (pair->is_found && pair->is_reversed) {
        notes_add(&look->notes, "reversed", NOTE_INFO,
            "turn the pickup coil's leads round, or set invert: yes in the rig",
            "%s %zu is turned round against %zu", look_get_channel_word(look),
            look->channels[pair->pickup].column, look->channels[pair->excitation].column);
    }
}

static void note_swapped(struct look *look)
{
    const struct look_pair *pair = &look->pair;
    if (pair->is_found && pair->is_contradicted) {
        notes_add(&look->notes, "swapped", NOTE_WARNING,
            "check which lead goes where, the units in the header, and the delay between the "
            "inputs",
            "%s %zu leads %zu by %.1f degree: by its phase it is not the pickup of that excitation",
            look_get_channel_word(look), look->channels[pair->pickup].column,
            look->channels[pair->excitation].column, pair->lead_deg);
        notes_add_number(&look->notes, "lead_deg", pair->lead_deg);
    }
}

void look_add_notes(struct look *look)
{
    for (size_t i = 0; i < look->channel_count; i++) {
        struct look_channel *channel = &look->channels[i];
        if (channel->samples == 0) {
            continue;
        }
        find_clipping(look, channel);
        note_clipped(look, channel);
        note_quiet(look, channel);
        note_offset(look, channel);
        note_not_periodic(look, channel);
    }
    note_dropout(look);
    note_repeats(look);
    note_short(look);
    note_reversed(look);
    note_swapped(look);
}
