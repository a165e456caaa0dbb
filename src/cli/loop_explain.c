// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_explain.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_budget.h"
#include "cli/loop_explain_part.h"
#include "cli/wrap.h"

#define DIGITS 6
#define INDENT 4
#define LINE_SIZE 2048

/* Zeros at the end say nothing in a formula. */
static void trim(char *words)
{
    char *end = words + strlen(words);
    if (!strchr(words, '.') || strchr(words, 'e'))
        return;
    while (end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        end[-1] = '\0';
}

struct shown show(double value, const char *unit)
{
    static const char *const plain[] = {"mm\u00B2", "kg/m\u00B3", "\u00B0", "", NULL};
    struct figure_value number = {.value = value, .is_present = true};
    struct display display;
    struct shown shown;
    bool has_prefix = true;
    for (size_t i = 0; plain[i]; i++)
        has_prefix = has_prefix && strcmp(unit, plain[i]) != 0;
    display_set(&display, &number, unit, has_prefix, DIGITS);
    trim(display.value);
    snprintf(shown.words, sizeof shown.words, "%s%s%s", display.value, *display.unit ? " " : "",
        display.unit);
    return shown;
}

struct shown show_area(double value_m2)
{
    return show(1e6 * value_m2, "mm\u00B2");
}

struct shown show_angle(double value_deg)
{
    struct shown shown;
    snprintf(shown.words, sizeof shown.words, "%.4f\u00B0", value_deg);
    if (shown.words[0] == '-' && strspn(shown.words, "-0.") >= strlen("-0.0000"))
        memmove(shown.words, shown.words + 1, strlen(shown.words));
    return shown;
}

struct shown show_celsius(double value_K)
{
    struct shown shown;
    snprintf(shown.words, sizeof shown.words, "%.4g \u00B0C", value_K - 273.15);
    return shown;
}

struct shown show_figure(const struct loop *loop, enum figure figure)
{
    struct display display;
    struct shown shown;
    display_set_figure(&display, figure, &loop->figures.list[figure], DIGITS);
    display_join(&display, shown.words, sizeof shown.words);
    return shown;
}

void explain_add(struct text *out, const char *format, ...)
{
    char line[LINE_SIZE];
    va_list list;
    va_start(list, format);
    vsnprintf(line, sizeof line, format, list);
    va_end(list);
    text_add(out, "  ");
    wrap_add(out, line, 2, INDENT);
}

void explain_add_heading(struct text *out, const char *words)
{
    text_add_format(out, "\n%s\n", words);
}

bool explain_has(const struct loop *loop, enum figure figure)
{
    return loop->figures.list[figure].is_present;
}

double explain_get(const struct loop *loop, enum figure figure)
{
    return loop->figures.list[figure].value;
}

const struct winding *explain_find_winding(const struct loop_job *job)
{
    return job->specimen.winding.is_present ? &job->specimen.winding : &job->rig.winding;
}

static void add_head(struct text *out, const struct loop_job *job)
{
    struct text name = {0};
    text_add_format(
        &name, "%s: ", strcmp(job->path, "-") ? text_base_name(job->path) : "standard input");
    loop_job_add_name(&name, job);
    if (name.failed)
        out->failed = true;
    else
        wrap_add(out, name.bytes, 0, 2);
    text_clear(&name);
    text_add(out, "How its figures were made, what limits them, and what its notes mean\n\n");
    wrap_add(out,
        "Numbers are rounded for reading; the program goes on with all digits, so that a pocket "
        "calculator may differ in the last one. Digits in parentheses are the standard uncertainty "
        "(k = 1) in the last places: 18.535(48) kA/m is 18.535 kA/m with 0.048 kA/m. Within twice "
        "that lies the truth in about 95 of 100 cases, if rig.yaml and specimen.yaml tell the "
        "truth about themselves.",
        0, 0);
}

static void add_clock(struct text *out, const struct loop *loop, const struct quantity *clock)
{
    if (!clock->is_present)
        return;
    const double f = explain_get(loop, FIGURE_FREQUENCY), ppm = 1e6 * (clock->value - 1);
    explain_add(out,
        "The sample clock runs at %.9g of its nominal rate (timing.clock), %s ppm off: counted by "
        "it, f "
        "would be %s / %.9g = %s. How well that is known, %s ppm, is in u of f, of B (an integral "
        "over "
        "time) and of all that follow.",
        clock->value, show(ppm, "").words, show(f, "Hz").words, clock->value,
        show(f / clock->value, "Hz").words,
        show(1e6 * quantity_get_uncertainty(clock) / clock->value, "").words);
}

static void add_record(struct text *out, const struct loop *loop, const struct rig *rig)
{
    explain_add_heading(out, "The record");
    if (loop->is_trace) {
        explain_add(out,
            "%lld rows, one slow traverse of one loop in the order taken. There is no time, so "
            "there is no frequency, no loss and no lag angle of fundamentals.",
            (long long)loop->frames);
        return;
    }
    explain_add(out,
        "f = %s: the one frequency at which cycle falls on cycle; all samples were used to find "
        "it.",
        show_figure(loop, FIGURE_FREQUENCY).words);
    add_clock(out, loop, &rig->clock);
    explain_add(out,
        "n = f \u00B7 length = %s \u00B7 %s = %s cycles. They need not be a whole number.",
        show(explain_get(loop, FIGURE_FREQUENCY), "Hz").words, show(loop->length_s, "s").words,
        show(explain_get(loop, FIGURE_CYCLES), "").words);
    explain_add(out,
        "K = %zu: the mean cycle of each input is a sum of that many sines, the harmonics k = 1 to "
        "K at k \u00B7 f; any higher one was lost in the noise, or absent. The mean of an input "
        "(k = 0) is %s.",
        loop->series.harmonics,
        loop->series.field[0] != 0 ? "kept for H, removed for B" : "removed");
}

void loop_explain_add(struct text *out, const struct loop_job *job)
{
    const struct loop *loop = &job->loop;
    struct conversion how;
    struct error err = {0};
    /* The capture was converted with these very values: this cannot fail any more. */
    if (conversion_set(&how, &job->rig, &job->specimen, loop->basis.is_audio, &err)) {
        out->failed = true;
        return;
    }
    add_head(out, job);
    add_record(out, loop, &job->rig);
    explain_add_ring(out, &job->specimen);
    explain_add_field(out, job, &how);
    explain_add_flux(out, job, &how);
    if (loop->is_trace)
        explain_add_closing(out, job);
    explain_add_crossings(out, loop);
    if (!loop->is_trace) {
        explain_add_energy(out, job);
        explain_add_lag(out, job, &how);
    }
    explain_add_shape(out, loop);
    explain_add_limits(out, job);
    if (job->shows_budget)
        loop_budget_text_add(out, job->budget);
    explain_add_notes(out, &loop->notes);
}
