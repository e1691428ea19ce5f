/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is unusual about a machine. Each warning says what was found and what to look at; what is
 * merely not ideal is left to the answers, which put a figure on it.
 */
#include "machine/check.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/number.h"
#include "base/plain.h"
#include "base/units.h"
#include "machine/complete.h"
#include "machine/keys.h"

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* Common practice, without a source: shares of the swept volume that dead volumes have. Usual are 5
 * to 20 %; beyond these it is rare. One under the last is rather a wrong unit. */
static const double dead_volume_least = 0.02, dead_volume_most = 0.30; /* [1] */
static const double dead_volume_slip = 0.001;                          /* [1] */

/* Common practice, without a source: stroke and piston rod against the bore. */
static const double stroke_in_bores_least = 0.3, stroke_in_bores_most = 12; /* [1] */
static const double rod_in_bores_least = 0.1, rod_in_bores_most = 0.75;     /* [1] */

/* Common practice, without a source: what a cylinder without a rating is hardly fed with. */
static const double supply_most = 12.001e5; /* [Pa gauge], a little over for 12 bar itself */

/* Common practice, without a source: the shortest connecting rod in strokes; below it the side
 * force on the crosshead grows and clearances get tight. */
static const double rod_in_strokes_least = 1.5; /* [1] */

/* Common practice, without a source: friction takes less than this share of the force. */
static const double friction_most = 0.25; /* [1] */

/* The warnings found so far. */
struct list {
  struct lb_warning *warning; /* warning[LB_WARNINGS_MOST] */
  size_t count;
  const struct lb_machine *machine;
  const struct lb_given *given; /* or NULL */
};

