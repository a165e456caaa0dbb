// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_dialect.h"

#include <string.h>

#include "base/memory.h"
#include "capture/table_cell.h"

/* In the order of preference where two give the same numbers. */
static const char separators[] = {';', '\t', ',', ' ', TABLE_ONE_COLUMN};
#define SEPARATOR_COUNT (sizeof separators)
#define AT_COMMA 2
#define AT_BLANK 3
#define AT_ONE_COLUMN 4

/* The head under every separator. */
struct trial {
    struct table_head head;
    struct table_run run;
    struct table_header header;
    bool is_tried;
};

static const char settle_hint[] =
    "--separator , makes columns of it, --decimal , a decimal comma; thousands are not read: take "
    "their separators out";
static const char thousands_hint[] =
    "--decimal , makes it a decimal comma; thousands are not read: take their separators out";

const char *table_separator_get_name(char separator)
{
    switch (separator) {
    case ';':
        return "semicolons";
    case '\t':
        return "tabs";
    case ',':
        return "commas";
    case ' ':
        return "blanks";
    default:
        return "one column";
    }
}

const char *table_decimal_get_name(char decimal)
{
    if (decimal == TABLE_DECIMAL_UNKNOWN) {
        return "whole numbers";
    }
    return decimal == ',' ? "decimal commas" : "decimal points";
}

static void clear_trial(struct trial *trial)
{
    table_header_clear(&trial->header);
    table_run_clear(&trial->run);
    table_head_clear(&trial->head);
}

void table_dialect_clear(struct table_dialect *dialect)
{
    table_header_clear(&dialect->header);
    table_run_clear(&dialect->run);
    table_head_clear(&dialect->head);
    *dialect = (struct table_dialect){0};
}

/* --- trying -----------------------------------------------------------------------------------
 */

static enum status try(struct trial *trial, const struct table_text *text, struct error *err)
{
    trial->is_tried = true;
    enum status status = table_head_read(&trial->head, text, err);
    return status == STATUS_OK ? table_run_find(&trial->run, &trial->head, err) : status;
}

static enum status try_all(struct trial trials[SEPARATOR_COUNT], const struct table_text *text,
    const struct capture_options *options, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; i < SEPARATOR_COUNT && status == STATUS_OK; i++) {
        struct trial *trial = &trials[i];
        if (options->separator != '\0' && options->separator != separators[i]) {
            continue;
        }
        trial->head.separator = separators[i];
        trial->head.decimal = options->decimal;
        status = try(trial, text, err);
    }
    return status;
}

static bool is_usable(const struct trial *trial)
{
    return trial->is_tried && trial->run.is_viable && trial->run.begin < TABLE_SEARCH_LINES;
}

/* A separator that stands in no row is none, unless the user named it. */
static bool parts_cells(const struct trial *trial, const struct capture_options *options)
{
    return trial->run.columns > 1 || trial->head.separator == TABLE_ONE_COLUMN ||
           options->separator != '\0';
}

/* The trial that gives the most numbers; NULL when none gives any. */
static struct trial *choose(
    struct trial trials[SEPARATOR_COUNT], const struct capture_options *options)
{
    struct trial *best = NULL;
    for (size_t i = 0; i < SEPARATOR_COUNT; i++) {
        const struct table_run *run = &trials[i].run;
        bool is_better = is_usable(&trials[i]) && parts_cells(&trials[i], options) &&
                         (best == NULL || run->values > best->run.values ||
                             (run->values == best->run.values && run->texts < best->run.texts));
        best = is_better ? &trials[i] : best;
    }
    return best;
}

/* Blanks may part a date from its clock, or stand inside "2024-05-06 10:00:00": a header that has
 * one cell less than the rows have tells. */
