// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_SERIES_PART_H
#define LODECARD_SERIES_SERIES_PART_H

#include "base/tree.h"
#include "series/series.h"
#include "series/steel.h"

/* The parts of series_read, one file each. */

/* series.c: a new loop at the end, zeroed but for what has no zero; NULL: out of memory. */
struct series_loop *series_new_loop(struct series *series);

/* setup.c: the index of a setup of these JSON objects (either may be NULL), new or known before;
 * SERIES_NONE: out of memory. `steel` is taken over or cleared. */
size_t series_add_setup(
    struct series *series, const char *rig, const char *specimen, struct series_steel *steel);
/* loop_json.c: bytes that begin with '{' or '['; here and below the last byte is a line end. */
enum status series_add_json(struct series *series, const char *path, const char *bytes,
    size_t length, size_t default_setup, struct error *err) MUST_CHECK;

/* loop_table.c: whether text is a table of measured loops, by its header; and its rows. */
bool series_is_table(const char *bytes, size_t length);
enum status series_add_table(struct series *series, const char *path, const char *bytes,
    size_t length, size_t default_setup, struct error *err) MUST_CHECK;

/* captured.c */
enum status series_add_capture(struct series *series, const char *path,
    const struct series_options *options, struct error *err) MUST_CHECK;

/* initial.c */
enum status series_read_initial(
    struct series *series, const char *path, struct error *err) MUST_CHECK;

/* What series_compute does, in this order. */
enum status series_check_mixture(struct series *series, const struct series_options *options,
    struct error *err) MUST_CHECK;                                                   /* mixture.c */
enum status series_set_curves(struct series *series, struct error *err) MUST_CHECK;  /* curve.c */
enum status series_check_twins(struct series *series, struct error *err) MUST_CHECK; /* mixture.c */
enum status series_set_saturation(
    struct series *series, struct error *err) MUST_CHECK; /* saturation.c */
enum status series_set_separations(struct series *series, const struct series_options *options,
    struct error *err) MUST_CHECK; /* separation.c */
enum status series_set_laws(struct series *series, const struct series_options *options,
    struct error *err) MUST_CHECK; /* power_law.c */
enum status series_set_at(struct series *series, const struct series_options *options,
    struct error *err) MUST_CHECK; /* curve.c */

#endif
