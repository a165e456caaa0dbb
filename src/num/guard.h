// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_GUARD_H
#define LODECARD_NUM_GUARD_H

/* Called ahead of GSL's functions, any number of times: an error of theirs ends in their return
 * value alone, not the program, and memory that they are refused is noted (base/memory.h). */
void guard_gsl(void);

#endif
