/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units of measurement.
 *
 * A unit as typed is first made plain; a word for gauge or absolute is taken off it. What is left
 * is looked up in the table of the trade's spellings, and only then in the general library, which
 * would take several of them for something else (gal, cu in, mph, lb). Either way a unit ends as a
 * ratio and two zeros:
 *   SI = (value - unit_zero) numerator / denominator + si_zero
 */
#include "base/units.h"

#include "base/constants.h"
#include "base/number.h"
#include "base/plain.h"
#include "base/units_library.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
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

/* What a word behind a pressure says about it. */
enum reference {
  NEITHER,
  GAUGE,
  ABSOLUTE,
  DIFFERENCE,
  VACUUM
};

/* Whether capitals matter: they do where they are prefixes (mPa, MPa). */
enum letter_case {
  AS_WRITTEN,
  ANY_CASE
};

struct scale {
  double numerator, denominator; /* [SI unit] in a unit */
  double unit_zero;              /* [unit] */
  double si_zero;                /* [SI unit] */
};

/* Spellings, parted by '|', in plain form. */
struct unit {
  enum lb_quantity quantity;
  enum letter_case letter_case;
  const char *spellings;
  struct scale scale;
};

/* Differences of pressure share the rows of pressures. Capitals are free only where no other unit
 * of the same quantity differs by them alone. The first spelling of a row is the one offered. */
