// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_EXPORTER_LIST_H
#define LODECARD_CARD_EXPORTER_LIST_H

/* The Lua files that are compiled in: src/card/prelude.lua and src/card/exporters/. */
struct exporter_source {
    const char *name; /* "csv" */
    const char *bytes;
    const char *end; /* behind the last byte */
};

extern const struct exporter_source exporter_prelude;
extern const struct exporter_source exporter_list[]; /* by name; ends in an entry without one */

#endif
