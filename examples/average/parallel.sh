#!/usr/bin/env bash
# Averages a list of snapshots in parts with GNU parallel, and merges the parts.
#
#   parallel.sh LIST FOLDER PARTS [flags of wakeledger average]
#
# FOLDER/mean gets the mean plane, FOLDER/parts those of the parts. As many parts
# run at once as there are cores; PARALLEL (see its manual) takes other numbers and
# other machines, for example PARALLEL="-j 4".
set -euo pipefail
if (($# < 3)); then
	echo "usage: $0 LIST FOLDER PARTS [flags of wakeledger average]" >&2
	exit 2
fi
list=$1 folder=$2 parts=$3
shift 3
here=$(cd "$(dirname "$0")" && pwd)

rm -rf "$folder"/parts/part-*
# -q keeps flags with blanks, such as "29.1 ms", together.
seq 0 "$((parts - 1))" |
	parallel -q --halt now,fail=1 "$here/part.sh" "$list" "$folder/parts" {} "$parts" "$@"
exec wakeledger merge "$folder"/parts/part-*/mean.state --out "$folder/mean"