static enum status settle_dates(
    struct trial trials[SEPARATOR_COUNT], struct trial *chosen, struct error *err)
{
    if (chosen != &trials[AT_BLANK] || chosen->header.line != TABLE_NO_LINE) {
        return STATUS_OK;
    }
    struct trial joined = {
        .head = {.separator = ' ', .decimal = chosen->head.decimal, .joins_dates = true}};
    enum status status = try(&joined, chosen->head.text, err);
    if (status == STATUS_OK && is_usable(&joined)) {
        status = table_header_find(&joined.header, &joined.head, &joined.run, err);
    }
    bool is_better = status == STATUS_OK && is_usable(&joined) &&
                     joined.header.line != TABLE_NO_LINE &&
                     joined.run.columns + 1 == chosen->run.columns;
    if (is_better) {
        struct trial other = *chosen;
        *chosen = joined;
        joined = other;
    }
    clear_trial(&joined);
    return status;
}

/* --- cells to show ----------------------------------------------------------------------------
 */

/* The first cell of the rows whose kind, of the bits in `mask`, is `kind`; false when there is
 * none. */
static bool find_cell(
    const struct trial *trial, unsigned mask, unsigned kind, size_t *line, size_t *column)
{
    for (size_t i = trial->run.begin; i < trial->run.end; i++) {
        const struct table_line *row = &trial->head.lines[i];
        for (size_t j = 0; j < row->count && !row->is_comment; j++) {
            if ((trial->head.kinds[row->first + j] & mask) == kind) {
                *line = i;
                *column = j;
                return true;
            }
        }
    }
    return false;
}

static const char *quote_cell(
    const struct trial *trial, size_t line, size_t column, char buffer[TABLE_QUOTE_SIZE])
{
    char *cell = table_head_copy_cell(&trial->head, line, column);
    table_quote(buffer, cell == NULL ? "" : cell, cell == NULL ? 0 : strlen(cell));
    memory_destroy(cell);
    return buffer;
}

/* --- when there is no table -------------------------------------------------------------------
 */

static enum status fail_broken(const struct trial *trial, struct error *err)
{
    char quote[TABLE_QUOTE_SIZE];
    size_t line = trial->run.begin;
    size_t column = 0;
    find_cell(trial, TABLE_KIND_BROKEN, TABLE_KIND_BROKEN, &line, &column);
    quote_cell(trial, line, column, quote);
    return fail(err, STATUS_INPUT,
        "write numbers without thousands separators, all with the same decimal sign; --decimal and "
        "--separator say how the table is written",
        "line %zu of '%s', column %zu: '%s' cannot be read as a number",
        trial->head.lines[line].number, trial->head.text->path, column + 1, quote);
}

static enum status fail_without_table(
    struct trial trials[SEPARATOR_COUNT], const struct table_text *text, struct error *err)
{
    const struct trial *broken = NULL;
    for (size_t i = 0; i < SEPARATOR_COUNT; i++) {
        const struct trial *trial = &trials[i];
        if (trial->is_tried && trial->head.wide_line > 0 && separators[i] != ' ') {
            return fail(err, STATUS_INPUT, "export fewer columns",
                "line %zu of '%s' has more than %d cells", trial->head.wide_line, text->path,
                TABLE_COLUMN_LIMIT);
        }
        bool has_rows = trial->is_tried && trial->run.columns > 0 && !trial->run.is_viable &&
                        trial->run.begin < TABLE_SEARCH_LINES;
        if (has_rows && (broken == NULL || broken->run.columns < trial->run.columns)) {
            broken = trial;
        }
    }
    if (broken != NULL) {
        return fail_broken(broken, err);
    }
    size_t lines = 0;
    for (size_t i = 0; i < SEPARATOR_COUNT; i++) {
        lines = trials[i].head.count > lines ? trials[i].head.count : lines;
    }
    return fail(err, STATUS_INPUT,
        "a table needs rows of numbers, parted by commas, semicolons, tabs or blanks; recordings "
        "must be in a container that libsndfile reads",
        "'%s' is neither a recording nor a table: none of its first %zu lines is a row of numbers",
        text->path, lines < TABLE_SEARCH_LINES ? lines : (size_t)TABLE_SEARCH_LINES);
}

