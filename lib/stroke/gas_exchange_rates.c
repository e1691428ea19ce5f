/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The equations of a cylinder at speed: what flows and what it changes, and where the worth of the
 * air goes.
 */
#include "stroke/gas_exchange_parts.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

static const double gamma_air = LB_GAMMA;

/* The volume of a chamber [m3] and dV/d(angle), from the piston's travel and its slope. */
double lb_gas_volume(const struct lb_gas *gas, const struct lb_gas_chamber *c, double travel,
                     double slope, double *by_angle) {
  bool cap = c->end == LB_CAP_END;
  *by_angle = cap ? c->area * slope : -c->area * slope;
  return c->dead_volume + c->area * (cap ? travel : gas->machine->linkage.stroke - travel);
}

/* Where a stream comes from or goes to. */
enum way {
  OPEN_INLET,
  OPEN_EXHAUST,
  SHUT_INLET, /* past its seat */
  SHUT_EXHAUST,
  TO_SURROUNDINGS, /* past a seal */
  WAYS_AT_ONCE = 4
};

/* A stream into a chamber (negative: out of it) [kg/s], and the state outside. */
struct stream {
  enum way way;
  double mass, pressure, temperature;
};

/* What flows into a chamber. */
struct inflow {
  double mass, mass_by_p, mass_by_t;       /* [kg/s], [kg/(s Pa)], [kg/(s K)] */
  double energy, energy_by_p, energy_by_t; /* [W], [W/Pa], [W/K] */
};

/* Add a flow between something outside and the chamber.
 * Returns the mass flow [kg/s] into the chamber, and in by_p, by_t its derivatives. */
static double add_flow(struct inflow *in, const struct lb_flow *flow, double opening,
                       double pressure, double temperature, double p, double t, double *by_p,
                       double *by_t) {
  struct lb_flow_rate r;
  lb_flow_between(&r, flow, opening, pressure, temperature, p, t);
  double upstream = r.mass >= 0 ? temperature : t;
  in->mass += r.mass;
  in->mass_by_p += r.by_pressure_2;
  in->mass_by_t += r.by_temperature_2;
  in->energy += LB_CP * upstream * r.mass;
  in->energy_by_p += LB_CP * upstream * r.by_pressure_2;
  in->energy_by_t += LB_CP * (upstream * r.by_temperature_2 + (r.mass < 0 ? r.mass : 0));
  *by_p = r.by_pressure_2;
  *by_t = r.by_temperature_2;
  return r.mass;
}

/* A chamber at a crank angle: its state, what flows in, and how that depends on its state. */
struct moment {
  double p, m, t, volume, volume_slope;
  struct inflow in;
  struct stream stream[WAYS_AT_ONCE]; /* stream[streams]: what `in` is made of */
  int streams;
  double wall;                                /* heat from the wall [W], in `in` too */
  double supply, supply_by_p, supply_by_t;    /* of it from the supply [kg/s] ... */
  double exhaust, exhaust_by_p, exhaust_by_t; /* and from the exhaust */
};

/* Add a stream. */
static double add_stream(struct moment *at, enum way way, const struct lb_flow *flow,
                         double opening, double pressure, double temperature, double *by_p,
                         double *by_t) {
  double mass = add_flow(&at->in, flow, opening, pressure, temperature, at->p, at->t, by_p, by_t);
  at->stream[at->streams++] = (struct stream){way, mass, pressure, temperature};
  return mass;
}

/* Through one valve, open or shut. */
static double add_valve(struct moment *at, const struct lb_gas *gas, enum lb_valve valve,
                        double opening, double pressure, double temperature, double *by_p,
                        double *by_t) {
  bool inlet = valve == LB_INLET_VALVE;
  *by_p = *by_t = 0;
  if (opening > 0)
    return add_stream(at, inlet ? OPEN_INLET : OPEN_EXHAUST, &gas->machine->path[valve].flow,
                      opening, pressure, temperature, by_p, by_t);
  if (gas->seat_leak[valve].conductance > 0)
    return add_stream(at, inlet ? SHUT_INLET : SHUT_EXHAUST, &gas->seat_leak[valve], 1, pressure,
                      temperature, by_p, by_t);
  return 0;
}

