#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# lastbar table: its figures are those of cutoff, its C header compiles without a word and holds them,
# too, and what cannot be is refused.
# shellcheck source=tests/cli/support.sh disable=SC2016
. "$LASTBAR_SOURCE/tests/cli/support.sh"

CC=${CC:-cc}
CXX=${CXX:-c++}
python=/usr/bin/python3
command -v $python >/dev/null || { echo "$python is not there (Debian: python3)" && exit 1; }

# holds WHAT COMMAND...: a condition about the last run.
holds() {
  what=$1
  shift
  looked=$((looked + 1))
  "$@" || wrong "$what"
}

# What cannot be.
run table --by speed --speed '120 rpm' "$trolley"
refused 2 "lastbar: table: --speed is that of a table by pressure; with --by speed write --from and --to, such as --from '30 rpm' --to '300 rpm'; try: lastbar table --help"
run table --by turns "$trolley"
refused 2 "lastbar: table: --by: 'turns' is not one of pressure, speed; try: lastbar table --help"
run table --by speed --from '2 bar gauge' "$trolley"
ends 2
says "lastbar: table: --from: '2 bar gauge' is a pressure, not a rotational speed"
run table --by speed --to '0 rpm' "$trolley"
refused 2 "lastbar: table: --to: '0 rpm' is no speed of a crank; write one up to 10000 rpm, such as '120 rpm'; try: lastbar table --help"
run table --by speed --from '300 rpm' --to '30 rpm' "$trolley"
refused 2 "lastbar: $trolley: a range from 300 to 30 rpm is none; its lower end must be below its upper end"
grep -v '^conductance' "$trolley" >"$scratch/slow.ini"
run table --by speed "$scratch/slow.ini"
ends 2
no_answer
says "lastbar: $scratch/slow.ini: [inlet valve] has no conductance, so that nothing is known of the cycle at speed"
run table --by speed --to '100 rpm' --set 'inlet valve.off delay=1000 ms' "$trolley"
ends 1
no_answer
says "lastbar: $trolley: at 10 rpm the valves cannot follow their signals in any row; 7.9 rpm or less would do"
run table --by speed --from '20.55 rpm' --to '100 rpm' --c-header x "$trolley"
ends 1
no_answer
says "lastbar: $trolley: the row at 20.55 rpm is no whole tenth of 1 rpm, in which a C header has its speeds"
run table --speed '0 rpm' "$trolley"
refused 2 "lastbar: table: --speed: '0 rpm' is no speed of a crank; write one up to 10000 rpm, such as '120 rpm'; try: lastbar table --help"
run table --speed 120 "$trolley"
ends 2
says "lastbar: table: --speed: '120' has no unit"
run table --from '3 bar' "$trolley"
ends 2
says "lastbar: table: --from: "
says 'gauge'
run table --to '-2 bar gauge' "$trolley"
ends 2
says "lastbar: table: --to: '-2 bar gauge' lies below vacuum; "
run table --to '200 bar gauge' "$trolley"
ends 2
says "lastbar: table: --to: '200 bar gauge' is too large; a supply has between 0.01 and 100 bar absolute"
run table --from '5 bar gauge' --to '3 bar gauge' "$trolley"
refused 2 "lastbar: $trolley: a range from 5 to 3 bar gauge (72.52 to 43.51 psig) is none; its lower end must be below its upper end"
for prefix in 9x a-b '' _x "a$(printf '%031d' 0)"; do
  run table --c-header "$prefix" "$trolley"
  refused 2 "lastbar: table: --c-header: '$prefix' cannot begin a name in C; write a letter, then letters, digits and underscores, 31 at most; try: lastbar table --help"
done
run table --c-header x --json "$trolley"
refused 2 'lastbar: table: --c-header and --json exclude each other; try: lastbar table --help'
run table --c-header x --csv "$trolley"
refused 2 'lastbar: table: --c-header and --csv exclude each other; try: lastbar table --help'
run table --speed '5000 rpm' "$trolley"
ends 1
no_answer
says "lastbar: $trolley: at 5000 rpm the valves cannot follow their signals in any row; 2"
run table --speed '10000 rpm' "$trolley"
ends 1
no_answer
says "lastbar: $trolley: at 10000 rpm the valves cannot follow their signals in any row; 2"
run table --from '-0.5 bar gauge' --to '-0.1 bar gauge' "$trolley"
ends 1
no_answer
says "lastbar: $trolley: no cut-off at any supply pressure of the range: the supply of "
run table --from '-0.1 bar gauge' --to '0.1 bar gauge' "$trolley"
ends 0
answers 'Below this range there is no cut-off: the supply of '

