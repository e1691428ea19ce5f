#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The answers about the demo machines are those kept in tests/cli/expected, letter for letter. With
# --update they are printed anew; read what has changed before keeping it.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

kept=$here/tests/cli/expected
cd "$here"
for machine in data/machines/*.ini; do
  commands='cutoff cycle table'
  grep -q '^\[store\]' "$machine" && commands="$commands rundown"
  for command in $commands; do
    name=$command-$(basename "$machine" .ini).txt
    case $command in
    table) run table --speed '60 rpm' "$machine" ;;
    rundown) run rundown "$machine" ;;
    *) run $command --sketch --disc '120 mm' "$machine" ;;
    esac
    ends 0
    no_message
    [ "${1:-}" != --update ] || cp "$out" "$kept/$name"
    looked=$((looked + 1))
    diff "$kept/$name" "$out" >"$scratch/diff" || {
      wrong "not as in tests/cli/expected/$name"
      cat "$scratch/diff"
    }
  done
done

# None is left over.
looked=$((looked + 1))
[ "$(find "$kept" -type f | wc -l)" -eq 16 ] || wrong 'tests/cli/expected holds other files'

finish 49
