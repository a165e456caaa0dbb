// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger list`, `show` and `history`: what is in it, one row with all that is known of it, and
 * what happened to it. */
#include <stdio.h>
#include <string.h>

#include "base/tree.h"
#include "cli/ledger.h"
#include "cli/ledger_find.h"
#include "cli/wrap.h"
#include "ledger/kind.h"
#include "quantity/display.h"

#define NAME_COLUMNS 14
#define DIGITS 6
#define LOOPS_MOST 20 /* below what they are of */

/* --- list ------------------------------------------------------------------------------------ */

struct list {
    struct columns table;
    bool has_heading;
};

static enum status add_cells(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    struct list *list = user;
    list->table.columns = count;
    for (size_t i = 0; i < count && !list->has_heading; i++) {
        char name[40];
        snprintf(name, sizeof name, "%s", names[i]);
        for (char *at = name; *at; at++)
            *at = *at == '_' ? ' ' : *at;
        columns_add_text(&list->table, name);
    }
    list->has_heading = true;
    for (size_t i = 0; i < count; i++)
        columns_add_text(&list->table, cells[i]);
    return list->table.words.failed ? fail_memory(err) : STATUS_OK;
}

static enum status add_count(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    struct text *out = user;
    (void)names;
    (void)count;
    text_add_format(out, "%-10s  %s\n", cells[0], cells[1]);
    return out->failed ? fail_memory(err) : STATUS_OK;
}

static int run_list(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct list list = {0};
    struct text out = {0};
    enum ledger_kind kind;
    enum status status = STATUS_OK;
    (void)options;
    if (count == 0) {
        status = ledger_visit_counts(ledger, add_count, &out, err);
    } else {
        status = ledger_kind_read(words[0], &kind, err);
        if (!status)
            status = ledger_visit_kind(ledger, kind, add_cells, &list, err);
        if (!status && list.has_heading)
            columns_finish(&list.table, 0, &out);
        else if (!status)
            text_add_format(&out, "no %s\n", ledger_kind_get_plural(kind));
    }
    if (!status)
        status = ledger_print(&out, err);
    text_clear(&list.table.words);
    text_clear(&out);
    return (int)status;
}

const struct ledger_mode ledger_mode_list = {
    .name = "list",
    .access = LEDGER_READ,
    .most = 1,
    .needs = "one kind",
    .run = run_list,
};

/* --- show ------------------------------------------------------------------------------------ */

/* A file as it was, below its name. */
static void add_file(struct text *out, const char *name, const char *words)
{
    text_add_format(out, "  %s\n", name);
    for (const char *at = words; *at;) {
        size_t length = strcspn(at, "\n");
        text_add(out, "    ");
        for (size_t i = 0; i < length; i++)
            text_add_bytes(out, (unsigned char)at[i] < ' ' || at[i] == 0x7F ? " " : &at[i], 1);
        text_add(out, "\n");
        at += length + (at[length] == '\n');
    }
}

static enum status add_fields(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    struct text *out = user;
    for (size_t i = 0; i < count; i++) {
        if (!strcmp(names[i], "limits")) {
            add_file(out, names[i], cells[i]);
            continue;
        }
        const char *name = !strcmp(names[i], "values_now") ? "values" : names[i];
        text_add_format(out, "  %s", name);
        wrap_add_blanks(out, strlen(name) < NAME_COLUMNS ? NAME_COLUMNS - strlen(name) : 1);
        wrap_add(out, cells[i], NAME_COLUMNS + 2, NAME_COLUMNS + 2);
    }
    return out->failed ? fail_memory(err) : STATUS_OK;
}

