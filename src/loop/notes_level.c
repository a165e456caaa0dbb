// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on the level of the inputs: clipped, offset, quiet. */
#include <math.h>

#include "loop/natural.h"
#include "loop/notes_part.h"

/* The mean over the amplitude. */
static const double OFFSET_INFO = 0.02, OFFSET_WARNING = 0.1;

/* So many samples in a row, and so few of the next value against those of the extreme: a top that
 * falls off as x^2 has 0.41 of them there, as x^4 0.19. */
static const double PLATEAU_RUN = 8.0, PLATEAU_NEXT = 0.12;

static bool is_plateau(const struct evidence *evidence, size_t m)
{
    const struct survey_channel *channel = &evidence->survey->channel[m];
    for (int side = 0; side < 2 && evidence->excerpt != NULL; side++) {
        const int64_t run = side == 0 ? channel->top_run : channel->bottom_run;
        size_t outermost, next;
        excerpt_count_extreme(evidence->excerpt, m, side == 0 ? 1.0 : -1.0, &outermost, &next);
        if ((double)run >= PLATEAU_RUN && (double)outermost >= PLATEAU_RUN &&
            (double)next < PLATEAU_NEXT * (double)outermost) {
            return true;
        }
    }
    return false;
}

void note_clipped(const struct evidence *evidence, struct notes *notes)
{
    for (int m = 0; m < 2; m++) {
        const struct survey_channel *channel = &evidence->survey->channel[m];
        const int64_t run =
            channel->top_run > channel->bottom_run ? channel->top_run : channel->bottom_run;
        const int64_t count = channel->top_count + channel->bottom_count;
        const double peak = fmax(fabs(channel->maximum), fabs(channel->minimum));
        const bool is_full = evidence->info->kind == CAPTURE_AUDIO && !evidence->info->is_float &&
                             peak >= 1.0 - 1.5 * evidence_get_step(evidence);
        const double natural = natural_get_top(evidence, m);
        if (isnan(natural)) {
            notes->failed = true;
            return;
        }
        const double limit = is_full ? fmax(2.0, natural) : fmax(3.0, 1.5 * natural);
        const double pile = 2.0 * natural_get_pile(evidence, m);
        if ((double)run > limit || (double)count > pile || is_plateau(evidence, (size_t)m)) {
            notes_add(notes, "clipped", NOTE_WARNING,
                "lower the input gain or the drive until the peaks stay 3 dB below full scale",
                "the %s input stays at its extreme for %lld samples in a row (%.0f would be "
                "natural), %lld samples in all: its peaks are cut off",
                evidence_input_name[m], (long long)run, ceil(natural), (long long)count);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(notes, "extreme_run_samples", (double)run, limit);
            notes_add_measure(notes, "extreme_count_samples", (double)count, pile);
        }
    }
}

void note_offset(const struct evidence *evidence, struct notes *notes)
{
    for (int m = 0; m < 2; m++) {
        const double mean = creal(evidence->fit->coefficient[m][0]);
        const double share = mean / evidence_get_amplitude(evidence, m);
        const bool kept = m == 0 && evidence->rig->excitation.keeps_bias;
        const bool is_large = fabs(share) > OFFSET_WARNING;
        if (!kept && fabs(share) > OFFSET_INFO) {
            notes_add(notes, "offset", is_large ? NOTE_WARNING : NOTE_INFO,
                "check the input's offset; if the excitation really has a direct part, say bias: "
                "keep",
                "the %s input has a mean of %.2g %% of its amplitude; it was removed (a mean "
                "carries "
                "no field in a closed loop)",
                evidence_input_name[m], 100.0 * share);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(
                notes, "mean_over_amplitude", share, is_large ? OFFSET_WARNING : OFFSET_INFO);
        }
    }
}

void note_quiet(const struct evidence *evidence, struct notes *notes)
{
    const double step = evidence_get_step(evidence);
    for (int m = 0; m < 2 && step > 0.0; m++) {
        const double amplitude = evidence_get_amplitude(evidence, m);
        const double limit = fmax(256.0 * step, 1e-3);
        if (amplitude < limit) {
            notes_add(notes, "quiet", NOTE_WARNING,
                "raise the gain, use a larger shunt or more pickup turns, or record with more bits",
                "the %s input reaches only %.3g of full scale (limit %.2g for %d bits)",
                evidence_input_name[m], amplitude, limit, evidence->info->bits);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(notes, "level_over_full_scale", amplitude, limit);
        }
    }
}
