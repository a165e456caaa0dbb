// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads the value of one key, by its kind. */
#include "setup/value.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"

#define TEXT_LIMIT 300       /* bytes of a name, a heat, a condition */
#define LINES_LIMIT 200000   /* bytes of a text of several lines */
#define CHANNEL_LIMIT 100000 /* more columns than any table has */
#define WORDS_LIMIT 16       /* words of one list */

const struct schema_word schema_yes_no[] = {
    {"yes", 1}, {"no", 0}, {"true", 1}, {"false", 0}, {NULL, 0}};

/* "voltage, current or field strength". */
static void list_words(const struct schema_word *words, char *list, size_t size)
{
    size_t length = 0;
    list[0] = '\0';
    for (const struct schema_word *word = words; word->word != NULL && length < size; word++) {
        const char *between = word == words ? "" : word[1].word == NULL ? " or " : ", ";
        length += (size_t)snprintf(list + length, size - length, "%s%s", between, word->word);
    }
}

void value_list_keys(const struct schema_entry *table, char list[EXPECTATION_SIZE])
{
    size_t length = 0;
    list[0] = '\0';
    for (const struct schema_entry *it = table; it->key != NULL && length < EXPECTATION_SIZE;
         it++) {
        length += (size_t)snprintf(
            list + length, EXPECTATION_SIZE - length, "%s%s", it == table ? "" : ", ", it->key);
    }
}

const char *value_get_expectation(const struct schema_entry *entry, char buffer[EXPECTATION_SIZE])
{
    char list[EXPECTATION_SIZE];
    switch (entry->kind) {
    case SCHEMA_TEXT:
        snprintf(buffer, EXPECTATION_SIZE, "a text");
        break;
    case SCHEMA_LINES:
        snprintf(buffer, EXPECTATION_SIZE, "a text of one or more lines");
        break;
    case SCHEMA_CHANNEL:
        snprintf(buffer, EXPECTATION_SIZE, "a number from 1 or the text of a header cell");
        break;
    case SCHEMA_QUANTITY:
        snprintf(buffer, EXPECTATION_SIZE, "%s such as '%s'",
            dimension_get_article(entry->dimension), dimension_get_example(entry->dimension));
        break;
    case SCHEMA_WORD:
    case SCHEMA_FLAG:
        list_words(entry->words, buffer, EXPECTATION_SIZE);
        break;
    case SCHEMA_MAP:
        value_list_keys(entry->map, list);
        snprintf(buffer, EXPECTATION_SIZE, "a group with the keys %.250s", list);
        break;
    }
    return buffer;
}

static enum status store_text(const char *words, void *member)
{
    char *copy = memory_copy_text(words);
    if (copy == NULL) {
        return STATUS_FAULT;
    }
    memcpy(member, &copy, sizeof copy);
    return STATUS_OK;
}

static enum status read_lines(
    const char *words, size_t limit, void *member, char message[FAULT_SIZE])
{
    if (words[strspn(words, " \t\r\n")] == '\0') {
        snprintf(message, FAULT_SIZE, "the text is empty; leave the key out instead");
        return STATUS_INPUT;
    }
    if (strlen(words) > limit) {
        snprintf(message, FAULT_SIZE, "the text is longer than %zu bytes", limit);
        return STATUS_INPUT;
    }
    return store_text(words, member);
}

static enum status read_text(const char *words, void *member, char message[FAULT_SIZE])
{
    if (strpbrk(words, "\r\n") != NULL) {
        snprintf(message, FAULT_SIZE, "the text has several lines, expected one");
        return STATUS_INPUT;
    }
    return read_lines(words, TEXT_LIMIT, member, message);
}

/* A number from 1, or a header text: "time (s)". What reads as another number is a slip. */
static enum status read_channel(const char *words, void *member, char message[FAULT_SIZE])
{
    double number = 0;
    size_t length = strlen(words);
    if (length == 0 || text_read_number(words, length, &number) != length) {
        return read_text(words, member, message);
    }
    bool is_whole = strspn(words, "0123456789") == length && number <= CHANNEL_LIMIT;
    if (!is_whole || number < 1) {
        snprintf(message, FAULT_SIZE,
            "'%.40s' is no channel; channels and columns are whole numbers from 1", words);
        return STATUS_INPUT;
    }
    return store_text(words + strspn(words, "0"), member);
}