# In every row of every demo machine the CSV and JSON agree; at the machine's own supply
# all say what cutoff says, to the last digit.
cat >"$scratch/agree.py" <<'END'
import csv, json, sys
answer, table = json.load(open(sys.argv[1])), json.load(open(sys.argv[2]))
rows, rule = list(csv.DictReader(open(sys.argv[3], newline=""))), sys.argv[4]
choice = answer["choices"][rule]
own = [row for row in table["rows"] if row["own_supply"]]
assert len(own) == (1 if choice["found"] else 0), len(own)
for row in own:
    assert row["supply_pressure_pa"] == answer["supply"]["pressure_pa"]
    for end, figures in row["ends"].items():
        wanted = choice["ends"][end]
        if figures is None:
            assert wanted is None
            continue
        for key in ("cutoff_deg", "cutoff_stroke_fraction"):
            assert figures[key] == wanted[key], (end, key, figures[key], wanted[key])
flat = [(row, end, figures) for row in table["rows"] for end, figures in row["ends"].items() if figures]
assert len(flat) == len(rows) > 4
for (row, end, figures), line in zip(flat, rows):
    assert line["end"] == end
    for key, value in {**row, **figures}.items():
        if key != "ends":
            text = line[key]
            same = text == "" if value is None else (
                text == str(value).lower() if isinstance(value, bool) else float(text) == value)
            assert same, (key, text, value)
pressures = [row["supply_pressure_pa"] for row in table["rows"]]
assert pressures == sorted(set(pressures))
assert 0 < table["interpolation_error_deg"] < 0.1
print(len(rows))
END
for machine in trolley pump launch tractor organ; do
  file=$here/data/machines/$machine.ini
  for rule in atmospheric economy; do
    run cutoff --rule $rule --json "$file"
    ends 0
    cp "$out" "$scratch/cutoff.json"
    run table --rule $rule --speed '60 rpm' --json "$file"
    ends 0
    no_message
    cp "$out" "$scratch/table.json"
    run table --rule $rule --speed '60 rpm' --csv "$file"
    ends 0
    cp "$out" "$scratch/table.csv"
    holds 'cutoff, JSON and CSV disagree' $python "$scratch/agree.py" "$scratch/cutoff.json" \
      "$scratch/table.json" "$scratch/table.csv" $rule >"$scratch/count"
    run table --rule $rule --speed '60 rpm' "$file"
    ends 0
    no_message
    answers 'Between two rows interpolate linearly in the gauge pressure: the error is at'
    holds 'a line is too long' awk 'length($0) > 79 { long = 1 } END { exit long }' "$out"
  done
done

# The note has the figures of the CSV, to the digits it shows: both tables of both ends, a row that the
# valves cannot follow among them.
cat >"$scratch/note.py" <<'END'
import csv, json, sys
note, rows = open(sys.argv[1]).read(), list(csv.DictReader(open(sys.argv[2], newline="")))
ambient = json.load(open(sys.argv[3]))["surroundings"]["pressure_pa"]
unit = 6894.757293168 if sys.argv[4] == "inch" else 1e5
seen = no = 0
def near(text, exact):
    decimals = len(text.partition(".")[2])
    assert abs(float(text) - exact) <= 0.5001 * 10.0**-decimals, (text, exact)
for end in "cap", "rod":
    own = [row for row in rows if row["end"] == end]
    for begin, columns in (
        (end.title() + " end\n", ["cutoff_deg", "%cutoff_stroke_fraction", "%cutoff_turn_fraction", "cutoff_count",
                                  "cutoff_rounding_deg", "cutoff_us"]),
        (end.title() + " end: when", ["inlet_on_deg", "inlet_on_count", "inlet_off_deg", "inlet_off_count",
                                      "exhaust_on_deg", "exhaust_on_count", "exhaust_off_deg", "exhaust_off_count"]),
    ):
        lines = note.split("\n" + begin)[1].split("\n\n")[0].splitlines()
        lines = [line for line in lines if line.replace(">", " ").strip()[:1].isdigit()]
        assert len(lines) == len(own) > 4, (begin, len(lines), len(own))
        for line, row in zip(lines, own):
            assert line.lstrip().startswith(">") == (row["own_supply"] == "true")
            cells = line.replace(">", " ").replace("%", " ").split()
            pressure = float(row["supply_pressure_pa"])
            near(cells.pop(0), (pressure - ambient) / unit)
            if "when" in begin:
                if cells[-1] == "no":
                    cells.pop()
                    cells[-1] = cells[-1].rstrip(":")
                    no += 1
                    assert row["can_follow"] == "false"
                else:
                    assert row["can_follow"] == "true"
                assert int(cells.pop()) == int(float(row["greatest_speed_rpm"]) + 1e-9)
            else:
                near(cells.pop(0), pressure / unit)
            assert len(cells) == len(columns)
            for cell, column in zip(cells, columns):
                near(cell, float(row[column.lstrip("%")]) * (100 if column[0] == "%" else 1))
                seen += 1
