// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_WRITER_H
#define LODECARD_CAPTURE_WRITER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* Writes a capture, an audio file or a logger table, in blocks and in bounded memory. The file
 * appears whole at writer_commit or not at all, and the same values give the same bytes: no date,
 * no dither.
 *
 *     audio_writer_create | table_writer_create -> writer_add ... -> writer_commit ->
 * writer_destroy */

enum audio_encoding { AUDIO_PCM16, AUDIO_PCM24, AUDIO_PCM32, AUDIO_FLOAT, AUDIO_DOUBLE };

/* Container by the file's extension: .wav .w64 .rf64 .aiff (.aif) .caf .flac (pcm16 and pcm24, up
 * to 8 channels) .au; another one is STATUS_USAGE. Values are fractions of full scale; integer
 * encodings round to the nearest step of 2^(1 - bits), ties to even, and clip to
 * [-1, 1 - 2^(1 - bits)]. */
struct audio_writer_options {
    enum audio_encoding encoding;
    size_t channels;       /* 1 to 64 */
    double sample_rate_Hz; /* a whole number: audio files carry nothing else */
};

/* A text table of one row a frame, UTF-8. A missing value (NaN) becomes an empty cell, or "NaN"
 * where an empty cell could not be seen (separated by blanks, one column alone). */
struct table_writer_options {
    size_t channels;            /* value columns, 1 to 64 */
    char separator;             /* ',' ';' '\t' ' '; 0: ',' */
    char decimal;               /* '.' or ','; 0: '.'. Must differ from the separator */
    bool has_crlf;              /* lines end in CR LF, else in LF */
    bool has_bom;               /* UTF-8 byte-order mark ahead */
    const char *preamble;       /* free-text lines ahead of the header, '\n' between; NULL: none */
    const char *const *headers; /* `channels` header cells, "current (A)"; NULL: no header line */
    const char *time_header;    /* header cell of the time column, which comes first; with no
                                   headers any text asks for the column; NULL: no time column */
    double sample_rate_Hz;      /* row n has time n / rate when writer_add gets no times */
    int time_decimals;          /* decimals of the times; 0: shortest that reads back */
    int digits;                 /* significant digits of the values, 1 to 17; 0: shortest that
                                   reads back to the same double */
};

struct writer;

enum status audio_writer_create(const char *path, const struct audio_writer_options *options,
    struct writer **writer, struct error *err) MUST_CHECK;
enum status table_writer_create(const char *path, const struct table_writer_options *options,
    struct writer **writer, struct error *err) MUST_CHECK;

/* Adds rows: values[frame * channels + m]. `times` (s) for tables with a time column, NULL: from
 * the sample rate; audio ignores it. NaN in an integer encoding is STATUS_INPUT. */
enum status writer_add(struct writer *writer, const double *values, const double *times,
    size_t frames, struct error *err) MUST_CHECK;

/* How many values were clipped at full scale so far (integer encodings). */
int64_t writer_get_clipped(const struct writer *writer);

/* Ends the file and gives it its name. */
enum status writer_commit(struct writer *writer, struct error *err) MUST_CHECK;

/* Frees; without a commit no file is left behind. NULL is allowed. */
void writer_destroy(struct writer *writer);

#endif
