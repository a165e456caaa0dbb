// SPDX-License-Identifier: GPL-3.0-or-later
/* Notes on the shape of the loop: asymmetric, distorted, unsaturated, square. */
#include <math.h>

#include "loop/notes_part.h"

static const double PI = 3.14159265358979323846264338327950;

/* Even harmonics over the fundamental. */
static const double EVEN_LIMIT = 3e-3;

/* Relative, of the form factor of dB/dt (IEC 60404-2, IEC 60404-6). */
static const double FORM_LIMIT = 0.01;

/* Hm over HcB. */
static const double SATURATION_LIMIT = 3.0;

/* Even harmonics over the fundamental, less what noise of `noise` each would make of them. */
static double get_even_share(const double complex *c, size_t harmonics, double noise)
{
    double even = 0.0;
    for (size_t k = 2; k <= harmonics; k += 2) {
        const double size = cabs(c[k]) / cabs(c[1]);
        even += size > 4.0 * noise ? size * size : 0.0;
    }
    return sqrt(even);
}

/* The standard deviation of a harmonic of an input over its fundamental. */
static double get_harmonic_noise(const struct evidence *evidence, int m)
{
    const struct periodic_fit *fit = evidence->fit;
    return fit->noise_rms[m] * sqrt(2.0 / fit->frames) / cabs(fit->coefficient[m][1]);
}

void note_asymmetric(const struct evidence *evidence, struct notes *notes)
{
    const struct fourier_loop *series = &evidence->loop->series;
    const double field =
        get_even_share(series->field, series->harmonics, get_harmonic_noise(evidence, 0));
    const double flux =
        get_even_share(series->flux_density, series->harmonics, get_harmonic_noise(evidence, 1));
    const double share = fmax(field, flux);
    if (share > EVEN_LIMIT) {
        notes_add(notes, "asymmetric", NOTE_WARNING,
            "demagnetize the ring, block direct current in the excitation, check the amplifier",
            "even harmonics amount to %.2g %% of the fundamental of %s (limit 0.3 %%): the loop "
            "is not symmetric",
            100.0 * share, field > flux ? "H" : "B");
        notes_set_subject(
            notes, figure_table[field > flux ? FIGURE_FIELD_PEAK : FIGURE_FLUX_DENSITY_PEAK].key);
        notes_add_measure(notes, "even_over_fundamental", share, EVEN_LIMIT);
    }
}

void note_distorted(const struct evidence *evidence, struct notes *notes)
{
    const double sine = PI / (2.0 * sqrt(2.0));
    const double factor = evidence_get_value(evidence, FIGURE_FORM_FACTOR);
    if (evidence_has_value(evidence, FIGURE_FORM_FACTOR) &&
        fabs(factor / sine - 1.0) > FORM_LIMIT) {
        notes_add(notes, "distorted", NOTE_INFO,
            "for losses at sinusoidal flux correct the drive until the form factor is 1.1107 +- 1 "
            "%",
            "the form factor of dB/dt is %.4f, outside 1.1107 +- 1 %%: the loss is not one at "
            "sinusoidal flux",
            factor);
        notes_add_measure(notes, "form_factor", factor,
            sine * (factor > sine ? 1.0 + FORM_LIMIT : 1.0 - FORM_LIMIT));
    }
}

void note_unsaturated(const struct evidence *evidence, struct notes *notes)
{
    const double field = evidence_get_value(evidence, FIGURE_FIELD_PEAK);
    const double coercivity = evidence_get_value(evidence, FIGURE_COERCIVITY);
    if (evidence_has_value(evidence, FIGURE_COERCIVITY) && field < SATURATION_LIMIT * coercivity) {
        notes_add(notes, "unsaturated", NOTE_INFO,
            "raise the peak field to three times the coercivity, or name the figures by their loop",
            "the peak field is %.2f times HcB (3 or more saturate the ring): remanence and "
            "coercivity are the remanent flux density and coercive field strength of this loop",
            field / coercivity);
        notes_add_measure(
            notes, "field_peak_over_coercivity", field / coercivity, SATURATION_LIMIT);
    }
}

void note_square(const struct evidence *evidence, struct notes *notes)
{
    if (evidence_has_value(evidence, FIGURE_LAG_ANGLE) &&
        !evidence_has_value(evidence, FIGURE_LAG_ANGLE_AREA)) {
        const double sine = evidence_get_value(evidence, FIGURE_LOOP_AREA) /
                            (PI * evidence_get_value(evidence, FIGURE_FIELD_PEAK) *
                                evidence_get_value(evidence, FIGURE_FLUX_DENSITY_PEAK));
        notes_add(notes, "square", NOTE_INFO,
            "take the lag angle of the fundamentals, or drive the ring to a higher field",
            "the loop holds %.3f times the area of the fullest ellipse with its peaks: there is no "
            "lag angle from area",
            sine);
        notes_add_measure(notes, "loop_area_over_ellipse", sine, 1.0);
    }
}
