// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_header.h"

#include <ctype.h>
#include <string.h>

#include "base/memory.h"
#include "capture/table_name.h"

/* --- the cells of a line ----------------------------------------------------------------------
 */

static void clear_cells(struct table_cells *cells)
{
    for (size_t i = 0; i < cells->count; i++) {
        memory_destroy(cells->list[i]);
    }
    memory_destroy(cells->list);
    *cells = (struct table_cells){0};
}

void table_header_clear(struct table_header *header)
{
    clear_cells(&header->names);
    clear_cells(&header->units);
}

static bool add_cell(struct table_cells *cells, char *cell)
{
    if (cell != NULL) {
        cells->list[cells->count++] = cell;
    }
    return cell != NULL;
}

/* All cells of a line, without empty ones at its end. */
static bool read_cells(const struct table_head *head, size_t line, struct table_cells *cells)
{
    size_t count = head->lines[line].count;
    cells->list = memory_create(count, sizeof *cells->list);
    if (cells->list == NULL) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        if (!add_cell(cells, table_head_copy_cell(head, line, i))) {
            return false;
        }
    }
    while (cells->count > 0 && cells->list[cells->count - 1][0] == '\0') {
        memory_destroy(cells->list[--cells->count]);
    }
    return true;
}

/* --- names that are parted by blanks and have blanks inside -----------------------------------
 */

enum parting {
    PARTING_WORDS,    /* every blank parts, but for those ahead of a bracket and beside a stroke */
    PARTING_WIDE,     /* two blanks or a tab part */
    PARTING_BRACKETS, /* a blank behind a closing bracket parts */
    PARTING_COUNT
};

/* Whether the blanks from `from` to `to` part two names. */
static bool parts(const char *line, size_t from, size_t to, int depth, enum parting parting)
{
    char before = from > 0 ? line[from - 1] : '\0';
    char behind = line[to];
    switch (parting) {
    case PARTING_WORDS:
        return depth == 0 && before != '/' && strchr("([/", behind) == NULL;
    case PARTING_WIDE:
        return to - from > 1 || line[from] == '\t';
    default:
        return before == ')' || before == ']';
    }
}

static bool part_line(const char *line, enum parting parting, struct table_cells *cells)
{
    size_t length = strlen(line);
    size_t begin = strspn(line, " \t");
    int depth = 0;
    cells->list = memory_create(length + 1, sizeof *cells->list);
    if (cells->list == NULL) {
        return false;
    }
    for (size_t i = begin; i <= length; i++) {
        size_t blanks = strspn(line + i, " \t");
        bool is_end = i + blanks >= length;
        depth += (line[i] == '(' || line[i] == '[') - (line[i] == ')' || line[i] == ']');
        if (!is_end && (blanks == 0 || !parts(line, i, i + blanks, depth, parting))) {
            i += blanks > 0 ? blanks - 1 : 0;
            continue;
        }
        if (i > begin) {
            char *cell = memory_create(i - begin + 1, 1);
            if (!add_cell(cells, cell)) {
                return false;
            }
            memcpy(cell, line + begin, i - begin);
        }
        i += blanks;
        begin = i--;
        if (is_end) {
            break;
        }
    }
    return true;
}

/* The names of a line, parted in the way that gives `columns` of them, if there is one. */
static enum status read_names(const struct table_head *head, size_t line, size_t columns,
    struct table_cells *cells, struct error *err)
{
    if (!read_cells(head, line, cells)) {
        return fail_memory(err);
    }
    if (cells->count == columns || head->separator != ' ') {
        return STATUS_OK;
    }
    char *words = table_head_copy_line(head, line);
    if (words == NULL) {
        return fail_memory(err);
    }
    bool failed = false;
    for (int i = 0; i < PARTING_COUNT && !failed && cells->count != columns; i++) {
        struct table_cells other = {0};
        failed = !part_line(words, (enum parting)i, &other);
        if (!failed && other.count == columns) {
            struct table_cells old = *cells;
            *cells = other;
            other = old;
        }
        clear_cells(&other);
    }
    memory_destroy(words);
    return failed ? fail_memory(err) : STATUS_OK;
}

/* --- judging lines ----------------------------------------------------------------------------
 */

static bool is_units(const struct table_cells *cells)
{
    size_t found = 0;
    for (size_t i = 0; i < cells->count; i++) {
        bool is_blank;
        if (!table_name_is_unit(cells->list[i], &is_blank)) {
            return false;
        }
        found += !is_blank;
    }
    return found > 0;
}

/* Units, or a column called time: no free text has them. */
static enum status find_marks(const struct table_cells *cells, bool *has_marks, struct error *err)
{
    *has_marks = false;
    for (size_t i = 0; i < cells->count && !*has_marks; i++) {
        struct table_name name;
        bool failed = !table_name_init(&name, cells->list[i]);
        *has_marks = !failed && (name.has_unit || table_name_is_time(&name));
        table_name_clear(&name);
        if (failed) {
            return fail_memory(err);
        }
    }
    return STATUS_OK;
}

