// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_SCHEMA_H
#define LODECARD_SETUP_SCHEMA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* Reads a YAML file of ours into a struct by a table: what keys there are, of what kind, and where
 * their values go. All faults of a file are told at once. A file's table stands in
 * <file>_schema.c; what no table can say (this key excludes that one) is a check of C beside it. */

enum schema_kind {
    SCHEMA_TEXT,     /* one line of text -> char *, of memory_create */
    SCHEMA_LINES,    /* one line or several, such as a list of harmonics -> char * */
    SCHEMA_CHANNEL,  /* a number from 1 or a header text -> char * */
    SCHEMA_QUANTITY, /* a value with its unit -> struct quantity */
    SCHEMA_WORD,     /* one word of a list -> an enum */
    SCHEMA_FLAG,     /* one word of a list -> bool (value not 0) */
    SCHEMA_MAP,      /* a group of keys -> a struct within the struct */
};

struct schema_word {
    const char *word; /* NULL ends a list */
    int value;
};
extern const struct schema_word schema_yes_no[]; /* yes, no, true, false */

/* What a quantity can possibly be, SI. Values outside are refused. */
struct schema_range {
    double lowest;
    double highest;
    bool is_lowest_allowed; /* false: the value must be above `lowest` */
    const char *said;       /* the range for people: "above 0, at most 10 m" */
    const char *slip;       /* the likely slip: "did you mean mm?" */
};

struct schema_entry {
    const char *key; /* NULL ends a table of at most 64 */
    enum schema_kind kind;
    bool is_required;
    size_t offset; /* of the member in the struct of this table; of a map: of the struct that its
                      entries count from (0: the same struct) */
    enum dimension dimension;         /* quantity */
    const struct schema_range *range; /* quantity; NULL: any value */
    const struct schema_word *words;  /* word and flag */
    const struct schema_entry *map;   /* map: its table */
    bool has_presence;                /* map: set the bool at `presence` when the file has it */
    size_t presence;                  /* counted like `offset` */
};

/* What a check sees of the file while it is read. Key paths count from the table that the check
 * belongs to. */
struct schema_reading;

/* Whether the file has a key, "inputs.excitation.shunt", right or wrong: a check that asks for a
 * missing key must not complain about one that is there and wrong. */
bool schema_has_key(const struct schema_reading *reading, const char *key_path);

/* Whether a key was refused, itself, something within it or the group it stands in: a check that
 * computes with its value waits for the next run. */
bool schema_has_fault(const struct schema_reading *reading, const char *key_path);

/* Adds a fault at a key, or, when the file does not have it, at the nearest group around it. */
void schema_add_fault(struct schema_reading *reading, const char *key_path, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Run after the table was walked, also when there were faults. `target` is what was read. */
typedef void schema_check(struct schema_reading *reading, void *target);

/* Runs the check of a table that stands as a map within another: key paths then count from
 * `key_path`. */
void schema_check_within(
    struct schema_reading *reading, const char *key_path, schema_check *check, void *target);

/* Reads the file into `target`, a zeroed struct of the table (defaults may stand in it). On
 * STATUS_INPUT err->message has one line a fault, "file:line:column: key: what is wrong", in the
 * order of the file, and `target` holds what could be read: clear it. `check` may be NULL. */
enum status schema_read(const char *path, const struct schema_entry *table, schema_check *check,
    void *target, struct error *err) MUST_CHECK;

/* The same from bytes; `name` is the file's name for messages. */
enum status schema_read_bytes(const char *name, const char *bytes, size_t length,
    const struct schema_entry *table, schema_check *check, void *target,
    struct error *err) MUST_CHECK;

/* The word of a list that has this value; NULL when there is none. */
const char *schema_find_word(const struct schema_word *words, int value);

/* Frees the texts of a struct that was read by this table and sets them to NULL. */
void schema_clear(const struct schema_entry *table, void *target);

#endif
