// SPDX-License-Identifier: GPL-3.0-or-later
/* Lots whose truth is known: drawn from populations with a known share conforming, measured with a
 * known error, and judged. What the verdicts, risks, limits and intervals claim is held against how
 * often they were right. The seed is fixed; the acceptance regions are binomial, four standard
 * deviations about what is claimed.
 *
 *     LODECARD_LOTS=200000 build/release/tests/run held_out      long, with a table (`make lots`)
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "num/distribution.h"
#include "num/normality.h"
#include "num/random.h"
#include "num/student.h"
#include "num/tolerance.h"
#include "qualify/capability.h"
#include "qualify/comparison.h"
#include "qualify/plan.h"
#include "qualify/qualification.h"
#include "suites.h"

#define TRIALS 3000
#define RINGS_MOST 60
#define SEED 20261125

enum outcome { MISS, HIT, LEFT_OUT };

/* What is drawn: a population of standard deviation 1 about 0 unless told otherwise. */
struct setting {
    size_t rings;
    bool is_two_sided;
    enum decision_rule rule;
    double share, confidence;
    double conforming; /* share of the population that truly conforms */
    bool is_skewed;    /* two limits: all that does not conform lies below */
    double u;          /* of the bench: one error for the whole lot */
    size_t repeats;    /* of each ring; 0: one without scatter */
    double scatter;    /* of them */
    double off;        /* of a ring from its limit in u, of a second lot from the first */
};

struct experiment {
    const char *name;
    enum outcome (*draw)(struct random *random, const struct setting *setting);
    struct setting setting;
    double least, most; /* rate of hits that is claimed */
    size_t cost;        /* so many times fewer trials */
};

static size_t get_trials(void)
{
    const char *words = getenv("LODECARD_LOTS");
    return words != NULL ? (size_t)strtoul(words, NULL, 10) : TRIALS;
}

static bool is_long(void)
{
    return getenv("LODECARD_LOTS") != NULL;
}

/* Whether so many hits are what a rate within least ... most gives. */
static void check_rate(const char *name, double hits, double trials, double least, double most)
{
    const double low = trials * least - 4 * sqrt(trials * least * (1 - least)) - 1;
    const double high = trials * most + 4 * sqrt(trials * most * (1 - most)) + 1;
    if (is_long()) {
        printf("| %s | %.0f | %.3f %% | %.3f to %.3f %% |\n", name, trials, 100 * hits / trials,
            100 * least, 100 * most);
        fflush(stdout);
    }
    ck_assert_msg(hits >= low && hits <= high, "%s: %g of %g, expected %g to %g", name, hits,
        trials, low, high);
}

/* --- rings -------------------------------------------------------------------------------------
 */

static const struct limit from_10_to_20 = {true, true, 10, 20};
static const struct limit above_10 = {true, false, 10, INFINITY};

/* A ring whose true value lies `off` u inside its lower limit. */
static struct decision draw_ring(struct random *random, const struct setting *setting)
{
    const double truth = 10 + setting->off * setting->u;
    return decision_compute(truth + setting->u * random_get_normal(random), setting->u,
        setting->is_two_sided ? &from_10_to_20 : &above_10, setting->rule);
}

static enum outcome ring_accepted(struct random *random, const struct setting *setting)
{
    return draw_ring(random, setting).verdict == VERDICT_ACCEPTED ? HIT : MISS;
}

static enum outcome ring_rejected(struct random *random, const struct setting *setting)
{
    return draw_ring(random, setting).verdict == VERDICT_REJECTED ? HIT : MISS;
}

/* --- lots --------------------------------------------------------------------------------------
 */

/* Limits that the share asked for of the population meets. */
static struct limit make_limit(const struct setting *setting)
{
    struct limit limit = {true, setting->is_two_sided, 0, INFINITY};
    if (!setting->is_two_sided) {
        limit.lower = normal_compute_quantile(1 - setting->conforming);
    } else if (setting->is_skewed) {
        limit.lower = normal_compute_quantile(1 - setting->conforming);
        limit.upper = 12;
    } else {
        limit.upper = normal_compute_quantile(0.5 * (1 + setting->conforming));
        limit.lower = -limit.upper;
    }
    return limit;
}

