// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_budget.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define DIGITS 6      /* of a figure without uncertainty */
#define LINE_DIGITS 4 /* of a figure in a line of many */
#define NAME_COLUMNS 31
#define SYMBOL_COLUMNS 8
#define VALUE_COLUMNS 14
#define U_COLUMNS 14
#define BRANCH_COLUMNS 17
#define ASYMMETRY_COLUMNS 12
#define FILE_COLUMNS 18

/* "48 kHz" of any value in SI. */
static void add_short(struct text *out, double number, const char *unit)
{
    struct figure_value value = {.value = number, .is_present = true};
    struct display display;
    display_set(&display, &value, unit, true, DIGITS);
    char *end = display.value + strlen(display.value);
    if (strchr(display.value, '.')) {
        while (end[-1] == '0')
            *--end = '\0';
        if (end[-1] == '.')
            end[-1] = '\0';
    }
    text_add_format(out, "%s %s", display.value, display.unit);
}

static void add_capture(struct text *out, const struct loop_job *job)
{
    const struct loop *loop = &job->loop;
    bool is_stdin = !strcmp(job->path, "-");
    text_add_format(out, "%s: ", is_stdin ? "standard input" : text_base_name(job->path));
    loop_job_add_name(out, job);
    text_add_format(out, "\n%zu channel%s, %lld rows", loop->channels,
        loop->channels == 1 ? "" : "s", (long long)loop->frames);
    if (loop->is_trace) {
        text_add(out, ", one traverse without time\n");
        return;
    }
    text_add(out, loop->sample_rate_Hz > 0 ? " at " : " at uneven times");
    if (loop->sample_rate_Hz > 0)
        add_short(out, loop->sample_rate_Hz, "Hz");
    text_add(out, ", ");
    add_short(out, loop->length_s, "s");
    if (loop->start_s > 0) {
        text_add(out, " from ");
        add_short(out, loop->start_s, "s");
    }
    text_add(out, "\n");
}

static bool has_any_u(const struct figures *figures)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        if (figures->list[i].is_present && figures->list[i].has_u)
            return true;
    return false;
}

static void add_row(struct text *out, const char *name, const char *symbol, const char *value,
    const char *u, const char *unit)
{
    text_add(out, "  ");
    wrap_add_left(out, name, NAME_COLUMNS);
    wrap_add_left(out, symbol, SYMBOL_COLUMNS);
    wrap_add_right(out, value, VALUE_COLUMNS);
    if (*u || *unit)
        wrap_add_right(out, u, U_COLUMNS);
    if (*unit)
        text_add_format(out, "  %s", unit);
    text_add(out, "\n");
}

static const struct figure_entry concise_heading = {.name = "figure", .symbol = "symbol"};
static const struct display concise_names = {.value = "value(u)", .unit = "unit"};

/* Value and unit are parted again, so that units stand below each other. */
static void add_concise_row(
    struct text *out, const struct figure_entry *entry, const struct display *display)
{
    struct display bare = *display;
    char words[DISPLAY_JOINED_SIZE];
    bare.unit[0] = '\0';
    display_join(&bare, words, sizeof words);
    text_add(out, "  ");
    wrap_add_left(out, entry->name, NAME_COLUMNS);
    wrap_add_left(out, entry->symbol, SYMBOL_COLUMNS);
    wrap_add_right(out, words, VALUE_COLUMNS + U_COLUMNS / 2);
    if (*display->unit)
        text_add_format(out, "  %s", display->unit);
    text_add(out, "\n");
}

static void add_figures(struct text *out, const struct loop_job *job)
{
    const struct figures *figures = &job->loop.figures;
    bool is_combined = job->budget && loop_budget_has_inputs(job->budget);
    bool has_u = has_any_u(figures);
    if (job->is_concise)
        add_concise_row(out, &concise_heading, &concise_names);
    else
        add_row(out, "figure", "symbol", "value",
            !has_u        ? ""
            : is_combined ? "u"
                          : "u (scatter)",
            "unit");
    for (int figure = 0; figure < FIGURE_COUNT; figure++) {
        const struct figure_value *value = &figures->list[figure];
        if (!value->is_present || figure_is_of_side((enum figure)figure))
            continue;
        struct display display;
        display_set_figure(&display, (enum figure)figure, value, DIGITS);
        if (job->is_concise)
            add_concise_row(out, &figure_table[figure], &display);
        else
            add_row(out, figure_table[figure].name, figure_table[figure].symbol, display.value,
                display.u, display.unit);
    }
    if (has_u && is_combined)
        wrap_add(out,
            "u: combined standard uncertainty (k = 1): what rig and specimen state about "
            "themselves, and the scatter of the cycles or the gap of a trace. --budget tells what "
            "makes it.",
            0, 2);
    else if (has_u)
        wrap_add(out,
            "u (scatter): standard uncertainty (k = 1) as far as the capture itself shows it: the "
            "scatter of its cycles, the gap of a trace. What sensors, dimensions and turns add is "
            "not in it: rig and specimen do not state it (value \u00B1 half-width).",
            0, 2);
    else
        wrap_add(out,
            "The capture shows no scatter: no uncertainty is stated. What sensors, dimensions and "
            "turns add is not looked at.",
            0, 2);
}

