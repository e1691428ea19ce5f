#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The slow tests, run by `make check-long`: every step builds in a scratch directory of its own
# from a copy of the sources as they are distributed. One line a step; a missing tool is a failure.
# With a name, runs that step alone in the scratch directory that is there.
set -eu

scratch=$LASTBAR_BUILD/long
source=$scratch/source
jobs=$(nproc)
LASTBAR_STRICT=1
export LASTBAR_STRICT

# step NAME: run it with a log of its own and remember how it ended.
step() {
  began=$(date +%s)
  verdict=PASS
  "$0" "$1" >"$scratch/$1.log" 2>&1 </dev/null || verdict=FAIL
  echo "$verdict $1" >>"$scratch/results"
  echo "$verdict: $1, $(($(date +%s) - began)) s (log: $scratch/$1.log)"
  [ $verdict = PASS ] || tail -n 40 "$scratch/$1.log"
}

# configured NAME OPTION...: a fresh build directory to work in.
configured() {
  mkdir -p "$scratch/$1"
  cd "$scratch/$1"
  shift
  "$source/configure" -q --enable-werror "$@"
}

# Everything that can be compiled, without a warning.
gcc_build() {
  configured gcc CC=gcc CXX=g++ --disable-shared
  make -k -j "$jobs" all
  make -k -j "$jobs" check TESTS=
  make -k -j "$jobs" tests/bench/bench tests/bench/bench_speed tests/bench/bench_rundown
}

# The tests, on a quarter of the samples; every command with every sound machine, and what reads and
# what draws with every other.
sanitizers() {
  configured sanitizers CC=gcc CXX=g++ --disable-shared --enable-sanitizers --enable-checks \
    CFLAGS='-O1 -g'
  make -k -j "$jobs" all
  LASTBAR_ROUGH=4 CK_TIMEOUT_MULTIPLIER=20 make -k -j "$jobs" check VERBOSE=1
  ASAN_OPTIONS=exitcode=99 UBSAN_OPTIONS=exitcode=99
  LSAN_OPTIONS=suppressions=$source/tests/lsan.supp:print_suppressions=0
  export ASAN_OPTIONS UBSAN_OPTIONS LSAN_OPTIONS
  find "$source/data/machines" "$source/tests/bad" -name '*.ini' | sort |
    xargs -P "$jobs" -n 1 "$0" commands
}

# commands MACHINE: in the directory at hand; nothing but an answer or a message.
commands() {
  output=memory.$$
  set -- "$1" check "chart -o $output.pdf"
  case $1 in
  */data/machines/*)
    set -- "$@" cutoff 'cycle --sketch' 'cycle --csv' 'cutoff --json' 'table --csv' rundown
    ;;
  esac
  machine=$1
  shift
  for command in "$@"; do
    status=0
    # shellcheck disable=SC2086 # a command and its option
    ./lastbar $command "$machine" >"$output" 2>&1 || status=$?
    echo "lastbar $command $machine ended with $status"
    [ "$status" -le 3 ] || {
      cat "$output"
      exit 1
    }
  done
}

# Each program of Check, on a fiftieth of the samples and without forking, so that valgrind sees one
# process; and the command line: what it draws and writes over every machine, its other forms over
# the one that has most in it.
valgrind_runs() {
  cd "$scratch/gcc"
  {
    find tests -path '*/check_*' -type f -perm -u+x | sort -r
    for command in check cutoff 'cycle --sketch' 'cycle --speed=60rpm' 'chart -o sheets.svg --page 1'; do
      find "$source/data/machines" -name '*.ini' | sort | sed "s,^,./lastbar $command ,"
    done
    for command in 'cutoff --json' 'cutoff --csv' 'cycle --json' 'cycle --csv' 'table --json' \
      'table --c-header x' 'curves --points=2 --to=200rpm' rundown \
      'chart -o sheets.dxf --sheet timing --page 1'; do
      echo "./lastbar $command $source/data/machines/trolley.ini"
    done
  } | LASTBAR_SOURCE=$source CK_FORK=no LASTBAR_ROUGH=50 OMP_NUM_THREADS=1 xargs -P "$jobs" -L 1 "$0" memcheck
}

# memcheck COMMAND...: in the directory at hand. Valgrind rounds a long double to a double, and few
# samples may miss a case that a test counts; a test that stops there leaves memory behind. So of tests
# only faults and signals count here (the sanitizers see their leaks), of the program leaks too.
memcheck() {
  case $1 in
  ./lastbar) leaks=definite ;;
  *) leaks=none ;;
  esac
  status=0
  ./libtool --mode=execute valgrind -q --error-exitcode=99 --leak-check=full \
    --show-leak-kinds=$leaks --errors-for-leak-kinds=$leaks \
    --suppressions="$source/tests/valgrind.supp" "$@" >"memcheck.$$" 2>&1 || status=$?
  echo "$* ended with $status"
  [ "$status" -le 3 ] || {
    cat "memcheck.$$"
    exit 1
  }
}

# What is distributed builds, with the other compiler and without a warning, passes its tests on a
# quarter of the samples, and installs what serves another program.
distribution() {
  cd "$scratch/gcc"
  LASTBAR_ROUGH=4 make -j "$jobs" distcheck VERBOSE=1 \
    DISTCHECK_CONFIGURE_FLAGS='--enable-werror CC=clang CXX=clang++'
}

# Every fuzz target from its seeds, FUZZ_SECONDS each, as many at a time as there are cores.
fuzzing() {
  configured fuzzing CC=clang CXX=clang++ --disable-shared --enable-checks --enable-sanitizers \
    CFLAGS='-O1 -g -fsanitize=fuzzer-no-link'
  make -j "$jobs" fuzz FUZZ_LDFLAGS=-fsanitize=fuzzer
  find tests/fuzz -name 'fuzz_*' -type f -perm -u+x | sort | xargs -P "$jobs" -n 1 "$0" fuzz_one
}

# fuzz_one PROGRAM: in the directory at hand, with a corpus of its own.
fuzz_one() {
  mkdir "$1.corpus"
  "$1" -max_total_time="${FUZZ_SECONDS:-30}" -timeout=10 -rss_limit_mb=4096 \
    "$1.corpus" "$source/data/machines" "$source/tests/bad"
}

scripts() {
  cd "$source"
  find tests -name '*.sh' -exec shellcheck bootstrap .ci/run {} +
  tests/layers.sh
  tests/format.sh
}

all() {
  for tool in gcc g++ clang clang++ clang-format valgrind shellcheck; do
    command -v "$tool" >/dev/null || {
      echo "check-long: $tool is not there" >&2
      exit 1
    }
  done
  for name in scripts gcc_build sanitizers valgrind_runs distribution fuzzing; do
    step $name
  done
  ! grep -v '^PASS' "$scratch/results"
}

[ $# -gt 0 ] || set -- all
"$@"