static struct lot_figure draw_lot(struct random *random, const struct setting *setting)
{
    const struct limits limits = {.rule = setting->rule,
        .has_lot = true,
        .share = setting->share,
        .confidence = setting->confidence};
    const struct limit limit = make_limit(setting);
    const double error = setting->u * random_get_normal(random);
    const size_t repeats = setting->repeats > 0 ? setting->repeats : 1;
    struct lot_value values[RINGS_MOST];
    struct lot_figure lot;
    struct error err = {0};
    for (size_t i = 0; i < setting->rings; i++) {
        const double truth = random_get_normal(random);
        for (size_t j = 0; j < repeats; j++) {
            const double off = setting->repeats > 0 ? random_get_normal(random) : 0;
            values[i * repeats + j] =
                (struct lot_value){i, truth + error + setting->scatter * off, setting->u};
        }
    }
    ck_assert(
        lot_compute(values, setting->rings * repeats, &limit, &limits, &lot, &err) == STATUS_OK);
    return lot;
}

static enum outcome lot_accepted(struct random *random, const struct setting *setting)
{
    return draw_lot(random, setting).verdict == VERDICT_ACCEPTED ? HIT : MISS;
}

static enum outcome lot_rejected(struct random *random, const struct setting *setting)
{
    return draw_lot(random, setting).verdict == VERDICT_REJECTED ? HIT : MISS;
}

/* Whether the population holds the share that is claimed. */
static enum outcome share_holds(struct random *random, const struct setting *setting)
{
    return draw_lot(random, setting).share_confident <= setting->conforming ? HIT : MISS;
}

/* --- samples -----------------------------------------------------------------------------------
 */

static struct summary draw_summary(struct random *random, double *values, size_t count, double mean)
{
    for (size_t i = 0; i < count; i++) {
        values[i] = mean + random_get_normal(random);
    }
    return summary_compute(values, count);
}

static enum outcome tolerance_holds(struct random *random, const struct setting *setting)
{
    static struct setting known;
    static double factor;
    double values[RINGS_MOST];
    struct error err = {0};
    if (known.rings != setting->rings || known.share != setting->share ||
        known.is_two_sided != setting->is_two_sided) {
        known = *setting;
        ck_assert(
            (setting->is_two_sided ? tolerance_compute_two_sided : tolerance_compute_one_sided)(
                setting->rings, setting->share, setting->confidence, &factor, &err) == STATUS_OK);
    }
    const struct summary made = draw_summary(random, values, setting->rings, 0);
    const double above = normal_compute_share(made.mean + factor * made.deviation);
    const double below = normal_compute_share(made.mean - factor * made.deviation);
    return (setting->is_two_sided ? above - below : above) >= setting->share ? HIT : MISS;
}

/* Limits four standard deviations below and three above the mean: Cp 7/6, Cpk 1. */
static struct capability draw_capability(struct random *random, const struct setting *setting)
{
    const struct limit limit = {true, true, -4, 3};
    double values[RINGS_MOST];
    struct capability capability;
    struct error err = {0};
    const struct summary made = draw_summary(random, values, setting->rings, 0);
    ck_assert(capability_compute(made.count, made.mean, made.deviation, &limit, setting->confidence,
                  &capability, &err) == STATUS_OK);
    return capability;
}

static enum outcome cp_holds(struct random *random, const struct setting *setting)
{
    const struct capability made = draw_capability(random, setting);
    return made.cp_lower <= 7.0 / 6 && 7.0 / 6 <= made.cp_upper ? HIT : MISS;
}

static enum outcome cpk_holds(struct random *random, const struct setting *setting)
{
    const struct capability made = draw_capability(random, setting);
    return made.cpk_lower <= 1 && 1 <= made.cpk_upper ? HIT : MISS;
}

static enum outcome cpk_least_holds(struct random *random, const struct setting *setting)
{
    return draw_capability(random, setting).cpk_least <= 1 ? HIT : MISS;
}

static enum outcome normality_refuses(struct random *random, const struct setting *setting)
{
    double values[RINGS_MOST];
    struct normality normality;
    struct error err = {0};
    (void)draw_summary(random, values, setting->rings, 0);
    ck_assert(normality_compute(values, setting->rings, &normality, &err) == STATUS_OK);
    return normality.significance < 0.05 ? HIT : MISS;
}

