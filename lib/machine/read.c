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
#include "machine/read_value.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A text half read. */
struct reading {
  const struct lb_textfile *text;
  struct lb_machine machine;
  struct lb_given given;
  bool unknown[LB_ENDS + 1][LB_KEYS_MOST];
  double share[LB_ENDS + 1][LB_KEYS_MOST]; /* of the stroke [1], until the linkage is known; NaN
                                              where the event is an angle */
  int angles;                              /* how many crank angles are listed */
  struct lb_errors *errors;
};

/* Add an error with its place: the line or the override of an entry. */
static void add(struct reading *r, struct lb_error *error, const char *section, const char *name,
                int line, int set) {
  error->file = lb_textfile_name(r->text);
  error->line = line;
  error->set = set;
  lb_format(error->key, sizeof error->key, name ? "[%s] %s" : "[%s]", section, name);
  lb_errors_add(r->errors, error);
}

static void add_at(struct reading *r, struct lb_error *error, const struct lb_entry *entry) {
  add(r, error, entry->section, entry->key, entry->line, entry->set);
}

static const struct lb_entry *entry_of(const struct reading *r, const struct lb_key *key,
                                       enum lb_end end) {
  return r->given.entry[end][lb_keys_index(key)];
}

static bool *unknown_of(struct reading *r, const struct lb_key *key, enum lb_end end) {
  return &r->unknown[end][lb_keys_index(key)];
}

static bool is_given(const struct reading *r, const char *section, const char *name) {
  return entry_of(r, lb_keys_find(NULL, section, name), LB_ENDS) != NULL;
}

/* Whether a key of a section that is not one of an end is known. */
static bool known(struct reading *r, const char *section, const char *name) {
  return !*unknown_of(r, lb_keys_find(NULL, section, name), LB_ENDS);
}

static void mark_unknown(struct reading *r, const char *section, const char *name) {
  *unknown_of(r, lb_keys_find(NULL, section, name), LB_ENDS) = true;
}

/* Whether a section stands in the text.
 * line  out: that of its header, 0 if there is none */
static bool section_stands(const struct reading *r, const char *section, int *line) {
  const char *name;
  for (size_t i = 0; (name = lb_textfile_section(r->text, i, line)); i++)
    if (strcmp(name, section) == 0)
      return true;
  *line = 0;
  return false;
}

/* The override that names a section first, for a section that no header names. */
static int section_set(const struct reading *r, const char *section) {
  const struct lb_entry *entry;
  for (size_t i = 0; (entry = lb_textfile_entry(r->text, i)); i++)
    if (strcmp(entry->section, section) == 0)
      return entry->set;
  return 0;
}

static void refuse_sections(struct reading *r) {
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
static void collect(struct reading *r) {
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
      add_at(r, &error, entry);
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
static void refuse_alternatives(struct reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (!key->restates)
      continue;
    const struct lb_entry *one = entry_of(r, key, LB_ENDS);
    const struct lb_entry *other =
        entry_of(r, lb_keys_find(NULL, key->section, key->alternative), LB_ENDS);
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
    add_at(r, &error, second);
  }
}

/* The time or the angle of a ramp; the other is none. */
static void keep_ramp(struct lb_timing *timing, const struct lb_value *value) {
  timing->opening_ramp = value->is_time ? 0 : value->number;
  timing->opening_ramp_time = value->is_time ? value->number : 0;
}

/* Put a value that was read into the machine, or keep a share of the stroke for later. */
static void keep(struct reading *r, const struct lb_key *key, enum lb_end end,
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
  } else if (value->is_share) {
    r->share[end][lb_keys_index(key)] = value->number;
  } else {
    lb_keys_put(key, end, &r->machine, value->number);
  }
}

/* Read the value of a key in one section. */
static void read_key(struct reading *r, const struct lb_key *key, enum lb_end end) {
  const struct lb_entry *entry = entry_of(r, key, end);
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
  *unknown_of(r, key, end) = true;
  add_at(r, &error, entry);
}

