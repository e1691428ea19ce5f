/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units of the trade against the definitions of the units: what is accepted, with values worked out
 * here from those definitions; what is refused, with the exact message; and the way back.
 */
#include "base/units.h"

#include "base/constants.h"
#include "support.h"

#include <fcntl.h>
#include <locale.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Definitions, all exact.
 * International yard and pound agreement, 1959: yard 0.9144 m, pound 0.45359237 kg.
 * 3rd General Conference on Weights and Measures, 1901: standard gravity 9.80665 m/s2.
 * NIST Handbook 44: US gallon 231 in3. Weights and Measures Act 1985 (UK): gallon 4.54609 L.
 * NIST SP 811 (2008), appendix B: BtuIT 1055.05585262 J, calorieIT 4.1868 J, knot 1852 m/h,
 * conventional mercury 13595.1 kg/m3, conventional water 1000 kg/m3, torr atmosphere / 760, thou
 * (mil) 0.001 in. */
#define INCH (0.9144 / 36)
#define FOOT (0.9144 / 3)
#define GRAVITY 9.80665
#define POUND_MASS 0.45359237
#define POUND (POUND_MASS * GRAVITY) /* [N] */
#define POUND_FOOT (POUND * FOOT)
#define POUND_INCH (POUND * INCH)
#define PSI (POUND / (INCH * INCH))
#define CUBIC_INCH (INCH * INCH * INCH)
#define CUBIC_FOOT (FOOT * FOOT * FOOT)
#define GALLON (231 * CUBIC_INCH)
#define MERCURY (13595.1 * GRAVITY)
#define WATER (1000 * GRAVITY)
#define TURN (2 * LB_PI)
#define DEGREE (LB_PI / 180)
#define BTU_HEAT (1055.05585262 / (3600 * FOOT * FOOT * 5 / 9))
#define AMBIENT 99200.0 /* [Pa] no round atmosphere, so that gauge shows */

