// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_FOREIGN_H
#define LODECARD_CAPTURE_FOREIGN_H

#include <stddef.h>

#include "base/error.h"

/* Refuses, by the first bytes, what people hand in that no reader should try: lossy audio, audio
 * that libsndfile does not open, spreadsheets, archives. STATUS_INPUT says what it is and what to
 * do; STATUS_OK: nothing known. */
enum status foreign_refuse(
    const char *path, const unsigned char *head, size_t count, struct error *err) MUST_CHECK;

/* The hint that goes with every lossy format. */
extern const char foreign_lossy_hint[];

#endif
