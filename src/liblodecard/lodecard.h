// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_H
#define LODECARD_H

/* liblodecard: B-H loops and figures of a ring of magnetic steel from the recorded waveforms of an
 * excitation current and a pickup coil.
 *
 *     struct lodecard_error err;
 *     struct lodecard_loop *loop = NULL;
 *     if (lodecard_loop_read("ring.wav", NULL, NULL, NULL, &loop, &err) == LODECARD_OK) {
 *         double remanence, u;
 *         if (lodecard_loop_get_figure(loop, "remanence_T", &remanence, &u)) ...
 *     }
 *     lodecard_loop_destroy(loop);
 *
 * Build with `pkg-config --cflags --libs lodecard`. All values are in SI units, angles in degree.
 * Texts are UTF-8. Functions may be called from several threads at once on different objects. What
 * is returned as `const` belongs to the object it came from and lives as long. Nothing is printed.
 *
 * The names and meanings here stay; structs may gain members while the library's version begins
 * with 0, so a program is compiled anew for a new library. */

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

#define LODECARD_API __attribute__((visibility("default")))

/* What a function that can fail returns; the numbers are the exit statuses of the program. */
enum lodecard_status {
    LODECARD_OK = 0,
    LODECARD_USAGE = 1,   /* an argument is wrong */
    LODECARD_INPUT = 2,   /* an input file is wrong */
    LODECARD_CAPTURE = 3, /* the capture cannot support a result: a fatal note says why */
    LODECARD_IO = 4,      /* reading failed */
    LODECARD_FAULT = 5    /* a fault of the library, or no memory */
};

/* What is wrong and what to do about it, without a final full stop; the hint may be empty. The
 * message has several lines when a file has several faults. Filled by failures only; wherever a
 * function takes one, it may be NULL. */
struct lodecard_error {
    char message[4096];
    char hint[320];
};

/* The version of the library, such as "0.1.0". */
LODECARD_API const char *lodecard_get_version(void);

/* --- the bench and the ring -------------------------------------------------------------------*/

struct lodecard_rig;      /* a rig.yaml as read */
struct lodecard_specimen; /* a specimen.yaml as read */

/* On success `*rig` is a new rig, to be given back to lodecard_rig_destroy; likewise below. */
LODECARD_API enum lodecard_status lodecard_rig_read(
    const char *path, struct lodecard_rig **rig, struct lodecard_error *err);
LODECARD_API void lodecard_rig_destroy(struct lodecard_rig *rig); /* NULL is allowed */

LODECARD_API enum lodecard_status lodecard_specimen_read(
    const char *path, struct lodecard_specimen **specimen, struct lodecard_error *err);
LODECARD_API void lodecard_specimen_destroy(struct lodecard_specimen *specimen);

/* --- the loop ---------------------------------------------------------------------------------*/

/* How to read a capture. A zeroed struct (or NULL for it) means: all of it, and find out. */
struct lodecard_options {
    double start_s;   /* leave out this much at the beginning */
    double length_s;  /* read this much; 0: to the end */
    size_t harmonics; /* of the fit; 0: chosen from the data */
    char decimal;     /* tables: '.' or ',' where the file is ambiguous; 0: found from the file */
    char separator;   /* tables: ',' ';' '\t' ' '; 0: found from the file */
};

struct lodecard_loop;

/* Reads the capture (an audio file or a logger table; "-" is standard input) and rebuilds its loop.
 * Where rig or specimen is NULL, rig.yaml and specimen.yaml beside the capture are read (beside
 * "-": in the current folder); those that are given must live as long as the loop.
 *
 * LODECARD_OK and LODECARD_CAPTURE give a new loop, to be given back to lodecard_loop_destroy. That
 * of LODECARD_CAPTURE has notes, among them the fatal one, and no figures to rely on. */
LODECARD_API enum lodecard_status lodecard_loop_read(const char *capture,
    const struct lodecard_rig *rig, const struct lodecard_specimen *specimen,
    const struct lodecard_options *options, struct lodecard_loop **loop,
    struct lodecard_error *err);
LODECARD_API void lodecard_loop_destroy(struct lodecard_loop *loop); /* NULL is allowed */

/* --- its figures ------------------------------------------------------------------------------*/

/* A kind of figure: the words are those of the program's results. */
struct lodecard_figure {
    const char *key;     /* "coercivity_A_per_m" */
    const char *symbol;  /* "HcB" */
    const char *name;    /* "coercivity HcB" */
    const char *unit;    /* "A/m"; "" for a plain number */
    const char *meaning; /* one sentence */
};

/* The kinds of figures there are, in the order of the results: index 0 to count - 1. */
LODECARD_API size_t lodecard_get_figure_count(void);
LODECARD_API int lodecard_get_figure(size_t index, struct lodecard_figure *figure);

/* 1 and the value of the loop's figure with that key; 0, and nothing changed, when the loop has
 * none. `u` (may be NULL) gets its standard uncertainty (k = 1), NaN when it is not known. */
LODECARD_API int lodecard_loop_get_figure(
    const struct lodecard_loop *loop, const char *key, double *value, double *u);

/* --- what the user must know about it ---------------------------------------------------------*/

struct lodecard_note {
    const char *code;  /* one of those of the manual, such as "clipped" */
    const char *level; /* "info", "warning" or "fatal" */
    const char *message;
    const char *hint;
    const char *subject; /* "excitation", "pickup" or the key of a figure; NULL: the whole */
};

/* A number that a note was judged from. */
struct lodecard_note_number {
    const char *key; /* with its unit: "skin_depth_m"; ratios have none: "width_over_skin_depth" */
    double value;
    double limit; /* what it was held against; NaN: nothing */
};

LODECARD_API size_t lodecard_loop_get_note_count(const struct lodecard_loop *loop);
/* 1, or 0 when there is no note of that index. */
LODECARD_API int lodecard_loop_get_note(
    const struct lodecard_loop *loop, size_t index, struct lodecard_note *note);
/* 1, or 0 when the note of that index has no such number. */
LODECARD_API int lodecard_loop_get_note_number(const struct lodecard_loop *loop, size_t note,
    size_t index, struct lodecard_note_number *number);

/* --- its shape --------------------------------------------------------------------------------*/

/* One mean cycle as `count` points: field strength in A/m and flux density in T, into arrays of the
 * caller, beginning at the lowest field. */
LODECARD_API enum lodecard_status lodecard_loop_compute_points(const struct lodecard_loop *loop,
    size_t count, double *field, double *flux_density, struct lodecard_error *err);

/* The result as JSON text, schema "lodecard-loop/1", as the program writes it, with `points` points
 * of the mean cycle (0: none), on one line (indent 0) or with that many blanks a level. `*json` is
 * to be given back to lodecard_text_destroy. */
LODECARD_API enum lodecard_status lodecard_loop_write_json(const struct lodecard_loop *loop,
    size_t points, int indent, char **json, struct lodecard_error *err);
LODECARD_API void lodecard_text_destroy(char *text); /* NULL is allowed */

#ifdef __cplusplus
}
#endif

#endif