static const struct {
  enum lb_quantity quantity;
  const char *text;
  double si;
} accepted[] = {
    {LB_ANGLE, "78 deg", 78 * DEGREE},
    {LB_ANGLE, "78°", 78 * DEGREE},
    {LB_ANGLE, "78 º", 78 * DEGREE},
    {LB_ANGLE, "-3 degrees", -3 * DEGREE},
    {LB_ANGLE, "−3 DEG", -3 * DEGREE},
    {LB_ANGLE, "180 deg", LB_PI},
    {LB_ANGLE, "1.5 rad", 1.5},
    {LB_ANGLE, "20 mrad", 0.02},
    {LB_ANGLE, "1/4 turn", TURN / 4},
    {LB_ANGLE, "2 rev", 2 * TURN},
    {LB_ANGLE, "100 gon", LB_PI / 2},

    {LB_LENGTH, "50 mm", 0.05},
    {LB_LENGTH, " 50 mm", 0.05},
    {LB_LENGTH, "50   mm  ", 0.05},
    {LB_LENGTH, "50\u00a0mm", 0.05},
    {LB_LENGTH, "5,5 cm", 0.055},
    {LB_LENGTH, "1 m", 1},
    {LB_LENGTH, "-2 mm", -0.002},
    {LB_LENGTH, "8 µm", 8e-6},
    {LB_LENGTH, "8 μm", 8e-6},
    {LB_LENGTH, "1-1/4 in", 1.25 * INCH},
    {LB_LENGTH, "3/8\"", 0.375 * INCH},
    {LB_LENGTH, "3-1/4″", 3.25 * INCH},
    {LB_LENGTH, "0.684 inch", 0.684 * INCH},
    {LB_LENGTH, "2 INCHES", 2 * INCH},
    {LB_LENGTH, "6 ft", 6 * FOOT},
    {LB_LENGTH, "6'", 6 * FOOT},
    {LB_LENGTH, "5 thou", 0.005 * INCH},
    {LB_LENGTH, "5 mil", 0.005 * INCH},
    {LB_LENGTH, "3 yards", 3 * 0.9144},
    {LB_LENGTH, "50 millimetres", 0.05},
    {LB_LENGTH, "2 km", 2000},

    {LB_VOLUME, "16 cm3", 16e-6},
    {LB_VOLUME, "16 cm³", 16e-6},
    {LB_VOLUME, "16 cm^3", 16e-6},
    {LB_VOLUME, "16 cc", 16e-6},
    {LB_VOLUME, "16 ml", 16e-6},
    {LB_VOLUME, "10 L", 0.01},
    {LB_VOLUME, "10 l", 0.01},
    {LB_VOLUME, "10 litres", 0.01},
    {LB_VOLUME, "10 dm3", 0.01},
    {LB_VOLUME, "0.5 m3", 0.5},
    {LB_VOLUME, "67 cu in", 67 * CUBIC_INCH},
    {LB_VOLUME, "67 cu. in.", 67 * CUBIC_INCH},
    {LB_VOLUME, "67 in3", 67 * CUBIC_INCH},
    {LB_VOLUME, "67 CUBIC INCHES", 67 * CUBIC_INCH},
    {LB_VOLUME, "80 cu ft", 80 * CUBIC_FOOT},
    {LB_VOLUME, "80 ft³", 80 * CUBIC_FOOT},
    {LB_VOLUME, "60 gal", 60 * GALLON},
    {LB_VOLUME, "60 US gal", 60 * GALLON},
    {LB_VOLUME, "20 imp gal", 20 * 4.54609e-3},
    {LB_VOLUME, "20 UK gallons", 20 * 4.54609e-3},
    {LB_VOLUME, "3 dl", 3e-4},
    {LB_VOLUME, "3 cl", 3e-5},

    {LB_PRESSURE, "6 bar gauge", 6e5 + AMBIENT},
    {LB_PRESSURE, "6 bar absolute", 6e5},
    {LB_PRESSURE, "6 barg", 6e5 + AMBIENT},
    {LB_PRESSURE, "3.8 bara", 3.8e5},
    {LB_PRESSURE, "6 bar g", 6e5 + AMBIENT},
    {LB_PRESSURE, "6 bar a", 6e5},
    {LB_PRESSURE, "6 bar(g)", 6e5 + AMBIENT},
    {LB_PRESSURE, "6 bar (a)", 6e5},
    {LB_PRESSURE, "6 Bar abs.", 6e5},
    {LB_PRESSURE, "6 bar Ü", 6e5 + AMBIENT},
    {LB_PRESSURE, "6 bar ü", 6e5 + AMBIENT},
    {LB_PRESSURE, "-0.4 bar gauge", -0.4e5 + AMBIENT},
    {LB_PRESSURE, "87 psig", 87 * PSI + AMBIENT},
    {LB_PRESSURE, "87 PSIG", 87 * PSI + AMBIENT},
    {LB_PRESSURE, "87 psi gage", 87 * PSI + AMBIENT},
    {LB_PRESSURE, "87 psi-g", 87 * PSI + AMBIENT},
    {LB_PRESSURE, "14.7 psia", 14.7 * PSI},
    {LB_PRESSURE, "14.7 lb/in2 abs", 14.7 * PSI},
    {LB_PRESSURE, "90 lbf/in² gauge", 90 * PSI + AMBIENT},
    {LB_PRESSURE, "90 lb/sq. in. gauge", 90 * PSI + AMBIENT},
    {LB_PRESSURE, "0.6 MPa gauge", 0.6e6 + AMBIENT},
    {LB_PRESSURE, "0.6 MPaG", 0.6e6 + AMBIENT},
    {LB_PRESSURE, "600 kPa(a)", 6e5},
    {LB_PRESSURE, "992 hPa absolute", 99200},
    {LB_PRESSURE, "992 mbar absolute", 99200},
    {LB_PRESSURE, "6 mPa absolute", 6e-3},
    {LB_PRESSURE, "101325 Pa a", 101325},
    {LB_PRESSURE, "0.6 N/mm2 gauge", 0.6e6 + AMBIENT},
    {LB_PRESSURE, "5 kp/cm² gauge", 5e4 * GRAVITY + AMBIENT},
    {LB_PRESSURE, "5 kgf/cm2 absolute", 5e4 * GRAVITY},
    {LB_PRESSURE, "5 kg/cm2 gauge", 5e4 * GRAVITY + AMBIENT},
    {LB_PRESSURE, "5 at absolute", 5e4 * GRAVITY},
    {LB_PRESSURE, "5 atü", 5e4 * GRAVITY + AMBIENT},
    {LB_PRESSURE, "5 ata", 5e4 * GRAVITY},
    {LB_PRESSURE, "1 atm absolute", 101325},
    {LB_PRESSURE, "30 inHg absolute", 30 * INCH *MERCURY},
    {LB_PRESSURE, "-10 in Hg gauge", -10 * INCH *MERCURY + AMBIENT},
    {LB_PRESSURE, "29.92 inches of mercury absolute", 29.92 * INCH *MERCURY},
    {LB_PRESSURE, "760 mmHg absolute", 0.76 * MERCURY},
    {LB_PRESSURE, "760 Torr absolute", 101325},
    {LB_PRESSURE, "-40 inH2O gauge", -40 * INCH *WATER + AMBIENT},
    {LB_PRESSURE, "30 cm of water gauge", 0.3 * WATER + AMBIENT},
    {LB_PRESSURE, "1 ksi absolute", 1000 * PSI},
    {LB_PRESSURE, "0 bar absolute", 0},

    {LB_PRESSURE_DIFFERENCE, "0.3 bar", 0.3e5},
    {LB_PRESSURE_DIFFERENCE, "-200 mbar", -2e4},
    {LB_PRESSURE_DIFFERENCE, "5 psi", 5 * PSI},
    {LB_PRESSURE_DIFFERENCE, "5 psid", 5 * PSI},
    {LB_PRESSURE_DIFFERENCE, "30 kPa", 3e4},
    {LB_PRESSURE_DIFFERENCE, "4 inH2O", 4 * INCH *WATER},
    {LB_PRESSURE_DIFFERENCE, "3 kN/m2", 3000},

    {LB_TEMPERATURE, "18 degC", 291.15},
    {LB_TEMPERATURE, "18 °C", 291.15},
    {LB_TEMPERATURE, "18°C", 291.15},
    {LB_TEMPERATURE, "-40 Celsius", 233.15},
    {LB_TEMPERATURE, "68 degF", 293.15},
    {LB_TEMPERATURE, "-40 °F", 233.15},
    {LB_TEMPERATURE, "212 degrees F", 373.15},
    {LB_TEMPERATURE, "293 K", 293},
    {LB_TEMPERATURE, "491.67 degR", 273.15},
    {LB_TEMPERATURE, "4000 mK", 4},
    {LB_TEMPERATURE, "-273.15 degC", 0},
    {LB_TEMPERATURE, "-459.67 degF", 0},

    {LB_FORCE, "14 N", 14},
    {LB_FORCE, "1.2 kN", 1200},
    {LB_FORCE, "3 lbf", 3 * POUND},
    {LB_FORCE, "3 lb", 3 * POUND},
    {LB_FORCE, "3 lbs.", 3 * POUND},
    {LB_FORCE, "8 ozf", POUND / 2},
    {LB_FORCE, "2 kgf", 2 * GRAVITY},
    {LB_FORCE, "2 kp", 2 * GRAVITY},
    {LB_FORCE, "5e5 dyne", 5},

    {LB_TORQUE, "9.1 N m", 9.1},
    {LB_TORQUE, "9.1 Nm", 9.1},
    {LB_TORQUE, "9.1 N·m", 9.1},
    {LB_TORQUE, "9.1 N⋅m", 9.1},
    {LB_TORQUE, "9.1 N*m", 9.1},
    {LB_TORQUE, "9.1 N-m", 9.1},
    {LB_TORQUE, "85 N cm", 0.85},
    {LB_TORQUE, "85 mN m", 0.085},
    {LB_TORQUE, "7 lb ft", 7 * POUND_FOOT},
    {LB_TORQUE, "7 lbf·ft", 7 * POUND_FOOT},
    {LB_TORQUE, "7 ft-lb", 7 * POUND_FOOT},
    {LB_TORQUE, "7 lb in", 7 * POUND_INCH},
    {LB_TORQUE, "7 in-lbf", 7 * POUND_INCH},
    {LB_TORQUE, "20 oz-in", 20.0 / 16 * POUND_INCH},
    {LB_TORQUE, "1.5 kp m", 1.5 * GRAVITY},
    {LB_TORQUE, "15 kg cm", 0.15 * GRAVITY},

    {LB_SPEED, "1 m/s", 1},
    {LB_SPEED, "1 m per s", 1},
    {LB_SPEED, "500 mm/s", 0.5},
    {LB_SPEED, "36 km/h", 10},
    {LB_SPEED, "36 KPH", 10},
    {LB_SPEED, "60 mph", 88 * FOOT},
    {LB_SPEED, "60 miles per hour", 88 * FOOT},
    {LB_SPEED, "3 ft/s", 3 * FOOT},
    {LB_SPEED, "180 ft/min", 3 * FOOT},
    {LB_SPEED, "12 in/s", FOOT},
    {LB_SPEED, "5 knots", 5 * 1852.0 / 3600},
    {LB_SPEED, "12 cm/s", 0.12},

    {LB_ROTATIONAL_SPEED, "120 rpm", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "120 RPM", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "120 rev/min", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "120 r/min", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "120 turns per minute", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "2 Hz", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "2 rev/s", 2 * TURN},
    {LB_ROTATIONAL_SPEED, "2 rad/s", 2},
    {LB_ROTATIONAL_SPEED, "90 °/s", LB_PI / 2},

    {LB_TIME, "9 ms", 0.009},
    {LB_TIME, "250 µs", 250e-6},
    {LB_TIME, "2 s", 2},
    {LB_TIME, "2 sec", 2},
    {LB_TIME, "3 min", 180},
    {LB_TIME, "1/2 h", 1800},
    {LB_TIME, "2 hours", 7200},
    {LB_TIME, "2 days", 172800},

    {LB_FRACTION, "4 %", 0.04},
    {LB_FRACTION, "4%", 0.04},
    {LB_FRACTION, "4 per cent", 0.04},
    {LB_FRACTION, "0.04", 0.04},
    {LB_NUMBER, "1.4", 1.4},
    {LB_NUMBER, "  −3  ", -3},

    {LB_CONDUCTANCE, "1.4 L/(s bar)", 1.4e-8},
    {LB_CONDUCTANCE, "1.4 l / (s·bar)", 1.4e-8},
    {LB_CONDUCTANCE, "2.3 dm3/(s bar)", 2.3e-8},
    {LB_CONDUCTANCE, "84 L/(min bar)", 1.4e-8},
    {LB_CONDUCTANCE, "1400 cm3/(s bar)", 1.4e-8},
    {LB_CONDUCTANCE, "2e-8 m3/(s Pa)", 2e-8},
    {LB_CONDUCTANCE, "14 L/(s MPa)", 1.4e-8},

    {LB_HEAT_TRANSFER, "40 W/(m2 K)", 40},
    {LB_HEAT_TRANSFER, "40 W/m2K", 40},
    {LB_HEAT_TRANSFER, "40 W/m²K", 40},
    {LB_HEAT_TRANSFER, "40 W/(m²·K)", 40},
    {LB_HEAT_TRANSFER, "40 W/(m^2*K)", 40},
    {LB_HEAT_TRANSFER, "40 W·m⁻²·K⁻¹", 40},
    {LB_HEAT_TRANSFER, "7 BTU/(h ft2 F)", 7 * BTU_HEAT},
    {LB_HEAT_TRANSFER, "7 Btu/(hr·ft²·°F)", 7 * BTU_HEAT},
    {LB_HEAT_TRANSFER, "35 kcal/(m2 h K)", 35 * 4186.8 / 3600},
    {LB_HEAT_TRANSFER, "0.04 kW/(m2 K)", 40},

    {LB_AREA, "5 mm2", 5e-6},
    {LB_AREA, "5 mm²", 5e-6},
    {LB_AREA, "5 sq mm", 5e-6},
    {LB_AREA, "0.05 cm^2", 5e-6},
    {LB_AREA, "2 m2", 2},
    {LB_AREA, "0.5 sq in", 0.5 * INCH *INCH},
    {LB_AREA, "0.5 in2", 0.5 * INCH *INCH},
    {LB_AREA, "2 ft2", 2 * 144 * INCH *INCH},
    {LB_VOLUME_FLOW, "0.36 m3/h", 1e-4},
    {LB_VOLUME_FLOW, "6 L/min", 1e-4},
    {LB_VOLUME_FLOW, "6 l/min", 1e-4},
    {LB_VOLUME_FLOW, "0.1 L/s", 1e-4},
    {LB_VOLUME_FLOW, "360 L/h", 1e-4},
    {LB_FREE_FLOW, "300 L/min ANR", 5e-3},
    {LB_FREE_FLOW, "300 l/min", 5e-3},
    {LB_FREE_FLOW, "300 dm3/min (ANR)", 5e-3},
    {LB_FREE_FLOW, "5 L/s ANR", 5e-3},
    {LB_FREE_FLOW, "18 m3/h ANR", 5e-3},
    {LB_FREE_FLOW, "0.3 m3/min", 5e-3},
    {LB_FREE_FLOW, "60 cu ft/min ANR", 1728 * INCH *INCH *INCH},
    {LB_FREE_FLOW, "60 cfm ANR", 1728 * INCH *INCH *INCH},
    {LB_AREA, "5 sq ft", 5 * FOOT *FOOT},
    {LB_MASS, "210 kg", 210},
    {LB_MASS, "210 KG", 210},
    {LB_MASS, "750 g", 0.75},
    {LB_MASS, "1.2 t", 1200},
    {LB_MASS, "1,2 tonnes", 1200},
    {LB_MASS, "22 lb", 22 * POUND_MASS},
    {LB_MASS, "22 lbs.", 22 * POUND_MASS},
    {LB_MASS, "22 lbm", 22 * POUND_MASS},
    {LB_MASS, "8 oz", POUND_MASS / 2},
    {LB_MASS, "11 stone", 154 * POUND_MASS},
    {LB_SPEED, "18 km/h", 5},
    {LB_TORQUE_PER_SPEED, "0.02 N m/rpm", 0.02 * 60 / TURN},
    {LB_TORQUE_PER_SPEED, "0.02 Nm/(rev/min)", 0.02 * 60 / TURN},
    {LB_TORQUE_PER_SPEED, "0.02 N·m/(r/min)", 0.02 * 60 / TURN},
    {LB_TORQUE_PER_SPEED, "0.02 N m min/rev", 0.02 * 60 / TURN},
    {LB_TORQUE_PER_SPEED, "0.2 N m s/rad", 0.2},
    {LB_TORQUE_PER_SPEED, "0.2 N m/(rad/s)", 0.2},
    {LB_TORQUE_PER_SPEED, "0.2 N*m*s", 0.2},
    {LB_TORQUE_PER_SPEED, "0.02 lb ft/rpm", 0.02 * POUND_FOOT * 60 / TURN},
    {LB_TORQUE_PER_SPEED, "0.02 ft-lbf per rpm", 0.02 * POUND_FOOT * 60 / TURN},
    {LB_TORQUE_PER_SPEED_SQUARED, "2e-4 N m/rpm2", 2e-4 * 3600 / (TURN * TURN)},
    {LB_TORQUE_PER_SPEED_SQUARED, "2e-4 N m/rpm²", 2e-4 * 3600 / (TURN * TURN)},
    {LB_TORQUE_PER_SPEED_SQUARED, "2e-4 Nm/(rev/min)^2", 2e-4 * 3600 / (TURN * TURN)},
    {LB_TORQUE_PER_SPEED_SQUARED, "0.02 N m s2/rad2", 0.02},
    {LB_TORQUE_PER_SPEED_SQUARED, "0.02 N m/(rad/s)^2", 0.02},
    {LB_TORQUE_PER_SPEED_SQUARED, "2e-4 lb ft/rpm2", 2e-4 * POUND_FOOT * 3600 / (TURN * TURN)},
    {LB_DROOP, "0.1 bar/(L/s)", 1e7},
    {LB_DROOP, "0.1 bar·s/L", 1e7},
    {LB_DROOP, "0.1 bar / (l/s)", 1e7},
    {LB_DROOP, "2 mbar/(L/min)", 1.2e7},
    {LB_DROOP, "0.002 bar/(L/min ANR)", 1.2e7},
    {LB_DROOP, "0.02 bar/(m³/h)", 7.2e6},
    {LB_DROOP, "10 kPa/(L/s)", 1e7},
    {LB_DROOP, "1 psi/(cu ft/min)", PSI * 60 / CUBIC_FOOT},
    {LB_DROOP, "1 psi per cfm", PSI * 60 / CUBIC_FOOT},
    {LB_DROOP, "1e7 Pa s/m3", 1e7},
};

