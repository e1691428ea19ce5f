/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The equations of a cylinder at speed: what flows, and what it changes. They stand here twice:
 * once for the rates alone, which a step asks for five times, once with all derivatives, which it
 * asks for once.
 */
#include "stroke/gas_exchange_parts.h"

#include "base/constants.h"
#include "base/unroll.h"

#include <math.h>
#include <string.h>

static const double gamma_air = LB_GAMMA;

size_t lb_gas_states(const struct lb_gas *gas) {
  return LB_GAS_STATES * (gas->chambers + gas->receiver);
}

size_t lb_gas_sums(const struct lb_gas *gas) {
  return LB_GAS_SUMS * gas->chambers;
}

struct lb_piston lb_gas_piston(const struct lb_gas *gas, const struct lb_gas_chamber *c,
                               double angle) {
  if (c->cylinder > 0)
    return lb_linkage_piston(&gas->machine->linkage, angle - c->phase);
  struct lb_gas_place *place = gas->place;
  if (place->angle != angle) {
    place->angle = angle;
    place->motion = lb_linkage_piston(&gas->machine->linkage, angle - c->phase);
  }
  return place->motion;
}

struct lb_gas_volume lb_gas_volume(const struct lb_gas *gas, const struct lb_gas_chamber *c,
                                   const struct lb_piston *motion) {
  bool cap = c->end == LB_CAP_END;
  double distance = cap ? motion->travel : gas->machine->linkage.stroke - motion->travel;
  double area = cap ? c->area : -c->area;
  return (struct lb_gas_volume){c->dead_volume + c->area * distance, area * motion->slope,
                                area * motion->curvature};
}

/* The receiver's or the supply's state, on the outside of the inlets. */
struct outside {
  double pressure, temperature;
};

static struct outside supply_of(const struct lb_gas *gas) {
  return (struct outside){gas->machine->supply_pressure, gas->machine->supply_temperature};
}

static struct outside receiver_of(const struct lb_gas *gas, const double *state) {
  const double *own = state + LB_GAS_STATES * gas->chambers;
  double volume = gas->machine->receiver_volume;
  return (struct outside){own[0], own[0] * volume / (own[1] * LB_GAS_CONSTANT)};
}

static struct outside before_inlets(const struct lb_gas *gas, const double *state) {
  return gas->receiver ? receiver_of(gas, state) : supply_of(gas);
}

/* Whether air leaks from a chamber of the system to the next past their piston. */
static bool leaks_within(const struct lb_gas *gas, size_t index) {
  return gas->piston_leak.conductance > 0 && index + 1 < gas->chambers &&
         gas->chamber[index].cylinder == gas->chamber[index + 1].cylinder;
}

/* How far a way is open [1]. */
static double opening_of(const struct lb_gas_passage *w, double angle) {
  return fmax(0, w->at + w->by * angle);
}

static bool is_inlet(enum lb_gas_way way) {
  return way == LB_GAS_OPEN_INLET || way == LB_GAS_SHUT_INLET;
}

/* The state on the outside of a way. */
static struct outside outside_of(const struct lb_gas_passage *w, const struct outside *before) {
  return is_inlet(w->way) ? *before : (struct outside){w->pressure, w->temperature};
}

static bool is_exhaust(enum lb_gas_way way) {
  return way == LB_GAS_OPEN_EXHAUST || way == LB_GAS_SHUT_EXHAUST;
}

/* ---------- the rates alone ---------- */

/* Mass [kg/s] from one side to the other, and the enthalpy it brings [W]. */
LB_UNROLLED double passed(const struct lb_flow *flow, double p1, double t1, double p2, double t2,
                          double *enthalpy) {
  double mass = p1 >= p2 ? lb_flow_mass(flow, p1, t1, p2) : -lb_flow_mass(flow, p2, t2, p1);
  *enthalpy = LB_CP * mass * (p1 >= p2 ? t1 : t2);
  return mass;
}

/* A chamber or the receiver while its rates are put together. */
struct balance {
  double pressure, temperature, mass, energy; /* [Pa], [K], [kg/s], [W] */
  struct lb_gas_volume volume;
};

/* Conductance of the wall [W/K]: piston and cover, and the bore as far as the piston has bared it.
 */
LB_UNROLLED double wall_of(const struct lb_gas *gas, const struct lb_gas_chamber *c,
                           const struct lb_piston *piston) {
  double stroke = gas->machine->linkage.stroke;
  return c->wall +
         c->wall_by_travel * (c->end == LB_CAP_END ? piston->travel : stroke - piston->travel);
}

