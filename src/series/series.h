// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_SERIES_H
#define LODECARD_SERIES_SERIES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "base/json.h"
#include "loop/loop.h"
#include "loop/note.h"
#include "quantity/figure.h"
#include "quantity/quantity.h"
#include "setup/setup.h"

/* Loops of one specimen (or of several of one alloy) over amplitude and frequency, and what follows
 * from them. docs/series.md has the equations and their sources. */

#define SERIES_NONE ((size_t)-1) /* no such index */

/* One loop as a series takes it. */
struct series_loop {
    char *file;                    /* base name of the capture, or of the table it is a row of */
    char sha256[DIGEST_TEXT_SIZE]; /* of the capture; "" : unknown (a row of a table) */
    size_t row;             /* line of the table or of the JSON lines; 0: a file of its own */
    char *specimen;         /* name; NULL: not told */
    size_t setup;           /* index into setups; SERIES_NONE: not told */
    struct figures figures; /* with u where known; frequency absent: a slow trace */
    double temperature_K;   /* 0: not told */
    double energy;          /* lost in each cycle, J/m³ or J/kg (is_per_mass); NaN: unknown */
    double u_energy;        /* 0: unknown */
    size_t point_count;     /* 0: none (a table, or JSON without points) */
    double *field;          /* A/m: one cycle from the minimum of H; last != first */
    double *flux_density;   /* T */
    struct notes notes;     /* those that were raised on the capture */
    char *note_codes;       /* what the codes of notes point into, where they were read */
};

/* What is known of the steel. Texts NULL and values not present where not told; of a series: where
 * its loops differ. */
struct series_steel {
    char *specimen, *alloy, *supplier, *heat, *condition;
    struct quantity resistivity; /* ohm m */
    struct quantity density;     /* kg/m³ */
    struct quantity temperature; /* K */
    struct quantity thickness;   /* m: what the eddy currents circulate in: the sheet, or the lesser
                                    of width and height of a solid ring */
    bool is_laminated;           /* thickness is a sheet's */
    struct quantity breadth;     /* m: of the same section, across: at least thickness; not present:
                                    far wider than that */
};

/* Rig and specimen of loops, as read: provenance. */
struct series_setup {
    char *rig;      /* one JSON object; NULL: not told */
    char *specimen; /* one JSON object; NULL: not told */
    struct series_steel steel;
};

/* Loops of one frequency, by rising peak. */
struct series_curve {
    double frequency_Hz; /* 0: slow traces */
    size_t count;
    size_t *loop;                          /* the loop of each point, index into loops */
    double *field_peak, *u_field_peak;     /* A/m; u 0: unknown */
    double *peak, *u_peak;                 /* T: B or J, see uses_polarization */
    double *permeability, *u_permeability; /* amplitude permeability, relative; NaN: unknown */
    size_t most;                           /* index of its maximum; SERIES_NONE: no fields known */
};

/* Energy per cycle at one peak flux density against frequency: W(f) = Wh + kc f + kx sqrt f. Per
 * m³; where series->is_per_mass the same per kg. */
struct series_separation {
    double peak_T; /* of B or J, see uses_polarization */
    double hysteresis_J_per_m3;
    double linear_J_s_per_m3; /* kc; is_classical: computed from the eddy currents, held fixed */
    double excess_J_per_m3_per_sqrt_Hz;
    double covariance[3][3]; /* in that order; only with has_covariance */
    bool has_covariance;     /* false: as many frequencies as terms, and no uncertainties */
    bool is_classical;
    bool has_excess;           /* false: the two-term form */
    bool is_bounded;           /* a term would have been negative and is 0 */
    size_t count;              /* frequencies */
    double *frequency_Hz;      /* rising */
    double *energy, *u_energy; /* at this peak, interpolated; u 0: unknown */
    double *residual;          /* relative: (measured - fitted) / measured */
    double residual_relative;  /* root mean square of them */
    double residual_most;      /* largest absolute one */
    double skin_frequency_Hz;  /* with is_classical: up to here its formula holds within 1 % */
};

/* Energy = coefficient (B / 1 T)^n, n = exponent + exponent_per_T B. */
struct series_power_law {
    bool is_present;
    bool is_fixed;                     /* the exponent is 1.6 by decree */
    bool is_varying;                   /* exponent_per_T is fitted */
    double coefficient, u_coefficient; /* J/m³ or J/kg */
    double exponent, u_exponent;
    double exponent_per_T, u_exponent_per_T;
    bool has_u;
    double residual_relative; /* root mean square */
    double residual_most;     /* largest absolute one */
    size_t count;
    double least_T, most_T;             /* range of the points */
    double holds_least_T, holds_most_T; /* widest run of points within 3 %; 0: none */
};

/* Law of approach, J = Js - a/H - b/H². */
struct series_saturation {
    bool is_present;
    double polarization_T, u_polarization_T;
    double reached_T;               /* largest J measured */
    double field_least, field_most; /* A/m: what was fitted */
    size_t count;
    char reason[160]; /* why there is none */
};

