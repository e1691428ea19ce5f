/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading a machine in passes over the table of keys: which keys are given, what their values are,
 * what is missing, what follows from the rest, and whether it all fits together.
 *
 * A key that could not be read, or is missing, is marked unknown, and nothing that rests on it is
 * judged. The passes go in the order of the table, so that the surroundings are known before any
 * gauge pressure and the rods before the pressure at which an engine runs light.
 */
#include "machine/read.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/number.h"
#include "machine/check.h"
#include "machine/complete.h"
#include "machine/read_parts.h"
#include "machine/read_value.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Add an error with its place: the line or the override of an entry. */
static void add(struct lb_reading *r, struct lb_error *error, const char *section, const char *name,
                int line, int set) {
  error->file = lb_textfile_name(r->text);
  error->line = line;
  error->set = set;
  lb_format(error->key, sizeof error->key, name ? "[%s] %s" : "[%s]", section, name);
  lb_errors_add(r->errors, error);
}

void lb_reading_blame(struct lb_reading *r, struct lb_error *error, const struct lb_entry *entry) {
  add(r, error, entry->section, entry->key, entry->line, entry->set);
}

const struct lb_entry *lb_reading_entry(const struct lb_reading *r, const struct lb_key *key,
                                        enum lb_end end) {
  return r->given.entry[end][lb_keys_index(key)];
}

bool *lb_reading_unknown(struct lb_reading *r, const struct lb_key *key, enum lb_end end) {
  return &r->unknown[end][lb_keys_index(key)];
}

bool lb_reading_gives(const struct lb_reading *r, const char *section, const char *name) {
  return lb_reading_entry(r, lb_keys_find(NULL, section, name), LB_ENDS) != NULL;
}

bool lb_reading_knows(struct lb_reading *r, const char *section, const char *name) {
  return !*lb_reading_unknown(r, lb_keys_find(NULL, section, name), LB_ENDS);
}

void lb_reading_forget(struct lb_reading *r, const char *section, const char *name) {
  *lb_reading_unknown(r, lb_keys_find(NULL, section, name), LB_ENDS) = true;
}

bool lb_reading_stands(const struct lb_reading *r, const char *section, int *line) {
  const char *name;
  for (size_t i = 0; (name = lb_textfile_section(r->text, i, line)); i++)
    if (strcmp(name, section) == 0)
      return true;
  *line = 0;
  return false;
}

/* The override that names a section first, for a section that no header names. */
static int section_set(const struct lb_reading *r, const char *section) {
  const struct lb_entry *entry;
  for (size_t i = 0; (entry = lb_textfile_entry(r->text, i)); i++)
    if (strcmp(entry->section, section) == 0)
      return entry->set;
  return 0;
}

static void refuse_sections(struct lb_reading *r) {
  const char *name;
  int line;
  for (size_t i = 0; (name = lb_textfile_section(r->text, i, &line)); i++) {
    if (lb_keys_has_section(name))
      continue;
    char advice[400];
    struct lb_error error;
    lb_keys_advise(advice, sizeof advice, name, NULL);
    lb_error_set(&error, LB_BAD_INPUT, "unknown section; %s", advice);
    add(r, &error, name, NULL, line, line > 0 ? 0 : section_set(r, name));
  }
}

/* Note which keys are given; refuse those not in the table, once for an unknown section. */
static void collect(struct lb_reading *r) {
  refuse_sections(r);
  const struct lb_entry *entry;
  for (size_t i = 0; (entry = lb_textfile_entry(r->text, i)); i++) {
    enum lb_end end;
    const struct lb_key *key = lb_keys_find(&end, entry->section, entry->key);
    if (key) {
      r->given.entry[end][lb_keys_index(key)] = entry;
    } else if (lb_keys_has_section(entry->section)) {
      char advice[400];
      struct lb_error error;
      lb_keys_advise(advice, sizeof advice, entry->section, entry->key);
      lb_error_set(&error, LB_BAD_INPUT, "unknown key; %s", advice);
      lb_reading_blame(r, &error, entry);
    }
  }
}

/* Of two entries, the one that came later: an override, or the lower line. */
static const struct lb_entry *later(const struct lb_entry *a, const struct lb_entry *b) {
  if (a->set != b->set)
    return a->set > b->set ? a : b;
  return a->line > b->line ? a : b;
}

