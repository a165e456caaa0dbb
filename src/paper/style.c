// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/chart.h"

/* Colours that people with any of the common kinds of colour blindness tell apart: M. Okabe and
 * K. Ito, "Color Universal Design", 2008; also B. Wong, "Color blindness", Nature Methods 8 (2011)
 * 441. Their yellow is left out: a thin yellow line cannot be seen on white paper. */
static const unsigned char colours[][3] = {
    {0, 114, 178},   /* blue */
    {213, 94, 0},    /* vermilion */
    {0, 158, 115},   /* bluish green */
    {204, 121, 167}, /* reddish purple */
    {230, 159, 0},   /* orange */
    {86, 180, 233},  /* sky blue */
    {0, 0, 0},       /* black */
};
#define COLOURS (sizeof colours / sizeof *colours)

struct chart_style chart_style_get(size_t index)
{
    const unsigned char *colour = colours[index % COLOURS];
    return (struct chart_style){
        .red = colour[0] / 255.0,
        .green = colour[1] / 255.0,
        .blue = colour[2] / 255.0,
        .dash = (enum chart_dash)(index % CHART_DASH_COUNT),
        .marker = (enum chart_marker)(index % CHART_MARKER_COUNT),
        .width = 1.5,
    };
}