assert seen == 14 * len(rows) and no > 0, (seen, no)
END
for units in metric inch; do
  run table --units $units --speed '700 rpm' --json "$trolley"
  ends 0
  cp "$out" "$scratch/table.json"
  run table --units $units --speed '700 rpm' --csv "$trolley"
  ends 0
  cp "$out" "$scratch/table.csv"
  run table --units $units --speed '700 rpm' "$trolley"
  ends 0
  holds 'note and CSV disagree' $python "$scratch/note.py" "$out" "$scratch/table.csv" "$scratch/table.json" $units
done

# As timed: the same at every pressure.
run table --rule as-timed --csv "$trolley"
ends 0
holds 'not 78 deg throughout' awk -F, '
  NR == 1 { for (i = 1; i <= NF; i++) if ($i == "cutoff_deg") column = i }
  NR > 1 { count++; if ($column != 78.0) wrong = 1 }
  END { exit wrong || count < 4 }' "$out"

# The range asked for; its ends are rows.
run table --from '2 bar gauge' --to '4 bar gauge' "$trolley"
ends 0
answers '    2.000  '
answers '    4.000  '
never '      1.9'
run table --units inch --from '30 psig' --to '60 psig' "$launch"
ends 0
answers 'psi gauge'
answers '    30.00  '
answers '    60.00  '

# The machine's own supply is a row wherever it has a cut-off, and it is said where it has none.
for supply in 0.15 12 3.59906; do
  run table --set "supply.pressure=$supply bar gauge" "$trolley"
  ends 0
  looked=$((looked + 1))
  [ "$(grep -c "> *$supply" "$out")" -eq 2 ] || wrong 'the own supply is not marked at both ends'
done
# 3.6 bar are 52.21359 psi; other rows are no longer for it.
run table --units inch "$trolley"
ends 0
answers '> 52.21359  '
answers '     51.00  '
run table --speed '90.5 rpm' "$trolley"
ends 0
answers 'late at 90.5 rpm (6 x rpm'
run table --set 'supply.pressure=-0.1 bar gauge' "$trolley"
ends 0
answers "The machine's own supply is"

# Pressures are printed in full where rows lie close.
run table --from '0.01 bar gauge' --to '0.1 bar gauge' "$trolley"
ends 0
answers '  0.0125'

# Where an end has no cut-off any more the table stops and says why.
run table --from '1 bar gauge' --to '60 bar gauge' --set 'cylinder.rated pressure=100 bar gauge' "$trolley"
ends 0
answers 'Above this range there is no cut-off: '

