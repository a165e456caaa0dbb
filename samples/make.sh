#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the invented samples again: samples/make.sh [PROGRAM]
set -eu
program=${1:-lodecard}
folder=$(dirname "$0")
seed=17
for sample in sound-card logger trace; do
    "$program" virtual "$folder/$sample/ring.yaml" -o "$folder/$sample" --seed "$seed"
done

# Rings of three heats, each in a folder of its own; the bench is the same for all.
heats=$folder/qualify
order=$(mktemp)
trap 'rm -f "$order"' EXIT
grep -v '^#' "$heats/rings.txt" | while read -r heat name shift saturation supplier; do
    seed=$((seed + 1))
    sed "s/@HEAT@/$heat/; s/@NAME@/$name/; s/@SHIFT@/$shift/; s/@SATURATION@/$saturation/
         s/@SUPPLIER@/$(printf '%s' "$supplier" | sed 's/&/\\&/g')/" "$heats/ring.yaml" >"$order"
    "$program" virtual "$order" -o "$heats/$heat/$name" --seed "$seed"
    rm "$heats/$heat/$name/truth.json"
    printf 'calibration:\n  date: 2026-03-02\n  interval: 365 d\n' >>"$heats/$heat/$name/rig.yaml"
done

"$folder/gauge/make.sh" "$program"

# The card of ring R-17: the series, and the loop that saturates it.
"$program" card make "$folder/series/loops.jsonl" "$folder/sound-card/r17-60kam-20hz.flac" \
    --name 'RS-36, heat H2291' --model jiles-atherton-1992 --model jiles-atherton-field \
    -o "$folder/card/rs36-h2291.json"
