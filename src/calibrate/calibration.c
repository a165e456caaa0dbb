// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/calibration.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "quantity/display.h"

static const struct {
    const char *unit;
    double scale;
    bool has_prefix;
} unit_list[] = {
    [FINDING_VOLT] = {"V", 1, true},
    [FINDING_SECOND] = {"s", 1, true},
    [FINDING_HERTZ] = {"Hz", 1, true},
    [FINDING_OHM] = {"ohm", 1, true},
    [FINDING_HENRY] = {"H", 1, true},
    [FINDING_SQUARE_MILLIMETRE] = {"mm2", 1e-6, false},
    [FINDING_DEGREE] = {"\u00B0", 1, false},
    [FINDING_NUMBER] = {"", 1, false},
    [FINDING_PERCENT] = {"%", 1e-2, false},
    [FINDING_DECIBEL] = {"dB", 1, false},
    [FINDING_FULL_SCALE] = {"dBFS", 1, false},
};

enum { DIGITS = 4 }; /* of a value without an uncertainty */

struct finding *calibration_add(struct calibration *calibration, enum finding_unit unit,
    double value, double u, const char *format, ...)
{
    static struct finding beyond; /* written, never read */
    struct finding *finding = calibration->count < CALIBRATION_FINDINGS
                                  ? &calibration->list[calibration->count++]
                                  : &beyond;
    *finding = (struct finding){.unit = unit, .value = value, .u = u};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(finding->label, sizeof finding->label, format, arguments);
    va_end(arguments);
    return finding;
}

void finding_add_value(struct text *out, const struct finding *finding)
{
    const double scale = unit_list[finding->unit].scale;
    const struct figure_value value = {.value = finding->value / scale,
        .u = 2.0 * finding->u / scale,
        .is_present = true,
        .has_u = finding->u > 0.0};
    struct display display;
    display_set(&display, &value, unit_list[finding->unit].unit,
        unit_list[finding->unit].has_prefix, DIGITS);
    const char *blank = display.unit[0] != '\0' ? " " : "";
    text_add_format(
        out, "%s%s%s%s", finding->is_limit ? "below " : "", display.value, blank, display.unit);
    if (display.u[0] != '\0') {
        text_add_format(out, " \u00B1 %s%s%s", display.u, blank, display.unit);
    }
}

void calibration_clear(struct calibration *calibration)
{
    notes_clear(&calibration->notes);
    *calibration = (struct calibration){0};
}
