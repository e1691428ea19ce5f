#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What was installed serves a program that knows pkg-config only, in C and in C++. Run by
# `make installcheck`, which sets the paths.
set -eu

scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

cat >"$scratch/user.c" <<'END'
#include <lastbar/lastbar.h>
int main(void) { return lb_status_text(LB_OK)[0] == '\0'; }
END

flags=$(pkg-config --cflags --libs lastbar)
# shellcheck disable=SC2086 # lists of words
${CC:-cc} -std=c17 "$scratch/user.c" -o "$scratch/c" $flags
# shellcheck disable=SC2086
${CXX:-c++} -x c++ "$scratch/user.c" -o "$scratch/c++" $flags
"$scratch/c"
"$scratch/c++"
