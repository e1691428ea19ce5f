/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writing a value so that it reads back as it is. Every candidate text is given to the reader of
 * machine files itself and judged by what comes back.
 */
#include "machine/write.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/number.h"
#include "base/plain.h"
#include "base/units.h"
#include "machine/read_value.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum {
  DIGITS_MOST = 17, /* no double needs more */
  UNIT_SIZE = 64,
  LIST_SIZE = LB_CYLINDERS_MOST * (LB_NUMBER_TEXT + 8)
};

/* How far a value may be from what was wanted after it is read back, in roundings. */
static const double roundings = 8;

/* What is to be written. */
struct job {
  const struct lb_key *key;
  enum lb_end end;
  const struct lb_machine *machine;
  const char *original; /* the value in the text, or NULL */
};

/* The ends that a key of a section holds for: one, or the working ends. */
static bool concerns(const struct job *job, int end) {
  if (!job->key->of_end)
    return end == LB_CAP_END;
  return job->end == LB_ENDS ? job->machine->works[end] : end == (int)job->end;
}

static int first_end(const struct job *job) {
  return concerns(job, LB_CAP_END) ? LB_CAP_END : LB_ROD_END;
}

/* The value an end should have. A ramp is an angle or a time, whichever is not 0. */
static double wanted(const struct job *job, int end) {
  double time = job->machine->timing[end].opening_ramp_time;
  if (job->key->kind == LB_KEY_RAMP && time > 0)
    return time;
  return lb_keys_value(job->key, (enum lb_end)end, job->machine);
}

static bool is_time(const struct job *job) {
  return job->key->kind == LB_KEY_RAMP &&
         job->machine->timing[first_end(job)].opening_ramp_time > 0;
}

/* Share of the stroke at which an end's event happens, and the angle of such a share. */
static double share_of(const struct job *job, int end, double angle) {
  const struct lb_linkage *linkage = &job->machine->linkage;
  double share = lb_linkage_distance(linkage, (enum lb_end)end, angle) / linkage->stroke;
  return job->key->stroke == LB_STROKE_AWAY ? share : 1 - share;
}

static double angle_of(const struct job *job, int end, double share) {
  const struct lb_linkage *linkage = &job->machine->linkage;
  if (job->key->stroke == LB_STROKE_AWAY)
    return lb_linkage_angle_away(linkage, (enum lb_end)end, share * linkage->stroke);
  return lb_linkage_angle_back(linkage, (enum lb_end)end, (1 - share) * linkage->stroke);
}

/* How far the worst end comes back from what it should have, as a share of it; infinite when the
 * text cannot be read. */
static double miss(const struct job *job, const char *text) {
  struct lb_value value;
  double worst = 0;
  if (lb_value_read(&value, job->key, text, job->machine->ambient_pressure, NULL) != LB_OK ||
      value.is_time != is_time(job))
    return (double)INFINITY;
  for (int end = 0; end < LB_ENDS; end++) {
    if (!concerns(job, end))
      continue;
    double target = wanted(job, end);
    double back = value.is_share ? angle_of(job, end, value.number) : value.number;
    double scale = target == 0 ? 1 : fabs(target);
    if (back == target) /* both may be infinite: an adiabatic store */
      continue;
    if (!(fabs(back - target) <= worst * scale))
      worst = fabs(back - target) / scale;
  }
  return isnan(worst) ? (double)INFINITY : worst;
}

/* Write a number with the fewest digits that come back nearest.
 * best  out: best[LB_LINE_MOST]
 * tail  blank and unit behind the number
 * Returns how near it comes. */
static double write_number(char *best, const struct job *job, double number, const char *tail) {
  char text[LB_NUMBER_TEXT], whole[LB_NUMBER_TEXT + UNIT_SIZE];
  double best_miss = (double)INFINITY;
  for (int digits = 1; digits <= DIGITS_MOST && best_miss > 0; digits++) {
    lb_format(whole, sizeof whole, "%s%s", lb_number_write(text, number, digits), tail);
    double m = miss(job, whole);
    if (m < best_miss) {
      best_miss = m;
      strcpy(best, whole);
    }
  }
  return best_miss;
}

/* Try a unit with the blank before it, e.g. " mm", "\"" or " % of stroke". */
static bool write_in(char *best, const struct job *job, const char *tail) {
  char unit[UNIT_SIZE];
  if (strlen(tail) >= sizeof unit)
    return false;
  strcpy(unit, tail);
  int end = first_end(job);
  double number, value = wanted(job, end);
  enum lb_quantity quantity = is_time(job) ? LB_TIME : job->key->quantity;
  for (char *at = unit; job->key->stroke != LB_STROKE_NONE && *at; at++)
    *at = lb_plain_lower(*at);
  char *of = job->key->stroke != LB_STROKE_NONE ? strstr(unit, "of ") : NULL;
  if (of) {
    *of = '\0';
    value = share_of(job, end, value);
    quantity = LB_FRACTION;
  }
  if (lb_units_write(&number, value, quantity, unit, job->machine->ambient_pressure, NULL) != LB_OK)
    return false;
  return write_number(best, job, number, tail) <= roundings * DBL_EPSILON;
}

