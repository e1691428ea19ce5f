#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Files, standard input and overrides, good and bad.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

# piped FILE ARGUMENT...: as run, with a file on standard input.
piped() {
  file=$1
  shift
  last=$*
  status=0
  "$LASTBAR" "$@" >"$out" 2>"$err" <"$file" || status=$?
}

run cutoff "$trolley"
cp "$out" "$scratch/named"
piped "$trolley" cutoff -
ends 0
no_message
same "$out" "$scratch/named"
piped "$trolley" check -
ends 0
answers 'Next: lastbar cutoff -'

run cutoff "$scratch/missing.ini"
refused 3 "lastbar: $scratch/missing.ini: cannot be read (No such file or directory); check the name and the rights to it"
run cutoff "$scratch"
ends 3
no_answer
says "lastbar: $scratch: "

# All errors in one go, each with its place, and nothing answered.
sed -e '/^\[cylinder/,/^\[linkage/s/^bore .*/bore = 50/' -e 's/^cut-off .*/cut-off = 400 deg/' "$trolley" >"$scratch/two.ini"
bore=$(grep -n '^bore = 50$' "$scratch/two.ini" | cut -d: -f1)
cutoff=$(grep -n '^cut-off' "$scratch/two.ini" | cut -d: -f1)
for command in check cutoff; do
  run $command "$scratch/two.ini"
  ends 2
  no_answer
  says "lastbar: $scratch/two.ini:$bore: [cylinder] bore: '50' has no unit; "
  says "lastbar: $scratch/two.ini:$cutoff: [timing] cut-off: '400 deg' is too large; "
  looked=$((looked + 1))
  [ "$(wc -l <"$err")" -eq 2 ] || wrong 'not two messages'
done
piped "$scratch/two.ini" check -
says "lastbar: standard input:$bore: [cylinder] bore: "

# A fault of form does not hide the others.
{
  cat "$scratch/two.ini"
  echo 'no equals sign'
} >"$scratch/three.ini"
run check "$scratch/three.ini"
ends 2
looked=$((looked + 1))
[ "$(wc -l <"$err")" -eq 3 ] || wrong 'not three messages'

# More errors than are kept are counted.
{
  cat "$trolley"
  echo '[linkage]'
  yes 'nonsense = 1' | head -n 1200
} >"$scratch/many.ini"
run check "$scratch/many.ini"
ends 2
looked=$((looked + 1))
tail -n 1 "$err" | grep -q '^lastbar: and [0-9]* more$' || wrong 'the rest is not counted'

run check --set 'supply.pressure=6 bar' --set 'cylinder.bor=50 mm' --set nonsense "$trolley"
ends 2
no_answer
says "lastbar: --set 1: [supply] pressure: '6 bar'"
says 'lastbar: --set 2: [cylinder] bor: unknown key; '
says "lastbar: --set 3: no '=' in 'nonsense'; write section.key=value"
run check --set 'cylinder.bore=40 mm' --set 'cylinder.bore=41 mm' "$trolley"
ends 2
says 'lastbar: --set 2: [cylinder] bore: already set by --set 1'
run check --set 'bore=40 mm' "$trolley"
refused 2 "lastbar: --set 1: no section in 'bore=40 mm'; write 'cylinder.bore=40 mm' or 'tube.bore=40 mm' or 'switch disc.bore=40 mm' or 'cam.bore=40 mm'"
run check --set 'Pressure=1.2 bar' "$trolley"
refused 2 "lastbar: --set 1: no section in 'Pressure=1.2 bar'; write 'surroundings.Pressure=1.2 bar' or 'supply.Pressure=1.2 bar'"
run check --set 'colour=red' "$trolley"
refused 2 "lastbar: --set 1: no '.' in 'colour=red'; write section.key=value"

# What is no machine file is told so once, and read no further.
seq 1 40 >"$scratch/list"
run check "$scratch/list"
ends 2
no_answer
says "lastbar: $scratch/list:20: none of these lines is sound, and the rest was not read; is this a machine file? lastbar start writes one"
looked=$((looked + 1))
[ "$(wc -l <"$err")" -eq 21 ] || wrong 'not 21 messages'
set --
i=0
while [ $i -lt 201 ]; do
  i=$((i + 1))
  set -- "$@" --set "cylinder.bore=$i mm"
done
run check "$@" "$trolley"
refused 2 'lastbar: check: more than 200 times --set; put the values into the file; try: lastbar check --help'

# A name is bytes of the user's and comes out as it went in; a file's name may hold anything.
sed 's/^name .*/name = Gr\xc3\xbc\xc3\x9fe \xe6\xb0\x97/' "$trolley" >"$scratch/it's a file.ini"
run cutoff "$scratch/it's a file.ini"
ends 0
looked=$((looked + 1))
[ "$(head -n 1 "$out")" = "$(printf 'Gr\303\274\303\237e \346\260\227')" ] || wrong 'another name'
run cutoff --json "$scratch/it's a file.ini"
answers "$(printf '"Gr\303\274\303\237e \346\260\227"')"
run check "$scratch/it's a file.ini"
answers "Next: lastbar cutoff '$scratch/it'\\''s a file.ini'"

# The lines of another system.
sed 's/$/\r/' "$trolley" >"$scratch/crlf.ini"
run cutoff "$scratch/crlf.ini"
ends 0
same "$out" "$scratch/named"

finish 55