/* Past the seals that lead to the surroundings. */
static void add_seals(struct moment *at, const struct lb_gas *gas, enum lb_end end) {
  const struct lb_machine *m = gas->machine;
  double unused_p, unused_t;
  if (gas->chambers == 1 && gas->piston_leak.conductance > 0)
    add_stream(at, TO_SURROUNDINGS, &gas->piston_leak, 1, m->ambient_pressure,
               m->ambient_temperature, &unused_p, &unused_t);
  if (end == LB_ROD_END && gas->rod_leak.conductance > 0)
    add_stream(at, TO_SURROUNDINGS, &gas->rod_leak, 1, m->ambient_pressure, m->ambient_temperature,
               &unused_p, &unused_t);
}

/* Flows and heat that concern one chamber alone. */
static void look_at(struct moment *at, const struct lb_gas *gas, size_t index, double angle,
                    size_t segment, double travel, double slope, const double *state) {
  const struct lb_machine *machine = gas->machine;
  const struct lb_gas_chamber *c = &gas->chamber[index];
  const struct lb_gas_opening *inlet = &c->opening[segment][LB_INLET_VALVE], *exhaust = inlet + 1;
  at->in = (struct inflow){0};
  at->streams = 0;
  at->p = state[LB_GAS_STATES * index];
  at->m = state[LB_GAS_STATES * index + 1];
  at->volume = lb_gas_volume(gas, c, travel, slope, &at->volume_slope);
  at->t = at->p * at->volume / (at->m * LB_GAS_CONSTANT);
  at->supply =
      add_valve(at, gas, LB_INLET_VALVE, inlet->at + inlet->by * angle, machine->supply_pressure,
                machine->supply_temperature, &at->supply_by_p, &at->supply_by_t);
  at->exhaust = add_valve(at, gas, LB_EXHAUST_VALVE, exhaust->at + exhaust->by * angle,
                          machine->back_pressure, machine->ambient_temperature, &at->exhaust_by_p,
                          &at->exhaust_by_t);
  add_seals(at, gas, c->end);
  double distance = (at->volume - c->dead_volume) / c->area;
  double wall = machine->wall_heat_transfer * (2 * c->area + LB_PI * machine->bore * distance);
  at->wall = wall * (machine->ambient_temperature - at->t);
  at->in.energy += at->wall;
  at->in.energy_by_t -= wall;
}

/* The leak past the piston: what chamber 0 loses and chamber 1 gains, with the derivatives of mass
 * and energy by p and t of both. */
struct leak {
  double mass, mass_by_p[LB_ENDS], mass_by_t[LB_ENDS];
  double energy, energy_by_p[LB_ENDS], energy_by_t[LB_ENDS];
};

static struct leak past_piston(const struct lb_gas *gas, const struct moment *at) {
  struct leak leak = {0};
  struct lb_flow_rate r;
  if (gas->chambers < LB_ENDS || gas->piston_leak.conductance == 0)
    return leak;
  lb_flow_between(&r, &gas->piston_leak, 1, at[0].p, at[0].t, at[1].p, at[1].t);
  size_t from = r.mass >= 0 ? 0 : 1;
  leak = (struct leak){.mass = r.mass,
                       .mass_by_p = {r.by_pressure_1, r.by_pressure_2},
                       .mass_by_t = {r.by_temperature_1, r.by_temperature_2},
                       .energy = LB_CP * at[from].t * r.mass};
  for (size_t i = 0; i < LB_ENDS; i++) {
    leak.energy_by_p[i] = LB_CP * at[from].t * leak.mass_by_p[i];
    leak.energy_by_t[i] = LB_CP * (at[from].t * leak.mass_by_t[i] + (i == from ? r.mass : 0));
  }
  return leak;
}

/* Everything at a crank angle. */
struct view {
  struct moment at[LB_ENDS];
  struct leak leak;
  double slope; /* of the piston's travel [m/rad] */
};

static void look(struct view *view, const struct lb_gas *gas, double angle, size_t segment,
                 const double *state) {
  const struct lb_linkage *linkage = &gas->machine->linkage;
  double travel = lb_linkage_travel(linkage, angle), slope = lb_linkage_slope(linkage, angle);
  for (size_t i = 0; i < gas->chambers; i++)
    look_at(&view->at[i], gas, i, angle, segment, travel, slope, state);
  view->leak = past_piston(gas, view->at);
  view->slope = slope;
}

