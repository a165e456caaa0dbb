// SPDX-License-Identifier: GPL-3.0-or-later
/* Two cards, figure by figure. A difference beyond twice its combined standard uncertainty is one
 * (JCGM 100:2008, annex G; the two are taken as independent). Figures of loops with other peaks or
 * another frequency, or without u, say nothing about the steels. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/card.h"
#include "cli/output.h"
#include "quantity/display.h"

#define COVERAGE 2.0
#define CONDITION 0.01 /* by how much peak field and frequency may differ, relatively */

/* Why figures cannot be compared; NULL: they can. */
static const char *find_obstacle(const struct card *a, const struct card *b)
{
    static const struct {
        enum figure figure;
        const char *words;
    } conditions[] = {{FIGURE_FIELD_PEAK, "the peak fields differ by more than 1 %"},
        {FIGURE_FREQUENCY, "the frequencies differ by more than 1 %"}};
    for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++) {
        const struct figure_value *x = &a->figures.list[conditions[i].figure];
        const struct figure_value *y = &b->figures.list[conditions[i].figure];
        if (x->is_present != y->is_present ||
            (x->is_present && fabs(x->value - y->value) > CONDITION * fabs(x->value)))
            return conditions[i].words;
    }
    return NULL;
}

static const char *judge(
    const struct figure_value *a, const struct figure_value *b, const char *obstacle)
{
    if (obstacle || !a->has_u || !b->has_u)
        return "cannot tell";
    return fabs(a->value - b->value) > COVERAGE * hypot(a->u, b->u) ? "different" : "same";
}

static void add_cell(
    struct text *out, enum figure figure, const struct figure_value *value, size_t columns)
{
    struct display display;
    char words[DISPLAY_JOINED_SIZE];
    display_set_figure(&display, figure, value, 5);
    display_join(&display, words, sizeof words);
    const size_t width = text_width(words);
    text_add_format(out, "%*s%s", (int)(width < columns ? columns - width : 1), "", words);
}

static bool is_compared(enum figure figure)
{
    return figure != FIGURE_CYCLES && figure != FIGURE_HARMONICS &&
           figure < FIGURE_REMANENCE_FALLING;
}

static void add_figures(struct text *out, const struct card *a, const struct card *b)
{
    const char *obstacle = find_obstacle(a, b);
    text_add_format(out, "A: %s\nB: %s\n\n", a->name, b->name);
    text_add_format(out, "  %-23s%18s%18s%s\n", "figure", "A", "B", "   A and B are");
    for (int i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *x = &a->figures.list[i], *y = &b->figures.list[i];
        if (!x->is_present || !y->is_present || !is_compared((enum figure)i))
            continue;
        text_add_format(out, "  %-23s", figure_table[i].word);
        add_cell(out, (enum figure)i, x, 18);
        add_cell(out, (enum figure)i, y, 18);
        text_add_format(out, "   %s\n", judge(x, y, obstacle));
    }
    if (obstacle)
        text_add_format(out, "\ncannot tell: %s\n", obstacle);
    text_add(out,
        "\nDifferent: by more than twice the combined standard uncertainty, A and B taken "
        "as\nindependent. What one bench does to both alike cancels, but is counted.\n");
}

static int run_diff(const struct card_command *options, int count, char **words, struct error *err)
{
    struct card a = {0}, b = {0};
    struct text out = {0};
    (void)options;
    if (count != 2)
        return (int)fail(err, STATUS_USAGE, "'lodecard card diff a.json b.json'",
            "'card diff' needs two cards, and there are %d", count);
    enum status status = card_read(words[0], &a, err);
    if (!status)
        status = card_read(words[1], &b, err);
    if (!status) {
        add_figures(&out, &a, &b);
        status = output_print(&out, err);
    }
    text_clear(&out);
    card_clear(&a);
    card_clear(&b);
    return (int)status;
}

static const char *const own_options[] = {NULL};
const struct card_verb card_diff_verb = {.name = "diff", .options = own_options, .run = run_diff};