static const struct unit table[] = {
    {LB_ANGLE, ANY_CASE, "deg|degs|degree|degrees", {LB_PI, 180, 0, 0}},
    {LB_ANGLE, ANY_CASE, "rad|radian|radians", {1, 1, 0, 0}},
    {LB_ANGLE, AS_WRITTEN, "mrad", {1, 1000, 0, 0}},
    {LB_ANGLE, ANY_CASE, "rev|revs|revolution|revolutions|turn|turns", {2 * LB_PI, 1, 0, 0}},
    {LB_ANGLE, ANY_CASE, "gon", {LB_PI, 200, 0, 0}},

    {LB_LENGTH, AS_WRITTEN, "mm", {1, 1e3, 0, 0}},
    {LB_LENGTH, AS_WRITTEN, "cm", {1, 1e2, 0, 0}},
    {LB_LENGTH, AS_WRITTEN, "m", {1, 1, 0, 0}},
    {LB_LENGTH, AS_WRITTEN, "km", {1e3, 1, 0, 0}},
    {LB_LENGTH, AS_WRITTEN, "um", {1, 1e6, 0, 0}},
    {LB_LENGTH, ANY_CASE, "in|ins|inch|inches|\"|''", {254, 1e4, 0, 0}},
    {LB_LENGTH, ANY_CASE, "ft|foot|feet|'", {3048, 1e4, 0, 0}},
    {LB_LENGTH, ANY_CASE, "thou|mil|mils", {254, 1e7, 0, 0}},

    {LB_VOLUME, ANY_CASE, "cm3|cc|ccm|cu cm", {1, 1e6, 0, 0}},
    {LB_VOLUME, AS_WRITTEN, "ml|mL", {1, 1e6, 0, 0}},
    {LB_VOLUME, ANY_CASE, "L|litre|litres|liter|liters|ltr", {1, 1e3, 0, 0}},
    {LB_VOLUME, AS_WRITTEN, "dm3", {1, 1e3, 0, 0}},
    {LB_VOLUME, AS_WRITTEN, "m3", {1, 1, 0, 0}},
    {LB_VOLUME, AS_WRITTEN, "mm3", {1, 1e9, 0, 0}},
    {LB_VOLUME,
     ANY_CASE,
     "cu in|in3|cuin|inch3|cubic inch|cubic inches|cu inch|cu inches",
     {CUBIC_INCH_E12, 1e12, 0, 0}},
    {LB_VOLUME, ANY_CASE, "cu ft|ft3|cuft|cf|cubic foot|cubic feet", {CUBIC_FOOT_E12, 1e12, 0, 0}},
    {LB_VOLUME,
     ANY_CASE,
     "gal|gals|gallon|gallons|US gal|US gallon|US gallons|gal US|gal(US)",
     {231 * CUBIC_INCH_E12, 1e12, 0, 0}},
    {LB_VOLUME,
     ANY_CASE,
     "imp gal|imp gallon|imp gallons|imperial gallon|imperial gallons|UK gal|UK gallon|UK gallons|"
     "gal imp|gal UK|gal(imp)|gal(UK)",
     {454609, 1e8, 0, 0}},

    {LB_PRESSURE, ANY_CASE, "bar|bars", {1e5, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "mbar", {1e2, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "Pa|N/m2", {1, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "hPa", {1e2, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "kPa|kN/m2", {1e3, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "MPa|N/mm2", {1e6, 1, 0, 0}},
    {LB_PRESSURE, AS_WRITTEN, "N/cm2", {1e4, 1, 0, 0}},
    {LB_PRESSURE,
     ANY_CASE,
     "psi|lbf/in2|lb/in2|lbs/in2|lbf/sq in|lb/sq in|lbs/sq in|pounds/square inch",
     {POUND_FORCE_E13, 6451600000, 0, 0}}, /* a square inch is 6.4516e-4 m2 */
    {LB_PRESSURE, ANY_CASE, "kgf/cm2|kp/cm2|kg/cm2|at", {980665, 10, 0, 0}},
    {LB_PRESSURE, ANY_CASE, "atm", {LB_ATMOSPHERE, 1, 0, 0}},
    {LB_PRESSURE,
     ANY_CASE,
     "inHg|in Hg|\"Hg|\" Hg|inch Hg|inches Hg|in mercury|inches of mercury",
     {3386388640341, 1e9, 0, 0}},
    {LB_PRESSURE, ANY_CASE, "mmHg|mm Hg|mm of mercury", {133322387415, 1e9, 0, 0}},
    {LB_PRESSURE, ANY_CASE, "Torr", {LB_ATMOSPHERE, 760, 0, 0}},
    {LB_PRESSURE,
     ANY_CASE,
     "inH2O|in H2O|\"H2O|\" H2O|inWC|in WC|inwg|in wg|inches of water|in of water",
     {24908891, 1e5, 0, 0}},
    {LB_PRESSURE, ANY_CASE, "cmH2O|cm H2O|cmWC|cm WC|cm of water", {980665, 1e4, 0, 0}},
    {LB_PRESSURE, ANY_CASE, "mmH2O|mm H2O|mmWC|mm WC|mmWS|mm of water", {980665, 1e5, 0, 0}},

    {LB_TEMPERATURE,
     ANY_CASE,
     "degC|deg C|celsius|centigrade|deg celsius|degree C|degrees C|degree celsius|degrees celsius",
     {1, 1, 0, LB_ZERO_CELSIUS}},
    {LB_TEMPERATURE,
     ANY_CASE,
     "degF|deg F|fahrenheit|deg fahrenheit|degree F|degrees F|degree fahrenheit|degrees fahrenheit",
     {5, 9, 32, LB_ZERO_CELSIUS}},
    {LB_TEMPERATURE, AS_WRITTEN, "K|kelvin|Kelvin|degK", {1, 1, 0, 0}},
    {LB_TEMPERATURE, ANY_CASE, "degR|deg R|rankine", {5, 9, 0, 0}},

    {LB_FORCE, AS_WRITTEN, "N", {1, 1, 0, 0}},
    {LB_FORCE, AS_WRITTEN, "kN", {1e3, 1, 0, 0}},
    {LB_FORCE, AS_WRITTEN, "daN", {10, 1, 0, 0}},
    {LB_FORCE, AS_WRITTEN, "mN", {1, 1e3, 0, 0}},
    {LB_FORCE,
     ANY_CASE,
     "lbf|lb|lbs|lb f|pound|pounds|pound force|pounds force",
     {POUND_FORCE_E13, 1e13, 0, 0}},
    {LB_FORCE, ANY_CASE, "ozf|oz", {POUND_FORCE_E13, 16e13, 0, 0}},
    {LB_FORCE, ANY_CASE, "kgf|kp", {980665, 1e5, 0, 0}},

    {LB_TORQUE, AS_WRITTEN, "N m|Nm", {1, 1, 0, 0}},
    {LB_TORQUE, AS_WRITTEN, "kN m|kNm", {1e3, 1, 0, 0}},
    {LB_TORQUE, AS_WRITTEN, "daN m|daNm", {10, 1, 0, 0}},
    {LB_TORQUE, AS_WRITTEN, "N cm|Ncm", {1, 1e2, 0, 0}},
    {LB_TORQUE, AS_WRITTEN, "N mm|Nmm|mN m|mNm", {1, 1e3, 0, 0}},
    {LB_TORQUE,
     ANY_CASE,
     "lbf ft|lb ft|lbs ft|lbft|ft lbf|ft lb|ft lbs|ftlb|foot pound|foot pounds|pound foot|"
     "pound feet",
     {POUND_FORCE_E13 * 3048, 1e17, 0, 0}},
    {LB_TORQUE,
     ANY_CASE,
     "lbf in|lb in|lbs in|lbin|in lbf|in lb|in lbs|inlb|inch pound|inch pounds|pound inch|"
     "pound inches",
     {POUND_FORCE_E13 * 254, 1e17, 0, 0}},
    {LB_TORQUE, ANY_CASE, "ozf in|oz in|in ozf|in oz|ozin", {POUND_FORCE_E13 * 254, 16e17, 0, 0}},
    {LB_TORQUE, ANY_CASE, "kgf m|kp m|kg m|kpm|m kgf|m kp", {980665, 1e5, 0, 0}},
    {LB_TORQUE, ANY_CASE, "kgf cm|kp cm|kg cm", {980665, 1e7, 0, 0}},

    {LB_SPEED, AS_WRITTEN, "m/s", {1, 1, 0, 0}},
    {LB_SPEED, AS_WRITTEN, "mm/s", {1, 1e3, 0, 0}},
    {LB_SPEED, AS_WRITTEN, "m/min", {1, 60, 0, 0}},
    {LB_SPEED, ANY_CASE, "km/h|km/hr|kmh|kph|km/hour", {5, 18, 0, 0}},
    {LB_SPEED, ANY_CASE, "mph|mi/h|mile/h|miles/h|miles/hour", {1609344, 3600e3, 0, 0}},
    {LB_SPEED, ANY_CASE, "ft/s|ft/sec|fps|feet/s|feet/second", {3048, 1e4, 0, 0}},
    {LB_SPEED, ANY_CASE, "ft/min|fpm|feet/minute", {3048, 60e4, 0, 0}},
    {LB_SPEED, ANY_CASE, "in/s|in/sec|ips|inches/second", {254, 1e4, 0, 0}},
    {LB_SPEED, AS_WRITTEN, "knot|knots|kn|kt|kts", {1852, 3600, 0, 0}},

    {LB_ROTATIONAL_SPEED,
     ANY_CASE,
     "rev/min|r/min|rpm|revs/min|turn/min|turns/min|cycle/min|cycles/min|rev/minute|"
     "revolutions/minute|turns/minute",
     {2 * LB_PI, 60, 0, 0}},
    {LB_ROTATIONAL_SPEED,
     ANY_CASE,
     "rev/s|r/s|rps|revs/s|rev/sec|turn/s|turns/s|cycles/s|turns/second|revolutions/second|Hz",
     {2 * LB_PI, 1, 0, 0}},
    {LB_ROTATIONAL_SPEED, ANY_CASE, "rad/s|rad/sec|radians/second", {1, 1, 0, 0}},
    {LB_ROTATIONAL_SPEED, ANY_CASE, "deg/s|degrees/s|degrees/second", {LB_PI, 180, 0, 0}},

    {LB_TIME, AS_WRITTEN, "ms|msec", {1, 1e3, 0, 0}},
    {LB_TIME, AS_WRITTEN, "s", {1, 1, 0, 0}},
    {LB_TIME, AS_WRITTEN, "us", {1, 1e6, 0, 0}},
    {LB_TIME, ANY_CASE, "sec|secs|second|seconds", {1, 1, 0, 0}},
    {LB_TIME, ANY_CASE, "min|mins|minute|minutes", {60, 1, 0, 0}},
    {LB_TIME, AS_WRITTEN, "h", {3600, 1, 0, 0}},
    {LB_TIME, ANY_CASE, "hr|hrs|hour|hours", {3600, 1, 0, 0}},

    {LB_FRACTION, ANY_CASE, "%|percent|per cent|pct", {1, 100, 0, 0}},
    {LB_FRACTION, AS_WRITTEN, "", {1, 1, 0, 0}},
    {LB_NUMBER, AS_WRITTEN, "", {1, 1, 0, 0}},

    {LB_CONDUCTANCE,
     ANY_CASE,
     "L/(s bar)|L/(bar s)|L/s/bar|dm3/(s bar)|dm3/(bar s)|dm3/s/bar|L/(s bar) ANR|"
     "dm3/(s bar) ANR",
     {1, 1e8, 0, 0}},
    {LB_CONDUCTANCE,
     ANY_CASE,
     "L/(min bar)|L/(bar min)|L/min/bar|dm3/(min bar)|dm3/(bar min)|NL/(min bar)|L/(min bar) ANR",
     {1, 60e8, 0, 0}},
    {LB_CONDUCTANCE, ANY_CASE, "cm3/(s bar)|cm3/(bar s)|ml/(s bar)", {1, 1e11, 0, 0}},
    {LB_CONDUCTANCE, ANY_CASE, "m3/(h bar)|m3/(bar h)", {1, 3600e5, 0, 0}},
    {LB_CONDUCTANCE, AS_WRITTEN, "m3/(s Pa)", {1, 1, 0, 0}},

    {LB_HEAT_TRANSFER,
     ANY_CASE,
     "W/(m2 K)|W/m2K|W/m2 K|W/(m2K)|W/(K m2)|W/m2/K|W m-2 K-1|W/(m2 degC)|W/m2 degC|W/m2degC|"
     "W/(m2 C)",
     {1, 1, 0, 0}},
    {LB_HEAT_TRANSFER,
     ANY_CASE,
     "BTU/(h ft2 F)|BTU/(hr ft2 F)|BTU/(h ft2 degF)|BTU/(hr ft2 degF)|BTU/(ft2 h F)|"
     "BTU/(ft2 h degF)|BTU/(h sq ft F)|BTU/(hr sq ft F)|BTU/h/ft2/F",
     {9 * BTU, 5 * 3600 * SQUARE_FOOT, 0, 0}},
    {LB_HEAT_TRANSFER,
     ANY_CASE,
     "kcal/(m2 h K)|kcal/(h m2 K)|kcal/(m2 h degC)|kcal/(h m2 degC)",
     {1163, 1000, 0, 0}}, /* 4186.8 J in 3600 s */
};

/* Each quantity: its name, an example, its SI unit, and that unit for the general library. Angles
 * and what is built on them are kept from the library, to which a radian is the number 1; so are
 * torques, to which they are energies. */
static const struct {
  const char *name, *example, *si, *library;
} quantities[LB_QUANTITIES] = {
    [LB_ANGLE] = {"an angle", "78 deg", "rad", NULL},
    [LB_LENGTH] = {"a length", "50 mm", "m", "m"},
    [LB_VOLUME] = {"a volume", "16 cm3", "m3", "m3"},
    [LB_PRESSURE] = {"a pressure", "6 bar gauge", "Pa absolute", "Pa"},
    [LB_PRESSURE_DIFFERENCE] = {"a difference of pressure", "0.3 bar", "Pa", "Pa"},
    [LB_TEMPERATURE] = {"a temperature", "20 degC", "K", "K"},
    [LB_FORCE] = {"a force", "14 N", "N", "N"},
    [LB_TORQUE] = {"a torque", "5 N m", "N m", NULL},
    [LB_SPEED] = {"a speed", "1 m/s", "m/s", "m/s"},
    [LB_ROTATIONAL_SPEED] = {"a rotational speed", "120 rev/min", "rad/s", NULL},
    [LB_TIME] = {"a time", "9 ms", "s", "s"},
    [LB_FRACTION] = {"a fraction", "4 %", "1", NULL},
    [LB_NUMBER] = {"a bare number", "1.4", "1", NULL},
    [LB_CONDUCTANCE] = {"a conductance", "1.4 L/(s bar)", "m3/(s Pa)", "m3/(s Pa)"},
    [LB_HEAT_TRANSFER] = {"a heat transfer coefficient", "40 W/(m2 K)", "W/(m2 K)", "W/(m2 K)"},
};

/* Dimensions no value here has, so that a message can name them. */
static const struct {
  const char *name, *library;
} strangers[] = {
    {"a mass", "kg"},  {"an energy", "J"},        {"a power", "W"},
    {"an area", "m2"}, {"a volume flow", "m3/s"}, {"a mass flow", "kg/s"},
};

/* What is often written for another unit; the right one is offered. */
static const struct {
  enum lb_quantity quantity;
  const char *typed, *better;
} slips[] = {
    {LB_ANGLE, "grad", "deg"},
    {LB_PRESSURE, "lb|lbs|pound|pounds|#", "psi"},
    {LB_PRESSURE, "kg|kgs|kgf|kp", "kgf/cm2"},
    {LB_TEMPERATURE, "C|deg|degs|degree|degrees", "degC"},
    {LB_TEMPERATURE, "F", "degF"},
    {LB_FORCE, "kg|kgs|kilogram|kilograms", "kgf"},
    {LB_TORQUE, "J|N/m", "N m"},
    {LB_ROTATIONAL_SPEED, "min-1|/min|1/min", "rev/min"},
    {LB_ROTATIONAL_SPEED, "s-1|/s|1/s", "rev/s"},
};

/* Words of reference; one that `touches` stands behind a unit without a blank. */
static const struct {
  const char *word;
  enum reference reference;
  bool touches;
} words[] = {
    {" gauge", GAUGE, false},
    {"(gauge)", GAUGE, false},
    {" gage", GAUGE, false},
    {" g", GAUGE, false},
    {"(g)", GAUGE, false},
    {"g", GAUGE, true},
    {" ü", GAUGE, false},
    {" Ü", GAUGE, false},
    {"(ü)", GAUGE, false},
    {"ü", GAUGE, true},
    {"Ü", GAUGE, true},
    {" absolute", ABSOLUTE, false},
    {"(absolute)", ABSOLUTE, false},
    {" abs", ABSOLUTE, false},
    {"(abs)", ABSOLUTE, false},
    {" a", ABSOLUTE, false},
    {"(a)", ABSOLUTE, false},
    {"a", ABSOLUTE, true},
    {" difference", DIFFERENCE, false},
    {" diff", DIFFERENCE, false},
    {" d", DIFFERENCE, false},
    {"d", DIFFERENCE, true},
    {" vacuum", VACUUM, false},
    {" vac", VACUUM, false},
};

/* A value being read, with what its messages need. */
struct asked {
  enum lb_quantity quantity;
  char text[LB_PLAIN_SHOWN];   /* as typed */
  char number[LB_PLAIN_SHOWN]; /* its number as typed, or "" for a unit alone */
  double value;                /* [unit]; NaN for a unit alone */
  char form[LB_PLAIN_UNIT];    /* its unit in plain form, without a word of reference */
  enum reference reference;
  double ambient; /* [Pa absolute]; NaN when it is not known */
};

static bool same(const char *a, const char *b, size_t length, enum letter_case letter_case) {
  for (size_t i = 0; i < length; i++)
    if (letter_case == ANY_CASE ? lb_plain_lower(a[i]) != lb_plain_lower(b[i]) : a[i] != b[i])
      return false;
  return true;
}

/* Whether a plain unit is one of the spellings parted by '|'. */
static bool spelled(const char *spellings, const char *form, enum letter_case letter_case) {
  for (const char *at = spellings;; at++) {
    size_t length = strcspn(at, "|");
    if (length == strlen(form) && same(at, form, length, letter_case))
      return true;
    at += length;
    if (!*at)
      return false;
  }
}

/* The row of a plain unit, or NULL; `any_case` overrides that capitals matter. */
static const struct unit *find(enum lb_quantity quantity, const char *form, bool any_case) {
  if (quantity == LB_PRESSURE_DIFFERENCE)
    quantity = LB_PRESSURE;
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    const struct unit *row = &table[i];
    if (row->quantity == quantity &&
        spelled(row->spellings, form, any_case ? ANY_CASE : row->letter_case))
      return row;
  }
  return NULL;
}

/* Cut the word of reference off a pressure's plain unit and say which it was. A single letter that
 * touches the unit counts only behind a unit of the table: "barg", but not "mmHg". */
static enum reference take_reference(char *form) {
  if (find(LB_PRESSURE, form, false))
    return NEITHER;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    size_t whole = strlen(form), length = strlen(words[i].word);
    if (whole <= length || !same(form + whole - length, words[i].word, length, ANY_CASE))
      continue;
    char unit[LB_PLAIN_UNIT];
    memcpy(unit, form, whole - length);
    unit[whole - length] = '\0';
    if (words[i].touches && !find(LB_PRESSURE, unit, false))
      continue;
    form[whole - length] = '\0';
    return words[i].reference;
  }
  return NEITHER;
}

/* What a unit measures, "a length", or NULL when it is not known. */
static const char *measures(const char *form) {
  char unit[LB_PLAIN_UNIT];
  double factor;
  strcpy(unit, form);
  for (int q = 0; q < LB_QUANTITIES; q++)
    if (find((enum lb_quantity)q, form, false) && q != LB_PRESSURE_DIFFERENCE)
      return quantities[q].name;
  if (take_reference(unit) != NEITHER && find(LB_PRESSURE, unit, false))
    return quantities[LB_PRESSURE].name;
  for (int q = 0; q < LB_QUANTITIES; q++)
    if (quantities[q].library &&
        lb_units_library_factor(&factor, form, quantities[q].library) == LB_OK)
      return quantities[q].name;
  for (size_t i = 0; i < sizeof strangers / sizeof strangers[0]; i++)
    if (lb_units_library_factor(&factor, form, strangers[i].library) == LB_OK)
      return strangers[i].name;
  return NULL;
}

/* The first spelling of what a unit was probably meant to be, cut from a row; NULL if no guess. */
static const char *better(const struct asked *asked, char *unit) {
  if (asked->quantity == LB_NUMBER) /* unless the unit changes its value */
    return find(LB_FRACTION, asked->form, false) ? NULL : "";
  for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
    bool pressures = slips[i].quantity == LB_PRESSURE && asked->quantity == LB_PRESSURE_DIFFERENCE;
    if ((slips[i].quantity == asked->quantity || pressures) &&
        spelled(slips[i].typed, asked->form, ANY_CASE))
      return slips[i].better;
  }
  const struct unit *row = measures(asked->form) ? NULL : find(asked->quantity, asked->form, true);
  if (!row)
    return NULL;
  size_t length = strcspn(row->spellings, "|");
  memcpy(unit, row->spellings, length);
  unit[length] = '\0';
  return unit;
}

/* The number as typed with another unit, in quotes; a pressure with its word, or with both. */
static const char *written(char text[4 * LB_PLAIN_SHOWN], const struct asked *asked,
                           const char *unit) {
  const size_t room = 4 * LB_PLAIN_SHOWN;
  const char *number = asked->number, *gap = *number && *unit ? " " : "";
  bool sure = asked->reference == GAUGE || asked->reference == ABSOLUTE;
  if (!*number && !*unit)
    snprintf(text, room, "no unit");
  else if (asked->quantity != LB_PRESSURE)
    snprintf(text, room, "'%s%s%s'", number, gap, unit);
  else if (sure)
    snprintf(text, room, "'%s%s%s %s'", number, gap, unit,
             asked->reference == GAUGE ? "gauge" : "absolute");
  else
    snprintf(text, room, "'%s%s%s gauge' or '%s%s%s absolute'", number, gap, unit, number, gap,
             unit);
  return text;
}

/* The unit does not belong to the quantity: say what it is, and what would do. */
static enum lb_status refuse_unit(const struct asked *asked, struct lb_error *error) {
  char unit[LB_PLAIN_UNIT], text[4 * LB_PLAIN_SHOWN];
  const char *name = quantities[asked->quantity].name;
  const char *meant = better(asked, unit);
  if (meant)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is not read as %s; write %s", asked->text, name,
                        written(text, asked, meant));
  const char *other = measures(asked->form), *example = quantities[asked->quantity].example;
  if (other)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is %s, not %s; write e.g. '%s'", asked->text,
                        other, name, example);
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not read as %s; write e.g. '%s'", asked->text,
                      name, example);
}

