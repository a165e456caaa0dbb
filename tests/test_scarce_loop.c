// SPDX-License-Identifier: GPL-3.0-or-later
/* Captures, loops, their budgets and verdicts when memory runs out: each place that asks for memory
 * is refused once. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "budget/loop_budget.h"
#include "loop/look.h"
#include "loop/loop.h"
#include "qualify/control.h"
#include "qualify/gauge.h"
#include "qualify/limits.h"
#include "qualify/plan.h"
#include "qualify/qualification.h"
#include "qualify/sides.h"
#include "qualify/study.h"
#include "scarce.h"
#include "scratch.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

static const char rig_text[] = "name: bench\n"
                               "inputs:\n"
                               "  excitation: {channel: 2, shunt: 0.1 ohm ± 0.001 ohm}\n"
                               "  pickup: {channel: 3}\n"
                               "timing: {time: 1}\n"
                               "winding: {primary_turns: 200, secondary_turns: 100}\n";
static const char trace_rig_text[] = "name: bench\n"
                                     "inputs:\n"
                                     "  excitation: {channel: 2, quantity: field strength}\n"
                                     "  pickup: {channel: 3, quantity: flux density}\n"
                                     "timing: {trace: yes}\n";
static const char ring_text[] = "name: R-1\n"
                                "ring: {outer_diameter: 40 mm ± 0.1 mm, inner_diameter: 32 mm, "
                                "height: 6 mm, density: 8100 kg/m3}\n";
static const char limits_text[] = "name: RS-36\n"
                                  "figures:\n"
                                  "  coercivity: {lower: 17.5 kA/m, upper: 20.5 kA/m}\n"
                                  "  remanence: {lower: 0.92 T}\n"
                                  "lot: {share: 0.9, confidence: 0.9}\n";

/* A capture of `cycles` cycles and what it is read with. */
struct bench {
    const char *name;
    const char *rig_text;
    double cycles;
    struct rig rig;
    struct specimen specimen;
    struct loop loop;
};

static struct bench bench_list[] = {
    {.name = "periodic.csv", .rig_text = rig_text, .cycles = 6.3},
    {.name = "trace.csv", .rig_text = trace_rig_text, .cycles = 1.0},
};

static void write_capture(const struct bench *bench)
{
    FILE *file = fopen(bench->name, "w");
    const bool is_trace = bench->rig_text == trace_rig_text;
    fputs(is_trace ? "time (s),H (A/m),B (T)\n" : "time (s),u1 (V),u2 (V)\n", file);
    for (int n = 0; n < 400; n++) {
        const double x = 2 * PI * bench->cycles * n / 400;
        fprintf(file, "%.6f,%.9f,%.9f\n", n * 1e-3,
            is_trace ? 30000 * cos(x) : 1.5 * cos(x) + 0.002 * sin(31.7 * n),
            is_trace ? 1.1 * cos(x - 0.4) : cos(x + 1.0) + 0.2 * cos(3 * x));
    }
    fclose(file);
}

static void bench_begin(struct bench *bench)
{
    struct error err = {0};
    write_capture(bench);
    scratch_write("rig.yaml", bench->rig_text, strlen(bench->rig_text));
    scratch_write("specimen.yaml", ring_text, strlen(ring_text));
    ck_assert_msg(!rig_read("rig.yaml", &bench->rig, &err), "%s", err.message);
    ck_assert_msg(!specimen_read("specimen.yaml", &bench->specimen, &err), "%s", err.message);
}

static void bench_end(struct bench *bench)
{
    loop_clear(&bench->loop);
    rig_clear(&bench->rig);
    specimen_clear(&bench->specimen);
}

static enum status run_loop(void *data, struct error *err)
{
    struct bench *bench = data;
    struct loop loop = {0};
    struct text out = {0};
    enum status status = loop_read(
        bench->name, &bench->rig, &bench->specimen, &(struct loop_options){0}, &loop, err);
    if (status == STATUS_OK) {
        status = loop_write_json(&loop, &bench->rig, &bench->specimen, 16, 0, &out, err);
    }
    text_clear(&out);
    loop_clear(&loop);
    return status;
}

static enum status run_look(void *data, struct error *err)
{
    const struct bench *bench = data;
    struct look look = {0};
    struct text out = {0};
    enum status status = look_read(bench->name, &(struct capture_options){0}, &look, err);
    if (status == STATUS_OK) {
        status = look_write_json(&look, 0, &out, err);
    }
    text_clear(&out);
    look_clear(&look);
    return status;
}

static enum status run_budget(void *data, struct error *err)
{
    struct bench *bench = data;
    const struct trials_options options = {
        .count = 300, .most = 300, .probability = 0.95, .digits = 1, .seed = 1};
    struct loop_budget *budget = NULL;
    enum status status =
        loop_budget_create(&bench->loop, &bench->rig, &bench->specimen, &budget, err);
    if (status == STATUS_OK) {
        status = loop_budget_try(budget, &options, err);
    }
    loop_budget_destroy(budget);
    return status;
}

START_TEST(a_loop_is_whole_or_not_at_all)
{
    bench_begin(&bench_list[_i]);
    ck_assert_uint_ge(check_every_place(run_loop, &bench_list[_i]), 20);
    bench_end(&bench_list[_i]);
}
END_TEST

