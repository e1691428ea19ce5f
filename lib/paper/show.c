/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures as text. The factors of units are those of base/units; here stand only their choice and
 * their digits.
 */
#include "paper/show.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/units.h"
#include "physics/air.h"

#include <math.h>
#include <string.h>

/* How a measure is shown, by style. Work is shown in units of torque that go by another name. */
struct form {
  enum lb_quantity quantity;
  const char *unit[2];  /* for base/units: metric, inch */
  const char *label[2]; /* for people */
  int decimals[2];      /* fixed; with `digits` the most */
  int digits;           /* significant ones, when the decimals follow the size; else 0 */
};

enum {
  AS_NEEDED = 6 /* decimals of the smallest figures that go by significant digits */
};

static const struct form forms[LB_MEASURES] = {
    [LB_SHOW_ANGLE] = {LB_ANGLE, {"deg", "deg"}, {"deg", "deg"}, {1, 1}, 0},
    [LB_SHOW_LENGTH] = {LB_LENGTH, {"mm", "in"}, {"mm", "in"}, {2, 3}, 4},
    [LB_SHOW_VOLUME] = {LB_VOLUME, {"cm3", "cu in"}, {"cm3", "cu in"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_GAUGE] =
        {LB_PRESSURE, {"bar gauge", "psi gauge"}, {"bar gauge", "psi gauge"}, {2, 1}, 0},
    [LB_SHOW_PRESSURE] = {LB_PRESSURE_DIFFERENCE, {"bar", "psi"}, {"bar", "psi"}, {2, 1}, 0},
    [LB_SHOW_TEMPERATURE] = {LB_TEMPERATURE, {"degC", "degF"}, {"degC", "degF"}, {0, 0}, 0},
    [LB_SHOW_TORQUE] = {LB_TORQUE, {"N m", "lb ft"}, {"N m", "lb ft"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_WORK] = {LB_TORQUE, {"N m", "lb ft"}, {"J", "ft lbf"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_POWER] = {LB_NUMBER, {"", ""}, {"W", "hp"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_AIR] = {LB_VOLUME, {"L", "cu ft"}, {"L ANR", "cu ft ANR"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_YIELD] =
        {LB_NUMBER, {"", ""}, {"J/L ANR", "ft lbf/cu ft ANR"}, {AS_NEEDED, AS_NEEDED}, 4},
    [LB_SHOW_SHARE] = {LB_FRACTION, {"%", "%"}, {"%", "%"}, {1, 1}, 0},
    [LB_SHOW_DISTANCE] = {LB_LENGTH, {"m", "ft"}, {"m", "ft"}, {3, 3}, 3},
    [LB_SHOW_ROAD] = {LB_LENGTH, {"km", "mile"}, {"km", "miles"}, {2, 2}, 3},
    [LB_SHOW_ROAD_SPEED] = {LB_SPEED, {"km/h", "mph"}, {"km/h", "mph"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_DURATION] = {LB_TIME, {"min", "min"}, {"min", "min"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_MASS] = {LB_NUMBER, {"", ""}, {"kg", "lb"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_FORCE] = {LB_FORCE, {"N", "lbf"}, {"N", "lbf"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_ROOM] = {LB_VOLUME, {"L", "cu ft"}, {"L", "cu ft"}, {AS_NEEDED, AS_NEEDED}, 3},
    [LB_SHOW_ENERGY] = {LB_TORQUE, {"N m", "lb ft"}, {"kJ", "ft lbf"}, {AS_NEEDED, 0}, 3},
};

double lb_show_value(const struct lb_style *style, enum lb_measure measure, double si) {
  const double foot_pounds = 550;  /* [1/s] that make a horse-power */
  const double pound = 0.45359237; /* [kg] */
  const double kilo = 1000;
  const struct form *form = &forms[measure];
  double value;
  if (!isfinite(si))
    return (double)NAN;
  if (measure == LB_SHOW_YIELD)
    return lb_show_value(style, LB_SHOW_WORK, si) / lb_show_value(style, LB_SHOW_AIR, 1);
  if (measure == LB_SHOW_POWER)
    return style->inch ? lb_show_value(style, LB_SHOW_WORK, si) / foot_pounds : si;
  if (measure == LB_SHOW_MASS)
    return style->inch ? si / pound : si;
  if (measure == LB_SHOW_ENERGY && !style->inch)
    return si / kilo;
  if (measure == LB_SHOW_AIR)
    si = lb_air_volume_anr(si);
  return lb_units_write(&value, si, form->quantity, form->unit[style->inch], style->ambient,
                        NULL) == LB_OK
             ? value
             : (double)NAN;
}

const char *lb_show_unit(const struct lb_style *style, enum lb_measure measure) {
  return forms[measure].label[style->inch];
}

int lb_show_decimals(const struct lb_style *style, enum lb_measure measure, const double *value,
                     size_t count) {
  const struct form *form = &forms[measure];
  int most = form->decimals[style->inch];
  if (form->digits == 0)
    return most;
  double largest = 0;
  for (size_t i = 0; i < count; i++)
    largest = fmax(largest, fabs(lb_show_value(style, measure, value[i])));
  double smallest = largest;
  for (size_t i = 0; i < count; i++) {
    double size = fabs(lb_show_value(style, measure, value[i]));
    if (size >= largest / 10)
      smallest = fmin(smallest, size);
  }
  if (smallest == 0)
    return 0;
  int decimals = form->digits - 1 - (int)floor(log10(smallest));
  return decimals < 0 ? 0 : decimals > most ? most : decimals;
}

struct lb_shown lb_show_number(double value, int decimals) {
  struct lb_shown shown;
  if (!isfinite(value)) {
    strcpy(shown.text, "-");
    return shown;
  }
  lb_format(shown.text, sizeof shown.text, "%.*f", decimals, value);
  bool zero = strspn(shown.text, "-0.") == strlen(shown.text);
  if (zero && shown.text[0] == '-')
    memmove(shown.text, shown.text + 1, strlen(shown.text));
  return shown;
}

struct lb_shown lb_show_crank(double angle, int decimals) {
  const double turn = 360, parts = pow(10, decimals); /* [deg]; of a degree */
  double degrees = fmod(round(angle / LB_DEGREE * parts) / parts, turn);
  return lb_show_number(degrees < 0 ? degrees + turn : degrees, decimals);
}

struct lb_shown lb_show(const struct lb_style *style, enum lb_measure measure, double si) {
  struct lb_shown shown;
  int decimals = lb_show_decimals(style, measure, &si, 1);
  lb_format(shown.text, sizeof shown.text, "%.60s %s",
            lb_show_number(lb_show_value(style, measure, si), decimals).text,
            lb_show_unit(style, measure));
  return shown;
}

/* A pressure in one unit without its name. */
static struct lb_shown in_unit(double pressure, const char *unit, double ambient, int decimals) {
  double value = (double)NAN;
  lb_units_write(&value, pressure, LB_PRESSURE, unit, ambient, NULL);
  return lb_show_number(value, decimals);
}

struct lb_shown lb_show_pressure(const struct lb_style *style, double pressure) {
  struct lb_shown shown;
  double ambient = style->ambient;
  struct lb_shown bar = in_unit(pressure, "bar gauge", ambient, 2);
  struct lb_shown psi = in_unit(pressure, "psig", ambient, 1);
  if (style->inch)
    lb_format(shown.text, sizeof shown.text,
              "%.20s psi gauge (%.20s psi absolute, %.20s bar gauge)", psi.text,
              in_unit(pressure, "psia", ambient, 1).text, bar.text);
  else
    lb_format(shown.text, sizeof shown.text, "%.20s bar gauge (%.20s bar absolute, %.20s psig)",
              bar.text, in_unit(pressure, "bara", ambient, 2).text, psi.text);
  return shown;
}

struct lb_shown lb_show_absolute(const struct lb_style *style, double pressure) {
  struct lb_shown shown;
  struct lb_shown bar = in_unit(pressure, "bara", style->ambient, 3);
  struct lb_shown psi = in_unit(pressure, "psia", style->ambient, 2);
  lb_format(shown.text, sizeof shown.text,
            style->inch ? "%.20s psi absolute (%.20s bar absolute)"
                        : "%.20s bar absolute (%.20s psi absolute)",
            style->inch ? psi.text : bar.text, style->inch ? bar.text : psi.text);
  return shown;
}

/* Skip a number as printed; returns `at` where none stands. */
static const char *skip_number(const char *at) {
  const char *digits = at + (*at == '-'), *end = digits + strspn(digits, "0123456789");
  if (end == digits)
    return at;
  return *end == '.' ? end + 1 + strspn(end + 1, "0123456789") : end;
}

/* Skip " UNIT"; returns NULL where it does not stand. */
static const char *skip_unit(const char *at, const char *unit) {
  size_t length = strlen(unit);
  return *at == ' ' && strncmp(at + 1, unit, length) == 0 ? at + 1 + length : NULL;
}

/* "3.60 bar gauge (52.2 psig)", from the first number to the bracket: where its parts stand. */
struct twice {
  const char *metric, *metric_end, *inch, *inch_end, *end;
};

/* Whether a figure given twice begins here. */
static bool find_twice(struct twice *found, const char *at) {
  static const char *const units[][2] = {
      {"bar gauge", "psig"},    {"bar", "psi"},   {"hPa absolute", "psia"},
      {"degC", "degF"},         {"cm3", "cu in"}, {"mm", "in"},
      {"N m", "lb ft"},         {"N", "lbf"},     {"J", "ft lbf"},
      {"bar absolute", "psia"}, {"m/s", "ft/s"}};
  const char *unit = skip_number(at);
  for (size_t i = 0; unit != at && i < sizeof units / sizeof units[0]; i++) {
    const char *gap = skip_unit(unit, units[i][0]);
    if (!gap || strncmp(gap, " (", 2) != 0)
      continue;
    const char *inch = gap + 2, *inch_end = skip_unit(skip_number(inch), units[i][1]);
    if (!inch_end || *inch_end != ')')
      continue;
    *found = (struct twice){at, gap, inch, inch_end, inch_end + 1};
    return true;
  }
  return false;
}

struct lb_sentence lb_show_sentence(const struct lb_style *style, const char *sentence) {
  struct lb_sentence shown = {""};
  size_t used = 0;
  char before = ' ';
  for (const char *at = sentence; *at && used < sizeof shown.text - 1; before = at[-1]) {
    struct twice t;
    bool word_begins = before == ' ' || before == '(';
    if (style->inch && word_begins && find_twice(&t, at)) {
      used += (size_t)lb_format(shown.text + used, sizeof shown.text - used, "%.*s (%.*s)",
                                (int)(t.inch_end - t.inch), t.inch, (int)(t.metric_end - t.metric),
                                t.metric);
      at = t.end;
    } else {
      shown.text[used++] = *at++;
    }
  }
  shown.text[used < sizeof shown.text ? used : sizeof shown.text - 1] = '\0';
  return shown;
}
