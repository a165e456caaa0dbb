// SPDX-License-Identifier: GPL-3.0-or-later
/* What limits the figures, and what the notes mean, in plain words. Reasons and limits stand in
 * docs/notes.md. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/loop_explain_part.h"
#include "cli/wrap.h"

#define LISTED 3          /* contributions a figure */
#define SHARE_LEAST 0.005 /* which show as 1 % or more */
#define SYMBOL_COLUMNS 6
#define U_COLUMNS 9

static const enum figure shown[] = {FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_REMANENCE,
    FIGURE_COERCIVITY, FIGURE_LOOP_AREA, FIGURE_LAG_ANGLE, FIGURE_AMPLITUDE_PERMEABILITY};

/* "Hm   0.17 %  inputs.excitation.full_scale 89 %, ..." */
static void add_limit(struct text *out, const struct loop_budget *budget, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const size_t count = loop_budget_list(budget, output, list);
    const char *symbol = figure_table[budget->model.output[output]].symbol;
    char percent[32];
    struct text words = {0};
    snprintf(percent, sizeof percent, "%.2g %%",
        100 * fabs(budget->linear.u[output] / budget->linear.value[output]));
    text_add(&words, symbol);
    const size_t width = text_width(symbol);
    text_add_format(&words, "%*s%*s  ", (int)(width < SYMBOL_COLUMNS ? SYMBOL_COLUMNS - width : 1),
        "", U_COLUMNS, percent);
    for (size_t i = 0; i < count && i < LISTED && (i == 0 || fabs(list[i].share) >= SHARE_LEAST);
         i++)
        text_add_format(&words, "%s%s %.0f %%", i ? ", " : "", list[i].name, 100 * list[i].share);
    text_add(out, "  ");
    if (words.failed)
        out->failed = true;
    else
        wrap_add(out, words.bytes, 2, 2 + SYMBOL_COLUMNS + U_COLUMNS + 2);
    text_clear(&words);
}

static void add_half(struct text *out, const struct loop_budget *budget, size_t output)
{
    struct contribution list[LOOP_INPUTS_MOST + 1];
    const size_t listed = loop_budget_list(budget, output, list);
    size_t count;
    double factor;
    struct text names = {0};
    loop_budget_find_half(list, listed, &count, &factor);
    for (size_t i = 0; i < count; i++)
        text_add_format(&names, "%s%s",
            i == 0           ? ""
            : i + 1 == count ? " and "
                             : ", ",
            list[i].name);
    if (names.failed)
        out->failed = true;
    else if (count > 0)
        explain_add(out,
            "To halve the uncertainty of W, bring that of %s down to %.0f %% of what it is. Better "
            "values elsewhere would hardly show. --budget tells this for every figure.",
            names.bytes, 100 * factor);
    text_clear(&names);
}

static const char *get_scatter(const struct loop *loop, const struct loop_budget *budget)
{
    if (loop->is_trace)
        return "One traverse shows no scatter: how well it repeats is not in the figures.";
    return budget->source == LOOP_SCATTER_BLOCKS ? "Scatter, what differs between runs of cycles "
                                                   "of this record, is counted in; it is "
                                                   "named above where it matters."
           : budget->source == LOOP_SCATTER_NOISE
               ? "Scatter comes from the noise of single samples: the record is too short to "
                 "compare runs of cycles."
               : "The record shows no scatter.";
}

void explain_add_limits(struct text *out, const struct loop_job *job)
{
    const struct loop_budget *budget = job->budget;
    bool has_any = false;
    explain_add_heading(out, "What limits the figures");
    for (size_t i = 0; budget && i < sizeof shown / sizeof *shown; i++) {
        const size_t output = loop_budget_find(budget, shown[i]);
        if (output >= budget->model.output_count || !(budget->linear.u[output] > 0))
            continue;
        if (!has_any)
            explain_add(out, "Standard uncertainty in percent of the figure, and the largest "
                             "shares of its square, by the entry of rig.yaml or specimen.yaml that "
                             "they come from.");
        add_limit(out, budget, output);
        has_any = true;
    }
    if (has_any && loop_budget_find(budget, FIGURE_LOOP_AREA) < budget->model.output_count)
        add_half(out, budget, loop_budget_find(budget, FIGURE_LOOP_AREA));
    if (has_any)
        explain_add(out, "%s", get_scatter(&job->loop, budget));
    if (!budget || !loop_budget_has_inputs(budget))
        explain_add(out, "Rig and specimen do not say how well their values are known: what "
                         "sensors and dimensions add is not looked at. Write them as value \u00B1 "
                         "half-width, such as 40.00 mm \u00B1 0.02 mm.");
    explain_add(out, "One capture cannot show a wrong shunt, full scale, number of turns or "
                     "dimension: these want a second measurement.");
}