START_TEST(a_look_is_whole_or_not_at_all)
{
    bench_begin(&bench_list[_i]);
    ck_assert_uint_ge(check_every_place(run_look, &bench_list[_i]), 20);
    bench_end(&bench_list[_i]);
}
END_TEST

START_TEST(a_budget_is_whole_or_not_at_all)
{
    struct bench *bench = &bench_list[_i];
    struct error err = {0};
    bench_begin(bench);
    ck_assert_msg(!loop_read(bench->name, &bench->rig, &bench->specimen, &(struct loop_options){0},
                      &bench->loop, &err),
        "%s", err.message);
    ck_assert_uint_ge(check_every_place(run_budget, bench), 20);
    bench_end(bench);
}
END_TEST

#define SPECIMENS 6

static enum status run_verdict(void *data, struct error *err)
{
    static const char *const names[SPECIMENS] = {"1", "2", "3", "4", "5", "6"};
    struct figures figures[SPECIMENS] = {0};
    struct lot_item items[SPECIMENS];
    struct limits limits = {0};
    struct qualification made = {0};
    (void)data;
    for (size_t i = 0; i < SPECIMENS; i++) {
        figures_set(&figures[i], FIGURE_COERCIVITY, 18500 + 60 * (double)i);
        figures_set(&figures[i], FIGURE_REMANENCE, 0.95 + 0.003 * (double)(i * i % 5));
        items[i] = (struct lot_item){.file = "ring.flac",
            .sha256 = "",
            .supplier = "Northgate Foundry",
            .heat = "H1",
            .specimen = names[i],
            .figures = &figures[i]};
    }
    enum status status =
        limits_read_bytes("limits.yaml", limits_text, sizeof limits_text - 1, &limits, err);
    if (status == STATUS_OK) {
        status = qualification_create(items, SPECIMENS, &limits, &made, err);
    }
    qualification_clear(&made);
    limits_clear(&limits);
    return status;
}

static enum status run_gauge(void *data, struct error *err)
{
    static const struct limit limit = {true, true, 17500, 20500};
    struct gauge_value values[12];
    struct gauge gauge;
    (void)data;
    for (size_t i = 0; i < 12; i++) {
        values[i] = (struct gauge_value){i / 4, i / 2 % 2, 18000 + 7 * (double)(i * i % 11)};
    }
    return gauge_compute(values, 12, NULL, &limit, &gauge, err);
}

static enum status run_control(void *data, struct error *err)
{
    static const double values[] = {1, 2, 4, 3, 5, 4, 6, 5};
    static const struct control_heat heats[] = {{0, 4}, {4, 4}};
    struct control control = {0};
    const enum status status =
        control_compute(*(enum control_kind *)data, values, heats, 2, &control, err);
    control_clear(&control);
    return status;
}

/* Two suppliers side by side, a study of the bench, and a sampling plan. */
static enum status run_studies(void *data, struct error *err)
{
    static const char *const rigs[8] = {"1", "1", "1", "1", "2", "2", "2", "2"};
    static const struct limit limit = {true, true, 17500, 20500};
    struct figures figures[8] = {0};
    struct lot_item items[8];
    struct sides sides = {0};
    struct study study = {0};
    struct plan plan;
    (void)data;
    for (size_t i = 0; i < 8; i++) {
        figures_set(&figures[i], FIGURE_COERCIVITY, 18000 + 7 * (double)(i * i % 11));
        items[i] = (struct lot_item){.file = "",
            .sha256 = "",
            .supplier = i % 4 < 2 ? "Northgate Foundry" : "Calder & Sons",
            .heat = "H",
            .specimen = i % 4 < 2 ? "1" : "2",
            .figures = &figures[i]};
    }
    enum status status = sides_create(items, 8, SIDES_BY_ANY, FIGURE_COERCIVITY, &sides, err);
    if (status == STATUS_OK) {
        status = study_create(items, rigs, 8, STUDY_BY_RIG, FIGURE_COERCIVITY, &limit, &study, err);
    }
    if (status == STATUS_OK) {
        status = plan_compute(0.01, 0.05, 0.10, 0.10, false, &plan, err);
    }
    sides_clear(&sides);
    study_clear(&study);
    return status;
}

START_TEST(verdicts_are_whole_or_not_at_all)
{
    enum control_kind kinds[] = {CONTROL_RANGES, CONTROL_DEVIATIONS};
    ck_assert_uint_ge(check_every_allocation(run_verdict, NULL), 10);
    ck_assert_uint_ge(check_every_allocation(run_gauge, NULL), 6);
    ck_assert_uint_ge(check_every_allocation(run_studies, NULL), 17);
    ck_assert_uint_ge(check_every_allocation(run_control, &kinds[0]), 3);
    ck_assert_uint_ge(check_every_allocation(run_control, &kinds[1]), 1);
}
END_TEST

Suite *scarce_loop_suite(void)
{
    Suite *suite = suite_create("scarce_loop");
    TCase *tests = tcase_create("scarce_loop");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, a_loop_is_whole_or_not_at_all, 0, 2);
    tcase_add_loop_test(tests, a_look_is_whole_or_not_at_all, 0, 2);
    tcase_add_loop_test(tests, a_budget_is_whole_or_not_at_all, 0, 2);
    tcase_add_test(tests, verdicts_are_whole_or_not_at_all);
    suite_add_tcase(suite, tests);
    return suite;
}
