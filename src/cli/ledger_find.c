// SPDX-License-Identifier: GPL-3.0-or-later
/* `ledger find`: loops that fulfil conditions, as a table, CSV or lines of JSON, or their heats. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "cli/csv_cell.h"
#include "cli/ledger.h"
#include "cli/ledger_find.h"
#include "cli/output.h"
#include "quantity/display.h"

#define FIGURES_MOST 12 /* columns of one table */
#define DIGITS 4

static enum status refuse_figure(const char *word, struct error *err)
{
    const char *names[FIGURE_COUNT + 1] = {0};
    char hint[160] = "docs/figures.md lists the figures";
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        names[i] = figure_table[i].word;
    const char *nearest = text_nearest(word, names);
    if (nearest)
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    return fail(err, STATUS_USAGE, hint, "there is no figure '%.80s'", word);
}

/* "coercivity,loop_area" or what people compare. */
static enum status read_columns(
    const char *words, enum figure *list, size_t *count, struct error *err)
{
    static const enum figure usual[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
        FIGURE_FLUX_DENSITY_PEAK, FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA};
    *count = 0;
    if (!words) {
        memcpy(list, usual, sizeof usual);
        *count = sizeof usual / sizeof *usual;
        return STATUS_OK;
    }
    for (const char *at = words; *at;) {
        size_t length = strcspn(at, ",");
        char word[80];
        snprintf(word, sizeof word, "%.*s", (int)(length < 79 ? length : 79), at);
        if (*count == FIGURES_MOST)
            return fail(err, STATUS_USAGE, "--csv has all of them",
                "--columns: a table has room for %d figures", FIGURES_MOST);
        list[*count] = figure_find(word);
        if (list[(*count)++] == FIGURE_COUNT)
            return refuse_figure(word, err);
        at += length + (at[length] == ',');
    }
    return STATUS_OK;
}

/* --- loops as a table ----------------------------------------------------------------------- */

struct listing {
    struct columns table;
    enum figure figures[FIGURES_MOST];
    size_t figure_count;
};

/* A cell of a figure's value with its unit, four digits; "-" without. */
static void add_figure(struct columns *table, enum figure figure, const struct figure_value *value)
{
    struct figure_value plain = *value;
    struct display display;
    plain.has_u = false;
    if (!plain.is_present) {
        columns_add(table, "-");
        return;
    }
    display_set_figure(&display, figure, &plain, DIGITS);
    columns_add(table, "%s%s%s", display.value, *display.unit ? " " : "", display.unit);
}

static enum status add_row(const struct ledger_row *row, void *user, struct error *err)
{
    struct listing *listing = user;
    struct columns *table = &listing->table;
    char id[32];
    snprintf(id, sizeof id, "%lld%s", row->id, row->is_current ? "" : " old");
    columns_add_text(table, id);
    columns_add_text(table, row->heat);
    columns_add_text(table, row->specimen);
    for (size_t i = 0; i < listing->figure_count; i++)
        add_figure(table, listing->figures[i], &row->figures.list[listing->figures[i]]);
    return table->words.failed ? fail_memory(err) : STATUS_OK;
}

static enum status tell_loops(struct ledger *ledger, const struct ledger_search *search,
    struct listing *listing, struct error *err)
{
    static const char *const heads[] = {"loop", "heat", "specimen"};
    size_t total = 0;
    struct text out = {0};
    listing->table.columns = 3 + listing->figure_count;
    for (size_t i = 0; i < listing->table.columns; i++)
        listing->table.is_right[i] = i == 0 || i > 2;
    for (size_t i = 0; i < 3; i++)
        columns_add_text(&listing->table, heads[i]);
    for (size_t i = 0; i < listing->figure_count; i++)
        columns_add_text(&listing->table, figure_table[listing->figures[i]].symbol);
    enum status status = ledger_count_loops(ledger, search, &total, err);
    if (!status)
        status = ledger_visit_loops(ledger, search, add_row, listing, err);
    size_t shown = listing->table.count / listing->table.columns - 1;
    if (!status && shown > 0)
        columns_finish(&listing->table, 0, &out);
    if (!status && shown < total)
        text_add_format(
            &out, "%zu of %zu loops; 'ledger find --limit 0' shows all\n", shown, total);
    else if (!status)
        text_add_format(&out, "%zu loop%s\n", total, total == 1 ? "" : "s");
    if (!status)
        status = ledger_print(&out, err);
    text_clear(&out);
    return status;
}

enum status ledger_tell_loops(
    struct ledger *ledger, const struct ledger_search *search, struct error *err)
{
    struct listing listing = {0};
    enum status status = read_columns(NULL, listing.figures, &listing.figure_count, err);
    if (!status)
        status = tell_loops(ledger, search, &listing, err);
    text_clear(&listing.table.words);
    return status;
}

/* --- statistics ------------------------------------------------------------------------------ */

static void add_lot(struct columns *table, const struct ledger_lot *lot, enum figure figure)
{
    const double numbers[] = {lot->mean, lot->deviation, lot->least, lot->most};
    columns_add(table, "%zu", lot->count);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        struct figure_value value = {.value = numbers[i], .is_present = isfinite(numbers[i])};
        add_figure(table, figure, &value);
    }
}

