// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_EVIDENCE_H
#define LODECARD_LOOP_EVIDENCE_H

#include "capture/capture.h"
#include "capture/sampling.h"
#include "loop/convert.h"
#include "loop/excerpt.h"
#include "loop/loop.h"
#include "loop/survey.h"
#include "num/periodic.h"
#include "num/stray.h"
#include "setup/setup.h"

/* All that the notes are judged from. Parts that a capture does not have are NULL. */
struct evidence {
    const struct capture_info *info;
    const struct rig *rig;
    const struct specimen *specimen;
    const struct survey *survey;     /* periodic captures */
    const struct periodic_fit *fit;  /* periodic captures */
    const struct sampling *sampling; /* tables with a time column */
    const struct excerpt *excerpt;   /* even periodic captures */
    const struct stray *strays;      /* steady foreign tones of even periodic captures */
    size_t stray_count;
    const struct conversion *conversion; /* by which the loop was made; periodic captures */
    const struct loop *loop;             /* figures are there; its notes are being written */
    const char *today;                   /* of the options */
    size_t trace_dropped;                /* rows cut from a trace */
};

/* Adds every note that the evidence supports. DEVELOPERS.md tells how to add one. */
void evidence_add_notes(const struct evidence *evidence, struct notes *notes);

#endif
