// SPDX-License-Identifier: GPL-3.0-or-later
/* Statistics of heats. Squares are summed about a value of the data, so that spread is not lost in
 * the sum; the whole is put together from the heats (Chan, Golub and LeVeque 1983, eq. 1.5). */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/find.h"
#include "ledger/where_part.h"

static enum status find_pivot(struct ledger *ledger, const struct ledger_where *where,
    const char *key, double *pivot, struct error *err)
{
    struct text sql = {0};
    struct query query;
    bool has_row = false;
    text_add_format(&sql,
        "SELECT loop.%s FROM loop WHERE loop.is_current = 1 AND loop.%s IS NOT NULL AND (%s) LIMIT "
        "1",
        key, key, where_get_sql(where));
    if (sql.failed) {
        text_clear(&sql);
        return fail_memory(err);
    }
    query_begin_made(&query, ledger, sql.bytes);
    where_add_values(where, &query);
    const enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK) {
        *pivot = has_row ? query_get_number(&query, 0) : 0;
    }
    query_end(&query);
    text_clear(&sql);
    return status;
}

/* Sums become mean and deviation. */
static void set_lot(struct ledger_lot *lot, double sum, double squares, double pivot)
{
    const double n = (double)lot->count;
    const double shift = sum / n;
    const double rest = squares - n * shift * shift;
    lot->mean = pivot + shift;
    lot->deviation = lot->count > 1 ? sqrt(fmax(rest, 0) / (n - 1)) : NAN;
}

static enum status add_lot(
    struct ledger_lots *lots, const struct query *query, double pivot, struct error *err)
{
    struct ledger_lot *list =
        memory_reserve(lots->list, &lots->capacity, lots->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    lots->list = list;
    struct ledger_lot *lot = &lots->list[lots->count++];
    *lot = (struct ledger_lot){
        .heat_id = query_get_integer(query, 0),
        .count = (size_t)query_get_integer(query, 1),
        .least = query_get_number(query, 4),
        .most = query_get_number(query, 5),
        .heat = memory_copy_text(query_get_text(query, 6)),
        .alloy = memory_copy_text(query_get_text(query, 7)),
        .supplier = memory_copy_text(query_get_text(query, 8)),
    };
    set_lot(lot, query_get_number(query, 2), query_get_number(query, 3), pivot);
    return lot->heat == NULL || lot->alloy == NULL || lot->supplier == NULL ? fail_memory(err)
                                                                            : STATUS_OK;
}

static void sum_up(struct ledger_lots *lots)
{
    struct ledger_lot *all = &lots->all;
    double squares = 0;
    for (size_t i = 0; i < lots->count; i++) {
        const struct ledger_lot *lot = &lots->list[i];
        const double n = (double)all->count, m = (double)lot->count;
        const double step = lot->mean - all->mean;
        squares += (lot->count > 1 ? lot->deviation * lot->deviation * (m - 1) : 0) +
                   step * step * n * m / (n + m);
        all->mean += step * m / (n + m);
        all->least = all->count == 0 ? lot->least : fmin(all->least, lot->least);
        all->most = all->count == 0 ? lot->most : fmax(all->most, lot->most);
        all->count += lot->count;
    }
    all->deviation = all->count > 1 ? sqrt(squares / ((double)all->count - 1)) : NAN;
}

static void build(struct text *sql, const struct ledger_where *where, const char *key)
{
    text_add_format(sql,
        "SELECT sums.heat_id, sums.n, sums.s, sums.q, sums.least, sums.most, heat.name, "
        "alloy.name, "
        "supplier.name FROM (SELECT loop.heat_id AS heat_id, COUNT(loop.%s) AS n, "
        "SUM(loop.%s - ?) AS s, SUM((loop.%s - ?) * (loop.%s - ?)) AS q, MIN(loop.%s) AS least, "
        "MAX(loop.%s) AS most FROM loop WHERE loop.is_current = 1 AND (%s) GROUP BY loop.heat_id) "
        "AS sums JOIN heat ON heat.id = sums.heat_id JOIN alloy ON alloy.id = heat.alloy_id "
        "JOIN supplier ON supplier.id = heat.supplier_id WHERE sums.n > 0 "
        "ORDER BY supplier.name, alloy.name, heat.name, heat.id",
        key, key, key, key, key, key, where_get_sql(where));
}

enum status ledger_read_lots(struct ledger *ledger, const struct ledger_where *where,
    enum figure figure, struct ledger_lots *lots, struct error *err)
{
    const char *key = figure_table[figure].key;
    struct ledger_lots made = {0};
    struct text sql = {0};
    struct query query;
    bool has_row = true;
    double pivot = 0;
    enum status status = find_pivot(ledger, where, key, &pivot, err);
    build(&sql, where, key);
    if (status == STATUS_OK && sql.failed) {
        status = fail_memory(err);
    }
    if (status != STATUS_OK) {
        text_clear(&sql);
        return status;
    }
    query_begin_made(&query, ledger, sql.bytes);
    for (int i = 0; i < 3; i++) {
        query_add_number(&query, pivot);
    }
    where_add_values(where, &query);
    status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        status = add_lot(&made, &query, pivot, err);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    text_clear(&sql);
    if (status != STATUS_OK) {
        ledger_lots_clear(&made);
        return status;
    }
    sum_up(&made);
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
