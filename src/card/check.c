// SPDX-License-Identifier: GPL-3.0-or-later
/* What must hold of any loop: mu0 HcB < Br, since J at -HcB is mu0 HcB and J falls from Br on; a
 * loop that is widest at B = 0 encloses at most 4 Bm Hc; dB/dH >= mu0 along a branch. */
#include "card/check.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "card/branch.h"
#include "quantity/constant.h"

#define COVERAGE 2.0  /* standard uncertainties that a rule may be passed by */
#define ROUNDING 1e-6 /* of a slope */
#define RULES_MOST 16

struct checker {
    const struct card *card;
    struct card_findings *findings;
};

static void add(struct checker *checker, const char *rule, enum card_outcome outcome,
    const char *format, ...) __attribute__((format(printf, 4, 5)));

static void add(
    struct checker *checker, const char *rule, enum card_outcome outcome, const char *format, ...)
{
    struct card_finding *finding = &checker->findings->list[checker->findings->count++];
    *finding = (struct card_finding){.rule = rule, .outcome = outcome};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(finding->message, sizeof finding->message, format, arguments);
    va_end(arguments);
}

static enum card_outcome judge(bool is_good)
{
    return is_good ? CARD_PASSED : CARD_FAILED;
}

static double get_u(const struct figure_value *value)
{
    return value->has_u ? COVERAGE * value->u : 0.0;
}

static void check_figures(struct checker *checker)
{
    const struct figure_value *list = checker->card->figures.list;
    const struct figure_value *br = &list[FIGURE_REMANENCE], *hc = &list[FIGURE_COERCIVITY];
    const struct figure_value *bm = &list[FIGURE_FLUX_DENSITY_PEAK], *w = &list[FIGURE_LOOP_AREA];
    const struct figure_value *hm = &list[FIGURE_FIELD_PEAK];
    if (br->is_present && hc->is_present) {
        const double least = MAGNETIC_CONSTANT * hc->value;
        add(checker, "mu0 HcB < Br", judge(least < br->value), "%.4g T, %.4g T", least, br->value);
    } else {
        add(checker, "mu0 HcB < Br", CARD_SKIPPED, "Br or HcB is not told");
    }
    if (w->is_present && bm->is_present && hc->is_present && hm->is_present) {
        const double most = 4.0 * bm->value * fmin(hc->value, hm->value);
        add(checker, "0 < W <= 4 Bm Hc",
            judge(w->value > 0 && w->value - get_u(w) <= most + 4.0 * bm->value * get_u(hc)),
            "%.4g J/m3, %.4g J/m3", w->value, most);
    } else {
        add(checker, "0 < W <= 4 Bm Hc", CARD_SKIPPED, "W, Bm or Hc is not told");
    }
}

/* The least slope of the lines between the points, over mu0. */
static double get_least_slope(const struct card_graph *graph)
{
    double least = INFINITY;
    for (size_t i = 1; i < graph->count; i++) {
        least = fmin(least, (graph->flux_density[i] - graph->flux_density[i - 1]) /
                                (graph->field[i] - graph->field[i - 1]));
    }
    return least / MAGNETIC_CONSTANT;
}

static void check_branches(struct checker *checker)
{
    const struct card_loop *loop = &checker->card->major_loop;
    static const char slope[] = "dB/dH >= mu0 on the branches";
    static const char area[] = "area of the branches is the one stated";
    static const char figures[] = "Br and HcB can be read off the branches";
    if (loop->rising.count == 0) {
        add(checker, slope, CARD_SKIPPED, "there are no branches");
        return;
    }
    const double least = fmin(get_least_slope(&loop->rising), get_least_slope(&loop->falling));
    add(checker, slope, judge(least >= 1.0 - ROUNDING), "least slope %.6g mu0", least);
    const double drawn = card_branch_get_area(&loop->rising, &loop->falling);
    add(checker, area, judge(fabs(drawn - loop->drawn_area_J_per_m3) <= 1e-9 * fabs(drawn)),
        "%.6g J/m3, %.6g J/m3", drawn, loop->drawn_area_J_per_m3);
    const struct figure_value *list = checker->card->figures.list;
    const struct figure_value *br = &list[FIGURE_REMANENCE], *hc = &list[FIGURE_COERCIVITY];
    if (!br->is_present || !hc->is_present || checker->card->has_spread) {
        add(checker, figures, CARD_SKIPPED, "the figures are not of this loop alone");
        return;
    }
    const double read_br =
        0.5 * (card_graph_get(&loop->falling, 0) - card_graph_get(&loop->rising, 0));
    const double read_hc =
        0.5 * (card_graph_find(&loop->rising, 0) - card_graph_find(&loop->falling, 0));
    add(checker, figures,
        judge(fabs(read_br / br->value - 1) < 0.01 && fabs(read_hc / hc->value - 1) < 0.01),
        "%.5g T of %.5g T, %.5g A/m of %.5g A/m", read_br, br->value, read_hc, hc->value);
}

