#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# From the samples to loops: figures on the screen, JSON and pictures in a folder.
#     samples/demo.sh [FOLDER]      (the program 'lodecard' is looked for on the PATH)
set -eu
samples=$(dirname "$0")
folder=${1:-demo}
mkdir -p "$folder"

show() { # a title, a name for the results, a capture, options
    printf '\n==== %s ====\n\n' "$1"
    name=$2
    shift 2
    lodecard loop "$@" --json "$folder/$name.json" --points 512 --plot "$folder/$name.svg"
}

show "A sound card: semi-hard ring steel, 20 Hz" sound-card \
    "$samples/sound-card/r17-60kam-20hz.flac" --waveforms
show "A data logger: the same ring at 10 Hz, not saturated" logger \
    "$samples/logger/r17-40kam-10hz.csv" --waveforms
show "A slow trace: the same ring, power supply and fluxmeter" trace \
    "$samples/trace/r17-60kam-slow.csv"
show "A measurement by others: electrical steel, quasi-static" measured-ring \
    "$samples/measured-ring/ring1_quasi_static_loop.csv"

printf '\n==== A series: the same ring over amplitude and frequency ====\n\n'
lodecard series "$samples/series/loops.jsonl" --at '20 kA/m' --json "$folder/series.json" \
    --plot "$folder/series.svg"

printf '\n==== A virtual bench: the sound card again, from its order ====\n\n'
lodecard virtual "$samples/sound-card/ring.yaml" -o "$folder/virtual" --seed 17
cmp "$samples/sound-card/rig.yaml" "$folder/virtual/rig.yaml"
lodecard loop "$folder/virtual/r17-60kam-20hz.flac" --json - |
    grep -E '"(remanence_T|coercivity_A_per_m|loop_area_J_per_m3)"'
echo "  and its truth:"
grep -E '"(remanence_T|coercivity_A_per_m|loop_area_J_per_m3)"' "$folder/virtual/truth.json"

printf '\n==== A hysteresis motor with a ring of that steel ====\n\n'
lodecard motor "$folder/series.json" --field '30 kA/m' --pole-pairs 2 --supply 50 --outer-diameter '40 mm' \
    --inner-diameter '32 mm' --height '6 mm' --load-torque '20 mN m' --inertia '150 g cm2' \
    --json "$folder/motor.json" --plot "$folder/torque-slip.svg"

printf '\n==== The material card of the steel ====\n\n'
lodecard card make "$samples/sound-card/r17-60kam-20hz.flac" "$samples/logger/r17-40kam-10hz.csv" \
    "$samples/trace/r17-60kam-slow.csv" -o "$folder/card.json"
lodecard card show "$folder/card.json"

printf '\n==== The bench itself: five rings, two benches, three times each ====\n\n'
lodecard qualify gauge --figure coercivity --limits "$samples/qualify/limits.yaml" "$samples/gauge/loops.jsonl"

printf '\n==== Verdicts: two heats of Northgate Foundry, one of Calder & Sons ====\n\n'
lodecard qualify --limits "$samples/qualify/limits.yaml" \
    "$samples"/qualify/*/*/*.flac --json "$folder/verdict.json" --plot "$folder/verdict.svg" ||
    echo "exit status $?: 10 rejected, 11 undecided"

printf '\n==== The second heat as a report to sign ====\n\n'
lodecard report lot --limits "$samples/qualify/limits.yaml" "$samples"/qualify/H2305/*/*.flac \
    --laboratory 'Motor works, magnetics bench' -o "$folder/h2305.pdf" -o "$folder/h2305.html" ||
    echo "exit status $?: 10 rejected, 11 undecided"

printf '\nPictures and JSON are in %s:\n' "$folder"
ls "$folder"
printf '\nThe report to sign: %s\n' "$folder/h2305.pdf"
