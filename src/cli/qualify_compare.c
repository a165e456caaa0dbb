// SPDX-License-Identifier: GPL-3.0-or-later
/* Two suppliers, or two heats, side by side: specimens' means, one figure or those of the limits.
 */
#include "qualify/comparison.h"

#include <math.h>
#include <string.h>

#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "cli/wrap.h"
#include "num/statistics.h"
#include "paper/quality_plot.h"
#include "qualify/sides.h"

static const char *const options_of_compare[] = {"figure", "at", "by", "confidence", "margin",
    "rig", "specimen", "json", "plot", "ledger", "where", "supplier", "alloy", "heat", "tag", NULL};

static void add_page(struct text *out, const struct sides *sides,
    const struct comparison *comparison, double confidence)
{
    const enum figure figure = sides->figure;
    struct columns table = {.columns = 4, .is_right = {[1] = true, [2] = true, [3] = true}};
    static const char *const heads[] = {"", "rings", "mean", "deviation"};
    char a[80], b[80];
    text_add_format(out, "%s\n", figure_table[figure].name);
    for (int i = 0; i < 4; i++) {
        columns_add(&table, "%s", heads[i]);
    }
    for (int side = 0; side < 2; side++) {
        const struct summary summary = summary_compute(sides->values[side], sides->counts[side]);
        columns_add(&table, "%s%s", sides->is_by_heat ? "heat " : "", sides->names[side]);
        columns_add(&table, "%zu", summary.count);
        columns_add_text(&table, qualify_show(figure, summary.mean, 0, a));
        columns_add_text(&table, qualify_show(figure, summary.deviation, 0, b));
    }
    columns_finish(&table, 2, out);
    text_add_format(out, "difference, second less first: %s\n",
        qualify_show(figure, comparison->difference, comparison->u, a));
    text_add_format(out, "%g %% interval: %s to %s\n", 100 * confidence,
        qualify_show(figure, comparison->lower, 0, a),
        qualify_show(figure, comparison->upper, 0, b));
    text_add_format(out, "a difference this large without a cause: %.2g %% (Welch)\n",
        100 * comparison->significance);
    if (isfinite(comparison->significance_spread)) {
        text_add_format(out, "deviations: the second is %.2g times the first (F test, %.2g %%)\n",
            comparison->spread_ratio, 100 * comparison->significance_spread);
    }
    if (comparison->margin > 0) {
        text_add_format(out, "margin %s: %s (two one-sided tests, %.2g %%)\n",
            qualify_show(figure, comparison->margin, 0, a),
            equivalence_get_name(comparison->verdict), 100 * comparison->significance_equivalence);
    } else {
        text_add_format(out, "%s\n", equivalence_get_name(comparison->verdict));
    }
}

static void add_json(struct text *out, const struct sides *sides,
    const struct comparison *comparison, double confidence)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-comparison/1");
    sides_write_json(&json, sides, comparison, confidence);
    qualify_end_json(&json);
}

enum status qualify_find_sides_by(
    const struct qualify_command *options, enum sides_by *by, struct error *err)
{
    *by = SIDES_BY_ANY;
    if (options->by != NULL && strcmp(options->by, "supplier") == 0) {
        *by = SIDES_BY_SUPPLIER;
    } else if (options->by != NULL && strcmp(options->by, "heat") == 0) {
        *by = SIDES_BY_HEAT;
    } else if (options->by != NULL) {
        return fail(err, STATUS_USAGE, "--by supplier or --by heat",
            "option '--by' does not know '%.80s'", options->by);
    }
    return STATUS_OK;
}

static enum status compare(const struct qualify_command *options, const struct qualify_input *input,
    enum figure figure, struct sides *sides, struct error *err)
{
    const double confidence = options->confidence.is_present ? options->confidence.value : 0.95;
    struct comparison comparison;
    struct text page = {0}, json = {0};
    double margin = 0;
    enum sides_by by;
    enum status status = qualify_find_sides_by(options, &by, err);
    if (status == STATUS_OK) {
        status = qualify_read_value("--margin", options->margin, figure, &margin, err);
    }
    if (status == STATUS_OK) {
        status = sides_create(input->items, input->count, by, figure, sides, err);
    }
    if (status == STATUS_OK) {
        status = comparison_compute((struct lot_sample){sides->values[0], sides->counts[0]},
            (struct lot_sample){sides->values[1], sides->counts[1]}, 0, margin, confidence,
            &comparison, err);
    }
    if (status == STATUS_OK && options->plot != NULL) {
        status = quality_plot_comparison(figure, &comparison, sides->names, options->plot, err);
    }
    if (status == STATUS_OK) {
        add_page(&page, sides, &comparison, confidence);
        add_json(&json, sides, &comparison, confidence);
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    return status;
}

static int run_compare(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    struct qualify_input input = {0};
    struct sides sides = {0};
    enum figure figure;
    enum status status = qualify_begin(options, words, count, &figure, &input, err);
    if (status == STATUS_OK) {
        status = compare(options, &input, figure, &sides, err);
    }
    sides_clear(&sides);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_compare = {"compare", options_of_compare, run_compare};
