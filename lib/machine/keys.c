/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of keys as one, and the way between its rows and a machine.
 */
#include "machine/keys.h"

#include "base/format.h"
#include "base/number.h"
#include "machine/keys_table.h"

#include <float.h>
#include <math.h>
#include <string.h>

static const struct lb_keys_part *const parts[] = {
    &lb_keys_of_air,   &lb_keys_of_cylinder, &lb_keys_of_motion, &lb_keys_of_load,
    &lb_keys_of_store, &lb_keys_of_valve,    &lb_keys_of_tube,   &lb_keys_of_bench};
enum {
  PARTS = sizeof parts / sizeof parts[0]
};

/* The sections of the keys of timing. */
static const char *const timing_section[LB_ENDS + 1] = {
    [LB_CAP_END] = "timing cap end", [LB_ROD_END] = "timing rod end", [LB_ENDS] = "timing"};

size_t lb_keys_count(void) {
  size_t count = 0;
  for (int i = 0; i < PARTS; i++)
    count += parts[i]->count;
  return count;
}

const struct lb_key *lb_keys_get(size_t index) {
  int part = 0;
  for (; index >= parts[part]->count; part++)
    index -= parts[part]->count;
  return &parts[part]->row[index];
}

size_t lb_keys_index(const struct lb_key *key) {
  size_t before = 0;
  for (int part = 0; part < PARTS; part++) {
    for (size_t i = 0; i < parts[part]->count; i++)
      if (&parts[part]->row[i] == key)
        return before + i;
    before += parts[part]->count;
  }
  return before;
}

/* The section a row has that stands for a section of a text, and the end it belongs to. */
static const char *own_section(enum lb_end *end, const char *section) {
  for (int e = 0; e < LB_ENDS; e++)
    if (strcmp(section, timing_section[e]) == 0) {
      *end = (enum lb_end)e;
      return timing_section[LB_ENDS];
    }
  *end = LB_ENDS;
  return section;
}

const struct lb_key *lb_keys_find(enum lb_end *end, const char *section, const char *name) {
  enum lb_end of;
  const char *own = own_section(&of, section);
  for (int part = 0; part < PARTS; part++)
    for (size_t i = 0; i < parts[part]->count; i++) {
      const struct lb_key *key = &parts[part]->row[i];
      if (strcmp(key->section, own) != 0 || strcmp(key->name, name) != 0)
        continue;
      if (end)
        *end = of;
      return key;
    }
  return NULL;
}

bool lb_keys_has_section(const char *section) {
  enum lb_end end;
  const char *own = own_section(&end, section);
  for (size_t i = 0; i < lb_keys_count(); i++)
    if (strcmp(lb_keys_get(i)->section, own) == 0)
      return true;
  return false;
}

const char *lb_keys_section(const struct lb_key *key, enum lb_end end) {
  return key->of_end ? timing_section[end] : key->section;
}

/* Whether a row is another way, or the first of a section, which other ways refer to. */
static bool is_way(const struct lb_key *key) {
  size_t index = lb_keys_index(key);
  return key->another_way || index == 0 ||
         strcmp(lb_keys_get(index - 1)->section, key->section) != 0;
}

bool lb_keys_same(const struct lb_key *one, const struct lb_key *other) {
  return one != other && strcmp(one->section, other->section) == 0 && is_way(one) && is_way(other);
}

enum lb_end lb_keys_deciding(const struct lb_given *given, const struct lb_key *key,
                             enum lb_end end) {
  return key->of_end && given->entry[end][lb_keys_index(key)] ? end : LB_ENDS;
}

/* Where the value of a row stands: in the machine, or in the timing of an end. */
static char *place(const struct lb_key *key, enum lb_end end, struct lb_machine *machine) {
  return key->of_end ? (char *)&machine->timing[end] : (char *)machine;
}

static const char *place_to_read(const struct lb_key *key, enum lb_end end,
                                 const struct lb_machine *machine) {
  return key->of_end ? (const char *)&machine->timing[end] : (const char *)machine;
}

static bool read_bool(const char *at) {
  bool value;
  memcpy(&value, at, sizeof value);
  return value;
}

/* Whether a connecting rod or a pivot is part of this machine's linkage, and a torque or a wheel of
 * its load. */
static bool belongs(const struct lb_key *key, const struct lb_machine *machine) {
  if (key->when == LB_WHEN_CONNECTING_ROD)
    return machine->linkage.kind == LB_CONNECTING_ROD;
  if (key->when == LB_WHEN_TORQUE)
    return !(machine->load.mass > 0);
  if (key->when == LB_WHEN_VEHICLE)
    return machine->load.mass > 0;
  return key->when != LB_WHEN_SWINGING || machine->linkage.kind == LB_SWINGING;
}

/* The end whose value is shown for both. */
static enum lb_end worked_end(const struct lb_machine *machine, enum lb_end end) {
  if (end != LB_ENDS)
    return end;
  return machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
}

/* The number at the place of a row that has one and no `load`. */
static double stored(const struct lb_key *key, const char *at) {
  double value;
  int count;
  if (key->kind == LB_KEY_CHOICE)
    return read_bool(at);
  if (key->kind == LB_KEY_COUNT) {
    memcpy(&count, at, sizeof count);
    return count;
  }
  memcpy(&value, at, sizeof value);
  return value;
}

bool lb_keys_stated(const struct lb_key *key, enum lb_end end, const struct lb_machine *machine) {
  const char *base = place_to_read(key, worked_end(machine, end), machine);
  if (key->load)
    return key->kind != LB_KEY_HEAT || read_bool(base + key->flag);
  if (key->kind == LB_KEY_TEXT || key->kind == LB_KEY_ANGLES || key->restates)
    return false;
  if (!belongs(key, machine) || (key->flag && !read_bool(base + key->flag)))
    return false;
  return !key->zero_is_unstated || stored(key, base + key->offset) != 0;
}

