// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/sums.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"

#define WAIT_MS 1000 /* who is writing just now settles at its own end */
#define ALL_WAIT_MS 60000

void sums_add_value(struct ledger_lot *lot, double value)
{
    const double step = value - lot->mean;
    lot->least = lot->count == 0 || value < lot->least ? value : lot->least;
    lot->most = lot->count == 0 || value > lot->most ? value : lot->most;
    lot->count++;
    lot->mean += step / (double)lot->count;
    lot->deviation += step * (value - lot->mean);
}

/* All figures of one heat. */
struct heat_sums {
    long long heat;
    long long loops;
    struct ledger_lot figures[FIGURE_COUNT];
};

/* The order is that of an index, and always the same: sums of the same loops have the same bits. */
static const char *get_sql(struct ledger *ledger)
{
    struct text *sql = &ledger->sum_heat;
    if (sql->length == 0) {
        for (size_t i = 0; i < FIGURE_COUNT; i++) {
            text_add_format(sql, "%s loop.%s", i == 0 ? "SELECT" : ",", figure_table[i].key);
        }
        text_add(sql,
            " FROM loop WHERE loop.is_current = 1 AND loop.heat_id = ? ORDER BY "
            "loop.coercivity_A_per_m, loop.remanence_T, loop.loop_area_J_per_m3, loop.id");
    }
    return sql->failed ? NULL : sql->bytes;
}

static enum status sum_up(
    struct ledger *ledger, long long heat, struct heat_sums *sums, struct error *err)
{
    const char *sql = get_sql(ledger);
    struct query query;
    bool has_row = false;
    if (sql == NULL) {
        return fail_memory(err);
    }
    *sums = (struct heat_sums){.heat = heat};
    query_begin(&query, ledger, sql);
    query_add_integer(&query, heat);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        for (int i = 0; i < FIGURE_COUNT; i++) {
            if (!query_is_null(&query, i)) {
                sums_add_value(&sums->figures[i], query_get_number(&query, i));
            }
        }
        sums->loops++;
        status = query_step(&query, &has_row, err);
    }
    query_end(&query);
    return status;
}

/* --- reading -----------------------------------------------------------------------------------
 */

static enum status add_lot(
    struct ledger_lots *lots, const struct ledger_lot *lot, struct error *err)
{
    struct ledger_lot *list =
        memory_reserve(lots->list, &lots->capacity, lots->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    lots->list = list;
    lots->list[lots->count++] = *lot;
    return STATUS_OK;
}

/* What is kept; a heat without sums comes with a count of 0. */
static enum status read_kept(
    struct ledger *ledger, enum figure figure, struct ledger_lots *lots, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT heat.id, mark.count, kept.count, kept.mean, kept.squares, kept.least, kept.most "
        "FROM heat LEFT JOIN heat_sum AS mark ON mark.heat_id = heat.id AND mark.figure = '' "
        "LEFT JOIN heat_sum AS kept ON kept.heat_id = heat.id AND kept.figure = ? ORDER BY "
        "heat.id");
    query_add_text(&query, figure_table[figure].key);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        struct ledger_lot lot = {.heat_id = query_get_integer(&query, 0)};
        const bool is_kept = !query_is_null(&query, 1);
        if (is_kept) {
            lot.count = (size_t)query_get_integer(&query, 2);
            lot.mean = query_get_number(&query, 3);
            lot.deviation = query_get_number(&query, 4);
            lot.least = query_get_number(&query, 5);
            lot.most = query_get_number(&query, 6);
        }
        if (!is_kept || lot.count > 0) {
            status = add_lot(lots, &lot, err);
        }
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    return status;
}

enum status sums_read(
    struct ledger *ledger, enum figure figure, struct ledger_lots *lots, struct error *err)
{
    struct heat_sums *sums = memory_create(1, sizeof *sums);
    size_t kept = 0;
    enum status status = sums == NULL ? fail_memory(err) : read_kept(ledger, figure, lots, err);
    for (size_t i = 0; i < lots->count && status == STATUS_OK; i++) {
        if (lots->list[i].count == 0) {
            status = sum_up(ledger, lots->list[i].heat_id, sums, err);
            sums->figures[figure].heat_id = lots->list[i].heat_id;
            lots->list[i] = sums->figures[figure];
        }
        if (lots->list[i].count > 0) {
            lots->list[kept++] = lots->list[i];
        }
    }
    lots->count = status == STATUS_OK ? kept : lots->count;
    memory_destroy(sums);
    return status;
}

/* --- writing -----------------------------------------------------------------------------------
 */

static enum status add_row(struct ledger *ledger, long long heat, const char *figure,
    long long count, const struct ledger_lot *lot, struct error *err)
{
    struct query query;
    query_begin(&query, ledger,
        "INSERT INTO heat_sum (heat_id, figure, count, mean, squares, least, most) VALUES (?, ?, "
        "?, ?, ?, ?, ?)");
    query_add_integer(&query, heat);
    query_add_text(&query, figure);
    query_add_integer(&query, count);
    query_add_number(&query, lot->mean);
    query_add_number(&query, lot->deviation);
    query_add_number(&query, lot->least);
    query_add_number(&query, lot->most);
    return query_run(&query, err);
}

