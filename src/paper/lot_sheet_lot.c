// SPDX-License-Identifier: GPL-3.0-or-later
/* The lot: a row a property, a column a figure. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "paper/lot_sheet_part.h"
#include "paper/markup.h"

#define COLUMNS_MOST 4 /* figures beside each other on a page */
#define CELL 160
static const char dash[] = "\u2013";

struct column {
    const struct heat_figure *figure;
    const struct limits *limits;
    struct report_scale scale;
};

/* --- cells -------------------------------------------------------------------------------------
 */

static const char *write_rings(const struct column *column, char out[CELL])
{
    const struct lot_figure *lot = &column->figure->lot;
    if (lot->values > lot->specimens) {
        snprintf(out, CELL, "%zu (%zu loops)", lot->specimens, lot->values);
    } else {
        snprintf(out, CELL, "%zu", lot->specimens);
    }
    return out;
}

static const char *write_mean(const struct column *column, char out[CELL])
{
    return report_write_value(&column->scale, column->figure->lot.summary.mean, false, out);
}

static const char *write_deviation(const struct column *column, char out[CELL])
{
    return report_write_value(&column->scale, column->figure->lot.summary.deviation, true, out);
}

static const char *write_repeats(const struct column *column, char out[CELL])
{
    return report_write_value(&column->scale, column->figure->lot.repeat_deviation, true, out);
}

static const char *write_steel(const struct column *column, char out[CELL])
{
    return isnan(column->figure->lot.repeat_deviation)
               ? dash
               : report_write_value(&column->scale, column->figure->lot.steel_deviation, true, out);
}

static const char *write_u(const struct column *column, char out[CELL])
{
    const double u = column->figure->lot.u;
    return u > 0 ? report_write_value(&column->scale, u, true, out) : dash;
}

static const char *write_u_share(const struct column *column, char out[CELL])
{
    const struct lot_figure *lot = &column->figure->lot;
    const double share = lot->u / lot->summary.deviation;
    if (!(lot->u > 0) || !isfinite(share)) {
        return dash;
    }
    snprintf(out, CELL, "%.2g", share);
    return out;
}

static const char *write_normality(const struct column *column, char out[CELL])
{
    const struct lot_figure *lot = &column->figure->lot;
    if (!lot->has_normality) {
        return dash;
    }
    snprintf(out, CELL, "W = %.3f, p = %.2g", lot->normality.w, lot->normality.significance);
    return out;
}

static const char *write_factor(const struct column *column, char out[CELL])
{
    if (isnan(column->figure->lot.factor)) {
        return dash;
    }
    snprintf(out, CELL, "%.3f", column->figure->lot.factor);
    return out;
}

static const char *write_tolerance(const struct column *column, char out[CELL])
{
    const struct lot_figure *lot = &column->figure->lot;
    char range[3 * REPORT_NUMBER_SIZE];
    if (isnan(lot->factor)) {
        return dash;
    }
    snprintf(out, CELL, "%.100s %.40s",
        report_write_range(&column->scale, lot->tolerance_lower, lot->tolerance_upper, range),
        column->scale.unit);
    return out;
}

static const char *write_share(const struct column *column, char out[CELL])
{
    return report_write_share(column->figure->lot.share, out);
}

static const char *write_share_confident(const struct column *column, char out[CELL])
{
    return report_write_share(column->figure->lot.share_confident, out);
}

static const char *write_interval(double value, double lower, double upper, char out[CELL])
{
    if (!isfinite(value)) {
        return dash;
    }
    snprintf(out, CELL, "%.2f (%.2f to %.2f)", value, lower, upper);
    return out;
}

static const char *write_cp(const struct column *column, char out[CELL])
{
    const struct capability *made = &column->figure->capability;
    return column->figure->has_capability
               ? write_interval(made->cp, made->cp_lower, made->cp_upper, out)
               : dash;
}

static const char *write_cpk(const struct column *column, char out[CELL])
{
    const struct capability *made = &column->figure->capability;
    return column->figure->has_capability
               ? write_interval(made->cpk, made->cpk_lower, made->cpk_upper, out)
               : dash;
}

