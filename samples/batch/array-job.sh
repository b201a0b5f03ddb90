#!/usr/bin/env bash
#SBATCH --array=1-16
#SBATCH --cpus-per-task=2
#SBATCH --mem=2G
#SBATCH --requeue
# One of sixteen shares: sbatch samples/batch/array-job.sh recordings takes
set -euo pipefail
recordings=$1 takes=$2
share=${SLURM_ARRAY_TASK_ID:?started by hand: set it to the number of the share}
shares=${SLURM_ARRAY_TASK_COUNT:-16}
mkdir -p "$takes"
reedtrace transcribe "$recordings" --out "$takes" --shard "$share/$shares" --quiet > "$takes/tab-$share.txt"
