// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on how alike the cycles are: short, unsteady, noisy. */
#include <math.h>

#include "loop/notes_part.h"

static const double PI = 3.14159265358979323846264338327950;

static const double CYCLES_ADVISED = 20.0, CYCLES_FEW = 4.0;

/* Of the phase against an even clock, radian; of the frequency that a short record makes of that,
 * relative. */
static const double PHASE_LIMIT = 1e-3, FREQUENCY_LIMIT = 1e-5;

/* Relative change of the excitation over the record, and by how much (radian) that may turn the
 * fundamentals against each other: a ramp a over n cycles by a / (2 pi n). */
static const double FADE_LIMIT = 5e-3, TURN_LIMIT = 5e-5;

/* u over a figure. */
static const double NOISE_LIMIT = 5e-3;

void note_short(const struct evidence *evidence, struct notes *notes)
{
    const double cycles = evidence->fit->cycles;
    if (cycles < CYCLES_ADVISED) {
        notes_add(notes, "short", cycles < CYCLES_FEW ? NOTE_WARNING : NOTE_INFO,
            "record 50 cycles or more: the scatter of the cycles is then known",
            "the capture holds %.4g cycles (20 or more are advised)", cycles);
        notes_add_measure(
            notes, "cycles", cycles, cycles < CYCLES_FEW ? CYCLES_FEW : CYCLES_ADVISED);
    }
}

void note_unsteady(const struct evidence *evidence, struct notes *notes)
{
    const struct periodic_fit *fit = evidence->fit;
    const double steady = fmin(PHASE_LIMIT, 2.0 * PI * fit->cycles * FREQUENCY_LIMIT);
    const double phase_limit = fmax(steady, 6.0 * fit->phase_drift_u_rad);
    if (fit->block_count >= 3 && fit->phase_drift_rad > phase_limit) {
        notes_add(notes, "unsteady", NOTE_WARNING,
            "drive the bench from a generator with a steady clock, not from the mains",
            "the phase strays by %.2g degree from an even clock (limit %.2g): the frequency drifts",
            fit->phase_drift_rad * 180.0 / PI, phase_limit * 180.0 / PI);
        notes_add_measure(
            notes, "phase_drift_deg", fit->phase_drift_rad * 180.0 / PI, phase_limit * 180.0 / PI);
    }
    /* a straight line through the blocks' fundamental of the excitation */
    double n = 0.0, st = 0.0, sa = 0.0, stt = 0.0, sta = 0.0;
    for (size_t b = 0; b < fit->block_count; b++) {
        const double t = fit->blocks[b].time_s, a = cabs(fit->blocks[b].coefficient[0][1]);
        n += 1.0;
        st += t;
        sa += a;
        stt += t * t;
        sta += t * a;
    }
    const double spread = stt - st * st / n;
    if (fit->block_count < 4 || !(spread > 0.0)) {
        return;
    }
    const double slope = (sta - st * sa / n) / spread, mean = sa / n;
    double rest = 0.0;
    for (size_t b = 0; b < fit->block_count; b++) {
        const double d = cabs(fit->blocks[b].coefficient[0][1]) - mean -
                         slope * (fit->blocks[b].time_s - st / n);
        rest += d * d;
    }
    const double u = sqrt(rest / (n - 2.0) / spread);
    const double change = fabs(slope) * fit->duration_s / mean;
    const double limit = fmin(FADE_LIMIT, 2.0 * PI * fit->cycles * TURN_LIMIT);
    if (change > limit && fabs(slope) > 6.0 * u) {
        notes_add(notes, "unsteady", NOTE_WARNING,
            "let the amplifier and the ring warm up, or regulate the drive",
            "the excitation changes by %.2g %% over the capture (limit %.2g %%)", 100.0 * change,
            100.0 * limit);
        notes_set_subject(notes, evidence_input_name[0]);
        notes_add_measure(notes, "relative_amplitude_change", change, limit);
    }
}

void note_noisy(const struct evidence *evidence, struct notes *notes)
{
    static const enum figure watched[] = {FIGURE_LOOP_AREA, FIGURE_COERCIVITY, FIGURE_REMANENCE,
        FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK};
    for (size_t i = 0; i < sizeof watched / sizeof watched[0]; i++) {
        const struct figure_value *figure = &evidence->loop->figures.list[watched[i]];
        if (figure->is_present && figure->has_u && evidence->loop->block_count >= 8 &&
            figure->u > NOISE_LIMIT * fabs(figure->value)) {
            notes_add(notes, "noisy", NOTE_WARNING,
                "record longer, raise the level of the quieter input, shield and shorten its leads",
                "noise leaves %s uncertain by %.2g %% (standard uncertainty from the scatter of "
                "the cycles, limit 0.5 %%)",
                figure_table[watched[i]].name, 100.0 * figure->u / fabs(figure->value));
            notes_set_subject(notes, figure_table[watched[i]].key);
            notes_add_measure(notes, "relative_u", figure->u / fabs(figure->value), NOISE_LIMIT);
            return;
        }
    }
}
