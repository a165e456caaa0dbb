// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/writer_kind.h"

#define NUMBER_SIZE 64
#define FLUSH_SIZE ((size_t)1 << 16)

struct table_writer {
    struct table_writer_options options; /* its texts are used up at creation */
    bool has_time;
    bool has_marks; /* missing values need a word: an empty cell would not be seen */
    struct text text;
};

static void add_line_end(struct table_writer *table)
{
    text_add(&table->text, table->options.has_crlf ? "\r\n" : "\n");
}

static enum status flush(struct writer *writer, struct error *err)
{
    struct text *text = &((struct table_writer *)writer->state)->text;
    if (text->failed) {
        return fail_memory(err);
    }
    enum status status = file_draft_add(&writer->draft, text->bytes, text->length, err);
    text->length = 0;
    return status;
}

static void add_number(struct table_writer *table, const char *number)
{
    for (; *number != '\0'; number++) {
        bool is_point = *number == '.' || *number == ',';
        text_add_bytes(&table->text, is_point ? &table->options.decimal : number, 1);
    }
}

static void add_value(struct table_writer *table, double value)
{
    char number[NUMBER_SIZE];
    if (isnan(value)) {
        text_add(&table->text, table->has_marks ? "NaN" : "");
    } else if (table->options.digits > 0) {
        snprintf(number, sizeof number, "%.*g", table->options.digits, value);
        add_number(table, number);
    } else {
        add_number(table, text_number(number, value));
    }
}

static void add_time(struct table_writer *table, double time)
{
    char number[NUMBER_SIZE + 320]; /* %f writes large numbers in full */
    if (isnan(time)) {
        text_add(&table->text, table->has_marks ? "NaN" : "");
    } else if (table->options.time_decimals > 0) {
        snprintf(number, sizeof number, "%.*f", table->options.time_decimals, time);
        add_number(table, number);
    } else {
        add_number(table, text_number(number, time));
    }
}

static enum status table_add(struct writer *writer, const double *values, const double *times,
    size_t frames, struct error *err)
{
    struct table_writer *table = writer->state;
    const struct table_writer_options *options = &table->options;
    for (size_t i = 0; i < frames; i++) {
        if (table->has_time) {
            double row = (double)writer->frames + (double)i;
            add_time(table, times != NULL ? times[i] : row / options->sample_rate_Hz);
        }
        for (size_t m = 0; m < writer->channels; m++) {
            if (m > 0 || table->has_time) {
                text_add_bytes(&table->text, &options->separator, 1);
            }
            add_value(table, values[i * writer->channels + m]);
        }
        add_line_end(table);
        if (table->text.length >= FLUSH_SIZE) {
            enum status status = flush(writer, err);
            if (status != STATUS_OK) {
                return status;
            }
        }
    }
    return STATUS_OK;
}

static void table_destroy(struct writer *writer)
{
    struct table_writer *table = writer->state;
    text_clear(&table->text);
}

static const struct writer_kind table_kind = {table_add, flush, table_destroy};

/* A header cell, in quotes where it would be misread without. */
static void add_cell(struct table_writer *table, const char *words)
{
    struct text *text = &table->text;
    char separator = table->options.separator;
    if (strchr(words, separator) == NULL && strpbrk(words, "\"\r\n") == NULL) {
        text_add(text, words);
        return;
    }
    text_add(text, "\"");
    for (; *words != '\0'; words++) {
        text_add(text, *words == '"' ? "\"" : "");
        text_add_bytes(text, words, 1);
    }
    text_add(text, "\"");
}

static void add_head(struct table_writer *table, const struct table_writer_options *options)
{
    const char *line = options->preamble;
    text_add(&table->text, options->has_bom ? "\xEF\xBB\xBF" : "");
    while (line != NULL && *line != '\0') {
        size_t length = strcspn(line, "\n");
        text_add_bytes(&table->text, line, length);
        add_line_end(table);
        line += length + (line[length] == '\n');
    }
    if (options->headers == NULL) {
        return;
    }
    if (table->has_time) {
        add_cell(table, options->time_header);
    }
    for (size_t m = 0; m < options->channels; m++) {
        if (m > 0 || table->has_time) {
            text_add_bytes(&table->text, &table->options.separator, 1);
        }
        add_cell(table, options->headers[m]);
    }
    add_line_end(table);
}

static enum status check(
    const char *path, const struct table_writer_options *options, struct error *err)
{
    bool is_separator = options->separator != '\0' && strchr(",;\t ", options->separator) != NULL;
    bool is_decimal = options->decimal == '.' || options->decimal == ',';
    if (!is_separator || !is_decimal || options->separator == options->decimal) {
        return fail(err, STATUS_USAGE,
            "separators are comma, semicolon, tab or blank; a decimal comma needs another one",
            "cannot write '%s' with separator '%c' and decimal '%c'", path, options->separator,
            options->decimal);
    }
    if (options->digits < 0 || options->digits > 17 || options->time_decimals < 0 ||
        options->time_decimals > 17) {
        return fail(err, STATUS_USAGE, "1 to 17, or 0 for as many as it takes",
            "cannot write '%s' with %d digits and times with %d decimals", path, options->digits,
            options->time_decimals);
    }
    return STATUS_OK;
}

enum status table_writer_create(const char *path, const struct table_writer_options *options,
    struct writer **writer, struct error *err)
{
    struct writer *made;
    struct table_writer_options chosen = *options;
    chosen.separator = chosen.separator != 0 ? chosen.separator : ',';
    chosen.decimal = chosen.decimal != 0 ? chosen.decimal : '.';
    enum status status = check(path, &chosen, err);
    if (status == STATUS_OK) {
        status = writer_create(
            path, &table_kind, options->channels, sizeof(struct table_writer), &made, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    struct table_writer *table = made->state;
    table->options = chosen;
    table->has_time = options->time_header != NULL;
    table->has_marks = chosen.separator == ' ' || (options->channels == 1 && !table->has_time);
    add_head(table, options);
    *writer = made;
    return STATUS_OK;
}
