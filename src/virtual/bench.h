// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_BENCH_H
#define LODECARD_VIRTUAL_BENCH_H

#include <stdint.h>

#include "base/error.h"
#include "virtual/ring.h"

/* Runs the virtual bench: writes the capture, rig.yaml, specimen.yaml and truth.json into a folder
 * (made if need be; files of these names are replaced). The capture, rig and specimen have the same
 * bytes for the same ring and seed on any machine; in truth.json the last digit of a figure may
 * follow the machine's C library. STATUS_INPUT when a signal passes full scale without an ordered
 * clipping. */
enum status bench_run(
    const struct ring *ring, const char *folder, uint64_t seed, struct error *err) MUST_CHECK;

/* One working point of a series: the capture is NAME-<peak in mT>mT-<frequency in mHz>mHz, its
 * truth stands beside it under the same name. The ring's drive is set to the point. */
enum status bench_run_point(struct ring *ring, double frequency_Hz, double flux_density_peak_T,
    const char *folder, uint64_t seed, struct error *err) MUST_CHECK;

#endif