LB_UNROLLED struct balance balance_of(const struct lb_gas *gas, size_t index, double angle,
                                      const double *state) {
  const struct lb_gas_chamber *c = &gas->chamber[index];
  const double *own = state + LB_GAS_STATES * index;
  struct lb_piston motion = lb_gas_piston(gas, c, angle);
  struct lb_gas_volume v = lb_gas_volume(gas, c, &motion);
  double temperature = own[0] * v.volume / (own[1] * LB_GAS_CONSTANT);
  double wall = wall_of(gas, c, &motion) * (gas->machine->ambient_temperature - temperature);
  return (struct balance){own[0], temperature, 0, wall, v};
}

/* Add what passes the ways of a chamber; what passes the inlet is missing before it.
 * sum  out: rates of the chamber's sums per second, work left out */
LB_UNROLLED void add_ways(struct balance *b, struct balance *store, double *sum,
                          const struct lb_gas_passages *passages, double angle,
                          const struct outside *before) {
  sum[1] = sum[2] = 0;
  for (int k = 0; k < passages->ways; k++) {
    const struct lb_gas_passage *w = &passages->way[k];
    struct outside o = outside_of(w, before);
    double opening = opening_of(w, angle), enthalpy;
    double mass = opening * passed(w->flow, o.pressure, o.temperature, b->pressure, b->temperature,
                                   &enthalpy);
    enthalpy *= opening;
    b->mass += mass;
    b->energy += enthalpy;
    if (is_inlet(w->way)) {
      sum[1] += mass;
      store->mass -= mass;
      store->energy -= enthalpy;
    } else if (is_exhaust(w->way)) {
      sum[2] -= mass;
    }
  }
}

/* What passes a restriction from one place to another. */
static void pass(struct balance *from, struct balance *to, const struct lb_flow *flow) {
  double enthalpy, mass = passed(flow, from->pressure, from->temperature, to->pressure,
                                 to->temperature, &enthalpy);
  from->mass -= mass;
  from->energy -= enthalpy;
  to->mass += mass;
  to->energy += enthalpy;
}

/* Rates of pressure and mass per radian. */
LB_UNROLLED void put_balance(double *rate, const struct balance *b, double per_speed) {
  rate[0] = ((gamma_air - 1) * b->energy * per_speed - gamma_air * b->pressure * b->volume.slope) /
            b->volume.volume;
  rate[1] = b->mass * per_speed;
}

/* For a number of chambers, with or without a receiver: known to the compiler, they leave little
 * to do. */
LB_UNROLLED void rates_of(double *rate, double angle, size_t segment, const double *state,
                          const struct lb_gas *gas, size_t chambers, bool receiver) {
  const struct lb_machine *m = gas->machine;
  const struct outside before = receiver ? receiver_of(gas, state) : supply_of(gas);
  struct balance balance[LB_GAS_CHAMBERS];
  struct balance store = {before.pressure, before.temperature, 0, 0, {m->receiver_volume, 0, 0}};
  double *sums = rate + LB_GAS_STATES * (chambers + receiver);
  for (size_t i = 0; i < chambers; i++) {
    double *sum = sums + LB_GAS_SUMS * i;
    balance[i] = balance_of(gas, i, angle, state);
    add_ways(&balance[i], &store, sum, &gas->chamber[i].passages[segment], angle, &before);
    sum[0] = balance[i].pressure * balance[i].volume.slope;
    sum[1] *= gas->per_speed;
    sum[2] *= gas->per_speed;
  }
  for (size_t i = 0; i < chambers; i++) {
    if (chambers > 1 && leaks_within(gas, i))
      pass(&balance[i], &balance[i + 1], &gas->piston_leak);
    put_balance(rate + LB_GAS_STATES * i, &balance[i], gas->per_speed);
  }
  if (receiver) {
    struct balance supply = {m->supply_pressure, m->supply_temperature, 0, 0, {0, 0, 0}};
    pass(&supply, &store, &m->supply_line);
    put_balance(rate + LB_GAS_STATES * chambers, &store, gas->per_speed);
  }
}

void lb_gas_rates(double *rate, double angle, size_t segment, const double *state,
                  const void *context) {
  const struct lb_gas *gas = context;
  if (gas->chambers == 1 && !gas->receiver)
    rates_of(rate, angle, segment, state, gas, 1, false);
  else
    rates_of(rate, angle, segment, state, gas, gas->chambers, gas->receiver);
}

/* ---------- with derivatives ---------- */

/* Where a derivative leads: the chamber itself, the other end of its cylinder, the receiver. */
enum side {
  OWN,
  PARTNER,
  STORE,
  SIDES
};