/* Refuse two keys that say the same thing. */
static void refuse_alternatives(struct lb_reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (!key->restates)
      continue;
    const struct lb_entry *one = lb_reading_entry(r, key, LB_ENDS);
    const struct lb_entry *other =
        lb_reading_entry(r, lb_keys_find(NULL, key->section, key->alternative), LB_ENDS);
    if (!one || !other)
      continue;
    const struct lb_entry *second = later(one, other), *first = second == one ? other : one;
    struct lb_error error;
    if (first->set)
      lb_error_set(&error, LB_BAD_INPUT, "'%s' is set as well and says the same; keep one of them",
                   first->key);
    else
      lb_error_set(&error, LB_BAD_INPUT, "'%s' in line %d says the same; keep one of the two",
                   first->key, first->line);
    lb_reading_blame(r, &error, second);
  }
}

/* The time or the angle of a ramp; the other is none. */
static void keep_ramp(struct lb_timing *timing, const struct lb_value *value) {
  timing->opening_ramp = value->is_time ? 0 : value->number;
  timing->opening_ramp_time = value->is_time ? value->number : 0;
}

/* Put a value that was read into the machine, or keep a share of the stroke for later. */
static void keep(struct lb_reading *r, const struct lb_key *key, enum lb_end end,
                 const struct lb_value *value) {
  struct lb_timing *timing = r->machine.timing;
  if (value->is_unknown) {
    r->machine.dead_volume_unknown[key->when == LB_WHEN_CAP_END ? LB_CAP_END : LB_ROD_END] = true;
  } else if (key->kind == LB_KEY_ANGLES) {
    memcpy(r->machine.crank_angle, value->angle, sizeof r->machine.crank_angle);
    r->angles = value->angles;
  } else if (key->kind == LB_KEY_RAMP) {
    if (end != LB_ROD_END)
      keep_ramp(&timing[LB_CAP_END], value);
    if (end != LB_CAP_END)
      keep_ramp(&timing[LB_ROD_END], value);
  } else if (key->kind == LB_KEY_RATING) {
    struct lb_store *store = &r->machine.store;
    store->given = true;
    store->rating_amount = value->amount;
    store->rating_is_free = value->is_free;
    store->rating_pressure = value->number;
  } else if (value->is_share) {
    r->share[end][lb_keys_index(key)] = value->number;
  } else {
    lb_keys_put(key, end, &r->machine, value->number);
  }
}

/* Read the value of a key in one section. */
static void read_key(struct lb_reading *r, const struct lb_key *key, enum lb_end end) {
  const struct lb_entry *entry = lb_reading_entry(r, key, end);
  if (!entry)
    return;
  if (key->kind == LB_KEY_TEXT) {
    lb_format(r->machine.name, sizeof r->machine.name, "%s", entry->value);
    return;
  }
  /* The surroundings' own pressure cannot be a gauge pressure: nothing is known it counts from. */
  bool itself = strcmp(key->section, "surroundings") == 0;
  struct lb_value value;
  struct lb_error error;
  if (lb_value_read(&value, key, entry->value, itself ? (double)NAN : r->machine.ambient_pressure,
                    &error) == LB_OK) {
    keep(r, key, end, &value);
    return;
  }
  *lb_reading_unknown(r, key, end) = true;
  lb_reading_blame(r, &error, entry);
}

/* Whether the text has an unknown key, or section, by which this key was probably meant. */
static bool misspelt(const struct lb_reading *r, const struct lb_key *key) {
  const struct lb_entry *entry;
  for (size_t i = 0; (entry = lb_textfile_entry(r->text, i)); i++) {
    bool section_known = lb_keys_has_section(entry->section);
    if (section_known && lb_keys_find(NULL, entry->section, entry->key))
      continue;
    if (lb_keys_points_at(key, entry->section, section_known ? entry->key : NULL))
      return true;
  }
  return false;
}

/* A key that is not there may stand in a line that could not be read, or in one that misspells it.
 */
