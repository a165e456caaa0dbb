// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on what moves below the cycles: the mean of an input, the ends of a trace. */
#include <math.h>

#include "loop/notes_part.h"

static const double PI = 3.14159265358979323846264338327950;

/* By a drifting mean: the angle by which the fundamental is turned, radian, and the share of W. */
static const double DRIFT_TURN = 5e-5, DRIFT_SHARE = 1e-3;

/* |gap| Hm over W of a trace. */
static const double GAP_SHARE = 5e-3;

/* A line through the blocks' means; a step or a wandering mean counts as the line that fits it.
 * What a fit without a slope makes of it: a line that rises by D over n cycles is a saw-tooth
 * beside a staircase, whose fundamental is D/(pi n). */
void note_mean_drift(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    for (int m = 0; m < 2 && fit->block_count >= 3; m++) {
        double n = 0.0, st = 0.0, sa = 0.0, stt = 0.0, sta = 0.0;
        for (size_t b = 0; b < fit->block_count; b++) {
            const double t = fit->blocks[b].time_s, a = creal(fit->blocks[b].coefficient[m][0]);
            n += 1.0;
            st += t;
            sa += a;
            stt += t * t;
            sta += t * a;
        }
        const double rise = (sta - st * sa / n) / (stt - st * st / n) * fit->duration_s;
        const double noise = fit->noise_rms[m] * sqrt(12.0 / fit->frames);
        const double turn = fabs(rise) / (PI * fit->cycles * cabs(fit->coefficient[m][1]));
        const double lag = evidence_get_value(evidence, FIGURE_LAG_ANGLE) * PI / 180.0;
        const double share =
            evidence_has_value(evidence, FIGURE_LAG_ANGLE) ? fabs(turn / tan(lag)) : turn;
        if (fabs(rise) > 8.0 * noise && (turn > DRIFT_TURN || share > DRIFT_SHARE)) {
            notes_add(notes, "drift", NOTE_WARNING,
                "let the input warm up, or couple it for alternating current; record more cycles",
                "the mean of the %s input drifts by %.2g %% of its fundamental over the capture: "
                "that turns it by up to %.2g degree (limit %.2g)",
                evidence_input_name[m], 100.0 * fabs(rise) / cabs(fit->coefficient[m][1]),
                turn * 180.0 / PI, DRIFT_TURN * 180.0 / PI);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(notes, "turn_deg", turn * 180.0 / PI, DRIFT_TURN * 180.0 / PI);
            notes_add_measure(notes, "relative_loop_area_change", share, DRIFT_SHARE);
            notes_add_number(
                notes, "rise_over_fundamental", fabs(rise) / cabs(fit->coefficient[m][1]));
        }
    }
}

void note_drift(const struct evidence *evidence, struct notes *notes)
{
    const double area = evidence_get_value(evidence, FIGURE_LOOP_AREA);
    const double gap = evidence_get_value(evidence, FIGURE_CLOSURE_GAP);
    const double share = fabs(gap) * evidence_get_value(evidence, FIGURE_FIELD_PEAK) / fabs(area);
    if (share > GAP_SHARE) {
        notes_add(notes, "drift", NOTE_WARNING,
            "null the integrator, traverse faster, or set timing.drift: linear for a raw "
            "integrator",
            "the trace's ends do not meet: a gap of %.3g mT, worth up to %.2g %% of the loop area "
            "(limit 0.5 %%)",
            1e3 * gap, 100.0 * share);
        notes_add_measure(notes, "relative_loop_area_change", share, GAP_SHARE);
        notes_add_number(notes, "closure_gap_T", gap);
    }
    if (evidence->trace_dropped > 0) {
        notes_add(notes, "drift", NOTE_INFO, "record one traverse, or cut the table to one",
            "%zu rows in which the trace runs past its first field again were left out",
            evidence->trace_dropped);
        notes_add_measure(notes, "dropped_rows", (double)evidence->trace_dropped, 0.0);
    }
}
