// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_OPTIONS_H
#define LODECARD_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* The options of a command as a table: the parser, the help and the manual page read the same one.
 *
 *     struct look_options { const char *json; double start_s; bool is_brief; };
 *     static const struct option look_table[] = {
 *         {.name = "", .help = "Reading"},                                   a heading of the help
 *         {.name = "start", .value = "S", .type = OPTION_NUMBER, .dimension = DIMENSION_TIME,
 *             .most = 1e9, .offset = offsetof(struct look_options, start_s),
 *             .help = "leave out the first S seconds"},
 *         {.table = json_options, .offset = offsetof(struct look_options, json)},
 *         ...
 *         {0}};
 *
 * The last one takes in the options of another table, whose struct is the member at that offset
 * (cli/common_options.h). Who goes through a table does it with cli/option_walk.h.
 *
 * Words are read as `--name value`, `--name=value`, `-n value`, `-nvalue`, clustered flags, and
 * `--`, behind which nothing is an option. Options and files may stand in any order. */
enum option_type {
    OPTION_FLAG,     /* bool: set to true; takes no value */
    OPTION_TEXT,     /* const char *: the word itself, borrowed */
    OPTION_TEXTS,    /* struct option_texts: the words, in the order of the command line */
    OPTION_PLACE,    /* const char *: where a result goes; "-" when no value follows */
    OPTION_NUMBER,   /* double in SI: a bare number is in the SI unit, "20 ms" works as well */
    OPTION_QUANTITY, /* struct quantity: as above, and "20 kA/m ± 0.2 kA/m" */
    OPTION_COUNT,    /* size_t: a whole number */
    OPTION_LETTER, /* char: one of `letters`; also "tab", "blank", "comma", "semicolon", "point" */
};

/* The values of an option that may be given several times. */
#define OPTION_TEXTS_MOST 32
struct option_texts {
    const char *list[OPTION_TEXTS_MOST];
    size_t count;
};

struct option {
    const char *name;  /* without "--"; "": a heading; NULL: the table's end, or `table` */
    char letter;       /* the short form; 0: none */
    const char *value; /* stands for the value in the help, such as "FILE"; NULL with a flag */
    const char *help;  /* what it does, default included; no full stop */
    enum option_type type;
    size_t offset;              /* of the member in the command's struct */
    double least;               /* NUMBER, QUANTITY, COUNT: limits, both allowed */
    double most;                /* 0 with least 0: no upper limit */
    enum dimension dimension;   /* NUMBER, QUANTITY */
    bool needs_unit;            /* QUANTITY: a bare number is refused: 0.35 is mm to its writer */
    const char *letters;        /* LETTER: those allowed */
    const char *const *endings; /* PLACE: a word of its own behind the option is its value only when
                                   it is "-" or ends in one of these; NULL: any word is */
    const struct option *table; /* with no name: the options that stand here; else NULL */
};

/* Reads `words` into the members of `target`. The words that are no options are moved to the front
 * of `words`, in their order, and `*count` becomes their number. Members whose option is not given
 * are untouched. STATUS_USAGE names the option and the nearest known one. `command` is for the
 * hint: "see 'lodecard help COMMAND'". On failure the members are in an undefined state. */
enum status options_read(const char *command, const struct option *table, void *target, int *count,
    char **words, struct error *err) MUST_CHECK;

/* For commands whose options belong to some of their verbs only: whether the command line gave an
 * option, seen by its member, which differs from that of `untouched`, the struct before it was
 * read; and whether a list that ends in NULL (NULL: an empty one) has its name. */
bool option_is_given(const struct option *option, const void *target, const void *untouched);
bool option_is_listed(const char *const *names, const char *name);

#endif
