// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_QUALIFY_H
#define LODECARD_CLI_QUALIFY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "cli/ledger_choice.h"
#include "cli/options.h"
#include "cli/verb.h"
#include "qualify/qualification.h"
#include "qualify/sides.h"
#include "qualify/study.h"
#include "series/series.h"

/* What the command line of `qualify` asks for. */
struct qualify_command {
    const char *limits;
    struct setup_paths setup;
    struct ledger_choice choice; /* loops of a ledger */
    bool is_kept;                /* the verdict goes into the ledger */
    const char *day, *person;
    const char *json, *plot;
    const char *figure;
    const char *at;   /* "field_peak 30 kA/m" */
    const char *by;   /* what parts the two sides or the conditions */
    const char *kind; /* of a control chart */
    const char *margin;
    struct quantity confidence;
    struct quantity good, bad, producer, consumer; /* not present: the usual value */
    bool is_known;
};

/* The options that reports have as well: --limits, --by, --confidence. */
extern const struct option judging_options[];

/* The verbs; the first is what `qualify` does without one. How to add one: copy qualify_plan.c,
 * declare it here, list it in qualify.c. */
extern const struct verb qualify_lots;
extern const struct verb qualify_compare;
extern const struct verb qualify_chart;
extern const struct verb qualify_gauge;
extern const struct verb qualify_parts;
extern const struct verb qualify_plan;

/* Loops of specimens, from all kinds of input that `series` takes. */
struct qualify_input {
    struct series series;   /* only as what holds the loops, in the order they came */
    struct lot_item *loops; /* each loop that was read, in the order of series.loops */
    size_t loop_count;
    long long *ids;         /* of each loop: its number in the ledger; 0: not from one */
    char **texts;           /* of each loop: name and calibration day of its rig; NULL: not told */
    struct lot_item *items; /* what is judged: the loops; with --at one of each specimen */
    const char **rigs;      /* of each item: the rig's name; "" where not told */
    size_t count;
    struct figures *at; /* the figures at a stated peak; NULL: those of the loops */
};

/* Loops of the paths; and of the ledger where a condition is given, or no path. */
enum status qualify_input_read(const struct qualify_command *options, char **paths, int count,
    struct qualify_input *input, struct error *err) MUST_CHECK;
void qualify_input_clear(struct qualify_input *input); /* safe on a zeroed struct and twice */

/* Name and day of calibration from a rig's JSON, as provenance keeps it; NULL: not told. */
enum status qualify_copy_rig(const char *json, char *texts[2], struct error *err) MUST_CHECK;

/* What verbs that look at one figure begin with: the places of the results are checked, the figure
 * is found, the loops are read. */
enum status qualify_begin(const struct qualify_command *options, char **words, int count,
    enum figure *figure, struct qualify_input *input, struct error *err) MUST_CHECK;

/* Puts a verdict, its limits, and references to the loops into the ledger; a line about that into
 * `page`. `verdict`: the "lodecard-verdict/1" object. */
enum status qualify_keep(const struct qualify_command *options, const struct limits *limits,
    const struct qualify_input *input, const struct text *verdict, struct text *page,
    struct error *err) MUST_CHECK;

/* The figure that --figure names, or STATUS_USAGE with the nearest. */
enum status qualify_find_figure(
    const struct qualify_command *options, enum figure *figure, struct error *err) MUST_CHECK;

/* What --by names; STATUS_USAGE for other words. */
enum status qualify_find_sides_by(
    const struct qualify_command *options, enum sides_by *by, struct error *err) MUST_CHECK;
enum status qualify_find_study_by(
    const struct qualify_command *options, enum study_by *by, struct error *err) MUST_CHECK;

/* A quantity of the figure's unit, such as a margin; NULL: 0. */
enum status qualify_read_value(const char *option, const char *words, enum figure figure,
    double *value, struct error *err) MUST_CHECK;

/* "18.535 kA/m" or with u "18.535(48) kA/m". u 0 or NaN: none. */
const char *qualify_show(enum figure figure, double value, double u, char buffer[80]);

/* A result's JSON object, from its schema on. */
void qualify_begin_json(struct json *json, struct text *out, const char *schema);
void qualify_end_json(struct json *json);

/* Writes the JSON where it is asked for, and prints the page unless the JSON took its place. */
enum status qualify_show_result(const struct qualify_command *options, struct text *page,
    struct text *json, struct error *err) MUST_CHECK;

#endif