/* A value with its unit: as the text has it, or the usual one. */
static bool write_quantity(char *best, const struct job *job) {
  double number;
  const char *unit;
  if (job->original && lb_units_split(&number, &unit, job->original, NULL) == LB_OK) {
    bool blank = unit > job->original && (unit[-1] == ' ' || unit[-1] == '\t');
    char tail[UNIT_SIZE];
    lb_format(tail, sizeof tail, "%s%s", blank && *unit ? " " : "", unit);
    if (write_in(best, job, tail))
      return true;
  }
  char usual[UNIT_SIZE];
  const char *name = is_time(job) ? "ms" : job->key->unit;
  lb_format(usual, sizeof usual, "%s%s", *name ? " " : "", name);
  return write_in(best, job, usual);
}

/* One angle in degrees; `angle` is within a turn. */
static void write_angle(char *best, double angle) {
  double best_miss = (double)INFINITY;
  for (int digits = 1; digits <= DIGITS_MOST && best_miss > 0; digits++) {
    char number[LB_NUMBER_TEXT], whole[LB_NUMBER_TEXT + sizeof " deg"];
    double back;
    lb_format(whole, sizeof whole, "%s deg", lb_number_write(number, angle * 180 / LB_PI, digits));
    if (lb_units_read(&back, whole, LB_ANGLE, 0, NULL) == LB_OK && fabs(back - angle) < best_miss) {
      best_miss = fabs(back - angle);
      strcpy(best, whole);
    }
  }
}

static void write_angles(char *best, const struct lb_machine *machine) {
  *best = '\0';
  for (int k = 0; k < machine->cylinders; k++) {
    strcat(best, k ? ", " : "");
    write_angle(best + strlen(best), machine->crank_angle[k]);
  }
}

/* A word of the choices, or adiabatic and isothermal; NULL when the value has none. */
static const char *word(const struct job *job) {
  double value = wanted(job, first_end(job));
  if (job->key->kind == LB_KEY_HEAT && (value == 0 || isinf(value)))
    return value == 0 ? "isothermal" : "adiabatic";
  if (job->key->kind == LB_KEY_CHOICE)
    return job->key->choice[(size_t)value];
  if (job->key->kind == LB_KEY_EXPONENT && value == LB_GAMMA)
    return "adiabatic";
  return job->key->kind == LB_KEY_EXPONENT && value == 1 ? "isothermal" : NULL;
}

/* The key by which the text already says what this one would say in another way, or NULL. */
static const char *said_by(const struct lb_textfile *text, const struct lb_key *key) {
  if (key->alternative)
    return lb_textfile_find(text, key->section, key->alternative) ? key->alternative : NULL;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *other = lb_keys_get(i);
    if (lb_keys_same(key, other) && lb_textfile_find(text, other->section, other->name))
      return other->name;
  }
  return NULL;
}

/* Whether an end has a value to write; that of an adiabatic store is infinite. */
static bool has_value(const struct job *job, int end) {
  double value = wanted(job, end);
  return isfinite(value) || (job->key->kind == LB_KEY_HEAT && isinf(value));
}

/* Whether something in the text stands against writing the key. */
static enum lb_status obstacle(const struct lb_textfile *text, const struct job *job,
                               struct lb_error *error) {
  const struct lb_key *key = job->key;
  const char *other = said_by(text, key);
  if (other)
    return lb_error_set(error, LB_BAD_INPUT, "the text gives '%s' instead; change that", other);
  for (int end = 0; job->end == LB_ENDS && key->of_end && end < LB_ENDS; end++) {
    const char *section = lb_keys_section(key, (enum lb_end)end);
    if (job->machine->works[end] && lb_textfile_find(text, section, key->name))
      return lb_error_set(error, LB_BAD_INPUT, "the text gives its own in [%s]; change that",
                          section);
  }
  bool listed = key->kind == LB_KEY_TEXT || key->kind == LB_KEY_ANGLES;
  for (int end = 0; end < LB_ENDS; end++)
    if (concerns(job, end) && !listed && !has_value(job, end))
      return lb_error_set(error, LB_BAD_INPUT, "the machine has no value for it; give it one");
  return LB_OK;
}

/* Find the text of the value. */
static enum lb_status compose(char *value, const struct job *job, struct lb_error *error) {
  if (job->key->kind == LB_KEY_TEXT) {
    lb_format(value, LIST_SIZE, "%s", job->machine->name);
    return LB_OK;
  }
  if (job->key->kind == LB_KEY_ANGLES) {
    write_angles(value, job->machine);
    return LB_OK;
  }
  const char *in_words = word(job);
  bool fits = false;
  if (in_words) {
    strcpy(value, in_words);
    fits = miss(job, value) == 0;
  } else {
    fits = write_quantity(value, job);
  }
  if (fits)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "no text for it would be read back as it is; write each end's own if the "
                      "ends differ, and keep within the limits");
}

enum lb_status lb_machine_write_value(struct lb_textfile *text, const struct lb_key *key,
                                      enum lb_end end, const struct lb_machine *machine,
                                      struct lb_error *error) {
  const char *section = lb_keys_section(key, end);
  const struct lb_entry *entry = lb_textfile_find(text, section, key->name);
  struct job job = {key, end, machine, entry ? entry->value : NULL};
  char value[LIST_SIZE];
  enum lb_status status = obstacle(text, &job, error);
  if (status == LB_OK)
    status = compose(value, &job, error);
  if (status == LB_OK)
    return lb_textfile_change(text, section, key->name, value, error);
  if (error)
    lb_format(error->key, sizeof error->key, "[%s] %s", section, key->name);
  return status;
}
