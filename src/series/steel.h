// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_STEEL_H
#define LODECARD_SERIES_STEEL_H

#include "base/tree.h"
#include "series/series.h"

/* What is known of a steel, from a specimen; a copy: clear it with steel_clear. */
enum status steel_set(
    struct series_steel *steel, const struct specimen *specimen, struct error *err) MUST_CHECK;
/* From the "specimen" object of a loop's JSON. */
enum status steel_read(
    struct series_steel *steel, const struct tree_value *specimen, struct error *err) MUST_CHECK;
enum status steel_copy(
    struct series_steel *steel, const struct series_steel *from, struct error *err) MUST_CHECK;
void steel_clear(struct series_steel *steel);

#endif
