// SPDX-License-Identifier: GPL-3.0-or-later
/* Lines that may be anything: quoted and missing cells, comments, footers, numbers spelt in ways
 * that must not be guessed. A line is looked at as a whole before anything is taken from it. */
#include <math.h>
#include <string.h>

#include "capture/table_row.h"

static const char one_sign_hint[] =
    "write all numbers with one decimal sign and without thousands separators";
static const char plain_hint[] = "write numbers without blanks and without thousands separators";
static const char wide_hint[] =
    "decimal commas between comma separators, or a separator in a text without quotes, make too "
    "many cells";

/* What a line is like as a whole. */
struct look {
    const char *end; /* of the line */
    size_t cells;
    size_t newlines; /* inside quotes */
    bool has_value;  /* in any column */
    bool is_blank;
    bool is_all_empty;
    bool has_names; /* all cells are text, and none is like the first */
};

static enum status fail_cell(const struct table_rows *rows, size_t column, const char *hint,
    const char *what, const struct table_cell *cell, struct error *err)
{
    char place[TABLE_PLACE_SIZE];
    char quote[TABLE_QUOTE_SIZE];
    return fail(err, STATUS_INPUT, hint, "line %zu of '%s', %s: '%s' %s", rows->line,
        rows->text->path, table_column_get_place(rows->columns, column, place),
        table_quote(quote, cell->text, cell->length), what);
}

/* --- looking ----------------------------------------------------------------------------------
 */

/* A cell that cannot be taken: too long, or a quote without an end. */
static enum status fail_take(
    const struct table_rows *rows, enum table_take take, size_t column, struct error *err)
{
    char place[TABLE_PLACE_SIZE];
    table_column_get_place(rows->columns, column, place);
    if (take == TABLE_TAKE_OPEN) {
        return fail(err, STATUS_INPUT, "close the quote, or write a quote inside as \"\"",
            "line %zu of '%s', %s: a quote opens here and never closes", rows->line,
            rows->text->path, place);
    }
    return fail(err, STATUS_INPUT, "a quote that does not close makes long cells, too",
        "line %zu of '%s', %s: the cell is longer than %d bytes", rows->line, rows->text->path,
        place, TABLE_CELL_LIMIT);
}

static void start(struct table_rows *rows)
{
    const struct table_text *text = rows->text;
    table_cursor_init(
        &rows->cursor, text->bytes + text->begin, text->bytes + text->complete, rows->separator);
    rows->cursor.joins_dates = rows->joins_dates;
}

static enum status look_at(
    struct table_rows *rows, struct look *look, enum table_take *take, struct error *err)
{
    struct table_cell cell;
    char first[TABLE_CELL_LIMIT];
    size_t first_length = 0;
    *look = (struct look){.is_all_empty = true, .has_names = true};
    start(rows);
    *take = table_cursor_take(&rows->cursor, &cell);
    for (; *take == TABLE_TAKE_CELL; *take = table_cursor_take(&rows->cursor, &cell)) {
        unsigned kind = table_cell_find_kind(&cell);
        bool is_first = look->cells++ == 0;
        if (is_first) {
            memcpy(first, cell.text, cell.length);
            first_length = cell.length;
        }
        bool is_like_first =
            !is_first && cell.length == first_length && memcmp(cell.text, first, first_length) == 0;
        look->has_value = look->has_value || (kind & TABLE_KIND_VALUE) != 0;
        look->is_all_empty = look->is_all_empty && (kind & TABLE_KIND_EMPTY) != 0;
        look->has_names = look->has_names && kind == 0 && !is_like_first;
    }
    look->is_blank = look->is_all_empty && look->cells < 2;
    look->has_names = look->has_names && look->cells > 0;
    look->newlines = rows->cursor.newlines;
    look->end = rows->cursor.at;
    bool is_cut = *take == TABLE_TAKE_OPEN && !rows->text->is_at_end;
    return *take == TABLE_TAKE_END || is_cut ? STATUS_OK : fail_take(rows, *take, look->cells, err);
}

/* A comment is passed over as it is, whatever quotes are in it. */
static bool is_comment(struct table_rows *rows, const char **end)
{
    struct table_cell cell;
    start(rows);
    *end = rows->cursor.at;
    if (!table_is_comment(*end, rows->separator)) {
        return false;
    }
    bool is_taken = table_cursor_take(&rows->cursor, &cell) == TABLE_TAKE_CELL;
    while (**end != '\n' && **end != '\r') {
        ++*end;
    }
    return !is_taken || (table_cell_find_kind(&cell) & TABLE_KIND_MISSING) == 0;
}

/* --- taking -----------------------------------------------------------------------------------
 */

/* A decimal sign, where all numbers were whole before. */
static enum status settle_decimal(struct table_rows *rows, size_t column, unsigned kind,
    const struct table_cell *cell, struct error *err)
{
    if ((kind & TABLE_KIND_GROUPED) && rows->separator != ';') {
        return fail_cell(rows, column,
            "--decimal , makes it a decimal comma; thousands are not read: take their separators "
            "out",
            "may have a decimal comma or a thousands separator", cell, err);
    }
    rows->decimal = (kind & TABLE_KIND_POINT) ? '.' : ',';
    return STATUS_OK;
}

/* Digits that are not read must not pass for a missing sample. */
static enum status check_spelling(const struct table_rows *rows, size_t column, unsigned kind,
    const struct table_cell *cell, struct error *err)
{
    unsigned number = kind & TABLE_KIND_NUMBER;
    if (number == TABLE_KIND_COMMA && rows->decimal == '.') {
        return fail_cell(rows, column, one_sign_hint,
            "has a comma, but the decimal sign of this table is a point", cell, err);
    }
    if (number == TABLE_KIND_POINT && rows->decimal == ',') {
        return fail_cell(rows, column, one_sign_hint,
            "has a point, but the decimal sign of this table is a comma", cell, err);
    }
    if (kind == TABLE_KIND_BROKEN) {
        return fail_cell(rows, column, plain_hint, "cannot be read as a number", cell, err);
    }
    return STATUS_OK;
}

