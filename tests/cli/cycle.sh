#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every option of cycle, what it answers when there is no answer, and a dead volume that is not
# known, in every command that reads a machine.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

# How many lines of the answer have a text.
count() {
  grep -cF -e "$1" "$out" || true
}

# has COUNT TEXT: so many lines of the answer have it.
has() {
  looked=$((looked + 1))
  [ "$(count "$2")" -eq "$1" ] || wrong "'$2' is on $(count "$2") lines, expected $1"
}

run cycle "$trolley"
ends 0
no_message
answers 'Timing: as timed in the file'
answers 'At the cap end    after its dc'
answers '  release            172.0 deg     99.6 %  212       0.64  0.00   -53   -82'
answers '  work after friction       79.8  J'
answers 'Torque and starting (crank angles from the cap-end dead centre)'
answers "Where the air's worth goes (of 114 J a revolution at the most)"
answers 'What a small change does'
answers 'How far off before it costs, deg'
has 0 'atmospheric'
has 0 'On a disc'
cp "$out" "$scratch/none"
run cycle --rule as-timed "$trolley"
same "$out" "$scratch/none"
run cycle "$pump"
ends 0
answers 'Timing: that of the file, its cut-off chosen for release at back pressure'

# Another timing.
run cycle --rule atmospheric "$trolley"
ends 0
answers 'Timing: atmospheric release'
answers '  cut-off             59.8 deg     27.9 %'
run cycle --rule economy "$trolley"
answers 'Timing: best economy'
answers '  cut-off             65.2 deg     32.3 %'
run cycle --rule atmospheric --margin '0.2 bar' "$trolley"
answers 'margin: release 0.20 bar above ambient'
answers 'Timing: release with the margin'
answers '  released at, cap end'
has 2 ' 0.20  bar gauge'

# Other values, laws and units.
run cycle --set 'timing.cut-off=90 deg' "$trolley"
ends 0
answers '  cut-off             90.0 deg'
run cycle --expansion isothermal "$trolley"
answers 'Slow cycle, isothermal'
answers '  cut-off             78.0 deg     43.3 %  101       3.60  3.60    18    18'
run cycle --units inch "$launch"
answers 'psi gauge  then  degF  then'
answers 'lb ft on the mean'
answers ' ft lbf a revolution at the most'
answers 'supply +1.45 psi, cap end'
answers '1.45 psi at release'

# The disc: half its diameter times the angle, so that 114.592 mm have 1 mm for each degree.
run cycle --disc '114.592 mm' "$trolley"
ends 0
answers 'On a disc 114.59 mm across, mm'
sed -n '/^How far off/,/^$/p' "$out" | sed -n 's/^  //p' | tr -s ' ' >"$scratch/degrees"
sed -n '/^On a disc/,/^$/p' "$out" | sed -n 's/^  //p' | tr -s ' ' >"$scratch/lengths"
looked=$((looked + 1))
[ "$(wc -l <"$scratch/degrees")" -eq 8 ] || wrong 'not four events of two ends'
same "$scratch/degrees" "$scratch/lengths"
run cutoff --disc '114.592 mm' --units inch "$trolley"
answers 'On a disc 4.5115 in across, in'
has 4 '  cut-off, '
for disc in '0 mm' '-5 mm' '101 m'; do
  run cycle --disc "$disc" "$trolley"
  refused 2 "lastbar: cycle: --disc: '$disc' is no diameter of a disc; write one up to 100 m, such as '120 mm'; try: lastbar cycle --help"
done
run cutoff --disc 120 "$trolley"
refused 2 "lastbar: cutoff: --disc: '120' has no unit; write e.g. '120 mm'; try: lastbar cutoff --help"
run cycle --disc '120 mm2' "$trolley"
refused 2 "lastbar: cycle: --disc: '120 mm2' is an area, not a length; write e.g. '50 mm'; try: lastbar cycle --help"
run cycle "$trolley" --disc
refused 2 "lastbar: cycle: --disc needs a value: --disc '120 mm'; try: lastbar cycle --help"

# The sketch.
for command in cutoff cycle; do
  run $command --sketch "$trolley"
  ends 0
  no_message
  answers 'cap end: O -3.0'
  answers 'rod end: O -3.0'
  looked=$((looked + 1))
  ! LC_ALL=C grep -q '[^ -~]' "$out" || wrong 'not plain text'
  sed '/^ *\.\.K/,/two events in one place/d' "$out" >"$scratch/without"
  run $command "$trolley"
  # The sketch begins with an empty line.
  looked=$((looked + 1))
  diff "$out" "$scratch/without" | grep -v '^[0-9]' >"$scratch/more" || true
  [ "$(cat "$scratch/more")" = '> ' ] || wrong 'the sketch changes the rest'
done

# For programs.
run cycle --json "$trolley"
ends 0
no_message
answers '  "command": "cycle",'
answers '  "rule": "as-timed",'
answers '  "speed_rpm": 0.0,'
answers '  "result": {'
answers '  "audit": {'
answers '  "torque": {'
run cycle --json --rule economy "$trolley"
answers '  "rule": "economy",'
run cycle --csv "$trolley"
ends 0
no_message
looked=$((looked + 1))
[ "$(wc -l <"$out")" -eq 362 ] || wrong 'not a row for each degree below a header'
has 1 'angle_deg,torque_nm,standstill_torque_nm,cylinder_torque_nm,cap_pressure_pa,cap_volume_m3,rod_pressure_pa,rod_volume_m3'
looked=$((looked + 1))
cut -d, -f1 "$out" | sed 1d | awk '$1 != NR - 1 { bad = 1 } END { exit bad }' || wrong 'other angles'
run cycle --json --csv "$trolley"
refused 2 'lastbar: cycle: --json and --csv exclude each other; try: lastbar cycle --help'

