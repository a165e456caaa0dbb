// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/motor_words.h"

#include "paper/markup.h"

const char *motor_words_add_title(struct plot_texts *texts, const char *words, const char *name)
{
    struct text *text = plot_texts_add(texts);
    text_add(text, words);
    if (name) {
        text_add(text, " \u00B7 ");
        markup_add(text, name);
    }
    return plot_text_get(text);
}

const char *motor_words_add_subtitle(
    struct plot_texts *texts, const struct motor_machine *machine, const struct steel_point *point)
{
    struct text *text = plot_texts_add(texts);
    text_add_format(text, "%zu\u00A0pole\u00A0pair%s, %.4g\u00A0cm\u00B3 of ring, ",
        machine->pole_pairs, machine->pole_pairs == 1 ? "" : "s", 1e6 * machine->volume.value);
    plot_text_add_value(text, machine->supply.value, "Hz");
    if (point) {
        text_add(text, "; peaks of ");
        plot_text_add_value(text, point->field_peak, "A/m");
        text_add(text, " and ");
        plot_text_add_value(text, point->flux_density_peak, "T");
    }
    return plot_text_get(text);
}
