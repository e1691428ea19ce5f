#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Prints the line coverage of lib/ by `make check`, file by file and in total; run by
# `make coverage` in a scratch directory of its own.
set -eu

command -v gcovr >/dev/null || {
  echo 'coverage: gcovr is not there' >&2
  exit 1
}
scratch=$LASTBAR_BUILD/coverage
log=$scratch/log
mkdir -p "$scratch/build"
cd "$scratch/build"
{
  "$scratch/source/configure" -q --enable-coverage --disable-shared CFLAGS='-O0 -g'
  CK_TIMEOUT_MULTIPLIER=10 make -j "$(nproc)" check VERBOSE=1
} >"$log" 2>&1 || {
  tail -n 40 "$log" >&2
  exit 1
}
gcovr --root "$scratch/source" --filter "$scratch/source/lib/" --object-directory . . |
  tee "$scratch/report"
awk '$1 == "TOTAL" { print "line coverage of lib: " $4 " (" $3 " of " $2 " lines)"; told = 1 }
  END { exit !told }' "$scratch/report"
