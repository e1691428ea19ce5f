#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The commands about the machine at speed, cutoff and cycle with --speed and curves: how they end,
# that JSON and CSV are whole and agree, that figures fit together, and that the notes read well.
# shellcheck source=tests/cli/support.sh disable=SC2016
. "$LASTBAR_SOURCE/tests/cli/support.sh"

python=/usr/bin/python3
command -v $python >/dev/null || { echo "$python is not there (Debian: python3)" && exit 1; }
organ=$here/data/machines/organ.ini

# holds WHAT COMMAND...: a condition about the last run.
holds() {
  what=$1
  shift
  looked=$((looked + 1))
  "$@" >"$scratch/said" 2>&1 || {
    wrong "$what"
    cat "$scratch/said"
  }
}

# keep NAME ARGUMENT...: an answer, which goes to a file of that name.
keep() {
  name=$scratch/$1
  shift
  run "$@"
  ends 0
  no_message
  cp "$out" "$name"
}

# What cannot be answered.
cat >"$scratch/bare.ini" <<'END_OF_FILE'
[supply]
pressure = 4 bar gauge
[cylinder]
acting = cap end
bore = 40 mm
stroke = 80 mm
dead volume cap end = 12 cm3
[linkage]
kind = yoke
END_OF_FILE
for command in 'cutoff --speed 120rpm' 'cycle --speed 120rpm' curves; do
  # shellcheck disable=SC2086 # several words
  run $command "$scratch/bare.ini"
  refused 2 "lastbar: $scratch/bare.ini: [inlet valve] has no conductance, so that nothing is known of the cycle at speed; write e.g. 'conductance = 1.4 L/(s bar)'"
done
run curves --set 'inlet valve.conductance=2 L/(s bar)' "$scratch/bare.ini"
ends 2
no_answer
says '[exhaust valve] has no conductance'
for command in cutoff cycle; do
  run $command --speed '0 rpm' "$trolley"
  refused 2 "lastbar: $command: --speed: '0 rpm' is no speed of a crank; write one up to 10000 rpm, such as '120 rpm'; try: lastbar $command --help"
  run $command --speed 120 "$trolley"
  ends 2
  says "lastbar: $command: --speed: '120' has no unit"
  for option in --disc=120mm --sketch; do
    run $command --speed '120 rpm' $option "$trolley"
    refused 2 "lastbar: $command: ${option%=*} is for the slow cycle; leave out --speed, or leave it out; try: lastbar $command --help"
  done
done
for points in 1 2001 2.5 many; do
  run curves --points $points "$trolley"
  refused 2 "lastbar: curves: --points: '$points' is no number of speeds; write 2 to 2000; try: lastbar curves --help"
done
run curves --pressure '3 bar' "$trolley"
refused 2 "lastbar: curves: --pressure: '3 bar' says neither gauge nor absolute; write '3 bar gauge' (3.99 bar absolute) or '3 bar absolute' (2.01 bar gauge); try: lastbar curves --help"
run curves --pressure '300 bar gauge' "$trolley"
ends 2
says 'is too large'
run curves --from '200 rpm' --to '100 rpm' "$trolley"
refused 2 "lastbar: $trolley: the speeds from 200 rpm to 100 rpm are no range; the first must be the lower one"
for option in from to; do
  run curves --$option '0 rpm' "$trolley"
  refused 2 "lastbar: curves: --$option: '0 rpm' is no speed above 0; write e.g. '60 rpm'; try: lastbar curves --help"
done
run curves --json --csv "$trolley"
refused 2 'lastbar: curves: --json and --csv exclude each other; try: lastbar curves --help'

# No answer: why stands in the answer, and one line says so.
for command in cutoff cycle; do
  for form in '' --json --csv; do
    # shellcheck disable=SC2086 # no word, or one
    run $command --rule atmospheric --speed '3000 rpm' $form "$trolley"
    ends 1
    looked=$((looked + 1))
    printf '%s\n' "lastbar: $trolley: no cut-off by the rule asked for (atmospheric); the answer says why" |
      cmp -s - "$err" || wrong 'another message'
    case $command$form in
    cycle--csv) no_answer ;;
    *--json | *--csv) answers 'at 3000 rpm the cap end does not reach' ;;
    *) answers 'Atmospheric release: no answer. At 3000 rpm the cap end does not reach' ;;
    esac
  done
