// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_LOOP_H
#define LODECARD_LOOP_LOOP_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/file.h"
#include "base/json.h"
#include "base/text.h"
#include "capture/capture.h"
#include "loop/note.h"
#include "quantity/figure.h"
#include "setup/setup.h"

/* One closed B-H cycle as two real Fourier series in phase x (radian, 0 ... 2 pi):
 *     H(x) = Re sum_{k=0..K} field[k] e^{ikx}        A/m
 *     B(x) = Re sum_{k=1..K} flux_density[k] e^{ikx} T
 * field[0] is real: a bias that is kept (`bias: keep`), else 0. */
struct fourier_loop {
    size_t harmonics;             /* K */
    double complex *field;        /* K + 1 */
    double complex *flux_density; /* K + 1; [0] is 0 */
};
enum status fourier_loop_create(
    struct fourier_loop *loop, size_t harmonics, struct error *err) MUST_CHECK;
void fourier_loop_clear(struct fourier_loop *loop);

/* All figures of a loop that follow from the series itself (not frequency, cycles, loss: those need
 * the frequency, Hz, which may be 0 when unknown), by root finding on the series; definitions:
 * docs/figures.md. Density in kg/m³, 0 when unknown. */
enum status fourier_loop_compute_figures(const struct fourier_loop *loop, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures, struct error *err) MUST_CHECK;

/* `count` points uniform in phase from the minimum of H. Arrays of the caller. B is centred on its
 * peaks. */
enum status fourier_loop_compute_points(const struct fourier_loop *loop, size_t count,
    double *field, double *flux_density, struct error *err) MUST_CHECK;

/* What a periodic capture's loop was converted from, kept for its uncertainty. */
struct loop_basis {
    struct fourier_loop recorded; /* both inputs in units of the capture, the pickup turned where it
                                     was found reversed; 0 harmonics: a trace */
    double noise_rms[2];          /* of one sample's residual, same units */
    double frames;                /* samples of each input in the fit */
    double block_share;           /* of them that are in blocks */
    bool is_audio;
};

struct loop_options {
    struct capture_options
        capture;         /* start, length, decimal, separator; the rest comes from the rig */
    size_t harmonics;    /* 0: chosen from the data */
    double frequency_Hz; /* where the fundamental is (num/periodic.h); 0: found from the data */
    const char *today;   /* "2026-11-25": a rig whose interval is over gets a note; NULL: none */
};

/* A loop rebuilt from a capture. */
struct loop {
    /* what was read */
    char *file;
    char sha256[DIGEST_TEXT_SIZE];
    size_t channels;
    int64_t frames;
    double sample_rate_Hz; /* 0: uneven or a trace */
    double start_s;
    double length_s;
    /* the result */
    bool is_trace;
    bool is_reversed;           /* the pickup's sign was turned: see the note */
    struct fourier_loop series; /* periodic captures */
    double *trace_field;        /* traces: the closed polygon, A/m and T, last point != first */
    double *trace_flux_density;
    size_t trace_count;
    struct figures figures;
    struct loop_basis basis;
    struct figures *blocks; /* the same figures of each cycle or block of cycles (type A) */
    size_t block_count;
    struct notes notes;
};

/* Reads the capture and rebuilds its loop. STATUS_CAPTURE when a fatal note stands in loop->notes
 * (then the rest of `loop` is what could be found, and its capture part is filled). */
enum status loop_read(const char *path, const struct rig *rig, const struct specimen *specimen,
    const struct loop_options *options, struct loop *loop, struct error *err) MUST_CHECK;
void loop_clear(struct loop *loop); /* safe on a zeroed struct and twice */

/* `count` points of the mean cycle, uniform in phase (periodic) or in the order of the rows
 * (traces: linear in row number), from the minimum of H. */
enum status loop_compute_points(const struct loop *loop, size_t count, double *field,
    double *flux_density, struct error *err) MUST_CHECK;

/* The members of the "lodecard-loop/1" object, into an object that was begun. */
enum status loop_write_members(struct json *json, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, struct error *err) MUST_CHECK;

/* The "lodecard-loop/1" object. `points` 0: none. `indent` 0: one line. */
enum status loop_write_json(const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, int indent, struct text *out,
    struct error *err) MUST_CHECK;

#endif