/* A key that is not there may stand in a line that could not be read. */
static void look_for_hidden(struct reading *r, const struct lb_key *key, enum lb_end end) {
  if (!entry_of(r, key, end) && lb_textfile_section_faulty(r->text, lb_keys_section(key, end)))
    *unknown_of(r, key, end) = true;
}

static void read_keys(struct reading *r) {
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
static bool matters(struct reading *r, const struct lb_key *key) {
  int line;
  bool acting_known = known(r, "cylinder", "acting"), kind_known = known(r, "linkage", "kind");
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
    return section_stands(r, key->section, &line);
  case LB_WHEN_ORIFICE:
    return is_given(r, key->section, "orifice");
  case LB_WHEN_GIVEN:
    return is_given(r, key->section, key->name);
  }
  return true;
}

static bool of_linkage(const struct lb_key *key) {
  return key->when == LB_WHEN_CONNECTING_ROD || key->when == LB_WHEN_SWINGING;
}

/* Whether the text has an unknown key, or section, by which this key was probably meant. */
static bool misspelt(const struct reading *r, const struct lb_key *key) {
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

/* The dead volumes that are usual in this cylinder: ", here 9.8 to 39 cm3", and the value of an
 * example. Both stay as they are while the cylinder is not known. */
static void suggest_dead_volume(struct reading *r, const struct lb_key *key, char here[64],
                                char value[64]) {
  const double least = 0.05, usual = 0.10, most = 0.20; /* [1] of the swept volume */
  enum lb_end end = key->when == LB_WHEN_CAP_END ? LB_CAP_END : LB_ROD_END;
  const char *rod = end == LB_CAP_END ? "through rod" : "piston rod";
  double swept =
      lb_machine_area(&r->machine, end) * r->machine.linkage.stroke / LB_CUBIC_CENTIMETRE;
  if (!known(r, "cylinder", "bore") || !known(r, "cylinder", "stroke") ||
      !known(r, "cylinder", rod) || !(swept > 0))
    return;
  lb_format(here, 64, ", here %.2g to %.2g cm3", least * swept, most * swept);
  lb_format(value, 64, "%.2g cm3", usual * swept);
}

static void report_missing(struct reading *r, const struct lb_key *key) {
  struct lb_error error;
  char here[64] = "", value[64];
  int gist = (int)strcspn(key->meaning, ",:;(");
  lb_format(value, sizeof value, "%s", key->example);
  if (key->quantity == LB_VOLUME) {
    suggest_dead_volume(r, key, here, value);
    lb_error_set(&error, LB_BAD_INPUT,
                 "missing (%.*s; usual are 5 to 20 %% of the swept volume%s); write e.g. '%s = %s'",
                 gist, key->meaning, here, key->name, value);
  } else {
    lb_error_set(&error, LB_BAD_INPUT, "missing (%.*s); write e.g. '%s = %s'", gist, key->meaning,
                 key->name, value);
  }
  int line;
  section_stands(r, key->section, &line);
  add(r, &error, key->section, key->name, line, 0);
}

/* Report the required keys that are missing; one that is only misspelt has been reported. */
static void require(struct reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (!key->required || entry_of(r, key, LB_ENDS) || *unknown_of(r, key, LB_ENDS))
      continue;
    bool wanted = matters(r, key);
    *unknown_of(r, key, LB_ENDS) = wanted || (of_linkage(key) && !known(r, "linkage", "kind"));
    if (wanted && !misspelt(r, key))
      report_missing(r, key);
  }
}

