// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads conditions: a parser by recursive descent, one function a rule (where.h has them). */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ledger/where_part.h"
#include "quantity/figure.h"
#include "quantity/quantity.h"

#define DEPTH_MOST 32  /* of parentheses */
#define WORDS_MOST 200 /* bytes of one name or value */
#define PI 3.14159265358979323846

struct reader {
    const char *words; /* all of them, for messages */
    const char *at;
    int depth;
    struct ledger_where *where;
    struct error *err;
};

/* One side of a comparison. */
struct operand {
    char words[WORDS_MOST + 1];
    bool is_quoted;
    bool is_u;
    enum figure figure; /* FIGURE_COUNT: none */
    bool is_field;
};

static enum status refuse(const struct reader *reader, const char *what, const char *hint)
{
    return fail(
        reader->err, STATUS_USAGE, hint, "in the condition '%.100s': %s", reader->words, what);
}

static void skip_blanks(struct reader *reader)
{
    while (isspace((unsigned char)*reader->at)) {
        reader->at++;
    }
}

static bool is_word_letter(char letter)
{
    return isalnum((unsigned char)letter) || letter == '_' || (unsigned char)letter >= 0x80;
}

/* Whether a word such as "and" stands at `at`, whole, in any case of letters. */
static bool stands(const char *at, const char *word)
{
    for (; *word != '\0'; word++, at++) {
        if (tolower((unsigned char)*at) != *word) {
            return false;
        }
    }
    return !is_word_letter(*at);
}

static bool take_word(struct reader *reader, const char *word)
{
    skip_blanks(reader);
    if (!stands(reader->at, word)) {
        return false;
    }
    reader->at += strlen(word);
    return true;
}

static bool take_sign(struct reader *reader, char sign)
{
    skip_blanks(reader);
    if (*reader->at != sign) {
        return false;
    }
    reader->at++;
    return true;
}

/* The sign of a comparison as SQL has it; NULL: none. */
static const char *take_comparison(struct reader *reader)
{
    static const struct {
        const char *sign;
        const char *sql;
    } signs[] = {{"<=", "<="}, {">=", ">="}, {"!=", "<>"}, {"<>", "<>"}, {"==", "="}, {"<", "<"},
        {">", ">"}, {"=", "="}, {"\u2264", "<="}, {"\u2265", ">="}, {"\u2260", "<>"}};
    skip_blanks(reader);
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        if (strncmp(reader->at, signs[i].sign, strlen(signs[i].sign)) == 0) {
            reader->at += strlen(signs[i].sign);
            return signs[i].sql;
        }
    }
    return NULL;
}

/* Whether what stands at `at` ends an operand. */
static bool is_end(const char *at, bool is_start)
{
    if (*at == '\0' || strchr("()<>=!\"'", *at) != NULL) {
        return true;
    }
    if (strncmp(at, "\u2264", 3) == 0 || strncmp(at, "\u2265", 3) == 0 ||
        strncmp(at, "\u2260", 3) == 0) {
        return true;
    }
    return is_start && (stands(at, "and") || stands(at, "or"));
}

static enum status take_quoted(struct reader *reader, struct operand *operand)
{
    const char quote = *reader->at++;
    const char *end = strchr(reader->at, quote);
    if (end == NULL) {
        return refuse(reader, "a quote is not closed", "close it, or leave both out");
    }
    const size_t length = (size_t)(end - reader->at);
    if (length > WORDS_MOST) {
        return refuse(reader, "a text is too long", "names have 200 bytes at most");
    }
    memcpy(operand->words, reader->at, length);
    operand->words[length] = '\0';
    operand->is_quoted = true;
    reader->at = end + 1;
    return STATUS_OK;
}

