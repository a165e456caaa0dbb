// SPDX-License-Identifier: GPL-3.0-or-later
/* Loss separation at equal peak flux density: W(f) = Wh + kc f + kx sqrt f (G. Bertotti, IEEE
 * Trans. Magn. 24 (1988) 621), energies per cycle, weighted least squares without negative terms.
 *
 * What is fitted: with kc known from the eddy currents Wh and kx to W - kc f; else all three, given
 * four frequencies, or Wh and kc with fewer. Slow traces are frequency 0. Weights are 1/u² where
 * every point has a u, else 1/W². Covariance: the part of u that all loops share goes along with
 * every term (it is one factor on all energies); the rest by (J' W J)^-1 times what is larger, the
 * share of the rest in u² or the residual variance; plus what the u of a computed kc shifts. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "num/least_squares.h"
#include "series/classical.h"
#include "series/curve_part.h"
#include "series/series_part.h"

#define TERMS 3
#define FREE_FREQUENCIES 4 /* for three free terms */

/* Form factors within this of each other are one waveform. */
static const double SAME_WAVEFORM = 0.02;

/* What one separation is fitted to. */
struct part {
    struct series *series;
    struct series_separation *it;
    double *common;      /* of each frequency: relative u that all share */
    double *form_factor; /* NaN: not told */
    double *matrix, *values, *weights;
    bool fits_linear, fits_excess;
    double classical; /* kc at a sine; 0: not known */
    bool has_u;
};

/* --- the points --------------------------------------------------------------------------------
 */

static double get_value(const struct series *series, size_t loop, enum figure figure)
{
    const struct figure_value *value = &series->loops[loop].figures.list[figure];
    return value->is_present ? value->value : NAN;
}

static bool get_energy(const struct series *series, const struct series_curve *curve, double peak,
    struct curve_node *nodes, struct curve_node *found, double *common)
{
    size_t count = 0;
    for (size_t i = 0; i < curve->count; i++) {
        const struct series_loop *loop = &series->loops[curve->loop[i]];
        if (isnan(loop->energy))
            continue;
        nodes[count++] = (struct curve_node){log(curve->peak[i]), log(loop->energy),
            curve->u_peak[i] / curve->peak[i], loop->u_energy / loop->energy};
    }
    return curve_interpolate(nodes, count, log(peak), found, common);
}

static double get_form_factor(const struct series *series, const struct series_curve *curve,
    double peak, struct curve_node *nodes)
{
    struct curve_node found;
    size_t count = 0;
    for (size_t i = 0; i < curve->count; i++) {
        const double told = get_value(series, curve->loop[i], FIGURE_FORM_FACTOR);
        if (!isnan(told))
            nodes[count++] = (struct curve_node){log(curve->peak[i]), told, 0, 0};
    }
    return curve_interpolate(nodes, count, log(peak), &found, NULL) ? found.y : NAN;
}

static enum status create_points(struct series_separation *it, size_t most, struct error *err)
{
    it->frequency_Hz = memory_create(4 * most, sizeof *it->frequency_Hz);
    if (!it->frequency_Hz)
        return fail_memory(err);
    it->energy = it->frequency_Hz + most;
    it->u_energy = it->frequency_Hz + 2 * most;
    it->residual = it->frequency_Hz + 3 * most;
    return STATUS_OK;
}

/* Every curve that reaches the peak gives a point. */
static void take_points(
    struct part *part, const struct series_options *options, struct curve_node *nodes)
{
    struct series_separation *it = part->it;
    part->has_u = true;
    for (size_t c = 0; c < part->series->curve_count; c++) {
        const struct series_curve *curve = &part->series->curves[c];
        struct curve_node found;
        const size_t i = it->count;
        double largest_u = 0;
        if (options->frequency_most_Hz > 0 && curve->frequency_Hz > options->frequency_most_Hz)
            continue;
        if (!get_energy(part->series, curve, it->peak_T, nodes, &found, &part->common[i]))
            continue;
        for (size_t n = 0; n < curve->count; n++)
            largest_u = fmax(largest_u, part->series->loops[curve->loop[n]].u_energy);
        it->frequency_Hz[i] = curve->frequency_Hz;
        it->energy[i] = exp(found.y);
        it->u_energy[i] = largest_u > 0 ? it->energy[i] * found.u_y : 0;
        part->has_u = part->has_u && it->u_energy[i] > 0;
        part->form_factor[i] = get_form_factor(part->series, curve, it->peak_T, nodes);
        it->count++;
    }
}

/* --- the classical term ------------------------------------------------------------------------
 */