/* A rate with its derivatives by pressure and temperature on each side, and by the crank angle at
 * given pressures and temperatures. */
struct slope {
  double rate, by_pressure[SIDES], by_temperature[SIDES], by_angle;
};

/* A chamber's rates: all that comes in, and of it what comes through inlet and exhaust. */
struct moment {
  double pressure, mass, temperature, temperature_slope; /* the last by angle [K/rad] */
  struct lb_gas_volume volume;
  struct slope in, energy, inlet, inlet_energy, exhaust;
};

static void add_slope(struct slope *to, const struct slope *s) {
  to->rate += s->rate;
  to->by_angle += s->by_angle;
  for (int k = 0; k < SIDES; k++) {
    to->by_pressure[k] += s->by_pressure[k];
    to->by_temperature[k] += s->by_temperature[k];
  }
}

/* The flow from one side to another, and its enthalpy.
 * share  [1] how far the way is open
 * by     [1/rad] d(share)/d(angle) */
static void flow_between(struct slope *mass, struct slope *energy, const struct lb_flow *flow,
                         double share, double by, enum side from, double p1, double t1,
                         enum side to, double p2, double t2) {
  struct lb_flow_rate r;
  lb_flow_between(&r, flow, 1, p1, t1, p2, t2);
  bool forth = r.mass >= 0;
  double heat = LB_CP * (forth ? t1 : t2);
  *mass = (struct slope){.rate = share * r.mass, .by_angle = by * r.mass};
  mass->by_pressure[from] = share * r.by_pressure_1;
  mass->by_pressure[to] = share * r.by_pressure_2;
  mass->by_temperature[from] = share * r.by_temperature_1;
  mass->by_temperature[to] = share * r.by_temperature_2;
  *energy = (struct slope){.rate = heat * mass->rate, .by_angle = heat * mass->by_angle};
  for (int k = 0; k < SIDES; k++) {
    energy->by_pressure[k] = heat * mass->by_pressure[k];
    energy->by_temperature[k] = heat * mass->by_temperature[k];
  }
  energy->by_temperature[forth ? from : to] += LB_CP * mass->rate;
}

static void begin_moment(struct moment *at, const struct lb_gas *gas, size_t index, double angle,
                         const double *state) {
  const struct lb_gas_chamber *c = &gas->chamber[index];
  struct balance b = balance_of(gas, index, angle, state);
  struct lb_piston piston = lb_gas_piston(gas, c, angle);
  double grows = c->end == LB_CAP_END ? piston.slope : -piston.slope; /* by angle */
  *at = (struct moment){.pressure = b.pressure,
                        .mass = state[LB_GAS_STATES * index + 1],
                        .temperature = b.temperature,
                        .temperature_slope = b.temperature * b.volume.slope / b.volume.volume,
                        .volume = b.volume};
  at->energy.rate = b.energy;
  at->energy.by_temperature[OWN] = -wall_of(gas, c, &piston);
  at->energy.by_angle =
      c->wall_by_travel * grows * (gas->machine->ambient_temperature - b.temperature);
}

static void add_passages(struct moment *at, const struct lb_gas_passages *passages, double angle,
                         const struct outside *before) {
  for (int k = 0; k < passages->ways; k++) {
    const struct lb_gas_passage *w = &passages->way[k];
    struct outside o = outside_of(w, before);
    struct slope mass, energy;
    /* what lies outside matters only before the inlets, and there only with a receiver */
    flow_between(&mass, &energy, w->flow, opening_of(w, angle), w->by, STORE, o.pressure,
                 o.temperature, OWN, at->pressure, at->temperature);
    if (!is_inlet(w->way))
      mass.by_pressure[STORE] = mass.by_temperature[STORE] = energy.by_pressure[STORE] =
          energy.by_temperature[STORE] = 0;
    add_slope(&at->in, &mass);
    add_slope(&at->energy, &energy);
    if (is_inlet(w->way)) {
      add_slope(&at->inlet, &mass);
      add_slope(&at->inlet_energy, &energy);
    } else if (is_exhaust(w->way)) {
      add_slope(&at->exhaust, &mass);
    }
  }
}

/* The same slope with its sides changed over and its sign turned: what one side loses, the other
 * gains. */
static struct slope mirrored(const struct slope *s) {
  struct slope m = {.rate = -s->rate, .by_angle = -s->by_angle};
  for (int k = OWN; k <= PARTNER; k++) {
    m.by_pressure[PARTNER - k] = -s->by_pressure[k];
    m.by_temperature[PARTNER - k] = -s->by_temperature[k];
  }
  return m;
}