/* The net gas force on the piston [N], an end that does not work being open to the surroundings. */
static double net_force(const struct lb_gas *gas, const struct view *view) {
  double net = 0;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct lb_gas_chamber *c = &gas->chamber[i];
    double force = (view->at[i].p - gas->machine->ambient_pressure) * c->area;
    net += c->end == LB_CAP_END ? force : -force;
  }
  return net;
}

static void put_rates(double *rate, const struct lb_gas *gas, const struct view *view) {
  size_t n = gas->chambers * LB_GAS_STATES;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view->at[i];
    double way = i == 0 ? -1 : 1; /* the leak is counted from chamber 0 to chamber 1 */
    double mass = at->in.mass + way * view->leak.mass;
    double energy = at->in.energy + way * view->leak.energy;
    rate[LB_GAS_STATES * i] =
        ((gamma_air - 1) * energy / gas->speed - gamma_air * at->p * at->volume_slope) / at->volume;
    rate[LB_GAS_STATES * i + 1] = mass / gas->speed;
    rate[n + LB_GAS_SUMS * i] = at->p * at->volume_slope;
    rate[n + LB_GAS_SUMS * i + 1] = at->supply / gas->speed;
    rate[n + LB_GAS_SUMS * i + 2] = -at->exhaust / gas->speed;
  }
  rate[n + gas->chambers * LB_GAS_SUMS] = fabs(net_force(gas, view) * view->slope);
}

void lb_gas_rates(double *rate, double angle, size_t segment, const double *state,
                  const void *context) {
  struct view view;
  look(&view, context, angle, segment, state);
  put_rates(rate, context, &view);
}

/* Derivatives by p and m of a chamber, of something that depends on p and, through them, on t. */
static void put_pair(double *row, const struct moment *at, double by_p, double by_t) {
  row[0] = by_p + by_t * at->t / at->p;
  row[1] = -by_t * at->t / at->m;
}

void lb_gas_slopes(double *rate, double *slope, double angle, size_t segment, const double *state,
                   const void *context) {
  const struct lb_gas *gas = context;
  struct view view;
  size_t n = gas->chambers * LB_GAS_STATES;
  look(&view, gas, angle, segment, state);
  put_rates(rate, gas, &view);
  size_t sums = gas->chambers * LB_GAS_SUMS;
  double grip = copysign(fabs(view.slope), net_force(gas, &view));
  memset(slope, 0, n * (n + sums + 1) * sizeof *slope);
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view.at[i];
    double *pressure = slope + LB_GAS_STATES * i * n, *mass = pressure + n;
    double *own_sums = slope + (n + LB_GAS_SUMS * i) * n;
    double per_volume = (gamma_air - 1) / at->volume, area = gas->chamber[i].area;
    for (size_t j = 0; j < gas->chambers; j++) {
      double way = i == 0 ? -1 : 1, own = i == j;
      double energy_by_p = own * at->in.energy_by_p + way * view.leak.energy_by_p[j];
      double energy_by_t = own * at->in.energy_by_t + way * view.leak.energy_by_t[j];
      double mass_by_p = own * at->in.mass_by_p + way * view.leak.mass_by_p[j];
      double mass_by_t = own * at->in.mass_by_t + way * view.leak.mass_by_t[j];
      double share = per_volume / gas->speed;
      put_pair(pressure + LB_GAS_STATES * j, &view.at[j], share * energy_by_p, share * energy_by_t);
      put_pair(mass + LB_GAS_STATES * j, &view.at[j], mass_by_p / gas->speed,
               mass_by_t / gas->speed);
    }
    pressure[LB_GAS_STATES * i] -= gamma_air * at->volume_slope / at->volume;
    own_sums[LB_GAS_STATES * i] = at->volume_slope;
    slope[(n + sums) * n + LB_GAS_STATES * i] =
        gas->chamber[i].end == LB_CAP_END ? grip * area : -grip * area;
    put_pair(own_sums + n + LB_GAS_STATES * i, at, at->supply_by_p / gas->speed,
             at->supply_by_t / gas->speed);
    put_pair(own_sums + 2 * n + LB_GAS_STATES * i, at, -at->exhaust_by_p / gas->speed,
             -at->exhaust_by_t / gas->speed);
  }
}

