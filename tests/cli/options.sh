#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every option of check and cutoff does what its help says.
# shellcheck source=tests/cli/support.sh
. "$LASTBAR_SOURCE/tests/cli/support.sh"

# Options may stand before and behind the file.
run cutoff --units inch "$launch"
ends 0
no_message
answers ' 1.5 x 2 in,'
answers 'psi gauge'
answers 'ft lbf'
cp "$out" "$scratch/before"
run cutoff "$launch" --units=inch
same "$out" "$scratch/before"
run cutoff --units metric "$launch"
answers ' 38.1 x 50.8 mm,'
cp "$out" "$scratch/metric"
run cutoff "$launch"
same "$out" "$scratch/metric"
run check --units inch "$pump"
answers '  through rod            0 in '

run cutoff --set 'supply.pressure=5 bar gauge' --set 'machine.name=A=B' "$trolley"
ends 0
no_message
answers 'A=B'
answers 'Supply 5.00 bar gauge'
run check --set 'supply.pressure=5 bar gauge' "$trolley"
answers '5 bar gauge'
answers 'command line'

run cutoff --expansion isothermal "$trolley"
ends 0
answers 'Slow cycle, isothermal'
answers '  atmospheric release   42.6 deg'
answers '  bound, adiabatic      59.8 deg'
run cutoff --expansion 1.25 "$pump"
answers 'Slow cycle, exponent 1.25'
answers '  bound, isothermal '
answers '  bound, adiabatic '
# It stands for the compression too, whether the file sets that apart (the trolley) or not.
for machine in "$trolley" "$pump"; do
  run check --expansion 1.2 --json "$machine"
  looked=$((looked + 1))
  [ "$(grep -c '"value": 1.2,' "$out")" -eq 2 ] || wrong 'the exponent is not there twice'
done
run cutoff --expansion 1.5 "$trolley"
refused 2 "lastbar: --expansion: [air] expansion: '1.5' is too large; the exponent lies between 1 (isothermal) and 1.42 (just beyond adiabatic)"
run cutoff --expansion cold "$trolley"
refused 2 "lastbar: --expansion: [air] expansion: 'cold' is not known; write adiabatic, isothermal or an exponent such as 1.25"

run cutoff --margin '0.2 bar' "$trolley"
ends 0
answers 'margin: release 0.20 bar above ambient'
answers '  released at, cap end         0.20 '
run cutoff --margin '0.2 bar' "$pump"
answers 'margin: release 0.20 bar above back pressure'
answers '  released at '
answers ' 0.28 '
run cutoff --margin '0 bar' "$trolley"
cp "$out" "$scratch/none"
run cutoff "$trolley"
same "$out" "$scratch/none"

# The rule decides the exit status and which timing is looked at closer; the rest stays.
sed -e '/^If the inlet shuts for /,$d' -e '/^As timed in the file:/,$d' "$scratch/none" >"$scratch/above"
for rule in as-timed atmospheric economy; do
  run cutoff --rule "$rule" "$trolley"
  ends 0
  no_message
  case $rule in
  as-timed) answers 'As timed in the file:' ;;
  atmospheric) answers 'If the inlet shuts for atmospheric release (as timed: see lastbar cycle):' ;;
  economy) answers 'If the inlet shuts for best economy (as timed: see lastbar cycle):' ;;
  esac
  sed -e '/^If the inlet shuts for /,$d' -e '/^As timed in the file:/,$d' "$out" >"$scratch/part"
  same "$scratch/part" "$scratch/above"
done
run cutoff --rule atmospheric --margin '10 bar' "$trolley"
ends 1
answers 'Release with the margin: no answer.'
answers 'would do.'
looked=$((looked + 1))
echo "lastbar: $trolley: no cut-off by the rule asked for (atmospheric); the answer says why" |
  cmp -s - "$err" || wrong 'another message'
run cutoff --margin '10 bar' "$trolley"
looked=$((looked + 1))
echo "lastbar: $trolley: no cut-off releases the air with this margin; the answer says why" |
  cmp -s - "$err" || wrong 'another message'
run cutoff --set 'supply.pressure=0 bar gauge' "$trolley"
ends 1
looked=$((looked + 1))
echo "lastbar: $trolley: no cut-off releases the air at back pressure; the answer says why" |
  cmp -s - "$err" || wrong 'another message'
never 'expect ice'
never 'ceiling'
run check --units inch --set 'cylinder.rated pressure=50 psig' --set 'supply.pressure=60 psig' "$trolley"
answers 'the supply of 60 psig is above'
answers 'rated pressure of 50 psig;'
for rule in as-timed economy; do
  run cutoff --rule "$rule" --margin '10 bar' "$trolley"
  ends 0
  no_message
done
run cutoff --rule as-timed --margin '10 bar' "$pump"
ends 1
says '(as-timed)'
run cutoff --rule atmospheric --margin '10 bar' --json "$trolley"
ends 1
answers '"found": false'

run cutoff --json "$trolley"
ends 0
no_message
answers '  "command": "cutoff",'
answers '  "machine": "Garden-railway trolley",'
run cutoff --csv "$trolley"
ends 0
looked=$((looked + 1))
[ "$(wc -l <"$out")" -eq 11 ] || wrong 'not five choices of two ends below a header'
run cutoff --csv "$pump"
looked=$((looked + 1))
[ "$(wc -l <"$out")" -eq 6 ] || wrong 'not five choices of one end below a header'
answers ',atmospheric,cap,true,'
run check --json "$trolley"
answers '      "key": "bore",'
answers '      "given": "50 mm",'
run check --csv "$trolley"
answers 'Garden-railway trolley,cylinder,bore,50 mm,'
# Exactly as many digits as are needed.
run cutoff --json --set 'supply.temperature=20 degC' "$trolley"
answers '"temperature_k": 293.15'
answers '"expansion_exponent": 1.4,'

# What would be ignored is refused.
run cutoff --json --sketch "$trolley"
ends 2
says 'lastbar: cutoff: --sketch is for the text; leave out --json'
run cycle --csv --disc '120 mm' "$trolley"
ends 2
says 'lastbar: cycle: --disc is for the text; leave out --csv'

finish 85
