#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every example of README.md and of the manual page runs as it stands, from the top of the sources
# (here a scratch copy of what examples use). An example is a line that begins with "lastbar" or
# "$ lastbar", between ``` lines in README.md, between .EX and .EE in the manual page.
set -eu

here=${LASTBAR_SOURCE:?}
LASTBAR=${LASTBAR:?}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# from_markdown FILE, from_manual FILE: the examples, one a line.
from_markdown() {
  awk '/^```/ { inside = !inside; next } inside && sub(/^ *(\$ )?lastbar /, "lastbar ")' "$1"
}
from_manual() {
  awk '$1 == ".EX" { inside = 1; next } $1 == ".EE" { inside = 0 } inside && /^lastbar /' "$1" |
    sed -e "s/\\\\(aq/'/g" -e 's/\\-/-/g' -e 's/\\e/\\/g'
}

# try NAME LEAST: run the examples listed in NAME.list, at least LEAST of them.
try() {
  count=0
  while read -r example; do
    count=$((count + 1))
    (cd "$scratch/top" && sh -ec "$example") >"$scratch/out" 2>"$scratch/err" </dev/null || {
      echo "$1: failed: $example"
      cat "$scratch/err"
      failed=1
    }
  done <"$scratch/$1.list"
  echo "$1: $count examples"
  [ "$count" -ge "$2" ] || failed=1
}

mkdir -p "$scratch/bin" "$scratch/top"
cp -R "$here/data" "$scratch/top"
printf '#!/bin/sh\nexec "%s" "$@"\n' "$LASTBAR" >"$scratch/bin/lastbar"
chmod +x "$scratch/bin/lastbar"
PATH=$scratch/bin:$PATH
export PATH
failed=0
from_manual "$here/cli/lastbar.1" >"$scratch/manual.list"
from_markdown "$here/README.md" >"$scratch/readme.list"
try manual 15
try readme 2

# The manual page names every command and option that the program knows, and no other.
for command in start help check cutoff cycle curves rundown table chart completion; do
  lastbar "$command" --help | sed -n 's/^  \(-[a-z], \)\{0,1\}\(--[a-z-]*\).*/\2/p'
done | sort -u >"$scratch/options"
sed -e 's/\\-/-/g' "$here/cli/lastbar.1" | grep -o -e '--[a-z-]*' | sort -u |
  grep -v -x -e --version >"$scratch/named"
diff "$scratch/options" "$scratch/named" || {
  echo 'the manual page and the program know different options'
  failed=1
}

# shown START COMMAND...: every line that README.md shows from START on is printed by a command.
shown() {
  start=$1
  shift
  (cd "$scratch/top" && lastbar "$@") >"$scratch/answer"
  awk -v start="$start" 'index($0, start) == 1 { inside = 1 } /^```/ { inside = 0 } inside && NF' \
    "$here/README.md" >"$scratch/shown"
  [ -s "$scratch/shown" ] || failed=1
  while IFS= read -r line; do
    grep -q -x -F -e "$line" "$scratch/answer" || {
      echo "README.md shows what is not printed: $line"
      failed=1
    }
  done <"$scratch/shown"
}
shown 'Shut the inlet at' cutoff data/machines/trolley.ini
shown 'Torque and starting' cycle data/machines/launch.ini
shown 'What takes work away' cycle --speed '120 rpm' data/machines/trolley.ini
shown 'Let the cut-off follow' rundown data/machines/trolley.ini
shown '         #####O' cutoff --sketch data/machines/pump.ini
exit $failed
