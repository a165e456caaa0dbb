// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/exporter.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "card/exporter_list.h"

#define SOURCE_MOST ((size_t)1 << 20)
#define NAME_MOST 40

static const char ending[] = ".lua";

static bool is_name(const char *name)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789-";
    size_t length = strlen(name);
    return length > 0 && length <= NAME_MOST && strspn(name, letters) == length;
}

void exporter_clear(struct exporter *exporter)
{
    memory_destroy(exporter->name);
    memory_destroy(exporter->file);
    memory_destroy(exporter->purpose);
    memory_destroy(exporter->bytes);
    *exporter = (struct exporter){0};
}

/* The purpose stands in the first line, behind "--" and blanks. */
static char *copy_purpose(const char *bytes, size_t length)
{
    size_t begin = 0, end = 0;
    while (end < length && bytes[end] != '\n' && bytes[end] != '\r' && bytes[end])
        end++;
    if (end < 2 || strncmp(bytes, "--", 2) != 0)
        return memory_copy_text("");
    for (begin = 2; begin < end && (bytes[begin] == ' ' || bytes[begin] == '-'); begin++)
        continue;
    struct text purpose = {0};
    text_add_bytes(&purpose, bytes + begin, end - begin);
    text_add(&purpose, "");
    if (purpose.failed)
        text_clear(&purpose);
    return purpose.bytes;
}

/* Takes the bytes, also on failure. */
static enum status create(const char *name, char *bytes, size_t length, bool is_own,
    struct exporter *exporter, struct error *err)
{
    struct text file = {0};
    text_add_format(&file, "%s%s", name, ending);
    struct exporter made = {
        .name = memory_copy_text(name),
        .file = file.bytes,
        .purpose = bytes ? copy_purpose(bytes, length) : NULL,
        .bytes = bytes,
        .length = length,
        .is_own = is_own,
    };
    if (made.name && !file.failed && made.purpose) {
        *exporter = made;
        return STATUS_OK;
    }
    exporter_clear(&made);
    return fail_memory(err);
}

static enum status create_built_in(
    const struct exporter_source *source, struct exporter *exporter, struct error *err)
{
    size_t length = (size_t)(source->end - source->bytes);
    return create(source->name, memory_copy_text(source->bytes), length, false, exporter, err);
}

static enum status read_own(
    const char *name, const char *folder, struct exporter *exporter, struct error *err)
{
    struct text path = {0};
    text_add_format(&path, "%s/%s%s", folder, name, ending);
    if (path.failed)
        return fail_memory(err);
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path.bytes, SOURCE_MOST, &bytes, &length, err);
    if (!status)
        status = create(name, bytes, length, true, exporter, err);
    text_clear(&path);
    return status;
}

static bool has_own(const char *name, const char *folder)
{
    struct text path = {0};
    text_add_format(&path, "%s/%s%s", folder ? folder : "", name, ending);
    bool is_there = folder && !path.failed && file_exists(path.bytes);
    text_clear(&path);
    return is_there;
}

static enum status fail_unknown(const char *name, const char *folder, struct error *err)
{
    struct exporter_set set = {0};
    enum status status = exporter_set_read(folder, &set, err);
    const char **names = memory_create(set.count + 1, sizeof *names);
    if (!status && !names)
        status = fail_memory(err);
    if (!status) {
        for (size_t i = 0; i < set.count; i++)
            names[i] = set.list[i].name;
        const char *nearest = text_nearest(name, names);
        char hint[160] = "'lodecard card export --list' lists them";
        if (nearest)
            (void)snprintf(hint, sizeof hint,
                "did you mean '%s'? 'lodecard card export --list' lists them", nearest);
        status = fail(err, STATUS_USAGE, hint, "there is no exporter '%.80s'", name);
    }
    memory_destroy(names);
    exporter_set_clear(&set);
    return status;
}

static enum status open_folder(const char *folder, DIR **entries, struct error *err)
{
    *entries = opendir(folder);
    if (*entries)
        return STATUS_OK;
    return fail(err, STATUS_IO, "--exporters, or LODECARD_EXPORTERS, names a folder of .lua files",
        "cannot read the folder '%s': %s", folder, strerror(errno));
}

/* A folder that is not there is a slip, even where a compiled-in exporter would do. */
static enum status check_folder(const char *folder, struct error *err)
{
    DIR *entries = NULL;
    enum status status = folder ? open_folder(folder, &entries, err) : STATUS_OK;
    if (entries)
        closedir(entries);
    return status;
}

enum status exporter_find(
    const char *name, const char *folder, struct exporter *exporter, struct error *err)
{
    enum status status = check_folder(folder, err);
    if (status)
        return status;
    if (is_name(name) && has_own(name, folder))
        return read_own(name, folder, exporter, err);
    for (const struct exporter_source *source = exporter_list; source->name; source++)
        if (!strcmp(source->name, name))
            return create_built_in(source, exporter, err);
    return fail_unknown(name, folder, err);
}

/* --- the list ----------------------------------------------------------------------------------
 */

void exporter_set_clear(struct exporter_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        exporter_clear(&set->list[i]);
    memory_destroy(set->list);
    *set = (struct exporter_set){0};
}

static struct exporter *add_place(struct exporter_set *set)
{
    struct exporter *list =
        memory_reserve(set->list, &set->capacity, set->count + 1, sizeof *set->list);
    if (!list)
        return NULL;
    set->list = list;
    list[set->count] = (struct exporter){0};
    return &list[set->count];
}

static enum status add_own(
    struct exporter_set *set, const char *file, const char *folder, struct error *err)
{
    char name[NAME_MOST + 1];
    size_t length = strlen(file);
    size_t tail = sizeof ending - 1;
    if (length <= tail || length - tail > NAME_MOST || strcmp(file + length - tail, ending) != 0)
        return STATUS_OK;
    (void)snprintf(name, sizeof name, "%.*s", (int)(length - tail), file);
    if (!is_name(name))
        return STATUS_OK;
    struct exporter *place = add_place(set);
    if (!place)
        return fail_memory(err);
    enum status status = read_own(name, folder, place, err);
    set->count += status == STATUS_OK;
    return status;
}

static enum status add_folder(struct exporter_set *set, const char *folder, struct error *err)
{
    DIR *entries = NULL;
    enum status status = open_folder(folder, &entries, err);
    for (struct dirent *entry; !status && (entry = readdir(entries)) != NULL;)
        status = add_own(set, entry->d_name, folder, err);
    if (entries)
        closedir(entries);
    return status;
}

static bool has_name(const struct exporter_set *set, const char *name)
{
    for (size_t i = 0; i < set->count; i++)
        if (!strcmp(set->list[i].name, name))
            return true;
    return false;
}

static int compare(const void *a, const void *b)
{
    return strcmp(((const struct exporter *)a)->name, ((const struct exporter *)b)->name);
}

enum status exporter_set_read(const char *folder, struct exporter_set *set, struct error *err)
{
    struct exporter_set made = {0};
    enum status status = folder ? add_folder(&made, folder, err) : STATUS_OK;
    for (const struct exporter_source *source = exporter_list; !status && source->name; source++) {
        if (has_name(&made, source->name))
            continue;
        struct exporter *place = add_place(&made);
        status = place ? create_built_in(source, place, err) : fail_memory(err);
        made.count += status == STATUS_OK;
    }
    if (status) {
        exporter_set_clear(&made);
        return status;
    }
    qsort(made.list, made.count, sizeof *made.list, compare);
    *set = made;
    return STATUS_OK;
}
