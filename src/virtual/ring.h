// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_H
#define LODECARD_VIRTUAL_RING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/writer.h"
#include "model/model.h"
#include "quantity/quantity.h"
#include "setup/setup.h"

/* What the virtual bench is ordered to do: ring.yaml, in SI. docs/virtual.md tells its keys. */

/* The two inputs, in the order of the columns of every array here. */
enum ring_input { RING_EXCITATION, RING_PICKUP, RING_INPUTS };

/* Parameters of one model. */
struct ring_parameters {
    bool is_present;
    struct quantity list[MODEL_PARAMETERS]; /* in the order of the model's table */
};
#define RING_MODELS 16

/* A term of an ordered series: amplitude * cos(harmonic * x + phase). */
struct ring_term {
    size_t harmonic;
    double amplitude; /* A/m or T */
    double phase;     /* radian */
};

struct ring_series {
    char *words; /* as written */
    struct ring_term *terms;
    size_t count;
};

struct ring_drive {
    struct quantity frequency;         /* Hz; a trace has none */
    struct quantity field_peak;        /* A/m: sinusoidal field; or */
    struct quantity flux_density_peak; /* T: sinusoidal flux density */
    struct quantity harmonics;         /* where the series of a model ends */
};

/* What a steel loses beside its static loop, at a sinusoidal flux density. */
struct ring_losses {
    bool is_present;
    bool has_eddy_currents; /* of the section, by its resistivity: series/classical.h */
    struct quantity excess; /* J/m³ and root hertz at 1 T; goes with B^1.5 */
};

enum ring_format {
    RING_WAV,
    RING_W64,
    RING_RF64,
    RING_AIFF,
    RING_CAF,
    RING_FLAC,
    RING_AU,
    RING_CSV, /* from here on: tables */
    RING_TSV,
    RING_TXT,
};

/* What is connected to the inputs. All but the first are recordings to calibrate the bench with. */
enum ring_kind {
    RING_KIND_LOOP,     /* the ring's two windings */
    RING_KIND_LOOPBACK, /* one ordered voltage at both inputs */
    RING_KIND_TONE,     /* an ordered voltage at one input, the other one terminated */
    RING_KIND_COIL,     /* the windings on a former without steel */
    RING_KIND_SHUNT,    /* the shunt, and a known resistor in series with it at the pickup input */
};

struct ring_recording {
    char *name; /* of the file, without its extension; NULL: capture */
    enum ring_kind kind;
    enum ring_input terminated; /* tone */
    struct quantity reference;  /* ohm: shunt comparison */
    struct quantity inductance; /* H: of the shunt, in a shunt comparison */
    enum ring_format format;
    enum audio_encoding encoding;
    struct quantity sample_rate;   /* Hz */
    struct quantity duration;      /* s; or */
    struct quantity cycles;        /* of the drive; or */
    struct quantity rows;          /* frames of audio, rows of a table */
    struct quantity phase;         /* radian: of the cycle at the first row */
    struct quantity channels;      /* audio: those beyond the rig's are silent */
    struct quantity overrun;       /* trace: the part of a cycle that it passes twice */
    struct quantity jitter;        /* s rms: of the sampling instants; the time column shows them */
    int separator;                 /* tables; 0: the format's own */
    int decimal;                   /* '.' or ','; 0: '.' */
    struct quantity digits;        /* tables: significant digits; absent: shortest exact */
    struct quantity time_decimals; /* tables; absent: shortest exact */
    bool has_no_header;
    bool has_crlf;
    bool has_bom;
};

/* A level for each input, in the unit of what it records: volt at the input, or the column's. */
struct ring_levels {
    char *words[RING_INPUTS]; /* as written; NULL: not ordered */
    double values[RING_INPUTS];
};

enum ring_missing {
    RING_MISSING_DROPPED,
    RING_MISSING_BLANK,
    RING_MISSING_HELD,
    RING_MISSING_REPEATED
};

/* Faults touch the recording only: neither rig.yaml nor the truth knows them. */
struct ring_faults {
    struct ring_levels noise;    /* rms; white, normal */
    struct ring_levels offset;   /* constant */
    struct ring_levels drift;    /* change of the offset from the first row to the last */
    struct ring_levels clipping; /* the input ends at +- this */
    struct ring_levels hum;      /* amplitude of a sine */
    struct quantity hum_frequency;
    struct quantity hum_phase;             /* radian, at the first row */
    struct quantity gain[RING_INPUTS];     /* relative error */
    struct quantity coupling[RING_INPUTS]; /* Hz: a corner that the rig does not know */
    bool is_reversed[RING_INPUTS];         /* its two wires exchanged */
    bool is_swapped;                       /* each signal at the other's input */
    struct quantity skew;                  /* s: the pickup is sampled later than the rig says */
    struct quantity clock_error;     /* relative: the true sample rate above the nominal one */
    struct quantity amplitude_ramp;  /* relative, per second, about the middle */
    struct quantity frequency_drift; /* relative, per second, about the middle */
    enum ring_missing missing_kind;
    struct quantity missing_runs;   /* how many gaps */
    struct quantity missing_length; /* rows of each */
    struct quantity
        crosstalk[RING_INPUTS]; /* the part of the other input's voltage that leaks in */
    bool has_aliases;           /* harmonics above half the sample rate fold back */
};

struct ring {
    char *file;                                 /* as it was named when it was read */
    struct ring_parameters models[RING_MODELS]; /* in the order of model_list */
    struct ring_drive drive;
    struct ring_losses losses;
    struct ring_series field; /* no words: from the model */
    struct ring_series flux_density;
    struct ring_series voltage; /* loopback and tone */
    struct ring_recording recording;
    struct ring_faults faults;
    struct rig rig;
    struct specimen specimen;

    /* found from the above by ring_read */
    const struct model *model;           /* NULL: a series is ordered */
    double parameters[MODEL_PARAMETERS]; /* of that model, SI */
    bool is_table;
    bool has_time_column;
    double sample_rate_Hz; /* 0: a trace */
    double frequency_Hz;   /* 0: a trace */
    size_t harmonics;      /* of the series */
    size_t rows;           /* of the recording, before any are dropped */
};

/* STATUS_INPUT tells every fault of the file at once, with line and column. */
enum status ring_read(const char *path, struct ring *ring, struct error *err) MUST_CHECK;
enum status ring_read_bytes(const char *name, const char *bytes, size_t length, struct ring *ring,
    struct error *err) MUST_CHECK;

/* Another working point of a ring that drives a model by its flux density: `rows` and the rest
 * follow. STATUS_INPUT when the recording cannot carry the frequency. */
enum status ring_set_drive(struct ring *ring, double frequency_Hz, double flux_density_peak_T,
    struct error *err) MUST_CHECK;

void ring_clear(struct ring *ring); /* safe on a zeroed struct and twice */

const struct rig_input *ring_get_input(const struct ring *ring, enum ring_input input);
const struct winding *ring_get_winding(const struct ring *ring); /* the specimen's or the rig's */

/* What an input records: volt, or what the table's column holds. */
enum dimension ring_get_dimension(const struct ring *ring, enum ring_input input);

/* Whether an ordered voltage is recorded, and no ring. */
bool ring_is_voltage(const struct ring *ring);

const char *ring_get_extension(const struct ring *ring); /* "flac" */

/* A commented ring.yaml that works as it is. */
extern const char ring_example[];

#endif
