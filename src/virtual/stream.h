// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_STREAM_H
#define LODECARD_VIRTUAL_STREAM_H

/* What each stream of random numbers is for. Every row has its own place in the streams of noise
 * and jitter, so that one fault more or less leaves the other numbers as they are. */
enum stream { STREAM_NOISE_EXCITATION, STREAM_NOISE_PICKUP, STREAM_JITTER, STREAM_GAPS };

#endif