# The C header: compiled by both languages with all warnings as errors, in two files at once, used and
# unused.
run table --speed '120 rpm' --c-header trolley "$trolley"
ends 0
no_message
cp "$out" "$scratch/trolley_table.h"
cd "$scratch"
cat >unused.c <<'END'
#include "trolley_table.h"
#include "trolley_table.h"
int unused(void);
int unused(void) { return 0; }
END
cat >print.c <<'END'
#include "trolley_table.h"
#include <stdio.h>
int unused(void);
#define SHOW(array) printf("%s %u\n", #array, (unsigned)array[i])
int main(void) {
  unsigned i;
  for (i = 0; i < TROLLEY_ROWS; i++) {
    SHOW(trolley_supply_mbar_absolute);
    SHOW(trolley_cap_cutoff_deg_100);
    SHOW(trolley_cap_cutoff_count);
    SHOW(trolley_cap_inlet_on_deg_100);
    SHOW(trolley_cap_inlet_on_count);
    SHOW(trolley_cap_inlet_off_deg_100);
    SHOW(trolley_cap_exhaust_on_deg_100);
    SHOW(trolley_cap_exhaust_off_deg_100);
    SHOW(trolley_rod_cutoff_deg_100);
    SHOW(trolley_rod_inlet_off_count);
    SHOW(trolley_rod_exhaust_off_count);
    SHOW(trolley_greatest_rpm);
  }
  printf("counts %u rpm %u\n", (unsigned)TROLLEY_COUNTS, (unsigned)TROLLEY_RPM);
  return unused();
}
END
strict='-Wall -Wextra -Wpedantic -Wconversion -Wunused -Werror'
last="$CC of the C header"
status=0
: >"$out"
# shellcheck disable=SC2086 # a compiler with its options, and a list of those
{
  $CC -std=c99 $strict -c unused.c -o unused.o && $CC -std=c99 $strict print.c unused.o -o print_c
} >"$err" 2>&1 || status=$?
ends 0
no_message
for source in unused print; do
  cp $source.c $source.cc
done
last="$CXX of the C header"
# shellcheck disable=SC2086
{
  $CXX $strict -c unused.cc -o unused_cc.o && $CXX $strict print.cc unused_cc.o -o print_cc
} >"$err" 2>&1 || status=$?
ends 0
no_message
./print_c >c.txt
./print_cc >cc.txt
same c.txt cc.txt
# Each row is what cutoff says at that very pressure. The rest is reckoned from the trolley's file: dead
# centres 180 deg apart, four counts a degree, 6 x 120 rpm x 9 ms = 6.48 deg on and 7.92 deg off.
cat >header.py <<'END'
import json, math, subprocess, sys
program, machine = sys.argv[1:]
found = [line.split() for line in open("c.txt")]
assert found.pop() == ["counts", "1440", "rpm", "120"]
rows = [dict(found[i : i + 12]) for i in range(0, len(found), 12)]
assert len(rows) > 20 and all(len(row) == 12 for row in rows)
rows = [{name.removeprefix("trolley_"): int(value) for name, value in row.items()} for row in rows]
pressures = [row["supply_mbar_absolute"] for row in rows]
assert pressures == sorted(set(pressures)) and 4592 in pressures
seen = 0
for row in rows:
    supply = "supply.pressure=%d hPa absolute" % row["supply_mbar_absolute"]
    text = subprocess.run([program, "cutoff", "--json", "--set", supply, machine], stdout=subprocess.PIPE, check=True)
    ends = json.loads(text.stdout)["choices"]["atmospheric"]["ends"]
    cap, rod = ends["cap"]["cutoff_deg"], ends["rod"]["cutoff_deg"]
    wanted = {
        "supply_mbar_absolute": row["supply_mbar_absolute"],
        "cap_cutoff_deg_100": 100 * cap,
        "cap_cutoff_count": 4 * cap,
        "cap_inlet_on_deg_100": 100 * (360 - 3 - 6.48),
        "cap_inlet_on_count": 4 * (360 - 3 - 6.48),
        "cap_inlet_off_deg_100": 100 * (cap - 7.92),
        "cap_exhaust_on_deg_100": 100 * (172 - 6.48),
        "cap_exhaust_off_deg_100": 100 * (346 - 7.92),
        "rod_cutoff_deg_100": 100 * rod,
        "rod_inlet_off_count": 4 * (180 + rod - 7.92),
        "rod_exhaust_off_count": 4 * (180 + 346 - 7.92 - 360),
        "greatest_rpm": math.floor((min(cap, rod) + 3) / 6 / 0.011) + 0.0,
    }
    for name, value in row.items():
        assert abs(value - wanted[name]) <= 0.5 + 1e-6, (name, value, wanted[name])
        assert 0 <= value <= 65535
        seen += 1
assert seen == len(found)
END
last='the C header against cutoff'
holds 'they disagree' $python header.py "$LASTBAR" "$trolley"
cd "$here"

# A speed that is not whole stays what it is; rows that valves cannot follow are pointed out.
run table --speed '90.5 rpm' --c-header x "$trolley"
answers '#define X_RPM 90.5 '
never 'cannot follow:'
run table --speed '700 rpm' --c-header x "$trolley"
answers 'In rows whose greatest speed is below X_RPM the valves cannot follow: do not use'

