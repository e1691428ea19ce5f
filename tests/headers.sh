#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every public header compiles alone, and twice, as C17 and as C++.
set -eu

here=${LASTBAR_SOURCE:-$(cd "$(dirname "$0")/.." && pwd)}
flags='-fsyntax-only -Wall -Wextra -Wpedantic -Werror'
count=0
failed=0

# compile LANGUAGE STANDARD HEADER COMPILER...: one header, included twice.
compile() {
  language=$1 standard=$2 header=$3
  shift 3
  # shellcheck disable=SC2086 # the flags are several words
  printf '#include "%s"\n#include "%s"\nint main(void) { return 0; }\n' "$header" "$header" |
    "$@" -x "$language" "-std=$standard" $flags -I"$here/lib" - || failed=$((failed + 1))
}

cd "$here/lib"
for header in *.h */*.h; do
  [ -f "$header" ] || continue
  count=$((count + 1))
  # shellcheck disable=SC2086 # a compiler may carry options of its own
  compile c c17 "$header" ${CC:-cc}
  # shellcheck disable=SC2086
  compile c++ c++17 "$header" ${CXX:-c++}
done
echo "$count headers as C and as C++, $failed failures"
[ "$count" -gt 0 ] && [ "$failed" -eq 0 ]
