/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is kept of a revolution: pressure, temperature and work of every chamber at every step, and
 * what can be read off it.
 */
#include "base/constants.h"
#include "stroke/gas_exchange_parts.h"

#include <math.h>
#include <stdlib.h>

/* Room for one more point. Returns false when memory runs out. */
static bool reserve(struct lb_gas_trace *trace) {
  const size_t first = 512;
  if (trace->points < trace->room)
    return true;
  size_t room = trace->room ? 2 * trace->room : first;
  struct lb_gas_point *point = realloc(trace->point, room * sizeof *point);
  if (!point)
    return false;
  trace->point = point;
  trace->room = room;
  return true;
}

/* Note the receiver's pressure. */
static void see_receiver(struct lb_gas *gas, double angle, double pressure) {
  bool first = angle == gas->stop[0];
  if (first)
    gas->store_sum = 0;
  else
    gas->store_sum += (angle - gas->store_angle) * (pressure + gas->store_pressure) / 2;
  gas->store_least = first ? pressure : fmin(gas->store_least, pressure);
  gas->store_angle = angle;
  gas->store_pressure = pressure;
}

void lb_gas_see(double angle, const double *state, void *context) {
  struct lb_gas *gas = context;
  size_t n = lb_gas_states(gas);
  if (gas->receiver)
    see_receiver(gas, angle, state[LB_GAS_STATES * gas->chambers]);
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct lb_gas_chamber *c = &gas->chamber[i];
    struct lb_gas_trace *trace = &gas->trace[c->cylinder][c->end];
    if (angle == gas->stop[0])
      trace->points = 0;
    if (!reserve(trace)) {
      gas->trace_failed = true;
      return;
    }
    struct lb_piston motion = lb_gas_piston(gas, c, angle);
    struct lb_gas_volume v = lb_gas_volume(gas, c, &motion);
    double p = state[LB_GAS_STATES * i], m = state[LB_GAS_STATES * i + 1];
    trace->point[trace->points++] =
        (struct lb_gas_point){.angle = angle,
                              .volume = v.volume,
                              .volume_slope = v.slope,
                              .pressure = p,
                              .temperature = p * v.volume / (m * LB_GAS_CONSTANT),
                              .work = state[n + LB_GAS_SUMS * i]};
  }
}

/* The point of a trace at an event, which is a stop; the last there, where the next segment has
 * begun. */
static struct lb_gas_point at_event(const struct lb_gas_trace *trace, double angle) {
  size_t found = 0;
  for (size_t i = 0; i < trace->points; i++)
    if (trace->point[i].angle <= angle)
      found = i;
  return trace->point[found];
}

void lb_gas_read_trace(struct lb_gas_turn *turn, const struct lb_gas *gas,
                       const struct lb_gas_chamber *c, const double *cutoff) {
  const struct lb_gas_trace *trace = &gas->trace[c->cylinder][c->end];
  struct lb_gas_window inlet = lb_gas_window(gas, c->end, LB_INLET_VALVE, cutoff[c->end]);
  struct lb_gas_window exhaust = lb_gas_window(gas, c->end, LB_EXHAUST_VALVE, cutoff[c->end]);
  double opens = inlet.from + c->phase, release = exhaust.from + c->phase;
  struct lb_gas_point a = at_event(trace, lb_gas_within_turn(opens, 0));
  struct lb_gas_point b = at_event(trace, lb_gas_within_turn(opens + inlet.width, 0));
  struct lb_gas_point d = at_event(trace, lb_gas_within_turn(release, 0));
  struct lb_gas_point e = at_event(trace, lb_gas_within_turn(release + exhaust.width, 0));
  turn->compression_pressure = a.pressure;
  turn->compression_temperature = a.temperature;
  turn->cutoff_pressure = b.pressure;
  turn->cutoff_temperature = b.temperature;
  turn->release_pressure = d.pressure;
  turn->release_temperature = d.temperature;
  turn->closing_pressure = e.pressure;
  turn->closing_temperature = e.temperature;
  turn->coldest_temperature = trace->point[0].temperature;
  for (size_t i = 0; i < trace->points; i++) {
    turn->greatest_pressure = fmax(turn->greatest_pressure, trace->point[i].pressure);
    turn->coldest_temperature = fmin(turn->coldest_temperature, trace->point[i].temperature);
  }
}

/* A cubic between two places, from its values and slopes there. */
struct cubic {
  double from, width, value[2], slope[2];
};

/* Net work on the piston between two points of a trace, the surroundings on its other side. */
static struct cubic net_work(const struct lb_gas_point *point, double ambient) {
  struct cubic c = {.from = point[0].angle, .width = point[1].angle - point[0].angle};
  for (int k = 0; k < 2; k++) {
    c.value[k] = point[k].work - ambient * point[k].volume;
    c.slope[k] = (point[k].pressure - ambient) * point[k].volume_slope;
  }
  return c;
}