/* Words up to what ends them, without the blanks around. */
static enum status take_plain(struct reader *reader, struct operand *operand)
{
    const char *begin = reader->at;
    bool is_start = true;
    while (!is_end(reader->at, is_start)) {
        is_start = !is_word_letter(*reader->at);
        reader->at++;
    }
    size_t length = (size_t)(reader->at - begin);
    while (length > 0 && isspace((unsigned char)begin[length - 1])) {
        length--;
    }
    if (length == 0) {
        return refuse(reader,
            *begin == '\0' ? "it ends where a name or value is due" : "a name or value is missing",
            "write it like 'coercivity > 18 kA/m and remanence >= 0.9 T'");
    }
    if (length > WORDS_MOST) {
        return refuse(reader, "a name or value is too long", "have you forgotten an 'and'?");
    }
    memcpy(operand->words, begin, length);
    operand->words[length] = '\0';
    return STATUS_OK;
}

static enum status take_operand(struct reader *reader, struct operand *operand)
{
    *operand = (struct operand){.figure = FIGURE_COUNT};
    skip_blanks(reader);
    if (*reader->at == '\'' || *reader->at == '"') {
        return take_quoted(reader, operand);
    }
    const enum status status = take_plain(reader, operand);
    if (status == STATUS_OK) {
        operand->is_u = strncmp(operand->words, "u_", 2) == 0;
        operand->figure = figure_find(operand->words + (operand->is_u ? 2 : 0));
        operand->is_field = where_is_field(operand->words);
    }
    return status;
}

static bool is_name(const struct operand *operand)
{
    return operand->figure != FIGURE_COUNT || operand->is_field;
}

static enum status refuse_name(const struct reader *reader, const struct operand *operand)
{
    const char *names[FIGURE_COUNT + 10] = {
        "supplier", "alloy", "heat", "specimen", "rig", "file", "program", "tag", "note"};
    char what[300], hint[200];
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        names[9 + i] = figure_table[i].word;
    }
    const char *nearest = text_nearest(operand->words, names);
    snprintf(what, sizeof what, "'%.60s' is neither a figure nor a text of a loop", operand->words);
    if (nearest != NULL) {
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    } else {
        snprintf(hint, sizeof hint,
            "docs/figures.md lists the figures; texts are supplier, alloy, "
            "heat, specimen, rig, file, program, tag, note");
    }
    return refuse(reader, what, hint);
}

/* A value in the unit that the ledger keeps: SI, but degrees. */
static enum status read_value(
    const struct reader *reader, enum figure figure, const struct operand *operand, double *value)
{
    const char *unit = figure_table[figure].unit;
    const bool is_angle = strcmp(unit, "\u00B0") == 0;
    enum dimension dimension = is_angle ? DIMENSION_ANGLE : DIMENSION_NUMBER;
    double factor, offset;
    struct quantity quantity = {0};
    struct error why = {0};
    enum status status = unit[0] != '\0' && !is_angle
                             ? unit_read(unit, &dimension, &factor, &offset, reader->err)
                             : STATUS_OK;
    if (status != STATUS_OK) {
        return status;
    }
    if (quantity_read(operand->words, dimension, &quantity, &why) != STATUS_OK) {
        char what[600];
        snprintf(what, sizeof what, "%s: %.400s", figure_table[figure].word, why.message);
        return refuse(reader, what, why.hint);
    }
    if (quantity.has_uncertainty) {
        return refuse(
            reader, "a limit has no uncertainty", "leave out the \u00B1 and what follows");
    }
    *value = is_angle ? quantity.value * (180 / PI) : quantity.value;
    return STATUS_OK;
}

static enum status add_figure(struct reader *reader, const struct operand *name,
    const char *comparison, const struct operand *value)
{
    double number = 0;
    const enum status status = read_value(reader, name->figure, value, &number);
    if (status != STATUS_OK) {
        return status;
    }
    text_add_format(&reader->where->sql, "loop.%s%s %s ?", name->is_u ? "u_" : "",
        figure_table[name->figure].key, comparison);
    return where_add_number(reader->where, number, reader->err);
}

static const char *turn(const char *comparison)
{
    static const char *const pairs[][2] = {{"<", ">"}, {"<=", ">="}, {">", "<"}, {">=", "<="}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        if (strcmp(comparison, pairs[i][0]) == 0) {
            return pairs[i][1];
        }
    }
    return comparison;
}

