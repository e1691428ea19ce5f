#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Holds lib/ and cli/ to the order in layers.txt, after showing on planted faults that it would see
# one.
set -eu

here=${LASTBAR_SOURCE:-$(cd "$(dirname "$0")/.." && pwd)}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# faults ROOT LIST: one line for every breach of LIST under ROOT.
faults() {
  (cd "$1" && find lib cli -name '*.[ch]' | sort | while read -r file; do
    echo "file $file"
    awk -v file="$file" '/^[ \t]*#[ \t]*include/ {
      gsub(/^[ \t]*#[ \t]*include[ \t]*/, ""); print "include", file ":" FNR, $1 }' "$file"
  done) | awk -v list="$2" '
    BEGIN {
      while ((getline line < list) > 0) {
        sub(/#.*/, "", line)
        words = split(line, word, " ")
        if (words > 0 && word[1] != "system") order[word[1]] = ++last
        for (i = 2; i <= words; i++)
          if (word[1] == "system") system_header[word[i]] = 1
          else if (word[i] == "internal") internal[word[1]] = 1
          else outside[word[1], ++outsides[word[1]]] = word[i]
      }
    }
    function stem(path) { sub(/\.[ch]$/, "", path); return path }
    function may_use(name, header,   i) {
      for (i = 1; i <= outsides[name]; i++)
        if (index(header, outside[name, i]) == 1) return 1
      return 0
    }
    function own_part(me, to) { return index(to, me "_") == 1 && (to in internal) }
    $1 == "file" && $2 ~ /^lib\// {
      name = stem(substr($2, 5)); seen[name] = 1
      if (!(name in order)) print $2 ": not in the list of layers"
      if ($2 ~ /\.h$/) header_of[name] = 1
    }
    $1 == "file" && $2 ~ /^cli\// { cli[substr($2, 5)] = 1 }
    $1 == "include" { place[++includes] = $2; what[includes] = $3 }
    END {
      for (name in order) if (!(name in seen)) print name ": in the list of layers, but no file"
      for (i = 1; i <= includes; i++) {
        split(place[i], at, ":"); file = at[1]; in_lib = file ~ /^lib\//
        me = in_lib ? stem(substr(file, 5)) : ""
        header = substr(what[i], 2, length(what[i]) - 2); to = stem(header)
        if (in_lib && file ~ /\.c$/ && !(file in begun) && (me in header_of) && to != me)
          print place[i] ": its own header comes first"
        begun[file] = 1
        if (what[i] ~ /^</) {
          if (!(header in system_header) && !may_use(me, header))
            print place[i] ": <" header "> does not belong here"
        } else if (in_lib) {
          if (!(to in order) || !(to in header_of)) print place[i] ": unknown header " header
          else if ((me in order) && order[to] > order[me] && !own_part(me, to))
            print place[i] ": " header " comes later"
        } else if (!(header in cli) && (!(to in header_of) || (to in internal)))
          print place[i] ": " header " is not a public header"
      }
    }'
}

# plant FILE TEXT: a file of the self-test.
plant() {
  mkdir -p "$scratch/$(dirname "$1")"
  printf '%b' "$2" >"$scratch/$1"
}

# expect TEXT: the planted tree must give exactly this one fault (none when TEXT is empty).
expect() {
  found=$(faults "$scratch" "$scratch/list")
  if [ "$found" != "$1" ]; then
    printf 'self-test: expected "%s"\n found "%s"\n' "$1" "$found"
    exit 1
  fi
}

self_test() {
  plant list 'base/first internal outer/\nbase/second\nbase/second_half internal\nsystem stdio.h\n'
  plant lib/base/first.h '#include <stdio.h>\n'
  plant lib/base/first.c '#include "base/first.h"\n#include <outer/thing.h>\n'
  plant lib/base/second.h '#include "base/first.h"\n'
  plant lib/base/second.c '#include "base/second.h"\n#include "base/second_half.h"\n'
  plant lib/base/second_half.h ''
  plant cli/command.h '#include "base/second.h"\n'
  plant cli/main.c '#include "command.h"\n'
  expect ''
  plant lib/base/first.c '#include "base/first.h"\n  # include "base/second.h"\n'
  expect 'lib/base/first.c:2: base/second.h comes later'
  plant lib/base/first.c '#include "base/first.h"\n#include "base/second_half.h"\n'
  expect 'lib/base/first.c:2: base/second_half.h comes later'
  plant lib/base/first.c '#include <stdio.h>\n#include "base/first.h"\n'
  expect 'lib/base/first.c:1: its own header comes first'
  plant lib/base/first.c '#include "base/first.h"\n'
  plant lib/base/second.h '#include <outer/thing.h>\n'
  expect 'lib/base/second.h:1: <outer/thing.h> does not belong here'
  plant lib/base/second.h '#include "third.h"\n'
  expect 'lib/base/second.h:1: unknown header third.h'
  plant lib/base/second.h ''
  plant lib/base/extra.c ''
  expect 'lib/base/extra.c: not in the list of layers'
  rm "$scratch/lib/base/extra.c"
  plant cli/main.c '#include "../lib/base/first.c"\n'
  expect 'cli/main.c:1: ../lib/base/first.c is not a public header'
  plant cli/main.c '#include "base/first.h"\n'
  expect 'cli/main.c:1: base/first.h is not a public header'
  plant cli/main.c '#include <outer/thing.h>\n'
  expect 'cli/main.c:1: <outer/thing.h> does not belong here'
  rm "$scratch"/lib/base/second.*
  plant cli/main.c ''
  plant cli/command.h ''
  expect 'base/second: in the list of layers, but no file'
}

self_test
found=$(faults "$here" "$here/tests/layers.txt")
if [ -n "$found" ]; then
  echo "$found"
  exit 1
fi