/* What leaks past the piston from one moment's chamber to the next. */
static void add_leak(struct moment *at, const struct lb_flow *flow) {
  struct slope mass, energy, lost;
  flow_between(&mass, &energy, flow, 1, 0, PARTNER, at[0].pressure, at[0].temperature, OWN,
               at[1].pressure, at[1].temperature);
  add_slope(&at[1].in, &mass);
  add_slope(&at[1].energy, &energy);
  lost = mirrored(&mass);
  add_slope(&at[0].in, &lost);
  lost = mirrored(&energy);
  add_slope(&at[0].energy, &lost);
}

/* Where the states of a chamber and of its sides begin. */
struct columns {
  size_t first[SIDES];
  bool there[SIDES];
};

static struct columns columns_of(const struct lb_gas *gas, size_t index) {
  bool before = index > 0 && leaks_within(gas, index - 1), behind = leaks_within(gas, index);
  struct columns c = {.there = {true, before || behind, gas->receiver}};
  c.first[OWN] = LB_GAS_STATES * index;
  c.first[PARTNER] = c.first[OWN] + (behind ? LB_GAS_STATES : 0) - (before ? LB_GAS_STATES : 0);
  c.first[STORE] = LB_GAS_STATES * gas->chambers;
  return c;
}

/* Add to a row of slopes, by p and m, a share of a slope by p and T.
 * place  the states of the sides, place[SIDES] with pressure, temperature, mass */
static void put_row(double *row, const struct slope *s, double share, const struct columns *c,
                    const double place[SIDES][3]) {
  for (int k = 0; k < SIDES; k++) {
    if (!c->there[k])
      continue;
    double by_t = share * s->by_temperature[k], t = place[k][1];
    row[c->first[k]] += share * s->by_pressure[k] + by_t * t / place[k][0];
    row[c->first[k] + 1] -= by_t * t / place[k][2];
  }
}

/* By angle, with the temperatures that change along with the volumes. */
static double by_angle(const struct slope *s, const struct moment *own,
                       const struct moment *partner) {
  return s->by_angle + s->by_temperature[OWN] * own->temperature_slope +
         (partner ? s->by_temperature[PARTNER] * partner->temperature_slope : 0);
}

/* The rows of one chamber: its two states and its three sums. */
static void put_chamber(double *rate, double *slope, double *along, const struct lb_gas *gas,
                        size_t index, const struct moment *at, const double *store) {
  const struct columns c = columns_of(gas, index);
  const struct moment *own = at + index;
  const struct moment *partner = at + c.first[PARTNER] / LB_GAS_STATES;
  size_t n = lb_gas_states(gas), first = c.first[OWN], sum = n + LB_GAS_SUMS * index;
  const double place[SIDES][3] = {{own->pressure, own->temperature, own->mass},
                                  {partner->pressure, partner->temperature, partner->mass},
                                  {store[0], store[1], store[2]}};
  double v = own->volume.volume, v1 = own->volume.slope, v2 = own->volume.curvature;
  double heating = (gamma_air - 1) * gas->per_speed / v, per = gas->per_speed;
  rate[first] = heating * own->energy.rate - gamma_air * own->pressure * v1 / v;
  rate[first + 1] = per * own->in.rate;
  rate[sum] = own->pressure * v1;
  rate[sum + 1] = per * own->inlet.rate;
  rate[sum + 2] = -per * own->exhaust.rate;
  put_row(slope + first * n, &own->energy, heating, &c, place);
  slope[first * n + first] -= gamma_air * v1 / v;
  put_row(slope + (first + 1) * n, &own->in, per, &c, place);
  slope[sum * n + first] = v1;
  put_row(slope + (sum + 1) * n, &own->inlet, per, &c, place);
  put_row(slope + (sum + 2) * n, &own->exhaust, -per, &c, place);
  const struct moment *other = c.there[PARTNER] ? partner : NULL;
  along[first] = heating * by_angle(&own->energy, own, other) -
                 (gamma_air * own->pressure * v2 + rate[first] * v1) / v;
  along[first + 1] = per * by_angle(&own->in, own, other);
  along[sum] = own->pressure * v2;
  along[sum + 1] = per * by_angle(&own->inlet, own, other);
  along[sum + 2] = -per * by_angle(&own->exhaust, own, other);
}

