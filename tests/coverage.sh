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
# Counters that threads take care to share cost ten times the rest, so there is one thread. A line
# is reached with a quarter of the samples, too. The threads of a test lose a count now and then, which
# makes that of a branch negative: gcovr passes over it.
{
  "$scratch/source/configure" -q --enable-coverage --disable-shared \
    CFLAGS='-O1 -g -fprofile-update=single' &&
    LASTBAR_ROUGH=4 OMP_NUM_THREADS=1 CK_TIMEOUT_MULTIPLIER=10 make -j "$(nproc)" check VERBOSE=1 &&
    gcovr --gcov-ignore-parse-errors --root "$scratch/source" --filter "$scratch/source/lib/" \
      --object-directory . --output "$scratch/report" .
} >"$log" 2>&1 || {
  tail -n 40 "$log" >&2
  exit 1
}
cat "$scratch/report"
awk '$1 == "TOTAL" { print "line coverage of lib: " $4 " (" $3 " of " $2 " lines)"; told = 1 }
  END { exit !told }' "$scratch/report"