/* No unit at all: the number as typed with the unit of the example. */
static enum lb_status refuse_bare(const struct asked *asked, struct lb_error *error) {
  const char *unit = strchr(quantities[asked->quantity].example, ' ') + 1;
  return lb_error_set(error, LB_BAD_INPUT, "'%s' has no unit; write e.g. '%s%s%s'", asked->text,
                      asked->number, *asked->number ? " " : "", unit);
}

/* The reading of a bare pressure as gauge in absolute measure, or the reverse: " (7.01 bar
 * absolute)", or "" when the surroundings are not known or it would lie below vacuum. */
static const char *other_reading(char text[2 * LB_PLAIN_SHOWN], const struct asked *asked,
                                 double value, const char *word) {
  char number[LB_NUMBER_TEXT];
  text[0] = '\0';
  if (isfinite(value) && (value >= 0 || strcmp(word, "gauge") == 0))
    snprintf(text, 2 * LB_PLAIN_SHOWN, " (%s %s %s)", lb_number_write(number, value, 3),
             asked->form, word);
  return text;
}

/* "6 bar" with both its readings; a negative pressure can only be gauge. */
static enum lb_status refuse_ambiguous(const struct asked *asked, const struct scale *scale,
                                       struct lb_error *error) {
  char absolute[2 * LB_PLAIN_SHOWN], gauge[2 * LB_PLAIN_SHOWN];
  const char *number = asked->number, *gap = *number ? " " : "", *unit = asked->form;
  double ambient = asked->ambient * scale->denominator / scale->numerator;
  other_reading(absolute, asked, asked->value + ambient, "absolute");
  other_reading(gauge, asked, asked->value - ambient, "gauge");
  if (asked->value < 0)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' does not say gauge; write '%s%s%s gauge'%s",
                        asked->text, number, gap, unit, absolute);
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' says neither gauge nor absolute; write '%s%s%s gauge'%s or "
                      "'%s%s%s absolute'%s",
                      asked->text, number, gap, unit, absolute, number, gap, unit, gauge);
}