# Nor can what people would read otherwise than a compiler: a mark that turns the direction of reading.
mark=$(printf '\342\200\256')
run table --c-header x --set "machine.name=a *$mark/ b" "$trolley"
ends 0
never "$mark"
answers 'Machine: a * / b'

# What names a machine may have cannot end a comment, and what was changed is said.
run table --c-header x --set 'machine.name=a */ int b; /* ??/ é' --set 'supply.pressure=4 bar gauge' "$trolley"
ends 0
answers 'Machine: a * / int b; / * ? ?/ é'
answers 'Changed there: machine.name=a * / int b; / * ? ?/ é; supply.pressure=4 bar gauge'
answers 'CRC-32'
cp "$out" "$scratch/x.h"
printf '#include "x.h"\nint none(void);\nint none(void) { return 0; }\n' >"$scratch/x.c"
last="$CC of a hostile name"
status=0
# shellcheck disable=SC2086
$CC -std=c99 $strict -trigraphs -c "$scratch/x.c" -o "$scratch/x.o" >"$out" 2>"$err" || status=$?
ends 0
no_message

# By speed: in each row the angles are those that cutoff gives at that speed; JSON, CSV and note agree;
# and valves are switched ahead by 6 x rpm x 9 ms on, 11 ms off.
cat >"$scratch/speeds.py" <<'END'
import csv, json, subprocess, sys
program, machine, rule, places = sys.argv[1], sys.argv[2], sys.argv[3], sys.argv[4:]
table, note = json.load(open(places[0])), open(places[2]).read()
lines = list(csv.DictReader(open(places[1], newline="")))
assert table["by"] == "speed" and table["rule"] == rule
# a best cut-off is found to 1e-3 rad, another to 1e-6 rad at worst
angle, share = (0.06, 1e-3) if rule == "economy" else (1e-4, 1e-6)
speeds = [row["speed_rpm"] for row in table["rows"]]
assert speeds == sorted(set(speeds)) and len(speeds) > 4
assert 0 < table["interpolation_error_deg"] < 0.2
assert len(lines) == 2 * len(speeds)
torques = note.split("Work after friction, and air\n")[1].splitlines()[2:]
for i, row in enumerate(table["rows"]):
    text = subprocess.run([program, "cutoff", "--rule", rule, "--json", "--speed", "%r rpm" % row["speed_rpm"], machine],
                          stdout=subprocess.PIPE, check=True)
    choice = json.loads(text.stdout)["choices"][rule]
    for key in "work_per_rev_j", "air_per_rev_kg", "mean_torque_nm":
        assert abs(row[key] - choice[key]) <= share * abs(choice[key]), (key, row[key], choice[key])
    assert abs(float(torques[i].split()[1]) - row["mean_torque_nm"]) < 0.0051
    for k, (end, figures) in enumerate(row["ends"].items()):
        line = lines[2 * i + k]
        assert line["end"] == end and float(line["speed_rpm"]) == row["speed_rpm"]
        assert abs(figures["cutoff_deg"] - choice["ends"][end]["cutoff_deg"]) < angle
        turn = 6 * row["speed_rpm"]
        wanted = {"inlet_on_deg": -3 - turn * 0.009, "inlet_off_deg": figures["cutoff_deg"] - turn * 0.011,
                  "exhaust_on_deg": 172 - turn * 0.009, "exhaust_off_deg": 346 - turn * 0.011,
                  "cutoff_us": figures["cutoff_deg"] / turn * 1e6}
        for key, value in wanted.items():
            assert abs(figures[key] - value) <= 1e-9 * (1 + abs(value)), (key, figures[key], value)
        for key, value in figures.items():
            assert float(line[key]) == value
    least = min(figures["cutoff_deg"] + 3 for figures in row["ends"].values())
    assert abs(row["greatest_speed_rpm"] - least / 6 / 0.011) < 1e-6 * row["greatest_speed_rpm"]
    assert row["can_follow"] == (row["speed_rpm"] <= row["greatest_speed_rpm"])
END
for rule in atmospheric economy; do
  for form in json csv text; do
    set -- "--$form"
    [ "$form" != text ] || set --
    run table --by speed --rule $rule --from '50 rpm' --to '150 rpm' "$@" "$trolley"
    ends 0
    no_message
    cp "$out" "$scratch/speeds.$form"
  done
  answers 'Between two rows interpolate linearly in the speed: the error is about'
  answers 'The valves can follow in every row.'
  holds 'a line is too long' awk 'length($0) > 79 { long = 1 } END { exit long }' "$out"
  holds 'cutoff and the table by speed disagree' $python "$scratch/speeds.py" "$LASTBAR" "$trolley" $rule \
    "$scratch/speeds.json" "$scratch/speeds.csv" "$scratch/speeds.text"
