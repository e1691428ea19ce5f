#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# lastbar chart: files that independent readers measure, that appear whole or not at all, and that
# say the same as the other commands.
# shellcheck source=tests/cli/support.sh disable=SC2016
. "$LASTBAR_SOURCE/tests/cli/support.sh"

for tool in pdfinfo pdftotext; do
  command -v $tool >/dev/null || { echo "$tool is not there (Debian: poppler-utils)" && exit 1; }
done
python=/usr/bin/python3

# holds WHAT COMMAND...: a condition about the last run.
holds() {
  what=$1
  shift
  looked=$((looked + 1))
  "$@" || wrong "$what"
}

# written ARGUMENT...: chart into a fresh file "$scratch/sheet.ENDING"; it works without a word.
written() {
  sheet=$scratch/sheet.$1
  rm -f "$sheet"
  shift
  run chart -o "$sheet" "$@"
  ends 0
  no_message
  no_answer
  holds 'no file' [ -s "$sheet" ]
}
pages() { pdfinfo "$sheet" | sed -n 's/^Pages: *//p'; }
paper() { pdfinfo "$sheet" | sed -n 's/^Page size: *\([0-9.]* x [0-9.]* pts\).*/\1/p'; }
words() { pdftotext -layout "$sheet" -; }

# What cannot be done is said before anything is calculated, or written.
run chart "$trolley"
refused 2 "lastbar: chart: no file to write; say which, such as -o chart.pdf; try: lastbar chart --help"
for name in sheet sheet.jpg .pdf "$scratch/.svg" sheet.pdf.old; do
  run chart -o "$name" "$trolley"
  refused 2 "lastbar: chart: --output: '$name' ends in none of .pdf, .svg, .png and .dxf; try: lastbar chart --help"
done
run chart -o "$scratch/a.svg" --dpi 300 "$trolley"
refused 2 "lastbar: chart: --dpi: only a .png has dots; leave it out; try: lastbar chart --help"
for dpi in 29 1201 fine '300 dots' -5; do
  run chart -o "$scratch/a.png" --dpi="$dpi" "$trolley"
  refused 2 "lastbar: chart: --dpi: '$dpi' is no resolution; write 30 to 1200 dots per inch; try: lastbar chart --help"
done
run chart -o "$scratch/a.dxf" --sheet disc --print-correction 99,98 "$trolley"
refused 2 "lastbar: chart: --print-correction: a .dxf is for a machine that cuts true to size; leave it out, or write a .pdf; try: lastbar chart --help"
for bars in 97 97,2,97,5 79.9,100 100,121 a,b ',' '97.2 in,97' '97.2,'; do
  run chart -o "$scratch/a.pdf" --print-correction "$bars" "$trolley"
  refused 2 "lastbar: chart: --print-correction: '$bars' is not what two bars of 100 mm can measure; write both lengths in mm, across and up the page, such as 97.2,97.5; try: lastbar chart --help"
done
run chart -o "$scratch/a.pdf" --sheet timing,wheel "$trolley"
refused 2 "lastbar: chart: --sheet: 'wheel' is not one of timing, indicator, torque, curves, rundown, disc, cam; try: lastbar chart --help"
run chart -o "$scratch/a.pdf" --sheet '' "$trolley"
refused 2 "lastbar: chart: --sheet: '' is not one of timing, indicator, torque, curves, rundown, disc, cam; try: lastbar chart --help"
run chart -o "$scratch/a.pdf" --paper A5 "$trolley"
refused 2 "lastbar: chart: --paper: 'A5' is not one of A4, A3, letter; try: lastbar chart --help"
for page in 0 -1 1.5 first; do
  run chart -o "$scratch/a.pdf" --page="$page" "$trolley"
  refused 2 "lastbar: chart: --page: '$page' is no number of a page; write 1 or more; try: lastbar chart --help"
done
for ending in svg png dxf; do
  run chart -o "$scratch/a.$ending" --sheet timing,torque "$trolley"
  refused 2 "lastbar: chart: --output: 2 pages, and a .$ending holds one; write a .pdf, or choose with --sheet and --page 1 ... 2; try: lastbar chart --help"
  run chart -o "$scratch/a.$ending" --sheet timing --page 2 "$trolley"
  refused 2 "lastbar: chart: --page: there is no page 2 of 1; try: lastbar chart --help"
done

run chart -o "$scratch/a.pdf" --sheet torque,curves --speed '120 rpm' "$trolley"
refused 2 "lastbar: chart: --speed: only the indicator diagram and the rundown are drawn at a speed; leave it out, or add one of them to --sheet; try: lastbar chart --help"

