// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_data.h"

#include <stdio.h>
#include <string.h>

#define SCHEMA "lodecard-report/1"

static const char opening[] = "{\"schema\": \"" SCHEMA "\", \"kind\": \"";
static const char before_digest[] = "\", \"sha256\": \"";
static const char before_content[] = "\", \"content\": ";

void report_data_begin(struct report_data *data)
{
    data->content = (struct text){0};
    json_init(&data->json, &data->content, 0);
    json_begin_object(&data->json, NULL);
}

static void add_text(struct json *json, const char *key, const char *words)
{
    json_add_text(json, key, words[0] != '\0' ? words : NULL);
}

static void add_input(struct json *json, const struct report_input *input)
{
    json_begin_object(json, NULL);
    add_text(json, "capture_sha256", input->capture_sha256);
    add_text(json, "name", input->name);
    add_text(json, "specimen", input->specimen);
    add_text(json, "heat", input->heat);
    add_text(json, "supplier", input->supplier);
    add_text(json, "rig", input->rig);
    add_text(json, "rig_calibrated", input->rig_calibrated);
    figures_write_json(json, "figures", input->figures);
    json_end_object(json);
}

/* "<" stands in JSON's texts only. */
static void add_without_brackets(struct text *out, const struct text *content)
{
    for (size_t i = 0; i < content->length; i++) {
        if (content->bytes[i] == '<') {
            text_add(out, "\\u003c");
        } else {
            text_add_bytes(out, content->bytes + i, 1);
        }
    }
}

enum status report_data_finish(struct report_data *data, const char *kind,
    const struct report_input *inputs, size_t count, struct text *out, struct error *err)
{
    struct text content = {0};
    char words[DIGEST_TEXT_SIZE];
    json_begin_array(&data->json, "inputs");
    for (size_t i = 0; i < count; i++) {
        add_input(&data->json, &inputs[i]);
    }
    json_end_array(&data->json);
    json_end_object(&data->json);
    add_without_brackets(&content, &data->content);
    enum status status = data->content.failed || content.failed ? fail_memory(err) : STATUS_OK;
    if (status == STATUS_OK) {
        digest_bytes(content.bytes, content.length, words);
        text_add_format(out, "%s%s%s%s%s", opening, kind, before_digest, words, before_content);
        text_add_bytes(out, content.bytes, content.length);
        text_add(out, "}");
        status = out->failed ? fail_memory(err) : STATUS_OK;
    }
    text_clear(&content);
    text_clear(&data->content);
    return status;
}

/* --- reading -----------------------------------------------------------------------------------
 */

/* The bytes that are still to be read. */
struct rest {
    const char *at;
    size_t length;
};

static bool take(struct rest *rest, const char *words)
{
    const size_t length = strlen(words);
    if (rest->length < length || memcmp(rest->at, words, length) != 0) {
        return false;
    }
    rest->at += length;
    rest->length -= length;
    return true;
}

/* What stands ahead of the next quotation mark. */
static bool take_words(struct rest *rest, char *words, size_t size)
{
    const char *end = memchr(rest->at, '"', rest->length);
    if (end == NULL || (size_t)(end - rest->at) >= size) {
        return false;
    }
    snprintf(words, size, "%.*s", (int)(end - rest->at), rest->at);
    rest->length -= (size_t)(end - rest->at);
    rest->at = end;
    return true;
}

enum status report_data_read(const char *name, const char *json, size_t length,
    struct report_envelope *envelope, struct error *err)
{
    struct report_envelope made = {0};
    struct rest rest = {json, length};
    char words[DIGEST_TEXT_SIZE];
    const bool is_report =
        take(&rest, opening) && take_words(&rest, made.kind, sizeof made.kind) &&
        take(&rest, before_digest) && take_words(&rest, made.sha256, sizeof made.sha256) &&
        take(&rest, before_content) && rest.length > 1 && rest.at[rest.length - 1] == '}';
    if (!is_report) {
        return fail(err, STATUS_INPUT, "only reports that Lodecard wrote can be read",
            "the numbers in '%s' are not those of a report (" SCHEMA ")", name);
    }
    made.content = rest.at;
    made.length = rest.length - 1;
    digest_bytes(made.content, made.length, words);
    made.is_unchanged = strcmp(words, made.sha256) == 0;
    *envelope = made;
    return STATUS_OK;
}
