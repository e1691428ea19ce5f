#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What is printed reaches its reader or is missed, in any locale, and a signal ends the program.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

# A full disk is an error, with one line.
if [ -w /dev/full ]; then
  for arguments in "cutoff $trolley" "cutoff --json $trolley" "check $trolley" "cycle $trolley" \
    "cycle --csv $trolley" "table $trolley" "table --c-header x $trolley" 'completion zsh' start help --help \
    --version 'cutoff --help'; do
    last="$arguments >/dev/full"
    status=0
    : >"$out"
    # shellcheck disable=SC2086 # several words
    "$LASTBAR" $arguments >/dev/full 2>"$err" || status=$?
    ends 3
    says 'lastbar: could not write to standard output: No space left on device'
  done
else
  echo 'no /dev/full here'
  exit 77
fi

# Nothing to write to at all.
last='cutoff, standard output closed'
status=0
"$LASTBAR" cutoff "$trolley" >&- 2>"$err" || status=$?
ends 3
says 'lastbar: could not write to standard output: '

# A reader that has gone: the signal, or an error where the signal is ignored.
last='start, reader gone'
{
  sleep 1
  status=0
  "$LASTBAR" start 2>/dev/null || status=$?
  echo $status >"$scratch/status"
} | :
status=$(cat "$scratch/status")
looked=$((looked + 1))
[ "$status" -eq 141 ] || [ "$status" -eq 3 ] || wrong 'neither signal nor error'

# A signal ends it as a signal.
last='check -, ended'
mkfifo "$scratch/pipe"
"$LASTBAR" check - <"$scratch/pipe" >"$out" 2>"$err" &
process=$!
exec 3>"$scratch/pipe"
kill -TERM $process
status=0
wait $process || status=$?
exec 3>&-
ends 143
no_answer

# A decimal comma of the locale changes nothing.
run cutoff "$trolley"
cp "$out" "$scratch/text"
run cutoff --json "$trolley"
cp "$out" "$scratch/json"
comma=$(locale -a 2>/dev/null | grep -i -m 1 -E '^(de|fr|nl|es|it|pl)_[A-Z]*\.utf-?8$' || true)
for locale in C "${comma:-C}" no_such_locale; do
  LC_ALL=$locale
  export LC_ALL
  run cutoff "$trolley"
  ends 0
  same "$out" "$scratch/text"
  run cutoff --json "$trolley"
  ends 0
  same "$out" "$scratch/json"
done

# Neither a negative zero nor what is no number, whatever is asked.
for machine in "$trolley" "$pump" "$launch"; do
  for option in --units=metric --units=inch --json --csv; do
    for expansion in isothermal 1.2 adiabatic; do
      for command in cutoff cycle; do
        run $command $option --expansion $expansion --set 'supply.pressure=1 bar gauge' "$machine"
        no_message
        looked=$((looked + 1))
        ! grep -q -i -E '(^|[^a-z])-?(nan|inf)([^a-z]|$)|-0(\.0*)?([^0-9.]|$)' "$out" ||
          wrong 'no number, or a negative zero'
      done
    done
  done
done

finish 187