# At speed nothing is known without conductances: asked for, that is said; else the page is left out.
grep -v '^conductance' "$trolley" >"$scratch/slow.ini"
run chart -o "$scratch/a.pdf" --sheet curves "$scratch/slow.ini"
refused 2 "lastbar: $scratch/slow.ini: [inlet valve] has no conductance, so that nothing is known of the cycle at speed; write e.g. 'conductance = 1.4 L/(s bar)'"
run chart -o "$scratch/a.pdf" --sheet indicator --speed '120 rpm' "$scratch/slow.ini"
refused 2 "lastbar: $scratch/slow.ini: [inlet valve] has no conductance, so that nothing is known of the cycle at speed; write e.g. 'conductance = 1.4 L/(s bar)'"

# What the machine has no answer for: exit status 1, one line.
run chart -o "$scratch/a.pdf" --sheet cam "$trolley"
refused 1 "lastbar: $trolley: no cam to draw: the machine file has no section [cam]; lastbar help 'cam' says what it needs"
run chart -o "$scratch/a.pdf" --sheet disc "$pump"
refused 1 "lastbar: $pump: no disc to draw: the machine file has no section [switch disc]; lastbar help 'switch disc' says what it needs"
run chart -o "$scratch/a.pdf" --sheet rundown "$pump"
refused 1 "lastbar: $pump: no rundown to draw: the machine file has no section [store] or no [load]; lastbar help 'store' says what it needs"
run chart -o "$scratch/a.pdf" --rule atmospheric --set 'supply.pressure=0 bar gauge' "$trolley"
ends 1
no_answer
says "lastbar: $trolley: no timing to draw: "
run chart -o "$scratch/a.pdf" --set 'switch disc.track radius=64 mm' "$trolley"
ends 2
no_answer
says 'lastbar: --set 1: [switch disc] track radius: the tracks take 37 to 67 mm from the centre, and '
holds 'not one line' [ "$(wc -l <"$err")" -eq 1 ]
run chart -o "$scratch/a.pdf" --sheet disc --set 'timing.cut-off=1 deg' "$trolley"
ends 1
no_answer
says 'cap end'
holds 'not one line' [ "$(wc -l <"$err")" -eq 1 ]

# A file appears whole or not at all, and nothing is left beside it.
mkdir "$scratch/folder.pdf" "$scratch/locked"
run chart -o "$scratch/folder.pdf" "$trolley"
ends 3
says "lastbar: $scratch/folder.pdf: "
run chart -o "$scratch/nowhere/a.pdf" "$trolley"
ends 3
says "lastbar: $scratch/nowhere/a.pdf: cannot be written (No such file or directory)"
echo precious >"$scratch/old.pdf"
run chart -o "$scratch/old.pdf" --sheet cam "$trolley"
ends 1
holds 'the file was touched' [ "$(cat "$scratch/old.pdf")" = precious ]
holds 'something was left behind' [ "$(find "$scratch" -name '*.pdf*' | wc -l)" -eq 2 ]
ln -s old.pdf "$scratch/link.pdf"
run chart -o "$scratch/link.pdf" --sheet timing "$trolley"
ends 0
holds 'not through the link' [ "$(head -c 4 "$scratch/old.pdf")" = %PDF ]

# Every demo machine, all papers, on one of them all sheets; the page is as large as the paper [1/72 in].
for machine in trolley pump launch tractor organ; do
  for size in A4 A3 letter; do
    set -- --sheet timing,indicator,torque
    [ $size = A4 ] && shift 2
    written pdf --paper $size "$@" "$here/data/machines/$machine.ini"
    case $size in
    A4) holds "page of $(paper)" [ "$(paper)" = '595.276 x 841.89 pts' ] ;;
    A3) holds "page of $(paper)" [ "$(paper)" = '841.89 x 1190.55 pts' ] ;;
    letter) holds "page of $(paper)" [ "$(paper)" = '612 x 792 pts' ] ;;
    esac
    words >"$scratch/words"
    checksum=$($python -c 'import sys, zlib; print("%08x" % zlib.crc32(open(sys.argv[1], "rb").read()))' \
      "$here/data/machines/$machine.ini")
    holds 'no checksum on a page' \
      [ "$(grep -c "CRC-32 $checksum" "$scratch/words")" -ge 3 ]
  done
done

# All sheets are those the machine has: curves where something is known of the cycle at speed.
written pdf "$scratch/slow.ini"
words >"$scratch/words"
holds 'a page of curves' [ "$(grep -c ': Curves (' "$scratch/words")" -eq 0 ]
written pdf "$trolley"
words >"$scratch/words"
holds 'no page of curves' [ "$(grep -c ': Curves (' "$scratch/words")" -eq 1 ]

