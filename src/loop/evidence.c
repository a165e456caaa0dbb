// SPDX-License-Identifier: GPL-3.0-or-later
/* What several notes ask of the evidence. */
#include <math.h>

#include "loop/notes_part.h"

const char *const evidence_input_name[2] = {"excitation", "pickup"};

double evidence_get_value(const struct evidence *evidence, enum figure figure)
{
    return evidence->loop->figures.list[figure].value;
}

bool evidence_has_value(const struct evidence *evidence, enum figure figure)
{
    return evidence->loop->figures.list[figure].is_present;
}

double evidence_get_amplitude(const struct evidence *evidence, int m)
{
    const struct survey_channel *channel = &evidence->survey->channel[m];
    return 0.5 * (channel->maximum - channel->minimum);
}

double evidence_get_step(const struct evidence *evidence)
{
    const struct capture_info *info = evidence->info;
    return info->kind == CAPTURE_AUDIO && !info->is_float ? ldexp(1.0, 1 - info->bits) : 0.0;
}
