// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads YAML through libyaml: the bytes are checked, then the events are walked once for what is
 * refused, then libyaml builds its document. Decision: a reader that stops at the first error and
 * knows no positions (a mapping library) cannot tell all faults of a file at once. */
#include "setup/yaml.h"

#include <stdint.h>
#include <string.h>
#include <yaml.h>

#include "base/memory.h"
#include "base/text.h"

#define DEPTH_LIMIT 16

struct yaml {
    yaml_document_t document;
};

/* The bytes of a file and its name for messages. */
struct source {
    const char *name;
    const char *bytes;
    size_t length;
};

static const char encoding_hint[] = "save the file as UTF-8";

/* What libyaml says, and what to look at. */
static const struct {
    const char *problem;
    const char *hint;
} problem_hints[] = {
    {"found character that cannot start any token",
        "indent with blanks, not tabs; put text that begins with % @ or ` in quotes"},
    {"mapping values are not allowed in this context",
        "the line above lacks a blank behind its colon, or a key stands too far to the right, or a "
        "text with ': ' in it needs quotes"},
    {"could not find expected ':'",
        "a line at or above this one lacks its colon with a blank behind it: 'key: value'"},
    {"did not find expected key", "keys of one group begin in the same column"},
    {"did not find expected ',' or '}'", "a '{' is not closed, or a comma is missing"},
    {"did not find expected ',' or ']'", "a '[' is not closed, or a comma is missing"},
    {"found unexpected end of stream", "quotes are not closed"},
    {"found a tab character", "indent with blanks, not tabs"},
    {"block sequence entries are not allowed in this context",
        "a line beginning with '- ' has no place here"},
};

static enum status fail_at(const struct source *source, yaml_mark_t mark, const char *hint,
    const char *what, struct error *err)
{
    return fail(err, STATUS_INPUT, hint, "%s:%zu:%zu: %s", source->name, mark.line + 1,
        mark.column + 1, what);
}

static enum status fail_syntax(
    const struct source *source, const yaml_parser_t *parser, struct error *err)
{
    const char *hint = "check this line and the one above: indentation by blanks, a blank behind "
                       "each colon, quotes in pairs";
    if (parser->error == YAML_MEMORY_ERROR) {
        return fail_memory(err);
    }
    const char *problem = parser->problem != NULL ? parser->problem : "it cannot be read";
    for (size_t i = 0; i < sizeof problem_hints / sizeof problem_hints[0]; i++) {
        if (strncmp(problem, problem_hints[i].problem, strlen(problem_hints[i].problem)) == 0) {
            hint = problem_hints[i].hint;
        }
    }
    char what[200];
    struct text said = {0};
    text_add_format(&said, "not valid YAML: %s", problem);
    if (parser->context != NULL && parser->context_mark.line != parser->problem_mark.line) {
        text_add_format(
            &said, " (%s that begins on line %zu)", parser->context, parser->context_mark.line + 1);
    }
    size_t length = said.length < sizeof what ? said.length : sizeof what - 1;
    memcpy(what, said.bytes != NULL ? said.bytes : "", length);
    what[length] = '\0';
    text_clear(&said);
    return fail_at(source, parser->problem_mark, hint, what, err);
}

/* Whether YAML allows the character in a file, and we in a text. */
static bool is_allowed(uint32_t code)
{
    bool is_control = (code < 0x20 && code != '\n' && code != '\r' && code != '\t') ||
                      (code >= 0x7F && code < 0xA0 && code != 0x85);
    return !is_control && code != 0xFFFE && code != 0xFFFF;
}

/* UTF-8 throughout, without control characters. */
static enum status check_bytes(const struct source *source, struct error *err)
{
    yaml_mark_t mark = {0};
    bool is_utf16 = source->length >= 2 && (memcmp(source->bytes, "\xFF\xFE", 2) == 0 ||
                                               memcmp(source->bytes, "\xFE\xFF", 2) == 0);
    if (is_utf16) {
        return fail_at(source, mark, encoding_hint, "the file is UTF-16", err);
    }
    for (size_t at = 0; at < source->length;) {
        uint32_t code;
        size_t size = text_read_character(source->bytes + at, source->length - at, &code);
        if (size == 0) {
            return fail_at(source, mark, encoding_hint, "a character is not UTF-8", err);
        }
        if (!is_allowed(code)) {
            return fail_at(
                source, mark, "remove it: the files are plain text", "a control character", err);
        }
        mark.line += code == '\n';
        mark.column = code == '\n' ? 0 : mark.column + 1;
        at += size;
    }
    return STATUS_OK;
}