# The rundown has an answer or none: asked for, that is said; else the page is left out, and that is said.
for fault in 'mass=900 t' 'torque per speed=0.01 N m/rpm'; do
  expected=1
  [ "$fault" = 'mass=900 t' ] || expected=2
  sed '/^mass /,/^coasting /d' "$trolley" >"$scratch/rundown.ini"
  [ $expected = 2 ] || cp "$trolley" "$scratch/rundown.ini"
  run chart -o "$scratch/a.pdf" --sheet rundown --set "load.$fault" "$scratch/rundown.ini"
  ends $expected
  no_answer
  why=$(sed 's/^[^ ]* [^ ]* //' "$err")
  holds 'not one line' [ "$(wc -l <"$err")" -eq 1 ]
  run chart -o "$scratch/a.pdf" --set "load.$fault" "$scratch/rundown.ini"
  ends 0
  no_answer
  holds 'the reason is another' [ "$(cat "$err")" = "lastbar: $scratch/rundown.ini: no sheet of the rundown: $why" ]
  sheet=$scratch/a.pdf
  words >"$scratch/words"
  holds 'a page of the rundown' [ "$(grep -c ': Running the store down (' "$scratch/words")" -eq 0 ]
  holds 'no page of curves' [ "$(grep -c ': Curves (' "$scratch/words")" -eq 1 ]
  rm "$scratch/a.pdf"
done
written pdf "$pump"
words >"$scratch/words"
holds 'a page of the rundown' [ "$(grep -c ': Running the store down (' "$scratch/words")" -eq 0 ]

# The rundown page says what rundown says of the same plans, row by row.
run rundown --json "$trolley"
ends 0
$python - "$out" <<'END' >"$scratch/wanted"
import json, sys
counts = ["", "", "two", "three", "four", "five", "six"]
names = {"unregulated": "unregulated", "regulated": "regulated as set", "regulated_best": "regulated best",
         "following": "following"}
for plan in json.load(open(sys.argv[1]))["plans"]:
    name = counts[plan["steps"]] + " steps" if plan["steps"] else names[plan["plan"]]
    print(r"^%s .*  %.0f  *%.0f  *%.1f  *[0-9.]*$" %
          (name, plan["revolutions"], plan["distance_m"], plan["air_left_kg"] / 1.185 * 1000))
END
holds 'not nine plans' [ "$(wc -l <"$scratch/wanted")" -eq 9 ]
written pdf --sheet rundown "$trolley"
holds 'more than a page' [ "$(pages)" -eq 1 ]
words >"$scratch/words"
while read -r row; do
  holds "no row '$row' on the page" grep -q -e "$row" "$scratch/words"
done <"$scratch/wanted"

# The same once more gives the same bytes; a change does not.
written pdf --sheet timing "$trolley"
cp "$sheet" "$scratch/first"
written pdf --sheet timing "$trolley"
same "$sheet" "$scratch/first"
written pdf --sheet timing --set 'supply.pressure=4 bar gauge' "$trolley"
words >"$scratch/words"
holds 'the change is not said' grep -q 'supply.pressure=4 bar gauge' "$scratch/words"

# The timing sheet says what cutoff and table say, to the last digit.
for machine in trolley pump launch tractor organ; do
  for rule in atmospheric economy; do
    run cutoff --rule $rule --json "$here/data/machines/$machine.ini"
    ends 0
    $python - "$out" $rule <<'END' >"$scratch/wanted"
import json, sys
answer = json.load(open(sys.argv[1]))
for end in answer["choices"][sys.argv[2]]["ends"].values():
    if end:
        print("%.1f" % end["cutoff_deg"])
        print("%.1f %%" % (100 * end["cutoff_stroke_fraction"]))
END
    written pdf --sheet timing --rule $rule "$here/data/machines/$machine.ini"
    words >"$scratch/words"
    while read -r figure; do
      holds "no '$figure' on the sheet" grep -q -F -e "$figure" "$scratch/words"
    done <"$scratch/wanted"
    holds 'more than a page' [ "$(pages)" -eq 1 ]
  done
done

# The curves page says what curves says of the same supply pressures, row by row; and the indicator
# diagram at speed says the works of cycle.
run curves --json --pressure '1.5 bar gauge' --pressure '2 bar gauge' --pressure '3.6 bar gauge' \
  --pressure '5 bar gauge' "$trolley"
