/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits and rules. Limits of single values come first, then the rules in their order: those of the
 * machine, which stand here, those of its valves, of its store and load, and of what is made for it
 * at the bench.
 */
#include "machine/check.h"

#include "base/constants.h"
#include "base/format.h"
#include "machine/check_rules.h"

#include <math.h>
#include <string.h>

/* Angles that should be equal may differ by a few roundings: 357 deg and -3 deg a turn later. */
static const double angle_slack = 1e-12; /* [rad] */

/* The smallest difference of temperature that is no rounding. */
static const double temperature_slack = 1e-9; /* [K] */

/* What is being checked. */
struct examination {
  const struct lb_machine *machine;
  const struct lb_given *given; /* or NULL */
  bool unknown[LB_ENDS + 1][LB_KEYS_MOST];
  bool linkage_turns;
  struct lb_errors *errors;
  enum lb_status status;
};

/* Numbers for messages; text[LB_KEYS_NUMBER] is returned. */
static const char *degrees(char *text, double angle) {
  return lb_keys_number(text, angle * 180 / LB_PI);
}

static const char *celsius(char *text, double temperature) {
  return lb_keys_number(text, temperature - LB_ZERO_CELSIUS);
}

static const char *millimetres(char *text, double length) {
  return lb_keys_number(text, length * 1e3);
}

static enum lb_status test_name(const struct lb_machine *machine, enum lb_end end,
                                struct lb_error *error) {
  (void)end;
  if (machine->name[0] != '\0' && memchr(machine->name, '\0', sizeof machine->name))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "the machine has no name; give it one");
}

static enum lb_status test_acting(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  (void)end;
  if (machine->works[LB_CAP_END] || machine->works[LB_ROD_END])
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "neither end works; let one end or both be fed");
}

static enum lb_status test_crank_angles(const struct lb_machine *machine, enum lb_end end,
                                        struct lb_error *error) {
  char a[LB_KEYS_NUMBER];
  (void)end;
  for (int k = 0; k < machine->cylinders; k++)
    if (!(machine->crank_angle[k] >= 0 && machine->crank_angle[k] < 2 * LB_PI - angle_slack))
      return lb_error_set(error, LB_BAD_INPUT,
                          "the angle of cylinder %d lies outside one turn; give 0 deg or more and "
                          "less than 360 deg",
                          k + 1);
  if (machine->crank_angle[0] == 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the first angle is %s deg, but the first cylinder is counted from itself; "
                      "write 0 deg for it and count the others from there",
                      degrees(a, machine->crank_angle[0]));
}

static enum lb_status test_dew_point(const struct lb_machine *machine, enum lb_end end,
                                     struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  (void)end;
  if (!machine->dew_point_given ||
      machine->dew_point <= machine->supply_temperature + temperature_slack)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a dew point of %s degC is above the supply's temperature of %s degC, "
                      "where the water would have dropped out; give the lower of the two",
                      celsius(a, machine->dew_point), celsius(b, machine->supply_temperature));
}

/* A rod must leave an area for the air to work on. */
static enum lb_status test_rod(double rod, double bore, const char *what, struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  if (rod < bore)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a %s of %s mm leaves no piston area in a bore of %s mm; give the "
                      "diameters of both",
                      what, millimetres(a, rod), millimetres(b, bore));
}

static enum lb_status test_piston_rod(const struct lb_machine *machine, enum lb_end end,
                                      struct lb_error *error) {
  (void)end;
  return test_rod(machine->rod_diameter, machine->bore, "piston rod", error);
}

static enum lb_status test_through_rod(const struct lb_machine *machine, enum lb_end end,
                                       struct lb_error *error) {
  (void)end;
  return test_rod(machine->through_rod_diameter, machine->bore, "through rod", error);
}

/* The linkage turns, and its members are those that its dimensions give. */
static enum lb_status test_linkage(const struct lb_machine *machine, enum lb_linkage_kind kind,
                                   struct lb_error *error) {
  const struct lb_linkage *had = &machine->linkage;
  struct lb_linkage fresh;
  if (had->kind != kind)
    return LB_OK;
  enum lb_status status =
      lb_linkage_init(&fresh, had->kind, had->stroke, had->length, had->offset, error);
  if (status != LB_OK)
    return status;
  if (fresh.crank_radius == had->crank_radius && fresh.outward == had->outward &&
      fresh.start_angle == had->start_angle && fresh.start_cosine == had->start_cosine &&
      fresh.start_sine == had->start_sine && fresh.far_reach == had->far_reach &&
      fresh.near_reach == had->near_reach)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the linkage does not fit its own dimensions; set it up with "
                      "lb_linkage_init");
}

