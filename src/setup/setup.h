// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_SETUP_H
#define LODECARD_SETUP_SETUP_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "quantity/quantity.h"

/* Rig and specimen as people write them (rig.yaml, specimen.yaml), in SI. Reading tells every fault
 * of a file at once: err->message has one line a fault, "file:line:column: key: what is wrong, what
 * was expected". */

enum input_quantity {
    INPUT_VOLTAGE,
    INPUT_CURRENT,        /* excitation */
    INPUT_FIELD_STRENGTH, /* excitation */
    INPUT_FLUX_LINKAGE,   /* pickup: N2 * flux, Wb */
    INPUT_FLUX_DENSITY,   /* pickup */
    INPUT_POLARIZATION,   /* pickup */
};

struct rig_input {
    char *channel; /* number from 1, or a header text */
    enum input_quantity quantity;
    bool is_inverted;
    struct quantity full_scale; /* V at digital full scale */
    struct quantity divider;    /* value 1 when absent */
    /* ohm: the input loads what feeds it, absent: not; of what feeds it, absent: the shunt's */
    struct quantity input_resistance, source_resistance;
    struct quantity corner; /* Hz: this input's own AC coupling; else rig.corner */
    /* excitation */
    struct quantity shunt;      /* ohm */
    struct quantity inductance; /* H, of the shunt; absent: none */
    struct quantity shunt_coefficient, shunt_reference, shunt_actual; /* 1/K, K, K; all or none */
    struct quantity transfer;                                         /* A/V */
    bool keeps_bias;                                                  /* bias: keep */
    /* pickup */
    struct quantity integrator_resistance;  /* ohm: passive RC ahead of the input */
    struct quantity integrator_capacitance; /* F */
    struct quantity fluxmeter;              /* Wb/V: electronic integrator */
    bool air_flux_removed;                  /* air_flux: removed */
};

/* Of what the input takes; a flux linkage is a flux. */
enum dimension input_quantity_get_dimension(enum input_quantity quantity);

/* Volts of the source without load over volts at the input that loads it: 1 + source_resistance /
 * input_resistance. A passive integrator's resistor is in series with the source and counts. */
double rig_input_get_load(const struct rig_input *input);

/* The shunt's resistance (ohm) at the temperature that it has. */
double rig_input_get_shunt(const struct rig_input *input);

enum trace_drift { TRACE_DRIFT_CHORD, TRACE_DRIFT_LINEAR };

struct winding {
    bool is_present;
    struct quantity primary_turns;
    struct quantity secondary_turns;
    struct quantity secondary_area; /* m²; absent: no air-flux correction */
};

struct rig {
    char *file; /* as it was named when it was read; NULL: of no file */
    char *name;
    struct rig_input excitation;
    struct rig_input pickup;
    bool has_same_calibrator;    /* both full scales were found with one instrument */
    char *time_column;           /* NULL: not given */
    struct quantity sample_rate; /* Hz, for tables without a time column */
    bool is_trace;
    enum trace_drift drift;
    struct quantity pickup_delay; /* s; value 0 when absent */
    struct quantity clock;        /* true sample rate over the nominal one; 1 when absent */
    /* true H and B over those found, from winding and mounting anew; 1 when absent */
    struct quantity field_repeat;
    struct quantity flux_density_repeat;
    struct quantity corner; /* Hz; absent: DC coupled */
    struct winding winding;
    char *calibration_date;               /* "2026-11-25"; NULL: not given */
    struct quantity calibration_interval; /* s: how long that holds */
};

enum path_rule { PATH_MEAN, PATH_LOGARITHMIC, PATH_EFFECTIVE };

struct specimen {
    char *file; /* as it was named when it was read; NULL: of no file */
    char *name;
    char *alloy;
    char *supplier;
    char *heat;
    char *condition;
    struct quantity outer_diameter; /* m */
    struct quantity inner_diameter;
    struct quantity height;
    struct quantity mass;    /* kg */
    struct quantity density; /* kg/m³ */
    struct quantity stacking_factor;
    struct quantity sheet_thickness;     /* m: of a laminated ring */
    struct quantity expansion;           /* 1/K: of the dimensions, from expansion_reference (K) */
    struct quantity expansion_reference; /* to the temperature below; both or none */
    bool has_same_ruler;                 /* all dimensions were found with one instrument */
    enum path_rule path;
    struct quantity resistivity; /* ohm m */
    struct quantity temperature; /* K */
    struct winding winding;      /* replaces the rig's when present */
    /* found from the above by specimen_read */
    double path_length_m;
    double area_m2;
    double area_from_mass_m2;       /* 0: no mass and density */
    double area_from_dimensions_m2; /* 0: no dimensions */
    double
        area_difference_u; /* |difference| of the two over its standard uncertainty; 0: not both */
    double diameter_ratio; /* D/d */
};

enum status rig_read(const char *path, struct rig *rig, struct error *err) MUST_CHECK;
enum status specimen_read(
    const char *path, struct specimen *specimen, struct error *err) MUST_CHECK;
void rig_clear(struct rig *rig); /* safe on a zeroed struct and twice */
void specimen_clear(struct specimen *specimen);

/* Where the two files of captures stand. */
struct setup_paths {
    const char *rig;      /* NULL: rig.yaml beside the capture ("-": in the current folder) */
    const char *specimen; /* NULL: specimen.yaml beside the capture */
};

/* The file to read for a capture; free it with memory_destroy. NULL with err filled: none is given,
 * and there is none beside the capture (STATUS_IO). */
char *setup_find_rig(const struct setup_paths *paths, const char *capture, struct error *err);
char *setup_find_specimen(const struct setup_paths *paths, const char *capture, struct error *err);

/* What a setup lacks may show only behind its reader, with the capture: whoever finds that out
 * hands the failure through here, and its message begins with the file that is to be mended (NULL:
 * of no file). Returns `status`; other failures than STATUS_INPUT are not the file's. */
enum status setup_name_fault(const char *file, enum status status, struct error *err);

/* Finds and reads both. */
enum status setup_read(const struct setup_paths *paths, const char *capture, struct rig *rig,
    struct specimen *specimen, struct error *err) MUST_CHECK;

/* The ring's path length and cross-section from its dimensions, density and mass, by the rules of
 * the design (mean, logarithmic, effective of IEC 60205). Fills the found members. */
enum status specimen_compute_geometry(struct specimen *specimen, struct error *err) MUST_CHECK;

/* What is odd but possible in what was read (a likely slip): one line each into `err`-free text,
 * for notes. What is impossible is an error of the read. */
struct setup_warning {
    char message[240];
    char hint[200];
    bool is_minor; /* honest measurements show it now and then */
};
size_t setup_find_warnings(const struct rig *rig, const struct specimen *specimen,
    struct setup_warning *list, size_t limit);

/* "rig": {...} and "specimen": {...} of a result: as read, SI, every value with u_ where stated;
 * specimen also has path_length_m and area_m2. */
void rig_write_json(struct json *json, const char *key, const struct rig *rig);
void specimen_write_json(struct json *json, const char *key, const struct specimen *specimen);

#endif