#define KNOWN AMBIENT
#define UNKNOWN 0.0

static const struct {
  enum lb_quantity quantity;
  double ambient;
  const char *text, *message;
} refused[] = {
    {LB_PRESSURE, LB_ATMOSPHERE, "6 bar",
     "'6 bar' says neither gauge nor absolute; write '6 bar gauge' (7.01 bar absolute) or '6 bar "
     "absolute' (4.99 bar gauge)"},
    {LB_PRESSURE, UNKNOWN, "1013 hPa",
     "'1013 hPa' does not say absolute; write '1013 hPa absolute'"},
    {LB_PRESSURE, UNKNOWN, "14.7 lbs",
     "'14.7 lbs' is not read as a pressure; write '14.7 psi absolute'"},
    {LB_PRESSURE, KNOWN, "90 PSI",
     "'90 PSI' says neither gauge nor absolute; write '90 PSI gauge' (104 PSI absolute) or '90 PSI "
     "absolute' (75.6 PSI gauge)"},
    {LB_PRESSURE, KNOWN, "-0.5 bar",
     "'-0.5 bar' does not say gauge; write '-0.5 bar gauge' (0.492 bar absolute)"},
    {LB_PRESSURE, KNOWN, "5 psf/2",
     "'5 psf/2' is not read as a pressure; write e.g. '6 bar gauge'"},
    {LB_PRESSURE, KNOWN, "6", "'6' has no unit; write e.g. '6 bar gauge'"},
    {LB_PRESSURE, KNOWN, "80 lb",
     "'80 lb' is not read as a pressure; write '80 psi gauge' or '80 psi absolute'"},
    {LB_PRESSURE, KNOWN, "80 # gauge",
     "'80 # gauge' is not read as a pressure; write '80 psi gauge'"},
    {LB_PRESSURE, KNOWN, "6 kg gauge",
     "'6 kg gauge' is not read as a pressure; write '6 kgf/cm2 gauge'"},
    {LB_PRESSURE, KNOWN, "600 kpa absolute",
     "'600 kpa absolute' is not read as a pressure; write '600 kPa absolute'"},
    {LB_PRESSURE, KNOWN, "10 inHg vacuum",
     "'10 inHg vacuum' is not read as a pressure; write '-10 inHg gauge'"},
    {LB_PRESSURE, KNOWN, "10 psid",
     "'10 psid' is a difference of pressure; write '10 psi gauge' or '10 psi absolute'"},
    {LB_PRESSURE, KNOWN, "6 mm gauge",
     "'6 mm gauge' is a length, not a pressure; write e.g. '6 bar "
     "gauge'"},
    {LB_PRESSURE, KNOWN, "-2 bar gauge",
     "'-2 bar gauge' lies below vacuum; write more than -0.99200 bar gauge"},
    {LB_PRESSURE, KNOWN, "-1 Pa absolute",
     "'-1 Pa absolute' lies below vacuum; write more than 0 Pa absolute"},
    {LB_PRESSURE, UNKNOWN, "6 barg",
     "'6 barg' is measured from surroundings whose pressure is not known; write it in "
     "'bar absolute'"},
    {LB_PRESSURE, KNOWN, "6 lg(re Pa) gauge",
     "'6 lg(re Pa) gauge' is not read as a pressure; write e.g. '6 bar gauge'"},
    {LB_PRESSURE, KNOWN, "1e305 MPa absolute",
     "'1e305 MPa absolute' lies beyond what the computer can hold; write e.g. '6 bar gauge'"},
    {LB_PRESSURE, KNOWN, "10,585 bar gauge",
     "'10,585 bar gauge' could be 10.585 or 10585; write '10.585 bar gauge' or '10585 bar gauge'"},

    {LB_PRESSURE_DIFFERENCE, KNOWN, "0.3 bar gauge",
     "'0.3 bar gauge' is a difference, which is neither gauge nor absolute; write '0.3 bar'"},
    {LB_PRESSURE_DIFFERENCE, KNOWN, "5 psia",
     "'5 psia' is a difference, which is neither gauge nor absolute; write '5 psi'"},
    {LB_PRESSURE_DIFFERENCE, KNOWN, "5 lbs",
     "'5 lbs' is not read as a difference of pressure; write '5 psi'"},
    {LB_PRESSURE_DIFFERENCE, KNOWN, "0.3", "'0.3' has no unit; write e.g. '0.3 bar'"},

    {LB_TEMPERATURE, KNOWN, "20 C", "'20 C' is not read as a temperature; write '20 degC'"},
    {LB_TEMPERATURE, KNOWN, "68 F", "'68 F' is not read as a temperature; write '68 degF'"},
    {LB_TEMPERATURE, KNOWN, "20°", "'20°' is not read as a temperature; write '20 degC'"},
    {LB_TEMPERATURE, KNOWN, "293 k", "'293 k' is not read as a temperature; write '293 K'"},
    {LB_TEMPERATURE, KNOWN, "500 R", "'500 R' is not read as a temperature; write e.g. '20 degC'"},
    {LB_TEMPERATURE, KNOWN, "20", "'20' has no unit; write e.g. '20 degC'"},
    {LB_TEMPERATURE, KNOWN, "-300 degC",
     "'-300 degC' lies below absolute zero; write more than -273.15 degC"},
    {LB_TEMPERATURE, KNOWN, "-500 °F",
     "'-500 °F' lies below absolute zero; write more than -459.67 degF"},
    {LB_TEMPERATURE, KNOWN, "-1 K", "'-1 K' lies below absolute zero; write more than 0 K"},
    {LB_TEMPERATURE, KNOWN, "5 K @ 273",
     "'5 K @ 273' is not read as a temperature; write e.g. '20 degC'"},

    {LB_ANGLE, KNOWN, "78", "'78' has no unit; write e.g. '78 deg'"},
    {LB_ANGLE, KNOWN, "78 grad", "'78 grad' is not read as an angle; write '78 deg'"},
    {LB_ANGLE, KNOWN, "5\"", "'5\"' is a length, not an angle; write e.g. '78 deg'"},
    {LB_ANGLE, KNOWN, "5 %", "'5 %' is a fraction, not an angle; write e.g. '78 deg'"},
    {LB_ANGLE, KNOWN, "5 m/m", "'5 m/m' is not read as an angle; write e.g. '78 deg'"},
    {LB_ANGLE, KNOWN, "nan deg",
     "'nan deg' does not begin with a number; write a decimal such as "
     "12.5 or a fraction such as 1-1/4"},

    {LB_ROTATIONAL_SPEED, KNOWN, "5 ms",
     "'5 ms' is a time, not a rotational speed; write e.g. '120 rev/min'"},
    {LB_ROTATIONAL_SPEED, KNOWN, "120", "'120' has no unit; write e.g. '120 rev/min'"},
    {LB_ROTATIONAL_SPEED, KNOWN, "300 min⁻¹",
     "'300 min⁻¹' is not read as a rotational speed; write '300 rev/min'"},
    {LB_ROTATIONAL_SPEED, KNOWN, "300/min",
     "'300/min' is not read as a rotational speed; write '300 rev/min'"},
    {LB_ROTATIONAL_SPEED, KNOWN, "5 s-1",
     "'5 s-1' is not read as a rotational speed; write '5 rev/s'"},
    {LB_ROTATIONAL_SPEED, KNOWN, "36 km/h",
     "'36 km/h' is a speed, not a rotational speed; write e.g. '120 rev/min'"},

    {LB_LENGTH, KNOWN, "50", "'50' has no unit; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "10,585 m",
     "'10,585 m' could be 10.585 or 10585; write '10.585 m' or '10585 m'"},
    {LB_LENGTH, KNOWN, "4 5 mm", "'4 5 mm' holds two numbers; write one, then its unit"},
    {LB_LENGTH, KNOWN, "50 MM", "'50 MM' is not read as a length; write '50 mm'"},
    {LB_LENGTH, KNOWN, "50 foo", "'50 foo' is not read as a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "50 m m", "'50 m m' is an area, not a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "50 mm*", "'50 mm*' is not read as a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "2 m-1", "'2 m-1' is not read as a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "50 (2 mm)", "'50 (2 mm)' is not read as a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "5 kg", "'5 kg' is a mass, not a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "6 bar gauge",
     "'6 bar gauge' is a pressure, not a length; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "1e-307 µm",
     "'1e-307 µm' lies beyond what the computer can hold; write e.g. '50 mm'"},
    {LB_LENGTH, KNOWN, "5 mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm",
     "'5 mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm mm m...' is not read as a length; "
     "write e.g. '50 mm'"},

    {LB_VOLUME, KNOWN, "30 dBZ", "'30 dBZ' is not read as a volume; write e.g. '16 cm3'"},
    {LB_VOLUME, KNOWN, "50 mm", "'50 mm' is a length, not a volume; write e.g. '16 cm3'"},
    {LB_VOLUME, KNOWN, "5 yards", "'5 yards' is a length, not a volume; write e.g. '16 cm3'"},
    {LB_FORCE, KNOWN, "5 kg", "'5 kg' is not read as a force; write '5 kgf'"},
    {LB_FORCE, KNOWN, "5 cu ft", "'5 cu ft' is a volume, not a force; write e.g. '14 N'"},
    {LB_FORCE, KNOWN, "5 n", "'5 n' is not read as a force; write '5 N'"},
    {LB_TORQUE, KNOWN, "5 J", "'5 J' is not read as a torque; write '5 N m'"},
    {LB_TORQUE, KNOWN, "5 MJ", "'5 MJ' is an energy, not a torque; write e.g. '5 N m'"},
    {LB_TORQUE, KNOWN, "5 NM", "'5 NM' is not read as a torque; write '5 N m'"},
    {LB_SPEED, KNOWN, "5 kN", "'5 kN' is a force, not a speed; write e.g. '1 m/s'"},
    {LB_SPEED, KNOWN, "2 s/m", "'2 s/m' is not read as a speed; write e.g. '1 m/s'"},
    {LB_TIME, KNOWN, "3 m", "'3 m' is a length, not a time; write e.g. '9 ms'"},
    {LB_TIME, KNOWN, "3 Hz", "'3 Hz' is a rotational speed, not a time; write e.g. '9 ms'"},
    {LB_FRACTION, KNOWN, "4 mm", "'4 mm' is a length, not a fraction; write e.g. '4 %'"},
    {LB_FRACTION, KNOWN, "4 % of stroke",
     "'4 % of stroke' is not read as a fraction; write e.g. '4 %'"},
    {LB_FRACTION, KNOWN, "4 *", "'4 *' is not read as a fraction; write e.g. '4 %'"},
    {LB_NUMBER, KNOWN, "5 mm", "'5 mm' is not read as a bare number; write '5'"},
    {LB_NUMBER, KNOWN, "4 %", "'4 %' is a fraction, not a bare number; write e.g. '1.4'"},
    {LB_NUMBER, KNOWN, "0x10",
     "'0x10' is hexadecimal; write a decimal such as 12.5 or a fraction such as 1-1/4"},
    {LB_CONDUCTANCE, KNOWN, "100 L/min",
     "'100 L/min' is a volume flow, not a conductance; write e.g. '1.4 L/(s bar)'"},
    {LB_CONDUCTANCE, KNOWN, "1.4 s bar/L",
     "'1.4 s bar/L' is not read as a conductance; write e.g. '1.4 L/(s bar)'"},
    {LB_HEAT_TRANSFER, KNOWN, "40 W",
     "'40 W' is a power, not a heat transfer coefficient; write e.g. '40 W/(m2 K)'"},
    {LB_HEAT_TRANSFER, KNOWN, "",
     "nothing is written; write a decimal such as 12.5 or a fraction "
     "such as 1-1/4"},
    {LB_AREA, KNOWN, "5 mm", "'5 mm' is a length, not an area; write e.g. '5 mm2'"},
    {LB_AREA, KNOWN, "5 MM2", "'5 MM2' is not read as an area; write '5 mm2'"},
    {LB_VOLUME_FLOW, KNOWN, "6 L/min ANR",
     "'6 L/min ANR' is a flow of free air, not a volume flow; write e.g. '0.3 m3/h'"},
    {LB_VOLUME_FLOW, KNOWN, "0.3 m3",
     "'0.3 m3' is a volume, not a volume flow; write e.g. '0.3 m3/h'"},
    {LB_FREE_FLOW, KNOWN, "300 NL/min",
     "'300 NL/min' is not read as a flow of free air; write '300 L/min ANR'"},
    {LB_FREE_FLOW, KNOWN, "12 SCFM",
     "'12 SCFM' is not read as a flow of free air; write '12 cu ft/min ANR'"},
    {LB_FREE_FLOW, KNOWN, "12 kg/s",
     "'12 kg/s' is a mass flow, not a flow of free air; write e.g. '350 L/min ANR'"},
    {LB_MASS, KNOWN, "2 tons", "'2 tons' is not read as a mass; write '2 t'"},
    {LB_MASS, KNOWN, "210 N", "'210 N' is a force, not a mass; write e.g. '200 kg'"},
    {LB_MASS, KNOWN, "210", "'210' has no unit; write e.g. '210 kg'"},
    {LB_TORQUE_PER_SPEED, KNOWN, "2 N m",
     "'2 N m' is not read as a torque per speed; write '2 N m/rpm'"},
    {LB_TORQUE_PER_SPEED, KNOWN, "2 rpm",
     "'2 rpm' is a rotational speed, not a torque per speed; write e.g. '0.01 N m/rpm'"},
    {LB_TORQUE_PER_SPEED_SQUARED, KNOWN, "2 N m/rpm",
     "'2 N m/rpm' is not read as a torque per speed squared; write '2 N m/rpm2'"},
    {LB_DROOP, KNOWN, "1 psi/scfm",
     "'1 psi/scfm' is not read as a droop; write '1 psi/(cu ft/min)'"},
    {LB_DROOP, KNOWN, "0.1 bar",
     "'0.1 bar' is a pressure, not a droop; write e.g. '0.1 bar/(L/s)'"},
    {LB_QUANTITIES, KNOWN, "5 mm", "no quantity has the number 22"},
};