/* --- ambiguity --------------------------------------------------------------------------------
 */

/* One to three digits that do not begin with 0, then groups of a sign and three digits, to the end
 * of the line: 1,234,567. With points in the groups a comma and more digits stand at the end:
 * 1.234,56. */
static bool is_grouped_line(const char *at)
{
    size_t digits = 0;
    size_t groups = 0;
    size_t rest = 0; /* digits behind the comma of 1.234,56 */
    at += *at == '-' || *at == '+';
    char sign = *at == '0' ? '\0' : at[strspn(at, "0123456789")];
    if (sign != ',' && sign != '.') {
        return false;
    }
    for (; (*at >= '0' && *at <= '9') || *at == sign; at++) {
        if (*at != sign) {
            digits++;
        } else if (digits == 0 || digits > 3 || (groups > 0 && digits != 3)) {
            return false;
        } else {
            digits = 0;
            groups++;
        }
    }
    if (sign == '.' && *at == ',') {
        rest = strspn(at + 1, "0123456789");
        at += 1 + rest;
    }
    return (*at == '\n' || *at == '\r') && digits == 3 && (sign == ',' || rest > 0);
}

static bool are_rows_grouped(const struct trial *trial)
{
    const char *base = trial->head.text->bytes + trial->head.text->begin;
    for (size_t i = trial->run.begin; i < trial->run.end; i++) {
        const struct table_line *line = &trial->head.lines[i];
        if (line->count > 0 && !line->is_comment && !is_grouped_line(base + line->offset)) {
            return false;
        }
    }
    return true;
}

/* Commas may be the separators of whole numbers, or decimal signs or thousands separators of one
 * column. A header tells; without one this is an error. */
