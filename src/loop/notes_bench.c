// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on what rig and specimen state: coupled, delay-sensitive, thick-ring, skin-effect,
 * unlikely, outdated. */
#include <math.h>

#include "loop/notes_part.h"
#include "quantity/constant.h"
#include "setup/date.h"

static const double PI = 3.14159265358979323846264338327950;

static const double SECONDS_A_DAY = 86400.0;

/* The coupling corner over the frequency. */
static const double CORNER_INFO = 0.2, CORNER_WARNING = 1.0;

/* What the stated uncertainty of the delay may move of W, relative. */
static const double DELAY_LIMIT = 0.01;

/* Outer over inner diameter: IEC 60404-4, amendment 2, asks for 1.4 at most and prefers 1.25. */
static const double RATIO_INFO = 1.25, RATIO_WARNING = 1.4;

/* The wall in skin depths. */
static const double SKIN_INFO = 1.0, SKIN_WARNING = 2.0;

void note_coupled(const struct evidence *evidence, struct notes *notes)
{
    const double frequency = evidence->fit->frequency_Hz;
    for (int m = 0; m < 2; m++) {
        const struct rig_input *input =
            m == 0 ? &evidence->rig->excitation : &evidence->rig->pickup;
        const double corner = input->corner.is_present           ? input->corner.value
                              : evidence->rig->corner.is_present ? evidence->rig->corner.value
                                                                 : 0.0;
        const double ratio = corner / frequency;
        if (ratio > CORNER_INFO) {
            notes_add(notes, "coupled", ratio > CORNER_WARNING ? NOTE_WARNING : NOTE_INFO,
                "raise the frequency, use a direct-coupled input, or calibrate the corner well",
                "the coupling corner of the %s input, %.3g Hz, turns its fundamental by %.1f "
                "degree, which was undone",
                evidence_input_name[m], corner, atan(ratio) * 180.0 / PI);
            notes_set_subject(notes, evidence_input_name[m]);
            notes_add_measure(notes, "corner_over_frequency", ratio,
                ratio > CORNER_WARNING ? CORNER_WARNING : CORNER_INFO);
            notes_add_number(notes, "corner_Hz", corner);
            return;
        }
    }
}

void note_delay_sensitive(const struct evidence *evidence, struct notes *notes)
{
    const struct quantity *delay = &evidence->rig->pickup_delay;
    const double lag = evidence_get_value(evidence, FIGURE_LAG_ANGLE) * PI / 180.0;
    if (!delay->is_present || !delay->has_uncertainty ||
        !evidence_has_value(evidence, FIGURE_LAG_ANGLE)) {
        return;
    }
    /* a phase error e changes the area of an ellipse by e cot(lag) */
    const double turn = 2.0 * PI * evidence->fit->frequency_Hz * quantity_get_uncertainty(delay);
    const double share = fabs(turn / tan(lag));
    if (share > DELAY_LIMIT) {
        notes_add(notes, "delay-sensitive", NOTE_WARNING,
            "calibrate pickup_delay with one signal on both inputs",
            "the stated uncertainty of pickup_delay moves the loop area by %.2g %% (limit 1 %%) at "
            "a lag angle of %.2f degree",
            100.0 * share, lag * 180.0 / PI);
        notes_set_subject(notes, figure_table[FIGURE_LOOP_AREA].key);
        notes_add_measure(notes, "relative_loop_area_change", share, DELAY_LIMIT);
        notes_add_number(notes, "lag_angle_deg", lag * 180.0 / PI);
    }
}

void note_thick_ring(const struct evidence *evidence, struct notes *notes)
{
    const double ratio = evidence->specimen->diameter_ratio;
    if (ratio > RATIO_INFO) {
        notes_add(notes, "thick-ring", ratio > RATIO_WARNING ? NOTE_WARNING : NOTE_INFO,
            "use a ring with a thinner wall: the field differs between its inside and its outside",
            "the ratio of outer to inner diameter is %.3f (1.25 is advised, 1.4 is the limit): the "
            "field varies by +-%.1f %% over the wall",
            ratio, 100.0 * (ratio - 1.0) / (ratio + 1.0));
        notes_add_measure(notes, "outer_over_inner_diameter", ratio,
            ratio > RATIO_WARNING ? RATIO_WARNING : RATIO_INFO);
    }
}

void note_skin_effect(const struct evidence *evidence, struct notes *notes)
{
    const struct specimen *specimen = evidence->specimen;
    const double permeability = evidence_get_value(evidence, FIGURE_AMPLITUDE_PERMEABILITY);
    if (!specimen->resistivity.is_present || !specimen->outer_diameter.is_present ||
        !specimen->inner_diameter.is_present || !(permeability > 0.0) ||
        specimen->stacking_factor.value < 1.0) {
        return; /* unknown, or a stack of sheets whose thickness is not given */
    }
    double width = 0.5 * (specimen->outer_diameter.value - specimen->inner_diameter.value);
    if (specimen->height.is_present) {
        width = fmin(width, specimen->height.value);
    }
    const double depth = sqrt(specimen->resistivity.value / (PI * evidence->fit->frequency_Hz *
                                                                MAGNETIC_CONSTANT * permeability));
    const double ratio = width / depth;
    if (ratio > SKIN_INFO) {
        notes_add(notes, "skin-effect", ratio > SKIN_WARNING ? NOTE_WARNING : NOTE_INFO,
            "lower the frequency: eddy currents shield the ring's inside and widen the loop",
            "the ring's wall is %.2f skin depths thick (skin depth %.3g mm at %.4g Hz and a "
            "permeability of %.4g)",
            ratio, 1e3 * depth, evidence->fit->frequency_Hz, permeability);
        notes_add_measure(
            notes, "width_over_skin_depth", ratio, ratio > SKIN_WARNING ? SKIN_WARNING : SKIN_INFO);
        notes_add_number(notes, "width_m", width);
        notes_add_number(notes, "skin_depth_m", depth);
    }
}

void note_unlikely(const struct evidence *evidence, struct notes *notes)
{
    struct setup_warning list[16];
    const size_t count =
        setup_find_warnings(evidence->rig, evidence->specimen, list, sizeof list / sizeof list[0]);
    for (size_t i = 0; i < count; i++) {
        notes_add(notes, "unlikely", list[i].is_minor ? NOTE_INFO : NOTE_WARNING, list[i].hint,
            "%s", list[i].message);
    }
}

void note_outdated(const struct evidence *evidence, struct notes *notes)
{
    const struct rig *rig = evidence->rig;
    long calibrated, today;
    if (evidence->today == NULL || rig->calibration_date == NULL ||
        !rig->calibration_interval.is_present ||
        date_read(rig->calibration_date, &calibrated, NULL) != STATUS_OK ||
        date_read(evidence->today, &today, NULL) != STATUS_OK) {
        return;
    }
    const double days = rig->calibration_interval.value / SECONDS_A_DAY;
    if ((double)(today - calibrated) > days) {
        notes_add(notes, "outdated", NOTE_WARNING,
            "calibrate the rig anew and write the day into calibration.date",
            "the rig was calibrated on %s, %ld days before %s; its interval is %.4g days",
            rig->calibration_date, today - calibrated, evidence->today, days);
        notes_add_measure(notes, "age_days", (double)(today - calibrated), days);
    }
}