static void look_for_hidden(struct lb_reading *r, const struct lb_key *key, enum lb_end end) {
  if (!lb_reading_entry(r, key, end) &&
      (lb_textfile_section_faulty(r->text, lb_keys_section(key, end)) ||
       (end == LB_ENDS && misspelt(r, key))))
    *lb_reading_unknown(r, key, end) = true;
}

static void read_keys(struct lb_reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    read_key(r, key, LB_ENDS);
    look_for_hidden(r, key, LB_ENDS);
    for (int end = 0; key->of_end && end < LB_ENDS; end++) {
      read_key(r, key, (enum lb_end)end);
      look_for_hidden(r, key, (enum lb_end)end);
    }
  }
}

/* Whether a key matters for this machine. When that is not known, it is taken not to. */
static bool matters(struct lb_reading *r, const struct lb_key *key) {
  int line;
  bool acting_known = lb_reading_knows(r, "cylinder", "acting"),
       kind_known = lb_reading_knows(r, "linkage", "kind");
  switch (key->when) {
  case LB_WHEN_ALWAYS:
    break;
  case LB_WHEN_CAP_END:
    return acting_known && r->machine.works[LB_CAP_END];
  case LB_WHEN_ROD_END:
    return acting_known && r->machine.works[LB_ROD_END];
  case LB_WHEN_CONNECTING_ROD:
    return kind_known && r->machine.linkage.kind == LB_CONNECTING_ROD;
  case LB_WHEN_SWINGING:
    return kind_known && r->machine.linkage.kind == LB_SWINGING;
  case LB_WHEN_SECTION:
    return lb_reading_stands(r, key->section, &line);
  case LB_WHEN_ORIFICE:
    return lb_reading_gives(r, key->section, "orifice");
  case LB_WHEN_GIVEN:
    return lb_reading_gives(r, key->section, key->name);
  case LB_WHEN_TORQUE:
  case LB_WHEN_LOAD:
    break;
  case LB_WHEN_VEHICLE:
    return r->machine.load.mass > 0;
  }
  return true;
}

static bool of_linkage(const struct lb_key *key) {
  return key->when == LB_WHEN_CONNECTING_ROD || key->when == LB_WHEN_SWINGING;
}

/* The dead volumes that are usual in this cylinder: ", here 9.8 to 39 cm3", and the value of an
 * example. Both stay as they are while the cylinder is not known. */
static void suggest_dead_volume(struct lb_reading *r, const struct lb_key *key, char here[64],
                                char value[64]) {
  const double least = 0.05, usual = 0.10, most = 0.20; /* [1] of the swept volume */
  enum lb_end end = key->when == LB_WHEN_CAP_END ? LB_CAP_END : LB_ROD_END;
  const char *rod = end == LB_CAP_END ? "through rod" : "piston rod";
  double swept =
      lb_machine_area(&r->machine, end) * r->machine.linkage.stroke / LB_CUBIC_CENTIMETRE;
  if (!lb_reading_knows(r, "cylinder", "bore") || !lb_reading_knows(r, "cylinder", "stroke") ||
      !lb_reading_knows(r, "cylinder", rod) || !(swept > 0))
    return;
  lb_format(here, 64, ", here %.2g to %.2g cm3", least * swept, most * swept);
  lb_format(value, 64, "%.2g cm3", usual * swept);
}

static void report_missing(struct lb_reading *r, const struct lb_key *key) {
  struct lb_error error;
  char here[64] = "", value[64];
  int gist = (int)strcspn(key->meaning, ",:;(");
  lb_format(value, sizeof value, "%s", key->example);
  if (key->may_be_unknown) {
    suggest_dead_volume(r, key, here, value);
    lb_error_set(&error, LB_BAD_INPUT,
                 "missing (%.*s; usual are 5 to 20 %% of the swept volume%s); write e.g. '%s = %s'",
                 gist, key->meaning, here, key->name, value);
  } else {
    lb_error_set(&error, LB_BAD_INPUT, "missing (%.*s); write e.g. '%s = %s'", gist, key->meaning,
                 key->name, value);
  }
  int line;
  lb_reading_stands(r, key->section, &line);
  add(r, &error, key->section, key->name, line, 0);
}

/* Whether another key says what this one would. */
static bool said_otherwise(const struct lb_reading *r, const struct lb_key *key) {
  return key->alternative && lb_reading_gives(r, key->section, key->alternative);
}

