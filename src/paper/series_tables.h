// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_SERIES_TABLES_H
#define LODECARD_PAPER_SERIES_TABLES_H

#include "paper/series_sheet.h"

/* The tables of a series sheet. Each adds nothing where the series has nothing of it, and tells
 * whether it has. */

/* The tips of the loops at the frequency of the normal curve, with expanded uncertainties. */
bool series_tables_add_curve(struct document *document, const struct series *series);

/* All loops, a row each. */
void series_tables_add_loops(struct document *document, const struct series *series);

/* W(f) = Wh + kc f + kx sqrt f at each peak: the terms, and measured against fitted. */
bool series_tables_add_separation(struct document *document, const struct series *series);
void series_tables_add_residuals(struct document *document, const struct series *series);

/* Energy = c (B / 1 T)^n. */
bool series_tables_add_laws(struct document *document, const struct series *series);

/* Figures interpolated to a stated peak. */
bool series_tables_add_at(struct document *document, const struct series *series);

/* Parameters of a model, and model less measured loop by loop. */
void series_tables_add_model(struct document *document, const struct model_fit *fit);

#endif
