// SPDX-License-Identifier: GPL-3.0-or-later
/* From the loop to its figures; definitions: docs/figures.md. */
#include <math.h>

#include "cli/loop_explain_part.h"
#include "cli/wrap.h"
#include "quantity/constant.h"

#define ROWS 6            /* of the table of harmonics */
#define SHARE_LEAST 1e-4  /* of W: smaller ones are summed up */
#define LEDGER_COLUMNS 62 /* of the words beside an angle */

static const double PI = 3.14159265358979323846264338327950;

static void add_sides(struct text *out, const struct loop *loop, enum figure both,
    enum figure falling, const char *symbol, const char *where)
{
    if (!explain_has(loop, both) || !explain_has(loop, falling))
        return;
    const char *unit = figure_table[both].unit;
    const double down = explain_get(loop, falling);
    const double up = explain_get(loop, (enum figure)(falling + 1));
    explain_add(out,
        "%s: %s. Falling branch %s, rising branch %s (its sign turned); %s = (%s + "
        "%s) / 2 = %s",
        symbol, where, show(down, unit).words, show(up, unit).words, symbol, show(down, unit).words,
        show(up, unit).words, show_figure(loop, both).words);
}

void explain_add_crossings(struct text *out, const struct loop *loop)
{
    explain_add_heading(out, "Remanence and coercivity, where the loop crosses the axes");
    if (loop->is_trace)
        explain_add(out, "Between two rows the curve is taken as straight.");
    add_sides(out, loop, FIGURE_REMANENCE, FIGURE_REMANENCE_FALLING, "Br", "B where H passes 0");
    add_sides(
        out, loop, FIGURE_COERCIVITY, FIGURE_COERCIVITY_FALLING, "HcB", "\u2212H where B passes 0");
    add_sides(out, loop, FIGURE_COERCIVITY_J, FIGURE_COERCIVITY_J_FALLING, "HcJ",
        "\u2212H where J = B \u2212 \u00B5\u2080 H passes 0");
    if (!explain_has(loop, FIGURE_REMANENCE) || !explain_has(loop, FIGURE_COERCIVITY))
        explain_add(out, "A curve that does not pass 0 on both branches gives none of these.");
    else
        explain_add(out, "The half width of the loop at the crossing: a loop that is shifted as a "
                         "whole keeps it.");
}

static double get_lag_deg(const struct fourier_loop *series, size_t k)
{
    double lag = (carg(series->field[k]) - carg(series->flux_density[k])) * 180 / PI;
    return lag - 360 * ceil((lag - 180) / 360);
}

static double get_share(const struct fourier_loop *series, size_t k)
{
    return PI * (double)k * cimag(series->field[k] * conj(series->flux_density[k]));
}

static void add_cell(struct text *out, const char *words, size_t columns)
{
    const size_t width = text_width(words);
    wrap_add_blanks(out, width < columns ? columns - width : 0);
    text_add(out, words);
}

static void add_harmonic(struct text *out, const struct fourier_loop *series, size_t k)
{
    add_cell(out, show((double)k, "").words, 8);
    add_cell(out, show(cabs(series->field[k]), "A/m").words, 16);
    add_cell(out, show(cabs(series->flux_density[k]), "T").words, 15);
    add_cell(out, show_angle(get_lag_deg(series, k)).words, 15);
    add_cell(out, show(get_share(series, k), "J/m\u00B3").words, 20);
    text_add(out, "\n");
}