/* Two lots, the second `off` higher and with `scatter` times the deviation. */
static struct comparison draw_comparison(
    struct random *random, const struct setting *setting, double margin)
{
    double first[RINGS_MOST], second[RINGS_MOST];
    struct comparison comparison;
    struct error err = {0};
    (void)draw_summary(random, first, setting->rings, 0);
    (void)draw_summary(random, second, setting->rings, 0);
    for (size_t i = 0; i < setting->rings; i++) {
        second[i] = setting->off + setting->scatter * second[i];
    }
    ck_assert(comparison_compute((struct lot_sample){first, setting->rings},
                  (struct lot_sample){second, setting->rings}, 0, margin, setting->confidence,
                  &comparison, &err) == STATUS_OK);
    return comparison;
}

static enum outcome difference_held(struct random *random, const struct setting *setting)
{
    const struct comparison made = draw_comparison(random, setting, 0);
    return made.lower <= setting->off && setting->off <= made.upper ? HIT : MISS;
}

static enum outcome told_equivalent(struct random *random, const struct setting *setting)
{
    return draw_comparison(random, setting, 2).verdict == EQUIVALENT ? HIT : MISS;
}

static enum outcome told_different(struct random *random, const struct setting *setting)
{
    return draw_comparison(random, setting, 2).verdict == DIFFERENT ? HIT : MISS;
}

/* The k-method as `plan` tells to use it: good 1 %, bad 10 %. */
static enum outcome plan_accepts(struct random *random, const struct setting *setting)
{
    static struct plan plan;
    double values[RINGS_MOST];
    struct error err = {0};
    if (plan.count == 0) {
        ck_assert(plan_compute(0.01, 0.05, 0.1, 0.1, false, &plan, &err) == STATUS_OK);
    }
    const double limit = normal_compute_quantile(1 - setting->conforming);
    const struct summary made = draw_summary(random, values, plan.count, 0);
    return made.mean - plan.factor * made.deviation >= limit ? HIT : MISS;
}

/* --- what is claimed ---------------------------------------------------------------------------
 */

