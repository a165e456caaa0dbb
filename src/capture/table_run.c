// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_run.h"

#include <string.h>

#include "base/memory.h"
#include "capture/table_cell.h"

void table_run_clear(struct table_run *run)
{
    memory_destroy(run->tallies);
    *run = (struct table_run){0};
}

/* A line of numbers, readable or not. */
static bool is_row(const struct table_line *line)
{
    return !line->is_comment && line->values + line->broken > 0;
}

enum status table_line_is_header(
    const struct table_head *head, size_t index, bool *is_header, struct error *err)
{
    const struct table_line *line = &head->lines[index];
    *is_header = !line->is_comment && line->count > 1 && line->texts == line->count;
    if (!*is_header) {
        return STATUS_OK;
    }
    /* two alike make it "error;error": compare the first with the others */
    char *first = table_head_copy_cell(head, index, 0);
    bool failed = first == NULL;
    for (size_t i = 1; i < line->count && *is_header && !failed; i++) {
        char *other = table_head_copy_cell(head, index, i);
        failed = other == NULL;
        *is_header = failed || strcmp(first, other) != 0;
        memory_destroy(other);
    }
    memory_destroy(first);
    return failed ? fail_memory(err) : STATUS_OK;
}

/* --- the longest run --------------------------------------------------------------------------
 */

/* The next line at or behind `index` that is neither blank nor a comment. */
static size_t skip_gaps(const struct table_head *head, size_t index)
{
    while (
        index < head->count && (head->lines[index].count == 0 || head->lines[index].is_comment)) {
        index++;
    }
    return index;
}

/* A line with more numbers than texts counts for more than one with less: "rate;1000" and its like
 * may stand above a short table. */
static size_t get_score(const struct table_line *line)
{
    return line->values > line->texts ? 4 : 1;
}

/* How many cells most rows have. */
static size_t find_usual_count(const struct table_head *head)
{
    struct {
        size_t score;
        size_t values;
    } counts[TABLE_COLUMN_LIMIT + 1] = {{0}};
    size_t usual = 0;
    for (size_t i = 0; i < head->count; i++) {
        const struct table_line *line = &head->lines[i];
        if (is_row(line)) {
            counts[line->count].score += get_score(line);
            counts[line->count].values += line->values;
        }
    }
    for (size_t i = 1; i <= TABLE_COLUMN_LIMIT; i++) {
        bool is_tied = counts[i].score == counts[usual].score;
        if (counts[i].score > counts[usual].score ||
            (is_tied && counts[i].values > counts[usual].values)) {
            usual = i;
        }
    }
    return usual;
}

/* The run of rows with `columns` cells that begins at `begin`: its score; *end is behind it. */
static size_t follow(const struct table_head *head, size_t begin, size_t columns, size_t *end)
{
    size_t score = 0;
    size_t at = begin;
    while (at < head->count && is_row(&head->lines[at]) && head->lines[at].count == columns) {
        score += get_score(&head->lines[at]);
        *end = at + 1;
        at = skip_gaps(head, at + 1);
    }
    return score;
}

static void find_longest(const struct table_head *head, struct table_run *run)
{
    size_t most = 0;
    size_t at = skip_gaps(head, 0);
    run->columns = find_usual_count(head);
    while (at < head->count) {
        size_t end = at + 1;
        size_t score = follow(head, at, run->columns, &end);
        if (score > most) {
            most = score;
            run->begin = at;
            run->end = end;
        }
        at = skip_gaps(head, end);
    }
}

/* --- its columns ------------------------------------------------------------------------------
 */

static void add_line(struct table_run *run, const struct table_head *head, size_t index)
{
    const struct table_line *line = &head->lines[index];
    for (size_t i = 0; i < run->columns; i++) {
        unsigned kind = head->kinds[line->first + i];
        struct table_tally *tally = &run->tallies[i];
        tally->values += (kind & TABLE_KIND_VALUE) != 0;
        tally->numbers += (kind & TABLE_KIND_NUMBER) != 0;
        tally->points += (kind & TABLE_KIND_NUMBER) == TABLE_KIND_POINT;
        tally->commas += (kind & TABLE_KIND_NUMBER) == TABLE_KIND_COMMA;
        tally->grouped += (kind & TABLE_KIND_GROUPED) != 0;
        tally->broken += kind == TABLE_KIND_BROKEN;
        tally->texts += kind == 0;
        tally->empty += (kind & TABLE_KIND_EMPTY) != 0;
    }
}

bool table_tally_is_number(const struct table_tally *tally)
{
    return tally->values > tally->texts + tally->broken;
}

static void sum_up(struct table_run *run)
{
    bool has_broken = false;
    run->values = run->texts = 0;
    for (size_t i = 0; i < run->columns; i++) {
        const struct table_tally *tally = &run->tallies[i];
        has_broken = has_broken || (tally->broken > 0 && tally->broken >= tally->values);
        if (table_tally_is_number(tally)) {
            run->values += tally->values;
            run->texts += tally->texts;
        }
    }
    run->is_viable = run->values > 0 && !has_broken;
}

