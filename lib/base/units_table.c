/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of the trade's spellings.
 */
#include "base/units_table.h"

#include "base/constants.h"
#include "base/plain.h"

#include <stddef.h>
#include <string.h>

/* Definitions behind the table, each exact and each written as whole numbers over powers of ten, so
 * that a conversion rounds at most twice.
 * Foot, inch, pound: international yard and pound agreement, 1959 (0.9144 m, 0.45359237 kg).
 * Standard gravity 9.80665 m/s2: 3rd General Conference on Weights and Measures, 1901.
 * Gallons: 231 cubic inches (NIST Handbook 44); 4.54609 L (Weights and Measures Act 1985, UK).
 * Nautical mile 1852 m: Monaco, 1929. Btu and calorie of the International Table, and the
 * conventional columns of mercury (13595.1 kg/m3) and water (1000 kg/m3): NIST SP 811. */
#define POUND_FORCE_E13 44482216152605.0 /* [1e-13 N] 0.45359237 * 9.80665 */
#define CUBIC_INCH_E12 16387064.0        /* [1e-12 m3] 0.0254 cubed */
#define CUBIC_FOOT_E12 28316846592.0     /* [1e-12 m3] 0.3048 cubed */
#define BTU 1055.05585262                /* [J] */
#define SQUARE_FOOT 0.09290304           /* [m2] */
#define POUND_E8 45359237.0              /* [1e-8 kg] */

/* A torque for each revolution a minute, and for the square of that. */
#define PER_TURN(torque) torque "/(rev/min)|" torque "/(r/min)|" torque " min/rev"
#define PER_TURN_SQUARED(torque) torque "/(rev/min)2|" torque "/(r/min)2|" torque " min2/rev2"

/* Differences of pressure share the rows of pressures. Capitals are free only where no other unit
 * of the same quantity differs by them alone. The first spelling of a row is the one offered. */
