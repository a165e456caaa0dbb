// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_CAPTURE_H
#define LODECARD_CAPTURE_CAPTURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/file.h"
#include "quantity/quantity.h"

/* A capture: one recording, an audio file or a logger table, read forward in blocks in bounded
 * memory.
 *
 *     capture_open -> capture_get_info -> capture_find_channel ... -> capture_select ->
 * capture_read ... -> capture_finish -> capture_close
 *
 * or capture_take instead of capture_read, for captures that may be long.
 *
 * Readers are const structs of functions in one list (capture/reader.h); audio.c and table.c fill
 * one each. */

enum capture_kind { CAPTURE_AUDIO, CAPTURE_TABLE };

/* How the time of a row is known. */
enum capture_timing {
    CAPTURE_TIMING_RATE, /* uniform: row n is at n / sample_rate */
    CAPTURE_TIMING_ROWS, /* a time column: capture_read gives each row's time */
    CAPTURE_TIMING_NONE, /* a table without time: a trace, or a sample rate from the rig is needed
                          */
};

struct capture_channel {
    const char *name;         /* header text without its unit; "" when there is none */
    const char *header;       /* tables: the header cell as it stands, "u2_mV"; "" otherwise */
    size_t column;            /* from 1, as people count: the time column counts in a table; audio:
                                 the channel number */
    enum dimension dimension; /* DIMENSION_NUMBER for audio and for columns without a unit */
    bool has_unit;            /* values are scaled to SI by the reader when true */
    const char *unit;         /* the unit as written, "" when there is none */
    const char *trouble;      /* NULL, or why selecting it fails, at once or at the end: "its cells
                                 are no numbers" (as far as the file's head shows) */
};

/* What the rig and the command line say about how to read. A zeroed struct means: find out. */
struct capture_options {
    double start_s;          /* where to begin */
    double length_s;         /* 0: to the end. Neither start nor length works on a trace */
    const char *time_column; /* NULL: the column headed time or t (any case), if there is one; else
                                a number (from 1) or a header text */
    double sample_rate_Hz;   /* for tables without a time column; 0: not given */
    bool is_trace;  /* rows are one traverse without time: no time column is looked for or needed */
    char decimal;   /* '.' or ',' : settles what 1,234 means; 0: find out, refuse if ambiguous */
    char separator; /* ',' ';' '\t' ' ' ; 0: find out */
};

struct capture_info {
    enum capture_kind kind;
    enum capture_timing timing;
    const char *format;   /* "WAV, 24-bit PCM", "table, semicolons, decimal commas, UTF-8" */
    const char *file;     /* base name of the file, "-" for standard input */
    size_t channel_count; /* without the time column */
    const struct capture_channel *channels;
    double sample_rate_Hz; /* TIMING_RATE; 0 otherwise until finished */
    int bits; /* audio, integer formats: 8, 16, 24, 32; 24 for float (its mantissa), 53 for double;
                 0: tables */
    bool is_float;           /* audio: samples may pass 1.0 */
    bool is_stream;          /* standard input or a pipe: it cannot be opened again */
    bool is_lossy;           /* never true on an open capture: lossy coding is refused */
    int64_t frames_expected; /* -1 when unknown (a pipe) */
    double time_quantum_s;   /* TIMING_ROWS: the step of the last printed digit of the time column
                                (the coarsest row) */
    /* complete only after capture_finish: */
    int64_t frames;  /* rows read from start to length, missing ones included */
    int64_t missing; /* rows with a blank or non-numeric cell in a selected channel or the time */
    const int64_t *missing_lines;  /* the line numbers of the first of them */
    size_t missing_line_count;     /* at most 16 */
    char sha256[DIGEST_TEXT_SIZE]; /* of the whole file's bytes */
};

struct capture;

/* Opens by content, not by file name; "-" is standard input (a pipe need not seek). Errors say
 * byte, line or column, what was expected and what to do. Lossy audio (Ogg Vorbis, Opus, MP3,
 * ADPCM, GSM ...) is refused: STATUS_INPUT with the hint that lossy coding destroys phase. */
enum status capture_open(const char *path, const struct capture_options *options,
    struct capture **capture, struct error *err) MUST_CHECK;

/* Borrowed; valid until capture_close. */
const struct capture_info *capture_get_info(const struct capture *capture);

/* Index (from 0) of the channel that a rig names: "1" is the first channel or column (the time
 * column counts as a column of a table, so that numbers are those a person sees), other text is a
 * header cell with or without its unit, letters' case and blanks ignored. Errors list the channels
 * there are, with the nearest. */
enum status capture_find_channel(const struct capture *capture, const char *reference,
    size_t *index, struct error *err) MUST_CHECK;

/* Chooses which channels capture_read delivers, in this order. Before the first read. */
enum status capture_select(
    struct capture *capture, const size_t *indices, size_t count, struct error *err) MUST_CHECK;

/* Reads up to `frames` rows: values[frame * selected + i], audio as fractions of full scale, tables
 * in SI. A missing cell is NaN. `times` (seconds, TIMING_ROWS only; may be NULL otherwise) gets
 * each row's time; a missing time is NaN. *got == 0 at the end. An audio file that ends before its
 * header's length is read as far as it goes (a note's matter, not an error); what is not decodable
 * is STATUS_INPUT. */
enum status capture_read(struct capture *capture, size_t frames, double *values, double *times,
    size_t *got, struct error *err) MUST_CHECK;

/* The next rows, as many as there is room for, where they lie: borrowed until the next call,
 * without their times. *got == 0 at the end. Of a long audio file a thread reads the next ones
 * meanwhile (capture/ahead.h); what comes is the same. Not to be mixed with capture_read. */
enum status capture_take(
    struct capture *capture, const double **values, size_t *got, struct error *err) MUST_CHECK;

/* After the last read: fills the totals and the digest of the whole file (on a pipe the rest is
 * drained). */
enum status capture_finish(struct capture *capture, struct error *err) MUST_CHECK;

void capture_close(struct capture *capture); /* NULL is allowed */

#endif