/* What a pressure's word of reference does to its scale. */
static enum lb_status refer_pressure(struct scale *scale, const struct asked *asked,
                                     struct lb_error *error) {
  char text[4 * LB_PLAIN_SHOWN];
  if (asked->reference == NEITHER)
    return refuse_ambiguous(asked, scale, error);
  if (asked->reference == DIFFERENCE)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is a difference of pressure; write %s",
                        asked->text, written(text, asked, asked->form));
  if (asked->reference == VACUUM)
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is not read as a pressure; write '-%s%s%s gauge'", asked->text,
                        asked->number, *asked->number ? " " : "", asked->form);
  if (asked->reference == GAUGE && !isfinite(asked->ambient))
    return lb_error_set(
        error, LB_BAD_INPUT,
        "'%s' is measured from surroundings whose pressure is not known; write it in '%s absolute'",
        asked->text, asked->form);
  scale->si_zero = asked->reference == GAUGE ? asked->ambient : 0;
  return LB_OK;
}

static enum lb_status refer_difference(const struct asked *asked, struct lb_error *error) {
  char text[4 * LB_PLAIN_SHOWN];
  if (asked->reference == NEITHER || asked->reference == DIFFERENCE)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' is a difference, which is neither gauge nor absolute; write %s",
                      asked->text, written(text, asked, asked->form));
}

