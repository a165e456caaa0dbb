#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the study again: samples/gauge/make.sh [PROGRAM]. Five rings, two benches, three times each; the loops are kept.
set -eu
program=${1:-lodecard}
folder=$(dirname "$0")
captures=$(mktemp -d)
trap 'rm -rf "$captures"' EXIT
seed=36
: >"$captures/loops"
grep -v '^#' "$folder/study.txt" | while read -r heat ring shift saturation bench repeat excitation pickup; do
    seed=$((seed + 1))
    name=$ring-bench$bench-$repeat
    sed "/^recording:/,/^rig:/ s/@NAME@/$name/; s/@NAME@/$ring/; s/@HEAT@/$heat/; s/@SHIFT@/$shift/
         s/@SATURATION@/$saturation/; s/@SUPPLIER@/Northgate Foundry/
         s/excitation: {channel: 1, full_scale: 1.550 V/excitation: {channel: 1, full_scale: $excitation V/
         s/pickup: {channel: 2, full_scale: 1.550 V/pickup: {channel: 2, full_scale: $pickup V/" \
        "$folder/../qualify/ring.yaml" >"$captures/ring.yaml"
    "$program" virtual "$captures/ring.yaml" -o "$captures/$name" --seed "$seed"
    "$program" loop "$captures/$name/$name.flac" --rig "$folder/bench-$bench.yaml" \
        --specimen "$captures/$name/specimen.yaml" --json-lines=- >>"$captures/loops"
done
cp "$captures/loops" "$folder/loops.jsonl"
