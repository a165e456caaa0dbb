// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_PICTURE_H
#define LODECARD_PAPER_LOOP_PICTURE_H

#include "base/text.h"
#include "paper/chart.h"
#include "paper/loop_curve.h"
#include "paper/loop_plot.h"

/* A picture of loops while it is put together: loop_plot.c owns it, loop_words.c writes its words,
 * loop_panels.c sets its curves. */
#define PICTURE_MARKS 4  /* of a loop */
#define PICTURE_PANELS 4 /* the loop, H, B, dB/dt */
#define PICTURE_WAVES (PICTURE_PANELS - 1)
#define PICTURE_FIGURES 6 /* in the heading, and in the table below several loops */
#define PICTURE_COLUMNS (PICTURE_FIGURES + 1)
/* heading, marks, axes of the loop, axes of the waves */
#define PICTURE_TEXTS (2 + PICTURE_MARKS + 2 + PICTURE_WAVES + 1)

/* A quantity's scale in the whole picture. */
struct picture_scale {
    double factor; /* SI per shown unit */
    const char *prefix;
};

struct loop_picture {
    const struct loop_plot_item *items;
    size_t count;
    struct loop_curve *curves;
    struct picture_scale field, flux, slope, time;
    bool has_common_period; /* waveforms over the time, not over the share of the cycle */
    struct text texts[PICTURE_TEXTS];
    size_t text_count;
    struct text *cell_texts; /* of the legend, its heading row first */
    const char **cells;
    struct chart_style *styles;
    struct chart_line *lines; /* PICTURE_PANELS * count */
    struct chart_mark *marks; /* PICTURE_MARKS * count */
    size_t mark_count;
    struct chart_panel panels[PICTURE_PANELS];
    struct chart chart;
};

struct text *picture_new_text(struct loop_picture *picture);
const char *picture_get_words(const struct text *text);
size_t picture_get_cell_count(const struct loop_picture *picture); /* headings included */

/* loop_words.c */
struct picture_scale picture_find_scale(double most);
void picture_set_marks(struct loop_picture *picture);
void picture_set_heading(struct loop_picture *picture);
void picture_set_legend(struct loop_picture *picture);

/* loop_panels.c: scales first, then marks, then panels. */
void picture_set_scales(struct loop_picture *picture);
void picture_set_loop_panel(struct loop_picture *picture, double width);
void picture_set_wave_panels(struct loop_picture *picture, double left);

#endif
