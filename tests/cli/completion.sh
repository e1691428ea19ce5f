#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The scripts for shells are those that are kept, and complete what they should.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

# After a change of commands, options or keys: lastbar completion bash >data/completions/lastbar,
# lastbar completion zsh >data/completions/_lastbar.
run completion bash
ends 0
no_message
same "$out" "$here/data/completions/lastbar"
run completion zsh
ends 0
no_message
same "$out" "$here/data/completions/_lastbar"

run completion
refused 2 'lastbar: completion: no SHELL given; try: lastbar completion --help'
run completion fish
refused 2 "lastbar: completion: 'fish' is not one of the shells bash, zsh; try: lastbar completion --help"

# completed WORD... [= EXPECTED...]: what a bash offers for the last word, one reply a line.
mkdir "$scratch/top" "$scratch/top/more"
touch "$scratch/top/one.ini" "$scratch/top/one.txt" "$scratch/top/two words.ini"
completed() {
  last="completion of: $*"
  status=0
  (cd "$scratch/top" && bash --norc --noprofile -c '
    . "$1" || exit
    shift
    COMP_WORDS=("$@")
    COMP_CWORD=$(($# - 1))
    _lastbar
    [ ${#COMPREPLY[@]} -eq 0 ] || printf "%s\n" "${COMPREPLY[@]}"' \
    bash "$here/data/completions/lastbar" "$@") >"$out" 2>"$err" || status=$?
}

# offers TEXT...: exactly these lines, in this order.
offers() {
  ends 0
  no_message
  looked=$((looked + 1))
  if [ $# -eq 0 ]; then : >"$scratch/expected"; else printf '%s\n' "$@" >"$scratch/expected"; fi
  cmp -s "$scratch/expected" "$out" || wrong "expected to be offered: $*"
}

if ! command -v bash >/dev/null; then
  echo 'no bash here'
  exit 77
fi
completed lastbar ''
offers start help check cutoff cycle curves rundown table chart completion --help --version
completed lastbar c
offers check cutoff cycle curves chart completion
completed lastbar --v
offers --version
completed lastbar cycle --
offers --set --expansion --rule --margin --speed --disc --sketch --units --json --csv --help
completed lastbar start -
offers --help
completed lastbar start ''
offers
completed lastbar cutoff --units ''
offers metric inch
completed lastbar cutoff --units i
offers inch
completed lastbar cutoff --units =
offers metric inch
completed lastbar cutoff --units = m
offers metric
completed lastbar cutoff --rule ''
offers as-timed atmospheric economy
completed lastbar check --expansion iso
offers isothermal
completed lastbar cycle --margin ''
offers
completed lastbar cycle --disc 1
offers
completed lastbar check --set cylinder.bo
offers cylinder.bore=
completed lastbar check --set = supply.p
offers supply.pressure=
completed lastbar check --set cylinder.dead
offers 'cylinder.dead\ volume\ cap\ end=' 'cylinder.dead\ volume\ rod\ end='
completed lastbar check --set 'cylinder.dead\ volume\ r'
offers 'cylinder.dead\ volume\ rod\ end='
completed lastbar check --set "'cylinder.dead volume c"
offers 'cylinder.dead volume cap end='
completed lastbar check --set 'timing\ cap\ end.cu'
offers 'timing\ cap\ end.cut-off='
completed lastbar check --set load.torque =
offers
completed lastbar check --set load.torque = 1
offers
completed lastbar chart --paper l
offers letter
completed lastbar chart -o ''
sort -o "$out" "$out"
offers
completed lastbar table --c-header ''
offers
completed lastbar cutoff ''
sort -o "$out" "$out"
offers more one.ini 'two words.ini'
completed lastbar cutoff --sketch o
offers one.ini
completed lastbar cutoff '"two w'
offers 'two words.ini'
completed lastbar cutoff 'two\ '
offers 'two words.ini'
completed lastbar help breaka
offers 'breakaway\ friction'
completed lastbar curves --points 1
offers
completed lastbar curves --p
offers --pressure --points
completed lastbar help cyc
offers cycle
completed lastbar help press
offers pressure 'pressure\ angle\ limit'
completed lastbar completion ''
offers bash zsh
completed lastbar frobnicate --
offers

# Every key that is offered can be set, and every topic explained.
sed -n "/^_lastbar_overrides='/,/'\$/p" "$here/data/completions/lastbar" |
  sed -e 1d -e "s/'\$//" >"$scratch/overrides"
while read -r key; do
  run check --set "$key=?" "$trolley"
  looked=$((looked + 1))
  ! grep -q -e 'unknown key' -e 'unknown section' "$err" || wrong "$key is not known"
done <"$scratch/overrides"
sed -n "/^_lastbar_topics='/,/'\$/p" "$here/data/completions/lastbar" |
  sed -e 1d -e "s/'\$//" >"$scratch/topics"
while read -r topic; do
  run help "$topic"
  ends 0
done <"$scratch/topics"

if command -v zsh >/dev/null; then
  last='zsh -n'
  zsh -n "$here/data/completions/_lastbar" >"$out" 2>"$err" || wrong 'zsh does not read it'
fi

finish 374
