#!/bin/bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The fuzz targets with the files they have been fed so far, findings among them.
for target in tests/fuzz/*.c; do
    name=$(basename "$target" .c)
    [[ $name = fuzz_* ]] || grep -q "X($name)" tests/fuzz/fuzz_replay.c || {
        echo "FAILED  fuzz_replay.c does not list the target $name"
        exit 1
    }
done
exec "${BUILT:-build/release}/fuzz/replay" tests/fuzz/seeds