static enum status tell_lots(
    struct ledger *ledger, const struct ledger_where *where, enum figure figure, struct error *err)
{
    static const char *const heads[] = {
        "supplier", "alloy", "heat", "n", "mean", "s", "least", "most"};
    struct columns table = {
        .columns = 8, .is_right = {[3] = true, [4] = true, [5] = true, [6] = true, [7] = true}};
    struct ledger_lots lots = {0};
    struct text out = {0};
    enum status status = ledger_read_lots(ledger, where, figure, &lots, err);
    for (size_t i = 0; i < 8; i++)
        columns_add_text(&table, heads[i]);
    for (size_t i = 0; i < lots.count; i++) {
        columns_add_text(&table, lots.list[i].supplier);
        columns_add_text(&table, lots.list[i].alloy);
        columns_add_text(&table, lots.list[i].heat);
        add_lot(&table, &lots.list[i], figure);
    }
    if (lots.count > 1) {
        columns_add_text(&table, "all");
        columns_add_text(&table, "");
        columns_add_text(&table, "");
        add_lot(&table, &lots.all, figure);
    }
    if (!status) {
        text_add_format(&out, "%s\n", figure_table[figure].name);
        if (lots.count > 0)
            columns_finish(&table, 0, &out);
        else
            text_add(&out, "no loops\n");
        status = ledger_print(&out, err);
    }
    text_clear(&table.words);
    ledger_lots_clear(&lots);
    return status;
}

/* --- CSV and JSON ---------------------------------------------------------------------------- */

struct writing {
    struct output output;
    struct text line;
    bool is_csv;
};

static void add_csv_heading(struct text *out)
{
    text_add(out, "loop,file,sha256,supplier,alloy,heat,specimen,rig,calibration,program,notes");
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        text_add_format(out, ",%s,u_%s", figure_table[i].key, figure_table[i].key);
    text_add(out, "\n");
}

static void add_csv_line(struct text *out, const struct ledger_row *row)
{
    const char *texts[] = {row->file, row->sha256, row->supplier, row->alloy, row->heat,
        row->specimen, row->rig, row->calibration_day, row->program, row->note_codes};
    char number[TEXT_NUMBER_SIZE];
    text_add_format(out, "%lld", row->id);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        text_add(out, ",");
        csv_cell_add(out, texts[i]);
    }
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &row->figures.list[i];
        text_add_format(out, ",%s", value->is_present ? text_number(number, value->value) : "");
        text_add_format(out, ",%s", value->has_u ? text_number(number, value->u) : "");
    }
    text_add(out, "\n");
}

static enum status write_line(const struct ledger_row *row, void *user, struct error *err)
{
    struct writing *writing = user;
    add_csv_line(&writing->line, row);
    if (writing->line.failed)
        return fail_memory(err);
    output_add(&writing->output, writing->line.bytes, writing->line.length);
    writing->line.length = 0;
    return STATUS_OK;
}

enum status ledger_write_csv(
    struct ledger *ledger, const struct ledger_search *search, const char *path, struct error *err)
{
    struct writing writing = {.output = {.path = path}};
    enum status status = output_check(&path, 1, NULL, 0, err);
    if (!status) {
        add_csv_heading(&writing.line);
        status = ledger_visit_loops(ledger, search, write_line, &writing, err);
    }
    if (!status && writing.line.length > 0) /* no loop: the heading alone */
        output_add(&writing.output, writing.line.bytes, writing.line.length);
    if (!status)
        status = output_finish(&writing.output, err);
    output_clear(&writing.output);
    text_clear(&writing.line);
    return status;
}

/* --- the mode -------------------------------------------------------------------------------- */

enum status ledger_read_search(const struct ledger_command *options,
    const struct ledger_where *where, struct ledger_search *search, struct error *err)
{
    *search = (struct ledger_search){.where = where,
        .has_old = options->has_old,
        .sort = FIGURE_COUNT,
        .is_falling = options->is_falling,
        .limit = options->limit};
    if (!options->sort)
        return STATUS_OK;
    search->sort = figure_find(options->sort);
    return search->sort == FIGURE_COUNT ? refuse_figure(options->sort, err) : STATUS_OK;
}

static enum status find(const struct ledger_command *options, struct ledger *ledger,
    const struct ledger_where *where, struct error *err)
{
    struct listing listing = {0};
    struct ledger_search search;
    enum status status =
        read_columns(options->columns, listing.figures, &listing.figure_count, err);
    if (!status)
        status = ledger_read_search(options, where, &search, err);
    if (status)
        return status;
    if (options->has_statistics) {
        static const enum figure usual[] = {FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA};
        size_t count = options->columns ? listing.figure_count : 3;
        for (size_t i = 0; i < count && !status; i++)
            status =
                tell_lots(ledger, where, options->columns ? listing.figures[i] : usual[i], err);
        return status;
    }
    status = tell_loops(ledger, &search, &listing, err);
    text_clear(&listing.table.words);
    return status;
}

static int run_find(const struct ledger_command *options, struct ledger *ledger, int count,
    char **words, struct error *err)
{
    (void)count;
    (void)words;
    struct ledger_where *where = ledger_choice_read_where(&options->choice, err);
    if (!where)
        return (int)err->status;
    enum status status = find(options, ledger, where, err);
    ledger_where_destroy(where);
    return (int)status;
}

static const char *const own[] = {"where", "supplier", "alloy", "heat", "tag", "old", "columns",
    "sort", "falling", "limit", "statistics", NULL};
const struct ledger_mode ledger_mode_find = {
    .name = "find",
    .options = own,
    .access = LEDGER_READ,
    .needs = "its conditions as options",
    .run = run_find,
};