/* Amplitude permeability at the peak, on the normal curve; NaN: unknown. */
static double get_permeability(const struct series *series, double peak, struct curve_node *nodes)
{
    struct curve_node found;
    size_t count = 0;
    if (series->normal == SERIES_NONE)
        return NAN;
    const struct series_curve *curve = &series->curves[series->normal];
    for (size_t i = 0; i < curve->count; i++)
        if (curve->permeability[i] > 0)
            nodes[count++] =
                (struct curve_node){log(curve->peak[i]), log(curve->permeability[i]), 0, 0};
    (void)curve_interpolate(nodes, count, log(peak), &found, NULL);
    return count ? exp(found.y) : NAN;
}

/* kc at a sine of this peak, where the steel tells what it takes and the skin effect allows it. */
static void find_classical(struct part *part, struct curve_node *nodes)
{
    const struct series_steel *steel = &part->series->steel;
    struct series_separation *it = part->it;
    if (!steel->resistivity.is_present || !steel->thickness.is_present || part->series->is_per_mass)
        return;
    const double breadth = steel->breadth.is_present ? steel->breadth.value : INFINITY;
    const double permeability = get_permeability(part->series, it->peak_T, nodes);
    if (!isnan(permeability))
        it->skin_frequency_Hz = classical_get_skin_frequency(
            steel->resistivity.value, steel->thickness.value, permeability);
    if (it->skin_frequency_Hz > 0 && it->skin_frequency_Hz < it->frequency_Hz[it->count - 1])
        return;
    part->classical = classical_compute(
        steel->resistivity.value, steel->thickness.value, breadth, it->peak_T, CLASSICAL_SINE);
}

/* kc of a frequency, for its own waveform. */
static double get_classical(const struct part *part, size_t i)
{
    const double ratio = isnan(part->form_factor[i]) ? 1 : part->form_factor[i] / CLASSICAL_SINE;
    return part->classical * ratio * ratio;
}

static double get_classical_u(const struct series_steel *steel)
{
    return hypot(quantity_get_uncertainty(&steel->resistivity) / steel->resistivity.value,
        2 * quantity_get_uncertainty(&steel->thickness) / steel->thickness.value);
}

/* --- the fit -----------------------------------------------------------------------------------
 */

/* Which terms the frequencies can tell; false: not even two. */
static bool choose_terms(struct part *part, const struct series_options *options)
{
    struct series_separation *it = part->it;
    it->is_classical = part->classical > 0 && !options->is_free;
    part->fits_linear = !it->is_classical;
    part->fits_excess = it->is_classical ? it->count >= 2 : it->count >= FREE_FREQUENCIES;
    if (options->terms == 2 && !it->is_classical)
        part->fits_excess = false;
    if (options->terms == 3)
        part->fits_excess = it->count >= (it->is_classical ? 2 : 3);
    if (options->terms == 2 && it->is_classical)
        part->fits_excess = false;
    it->has_excess = part->fits_excess;
    return it->count >= 2;
}

/* Fits with the computed kc times `factor`; terms in the order of the header. */
static enum status fit(const struct part *part, double factor, double terms[TERMS],
    double covariance[TERMS][TERMS], double *sum, bool *is_bounded, struct error *err)
{
    const struct series_separation *it = part->it;
    size_t place[TERMS], count = 0;
    double solution[TERMS], matrix[TERMS * TERMS];
    bool bounded[TERMS] = {false};
    place[count++] = 0;
    if (part->fits_linear)
        place[count++] = 1;
    if (part->fits_excess)
        place[count++] = 2;
    for (size_t i = 0; i < it->count; i++) {
        const double f = it->frequency_Hz[i], row[TERMS] = {1, f, sqrt(f)};
        const double known = it->is_classical ? factor * get_classical(part, i) * f : 0;
        for (size_t t = 0; t < count; t++)
            part->matrix[i * count + t] = row[place[t]];
        part->values[i] = it->energy[i] - known;
        part->weights[i] = 1 / pow(part->has_u ? it->u_energy[i] : it->energy[i], 2);
    }
    const struct linear_problem problem = {
        part->matrix, part->values, part->weights, it->count, count};
    enum status status =
        linear_problem_solve_positive(&problem, solution, matrix, sum, bounded, err);
    *is_bounded = false;
    memset(covariance, 0, TERMS * sizeof *covariance);
    for (size_t t = 0; t < TERMS; t++)
        terms[t] = 0;
    for (size_t t = 0; !status && t < count; t++) {
        terms[place[t]] = solution[t];
        *is_bounded = *is_bounded || bounded[t];
        for (size_t u = 0; u < count; u++)
            covariance[place[t]][place[u]] = matrix[t * count + u];
    }
    return status;
}

