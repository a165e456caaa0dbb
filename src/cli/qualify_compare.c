// SPDX-License-Identifier: GPL-3.0-or-later
/* Two suppliers, or two heats, side by side: specimens' means, one figure or those of the limits.
 */
#include "qualify/comparison.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "cli/columns.h"
#include "cli/output.h"
#include "cli/qualify.h"
#include "cli/wrap.h"
#include "num/statistics.h"
#include "paper/quality_plot.h"

static const char *const options_of_compare[] = {"figure", "at", "by", "confidence", "margin",
    "rig", "specimen", "json", "plot", "ledger", "where", "supplier", "alloy", "heat", "tag", NULL};

/* The sides: what parts them, their names in the order in which they come, their specimens' means.
 */
struct sides {
    bool is_by_heat;
    const char *names[2];
    double *values[2];
    const char **specimens[2];
    size_t counts[2];
};

static const char *get_name(const struct lot_item *item, bool is_by_heat)
{
    return is_by_heat ? item->heat : item->supplier;
}

/* How many different names there are; the first two of them. */
static size_t count_names(const struct qualify_input *input, bool is_by_heat, const char *names[2])
{
    size_t count = 0;
    for (size_t i = 0; i < input->count; i++) {
        const char *name = get_name(&input->items[i], is_by_heat);
        bool is_new = true;
        for (size_t k = 0; k < i && is_new; k++) {
            is_new = strcmp(get_name(&input->items[k], is_by_heat), name) != 0;
        }
        if (is_new && count < 2) {
            names[count] = name;
        }
        count += is_new;
    }
    return count;
}

static enum status find_sides(const struct qualify_command *options,
    const struct qualify_input *input, struct sides *sides, struct error *err)
{
    const char *suppliers[2], *heats[2];
    const size_t supplier_count = count_names(input, false, suppliers);
    const size_t heat_count = count_names(input, true, heats);
    const bool is_free = options->by == NULL;
    if (!is_free && strcmp(options->by, "supplier") != 0 && strcmp(options->by, "heat") != 0) {
        return fail(err, STATUS_USAGE, "--by supplier or --by heat",
            "option '--by' does not know '%.80s'", options->by);
    }
    sides->is_by_heat = is_free ? supplier_count != 2 : strcmp(options->by, "heat") == 0;
    const size_t found = sides->is_by_heat ? heat_count : supplier_count;
    memcpy(sides->names, sides->is_by_heat ? heats : suppliers, sizeof sides->names);
    if (found != 2) {
        return fail(err, STATUS_INPUT, "give the loops of two suppliers, or of two heats",
            "a comparison takes two sides; there are %zu suppliers and %zu heats", supplier_count,
            heat_count);
    }
    return STATUS_OK;
}

/* Adds the value to its specimen's running mean; `loops` counts for each. */
static void add_value(
    struct sides *sides, int side, const char *specimen, double value, double *loops)
{
    size_t at = 0;
    while (at < sides->counts[side] && strcmp(sides->specimens[side][at], specimen) != 0) {
        at++;
    }
    if (at == sides->counts[side]) {
        sides->specimens[side][sides->counts[side]++] = specimen;
        sides->values[side][at] = 0;
        loops[at] = 0;
    }
    loops[at] += 1;
    sides->values[side][at] += (value - sides->values[side][at]) / loops[at];
}

static enum status fill_sides(
    const struct qualify_input *input, enum figure figure, struct sides *sides, struct error *err)
{
    double *loops = memory_create(input->count, sizeof *loops);
    bool is_made = loops != NULL;
    for (int side = 0; side < 2; side++) {
        sides->values[side] = memory_create(input->count, sizeof(double));
        sides->specimens[side] = memory_create(input->count, sizeof(char *));
        is_made = is_made && sides->values[side] != NULL && sides->specimens[side] != NULL;
        for (size_t i = 0; is_made && i < input->count; i++) {
            const struct lot_item *item = &input->items[i];
            const struct figure_value *value = &item->figures->list[figure];
            if (value->is_present &&
                strcmp(get_name(item, sides->is_by_heat), sides->names[side]) == 0) {
                add_value(sides, side, item->specimen, value->value, loops);
            }
        }
    }
    memory_destroy(loops);
    return is_made ? STATUS_OK : fail_memory(err);
}

