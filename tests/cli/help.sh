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
[ "$keys" -eq 36 ] || wrong "$keys keys, expected 36"

run help bore
ends 0
answers '[cylinder] bore'
cp "$out" "$scratch/bore"
run help '[cylinder] bore'
same "$out" "$scratch/bore"
run help Cylinder.Bore
same "$out" "$scratch/bore"

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

finish 174
