// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_EXPLAIN_PART_H
#define LODECARD_CLI_LOOP_EXPLAIN_PART_H

/* The page of loop_explain.h from inside: its parts, and the words that they share. */

#include <stdbool.h>

#include "base/text.h"
#include "cli/loop_job.h"
#include "loop/convert.h"
#include "num/fourier.h"
#include "quantity/display.h"

/* Numbers as words, by value, so that several go into one format. */
struct shown {
    char words[2 * DISPLAY_SIZE];
};

/* "16.9646 A": any value in SI with the prefix that suits; no prefix for "", "°" and units whose
 * prefix would stand for more than itself (mm²). */
struct shown show(double value, const char *unit);
struct shown show_area(double value_m2);   /* "24 mm²" */
struct shown show_angle(double value_deg); /* "-0.0151°", four places */
struct shown show_celsius(double value_K); /* "38 °C" */
struct shown show_figure(const struct loop *loop, enum figure figure); /* "60.00(10) kA/m" */

/* A line of the page, wrapped, or a heading with an empty line ahead. */
void explain_add(struct text *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
void explain_add_heading(struct text *out, const char *words);

bool explain_has(const struct loop *loop, enum figure figure);
double explain_get(const struct loop *loop, enum figure figure);

/* Parts of the page. `how` is the capture's conversion. */
void explain_add_ring(struct text *out, const struct specimen *specimen);
void explain_add_field(struct text *out, const struct loop_job *job, const struct conversion *how);
void explain_add_flux(struct text *out, const struct loop_job *job, const struct conversion *how);
void explain_add_crossings(struct text *out, const struct loop *loop);
void explain_add_energy(struct text *out, const struct loop_job *job);
void explain_add_lag(struct text *out, const struct loop_job *job, const struct conversion *how);
void explain_add_shape(struct text *out, const struct loop *loop);
void explain_add_closing(struct text *out, const struct loop_job *job);
void explain_add_limits(struct text *out, const struct loop_job *job);
void explain_add_notes(struct text *out, const struct notes *notes);

/* What the winding of this capture is: the specimen's own, else the rig's. */
const struct winding *explain_find_winding(const struct loop_job *job);

#endif
