/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units of measurement.
 *
 * A unit as typed is first made plain; a word for gauge or absolute is taken off it. What is left
 * is looked up in the table of the trade's spellings, and only then in the general library, which
 * would take several of them for something else (gal, cu in, mph, lb).
 */
#include "base/units.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/number.h"
#include "base/plain.h"
#include "base/units_library.h"
#include "base/units_table.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* What a word behind a pressure says about it. */
enum reference {
  NEITHER,
  GAUGE,
  ABSOLUTE,
  DIFFERENCE,
  VACUUM
};

/* Each quantity: its name, an example, its SI unit, and that unit for the general library. Angles
 * and what is built on them are kept from the library, to which a radian is the number 1; so are
 * torques, which to it are energies, and masses, where it takes any ton for the short one. */
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
    [LB_AREA] = {"an area", "5 mm2", "m2", "m2"},
    [LB_VOLUME_FLOW] = {"a volume flow", "0.3 m3/h", "m3/s", "m3/s"},
    [LB_FREE_FLOW] = {"a flow of free air", "350 L/min ANR", "m3/s", NULL},
    [LB_MASS] = {"a mass", "200 kg", "kg", NULL},
    [LB_TORQUE_PER_SPEED] = {"a torque per speed", "0.01 N m/rpm", "N m s/rad", NULL},
    [LB_TORQUE_PER_SPEED_SQUARED] = {"a torque per speed squared", "0.0001 N m/rpm2", "N m s2/rad2",
                                     NULL},
    [LB_DROOP] = {"a droop", "0.1 bar/(L/s)", "Pa s/m3", NULL},
};

/* Dimensions no value here has, so that a message can name them. */
static const struct {
  const char *name, *library;
} strangers[] = {
    {"a mass", "kg"},
    {"an energy", "J"},
    {"a power", "W"},
    {"a mass flow", "kg/s"},
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
    /* Normal and standard volumes have more than one definition, up to 9 % apart. */
    {LB_FREE_FLOW, "NL/min|Nl/min|NLPM|SLPM|LPM|normal L/min", "L/min ANR"},
    {LB_FREE_FLOW, "scfm|cfm|cu ft/min|ft3/min", "cu ft/min ANR"},
    {LB_DROOP, "psi/scfm|psi/SCFM", "psi/(cu ft/min)"},
    {LB_MASS, "ton|tons|long ton|long tons|short ton|short tons", "t"}, /* each another mass */
    {LB_MASS, "kgf|kp", "kg"},
    {LB_MASS, "lbf", "lb"},
    {LB_TORQUE_PER_SPEED, "N m|Nm", "N m/rpm"},
    {LB_TORQUE_PER_SPEED, "lb ft|lbf ft|ft lb|ft lbf", "lb ft/rpm"},
    {LB_TORQUE_PER_SPEED_SQUARED, "N m|Nm|N m/rpm", "N m/rpm2"},
    {LB_TORQUE_PER_SPEED_SQUARED, "lb ft|lbf ft|ft lb|ft lbf|lb ft/rpm", "lb ft/rpm2"},
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
  double ambient;      /* [Pa absolute]; NaN when it is not known */
  const char *example; /* how such a value is written, for messages */
};

/* Cut the word of reference off a pressure's plain unit and say which it was. A single letter that
 * touches the unit counts only behind a unit of the table: "barg", but not "mmHg". */
static enum reference take_reference(char *form) {
  if (lb_unit_find(LB_PRESSURE, form, false))
    return NEITHER;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    size_t whole = strlen(form), length = strlen(words[i].word);
    if (whole <= length || !lb_unit_same(form + whole - length, words[i].word, length, LB_ANY_CASE))
      continue;
    char unit[LB_PLAIN_UNIT];
    memcpy(unit, form, whole - length);
    unit[whole - length] = '\0';
    if (words[i].touches && !lb_unit_find(LB_PRESSURE, unit, false))
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
    if (lb_unit_find((enum lb_quantity)q, form, false) && q != LB_PRESSURE_DIFFERENCE)
      return quantities[q].name;
  if (take_reference(unit) != NEITHER && lb_unit_find(LB_PRESSURE, unit, false))
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
    return lb_unit_find(LB_FRACTION, asked->form, false) ? NULL : "";
  for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
    bool pressures = slips[i].quantity == LB_PRESSURE && asked->quantity == LB_PRESSURE_DIFFERENCE;
    if ((slips[i].quantity == asked->quantity || pressures) &&
        lb_unit_spelled(slips[i].typed, asked->form, LB_ANY_CASE))
      return slips[i].better;
  }
  const struct lb_unit *row =
      measures(asked->form) ? NULL : lb_unit_find(asked->quantity, asked->form, true);
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
    lb_format(text, room, "no unit");
  else if (asked->quantity != LB_PRESSURE)
    lb_format(text, room, "'%s%s%s'", number, gap, unit);
  else if (!isfinite(asked->ambient))
    lb_format(text, room, "'%s%s%s absolute'", number, gap, unit);
  else if (sure)
    lb_format(text, room, "'%s%s%s %s'", number, gap, unit,
              asked->reference == GAUGE ? "gauge" : "absolute");
  else
    lb_format(text, room, "'%s%s%s gauge' or '%s%s%s absolute'", number, gap, unit, number, gap,
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
  const char *other = measures(asked->form), *example = asked->example;
  if (other)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is %s, not %s; write e.g. '%s'", asked->text,
                        other, name, example);
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not read as %s; write e.g. '%s'", asked->text,
                      name, example);
}

