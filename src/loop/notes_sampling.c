// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on the samples: too few in a cycle, or lost. */
#include <math.h>

#include "loop/natural.h"
#include "loop/notes_part.h"
#include "num/record.h"

/* How far up folded harmonics are looked for, in numbers of those that the sampling carries, and
 * how near to their place a tone must lie, in widths of a line. */
enum { FOLDS = 8 };
static const double FOLD_WIDTH = 0.25;
/* Of the harmonics that the sampling carries so many must be there. */
static const double FOLD_SHARE = 0.6;

/* Of the last harmonics over the fundamental. */
static const double LAST_INFO = 1e-3, LAST_WARNING = 1e-2;

size_t evidence_find_folded(const struct evidence *evidence, const struct stray *stray)
{
    const struct periodic_fit *fit = evidence->fit;
    const double rate = fit->frequency_Hz * fit->samples_per_cycle;
    if ((double)fit->harmonics < FOLD_SHARE * (double)fit->harmonics_limit) {
        return 0; /* what dies out far below does not come back from above */
    }
    for (size_t k = fit->harmonics_limit + 1; k <= FOLDS * (fit->harmonics_limit + 1); k++) {
        const double place = fabs(remainder((double)k * fit->frequency_Hz, rate));
        if (fabs(place - stray->frequency_Hz) < FOLD_WIDTH * stray->width_Hz) {
            return k;
        }
    }
    return 0;
}

/* A harmonic that came back from above half the sampling rate as a line beside the others. */
static bool note_folded(const struct evidence *evidence, struct notes *notes)
{
    for (size_t i = 0; i < evidence->stray_count; i++) {
        const struct stray *stray = &evidence->strays[i];
        const size_t k = evidence_find_folded(evidence, stray);
        const double share =
            cabs(stray->amplitude) / cabs(evidence->fit->coefficient[stray->channel][1]);
        if (k > 0 && share > LAST_INFO) {
            notes_add(notes, "undersampled", share > LAST_WARNING ? NOTE_WARNING : NOTE_INFO,
                "raise the sampling rate to 20 times the highest harmonic that matters",
                "harmonic %zu, which the sampling does not carry, is folded back to %.6g Hz in the "
                "%s input with %.2g %% of the fundamental (limit 1 %%)",
                k, stray->frequency_Hz, evidence_input_name[stray->channel], 100.0 * share);
            notes_set_subject(notes, evidence_input_name[stray->channel]);
            notes_add_measure(notes, "folded_over_fundamental", share,
                share > LAST_WARNING ? LAST_WARNING : LAST_INFO);
            notes_add_number(notes, "frequency_Hz", stray->frequency_Hz);
            notes_add_number(notes, "harmonic", (double)k);
            return true;
        }
    }
    return false;
}

/* A symmetric loop has no even harmonics: the last two that the sampling carries are looked at. */
void note_undersampled(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    const size_t safe = record_get_safe_limit(1.0 / fit->samples_per_cycle, fit->frames, 0);
    const size_t limit = safe < fit->harmonics_limit ? safe : fit->harmonics_limit;
    if (note_folded(evidence, notes) || fit->harmonics + 1 < limit || limit > 1024) {
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
    if (isnan(natural)) {
        notes->failed = true;
        return;
    }
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
