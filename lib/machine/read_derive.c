/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What follows from other values of a text: the defaults that are not always the same.
 */
#include "machine/read_parts.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/number.h"

#include <math.h>

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
static void space_cranks(struct lb_reading *r) {
  struct lb_machine *machine = &r->machine;
  if (!lb_reading_knows(r, "machine", "cylinders") ||
      !lb_reading_knows(r, "machine", "crank angles"))
    return;
  const struct lb_key *key = lb_keys_find(NULL, "machine", "crank angles");
  const struct lb_entry *entry = lb_reading_entry(r, key, LB_ENDS);
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
  *lb_reading_unknown(r, key, LB_ENDS) = true;
  lb_reading_blame(r, &error, entry);
}

/* What is not known of the dead volumes is taken as usual, if the cylinder it is a share of is
 * known. */
static void assume_dead_volumes(struct lb_reading *r) {
  static const char *const sizes[] = {"bore", "stroke", "piston rod", "through rod"};
  static const char *const name[] = {"dead volume cap end", "dead volume rod end"};
  lb_machine_assume_dead_volume(&r->machine, LB_DEAD_VOLUME_USUAL);
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
    for (int end = 0; end < LB_ENDS; end++)
      if (r->machine.dead_volume_unknown[end] && !lb_reading_knows(r, "cylinder", sizes[i]))
        lb_reading_forget(r, "cylinder", name[end]);
}

/* Shut the exhaust at dead centre where nothing else is said, or where the inlet opens. */
static void close_exhaust(struct lb_reading *r) {
  const struct lb_key *key = lb_keys_find(NULL, "timing", "exhaust closes");
  for (int end = 0; end < LB_ENDS; end++) {
    struct lb_timing *timing = &r->machine.timing[end];
    if (!lb_reading_entry(r, key, lb_keys_deciding(&r->given, key, (enum lb_end)end)))
      timing->exhaust_closes = 2 * LB_PI + fmin(timing->inlet_opens, 0);
  }
}

/* Lay the tracks of a switch disc side by side from its edge inwards where nothing else is said.
 * What would then lie beyond the centre is left to the rule that tracks fit on their disc. */
static void lay_tracks(struct lb_reading *r) {
  static const char section[] = "switch disc";
  const double apart = 2e-3; /* [m] common practice, no source */
  struct lb_switch_disc *disc = &r->machine.switch_disc;
  bool width_known = lb_reading_knows(r, section, "track width");
  bool both_known = width_known && lb_reading_knows(r, section, "outer diameter");
  if (!disc->given)
    return;
  if (!lb_reading_gives(r, section, "track spacing")) {
    disc->track_spacing = disc->track_width + apart;
    if (!width_known)
      lb_reading_forget(r, section, "track spacing");
  }
  if (!lb_reading_gives(r, section, "track radius")) {
    double least = lb_keys_find(NULL, section, "track radius")->least;
    disc->track_radius = fmax(disc->outer_diameter / 2 - disc->track_width, least);
    if (!both_known)
      lb_reading_forget(r, section, "track radius");
  }
}

/* What is not said of the store follows from its rating and its surroundings; what the rating was
 * to say is not known where that could not be read. */
static void fill_store(struct lb_reading *r) {
  static const char section[] = "store";
  struct lb_store *store = &r->machine.store;
  bool starts = lb_reading_gives(r, section, "start pressure");
  if (!lb_reading_knows(r, section, "rating")) {
    lb_reading_forget(r, section, "volume");
    if (!starts)
      lb_reading_forget(r, section, "start pressure");
  }
  if (!store->given)
    return;
  if (!starts)
    store->start_pressure = store->rating_pressure;
  if (!lb_reading_gives(r, section, "temperature"))
    store->temperature = r->machine.ambient_temperature;
}

/* A regulator holds the pressure of the supply where nothing else is said; its header alone says
 * that there is one. */
static void set_regulator(struct lb_reading *r) {
  int line;
  struct lb_regulator *regulator = &r->machine.regulator;
  regulator->given = lb_reading_stands(r, "regulator", &line);
  if (!regulator->given || lb_reading_gives(r, "regulator", "set pressure"))
    return;
  regulator->set_pressure = r->machine.supply_pressure;
  if (!lb_reading_knows(r, "supply", "pressure"))
    lb_reading_forget(r, "regulator", "set pressure");
}

/* Fill in what follows from other values. */
void lb_reading_derive(struct lb_reading *r) {
  struct lb_machine *machine = &r->machine;
  if (!lb_reading_gives(r, "exhaust", "back pressure"))
    machine->back_pressure = machine->ambient_pressure;
  if (!lb_reading_gives(r, "supply", "temperature"))
    machine->supply_temperature = machine->ambient_temperature;
  if (!lb_reading_gives(r, "air", "compression"))
    machine->compression_exponent = machine->expansion_exponent;
  /* A friction that is negative or no number comes from areas that are refused themselves. */
  if (!(machine->friction >= 0)) {
    lb_reading_forget(r, "cylinder", "friction");
    machine->friction = 0;
  }
  if (!lb_reading_gives(r, "cylinder", "breakaway friction"))
    machine->breakaway_friction = machine->friction;
  assume_dead_volumes(r);
  close_exhaust(r);
  space_cranks(r);
  lay_tracks(r);
  fill_store(r);
  set_regulator(r);
}