enum {
  ACCEPTED = 252,
  REFUSED = 98
};

/* A gauge pressure carries the rounding of the larger of its two terms. */
static double room(enum lb_quantity quantity, double si) {
  double size = fabs(si);
  if (quantity == LB_TEMPERATURE && size < LB_ZERO_CELSIUS)
    size = LB_ZERO_CELSIUS;
  return quantity == LB_PRESSURE && size < AMBIENT ? AMBIENT : size;
}

/* Wrong values among the accepted, for use in any thread, where Check may not be called. */
static int misread(void) {
  int wrong = 0;
  for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
    double si = nan("");
    enum lb_status status =
        lb_units_read(&si, accepted[i].text, accepted[i].quantity, AMBIENT, NULL);
    double tolerance = EXACT * room(accepted[i].quantity, accepted[i].si);
    wrong += status != LB_OK || !(fabs(si - accepted[i].si) <= tolerance);
  }
  return wrong;
}

static void refuse_all(void) {
  for (int i = 0; i < REFUSED; i++) {
    double si = 1234;
    struct lb_error error = {.text = ""};
    enum lb_status status =
        lb_units_read(&si, refused[i].text, refused[i].quantity, refused[i].ambient, &error);
    ck_assert_str_eq(error.text, refused[i].message);
    ck_assert_int_eq(status, LB_BAD_INPUT);
    ck_assert_int_eq(error.status, LB_BAD_INPUT);
    ck_close(si, 1234, 0);
  }
}

