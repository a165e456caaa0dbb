// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_CARD_H
#define LODECARD_CARD_CARD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "loop/note.h"
#include "quantity/figure.h"

/* The material card of one steel as data; docs/card.md explains every key, and members are named
 * like them. SI units. Numbers that a card does not have are NaN, texts and arrays NULL. All
 * memory belongs to the card and goes with it. */

#define CARD_SCHEMA "lodecard-card/1"
#define CARD_BYTES_MOST ((size_t)64 << 20) /* of a file that is read */
#define CARD_LIST_MOST 100000              /* members of an array */

struct card_indices { /* of captures, from 0 */
    size_t count;
    size_t *list;
};

struct card_graph { /* B(H), both strictly rising; count 0: none */
    size_t count;
    double *field;        /* A/m */
    double *flux_density; /* T */
    double *slope;        /* dB/dH, H/m, above 0; NULL: none */
};

struct card_loop {
    struct card_indices captures;
    const char *specimen;
    double frequency_Hz; /* NaN: a slow trace */
    bool is_saturating;
    struct figures figures;
    struct card_graph rising, falling;
    double drawn_area_J_per_m3; /* of the branches as they stand here */
    double bound_T;
    double monotone_change_T;
    double points_read;
};

struct card_validity {
    double field_least_A_per_m, field_most_A_per_m;
    double flux_density_least_T, flux_density_most_T;
    double polarization_least_T, polarization_most_T;
    double frequency_least_Hz, frequency_most_Hz;
    double temperature_least_K, temperature_most_K;
};

struct card_steel {
    double resistivity_ohm_m, u_resistivity_ohm_m;
    double density_kg_per_m3, u_density_kg_per_m3;
    double thickness_m, u_thickness_m;
    bool is_laminated;
};

/* How the specimens of a merged card differ in one figure. */
struct card_spread {
    size_t specimens; /* 0: no such figure */
    double standard_deviation;
    double least, most;
};

struct card_normal_curve { /* tips of loops, rising */
    size_t count;
    double frequency_Hz;
    double *field_peak, *u_field_peak;               /* A/m; u: NULL where not told */
    double *flux_density_peak, *u_flux_density_peak; /* T */
};

struct card_saturation {
    double polarization_T, u_polarization_T, reached_T;
    const char *method;
};

/* W(f) = Wh + kc f + kx sqrt f at one peak; per m³ or per kg. */
struct card_separation {
    double flux_density_peak_T, polarization_peak_T;
    double hysteresis_J_per_m3, u_hysteresis_J_per_m3;
    double classical_J_s_per_m3, linear_J_s_per_m3, u_linear_J_s_per_m3;
    double excess_J_per_m3_per_sqrt_Hz, u_excess_J_per_m3_per_sqrt_Hz;
    double hysteresis_J_per_kg, u_hysteresis_J_per_kg;
    double classical_J_s_per_kg, linear_J_s_per_kg, u_linear_J_s_per_kg;
    double excess_J_per_kg_per_sqrt_Hz, u_excess_J_per_kg_per_sqrt_Hz;
    double residual_relative;
    double frequency_least_Hz, frequency_most_Hz;
};

struct card_power_law { /* Wh = coefficient (B / 1 T)^exponent */
    double coefficient_J_per_m3, u_coefficient_J_per_m3;
    double coefficient_J_per_kg, u_coefficient_J_per_kg;
    double exponent, u_exponent;
    double residual_relative;
    double least_T, most_T;
};

struct card_model {
    const char *name, *form;
    double residual_relative;
    const char *json; /* the whole element as JSON, its parameters among it: model/material.h */
};

struct card_reluctivity {
    size_t count;
    double *flux_density_squared; /* T², from 0 */
    double *reluctivity;          /* m/H */
    double bound_relative;
};

struct card_solver {
    const char *kind; /* "normal" or "centre" */
    const char *method;
    struct card_graph curve; /* from the origin; count 0: no solver curves */
    size_t measured_points;
    double smoothing_T;
    struct card_reluctivity reluctivity;
    struct card_graph rising, falling; /* of the major loop */
};

struct card_note {
    const char *code;
    enum note_level level;
    const char *message, *hint;
};
struct card_notes {
    size_t count;
    struct card_note *list;
};

struct card_capture {
    const char *file;
    size_t row;                    /* line of a table; 0: a file of its own */
    char sha256[DIGEST_TEXT_SIZE]; /* "": unknown */
    const char *specimen;
    size_t setup; /* index; CARD_NONE: not told */
    struct card_notes notes;
};
#define CARD_NONE ((size_t)-1)

struct card_setup { /* as read: one JSON object each; NULL: not told */
    const char *rig, *specimen;
};

struct card_source { /* which captures a block came from */
    const char *block;
    struct card_indices captures;
};

struct card_part { /* a card that went into a merged one */
    const char *file;
    char sha256[DIGEST_TEXT_SIZE];
    size_t specimen_count;
    const char **specimens;
};

struct card {
    const char *version, *date, *name;
    const char *alloy, *supplier, *heat, *condition;
    size_t specimen_count;
    const char **specimens;
    struct card_validity validity;
    struct card_steel steel;
    bool has_steel;
    struct figures figures;
    struct card_spread spread[FIGURE_COUNT];
    bool has_spread;
    struct card_loop major_loop;
    bool has_major_loop;
    size_t loop_count;
    struct card_loop *loops;
    struct card_normal_curve normal_curve; /* count 0: none */
    struct card_saturation saturation;
    bool has_saturation;
    size_t separation_count;
    struct card_separation *separations;
    struct card_power_law power_law;
    bool has_power_law;
    size_t model_count;
    struct card_model *models;
    struct card_solver solver;
    struct card_notes notes;
    size_t capture_count;
    struct card_capture *captures;
    size_t setup_count;
    struct card_setup *setups;
    size_t source_count;
    struct card_source *sources;
    size_t part_count;
    struct card_part *parts;

    void **blocks; /* all memory of the card */
    size_t block_count, block_capacity;
    bool failed; /* out of memory */
};

void card_init(struct card *card);  /* empty: all numbers NaN */
void card_clear(struct card *card); /* safe on a zeroed struct and twice */

/* Memory of the card, zeroed; arrays of double are filled with NaN by card_create_numbers. NULL
 * and card->failed when there is none, so that a maker checks once at its end. */
void *card_create_array(struct card *card, size_t count, size_t size);
double *card_create_numbers(struct card *card, size_t count);
const char *card_copy_text(struct card *card, const char *text); /* NULL: NULL */
struct card_indices card_copy_indices(struct card *card, const size_t *list, size_t count);

/* Adds to notes that belong to the card; the message is formatted. */
void card_add_note(struct card *card, struct card_notes *notes, const char *code,
    enum note_level level, const char *hint, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* Reads a card: JSON of the schema. STATUS_INPUT names file, path of keys and what was expected:
 * kinds, lengths, order and indices are checked, so that whoever has a card can rely on them. Keys
 * that are not known are passed over. `card` is cleared on failure. */
enum status card_read(const char *path, struct card *card, struct error *err) MUST_CHECK;
enum status card_read_bytes(const char *name, const char *bytes, size_t length, struct card *card,
    struct error *err) MUST_CHECK;

/* The card as JSON, indented; the same card gives the same bytes. */
enum status card_write(const struct card *card, struct text *out, struct error *err) MUST_CHECK;

#endif