static enum status settle_commas(
    struct trial trials[SEPARATOR_COUNT], struct trial **chosen, struct error *err)
{
    struct trial *commas = &trials[AT_COMMA];
    struct trial *one = &trials[AT_ONE_COLUMN];
    char quote[TABLE_QUOTE_SIZE];
    if (*chosen != commas || commas->header.line != TABLE_NO_LINE ||
        commas->header.units.count > 0 || !one->is_tried) {
        return STATUS_OK;
    }
    bool may_be_grouped = are_rows_grouped(commas);
    bool is_one_possible =
        is_usable(one) && one->run.tallies[0].broken + one->run.tallies[0].texts == 0;
    if (is_one_possible) {
        enum status status = table_header_find(&one->header, &one->head, &one->run, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (one->head.decimal == ',' || one->header.line != TABLE_NO_LINE) {
            *chosen = one;
            return STATUS_OK;
        }
    } else if (!may_be_grouped || commas->head.decimal != TABLE_DECIMAL_UNKNOWN) {
        return STATUS_OK;
    }
    size_t line = is_one_possible ? one->run.begin : commas->run.begin;
    quote_cell(one, line, 0, quote);
    return fail(err, STATUS_INPUT, settle_hint,
        "line %zu of '%s', column 1: '%s' may be %zu columns%s%s", commas->head.lines[line].number,
        commas->head.text->path, quote, commas->run.columns,
        is_one_possible ? " or a decimal comma" : "",
        may_be_grouped ? " or one number with thousands separators" : "");
}

static enum status fail_mixed(const struct trial *trial, struct error *err)
{
    char point[TABLE_QUOTE_SIZE];
    char comma[TABLE_QUOTE_SIZE];
    size_t lines[2] = {0};
    size_t columns[2] = {0};
    find_cell(trial, TABLE_KIND_NUMBER, TABLE_KIND_POINT, &lines[0], &columns[0]);
    find_cell(trial, TABLE_KIND_NUMBER, TABLE_KIND_COMMA, &lines[1], &columns[1]);
    quote_cell(trial, lines[0], columns[0], point);
    quote_cell(trial, lines[1], columns[1], comma);
    return fail(err, STATUS_INPUT,
        "--decimal . or --decimal , says which sign it is; thousands are not read: take their "
        "separators out",
        "line %zu of '%s', column %zu: '%s' has a decimal comma, but '%s' in column %zu of line "
        "%zu a decimal point",
        trial->head.lines[lines[1]].number, trial->head.text->path, columns[1] + 1, comma, point,
        columns[0] + 1, trial->head.lines[lines[0]].number);
}

/* The decimal sign, from the cells that must have the one or the other. */
static enum status find_decimal(const struct trial *trial, char *decimal, struct error *err)
{
    size_t points = 0;
    size_t commas = 0;
    size_t grouped = 0;
    for (size_t i = 0; i < trial->run.columns; i++) {
        const struct table_tally *tally = &trial->run.tallies[i];
        if (table_tally_is_number(tally)) {
            points += tally->points;
            commas += tally->commas;
            grouped += tally->grouped;
        }
    }
    if (trial->head.decimal != TABLE_DECIMAL_UNKNOWN) {
        *decimal = trial->head.decimal;
        return STATUS_OK;
    }
    if (points > 0 && commas > 0) {
        return fail_mixed(trial, err);
    }
    if (commas > 0 && grouped == commas && trial->head.separator != ';') {
        char quote[TABLE_QUOTE_SIZE];
        size_t line = 0;
        size_t column = 0;
        find_cell(trial, TABLE_KIND_GROUPED, TABLE_KIND_GROUPED, &line, &column);
        return fail(err, STATUS_INPUT, thousands_hint,
            "line %zu of '%s', column %zu: '%s' may have a decimal comma or a thousands separator",
            trial->head.lines[line].number, trial->head.text->path, column + 1,
            quote_cell(trial, line, column, quote));
    }
    *decimal = commas > 0 ? ',' : '.';
    if (points + commas == 0) {
        *decimal = TABLE_DECIMAL_UNKNOWN;
    }
    return STATUS_OK;
}

/* --- finding ----------------------------------------------------------------------------------
 */

static void take(struct table_dialect *dialect, struct trial *trial, char decimal)
{
    dialect->separator = trial->head.separator;
    dialect->joins_dates = trial->head.joins_dates;
    dialect->decimal = decimal;
    dialect->head = trial->head;
    dialect->run = trial->run;
    dialect->header = trial->header;
    *trial = (struct trial){0};
}

/* What the chosen trial leaves open. */
static enum status settle(struct table_dialect *dialect, struct trial trials[SEPARATOR_COUNT],
    struct trial *chosen, struct error *err)
{
    char decimal = TABLE_DECIMAL_UNKNOWN;
    enum status status = table_header_find(&chosen->header, &chosen->head, &chosen->run, err);
    if (status == STATUS_OK) {
        status = settle_dates(trials, chosen, err);
    }
    if (status == STATUS_OK) {
        status = settle_commas(trials, &chosen, err);
    }
    if (status == STATUS_OK) {
        status = find_decimal(chosen, &decimal, err);
    }
    if (status == STATUS_OK) {
        take(dialect, chosen, decimal);
    }
    return status;
}

enum status table_dialect_find(struct table_dialect *dialect, const struct table_text *text,
    const struct capture_options *options, struct error *err)
{
    struct trial trials[SEPARATOR_COUNT] = {0};
    enum status status = try_all(trials, text, options, err);
    if (status == STATUS_OK) {
        struct trial *chosen = choose(trials, options);
        status = chosen == NULL ? fail_without_table(trials, text, err)
                                : settle(dialect, trials, chosen, err);
    }
    for (size_t i = 0; i < SEPARATOR_COUNT; i++) {
        clear_trial(&trials[i]);
    }
    return status;
}
