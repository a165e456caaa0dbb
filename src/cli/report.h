// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_REPORT_H
#define LODECARD_CLI_REPORT_H

#include "base/error.h"
#include "cli/options.h"
#include "cli/qualify.h"
#include "cli/series_wants.h"
#include "cli/verb.h"
#include "paper/report_parts.h"
#include "paper/report_sheet.h"

/* What the command line of `report` asks for. */
struct report_command {
    struct option_texts outputs;
    const char *page; /* NULL: A4 */
    const char *title, *number, *date, *laboratory, *order, *prepared_by;
    struct option_texts remarks;
    /* what `qualify` asks as well: limits, at, by, confidence, setup, choice, json */
    struct qualify_command asked;
    /* of a series: its rig, specimen, at and threads are those of all reports */
    struct series_wants wants;
    /* how captures are read */
    struct loop_options reading;
    size_t threads;
    struct option_texts figures, margins; /* the n-th margin is that of the n-th figure */
};

/* The options that all kinds of reports have: the head of each verb's list. */
#define REPORT_OPTIONS                                                                             \
    "output", "page", "title", "number", "date", "laboratory", "order", "prepared-by", "remark"

/* The options of kinds that read loops. */
#define REPORT_READING "rig", "specimen", "ledger", "where", "supplier", "alloy", "heat", "tag"

/* The kinds. How to add one: copy report_lot.c, declare it here, list it in report.c. */
extern const struct verb report_compare;
extern const struct verb report_gauge;
extern const struct verb report_loop;
extern const struct verb report_lot;
extern const struct verb report_series;
extern const struct verb report_verify;

/* Early words: at least one --output, each of a known ending in a place that can be written, and
 * not one of the inputs; page and date that can be read. */
enum status report_check(const struct report_command *options, char *const *inputs, int count,
    struct error *err) MUST_CHECK;

/* The figures that --figure names, in their order; without one those of the limits (NULL: none).
 * STATUS_USAGE: there is none, or a name is not known. */
struct report_figures {
    enum figure list[FIGURE_COUNT];
    size_t count;
};
enum status report_find_figures(const struct report_command *options, const struct limits *limits,
    struct report_figures *figures, struct error *err) MUST_CHECK;

/* The alloy or the condition that all loops of a series share; "" where they do not. `offset`: of
 * the member in struct series_steel. */
const char *report_find_common(const struct series *series, size_t offset);

/* What kinds that look at figures of rings begin with: the limits, if there are some, the figures,
 * early words, the loops. */
struct report_case {
    struct limits limits;
    struct report_figures figures;
    struct qualify_input input;
};
enum status report_case_read(const struct report_command *options, char **words, int count,
    struct report_case *made, struct error *err) MUST_CHECK;
void report_case_clear(struct report_case *made); /* safe on a zeroed struct and twice */

/* A failure of one of several figures names it; returns `status`. */
enum status report_name_failure(enum figure figure, enum status status, struct error *err);

/* The words for the document; borrowed from the options. */
struct report_words report_get_words(const struct report_command *options);

/* Puts the data into the document and writes it to all outputs, each whole or not at all. */
enum status report_write(const struct report_command *options, struct document *document,
    const struct text *data, struct error *err) MUST_CHECK;

/* The loops of a series, for the data and the list of recordings. */
struct report_sources {
    struct report_input *inputs;
    size_t count;
    char **texts; /* what they point into: names and days of the rigs */
};
enum status report_sources_create(
    const struct series *series, struct report_sources *sources, struct error *err) MUST_CHECK;
void report_sources_clear(struct report_sources *sources); /* safe on a zeroed struct and twice */

/* What kinds that read rings end with: the pages, and the data behind them. */
struct report_result {
    struct report_sources sources;
    struct report_sheet sheet;
    struct text data;
};
/* Writes it when `status` is good, and clears it in any case. */
enum status report_finish_result(const struct report_command *options, struct report_result *result,
    enum status status, struct error *err) MUST_CHECK;

#endif