/* The harmonics that matter, in order; the others summed up. */
static void add_harmonics(struct text *out, const struct loop *loop)
{
    const double area = explain_get(loop, FIGURE_LOOP_AREA);
    double rest = area;
    add_cell(out, "k", 8);
    add_cell(out, "Hk", 16);
    add_cell(out, "Bk", 15);
    add_cell(out, "\u03B4k", 15);
    add_cell(out, "Wk", 20);
    text_add(out, "\n");
    size_t rows = 0;
    for (size_t k = 1; k <= loop->series.harmonics && rows < ROWS; k++) {
        const double share = get_share(&loop->series, k);
        if (k > 1 && fabs(share) < SHARE_LEAST * fabs(area))
            continue;
        add_harmonic(out, &loop->series, k);
        rest -= share;
        rows++;
    }
    add_cell(out, "others", 8);
    /* no digits beyond those of the rows above */
    rest = round(rest / area * 1e6) / 1e6 * area;
    add_cell(out, rest == 0 ? "0 J/m\u00B3" : show(rest, "J/m\u00B3").words, 66);
    text_add(out, "\n");
}

void explain_add_energy(struct text *out, const struct loop_job *job)
{
    const struct loop *loop = &job->loop;
    const struct shown area = show(explain_get(loop, FIGURE_LOOP_AREA), "J/m\u00B3");
    explain_add_heading(out, "Loop area and loss");
    explain_add(out, "W is the area that the loop encloses, the integral of H dB over one cycle. "
                     "For sums of sines it is the sum of Wk = \u03C0 k Hk Bk sin \u03B4k, where "
                     "\u03B4k tells by how much Bk lags Hk; a harmonic that only one of them has "
                     "gives nothing.");
    add_harmonics(out, loop);
    explain_add(out,
        "W = %s: what each cubic metre of the ring turns into heat in each cycle, eddy currents "
        "included",
        show_figure(loop, FIGURE_LOOP_AREA).words);
    if (!explain_has(loop, FIGURE_LOSS))
        return;
    explain_add(out, "P = W f = %s \u00B7 %s = %s", area.words,
        show(explain_get(loop, FIGURE_FREQUENCY), "Hz").words,
        show_figure(loop, FIGURE_LOSS).words);
    if (explain_has(loop, FIGURE_SPECIFIC_LOSS))
        explain_add(out, "Ps = P / \u03C1 = %s / %s = %s",
            show(explain_get(loop, FIGURE_LOSS), "W/m\u00B3").words,
            show(job->specimen.density.value, "kg/m\u00B3").words,
            show_figure(loop, FIGURE_SPECIFIC_LOSS).words);
}

static void add_angle(struct text *out, const char *words, double angle_deg)
{
    struct shown angle = show_angle(angle_deg);
    text_add(out, "    ");
    text_add(out, words);
    const size_t width = text_width(words);
    wrap_add_blanks(out, width < LEDGER_COLUMNS ? LEDGER_COLUMNS - width : 1);
    add_cell(out, angle.words, 12);
    text_add(out, "\n");
}

static double turn(double angle_deg)
{
    return angle_deg - 360 * ceil((angle_deg - 180) / 360);
}

/* The fundamental of the pickup against that of the excitation, step by step; the steps add up to
 * the lead of B1. */
static void add_ledger(struct text *out, const struct loop_job *job, const struct conversion *how)
{
    const struct loop *loop = &job->loop;
    const double f = explain_get(loop, FIGURE_FREQUENCY), degree = 180 / PI;
    const double corner[2] = {
        atan(how->excitation_corner_Hz / f) * degree, atan(how->pickup_corner_Hz / f) * degree};
    const double integrator = atan(2 * PI * f * how->integrator_s) * degree;
    const double delay = 360 * f * how->pickup_delay_s;
    const bool is_turned = (how->excitation_gain < 0) != (how->pickup_gain < 0);
    double lead =
        turn((carg(loop->basis.recorded.flux_density[1]) - carg(loop->basis.recorded.field[1])) *
             degree);
    add_angle(out, "the pickup leads the excitation, as recorded, by", lead);
    if (is_turned)
        add_angle(out, "one of the inputs is inverted", 180);
    if (corner[0] > 0)
        add_angle(out, "coupling of the excitation input, undone", corner[0]);
    if (corner[1] > 0)
        add_angle(out, "coupling of the pickup input, undone", -corner[1]);
    if (integrator > 0)
        add_angle(out, "passive integrator, undone", integrator);
    if (delay != 0)
        add_angle(out, "delay of the pickup, turned back", -delay);
    if (how->pickup == PICKUP_VOLTAGE)
        add_angle(out, "from voltage to flux: an integral comes a quarter cycle later", -90);
    lead += (is_turned ? 180 : 0) + corner[0] - corner[1] + integrator - delay -
            (how->pickup == PICKUP_VOLTAGE ? 90 : 0);
    const double left = turn(-get_lag_deg(&loop->series, 1) - lead);
    if (how->pickup == PICKUP_LINKAGE_J || how->pickup == PICKUP_J)
        add_angle(out, "from J to B, in step with H", left);
    else if (how->air_share != 0)
        add_angle(out, "flux in the air, taken off", left);
    add_angle(out, "B1 leads H1 by", -get_lag_deg(&loop->series, 1));
}