/* The scale of a unit as typed; fills the unit's part of `asked`. */
static enum lb_status resolve(struct scale *scale, struct asked *asked, const char *unit,
                              struct lb_error *error) {
  enum lb_quantity quantity = asked->quantity;
  bool pressure = quantity == LB_PRESSURE || quantity == LB_PRESSURE_DIFFERENCE;
  lb_plain_unit(asked->form, unit);
  if (!*asked->form && !find(quantity, "", false))
    return refuse_bare(asked, error);
  if (pressure)
    asked->reference = take_reference(asked->form);
  const struct unit *row = find(quantity, asked->form, false);
  enum lb_status status = row ? LB_OK : LB_BAD_INPUT;
  *scale = row ? row->scale : (struct scale){.denominator = 1};
  if (!row && quantities[quantity].library)
    status = lb_units_library_factor(&scale->numerator, asked->form, quantities[quantity].library);
  if (status == LB_IO)
    return lb_error_set(error, LB_IO,
                        "'%s' needs the tables of the unit library, which cannot be "
                        "read; write e.g. '%s'",
                        asked->text, quantities[quantity].example);
  if (status != LB_OK)
    return refuse_unit(asked, error);
  if (quantity == LB_PRESSURE)
    return refer_pressure(scale, asked, error);
  return pressure ? refer_difference(asked, error) : LB_OK;
}

