// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_FUZZ_FUZZ_H
#define LODECARD_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* What the fuzz targets share. Each target is one file here, named like what it reads, with one
 * LLVMFuzzerTestOneInput: libFuzzer calls it with bytes of its own making, fuzz_replay.c with those
 * of the files in seeds/. A wrong answer aborts. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Aborts unless a failure is what bad input may cause: a status of the input's, with a message.
 * Returns whether it succeeded. */
bool fuzz_judge(enum status status, const struct error *err);

/* Aborts and says why when something that must hold does not. */
void fuzz_need(bool holds, const char *what);

/* A path whose file holds these bytes, in memory; there is one such file at a time. */
const char *fuzz_set_file(const uint8_t *data, size_t size);

/* A copy as text: ended by a zero byte, cut at the first one. Free with memory_destroy. */
char *fuzz_copy_text(const uint8_t *data, size_t size);

/* Cuts `data` at the first byte `mark`: what stands before it, and in `*rest` what stands behind it
 * (empty where there is no mark). */
size_t fuzz_split(const uint8_t *data, size_t size, uint8_t mark, const uint8_t **rest);

#endif
