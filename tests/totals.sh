#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# usage: totals.sh BUILD
# Counts what `make check` and `make check-long` really ran in a build directory and ends with the
# line "N passed, N failed". A program of Check counts its cases, a script or a step of check-long
# counts as one. Fails if anything failed or nothing ran.
set -eu

cd "$1"
find . \( -path ./long -o -path ./coverage \) -prune -o -name '*.trs' -print | while read -r result; do
  verdict=$(sed -n 's/^:global-test-result: //p' "$result")
  cases=$(sed -n 's/^[0-9]*%: \(Checks: [0-9]*, Failures: [0-9]*, Errors: [0-9]*\)$/\1/p' \
    "${result%.trs}.log" | tail -n 1 | tr -d ',')
  echo "$verdict $cases"
done >totals.list
[ ! -f long/results ] || cat long/results >>totals.list

awk '
  $1 == "SKIP" { skipped++; next }
  $2 == "Checks:" {
    passed += $3 - $5 - $7; failed += $5 + $7
    if ($1 == "FAIL" && $5 + $7 == 0) failed++
    next
  }
  $1 == "PASS" { passed++; next }
  { failed++ }
  END {
    if (skipped) printf "%d skipped\n", skipped
    printf "%d passed, %d failed\n", passed, failed
    exit !(passed > 0 && failed == 0)
  }' totals.list
