// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/calibration.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "base/json.h"
#include "base/version.h"
#include "quantity/display.h"

static const struct {
    const char *unit, *ending; /* for people, and of a key */
    double scale;
    bool has_prefix;
} unit_list[] = {
    [FINDING_VOLT] = {"V", "_V", 1, true},
    [FINDING_SECOND] = {"s", "_s", 1, true},
    [FINDING_HERTZ] = {"Hz", "_Hz", 1, true},
    [FINDING_OHM] = {"ohm", "_ohm", 1, true},
    [FINDING_HENRY] = {"H", "_H", 1, true},
    [FINDING_SQUARE_MILLIMETRE] = {"mm2", "_m2", 1e-6, false},
    [FINDING_DEGREE] = {"\u00B0", "_deg", 1, false},
    [FINDING_NUMBER] = {"", "", 1, false},
    [FINDING_PERCENT] = {"%", "", 1e-2, false},
    [FINDING_DECIBEL] = {"dB", "_dB", 1, false},
    [FINDING_FULL_SCALE] = {"dBFS", "_dBFS", 1, false},
};

enum { DIGITS = 4 }; /* of a value without an uncertainty */

struct finding *calibration_add(struct calibration *calibration, const char *word,
    enum finding_unit unit, double value, double u, const char *format, ...)
{
    static struct finding beyond; /* written, never read */
    struct finding *finding = calibration->count < CALIBRATION_FINDINGS
                                  ? &calibration->list[calibration->count++]
                                  : &beyond;
    *finding = (struct finding){.unit = unit, .value = value, .u = u};
    snprintf(finding->word, sizeof finding->word, "%s", word);
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

static void add_values(struct json *json, const struct calibration *calibration)
{
    json_begin_object(json, "values");
    for (size_t i = 0; i < calibration->count; i++) {
        const struct finding *finding = &calibration->list[i];
        char key[sizeof finding->word + 24];
        snprintf(key, sizeof key, "u_%s%s%s", finding->word, finding->is_limit ? "_limit" : "",
            unit_list[finding->unit].ending);
        json_add_number(json, key + 2, finding->value);
        if (finding->u > 0.0) {
            json_add_number(json, key, finding->u);
        }
    }
    json_end_object(json);
}

/* What goes into rig or specimen, as it is written there. */
static void add_lines(struct json *json, const struct calibration *calibration)
{
    json_begin_object(json, "lines");
    for (size_t i = 0; i < calibration->count; i++) {
        const struct finding *finding = &calibration->list[i];
        struct text words = {0};
        if (finding->key_path != NULL) {
            finding_add_value(&words, finding);
            json->out->failed |= words.failed;
            json_add_text(json, finding->key_path, words.bytes);
        }
        text_clear(&words);
    }
    json_end_object(json);
}

void calibration_write_json(
    const struct calibration *calibration, const char *mode, const char *date, struct text *out)
{
    struct json json;
    json_init(&json, out, 2);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-calibration/1");
    json_add_text(&json, "version", LODECARD_VERSION);
    json_add_text(&json, "mode", mode);
    if (date != NULL) {
        json_add_text(&json, "date", date);
    }
    add_values(&json, calibration);
    add_lines(&json, calibration);
    notes_write_json(&json, "notes", &calibration->notes);
    json_end_object(&json);
    json_finish(&json);
}

void calibration_clear(struct calibration *calibration)
{
    notes_clear(&calibration->notes);
    *calibration = (struct calibration){0};
}
