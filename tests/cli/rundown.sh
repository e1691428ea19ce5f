#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# lastbar rundown: how it ends, what it asks for, that the note reads well, that JSON and CSV are
# whole and agree, and that figures fit together.
# shellcheck source=tests/cli/support.sh disable=SC2016
. "$LASTBAR_SOURCE/tests/cli/support.sh"

python=/usr/bin/python3
command -v $python >/dev/null || { echo "$python is not there (Debian: python3)" && exit 1; }

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

bare=$scratch/bare.ini
cat >"$bare" <<'END_OF_FILE'
[machine]
name = cart
[surroundings]
humidity = 50 %
[supply]
pressure = 4 bar gauge
[cylinder]
acting = cap end
bore = 50 mm
stroke = 100 mm
dead volume cap end = 16 cm3
friction = 10 N
[timing]
cut-off = 80 deg
[linkage]
kind = yoke
END_OF_FILE
store=$scratch/store.ini
cp "$bare" "$store"
cat >>"$store" <<'END_OF_FILE'
[store]
volume = 20 L
start pressure = 9 bar gauge
END_OF_FILE
cart=$scratch/cart.ini
cp "$store" "$cart"
cat >>"$cart" <<'END_OF_FILE'
[load]
mass = 120 kg
rolling resistance = 0.02
drag area = 0.5 m2
wheel diameter = 400 mm
coasting = freewheel
END_OF_FILE
winch=$scratch/winch.ini
cp "$store" "$winch"
cat >>"$winch" <<'END_OF_FILE'
[load]
torque = 3 N m
coasting = none
END_OF_FILE

# What has no store, or nothing to run it against.
run rundown "$bare"
refused 2 "lastbar: $bare: there is no [store] to run down, and no [load] to run the store down against; give its volume and start pressure, and the load's torque, or a vehicle's mass and wheel diameter"
run rundown "$store"
refused 2 "lastbar: $store: there is no [load] to run the store down against; give the load's torque, or a vehicle's mass and wheel diameter"

# What takes time asks for a speed.
for set in 'store.leakage=0.01 L/(s bar)' 'store.heat=20 min' 'regulator.droop=0.1 bar/(L/s)'; do
  run rundown --set "$set" "$winch"
  ends 2
  no_answer
  says "give a speed, e.g. --speed '120 rpm'"
done
run rundown --speed 120 "$winch"
ends 2
says "lastbar: rundown: --speed: '120' has no unit"
run rundown --speed '0 rpm' "$winch"
refused 2 "lastbar: rundown: --speed: '0 rpm' is no speed of a crank; write one up to 10000 rpm, such as '120 rpm'; try: lastbar rundown --help"
run rundown --speed '120 rpm' "$winch"
ends 2
says '[inlet valve] has no conductance'
run rundown --json --csv "$winch"
refused 2 'lastbar: rundown: --json and --csv exclude each other; try: lastbar rundown --help'
run rundown
refused 2 'lastbar: rundown: no FILE given; try: lastbar rundown --help'

# What has no answer says so, and what would make one.
run rundown --set 'load.torque=200 N m' "$winch"
ends 1
no_answer
says 'no plan turns the load of 200 N m'
says 'would'
run rundown --set 'load.gradient=-30 %' "$cart"
ends 1
no_answer
says 'the load drives the machine'
run rundown --set 'load.gradient=80 %' "$cart"
ends 1
no_answer
says 'no plan turns the load'

# What is too fast for its valves is told so; air of 200 bar is no ideal gas in any cylinder, and a
# store that cools beyond what is known of air says how far it came.
run rundown --speed '600 rpm' "$here/data/machines/trolley.ini"
ends 1
no_answer
says 'at 600 rpm, though slowly the store would; a lower speed'
run rundown --json --set 'store.start pressure=200 bar gauge' "$winch"
ends 0
answers 'without a rated pressure may be taken to bear, 10.00 bar gauge'
run rundown --json --set 'store.start pressure=200 bar gauge' \
  --set 'cylinder.rated pressure=300 bar gauge' "$winch"
ends 0
answers 'is above what air can be reckoned with in a cylinder, 98.99 bar gauge'
run rundown --set 'store.start pressure=300 bar gauge' --set 'store.marked pressure=300 bar gauge' \
  --set 'store.heat=adiabatic' "$here/data/machines/trolley.ini"
ends 1
says 'a lowest pressure above that would do, too'

# The note of a vehicle, and of a winch that does not coast.
run rundown "$cart"
ends 0
no_message
for words in 'Store 20.0 L at 9.00 bar gauge' ' rolling' 'drag and wind left out' '(freewheel)' \
  'The plans: ' 'How far it goes' ' with coasting' 'How much stays in the tank' 'Work after friction' \
  'Greatest force' 'The fixed steps' 'Where the worth of the air went' 'Least supply at the inlet' \
  ' further than ' 'Fixed timing: as timed in the file' 'drag'; do
  answers "$words"
done
holds 'a line of 80 columns or more' sh -c '! grep -q ".\{80\}" "$1"' - "$out"
cp "$out" "$scratch/cart.txt"
run rundown "$winch"
ends 0
no_message
answers 'No coasting: '
never 'with coasting'
never ' further than '
never ' km/h'
run rundown --units inch "$cart"
ends 0
answers 'psi gauge (145.2 psi absolute, 9.00 bar gauge)'
answers ' ft lbf '
answers 'at the wheel 5.29 lbf'
holds 'a line of 80 columns or more' sh -c '! grep -q ".\{80\}" "$1"' - "$out"
run rundown --rule atmospheric "$cart"
ends 0
answers 'Fixed timing: atmospheric release at the supply pressure'
run rundown --set 'store.start pressure=9 bar gauge' "$cart"
same "$out" "$scratch/cart.txt"
run rundown - "$cart"
ends 2
status=0
last='rundown -'
"$LASTBAR" rundown - <"$cart" >"$out" 2>"$err" || status=$?
ends 0
same "$out" "$scratch/cart.txt"