done
run cutoff --speed '3000 rpm' "$trolley"
ends 1
says 'no cut-off releases the air at back pressure; the answer says why'
answers 'As timed in the file: no work after friction, the machine would not turn.'
run cycle --speed '3000 rpm' "$trolley"
ends 0
answers 'at 3000 rpm the machine gives no work: it must be driven'
answers '3000 rpm it takes '
never 'wide enough'
run curves --rule atmospheric --pressure '-0.5 bar gauge' "$trolley"
ends 1
no_answer
says 'is not above the release pressure wanted'
run curves --rule atmospheric --points 3 --pressure '-0.5 bar gauge' --pressure '3 bar gauge' "$trolley"
ends 0
answers 'is not above the release pressure'

# JSON: whole, and its figures fit together.
cat >"$scratch/whole.py" <<'END_OF_FILE'
import json, math, sys
answer = json.load(open(sys.argv[1]))
cylinders = int(sys.argv[2])
command = answer["command"]
wanted = {"cutoff": "choices switching advice", "curves": "load_torque_nm curves points",
          "cycle": "result power_w at_speed audit torque switching advice"}[command].split()
head = ["lastbar", "command", "machine", "expansion_exponent", "compression_exponent", "supply",
        "surroundings", "rule"] + ([] if command == "curves" else ["speed_rpm"])
assert list(answer) == head + wanted + ["warnings"], list(answer)
def finite(value):
    if isinstance(value, float):
        assert math.isfinite(value)
        assert not (value == 0 and math.copysign(1, value) < 0), "-0.0"
    for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        finite(each)
finite(answer)
if command == "cutoff":
    assert list(answer["choices"]) == ["as_timed", "atmospheric", "economy"]
    best = answer["choices"]["economy"]["work_per_kg_j"]
    assert all(c["work_per_kg_j"] <= best * (1 + 1e-6) for c in answer["choices"].values())
    for figures in answer["choices"]["atmospheric"]["ends"].values():
        if figures:
            assert abs(figures["release_pressure_pa"] - float(sys.argv[3])) < 10
if command == "cycle":
    result, audit, torque = answer["result"], answer["audit"], answer["torque"]
    parts = sum(v for k, v in audit.items() if v is not None and k != "supplied_j")
    scale = max(abs(v) for v in audit.values() if v is not None)
    assert abs(parts - audit["supplied_j"]) <= 1e-6 * scale, (parts, audit)
    assert audit["crank_j"] == result["work_per_rev_j"]
    assert audit["friction_j"] == result["friction_work_per_rev_j"]
    assert torque["angle_deg"] == list(range(361))
    turn, work = torque["torque_nm"], result["work_per_rev_j"]
    integral = sum((a + b) / 2 for a, b in zip(turn, turn[1:])) * math.pi / 180
    assert abs(integral - work) <= 0.01 * abs(work), (integral, work)
    assert abs(result["mean_torque_nm"] * 2 * math.pi - work) <= 1e-9 * work
    assert abs(answer["power_w"] - work * answer["speed_rpm"] / 60) <= 1e-9 * work
    ends = [figures for figures in result["ends"].values() if figures]
    indicated = cylinders * sum(figures["indicated_work_j"] for figures in ends)
    assert abs(indicated - result["indicated_work_per_rev_j"]) <= 1e-9 * indicated
    supply = [answer["at_speed"].pop(key) for key in ("valve_supply_mean_pa", "valve_supply_least_pa")]
    assert supply == 2 * [answer["supply"]["pressure_pa"]] or supply[1] < supply[0]
    for end, figures in answer["at_speed"].items():
        assert (figures is None) == (result["ends"][end] is None)
