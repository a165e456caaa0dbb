// SPDX-License-Identifier: GPL-3.0-or-later
/* The loops of a card that is made. */
#include <math.h>

#include "card/branch.h"
#include "card/keys.h"
#include "card/make_part.h"

static enum status make_loop(
    struct maker *maker, size_t index, struct card_loop *loop, struct error *err)
{
    const struct series_loop *from = &maker->series->loops[index];
    const struct figure_value *frequency = &from->figures.list[FIGURE_FREQUENCY];
    card_keys_clear(card_drawn_keys, loop);
    loop->captures = card_copy_indices(maker->card, &index, 1);
    loop->specimen = card_copy_text(maker->card, from->specimen);
    loop->frequency_Hz = frequency->is_present ? frequency->value : NAN;
    loop->figures = from->figures;
    const double bound =
        maker->options->bound_relative > 0 ? maker->options->bound_relative : CARD_BOUND;
    return card_branch_draw(
        maker->card, from->field, from->flux_density, from->point_count, bound, loop, err);
}

/* A capture whose branches had to be bent far to be drawn as functions of H is told. */
#define REDRAWN 0.01
static void note_redrawn(struct maker *maker, const struct card_loop *loop)
{
    const struct figure_value *area = &loop->figures.list[FIGURE_LOOP_AREA];
    if (loop->rising.count == 0 || !area->is_present || !(area->value > 0)) {
        return;
    }
    const double off = loop->drawn_area_J_per_m3 / area->value - 1.0;
    if (fabs(off) > REDRAWN) {
        card_add_note(maker->card, &maker->card->notes, "redrawn", NOTE_WARNING,
            "take areas and losses from the figures, not from the branches; eddy currents round "
            "the tips, so measure slower, or thinner sheet",
            "'%s': the branches as drawn enclose %+.1f %% of the measured loop area (limit %g %%): "
            "B had to be moved by up to %.3g T to make J rise with H",
            maker->series->loops[loop->captures.list[0]].file, 100 * off, 100 * REDRAWN,
            loop->monotone_change_T);
    }
}

enum status maker_set_loops(struct maker *maker, struct error *err)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    card->loops = card_create_array(card, series->count, sizeof *card->loops);
    for (size_t i = 0; i < series->count && !card->failed; i++) {
        struct card_loop loop = {0};
        enum status status = make_loop(maker, i, &loop, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (!card->failed) {
            note_redrawn(maker, &loop);
        }
        if (i == maker->major && loop.rising.count > 0) {
            loop.is_saturating = series->is_major;
            card->major_loop = loop;
            card->has_major_loop = true;
        } else if (i != maker->major) {
            card->loops[card->loop_count++] = loop;
        }
    }
    card->figures = series->loops[maker->major].figures;
    return card->failed ? fail_memory(err) : STATUS_OK;
}
