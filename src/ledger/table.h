// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_TABLE_H
#define LODECARD_LEDGER_TABLE_H

/* The tables of the ledger, parents ahead of children: the order of export and import. The journal
 * stands apart: it tells of these. */
enum table {
    TABLE_CHANGE_SET,
    TABLE_SUPPLIER,
    TABLE_ALLOY,
    TABLE_HEAT,
    TABLE_SPECIMEN,
    TABLE_SPECIMEN_VERSION,
    TABLE_RIG,
    TABLE_RIG_VERSION,
    TABLE_CAPTURE,
    TABLE_CAPTURE_BYTES,
    TABLE_LOOP,
    TABLE_LOOP_POINTS,
    TABLE_SERIES,
    TABLE_CARD,
    TABLE_VERDICT,
    TABLE_MADE_FROM,
    TABLE_REMARK,
    TABLE_TAG,
    TABLE_COUNT
};

struct table_entry {
    const char *name;
    const char *get;    /* statements with the row's id as their only parameter */
    const char *remove; /* */
    const char *scan;   /* all rows by id */
};
extern const struct table_entry table_list[TABLE_COUNT];

/* TABLE_COUNT when there is none. */
enum table table_find(const char *name);

#endif
