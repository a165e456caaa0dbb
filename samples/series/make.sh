#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the series again: samples/series/make.sh [PROGRAM]. Some twenty seconds.
set -eu
program=${1:-lodecard}
folder=$(dirname "$0")
seed=17
# The series: 12 peaks at 5 frequencies; their loops are kept, and two of the captures.
captures=$(mktemp -d)
trap 'rm -rf "$captures"' EXIT
set --
for peak in 100 200 300 400 500 600 700 800 900 1000 1100 1200; do
    set -- "$@" --peak "$peak mT"
done
for frequency in 5 10 20 40 80; do
    set -- "$@" --frequency "$frequency Hz"
done
"$program" virtual "$folder/ring.yaml" -o "$captures" --seed "$seed" "$@"
"$program" loop "$captures"/*.flac --json-lines "$folder/loops.jsonl" --points 64 >/dev/null
for kept in r17-500mT-80000mHz r17-1000mT-80000mHz; do
    cp "$captures/$kept.flac" "$captures/$kept.truth.json" "$folder/"
done
cp "$captures/rig.yaml" "$captures/specimen.yaml" "$folder/"