static void check_solver(struct checker *checker)
{
    const struct card_solver *solver = &checker->card->solver;
    const struct card_graph *curve = &solver->curve;
    if (curve->count == 0) {
        add(checker, "curve for solvers", CARD_SKIPPED, "there is none");
        return;
    }
    const double least = get_least_slope(curve);
    const double last = curve->slope[curve->count - 1] / MAGNETIC_CONSTANT;
    add(checker, "the solvers' curve begins at the origin, is never flatter than mu0",
        judge(curve->field[0] == 0 && curve->flux_density[0] == 0 && least >= 1.0 - ROUNDING),
        "least slope %.6g mu0", least);
    add(checker, "its last slope tends to mu0", judge(last >= 1.0 - ROUNDING && last < 1.05),
        "%.5g mu0", last);
    bool is_steep = true; /* 3 times the chord keeps a cubic monotone: Fritsch, Carlson 1980 */
    for (size_t i = 1; i < curve->count; i++) {
        const double chord = 3.0 * (1.0 + ROUNDING) *
                             (curve->flux_density[i] - curve->flux_density[i - 1]) /
                             (curve->field[i] - curve->field[i - 1]);
        is_steep = is_steep && curve->slope[i] <= chord && curve->slope[i - 1] <= chord;
    }
    add(checker, "its cubics are monotone", judge(is_steep), "slopes within 3 times the chords");
    const struct card_reluctivity *table = &solver->reluctivity;
    bool is_rising = true;
    for (size_t i = 1; i < table->count; i++) {
        is_rising =
            is_rising && table->reluctivity[i] * sqrt(table->flux_density_squared[i]) >
                             table->reluctivity[i - 1] * sqrt(table->flux_density_squared[i - 1]);
    }
    add(checker, "H = nu B rises along the reluctivity", judge(is_rising), "%zu points",
        table->count);
}

/* That no term is negative is made sure of when a card is read. */
static void check_laws(struct checker *checker)
{
    const struct card *card = checker->card;
    const struct card_validity *range = &card->validity;
    if (card->has_power_law) {
        add(checker, "hysteresis loss rises with B", judge(card->power_law.exponent > 0),
            "exponent %.4g", card->power_law.exponent);
    } else {
        add(checker, "hysteresis loss rises with B", CARD_SKIPPED, "there is no power law");
    }
    if (card->has_saturation) {
        add(checker, "no J above the saturation",
            judge(card->saturation.reached_T <=
                  card->saturation.polarization_T +
                      (isnan(card->saturation.u_polarization_T)
                              ? 0.0
                              : COVERAGE * card->saturation.u_polarization_T)),
            "%.5g T, %.5g T", card->saturation.reached_T, card->saturation.polarization_T);
    }
    add(checker, "ranges of validity in order",
        judge(!(range->field_least_A_per_m > range->field_most_A_per_m) &&
              !(range->flux_density_least_T > range->flux_density_most_T) &&
              !(range->frequency_least_Hz > range->frequency_most_Hz) &&
              !(range->temperature_least_K > range->temperature_most_K)),
        "least before most");
}

/* The path of a capture in one of the folders; NULL: in none. */
static char *find_capture(const char *file, const char *const *folders, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct text path = {0};
        text_add_format(&path, "%s/%s", folders[i], file);
        if (!path.failed && file_exists(path.bytes)) {
            return path.bytes;
        }
        text_clear(&path);
    }
    return NULL;
}

static enum status check_provenance(
    struct checker *checker, const char *const *folders, size_t count, struct error *err)
{
    static const char rule[] = "captures are those that the card was made of";
    size_t found = 0;
    for (size_t i = 0; i < checker->card->capture_count; i++) {
        const struct card_capture *capture = &checker->card->captures[i];
        char *path =
            capture->sha256[0] != '\0' ? find_capture(capture->file, folders, count) : NULL;
        if (path == NULL) {
            continue;
        }
        char digest[DIGEST_TEXT_SIZE];
        struct digest_job *job = digest_job_create(path);
        memory_destroy(path);
        enum status status = job != NULL ? digest_job_finish(job, digest, err) : fail_memory(err);
        if (status != STATUS_OK) {
            return status;
        }
        found++;
        if (strcmp(digest, capture->sha256) != 0) {
            add(checker, rule, CARD_FAILED, "'%.80s' has another SHA-256", capture->file);
            return STATUS_OK;
        }
    }
    add(checker, rule, found > 0 ? CARD_PASSED : CARD_SKIPPED, "%zu of %zu at hand", found,
        checker->card->capture_count);
    return STATUS_OK;
}

enum status card_check(const struct card *card, const char *const *folders, size_t folder_count,
    struct card_findings *findings, struct error *err)
{
    struct card_findings made = {.list = memory_create(RULES_MOST, sizeof *made.list)};
    if (made.list == NULL) {
        return fail_memory(err);
    }
    struct checker checker = {.card = card, .findings = &made};
    check_figures(&checker);
    check_branches(&checker);
    check_solver(&checker);
    check_laws(&checker);
    enum status status = check_provenance(&checker, folders, folder_count, err);
    if (status != STATUS_OK) {
        memory_destroy(made.list);
        return status;
    }
    *findings = made;
    return STATUS_OK;
}
