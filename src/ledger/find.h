// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_FIND_H
#define LODECARD_LEDGER_FIND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/file.h"
#include "ledger/ledger.h"
#include "ledger/where.h"
#include "quantity/figure.h"

/* One loop as the ledger has it. Texts are borrowed while it is visited; "": not told. */
struct ledger_row {
    long long id;
    long long capture_id, specimen_id, heat_id, rig_version_id;
    bool is_current;
    const char *file;   /* of the capture */
    const char *sha256; /* of the capture */
    const char *specimen, *heat, *alloy, *supplier;
    const char *rig, *calibration_day;
    const char *program, *note_codes;
    struct figures figures;
};

struct ledger_search {
    const struct ledger_where *where; /* NULL: all */
    bool has_old;                     /* also loops that were replaced since */
    enum figure sort;                 /* FIGURE_COUNT: by id, the order of arrival */
    bool is_falling;
    size_t limit; /* 0: none */
};
#define LEDGER_SEARCH_ALL ((struct ledger_search){.sort = FIGURE_COUNT})

/* Calls `visit` with each loop; what it returns other than STATUS_OK ends the visit and is
 * returned. */
typedef enum status (*ledger_visit)(const struct ledger_row *row, void *user, struct error *err);
enum status ledger_visit_loops(struct ledger *ledger, const struct ledger_search *search,
    ledger_visit visit, void *user, struct error *err) MUST_CHECK;

enum status ledger_count_loops(struct ledger *ledger, const struct ledger_search *search,
    size_t *count, struct error *err) MUST_CHECK;

/* One loop by its number, current or not; its texts are NULL. STATUS_INPUT: there is none. */
enum status ledger_get_loop(
    struct ledger *ledger, long long id, struct ledger_row *row, struct error *err) MUST_CHECK;

/* The loops as a list that owns its texts. */
struct ledger_rows {
    struct ledger_row *list;
    size_t count;
    size_t capacity;
};
enum status ledger_read_loops(struct ledger *ledger, const struct ledger_search *search,
    struct ledger_rows *rows, struct error *err) MUST_CHECK;
void ledger_rows_clear(struct ledger_rows *rows); /* safe on a zeroed struct and twice */

/* Their numbers alone, in their order; free the list with memory_destroy, also after a failure. */
struct ledger_ids {
    long long *list;
    size_t count, capacity;
};
enum status ledger_find_ids(struct ledger *ledger, const struct ledger_search *search,
    struct ledger_ids *ids, struct error *err) MUST_CHECK;

/* What the loops of a heat have of one figure. */
struct ledger_lot {
    long long heat_id;
    char *heat, *alloy, *supplier;
    size_t count;           /* loops that have the figure */
    double mean, deviation; /* SI; deviation: of single loops, n - 1; NaN for one loop */
    double least, most;
};
struct ledger_lots {
    struct ledger_lot *list; /* by supplier, alloy, heat; those without a loop left out */
    size_t count;
    size_t capacity;
    struct ledger_lot all; /* of all loops meant; no names */
};
enum status ledger_read_lots(struct ledger *ledger, const struct ledger_where *where,
    enum figure figure, struct ledger_lots *lots, struct error *err) MUST_CHECK;
void ledger_lots_clear(struct ledger_lots *lots);

#endif