# No answer: the exit status says so in every form, and the message names the rule.
run cycle --rule atmospheric --margin '10 bar' "$trolley"
ends 1
answers 'Release with the margin: no answer.'
answers 'would do.'
says "lastbar: $trolley: no cut-off by the rule asked for (atmospheric); the answer says why"
run cycle --margin '10 bar' "$pump"
ends 1
answers 'As timed in the file: no answer.'
says '(as-timed)'
run cycle --margin '10 bar' --json "$pump"
ends 1
answers '"found": false'
answers '  "audit": null,'
answers '  "torque": null,'
answers '  "dead_arcs_deg": null,'
answers '  "tolerance_deg": null,'
answers '  "release_tolerance_deg": null,'
run cycle --margin '10 bar' --csv "$pump"
ends 1
no_answer
run cutoff --margin '10 bar' --json "$trolley"
ends 1
answers '  "sensitivity": null,'
run cycle --set 'supply.pressure=0 bar gauge' "$trolley"
ends 0
answers 'As timed in the file: no work after friction, the machine would not turn.'
answers 'It does not start against a load of 3.03 N m from any position.'

# The load. Two single-acting cylinders at 120 degrees with full admission and yokes, no dead volume
# and no friction: the torque at standstill is that of a piston times half the stroke times the sine,
# and none over the 60 degrees when both pistons come back.
cat >"$scratch/yokes.ini" <<'END'
[machine]
cylinders = 2
crank angles = 0, 120 deg
[surroundings]
pressure = 1 bar absolute
[supply]
pressure = 3 bar gauge
[cylinder]
acting = cap end
bore = 50 mm
stroke = 100 mm
dead volume cap end = 0 cm3
[linkage]
kind = yoke
[timing]
cut-off = 180 deg
END
run cycle "$scratch/yokes.ini"
ends 0
answers '300.0 to 360.0 deg: dead arcs of'
has 1 '60 deg in 360'
run cycle --set 'load.torque=14.7262 N m' "$scratch/yokes.ini" # half of 3 bar x area x 50 mm
answers 'against a load of 14.7 N m from'
answers '270.0 to 30.0'
has 1 '120 deg in 360'
run cycle --set 'load.torque=40 N m' "$scratch/yokes.ini"
answers 'against a load of 40.0 N m from any position.'
# Moved to dead centre, the closing of the exhaust would trap air in no volume at all: a loss beyond
# every tolerance, and no failure.
sed -e 's/cap end/rod end/' -e '/^stroke/a piston rod = 20 mm\nfriction share = 5 %' \
  -e '/^cut-off/a inlet opens = 31 deg\nrelease = 189 deg\nexhaust closes = 370.13 deg' \
  "$scratch/yokes.ini" >"$scratch/tight.ini"
run cycle --set 'timing.cut-off=93 deg' --set 'supply.pressure=10 bar gauge' "$scratch/tight.ini"
ends 0
no_message
answers '  exhaust closes, rod end '
run check --set 'load.torque=2 N m' "$launch"
ends 0
answers '[load]'
answers '  torque                2 N m'

# A dead volume that is not known, at one end and at both.
run check --set 'cylinder.dead volume cap end=unknown' "$trolley"
ends 0
answers '  dead volume cap end         unknown '
answers 'the dead volume is not known and is taken as 10 % of the swept volume'
answers 'fill from the'
run cutoff --set 'cylinder.dead volume cap end=unknown' "$trolley"
ends 0
no_message
answers ' about 19.6 and 18 cm3 dead volume'
answers 'If the dead volume is '
answers '  5 %, atmospheric release '
answers '  10 %, best economy '
answers '  20 %, best economy '
run cutoff --set 'cylinder.dead volume cap end=19.63495408 cm3' "$trolley"
cp "$out" "$scratch/given"
has 0 'If the dead volume is '
run cutoff --set 'cylinder.dead volume cap end=unknown' "$trolley"
for line in '  atmospheric release ' '  best economy ' '  work after friction '; do
  looked=$((looked + 1))
  [ "$(grep -e "^$line" "$out")" = "$(grep -e "^$line" "$scratch/given")" ] ||
    wrong "'$line' is not that of 10 %"
done
run cutoff --json --set 'cylinder.dead volume cap end=unknown' "$pump"
ends 0
answers '  "dead_volume_assumed": ['
answers '"dead_volume_unknown"'
run cycle --set 'cylinder.dead volume cap end=UNKNOWN' --set 'cylinder.dead volume rod end=unknown' \
  "$trolley"
ends 0
no_message
answers ' about 19.6 and about 16.5 cm3 dead volume'
answers 'the dead volume is not known and is taken as 10 % of the swept volume'
answers 'at the rod end'
run cycle --csv --set 'cylinder.dead volume cap end=unknown' "$pump"
ends 0

finish 144