static void warn(struct list *list, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void warn(struct list *list, const char *code, const char *format, ...) {
  if (list->count == LB_WARNINGS_MOST)
    return;
  struct lb_warning *warning = &list->warning[list->count++];
  warning->code = code;
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(warning->text, sizeof warning->text, format, arguments);
  va_end(arguments);
}

enum {
  SHOWN = 128, /* room for a value */
  DIGITS = 4   /* significant ones */
};

/* The value of a key in a unit; text[LB_KEYS_NUMBER] is returned. */
static const char *in_unit(char *text, const struct list *list, const struct lb_key *key,
                           const char *unit) {
  double value = 0, si = lb_keys_value(key, LB_ENDS, list->machine);
  lb_units_write(&value, si, key->quantity, unit, list->machine->ambient_pressure, NULL);
  return lb_keys_number(text, lb_number_round(value, DIGITS));
}

/* The value of a key as the text gives it, else "4.137 bar gauge (60 psig)"; text[SHOWN] is
 * returned. */

static const char *shown(char *text, const struct list *list, const char *section,
                         const char *name) {
  const struct lb_key *key = lb_keys_find(NULL, section, name);
  const struct lb_entry *entry =
      list->given ? list->given->entry[LB_ENDS][lb_keys_index(key)] : NULL;
  if (entry)
    return lb_plain_shown(text, entry->value, strlen(entry->value));
  char metric[LB_KEYS_NUMBER], inch[LB_KEYS_NUMBER];
  lb_format(text, SHOWN, "%s %s (%s %s)", in_unit(metric, list, key, key->unit), key->unit,
            in_unit(inch, list, key, key->inch_unit), key->inch_unit);
  return text;
}

/* Whether the text gives a key; true also for a machine that does not come from a text. */
static bool said(const struct list *list, const char *section, const char *name) {
  return !list->given ||
         list->given->entry[LB_ENDS][lb_keys_index(lb_keys_find(NULL, section, name))];
}

static void warn_supply(struct list *list) {
  const struct lb_machine *machine = list->machine;
  char supply[SHOWN], other[SHOWN];
  shown(supply, list, "supply", "pressure");
  if (machine->rated_pressure != 0 && machine->supply_pressure > machine->rated_pressure)
    warn(list, "above_rated_pressure",
         "the supply of %s is above the cylinder's rated pressure of %s; lower one or check the "
         "other",
         supply, shown(other, list, "cylinder", "rated pressure"));
  if (machine->supply_pressure - machine->ambient_pressure > supply_most &&
      machine->rated_pressure < machine->supply_pressure)
    warn(list, "supply_high",
         "a supply of %s is high for a cylinder: is this the tank? give the pressure at the inlet "
         "valve, behind the regulator, or a rated pressure that covers it",
         supply);
  if (machine->supply_pressure <= machine->back_pressure)
    warn(list, "supply_not_above_back_pressure",
         "the supply of %s is not above the back pressure of %s, so there is no work to be had; "
         "check both",
         supply, shown(other, list, "exhaust", "back pressure"));
  else if (machine->supply_pressure < machine->ambient_pressure)
    warn(list, "supply_below_surroundings",
         "the supply of %s is below the surroundings; check that it is meant as gauge, unless "
         "this is a vacuum machine",
         supply);
}

static void warn_dead_volume(struct list *list, enum lb_end end) {
  const struct lb_machine *machine = list->machine;
  double share =
      machine->dead_volume[end] / (lb_machine_area(machine, end) * machine->linkage.stroke);
  bool small = share < dead_volume_least;
  if (!machine->works[end] || machine->dead_volume_unknown[end] ||
      (!small && share <= dead_volume_most))
    return;
  char percent[LB_KEYS_NUMBER];
  const char *advice = share > 0 && share < dead_volume_slip ? "check its unit"
                       : small ? "check that port and tube up to the valve are in it"
                               : "check its unit and the tubes";
  lb_number_write(percent, share * 100, 2);
  warn(list, small ? "dead_volume_small" : "dead_volume_large",
       "the dead volume of the %s end is %s %% of the volume its piston sweeps, where 5 to 20 %% "
       "is usual and %s rare; %s",
       end == LB_CAP_END ? "cap" : "rod", percent, small ? "under 2 %" : "over 30 %", advice);
}

/* Stroke and piston rod against the bore: a slip of the unit, or a radius for a diameter. */
static void warn_bore(struct list *list) {
  const struct lb_machine *machine = list->machine;
  double stroke = machine->linkage.stroke / machine->bore;
  double rod = machine->rod_diameter / machine->bore;
  bool has_rod = machine->works[LB_ROD_END] && rod > 0;
  char one[SHOWN], bore[SHOWN];
  shown(bore, list, "cylinder", "bore");
  if (stroke < stroke_in_bores_least || stroke > stroke_in_bores_most)
    warn(list, "stroke_to_bore",
         "a stroke of %s with a bore of %s is %.2g times the bore, where 0.3 to 12 is usual; check "
         "the unit of both, and that the bore is a diameter",
         shown(one, list, "cylinder", "stroke"), bore, stroke);
  if (has_rod && (rod < rod_in_bores_least || rod > rod_in_bores_most))
    warn(list, "rod_to_bore",
         "a piston rod of %s with a bore of %s is %.2g times the bore, where 0.1 to 0.75 is usual; "
         "check the unit of both, and that both are diameters, not radii",
         shown(one, list, "cylinder", "piston rod"), bore, rod);
}

/* A store that could not give the supply; whoever asks what a higher supply would do is not in the
 * wrong, so that only lastbar rundown refuses it. */
static void warn_store(struct list *list) {
  const struct lb_machine *machine = list->machine;
  char start[SHOWN], supply[SHOWN];
  if (machine->store.given && machine->store.start_pressure <= machine->supply_pressure)
    warn(list, "store_below_supply",
         "the store starts with %s, not above the supply of %s that it is to give; fill it higher, "
         "or lower the supply",
         shown(start, list, "store", "start pressure"), shown(supply, list, "supply", "pressure"));
}

/* A regulator that lets more through than the cylinder is rated for. */
static void warn_regulator(struct list *list) {
  const struct lb_machine *machine = list->machine;
  char set[SHOWN], rated[SHOWN];
  if (machine->regulator.given && machine->rated_pressure != 0 &&
      machine->regulator.set_pressure > machine->rated_pressure &&
      machine->regulator.set_pressure != machine->supply_pressure)
    warn(list, "above_rated_pressure",
         "the regulator's set pressure of %s is above the cylinder's rated pressure of %s; lower "
         "one or check the other",
         shown(set, list, "regulator", "set pressure"),
         shown(rated, list, "cylinder", "rated pressure"));
}

/* A dead volume that is assumed: how much, and how to find out. */
static void warn_unknown(struct list *list) {
  const struct lb_machine *machine = list->machine;
  char volume[80] = "";
  size_t used = 0;
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end] && machine->dead_volume_unknown[end])
      used += (size_t)lb_format(
          volume + used, sizeof volume - used, "%s%.3g cm3 at the %s end", used ? ", " : "",
          (machine->dead_volume[end] - machine->tube_volume) / LB_CUBIC_CENTIMETRE,
          end == LB_CAP_END ? "cap" : "rod");
  if (used > 0)
    warn(list, "dead_volume_unknown",
         "the dead volume is not known and is taken as 10 %% of the swept volume (%s); bring the "
         "crank to dead centre, fill from the port with oil from a syringe up to the valve, and "
         "read how much goes in",
         volume);
}