static bool has_only_allowed(const char *bytes, size_t length)
{
    for (size_t at = 0; at < length;) {
        uint32_t code;
        size_t size = text_read_character(bytes + at, length - at, &code);
        if (size == 0 || !is_allowed(code)) {
            return false;
        }
        at += size;
    }
    return true;
}

/* What one event may not be. */
static enum status check_event(
    const struct source *source, const yaml_event_t *event, int depth, struct error *err)
{
    const yaml_char_t *anchor = NULL;
    const yaml_char_t *tag = NULL;
    switch (event->type) {
    case YAML_ALIAS_EVENT:
        anchor = event->data.alias.anchor;
        break;
    case YAML_SCALAR_EVENT:
        anchor = event->data.scalar.anchor;
        tag = event->data.scalar.tag;
        break;
    case YAML_SEQUENCE_START_EVENT:
        anchor = event->data.sequence_start.anchor;
        tag = event->data.sequence_start.tag;
        break;
    case YAML_MAPPING_START_EVENT:
        anchor = event->data.mapping_start.anchor;
        tag = event->data.mapping_start.tag;
        break;
    default:
        break;
    }
    if (anchor != NULL) {
        return fail_at(source, event->start_mark,
            "write the value out, or put a text that begins with & or * in quotes",
            "anchors and aliases ('&', '*') are not used here", err);
    }
    if (tag != NULL) {
        return fail_at(source, event->start_mark,
            "leave it out, or put a text that begins with ! in quotes",
            "tags ('!') are not used here", err);
    }
    if (event->type == YAML_SCALAR_EVENT &&
        !has_only_allowed((const char *)event->data.scalar.value, event->data.scalar.length)) {
        return fail_at(source, event->start_mark, "remove it: the values are plain text",
            "a control character", err);
    }
    if (depth > DEPTH_LIMIT) {
        return fail_at(source, event->start_mark, "no file of ours needs more than five",
            "more than 16 levels of groups in groups", err);
    }
    return STATUS_OK;
}

static int get_depth_change(const yaml_event_t *event)
{
    bool is_start =
        event->type == YAML_SEQUENCE_START_EVENT || event->type == YAML_MAPPING_START_EVENT;
    bool is_end = event->type == YAML_SEQUENCE_END_EVENT || event->type == YAML_MAPPING_END_EVENT;
    return is_start - is_end;
}

/* Walks all events of the file. */
static enum status scan(const struct source *source, yaml_parser_t *parser, struct error *err)
{
    int depth = 0;
    size_t documents = 0;
    for (;;) {
        yaml_event_t event;
        if (!yaml_parser_parse(parser, &event)) {
            return fail_syntax(source, parser, err);
        }
        depth += get_depth_change(&event);
        enum status status = check_event(source, &event, depth, err);
        documents += event.type == YAML_DOCUMENT_START_EVENT;
        if (status == STATUS_OK && documents > 1) {
            status = fail_at(source, event.start_mark, "one document a file: remove the '---'",
                "a second document begins", err);
        }
        bool is_end = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
        if (status != STATUS_OK) {
            return status;
        }
        if (is_end) {
            return STATUS_OK;
        }
    }
}

static bool start_parser(yaml_parser_t *parser, const struct source *source)
{
    if (!yaml_parser_initialize(parser)) {
        return false;
    }
    yaml_parser_set_input_string(parser, (const unsigned char *)source->bytes, source->length);
    yaml_parser_set_encoding(parser, YAML_UTF8_ENCODING);
    return true;
}

static enum status scan_source(const struct source *source, struct error *err)
{
    yaml_parser_t parser;
    if (!start_parser(&parser, source)) {
        return fail_memory(err);
    }
    enum status status = scan(source, &parser, err);
    yaml_parser_delete(&parser);
    return status;
}

static enum status load_source(
    const struct source *source, yaml_document_t *document, struct error *err)
{
    yaml_parser_t parser;
    enum status status = STATUS_OK;
    if (!start_parser(&parser, source)) {
        return fail_memory(err);
    }
    if (!yaml_parser_load(&parser, document)) {
        status = fail_syntax(source, &parser, err);
    } else if (yaml_document_get_root_node(document) == NULL) {
        yaml_document_delete(document);
        status = fail_at(source, (yaml_mark_t){0}, "docs/files.md shows what belongs into it",
            "the file is empty", err);
    }
    yaml_parser_delete(&parser);
    return status;
}