static void note_fault(struct table_rows *rows, size_t fault, const struct table_cell *cell)
{
    struct table_fault *noted = &rows->faults[fault];
    rows->is_missing = true;
    if (noted->count++ == 0) {
        noted->line = rows->line;
        table_quote(noted->quote, cell->text, cell->length);
    }
}

static bool read_cell(struct table_rows *rows, int slot, const struct table_cell *cell)
{
    double number;
    if (slot == TABLE_SLOT_TIME) {
        return table_time_read(
            &rows->time, cell->text, cell->length, rows->decimal, &rows->values[rows->slot_count]);
    }
    if (!table_cell_read_number(cell->text, cell->length, rows->decimal, &number)) {
        return false;
    }
    rows->values[slot] = table_scale_apply(&rows->scales[slot], number);
    return true;
}

/* Reads a wanted cell; one that is no number is missing, unless it is one spelt in another way. */
static enum status take_wanted(
    struct table_rows *rows, size_t column, const struct table_cell *cell, struct error *err)
{
    int slot = rows->slots[column];
    unsigned kind = table_cell_find_kind(cell);
    bool is_read = read_cell(rows, slot, cell);
    if (!is_read && (kind & TABLE_KIND_NUMBER) != 0 && rows->decimal == TABLE_DECIMAL_UNKNOWN) {
        enum status status = settle_decimal(rows, column, kind, cell, err);
        if (status != STATUS_OK) {
            return status;
        }
        is_read = read_cell(rows, slot, cell);
    }
    if (is_read) {
        return STATUS_OK;
    }
    note_fault(rows, slot == TABLE_SLOT_TIME ? rows->slot_count : (size_t)slot, cell);
    return check_spelling(rows, column, kind, cell, err);
}

static enum status fail_wide(
    const struct table_rows *rows, size_t column, const struct table_cell *cell, struct error *err)
{
    char quote[TABLE_QUOTE_SIZE];
    table_quote(quote, cell->text, cell->length);
    if (rows->columns->header_line == 0) {
        return fail(err, STATUS_INPUT, wide_hint,
            "line %zu of '%s', column %zu: '%s' is one cell more than the %zu of other lines",
            rows->line, rows->text->path, column + 1, quote, rows->columns->count);
    }
    return fail(err, STATUS_INPUT, wide_hint,
        "line %zu of '%s', column %zu: '%s' is one cell more than the %zu of the header on line "
        "%zu",
        rows->line, rows->text->path, column + 1, quote, rows->columns->count,
        rows->columns->header_line);
}

/* Reads the wanted cells of a row; those that it lacks are missing. */
static enum status take_row(struct table_rows *rows, struct error *err)
{
    struct table_cell cell;
    enum status status = STATUS_OK;
    size_t column = 0;
    rows->is_missing = false;
    rows->row_line = rows->line;
    for (size_t i = 0; i <= rows->slot_count; i++) {
        rows->values[i] = NAN;
    }
    start(rows);
    for (; status == STATUS_OK && table_cursor_take(&rows->cursor, &cell) == TABLE_TAKE_CELL;
         column++) {
        if (column >= rows->columns->count) {
            status = cell.length == 0 ? STATUS_OK : fail_wide(rows, column, &cell, err);
        } else if (rows->slots[column] != TABLE_SLOT_NONE) {
            status = take_wanted(rows, column, &cell, err);
        }
    }
    cell.length = 0;
    for (; status == STATUS_OK && column < rows->columns->count; column++) {
        int slot = rows->slots[column];
        if (slot != TABLE_SLOT_NONE) {
            note_fault(rows, slot == TABLE_SLOT_TIME ? rows->slot_count : (size_t)slot, &cell);
        }
    }
    return status;
}

/* --- a line -----------------------------------------------------------------------------------
 */

static enum table_line_form find_form(const struct table_rows *rows, const struct look *look)
{
    if (look->is_blank) {
        return TABLE_LINE_NONE;
    }
    bool is_whole = look->cells == rows->columns->count;
    bool is_missing_row = is_whole && !look->is_all_empty && !look->has_names;
    if (look->has_value || (is_missing_row && look->cells > 1)) {
        return TABLE_LINE_ROW;
    }
    return is_whole && look->has_names && look->cells > 1 ? TABLE_LINE_NAMES : TABLE_LINE_TEXT;
}

enum status table_row_read_careful(
    struct table_rows *rows, enum table_line_form *form, struct error *err)
{
    struct table_text *text = rows->text;
    struct look look = {0};
    enum table_take take = TABLE_TAKE_END;
    *form = TABLE_LINE_NONE;
    if (!is_comment(rows, &look.end)) {
        enum status status = look_at(rows, &look, &take, err);
        if (status == STATUS_OK && take == TABLE_TAKE_OPEN) {
            *form = TABLE_LINE_CUT;
            return STATUS_OK;
        }
        if (status == STATUS_OK) {
            *form = find_form(rows, &look);
            status = *form == TABLE_LINE_ROW ? take_row(rows, err) : STATUS_OK;
        }
        if (status != STATUS_OK) {
            return status;
        }
    }
    const char *limit = text->bytes + text->complete;
    text->begin = (size_t)(table_skip_line_end(look.end, limit) - text->bytes);
    rows->line += 1 + look.newlines;
    return STATUS_OK;
}
