#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The starter file can be used as it is, and every key that is listed is explained.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

run start
ends 0
no_message
cp "$out" "$scratch/mine.ini"
for command in check cutoff cycle; do
  run $command "$scratch/mine.ini"
  ends 0
  no_message
done

# Every key of the list, taken from the JSON of a machine that has them all given or defaulted.
run help
ends 0
no_message
cp "$out" "$scratch/list"
run check --csv "$launch"
keys=0
cut -d, -f2,3 "$out" | sed 1d | tr -d '\r' | grep -v '^timing rod end' >"$scratch/keys"
while IFS=, read -r section key; do
  keys=$((keys + 1))
  run help "$section.$key"
  ends 0
  no_message
  answers "[$section] $key"
  looked=$((looked + 1))
  tr -s ' \n' '  ' <"$scratch/list" | grep -qF " $key" || wrong "$key is not in the list"
done <"$scratch/keys"
looked=$((looked + 1))
[ "$keys" -eq 64 ] || wrong "$keys keys, expected 64"

run help stroke
ends 0
answers '[cylinder] stroke'
cp "$out" "$scratch/stroke"
run help '[cylinder] stroke'
same "$out" "$scratch/stroke"
run help Cylinder.Stroke
same "$out" "$scratch/stroke"

# Several words need no quotes; first words and sections give all that begins so.
run help dead volume
ends 0
answers '[cylinder] dead volume cap end'
answers '[cylinder] dead volume rod end'
run help pressure
answers '[surroundings] pressure'
answers '[supply] pressure'
run help linkage
answers '[linkage] kind'
answers '[linkage] pivot distance'

# A section in brackets is the section, and words of the answers are explained, before keys of that
# name.
run help '[exhaust]'
ends 0
answers '[exhaust] back pressure'
run help anr
ends 0
no_message
answers 'ANR: free air, '
never '['
run help dead volume
answers 'Dead volume: the space between'
answers '[cylinder] dead volume rod end'
run help Dead centre
answers 'Dead centre: '
# The sections for the workshop, in several words or in brackets.
run help switch disc
ends 0
answers '[switch disc] outer diameter'
answers '[switch disc] compensated speed'
never '[cam]'
run help '[cam]'
answers '[cam] pressure angle limit'
run help encoder
answers '[encoder] direction'
run help inlet valve
answers '[inlet valve] off delay'
never '[exhaust valve]'
run help speed
refused 2 "lastbar: 'speed' is not known; a machine file has no speed: cutoff, cycle and table take --speed '120 rpm', and curves goes over all speeds; the delays of valves are made up for at the 'compensated speed' of a [switch disc]"
run help frobnicate
refused 2 "lastbar: 'frobnicate' is not known; 'lastbar help' lists all keys"
run help wall heat transfer
answers '  Not used in the slow cycle.'
run help exhaust closes
answers '  If left out: 360 deg, or where the inlet opens if that is earlier.'
answers '  Or as a share: exhaust closes = 95 % of return stroke'
run help release
answers '  Or as a share: release = 98 % of stroke'

run help bor
ends 2
no_answer
says "lastbar: 'bor' is not known; "
says "'bore'"
run help ''
ends 2
no_answer
run help a b c d e f g h i j k l m
ends 2
says 'one too many'

finish 313