static void add_side_heading(struct text *out)
{
    text_add(out, "\n  ");
    wrap_add_left(out, "side", NAME_COLUMNS);
    wrap_add_right(out, "falling branch", BRANCH_COLUMNS);
    wrap_add_right(out, "rising branch", BRANCH_COLUMNS);
    wrap_add_right(out, "asymmetry", ASYMMETRY_COLUMNS);
    text_add(out, "\n");
}

/* The two sides apart. */
static void add_sides(struct text *out, const struct figures *figures)
{
    bool is_first = true;
    for (size_t i = 0; i < FIGURE_SIDES; i++) {
        const struct figure_value *falling = &figures->list[figure_sides[i].falling];
        const struct figure_value *rising = &figures->list[figure_sides[i].rising];
        const struct figure_value *asymmetry = &figures->list[figure_sides[i].asymmetry];
        if (!falling->is_present || !rising->is_present)
            continue;
        if (is_first)
            add_side_heading(out);
        is_first = false;
        struct figure_value values[2] = {*falling, *rising};
        text_add(out, "  ");
        wrap_add_left(out, figure_table[figure_sides[i].both].name, NAME_COLUMNS);
        for (int side = 0; side < 2; side++) {
            struct display display;
            char cell[2 * DISPLAY_SIZE];
            values[side].has_u = false;
            display_set_figure(&display, figure_sides[i].both, &values[side], DIGITS);
            snprintf(cell, sizeof cell, "%s %s", display.value, display.unit);
            wrap_add_right(out, cell, BRANCH_COLUMNS);
        }
        char percent[32] = "";
        if (asymmetry->is_present) /* + 0.0: no minus sign on what is rounded to 0 */
            snprintf(percent, sizeof percent, "%.3f %%", round(1e5 * asymmetry->value) / 1e3 + 0.0);
        wrap_add_right(out, percent, ASYMMETRY_COLUMNS);
        text_add(out, "\n");
    }
}

void loop_text_add_notes(struct text *out, const struct notes *notes, const char *name)
{
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        if (note->level == NOTE_FATAL)
            continue;
        struct text words = {0};
        text_add_format(&words, "%s%s%s, %s: %s", name ? name : "", name ? ": " : "",
            note_level_get_name(note->level), note->code, note->message);
        if (note->hint[0] && (!name || note->level != NOTE_INFO))
            text_add_format(&words, "\nhint: %s", note->hint);
        text_add(out, "  ");
        if (words.failed)
            out->failed = true;
        else
            wrap_add(out, words.bytes, 2, 4);
        text_clear(&words);
    }
}

void loop_text_add(struct text *out, const struct loop_job *job)
{
    add_capture(out, job);
    text_add(out, "\n");
    add_figures(out, job);
    add_sides(out, &job->loop.figures);
    if (job->shows_budget)
        loop_budget_text_add(out, job->budget);
    if (job->loop.notes.count == 0)
        return;
    text_add(out, "\nNotes\n");
    loop_text_add_notes(out, &job->loop.notes, NULL);
}

/* What people compare between captures; the widths hold four digits and the unit. */
static const struct {
    enum figure figure;
    size_t columns;
} compared[] = {{FIGURE_FREQUENCY, 10}, {FIGURE_FIELD_PEAK, 12}, {FIGURE_FLUX_DENSITY_PEAK, 9},
    {FIGURE_REMANENCE, 9}, {FIGURE_COERCIVITY, 12}, {FIGURE_LOOP_AREA, 12}};
#define COMPARED (sizeof compared / sizeof *compared)

void loop_text_add_heading(struct text *out)
{
    wrap_add_left(out, "capture", FILE_COLUMNS - 2);
    for (size_t i = 0; i < COMPARED; i++)
        wrap_add_right(out, figure_table[compared[i].figure].symbol, compared[i].columns);
    text_add(out, "\n");
}

void loop_text_add_line(struct text *out, const struct loop_job *job)
{
    const char *file = text_base_name(job->path);
    text_add(out, file);
    size_t width = text_width(file);
    if (job->status) {
        text_add(out, "  no result\n");
        return;
    }
    if (width > FILE_COLUMNS - 2) {
        text_add(out, "\n");
        width = 0;
    }
    wrap_add_blanks(out, FILE_COLUMNS - 2 - width);
    for (size_t i = 0; i < COMPARED; i++) {
        struct figure_value value = job->loop.figures.list[compared[i].figure];
        char cell[2 * DISPLAY_SIZE] = "-";
        value.has_u = false;
        if (value.is_present) {
            struct display display;
            display_set_figure(&display, compared[i].figure, &value, LINE_DIGITS);
            snprintf(cell, sizeof cell, "%s %s", display.value, display.unit);
        }
        wrap_add_right(out, cell, compared[i].columns);
    }
    text_add(out, "\n");
}