/* Without its files the library can say nothing of a unit the table lacks; the table still serves.
 * This runs first, before the library is read; the next test shows that a later try may succeed. */
START_TEST(names_a_library_that_cannot_be_read) {
  struct lb_error error;
  double si = 1234;
  ck_assert_int_eq(setenv("UDUNITS2_XML_PATH", "/nonexistent/units.xml", 1), 0);
  ck_assert_int_eq(lb_units_read(&si, "3 yards", LB_LENGTH, AMBIENT, &error), LB_IO);
  ck_assert_str_eq(error.text, "'3 yards' needs the tables of the unit library, which cannot be "
                               "read; write e.g. '50 mm'");
  ck_close(si, 1234, 0);
  ck_assert_int_eq(lb_units_read(&si, "50 mm", LB_LENGTH, AMBIENT, &error), LB_OK);
  ck_assert_int_eq(unsetenv("UDUNITS2_XML_PATH"), 0);
}
END_TEST

/* The library's own reader fails in such a locale, strtod reads 3.6 as 3, and printf writes 7,01:
 * none of it may show. */
START_TEST(cares_for_no_locale) {
  bool comma = support_decimal_comma();
  const char *point = comma ? "," : ".";
  ck_assert_str_eq(localeconv()->decimal_point, point);
  ck_assert_int_eq(misread(), 0);
  refuse_all();
  ck_assert_str_eq(localeconv()->decimal_point, point); /* the caller's locale is left alone */
  setlocale(LC_ALL, "C");
}
END_TEST