# A cylinder that does not bear the store's pressure is not run from it.
run rundown --set 'cylinder.rated pressure=6 bar gauge' "$cart"
ends 0
answers 'Not run, unregulated, '

# JSON is whole, fits together and agrees with CSV.
cat >"$scratch/look.py" <<'END_OF_FILE'
import csv, json, sys

answer = json.load(open(sys.argv[1]), parse_constant=lambda word: sys.exit(word + " in JSON"))
rows = list(csv.DictReader(open(sys.argv[2], newline="")))
coasts, vehicle = sys.argv[3] == "coasts", sys.argv[4] == "vehicle"

def look(fits, what):
    if not fits:
        sys.exit(what)

def near(one, other, tolerance):
    return abs(one - other) <= tolerance * max(abs(one), abs(other))

look(list(answer)[:3] == ["lastbar", "command", "machine"], "how it begins")
look(list(answer)[-1] == "warnings", "how it ends")
look(near(answer["store"]["volume_m3"], 0.02, 1e-12), "volume")
names = [(plan["plan"], plan["steps"]) for plan in answer["plans"]]
look(names == [("unregulated", None), ("regulated", None), ("regulated_best", None)] +
     [("stepped", k) for k in range(2, 7)] + [("following", None)], names)
for plan in answer["plans"]:
    look(plan["ran"], plan["why"])
    books = plan["exergy_lost_j"]
    parts = sum(books[key] for key in books if key not in ("start_worth_j", "end_worth_j"))
    look(near(parts, books["start_worth_j"] - books["end_worth_j"], 1e-4), "the books do not close")
    look(near(books["start_worth_j"], answer["store"]["worth_j"], 1e-12), "worth at the start")
    look(near(plan["air_used_kg"] + plan["air_left_kg"], answer["store"]["air_kg"], 1e-6), "air")
    look(near(plan["useful_work_j"], answer["load"]["work_per_rev_j"] * plan["revolutions"], 1e-9),
         "useful work")
    if not coasts:
        look(plan["revolutions"] == plan["powered_revolutions"], "coasts")
    look((plan["distance_m"] is not None) == vehicle, "distance")
    if vehicle:
        per_rev = answer["load"]["distance_per_rev_m"]
        look(near(plan["distance_m"], plan["revolutions"] * per_rev, 1e-9), "distance")
    look(plan["duration_s"] is None, "a time without a speed")
    look((plan["set_pressure_pa"] is not None) == plan["plan"].startswith("regulated"), "set to")
    course = plan["course"]
    look(len({len(course[key]) for key in course if course[key] is not None}) == 1, "course")
    look(course["rod_cutoff_deg"] is None, "an end that does not work")
    look(near(course["tank_pressure_pa"][0], answer["store"]["start_pressure_pa"], 1e-9), "start")
    look(near(course["tank_pressure_pa"][-1], plan["end_pressure_pa"], 1e-9), "end")
    look(near(course["revolutions"][-1], plan["revolutions"], 1e-9), "length of the course")
    if plan["plan"] == "stepped":
        positions = plan["positions"]
        look(1 <= len(positions) <= plan["steps"], "positions")
        for above, below in zip(positions, positions[1:]):
            look(above["to_pressure_pa"] == below["from_pressure_pa"], "gap between positions")
    else:
        look(plan["positions"] is None, "positions")

verdict = answer["verdict"]
by_name = {(plan["plan"], plan["steps"]): plan for plan in answer["plans"]}
winner = by_name[verdict["plan"], verdict["steps"]]
rival = by_name[verdict["rival_plan"], verdict["rival_steps"]]
look(winner["revolutions"] == max(plan["revolutions"] for plan in answer["plans"]), "winner")
look(near(verdict["margin_percent"], 100 * (winner["revolutions"] / rival["revolutions"] - 1), 1e-9),
     "margin")
look((rival["set_pressure_pa"] is None) != (winner["set_pressure_pa"] is None), "rival")

look(len(rows) == len(answer["plans"]), "rows")
for row, plan in zip(rows, answer["plans"]):
    flat = dict(plan, machine=answer["machine"], **plan["exergy_lost_j"])
    for end in "cap", "rod":
        flat[end + "_cutoff_deg"] = plan["cutoff_deg"][end]
    for key, cell in row.items():
        value = flat[key]
        if value is None:
            look(cell == "", key)
        elif isinstance(value, bool):
            look(cell == str(value).lower(), key)
        elif isinstance(value, str):
            look(cell == value, key)
        else:
            look(float(cell) == value, key)
END_OF_FILE
for case in cart:coasts:vehicle winch:none:none; do
  name=${case%%:*}
  words=$(echo "${case#*:}" | tr ':' ' ')
  run rundown --csv "$scratch/$name.ini"
  ends 0
  no_message
  cp "$out" "$scratch/$name.csv"
  run rundown --json "$scratch/$name.ini"
  ends 0
  no_message
  # shellcheck disable=SC2086 # two words
  holds 'JSON and CSV' $python "$scratch/look.py" "$out" "$scratch/$name.csv" $words
done

# Nothing is drawn where standard error is no terminal, which the runs above looked at, nor on a
# terminal after work of a moment.
if command -v script >/dev/null; then
  last='help, on a terminal'
  status=0
  script -qec "$LASTBAR rundown $bare 2>&1" /dev/null >"$out" 2>"$err" </dev/null || status=$?
  ends 2
  holds 'a bar' sh -c '! grep -q "%" "$1"' - "$out"
fi

finish 97