static enum status read_word(
    const struct schema_entry *entry, const char *words, int *value, char message[FAULT_SIZE])
{
    const char *known[WORDS_LIMIT + 1];
    char list[EXPECTATION_SIZE];
    size_t count = 0;
    for (const struct schema_word *word = entry->words; word->word != NULL; word++) {
        if (strcmp(word->word, words) == 0) {
            *value = word->value;
            return STATUS_OK;
        }
        if (count < WORDS_LIMIT) {
            known[count++] = word->word;
        }
    }
    known[count] = NULL;
    list_words(entry->words, list, sizeof list);
    const char *nearest = text_nearest(words, known);
    snprintf(message, FAULT_SIZE, "'%.40s' is not known here, expected %s%s%s%s", words, list,
        nearest != NULL ? "; did you mean '" : "", nearest != NULL ? nearest : "",
        nearest != NULL ? "'?" : "");
    return STATUS_INPUT;
}

const char *schema_find_word(const struct schema_word *words, int value)
{
    for (; words->word != NULL; words++) {
        if (words->value == value) {
            return words->word;
        }
    }
    return NULL;
}

static bool is_within(const struct schema_range *range, double value)
{
    bool is_above = range->is_lowest_allowed ? value >= range->lowest : value > range->lowest;
    return is_above && value <= range->highest;
}

/* A half-width as large as the value leaves nothing of a quantity that must be positive. For a
 * temperature the comparison would mean nothing. */
static bool is_swallowed(const struct schema_entry *entry, const struct quantity *quantity)
{
    bool is_positive =
        entry->range->lowest > 0 || (entry->range->lowest == 0 && !entry->range->is_lowest_allowed);
    return is_positive && entry->dimension != DIMENSION_TEMPERATURE &&
           quantity->half_width >= quantity->value;
}

static enum status read_quantity(
    const struct schema_entry *entry, const char *words, void *member, char message[FAULT_SIZE])
{
    struct quantity quantity = {0};
    struct error err = {0};
    if (quantity_read(words, entry->dimension, &quantity, &err) != STATUS_OK) {
        snprintf(message, FAULT_SIZE, "%.400s; %.180s", err.message, err.hint);
        return STATUS_INPUT;
    }
    if (entry->range != NULL && !is_within(entry->range, quantity.value)) {
        snprintf(message, FAULT_SIZE, "'%s' cannot be, expected %s; %s", words, entry->range->said,
            entry->range->slip);
        return STATUS_INPUT;
    }
    if (entry->range != NULL && is_swallowed(entry, &quantity)) {
        snprintf(message, FAULT_SIZE,
            "'%s' has a half-width as large as its value; check the unit behind the ±", words);
        return STATUS_INPUT;
    }
    memcpy(member, &quantity, sizeof quantity);
    return STATUS_OK;
}

enum status value_read(
    const struct schema_entry *entry, const char *words, void *member, char message[FAULT_SIZE])
{
    int value = 0;
    enum status status = STATUS_INPUT;
    switch (entry->kind) {
    case SCHEMA_TEXT:
        return read_text(words, member, message);
    case SCHEMA_LINES:
        return read_lines(words, LINES_LIMIT, member, message);
    case SCHEMA_CHANNEL:
        return read_channel(words, member, message);
    case SCHEMA_QUANTITY:
        return read_quantity(entry, words, member, message);
    case SCHEMA_WORD:
        status = read_word(entry, words, &value, message);
        if (status == STATUS_OK) {
            memcpy(member, &value, sizeof value);
        }
        break;
    case SCHEMA_FLAG:
        status = read_word(entry, words, &value, message);
        if (status == STATUS_OK) {
            bool flag = value != 0;
            memcpy(member, &flag, sizeof flag);
        }
        break;
    case SCHEMA_MAP:
        break;
    }
    return status;
}
