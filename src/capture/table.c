// SPDX-License-Identifier: GPL-3.0-or-later
/* The reader of logger tables. docs/captures.md says what it reads in plain words.
 *
 *     table_text      the file as UTF-8, a window that slides forward
 *     table_head      its first lines taken apart under one separator: table_cell, table_clock
 *     table_run       where in them the rows of numbers are
 *     table_header    the line above that names the columns, and the row of units
 *     table_dialect   separator and decimal sign, found by trying; ambiguity is refused
 *     table_column    names and units of the columns: table_name; table_time reads the time column
 *     table_row       the rows, one by one: table_row_plain when nothing is unusual
 *     table_part      which of them are asked for
 */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "capture/reader.h"
#include "capture/table_column.h"
#include "capture/table_dialect.h"
#include "capture/table_part.h"
#include "capture/table_row.h"

#define MISSING_LINES 16
#define FORMAT_SIZE 80

struct table {
    struct table_text text;
    struct table_columns columns;
    struct capture_channel *channels; /* all columns but the time */
    size_t time_column;               /* TABLE_NO_COLUMN: none */
    char separator;
    char decimal;
    bool joins_dates;
    size_t first_line; /* number of the first row's */
    struct table_rows rows;
    size_t *order; /* which slot each delivered channel is */
    size_t selected;
    struct table_part part;
    bool has_ended;
    char format[FORMAT_SIZE];
    int64_t missing_lines[MISSING_LINES];
};

static bool table_is_mine(const unsigned char *head, size_t count)
{
    (void)head;
    return count > 0; /* the last reader of the list says itself what is no table */
}

static void table_close(struct capture *capture)
{
    struct table *table = capture->state;
    if (table == NULL) {
        return;
    }
    table_rows_clear(&table->rows);
    table_columns_clear(&table->columns);
    table_text_clear(&table->text);
    memory_destroy(table->channels);
    memory_destroy(table->order);
    memory_destroy(table);
    capture->state = NULL;
}

/* --- opening ----------------------------------------------------------------------------------
 */

/* Which column is the time, if one is asked for or found. */
static enum status find_time(struct capture *capture, struct error *err)
{
    struct table *table = capture->state;
    const struct capture_options *options = &capture->options;
    table->time_column = TABLE_NO_COLUMN;
    if (options->is_trace) {
        return STATUS_OK;
    }
    if (options->time_column != NULL) {
        return table_columns_find(
            &table->columns, capture->path, options->time_column, &table->time_column, err);
    }
    if (options->sample_rate_Hz > 0) {
        return STATUS_OK;
    }
    return table_columns_find_time(&table->columns, capture->path, &table->time_column, err);
}

/* The time column's unit, unless its cells are clocks. */
static enum status check_time_unit(
    const struct capture *capture, const struct table_time *time, struct error *err)
{
    const struct table *table = capture->state;
    const struct table_name *name = &table->columns.list[table->time_column].name;
    char place[TABLE_PLACE_SIZE];
    if (time->form == TABLE_TIME_CLOCK) {
        return STATUS_OK;
    }
    if (name->has_unit && name->dimension != DIMENSION_TIME) {
        return fail(err, STATUS_INPUT, "name another column as the time",
            "%s of '%s' is %s, not a time",
            table_column_get_place(&table->columns, table->time_column, place), capture->path,
            dimension_get_name(name->dimension));
    }
    return table_column_check(&table->columns, capture->path, table->time_column, err);
}

/* Reads the times of the head, to know their step and whether they can be read at all. */
static enum status look_at_times(
    struct capture *capture, const struct table_dialect *dialect, struct error *err)
{
    struct table *table = capture->state;
    struct table_time time;
    bool has_short_clock = false;
    size_t line = 0;
    char quote[TABLE_QUOTE_SIZE] = "";
    table_time_init(&time, table_column_get_scale(&table->columns.list[table->time_column]));
    for (size_t i = dialect->run.begin; i < dialect->run.end; i++) {
        double seconds;
        if (dialect->head.lines[i].is_comment) {
            continue;
        }
        char *cell = table_head_copy_cell(&dialect->head, i, table->time_column);
        if (cell == NULL) {
            return fail_memory(err);
        }
        bool is_read = table_time_read(&time, cell, strlen(cell), table->decimal, &seconds);
        if (is_read && time.form == TABLE_TIME_CLOCK && !time.has_hours && line == 0) {
            has_short_clock = true;
            line = dialect->head.lines[i].number;
            table_quote(quote, cell, strlen(cell));
        }
        memory_destroy(cell);
    }
    if (has_short_clock && time.clock_quantum_s >= 1) {
        char place[TABLE_PLACE_SIZE];
        return fail(err, STATUS_INPUT,
            "write hh:mm:ss or mm:ss.s, or leave the column out and give the sample rate",
            "line %zu of '%s', %s: '%s' may be hours and minutes or minutes and seconds", line,
            capture->path, table_column_get_place(&table->columns, table->time_column, place),
            quote);
    }
    capture->info.time_quantum_s = table_time_get_quantum(&time);
    return check_time_unit(capture, &time, err);
}