static enum lb_status test_connecting_rod(const struct lb_machine *machine, enum lb_end end,
                                          struct lb_error *error) {
  (void)end;
  return test_linkage(machine, LB_CONNECTING_ROD, error);
}

static enum lb_status test_pivot(const struct lb_machine *machine, enum lb_end end,
                                 struct lb_error *error) {
  (void)end;
  return test_linkage(machine, LB_SWINGING, error);
}

static enum lb_status test_kind(const struct lb_machine *machine, enum lb_end end,
                                struct lb_error *error) {
  (void)end;
  switch (machine->linkage.kind) {
  case LB_CONNECTING_ROD:
  case LB_SWINGING:
    return LB_OK;
  case LB_YOKE:
    return test_linkage(machine, LB_YOKE, error);
  }
  return lb_error_set(error, LB_BAD_INPUT,
                      "not a kind of linkage; let it be a connecting rod, swinging or a yoke");
}

/* The inlet opens on the stroke back or on the stroke away, not beyond either. */
static enum lb_status test_inlet(const struct lb_machine *machine, enum lb_end end,
                                 struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  double opens = machine->timing[end].inlet_opens;
  double opposite = lb_linkage_stroke_angle(&machine->linkage, end);
  if (opens < opposite - 2 * LB_PI - angle_slack)
    return lb_error_set(error, LB_BAD_INPUT,
                        "the inlet opens at %s deg, before the opposite dead centre at %s deg; "
                        "open it on the stroke back or later",
                        degrees(a, opens), degrees(b, opposite - 2 * LB_PI));
  if (opens < opposite)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the inlet opens at %s deg, when the stroke away from this end is over "
                      "(%s deg); open it earlier",
                      degrees(a, opens), degrees(b, opposite));
}

static enum lb_status test_cutoff(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  if (!timing->cutoff_given || timing->cutoff > timing->inlet_opens)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the inlet shuts at %s deg and opens at %s deg; let it open before it "
                      "shuts",
                      degrees(a, timing->cutoff), degrees(b, timing->inlet_opens));
}

static enum lb_status test_release(const struct lb_machine *machine, enum lb_end end,
                                   struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  if (timing->cutoff_given && !(timing->cutoff <= timing->release + angle_slack))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the exhaust opens at %s deg (release), before the inlet shuts at %s deg "
                        "(cut-off); let release come at or after cut-off",
                        degrees(a, timing->release), degrees(b, timing->cutoff));
  double earliest = fmax(timing->inlet_opens, 0);
  if (timing->release > earliest && timing->release < 2 * LB_PI - angle_slack)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the exhaust opens at %s deg; let it open after %s deg, when the inlet "
                      "is open and the piston on its way, and before 360 deg",
                      degrees(a, timing->release), degrees(b, earliest));
}

static enum lb_status test_exhaust(const struct lb_machine *machine, enum lb_end end,
                                   struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  if (timing->exhaust_closes > timing->release)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the exhaust closes at %s deg and opens at %s deg (release); let it open "
                      "before it closes, and count on through the turn (346 deg, not -14 deg)",
                      degrees(a, timing->exhaust_closes), degrees(b, timing->release));
}

static enum lb_status test_overlap(const struct lb_machine *machine, enum lb_end end,
                                   struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  double next = timing->inlet_opens + 2 * LB_PI;
  if (timing->exhaust_closes <= next + angle_slack)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the exhaust closes at %s deg, after the inlet has opened again at %s "
                      "deg, and supply air would blow through; let 'exhaust closes' be %s deg "
                      "or less",
                      degrees(a, timing->exhaust_closes), degrees(b, next), b);
}

/* Air shut in before a dead centre without dead volume would be squeezed into nothing. */
static enum lb_status test_trap(const struct lb_machine *machine, enum lb_end end,
                                struct lb_error *error) {
  char a[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  if (machine->dead_volume[end] > 0 || timing->exhaust_closes >= 2 * LB_PI - angle_slack ||
      timing->inlet_opens < 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the air shut in at %s deg would be squeezed into nothing, as there is no "
                      "dead volume; give the dead volume, close the exhaust at 360 deg or open "
                      "the inlet before dead centre",
                      degrees(a, timing->exhaust_closes));
}

static enum lb_status test_ramp(const struct lb_machine *machine, enum lb_end end,
                                struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_timing *timing = &machine->timing[end];
  double time = timing->opening_ramp_time;
  if (!(time >= 0 && time <= LB_RAMP_TIME_MOST))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the valve's opening time lies outside 0 to %s s; give it within",
                        lb_keys_number(a, LB_RAMP_TIME_MOST));
  if (time == 0 || timing->opening_ramp == 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "a ramp of %s deg and one of %s s; set one of them to 0",
                      degrees(a, timing->opening_ramp), lb_keys_number(b, time));
}

