/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether what is stated of store, regulator and load belongs together.
 */
#include "machine/check_rules.h"

#include "machine/keys.h"

#include <stddef.h>

enum {
  SHOWN = 96 /* room for a pressure */
};

/* A pressure of a key in its usual unit, "9 bar gauge"; text[SHOWN] is returned. */
static const char *shown(char *text, const struct lb_machine *machine, const char *section,
                         const char *name) {
  lb_keys_show(text, SHOWN, lb_keys_find(NULL, section, name), LB_ENDS, machine, false);
  return text;
}

static enum lb_status test_start(const struct lb_machine *machine, enum lb_end end,
                                 struct lb_error *error) {
  (void)end;
  if (!machine->store.given || machine->store.start_pressure > 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a volume does not say how full the store is; give the 'start pressure' as "
                      "well, e.g. 'start pressure = 9 bar gauge'");
}

/* A store that is rated holds something. */
static enum lb_status test_volume(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  const struct lb_store *store = &machine->store;
  (void)end;
  if (!store->given || store->volume > 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the store has no room for air; give its 'volume', or its rating");
}

static enum lb_status test_marked(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  char start[SHOWN], marked[SHOWN];
  const struct lb_store *store = &machine->store;
  (void)end;
  if (!store->given || store->marked_pressure == 0 ||
      store->start_pressure <= store->marked_pressure)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the store starts with %s, above the %s it is marked for; fill it to no more "
                      "than that, or read the mark again",
                      shown(start, machine, "store", "start pressure"),
                      shown(marked, machine, "store", "marked pressure"));
}

static enum lb_status test_lowest(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  char start[SHOWN], lowest[SHOWN];
  const struct lb_store *store = &machine->store;
  (void)end;
  if (!store->given || store->start_pressure == 0 || store->lowest_pressure < store->start_pressure)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the run would be broken off at %s, and the store starts with %s; let it end "
                      "below its start",
                      shown(lowest, machine, "store", "lowest pressure"),
                      shown(start, machine, "store", "start pressure"));
}

/* A regulator only reduces; one set to the supply's pressure is judged with that. */
static enum lb_status test_set(const struct lb_machine *machine, enum lb_end end,
                               struct lb_error *error) {
  char start[SHOWN], set[SHOWN];
  const struct lb_store *store = &machine->store;
  const struct lb_regulator *regulator = &machine->regulator;
  (void)end;
  if (!store->given || !regulator->given || store->start_pressure == 0 ||
      regulator->set_pressure <= store->start_pressure ||
      regulator->set_pressure <= machine->supply_pressure)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "the regulator is set to %s, above the %s of the store that it reduces; set "
                      "it lower, or fill the store higher",
                      shown(set, machine, "regulator", "set pressure"),
                      shown(start, machine, "store", "start pressure"));
}

/* What a program has set up, too: the texts of both are refused as they are read. */
static enum lb_status test_load(const struct lb_machine *machine, enum lb_end end,
                                struct lb_error *error) {
  const struct lb_load *load = &machine->load;
  (void)end;
  if (load->mass > 0 && (load->torque_per_speed > 0 || load->torque_per_speed_squared > 0))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the load is stated twice, by a torque that comes with speed and by the "
                        "mass of a vehicle; keep one of the two");
  if (load->mass > 0 && !(load->wheel_diameter > 0))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a vehicle of %g kg has no wheel; give its 'wheel diameter'", load->mass);
  return LB_OK;
}

static const struct lb_rule rules[] = {
    {test_volume, .rests = {{"store", "volume"}, {"store", "rating"}}},
    {test_start, .rests = {{"store", "start pressure"}, {"store", "volume"}}},
    {test_marked,
     .rests = {{"store", "start pressure"}, {"store", "rating"}, {"store", "marked pressure"}}},
    {test_lowest, .rests = {{"store", "lowest pressure"}, {"store", "start pressure"}}},
    {test_set, .rests = {{"regulator", "set pressure"}, {"store", "start pressure"}}},
    {test_load, .rests = {{"load", "mass"},
                          {"load", "torque per speed"},
                          {"load", "torque per speed squared"},
                          {"load", "wheel diameter"}}},
};

const struct lb_rules lb_rules_of_store = {rules, sizeof rules / sizeof rules[0]};
