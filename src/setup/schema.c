// SPDX-License-Identifier: GPL-3.0-or-later
/* Walks a YAML document along a table. Every key is looked at, whatever is wrong with the others.
 */
#include "setup/schema.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "setup/fault.h"
#include "setup/value.h"
#include "setup/yaml.h"

#define ENTRY_LIMIT 64 /* keys of one table */
#define PATH_SIZE 200  /* bytes of a key path */
#define SHOWN_LIMIT 40 /* bytes of a strange key that a message shows */

struct schema_reading {
    struct yaml *yaml;
    struct faults faults;
    const struct schema_entry *table;
    char prefix[PATH_SIZE]; /* where the check that runs counts its key paths from */
};

/* One map of the file and the table it is read by. */
struct group {
    const struct schema_entry *table;
    yaml_node node;
    const char *path; /* "inputs.excitation"; "" for the whole file */
    char *target;
};

static void add_fault(struct schema_reading *reading, yaml_node node, const char *path,
    const char *format, ...) __attribute__((format(printf, 4, 5)));

static void add_fault(
    struct schema_reading *reading, yaml_node node, const char *path, const char *format, ...)
{
    char message[FAULT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    faults_add(&reading->faults, yaml_get_place(reading->yaml, node), path, message);
}

static void join_path(char path[PATH_SIZE], const char *before, const char *key)
{
    int shown = SHOWN_LIMIT;
    while (shown > 0 && ((unsigned char)key[strnlen(key, shown)] & 0xC0) == 0x80) {
        shown--; /* a cut stands between characters */
    }
    snprintf(path, PATH_SIZE, "%s%s%.*s", before, before[0] != '\0' ? "." : "", shown, key);
    for (char *at = path; *at != '\0'; at++) {
        *at = (unsigned char)*at < ' ' ? ' ' : *at;
    }
}

static const struct schema_entry *find_entry(const struct schema_entry *table, const char *key)
{
    for (; table->key != NULL; table++) {
        if (strcmp(table->key, key) == 0) {
            return table;
        }
    }
    return NULL;
}

/* Where in the file's table a key belongs, when it stands at a wrong place. */
static bool find_home(
    const struct schema_entry *table, const char *key, const char *path, char home[PATH_SIZE])
{
    for (const struct schema_entry *entry = table; entry->key != NULL; entry++) {
        char inner[PATH_SIZE];
        if (strcmp(entry->key, key) == 0) {
            snprintf(home, PATH_SIZE, "%s", path);
            return true;
        }
        if (entry->kind == SCHEMA_MAP) {
            join_path(inner, path, entry->key);
            if (find_home(entry->map, key, inner, home)) {
                return true;
            }
        }
    }
    return false;
}

/* An unknown key: the group it belongs into, or the nearest key of this group, or all there are. */
static void add_unknown(
    struct schema_reading *reading, const struct group *group, yaml_node key, const char *path)
{
    const char *words[ENTRY_LIMIT + 1];
    char home[PATH_SIZE];
    size_t count = 0;
    const char *written = yaml_get_text(reading->yaml, key);
    if (faults_is_full(&reading->faults)) {
        add_fault(reading, key, path, "unknown key");
        return;
    }
    for (const struct schema_entry *entry = group->table; entry->key != NULL; entry++) {
        if (count < ENTRY_LIMIT) {
            words[count++] = entry->key;
        }
    }
    words[count] = NULL;
    const char *nearest = text_nearest(written, words);
    if (find_home(reading->table, written, "", home)) {
        bool is_top = home[0] == '\0';
        add_fault(reading, key, path, "unknown key here; it belongs %s%s%s",
            is_top ? "to the top of the file" : "into '", home, is_top ? "" : "'");
    } else if (nearest != NULL) {
        add_fault(reading, key, path, "unknown key; did you mean '%s'?", nearest);
    } else {
        char list[EXPECTATION_SIZE];
        value_list_keys(group->table, list);
        add_fault(reading, key, path, "unknown key; expected one of %s", list);
    }
}

static void read_group(struct schema_reading *reading, const struct group *group);

static void read_map(struct schema_reading *reading, const struct schema_entry *entry,
    yaml_node node, const char *path, char *target)
{
    if (yaml_get_kind(reading->yaml, node) != YAML_MAP) {
        char expectation[EXPECTATION_SIZE];
        add_fault(reading, node, path, "%s, expected %s",
            yaml_is_empty(reading->yaml, node) ? "there is nothing in it" : "it is no group",
            value_get_expectation(entry, expectation));
        return;
    }
    if (entry->has_presence) {
        bool is_present = true;
        memcpy(target + entry->presence, &is_present, sizeof is_present);
    }
    struct group inner = {
        .table = entry->map, .node = node, .path = path, .target = target + entry->offset};
    read_group(reading, &inner);
}

static void read_entry(struct schema_reading *reading, const struct schema_entry *entry,
    yaml_node node, const char *path, char *target)
{
    char message[FAULT_SIZE];
    char expectation[EXPECTATION_SIZE];
    if (entry->kind == SCHEMA_MAP) {
        read_map(reading, entry, node, path, target);
    } else if (yaml_get_kind(reading->yaml, node) != YAML_TEXT) {
        add_fault(reading, node, path, "it is a %s, expected %s",
            yaml_get_kind(reading->yaml, node) == YAML_MAP ? "group of keys" : "list",
            value_get_expectation(entry, expectation));
    } else if (yaml_is_empty(reading->yaml, node)) {
        add_fault(reading, node, path, "there is no value, expected %s",
            value_get_expectation(entry, expectation));
    } else {
        const char *words = yaml_get_text(reading->yaml, node);
        enum status status = value_read(entry, words, target + entry->offset, message);
        if (status == STATUS_FAULT) {
            reading->faults.failed = true;
        } else if (status != STATUS_OK) {
            add_fault(reading, node, path, "%s", message);
        }
    }
}

/* One key of a group with its value. `seen` has the first place of each entry. */
static void read_pair(struct schema_reading *reading, const struct group *group, size_t index,
    yaml_node seen[ENTRY_LIMIT])
{
    char path[PATH_SIZE];
    yaml_node key;
    yaml_node value;
    yaml_get_pair(reading->yaml, group->node, index, &key, &value);
    if (yaml_get_kind(reading->yaml, key) != YAML_TEXT) {
        add_fault(reading, key, group->path, "a key must be one word");
        return;
    }
    const char *written = yaml_get_text(reading->yaml, key);
    join_path(path, group->path, written);
    const struct schema_entry *entry = find_entry(group->table, written);
    if (entry == NULL) {
        add_unknown(reading, group, key, path);
        return;
    }
    assert(entry - group->table < ENTRY_LIMIT);
    yaml_node *first = &seen[entry - group->table];
    if (*first != 0) {
        add_fault(reading, key, path, "written twice, first on line %zu",
            yaml_get_place(reading->yaml, *first).line);
        return;
    }
    *first = key;
    read_entry(reading, entry, value, path, group->target);
}

static void read_group(struct schema_reading *reading, const struct group *group)
{
    yaml_node seen[ENTRY_LIMIT] = {0};
    for (size_t i = 0; i < yaml_get_count(reading->yaml, group->node); i++) {
        read_pair(reading, group, i, seen);
    }
    for (const struct schema_entry *entry = group->table; entry->key != NULL; entry++) {
        if (entry->is_required && seen[entry - group->table] == 0) {
            char path[PATH_SIZE];
            char expectation[EXPECTATION_SIZE];
            join_path(path, group->path, entry->key);
            add_fault(reading, group->node, path, "missing, expected %s",
                value_get_expectation(entry, expectation));
        }
    }
}

/* The value of a key in a map; 0 when it is not there. */
static yaml_node find_key(
    const struct yaml *yaml, yaml_node map, const char *key, size_t length, yaml_node *value)
{
    if (yaml_get_kind(yaml, map) != YAML_MAP) {
        return 0;
    }
    for (size_t i = 0; i < yaml_get_count(yaml, map); i++) {
        yaml_node candidate;
        yaml_get_pair(yaml, map, i, &candidate, value);
        const char *words = yaml_get_text(yaml, candidate);
        if (strlen(words) == length && memcmp(words, key, length) == 0) {
            return candidate;
        }
    }
    return 0;
}

/* Follows a key path as far as the file goes: the last key that is there (the root when none is),
 * and whether that is the whole path. */
static yaml_node follow(const struct yaml *yaml, const char *path, bool *is_whole)
{
    yaml_node map = yaml_get_root(yaml);
    yaml_node last = map;
    *is_whole = true;
    while (*path != '\0') {
        size_t length = strcspn(path, ".");
        yaml_node value = 0;
        yaml_node key = find_key(yaml, map, path, length, &value);
        if (key == 0) {
            *is_whole = false;
            return last;
        }
        last = key;
        map = value;
        path += length + (path[length] == '.');
    }
    return last;
}

/* The key path from the file's beginning; "" stands for the map that the prefix names. */
static void get_whole_path(
    const struct schema_reading *reading, const char *key_path, char path[PATH_SIZE])
{
    snprintf(path, PATH_SIZE, "%s%s", reading->prefix, key_path);
    size_t length = strlen(path);
    if (length > 0 && path[length - 1] == '.') {
        path[length - 1] = '\0';
    }
}

bool schema_has_key(const struct schema_reading *reading, const char *key_path)
{
    char path[PATH_SIZE];
    bool is_whole;
    get_whole_path(reading, key_path, path);
    follow(reading->yaml, path, &is_whole);
    return is_whole;
}

bool schema_has_fault(const struct schema_reading *reading, const char *key_path)
{
    char path[PATH_SIZE];
    get_whole_path(reading, key_path, path);
    return faults_has(&reading->faults, path);
}

void schema_add_fault(struct schema_reading *reading, const char *key_path, const char *format, ...)
{
    char path[PATH_SIZE];
    char message[FAULT_SIZE];
    bool is_whole;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    get_whole_path(reading, key_path, path);
    yaml_node node = follow(reading->yaml, path, &is_whole);
    faults_add(&reading->faults, yaml_get_place(reading->yaml, node), path, message);
}

void schema_check_within(
    struct schema_reading *reading, const char *key_path, schema_check *check, void *target)
{
    char before[PATH_SIZE];
    memcpy(before, reading->prefix, sizeof before);
    size_t length = strlen(before);
    snprintf(reading->prefix + length, PATH_SIZE - length, "%s.", key_path);
    check(reading, target);
    memcpy(reading->prefix, before, sizeof before);
}

enum status schema_read_bytes(const char *name, const char *bytes, size_t length,
    const struct schema_entry *table, schema_check *check, void *target, struct error *err)
{
    struct schema_reading reading = {.table = table};
    enum status status = yaml_create(name, bytes, length, &reading.yaml, err);
    if (status != STATUS_OK) {
        return status;
    }
    yaml_node root = yaml_get_root(reading.yaml);
    const struct schema_entry file = {.kind = SCHEMA_MAP, .map = table};
    bool is_map = yaml_get_kind(reading.yaml, root) == YAML_MAP;
    read_map(&reading, &file, root, "", target);
    if (is_map && check != NULL) {
        check(&reading, target);
    }
    status = faults_finish(&reading.faults, name, err);
    faults_clear(&reading.faults);
    yaml_destroy(reading.yaml);
    return status;
}

enum status schema_read(const char *path, const struct schema_entry *table, schema_check *check,
    void *target, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, YAML_SIZE_LIMIT, &bytes, &length, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = schema_read_bytes(path, bytes, length, table, check, target, err);
    memory_destroy(bytes);
    return status;
}

void schema_clear(const struct schema_entry *table, void *target)
{
    for (; table->key != NULL; table++) {
        char *member = (char *)target + table->offset;
        if (table->kind == SCHEMA_MAP) {
            schema_clear(table->map, member);
        } else if (table->kind == SCHEMA_TEXT || table->kind == SCHEMA_LINES ||
                   table->kind == SCHEMA_CHANNEL) {
            char *words;
            memcpy(&words, member, sizeof words);
            memory_destroy(words);
            words = NULL;
            memcpy(member, &words, sizeof words);
        }
    }
}