/* The library is first read here, by four threads at once. */
static void *misread_by_thread(void *wrong) {
  for (int round = 0; round < 5; round++)
    *(int *)wrong += misread();
  return NULL;
}

START_TEST(serves_threads_at_once) {
  enum {
    THREADS = 4
  };
  pthread_t thread[THREADS];
  int wrong[THREADS] = {0};
  for (int i = 0; i < THREADS; i++)
    ck_assert_int_eq(pthread_create(&thread[i], NULL, misread_by_thread, &wrong[i]), 0);
  for (int i = 0; i < THREADS; i++) {
    ck_assert_int_eq(pthread_join(thread[i], NULL), 0);
    ck_assert_int_eq(wrong[i], 0);
  }
}
END_TEST

START_TEST(reads_what_the_trade_writes) {
  ck_assert_uint_eq(sizeof accepted / sizeof accepted[0], ACCEPTED);
  for (int i = 0; i < ACCEPTED; i++) {
    double si = nan("");
    struct lb_error error = {.text = ""};
    enum lb_status status =
        lb_units_read(&si, accepted[i].text, accepted[i].quantity, AMBIENT, &error);
    ck_assert_msg(status == LB_OK, "%s", error.text);
    double tolerance = EXACT * room(accepted[i].quantity, accepted[i].si);
    ck_assert_msg(fabs(si - accepted[i].si) <= tolerance, "'%s' is %.17g, not %.17g",
                  accepted[i].text, si, accepted[i].si);
  }
}
END_TEST