/* Exergy of air [J/kg] against the surroundings. */
static double exergy(const struct lb_machine *machine, double pressure, double temperature) {
  double ambient = machine->ambient_temperature;
  return LB_CP * (temperature - ambient) -
         ambient * (LB_CP * log(temperature / ambient) -
                    LB_GAS_CONSTANT * log(pressure / machine->ambient_pressure));
}

/* What entropy one stream makes, and the exergy it brings or takes [W]. */
static void add_worth(double *part, const struct lb_machine *machine, const struct moment *at,
                      const struct stream *s) {
  double ambient = machine->ambient_temperature, mass = fabs(s->mass);
  bool inwards = s->mass >= 0, leaks = s->way >= SHUT_INLET;
  bool of_supply = s->way == OPEN_INLET || s->way == SHUT_INLET;
  double throttled = ambient * mass * LB_GAS_CONSTANT * fabs(log(s->pressure / at->p));
  double mixed =
      ambient * mass * LB_CP * (log(at->t / s->temperature) + s->temperature / at->t - 1);
  part[leaks ? LB_GAS_LEAKAGE : of_supply ? LB_GAS_INLET : LB_GAS_EXHAUST_VALVE] += throttled;
  if (inwards) {
    part[leaks ? LB_GAS_LEAKAGE : LB_GAS_MIXING] += mixed;
    part[LB_GAS_SUPPLIED] += mass * exergy(machine, s->pressure, s->temperature);
  } else {
    double taken = mass * exergy(machine, s->pressure, at->t);
    if (of_supply)
      part[LB_GAS_SUPPLIED] -= taken;
    else
      part[leaks ? LB_GAS_LEAKAGE : LB_GAS_EXHAUST] += taken;
  }
}

/* The parts of the worth per radian. */
static void put_worth(double *part, const struct lb_gas *gas, const struct view *view) {
  const struct lb_machine *machine = gas->machine;
  double ambient = machine->ambient_temperature;
  memset(part, 0, LB_GAS_PARTS * sizeof *part);
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view->at[i];
    for (int k = 0; k < at->streams; k++)
      add_worth(part, machine, at, &at->stream[k]);
    part[LB_GAS_HEAT] += at->wall * (ambient / at->t - 1);
  }
  if (view->leak.mass != 0) {
    const struct moment *from = &view->at[view->leak.mass > 0 ? 0 : 1];
    const struct moment *to = &view->at[view->leak.mass > 0 ? 1 : 0];
    part[LB_GAS_LEAKAGE] += ambient * fabs(view->leak.mass) *
                            (LB_GAS_CONSTANT * log(from->p / to->p) +
                             LB_CP * (log(to->t / from->t) + from->t / to->t - 1));
  }
  for (int k = 0; k < LB_GAS_PARTS; k++)
    part[k] /= gas->speed;
}

size_t lb_gas_sums(const struct lb_gas *gas) {
  return gas->chambers * LB_GAS_SUMS + 1;
}

void lb_gas_worth_rates(double *rate, double angle, size_t segment, const double *state,
                        const void *context) {
  const struct lb_gas *gas = context;
  struct view view;
  look(&view, gas, angle, segment, state);
  put_rates(rate, gas, &view);
  put_worth(rate + gas->chambers * LB_GAS_STATES + lb_gas_sums(gas), gas, &view);
}

/* The slopes of the parts are taken by differences: they serve one revolution only. */
void lb_gas_worth_slopes(double *rate, double *slope, double angle, size_t segment,
                         const double *state, const void *context) {
  const double small = 1e-7; /* [1] of a state */
  const struct lb_gas *gas = context;
  size_t n = gas->chambers * LB_GAS_STATES, first = n + lb_gas_sums(gas);
  double moved[LB_GAS_STATES_MOST], part[LB_GAS_PARTS];
  struct view view;
  lb_gas_slopes(rate, slope, angle, segment, state, context);
  look(&view, gas, angle, segment, state);
  put_worth(rate + first, gas, &view);
  for (size_t j = 0; j < n; j++) {
    memcpy(moved, state, n * sizeof *moved);
    moved[j] *= 1 + small;
    look(&view, gas, angle, segment, moved);
    put_worth(part, gas, &view);
    for (size_t k = 0; k < LB_GAS_PARTS; k++)
      slope[(first + k) * n + j] = (part[k] - rate[first + k]) / (small * state[j]);
  }
}