static double get_fitted(const struct part *part, const double terms[TERMS], size_t i)
{
    const double f = part->it->frequency_Hz[i];
    const double linear = part->it->is_classical ? get_classical(part, i) : terms[1];
    return terms[0] + linear * f + terms[2] * sqrt(f);
}

static void set_residuals(struct part *part, const double terms[TERMS])
{
    struct series_separation *it = part->it;
    double sum = 0;
    for (size_t i = 0; i < it->count; i++) {
        it->residual[i] = (it->energy[i] - get_fitted(part, terms, i)) / it->energy[i];
        it->residual_most = fmax(it->residual_most, fabs(it->residual[i]));
        sum += it->residual[i] * it->residual[i];
    }
    it->residual_relative = sqrt(sum / (double)it->count);
}

/* The factor on (J' W J)^-1, and the relative u that all energies share. */
static double find_factor(const struct part *part, double sum, size_t terms, double *shared)
{
    const struct series_separation *it = part->it;
    double share = 0;
    *shared = INFINITY;
    for (size_t i = 0; i < it->count; i++)
        *shared = fmin(*shared, part->common[i]);
    for (size_t i = 0; part->has_u && i < it->count; i++) {
        const double u = it->u_energy[i] / it->energy[i];
        share += fmax(0, 1 - *shared * *shared / (u * u)) / (double)it->count;
    }
    const double variance = it->count > terms ? sum / (double)(it->count - terms) : 0;
    return fmax(share, variance);
}

static enum status set_covariance(struct part *part, const double terms[TERMS],
    double covariance[TERMS][TERMS], double sum, struct error *err)
{
    struct series_separation *it = part->it;
    const size_t fitted = 1 + part->fits_linear + part->fits_excess;
    double shared, moved[TERMS], unused[TERMS][TERMS], other;
    bool is_bounded;
    const double factor = find_factor(part, sum, fitted, &shared);
    double u = it->is_classical ? get_classical_u(&part->series->steel) : 0;
    const double step = 1e-3;
    it->has_covariance = part->has_u || it->count > fitted;
    for (size_t t = 0; t < TERMS; t++)
        for (size_t n = 0; n < TERMS; n++)
            it->covariance[t][n] =
                factor * covariance[t][n] + shared * shared * terms[t] * terms[n];
    if (!(u > 0))
        return STATUS_OK;
    enum status status = fit(part, 1 + step, moved, unused, &other, &is_bounded, err);
    moved[1] = terms[1] * (1 + step);
    for (size_t t = 0; !status && t < TERMS; t++)
        for (size_t n = 0; n < TERMS; n++)
            it->covariance[t][n] +=
                (moved[t] - terms[t]) * (moved[n] - terms[n]) * pow(u / step, 2);
    return status;
}

static enum status separate(
    struct part *part, const struct series_options *options, bool *is_done, struct error *err)
{
    struct series_separation *it = part->it;
    double terms[TERMS], covariance[TERMS][TERMS], sum;
    *is_done = choose_terms(part, options);
    if (!*is_done)
        return STATUS_OK;
    enum status status = fit(part, 1, terms, covariance, &sum, &it->is_bounded, err);
    if (status) { /* a computed kc larger than the losses themselves */
        *is_done = false;
        return status == STATUS_INPUT ? STATUS_OK : status;
    }
    set_residuals(part, terms);
    for (size_t i = 0; it->is_classical && i < it->count; i++)
        terms[1] += get_classical(part, i) / (double)it->count;
    it->hysteresis_J_per_m3 = terms[0];
    it->linear_J_s_per_m3 = terms[1];
    it->excess_J_per_m3_per_sqrt_Hz = terms[2];
    return set_covariance(part, terms, covariance, sum, err);
}

/* --- where -------------------------------------------------------------------------------------
 */

/* A round number near a peak: two digits if that moves it by no more than 1.5 %, else three. */
static double find_round(double peak)
{
    char words[32];
    double rounded = peak;
    for (int digits = 2; digits <= 3; digits++) {
        snprintf(words, sizeof words, "%.*g", digits, peak);
        (void)text_read_number(words, strlen(words), &rounded);
        if (fabs(rounded - peak) <= 0.015 * peak)
            break;
    }
    return rounded;
}

/* How many curves reach a peak. */
static size_t count_reaching(const struct series *series, double peak)
{
    size_t count = 0;
    for (size_t c = 0; c < series->curve_count; c++) {
        const struct series_curve *curve = &series->curves[c];
        count += peak >= curve->peak[0] * (1 - 5e-3) &&
                 peak <= curve->peak[curve->count - 1] * (1 + 5e-3);
    }
    return count;
}

/* The curve whose peaks are separated at: of those that reach furthest down in number of loops. */
static const struct series_curve *find_richest(const struct series *series)
{
    const struct series_curve *best = &series->curves[0];
    for (size_t c = 1; c < series->curve_count; c++)
        if (series->curves[c].count > best->count)
            best = &series->curves[c];
    return best;
}

