// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_SUITES_H
#define LODECARD_TESTS_SUITES_H

#include <check.h>
#include <stdbool.h>

/* Check's old name for a failed assertion; ours is base/error.h's. */
#undef fail

/* One suite a file, tests/test_<noun>.c; tests/main.c lists them. */
Suite *error_suite(void);
Suite *memory_suite(void);
Suite *text_suite(void);
Suite *file_suite(void);
Suite *json_suite(void);
Suite *tree_suite(void);
Suite *card_suite(void);
Suite *script_suite(void);
Suite *unit_suite(void);
Suite *quantity_suite(void);
Suite *yaml_suite(void);
Suite *schema_suite(void);
Suite *geometry_suite(void);
Suite *setup_suite(void);
Suite *sampling_suite(void);
Suite *table_suite(void);
Suite *table_name_suite(void);
Suite *table_refusal_suite(void);
Suite *table_stream_suite(void);
Suite *portable_suite(void);
Suite *random_suite(void);
Suite *ode_suite(void);
Suite *fft_suite(void);
Suite *curve_suite(void);
Suite *fourier_suite(void);
Suite *nufft_suite(void);
Suite *normal_suite(void);
Suite *rough_suite(void);
Suite *periodic_suite(void);
Suite *gaps_suite(void);
Suite *wander_suite(void);
Suite *bound_suite(void);
Suite *figures_suite(void);
Suite *convert_suite(void);
Suite *trace_suite(void);
Suite *survey_suite(void);
Suite *notes_suite(void);
Suite *loop_suite(void);
Suite *fold_suite(void);
Suite *block_suite(void);
Suite *rounding_suite(void);
Suite *series_suite(void);
Suite *model_suite(void);
Suite *history_suite(void);
Suite *display_suite(void);
Suite *options_suite(void);
Suite *wrap_suite(void);
Suite *chart_suite(void);
Suite *loop_text_suite(void);
Suite *ring_suite(void);
Suite *recorder_suite(void);
Suite *virtual_suite(void);
Suite *source_suite(void);
Suite *audio_suite(void);
Suite *container_suite(void);
Suite *capture_suite(void);
Suite *writer_suite(void);
Suite *edit_suite(void);
Suite *calibrate_suite(void);
Suite *least_squares_suite(void);
Suite *local_cubic_suite(void);
Suite *look_suite(void);
Suite *propagate_suite(void);
Suite *trials_suite(void);
Suite *loop_budget_suite(void);
Suite *statistics_suite(void);
Suite *variance_suite(void);
Suite *tolerance_suite(void);
Suite *normality_suite(void);
Suite *limits_suite(void);
Suite *decision_suite(void);
Suite *lot_suite(void);
Suite *control_suite(void);
Suite *comparison_suite(void);
Suite *qualification_suite(void);

#endif
