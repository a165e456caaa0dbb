// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/merge.h"

#include <math.h>
#include <string.h>

#define CONDITION 0.01 /* by how much peak field and frequency may differ, relatively */

static bool is_same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static bool is_same_condition(const struct card *a, const struct card *b, enum figure figure)
{
    const struct figure_value *x = &a->figures.list[figure], *y = &b->figures.list[figure];
    return x->is_present == y->is_present &&
           (!x->is_present || fabs(x->value - y->value) <= CONDITION * fabs(x->value));
}

static enum status check(
    const struct card *cards, const struct card_part *parts, size_t index, struct error *err)
{
    const struct card *card = &cards[index], *first = &cards[0];
    const char *file = parts[index].file;
    if (card->specimen_count != 1 || card->has_spread) {
        return fail(err, STATUS_INPUT, "merge cards of one specimen each",
            "'%s' is a card of %zu specimens", file, card->specimen_count);
    }
    for (size_t i = 0; i < index; i++) {
        if (strcmp(cards[i].specimens[0], card->specimens[0]) == 0) {
            return fail(err, STATUS_INPUT, "take one card of each specimen",
                "'%s' and '%s' are of one specimen, '%s'", parts[i].file, file, card->specimens[0]);
        }
    }
    if (!is_same_text(card->alloy, first->alloy) || !is_same_text(card->heat, first->heat)) {
        return fail(err, STATUS_INPUT, "merge specimens of one heat; 'card diff' compares others",
            "'%s' and '%s' are of different alloys or heats", parts[0].file, file);
    }
    if (!is_same_condition(card, first, FIGURE_FIELD_PEAK) ||
        !is_same_condition(card, first, FIGURE_FREQUENCY)) {
        return fail(err, STATUS_INPUT, "measure all specimens at one peak field and frequency",
            "'%s' and '%s' were measured at peak fields or frequencies more than 1 %% apart",
            parts[0].file, file);
    }
    return STATUS_OK;
}

/* Mean, spread and u of one figure over the cards that have it. */
static void merge_figure(const struct card *cards, size_t count, size_t i,
    struct card_spread *spread, struct figure_value *mean)
{
    double sum = 0, squares = 0, u = 0;
    bool has_u = true;
    *spread = (struct card_spread){.standard_deviation = NAN, .least = INFINITY, .most = -INFINITY};
    for (size_t c = 0; c < count; c++) {
        const struct figure_value *value = &cards[c].figures.list[i];
        if (value->is_present) {
            spread->specimens++;
            spread->least = fmin(spread->least, value->value);
            spread->most = fmax(spread->most, value->value);
            sum += value->value;
            u += value->u;
            has_u = has_u && value->has_u;
        }
    }
    const double n = (double)spread->specimens;
    *mean = (struct figure_value){.value = sum / n, .is_present = n > 0, .has_u = has_u && n > 0};
    for (size_t c = 0; c < count; c++) {
        const struct figure_value *value = &cards[c].figures.list[i];
        squares +=
            value->is_present ? (value->value - mean->value) * (value->value - mean->value) : 0;
    }
    if (spread->specimens > 1) {
        spread->standard_deviation = sqrt(squares / (n - 1));
    }
    mean->u = hypot(u / n, spread->specimens > 1 ? sqrt(squares / (n - 1) / n) : 0);
}

/* The card whose loop is nearest to the means. */
static size_t find_nearest(const struct card *cards, size_t count, const struct figures *means)
{
    static const enum figure compared[] = {FIGURE_LOOP_AREA, FIGURE_COERCIVITY, FIGURE_REMANENCE};
    size_t nearest = 0;
    double least = INFINITY;
    for (size_t c = 0; c < count; c++) {
        double off = 0;
        for (size_t i = 0; i < sizeof compared / sizeof compared[0]; i++) {
            const struct figure_value *mean = &means->list[compared[i]];
            const struct figure_value *value = &cards[c].figures.list[compared[i]];
            off += mean->is_present && value->is_present ? pow(value->value / mean->value - 1.0, 2)
                                                         : 0;
        }
        if (off < least) {
            least = off;
            nearest = c;
        }
    }
    return nearest;
}

static void set_parts(
    struct card *card, const struct card *cards, const struct card_part *parts, size_t count)
{
    const char **names = card_create_array(card, count, sizeof *names);
    card->parts = card_create_array(card, count, sizeof *card->parts);
    for (size_t i = 0; !card->failed && i < count; i++) {
        names[i] = card_copy_text(card, cards[i].specimens[0]);
        card->parts[i] = parts[i];
        card->parts[i].file = card_copy_text(card, parts[i].file);
        card->parts[i].specimens = &names[i];
        card->parts[i].specimen_count = 1;
        card->part_count = i + 1;
    }
    if (!card->failed) {
        card->specimens = names;
        card->specimen_count = count;
    }
}

enum status card_merge(struct card *cards, const struct card_part *parts, size_t count,
    size_t *merged, struct error *err)
{
    struct figures means = {0};
    struct card_spread spread[FIGURE_COUNT];
    for (size_t i = 0; i < count; i++) {
        enum status status = check(cards, parts, i, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        merge_figure(cards, count, i, &spread[i], &means.list[i]);
    }
    const size_t nearest = find_nearest(cards, count, &means);
    struct card *card = &cards[nearest];
    card_add_note(card, &card->notes, "merged", NOTE_INFO,
        "the cards named in provenance.cards have the others",
        "figures are means of %zu specimens; loops, curves, laws and captures are of '%s', the "
        "nearest to them",
        count, card->specimens[0]);
    set_parts(card, cards, parts, count);
    card->figures = means;
    memcpy(card->spread, spread, sizeof spread);
    card->has_spread = true;
    *merged = nearest;
    return card->failed ? fail_memory(err) : STATUS_OK;
}
