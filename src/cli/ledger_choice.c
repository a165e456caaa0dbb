// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops of a ledger as input of other commands. They pass through the JSON that `ledger export
 * --json-lines` writes, so that a loop says the same whichever way it comes. */
#include "cli/ledger_choice.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "ledger/source.h"

#define AT(member) .offset = offsetof(struct ledger_choice, member)

const struct option ledger_file_options[] = {
    {.name = "ledger",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(ledger),
        .help =
            "the ledger (default: $LODECARD_LEDGER, else lodecard.ledger in the current folder)"},
    {0},
};

const struct option ledger_choice_options[] = {
    {.name = "where",
        .value = "CONDITION",
        .type = OPTION_TEXTS,
        AT(where),
        .help = "loops that fulfil this: 'coercivity > 18 kA/m and remanence >= 0.9 T', '17 kA/m "
                "< coercivity < 20 kA/m', 'specimen = R-1*', 'not note = distorted'; several must "
                "all hold"},
    {.name = "supplier",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(supplier),
        .help = "loops of that supplier"},
    {.name = "alloy",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(alloy),
        .help = "loops of that alloy"},
    {.name = "heat", .value = "NAME", .type = OPTION_TEXT, AT(heat), .help = "loops of that heat"},
    {.name = "tag",
        .value = "WORD",
        .type = OPTION_TEXT,
        AT(tag),
        .help = "loops that are tagged so, or whose capture, specimen or heat is"},
    {0},
};

const char *ledger_choice_get_path(const struct ledger_choice *choice)
{
    const char *told = getenv("LODECARD_LEDGER");
    return choice->ledger != NULL            ? choice->ledger
           : told != NULL && told[0] != '\0' ? told
                                             : "lodecard.ledger";
}

bool ledger_choice_has_condition(const struct ledger_choice *choice)
{
    return choice->where.count > 0 || choice->supplier != NULL || choice->alloy != NULL ||
           choice->heat != NULL || choice->tag != NULL;
}

struct ledger_where *ledger_choice_read_where(const struct ledger_choice *choice, struct error *err)
{
    const char *const texts[][2] = {{"supplier", choice->supplier}, {"alloy", choice->alloy},
        {"heat", choice->heat}, {"tag", choice->tag}};
    struct ledger_where *where = ledger_where_create();
    enum status status = where != NULL ? STATUS_OK : fail_memory(err);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0] && status == STATUS_OK; i++) {
        status = ledger_where_add_text(where, texts[i][0], texts[i][1], err);
    }
    for (size_t i = 0; i < choice->where.count && status == STATUS_OK; i++) {
        status = ledger_where_add(where, choice->where.list[i], err);
    }
    if (status != STATUS_OK) {
        ledger_where_destroy(where);
        return NULL;
    }
    return where;
}

struct reading {
    const char *path;
    struct series *series;
    long long **ids;
    size_t *capacity;
};

static enum status add_loop(const struct ledger_source *source, void *user, struct error *err)
{
    const struct reading *reading = user;
    struct series *series = reading->series;
    struct text line = {0};
    char name[512];
    long long *ids =
        memory_reserve(*reading->ids, reading->capacity, series->count + 1, sizeof *ids);
    if (ids == NULL) {
        return fail_memory(err);
    }
    *reading->ids = ids;
    ids[series->count] = source->id;
    snprintf(name, sizeof name, "%s, loop %lld", reading->path, source->id);
    enum status status = ledger_source_write(source, &line, err);
    if (status == STATUS_OK) {
        status = series_add_bytes(series, name, line.bytes, line.length, err);
    }
    text_clear(&line);
    return status;
}

static enum status add_loops(struct ledger *ledger, const struct ledger_choice *choice,
    struct reading *reading, struct error *err)
{
    struct ledger_search search = LEDGER_SEARCH_ALL;
    const size_t before = reading->series->count;
    struct ledger_where *where = ledger_choice_read_where(choice, err);
    if (where == NULL) {
        return err->status;
    }
    search.where = where;
    enum status status = ledger_visit_sources(ledger, &search, add_loop, reading, err);
    if (status == STATUS_OK && reading->series->count == before) {
        status = fail(err, STATUS_INPUT, "'lodecard ledger find' with the same conditions tells",
            "no loop of '%s' fulfils the conditions", reading->path);
    }
    ledger_where_destroy(where);
    return status;
}

enum status ledger_choice_add_loops(const struct ledger_choice *choice, struct series *series,
    long long **ids, size_t *capacity, struct error *err)
{
    struct reading reading = {ledger_choice_get_path(choice), series, ids, capacity};
    struct ledger *ledger = NULL;
    enum status status = ledger_open(reading.path, LEDGER_READ, NULL, &ledger, err);
    if (status == STATUS_OK) {
        status = add_loops(ledger, choice, &reading, err);
    }
    ledger_close(ledger);
    return status;
}