/* Report the required keys that are missing; one that is only misspelt has been reported. */
static void require(struct lb_reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (!key->required || lb_reading_entry(r, key, LB_ENDS) ||
        *lb_reading_unknown(r, key, LB_ENDS) || said_otherwise(r, key))
      continue;
    bool wanted = matters(r, key);
    *lb_reading_unknown(r, key, LB_ENDS) =
        wanted || (of_linkage(key) && !lb_reading_knows(r, "linkage", "kind"));
    if (wanted && !misspelt(r, key))
      report_missing(r, key);
  }
}

/* Refuse dimensions of a linkage that this kind does not have. */
static void refuse_strange_dimensions(struct lb_reading *r) {
  const struct lb_key *kind = lb_keys_find(NULL, "linkage", "kind");
  if (*lb_reading_unknown(r, kind, LB_ENDS))
    return;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    const struct lb_entry *entry = lb_reading_entry(r, key, LB_ENDS);
    if (!entry || !of_linkage(key) || matters(r, key))
      continue;
    struct lb_error error;
    lb_error_set(&error, LB_BAD_INPUT,
                 "not used with 'kind = %s'; leave it out, or change the kind",
                 kind->choice[r->machine.linkage.kind]);
    lb_reading_blame(r, &error, entry);
  }
}

/* Refuse a load that is a torque and a vehicle, and what only a vehicle has without its mass. */
static void refuse_mixed_load(struct lb_reading *r) {
  static const char *const torques[] = {"torque", "torque per speed", "torque per speed squared"};
  bool vehicle = lb_reading_gives(r, "load", "mass");
  for (size_t i = 0; vehicle && i < sizeof torques / sizeof torques[0]; i++) {
    const struct lb_entry *entry =
        lb_reading_entry(r, lb_keys_find(NULL, "load", torques[i]), LB_ENDS);
    struct lb_error error;
    if (!entry)
      continue;
    lb_error_set(&error, LB_BAD_INPUT,
                 "the load is stated twice, by '%s' and by the 'mass' of a vehicle; keep one of "
                 "the two",
                 torques[i]);
    lb_reading_forget(r, "load", torques[i]);
    lb_reading_blame(r, &error, entry);
  }
  for (size_t i = 0; !vehicle && lb_reading_knows(r, "load", "mass") && i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    const struct lb_entry *entry = lb_reading_entry(r, key, LB_ENDS);
    struct lb_error error;
    if (!entry || key->when != LB_WHEN_VEHICLE)
      continue;
    lb_error_set(&error, LB_BAD_INPUT,
                 "this is of a vehicle, and there is no 'mass'; give the mass of the vehicle as "
                 "well, or leave this out");
    lb_reading_blame(r, &error, entry);
  }
}

/* Refuse an override of timing that no working end follows. */
static void refuse_void_override(struct lb_reading *r, const struct lb_key *key,
                                 enum lb_end section) {
  const struct lb_entry *entry = lb_reading_entry(r, key, section);
  if (!entry || entry->set == 0 || !lb_reading_knows(r, "cylinder", "acting"))
    return;
  for (int end = 0; end < LB_ENDS; end++)
    if (r->machine.works[end] && lb_keys_deciding(&r->given, key, (enum lb_end)end) == section)
      return;
  struct lb_error error;
  if (section == LB_ENDS)
    lb_error_set(&error, LB_BAD_INPUT,
                 "this has no effect, as each working end has its own; set that of the end, e.g. "
                 "'timing %s end.%s'",
                 r->machine.works[LB_CAP_END] ? "cap" : "rod", key->name);
  else
    lb_error_set(&error, LB_BAD_INPUT,
                 "this has no effect, as the %s end does not work; set that of the other end",
                 section == LB_CAP_END ? "cap" : "rod");
  lb_reading_blame(r, &error, entry);
}

/* Refuse an override of the dead volume of an end that does not work. */
static void refuse_void_dead_volume(struct lb_reading *r, const struct lb_key *key) {
  const struct lb_entry *entry = lb_reading_entry(r, key, LB_ENDS);
  if (!key->may_be_unknown || !entry || entry->set == 0 ||
      !lb_reading_knows(r, "cylinder", "acting") || matters(r, key))
    return;
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT,
               "this has no effect, as the %s end does not work; set that of the other end",
               key->when == LB_WHEN_CAP_END ? "cap" : "rod");
  lb_reading_blame(r, &error, entry);
}

