// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_AHEAD_H
#define LODECARD_CAPTURE_AHEAD_H

#include <stddef.h>

#include "base/error.h"

/* The rows of a capture in blocks, of which a thread reads the next ones while the caller works on
 * the last: a long capture is decoded and analysed at the same time, by two cores.
 *
 * What comes is the same, in the same order, as the capture's reader gives: rows, the end, an error
 * behind the rows that came before it, and the totals in the capture's info, which are those of the
 * rows that were taken. At most AHEAD_BLOCKS blocks wait, so the memory is bounded.
 *
 * The thread begins only where it pays: behind the first AHEAD_FRAMES rows, and while there are two
 * cores for each capture that is read in this way (captures side by side fill the cores by
 * themselves). Where the system gives no thread, the caller reads. While it runs the reader belongs
 * to it: nobody else calls the reader or its source until ahead_stop. */
enum { AHEAD_BLOCKS = 8, AHEAD_FRAMES = 1 << 18 };

struct ahead;
struct capture;

/* Of a capture whose channels are selected. NULL: out of memory. */
struct ahead *ahead_create(struct capture *capture);

/* The next rows: values[frame * selected + i], borrowed until the next call. *got == 0: the end,
 * which stays, as an error does. */
enum status ahead_take(
    struct ahead *ahead, const double **values, size_t *got, struct error *err) MUST_CHECK;

/* Ends the thread; what it has read beyond the rows taken is lost. A thread that waits for a pipe
 * ends with the block that it is at. NULL is allowed, here and below. */
void ahead_stop(struct ahead *ahead);
void ahead_destroy(struct ahead *ahead);

#endif