static const struct {
    const char *code, *words;
} meanings[] = {
    {"clipped", "The signal was larger than the input could take, so its peaks are missing. The "
                "peak values are too small, and their edges spoil everything else."},
    {"short", "There are few cycles, so the record says little about how well it repeats. The "
              "figures may be right; how right is less known."},
    {"unsteady", "The cycles are not alike: amplitude or frequency moves while the record runs. "
                 "The loop is a mean of different loops."},
    {"noisy", "The cycles scatter more than a good shunt and calliper would leave: noise is what "
              "limits the figures. A longer record averages it out."},
    {"offset", "The input reads a steady voltage on top of the signal. It was taken off; but if it "
               "is a real direct current, the ring sits beside the middle of its loop."},
    {"drift", "The traverse does not end where it began, so that how the loop is closed is a "
              "choice, and W hangs on it."},
    {"reversed", "The pickup coil is connected the other way round. Its sign was turned here; the "
                 "figures are right, the rig should be mended."},
    {"swapped", "Current and pickup voltage seem to have been taken for each other. No figure can "
                "be used until the channels are right."},
    {"undersampled", "There are too few samples in a cycle for the steepest parts of the waveform. "
                     "What lies between them is lost, or counted in the wrong place."},
    {"hum",
        "Something beside the drive is heard on this input, at a frequency of its own; mostly the "
        "mains. The mean cycle averages most of it out, and the more of it the longer the "
        "record."},
    {"asymmetric", "The upper half of the loop is not the lower half turned round: direct current, "
                   "a ring that was not demagnetized, or an uneven amplifier."},
    {"distorted", "B does not follow a sine. The loop is right for what was done to the ring, but "
                  "its loss is not the one of data sheets, which are for B as a sine."},
    {"dropout", "Samples are missing or were made up on their way to the file. The cycles that "
                "hold them are not what the ring did."},
    {"quiet", "The signal uses few of the converter's steps. It is drawn with a blunt pencil, and "
              "the converter's own faults show."},
    {"coupled", "The input blocks direct current, and at this frequency it already bends the "
                "signal much. That was undone with the corner in rig.yaml: as good as that corner "
                "is."},
    {"delay-sensitive", "The loop is so narrow that a tiny time between the two inputs counts as "
                        "area. W is only as good as pickup_delay is known."},
    {"unsaturated", "The field did not reach far beyond the coercivity. Br and Hc belong to this "
                    "loop; a higher field would give larger ones. Compare rings at the same Hm."},
    {"square", "The loop is fuller than any ellipse with its peaks, so there is no ellipse to take "
               "an angle from."},
    {"thick-ring", "The inside of the ring sees a higher field than the outside, since its way "
                   "round is shorter. The loop is a mean of both, with rounded corners."},
    {"skin-effect", "Eddy currents keep the field out of the middle of the wall. The loop is wider "
                    "than the steel's own, and the more so the higher the frequency."},
    {"unlikely", "A value in rig.yaml or specimen.yaml can be, but rarely is. Most often a unit or "
                 "a prefix slipped; the figures follow it faithfully."},
    {"outdated", "The calibration is older than it may be. The inputs may have moved since, "
                 "unseen."},
    {"not-periodic", "What repeats is weaker than what does not. The mean cycle was found all the "
                     "same, but something else than the drive is on this input."},
    {"no-loop", "The rows do not go once around the origin, so they enclose no loop."},
};

static const char *find_meaning(const char *code)
{
    for (size_t i = 0; i < sizeof meanings / sizeof *meanings; i++)
        if (!strcmp(meanings[i].code, code))
            return meanings[i].words;
    return "";
}

void explain_add_notes(struct text *out, const struct notes *notes)
{
    bool has_any = false;
    explain_add_heading(out, "What the notes mean");
    for (size_t i = 0; i < notes->count; i++) {
        const struct note *note = &notes->list[i];
        if (note->level == NOTE_FATAL)
            continue;
        explain_add(
            out, "%s, %s: %s.", note_level_get_name(note->level), note->code, note->message);
        if (*find_meaning(note->code))
            text_add(out, "    ");
        if (*find_meaning(note->code))
            wrap_add(out, find_meaning(note->code), 4, 4);
        if (note->hint[0]) {
            text_add(out, "    ");
            text_add(out, "What to do: ");
            wrap_add(out, note->hint, 16, 4);
        }
        has_any = true;
    }
    if (!has_any)
        explain_add(out, "There are none: nothing odd was seen in this capture.");
}