static enum status add_words(
    const char *const *names, const char *const *cells, size_t count, void *user, struct error *err)
{
    struct text *out = user, words = {0};
    (void)names;
    (void)count;
    text_add(&words, cells[1]);
    for (size_t i = 2; i < 4; i++)
        if (*cells[i])
            text_add_format(&words, "%s%s", i == 2 || !*cells[2] ? " \u2014 " : ", ", cells[i]);
    text_add(out, "    ");
    wrap_add(out, words.failed ? "" : words.bytes, 4, 6);
    bool has_failed = words.failed || out->failed;
    text_clear(&words);
    return has_failed ? fail_memory(err) : STATUS_OK;
}

static enum status add_figures(const struct ledger_row *row, void *user, struct error *err)
{
    struct text *out = user;
    struct columns table = {.columns = 5, .is_right = {[2] = true, [3] = true}};
    static const char *const heads[] = {"  figure", "symbol", "value", "u", "unit"};
    for (size_t i = 0; i < 5; i++)
        columns_add_text(&table, heads[i]);
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &row->figures.list[i];
        struct display display;
        char name[80];
        if (!value->is_present)
            continue;
        display_set_figure(&display, (enum figure)i, value, DIGITS);
        snprintf(name, sizeof name, "  %s", figure_table[i].name);
        columns_add_text(&table, name);
        columns_add_text(&table, figure_table[i].symbol);
        columns_add_text(&table, display.value);
        columns_add_text(&table, display.u);
        columns_add_text(&table, *display.unit ? display.unit : " ");
    }
    text_add(out, "\n");
    columns_finish(&table, 0, out);
    return out->failed ? fail_memory(err) : STATUS_OK;
}

static enum status add_loop(
    struct ledger *ledger, long long id, struct text *out, struct error *err)
{
    struct ledger_row row = {0};
    enum status status = ledger_get_loop(ledger, id, &row, err);
    if (!status)
        status = add_figures(&row, out, err);
    return status;
}

/* Remarks or tags below a heading of their own, where there are any. */
static enum status add_part(struct ledger *ledger, enum ledger_kind kind, long long id,
    bool is_tags, struct text *out, struct error *err)
{
    struct text part = {0};
    enum status status = is_tags ? ledger_visit_tags(ledger, kind, id, add_words, &part, err)
                                 : ledger_visit_remarks(ledger, kind, id, add_words, &part, err);
    if (!status && part.length > 0)
        text_add_format(out, "  %s\n%s", is_tags ? "tags" : "remarks", part.bytes);
    text_clear(&part);
    return status;
}

static enum status find_subject(
    struct ledger *ledger, char **words, enum ledger_kind *kind, long long *id, struct error *err)
{
    enum status status = ledger_kind_read(words[0], kind, err);
    return status ? status : ledger_find_row(ledger, *kind, words[1], id, err);
}

/* Its loops below it. */
static enum status tell_loops(
    struct ledger *ledger, enum ledger_kind kind, long long id, struct error *err)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_search search = {.where = where,
        .has_old = kind >= LEDGER_KIND_SERIES, /* what it was made from, current or not */
        .sort = FIGURE_COUNT,
        .limit = LOOPS_MOST};
    enum status status = where ? ledger_where_add_row(where, kind, id, err) : fail_memory(err);
    if (!status)
        status = ledger_tell_loops(ledger, &search, err);
    ledger_where_destroy(where);
    return status;
}

static bool has_loops(enum ledger_kind kind)
{
    return kind != LEDGER_KIND_LOOP && kind != LEDGER_KIND_REMARK && kind != LEDGER_KIND_TAG &&
           kind != LEDGER_KIND_CHANGE;
}