static void warn_rod(struct list *list) {
  const struct lb_linkage *linkage = &list->machine->linkage;
  if (linkage->kind != LB_CONNECTING_ROD ||
      linkage->length >= rod_in_strokes_least * linkage->stroke)
    return;
  char rod[SHOWN], stroke[SHOWN];
  warn(list, "connecting_rod_short",
       "a connecting rod of %s is short for a stroke of %s; check that it is measured between the "
       "pins",
       shown(rod, list, "linkage", "connecting rod"), shown(stroke, list, "cylinder", "stroke"));
}

/* Friction against the mean force of the working faces at full supply pressure, over a revolution:
 * the faces give pressure times area once, the friction acts on both strokes. */
static void warn_friction(struct list *list) {
  const struct lb_machine *machine = list->machine;
  if (!said(list, "cylinder", "friction") && !said(list, "cylinder", "runs light at") &&
      !said(list, "cylinder", "friction share"))
    warn(list, "no_friction",
         "no friction is given, and it is taken as 0; with friction the economical cut-off comes "
         "later, see: lastbar help 'runs light at'");
  double area = lb_machine_swept_volume(machine) / (machine->cylinders * machine->linkage.stroke);
  double force = (machine->supply_pressure - machine->back_pressure) * area / 2;
  double share = machine->friction_share + machine->friction / force;
  if (force > 0 && share > friction_most) {
    char percent[LB_KEYS_NUMBER];
    warn(list, "friction_large",
         "friction takes %s %% of the force that the supply gives without expansion, where up to "
         "25 %% is usual; check how it was measured",
         lb_keys_number(percent, round(share * 100)));
  }
  if (machine->breakaway_friction < machine->friction)
    warn(list, "breakaway_below_friction",
         "the breakaway friction is below the friction in motion; check whether they are "
         "exchanged");
}

/* A valve's window between two events against its ramps, where they are angles. */
static void warn_window(struct list *list, enum lb_end end, const char *valve, double window) {
  double ramp = list->machine->timing[end].opening_ramp;
  char open[LB_KEYS_NUMBER], one[LB_KEYS_NUMBER];
  if (window < 2 * ramp * (1 - DBL_EPSILON))
    warn(list, "window_short",
         "the %s of the %s end is open for %s deg, less than its two ramps of %s deg, so that it "
         "never opens fully at speed; shorten 'opening ramp' or let it be open for longer",
         valve, end == LB_CAP_END ? "cap" : "rod",
         lb_keys_number(open, lb_number_round(window / LB_DEGREE, DIGITS)),
         lb_keys_number(one, lb_number_round(ramp / LB_DEGREE, DIGITS)));
}

static void warn_windows(struct list *list, enum lb_end end) {
  const struct lb_timing *timing = &list->machine->timing[end];
  if (!list->machine->works[end])
    return;
  if (timing->cutoff_given)
    warn_window(list, end, "inlet", timing->cutoff - timing->inlet_opens);
  warn_window(list, end, "exhaust", timing->exhaust_closes - timing->release);
}

static const char *const valve_section[LB_VALVES] = {"inlet valve", "exhaust valve"};

/* A supply that does not move the pilot of a valve. */
static void warn_pilot(struct list *list, enum lb_valve valve) {
  const struct lb_machine *machine = list->machine;
  double least = machine->valve_size[valve].pilot_least_pressure;
  char supply[SHOWN], needed[SHOWN];
  if (machine->supply_pressure < least)
    warn(list, "pilot",
         "the supply of %s is below the %s that the pilot of the %s needs, so that it does not "
         "switch; raise the supply or feed the pilot from elsewhere",
         shown(supply, list, "supply", "pressure"),
         shown(needed, list, valve_section[valve], "pilot least pressure"), valve_section[valve]);
}

/* The law of a valve whose size is not given. */
static void warn_no_size(struct list *list, enum lb_valve valve) {
  static const char *const name[] = {"critical ratio", "subsonic index"};
  if (!list->given || lb_valve_flow(&list->machine->valve_size[valve]).conductance > 0)
    return;
  for (size_t i = 0; i < sizeof name / sizeof name[0]; i++)
    if (said(list, valve_section[valve], name[i]))
      warn(list, "no_effect", "[%s] %s has no effect, as the size of the valve is not given",
           valve_section[valve], name[i]);
}

static void warn_valve(struct list *list, enum lb_valve valve) {
  warn_pilot(list, valve);
  warn_no_size(list, valve);
}

/* Whether a key that the slow cycle leaves out is used by nothing, but would change a calculation
 * at speed; a limit would not. What has a section for the bench is used by sheets and tables, and
 * so is the ramp by the sheet of a cam. */