static void sides_clear(struct sides *sides)
{
    for (int side = 0; side < 2; side++) {
        memory_destroy(sides->values[side]);
        memory_destroy(sides->specimens[side]);
    }
}

static void add_page(struct text *out, enum figure figure, const struct sides *sides,
    const struct comparison *comparison, double confidence)
{
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
        columns_add(&table, "%s", qualify_show(figure, summary.mean, 0, a));
        columns_add(&table, "%s", qualify_show(figure, summary.deviation, 0, b));
    }
    columns_finish(&table, 2, out);
    text_add_format(out, "difference, second less first: %s\n",
        qualify_show(figure, comparison->difference, comparison->u, a));
    text_add_format(out, "%g %% interval: %s to %s\n", 100 * confidence,
        qualify_show(figure, comparison->lower, 0, a),
        qualify_show(figure, comparison->upper, 0, b));
    text_add_format(out, "a difference this large without a cause: %.2g %% (Welch)\n",
        100 * comparison->significance);
    if (comparison->margin > 0) {
        text_add_format(out, "margin %s: %s (two one-sided tests, %.2g %%)\n",
            qualify_show(figure, comparison->margin, 0, a),
            equivalence_get_name(comparison->verdict), 100 * comparison->significance_equivalence);
    } else {
        text_add_format(out, "%s\n", equivalence_get_name(comparison->verdict));
    }
}

static void add_json(struct text *out, enum figure figure, const struct sides *sides,
    const struct comparison *comparison, double confidence)
{
    struct json json;
    qualify_begin_json(&json, out, "lodecard-comparison/1");
    json_add_text(&json, "figure", figure_table[figure].key);
    json_begin_array(&json, "sides");
    for (int side = 0; side < 2; side++) {
        const struct summary summary = summary_compute(sides->values[side], sides->counts[side]);
        json_begin_object(&json, NULL);
        json_add_text(&json, sides->is_by_heat ? "heat" : "supplier", sides->names[side]);
        json_add_integer(&json, "specimens", (long long)summary.count);
        json_add_number(&json, "mean", summary.mean);
        json_add_number(&json, "deviation", summary.deviation);
        json_end_object(&json);
    }
    json_end_array(&json);
    json_add_number(&json, "difference", comparison->difference);
    json_add_number(&json, "u_difference", comparison->u);
    json_add_number(&json, "degrees_of_freedom", comparison->freedom);
    json_add_number(&json, "confidence", confidence);
    json_add_number(&json, "lower", comparison->lower);
    json_add_number(&json, "upper", comparison->upper);
    json_add_number(&json, "significance", comparison->significance);
    if (comparison->margin > 0) {
        json_add_number(&json, "margin", comparison->margin);
        json_add_number(&json, "significance_equivalence", comparison->significance_equivalence);
    }
    json_add_text(&json, "verdict", equivalence_get_name(comparison->verdict));
    qualify_end_json(&json);
}

static enum status compare(const struct qualify_command *options, const struct qualify_input *input,
    enum figure figure, struct sides *sides, struct error *err)
{
    const double confidence = options->confidence.is_present ? options->confidence.value : 0.95;
    struct comparison comparison;
    struct text page = {0}, json = {0};
    double margin = 0;
    enum status status = find_sides(options, input, sides, err);
    if (status == STATUS_OK) {
        status = qualify_read_value("--margin", options->margin, figure, &margin, err);
    }
    if (status == STATUS_OK) {
        status = fill_sides(input, figure, sides, err);
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
        add_page(&page, figure, sides, &comparison, confidence);
        add_json(&json, figure, sides, &comparison, confidence);
        status = qualify_show_result(options, &page, &json, err);
    }
    text_clear(&page);
    text_clear(&json);
    return status;
}

static int run_compare(const void *data, int count, char **words, struct error *err)
{
    const struct qualify_command *options = data;
    const char *const places[] = {options->json, options->plot};
    struct qualify_input input = {0};
    struct sides sides = {0};
    enum figure figure;
    enum status status = output_check(places, 2, words, (size_t)count, err);
    if (status == STATUS_OK) {
        status = qualify_find_figure(options, &figure, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(options, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = compare(options, &input, figure, &sides, err);
    }
    sides_clear(&sides);
    qualify_input_clear(&input);
    return (int)status;
}

const struct verb qualify_compare = {"compare", options_of_compare, run_compare};