enum status yaml_create(
    const char *name, const char *bytes, size_t length, struct yaml **yaml, struct error *err)
{
    static const char mark[] = "\xEF\xBB\xBF"; /* of the byte order, before UTF-8 */
    struct source source = {.name = name, .bytes = bytes, .length = length};
    if (length >= 3 && memcmp(bytes, mark, 3) == 0) {
        source.bytes += 3;
        source.length -= 3;
    }
    enum status status = check_bytes(&source, err);
    if (status == STATUS_OK) {
        status = scan_source(&source, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    struct yaml *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    status = load_source(&source, &made->document, err);
    if (status != STATUS_OK) {
        memory_destroy(made);
        return status;
    }
    *yaml = made;
    return STATUS_OK;
}

void yaml_destroy(struct yaml *yaml)
{
    if (yaml != NULL) {
        yaml_document_delete(&yaml->document);
        memory_destroy(yaml);
    }
}

/* libyaml's look-up does not change the document but is not declared so. */
static const yaml_node_t *get(const struct yaml *yaml, yaml_node node)
{
    return &yaml->document.nodes.start[node - 1];
}

yaml_node yaml_get_root(const struct yaml *yaml)
{
    (void)yaml;
    return 1; /* the first node that libyaml makes */
}

enum yaml_kind yaml_get_kind(const struct yaml *yaml, yaml_node node)
{
    yaml_node_type_t type = get(yaml, node)->type;
    return type == YAML_MAPPING_NODE    ? YAML_MAP
           : type == YAML_SEQUENCE_NODE ? YAML_LIST
                                        : YAML_TEXT;
}

struct yaml_place yaml_get_place(const struct yaml *yaml, yaml_node node)
{
    yaml_mark_t mark = get(yaml, node)->start_mark;
    return (struct yaml_place){.line = mark.line + 1, .column = mark.column + 1};
}

struct yaml_span yaml_get_span(const struct yaml *yaml, yaml_node node)
{
    const yaml_node_t *it = get(yaml, node);
    return (struct yaml_span){.begin = it->start_mark.index, .end = it->end_mark.index};
}

bool yaml_is_flow(const struct yaml *yaml, yaml_node node)
{
    const yaml_node_t *it = get(yaml, node);
    return (it->type == YAML_MAPPING_NODE && it->data.mapping.style == YAML_FLOW_MAPPING_STYLE) ||
           (it->type == YAML_SEQUENCE_NODE && it->data.sequence.style == YAML_FLOW_SEQUENCE_STYLE);
}

const char *yaml_get_text(const struct yaml *yaml, yaml_node node)
{
    const yaml_node_t *it = get(yaml, node);
    return it->type == YAML_SCALAR_NODE ? (const char *)it->data.scalar.value : "";
}

bool yaml_is_empty(const struct yaml *yaml, yaml_node node)
{
    const yaml_node_t *it = get(yaml, node);
    const char *words = yaml_get_text(yaml, node);
    return it->type == YAML_SCALAR_NODE && it->data.scalar.style == YAML_PLAIN_SCALAR_STYLE &&
           (words[0] == '\0' || strcmp(words, "~") == 0 || strcmp(words, "null") == 0);
}

size_t yaml_get_count(const struct yaml *yaml, yaml_node node)
{
    const yaml_node_t *it = get(yaml, node);
    if (it->type == YAML_SEQUENCE_NODE) {
        return (size_t)(it->data.sequence.items.top - it->data.sequence.items.start);
    }
    if (it->type == YAML_MAPPING_NODE) {
        return (size_t)(it->data.mapping.pairs.top - it->data.mapping.pairs.start);
    }
    return 0;
}

yaml_node yaml_get_member(const struct yaml *yaml, yaml_node list, size_t index)
{
    return get(yaml, list)->data.sequence.items.start[index];
}

void yaml_get_pair(
    const struct yaml *yaml, yaml_node map, size_t index, yaml_node *key, yaml_node *value)
{
    const yaml_node_pair_t *pair = &get(yaml, map)->data.mapping.pairs.start[index];
    *key = pair->key;
    *value = pair->value;
}
