/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The balance of the air in a store. Energy m du = p v dm + Q dt and, of any gas,
 * du = cv dT + (T (dp/dT)_v - p) dv with dv = -v dm/m make the equation of the header: all that is
 * said about cooling and heat below is that one equation with one of its terms 0.
 */
#include "duty/tank.h"

#include "base/constants.h"

#include <math.h>

/* Common practice, without a source, for a leak whose shape nobody knows. */
static const double leak_critical_ratio = 0.5, leak_index = 0.5; /* [1] */

enum lb_status lb_tank_prepare(struct lb_tank *tank, const struct lb_machine *machine,
                               const struct lb_real_air *air, struct lb_error *error) {
  const struct lb_store *store = &machine->store;
  struct lb_tank found = {.machine = machine, .air = air};
  struct lb_real_state start;
  enum lb_status status = lb_real_air_state(&found.surroundings, air, machine->ambient_pressure,
                                            machine->ambient_temperature, error);
  if (status == LB_OK)
    status = lb_real_air_state(&start, air, store->start_pressure, store->temperature, error);
  if (status != LB_OK)
    return status;
  found.start_mass = start.density * store->volume;
  if (store->heat == LB_STORE_TIME_CONSTANT)
    found.heat_per_kelvin = found.start_mass * start.isochoric_heat / store->time_constant;
  *tank = found;
  return LB_OK;
}

enum lb_status lb_tank_at(struct lb_tank_state *state, const struct lb_tank *tank, double mass,
                          double temperature, struct lb_error *error) {
  struct lb_tank_state found = {
      .mass = mass, .temperature = temperature, .pressure = state->pressure};
  enum lb_status status = lb_real_air_pressure(
      &found.pressure, tank->air, mass / tank->machine->store.volume, temperature, error);
  if (status == LB_OK)
    status = lb_real_air_state(&found.gas, tank->air, found.pressure, temperature, error);
  if (status == LB_OK)
    *state = found;
  return status;
}

double lb_tank_leak(const struct lb_tank *tank, const struct lb_tank_state *state) {
  const struct lb_machine *machine = tank->machine;
  struct lb_flow leak = {machine->store.leakage, leak_critical_ratio, leak_index};
  if (state->pressure <= machine->ambient_pressure)
    return 0;
  return lb_flow_mass(&leak, state->pressure, state->temperature, machine->ambient_pressure);
}

double lb_tank_heat(const struct lb_tank *tank, const struct lb_tank_state *state) {
  return tank->heat_per_kelvin * (tank->machine->store.temperature - state->temperature);
}

/* T (dp/dT)_v v [J/kg]: what a kilogram that leaves takes out of the warmth of the others. */
static double taken(const struct lb_tank_state *state) {
  return state->temperature * state->gas.pressure_coefficient / state->gas.density;
}

double lb_tank_cooling(const struct lb_tank *tank, const struct lb_tank_state *state, double rate) {
  double heat = lb_tank_heat_per_kg(tank, state, rate); /* all that is taken: isothermal, 0 */
  return (taken(state) - heat) / (state->mass * state->gas.isochoric_heat);
}

double lb_tank_heat_per_kg(const struct lb_tank *tank, const struct lb_tank_state *state,
                           double rate) {
  switch (tank->machine->store.heat) {
  case LB_STORE_ISOTHERMAL:
    return taken(state);
  case LB_STORE_TIME_CONSTANT:
    return lb_tank_heat(tank, state) / rate;
  case LB_STORE_ADIABATIC:
    break;
  }
  return 0;
}

double lb_tank_worth(const struct lb_tank *tank, const struct lb_tank_state *state) {
  const struct lb_machine *machine = tank->machine;
  const struct lb_real_state *gas = &state->gas, *dead = &tank->surroundings;
  double energy = gas->enthalpy - state->pressure / gas->density; /* u [J/kg] */
  double dead_energy = dead->enthalpy - machine->ambient_pressure / dead->density;
  return state->mass * (energy - dead_energy +
                        machine->ambient_pressure * (1 / gas->density - 1 / dead->density) -
                        machine->ambient_temperature * (gas->entropy - dead->entropy));
}