static bool matters_at_speed(const struct lb_machine *machine, const struct lb_key *key) {
  bool limit = key->offset == offsetof(struct lb_machine, piston_speed_limit);
  bool of_section = key->when == LB_WHEN_SECTION || key->when == LB_WHEN_ORIFICE;
  if (!key->only_at_speed || limit || of_section ||
      (key->kind == LB_KEY_RAMP && machine->cam.given))
    return false;
  if (!key->of_end)
    return fabs(lb_keys_value(key, LB_ENDS, machine)) > 0;
  for (int end = 0; end < LB_ENDS; end++) {
    bool ramp_time = key->kind == LB_KEY_RAMP && machine->timing[end].opening_ramp_time > 0;
    if (machine->works[end] && (ramp_time || lb_keys_value(key, (enum lb_end)end, machine) > 0))
      return true;
  }
  return false;
}

static void warn_only_at_speed(struct list *list) {
  char names[200] = "";
  size_t used = 0;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (!matters_at_speed(list->machine, key) || used >= sizeof names)
      continue;
    used +=
        (size_t)lb_format(names + used, sizeof names - used, "%s%s", used ? ", " : "", key->name);
  }
  if (used > 0)
    warn(list, "only_at_speed", "not used in the slow cycle: %s", names);
}

/* A key of timing that no working end follows, or, when it was set to change them, not all. */
static void warn_no_effect(struct list *list, const struct lb_key *key, enum lb_end section) {
  const struct lb_entry *entry = list->given->entry[section][lb_keys_index(key)];
  if (!entry)
    return;
  int followers = 0, workers = 0;
  for (int end = 0; end < LB_ENDS; end++) {
    bool works = list->machine->works[end];
    workers += works;
    followers += works && lb_keys_deciding(list->given, key, (enum lb_end)end) == section;
  }
  const char *title = lb_keys_section(key, section);
  if (followers == 0 && section == LB_ENDS)
    warn(list, "no_effect", "[%s] %s has no effect, as each working end has its own", title,
         key->name);
  else if (followers == 0)
    warn(list, "no_effect", "[%s] %s has no effect, as that end does not work", title, key->name);
  else if (section == LB_ENDS && entry->set > 0 && followers < workers)
    warn(list, "no_effect", "[%s] %s was set for one end only, as the other has its own", title,
         key->name);
}

/* A dead volume of an end that does not work. */
static void warn_idle_dead_volume(struct list *list, const struct lb_key *key) {
  enum lb_end end = key->when == LB_WHEN_CAP_END ? LB_CAP_END : LB_ROD_END;
  if (key->may_be_unknown && list->given->entry[LB_ENDS][lb_keys_index(key)] &&
      !list->machine->works[end])
    warn(list, "no_effect", "[%s] %s has no effect, as that end does not work", key->section,
         key->name);
}

/* A speed at which delays are made up for that nobody gave. */
static void warn_no_delays(struct list *list) {
  const struct lb_machine *machine = list->machine;
  double delays = 0;
  for (int valve = 0; valve < LB_VALVES; valve++)
    delays += machine->valve_delay[valve].on + machine->valve_delay[valve].off;
  if (machine->switch_disc.given && machine->switch_disc.compensated_speed > 0 && delays == 0)
    warn(list, "no_delays",
         "[switch disc] compensated speed has no effect, as no valve has a delay; give those of "
         "[inlet valve] and [exhaust valve], or leave it out");
}

size_t lb_machine_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                           const struct lb_given *given) {
  struct list list = {.warning = warning, .machine = machine, .given = given};
  warn_supply(&list);
  warn_store(&list);
  warn_regulator(&list);
  warn_dead_volume(&list, LB_CAP_END);
  warn_dead_volume(&list, LB_ROD_END);
  warn_unknown(&list);
  warn_bore(&list);
  warn_rod(&list);
  warn_friction(&list);
  warn_windows(&list, LB_CAP_END);
  warn_windows(&list, LB_ROD_END);
  for (int valve = 0; valve < LB_VALVES; valve++)
    warn_valve(&list, (enum lb_valve)valve);
  warn_no_delays(&list);
  for (size_t i = 0; given && i < lb_keys_count(); i++) {
    warn_idle_dead_volume(&list, lb_keys_get(i));
    for (int section = 0; lb_keys_get(i)->of_end && section <= LB_ENDS; section++)
      warn_no_effect(&list, lb_keys_get(i), (enum lb_end)section);
  }
  warn_only_at_speed(&list);
  return list.count;
}