/* Nothing is colder than absolute zero or emptier than vacuum. */
static enum lb_status refuse_below_zero(const struct asked *asked, const struct scale *scale,
                                        struct lb_error *error) {
  char number[LB_NUMBER_TEXT];
  bool pressure = asked->quantity == LB_PRESSURE;
  double lowest = scale->unit_zero - scale->si_zero * scale->denominator / scale->numerator;
  return lb_error_set(error, LB_BAD_INPUT, "'%s' lies below %s; write more than %s %s%s",
                      asked->text, pressure ? "vacuum" : "absolute zero",
                      lb_number_write(number, lowest, 5), asked->form,
                      !pressure                   ? ""
                      : asked->reference == GAUGE ? " gauge"
                                                  : " absolute");
}

static enum lb_status check_quantity(enum lb_quantity quantity, struct lb_error *error) {
  if ((unsigned)quantity < LB_QUANTITIES)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "no quantity has the number %d", (int)quantity);
}

static struct asked asked_for(enum lb_quantity quantity, const char *text, double ambient) {
  struct asked asked = {.quantity = quantity, .value = nan("")};
  asked.ambient = isfinite(ambient) && ambient > 0 ? ambient : nan("");
  lb_plain_shown(asked.text, text, strlen(text));
  return asked;
}