static const char *write_verdict(const struct column *column, char out[CELL])
{
    snprintf(out, CELL, "%s", verdict_get_name(column->figure->lot.verdict));
    return column->limits->has_lot ? out : dash;
}

/* A row is left out where no figure has it. %C: the confidence, %S: the share of the file. */
static const struct {
    const char *name;
    const char *(*write)(const struct column *column, char out[CELL]);
} rows[] = {
    {"rings", write_rings},
    {"mean", write_mean},
    {"standard deviation of the rings", write_deviation},
    {"of repeats on a ring", write_repeats},
    {"of the steel, without that of repeats", write_steel},
    {"uncertainty of a ring (k = 1)", write_u},
    {"uncertainty over deviation", write_u_share},
    {"normality (Shapiro and Wilk)", write_normality},
    {"tolerance factor k", write_factor},
    {"tolerance limits", write_tolerance},
    {"share conforming, as estimated", write_share},
    {"share conforming, at least", write_share_confident},
    {"Cp (interval)", write_cp},
    {"Cpk (interval)", write_cpk},
    {"verdict on the lot", write_verdict},
};
#define ROWS (sizeof rows / sizeof *rows)

/* --- the table ---------------------------------------------------------------------------------
 */

static void add_row(
    struct report_table *table, size_t row, const struct column *columns, size_t count)
{
    const char *cells[COLUMNS_MOST];
    char room[COLUMNS_MOST][CELL];
    bool has_any = false;
    for (size_t i = 0; i < count; i++) {
        cells[i] = rows[row].write(&columns[i], room[i]);
        has_any = has_any || strcmp(cells[i], dash) != 0;
    }
    if (has_any) {
        report_table_add(table, "%s", rows[row].name);
    }
    for (size_t i = 0; i < count && has_any; i++) {
        report_table_add(table, "%s", cells[i]);
    }
}

static void add_columns(
    struct document *document, const struct column *columns, size_t count, const char *caption)
{
    static const bool is_number[COLUMNS_MOST + 1] = {false, true, true, true, true};
    struct text names[COLUMNS_MOST] = {{0}};
    const char *headings[COLUMNS_MOST + 1] = {""};
    struct report_table table = {
        .columns = count + 1, .headings = headings, .is_number = is_number};
    for (size_t i = 0; i < count; i++) {
        markup_add(&names[i], figure_table[columns[i].figure->figure].name);
        headings[i + 1] = names[i].bytes;
        table.failed = table.failed || names[i].failed;
    }
    for (size_t row = 0; row < ROWS; row++) {
        add_row(&table, row, columns, count);
    }
    report_table_finish(&table, document, caption);
    for (size_t i = 0; i < count; i++) {
        text_clear(&names[i]);
    }
}

/* What the table is about, and with which confidence. */
static void add_caption(
    struct text *caption, const struct qualification *made, const struct heat_verdict *heat)
{
    const struct limits *limits = made->limits;
    text_add_format(caption, "The lot from which the %zu ring%s were drawn", heat->count,
        heat->count == 1 ? "" : "s");
    if (limits->has_lot) {
        text_add_format(caption, "; tolerance limits hold %g %% of it with a confidence of %g %%",
            100 * limits->share, 100 * limits->confidence);
    }
}

void lot_sheet_add_lot(struct document *document, const struct qualification *made, size_t heat)
{
    const struct heat_verdict *verdict = &made->heats[heat];
    struct column columns[COLUMNS_MOST];
    struct text caption = {0};
    size_t count = 0;
    add_caption(&caption, made, verdict);
    if (caption.failed) {
        document_set_failed(document);
    }
    for (size_t f = 0; f < made->figure_count && !caption.failed; f++) {
        if (verdict->figures[f].has_lot) {
            columns[count++] = (struct column){.figure = &verdict->figures[f],
                .limits = made->limits,
                .scale = lot_sheet_get_scale(made, f)};
        }
        if (count == COLUMNS_MOST || (count > 0 && f + 1 == made->figure_count)) {
            add_columns(document, columns, count, caption.bytes);
            count = 0;
        }
    }
    text_clear(&caption);
}
