// SPDX-License-Identifier: GPL-3.0-or-later
/* Path length and section; rules: setup/geometry.c. */
#include <math.h>

#include "cli/loop_explain_part.h"

static const double PI = 3.14159265358979323846264338327950;

static void add_effective(struct text *out, const struct specimen *specimen, double height)
{
    const double outer = specimen->outer_diameter.value, inner = specimen->inner_diameter.value;
    const double ratio = log(outer / inner);
    const double c1 = 2 * PI / (height * ratio);
    const double c2 = 4 * PI * (1 / inner - 1 / outer) / (height * height * ratio * ratio * ratio);
    explain_add(out,
        "C1 = 2\u03C0 / (h ln(D/d)) = %s/m, C2 = 4\u03C0 (1/d \u2212 1/D) / (h\u00B2 "
        "ln\u00B3(D/d)) = %s/m\u00B3: the core constants of IEC 60205 (path: effective)",
        show(c1, "").words, show(c2, "").words);
    explain_add(out, "l = C1\u00B2 / C2 = %s: length of the field's path",
        show(specimen->path_length_m, "m").words);
    explain_add(out, "A = C1 / C2 = %s: section of the steel", show_area(specimen->area_m2).words);
}

static void add_length(struct text *out, const struct specimen *specimen)
{
    const struct shown outer = show(specimen->outer_diameter.value, "m");
    const struct shown inner = show(specimen->inner_diameter.value, "m");
    const struct shown length = show(specimen->path_length_m, "m");
    if (specimen->path == PATH_LOGARITHMIC)
        explain_add(out,
            "l = \u03C0 (D \u2212 d) / ln(D/d) = \u03C0 \u00B7 (%s \u2212 %s) / ln %s = %s: length "
            "of the field's path (path: logarithmic)",
            outer.words, inner.words, show(specimen->diameter_ratio, "").words, length.words);
    else
        explain_add(out,
            "l = \u03C0 (D + d) / 2 = \u03C0 \u00B7 (%s + %s) / 2 = %s: length of the field's path "
            "(path: mean)",
            outer.words, inner.words, length.words);
}

/* The ring as large as it is at its temperature. */
static struct specimen warm(struct text *out, const struct specimen *cold)
{
    struct specimen ring = *cold;
    if (!cold->expansion.is_present)
        return ring;
    const double warmer = cold->temperature.value - cold->expansion_reference.value;
    const double scale = 1 + cold->expansion.value * warmer;
    explain_add(out,
        "The dimensions hold at %s; at %s each is %.7g times that, by an expansion of %s ppm/K. "
        "Here "
        "they are those of the warm ring.",
        show_celsius(cold->expansion_reference.value).words,
        show_celsius(cold->temperature.value).words, scale,
        show(1e6 * cold->expansion.value, "").words);
    ring.outer_diameter.value *= scale;
    ring.inner_diameter.value *= scale;
    ring.height.value *= scale;
    ring.density.value /= scale * scale * scale;
    return ring;
}

void explain_add_ring(struct text *out, const struct specimen *given)
{
    if (!(given->path_length_m > 0))
        return;
    explain_add_heading(out, "The ring");
    const struct specimen at_work = warm(out, given), *specimen = &at_work;
    const bool has_stacking =
        specimen->stacking_factor.is_present && specimen->stacking_factor.value != 1;
    const double stacking = has_stacking ? specimen->stacking_factor.value : 1;
    const struct shown outer = show(specimen->outer_diameter.value, "m");
    const struct shown inner = show(specimen->inner_diameter.value, "m");
    explain_add(out, "D = %s, d = %s: outer and inner diameter", outer.words, inner.words);
    if (specimen->height.is_present)
        explain_add(out, "h = %s: height", show(specimen->height.value, "m").words);
    if (has_stacking && specimen->height.is_present)
        explain_add(out, "h \u00B7 %s = %s: the share of the height that is steel, h from here on",
            show(stacking, "").words, show(stacking * specimen->height.value, "m").words);
    if (specimen->path == PATH_EFFECTIVE) {
        add_effective(out, specimen, stacking * specimen->height.value);
        return;
    }
    add_length(out, specimen);
    if (specimen->area_from_mass_m2 > 0)
        explain_add(out,
            "A = m / (\u03C1 l) = %s / (%s \u00B7 %s) = %s: section of the steel, from mass and "
            "density, which see what a calliper does not",
            show(1e3 * specimen->mass.value, "g").words,
            show(specimen->density.value, "kg/m\u00B3").words,
            show(specimen->path_length_m, "m").words, show_area(specimen->area_m2).words);
    else
        explain_add(out,
            "A = (D \u2212 d) h / 2 = (%s \u2212 %s) \u00B7 %s / 2 = %s: section of the steel",
            outer.words, inner.words, show(stacking * specimen->height.value, "m").words,
            show_area(specimen->area_m2).words);
}
