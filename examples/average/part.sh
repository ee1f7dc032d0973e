#!/usr/bin/env bash
# Averages one part of a list of snapshots.
#
#   part.sh LIST FOLDER PART PARTS [flags of wakeledger average]
#
# LIST has one snapshot a line, in the order of time. It is cut into PARTS parts of
# nearly equal length, of which PART, counted from 0, is averaged into
# FOLDER/part-00000 and so on. A part that holds nothing is left out.
set -euo pipefail
if (($# < 4)); then
	echo "usage: $0 LIST FOLDER PART PARTS [flags of wakeledger average]" >&2
	exit 2
fi
list=$1 folder=$2 part=$3 parts=$4
shift 4

total=$(grep -c . "$list")
# Lines before this part, and before the next.
from=$((total * part / parts))
to=$((total * (part + 1) / parts))
if ((to == from)); then
	exit 0
fi
mapfile -t files < <(grep . "$list" | tail -n "+$((from + 1))" | head -n "$((to - from))")

# --first tells where the part stands in the record: the time scale needs it, and
# merge refuses a snapshot that is counted twice.
exec wakeledger average "${files[@]}" --first "$((from + 1))" --quiet \
	--out "$folder/$(printf 'part-%05d' "$part")" "$@"
