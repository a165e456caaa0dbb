#!/bin/bash
# SPDX-License-Identifier: GPL-3.0-or-later
# A survey as a Slurm array: sbatch --array=1-8 array.sh survey.jsonl
# Each task takes its share of the list and has a manifest of its own; a task that was stopped goes
# on where it was when the same line is submitted again. Afterwards all of them together:
#     cat survey.jsonl.*-8.manifest > all.manifest
#     lodecard loop --list survey.jsonl --done all.manifest --json-lines survey-results.jsonl
#SBATCH --job-name=lodecard
#SBATCH --cpus-per-task=2
#SBATCH --mem-per-cpu=100M
#SBATCH --time=01:00:00
set -eu
list=${1:?"the list of captures, such as survey.jsonl"}
task=${SLURM_ARRAY_TASK_ID:?"submit this with sbatch --array=1-N"}
tasks=${SLURM_ARRAY_TASK_COUNT:?"submit this with sbatch --array=1-N"}
lodecard loop --list "$list" --share "$task/$tasks" --jobs "${SLURM_CPUS_PER_TASK:-1}" \
    --manifest "$list.$task-$tasks.manifest" --json-lines >/dev/null
