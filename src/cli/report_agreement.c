// SPDX-License-Identifier: GPL-3.0-or-later
/* One loop of a report against those that the ledger has of the same capture: the one that counts,
 * then those that were replaced. Where none has the report's numbers, the nearest one that counts
 * shows what differs. */
#include "cli/report_agreement.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/kind.h"

static const double SAME_RELATIVE = 1e-9;

const char *agreement_get_name(enum agreement agreement)
{
    static const char *const names[] = {[AGREEMENT_SAME] = "agrees",
        [AGREEMENT_RECOMPUTED] = "recomputed",
        [AGREEMENT_OTHER] = "differs",
        [AGREEMENT_UNKNOWN] = "unknown"};
    return names[agreement];
}

static const char *get_text(const struct tree_value *object, const char *key)
{
    return text_or_empty(tree_get_text(tree_get(object, key)));
}

/* --- figures ------------------------------------------------------------------------------------
 */

static void read_figures(
    const struct tree_value *object, struct figures *figures, size_t *strange_count)
{
    for (size_t i = 0; i < tree_get_count(object); i++) {
        const char *key = tree_get_key_at(object, i);
        const bool is_u = strncmp(key, "u_", 2) == 0;
        const enum figure figure = figure_find(is_u ? key + 2 : key);
        double value;
        if (figure == FIGURE_COUNT) {
            ++*strange_count;
        } else if (tree_get_number(tree_get_at(object, i), &value) && is_u) {
            figures_set_u(figures, figure, value);
        } else if (tree_get_number(tree_get_at(object, i), &value)) {
            figures_set(figures, figure, value);
        }
    }
}

static bool is_near(double a, double b)
{
    return fabs(a - b) <= SAME_RELATIVE * fmax(fabs(a), fabs(b));
}

static bool is_same(const struct figure_value *told, const struct figure_value *now)
{
    return told->is_present == now->is_present && told->has_u == now->has_u &&
           (!told->is_present || is_near(told->value, now->value)) &&
           (!told->has_u || is_near(told->u, now->u));
}

static double get_difference(const struct figure_value *told, const struct figure_value *now)
{
    const double u = now->has_u ? now->u : told->u;
    const bool has_both = told->is_present && now->is_present && (told->has_u || now->has_u);
    return has_both && u > 0 ? (now->value - told->value) / u : NAN;
}

static size_t compare(const struct figures *told, const struct figures *now,
    struct agreement_change changes[FIGURE_COUNT])
{
    size_t count = 0;
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        if (!is_same(&told->list[i], &now->list[i])) {
            changes[count++] = (struct agreement_change){(enum figure)i, told->list[i],
                now->list[i], get_difference(&told->list[i], &now->list[i])};
        }
    }
    return count;
}

/* --- loops of the capture ----------------------------------------------------------------------
 */

/* How far two loops are apart: each figure counts by its difference in u, at most by 1000. */
static double get_distance(const struct agreement_change *changes, size_t count)
{
    double distance = 0;
    for (size_t i = 0; i < count; i++) {
        const double in_u = fabs(changes[i].in_u);
        distance += 1 + (isnan(in_u) || in_u > 1000 ? 1000 : in_u);
    }
    return distance;
}

/* The loop that is meant: nearest to these figures, among those that count or those that do not;
 * NULL: there is none. */
static const struct ledger_row *find_nearest(
    const struct ledger_rows *rows, bool is_current, const struct figures *told, double *least)
{
    const struct ledger_row *found = NULL;
    for (size_t i = 0; i < rows->count; i++) {
        struct agreement_change changes[FIGURE_COUNT];
        const size_t count = compare(told, &rows->list[i].figures, changes);
        const double distance = get_distance(changes, count);
        if (rows->list[i].is_current == is_current && (found == NULL || distance < *least)) {
            found = &rows->list[i];
            *least = distance;
        }
    }
    return found;
}