START_TEST(refuses_with_the_right_spelling) {
  ck_assert_uint_eq(sizeof refused / sizeof refused[0], REFUSED);
  refuse_all();
}
END_TEST

/* The general library alone would give other values for these, or take what is no unit here. */
START_TEST(asks_its_own_table_first) {
  double si;
  ck_assert_int_eq(lb_units_read(&si, "20 degC", LB_TEMPERATURE, AMBIENT, NULL), LB_OK);
  ck_close(si, 273.15 + 20, 0);
  ck_close(si, 293.15, 0);
  ck_assert_int_eq(lb_units_read(&si, "1 gal", LB_VOLUME, AMBIENT, NULL), LB_OK);
  ck_close_relative(si, 3.785411784e-3, EXACT);
  ck_assert_int_eq(lb_units_read(&si, "1 psi", LB_PRESSURE_DIFFERENCE, AMBIENT, NULL), LB_OK);
  ck_close_relative(si, 6894.757293168361, EXACT); /* NIST SP 811: 6.894757 E+03 */
  ck_assert_int_eq(lb_units_read(&si, "1 lb", LB_FORCE, AMBIENT, NULL), LB_OK);
  ck_close(si, 4.4482216152605, 0); /* NIST SP 811, exact */
  ck_assert_int_eq(lb_units_read(&si, "1 mph", LB_SPEED, AMBIENT, NULL), LB_OK);
  ck_close(si, 0.44704, 0); /* NIST SP 811, exact */
  ck_assert_int_eq(lb_units_read(&si, "1 Hz", LB_ROTATIONAL_SPEED, AMBIENT, NULL), LB_OK);
  ck_close(si, 2 * LB_PI, 0);
}
END_TEST

/* SI -> unit -> text of 17 digits -> SI, for every unit of the table and values of both signs and
 * many sizes. */
START_TEST(comes_back_within_1e_15) {
  uint64_t seed = 2718;
  int trips = 0;
  for (int i = 0; i < ACCEPTED; i++) {
    enum lb_quantity quantity = accepted[i].quantity;
    const char *unit;
    double number, value, back;
    ck_assert_int_eq(lb_units_split(&number, &unit, accepted[i].text, NULL), LB_OK);
    for (int n = 0; n < 50; n++) {
      double scale = pow(10, support_between(&seed, -3, 3));
      double si = scale * room(quantity, accepted[i].si) * support_between(&seed, -1, 1);
      if (quantity == LB_PRESSURE || quantity == LB_TEMPERATURE)
        si = fabs(si);
      char text[256];
      struct lb_error error = {.text = ""};
      enum lb_status status = lb_units_write(&value, si, quantity, unit, AMBIENT, &error);
      ck_assert_msg(status == LB_OK, "%s", error.text);
      snprintf(text, sizeof text, "%.17g %s", value, unit);
      status = lb_units_read(&back, text, quantity, AMBIENT, &error);
      ck_assert_msg(status == LB_OK, "%s", error.text);
      ck_close(back, si, 1e-15 * room(quantity, si));
      trips++;
    }
  }
  ck_assert_int_eq(trips, 50 * ACCEPTED);
}
END_TEST