ends 0
$python - "$out" <<'END' >"$scratch/wanted"
import json, sys
for gauge, curve in zip(["1.50", "2.00", "3.60", "5.00"], json.load(open(sys.argv[1]))["curves"]):
    rpm = [round(curve[name + "_speed_rpm"]) for name in ["tenth_lost", "load", "best_power", "no_load"]]
    print(r"%s  *[0-9.]*  *%d  *%d  *%d  *[0-9.]*  *%d$" % tuple([gauge] + rpm))
END
holds 'not four curves' [ "$(wc -l <"$scratch/wanted")" -eq 4 ]
written pdf --sheet curves "$trolley"
holds 'more than a page' [ "$(pages)" -eq 1 ]
words >"$scratch/words"
while read -r row; do
  holds "no row '$row' on the page" grep -q -e "$row" "$scratch/words"
done <"$scratch/wanted"
run cycle --json --speed '120 rpm' "$trolley"
ends 0
$python - "$out" <<'END' >"$scratch/wanted"
import json, sys
for end in json.load(open(sys.argv[1]))["result"]["ends"].values():
    print("At 120 rpm, with the same timing: indicated work %.1f J, slow" % end["indicated_work_j"])
END
written pdf --sheet indicator --speed '120 rpm' "$trolley"
words >"$scratch/words"
while read -r line; do
  holds "no '$line' on the sheet" grep -q -F -e "$line" "$scratch/words"
done <"$scratch/wanted"

# bars WIDTH HEIGHT [PAGE]: on the page, a line as long across, and one up, to 0.01 mm.
bars() {
  $python "$here/tests/paper/read_paths.py" "$sheet" "${3:-1}" >"$scratch/paths"
  holds "no bar of $1 mm across and $2 mm up" awk -v x="$1" -v y="$2" '
    function near(a, b) { return a - b < 0.01 && b - a < 0.01 }
    function size(a) { return a < 0 ? -a : a }
    $1 == "line" && NF == 6 {
      across = $5 - $3; up = $6 - $4
      if (near(up, 0) && near(size(across), x)) found_x = 1
      if (near(across, 0) && near(size(up), y)) found_y = 1
    }
    END { exit !(found_x && found_y) }' "$scratch/paths"
}

# Poppler measures the bars of 100 mm on every page of a template, and what a correction makes of them.
written pdf --sheet disc "$trolley"
bars 100 100
written pdf --sheet disc --print-correction 97.2,98.4 "$trolley"
bars 102.8807 101.6260
written pdf --sheet cam "$pump"
bars 100 100
written pdf --sheet disc --paper letter "$launch"
for page in 1 2 3 4; do
  bars 100 100 $page
done

# A disc for cutting has true arcs: the trolley's first track, from 3 deg before dead centre to 78 deg
# after it, both ends ahead by the valve's delay at 120 rpm: 81 - 720 (0.011 - 0.009) = 79.56 deg.
written dxf --sheet disc --page 1 "$trolley"
$python "$here/tests/paper/read_dxf.py" "$sheet" >"$scratch/entities"
holds 'not R12' grep -q -x 'version AC1009' "$scratch/entities"
holds 'no arc of the first track' awk '
  $1 == "ARC" && $2 == "MARK" && $6 == 62 {
    sweep = $8 - $7 + ($8 < $7 ? 360 : 0)
    if (sweep > 79.5599 && sweep < 79.5601) found = 1
  }
  END { exit !found }' "$scratch/entities"
holds 'no outline' grep -q '^CIRCLE CUT BYLAYER .* 65.000000000$' "$scratch/entities"

# SVG in millimetres, PNG in dots that it says the size of.
written svg --sheet torque "$trolley"
holds 'not the size of A4' grep -q 'width="210mm" height="297mm"' "$sheet"
written png --sheet torque --dpi 100 --paper letter "$trolley"
$python "$here/tests/paper/read_png.py" "$sheet" >"$scratch/dots"
holds 'not the dots of letter' grep -q -x 'size 850 1100' "$scratch/dots"
holds 'not 100 dots per inch' awk '
  $1 == "dpi" && $2 > 99.98 && $2 < 100.02 && $3 == $2 { found = 1 }
  END { exit !found }' "$scratch/dots"

# Names that could break a file.
written svg --sheet timing --set "machine.name=A & B <x> \"'%%d" "$trolley"
holds 'no XML' $python -c 'import sys, xml.dom.minidom as x; x.parse(sys.argv[1])' "$sheet"
written dxf --sheet timing --set 'machine.name=Ünder %%d ℃ 車' "$trolley"
holds 'no DXF' $python -c 'import sys, ezdxf; ezdxf.readfile(sys.argv[1])' "$sheet"

finish 452
