// SPDX-License-Identifier: GPL-3.0-or-later
/* Runs the suites: all of them, or those whose names are given; --list prints the names. Check
 * forks for every test, so that a crash or a leak is pinned on the test that made it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"

static const struct {
    const char *name;
    Suite *(*create)(void);
} suite_list[] = {
    {"error", error_suite},
    {"memory", memory_suite},
    {"scarce_fit", scarce_fit_suite},
    {"scarce_loop", scarce_loop_suite},
    {"scarce_ledger", scarce_ledger_suite},
    {"text", text_suite},
    {"file", file_suite},
    {"json", json_suite},
    {"tree", tree_suite},
    {"card", card_suite},
    {"script", script_suite},
    {"unit", unit_suite},
    {"quantity", quantity_suite},
    {"yaml", yaml_suite},
    {"schema", schema_suite},
    {"geometry", geometry_suite},
    {"setup", setup_suite},
    {"sampling", sampling_suite},
    {"table", table_suite},
    {"table_name", table_name_suite},
    {"table_refusal", table_refusal_suite},
    {"table_stream", table_stream_suite},
    {"portable", portable_suite},
    {"random", random_suite},
    {"statistics", statistics_suite},
    {"variance", variance_suite},
    {"tolerance", tolerance_suite},
    {"normality", normality_suite},
    {"limits", limits_suite},
    {"lines", lines_suite},
    {"decision", decision_suite},
    {"lot", lot_suite},
    {"held_out", held_out_suite},
    {"control", control_suite},
    {"comparison", comparison_suite},
    {"study", study_suite},
    {"qualification", qualification_suite},
    {"verdict_json", verdict_json_suite},
    {"ode", ode_suite},
    {"root", root_suite},
    {"distribution", distribution_suite},
    {"quadrature", quadrature_suite},
    {"quality_plot", quality_plot_suite},
    {"fft", fft_suite},
    {"curve", curve_suite},
    {"fourier", fourier_suite},
    {"padded", padded_suite},
    {"nufft", nufft_suite},
    {"normal", normal_suite},
    {"direct", direct_suite},
    {"rough", rough_suite},
    {"periodic", periodic_suite},
    {"gaps", gaps_suite},
    {"wander", wander_suite},
    {"residual", residual_suite},
    {"record", record_suite},
    {"stray", stray_suite},
    {"stray_edges", stray_edges_suite},
    {"strip_plot", strip_plot_suite},
    {"bound", bound_suite},
    {"figures", figures_suite},
    {"expansion", expansion_suite},
    {"convert", convert_suite},
    {"trace", trace_suite},
    {"survey", survey_suite},
    {"natural", natural_suite},
    {"notes", notes_suite},
    {"loop", loop_suite},
    {"fold", fold_suite},
    {"block", block_suite},
    {"rounding", rounding_suite},
    {"series", series_suite},
    {"separation", separation_suite},
    {"sides", sides_suite},
    {"model", model_suite},
    {"history", history_suite},
    {"torque", torque_suite},
    {"steel", steel_suite},
    {"steel_loop", steel_loop_suite},
    {"motor", motor_suite},
    {"sweep", sweep_suite},
    {"motor_json", motor_json_suite},
    {"motor_notes", motor_notes_suite},
    {"scarce_motor", scarce_motor_suite},
    {"fit", fit_suite},
    {"display", display_suite},
    {"options", options_suite},
    {"wrap", wrap_suite},
    {"document", document_suite},
    {"loop_sheet", loop_sheet_suite},
    {"lot_sheet", lot_sheet_suite},
    {"comparison_sheet", comparison_sheet_suite},
    {"gauge_sheet", gauge_sheet_suite},
    {"series_sheet", series_sheet_suite},
    {"chart", chart_suite},
    {"loop_text", loop_text_suite},
    {"ring", ring_suite},
    {"recorder", recorder_suite},
    {"report_data", report_data_suite},
    {"report_number", report_number_suite},
    {"virtual", virtual_suite},
    {"source", source_suite},
    {"ahead", ahead_suite},
    {"audio", audio_suite},
    {"container", container_suite},
    {"capture", capture_suite},
    {"writer", writer_suite},
    {"edit", edit_suite},
    {"calibrate", calibrate_suite},
    {"shunt", shunt_suite},
    {"least_squares", least_squares_suite},
    {"local_cubic", local_cubic_suite},
    {"look", look_suite},
    {"look_level", look_level_suite},
    {"look_notes", look_notes_suite},
    {"look_pair", look_pair_suite},
    {"look_json", look_json_suite},
    {"propagate", propagate_suite},
    {"draw", draw_suite},
    {"scatter", scatter_suite},
    {"trials", trials_suite},
    {"loop_budget", loop_budget_suite},
    {"budget_json", budget_json_suite},
    {"ledger", ledger_suite},
    {"ledger_care", ledger_care_suite},
    {"ledger_damage", ledger_damage_suite},
};
#define SUITE_COUNT (sizeof suite_list / sizeof suite_list[0])

static bool is_known(const char *name)
{
    for (size_t i = 0; i < SUITE_COUNT; i++) {
        if (strcmp(suite_list[i].name, name) == 0) {
            return true;
        }
    }
    return false;
}

static bool is_wanted(const char *name, int count, char **names)
{
    for (int i = 0; i < count; i++) {
        if (strcmp(names[i], name) == 0) {
            return true;
        }
    }
    return count == 0;
}

static int list(void)
{
    for (size_t i = 0; i < SUITE_COUNT; i++) {
        puts(suite_list[i].name);
    }
    return EXIT_SUCCESS;
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "--list") == 0) {
        return list();
    }
    SRunner *runner = srunner_create(NULL);
    for (int i = 1; i < argc; i++) {
        if (!is_known(argv[i])) {
            fprintf(stderr, "tests: there is no suite '%s'\n", argv[i]);
            return EXIT_FAILURE;
        }
    }
    for (size_t i = 0; i < SUITE_COUNT; i++) {
        if (is_wanted(suite_list[i].name, argc - 1, argv + 1)) {
            srunner_add_suite(runner, suite_list[i].create());
        }
    }
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    int run = srunner_ntests_run(runner);
    srunner_free(runner);
    printf("%d passed, %d failed\n", run - failed, failed);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
