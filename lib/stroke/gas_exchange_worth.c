/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the worth of the air goes at speed, from the entropy that each cause makes: a stream that
 * is throttled from p_1 to p_2 makes m R ln(p_1/p_2), one that mixes from T_1 with air of T makes
 * m c_p [ln(T/T_1) + T_1/T - 1], heat q from a wall of T_a makes q (1/T - 1/T_a).
 */
#include "base/constants.h"
#include "stroke/gas_exchange_parts.h"

#include <math.h>
#include <string.h>

/* Exergy of air [J/kg] against the surroundings. */
static double exergy(const struct lb_machine *machine, double pressure, double temperature) {
  double ambient = machine->ambient_temperature;
  return LB_CP * (temperature - ambient) -
         ambient * (LB_CP * log(temperature / ambient) -
                    LB_GAS_CONSTANT * log(pressure / machine->ambient_pressure));
}

/* What is destroyed [W] as a stream of a temperature mixes with air of another. */
static double mixed(const struct lb_machine *machine, double mass, double from, double into) {
  return machine->ambient_temperature * mass * LB_CP * (log(into / from) + from / into - 1);
}

/* What one stream destroys, and the exergy it brings or takes [W].
 * through_receiver  what passes an inlet comes from the receiver, of the state on its outside */
static void add_stream(double *part, const struct lb_machine *machine,
                       const struct lb_gas_moment *at, const struct lb_gas_stream *s,
                       bool through_receiver) {
  double mass = fabs(s->mass);
  bool inwards = s->mass >= 0, leaks = s->way >= LB_GAS_SHUT_INLET;
  bool of_supply = s->way == LB_GAS_OPEN_INLET || s->way == LB_GAS_SHUT_INLET;
  bool from_receiver = of_supply && through_receiver;
  double *mixing = &part[leaks ? LB_GAS_LEAKAGE : LB_GAS_MIXING];
  part[leaks       ? LB_GAS_LEAKAGE
       : of_supply ? LB_GAS_INLET
                   : LB_GAS_EXHAUST_VALVE] +=
      machine->ambient_temperature * mass * LB_GAS_CONSTANT * fabs(log(s->pressure / at->pressure));
  if (inwards)
    *mixing += mixed(machine, mass, s->temperature, at->temperature);
  else if (from_receiver)
    *mixing += mixed(machine, mass, at->temperature, s->temperature);
  if (from_receiver)
    return;
  if (inwards) {
    part[LB_GAS_SUPPLIED] += mass * exergy(machine, s->pressure, s->temperature);
    return;
  }
  double taken = mass * exergy(machine, s->pressure, at->temperature);
  if (of_supply)
    part[LB_GAS_SUPPLIED] -= taken;
  else
    part[leaks ? LB_GAS_LEAKAGE : LB_GAS_EXHAUST] += taken;
}

/* What the leak past the piston destroys. */
static void add_leak(double *part, const struct lb_machine *machine,
                     const struct lb_gas_moment *at) {
  const struct lb_gas_moment *from = at->leak > 0 ? at : at + 1;
  const struct lb_gas_moment *to = at->leak > 0 ? at + 1 : at;
  double mass = fabs(at->leak);
  if (mass > 0)
    part[LB_GAS_LEAKAGE] +=
        machine->ambient_temperature * mass * LB_GAS_CONSTANT * log(from->pressure / to->pressure) +
        mixed(machine, mass, from->temperature, to->temperature);
}

/* The parts of the worth per radian. */
static void put_worth(double *part, const struct lb_gas *gas, double angle, size_t segment,
                      const double *state) {
  const struct lb_machine *machine = gas->machine;
  struct lb_gas_moment at[LB_GAS_CHAMBERS + 1];
  lb_gas_look(at, gas, angle, segment, state);
  memset(part, 0, LB_GAS_PARTS * sizeof *part);
  for (size_t i = 0; i < gas->chambers; i++) {
    for (int k = 0; k < at[i].streams; k++)
      add_stream(part, machine, &at[i], &at[i].stream[k], gas->receiver);
    part[LB_GAS_HEAT] += at[i].wall * (machine->ambient_temperature / at[i].temperature - 1);
    add_leak(part, machine, &at[i]);
  }
  if (gas->receiver)
    add_stream(part, machine, &at[gas->chambers], &at[gas->chambers].stream[0], false);
  for (int k = 0; k < LB_GAS_PARTS; k++)
    part[k] /= gas->speed;
}

void lb_gas_worth_rates(double *rate, double angle, size_t segment, const double *state,
                        const void *context) {
  const struct lb_gas *gas = context;
  lb_gas_rates(rate, angle, segment, state, context);
  put_worth(rate + lb_gas_states(gas) + lb_gas_sums(gas), gas, angle, segment, state);
}

/* The slopes of the parts are taken by differences: they serve one revolution only. */
void lb_gas_worth_slopes(double *rate, double *slope, double *along, double angle, size_t segment,
                         const double *state, const void *context) {
  const double small = 1e-7; /* [1] of a state, and [rad] */
  const struct lb_gas *gas = context;
  size_t n = lb_gas_states(gas), first = n + lb_gas_sums(gas);
  double moved[LB_GAS_STATES_MOST], part[LB_GAS_PARTS];
  lb_gas_slopes(rate, slope, along, angle, segment, state, context);
  put_worth(rate + first, gas, angle, segment, state);
  put_worth(part, gas, angle + small, segment, state);
  for (size_t k = 0; k < LB_GAS_PARTS; k++)
    along[first + k] = (part[k] - rate[first + k]) / small;
  for (size_t j = 0; j < n; j++) {
    memcpy(moved, state, n * sizeof *moved);
    moved[j] *= 1 + small;
    put_worth(part, gas, angle, segment, moved);
    for (size_t k = 0; k < LB_GAS_PARTS; k++)
      slope[(first + k) * n + j] = (part[k] - rate[first + k]) / (small * state[j]);
  }
}