static enum status add_text_field(struct reader *reader, const struct operand *name,
    const char *comparison, const struct operand *value)
{
    if (comparison[0] != '=' && strcmp(comparison, "<>") != 0) {
        char what[120];
        snprintf(what, sizeof what, "'%.60s' is a text and has no order", name->words);
        return refuse(reader, what, "compare it with = or !=; '*' stands for anything");
    }
    return where_add_field(
        reader->where, name->words, value->words, comparison[0] != '=', reader->err);
}

/* "name op value", "value op name", "value op name op value". */
static enum status read_comparison(struct reader *reader)
{
    struct operand first, second, third;
    enum status status = take_operand(reader, &first);
    if (status != STATUS_OK) {
        return status;
    }
    const char *comparison = take_comparison(reader);
    if (comparison == NULL) {
        return is_name(&first) || first.is_quoted ? refuse(reader, "a comparison is missing",
                                                        "write it like 'coercivity > 18 kA/m'")
                                                  : refuse_name(reader, &first);
    }
    status = take_operand(reader, &second);
    if (status != STATUS_OK) {
        return status;
    }
    if (first.is_field) {
        return add_text_field(reader, &first, comparison, &second);
    }
    if (first.figure != FIGURE_COUNT) {
        return add_figure(reader, &first, comparison, &second);
    }
    if (second.is_field) {
        return add_text_field(reader, &second, turn(comparison), &first);
    }
    if (second.figure == FIGURE_COUNT) {
        return refuse_name(reader, isdigit((unsigned char)first.words[0]) ? &second : &first);
    }
    text_add(&reader->where->sql, "(");
    status = add_figure(reader, &second, turn(comparison), &first);
    comparison = status == STATUS_OK ? take_comparison(reader) : NULL;
    if (comparison != NULL) {
        status = take_operand(reader, &third);
        text_add(&reader->where->sql, " AND ");
        if (status == STATUS_OK) {
            status = add_figure(reader, &second, comparison, &third);
        }
    }
    text_add(&reader->where->sql, ")");
    return status;
}

static enum status read_any(struct reader *reader);

static enum status read_part(struct reader *reader)
{
    if (take_word(reader, "not")) {
        text_add(&reader->where->sql, "NOT ");
        if (++reader->depth > DEPTH_MOST) {
            return refuse(reader, "it is nested too deeply", "say it with fewer parentheses");
        }
        const enum status inner = read_part(reader);
        reader->depth--;
        return inner;
    }
    if (!take_sign(reader, '(')) {
        return read_comparison(reader);
    }
    if (++reader->depth > DEPTH_MOST) {
        return refuse(reader, "it is nested too deeply", "say it with fewer parentheses");
    }
    text_add(&reader->where->sql, "(");
    const enum status status = read_any(reader);
    text_add(&reader->where->sql, ")");
    reader->depth--;
    if (status == STATUS_OK && !take_sign(reader, ')')) {
        return refuse(reader, "a parenthesis is not closed", "close it with ')'");
    }
    return status;
}

static enum status read_all(struct reader *reader)
{
    enum status status = read_part(reader);
    while (status == STATUS_OK && take_word(reader, "and")) {
        text_add(&reader->where->sql, " AND ");
        status = read_part(reader);
    }
    return status;
}

static enum status read_any(struct reader *reader)
{
    enum status status = read_all(reader);
    while (status == STATUS_OK && take_word(reader, "or")) {
        text_add(&reader->where->sql, " OR ");
        status = read_all(reader);
    }
    return status;
}

enum status ledger_where_add(struct ledger_where *where, const char *words, struct error *err)
{
    struct reader reader = {.words = words, .at = words, .where = where, .err = err};
    text_add(&where->sql, where->sql.length > 0 ? " AND (" : "(");
    enum status status = read_any(&reader);
    text_add(&where->sql, ")");
    skip_blanks(&reader);
    if (status == STATUS_OK && *reader.at != '\0') {
        char what[120];
        snprintf(what, sizeof what, "'%.60s' is left over", reader.at);
        status = refuse(&reader, what, "join conditions with 'and' or 'or'");
    }
    return status == STATUS_OK && where->sql.failed ? fail_memory(err) : status;
}
