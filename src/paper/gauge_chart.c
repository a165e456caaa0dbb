// SPDX-License-Identifier: GPL-3.0-or-later
/* The picture of a gauge study. */
#include <math.h>

#include "base/memory.h"
#include "paper/gauge_sheet.h"
#include "paper/markup.h"
#include "paper/quality_parts.h"

#define HEIGHT 230.0
#define LEGEND_MOST 12 /* rows */
#define SPREAD 0.5     /* of the conditions about their ring */

static double get_x(const struct study *study, size_t specimen, size_t condition)
{
    const double count = (double)study->condition_count;
    return (double)specimen + 1 + SPREAD * (((double)condition + 0.5) / count - 0.5);
}

/* Values less the mean of their ring: rings differ more than a good bench does. */
static bool copy_deviations(const struct study *study, double **list, double *most)
{
    double *made = memory_create(study->count, sizeof *made);
    *most = 0;
    for (size_t i = 0; made != NULL && i < study->count; i++) {
        double count = 0, mean = 0;
        for (size_t k = 0; k < study->count; k++) {
            if (study->values[k].specimen == study->values[i].specimen) {
                count += 1;
                mean += (study->values[k].value - mean) / count;
            }
        }
        made[i] = study->values[i].value - mean;
        *most = fmax(*most, fabs(made[i]));
    }
    *list = made;
    return made != NULL;
}

static void add_means(
    struct quality_parts *parts, const struct study *study, const double *list, double factor)
{
    const double half = 0.4 * SPREAD / (double)study->condition_count;
    for (size_t s = 0; s < study->specimen_count; s++) {
        for (size_t c = 0; c < study->condition_count; c++) {
            double count = 0, mean = 0;
            for (size_t i = 0; i < study->count; i++) {
                if (study->values[i].specimen == s && study->values[i].condition == c) {
                    count += 1;
                    mean += (list[i] / factor - mean) / count;
                }
            }
            const double x = get_x(study, s, c);
            if (count > 0) {
                quality_add_stroke(parts, 0, (const double[]){x - half, mean, x + half, mean},
                    quality_get_grey(CHART_SOLID, 1.6));
            }
        }
    }
}

/* A row a condition. */
static void set_legend(struct quality_chart *made, const struct study *study)
{
    static const char *const headings[STUDY_BY_COUNT][1] = {
        [STUDY_BY_RIG] = {"rig"}, [STUDY_BY_HEAT] = {"heat"}, [STUDY_BY_SUPPLIER] = {"supplier"}};
    struct quality_parts *parts = made->parts;
    const size_t rows = study->condition_count < LEGEND_MOST ? study->condition_count : LEGEND_MOST;
    parts->cells = memory_create(rows, sizeof *parts->cells);
    parts->styles = memory_create(rows, sizeof *parts->styles);
    if (parts->cells == NULL || parts->styles == NULL) {
        parts->failed = true;
        return;
    }
    for (size_t c = 0; c < rows; c++) {
        struct text *words = plot_texts_add(&parts->texts);
        markup_add(words, study->conditions[c][0] != '\0' ? study->conditions[c] : "not stated");
        parts->failed = parts->failed || words->failed;
        parts->cells[c] = plot_text_get(words);
        parts->styles[c] = chart_style_get(c);
        parts->styles[c].dash = CHART_SOLID;
    }
    made->chart.legend = (struct chart_legend){.columns = 1,
        .rows = rows,
        .headings = headings[study->by],
        .cells = parts->cells,
        .styles = parts->styles};
}

static void add_values(
    struct quality_parts *parts, const struct study *study, const double *list, double most)
{
    struct plot_scale scale;
    struct chart_panel *panel = &parts->panels[0];
    struct text *label = plot_texts_add(&parts->texts);
    text_add_format(label, "%s, less the ring's mean",
        quality_add_figure_label(parts, study->figure, most, &scale));
    panel->y.label = plot_text_get(label);
    panel->y.has_zero = true;
    panel->x = (struct chart_axis){
        .label = "ring", .least = 0.4, .most = (double)study->specimen_count + 0.6};
    quality_set_names(parts, &panel->x, study->specimens, study->specimen_count);
    add_means(parts, study, list, scale.factor);
    for (size_t i = 0; i < study->count; i++) {
        const struct gauge_value *value = &study->values[i];
        quality_add_mark(parts, 0, get_x(study, value->specimen, value->condition),
            list[i] / scale.factor, chart_style_get(value->condition));
    }
}

enum status gauge_chart_create(
    const struct study *study, struct quality_chart *made, struct error *err)
{
    double *list = NULL, most = 0;
    enum status status = quality_begin(made, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (copy_deviations(study, &list, &most)) {
        add_values(made->parts, study, list, most);
        set_legend(made, study);
    } else {
        made->parts->failed = true;
    }
    memory_destroy(list);
    return quality_finish(made, 1, HEIGHT, err);
}