static void note_missing(struct series *series, const struct part *part)
{
    const struct series_steel *steel = &series->steel;
    const struct series_separation *it = part->it;
    const double last = it->frequency_Hz[it->count - 1];
    if (it->skin_frequency_Hz > 0 && it->skin_frequency_Hz < last &&
        !notes_has(&series->notes, "skin-effect"))
        notes_add(&series->notes, "skin-effect", NOTE_INFO,
            "measure at lower frequencies, or take a thinner ring or sheet",
            "at %.4g T the skin effect takes more than 1 %% of the classical loss from %.3g Hz on, "
            "and there are loops up to %.4g Hz: the linear term is fitted, not computed",
            it->peak_T, it->skin_frequency_Hz, last);
    if (steel->is_laminated || steel->thickness.is_present || !steel->resistivity.is_present)
        return;
    if (!notes_has(&series->notes, "no-thickness"))
        notes_add(&series->notes, "no-thickness", NOTE_INFO,
            "state 'sheet_thickness' in specimen.yaml, or --thickness",
            "the thickness that eddy currents circulate in is not known: the classical loss cannot "
            "be computed");
}

static void note_waveform(struct series *series, const struct part *part)
{
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < part->it->count; i++) {
        least = fmin(least, part->form_factor[i]);
        most = fmax(most, part->form_factor[i]);
    }
    if (most > least * (1 + SAME_WAVEFORM) && !notes_has(&series->notes, "waveform"))
        notes_add(&series->notes, "waveform", NOTE_INFO,
            "keep the flux sinusoidal, or the drive alike, at all frequencies",
            "at %.4g T the form factor of dB/dt goes from %.4g to %.4g over the frequencies: a "
            "fitted linear or excess term holds a part of that change",
            part->it->peak_T, least, most);
}

static enum status add_separation(struct series *series, double peak,
    const struct series_options *options, struct curve_node *nodes, double *room, struct error *err)
{
    const size_t most = series->curve_count;
    struct series_separation *it = &series->separations[series->separation_count];
    struct part part = {.series = series,
        .it = it,
        .common = room,
        .form_factor = room + most,
        .values = room + 2 * most,
        .weights = room + 3 * most,
        .matrix = room + 4 * most};
    bool is_done = false;
    *it = (struct series_separation){.peak_T = peak};
    enum status status = create_points(it, most, err);
    if (!status) {
        take_points(&part, options, nodes);
        if (it->count >= 2)
            find_classical(&part, nodes);
        status = separate(&part, options, &is_done, err);
    }
    if (!status && is_done) {
        note_missing(series, &part);
        note_waveform(series, &part);
        series->separation_count++;
        return STATUS_OK;
    }
    memory_destroy(it->frequency_Hz);
    *it = (struct series_separation){0};
    return status;
}

/* Stated peaks must be reached by two frequencies; those that are chosen are the richest curve's,
 * rounded, as far as two frequencies reach. */
static enum status separate_all(struct series *series, const struct series_options *options,
    struct curve_node *nodes, double *room, struct error *err)
{
    const struct series_curve *richest = find_richest(series);
    const size_t count = options->peak_count ? options->peak_count : richest->count;
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < count; i++) {
        const size_t before = series->separation_count;
        const double peak = options->peak_count ? options->peaks[i] : find_round(richest->peak[i]);
        const size_t reaching = count_reaching(series, peak);
        if (reaching < 2 && !options->peak_count)
            continue;
        if (before && !options->peak_count && !(peak > series->separations[before - 1].peak_T))
            continue;
        status = add_separation(series, peak, options, nodes, room, err);
        if (!status && options->peak_count && series->separation_count == before)
            status = fail(err, STATUS_INPUT, "state peaks that two frequencies reach",
                "no separation at %.4g T: %zu frequencies reach it with losses that can be parted",
                peak, reaching);
    }
    return status;
}

enum status series_set_separations(
    struct series *series, const struct series_options *options, struct error *err)
{
    const size_t most = options->peak_count > series->count ? options->peak_count : series->count;
    struct curve_node *nodes = memory_create(series->count + 1, sizeof *nodes);
    double *room = memory_create((4 + TERMS) * series->curve_count, sizeof *room);
    series->separations = memory_create(most, sizeof *series->separations);
    enum status status = nodes && room && series->separations ? STATUS_OK : fail_memory(err);
    if (!status && (series->curve_count >= 2 || options->peak_count))
        status = separate_all(series, options, nodes, room, err);
    memory_destroy(nodes);
    memory_destroy(room);
    return status;
}