/* No unit at all: the number as typed with the unit of the example. */
static enum lb_status refuse_bare(const struct asked *asked, struct lb_error *error) {
  const char *unit = strchr(asked->example, ' ') + 1;
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
    lb_format(text, 2 * LB_PLAIN_SHOWN, " (%s %s %s)", lb_number_write(number, value, 3),
              asked->form, word);
  return text;
}

/* "6 bar" with both its readings; a negative pressure can only be gauge, and one that no
 * surroundings are known for only absolute. */
static enum lb_status refuse_ambiguous(const struct asked *asked, const struct lb_scale *scale,
                                       struct lb_error *error) {
  char absolute[2 * LB_PLAIN_SHOWN], gauge[2 * LB_PLAIN_SHOWN];
  const char *number = asked->number, *gap = *number ? " " : "", *unit = asked->form;
  double ambient = asked->ambient * scale->denominator / scale->numerator;
  other_reading(absolute, asked, asked->value + ambient, "absolute");
  other_reading(gauge, asked, asked->value - ambient, "gauge");
  if (!isfinite(asked->ambient))
    return lb_error_set(error, LB_BAD_INPUT, "'%s' does not say absolute; write '%s%s%s absolute'",
                        asked->text, number, gap, unit);
  if (asked->value < 0)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' does not say gauge; write '%s%s%s gauge'%s",
                        asked->text, number, gap, unit, absolute);
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' says neither gauge nor absolute; write '%s%s%s gauge'%s or "
                      "'%s%s%s absolute'%s",
                      asked->text, number, gap, unit, absolute, number, gap, unit, gauge);
}

/* What a pressure's word of reference does to its scale. */
static enum lb_status refer_pressure(struct lb_scale *scale, const struct asked *asked,
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
static enum lb_status resolve(struct lb_scale *scale, struct asked *asked, const char *unit,
                              struct lb_error *error) {
  enum lb_quantity quantity = asked->quantity;
  bool pressure = quantity == LB_PRESSURE || quantity == LB_PRESSURE_DIFFERENCE;
  lb_plain_unit(asked->form, unit);
  if (!*asked->form && !lb_unit_find(quantity, "", false))
    return refuse_bare(asked, error);
  if (pressure)
    asked->reference = take_reference(asked->form);
  const struct lb_unit *row = lb_unit_find(quantity, asked->form, false);
  enum lb_status status = row ? LB_OK : LB_BAD_INPUT;
  *scale = row ? row->scale : (struct lb_scale){.denominator = 1};
  if (!row && quantities[quantity].library)
    status = lb_units_library_factor(&scale->numerator, asked->form, quantities[quantity].library);
  if (status == LB_IO)
    return lb_error_set(error, LB_IO,
                        "'%s' needs the tables of the unit library, which cannot be "
                        "read; write e.g. '%s'",
                        asked->text, asked->example);
  if (status != LB_OK)
    return refuse_unit(asked, error);
  if (quantity == LB_PRESSURE)
    return refer_pressure(scale, asked, error);
  return pressure ? refer_difference(asked, error) : LB_OK;
}

/* Nothing is colder than absolute zero or emptier than vacuum. */
static enum lb_status refuse_below_zero(const struct asked *asked, const struct lb_scale *scale,
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
  asked.example = lb_units_example(quantity);
  lb_plain_shown(asked.text, text, strlen(text));
  return asked;
}

enum lb_status lb_units_split(double *number, const char **unit, const char *text,
                              struct lb_error *error) {
  return lb_number_read(number, unit, text, error);
}

enum lb_status lb_units_read_like(double *si, const char *text, enum lb_quantity quantity,
                                  double ambient, const char *example, struct lb_error *error) {
  struct lb_scale scale;
  const char *unit;
  struct asked asked = asked_for(quantity, text, ambient);
  asked.example = example;
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
                        asked.text, asked.example);
  if ((quantity == LB_PRESSURE || quantity == LB_TEMPERATURE) && result < 0)
    return refuse_below_zero(&asked, &scale, error);
  *si = result;
  return LB_OK;
}

enum lb_status lb_units_read(double *si, const char *text, enum lb_quantity quantity,
                             double ambient, struct lb_error *error) {
  return lb_units_read_like(si, text, quantity, ambient, lb_units_example(quantity), error);
}

enum lb_status lb_units_write(double *value, double si, enum lb_quantity quantity, const char *unit,
                              double ambient, struct lb_error *error) {
  struct lb_scale scale;
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