/* Refuse dimensions of a linkage that this kind does not have. */
static void refuse_strange_dimensions(struct reading *r) {
  const struct lb_key *kind = lb_keys_find(NULL, "linkage", "kind");
  if (*unknown_of(r, kind, LB_ENDS))
    return;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    const struct lb_entry *entry = entry_of(r, key, LB_ENDS);
    if (!entry || !of_linkage(key) || matters(r, key))
      continue;
    struct lb_error error;
    lb_error_set(&error, LB_BAD_INPUT,
                 "not used with 'kind = %s'; leave it out, or change the kind",
                 kind->choice[r->machine.linkage.kind]);
    add_at(r, &error, entry);
  }
}

/* Refuse an override of timing that no working end follows. */
static void refuse_void_override(struct reading *r, const struct lb_key *key, enum lb_end section) {
  const struct lb_entry *entry = entry_of(r, key, section);
  if (!entry || entry->set == 0 || !known(r, "cylinder", "acting"))
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
  add_at(r, &error, entry);
}

/* Refuse an override of the dead volume of an end that does not work. */
static void refuse_void_dead_volume(struct reading *r, const struct lb_key *key) {
  const struct lb_entry *entry = entry_of(r, key, LB_ENDS);
  if (!key->may_be_unknown || !entry || entry->set == 0 || !known(r, "cylinder", "acting") ||
      matters(r, key))
    return;
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT,
               "this has no effect, as the %s end does not work; set that of the other end",
               key->when == LB_WHEN_CAP_END ? "cap" : "rod");
  add_at(r, &error, entry);
}

static void refuse_void_overrides(struct reading *r) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    refuse_void_dead_volume(r, key);
    for (int section = 0; key->of_end && section <= LB_ENDS; section++)
      refuse_void_override(r, key, (enum lb_end)section);
  }
}

/* Evenly spaced angles as an example for a message: "0 deg, 120 deg, 240 deg". */
static void suggest_angles(char *text, size_t size, int cylinders) {
  const int listed = 4, turn = 360; /* as many as show how it goes on; [deg] */
  char number[LB_KEYS_NUMBER];
  size_t used = 0;
  for (int k = 0; k < cylinders && k < listed; k++) {
    double angle = lb_number_round((double)turn * k / cylinders, 3);
    used += (size_t)lb_format(text + used, size - used, "%s%s deg", k ? ", " : "",
                              lb_keys_number(number, angle));
  }
  if (cylinders > listed)
    lb_format(text + used, size - used, ", ...");
}

/* The crank angles given, or an even spacing. */
static void space_cranks(struct reading *r) {
  struct lb_machine *machine = &r->machine;
  if (!known(r, "machine", "cylinders") || !known(r, "machine", "crank angles"))
    return;
  const struct lb_key *key = lb_keys_find(NULL, "machine", "crank angles");
  const struct lb_entry *entry = entry_of(r, key, LB_ENDS);
  if (!entry) {
    for (int k = 0; k < machine->cylinders; k++)
      machine->crank_angle[k] = 2 * LB_PI * k / machine->cylinders;
    return;
  }
  if (r->angles == machine->cylinders)
    return;
  struct lb_error error;
  char even[80];
  suggest_angles(even, sizeof even, machine->cylinders);
  lb_error_set(&error, LB_BAD_INPUT, "%d angle%s for %d cylinder%s; give one for each, e.g. '%s'",
               r->angles, r->angles == 1 ? "" : "s", machine->cylinders,
               machine->cylinders == 1 ? "" : "s", even);
  *unknown_of(r, key, LB_ENDS) = true;
  add_at(r, &error, entry);
}

/* What is not known of the dead volumes is taken as usual, if the cylinder it is a share of is
 * known. */
static void assume_dead_volumes(struct reading *r) {
  static const char *const sizes[] = {"bore", "stroke", "piston rod", "through rod"};
  static const char *const name[] = {"dead volume cap end", "dead volume rod end"};
  lb_machine_assume_dead_volume(&r->machine, LB_DEAD_VOLUME_USUAL);
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
    for (int end = 0; end < LB_ENDS; end++)
      if (r->machine.dead_volume_unknown[end] && !known(r, "cylinder", sizes[i]))
        mark_unknown(r, "cylinder", name[end]);
}

