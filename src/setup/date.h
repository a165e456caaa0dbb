// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_DATE_H
#define LODECARD_SETUP_DATE_H

#include "base/error.h"

/* Reads a day of the Gregorian calendar, "2026-11-25", as the number of days since 1970-01-01.
 * STATUS_INPUT when it is none; `*day` is untouched then. */
enum status date_read(const char *words, long *day, struct error *err) MUST_CHECK;

#endif
