// SPDX-License-Identifier: GPL-3.0-or-later
/* The assembler copies the files in as they are; their paths are relative to -Isrc. The Makefile
 * compiles this file again when one of them changes. */
#include "card/exporter_list.h"

#include <stddef.h>

#define INCLUDE_FILE(word, path)                                                                   \
    __asm__(".pushsection .rodata\n"                                                               \
            ".global exporter_" #word "_bytes, exporter_" #word "_end\n"                           \
            ".hidden exporter_" #word "_bytes, exporter_" #word "_end\n"                           \
            "exporter_" #word "_bytes:\n"                                                          \
            ".incbin \"" path "\"\n"                                                               \
            "exporter_" #word "_end:\n"                                                            \
            ".byte 0\n"                                                                            \
            ".popsection\n");                                                                      \
    extern const char exporter_##word##_bytes[];                                                   \
    extern const char exporter_##word##_end[]

/* clang-format off */
#define SOURCE(word) {#word, exporter_##word##_bytes, exporter_##word##_end}
/* clang-format on */

INCLUDE_FILE(prelude, "card/prelude.lua");
INCLUDE_FILE(csv, "card/exporters/csv.lua");
INCLUDE_FILE(getdp, "card/exporters/getdp.lua");
INCLUDE_FILE(html, "card/exporters/html.lua");
INCLUDE_FILE(modelica, "card/exporters/modelica.lua");
INCLUDE_FILE(numpy, "card/exporters/numpy.lua");
INCLUDE_FILE(octave, "card/exporters/octave.lua");
INCLUDE_FILE(spice, "card/exporters/spice.lua");

const struct exporter_source exporter_prelude = SOURCE(prelude);

const struct exporter_source exporter_list[] = {
    SOURCE(csv),
    SOURCE(getdp),
    SOURCE(html),
    SOURCE(modelica),
    SOURCE(numpy),
    SOURCE(octave),
    SOURCE(spice),
    {NULL, NULL, NULL},
};
