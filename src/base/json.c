// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/json.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/visible.h"

void json_init(struct json *json, struct text *out, int indent)
{
    *json = (struct json){.out = out, .indent = indent};
}

static void add_line(struct json *json)
{
    if (json->indent == 0) {
        return;
    }
    text_add(json->out, "\n");
    for (int i = 0; i < json->depth * json->indent; i++) {
        text_add_bytes(json->out, " ", 1);
    }
}

static void add_quoted(struct text *out, const char *words)
{
    size_t length = strlen(words);
    text_add(out, "\"");
    while (length > 0) {
        uint32_t code = 0;
        size_t size = text_read_character(words, length, &code);
        if (size == 0) {
            text_add(out, "\xEF\xBF\xBD");
            size = 1;
        } else if (code == '"' || code == '\\') {
            text_add_format(out, "\\%c", (int)code);
        } else if (code == '\n') {
            text_add(out, "\\n");
        } else if (code == '\t') {
            text_add(out, "\\t");
        } else if (visible_is_steering(code)) { /* JSON is read on terminals, too */
            text_add_format(out, "\\u%04x", (unsigned int)code);
        } else {
            text_add_bytes(out, words, size);
        }
        words += size;
        length -= size;
    }
    text_add(out, "\"");
}

/* What stands before a value: comma, new line, key. */
static void begin_value(struct json *json, const char *key)
{
    if (json->has_member) {
        bool is_same_line = json->indent == 0 || json->is_flat;
        text_add(json->out, is_same_line ? ", " : ",");
    }
    if (json->depth > 0 && !json->is_flat) {
        add_line(json);
    }
    if (key != NULL) {
        add_quoted(json->out, key);
        text_add(json->out, ": ");
    }
    json->has_member = true;
}

static void begin_group(struct json *json, const char *key, const char *bracket)
{
    begin_value(json, key);
    text_add(json->out, bracket);
    json->depth++;
    json->has_member = false;
}

static void end_group(struct json *json, const char *bracket)
{
    json->depth--;
    if (json->has_member && !json->is_flat) {
        add_line(json);
    }
    text_add(json->out, bracket);
    json->has_member = true;
}

void json_begin_object(struct json *json, const char *key)
{
    begin_group(json, key, "{");
}

void json_end_object(struct json *json)
{
    end_group(json, "}");
}

void json_begin_array(struct json *json, const char *key)
{
    begin_group(json, key, "[");
}

void json_end_array(struct json *json)
{
    end_group(json, "]");
}

void json_add_text(struct json *json, const char *key, const char *value)
{
    begin_value(json, key);
    if (value == NULL) {
        text_add(json->out, "null");
    } else {
        add_quoted(json->out, value);
    }
}

void json_add_number(struct json *json, const char *key, double value)
{
    char buffer[TEXT_NUMBER_SIZE];
    begin_value(json, key);
    text_add(json->out, isfinite(value) ? text_number(buffer, value) : "null");
}

void json_add_integer(struct json *json, const char *key, long long value)
{
    begin_value(json, key);
    text_add_format(json->out, "%lld", value);
}

void json_add_bool(struct json *json, const char *key, bool value)
{
    begin_value(json, key);
    text_add(json->out, value ? "true" : "false");
}

void json_add_numbers(struct json *json, const char *key, const double *values, size_t count)
{
    json_begin_array(json, key);
    json->is_flat = true;
    for (size_t i = 0; i < count; i++) {
        json_add_number(json, NULL, values[i]);
    }
    json_end_array(json);
    json->is_flat = false;
}

void json_finish(struct json *json)
{
    text_add(json->out, "\n");
}
