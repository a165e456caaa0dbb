// SPDX-License-Identifier: GPL-3.0-or-later
/* Statistics of heats. Of all loops: from the sums that are kept of each heat. Of those that fulfil
 * conditions: the values come in the order of their heats, mostly from an index alone; mean and
 * squares are kept up to date value by value (Welford 1962). The whole is put together from the
 * heats (Chan, Golub and LeVeque 1983, eq. 1.5). Sums by SQL take twice the time. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/sums.h"
#include "ledger/where_part.h"

static void finish(struct ledger_lot *lot)
{
    lot->deviation = lot->count > 1 ? sqrt(lot->deviation / ((double)lot->count - 1)) : NAN;
}

static enum status begin_lot(struct ledger_lots *lots, long long heat, struct error *err)
{
    struct ledger_lot *list =
        memory_reserve(lots->list, &lots->capacity, lots->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    lots->list = list;
    lots->list[lots->count++] = (struct ledger_lot){.heat_id = heat};
    return STATUS_OK;
}

static enum status read_values(struct query *query, struct ledger_lots *lots, struct error *err)
{
    bool has_row = false;
    enum status status = query_step(query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const long long heat = query_get_integer(query, 0);
        if (lots->count == 0 || lots->list[lots->count - 1].heat_id != heat) {
            status = begin_lot(lots, heat, err);
        }
        if (status == STATUS_OK) {
            sums_add_value(&lots->list[lots->count - 1], query_get_number(query, 1));
            status = query_step(query, &has_row, err);
        }
    }
    return status;
}

static enum status read_names(struct ledger *ledger, struct ledger_lot *lot, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT heat.name, alloy.name, supplier.name FROM heat JOIN alloy ON alloy.id = "
        "heat.alloy_id JOIN supplier ON supplier.id = heat.supplier_id WHERE heat.id = ?");
    query_add_integer(&query, lot->heat_id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK) {
        lot->heat = memory_copy_text(has_row ? query_get_text(&query, 0) : "");
        lot->alloy = memory_copy_text(has_row ? query_get_text(&query, 1) : "");
        lot->supplier = memory_copy_text(has_row ? query_get_text(&query, 2) : "");
        if (lot->heat == NULL || lot->alloy == NULL || lot->supplier == NULL) {
            status = fail_memory(err);
        }
    }
    query_end(&query);
    return status;
}

static int compare(const void *first, const void *second)
{
    const struct ledger_lot *a = first, *b = second;
    const int by_supplier = strcmp(a->supplier, b->supplier);
    const int by_alloy = strcmp(a->alloy, b->alloy);
    const int by_heat = strcmp(a->heat, b->heat);
    return by_supplier != 0 ? by_supplier
           : by_alloy != 0  ? by_alloy
           : by_heat != 0   ? by_heat
                            : (a->heat_id > b->heat_id) - (a->heat_id < b->heat_id);
}

/* Joins the lots, whose deviations are sums of squares still. */
static void sum_up(struct ledger_lots *lots)
{
    struct ledger_lot *all = &lots->all;
    for (size_t i = 0; i < lots->count; i++) {
        const struct ledger_lot *lot = &lots->list[i];
        const double n = (double)all->count, m = (double)lot->count;
        const double step = lot->mean - all->mean;
        all->deviation += lot->deviation + step * step * n * m / (n + m);
        all->mean += step * m / (n + m);
        all->least = all->count == 0 ? lot->least : fmin(all->least, lot->least);
        all->most = all->count == 0 ? lot->most : fmax(all->most, lot->most);
        all->count += lot->count;
    }
}

static enum status read_all(struct ledger *ledger, const struct ledger_where *where,
    const char *key, struct ledger_lots *lots, struct error *err)
{
    struct text sql = {0};
    struct query query;
    text_add_format(&sql,
        "SELECT loop.heat_id, loop.%s FROM loop WHERE loop.is_current = 1 AND loop.%s IS NOT NULL "
        "AND (%s) ORDER BY loop.heat_id",
        key, key, where_get_sql(where));
    if (sql.failed) {
        text_clear(&sql);
        return fail_memory(err);
    }
    query_begin_made(&query, ledger, sql.bytes);
    where_add_values(where, &query);
    const enum status status = read_values(&query, lots, err);
    query_end(&query);
    text_clear(&sql);
    return status;
}

enum status ledger_read_lots(struct ledger *ledger, const struct ledger_where *where,
    enum figure figure, struct ledger_lots *lots, struct error *err)
{
    struct ledger_lots made = {0};
    enum status status = where_is_empty(where)
                             ? sums_read(ledger, figure, &made, err)
                             : read_all(ledger, where, figure_table[figure].key, &made, err);
    for (size_t i = 0; i < made.count && status == STATUS_OK; i++) {
        status = read_names(ledger, &made.list[i], err);
    }
    if (status != STATUS_OK) {
        ledger_lots_clear(&made);
        return status;
    }
    sum_up(&made);
    finish(&made.all);
    for (size_t i = 0; i < made.count; i++) {
        finish(&made.list[i]);
    }
    if (made.count > 0) {
        qsort(made.list, made.count, sizeof *made.list, compare);
    }
    *lots = made;
    return STATUS_OK;
}

void ledger_lots_clear(struct ledger_lots *lots)
{
    for (size_t i = 0; i < lots->count; i++) {
        memory_destroy(lots->list[i].heat);
        memory_destroy(lots->list[i].alloy);
        memory_destroy(lots->list[i].supplier);
    }
    memory_destroy(lots->list);
    *lots = (struct ledger_lots){0};
}
