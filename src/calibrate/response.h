// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_RESPONSE_H
#define LODECARD_CALIBRATE_RESPONSE_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "calibrate/adjust.h"
#include "calibrate/take.h"

/* Two inputs that recorded one signal, tone by tone. With the excitation input's coefficient
 * x1 = s/F1 / (1 - i fc1/f) of a signal s, full scale F1 and corner fc1, and the pickup's
 * x2 = s/F2 e^{i 2 pi f tau} / (1 - i fc2/f), their ratio is
 *     x2/x1 = g e^{i 2 pi f tau} (1 - i fc1/f) / (1 - i fc2/f),  g = F1/F2.
 * The signal cancels, and so do equal corners: the ratio alone tells g, tau and, at first order,
 * the difference of the corners; at second order, where they differ and low tones are there, both.
 * Where all tones of the signal are known to be equally large, its size tells both corners. */

/* One tone of the signal, as both inputs have it. */
struct tone {
    double frequency_Hz;
    double complex x[2];
    double variance[2]; /* of each part of a coefficient */
};

struct tones {
    struct tone *list;
    size_t count;
};

/* Takes the tones that stand out in both channels: 20 times their uncertainty, and 1 % of the
 * largest (below, an input's own distortion may hide). `block` below the fit's count: of that block
 * alone, at the same harmonics as the whole. STATUS_CAPTURE when there is none. */
#define TONES_WHOLE SIZE_MAX
enum status tones_create(
    struct tones *tones, const struct take *take, size_t block, struct error *err) MUST_CHECK;
void tones_clear(struct tones *tones);

/* What is sought, and what is held. */
struct response {
    bool seeks_both;     /* both corners are sought, although the ratio tells them badly */
    bool is_flat;        /* all tones of the signal are equally large: both corners are sought */
    bool holds_corner;   /* the pickup's corner is held as well: a single tone */
    double corner_Hz[2]; /* in: held, or where to start; out */
    double gain;         /* g, negative when one input is turned */
    double delay_s;      /* tau */
    double u_gain, u_delay_s, u_corner_Hz[2]; /* from the noise alone */
    double chi_square[2];                     /* of the sizes and of the phases */
    size_t degrees;                           /* of both together */
    double worst_delay_s; /* the largest departure of one tone's phase, as a delay */
    double worst_Hz;
    double worst_gain; /* relative, of one tone's size */
    double worst_gain_Hz;
};

enum status response_fit(
    struct response *response, const struct tones *tones, struct error *err) MUST_CHECK;

#endif