static enum status compare_texts(struct agreement_loop *loop, const struct tree_value *input,
    const struct ledger_row *row, struct error *err)
{
    const struct {
        const char *key, *now;
    } texts[AGREEMENT_TEXTS] = {{"specimen", row->specimen}, {"heat", row->heat},
        {"supplier", row->supplier}, {"rig", row->rig}, {"rig_calibrated", row->calibration_day}};
    for (size_t i = 0; i < AGREEMENT_TEXTS; i++) {
        const char *told = get_text(input, texts[i].key);
        if (strcmp(told, texts[i].now) != 0) {
            char *copy = memory_copy_text(texts[i].now);
            if (copy == NULL) {
                return fail_memory(err);
            }
            loop->texts[loop->text_count].key = texts[i].key;
            loop->texts[loop->text_count].told = told;
            loop->texts[loop->text_count++].now = copy;
        }
    }
    return STATUS_OK;
}

static enum status judge(struct agreement_loop *loop, const struct tree_value *input,
    const struct figures *told, const struct ledger_rows *rows, struct error *err)
{
    double least_now = INFINITY, least_old = INFINITY;
    const struct ledger_row *now = find_nearest(rows, true, told, &least_now);
    const struct ledger_row *old = find_nearest(rows, false, told, &least_old);
    const struct ledger_row *shown = now != NULL ? now : old;
    if (shown == NULL) {
        return STATUS_OK;
    }
    loop->now = now != NULL ? now->id : 0;
    loop->change_count = compare(told, &shown->figures, loop->changes);
    if (now != NULL && least_now == 0) {
        loop->state = AGREEMENT_SAME;
        loop->loop = now->id;
    } else if (old != NULL && least_old == 0) {
        loop->state = AGREEMENT_RECOMPUTED;
        loop->loop = old->id;
    } else {
        loop->state = AGREEMENT_OTHER;
    }
    const struct ledger_row *meant = loop->state == AGREEMENT_RECOMPUTED ? old : shown;
    const enum status status = compare_texts(loop, input, meant, err);
    loop->state = loop->text_count > 0 ? AGREEMENT_OTHER : loop->state;
    return status;
}

static enum status read_rows(
    struct ledger *ledger, const char *sha256, struct ledger_rows *rows, struct error *err)
{
    struct ledger_search search = LEDGER_SEARCH_ALL;
    struct error inner = {0};
    long long capture = 0;
    const enum status found =
        ledger_find_row(ledger, LEDGER_KIND_CAPTURE, sha256, &capture, &inner);
    if (found == STATUS_USAGE) { /* no such capture */
        return STATUS_OK;
    }
    if (found != STATUS_OK) {
        *err = inner;
        return found;
    }
    struct ledger_where *where = ledger_where_create();
    enum status status = where != NULL
                             ? ledger_where_add_row(where, LEDGER_KIND_CAPTURE, capture, err)
                             : fail_memory(err);
    search.where = where;
    search.has_old = true;
    if (status == STATUS_OK) {
        status = ledger_read_loops(ledger, &search, rows, err);
    }
    ledger_where_destroy(where);
    return status;
}

enum status agreement_loop_init(struct agreement_loop *loop, struct ledger *ledger,
    const struct tree_value *input, struct error *err)
{
    struct figures told = {0};
    struct ledger_rows rows = {0};
    *loop = (struct agreement_loop){.name = get_text(input, "name"),
        .sha256 = get_text(input, "capture_sha256"),
        .specimen = get_text(input, "specimen"),
        .state = AGREEMENT_UNKNOWN};
    read_figures(tree_get(input, "figures"), &told, &loop->strange_count);
    enum status status = STATUS_OK;
    if (strlen(loop->sha256) == DIGEST_TEXT_SIZE - 1) {
        status = read_rows(ledger, loop->sha256, &rows, err);
    }
    if (status == STATUS_OK) {
        status = judge(loop, input, &told, &rows, err);
    }
    ledger_rows_clear(&rows);
    if (status != STATUS_OK) {
        agreement_loop_clear(loop);
    }
    return status;
}

void agreement_loop_clear(struct agreement_loop *loop)
{
    for (size_t i = 0; i < loop->text_count; i++) {
        memory_destroy(loop->texts[i].now);
    }
    *loop = (struct agreement_loop){0};
}