static enum status count_kinds(
    struct table_run *run, const struct table_head *head, struct error *err)
{
    run->rows = 0;
    memory_destroy(run->tallies);
    run->tallies = memory_create(run->columns, sizeof *run->tallies);
    if (run->tallies == NULL) {
        return fail_memory(err);
    }
    for (size_t i = run->begin; i < run->end; i++) {
        const struct table_line *line = &head->lines[i];
        if (!line->is_comment && line->count == run->columns) {
            add_line(run, head, i);
            run->rows++;
        }
    }
    sum_up(run);
    return STATUS_OK;
}

/* Text where the run has numbers. */
static bool is_odd(const struct table_run *run, const struct table_head *head, size_t index)
{
    const struct table_line *line = &head->lines[index];
    for (size_t i = 0; i < line->count && i < run->columns; i++) {
        if (head->kinds[line->first + i] == 0 && table_tally_is_number(&run->tallies[i])) {
            return true;
        }
    }
    return false;
}

/* --- where it begins --------------------------------------------------------------------------
 */

bool table_line_is_ruler(const struct table_head *head, size_t index)
{
    const char *at = head->text->bytes + head->text->begin + head->lines[index].offset;
    bool has_rule = false;
    for (; *at != '\n' && *at != '\r'; at++) {
        has_rule = has_rule || *at == '-' || *at == '=' || *at == '_';
        if (*at == '\0' || strchr("-=_+|:;, \t", *at) == NULL) {
            return false;
        }
    }
    return has_rule;
}

size_t table_line_step_back(const struct table_head *head, size_t index)
{
    while (index-- > 0) {
        const struct table_line *line = &head->lines[index];
        if (line->count > 0 && !line->is_comment && !table_line_is_ruler(head, index)) {
            return index;
        }
    }
    return TABLE_NO_LINE;
}

/* A header such as "time;1;2" counts as a row so far: its text says what it is, unless a header
 * stands above it. */
static enum status drop_header(
    struct table_run *run, const struct table_head *head, struct error *err)
{
    bool is_below_header = false;
    size_t above = table_line_step_back(head, run->begin);
    if (above != TABLE_NO_LINE && head->lines[above].count == run->columns) {
        enum status status = table_line_is_header(head, above, &is_below_header, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    while (!is_below_header && run->begin + 1 < run->end && is_odd(run, head, run->begin)) {
        run->begin = skip_gaps(head, run->begin + 1);
    }
    return STATUS_OK;
}

static size_t get_length(const char *line)
{
    size_t length = 0;
    while (line[length] != '\n' && line[length] != '\r') {
        length++;
    }
    return length;
}

/* Whether the same line stands further above: then it is the header of a second table. */
static bool is_repeated(const struct table_head *head, size_t index)
{
    const char *base = head->text->bytes + head->text->begin;
    const char *line = base + head->lines[index].offset;
    size_t length = get_length(line);
    for (size_t i = 0; i < index; i++) {
        const char *other = base + head->lines[i].offset;
        if (get_length(other) == length && memcmp(line, other, length) == 0) {
            return true;
        }
    }
    return false;
}

/* Takes up rows ahead of the run. Behind a line of text only rows with as many cells count, and
 * only if there are two of them or a header above: one line of numbers may well stand in a text. */
static enum status extend(struct table_run *run, const struct table_head *head, struct error *err)
{
    bool is_cut = false; /* by a line of text */
    size_t candidate = TABLE_NO_LINE;
    size_t i = table_line_step_back(head, run->begin);
    for (; i != TABLE_NO_LINE; i = table_line_step_back(head, i)) {
        const struct table_line *line = &head->lines[i];
        bool is_whole = line->count == run->columns;
        bool is_header;
        enum status status = table_line_is_header(head, i, &is_header, err);
        if (status == STATUS_OK && is_header && is_whole && !is_repeated(head, i)) {
            run->begin = candidate != TABLE_NO_LINE ? candidate : run->begin;
            return STATUS_OK;
        }
        if (status != STATUS_OK) {
            return status;
        }
        bool is_like = is_row(line) && !is_odd(run, head, i);
        bool is_missing = is_whole && line->texts == 0 && run->columns > 1;
        if (!is_cut && (is_like || is_missing)) {
            run->begin = i;
        } else if (is_like && is_whole) {
            run->begin = candidate != TABLE_NO_LINE ? i : run->begin;
            candidate = i;
        } else {
            is_cut = true;
        }
    }
    return STATUS_OK;
}

enum status table_run_find(struct table_run *run, const struct table_head *head, struct error *err)
{
    *run = (struct table_run){0};
    find_longest(head, run);
    if (run->columns == 0) {
        return STATUS_OK;
    }
    enum status status = count_kinds(run, head, err);
    if (status == STATUS_OK) {
        status = drop_header(run, head, err);
    }
    if (status == STATUS_OK) {
        status = extend(run, head, err);
    }
    if (status == STATUS_OK) {
        status = count_kinds(run, head, err);
    }
    return status;
}