/* The linkage first: others rest on it. */
static const struct lb_rule rules[] = {
    {test_connecting_rod, .rests = {{"linkage", "connecting rod"},
                                    {"linkage", "offset"},
                                    {"cylinder", "stroke"},
                                    {"linkage", "kind"}}},
    {test_pivot,
     .rests = {{"linkage", "pivot distance"}, {"cylinder", "stroke"}, {"linkage", "kind"}}},
    {test_kind, .rests = {{"linkage", "kind"}, {"cylinder", "stroke"}}},
    {test_name, .rests = {{"machine", "name"}}},
    {test_crank_angles, .rests = {{"machine", "crank angles"}, {"machine", "cylinders"}}},
    {test_dew_point, .rests = {{"supply", "dew point"},
                               {"supply", "temperature"},
                               {"surroundings", "temperature"}}},
    {test_acting, .rests = {{"cylinder", "acting"}}},
    {test_piston_rod, .rests = {{"cylinder", "piston rod"}, {"cylinder", "bore"}}},
    {test_through_rod, .rests = {{"cylinder", "through rod"}, {"cylinder", "bore"}}},
    {test_inlet, true, true, {{"timing", "inlet opens"}}},
    {test_cutoff, true, false, {{"timing", "cut-off"}, {"timing", "inlet opens"}}},
    {test_release,
     true,
     false,
     {{"timing", "release"}, {"timing", "cut-off"}, {"timing", "inlet opens"}}},
    {test_exhaust, true, false, {{"timing", "exhaust closes"}, {"timing", "release"}}},
    {test_overlap, true, false, {{"timing", "exhaust closes"}, {"timing", "inlet opens"}}},
    {test_trap,
     true,
     false,
     {{"timing", "exhaust closes"},
      {"timing", "inlet opens"},
      {"cylinder", "dead volume cap end"},
      {"cylinder", "dead volume rod end"}}},
    {test_ramp, true, false, {{"timing", "opening ramp"}}},
};

/* Which section decides a key at an end. */
static enum lb_end deciding(const struct examination *e, const struct lb_key *key,
                            enum lb_end end) {
  if (!key->of_end)
    return LB_ENDS;
  return e->given ? lb_keys_deciding(e->given, key, end) : end;
}

static bool is_unknown(const struct examination *e, const struct lb_key *key, enum lb_end end) {
  size_t index = lb_keys_index(key);
  return e->unknown[LB_ENDS][index] || (key->of_end && e->unknown[end][index]);
}

/* Name a key in an error, and the place in the text where it was given.
 * Returns whether the text gave it. */
static bool blame(const struct examination *e, const struct lb_key *key, enum lb_end end,
                  struct lb_error *error) {
  enum lb_end section = deciding(e, key, end);
  const struct lb_entry *entry = e->given ? e->given->entry[section][lb_keys_index(key)] : NULL;
  lb_format(error->key, sizeof error->key, "[%s] %s", lb_keys_section(key, section), key->name);
  error->line = entry ? entry->line : 0;
  error->set = entry ? entry->set : 0;
  return entry != NULL;
}

static const struct lb_key *rests_on(const struct lb_rule *rule, size_t i) {
  return rule->rests[i].name ? lb_keys_find(NULL, rule->rests[i].section, rule->rests[i].name)
                             : NULL;
}

/* Name the first key of a rule that the text gave, or else its first. */
static void blame_rule(const struct examination *e, const struct lb_rule *rule, enum lb_end end,
                       struct lb_error *error) {
  const struct lb_key *key;
  for (size_t i = 0; (key = rests_on(rule, i)); i++)
    if (blame(e, key, end, error))
      return;
  blame(e, rests_on(rule, 0), end, error);
}

/* Try a rule at one end. Returns whether it was broken. */
static bool broken(const struct examination *e, const struct lb_rule *rule, enum lb_end end,
                   struct lb_error *error) {
  if ((rule->of_end && !e->machine->works[end]) || (rule->needs_linkage && !e->linkage_turns))
    return false;
  const struct lb_key *key;
  for (size_t i = 0; (key = rests_on(rule, i)); i++)
    if (is_unknown(e, key, end))
      return false;
  if (rule->test(e->machine, end, error) == LB_OK)
    return false;
  blame_rule(e, rule, end, error);
  return true;
}