static enum status set_channels(struct capture *capture, struct error *err)
{
    struct table *table = capture->state;
    size_t count = 0;
    table->channels = memory_create(table->columns.count, sizeof *table->channels);
    if (table->channels == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < table->columns.count; i++) {
        const struct table_column *column = &table->columns.list[i];
        if (i != table->time_column) {
            table->channels[count++] = (struct capture_channel){.name = column->name.name,
                .header = column->header,
                .column = i + 1,
                .dimension = column->name.dimension,
                .has_unit = column->name.has_unit,
                .unit = column->name.unit,
                .trouble = table_column_get_trouble(column)};
        }
    }
    if (count == 0) {
        return fail(err, STATUS_INPUT, "a loop needs two more: current and pickup voltage",
            "'%s' has no column but the time", capture->path);
    }
    capture->info.channels = table->channels;
    capture->info.channel_count = count;
    return STATUS_OK;
}

static void set_format(struct capture *capture)
{
    struct table *table = capture->state;
    snprintf(table->format, sizeof table->format, "table, %s, %s, %s",
        table_separator_get_name(table->separator), table_decimal_get_name(table->decimal),
        table_encoding_get_name(table->text.encoding));
    capture->info.format = table->format;
}

static enum status set_timing(struct capture *capture, struct error *err)
{
    const struct table *table = capture->state;
    const struct capture_options *options = &capture->options;
    struct capture_info *info = &capture->info;
    info->timing = CAPTURE_TIMING_NONE;
    if (table->time_column != TABLE_NO_COLUMN) {
        info->timing = CAPTURE_TIMING_ROWS;
    } else if (!options->is_trace && options->sample_rate_Hz > 0) {
        info->timing = CAPTURE_TIMING_RATE;
        info->sample_rate_Hz = options->sample_rate_Hz;
    } else if (options->start_s > 0 || options->length_s > 0) {
        return fail(err, STATUS_USAGE,
            options->is_trace ? "leave out start and length"
                              : "name the time column or the sample rate in the rig",
            "cannot take a part of '%s': it has no time axis", capture->path);
    }
    return STATUS_OK;
}

/* Everything that the head tells. */
static enum status read_head(struct capture *capture, struct error *err)
{
    struct table *table = capture->state;
    struct table_dialect dialect = {0};
    enum status status = table_dialect_find(&dialect, &table->text, &capture->options, err);
    if (status == STATUS_OK) {
        status = table_columns_init(&table->columns, &dialect, err);
    }
    if (status == STATUS_OK) {
        const struct table_line *first = &dialect.head.lines[dialect.run.begin];
        table->separator = dialect.separator;
        table->decimal = dialect.decimal;
        table->joins_dates = dialect.joins_dates;
        table->first_line = first->number;
        status = find_time(capture, err);
    }
    if (status == STATUS_OK && table->time_column != TABLE_NO_COLUMN) {
        status = look_at_times(capture, &dialect, err);
    }
    if (status == STATUS_OK) {
        table->text.begin += dialect.head.lines[dialect.run.begin].offset;
    }
    table_dialect_clear(&dialect);
    return status;
}

static enum status open_table(struct capture *capture, struct error *err)
{
    struct table *table = capture->state;
    enum status status =
        table_text_init(&table->text, capture->source, capture->path, TABLE_HEAD_LINES, err);
    if (status == STATUS_OK) {
        status = read_head(capture, err);
    }
    if (status == STATUS_OK) {
        status = set_timing(capture, err);
    }
    if (status == STATUS_OK) {
        status = set_channels(capture, err);
    }
    if (status == STATUS_OK) {
        set_format(capture);
        capture->info.kind = CAPTURE_TABLE;
        capture->info.frames_expected = -1;
        capture->info.missing_lines = table->missing_lines;
        table_part_init(&table->part, &capture->options, capture->info.sample_rate_Hz);
    }
    return status;
}

static enum status table_open(struct capture *capture, struct error *err)
{
    struct table *table = memory_create(1, sizeof *table);
    if (table == NULL) {
        return fail_memory(err);
    }
    capture->state = table;
    enum status status = open_table(capture, err);
    if (status != STATUS_OK) {
        table_close(capture);
    }
    return status;
}

/* --- choosing channels ------------------------------------------------------------------------
 */