#define LOT(n) .rings = n, .share = 0.95, .confidence = 0.95, .conforming = 0.95
static const struct experiment experiment_list[] = {
    {"ring at its limit accepted, guarded", ring_accepted, {.u = 1}, 0.0499, 0.0501, 1},
    {"ring at its limit accepted, simple", ring_accepted, {.u = 1, .rule = RULE_SIMPLE}, 0.5, 0.5,
        1},
    {"ring at one of two limits accepted, guarded", ring_accepted, {.u = 1, .is_two_sided = true},
        0.0499, 0.0501, 1},
    {"ring u beyond its limit accepted, guarded", ring_accepted, {.u = 1, .off = -1}, 0.0040,
        0.0042, 1},
    {"ring at its limit rejected, guarded", ring_rejected, {.u = 1}, 0.0499, 0.0501, 1},
    {"ring u inside its limit rejected, guarded", ring_rejected, {.u = 1, .off = 1}, 0.0040, 0.0042,
        1},
    {"ring u inside its limit rejected, simple", ring_rejected,
        {.u = 1, .off = 1, .rule = RULE_SIMPLE}, 0.1586, 0.1587, 1},
    {"lot of 3 at the border accepted, one limit", lot_accepted, {LOT(3), .rule = RULE_SIMPLE},
        0.05, 0.05, 20},
    {"lot of 6 at the border accepted, one limit", lot_accepted, {LOT(6), .rule = RULE_SIMPLE},
        0.05, 0.05, 20},
    {"lot of 30 at the border accepted, one limit", lot_accepted, {LOT(30), .rule = RULE_SIMPLE},
        0.05, 0.05, 20},
    {"lot of 6 at the border accepted, two limits", lot_accepted,
        {LOT(6), .rule = RULE_SIMPLE, .is_two_sided = true}, 0, 0.05, 40},
    {"lot of 30 at the border accepted, two limits", lot_accepted,
        {LOT(30), .rule = RULE_SIMPLE, .is_two_sided = true}, 0, 0.05, 40},
    {"lot of 6 at one of two limits accepted", lot_accepted,
        {LOT(6), .rule = RULE_SIMPLE, .is_two_sided = true, .is_skewed = true}, 0, 0.05, 40},
    {"lot of 6, bench off by u = 0.5 s, guarded", lot_accepted, {LOT(6), .u = 0.5}, 0, 0.05, 20},
    {"lot of 30, bench off by u = 0.5 s, guarded", lot_accepted, {LOT(30), .u = 0.5}, 0, 0.05, 20},
    {"lot of 30, bench off by u = 0.5 s, simple", lot_accepted,
        {LOT(30), .u = 0.5, .rule = RULE_SIMPLE}, 0.10, 0.30, 20},
    {"lot of 6, three repeats that scatter by 0.5 s", lot_accepted,
        {LOT(6), .repeats = 3, .scatter = 0.5, .rule = RULE_SIMPLE}, 0, 0.05, 20},
    {"good lot of 10 (99.99 % conform) rejected", lot_rejected,
        {.rings = 10, .share = 0.95, .confidence = 0.95, .conforming = 0.9999}, 0, 0.002, 20},
    {"share conforming of 6 holds, one limit", share_holds, {LOT(6), .rule = RULE_SIMPLE}, 0.95,
        0.95, 20},
    {"share conforming of 30 holds, one limit", share_holds, {LOT(30), .rule = RULE_SIMPLE}, 0.95,
        0.95, 20},
    {"share conforming of 10 holds, two limits", share_holds,
        {LOT(10), .rule = RULE_SIMPLE, .is_two_sided = true}, 0.95, 1, 40},
    {"tolerance limit of 5 holds 95 %", tolerance_holds, {LOT(5)}, 0.95, 0.95, 1},
    {"tolerance limit of 20 holds 99 %", tolerance_holds,
        {.rings = 20, .share = 0.99, .confidence = 0.9}, 0.9, 0.9, 1},
    {"tolerance limits of 3 hold 90 %, two-sided", tolerance_holds,
        {.rings = 3, .share = 0.9, .confidence = 0.9, .is_two_sided = true}, 0.9, 0.9, 1},
    {"tolerance limits of 10 hold 95 %, two-sided", tolerance_holds,
        {LOT(10), .is_two_sided = true}, 0.95, 0.95, 1},
    {"tolerance limits of 50 hold 99 %, two-sided", tolerance_holds,
        {.rings = 50, .share = 0.99, .confidence = 0.95, .is_two_sided = true}, 0.95, 0.95, 1},
    {"interval of Cp, 6 rings", cp_holds, {LOT(6)}, 0.95, 0.95, 1},
    {"interval of Cp, 30 rings", cp_holds, {LOT(30)}, 0.95, 0.95, 1},
    {"interval of Cpk, 6 rings (approximate)", cpk_holds, {LOT(6)}, 0.92, 0.97, 1},
    {"interval of Cpk, 30 rings (approximate)", cpk_holds, {LOT(30)}, 0.93, 0.96, 1},
    {"least Cpk, 30 rings (approximate)", cpk_least_holds, {LOT(30)}, 0.93, 0.97, 1},
    {"normal sample of 3 refused at 5 %", normality_refuses, {.rings = 3}, 0.047, 0.053, 1},
    {"normal sample of 6 refused at 5 %", normality_refuses, {.rings = 6}, 0.045, 0.055, 1},
    {"normal sample of 10 refused at 5 %", normality_refuses, {.rings = 10}, 0.045, 0.055, 1},
    {"normal sample of 50 refused at 5 %", normality_refuses, {.rings = 50}, 0.045, 0.055, 1},
    {"interval of a difference, 6 and 6 rings", difference_held, {LOT(6), .off = 1, .scatter = 1},
        0.95, 0.965, 1},
    {"interval, scatter three times as large", difference_held, {LOT(6), .off = 1, .scatter = 3},
        0.94, 0.96, 1},
    {"told equivalent at the margin, 10 and 10", told_equivalent, {LOT(10), .off = 2, .scatter = 1},
        0.04, 0.05, 1},
    {"the same, scatter twice as large", told_equivalent, {LOT(10), .off = 2, .scatter = 2}, 0.03,
        0.052, 1},
    {"told different at the margin, 10 and 10", told_different, {LOT(10), .off = 2, .scatter = 1},
        0.04, 0.052, 1},
    {"plan: lot with 1 % bad accepted", plan_accepts, {.conforming = 0.99}, 0.95, 0.96, 1},
    {"plan: lot with 10 % bad accepted", plan_accepts, {.conforming = 0.9}, 0.09, 0.1, 1},
};

