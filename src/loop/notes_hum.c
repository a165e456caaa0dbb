// SPDX-License-Identifier: GPL-3.0-or-later
/* The note on steady tones that are no harmonics. What a tone of amplitude a does to harmonic k of
 * the fit hangs on how far it is off and on its phase: at most a / (pi |v - k f| T). The figures
 * are made anew with the series so changed, at two phases a quarter of a turn apart; as the change
 * is small and so linear, the worst phase moves them by the root of the sum of both squares. */
#include <math.h>
#include <stdio.h>

#include "loop/convert.h"
#include "loop/notes_part.h"

static const double PI = 3.14159265358979323846264338327950;

/* Change of a figure, relative; of the lag angle in radian. Over the fundamental of its input. */
static const double CHANGE_LIMIT = 1e-3, AMPLITUDE_LIMIT = 1e-3;

static const double MAINS_Hz[] = {50.0, 60.0};
static const double MAINS_SPREAD = 4e-3; /* relative */
static const double MAINS_WIDTH = 0.1;   /* of a line */
enum { MAINS_HARMONICS = 20 };

static const enum figure watched[] = {FIGURE_LOOP_AREA, FIGURE_COERCIVITY, FIGURE_REMANENCE,
    FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_LAG_ANGLE};
enum { WATCHED = sizeof watched / sizeof watched[0] };

/* All that the tones of one input do. */
struct hum {
    const struct stray *strongest;
    size_t count;
    double change[WATCHED]; /* of the figures, added up */
    bool failed;            /* no memory */
};

/* The two inputs' coefficients with what a tone at its worst leaves in one of them. */
static enum status compute_spoilt(const struct evidence *evidence, const struct stray *stray,
    double complex phase, struct figures *figures)
{
    const struct periodic_fit *fit = evidence->fit;
    struct fourier_loop recorded = {0}, series = {0};
    enum status status = fourier_loop_create(&recorded, fit->harmonics, NULL);
    if (status == STATUS_OK) {
        status = fourier_loop_create(&series, fit->harmonics, NULL);
    }
    if (status == STATUS_OK) {
        double complex *input[2] = {recorded.field, recorded.flux_density};
        for (size_t k = 0; k <= fit->harmonics; k++) {
            const double distance = stray->frequency_Hz - (double)k * fit->frequency_Hz;
            const double leak = copysign(stray_get_leak(distance, fit->duration_s), distance);
            input[0][k] = fit->coefficient[0][k];
            input[1][k] = fit->coefficient[1][k];
            input[stray->channel][k] += cabs(stray->amplitude) * leak * phase;
        }
        conversion_apply(evidence->conversion, fit->frequency_Hz, input[0], input[1], &series);
        status = fourier_loop_compute_figures(&series, fit->frequency_Hz, 0.0, figures, NULL);
    }
    fourier_loop_clear(&recorded);
    fourier_loop_clear(&series);
    return status;
}

static double get_change(const struct figures *from, const struct figures *to, enum figure figure)
{
    if (!from->list[figure].is_present || !to->list[figure].is_present) {
        return 0.0;
    }
    const double value = from->list[figure].value;
    const double change = to->list[figure].value - value;
    return figure == FIGURE_LAG_ANGLE ? change * PI / 180.0 : value != 0.0 ? change / value : 0.0;
}

static void add_tone(const struct evidence *evidence, const struct stray *stray, struct hum *hum)
{
    struct figures figures[2] = {{{{0}}}};
    hum->strongest = hum->count++ == 0 ? stray : hum->strongest;
    if (evidence->conversion == NULL) {
        return;
    }
    for (int turned = 0; turned < 2; turned++) {
        const enum status status =
            compute_spoilt(evidence, stray, turned ? I : 1.0, &figures[turned]);
        hum->failed |= status == STATUS_FAULT;
        if (status != STATUS_OK) {
            return;
        }
    }
    for (size_t i = 0; i < WATCHED; i++) {
        hum->change[i] += hypot(get_change(&evidence->loop->figures, &figures[0], watched[i]),
            get_change(&evidence->loop->figures, &figures[1], watched[i]));
    }
}

static bool is_mains(const struct stray *stray)
{
    for (size_t i = 0; i < sizeof MAINS_Hz / sizeof MAINS_Hz[0]; i++) {
        const double multiple = round(stray->frequency_Hz / MAINS_Hz[i]);
        const double place = multiple * MAINS_Hz[i];
        if (multiple >= 1.0 && multiple <= MAINS_HARMONICS &&
            fabs(stray->frequency_Hz - place) <
                fmax(MAINS_SPREAD * place, MAINS_WIDTH * stray->width_Hz)) {
            return true;
        }
    }
    return false;
}

static size_t find_worst(const struct hum *hum)
{
    size_t worst = 0;
    for (size_t i = 1; i < WATCHED; i++) {
        worst = hum->change[i] > hum->change[worst] ? i : worst;
    }
    return worst;
}

static void tell(const struct evidence *evidence, const struct hum *hum, struct notes *notes)
{
    const struct stray *stray = hum->strongest;
    const size_t m = stray->channel, worst = find_worst(hum);
    const double share = cabs(stray->amplitude) / cabs(evidence->fit->coefficient[m][1]);
    const double change = hum->change[worst];
    const bool is_angle = watched[worst] == FIGURE_LAG_ANGLE;
    const double unit = is_angle ? 180.0 / PI : 100.0;
    char more[40] = "";
    if (hum->count > 1) {
        snprintf(more, sizeof more, " (and %zu weaker)", hum->count - 1);
    }
    if (!(change > CHANGE_LIMIT || share > AMPLITUDE_LIMIT)) {
        return;
    }
    notes_add(notes, "hum", change > CHANGE_LIMIT ? NOTE_WARNING : NOTE_INFO,
        "twist and shield the leads, move them from transformers, open loops of earth leads, "
        "record "
        "longer",
        "the %s input has a steady tone of %.5g Hz%s%s with %.2g %% of its fundamental: it moves "
        "%s by up to %.2g %s (limit %.2g)",
        evidence_input_name[m], stray->frequency_Hz, is_mains(stray) ? " as from the mains" : "",
        more, 100.0 * share, figure_table[watched[worst]].name, unit * change,
        is_angle ? "degree" : "%", unit * CHANGE_LIMIT);
    notes_set_subject(notes, evidence_input_name[m]);
    notes_add_number(notes, "frequency_Hz", stray->frequency_Hz);
    notes_add_measure(notes, "amplitude_over_fundamental", share, AMPLITUDE_LIMIT);
    notes_add_measure(notes, "relative_figure_change", change, CHANGE_LIMIT);
    notes_add_number(notes, "tones", (double)hum->count);
}

void note_hum(const struct evidence *evidence, struct notes *notes)
{
    /* folded harmonics, and what a jump of the phase makes, are told by their own notes */
    bool is_spoilt = notes_has(notes, "unsteady");
    for (size_t i = 0; i < evidence->stray_count; i++) {
        is_spoilt |= evidence_find_folded(evidence, &evidence->strays[i]) > 0;
    }
    for (size_t m = 0; m < 2; m++) {
        struct hum hum = {0};
        for (size_t i = 0; i < evidence->stray_count; i++) {
            const struct stray *stray = &evidence->strays[i];
            if (stray->channel == m && (!is_spoilt || is_mains(stray))) {
                add_tone(evidence, stray, &hum);
            }
        }
        notes->failed |= hum.failed;
        if (hum.count > 0) {
            tell(evidence, &hum, notes);
        }
    }
}
