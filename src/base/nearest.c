// SPDX-License-Identifier: GPL-3.0-or-later
/* The likely slip: edit distance with insertion, deletion, substitution and the swap of two
 * neighbours, each once (optimal string alignment). */
#include "base/text.h"

#include <string.h>

#define WORD_LIMIT 64

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

static size_t get_distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    size_t rows[3][WORD_LIMIT + 1];
    size_t *before = rows[0];
    size_t *last = rows[1];
    size_t *row = rows[2];
    for (size_t j = 0; j <= b_length; j++) {
        last[j] = j;
    }
    for (size_t i = 1; i <= a_length; i++) {
        row[0] = i;
        for (size_t j = 1; j <= b_length; j++) {
            size_t cost = lower(a[i - 1]) != lower(b[j - 1]);
            row[j] = smaller(smaller(last[j], row[j - 1]) + 1, last[j - 1] + cost);
            bool is_swap = i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                           lower(a[i - 2]) == lower(b[j - 1]);
            if (is_swap) {
                row[j] = smaller(row[j], before[j - 2] + 1);
            }
        }
        size_t *free_row = before;
        before = last;
        last = row;
        row = free_row;
    }
    return last[b_length];
}

const char *text_nearest(const char *word, const char *const *words)
{
    const char *nearest = NULL;
    size_t length = strlen(word);
    if (length == 0 || length > WORD_LIMIT) {
        return NULL;
    }
    size_t limit = length / 3 + 1; /* farther than this is another word, not a slip */
    for (; *words != NULL; words++) {
        size_t candidate_length = strlen(*words);
        const size_t longer = candidate_length > length ? candidate_length : length;
        if (candidate_length > WORD_LIMIT || 2 * longer - candidate_length - length > limit) {
            continue; /* so many letters must be put in or left out */
        }
        size_t distance = get_distance(word, length, *words, candidate_length);
        if (distance < limit || (distance == limit && distance < length && nearest == NULL)) {
            nearest = *words;
            limit = distance;
        }
    }
    return nearest;
}