static double value_at(const struct cubic *c, double x) {
  double u = (x - c->from) / c->width, v = 1 - u;
  return c->value[0] * v * v * (1 + 2 * u) + c->value[1] * u * u * (1 + 2 * v) +
         c->width * u * v * (c->slope[0] * v - c->slope[1] * u);
}

static double slope_at(const struct cubic *c, double x) {
  double u = (x - c->from) / c->width, v = 1 - u;
  return 6 * u * v * (c->value[1] - c->value[0]) / c->width + c->slope[0] * v * (1 - 3 * u) +
         c->slope[1] * u * (1 - 3 * v);
}

/* Add two cubics where both hold. */
static struct cubic sum_of(const struct cubic *a, const struct cubic *b, double from, double to) {
  return (struct cubic){
      .from = from,
      .width = to - from,
      .value = {value_at(a, from) + value_at(b, from), value_at(a, to) + value_at(b, to)},
      .slope = {slope_at(a, from) + slope_at(b, from), slope_at(a, to) + slope_at(b, to)}};
}

/* How far a cubic goes up and down: between the ends and the places where it turns round, which are
 * the roots of alpha u^2 + beta u + gamma. */
static double variation(const struct cubic *c) {
  double rise = c->value[1] - c->value[0], s0 = c->slope[0] * c->width, s1 = c->slope[1] * c->width;
  double alpha = 3 * (s0 + s1 - 2 * rise), beta = 2 * (3 * rise - 2 * s0 - s1), gamma = s0;
  double inner = beta * beta - 4 * alpha * gamma, last = c->value[0], sum = 0;
  double root = inner > 0 ? sqrt(inner) : 0, q = -(beta + copysign(root, beta)) / 2;
  double turns[] = {inner > 0 ? q / alpha : -1, inner > 0 ? gamma / q : -1};
  if (turns[0] > turns[1]) {
    double swap = turns[0];
    turns[0] = turns[1];
    turns[1] = swap;
  }
  for (int k = 0; k < 2; k++)
    if (turns[k] > 0 && turns[k] < 1) {
      double there = value_at(c, c->from + turns[k] * c->width);
      sum += fabs(there - last);
      last = there;
    }
  return sum + fabs(c->value[1] - last);
}

/* Of one end alone, then of both, whose traces may stand at different angles. */
static double variation_of_one(const struct lb_gas_trace *trace, double ambient) {
  double sum = 0;
  for (size_t i = 0; i + 1 < trace->points; i++) {
    struct cubic c = net_work(trace->point + i, ambient);
    if (c.width > 0)
      sum += variation(&c);
  }
  return sum;
}

static double variation_of_both(const struct lb_gas_trace *a, const struct lb_gas_trace *b,
                                double ambient) {
  double sum = 0, from = a->point[0].angle;
  for (size_t i = 0, j = 0; i + 1 < a->points && j + 1 < b->points;) {
    struct cubic one = net_work(a->point + i, ambient), other = net_work(b->point + j, ambient);
    double one_ends = a->point[i + 1].angle, other_ends = b->point[j + 1].angle;
    double to = fmin(one_ends, other_ends);
    if (to > from) {
      struct cubic both = sum_of(&one, &other, from, to);
      sum += variation(&both);
    }
    from = fmax(from, to);
    i += one_ends <= to;
    j += other_ends <= to;
  }
  return sum;
}

double lb_gas_absolute_force(const struct lb_gas *gas, size_t cylinder) {
  const struct lb_gas_trace *trace = gas->trace[cylinder];
  double ambient = gas->machine->ambient_pressure;
  const bool *works = gas->machine->works;
  if (works[LB_CAP_END] && works[LB_ROD_END])
    return variation_of_both(&trace[LB_CAP_END], &trace[LB_ROD_END], ambient);
  return variation_of_one(&trace[works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END], ambient);
}

/* Slope of the net work of one end at an angle within the turn. */
static double torque_of(const struct lb_gas_trace *trace, double ambient, double angle) {
  size_t low = 0, high = trace->points - 1;
  while (high - low > 1) {
    size_t middle = low + (high - low) / 2;
    *(trace->point[middle].angle <= angle ? &low : &high) = middle;
  }
  struct cubic c = net_work(trace->point + low, ambient);
  return c.width > 0 ? slope_at(&c, angle) : c.slope[1];
}

double lb_gas_torque(const struct lb_gas *gas, double angle) {
  double torque = 0;
  for (int end = 0; end < LB_ENDS; end++)
    if (gas->machine->works[end])
      torque += torque_of(&gas->trace[0][end], gas->machine->ambient_pressure,
                          lb_gas_within_turn(angle, 0));
  return torque;
}