START_TEST(writes_only_what_belongs) {
  static const struct {
    enum lb_quantity quantity;
    double si, ambient;
    const char *unit, *message;
  } rows[] = {
      {LB_LENGTH, 1, KNOWN, "bar", "'bar' is a pressure, not a length; write e.g. '50 mm'"},
      {LB_LENGTH, 1, KNOWN, "", "'' has no unit; write e.g. 'mm'"},
      {LB_LENGTH, 1, KNOWN, "2 mm", "'2 mm' is not read as a length; write e.g. '50 mm'"},
      {LB_LENGTH, 1, KNOWN, "MM", "'MM' is not read as a length; write 'mm'"},
      {LB_NUMBER, 1, KNOWN, "mm", "'mm' is not read as a bare number; write no unit"},
      {LB_PRESSURE, 1, KNOWN, "bar",
       "'bar' says neither gauge nor absolute; write 'bar gauge' or 'bar absolute'"},
      {LB_PRESSURE, 1, UNKNOWN, "psig",
       "'psig' is measured from surroundings whose pressure is not known; write it in "
       "'psi absolute'"},
      {LB_PRESSURE_DIFFERENCE, 1, KNOWN, "barg",
       "'barg' is a difference, which is neither gauge nor absolute; write 'bar'"},
      {LB_TEMPERATURE, 1, KNOWN, "C", "'C' is not read as a temperature; write 'degC'"},
      {LB_LENGTH, DBL_MAX, KNOWN, "mm", "the value cannot be held in 'mm'; use a larger unit"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double value = 1234;
    struct lb_error error;
    ck_assert_int_eq(
        lb_units_write(&value, rows[i].si, rows[i].quantity, rows[i].unit, rows[i].ambient, &error),
        LB_BAD_INPUT);
    ck_assert_str_eq(error.text, rows[i].message);
    ck_close(value, 1234, 0);
  }
  double value = 1234;
  ck_assert_int_eq(lb_units_write(&value, nan(""), LB_LENGTH, "mm", KNOWN, NULL), LB_BAD_INPUT);
  ck_assert_int_eq(lb_units_write(&value, -0.0, LB_LENGTH, "mm", KNOWN, NULL), LB_OK);
  ck_assert_msg(!signbit(value), "-0 mm");
}
END_TEST

/* A value that was read must not depend on the ambient pressure unless it is gauge. */
START_TEST(needs_the_surroundings_for_gauge_alone) {
  const double unknown[] = {nan(""), 0, -1, HUGE_VAL};
  for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++) {
    double si;
    ck_assert_int_eq(lb_units_read(&si, "6 bara", LB_PRESSURE, unknown[i], NULL), LB_OK);
    ck_close(si, 6e5, 0);
    ck_assert_int_eq(lb_units_read(&si, "0.3 bar", LB_PRESSURE_DIFFERENCE, unknown[i], NULL),
                     LB_OK);
    ck_close_relative(si, 0.3e5, EXACT);
    ck_assert_int_eq(lb_units_read(&si, "6 barg", LB_PRESSURE, unknown[i], NULL), LB_BAD_INPUT);
  }
}
END_TEST

START_TEST(offers_an_example_of_ones_own) {
  static const struct {
    enum lb_quantity quantity;
    const char *text, *example, *message;
  } rows[] = {
      {LB_LENGTH, "420", "180 m", "'420' has no unit; write e.g. '420 m'"},
      {LB_LENGTH, "420 s", "180 m", "'420 s' is a time, not a length; write e.g. '180 m'"},
      {LB_LENGTH, "420 foos", "180 m", "'420 foos' is not read as a length; write e.g. '180 m'"},
      {LB_LENGTH, "1e308 km", "180 m",
       "'1e308 km' lies beyond what the computer can hold; write e.g. '180 m'"},
      {LB_PRESSURE, "1013", "992 hPa absolute",
       "'1013' has no unit; write e.g. '1013 hPa absolute'"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double si = 1234;
    struct lb_error error;
    ck_assert_int_eq(
        lb_units_read_like(&si, rows[i].text, rows[i].quantity, KNOWN, rows[i].example, &error),
        LB_BAD_INPUT);
    ck_assert_str_eq(error.text, rows[i].message);
    ck_assert(si == 1234);
  }
}
END_TEST

START_TEST(gives_examples_it_reads) {
  for (int q = 0; q < LB_QUANTITIES; q++) {
    double si, one;
    enum lb_quantity quantity = (enum lb_quantity)q;
    struct lb_error error = {.text = ""};
    enum lb_status status =
        lb_units_read(&si, lb_units_example(quantity), quantity, AMBIENT, &error);
    ck_assert_msg(status == LB_OK, "%s", error.text);
    const char *name = strcmp(lb_units_si(quantity), "1") == 0 ? "" : lb_units_si(quantity);
    ck_assert_int_eq(lb_units_write(&one, si, quantity, name, AMBIENT, NULL), LB_OK);
    ck_close(one, si, 0);
  }
  ck_assert_str_eq(lb_units_example(LB_QUANTITIES), "");
  ck_assert_str_eq(lb_units_si(LB_QUANTITIES), "");
}
END_TEST

/* The library would print what it thinks of a unit; nothing may reach standard error. */
START_TEST(prints_nothing) {
  char path[] = "/tmp/lastbar-units-XXXXXX";
  int file = mkstemp(path), standard_error = dup(STDERR_FILENO);
  ck_assert_msg(file >= 0 && standard_error >= 0, "no temporary file");
  ck_assert_int_eq(unlink(path), 0);
  ck_assert_int_ge(dup2(file, STDERR_FILENO), 0);
  for (int i = 0; i < REFUSED; i++) {
    double si;
    lb_units_read(&si, refused[i].text, refused[i].quantity, refused[i].ambient, NULL);
  }
  double si;
  lb_units_read(&si, "5 m((", LB_LENGTH, AMBIENT, NULL);
  fflush(stderr);
  ck_assert_int_ge(dup2(standard_error, STDERR_FILENO), 0);
  ck_assert_int_eq(lseek(file, 0, SEEK_END), 0);
  close(file);
  close(standard_error);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("units");
  TCase *reading = tcase_create("units of the trade");
  tcase_set_timeout(reading, 60);
  tcase_add_test(reading, names_a_library_that_cannot_be_read);
  tcase_add_test(reading, cares_for_no_locale);
  tcase_add_test(reading, serves_threads_at_once);
  tcase_add_test(reading, reads_what_the_trade_writes);
  tcase_add_test(reading, refuses_with_the_right_spelling);
  tcase_add_test(reading, asks_its_own_table_first);
  tcase_add_test(reading, comes_back_within_1e_15);
  tcase_add_test(reading, writes_only_what_belongs);
  tcase_add_test(reading, needs_the_surroundings_for_gauge_alone);
  tcase_add_test(reading, gives_examples_it_reads);
  tcase_add_test(reading, offers_an_example_of_ones_own);
  tcase_add_test(reading, prints_nothing);
  suite_add_tcase(suite, reading);
  return support_run(suite, NULL);
}