static void refuse_void_overrides(struct lb_reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    refuse_void_dead_volume(r, key);
    for (int section = 0; key->of_end && section <= LB_ENDS; section++)
      refuse_void_override(r, key, (enum lb_end)section);
  }
}

/* Turn an end's share of the stroke into its angle. */
static void resolve_share(struct lb_reading *r, const struct lb_key *key, enum lb_end end) {
  enum lb_end section = lb_keys_deciding(&r->given, key, end);
  double share = r->share[section][lb_keys_index(key)];
  if (isnan(share))
    return;
  const struct lb_linkage *linkage = &r->machine.linkage;
  double stroke = linkage->stroke;
  lb_keys_put(key, end, &r->machine,
              key->stroke == LB_STROKE_AWAY
                  ? lb_linkage_angle_away(linkage, end, share * stroke)
                  : lb_linkage_angle_back(linkage, end, (1 - share) * stroke));
}

/* Set up the linkage, and with it the events given as shares of the stroke. Without a linkage that
 * turns these are unknown; why it does not is found by the check. */
static void link_up(struct lb_reading *r) {
  struct lb_linkage *linkage = &r->machine.linkage;
  bool turns = lb_linkage_init(linkage, linkage->kind, linkage->stroke, linkage->length,
                               linkage->offset, NULL) == LB_OK;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    for (int end = 0; key->stroke != LB_STROKE_NONE && end < LB_ENDS; end++) {
      if (turns)
        resolve_share(r, key, (enum lb_end)end);
      else if (!isnan(r->share[lb_keys_deciding(&r->given, key, (enum lb_end)end)][i]))
        r->unknown[end][i] = true;
    }
  }
}

/* Add that the air's way through a tube cannot be found, or the room for a rating, where all else
 * is right and what it rests on is not in a line that could not be read. */
static void report_incomplete(struct lb_reading *r, const struct lb_error *failure) {
  struct lb_error error = *failure;
  const struct lb_entry *entry = lb_reading_entry(r, lb_keys_find(NULL, "tube", "bore"), LB_ENDS);
  if (!entry)
    entry = lb_reading_entry(r, lb_keys_find(NULL, "store", "rating"), LB_ENDS);
  if (r->errors->count == 0 && r->errors->dropped == 0 && entry)
    lb_reading_blame(r, &error, entry);
}

enum lb_status lb_machine_read(struct lb_machine *machine, struct lb_given *given,
                               const struct lb_textfile *text, struct lb_errors *errors) {
  struct lb_errors found = {0};
  struct lb_reading r = {.text = text, .errors = &found};
  lb_machine_defaults(&r.machine);
  for (size_t i = 0; i < sizeof r.share / sizeof r.share[0][0]; i++)
    (&r.share[0][0])[i] = (double)NAN;
  collect(&r);
  refuse_alternatives(&r);
  read_keys(&r);
  require(&r);
  refuse_strange_dimensions(&r);
  refuse_mixed_load(&r);
  refuse_void_overrides(&r);
  lb_reading_derive(&r);
  link_up(&r);
  struct lb_error incomplete;
  bool complete = lb_machine_complete(&r.machine, &incomplete) == LB_OK;
  lb_machine_check_text(&r.machine, &r.given, (const bool(*)[LB_KEYS_MOST])r.unknown, &found);
  if (!complete)
    report_incomplete(&r, &incomplete);
  bool failed = found.count > 0 || found.dropped > 0 || lb_textfile_faulty(text);
  for (size_t i = 0; i < found.count; i++) {
    found.item[i].file = lb_textfile_name(text);
    lb_errors_add(errors, &found.item[i]);
  }
  if (errors) {
    errors->dropped += found.dropped;
    lb_errors_sort(errors);
  }
  lb_errors_free(&found);
  if (failed)
    return LB_BAD_INPUT;
  *machine = r.machine;
  if (given)
    *given = r.given;
  return LB_OK;
}
