// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/loop_plot.h"

#include "base/memory.h"
#include "paper/loop_picture.h"

#define LOOP_WIDTH 480.0 /* points */
#define LOOP_HEIGHT 410.0
#define OVERLAY_WIDTH 560.0 /* of several loops, whose table is wide */
#define OVERLAY_HEIGHT 430.0
#define WAVES_WIDTH 300.0 /* what the waveforms add */

struct text *picture_new_text(struct loop_picture *picture)
{
    return &picture->texts[picture->text_count++];
}

size_t picture_get_cell_count(const struct loop_picture *picture)
{
    return (picture->count + 1) * PICTURE_COLUMNS;
}

const char *picture_get_words(const struct text *text)
{
    return text->bytes ? text->bytes : "";
}

static enum status create(struct loop_picture *picture, struct error *err)
{
    picture->curves = memory_create(picture->count, sizeof *picture->curves);
    picture->cell_texts =
        memory_create(picture_get_cell_count(picture), sizeof *picture->cell_texts);
    picture->cells = memory_create(picture_get_cell_count(picture), sizeof *picture->cells);
    picture->styles = memory_create(picture->count, sizeof *picture->styles);
    picture->lines = memory_create(picture->count * PICTURE_PANELS, sizeof *picture->lines);
    picture->marks = memory_create(picture->count * PICTURE_MARKS, sizeof *picture->marks);
    if (!picture->curves || !picture->cell_texts || !picture->cells || !picture->styles ||
        !picture->lines || !picture->marks)
        return fail_memory(err);
    for (size_t i = 0; i < picture->count; i++) {
        picture->styles[i] = chart_style_get(i);
        enum status status = loop_curve_create(picture->items[i].loop, &picture->curves[i], err);
        if (status)
            return status;
    }
    return STATUS_OK;
}

static void clear(struct loop_picture *picture)
{
    for (size_t i = 0; i < picture->text_count; i++)
        text_clear(&picture->texts[i]);
    for (size_t i = 0; picture->cell_texts && i < picture_get_cell_count(picture); i++)
        text_clear(&picture->cell_texts[i]);
    for (size_t i = 0; picture->curves && i < picture->count; i++)
        loop_curve_clear(&picture->curves[i]);
    memory_destroy(picture->curves);
    memory_destroy(picture->cell_texts);
    memory_destroy(picture->cells);
    memory_destroy(picture->styles);
    memory_destroy(picture->lines);
    memory_destroy(picture->marks);
}

static bool has_lost_words(const struct loop_picture *picture)
{
    bool has_lost = false;
    for (size_t i = 0; i < picture->text_count; i++)
        has_lost = has_lost || picture->texts[i].failed;
    for (size_t i = 0; i < picture_get_cell_count(picture); i++)
        has_lost = has_lost || picture->cell_texts[i].failed;
    return has_lost;
}

static bool has_any_wave(const struct loop_picture *picture)
{
    for (size_t i = 0; i < picture->count; i++)
        if (picture->curves[i].time)
            return true;
    return false;
}

static void compose(struct loop_picture *picture, bool has_waveforms)
{
    picture_set_scales(picture);
    picture_set_marks(picture);
    picture_set_heading(picture);
    picture_set_legend(picture);
    double loop_width = picture->count > 1 ? OVERLAY_WIDTH : LOOP_WIDTH;
    double width = has_waveforms ? loop_width + WAVES_WIDTH : loop_width;
    double share = loop_width / width;
    picture_set_loop_panel(picture, share);
    if (has_waveforms)
        picture_set_wave_panels(picture, share);
    picture->chart.panels = picture->panels;
    picture->chart.panel_count = has_waveforms ? 1 + PICTURE_WAVES : 1;
    picture->chart.width = width;
    picture->chart.height = picture->count > 1 ? OVERLAY_HEIGHT : LOOP_HEIGHT;
}

enum status loop_plot_write(const struct loop_plot_item *items, size_t count, bool has_waveforms,
    const char *path, struct error *err)
{
    if (count == 0)
        return fail(err, STATUS_USAGE, "", "there is no loop to draw in '%s'", path);
    struct loop_picture picture = {.items = items, .count = count};
    enum status status = create(&picture, err);
    if (!status && has_waveforms && !has_any_wave(&picture))
        status = fail(err, STATUS_USAGE, "leave out --waveforms",
            "a trace has no time axis: there are no waveforms to draw in '%s'", path);
    if (!status) {
        compose(&picture, has_waveforms);
        status =
            has_lost_words(&picture) ? fail_memory(err) : chart_write(&picture.chart, path, err);
    }
    clear(&picture);
    return status;
}
