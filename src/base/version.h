// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_VERSION_H
#define LODECARD_BASE_VERSION_H

/* The version of program and library, as results name it. */
#define LODECARD_VERSION "0.1.0"

#endif
