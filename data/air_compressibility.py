#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Print lib/physics/real_air_table.c: the compressibility of dry air over pressure and temperature.

air_compressibility.py >lib/physics/real_air_table.c

Source: E. W. Lemmon, R. T. Jacobsen, S. G. Penoncello and D. G. Friend, Thermodynamic properties of
air and mixtures of nitrogen, argon, and oxygen from 60 to 2000 K at pressures to 2000 MPa, Journal
of Physical and Chemical Reference Data 29 (2000) 331: dry air as if it were one substance. The
residual part of its reduced Helmholtz energy is

  alpha = sum of N delta^d tau^t exp(-delta^l)        (no exponential where l is 0)

with delta = density / 10447.7 mol/m3 and tau = 132.6312 K / temperature, and from it

  Z = 1 + delta d(alpha)/d(delta),    p = Z density R T,    R = 8.31451 J/(mol K).

The range that the library answers for is 0 to 350 bar and 150 to 400 K. The rows run on a little
beyond each of its ends, below pressure 0 too, where Z goes on as smoothly as its series in density:
a natural spline is inexact near its own ends, and so the range has none of that.

Only decimal arithmetic of stated precision is used, so every machine prints the same digits.
"""
from decimal import Decimal, getcontext

getcontext().prec = 28

GAS_CONSTANT = Decimal("8.31451")  # [J/(mol K)]
REDUCING_TEMPERATURE = Decimal("132.6312")  # [K]
REDUCING_DENSITY = Decimal("10447.7")  # [mol/m3]
BAR = Decimal(100000)  # [Pa]

# N, d, t, l of each term.
TERMS = [
    (Decimal(n), d, Decimal(t), l)
    for n, d, t, l in (
        ("0.118160747229", 1, "0", 0),
        ("0.713116392079", 1, "0.33", 0),
        ("-1.61824192067", 1, "1.01", 0),
        ("0.0714140178971", 2, "0", 0),
        ("-0.0865421396646", 3, "0", 0),
        ("0.134211176704", 3, "0.15", 0),
        ("0.0112626704218", 4, "0", 0),
        ("-0.0420533228842", 4, "0.2", 0),
        ("0.0349008431982", 4, "0.35", 0),
        ("0.000164957183186", 6, "1.35", 0),
        ("-0.101365037912", 1, "1.6", 1),
        ("-0.17381369097", 3, "0.8", 1),
        ("-0.0472103183731", 5, "0.95", 1),
        ("-0.0122523554253", 6, "1.25", 1),
        ("-0.146629609713", 1, "3.6", 2),
        ("-0.0316055879821", 3, "6", 2),
        ("0.000233594806142", 11, "3.25", 2),
        ("0.0148287891978", 1, "3.5", 3),
        ("-0.00938782884667", 3, "15", 3),
    )
]

# Rows: where they begin, then how far they go at which step. [bar], [K]
PRESSURES = (-9, ((120, 3), (150, 6), (380, 10)))
TEMPERATURES = (144, ((154, 1), (170, 2), (185, 3), (420, 5)))

DIGITS = 8  # behind the point
WIDTH = 100  # of a line


def rows(begin, bands):
    """The places of the rows: from `begin` in steps up to the end of each band."""
    places = [begin]
    for end, step in bands:
        while places[-1] < end:
            places.append(places[-1] + step)
    return places


def isotherm(temperature):
    """The terms at a temperature [K]: N tau^t, d, l."""
    tau = REDUCING_TEMPERATURE / temperature
    return [(n * tau**t, d, l) for n, d, t, l in TERMS]


def compressibility(terms, delta):
    """Z at a reduced density, and dZ/d(delta)."""
    power = [Decimal(1)]
    while len(power) <= 11:
        power.append(power[-1] * delta)
    decay = [Decimal(1)] + [(-power[l]).exp() for l in (1, 2, 3)]
    z, slope = Decimal(1), Decimal(0)
    for n, d, l in terms:
        factor = d - l * power[l] if l else Decimal(d)
        z += n * power[d] * decay[l] * factor
        # d/d(delta) of delta^d exp(-delta^l) (d - l delta^l)
        change = factor * factor - (l * l * power[l] if l else 0)
        slope += n * power[d - 1] * decay[l] * change
    return z, slope


def solve(terms, temperature, pressure, delta):
    """The reduced density at a pressure [Pa], and Z there, by Newton's method from a near one."""
    unit = REDUCING_DENSITY * GAS_CONSTANT * temperature
    for _ in range(60):
        z, slope = compressibility(terms, delta)
        step = (delta * z - pressure / unit) / (z + delta * slope)
        delta -= step
        if abs(step) < Decimal("1e-18"):
            return delta, compressibility(terms, delta)[0]
    raise ArithmeticError(f"no density at {pressure} Pa, {temperature} K")


def table(pressures, temperatures):
    """Z over the pressures of the first temperature, then of the next, and so on."""
    values = []
    for temperature in temperatures:
        terms, delta = isotherm(Decimal(temperature)), Decimal(0)
        for pressure in pressures:
            delta, z = solve(terms, Decimal(temperature), pressure * BAR, delta)
            values.append(f"{z:.{DIGITS}f}")
    return values


def array(declaration, values):
    """A C array, its lines as full as they go."""
    lines = [""]
    for value in values:
        if len(lines[-1]) + len(value) + 1 > WIDTH:
            lines.append("")
        lines[-1] += value + ","
    return f"{declaration} = {{\n" + "\n".join(lines) + "\n};\n"


def main():
    pressures, temperatures = rows(*PRESSURES), rows(*TEMPERATURES)
    print("""/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Compressibility of dry air. Printed by data/air_compressibility.py, which says whence and how;
 * change that and print anew.
 */
#include "physics/real_air_table.h"

/* clang-format off */
""")
    print(array("const double lb_real_air_table_pressure[]",
                [f"{p}e5" for p in pressures]))
    print(array("const double lb_real_air_table_temperature[]",
                [str(t) for t in temperatures]))
    print(array("const double lb_real_air_table_z[]",
                table(pressures, temperatures)), end="")


if __name__ == "__main__":
    main()
