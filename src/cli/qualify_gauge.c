// SPDX-License-Identifier: GPL-3.0-or-later
/* A gauge study of the bench: conditions are rigs, by their names, or what --by says. */
#include "qualify/study.h"

#include <math.h>
#include <string.h>

#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"

static const char *const options_of_gauge[] = {"figure", "limits", "by", "rig", "specimen", "json",
    "ledger", "where", "supplier", "alloy", "heat", "tag", NULL};

static void add_page(struct text *out, enum figure figure, const struct gauge *gauge)
{
    struct columns table = {.columns = 2, .is_right = {[1] = true}};
    const struct {
        const char *name;
        double deviation;
    } rows[] = {{"repeatability", gauge->repeatability},
        {"reproducibility", gauge->reproducibility},
        {"  of it: conditions differ from ring to ring", gauge->interaction_deviation},
        {"the bench, both together", gauge->bench}, {"between rings", gauge->specimen}};
    char a[80];
    text_add_format(out, "%s: %zu rings, %zu condition%s, %zu times each\n",
        figure_table[figure].name, gauge->specimens, gauge->conditions,
        gauge->conditions == 1 ? "" : "s", gauge->repeats);
    columns_add(&table, "standard deviation of");
    columns_add(&table, "%s", "");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        columns_add_text(&table, rows[i].name);
        columns_add_text(&table, qualify_show(figure, rows[i].deviation, 0, a));
    }
    columns_finish(&table, 2, out);
    text_add_format(out, "the bench takes %.3g %% of all scatter; it tells %.1f classes of rings\n",
        100 * gauge->share_of_total, gauge->categories);
    if (isfinite(gauge->share_of_tolerance)) {
        text_add_format(out, "six of its deviations take %.3g %% of the distance of the limits\n",
            100 * gauge->share_of_tolerance);
    }
    if (gauge->conditions == 1) {
        text_add(out, "one condition only: nothing is told of reproducibility\n");
    }
}

static void add_json(struct text *out, const struct study *study)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-gauge/1");
    study_write_json(&json, study);
    qualify_end_json(&json);
}

enum status qualify_find_study_by(
    const struct qualify_command *options, enum study_by *by, struct error *err)
{
    *by = STUDY_BY_RIG;
    for (int i = 0; i < STUDY_BY_COUNT && options->by != NULL; i++) {
        if (strcmp(options->by, study_by_get_name((enum study_by)i)) == 0) {
            *by = (enum study_by)i;
            return STATUS_OK;
        }
    }
    return options->by == NULL ? STATUS_OK
                               : fail(err, STATUS_USAGE, "rig, heat or supplier",
                                     "option '--by' does not know '%.80s'", options->by);
}

static int run_gauge(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    struct qualify_input input = {0};
    struct limits limits = {0};
    struct study study = {0};
    enum study_by by;
    struct text page = {0}, json = {0};
    enum figure figure;
    enum status status = output_check(&options->json, 1, words, (size_t)count, err);
    if (status == STATUS_OK) {
        status = qualify_find_study_by(options, &by, err);
    }
    if (status == STATUS_OK) {
        status = qualify_find_figure(options, &figure, err);
    }
    if (status == STATUS_OK && options->limits != NULL) {
        status = limits_read(options->limits, &limits, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(options, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = study_create(
            input.items, input.rigs, input.count, by, figure, &limits.figures[figure], &study, err);
    }
    if (status == STATUS_OK) {
        add_page(&page, figure, &study.gauge);
        add_json(&json, &study);
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    study_clear(&study);
    limits_clear(&limits);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_gauge = {"gauge", options_of_gauge, run_gauge};
