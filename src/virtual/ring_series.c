// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/ring_series.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum { HARMONIC_LIMIT = 2000, TERM_SIZE = 200 };

static const char term_hint[] = "write 'harmonic: amplitude, phase', such as '3: 900 A/m, 17 deg'";

/* A copy of words[0 ... length) without blanks around it. */
static void copy_trimmed(char copy[TERM_SIZE], const char *words, size_t length)
{
    while (length > 0 && isspace((unsigned char)*words)) {
        words++;
        length--;
    }
    while (length > 0 && isspace((unsigned char)words[length - 1]))
        length--;
    snprintf(copy, TERM_SIZE, "%.*s", (int)(length < TERM_SIZE ? length : TERM_SIZE), words);
}

static enum status read_harmonic(const char *words, size_t *harmonic, struct error *err)
{
    char *end;
    unsigned long number = strtoul(words, &end, 10);
    if (!isdigit((unsigned char)*words) || *end != '\0' || number > HARMONIC_LIMIT)
        return fail(err, STATUS_INPUT, term_hint,
            "'%.40s' is no harmonic, expected a whole number from 0 to %d", words, HARMONIC_LIMIT);
    *harmonic = number;
    return STATUS_OK;
}

/* "8 kA/m, 0 deg" of a harmonic; the constant has no phase. */
static enum status read_amplitude(
    const char *words, enum dimension dimension, struct ring_term *term, struct error *err)
{
    char part[TERM_SIZE];
    struct quantity quantity;
    const char *comma = strchr(words, ',');
    if ((comma == NULL) != (term->harmonic == 0))
        return fail(err, STATUS_INPUT, term_hint, "harmonic %zu %s", term->harmonic,
            comma ? "is a constant and has no phase" : "has no phase");
    copy_trimmed(part, words, comma ? (size_t)(comma - words) : strlen(words));
    enum status status = quantity_read(part, dimension, &quantity, err);
    if (status)
        return status;
    term->amplitude = quantity.value;
    if (comma == NULL)
        return STATUS_OK;
    copy_trimmed(part, comma + 1, strlen(comma + 1));
    status = quantity_read(part, DIMENSION_ANGLE, &quantity, err);
    if (!status)
        term->phase = quantity.value;
    return status;
}

static enum status read_term(
    const char *words, enum dimension dimension, struct ring_term *term, struct error *err)
{
    char part[TERM_SIZE];
    const char *colon = strchr(words, ':');
    if (colon == NULL)
        return fail(err, STATUS_INPUT, term_hint, "'%.60s' has no colon", words);
    copy_trimmed(part, words, (size_t)(colon - words));
    enum status status = read_harmonic(part, &term->harmonic, err);
    if (!status && term->harmonic == 0 && dimension != DIMENSION_FIELD_STRENGTH)
        return fail(err, STATUS_INPUT, "leave it out: a pickup coil cannot see it",
            "a flux density has no harmonic 0");
    return status ? status : read_amplitude(colon + 1, dimension, term, err);
}

static enum status add_term(
    struct ring_series *series, const struct ring_term *term, size_t *capacity, struct error *err)
{
    for (size_t i = 0; i < series->count; i++)
        if (series->terms[i].harmonic == term->harmonic)
            return fail(
                err, STATUS_INPUT, "add them up", "harmonic %zu is given twice", term->harmonic);
    struct ring_term *terms =
        memory_reserve(series->terms, capacity, series->count + 1, sizeof *terms);
    if (terms == NULL)
        return fail_memory(err);
    series->terms = terms;
    series->terms[series->count++] = *term;
    return STATUS_OK;
}

enum status ring_series_read(
    struct ring_series *series, enum dimension dimension, struct error *err)
{
    size_t capacity = 0;
    const char *words = series->words;
    while (*words != '\0') {
        char part[TERM_SIZE];
        struct ring_term term = {0};
        size_t length = strcspn(words, ";\r\n");
        copy_trimmed(part, words, length);
        words += length + (words[length] != '\0');
        if (*part == '\0')
            continue;
        enum status status = read_term(part, dimension, &term, err);
        if (!status)
            status = add_term(series, &term, &capacity, err);
        if (status)
            return status;
    }
    return STATUS_OK;
}

void ring_series_clear(struct ring_series *series)
{
    memory_destroy(series->terms);
    series->terms = NULL;
    series->count = 0;
}

size_t ring_series_get_harmonics(const struct ring_series *series)
{
    size_t harmonics = 0;
    for (size_t i = 0; i < series->count; i++)
        if (series->terms[i].harmonic > harmonics)
            harmonics = series->terms[i].harmonic;
    return harmonics;
}