static int run_show(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct text out = {0};
    enum ledger_kind kind = LEDGER_KIND_COUNT;
    long long id = 0;
    (void)options;
    (void)count;
    enum status status = find_subject(ledger, words, &kind, &id, err);
    if (!status) {
        text_add_format(&out, "%s\n", ledger_kind_get_name(kind));
        status = ledger_visit_row(ledger, kind, id, add_fields, &out, err);
    }
    if (!status)
        status = add_part(ledger, kind, id, true, &out, err);
    if (!status)
        status = add_part(ledger, kind, id, false, &out, err);
    if (!status && kind == LEDGER_KIND_LOOP)
        status = add_loop(ledger, id, &out, err);
    if (has_loops(kind))
        text_add(&out, "\n");
    if (!status)
        status = ledger_print(&out, err);
    if (!status && has_loops(kind))
        status = tell_loops(ledger, kind, id, err);
    text_clear(&out);
    return (int)status;
}

const struct ledger_mode ledger_mode_show = {
    .name = "show",
    .access = LEDGER_READ,
    .least = 2,
    .most = 2,
    .needs = "a kind and a name, such as 'heat H2291'",
    .run = run_show,
};

/* --- history --------------------------------------------------------------------------------- */

static void write_value(struct text *out, const struct tree_value *value)
{
    struct json json;
    json_init(&json, out, 0);
    if (value)
        tree_write_json(&json, NULL, value);
    else
        text_add(out, "nothing");
}

/* "      is_current: 1, then 0" for each column that differs. */
static enum status add_differences(
    struct text *out, const struct ledger_event *event, struct error *err)
{
    struct tree *before = NULL, *after = NULL;
    enum status status =
        tree_read_bytes("journal", event->before, strlen(event->before), &before, err);
    if (!status)
        status = tree_read_bytes("row", event->after, strlen(event->after), &after, err);
    const struct tree_value *old = before ? tree_get_root(before) : NULL;
    const struct tree_value *now = after ? tree_get_root(after) : NULL;
    for (size_t i = 0; !status && i < tree_get_count(now) + tree_get_count(old); i++) {
        bool is_old = i >= tree_get_count(now);
        const char *key =
            is_old ? tree_get_key_at(old, i - tree_get_count(now)) : tree_get_key_at(now, i);
        struct text first = {0}, second = {0};
        if (is_old && tree_get(now, key))
            continue;
        write_value(&first, tree_get(old, key));
        write_value(&second, tree_get(now, key));
        if (first.failed || second.failed)
            status = fail_memory(err);
        else if (strcmp(first.bytes, second.bytes) != 0)
            text_add_format(out, "      %s: %s, then %s\n", key, first.bytes, second.bytes);
        text_clear(&first);
        text_clear(&second);
    }
    tree_destroy(before);
    tree_destroy(after);
    return status;
}

static enum status add_event(const struct ledger_event *event, void *user, struct error *err)
{
    struct text *out = user;
    const char *kind = !strcmp(event->kind, "add")      ? "added"
                       : !strcmp(event->kind, "change") ? "changed"
                                                        : "removed";
    text_add_format(out, "  line %lld  %-7s  by change %lld: %s", event->line, kind,
        event->change_id, event->command);
    if (*event->day)
        text_add_format(out, ", %s", event->day);
    if (*event->person)
        text_add_format(out, ", %s", event->person);
    text_add_format(out, ", lodecard %s\n", event->program);
    if (event->before && event->after)
        return add_differences(out, event, err);
    return out->failed ? fail_memory(err) : STATUS_OK;
}

static int run_history(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    struct text out = {0};
    enum ledger_kind kind = LEDGER_KIND_COUNT;
    long long id = 0;
    (void)options;
    (void)count;
    enum status status = find_subject(ledger, words, &kind, &id, err);
    if (!status) {
        text_add_format(&out, "%s %lld\n", ledger_kind_get_name(kind), id);
        status = ledger_visit_history(ledger, kind, id, add_event, &out, err);
    }
    if (!status)
        status = ledger_print(&out, err);
    text_clear(&out);
    return (int)status;
}

const struct ledger_mode ledger_mode_history = {
    .name = "history",
    .access = LEDGER_READ,
    .least = 2,
    .most = 2,
    .needs = "a kind and a name, such as 'loop 12'",
    .run = run_history,
};