void explain_add_lag(struct text *out, const struct loop_job *job, const struct conversion *how)
{
    const struct loop *loop = &job->loop;
    explain_add_heading(out, "Lag angle");
    explain_add(out, "Of the fundamentals at f alone:");
    add_ledger(out, job, how);
    explain_add(out,
        "\u03B4 = %s: by so much B1 comes later than H1. An error of 0.01\u00B0 in any of the "
        "steps changes an ellipse's area by %.2g %%.",
        show_figure(loop, FIGURE_LAG_ANGLE).words,
        fabs(PI / 180 / tan(explain_get(loop, FIGURE_LAG_ANGLE) * PI / 180)));
    if (explain_has(loop, FIGURE_LAG_ANGLE_AREA))
        explain_add(out,
            "\u03B4W = arcsin(W / (\u03C0 Hm Bm)) = arcsin(%s / (\u03C0 \u00B7 %s \u00B7 %s)) = "
            "%s: "
            "the lag of the ellipse that has the same peaks and the same area; what a hysteresis "
            "motor's torque goes with",
            show(explain_get(loop, FIGURE_LOOP_AREA), "J/m\u00B3").words,
            show(explain_get(loop, FIGURE_FIELD_PEAK), "A/m").words,
            show(explain_get(loop, FIGURE_FLUX_DENSITY_PEAK), "T").words,
            show_figure(loop, FIGURE_LAG_ANGLE_AREA).words);
    else
        explain_add(out, "\u03B4W: none. The loop encloses more than the fullest ellipse with its "
                         "peaks (W > \u03C0 Hm Bm).");
}

/* Root of the sum of |Bk|² k^(2 power), k from `first`, T. */
static double get_norm(const struct fourier_loop *series, size_t first, int power)
{
    double sum = 0;
    for (size_t k = first; k <= series->harmonics; k++) {
        const double size = cabs(series->flux_density[k]) * (power ? (double)k : 1);
        sum += size * size;
    }
    return sqrt(sum);
}

static void add_waveform(struct text *out, const struct loop *loop)
{
    const struct fourier_loop *series = &loop->series;
    const double f = explain_get(loop, FIGURE_FREQUENCY);
    struct fourier_extremes ends;
    struct error err = {0};
    if (explain_has(loop, FIGURE_FORM_FACTOR) &&
        !fourier_find_extremes(series->flux_density, series->harmonics, &ends, &err))
        explain_add(out,
            "FF = r.m.s. / mean size of dB/dt = %s / %s = %s. The r.m.s. is 2\u03C0 f "
            "\u221A(\u03A3 k\u00B2 Bk\u00B2 / 2); the mean is f times the way that B goes in a "
            "cycle, 4 Bm if it only rises and falls. A sine has 1.1107.",
            show(2 * PI * f * get_norm(series, 1, 1) / sqrt(2), "T/s").words,
            show(f * ends.total_variation, "T/s").words,
            show_figure(loop, FIGURE_FORM_FACTOR).words);
    if (explain_has(loop, FIGURE_FLUX_DISTORTION))
        explain_add(out,
            "THD = \u221A(B2\u00B2 + B3\u00B2 + \u2026) / B1 = %s / %s = %s: how far B is from a "
            "sine",
            show(get_norm(series, 2, 0), "T").words, show(cabs(series->flux_density[1]), "T").words,
            show_figure(loop, FIGURE_FLUX_DISTORTION).words);
}

