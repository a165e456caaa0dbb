// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands out in a capture before any rig is known. The codes are those of loops; the limits
 * are reasoned in docs/notes.md. */
#include <inttypes.h>
#include <math.h>

#include "loop/look_part.h"

static const double PI = 3.14159265358979323846264338327950;

/* One step of an integer format as a fraction of full scale; otherwise the resolution seen. */
static double get_step(const struct look *look, const struct look_channel *channel)
{
    return look->bits > 0 && !look->is_float ? ldexp(1, 1 - look->bits) : channel->step;
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

static void find_clipping(const struct look *look, struct look_channel *channel)
{
    double peak = fmax(fabs(channel->minimum), fabs(channel->maximum));
    bool is_full =
        look->kind == CAPTURE_AUDIO && !look->is_float && peak >= 1 - 1.5 * get_step(look, channel);
    double natural = get_natural_run(look, channel);
    double run = (double)channel->extreme_run;
    channel->natural_run = natural;
    if (isnan(natural)) {
        channel->is_clipped = is_full && run > 2;
    } else {
        channel->is_clipped = run > (is_full ? fmax(2, 1.5 * natural) : fmax(3, 3 * natural));
    }
    /* What does not move at all is not cut off. */
    channel->is_clipped = channel->is_clipped && channel->maximum > channel->minimum;
}

static void note_clipped(struct look *look, const struct look_channel *channel)
{
    if (channel->is_clipped) {
        notes_add(&look->notes, "clipped", NOTE_WARNING,
            "lower the input gain or the drive until the peaks stay 3 dB below full scale",
            "%s %zu stays at its extreme for %" PRId64 " samples in a row, %" PRId64
            " in all: its peaks are cut off",
            look_get_channel_word(look), channel->column, channel->extreme_run,
            channel->extreme_count);
    }
}

static void note_offset(struct look *look, const struct look_channel *channel)
{
    double amplitude = (channel->maximum - channel->minimum) / 2;
    double share = fabs(channel->offset) / amplitude;
    if (channel->is_periodic && share > 0.02) {
        notes_add(&look->notes, "offset", share > 0.1 ? NOTE_WARNING : NOTE_INFO,
            "check the input's offset, and the excitation for a direct current",
            "%s %zu has a mean of %.2g %% of its amplitude", look_get_channel_word(look),
            channel->column, 100 * share);
    }
}

static void note_quiet(struct look *look, const struct look_channel *channel)
{
    double step = look->bits > 0 && !look->is_float ? ldexp(1, 1 - look->bits) : 0;
    double amplitude = (channel->maximum - channel->minimum) / 2;
    double limit = fmax(256 * step, 1e-3);
    if (step > 0 && amplitude < limit) {
        notes_add(&look->notes, "quiet", NOTE_WARNING,
            "raise the gain, use a larger shunt or more pickup turns, or record with more bits",
            "%s %zu reaches only %.3g of full scale (limit %.2g for %d bits)",
            look_get_channel_word(look), channel->column, amplitude, limit, look->bits);
    }
}

static void note_not_periodic(struct look *look, const struct look_channel *channel)
{
    if (!channel->is_periodic && look->timing != CAPTURE_TIMING_NONE) {
        notes_add(&look->notes, "not-periodic", NOTE_INFO,
            "look at a part of it with --start and --length, if it begins or ends with silence",
            "%s %zu: %s", look_get_channel_word(look), channel->column, channel->reason);
    }
}

static void note_short(struct look *look)
{
    const struct look_channel *channel = &look->channels[look->pair.excitation];
    if (look->pair.is_found && channel->is_periodic && channel->cycles < 20) {
        notes_add(&look->notes, "short", channel->cycles < 4 ? NOTE_WARNING : NOTE_INFO,
            "record 50 cycles or more: the scatter of the cycles is then known",
            "the capture holds %.4g cycles (20 or more are advised)", channel->cycles);
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
    }
}

static void note_dropout(struct look *look)
{
    if (look->missing > 0) {
        notes_add(&look->notes, "dropout",
            look->missing * 100 > look->frames ? NOTE_WARNING : NOTE_INFO,
            "check the logger's range and its connection; a fit leaves such rows out",
            "%" PRId64 " of %" PRId64 " rows lack a value, the first in %s %" PRId64, look->missing,
            look->frames, look->kind == CAPTURE_AUDIO ? "frame" : "line", look->missing_lines[0]);
    }
    if (look->has_sampling && look->sampling.gap_count > 0) {
        notes_add(&look->notes, "dropout", NOTE_WARNING,
            "check the logger's buffer; a fit uses the times as they are",
            "the times jump %zu times, by up to %.3g s: rows are missing", look->sampling.gap_count,
            look->sampling.gap_longest_s);
    }
    if (look->frames_expected > look->frames) {
        notes_add(&look->notes, "dropout", NOTE_WARNING,
            "copy the file again; what is there can be used",
            "the file is cut off: it holds %" PRId64 " of the %" PRId64
            " frames that its header promises",
            look->frames, look->frames_expected);
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