START_TEST(claims_hold_as_often_as_they_say)
{
    const struct experiment *experiment = &experiment_list[_i];
    const size_t trials = get_trials() / experiment->cost;
    struct random random;
    size_t hits = 0, counted = 0;
    random_init(&random, SEED, (uint64_t)_i);
    for (size_t i = 0; i < trials; i++) {
        const enum outcome outcome = experiment->draw(&random, &experiment->setting);
        hits += outcome == HIT;
        counted += outcome != LEFT_OUT;
    }
    check_rate(
        experiment->name, (double)hits, (double)counted, experiment->least, experiment->most);
}
END_TEST

/* --- risks -------------------------------------------------------------------------------------
 */

/* Claims of probability, and what came of them. */
struct claims {
    const char *name;
    size_t count, true_count;
    double sum, variance;
};

static void claim(struct claims *claims, double probability, bool came_true)
{
    claims->count++;
    claims->true_count += came_true;
    claims->sum += probability;
    claims->variance += probability * (1 - probability);
}

/* The specific risk and the probability of conformity are those of a true value of which nothing
 * else is known: rings spread evenly far beyond the limits. */
START_TEST(risks_are_as_frequent_as_told)
{
    static const char *const rules[] = {[RULE_GUARDED] = "guarded", [RULE_SIMPLE] = "simple"};
    const size_t trials = 20 * get_trials();
    struct claims claims[] = {{.name = "probability of conformity 0 to 20 %"},
        {.name = "probability of conformity 20 to 50 %"},
        {.name = "probability of conformity 50 to 80 %"},
        {.name = "probability of conformity 80 to 100 %"},
        {.name = "consumer's risk of accepted rings"},
        {.name = "producer's risk of rejected rings"}};
    const struct limit limit = {true, true, 10, 14}; /* in u: both limits matter at once */
    struct random random;
    random_init(&random, SEED, 1000 + (uint64_t)_i);
    for (size_t i = 0; i < trials; i++) {
        const double truth = 12 + 24 * (random_get_uniform(&random) - 0.5);
        const double value = truth + random_get_normal(&random);
        const bool conforms = limit_holds(&limit, truth);
        const struct decision made = decision_compute(value, 1, &limit, (enum decision_rule)_i);
        const double p = made.probability_conforming;
        if (fabs(value - 12) > 6) { /* where the ends of what is drawn would show */
            continue;
        }
        claim(&claims[p < 0.2 ? 0 : p < 0.5 ? 1 : p < 0.8 ? 2 : 3], p, conforms);
        if (made.verdict == VERDICT_ACCEPTED) {
            claim(&claims[4], made.consumer_risk, !conforms);
        } else if (made.verdict == VERDICT_REJECTED) {
            claim(&claims[5], made.producer_risk, conforms);
        }
    }
    for (size_t i = 0; i < sizeof claims / sizeof claims[0]; i++) {
        const struct claims *made = &claims[i];
        if (is_long()) {
            printf("| %s, %s | %zu | %.3f %% | %.3f %% |\n", made->name, rules[_i], made->count,
                100.0 * (double)made->true_count / (double)made->count,
                100 * made->sum / (double)made->count);
            fflush(stdout);
        }
        ck_assert(made->count > trials / 500);
        ck_assert_msg(fabs((double)made->true_count - made->sum) <= 4 * sqrt(made->variance) + 1,
            "%s, %s: %zu of %zu, expected %g", made->name, rules[_i], made->true_count, made->count,
            made->sum);
    }
}
END_TEST

/* --- the whole verdict -------------------------------------------------------------------------
 */

#define RINGS 6

/* A heat of six rings, two figures, measured on a bench that is off by one draw of its u; the
 * verdict of the whole. `weak`: how many u the first ring lies below its limit; NaN: it is like the
 * others. */
