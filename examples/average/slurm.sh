#!/usr/bin/env bash
#SBATCH --job-name=wake-average
#SBATCH --array=0-99
#SBATCH --cpus-per-task=2
#SBATCH --mem=2G
#SBATCH --time=01:00:00
# Averages one part of a list of snapshots for each task of a job array.
#
#   sbatch slurm.sh LIST FOLDER [flags of wakeledger average]
#
# Submit it from the folder with these scripts. The array's size is the number of
# parts: a hundred here, so that ten thousand snapshots give a hundred to each
# task; --array=0-19 on the command line makes twenty. README.md shows the job that
# merges.
set -euo pipefail
if (($# < 2)); then
	echo "usage: sbatch $0 LIST FOLDER [flags of wakeledger average]" >&2
	exit 2
fi
list=$1 folder=$2
shift 2
# Slurm runs a copy of this file from elsewhere.
here=${SLURM_SUBMIT_DIR:-$(cd "$(dirname "$0")" && pwd)}
exec "$here/part.sh" "$list" "$folder" \
	"$((SLURM_ARRAY_TASK_ID - SLURM_ARRAY_TASK_MIN))" "$SLURM_ARRAY_TASK_COUNT" "$@"
