/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When the valves of a cylinder at speed are how far open.
 *
 * A valve begins to open at its opening event and is shut at its closing event, with
 * opening = min(1, (angle - opens)/ramp, (shuts - angle)/ramp). Angles that mean switching come
 * later by the delays of the valve.
 */
#include "base/constants.h"
#include "stroke/gas_exchange_parts.h"

#include <math.h>
#include <stdlib.h>

static const double turn_angle = 2 * LB_PI;

/* How far a valve is open at an angle after it begins to open [1], shut again after a window. */
static double opening_at(double since, double window, double ramp) {
  double until = window - since;
  if (since <= 0 || until <= 0)
    return 0;
  return ramp > 0 ? fmin(1, fmin(since, until) / ramp) : 1;
}

struct lb_gas_window lb_gas_window(const struct lb_gas *gas, enum lb_end end, enum lb_valve valve,
                                   double cutoff) {
  const struct lb_timing *t = &gas->machine->timing[end];
  const struct lb_valve_delay *delay = &gas->machine->valve_delay[valve];
  double zero = lb_linkage_dead_centre(&gas->machine->linkage, end);
  bool inlet = valve == LB_INLET_VALVE;
  double opens = inlet ? t->inlet_opens : t->release, shuts = inlet ? cutoff : t->exhaust_closes;
  double ramp = t->opening_ramp_time > 0 ? t->opening_ramp_time * gas->speed : t->opening_ramp;
  if (t->angles_are_switching) {
    opens += delay->on * gas->speed;
    shuts += delay->off * gas->speed;
  }
  if (shuts - opens < turn_angle)
    return (struct lb_gas_window){zero + opens, shuts - opens, ramp};
  return (struct lb_gas_window){zero + opens, turn_angle, 0}; /* it stays open */
}

double lb_gas_within_turn(double angle, double start) {
  double rest = fmod(angle - start, turn_angle);
  return start + (rest < 0 ? rest + turn_angle : rest);
}

static int compare(const void *a, const void *b) {
  double one = *(const double *)a, other = *(const double *)b;
  return (one > other) - (one < other);
}

/* Where the openings bend, in order, over the turn from the cap-end dead centre. */
static void set_stops(struct lb_gas *gas, const double *cutoff) {
  gas->stops = 0;
  gas->stop[gas->stops++] = 0;
  gas->stop[gas->stops++] = turn_angle;
  for (size_t i = 0; i < gas->chambers; i++)
    for (int valve = 0; valve < LB_VALVES; valve++) {
      const struct lb_gas_chamber *c = &gas->chamber[i];
      struct lb_gas_window w = lb_gas_window(gas, c->end, (enum lb_valve)valve, cutoff[c->end]);
      double ramp = fmin(w.ramp, w.width / 2), from = w.from + c->phase;
      const double bends[] = {from, from + ramp, from + w.width - ramp, from + w.width};
      for (size_t k = 0; w.width > 0 && k < sizeof bends / sizeof bends[0]; k++)
        gas->stop[gas->stops++] = lb_gas_within_turn(bends[k], 0);
    }
  qsort(gas->stop, gas->stops, sizeof gas->stop[0], compare);
}

/* Add a valve within a segment, where its opening is straight; its seat where it is shut. */
static void add_valve(struct lb_gas_passages *p, const struct lb_gas *gas, enum lb_valve valve,
                      const struct lb_gas_window *w, double phase, double from, double to) {
  const struct lb_machine *m = gas->machine;
  bool inlet = valve == LB_INLET_VALVE;
  double one = from + (to - from) / 3, other = to - (to - from) / 3, start = w->from + phase;
  double a = opening_at(lb_gas_within_turn(one, start) - start, w->width, w->ramp);
  double b = opening_at(lb_gas_within_turn(other, start) - start, w->width, w->ramp);
  double by = other > one ? (b - a) / (other - one) : 0;
  struct lb_gas_passage passage = {.flow = &m->path[valve].flow,
                                   .at = a - by * one,
                                   .by = by,
                                   .pressure = inlet ? m->supply_pressure : m->back_pressure,
                                   .temperature =
                                       inlet ? m->supply_temperature : m->ambient_temperature};
  passage.way = inlet ? LB_GAS_OPEN_INLET : LB_GAS_OPEN_EXHAUST;
  if (!(a > 0 || b > 0)) {
    passage.flow = &gas->seat_leak[valve];
    passage.at = 1;
    passage.way = inlet ? LB_GAS_SHUT_INLET : LB_GAS_SHUT_EXHAUST;
  }
  if (passage.flow->conductance > 0)
    p->way[p->ways++] = passage;
}

/* Add a seal between a chamber and the surroundings. */
static void add_seal(struct lb_gas_passages *p, const struct lb_machine *machine,
                     const struct lb_flow *flow) {
  if (flow->conductance > 0)
    p->way[p->ways++] =
        (struct lb_gas_passage){LB_GAS_TO_SURROUNDINGS,      flow, 1, 0, machine->ambient_pressure,
                                machine->ambient_temperature};
}

/* Whether the other end of a chamber's cylinder belongs to the system. */
static bool has_partner(const struct lb_gas *gas, size_t index) {
  size_t cylinder = gas->chamber[index].cylinder;
  return (index > 0 && gas->chamber[index - 1].cylinder == cylinder) ||
         (index + 1 < gas->chambers && gas->chamber[index + 1].cylinder == cylinder);
}

void lb_gas_set_valves(struct lb_gas *gas, const double *cutoff) {
  set_stops(gas, cutoff);
  for (size_t i = 0; i < gas->chambers; i++) {
    struct lb_gas_chamber *c = &gas->chamber[i];
    for (size_t k = 0; k + 1 < gas->stops; k++) {
      struct lb_gas_passages *p = &c->passages[k];
      p->ways = 0;
      for (int valve = 0; valve < LB_VALVES; valve++) {
        struct lb_gas_window w = lb_gas_window(gas, c->end, (enum lb_valve)valve, cutoff[c->end]);
        add_valve(p, gas, (enum lb_valve)valve, &w, c->phase, gas->stop[k], gas->stop[k + 1]);
      }
      if (!has_partner(gas, i))
        add_seal(p, gas->machine, &gas->piston_leak);
      if (c->end == LB_ROD_END)
        add_seal(p, gas->machine, &gas->rod_leak);
    }
  }
}