static enum verdict draw_heat(
    struct random *random, const struct limits *limits, double mean, double deviation, double weak)
{
    static const char *const names[RINGS] = {"R-1", "R-2", "R-3", "R-4", "R-5", "R-6"};
    const double u = 50, u_remanence = 0.003;
    const double error = u * random_get_normal(random);
    const double error_remanence = u_remanence * random_get_normal(random);
    struct figures figures[RINGS] = {0};
    struct lot_item items[RINGS];
    struct qualification made;
    struct error err = {0};
    for (size_t i = 0; i < RINGS; i++) {
        double truth = mean + deviation * random_get_normal(random);
        if (i == 0 && !isnan(weak)) {
            truth = 17500 - weak * u;
        }
        figures_set(&figures[i], FIGURE_COERCIVITY, truth + error);
        figures_set_u(&figures[i], FIGURE_COERCIVITY, u);
        figures_set(&figures[i], FIGURE_REMANENCE,
            0.97 + 0.005 * random_get_normal(random) + error_remanence);
        figures_set_u(&figures[i], FIGURE_REMANENCE, u_remanence);
        items[i] = (struct lot_item){
            "a.flac", "", "Northgate Foundry", "H1", names[i], .figures = &figures[i]};
    }
    ck_assert(qualification_create(items, RINGS, limits, &made, &err) == STATUS_OK);
    const enum verdict verdict = made.verdict;
    qualification_clear(&made);
    return verdict;
}

static const struct heat_experiment {
    const char *name;
    double mean, deviation, weak;
    bool has_lot;
    enum verdict verdict;
    double least, most;
} heat_list[] = {
    {"fine heat accepted", 19000, 100, NAN, true, VERDICT_ACCEPTED, 0.99, 1},
    {"fine heat rejected", 19000, 100, NAN, true, VERDICT_REJECTED, 0, 0.001},
    {"heat of which 95 % conform accepted", 17500 + 1.644854 * 300, 300, NAN, true,
        VERDICT_ACCEPTED, 0, 0.05},
    {"heat with a ring at its limit accepted", 19000, 100, 0, false, VERDICT_ACCEPTED, 0.0499,
        0.0501},
    {"heat with a ring 2 u below accepted", 19000, 100, 2, false, VERDICT_ACCEPTED, 0, 0.0003},
    {"heat with a ring 2 u below rejected", 19000, 100, 2, false, VERDICT_REJECTED, 0.63, 0.65},
};

START_TEST(verdicts_on_heats_are_as_good_as_their_parts)
{
    const struct heat_experiment *experiment = &heat_list[_i];
    const size_t trials = get_trials() / (experiment->has_lot ? 40 : 2);
    struct limits limits = {.has_lot = experiment->has_lot, .share = 0.95, .confidence = 0.95};
    struct random random;
    size_t hits = 0;
    limits.figures[FIGURE_COERCIVITY] = (struct limit){true, true, 17500, 20500};
    limits.figures[FIGURE_REMANENCE] = (struct limit){true, false, 0.92, INFINITY};
    random_init(&random, SEED, 2000 + (uint64_t)_i);
    for (size_t i = 0; i < trials; i++) {
        hits += draw_heat(&random, &limits, experiment->mean, experiment->deviation,
                    experiment->weak) == experiment->verdict;
    }
    check_rate(experiment->name, (double)hits, (double)trials, experiment->least, experiment->most);
}
END_TEST

Suite *held_out_suite(void)
{
    Suite *suite = suite_create("held_out");
    TCase *tests = tcase_create("held_out");
    tcase_set_timeout(tests, is_long() ? 7200 : 120);
    tcase_add_loop_test(tests, claims_hold_as_often_as_they_say, 0,
        (int)(sizeof experiment_list / sizeof experiment_list[0]));
    tcase_add_loop_test(tests, risks_are_as_frequent_as_told, RULE_GUARDED, RULE_SIMPLE + 1);
    tcase_add_loop_test(tests, verdicts_on_heats_are_as_good_as_their_parts, 0,
        (int)(sizeof heat_list / sizeof heat_list[0]));
    suite_add_tcase(suite, tests);
    return suite;
}
