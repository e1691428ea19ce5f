#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The table of real air is what its script prints. Without Python the test is skipped, unless
# LASTBAR_STRICT is set.
set -eu

here=${LASTBAR_SOURCE:-$(cd "$(dirname "$0")/.." && pwd)}
if ! command -v python3 >/dev/null; then
  echo 'python3 is not there'
  [ -z "${LASTBAR_STRICT:-}" ] || exit 1
  exit 77
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
python3 "$here/data/air_compressibility.py" >"$scratch/table.c"
[ -s "$scratch/table.c" ]
diff "$scratch/table.c" "$here/lib/physics/real_air_table.c" >"$scratch/diff" || {
  head -n 20 "$scratch/diff"
  echo 'lib/physics/real_air_table.c is not what data/air_compressibility.py prints; print it anew'
  exit 1
}
