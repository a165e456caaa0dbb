// SPDX-License-Identifier: GPL-3.0-or-later
/* The report on loops as a whole: title, table of several captures, sections. What stands in the
 * tables of a section is in loop_tables.c. */
#include "paper/loop_sheet.h"

#include "base/memory.h"
#include "paper/loop_plot.h"
#include "paper/loop_tables.h"
#include "paper/markup.h"
#include "paper/report_figures.h"

struct sheet {
    struct document *document;
    const struct loop_sheet_item *items;
    size_t count;
    const struct report_words *words;
};

/* The sections of one capture are headings; below that of one of several they are subheadings. */
static void add_heading(const struct sheet *sheet, const char *words)
{
    if (sheet->count == 1) {
        document_add_heading(sheet->document, words);
    } else {
        document_add_subheading(sheet->document, words);
    }
}

/* "R-17, RS-36, heat H2291": as far as it is told, else the file. */
static void add_name(struct text *out, const struct loop_sheet_item *item)
{
    const struct specimen *specimen = item->specimen;
    text_add(out, specimen->name != NULL ? specimen->name : item->file);
    if (specimen->alloy != NULL) {
        text_add_format(out, ", %s", specimen->alloy);
    }
    if (specimen->heat != NULL) {
        text_add_format(out, ", heat %s", specimen->heat);
    }
}

/* --- pictures ----------------------------------------------------------------------------------
 */

static void destroy_picture(void *picture)
{
    loop_picture_destroy(picture);
}

static void destroy_words(void *words)
{
    memory_destroy(words);
}

/* What the picture shows, for those who do not see it. */
static void add_alternative(struct text *out, const struct loop *loop, bool is_of_waves)
{
    static const struct {
        enum figure figure;
        const char *words;
    } told[] = {{FIGURE_FIELD_PEAK, "peak field strength"},
        {FIGURE_FLUX_DENSITY_PEAK, "peak flux density"}, {FIGURE_REMANENCE, "remanence"},
        {FIGURE_COERCIVITY, "coercivity"}};
    text_add(out, is_of_waves ? "Field strength, flux density and its rate of change over one cycle"
                              : "Loop of flux density against field strength");
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        const struct figure_value *value = &loop->figures.list[told[i].figure];
        const struct figure_entry *entry = &figure_table[told[i].figure];
        double scale = 1;
        if (value->is_present) {
            const char *prefix = unit_get_prefix(value->value, &scale);
            text_add_format(
                out, "; %s %.4g %s%s", told[i].words, value->value / scale, prefix, entry->unit);
        }
    }
}

static enum status add_picture(const struct sheet *sheet, const struct loop_sheet_item *item,
    bool is_of_waves, struct error *err)
{
    const struct loop_plot_options options = {
        .has_waveforms = is_of_waves, .has_no_loop = is_of_waves, .has_no_heading = true};
    struct loop_plot_item *plotted = memory_create(1, sizeof *plotted);
    struct loop_picture *picture;
    struct text alternative = {0};
    if (plotted == NULL) {
        return fail_memory(err);
    }
    document_keep(sheet->document, plotted, destroy_words);
    *plotted = (struct loop_plot_item){.loop = item->loop, .name = item->file};
    enum status status = loop_picture_create(plotted, 1, &options, &picture, err);
    if (status == STATUS_OK) {
        document_keep(sheet->document, picture, destroy_picture);
        add_alternative(&alternative, item->loop, is_of_waves);
        document_add_chart(sheet->document, loop_picture_get_chart(picture),
            alternative.failed ? "" : alternative.bytes, NULL);
    }
    text_clear(&alternative);
    return status;
}

/* --- sections ----------------------------------------------------------------------------------
 */

static enum status add_section(
    const struct sheet *sheet, const struct loop_sheet_item *item, struct error *err)
{
    struct document *document = sheet->document;
    if (sheet->count > 1) {
        struct text name = {0}, words = {0};
        add_name(&name, item);
        text_add_format(&name, ": %s", item->file);
        markup_add(&words, name.failed ? "" : name.bytes);
        document_add_break(document);
        document_add_heading(document, words.failed ? "" : words.bytes);
        text_clear(&name);
        text_clear(&words);
    }
    loop_tables_add_identity(document, item, sheet->count == 1 ? sheet->words : NULL);
    add_heading(sheet, "Conditions");
    loop_tables_add_conditions(document, item);
    add_heading(sheet, "Loop");
    enum status status = add_picture(sheet, item, false, err);
    add_heading(sheet, "Figures");
    loop_tables_add_figures(document, item);
    loop_tables_add_sides(document, &item->loop->figures);
    if (status == STATUS_OK && !item->loop->is_trace) {
        add_heading(sheet, "Waveforms");
        status = add_picture(sheet, item, true, err);
    }
    add_heading(sheet, "What the uncertainty is made of");
    loop_tables_add_budget(document, item->budget);
    add_heading(sheet, "Notes");
    report_add_notes(document, &item->loop->notes);
    return status;
}

