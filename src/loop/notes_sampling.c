// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on the samples: too few in a cycle, or lost. */
#include <math.h>

#include "loop/natural.h"
#include "loop/notes_part.h"

/* Of the last harmonics over the fundamental. */
static const double LAST_INFO = 1e-3, LAST_WARNING = 1e-2;

/* A symmetric loop has no even harmonics: the last two that the sampling carries are looked at. */
void note_undersampled(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    const size_t limit = fit->harmonics_limit;
    if (fit->harmonics + 1 < limit || limit > 1024) {
        return;
    }
    for (int m = 0; m < 2; m++) {
        double share = 0.0;
        for (size_t k = limit > 2 ? limit - 1 : 2; k <= fit->harmonics; k++) {
            share = fmax(share, cabs(fit->coefficient[m][k]) / cabs(fit->coefficient[m][1]));
        }
        if (share > LAST_INFO) {
            notes_add(notes, "undersampled", share > LAST_WARNING ? NOTE_WARNING : NOTE_INFO,
                "raise the sampling rate to 20 times the highest harmonic that matters",
                "the last harmonics that the sampling carries (up to %zu) still have %.2g %% of "
                "the fundamental of the %s input (limit 1 %%): higher ones may be lost or folded "
                "back",
                limit, 100.0 * share, evidence_input_name[m]);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(notes, "last_harmonics_over_fundamental", share,
                share > LAST_WARNING ? LAST_WARNING : LAST_INFO);
            notes_add_number(notes, "harmonics_limit", (double)limit);
            return;
        }
    }
}

/* Of the rows. */
static const double MISSING_WARNING = 0.01;

void note_dropout(const struct evidence *evidence, struct notes *notes)
{
    const struct capture_info *info = evidence->info;
    if (info->missing > 0) {
        const long long first =
            info->missing_line_count > 0 ? (long long)info->missing_lines[0] : 0;
        const double share = (double)info->missing / (double)info->frames;
        notes_add(notes, "dropout", share > MISSING_WARNING ? NOTE_WARNING : NOTE_INFO,
            "check the logger's range and its connection; the fit leaves such rows out",
            "%lld of %lld rows lack a value, the first in line %lld", (long long)info->missing,
            (long long)info->frames, first);
        notes_add_measure(
            notes, "missing_over_rows", share, share > MISSING_WARNING ? MISSING_WARNING : 0.0);
        notes_add_number(notes, "missing_rows", (double)info->missing);
    }
    if (info->frames_expected > 0 && info->frames < info->frames_expected) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "copy the file again, or let the recorder close it before it is taken",
            "the file ends after %lld of the %lld frames that its header promises: it was cut off",
            (long long)info->frames, (long long)info->frames_expected);
        notes_add_measure(notes, "frames", (double)info->frames, (double)info->frames_expected);
    }
    if (evidence->sampling != NULL && evidence->sampling->gap_count > 0) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "check the logger's buffer; the fit uses the times as they are",
            "the times jump %zu times, by up to %.3g s: rows are missing",
            evidence->sampling->gap_count, evidence->sampling->gap_longest_s);
        notes_add_measure(notes, "gap_count", (double)evidence->sampling->gap_count, 0.0);
        notes_add_number(notes, "longest_gap_s", evidence->sampling->gap_longest_s);
    }
    if (evidence->survey == NULL) {
        return;
    }
    const double natural = natural_get_repeat(evidence);
    const double limit = fmax(3.0, 3.0 * natural);
    if ((double)evidence->survey->repeated_run > limit) {
        notes_add(notes, "dropout", NOTE_WARNING,
            "close other programs, enlarge the recorder's buffer, record again",
            "%lld frames from frame %lld on repeat the one before (up to %.0f would be natural): "
            "samples were lost or filled in",
            (long long)evidence->survey->repeated_run, (long long)evidence->survey->repeated_at + 1,
            limit);
        notes_add_measure(
            notes, "repeated_run_frames", (double)evidence->survey->repeated_run, limit);
        notes_add_number(
            notes, "first_repeated_frame", (double)evidence->survey->repeated_at + 1.0);
    }
}
