// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_MODEL_PLOT_H
#define LODECARD_PAPER_MODEL_PLOT_H

#include "base/error.h"
#include "model/fit.h"
#include "paper/chart.h"

/* Picture of a fitted model over the loops it was fitted to: measured loops solid, the model's
 * loops of the same peak fields dashed. Of many loops every n-th is drawn, the largest among them.
 */
struct model_plot;

/* The picture as a chart; nothing is borrowed. */
enum status model_plot_create(const struct model_fit *fit, const struct fit_loop *loops,
    size_t count, struct model_plot **plot, struct error *err) MUST_CHECK;
const struct chart *model_plot_get_chart(const struct model_plot *plot);
void model_plot_destroy(struct model_plot *plot); /* NULL is allowed */

/* Writes to `path` (.svg, .png, .pdf). */
enum status model_plot_write(const struct model_fit *fit, const struct fit_loop *loops,
    size_t count, const char *path, struct error *err) MUST_CHECK;

#endif