END_OF_FILE
try_json() {
  holds 'the JSON is not right' $python "$scratch/whole.py" "$out" "$@"
}
for machine in trolley,1,99181.29656756 launch,3,100066 pump,2,108591 organ,3,28330; do
  file=$here/data/machines/${machine%%,*}.ini
  cylinders=${machine#*,}
  cylinders=${cylinders%,*}
  run cycle --speed '120 rpm' --json "$file"
  ends 0
  no_message
  try_json "$cylinders"
done
keep cutoff.json cutoff --speed '120 rpm' --json "$trolley"
try_json 1 99181.29656756
keep curves.json curves --points 20 --pressure '3 bar gauge' --pressure '5 bar gauge' --json "$trolley"
try_json 1
keep curves.csv curves --points 20 --pressure '3 bar gauge' --pressure '5 bar gauge' --csv "$trolley"
run cutoff --speed '120 rpm' --rule atmospheric --margin '0.3 bar' --json "$trolley"
try_json 1 129181.29656756

# All commands give the same figure to the last digit.
keep as-timed.json cycle --speed '120 rpm' --json "$trolley"
keep atmospheric.json cycle --speed '120 rpm' --rule atmospheric --json "$trolley"
keep one.json curves --from '120 rpm' --to '240 rpm' --points 2 --json "$trolley"
keep cutoff.csv cutoff --speed '120 rpm' --csv "$trolley"
cat >"$scratch/agree.py" <<'END_OF_FILE'
import csv, json, sys
cutoff, timed, atmospheric, one = (json.load(open(name)) for name in sys.argv[1:5])
assert timed["result"] == cutoff["choices"]["as_timed"]
assert atmospheric["result"] == cutoff["choices"]["atmospheric"]
assert atmospheric["advice"] == cutoff["advice"] and atmospheric["advice"] != timed["advice"]
assert atmospheric["switching"] == cutoff["switching"] != timed["switching"]
point = one["points"][0]
same = [key for key in point if key in timed["result"]]
assert len(same) == 10, same
for key in same:
    assert point[key] == timed["result"][key], key
assert point["speed_rpm"] == timed["speed_rpm"]
assert point["power_w"] == timed["power_w"]
assert one["curves"][0]["slow_work_per_rev_j"] == timed["advice"]["slow_work_per_rev_j"]
for end in "cap", "rod":
    figures = timed["result"]["ends"][end]
    assert point[end + "_release_pressure_pa"] == figures["release_pressure_pa"]
    assert one["curves"][0][end + "_cutoff_deg"] == figures["cutoff_deg"]
assert point["coldest_temperature_k"] == min(timed["at_speed"][end]["coldest_temperature_k"] for end in ("cap", "rod"))
rows = list(csv.DictReader(open(sys.argv[5], newline="")))
assert [(r["choice"], r["end"]) for r in rows] == [
    (c, e) for c in ("as_timed", "atmospheric", "economy") for e in ("cap", "rod")]
for row in rows:
    choice = cutoff["choices"][row["choice"]]
    for key, value in {**choice, **choice["ends"][row["end"]]}.items():
        if isinstance(value, float):
            assert float(row[key]) == value, key
END_OF_FILE
holds 'the commands disagree' $python "$scratch/agree.py" "$scratch/cutoff.json" \
  "$scratch/as-timed.json" "$scratch/atmospheric.json" "$scratch/one.json" "$scratch/cutoff.csv"

# The CSV of curves: a row for each pressure and speed, under the keys of the JSON.
cat >"$scratch/curves.py" <<'END_OF_FILE'
import csv, json, sys
answer, rows = json.load(open(sys.argv[1])), list(csv.reader(open(sys.argv[2], newline="")))
points = answer["points"]
assert len(answer["curves"]) == 2 and len(points) == 40 and len(rows) == 1 + 40
assert rows[0] == ["machine"] + list(points[0])
for row, point in zip(rows[1:], points):
    assert row[0] == answer["machine"]
    for text, value in zip(row[1:], point.values()):
        assert text == "" if value is None else float(text) == value, (text, value)
pressures = [c["supply_pressure_pa"] for c in answer["curves"]]
assert [p["supply_pressure_pa"] for p in points] == [p for p in pressures for _ in range(20)]
assert abs(pressures[0] - 399181.2966) < 1e-3 and abs(pressures[1] - 599181.2966) < 1e-3
speeds = [p["speed_rpm"] for p in points[:20]]
assert speeds == sorted(speeds) == [p["speed_rpm"] for p in points[20:]]
for curve in answer["curves"]:
    own = [p for p in points if p["supply_pressure_pa"] == curve["supply_pressure_pa"]]
    free = curve["no_load_speed_rpm"]
    assert speeds[0] < free < speeds[-1]
    assert all((p["mean_torque_nm"] > 0) == (p["speed_rpm"] < free) for p in own)
    assert all(p["power_w"] <= curve["best_power_w"] * (1 + 1e-9) for p in own)
END_OF_FILE
holds 'the curves are not right' $python "$scratch/curves.py" "$scratch/curves.json" "$scratch/curves.csv"

# The CSV of a revolution: both ends by rising angle, and the work is that of the JSON at its end.
keep turn.csv cycle --speed '120 rpm' --csv "$trolley"
cat >"$scratch/turn.py" <<'END_OF_FILE'
import csv, json, sys
ends = json.load(open(sys.argv[1]))["result"]["ends"]
rows = list(csv.DictReader(open(sys.argv[2], newline="")))
angles = [float(row["angle_deg"]) for row in rows]
assert angles == sorted(angles) and angles[0] == 0 and angles[-1] == 360
for end, figures in ends.items():
    own = [{k: float(v) for k, v in row.items() if k != "end"} for row in rows if row["end"] == end]
    assert len(own) > 50 and own[0]["angle_deg"] == 0 and own[-1]["angle_deg"] == 360
    assert abs(own[-1]["indicated_work_j"] - figures["indicated_work_j"]) <= 1e-9 * figures["indicated_work_j"]
    work = sum((a["pressure_pa"] + b["pressure_pa"]) / 2 * (b["volume_m3"] - a["volume_m3"]) for a, b in zip(own, own[1:]))
    assert abs(work - figures["indicated_work_j"]) < 0.01 * work
END_OF_FILE
holds 'the revolution is not right' $python "$scratch/turn.py" "$scratch/as-timed.json" "$scratch/turn.csv"

# When to switch: the event less speed times delay; an angle that is one of switching stays.
cat >"$scratch/switch.py" <<'END_OF_FILE'
import json, sys
answer, switching = json.load(open(sys.argv[1])), sys.argv[2] == "switching"
rpm = 240
delay = dict(zip(("inlet_on", "inlet_off", "exhaust_on", "exhaust_off"), (4e-3, 5e-3, 6e-3, 7e-3)))
event = dict(zip(delay, ("inlet_opens_deg", "cutoff_deg", "release_deg", "exhaust_closes_deg")))
choice = answer["choices"]["atmospheric"]
assert choice["found"]
for end in "cap", "rod":
    for key in delay:
        wanted = choice["ends"][end][event[key]]
        if not switching or key == "inlet_off":
            wanted -= 6 * rpm * delay[key]
        assert abs(answer["switching"][end][key + "_deg"] - wanted) < 1e-9, (end, key)
END_OF_FILE
for mean in events switching; do
  run cutoff --speed '240 rpm' --json --set "timing.angles mean=$mean" \
    --set 'inlet valve.on delay=4 ms' --set 'inlet valve.off delay=5 ms' \
    --set 'exhaust valve.on delay=6 ms' --set 'exhaust valve.off delay=7 ms' "$trolley"
  ends 0
  holds 'other angles of switching' $python "$scratch/switch.py" "$out" $mean
done
run cutoff --speed '120 rpm' "$trolley"
answers 'Switch, for atmospheric release    cap end    rod end'
answers '  inlet on                        -9.5 deg   -9.5 deg'
run cutoff --speed '120 rpm' "$launch"
never 'Switch'

# The same answer every time, for any number of threads.
for form in '' --json --csv; do
  for threads in 1 4 4; do
    OMP_NUM_THREADS=$threads
    export OMP_NUM_THREADS
    # shellcheck disable=SC2086 # no word, or one
    run curves --points 30 --pressure '2 bar gauge' --pressure '3.6 bar gauge' \
      --pressure '6 bar gauge' $form "$trolley"
    ends 0
    [ $threads -eq 1 ] && cp "$out" "$scratch/one-thread"
    same "$out" "$scratch/one-thread"
  done
done
unset OMP_NUM_THREADS
for form in '' --json --csv; do
  # shellcheck disable=SC2086 # no word, or one
  keep first cutoff --speed '200 rpm' $form "$trolley"
  # shellcheck disable=SC2086
  run cutoff --speed '200 rpm' $form "$trolley"
  same "$out" "$scratch/first"
done

# The notes: no line is too long, nothing is no number, and no unit of the other style stands outside
# brackets.
cat >"$scratch/note.py" <<'END_OF_FILE'
import re, sys
text, style = open(sys.argv[1]).read(), sys.argv[2]
for line in text.splitlines():
    assert len(line) <= 79, line
    assert line == line.rstrip() and line.isascii(), repr(line)
    assert not re.search(r"(?i)\b(nan|inf)\b", line), line
    assert not re.search(r"-0(\.0+)?(?![\d.])", line), line
assert "%!" not in text and "  ." not in text and ",," not in text
outside, before = text, None
while before != outside:
    before, outside = outside, re.sub(r"\([^()]*\)", "", outside)
metric = r"\b(bar|degC|N m|J|L|W|mm|cm3|m/s|kg|hPa)\b"
inch = r"\b(psi|psig|psia|degF|lb|lbf|ft|cu|hp)\b|\d in\b"
found = re.search(metric if style == "inch" else inch, outside)
assert not found, outside[max(0, found.start() - 60):found.end() + 20]
END_OF_FILE
for machine in trolley launch pump organ; do
  file=$here/data/machines/$machine.ini
  for units in metric inch; do
    for command in 'cutoff --speed 120rpm' 'cycle --speed 120rpm' 'cycle --speed 3rpm' \
      'cutoff --speed 2500rpm' 'cycle --speed 3000rpm' 'curves --points 12'; do
      # shellcheck disable=SC2086 # several words
      run $command --units $units "$file"
      case $command in
      *2500rpm) ;; # some have no answer there
      *) ends 0 ;;
      esac
      holds 'the note is not right' $python "$scratch/note.py" "$out" $units
    done
  done
done

# What it says.
run cutoff --speed '120 rpm' "$trolley"
answers 'At 120 rpm, with flow, heat, leakage and friction as in the file'
answers 'What takes work away (atmospheric release)'
answers '  flow through the inlet '
answers '  heat from the walls '
never '  leakage '
never '  valves that follow late '
answers 'of the slow work:'
run cutoff --speed '120 rpm' --set 'timing.angles mean=switching' \
  --set 'cylinder.leakage=0.01 L/(s bar)' "$trolley"
answers '  leakage '
answers '  valves that follow late '
run cycle --speed '120 rpm' "$pump"
answers 'Timing: that of the file, its cut-off that of the slow cycle for release at'
run cycle --speed '120 rpm' --units inch "$pump"
answers 'a Cv of '
run cycle --speed '400 rpm' "$trolley"
answers 'limit of 1.00 m/s'
run cycle --speed '400 rpm' --units inch "$trolley"
answers ' 4.37 ft/s (1.33 m/s)'
run curves --points 12 "$organ"
answers '  at the load'
answers 'the torque has come down to the 1.50 N m asked'
run curves --points 12 "$pump"
never 'at the load'
run curves --from '100 rpm' --to '300 rpm' --points 3 "$trolley"
answers 'under 100'

finish 266