done

# As timed, with angles that are those of signals: they are what is switched.
run table --by speed --rule as-timed --from '50 rpm' --to '60 rpm' --csv \
  --set 'timing.angles mean=switching' "$trolley"
ends 0
holds 'not switched at 78 deg' awk -F, '
  NR == 1 { for (i = 1; i <= NF; i++) if ($i == "inlet_off_deg") column = i }
  NR > 1 { count++; if (($column - 78) ^ 2 > 1e-18) wrong = 1 }
  END { exit wrong || count < 4 }' "$out"

# Where the valves follow up to some speed it is said: 6 x rpm x 50 ms = cut-off + 3 deg.
run table --by speed --json --set 'inlet valve.off delay=50 ms' "$trolley"
ends 0
cat >"$scratch/follow.py" <<'END'
import json, sys
table = json.load(open(sys.argv[1]))
speed, rows = table["greatest_speed_rpm"], table["rows"]
assert any(not row["can_follow"] for row in rows)
for a, b in zip(rows, rows[1:]):
    if a["speed_rpm"] <= speed < b["speed_rpm"]:
        share = (speed - a["speed_rpm"]) / (b["speed_rpm"] - a["speed_rpm"])
        cutoff = min(a["ends"][end]["cutoff_deg"] * (1 - share) + b["ends"][end]["cutoff_deg"] * share for end in a["ends"])
        assert abs(6 * speed * 0.05 - cutoff - 3) < 1e-6, (speed, cutoff)
        assert a["can_follow"] and not b["can_follow"]
        sys.exit(0)
sys.exit(1)
END
holds 'the speed valves follow to is wrong' $python "$scratch/follow.py" "$out"

# The range ends where there is no work any more.
run table --by speed --rule economy --from '350 rpm' --to '600 rpm' --set 'supply.pressure=2 bar gauge' "$trolley"
ends 1
says "lastbar: $trolley: no cut-off at any speed of the range: at 350 rpm throttling, back pressure and friction"

# The C header by speed compiles and has the figures of the CSV.
run table --by speed --from '50 rpm' --to '150 rpm' --c-header speeds "$trolley"
ends 0
no_message
never 'RPM'
cp "$out" "$scratch/speeds_table.h"
run table --by speed --from '50 rpm' --to '150 rpm' --csv "$trolley"
ends 0
cat >"$scratch/speeds.c" <<'END'
#include "speeds_table.h"
#include <stdio.h>
int main(void) {
  unsigned i;
  for (i = 0; i < SPEEDS_ROWS; i++)
    printf("%u %u %u %u\n", (unsigned)speeds_speed_rpm_10[i], (unsigned)speeds_cap_cutoff_deg_100[i],
           (unsigned)speeds_cap_inlet_off_deg_100[i], (unsigned)speeds_greatest_rpm[i]);
  return 0;
}
END
cat >"$scratch/speeds_c.py" <<'END'
import csv, math, sys
found = [[int(word) for word in line.split()] for line in open(sys.argv[1])]
rows = [row for row in csv.DictReader(open(sys.argv[2], newline="")) if row["end"] == "cap"]
assert len(found) == len(rows) > 4
for numbers, row in zip(found, rows):
    exact = [10 * float(row["speed_rpm"]), 100 * float(row["cutoff_deg"]), 100 * float(row["inlet_off_deg"])]
    assert abs(numbers[0] - exact[0]) < 1e-6
    assert all(abs(n - x) <= 0.5 + 1e-6 for n, x in zip(numbers, exact))
    assert numbers[3] == math.floor(float(row["greatest_speed_rpm"]))
END
# shellcheck disable=SC2086
holds 'the C header by speed does not compile' $CC -std=c99 -Wall -Wextra -Wpedantic -Wconversion -Werror \
  -Wno-unused-variable "$scratch/speeds.c" -o "$scratch/speeds_c"
"$scratch/speeds_c" >"$scratch/speeds_c.txt"
holds 'the C header by speed has other figures' $python "$scratch/speeds_c.py" "$scratch/speeds_c.txt" "$out"

finish 247