double lb_keys_value(const struct lb_key *key, enum lb_end end, const struct lb_machine *machine) {
  if (!lb_keys_stated(key, end, machine))
    return (double)NAN;
  if (key->load)
    return key->load(machine);
  return stored(key, place_to_read(key, worked_end(machine, end), machine) + key->offset);
}

/* Put a value at one end; which one is no matter for a row that is not of an end. */
static void put_at(const struct lb_key *key, enum lb_end end, struct lb_machine *machine,
                   double value) {
  char *base = place(key, end, machine), *at = base + key->offset;
  const bool stated = true, second_word = value != 0;
  const int count = key->kind == LB_KEY_COUNT ? (int)value : 0;
  if (key->store)
    key->store(machine, value);
  else if (key->kind == LB_KEY_CHOICE)
    memcpy(at, &second_word, sizeof second_word);
  else if (key->kind == LB_KEY_COUNT)
    memcpy(at, &count, sizeof count);
  else
    memcpy(at, &value, sizeof value);
  if (key->flag)
    memcpy(base + key->flag, &stated, sizeof stated);
}

void lb_keys_put(const struct lb_key *key, enum lb_end end, struct lb_machine *machine,
                 double value) {
  if (!key->of_end || end != LB_ENDS) {
    put_at(key, end, machine, value);
    return;
  }
  put_at(key, LB_CAP_END, machine, value);
  put_at(key, LB_ROD_END, machine, value);
}

enum lb_status lb_keys_limit(const struct lb_key *key, double value, double ambient,
                             const char *shown, struct lb_error *error) {
  double zero = key->above_ambient ? ambient : 0;
  double least = zero + key->least, most = zero + key->most;
  /* 60 degC and 357 deg are not exact in SI; a limit written as such must be allowed. */
  double slack = 4 * DBL_EPSILON * fmax(fabs(least), fabs(most));
  double lowest = least == 0 ? 0 : least - slack;
  if (key->kind == LB_KEY_HEAT && (value == 0 || value == (double)INFINITY)) /* its two words */
    return LB_OK;
  if (!isfinite(value))
    return lb_error_set(error, LB_BAD_INPUT, "not a finite number; %s", key->limits);
  if (value < lowest)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is too small; %s", shown, key->limits);
  if (value > most + slack)
    return lb_error_set(error, LB_BAD_INPUT, "'%s' is too large; %s", shown, key->limits);
  return LB_OK;
}

_Static_assert((int)LB_KEYS_NUMBER == (int)LB_NUMBER_TEXT, "LB_KEYS_NUMBER is wrong");

const char *lb_keys_number(char *text, double value) {
  const int digits = 6;
  lb_number_write(text, value, digits);
  char *end = text + strlen(text);
  if (!strchr(text, '.') || strchr(text, 'e'))
    return text;
  while (end[-1] == '0')
    *--end = '\0';
  if (end[-1] == '.')
    *--end = '\0';
  return text;
}

/* "50 mm" */
static void show_number(char *text, size_t size, double value, const char *unit) {
  char number[LB_KEYS_NUMBER];
  lb_format(text, size, "%s%s%s", lb_keys_number(number, value), *unit ? " " : "", unit);
}

static void show_quantity(char *text, size_t size, double si, enum lb_quantity quantity,
                          const char *unit, double ambient) {
  double value;
  if (lb_units_write(&value, si, quantity, unit, ambient, NULL) != LB_OK)
    show_number(text, size, si, lb_units_si(quantity));
  else
    show_number(text, size, value, unit);
}

static void show_angles(char *text, size_t size, const struct lb_machine *machine) {
  size_t used = 0;
  for (int k = 0; k < machine->cylinders && k < LB_CYLINDERS_MOST && used < size; k++) {
    char angle[LB_KEYS_NUMBER + sizeof " deg"];
    show_number(angle, sizeof angle, machine->crank_angle[k] * 180 / LB_PI, "deg");
    used += (size_t)lb_format(text + used, size - used, "%s%s", k ? ", " : "", angle);
  }
}

void lb_keys_show(char *text, size_t size, const struct lb_key *key, enum lb_end end,
                  const struct lb_machine *machine, bool inch) {
  const char *unit = inch ? key->inch_unit : key->unit;
  double value = lb_keys_value(key, end, machine);
  double time = machine->timing[worked_end(machine, end)].opening_ramp_time;
  if (key->kind == LB_KEY_TEXT)
    lb_format(text, size, "%s", machine->name);
  else if (key->kind == LB_KEY_ANGLES)
    show_angles(text, size, machine);
  else if (key->kind == LB_KEY_RAMP && time > 0)
    show_quantity(text, size, time, LB_TIME, "ms", 0);
  else if (key->kind == LB_KEY_HEAT && (value == 0 || isinf(value)))
    lb_format(text, size, "%s", value == 0 ? "isothermal" : "adiabatic");
  else if (!isfinite(value))
    lb_format(text, size, "not given");
  else if (key->kind == LB_KEY_CHOICE)
    lb_format(text, size, "%s", key->choice[(size_t)value]);
  else if (key->kind == LB_KEY_EXPONENT && (value == 1 || value == LB_GAMMA))
    lb_format(text, size, "%s", value == 1 ? "isothermal" : "adiabatic");
  else if (*unit)
    show_quantity(text, size, value, key->quantity, unit, machine->ambient_pressure);
  else
    show_number(text, size, value, unit);
}