static void add_failures(const struct sheet *sheet)
{
    for (size_t i = 0; i < sheet->count; i++) {
        struct text heading = {0}, words = {0};
        if (sheet->items[i].failure == NULL) {
            continue;
        }
        markup_add(&heading, sheet->items[i].file);
        text_add(&heading, " gave no result:");
        markup_add(&words, sheet->items[i].failure);
        if (!heading.failed && !words.failed) {
            document_add_note(sheet->document, heading.bytes, words.bytes, NULL);
        }
        text_clear(&heading);
        text_clear(&words);
    }
}

/* The captures of several, a row each. */
static void add_captures(const struct sheet *sheet)
{
    static const struct figures nothing;
    static const char *const headings[] = {"specimen", "capture"};
    const char **words = memory_create(2 * sheet->count, sizeof *words);
    const struct figures **rows = memory_create(sheet->count, sizeof *rows);
    if (words == NULL || rows == NULL) {
        document_set_failed(sheet->document);
    }
    for (size_t i = 0; words != NULL && rows != NULL && i < sheet->count; i++) {
        const struct loop_sheet_item *item = &sheet->items[i];
        words[2 * i] = item->specimen->name;
        words[2 * i + 1] = item->file;
        rows[i] = item->failure == NULL ? &item->loop->figures : &nothing;
    }
    if (words != NULL && rows != NULL) {
        report_figures_add(sheet->document, &(struct report_figures){.word_columns = 2,
                                                .word_headings = headings,
                                                .words = words,
                                                .count = sheet->count,
                                                .rows = rows,
                                                .figure_count = LOOP_TABLES_COMPARED,
                                                .figures = loop_tables_compared});
    }
    memory_destroy(words);
    memory_destroy(rows);
}

static void add_summary(const struct sheet *sheet)
{
    struct report_table identity = {.columns = 2};
    report_add_identity(&identity, sheet->words);
    report_add_program(&identity);
    report_table_finish_identity(&identity, sheet->document);
    document_add_heading(sheet->document, "Captures");
    add_captures(sheet);
    add_failures(sheet);
}

static void add_end(const struct sheet *sheet)
{
    report_add_remarks(sheet->document, sheet->words);
    report_add_caution(sheet->document);
    report_add_signatures(sheet->document, sheet->words);
}

static enum status fill(const struct sheet *sheet, struct error *err)
{
    enum status status = STATUS_OK;
    if (sheet->count > 1) {
        add_summary(sheet);
        add_end(sheet);
    }
    for (size_t i = 0; i < sheet->count && status == STATUS_OK; i++) {
        if (sheet->items[i].failure == NULL) {
            status = add_section(sheet, &sheet->items[i], err);
        }
    }
    if (sheet->count == 1) {
        add_end(sheet);
    }
    return status;
}

enum status loop_sheet_create(const struct loop_sheet_item *items, size_t count,
    const struct report_words *words, struct document **document, struct error *err)
{
    struct sheet sheet = {.items = items, .count = count, .words = words};
    struct text title = {0};
    text_add(&title, "Loop report: ");
    if (count == 1) {
        add_name(&title, items);
    } else {
        text_add_format(&title, "%zu captures", count);
    }
    enum status status = report_begin_titled(words, &title,
        "B\u2013H loop of a ring, rebuilt from a recording of excitation and pickup",
        &sheet.document, err);
    if (status == STATUS_OK) {
        status = fill(&sheet, err);
    }
    return report_finish(sheet.document, status, document);
}

/* --- numbers -----------------------------------------------------------------------------------
 */

static struct report_input get_input(const struct loop_sheet_item *item)
{
    return (struct report_input){.capture_sha256 = item->loop->sha256,
        .name = item->file,
        .specimen = text_or_empty(item->specimen->name),
        .heat = text_or_empty(item->specimen->heat),
        .supplier = text_or_empty(item->specimen->supplier),
        .rig = text_or_empty(item->rig->name),
        .rig_calibrated = text_or_empty(item->rig->calibration_date),
        .figures = &item->loop->figures};
}

static enum status add_loop(
    struct json *json, const struct loop_sheet_item *item, size_t points, struct error *err)
{
    json_begin_object(json, NULL);
    enum status status =
        loop_write_members(json, item->loop, item->rig, item->specimen, points, err);
    loop_budget_write_json(json, "budget", item->budget);
    json_end_object(json);
    return status;
}

enum status loop_sheet_write_data(const struct loop_sheet_item *items, size_t count, size_t points,
    struct text *out, struct error *err)
{
    struct report_input *inputs = memory_create(count, sizeof *inputs);
    struct report_data data;
    size_t made = 0;
    if (inputs == NULL) {
        return fail_memory(err);
    }
    enum status status = STATUS_OK;
    report_data_begin(&data);
    json_begin_array(&data.json, "loops");
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        if (items[i].failure == NULL) {
            inputs[made++] = get_input(&items[i]);
            status = add_loop(&data.json, &items[i], points, err);
        }
    }
    json_end_array(&data.json);
    if (status == STATUS_OK) {
        status = report_data_finish(&data, "loop", inputs, made, out, err);
    } else {
        text_clear(&data.content);
    }
    memory_destroy(inputs);
    return status;
}
