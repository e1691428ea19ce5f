#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# No file is forgotten: every source, header, test and script stands in Makefile.am.
set -eu

here=${LASTBAR_SOURCE:-$(cd "$(dirname "$0")/.." && pwd)}
cd "$here"
count=0
forgotten=0
for file in $(find lib cli tests -name '*.[ch]' -o -name '*.sh' | sort); do
  count=$((count + 1))
  case $file in
  tests/*/*.c) name=${file%.c} ;; # a program's only source is not written out
  *) name=$file ;;
  esac
  if ! tr -s '[:blank:]' '\n' <Makefile.am | grep -qxF -e "$name" -e "$file"; then
    echo "$file: not in Makefile.am"
    forgotten=$((forgotten + 1))
  fi
done
echo "$count files, $forgotten forgotten"
[ "$count" -gt 0 ] && [ "$forgotten" -eq 0 ]