/* The rows of the receiver: what its line brings, and what the inlets take. */
static void put_receiver(double *rate, double *slope, double *along, const struct lb_gas *gas,
                         const struct moment *at, const double *store) {
  const struct lb_machine *m = gas->machine;
  size_t n = lb_gas_states(gas), first = LB_GAS_STATES * gas->chambers;
  double per = gas->per_speed, heating = (gamma_air - 1) * per / m->receiver_volume;
  const double place[SIDES][3] = {{1, 1, 1}, {1, 1, 1}, {store[0], store[1], store[2]}};
  const struct columns own = {.first = {0, 0, first}, .there = {false, false, true}};
  struct slope mass, energy;
  flow_between(&mass, &energy, &m->supply_line, 1, 0, OWN, m->supply_pressure,
               m->supply_temperature, STORE, store[0], store[1]);
  rate[first] = heating * energy.rate;
  rate[first + 1] = per * mass.rate;
  put_row(slope + first * n, &energy, heating, &own, place);
  put_row(slope + (first + 1) * n, &mass, per, &own, place);
  along[first] = along[first + 1] = 0;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct columns c = columns_of(gas, i);
    const double near[SIDES][3] = {
        {at[i].pressure, at[i].temperature, at[i].mass}, {1, 1, 1}, {store[0], store[1], store[2]}};
    rate[first] -= heating * at[i].inlet_energy.rate;
    rate[first + 1] -= per * at[i].inlet.rate;
    put_row(slope + first * n, &at[i].inlet_energy, -heating, &c, near);
    put_row(slope + (first + 1) * n, &at[i].inlet, -per, &c, near);
    along[first] -= heating * by_angle(&at[i].inlet_energy, &at[i], NULL);
    along[first + 1] -= per * by_angle(&at[i].inlet, &at[i], NULL);
  }
}

void lb_gas_slopes(double *rate, double *slope, double *along, double angle, size_t segment,
                   const double *state, const void *context) {
  const struct lb_gas *gas = context;
  const struct outside before = before_inlets(gas, state);
  size_t n = lb_gas_states(gas);
  const double store[] = {before.pressure, before.temperature,
                          gas->receiver ? state[LB_GAS_STATES * gas->chambers + 1] : 1};
  struct moment at[LB_GAS_CHAMBERS];
  for (size_t i = 0; i < gas->chambers; i++) {
    begin_moment(&at[i], gas, i, angle, state);
    add_passages(&at[i], &gas->chamber[i].passages[segment], angle, &before);
  }
  for (size_t i = 0; i < gas->chambers; i++)
    if (leaks_within(gas, i))
      add_leak(&at[i], &gas->piston_leak);
  memset(slope, 0, n * (n + lb_gas_sums(gas)) * sizeof *slope);
  for (size_t i = 0; i < gas->chambers; i++)
    put_chamber(rate, slope, along, gas, i, at, store);
  if (gas->receiver)
    put_receiver(rate, slope, along, gas, at, store);
}

/* ---------- for the worth of the air ---------- */

/* The state of the receiver, and the line as its one stream. */
static void look_at_receiver(struct lb_gas_moment *at, const struct lb_gas *gas,
                             const struct outside *here) {
  const struct lb_machine *m = gas->machine;
  double unused;
  *at = (struct lb_gas_moment){
      .pressure = here->pressure, .temperature = here->temperature, .streams = 1};
  at->stream[0] =
      (struct lb_gas_stream){LB_GAS_OPEN_INLET,
                             passed(&m->supply_line, m->supply_pressure, m->supply_temperature,
                                    here->pressure, here->temperature, &unused),
                             m->supply_pressure, m->supply_temperature};
}

void lb_gas_look(struct lb_gas_moment *moment, const struct lb_gas *gas, double angle,
                 size_t segment, const double *state) {
  const struct outside before = before_inlets(gas, state);
  double unused;
  for (size_t i = 0; i < gas->chambers; i++) {
    struct balance b = balance_of(gas, i, angle, state);
    const struct lb_gas_passages *passages = &gas->chamber[i].passages[segment];
    struct lb_gas_moment *at = &moment[i];
    *at = (struct lb_gas_moment){
        .pressure = b.pressure, .temperature = b.temperature, .wall = b.energy};
    at->streams = passages->ways;
    for (int k = 0; k < at->streams; k++) {
      const struct lb_gas_passage *w = &passages->way[k];
      struct outside o = outside_of(w, &before);
      double mass = passed(w->flow, o.pressure, o.temperature, b.pressure, b.temperature, &unused);
      at->stream[k] =
          (struct lb_gas_stream){w->way, opening_of(w, angle) * mass, o.pressure, o.temperature};
    }
    if (leaks_within(gas, i)) {
      struct balance next = balance_of(gas, i + 1, angle, state);
      at->leak = passed(&gas->piston_leak, b.pressure, b.temperature, next.pressure,
                        next.temperature, &unused);
    }
  }
  if (gas->receiver)
    look_at_receiver(moment + gas->chambers, gas, &before);
}