void explain_add_shape(struct text *out, const struct loop *loop)
{
    const struct shown hm = show(explain_get(loop, FIGURE_FIELD_PEAK), "A/m");
    const struct shown bm = show(explain_get(loop, FIGURE_FLUX_DENSITY_PEAK), "T");
    explain_add_heading(out, "Shape");
    if (explain_has(loop, FIGURE_AMPLITUDE_PERMEABILITY))
        explain_add(out,
            "\u00B5a = Bm / (\u00B5\u2080 Hm) = %s / (4\u03C0\u00B710\u207B\u2077 T m/A \u00B7 %s) "
            "= %s: how much more than air the ring carries at its peak",
            bm.words, hm.words, show_figure(loop, FIGURE_AMPLITUDE_PERMEABILITY).words);
    if (explain_has(loop, FIGURE_SQUARENESS))
        explain_add(out, "Br / Bm = %s / %s = %s: squareness",
            show(explain_get(loop, FIGURE_REMANENCE), "T").words, bm.words,
            show_figure(loop, FIGURE_SQUARENESS).words);
    if (explain_has(loop, FIGURE_LOOP_FULLNESS))
        explain_add(out,
            "W / (4 Hm Bm) = %s / (4 \u00B7 %s \u00B7 %s) = %s: fullness, the share of the "
            "rectangle around the loop; an ellipse has at most \u03C0/4 = 0.785",
            show(explain_get(loop, FIGURE_LOOP_AREA), "J/m\u00B3").words, hm.words, bm.words,
            show_figure(loop, FIGURE_LOOP_FULLNESS).words);
    if (!loop->is_trace)
        add_waveform(out, loop);
}

void explain_add_closing(struct text *out, const struct loop_job *job)
{
    const struct loop *loop = &job->loop;
    const double gap = explain_get(loop, FIGURE_CLOSURE_GAP);
    const double hm = explain_get(loop, FIGURE_FIELD_PEAK);
    const bool is_shared = job->rig.drift == TRACE_DRIFT_LINEAR;
    explain_add_heading(out, "Closing the loop, and its area");
    explain_add(out,
        "\u0394B = B of the last row \u2212 B of the first = %s: the ends do not meet, "
        "since an integrator drifts and the traverse stops where it stops.",
        show_figure(loop, FIGURE_CLOSURE_GAP).words);
    explain_add(out,
        "W is the area of the polygon of the rows: half of every (H + next H) times (next B \u2212 "
        "B), summed up. Closed by a straight line it is %s; with the gap shared out evenly over "
        "the rows first it is %s. The rig %s (timing.drift).",
        show_figure(loop, FIGURE_LOOP_AREA_CHORD).words,
        show_figure(loop, FIGURE_LOOP_AREA_DRIFT_SHARED).words,
        is_shared ? "asks for the second" : "leaves it at the first");
    explain_add(out, "W = %s: heat in each cubic metre in each cycle, at this slow pace",
        show_figure(loop, FIGURE_LOOP_AREA).words);
    explain_add(out,
        "By which line the gap is closed is a choice, worth up to |\u0394B| Hm = %s \u00B7 %s = "
        "%s. In the uncertainty it counts as that over \u221A3: %s.",
        show(fabs(gap), "T").words, show(hm, "A/m").words, show(fabs(gap) * hm, "J/m\u00B3").words,
        show(fabs(gap) * hm / sqrt(3), "J/m\u00B3").words);
}
