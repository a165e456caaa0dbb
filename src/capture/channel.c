// SPDX-License-Identifier: GPL-3.0-or-later
/* Looking up a channel by the number or the header text that a person writes. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/reader.h"
#include "capture/table_name.h"

#define NUMBER_DIGITS 9 /* more are no column */

/* Adds letters in lower case, without blanks. */
static void add_squeezed(struct text *text, const char *words)
{
    for (; *words != '\0'; words++) {
        char letter = *words >= 'A' && *words <= 'Z' ? (char)(*words - 'A' + 'a') : *words;
        if (letter != ' ' && letter != '\t') {
            text_add_bytes(text, &letter, 1);
        }
    }
}

/* Whether two texts are alike but for letters' case and blanks. */
static bool is_same(const char *a, const char *b, bool *has_failed)
{
    struct text first = {0};
    struct text second = {0};
    add_squeezed(&first, a);
    add_squeezed(&second, b);
    *has_failed = *has_failed || first.failed || second.failed;
    bool is_equal = first.length == second.length &&
                    (first.length == 0 || memcmp(first.bytes, second.bytes, first.length) == 0);
    text_clear(&first);
    text_clear(&second);
    return is_equal;
}

/* The number a reference is, 0 when it is a header text. */
static size_t read_number(const char *reference)
{
    size_t length = strspn(reference, "0123456789");
    bool is_number = length > 0 && length <= NUMBER_DIGITS && reference[length] == '\0';
    return is_number ? (size_t)strtoul(reference, NULL, 10) : 0;
}

/* Whether a channel is what a reference, whole and taken apart, means. */
static bool is_meant(const struct capture_channel *channel, const char *reference,
    const struct table_name *parts, bool *has_failed)
{
    if (is_same(channel->name, reference, has_failed)) {
        return channel->name[0] != '\0';
    }
    return parts->unit[0] != '\0' && is_same(channel->name, parts->name, has_failed) &&
           is_same(channel->unit, parts->unit, has_failed);
}

static void add_channel(struct text *list, const struct capture_channel *channel)
{
    text_add_format(list, "%zu", channel->column);
    if (channel->name[0] != '\0' || channel->unit[0] != '\0') {
        text_add_format(list, " '%s", channel->name);
        if (channel->unit[0] != '\0') {
            text_add_format(list, "%s(%s)", channel->name[0] != '\0' ? " " : "", channel->unit);
        }
        text_add(list, "'");
    }
}

/* "1, 2" or "2 'current (A)', 3 'pickup (V)'". */
static void add_list(struct text *list, const struct capture_info *info)
{
    for (size_t i = 0; i < info->channel_count; i++) {
        text_add(list, i > 0 ? ", " : "");
        add_channel(list, &info->channels[i]);
    }
}

static const char *find_nearest(const struct capture_info *info, const char *reference)
{
    const char **names = memory_create(info->channel_count + 1, sizeof *names);
    const char *nearest = NULL;
    if (names != NULL) {
        for (size_t i = 0; i < info->channel_count; i++) {
            names[i] = info->channels[i].name;
        }
        nearest = text_nearest(reference, names);
    }
    memory_destroy(names);
    return nearest;
}

static enum status fail_unknown(const struct capture_info *info, const char *reference,
    const struct table_name *parts, struct error *err)
{
    struct text list = {0};
    struct text hint = {0};
    const char *nearest = find_nearest(info, reference);
    if (nearest == NULL) {
        nearest = find_nearest(info, parts->name);
    }
    if (nearest != NULL && nearest[0] != '\0') {
        text_add_format(&hint, "did you mean '%s'?", nearest);
    } else {
        text_add(&hint, info->kind == CAPTURE_AUDIO ? "channels are numbered from 1"
                                                    : "give a header text or a column number");
    }
    add_list(&list, info);
    enum status status = list.failed || hint.failed ? fail_memory(err)
                                                    : fail(err, STATUS_INPUT, hint.bytes,
                                                          "'%s' has no channel '%s': it has %s",
                                                          info->file, reference, list.bytes);
    text_clear(&list);
    text_clear(&hint);
    return status;
}

static enum status fail_number(const struct capture_info *info, size_t number, struct error *err)
{
    struct text list = {0};
    size_t last = info->channels[info->channel_count - 1].column;
    bool is_time = info->timing == CAPTURE_TIMING_ROWS && number > 0 && number < last;
    add_list(&list, info);
    enum status status = STATUS_OK;
    if (list.failed) {
        status = fail_memory(err);
    } else if (is_time) {
        status = fail(err, STATUS_INPUT, "columns are counted from 1, the time column included",
            "column %zu of '%s' is its time, no channel: it has %s", number, info->file,
            list.bytes);
    } else {
        status = fail(err, STATUS_INPUT,
            info->kind == CAPTURE_AUDIO ? "channels are numbered from 1"
                                        : "columns are counted from 1, the time column included",
            "'%s' has no channel %zu: it has %s", info->file, number, list.bytes);
    }
    text_clear(&list);
    return status;
}

static enum status fail_ambiguous(const struct capture_info *info, const char *reference,
    size_t first, size_t second, struct error *err)
{
    return fail(err, STATUS_INPUT, "give the number of the column",
        "'%s' has more than one channel '%s': columns %zu and %zu", info->file, reference,
        info->channels[first].column, info->channels[second].column);
}

static enum status find_name(const struct capture_info *info, const char *reference,
    const struct table_name *parts, size_t *index, struct error *err)
{
    size_t found = info->channel_count;
    bool has_failed = false;
    for (size_t i = 0; i < info->channel_count; i++) {
        if (!is_meant(&info->channels[i], reference, parts, &has_failed)) {
            continue;
        }
        if (found < info->channel_count) {
            return fail_ambiguous(info, reference, found, i, err);
        }
        found = i;
    }
    if (has_failed) {
        return fail_memory(err);
    }
    if (found == info->channel_count) {
        return fail_unknown(info, reference, parts, err);
    }
    *index = found;
    return STATUS_OK;
}

static char *copy_trimmed(const char *words)
{
    words += strspn(words, " \t");
    char *copy = memory_copy_text(words);
    size_t length = copy != NULL ? strlen(copy) : 0;
    while (length > 0 && (copy[length - 1] == ' ' || copy[length - 1] == '\t')) {
        copy[--length] = '\0';
    }
    return copy;
}

enum status capture_find_channel(
    const struct capture *capture, const char *reference, size_t *index, struct error *err)
{
    const struct capture_info *info = &capture->info;
    size_t number = read_number(reference);
    if (number > 0 || strcmp(reference, "0") == 0) {
        for (size_t i = 0; i < info->channel_count; i++) {
            if (info->channels[i].column == number) {
                *index = i;
                return STATUS_OK;
            }
        }
        return fail_number(info, number, err);
    }
    struct table_name parts = {0};
    char *cell = copy_trimmed(reference);
    if (cell == NULL || !table_name_init(&parts, cell)) {
        memory_destroy(cell);
        return fail_memory(err);
    }
    enum status status = find_name(info, reference, &parts, index, err);
    table_name_clear(&parts);
    memory_destroy(cell);
    return status;
}
