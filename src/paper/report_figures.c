// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_figures.h"

#include <math.h>

#include "base/memory.h"
#include "paper/markup.h"
#include "paper/report_cell.h"
#include "paper/report_number.h"

enum { WORDS_MOST = 4 };

/* The columns that there are. */
struct columns {
    size_t count;
    enum figure figures[FIGURE_COUNT];
    struct report_scale scales[FIGURE_COUNT];
    struct text heads[FIGURE_COUNT];
    const char *headings[WORDS_MOST + FIGURE_COUNT];
    bool is_number[WORDS_MOST + FIGURE_COUNT];
};

/* From a column's largest value and its smallest uncertainty; without one, or where it would ask
 * for more, five digits. */
static bool find_scale(
    const struct report_figures *table, enum figure figure, struct report_scale *scale)
{
    double most = 0, least_u = INFINITY;
    bool is_there = false;
    for (size_t i = 0; i < table->count; i++) {
        const struct figure_value *value = &table->rows[i]->list[figure];
        if (value->is_present) {
            is_there = true;
            most = fmax(most, fabs(value->value));
            least_u = value->has_u && value->u > 0 ? fmin(least_u, value->u) : least_u;
        }
    }
    const struct report_scale plain = report_scale_compute(figure, most, 0);
    *scale = report_scale_compute(figure, most, least_u);
    if (!table->has_u && scale->decimals > plain.decimals) {
        *scale = plain;
    }
    return is_there;
}

static void set_columns(const struct report_figures *table, struct columns *columns)
{
    for (size_t i = 0; i < table->word_columns; i++) {
        columns->headings[i] = table->word_headings[i];
    }
    for (size_t i = 0; i < table->figure_count; i++) {
        const enum figure figure = table->figures[i];
        const size_t c = columns->count;
        if (find_scale(table, figure, &columns->scales[c])) {
            struct text *head = &columns->heads[c];
            const char *unit = columns->scales[c].unit;
            markup_add_symbol(head, figure_table[figure].symbol);
            text_add_format(head, unit[0] != '\0' ? " (%s)" : "%s", unit);
            columns->figures[c] = figure;
            columns->headings[table->word_columns + c] = head->failed ? "" : head->bytes;
            columns->is_number[table->word_columns + c] = true;
            columns->count++;
        }
    }
}

/* At least three digits of small values in a column of large ones, unless they are uncertain. */
static const char *write_plain(enum figure figure, const struct report_scale *scale,
    const struct figure_value *value, char words[REPORT_NUMBER_SIZE])
{
    const double number = value->is_present ? value->value : NAN;
    struct report_scale finer = *scale;
    if (value->is_present && !value->has_u && number != 0) {
        const struct report_scale own = report_scale_compute(figure, fabs(number), 0);
        const int decimals = own.decimals - 2 + (int)lround(log10(scale->factor / own.factor));
        finer.decimals = decimals > scale->decimals ? decimals : scale->decimals;
    }
    return report_write_number(&finer, number, words);
}

static void add_cell(struct report_table *out, const struct report_figures *table,
    enum figure figure, const struct figure_value *value, const struct report_scale *scale)
{
    char words[2 * REPORT_NUMBER_SIZE];
    const double number = value->is_present ? value->value : NAN;
    if (table->has_u && value->has_u) {
        struct report_scale own = report_scale_compute(figure, fabs(number), value->u);
        own.decimals += (int)lround(log10(scale->factor / own.factor));
        own.factor = scale->factor;
        report_cell_add_number(out, report_write_expanded(&own, number, value->u, words));
    } else {
        report_cell_add_number(out, write_plain(figure, scale, value, words));
    }
}

void report_figures_add(struct document *document, const struct report_figures *table)
{
    struct columns *columns = memory_create(1, sizeof *columns);
    if (columns == NULL) {
        document_set_failed(document);
        return;
    }
    set_columns(table, columns);
    struct report_table out = {.columns = table->word_columns + columns->count,
        .headings = columns->headings,
        .is_number = columns->is_number};
    for (size_t row = 0; row < table->count; row++) {
        for (size_t i = 0; i < table->word_columns; i++) {
            report_cell_add(&out, table->words[row * table->word_columns + i]);
        }
        for (size_t c = 0; c < columns->count; c++) {
            add_cell(&out, table, columns->figures[c], &table->rows[row]->list[columns->figures[c]],
                &columns->scales[c]);
        }
    }
    report_table_finish(&out, document, table->caption);
    for (size_t c = 0; c < columns->count; c++) {
        text_clear(&columns->heads[c]);
    }
    memory_destroy(columns);
}
