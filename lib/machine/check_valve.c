/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether what is stated of valves, tube and supply line belongs together.
 */
#include "machine/check_rules.h"

#include "machine/keys.h"
#include "physics/conductance.h"

/* A way to state the size of a valve, and whether it was used. */
struct way {
  const char *name;
  double value;
};

enum {
  WAYS = 6
};

static enum lb_status test_size(const struct lb_valve_size *size, struct lb_error *error) {
  const struct way way[WAYS] = {
      {"conductance", size->conductance},
      {"kv", size->kv},
      {"cv", size->cv},
      {"effective area", size->effective_area},
      {"orifice", size->orifice},
      {"nominal flow", size->nominal_flow},
  };
  const struct way *used = NULL;
  for (size_t i = 0; i < WAYS; i++) {
    if (way[i].value == 0)
      continue;
    if (used)
      return lb_error_set(error, LB_BAD_INPUT,
                          "the size of the valve is stated twice, by '%s' and by '%s'; keep one of "
                          "the two",
                          used->name, way[i].name);
    used = &way[i];
  }
  return LB_OK;
}

static enum lb_status test_inlet_size(const struct lb_machine *machine, enum lb_end end,
                                      struct lb_error *error) {
  (void)end;
  return test_size(&machine->valve_size[LB_INLET_VALVE], error);
}

static enum lb_status test_exhaust_size(const struct lb_machine *machine, enum lb_end end,
                                        struct lb_error *error) {
  (void)end;
  return test_size(&machine->valve_size[LB_EXHAUST_VALVE], error);
}

static enum lb_status test_coefficient(const struct lb_valve_size *size, struct lb_error *error) {
  if (size->discharge_coefficient == 0 || size->orifice > 0)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a discharge coefficient is a share of an orifice, and there is none; give "
                      "'orifice' as well, or leave the coefficient out");
}

static enum lb_status test_inlet_coefficient(const struct lb_machine *machine, enum lb_end end,
                                             struct lb_error *error) {
  (void)end;
  return test_coefficient(&machine->valve_size[LB_INLET_VALVE], error);
}

static enum lb_status test_exhaust_coefficient(const struct lb_machine *machine, enum lb_end end,
                                               struct lb_error *error) {
  (void)end;
  return test_coefficient(&machine->valve_size[LB_EXHAUST_VALVE], error);
}

/* What lies in series is brought together for the usual index alone.
 * own  what the tube serves when it is this valve's */
static enum lb_status test_index(const struct lb_machine *machine, enum lb_valve valve,
                                 enum lb_tube_serves own, struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_tubing *tube = &machine->tube;
  double index = machine->valve_size[valve].subsonic_index;
  bool in_series = tube->given && (tube->serves == own || tube->serves == LB_TUBE_BOTH);
  if (!in_series || index == LB_CONDUCTANCE_INDEX)
    return LB_OK;
  return lb_error_set(
      error, LB_BAD_INPUT,
      "a subsonic index of %s cannot be taken together with a tube in series; leave "
      "it out, which makes it %s, or leave out [tube]",
      lb_keys_number(a, index), lb_keys_number(b, LB_CONDUCTANCE_INDEX));
}

static enum lb_status test_inlet_index(const struct lb_machine *machine, enum lb_end end,
                                       struct lb_error *error) {
  (void)end;
  return test_index(machine, LB_INLET_VALVE, LB_TUBE_INLET, error);
}

static enum lb_status test_exhaust_index(const struct lb_machine *machine, enum lb_end end,
                                         struct lb_error *error) {
  (void)end;
  return test_index(machine, LB_EXHAUST_VALVE, LB_TUBE_EXHAUST, error);
}

/* A supply droops behind a line because a receiver holds little. */
static enum lb_status test_supply_line(const struct lb_machine *machine, enum lb_end end,
                                       struct lb_error *error) {
  bool line = machine->supply_line.conductance > 0, receiver = machine->receiver_volume > 0;
  (void)end;
  if (line == receiver)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a supply that droops needs both 'line conductance' and 'receiver volume', "
                      "and there is no '%s'; give it as well, or leave out both",
                      line ? "receiver volume" : "line conductance");
}

static const struct lb_rule rules[] = {
    {test_inlet_size, .rests = {{"inlet valve", "conductance"},
                                {"inlet valve", "kv"},
                                {"inlet valve", "cv"},
                                {"inlet valve", "effective area"},
                                {"inlet valve", "orifice"},
                                {"inlet valve", "nominal flow"}}},
    {test_exhaust_size, .rests = {{"exhaust valve", "conductance"},
                                  {"exhaust valve", "kv"},
                                  {"exhaust valve", "cv"},
                                  {"exhaust valve", "effective area"},
                                  {"exhaust valve", "orifice"},
                                  {"exhaust valve", "nominal flow"}}},
    {test_inlet_coefficient,
     .rests = {{"inlet valve", "discharge coefficient"}, {"inlet valve", "orifice"}}},
    {test_exhaust_coefficient,
     .rests = {{"exhaust valve", "discharge coefficient"}, {"exhaust valve", "orifice"}}},
    {test_inlet_index,
     .rests = {{"inlet valve", "subsonic index"}, {"tube", "serves"}, {"tube", "bore"}}},
    {test_exhaust_index,
     .rests = {{"exhaust valve", "subsonic index"}, {"tube", "serves"}, {"tube", "bore"}}},
    {test_supply_line, .rests = {{"supply", "line conductance"}, {"supply", "receiver volume"}}},
};

const struct lb_rules lb_rules_of_valve = {rules, sizeof rules / sizeof rules[0]};