/* Columns at the rows' end that are always empty come from separators at their end. */
static size_t count_columns(const struct table_run *run)
{
    size_t count = run->columns;
    while (count > 1 && run->tallies[count - 1].empty == run->rows) {
        count--;
    }
    return count;
}

static enum status fail_narrow(const struct table_head *head, const struct table_run *run,
    size_t line, size_t names, struct error *err)
{
    size_t columns = count_columns(run);
    bool is_doubled = head->separator == ',' && columns == 2 * names;
    size_t row = run->begin;
    while (head->lines[row].count != run->columns) {
        row++;
    }
    return fail(err, STATUS_INPUT,
        is_doubled ? "commas may be both separators and decimal signs here: export the table with "
                     "semicolons, or with decimal points"
                   : "name every column, or take the header out",
        "line %zu of '%s' has %zu cells, but the header on line %zu has %zu",
        head->lines[row].number, head->text->path, columns, head->lines[line].number, names);
}

/* Takes the cells of a line as the header, if they can be it. */
static enum status judge(struct table_header *header, const struct table_head *head,
    const struct table_run *run, size_t line, struct table_cells *cells, struct error *err)
{
    size_t columns = count_columns(run);
    size_t values = head->lines[line].values;
    bool has_marks;
    bool is_header;
    enum status status = find_marks(cells, &has_marks, err);
    if (status == STATUS_OK) {
        status = table_line_is_header(head, line, &is_header, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    bool is_loose = head->separator == ' ' || head->lines[line].is_comment;
    if (!is_loose && has_marks && cells->count > 1 && cells->count < columns) {
        return fail_narrow(head, run, line, cells->count, err);
    }
    bool may_have_values = has_marks || header->units.count > 0; /* "time;1;2" */
    bool is_fit = cells->count == columns && (values == 0 || (may_have_values && values < columns));
    bool is_wider = !is_loose && cells->count > columns && columns > 1 && is_header;
    if (is_fit || is_wider) {
        header->line = line;
        header->names = *cells;
        header->columns = cells->count;
        *cells = (struct table_cells){0};
    }
    return STATUS_OK;
}

/* --- finding the lines ------------------------------------------------------------------------
 */

/* The nearest comment above `index` with nothing but comments and blank lines between. */
static size_t find_comment(const struct table_head *head, size_t index)
{
    while (index-- > 0) {
        if (head->lines[index].is_comment) {
            return index;
        }
        if (head->lines[index].count > 0 && !table_line_is_ruler(head, index)) {
            break;
        }
    }
    return TABLE_NO_LINE;
}

/* Takes the line as the row of units, if it is one. */
static enum status try_units(struct table_header *header, const struct table_head *head,
    const struct table_run *run, size_t line, bool *is_taken, struct error *err)
{
    struct table_cells cells = {0};
    enum status status = read_names(head, line, count_columns(run), &cells, err);
    *is_taken = status == STATUS_OK && cells.count > 0 && cells.count <= head->lines[line].count &&
                is_units(&cells) && head->lines[line].count >= count_columns(run);
    if (*is_taken) {
        header->units = cells;
        return STATUS_OK;
    }
    clear_cells(&cells);
    return status;
}

static enum status try_names(struct table_header *header, const struct table_head *head,
    const struct table_run *run, size_t line, struct error *err)
{
    struct table_cells cells = {0};
    enum status status = read_names(head, line, count_columns(run), &cells, err);
    if (status == STATUS_OK) {
        status = judge(header, head, run, line, &cells, err);
    }
    clear_cells(&cells);
    return status;
}

/* The names above line `index`: a plain line, else a comment. */
static enum status find_names(struct table_header *header, const struct table_head *head,
    const struct table_run *run, size_t index, struct error *err)
{
    size_t plain = table_line_step_back(head, index);
    size_t comment = find_comment(head, index);
    enum status status = STATUS_OK;
    if (plain != TABLE_NO_LINE) {
        status = try_names(header, head, run, plain, err);
    }
    bool is_open = status == STATUS_OK && header->line == TABLE_NO_LINE;
    if (is_open && comment != TABLE_NO_LINE && run->columns > 1) {
        status = try_names(header, head, run, comment, err);
    }
    return status;
}

enum status table_header_find(struct table_header *header, const struct table_head *head,
    const struct table_run *run, struct error *err)
{
    header->line = TABLE_NO_LINE;
    header->columns = count_columns(run);
    size_t plain = table_line_step_back(head, run->begin);
    size_t comment = find_comment(head, run->begin);
    const size_t candidates[] = {comment, plain};
    size_t below = run->begin;
    bool has_units = false;
    enum status status = STATUS_OK;
    for (int i = 0; i < 2 && status == STATUS_OK && !has_units; i++) {
        if (candidates[i] != TABLE_NO_LINE) {
            status = try_units(header, head, run, candidates[i], &has_units, err);
            below = has_units ? candidates[i] : below;
        }
    }
    if (status == STATUS_OK) {
        status = find_names(header, head, run, below, err);
    }
    return status;
}
