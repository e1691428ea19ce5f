# shellcheck shell=sh disable=SC2034 # what is set here is used by the tests
# SPDX-License-Identifier: GPL-3.0-or-later
# For the tests of the command line, which read this file: run the program, look at what it printed
# and how it ended. A test counts what it looked at and ends with `finish`.
set -eu

here=${LASTBAR_SOURCE:?}
LASTBAR=${LASTBAR:?}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
out=$scratch/out
err=$scratch/err
trolley=$here/data/machines/trolley.ini
pump=$here/data/machines/pump.ini
launch=$here/data/machines/launch.ini
looked=0
failed=0
status=
last=

# run ARGUMENT...: its output goes to $out and $err, its exit status to $status.
run() {
  last=$*
  status=0
  "$LASTBAR" "$@" >"$out" 2>"$err" </dev/null || status=$?
}

# wrong WHAT: count a failure and show everything about the last run.
wrong() {
  failed=$((failed + 1))
  echo "lastbar $last: $1"
  echo "exit status $status; standard output:"
  head -n 40 "$out"
  echo 'standard error:'
  head -n 40 "$err"
}

# ends STATUS: how it ended.
ends() {
  looked=$((looked + 1))
  [ "$status" = "$1" ] || wrong "exit status $status, expected $1"
}

# says TEXT, answers TEXT: a line of standard error, or of standard output, has this text.
says() {
  looked=$((looked + 1))
  grep -qF -e "$1" "$err" || wrong "no message '$1'"
}
answers() {
  looked=$((looked + 1))
  grep -qF -e "$1" "$out" || wrong "no answer '$1'"
}

# never TEXT: neither output has it.
never() {
  looked=$((looked + 1))
  ! grep -qF -e "$1" "$out" "$err" || wrong "printed '$1'"
}

# no_message, no_answer: nothing on standard error, or on standard output.
no_message() {
  looked=$((looked + 1))
  [ ! -s "$err" ] || wrong 'a message'
}
no_answer() {
  looked=$((looked + 1))
  [ ! -s "$out" ] || wrong 'an answer'
}

# refused STATUS MESSAGE: it ends so with exactly this one line, and answers nothing.
refused() {
  ends "$1"
  no_answer
  looked=$((looked + 1))
  printf '%s\n' "$2" | cmp -s - "$err" || wrong "expected the message: $2"
}

# same FILE FILE: both are the same.
same() {
  looked=$((looked + 1))
  cmp -s "$1" "$2" || wrong "$1 and $2 differ"
}

# finish COUNT: all was looked at, and nothing was wrong.
finish() {
  echo "looked at $looked things, $failed wrong"
  [ "$looked" -eq "$1" ] || { echo "expected to look at $1" && exit 1; }
  [ "$failed" -eq 0 ]
}
