#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What the program says about itself, and to mistakes on the command line.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

run --version
ends 0
no_message
answers 'lastbar '
answers 'GPL-3.0-or-later'

run --help
ends 0
no_message
for word in start help check cutoff cycle curves rundown table chart completion; do
  answers "  $word"
done

for word in start help check cutoff cycle curves rundown table chart completion; do
  run "$word" --help
  ends 0
  no_message
  answers "usage: lastbar $word [OPTION]..."
  answers '  --help'
  answers 'Example:'
  cp "$out" "$scratch/usage"
  run help "$word"
  ends 0
  same "$out" "$scratch/usage"
done

# No line is too wide for a terminal.
for word in --help help 'cutoff --help' 'check --help' 'start --help' 'help --help' 'cycle --help' \
  'curves --help' 'rundown --help' 'table --help' 'chart --help' 'completion --help'; do
  # shellcheck disable=SC2086 # two words
  run $word
  looked=$((looked + 1))
  ! grep -q '.\{80\}' "$out" || wrong 'a line of 80 columns or more'
done

run
refused 2 'lastbar: no command given; try: lastbar --help'
run cutof
refused 2 "lastbar: unknown command 'cutof'; the nearest is 'cutoff'; try: lastbar --help"
run chekc
refused 2 "lastbar: unknown command 'chekc'; the nearest is 'check'; try: lastbar --help"
run frobnicate
refused 2 "lastbar: unknown command 'frobnicate'; try: lastbar --help"
run winch.ini
refused 2 "lastbar: no command; did you mean 'lastbar cutoff winch.ini'?"
run --frobnicate
refused 2 "lastbar: unknown option '--frobnicate'; try: lastbar --help"
run ''
refused 2 "lastbar: unknown command ''; try: lastbar --help"
run cutoff
refused 2 'lastbar: cutoff: no FILE given; try: lastbar cutoff --help'
run cutoff "$trolley" "$pump"
refused 2 "lastbar: cutoff: '$pump' is one too many; it takes FILE; try: lastbar cutoff --help"
run start mine.ini
refused 2 "lastbar: start: 'mine.ini' is one too many; it takes no file; try: lastbar start --help"
run cutoff --frobnicate "$trolley"
refused 2 "lastbar: cutoff: unknown option '--frobnicate'; try: lastbar cutoff --help"
run cutoff -q "$trolley"
refused 2 "lastbar: cutoff: unknown option '-q'; try: lastbar cutoff --help"
run cutoff "$trolley" --margin
refused 2 "lastbar: cutoff: --margin needs a value: --margin '0.2 bar'; try: lastbar cutoff --help"
run cutoff --json=yes "$trolley"
refused 2 'lastbar: cutoff: --json takes no value; try: lastbar cutoff --help'
run cutoff --json --csv "$trolley"
refused 2 'lastbar: cutoff: --json and --csv exclude each other; try: lastbar cutoff --help'
run start --json
refused 2 "lastbar: start: unknown option '--json'; try: lastbar start --help"
run cutoff --rule best "$trolley"
refused 2 "lastbar: cutoff: --rule: 'best' is not one of as-timed, atmospheric, economy; try: lastbar cutoff --help"
run cutoff --units si "$trolley"
refused 2 "lastbar: cutoff: --units: 'si' is not one of metric, inch; try: lastbar cutoff --help"
run cutoff --margin '-0.1 bar' "$trolley"
refused 2 "lastbar: cutoff: --margin: '-0.1 bar' is negative; release below back pressure costs work and air, so the least is 0 bar; try: lastbar cutoff --help"
run cutoff --margin '0.1 bar gauge' "$trolley"
refused 2 "lastbar: cutoff: --margin: '0.1 bar gauge' is a difference, which is neither gauge nor absolute; write '0.1 bar'; try: lastbar cutoff --help"
run check --set supply.pressure=5 bar gauge "$trolley"
refused 2 "lastbar: check: 'gauge' is one too many; it takes FILE, and a value with blanks goes in quotes: --set 'cylinder.bore=50 mm'; try: lastbar check --help"
run cutoff --help
answers 'the rule looked at closer, whose absence makes the exit status 1'

finish 162