static const struct lb_unit table[] = {
    {LB_ANGLE, LB_ANY_CASE, "deg|degs|degree|degrees", {LB_PI, 180, 0, 0}},
    {LB_ANGLE, LB_ANY_CASE, "rad|radian|radians", {1, 1, 0, 0}},
    {LB_ANGLE, LB_AS_WRITTEN, "mrad", {1, 1000, 0, 0}},
    {LB_ANGLE, LB_ANY_CASE, "rev|revs|revolution|revolutions|turn|turns", {2 * LB_PI, 1, 0, 0}},
    {LB_ANGLE, LB_ANY_CASE, "gon", {LB_PI, 200, 0, 0}},

    {LB_LENGTH, LB_AS_WRITTEN, "mm", {1, 1e3, 0, 0}},
    {LB_LENGTH, LB_AS_WRITTEN, "cm", {1, 1e2, 0, 0}},
    {LB_LENGTH, LB_AS_WRITTEN, "m", {1, 1, 0, 0}},
    {LB_LENGTH, LB_AS_WRITTEN, "km", {1e3, 1, 0, 0}},
    {LB_LENGTH, LB_AS_WRITTEN, "um", {1, 1e6, 0, 0}},
    {LB_LENGTH, LB_ANY_CASE, "in|ins|inch|inches|\"|''", {254, 1e4, 0, 0}},
    {LB_LENGTH, LB_ANY_CASE, "ft|foot|feet|'", {3048, 1e4, 0, 0}},
    {LB_LENGTH, LB_ANY_CASE, "thou|mil|mils", {254, 1e7, 0, 0}},

    {LB_VOLUME, LB_ANY_CASE, "cm3|cc|ccm|cu cm", {1, 1e6, 0, 0}},
    {LB_VOLUME, LB_AS_WRITTEN, "ml|mL", {1, 1e6, 0, 0}},
    {LB_VOLUME, LB_ANY_CASE, "L|litre|litres|liter|liters|ltr", {1, 1e3, 0, 0}},
    {LB_VOLUME, LB_AS_WRITTEN, "dm3", {1, 1e3, 0, 0}},
    {LB_VOLUME, LB_AS_WRITTEN, "m3", {1, 1, 0, 0}},
    {LB_VOLUME, LB_AS_WRITTEN, "mm3", {1, 1e9, 0, 0}},
    {LB_VOLUME,
     LB_ANY_CASE,
     "cu in|in3|cuin|inch3|cubic inch|cubic inches|cu inch|cu inches",
     {CUBIC_INCH_E12, 1e12, 0, 0}},
    {LB_VOLUME,
     LB_ANY_CASE,
     "cu ft|ft3|cuft|cf|cubic foot|cubic feet",
     {CUBIC_FOOT_E12, 1e12, 0, 0}},
    {LB_VOLUME,
     LB_ANY_CASE,
     "gal|gals|gallon|gallons|US gal|US gallon|US gallons|gal US|gal(US)",
     {231 * CUBIC_INCH_E12, 1e12, 0, 0}},
    {LB_VOLUME,
     LB_ANY_CASE,
     "imp gal|imp gallon|imp gallons|imperial gallon|imperial gallons|UK gal|UK gallon|UK gallons|"
     "gal imp|gal UK|gal(imp)|gal(UK)",
     {454609, 1e8, 0, 0}},

    {LB_PRESSURE, LB_ANY_CASE, "bar|bars", {1e5, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "mbar", {1e2, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "Pa|N/m2", {1, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "hPa", {1e2, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "kPa|kN/m2", {1e3, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "MPa|N/mm2", {1e6, 1, 0, 0}},
    {LB_PRESSURE, LB_AS_WRITTEN, "N/cm2", {1e4, 1, 0, 0}},
    {LB_PRESSURE,
     LB_ANY_CASE,
     "psi|lbf/in2|lb/in2|lbs/in2|lbf/sq in|lb/sq in|lbs/sq in|pounds/square inch",
     {POUND_FORCE_E13, 6451600000, 0, 0}}, /* a square inch is 6.4516e-4 m2 */
    {LB_PRESSURE, LB_ANY_CASE, "kgf/cm2|kp/cm2|kg/cm2|at", {980665, 10, 0, 0}},
    {LB_PRESSURE, LB_ANY_CASE, "atm", {LB_ATMOSPHERE, 1, 0, 0}},
    {LB_PRESSURE,
     LB_ANY_CASE,
     "inHg|in Hg|\"Hg|\" Hg|inch Hg|inches Hg|in mercury|inches of mercury",
     {3386388640341, 1e9, 0, 0}},
    {LB_PRESSURE, LB_ANY_CASE, "mmHg|mm Hg|mm of mercury", {133322387415, 1e9, 0, 0}},
    {LB_PRESSURE, LB_ANY_CASE, "Torr", {LB_ATMOSPHERE, 760, 0, 0}},
    {LB_PRESSURE,
     LB_ANY_CASE,
     "inH2O|in H2O|\"H2O|\" H2O|inWC|in WC|inwg|in wg|inches of water|in of water",
     {24908891, 1e5, 0, 0}},
    {LB_PRESSURE, LB_ANY_CASE, "cmH2O|cm H2O|cmWC|cm WC|cm of water", {980665, 1e4, 0, 0}},
    {LB_PRESSURE, LB_ANY_CASE, "mmH2O|mm H2O|mmWC|mm WC|mmWS|mm of water", {980665, 1e5, 0, 0}},

    {LB_TEMPERATURE,
     LB_ANY_CASE,
     "degC|deg C|celsius|centigrade|deg celsius|degree C|degrees C|degree celsius|degrees celsius",
     {1, 1, 0, LB_ZERO_CELSIUS}},
    {LB_TEMPERATURE,
     LB_ANY_CASE,
     "degF|deg F|fahrenheit|deg fahrenheit|degree F|degrees F|degree fahrenheit|degrees fahrenheit",
     {5, 9, 32, LB_ZERO_CELSIUS}},
    {LB_TEMPERATURE, LB_AS_WRITTEN, "K|kelvin|Kelvin|degK", {1, 1, 0, 0}},
    {LB_TEMPERATURE, LB_ANY_CASE, "degR|deg R|rankine", {5, 9, 0, 0}},

    {LB_FORCE, LB_AS_WRITTEN, "N", {1, 1, 0, 0}},
    {LB_FORCE, LB_AS_WRITTEN, "kN", {1e3, 1, 0, 0}},
    {LB_FORCE, LB_AS_WRITTEN, "daN", {10, 1, 0, 0}},
    {LB_FORCE, LB_AS_WRITTEN, "mN", {1, 1e3, 0, 0}},
    {LB_FORCE,
     LB_ANY_CASE,
     "lbf|lb|lbs|lb f|pound|pounds|pound force|pounds force",
     {POUND_FORCE_E13, 1e13, 0, 0}},
    {LB_FORCE, LB_ANY_CASE, "ozf|oz", {POUND_FORCE_E13, 16e13, 0, 0}},
    {LB_FORCE, LB_ANY_CASE, "kgf|kp", {980665, 1e5, 0, 0}},

    {LB_TORQUE, LB_AS_WRITTEN, "N m|Nm", {1, 1, 0, 0}},
    {LB_TORQUE, LB_AS_WRITTEN, "kN m|kNm", {1e3, 1, 0, 0}},
    {LB_TORQUE, LB_AS_WRITTEN, "daN m|daNm", {10, 1, 0, 0}},
    {LB_TORQUE, LB_AS_WRITTEN, "N cm|Ncm", {1, 1e2, 0, 0}},
    {LB_TORQUE, LB_AS_WRITTEN, "N mm|Nmm|mN m|mNm", {1, 1e3, 0, 0}},
    {LB_TORQUE,
     LB_ANY_CASE,
     "lbf ft|lb ft|lbs ft|lbft|ft lbf|ft lb|ft lbs|ftlb|foot pound|foot pounds|pound foot|"
     "pound feet",
     {POUND_FORCE_E13 * 3048, 1e17, 0, 0}},
    {LB_TORQUE,
     LB_ANY_CASE,
     "lbf in|lb in|lbs in|lbin|in lbf|in lb|in lbs|inlb|inch pound|inch pounds|pound inch|"
     "pound inches",
     {POUND_FORCE_E13 * 254, 1e17, 0, 0}},
    {LB_TORQUE,
     LB_ANY_CASE,
     "ozf in|oz in|in ozf|in oz|ozin",
     {POUND_FORCE_E13 * 254, 16e17, 0, 0}},
    {LB_TORQUE, LB_ANY_CASE, "kgf m|kp m|kg m|kpm|m kgf|m kp", {980665, 1e5, 0, 0}},
    {LB_TORQUE, LB_ANY_CASE, "kgf cm|kp cm|kg cm", {980665, 1e7, 0, 0}},

    {LB_SPEED, LB_AS_WRITTEN, "m/s", {1, 1, 0, 0}},
    {LB_SPEED, LB_AS_WRITTEN, "mm/s", {1, 1e3, 0, 0}},
    {LB_SPEED, LB_AS_WRITTEN, "m/min", {1, 60, 0, 0}},
    {LB_SPEED, LB_ANY_CASE, "km/h|km/hr|kmh|kph|km/hour", {5, 18, 0, 0}},
    {LB_SPEED, LB_ANY_CASE, "mph|mi/h|mile/h|miles/h|miles/hour", {1609344, 3600e3, 0, 0}},
    {LB_SPEED, LB_ANY_CASE, "ft/s|ft/sec|fps|feet/s|feet/second", {3048, 1e4, 0, 0}},
    {LB_SPEED, LB_ANY_CASE, "ft/min|fpm|feet/minute", {3048, 60e4, 0, 0}},
    {LB_SPEED, LB_ANY_CASE, "in/s|in/sec|ips|inches/second", {254, 1e4, 0, 0}},
    {LB_SPEED, LB_AS_WRITTEN, "knot|knots|kn|kt|kts", {1852, 3600, 0, 0}},

    {LB_ROTATIONAL_SPEED,
     LB_ANY_CASE,
     "rev/min|r/min|rpm|revs/min|turn/min|turns/min|cycle/min|cycles/min|rev/minute|"
     "revolutions/minute|turns/minute",
     {2 * LB_PI, 60, 0, 0}},
    {LB_ROTATIONAL_SPEED,
     LB_ANY_CASE,
     "rev/s|r/s|rps|revs/s|rev/sec|turn/s|turns/s|cycles/s|turns/second|revolutions/second|Hz",
     {2 * LB_PI, 1, 0, 0}},
    {LB_ROTATIONAL_SPEED, LB_ANY_CASE, "rad/s|rad/sec|radians/second", {1, 1, 0, 0}},
    {LB_ROTATIONAL_SPEED, LB_ANY_CASE, "deg/s|degrees/s|degrees/second", {LB_PI, 180, 0, 0}},

    {LB_TIME, LB_AS_WRITTEN, "ms|msec", {1, 1e3, 0, 0}},
    {LB_TIME, LB_AS_WRITTEN, "s", {1, 1, 0, 0}},
    {LB_TIME, LB_AS_WRITTEN, "us", {1, 1e6, 0, 0}},
    {LB_TIME, LB_ANY_CASE, "sec|secs|second|seconds", {1, 1, 0, 0}},
    {LB_TIME, LB_ANY_CASE, "min|mins|minute|minutes", {60, 1, 0, 0}},
    {LB_TIME, LB_AS_WRITTEN, "h", {3600, 1, 0, 0}},
    {LB_TIME, LB_ANY_CASE, "hr|hrs|hour|hours", {3600, 1, 0, 0}},

    {LB_FRACTION, LB_ANY_CASE, "%|percent|per cent|pct", {1, 100, 0, 0}},
    {LB_FRACTION, LB_AS_WRITTEN, "", {1, 1, 0, 0}},
    {LB_NUMBER, LB_AS_WRITTEN, "", {1, 1, 0, 0}},

    {LB_CONDUCTANCE,
     LB_ANY_CASE,
     "L/(s bar)|L/(bar s)|L/s/bar|dm3/(s bar)|dm3/(bar s)|dm3/s/bar|L/(s bar) ANR|"
     "dm3/(s bar) ANR",
     {1, 1e8, 0, 0}},
    {LB_CONDUCTANCE,
     LB_ANY_CASE,
     "L/(min bar)|L/(bar min)|L/min/bar|dm3/(min bar)|dm3/(bar min)|NL/(min bar)|L/(min bar) ANR",
     {1, 60e8, 0, 0}},
    {LB_CONDUCTANCE, LB_ANY_CASE, "cm3/(s bar)|cm3/(bar s)|ml/(s bar)", {1, 1e11, 0, 0}},
    {LB_CONDUCTANCE, LB_ANY_CASE, "m3/(h bar)|m3/(bar h)", {1, 3600e5, 0, 0}},
    {LB_CONDUCTANCE, LB_AS_WRITTEN, "m3/(s Pa)", {1, 1, 0, 0}},

    {LB_HEAT_TRANSFER,
     LB_ANY_CASE,
     "W/(m2 K)|W/m2K|W/m2 K|W/(m2K)|W/(K m2)|W/m2/K|W m-2 K-1|W/(m2 degC)|W/m2 degC|W/m2degC|"
     "W/(m2 C)",
     {1, 1, 0, 0}},
    {LB_HEAT_TRANSFER,
     LB_ANY_CASE,
     "BTU/(h ft2 F)|BTU/(hr ft2 F)|BTU/(h ft2 degF)|BTU/(hr ft2 degF)|BTU/(ft2 h F)|"
     "BTU/(ft2 h degF)|BTU/(h sq ft F)|BTU/(hr sq ft F)|BTU/h/ft2/F",
     {9 * BTU, 5 * 3600 * SQUARE_FOOT, 0, 0}},
    {LB_HEAT_TRANSFER,
     LB_ANY_CASE,
     "kcal/(m2 h K)|kcal/(h m2 K)|kcal/(m2 h degC)|kcal/(h m2 degC)",
     {1163, 1000, 0, 0}}, /* 4186.8 J in 3600 s */

    {LB_AREA, LB_AS_WRITTEN, "mm2|sq mm", {1, 1e6, 0, 0}},
    {LB_AREA, LB_AS_WRITTEN, "cm2|sq cm", {1, 1e4, 0, 0}},
    {LB_AREA, LB_AS_WRITTEN, "m2|sq m", {1, 1, 0, 0}},
    {LB_AREA,
     LB_ANY_CASE,
     "sq in|in2|sqin|square inch|square inches|sq inch|sq inches",
     {254.0 * 254, 1e8, 0, 0}},
    {LB_AREA, LB_ANY_CASE, "sq ft|ft2|sqft|square foot|square feet", {3048.0 * 3048, 1e8, 0, 0}},

    {LB_VOLUME_FLOW, LB_ANY_CASE, "m3/h|m3/hr|m3/hour|cbm/h", {1, 3600, 0, 0}},
    {LB_VOLUME_FLOW,
     LB_ANY_CASE,
     "L/min|litre/min|liter/min|litres/min|liters/min|dm3/min",
     {1, 60e3, 0, 0}},
    {LB_VOLUME_FLOW, LB_ANY_CASE, "L/s|dm3/s", {1, 1e3, 0, 0}},
    {LB_VOLUME_FLOW, LB_ANY_CASE, "L/h|dm3/h", {1, 3600e3, 0, 0}},
    {LB_VOLUME_FLOW, LB_AS_WRITTEN, "m3/s", {1, 1, 0, 0}},

    {LB_FREE_FLOW,
     LB_ANY_CASE,
     "L/min ANR|L/min|L/min (ANR)|L/min(ANR)|dm3/min ANR|dm3/min|dm3/min (ANR)|dm3/min(ANR)",
     {1, 60e3, 0, 0}},
    {LB_FREE_FLOW, LB_ANY_CASE, "L/s ANR|L/s|L/s (ANR)|L/s(ANR)|dm3/s ANR|dm3/s", {1, 1e3, 0, 0}},
    {LB_FREE_FLOW, LB_ANY_CASE, "m3/h ANR|m3/h|m3/h (ANR)|m3/h(ANR)", {1, 3600, 0, 0}},
    {LB_FREE_FLOW, LB_ANY_CASE, "m3/min ANR|m3/min", {1, 60, 0, 0}},
    {LB_FREE_FLOW, LB_AS_WRITTEN, "m3/s ANR|m3/s", {1, 1, 0, 0}},
    {LB_FREE_FLOW, LB_ANY_CASE, "cu ft/min ANR|ft3/min ANR|cfm ANR", {CUBIC_FOOT_E12, 60e12, 0, 0}},

    {LB_MASS,
     LB_ANY_CASE,
     "kg|kgs|kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes",
     {1, 1, 0, 0}},
    {LB_MASS, LB_ANY_CASE, "g|gram|grams|gramme|grammes", {1, 1e3, 0, 0}},
    {LB_MASS, LB_ANY_CASE, "t|tonne|tonnes|metric ton|metric tons", {1e3, 1, 0, 0}},
    {LB_MASS, LB_ANY_CASE, "lb|lbs|lbm|lb m|pound|pounds", {POUND_E8, 1e8, 0, 0}},
    {LB_MASS, LB_ANY_CASE, "oz|ounce|ounces", {POUND_E8, 16e8, 0, 0}},
    {LB_MASS, LB_ANY_CASE, "stone|stones|st", {14 * POUND_E8, 1e8, 0, 0}},

    {LB_TORQUE_PER_SPEED,
     LB_ANY_CASE,
     "N m/rpm|Nm/rpm|" PER_TURN("N m") "|" PER_TURN("Nm"),
     {60, 2 * LB_PI, 0, 0}},
    {LB_TORQUE_PER_SPEED, LB_ANY_CASE, "N m s/rad|N m/(rad/s)|Nm/(rad/s)|N m s|Nms", {1, 1, 0, 0}},
    {LB_TORQUE_PER_SPEED,
     LB_ANY_CASE,
     "lb ft/rpm|lbf ft/rpm|ft lb/rpm|ft lbf/rpm|" PER_TURN("lb ft") "|" PER_TURN("lbf ft"),
     {POUND_FORCE_E13 * 3048 * 60, 2 * LB_PI * 1e17, 0, 0}},

    {LB_TORQUE_PER_SPEED_SQUARED,
     LB_ANY_CASE,
     "N m/rpm2|Nm/rpm2|N m/rpm/rpm|" PER_TURN_SQUARED("N m") "|" PER_TURN_SQUARED("Nm"),
     {60 * 60, 4 * LB_PI *LB_PI, 0, 0}},
    {LB_TORQUE_PER_SPEED_SQUARED,
     LB_ANY_CASE,
     "N m s2/rad2|N m/(rad/s)2|Nm/(rad/s)2|N m/(rad2/s2)|N m s2",
     {1, 1, 0, 0}},
    {LB_TORQUE_PER_SPEED_SQUARED,
     LB_ANY_CASE,
     "lb ft/rpm2|lbf ft/rpm2|ft lb/rpm2|ft lbf/rpm2|lb ft/rpm/rpm|" PER_TURN_SQUARED(
         "lb ft") "|" PER_TURN_SQUARED("lbf ft"),
     {POUND_FORCE_E13 * 3048 * 60 * 60, 4 * LB_PI *LB_PI * 1e17, 0, 0}},

    {LB_DROOP, LB_AS_WRITTEN, "Pa s/m3|Pa/(m3/s)", {1, 1, 0, 0}},
    {LB_DROOP,
     LB_ANY_CASE,
     "bar/(L/s)|bar s/L|bar/(L/s ANR)|bar/(dm3/s)|bar s/dm3",
     {1e8, 1, 0, 0}},
    {LB_DROOP, LB_ANY_CASE, "bar/(L/min)|bar min/L|bar/(L/min ANR)|bar/(dm3/min)", {60e8, 1, 0, 0}},
    {LB_DROOP,
     LB_AS_WRITTEN,
     "mbar/(L/min)|mbar min/L|mbar/(L/min ANR)|mbar/(l/min)",
     {60e5, 1, 0, 0}},
    {LB_DROOP, LB_ANY_CASE, "bar/(m3/h)|bar h/m3|bar/(m3/h ANR)", {3600e5, 1, 0, 0}},
    {LB_DROOP, LB_AS_WRITTEN, "kPa/(L/s)|kPa s/L|kPa/(l/s)", {1e6, 1, 0, 0}},
    {LB_DROOP,
     LB_ANY_CASE,
     "psi/(cu ft/min)|psi/(ft3/min)|psi/cfm|psi/(cfm ANR)|psi/(cu ft/min ANR)",
     {POUND_FORCE_E13 * 60e12, 6451600000.0 * CUBIC_FOOT_E12, 0, 0}},
};

bool lb_unit_same(const char *a, const char *b, size_t length, enum lb_letter_case letter_case) {
  for (size_t i = 0; i < length; i++)
    if (letter_case == LB_ANY_CASE ? lb_plain_lower(a[i]) != lb_plain_lower(b[i]) : a[i] != b[i])
      return false;
  return true;
}

bool lb_unit_spelled(const char *spellings, const char *form, enum lb_letter_case letter_case) {
  for (const char *at = spellings;; at++) {
    size_t length = strcspn(at, "|");
    if (length == strlen(form) && lb_unit_same(at, form, length, letter_case))
      return true;
    at += length;
    if (!*at)
      return false;
  }
}

const struct lb_unit *lb_unit_find(enum lb_quantity quantity, const char *form, bool any_case) {
  if (quantity == LB_PRESSURE_DIFFERENCE)
    quantity = LB_PRESSURE;
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    const struct lb_unit *row = &table[i];
    if (row->quantity == quantity &&
        lb_unit_spelled(row->spellings, form, any_case ? LB_ANY_CASE : row->letter_case))
      return row;
  }
  return NULL;
}