static enum status add_sums(struct ledger *ledger, const struct heat_sums *sums, struct error *err)
{
    static const struct ledger_lot none;
    enum status status = add_row(ledger, sums->heat, "", sums->loops, &none, err);
    for (size_t i = 0; i < FIGURE_COUNT && status == STATUS_OK; i++) {
        const struct ledger_lot *lot = &sums->figures[i];
        if (lot->count > 0) {
            status =
                add_row(ledger, sums->heat, figure_table[i].key, (long long)lot->count, lot, err);
        }
    }
    return status;
}

static enum status find_missing(struct ledger *ledger, long long *heat, struct error *err)
{
    struct query query;
    query_begin(&query, ledger,
        "SELECT heat.id FROM heat LEFT JOIN heat_sum AS mark ON mark.heat_id = heat.id AND "
        "mark.figure = '' WHERE heat.id > ? AND mark.heat_id IS NULL ORDER BY heat.id LIMIT 1");
    query_add_integer(&query, *heat);
    return query_run_integer(&query, heat, err);
}

static enum status add_missing(struct ledger *ledger, struct heat_sums *sums, struct error *err)
{
    long long heat = 0;
    enum status status = find_missing(ledger, &heat, err);
    while (status == STATUS_OK && heat > 0) {
        status = sum_up(ledger, heat, sums, err);
        if (status == STATUS_OK) {
            status = add_sums(ledger, sums, err);
        }
        if (status == STATUS_OK) {
            status = find_missing(ledger, &heat, err);
        }
    }
    return status;
}

enum status sums_settle(struct ledger *ledger, struct error *err)
{
    struct heat_sums *sums = memory_create(1, sizeof *sums);
    if (sums == NULL) {
        return fail_memory(err);
    }
    sqlite3_busy_timeout(ledger->base, WAIT_MS);
    enum status status = sql_run(ledger, "BEGIN IMMEDIATE", err);
    if (status == STATUS_OK) {
        status = add_missing(ledger, sums, err);
        if (status == STATUS_OK) {
            status = sql_run(ledger, "COMMIT", err);
        }
        if (status != STATUS_OK) {
            sqlite3_exec(ledger->base, "ROLLBACK", NULL, NULL, NULL);
        }
    }
    sqlite3_busy_timeout(ledger->base, ALL_WAIT_MS);
    memory_destroy(sums);
    return status;
}

/* --- checking ----------------------------------------------------------------------------------
 */

static bool is_same(const struct ledger_lot *a, const struct ledger_lot *b)
{
    return a->count == b->count && a->mean == b->mean && a->deviation == b->deviation &&
           a->least == b->least && a->most == b->most;
}

/* The kept sums of a heat. `loops` -1: there are none. */
static enum status read_sums(
    struct ledger *ledger, long long heat, struct heat_sums *sums, struct error *err)
{
    struct query query;
    bool has_row = false;
    *sums = (struct heat_sums){.heat = heat, .loops = -1};
    query_begin(&query, ledger,
        "SELECT figure, count, mean, squares, least, most FROM heat_sum WHERE heat_id = ?");
    query_add_integer(&query, heat);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const char *key = query_get_text(&query, 0);
        const enum figure figure = figure_find(key);
        if (key[0] == '\0') {
            sums->loops = query_get_integer(&query, 1);
        } else if (figure != FIGURE_COUNT) {
            sums->figures[figure] =
                (struct ledger_lot){.count = (size_t)query_get_integer(&query, 1),
                    .mean = query_get_number(&query, 2),
                    .deviation = query_get_number(&query, 3),
                    .least = query_get_number(&query, 4),
                    .most = query_get_number(&query, 5)};
        }
        status = query_step(&query, &has_row, err);
    }
    query_end(&query);
    return status;
}

static enum status check_heat(struct ledger *ledger, long long heat, bool *is_right,
    struct heat_sums sums[2], struct error *err)
{
    enum status status = read_sums(ledger, heat, &sums[0], err);
    *is_right = true;
    if (status != STATUS_OK || sums[0].loops < 0) {
        return status;
    }
    status = sum_up(ledger, heat, &sums[1], err);
    *is_right = sums[0].loops == sums[1].loops;
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        *is_right = *is_right && is_same(&sums[0].figures[i], &sums[1].figures[i]);
    }
    return status;
}

enum status sums_check(struct ledger *ledger, void (*tell)(const char *words, void *user),
    void *user, struct error *err)
{
    struct heat_sums *sums = memory_create(2, sizeof *sums);
    struct query query;
    bool has_row = false, is_right = true;
    if (sums == NULL) {
        return fail_memory(err);
    }
    query_begin(&query, ledger, "SELECT DISTINCT heat_id FROM heat_sum ORDER BY heat_id");
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const long long heat = query_get_integer(&query, 0);
        status = check_heat(ledger, heat, &is_right, sums, err);
        if (status == STATUS_OK && !is_right) {
            char words[120];
            snprintf(words, sizeof words, "the sums of heat %lld are not those of its loops", heat);
            tell(words, user);
        }
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    memory_destroy(sums);
    return status;
}
