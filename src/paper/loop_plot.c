// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/loop_plot.h"

#include "base/memory.h"
#include "paper/loop_picture.h"

#define LOOP_WIDTH 480.0 /* points */
#define LOOP_HEIGHT 410.0
#define OVERLAY_WIDTH 560.0 /* of several loops, whose table is wide */
#define OVERLAY_HEIGHT 430.0
#define BARE_HEIGHT 320.0  /* without its heading */
#define WAVES_WIDTH 300.0  /* what the waveforms add */
#define WAVES_HEIGHT 255.0 /* of the waveforms alone */

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

static enum status reserve(struct loop_picture *picture, struct error *err)
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

void loop_picture_destroy(struct loop_picture *picture)
{
    if (!picture)
        return;
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
    memory_destroy(picture);
}

const struct chart *loop_picture_get_chart(const struct loop_picture *picture)
{
    return &picture->chart;
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

static void compose(struct loop_picture *picture, const struct loop_plot_options *options)
{
    const bool has_loop = !options->has_no_loop;
    const double loop_width = picture->count > 1 ? OVERLAY_WIDTH : LOOP_WIDTH;
    const double width = loop_width + (has_loop && options->has_waveforms ? WAVES_WIDTH : 0);
    const double share = has_loop ? loop_width / width : 0;
    picture_set_scales(picture);
    if (has_loop) {
        picture_set_marks(picture);
        picture_set_loop_panel(picture, share);
    }
    if (!options->has_no_heading)
        picture_set_heading(picture);
    picture_set_legend(picture);
    if (options->has_waveforms)
        picture_set_wave_panels(picture, share);
    picture->chart.panels = picture->panels + (has_loop ? 0 : 1);
    picture->chart.panel_count = (has_loop ? 1 : 0) + (options->has_waveforms ? PICTURE_WAVES : 0);
    picture->chart.width = width;
    picture->chart.height = !has_loop                 ? WAVES_HEIGHT
                            : picture->count > 1      ? OVERLAY_HEIGHT
                            : options->has_no_heading ? BARE_HEIGHT
                                                      : LOOP_HEIGHT;
}

enum status loop_picture_create(const struct loop_plot_item *items, size_t count,
    const struct loop_plot_options *options, struct loop_picture **picture, struct error *err)
{
    if (count == 0)
        return fail(err, STATUS_USAGE, "", "there is no loop to draw");
    struct loop_picture *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->items = items;
    made->count = count;
    enum status status = reserve(made, err);
    if (!status && options->has_waveforms && !has_any_wave(made))
        status = fail(err, STATUS_USAGE, "leave out --waveforms",
            "a trace has no time axis: there are no waveforms to draw");
    if (!status) {
        compose(made, options);
        status = has_lost_words(made) ? fail_memory(err) : STATUS_OK;
    }
    if (status)
        loop_picture_destroy(made);
    else
        *picture = made;
    return status;
}

enum status loop_plot_write(const struct loop_plot_item *items, size_t count, bool has_waveforms,
    const char *path, struct error *err)
{
    const struct loop_plot_options options = {.has_waveforms = has_waveforms};
    struct loop_picture *picture;
    enum status status = loop_picture_create(items, count, &options, &picture, err);
    if (status)
        return status;
    status = chart_write(&picture->chart, path, err);
    loop_picture_destroy(picture);
    return status;
}