/* Shut the exhaust at dead centre where nothing else is said, or where the inlet opens. */
static void close_exhaust(struct reading *r) {
  const struct lb_key *key = lb_keys_find(NULL, "timing", "exhaust closes");
  for (int end = 0; end < LB_ENDS; end++) {
    struct lb_timing *timing = &r->machine.timing[end];
    if (!entry_of(r, key, lb_keys_deciding(&r->given, key, (enum lb_end)end)))
      timing->exhaust_closes = 2 * LB_PI + fmin(timing->inlet_opens, 0);
  }
}

/* Lay the tracks of a switch disc side by side from its edge inwards where nothing else is said.
 * What would then lie beyond the centre is left to the rule that tracks fit on their disc. */
static void lay_tracks(struct reading *r) {
  static const char section[] = "switch disc";
  const double apart = 2e-3; /* [m] common practice, no source */
  struct lb_switch_disc *disc = &r->machine.switch_disc;
  bool width_known = known(r, section, "track width");
  bool both_known = width_known && known(r, section, "outer diameter");
  if (!disc->given)
    return;
  if (!is_given(r, section, "track spacing")) {
    disc->track_spacing = disc->track_width + apart;
    if (!width_known)
      mark_unknown(r, section, "track spacing");
  }
  if (!is_given(r, section, "track radius")) {
    double least = lb_keys_find(NULL, section, "track radius")->least;
    disc->track_radius = fmax(disc->outer_diameter / 2 - disc->track_width, least);
    if (!both_known)
      mark_unknown(r, section, "track radius");
  }
}

/* Fill in what follows from other values. */
static void derive(struct reading *r) {
  struct lb_machine *machine = &r->machine;
  if (!is_given(r, "exhaust", "back pressure"))
    machine->back_pressure = machine->ambient_pressure;
  if (!is_given(r, "supply", "temperature"))
    machine->supply_temperature = machine->ambient_temperature;
  if (!is_given(r, "air", "compression"))
    machine->compression_exponent = machine->expansion_exponent;
  /* A friction that is negative or no number comes from areas that are refused themselves. */
  if (!(machine->friction >= 0)) {
    mark_unknown(r, "cylinder", "friction");
    machine->friction = 0;
  }
  if (!is_given(r, "cylinder", "breakaway friction"))
    machine->breakaway_friction = machine->friction;
  assume_dead_volumes(r);
  close_exhaust(r);
  space_cranks(r);
  lay_tracks(r);
}

/* Turn an end's share of the stroke into its angle. */
static void resolve_share(struct reading *r, const struct lb_key *key, enum lb_end end) {
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
static void link_up(struct reading *r) {
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

/* Add that the air's way through a tube cannot be found, where all else is right and the tube is
 * not in a line that could not be read. */
static void report_incomplete(struct reading *r, const struct lb_error *failure) {
  struct lb_error error = *failure;
  const struct lb_entry *entry = entry_of(r, lb_keys_find(NULL, "tube", "bore"), LB_ENDS);
  if (r->errors->count == 0 && r->errors->dropped == 0 && entry)
    add_at(r, &error, entry);
}

enum lb_status lb_machine_read(struct lb_machine *machine, struct lb_given *given,
                               const struct lb_textfile *text, struct lb_errors *errors) {
  struct lb_errors found = {0};
  struct reading r = {.text = text, .errors = &found};
  lb_machine_defaults(&r.machine);
  for (size_t i = 0; i < sizeof r.share / sizeof r.share[0][0]; i++)
    (&r.share[0][0])[i] = (double)NAN;
  collect(&r);
  refuse_alternatives(&r);
  read_keys(&r);
  require(&r);
  refuse_strange_dimensions(&r);
  refuse_void_overrides(&r);
  derive(&r);
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