double lb_tank_flow_worth(const struct lb_tank *tank, const struct lb_real_state *gas) {
  return gas->enthalpy - tank->surroundings.enthalpy -
         tank->machine->ambient_temperature * (gas->entropy - tank->surroundings.entropy);
}

enum lb_status lb_tank_warmed(double *pressure, const struct lb_tank *tank,
                              const struct lb_tank_state *state, struct lb_error *error) {
  double found = state->pressure;
  enum lb_status status =
      lb_real_air_pressure(&found, tank->air, state->mass / tank->machine->store.volume,
                           tank->machine->ambient_temperature, error);
  if (status == LB_OK)
    *pressure = found;
  return status;
}

/* Worth of a flowing kilogram as ideal gas [J/kg]: cp (T - T_a) - T_a (cp ln T/T_a - R ln p/p_a).
 */
static double ideal_worth(const struct lb_machine *machine, double pressure, double temperature) {
  double ambient = machine->ambient_temperature;
  return LB_CP * (temperature - ambient) -
         ambient * (LB_CP * log(temperature / ambient) -
                    LB_GAS_CONSTANT * log(pressure / machine->ambient_pressure));
}

/* The pressure behind the regulator, or the store's without one [Pa absolute]. */
double lb_tank_outlet_pressure(const struct lb_tank *tank, const struct lb_tank_state *state,
                               double set_pressure, double flow) {
  const struct lb_regulator *regulator = &tank->machine->regulator;
  if (set_pressure == 0)
    return state->pressure;
  return fmin(set_pressure, state->pressure - regulator->least_difference) -
         regulator->droop * flow / LB_DENSITY_ANR;
}

/* Behind the regulator: the temperature there, and the worth lost on the way. */
static enum lb_status throttle(struct lb_outlet *outlet, struct lb_real_state *gas,
                               const struct lb_tank *tank, const struct lb_tank_state *state,
                               struct lb_error *error) {
  enum lb_status status = lb_real_air_throttled(&outlet->throttled, tank->air, state->pressure,
                                                state->temperature, outlet->pressure, error);
  if (status == LB_OK)
    status = lb_real_air_state(gas, tank->air, outlet->pressure, outlet->throttled, error);
  if (status == LB_OK)
    outlet->regulator = tank->machine->ambient_temperature * (gas->entropy - state->gas.entropy);
  return status;
}

enum lb_status lb_tank_outlet(struct lb_outlet *outlet, const struct lb_tank *tank,
                              const struct lb_tank_state *state, double set_pressure, double flow,
                              struct lb_error *error) {
  const struct lb_machine *machine = tank->machine;
  struct lb_outlet found = {.pressure = lb_tank_outlet_pressure(tank, state, set_pressure, flow),
                            .throttled = state->temperature};
  struct lb_real_state behind = state->gas, at_valve;
  enum lb_status status = LB_OK;
  if (!(found.pressure > 0))
    return lb_error_set(error, LB_NO_ANSWER,
                        "the regulator lets nothing through at %.4g bar absolute in the store: its "
                        "least difference and droop take all of it; lower them, or the flow",
                        state->pressure / LB_BAR);
  if (set_pressure > 0)
    status = throttle(&found, &behind, tank, state, error);
  at_valve = behind;
  found.temperature = found.throttled;
  if (status == LB_OK && machine->supply_temperature_given) {
    found.temperature = machine->supply_temperature;
    status = lb_real_air_state(&at_valve, tank->air, found.pressure, found.temperature, error);
  }
  if (status != LB_OK)
    return status;
  double worth = lb_tank_flow_worth(tank, &at_valve);
  found.pipe = lb_tank_flow_worth(tank, &behind) - worth;
  found.ideal = worth - ideal_worth(machine, found.pressure, found.temperature);
  *outlet = found;
  return LB_OK;
}