static void report(struct examination *e, const struct lb_error *error) {
  e->status = LB_BAD_INPUT;
  lb_errors_add(e->errors, error);
}

/* Report an error of one end; where the key stands for both ends, say which end it is. */
static void report_end(struct examination *e, enum lb_end end, const struct lb_error *error) {
  static const char both[] = "[timing]";
  bool says_both = strncmp(error->key, both, strlen(both)) == 0;
  struct lb_error said = *error;
  if (says_both && e->machine->works[LB_CAP_END] && e->machine->works[LB_ROD_END]) {
    lb_error_set(&said, LB_BAD_INPUT, "at the %s end %s", end == LB_CAP_END ? "cap" : "rod",
                 error->text);
    memcpy(said.key, error->key, sizeof said.key);
    said.line = error->line;
    said.set = error->set;
  }
  report(e, &said);
}

/* Try a rule, at both ends if it is one of ends, and say the same thing only once. */
static void examine_rule(struct examination *e, const struct lb_rule *rule) {
  struct lb_error error[LB_ENDS];
  bool cap = broken(e, rule, LB_CAP_END, &error[LB_CAP_END]);
  bool rod = rule->of_end && broken(e, rule, LB_ROD_END, &error[LB_ROD_END]);
  bool same = cap && rod && strcmp(error[LB_CAP_END].key, error[LB_ROD_END].key) == 0 &&
              strcmp(error[LB_CAP_END].text, error[LB_ROD_END].text) == 0;
  if (same || (cap && !rule->of_end)) {
    report(e, &error[LB_CAP_END]);
    return;
  }
  if (cap)
    report_end(e, LB_CAP_END, &error[LB_CAP_END]);
  if (rod)
    report_end(e, LB_ROD_END, &error[LB_ROD_END]);
}

/* Test the limits of a row at one end; a value beyond them counts as unknown from then on. */
static void examine_limits(struct examination *e, const struct lb_key *key, enum lb_end end) {
  const struct lb_machine *machine = e->machine;
  bool has_limits = key->least < key->most && !key->restates;
  if (!has_limits || is_unknown(e, key, end) || !lb_keys_stated(key, end, machine))
    return;
  double value = lb_keys_value(key, end, machine), ambient = machine->ambient_pressure;
  if (lb_keys_limit(key, value, ambient, "", NULL) == LB_OK)
    return;
  char shown[64];
  struct lb_error error;
  lb_keys_show(shown, sizeof shown, key, end, machine, false);
  lb_keys_limit(key, value, ambient, shown, &error);
  e->unknown[key->of_end ? end : LB_ENDS][lb_keys_index(key)] = true;
  blame(e, key, end, &error);
  report(e, &error);
}

static void examine_row(struct examination *e, const struct lb_key *key) {
  for (int end = 0; end < LB_ENDS; end++)
    if (key->of_end && e->machine->works[end])
      examine_limits(e, key, (enum lb_end)end);
  if (!key->of_end)
    examine_limits(e, key, LB_ENDS);
}

static enum lb_status examine(struct examination *e) {
  e->status = LB_OK;
  for (size_t i = 0; i < lb_keys_count(); i++)
    examine_row(e, lb_keys_get(i));
  const struct lb_linkage *k = &e->machine->linkage;
  struct lb_linkage fresh;
  e->linkage_turns =
      lb_linkage_init(&fresh, k->kind, k->stroke, k->length, k->offset, NULL) == LB_OK;
  for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++)
    examine_rule(e, &rules[i]);
  for (size_t i = 0; i < lb_rules_of_valve.count; i++)
    examine_rule(e, &lb_rules_of_valve.rule[i]);
  for (size_t i = 0; i < lb_rules_of_store.count; i++)
    examine_rule(e, &lb_rules_of_store.rule[i]);
  for (size_t i = 0; i < lb_rules_of_bench.count; i++)
    examine_rule(e, &lb_rules_of_bench.rule[i]);
  return e->status;
}

enum lb_status lb_machine_check(const struct lb_machine *machine, struct lb_errors *errors) {
  struct examination e = {.machine = machine, .errors = errors};
  return examine(&e);
}

enum lb_status lb_machine_check_text(const struct lb_machine *machine, const struct lb_given *given,
                                     const bool unknown[LB_ENDS + 1][LB_KEYS_MOST],
                                     struct lb_errors *errors) {
  struct examination e = {.machine = machine, .given = given, .errors = errors};
  memcpy(e.unknown, unknown, sizeof e.unknown);
  return examine(&e);
}