/* Initial magnetization curve, from its own trace. */
struct series_initial {
    char *file;
    size_t count; /* 0: none */
    double *field, *flux_density;
    double permeability; /* initial, by the Rayleigh law; NaN: not to be had */
    double rayleigh;     /* T/(A/m)²: B = µ0 µi H + rayleigh H² */
};

/* Figures interpolated to a stated peak, of one frequency. */
struct series_at {
    enum figure
        variable; /* FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_POLARIZATION_PEAK */
    double value;
    double frequency_Hz; /* 0: slow traces */
    struct figures figures;
};

struct series {
    struct series_loop *loops; /* by frequency, then peak */
    size_t count, capacity;
    struct series_setup *setups;
    size_t setup_count, setup_capacity;
    struct series_steel steel;
    bool uses_polarization;      /* peaks are those of J: no B is told */
    bool is_per_mass;            /* energies are per kg: no density is told */
    struct series_curve *curves; /* by frequency */
    size_t curve_count;
    size_t normal;  /* the curve whose tips are the normal curve; SERIES_NONE: none */
    size_t largest; /* the loop of the largest peak field; SERIES_NONE: none known */
    bool is_major;  /* its peak field passes 3 HcB */
    struct series_separation *separations; /* by rising peak */
    size_t separation_count;
    bool is_separated; /* laws are of the hysteresis term; else of the whole loss at `normal` */
    struct series_power_law free, fixed, varying;
    struct series_saturation saturation;
    struct series_initial initial;
    struct series_at *at;
    size_t at_count;
    struct notes notes;
};

struct series_wish {
    enum figure variable;
    double value;
};

struct series_options {
    struct setup_paths setup; /* of captures; a specimen that is given also tells tables and JSON
                                 without one what their ring is */
    const char *initial;      /* table of an initial curve; NULL: none */
    const char *only;         /* take loops of this specimen alone; NULL: all */
    struct loop_options loop; /* how captures are read */
    size_t points;            /* of each captured loop; 0: 512 */
    size_t threads;           /* captures at a time; 0: one a processor */
    bool is_together;         /* several specimens of one alloy are one series */
    bool uses_polarization;   /* peaks are those of J */
    size_t terms;             /* of the separation: 2, 3; 0: as many as the frequencies tell */
    double frequency_most_Hz; /* loops above it are not separated; 0: no limit */
    bool is_free;             /* the linear term is fitted even where it could be computed */
    bool has_varying;         /* fit the exponent that varies with B */
    struct quantity resistivity, density, thickness; /* where present: instead of the specimen's */
    const double *peaks; /* T: where to separate; NULL: chosen from the data */
    size_t peak_count;
    const struct series_wish *wishes;
    size_t wish_count;
};

/* Reads captures, loop JSON, JSON lines and tables of measured loops, and works out all that
 * follows. STATUS_INPUT when an input is wrong or loops do not belong together: the message names
 * the files. `*series` must be zeroed; it is cleared on failure. */
enum status series_read(const char *const *paths, size_t count,
    const struct series_options *options, struct series *series, struct error *err) MUST_CHECK;
void series_clear(struct series *series); /* safe on a zeroed struct and twice */

/* The parts of series_read, for loops that come from elsewhere: add, then compute once. */
enum status series_add_path(struct series *series, const char *path,
    const struct series_options *options, struct error *err) MUST_CHECK;
/* Loop JSON, lines of it, or series JSON from memory; `name` is how messages call it. The last byte
 * is a line end. */
enum status series_add_bytes(struct series *series, const char *name, const char *bytes,
    size_t length, struct error *err) MUST_CHECK;
/* A copy of a loop of another series, with its setup. */
enum status series_add_copy(
    struct series *series, const struct series *from, size_t index, struct error *err) MUST_CHECK;
enum status series_add_loop(struct series *series, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, struct error *err) MUST_CHECK;
enum status series_compute(
    struct series *series, const struct series_options *options, struct error *err) MUST_CHECK;

/* Figures interpolated over amplitude to variable = value on a curve: by a cubic through the four
 * nearest loops, in logarithms where all values are positive. STATUS_INPUT beyond the curve's ends
 * (0.5 % are allowed), or where its loops do not tell the variable. */
enum status series_compute_at(const struct series *series, size_t curve, enum figure variable,
    double value, struct figures *figures, struct error *err) MUST_CHECK;

/* The peak that a series counts by, of one loop: B, or J with uses_polarization. NaN: unknown. */
double series_get_peak(const struct series *series, size_t loop);
enum figure series_get_peak_figure(const struct series *series);

/* Writes the members of the "lodecard-series/1" object; the caller adds "models" and "notes". */
void series_write_members(struct json *json, const struct series *series, bool has_points);

#endif