enum lb_status lb_units_split(double *number, const char **unit, const char *text,
                              struct lb_error *error) {
  return lb_number_read(number, unit, text, error);
}

enum lb_status lb_units_read(double *si, const char *text, enum lb_quantity quantity,
                             double ambient, struct lb_error *error) {
  struct scale scale;
  const char *unit;
  struct asked asked = asked_for(quantity, text, ambient);
  enum lb_status status = check_quantity(quantity, error);
  if (status == LB_OK)
    status = lb_number_read(&asked.value, &unit, text, error);
  if (status != LB_OK)
    return status;
  lb_plain_shown(asked.number, text, (size_t)(unit - text));
  status = resolve(&scale, &asked, unit, error);
  if (status != LB_OK)
    return status;
  double scaled = (asked.value - scale.unit_zero) * scale.numerator / scale.denominator;
  double result = scaled + scale.si_zero;
  if (!isfinite(result) || (fabs(scaled) < DBL_MIN && asked.value != scale.unit_zero))
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' lies beyond what the computer can hold; write "
                        "e.g. '%s'",
                        asked.text, quantities[quantity].example);
  if ((quantity == LB_PRESSURE || quantity == LB_TEMPERATURE) && result < 0)
    return refuse_below_zero(&asked, &scale, error);
  *si = result;
  return LB_OK;
}

enum lb_status lb_units_write(double *value, double si, enum lb_quantity quantity, const char *unit,
                              double ambient, struct lb_error *error) {
  struct scale scale;
  struct asked asked = asked_for(quantity, unit, ambient);
  enum lb_status status = check_quantity(quantity, error);
  if (status == LB_OK)
    status = resolve(&scale, &asked, lb_plain_skip(unit), error);
  if (status != LB_OK)
    return status;
  double result = (si - scale.si_zero) * scale.denominator / scale.numerator + scale.unit_zero;
  if (!isfinite(result))
    return lb_error_set(error, LB_BAD_INPUT, "the value cannot be held in '%s'; use a larger unit",
                        asked.text);
  *value = result == 0 ? 0 : result;
  return LB_OK;
}

const char *lb_units_example(enum lb_quantity quantity) {
  return (unsigned)quantity < LB_QUANTITIES ? quantities[quantity].example : "";
}

const char *lb_units_si(enum lb_quantity quantity) {
  return (unsigned)quantity < LB_QUANTITIES ? quantities[quantity].si : "";
}