/* A slot for every column that is wanted, however often; returns how many there are. */
static size_t set_slots(
    const struct table *table, int *slots, size_t *order, const size_t *indices, size_t count)
{
    size_t slot_count = 0;
    for (size_t i = 0; i < table->columns.count; i++) {
        slots[i] = i == table->time_column ? TABLE_SLOT_TIME : TABLE_SLOT_NONE;
    }
    for (size_t i = 0; i < count; i++) {
        int *slot = &slots[table->channels[indices[i]].column - 1];
        if (*slot == TABLE_SLOT_NONE) {
            *slot = (int)slot_count++;
        }
        order[i] = (size_t)*slot;
    }
    return slot_count;
}

static enum status table_select(
    struct capture *capture, const size_t *indices, size_t count, struct error *err)
{
    struct table *table = capture->state;
    for (size_t i = 0; i < count; i++) {
        size_t column = table->channels[indices[i]].column - 1;
        enum status status = table_column_check(&table->columns, capture->path, column, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    int *slots = memory_create(table->columns.count, sizeof *slots);
    size_t *order = memory_create(count, sizeof *order);
    if (slots == NULL || order == NULL) {
        memory_destroy(slots);
        memory_destroy(order);
        return fail_memory(err);
    }
    size_t slot_count = set_slots(table, slots, order, indices, count);
    memory_destroy(table->order);
    table->order = order;
    table->selected = count;
    table_rows_clear(&table->rows);
    table->rows = (struct table_rows){.text = &table->text,
        .columns = &table->columns,
        .separator = table->separator,
        .decimal = table->decimal,
        .joins_dates = table->joins_dates,
        .line = table->first_line};
    if (table->time_column != TABLE_NO_COLUMN) {
        table_time_init(
            &table->rows.time, table_column_get_scale(&table->columns.list[table->time_column]));
    }
    return table_rows_init(&table->rows, slots, slot_count, err);
}

/* --- reading ----------------------------------------------------------------------------------
 */

/* Reads rows until one is inside the part; *got is false at its end. */
static enum status get_row(struct capture *capture, bool *got, struct error *err)
{
    struct table *table = capture->state;
    for (;;) {
        enum status status = table_rows_next(&table->rows, got, err);
        if (status != STATUS_OK || !*got) {
            return status;
        }
        double seconds = table->rows.values[table->rows.slot_count];
        enum table_place place = table_part_find(&table->part, seconds);
        if (place != TABLE_PLACE_AHEAD) {
            *got = place == TABLE_PLACE_INSIDE;
            return STATUS_OK;
        }
    }
}

static void note_missing(struct capture *capture)
{
    struct table *table = capture->state;
    struct capture_info *info = &capture->info;
    info->missing++;
    if (info->missing_line_count < MISSING_LINES && table->rows.row_line > 0) {
        table->missing_lines[info->missing_line_count++] = (int64_t)table->rows.row_line;
    }
}

/* The end of the table or of the part that is asked for. */
static enum status end(struct capture *capture, struct error *err)
{
    struct table *table = capture->state;
    table->has_ended = true;
    table->decimal = table->rows.decimal;
    set_format(capture);
    enum status status = table_part_check(&table->part, capture->path, err);
    return status == STATUS_OK ? table_rows_check(&table->rows, err) : status;
}

static void put_row(const struct table *table, double *values, double *seconds)
{
    for (size_t i = 0; i < table->selected; i++) {
        values[i] = table->rows.values[table->order[i]];
    }
    if (seconds != NULL && table->time_column != TABLE_NO_COLUMN) {
        *seconds = table->rows.values[table->rows.slot_count];
    }
}

static enum status table_read(struct capture *capture, size_t frames, double *values, double *times,
    size_t *got, struct error *err)
{
    struct table *table = capture->state;
    size_t have = 0;
    while (have < frames && !table->has_ended) {
        bool is_row;
        enum status status = get_row(capture, &is_row, err);
        if (status == STATUS_OK && !is_row) {
            status = end(capture, err);
        } else if (status == STATUS_OK) {
            put_row(table, values + have * table->selected, times == NULL ? NULL : times + have);
            have++;
            if (table->rows.is_missing) {
                note_missing(capture);
            }
        }
        if (status != STATUS_OK) {
            return status;
        }
    }
    if (table->time_column != TABLE_NO_COLUMN) {
        capture->info.time_quantum_s = table_time_get_quantum(&table->rows.time);
    }
    capture->info.frames += (int64_t)have;
    *got = have;
    return STATUS_OK;
}

const struct reader reader_table = {
    .name = "table",
    .is_mine = table_is_mine,
    .open = table_open,
    .select = table_select,
    .read = table_read,
    .close = table_close,
};
