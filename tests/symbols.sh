#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The library gives away names that begin with lb_ only, and asks for nothing that prints, exits or
# aborts.
set -eu

libs=${LASTBAR_BUILD:-.}/.libs
nm=${NM:-nm}
failed=0

# only_ours WHAT NM-ARGUMENT...: the defined global names are ours, and there are some.
only_ours() {
  what=$1
  shift
  names=$($nm "$@" | awk 'NF == 3 { print $3 }' | sort -u)
  count=$(printf '%s\n' "$names" | grep -c '^lb_' || true)
  strangers=$(printf '%s\n' "$names" | grep -v '^lb_' || true)
  echo "$what: $count names"
  if [ "$count" -eq 0 ] || [ -n "$strangers" ]; then
    echo "$what: names that are not ours: $strangers"
    failed=1
  fi
}

if [ ! -f "$libs/liblastbar.so" ]; then
  echo "no shared library in this build"
  exit 77
fi
only_ours 'shared library' -D --defined-only "$libs/liblastbar.so"
only_ours 'static library' -g --defined-only "$libs/liblastbar.a"

forbidden='exit _exit _Exit quick_exit abort printf vprintf puts putchar perror stdout stderr
__printf_chk __vprintf_chk'
asked=$($nm -u "$libs/liblastbar.a" | awk 'NF == 2 && $1 == "U" { print $2 }' | sort -u)
for name in $forbidden; do
  if printf '%s\n' "$asked" | grep -qx "$name"; then
    echo "the library asks for $name"
    failed=1
  fi
done
exit $failed
