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
