// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_QUALITY_PLOT_H
#define LODECARD_PAPER_QUALITY_PLOT_H

#include "base/error.h"
#include "paper/chart.h"
#include "qualify/comparison.h"
#include "qualify/control.h"
#include "qualify/plan.h"
#include "qualify/qualification.h"
#include "quantity/figure.h"

/* Pictures of decisions: as charts that a document takes, or written to .svg, .png, .pdf. All can
 * be read in black and white. */

/* A chart with what it borrows. */
struct quality_chart {
    struct chart chart;
    struct quality_parts *parts;
};
void quality_chart_clear(struct quality_chart *made); /* safe on a zeroed struct and twice */

/* One limited figure, `index` into qualification->figures: the rings' values with their expanded
 * uncertainty (k = 2), limits and acceptance limits, a marker a heat. */
enum status quality_chart_create_lots(const struct qualification *qualification, size_t index,
    struct quality_chart *made, struct error *err) MUST_CHECK;

/* The rings of one heat over the scores of a normal population, a panel a limited figure: on a line
 * when they are normal. STATUS_INPUT with fewer than two rings. */
enum status quality_chart_create_normal(const struct qualification *qualification, size_t heat,
    struct quality_chart *made, struct error *err) MUST_CHECK;

/* Heats in their order, with limits; points that a test finds are squares. Below: their scatter. */
enum status quality_chart_create_control(enum figure figure, const struct control *control,
    const char *const *heats, struct quality_chart *made, struct error *err) MUST_CHECK;

/* The operating characteristic; the two shares that the plan was made for are marked. */
enum status quality_chart_create_plan(const struct plan *plan, double good, double bad,
    struct quality_chart *made, struct error *err) MUST_CHECK;

/* The difference with its interval, between the margins. */
enum status quality_chart_create_comparison(enum figure figure, const struct comparison *comparison,
    const char *const names[2], struct quality_chart *made, struct error *err) MUST_CHECK;

/* The same as files; lots: all limited figures, one above the other. */
enum status quality_plot_lots(
    const struct qualification *qualification, const char *path, struct error *err) MUST_CHECK;
enum status quality_plot_control(enum figure figure, const struct control *control,
    const char *const *heats, const char *path, struct error *err) MUST_CHECK;
enum status quality_plot_plan(const struct plan *plan, double good, double bad, const char *path,
    struct error *err) MUST_CHECK;
enum status quality_plot_comparison(enum figure figure, const struct comparison *comparison,
    const char *const names[2], const char *path, struct error *err) MUST_CHECK;

#endif
