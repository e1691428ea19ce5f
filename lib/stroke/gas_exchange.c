/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The equations of a cylinder at speed, from valve event to valve event, and the search for the
 * revolution that repeats itself.
 *
 * The independent variable is the crank angle from the cap-end dead centre. States: p and m of each
 * worked end; sums: work, air from the supply, air to the exhaust of each.
 */
#include "stroke/gas_exchange.h"

#include "base/constants.h"
#include "base/ode.h"
#include "stroke/timing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  STATES_OF_END = 2,
  SUMS_OF_END = 3,
  STATES_MOST = LB_ENDS * STATES_OF_END,
  SUMS_MOST = LB_ENDS * SUMS_OF_END + 1, /* the last: |net force| |dx| */
  PARTS_MOST = 7,
  ROWS_MOST = STATES_MOST + SUMS_MOST + PARTS_MOST,
  STOPS_MOST = LB_ENDS * LB_VALVES * 4 + 2,
  ROUGH_REVOLUTIONS = 40, /* at most before the mesh is frozen */
  FINE_REVOLUTIONS = 20   /* at most afterwards */
};
static const double turn_angle = 2 * LB_PI;
static const double gamma_air = LB_GAMMA;
static const double fine = 2e-7;    /* [1] tolerance of a step; the work errs by less than that */
static const double rough = 1e-3;   /* [1] likewise while the start is far off */
static const double settled = 1e-9; /* [1] residual that is called periodic */
static const double seat_ratio = 0.5, seat_index = 0.5; /* [1] of leaks */

/* Opening of a valve within a segment: at + by * crank angle [1]. */
struct opening {
  double at, by;
};

/* A worked end. */
struct chamber {
  enum lb_end end;
  double area, dead_volume;
  struct opening opening[STOPS_MOST][LB_VALVES]; /* by segment */
};

struct lb_gas {
  struct lb_ode *ode[LB_ENDS + 1];   /* for one and for two worked ends */
  struct lb_ode *audit[LB_ENDS + 1]; /* the same with the parts of the worth */
  const struct lb_machine *machine;
  double speed;
  struct chamber chamber[LB_ENDS]; /* chamber[chambers] */
  size_t chambers;
  double stop[STOPS_MOST];
  size_t stops;
  struct lb_flow piston_leak, rod_leak, seat_leak[LB_VALVES];
  double scale[ROWS_MOST];
};

struct lb_gas *lb_gas_new(void) {
  struct lb_gas *gas = calloc(1, sizeof *gas);
  if (!gas)
    return NULL;
  for (size_t ends = 1; ends <= LB_ENDS; ends++)
    if (!(gas->ode[ends] = lb_ode_new(ends * STATES_OF_END, ends * SUMS_OF_END + 1)) ||
        !(gas->audit[ends] =
              lb_ode_new(ends * STATES_OF_END, ends * SUMS_OF_END + 1 + PARTS_MOST))) {
      lb_gas_free(gas);
      return NULL;
    }
  return gas;
}

void lb_gas_free(struct lb_gas *gas) {
  if (!gas)
    return;
  for (size_t ends = 1; ends <= LB_ENDS; ends++) {
    lb_ode_free(gas->ode[ends]);
    lb_ode_free(gas->audit[ends]);
  }
  free(gas);
}

/* The volume of a chamber [m3] and dV/d(angle), from the piston's travel and its slope. */
static double volume_of(const struct lb_gas *gas, const struct chamber *c, double travel,
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
  const struct chamber *c = &gas->chamber[index];
  const struct opening *inlet = &c->opening[segment][LB_INLET_VALVE], *exhaust = inlet + 1;
  at->in = (struct inflow){0};
  at->streams = 0;
  at->p = state[STATES_OF_END * index];
  at->m = state[STATES_OF_END * index + 1];
  at->volume = volume_of(gas, c, travel, slope, &at->volume_slope);
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
    const struct chamber *c = &gas->chamber[i];
    double force = (view->at[i].p - gas->machine->ambient_pressure) * c->area;
    net += c->end == LB_CAP_END ? force : -force;
  }
  return net;
}

static void put_rates(double *rate, const struct lb_gas *gas, const struct view *view) {
  size_t n = gas->chambers * STATES_OF_END;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view->at[i];
    double way = i == 0 ? -1 : 1; /* the leak is counted from chamber 0 to chamber 1 */
    double mass = at->in.mass + way * view->leak.mass;
    double energy = at->in.energy + way * view->leak.energy;
    rate[STATES_OF_END * i] =
        ((gamma_air - 1) * energy / gas->speed - gamma_air * at->p * at->volume_slope) / at->volume;
    rate[STATES_OF_END * i + 1] = mass / gas->speed;
    rate[n + SUMS_OF_END * i] = at->p * at->volume_slope;
    rate[n + SUMS_OF_END * i + 1] = at->supply / gas->speed;
    rate[n + SUMS_OF_END * i + 2] = -at->exhaust / gas->speed;
  }
  rate[n + gas->chambers * SUMS_OF_END] = fabs(net_force(gas, view) * view->slope);
}

static void rates(double *rate, double angle, size_t segment, const double *state,
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

static void slopes(double *rate, double *slope, double angle, size_t segment, const double *state,
                   const void *context) {
  const struct lb_gas *gas = context;
  struct view view;
  size_t n = gas->chambers * STATES_OF_END;
  look(&view, gas, angle, segment, state);
  put_rates(rate, gas, &view);
  size_t sums = gas->chambers * SUMS_OF_END;
  double grip = copysign(fabs(view.slope), net_force(gas, &view));
  memset(slope, 0, n * (n + sums + 1) * sizeof *slope);
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view.at[i];
    double *pressure = slope + STATES_OF_END * i * n, *mass = pressure + n;
    double *own_sums = slope + (n + SUMS_OF_END * i) * n;
    double per_volume = (gamma_air - 1) / at->volume, area = gas->chamber[i].area;
    for (size_t j = 0; j < gas->chambers; j++) {
      double way = i == 0 ? -1 : 1, own = i == j;
      double energy_by_p = own * at->in.energy_by_p + way * view.leak.energy_by_p[j];
      double energy_by_t = own * at->in.energy_by_t + way * view.leak.energy_by_t[j];
      double mass_by_p = own * at->in.mass_by_p + way * view.leak.mass_by_p[j];
      double mass_by_t = own * at->in.mass_by_t + way * view.leak.mass_by_t[j];
      double share = per_volume / gas->speed;
      put_pair(pressure + STATES_OF_END * j, &view.at[j], share * energy_by_p, share * energy_by_t);
      put_pair(mass + STATES_OF_END * j, &view.at[j], mass_by_p / gas->speed,
               mass_by_t / gas->speed);
    }
    pressure[STATES_OF_END * i] -= gamma_air * at->volume_slope / at->volume;
    own_sums[STATES_OF_END * i] = at->volume_slope;
    slope[(n + sums) * n + STATES_OF_END * i] =
        gas->chamber[i].end == LB_CAP_END ? grip * area : -grip * area;
    put_pair(own_sums + n + STATES_OF_END * i, at, at->supply_by_p / gas->speed,
             at->supply_by_t / gas->speed);
    put_pair(own_sums + 2 * n + STATES_OF_END * i, at, -at->exhaust_by_p / gas->speed,
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

/* The parts of the worth, as sums behind the others. */
enum part {
  SUPPLIED,
  INLET,
  MIXING,
  EXHAUST_VALVE,
  HEAT,
  LEAKAGE,
  EXHAUST,
  PARTS
};

/* What entropy one stream makes, and the exergy it brings or takes [W]. */
static void add_worth(double *part, const struct lb_machine *machine, const struct moment *at,
                      const struct stream *s) {
  double ambient = machine->ambient_temperature, mass = fabs(s->mass);
  bool inwards = s->mass >= 0, leaks = s->way >= SHUT_INLET;
  bool of_supply = s->way == OPEN_INLET || s->way == SHUT_INLET;
  double throttled = ambient * mass * LB_GAS_CONSTANT * fabs(log(s->pressure / at->p));
  double mixed =
      ambient * mass * LB_CP * (log(at->t / s->temperature) + s->temperature / at->t - 1);
  part[leaks ? LEAKAGE : of_supply ? INLET : EXHAUST_VALVE] += throttled;
  if (inwards) {
    part[leaks ? LEAKAGE : MIXING] += mixed;
    part[SUPPLIED] += mass * exergy(machine, s->pressure, s->temperature);
  } else {
    double taken = mass * exergy(machine, s->pressure, at->t);
    if (of_supply)
      part[SUPPLIED] -= taken;
    else
      part[leaks ? LEAKAGE : EXHAUST] += taken;
  }
}

/* The parts of the worth per radian. */
static void put_worth(double *part, const struct lb_gas *gas, const struct view *view) {
  const struct lb_machine *machine = gas->machine;
  double ambient = machine->ambient_temperature;
  memset(part, 0, PARTS * sizeof *part);
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct moment *at = &view->at[i];
    for (int k = 0; k < at->streams; k++)
      add_worth(part, machine, at, &at->stream[k]);
    part[HEAT] += at->wall * (ambient / at->t - 1);
  }
  if (view->leak.mass != 0) {
    const struct moment *from = &view->at[view->leak.mass > 0 ? 0 : 1];
    const struct moment *to = &view->at[view->leak.mass > 0 ? 1 : 0];
    part[LEAKAGE] += ambient * fabs(view->leak.mass) *
                     (LB_GAS_CONSTANT * log(from->p / to->p) +
                      LB_CP * (log(to->t / from->t) + from->t / to->t - 1));
  }
  for (int k = 0; k < PARTS; k++)
    part[k] /= gas->speed;
}

static size_t sums_of(const struct lb_gas *gas) {
  return gas->chambers * SUMS_OF_END + 1;
}

static void audit_rates(double *rate, double angle, size_t segment, const double *state,
                        const void *context) {
  const struct lb_gas *gas = context;
  struct view view;
  look(&view, gas, angle, segment, state);
  put_rates(rate, gas, &view);
  put_worth(rate + gas->chambers * STATES_OF_END + sums_of(gas), gas, &view);
}

/* The slopes of the parts are taken by differences: they serve one revolution only. */
static void audit_slopes(double *rate, double *slope, double angle, size_t segment,
                         const double *state, const void *context) {
  const double small = 1e-7; /* [1] of a state */
  const struct lb_gas *gas = context;
  size_t n = gas->chambers * STATES_OF_END, first = n + sums_of(gas);
  double moved[STATES_MOST], part[PARTS];
  struct view view;
  slopes(rate, slope, angle, segment, state, context);
  look(&view, gas, angle, segment, state);
  put_worth(rate + first, gas, &view);
  for (size_t j = 0; j < n; j++) {
    memcpy(moved, state, n * sizeof *moved);
    moved[j] *= 1 + small;
    look(&view, gas, angle, segment, moved);
    put_worth(part, gas, &view);
    for (size_t k = 0; k < PARTS; k++)
      slope[(first + k) * n + j] = (part[k] - rate[first + k]) / (small * state[j]);
  }
}

static bool possible(const double *state, const void *context) {
  const struct lb_gas *gas = context;
  for (size_t i = 0; i < gas->chambers * STATES_OF_END; i++)
    if (!(state[i] > 0))
      return false;
  return true;
}

/* How far a valve is open at an angle after it begins to open [1], shut again after a window. */
static double opening_at(double since, double window, double ramp) {
  double until = window - since;
  if (since <= 0 || until <= 0)
    return 0;
  return ramp > 0 ? fmin(1, fmin(since, until) / ramp) : 1;
}

/* A valve's opening and window [rad] on the crank, with its ramp. */
struct window {
  double from, width, ramp;
};

static struct window window_of(const struct lb_gas *gas, enum lb_end end, enum lb_valve valve,
                               double cutoff) {
  const struct lb_timing *t = &gas->machine->timing[end];
  double zero = lb_linkage_dead_centre(&gas->machine->linkage, end);
  bool inlet = valve == LB_INLET_VALVE;
  double opens = inlet ? t->inlet_opens : t->release, shuts = inlet ? cutoff : t->exhaust_closes;
  double ramp = t->opening_ramp_time > 0 ? t->opening_ramp_time * gas->speed : t->opening_ramp;
  return (struct window){zero + opens, shuts - opens, fmin(ramp, (shuts - opens) / 2)};
}

/* An angle without whole turns from a start [rad]: start ... start + 2 pi. */
static double within_turn(double angle, double start) {
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
      enum lb_end end = gas->chamber[i].end;
      struct window w = window_of(gas, end, (enum lb_valve)valve, cutoff[end]);
      const double bends[] = {w.from, w.from + w.ramp, w.from + w.width - w.ramp, w.from + w.width};
      for (size_t k = 0; k < sizeof bends / sizeof bends[0]; k++)
        gas->stop[gas->stops++] = within_turn(bends[k], 0);
    }
  qsort(gas->stop, gas->stops, sizeof gas->stop[0], compare);
}

/* The openings within each segment, which are straight there. */
static void set_openings(struct lb_gas *gas, const double *cutoff) {
  for (size_t i = 0; i < gas->chambers; i++)
    for (int valve = 0; valve < LB_VALVES; valve++) {
      enum lb_end end = gas->chamber[i].end;
      struct window w = window_of(gas, end, (enum lb_valve)valve, cutoff[end]);
      for (size_t k = 0; k + 1 < gas->stops; k++) {
        double from = gas->stop[k], width = gas->stop[k + 1] - from;
        double one = from + width / 3, other = from + 2 * width / 3;
        double a = opening_at(within_turn(one, w.from) - w.from, w.width, w.ramp);
        double b = opening_at(within_turn(other, w.from) - w.from, w.width, w.ramp);
        double by = width > 0 ? (b - a) / (other - one) : 0;
        gas->chamber[i].opening[k][valve] = (struct opening){a - by * one, by};
      }
    }
}

static struct lb_flow leak_of(double conductance) {
  return (struct lb_flow){conductance, seat_ratio, seat_index};
}

/* Make ready for some of the worked ends, which are one system. */
static enum lb_status prepare(struct lb_gas *gas, const struct lb_machine *machine,
                              const double *cutoff, double speed, const bool *ends,
                              struct lb_error *error) {
  static const char *const names[LB_VALVES] = {"inlet", "exhaust"};
  gas->machine = machine;
  gas->speed = speed;
  gas->chambers = 0;
  for (int valve = 0; valve < LB_VALVES; valve++) {
    gas->seat_leak[valve] = leak_of(machine->path[valve].seat_leakage);
    if (!(machine->path[valve].flow.conductance > 0))
      return lb_error_set(error, LB_BAD_INPUT,
                          "[%s valve] has no conductance, so that nothing is known of the cycle at "
                          "speed; write e.g. 'conductance = 1.4 L/(s bar)'",
                          names[valve]);
  }
  gas->piston_leak = leak_of(machine->leakage);
  gas->rod_leak = leak_of(machine->rod_seal_leakage);
  for (int end = 0; end < LB_ENDS; end++)
    if (ends[end]) {
      struct chamber *c = &gas->chamber[gas->chambers++];
      c->end = (enum lb_end)end;
      c->area = lb_machine_area(machine, c->end);
      c->dead_volume = machine->dead_volume[end];
    }
  set_stops(gas, cutoff);
  set_openings(gas, cutoff);
  return LB_OK;
}

/* What errors and changes are measured by: supply pressure and a full chamber of air. */
static void set_scale(struct lb_gas *gas) {
  const struct lb_machine *machine = gas->machine;
  size_t n = gas->chambers * STATES_OF_END;
  for (size_t i = 0; i < gas->chambers; i++) {
    double swept = gas->chamber[i].area * machine->linkage.stroke;
    double air = machine->supply_pressure * (swept + gas->chamber[i].dead_volume) /
                 (LB_GAS_CONSTANT * machine->supply_temperature);
    gas->scale[STATES_OF_END * i] = machine->supply_pressure;
    gas->scale[STATES_OF_END * i + 1] = air;
    gas->scale[n + SUMS_OF_END * i] = machine->supply_pressure * swept;
    gas->scale[n + SUMS_OF_END * i + 1] = gas->scale[n + SUMS_OF_END * i + 2] = air;
  }
  for (size_t k = 0; k < PARTS + 1; k++)
    gas->scale[n + gas->chambers * SUMS_OF_END + k] = gas->scale[n];
}

/* Where a chamber may be at the start: open to one side, or between the two. */
static void guess(const struct lb_gas *gas, double *state) {
  const struct lb_machine *machine = gas->machine;
  double angle = gas->stop[0];
  for (size_t i = 0; i < gas->chambers; i++) {
    double unused, p = machine->back_pressure, t = machine->ambient_temperature;
    double volume =
        volume_of(gas, &gas->chamber[i], lb_linkage_travel(&machine->linkage, angle), 0, &unused);
    const struct opening *opening = &gas->chamber[i].opening[0][LB_INLET_VALVE];
    if (opening->at + opening->by * angle > 0)
      p = machine->supply_pressure;
    state[STATES_OF_END * i] = p;
    state[STATES_OF_END * i + 1] = p * volume / (LB_GAS_CONSTANT * t);
  }
}

/* The greatest change of a state over a revolution, as a share of its scale. */
static double change(const struct lb_gas *gas, const double *before, const double *after) {
  double greatest = 0;
  for (size_t i = 0; i < gas->chambers * STATES_OF_END; i++) {
    double share = fabs(after[i] - before[i]) / gas->scale[i];
    if (!(share <= greatest))
      greatest = share;
  }
  return greatest;
}

/* Solve a x = b in place by elimination; a[n][n] is used up. Returns false when it is singular. */
static bool eliminate(double *a, double *b, size_t n) {
  for (size_t i = 0; i < n; i++) {
    size_t best = i;
    for (size_t row = i + 1; row < n; row++)
      if (fabs(a[row * n + i]) > fabs(a[best * n + i]))
        best = row;
    if (!(fabs(a[best * n + i]) > 0))
      return false;
    for (size_t column = 0; column < n; column++) {
      double swap = a[i * n + column];
      a[i * n + column] = a[best * n + column];
      a[best * n + column] = swap;
    }
    double swap = b[i];
    b[i] = b[best];
    b[best] = swap;
    for (size_t row = i + 1; row < n; row++) {
      double factor = a[row * n + i] / a[i * n + i];
      for (size_t column = i; column < n; column++)
        a[row * n + column] -= factor * a[i * n + column];
      b[row] -= factor * b[i];
    }
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t column = i + 1; column < n; column++)
      b[i] -= a[i * n + column] * b[column];
    b[i] /= a[i * n + i];
  }
  return true;
}

/* Newton's step towards a start that repeats itself: start + (1 - sensitivity)^-1 (end - start),
 * with states in their scale. Where it would leave what can be, the end of the revolution is the
 * next start. */
static void improve(const struct lb_gas *gas, double *start, const double *end,
                    const double *sensitivity) {
  double a[STATES_MOST * STATES_MOST], b[STATES_MOST];
  size_t n = gas->chambers * STATES_OF_END;
  for (size_t i = 0; i < n; i++) {
    b[i] = (end[i] - start[i]) / gas->scale[i];
    for (size_t j = 0; j < n; j++)
      a[i * n + j] = (i == j) - sensitivity[i * n + j] * gas->scale[j] / gas->scale[i];
  }
  bool sound = eliminate(a, b, n);
  for (size_t i = 0; i < n; i++) {
    double next = start[i] + b[i] * gas->scale[i];
    sound = sound && next > start[i] / 4 && next < 4 * fmax(start[i], end[i]);
  }
  for (size_t i = 0; i < n; i++)
    start[i] = sound ? start[i] + b[i] * gas->scale[i] : end[i];
}

/* What is noted of a revolution while it is calculated. */
struct notes {
  const struct lb_gas *gas;
  struct lb_gas_turn *turn;                 /* turn[LB_ENDS] */
  double cutoff[LB_ENDS], release[LB_ENDS]; /* [rad] where they stand in the run */
};

static void see(double angle, const double *state, void *context) {
  struct notes *notes = context;
  const struct lb_gas *gas = notes->gas;
  double travel = lb_linkage_travel(&gas->machine->linkage, angle), unused;
  for (size_t i = 0; i < gas->chambers; i++) {
    const struct chamber *c = &gas->chamber[i];
    struct lb_gas_turn *turn = &notes->turn[c->end];
    double p = state[STATES_OF_END * i], m = state[STATES_OF_END * i + 1];
    double t = p * volume_of(gas, c, travel, 0, &unused) / (m * LB_GAS_CONSTANT);
    turn->greatest_pressure = fmax(turn->greatest_pressure, p);
    turn->coldest_temperature = fmin(turn->coldest_temperature, t);
    if (angle == notes->cutoff[i]) {
      turn->cutoff_pressure = p;
      turn->cutoff_temperature = t;
    }
    if (angle == notes->release[i]) {
      turn->release_pressure = p;
      turn->release_temperature = t;
    }
  }
}

static struct lb_ode_problem problem_of(const struct lb_gas *gas, double tolerance) {
  return (struct lb_ode_problem){.rates = rates,
                                 .slopes = slopes,
                                 .possible = possible,
                                 .context = gas,
                                 .scale = gas->scale,
                                 .tolerance = tolerance};
}

/* Revolutions with a mesh of their own until the start is nearly right, coarse ones first, then on
 * a frozen mesh until it is. */
static enum lb_status settle(struct lb_gas *gas, double *start, struct lb_gas_report *report,
                             struct lb_error *error) {
  const double near = 1e-3; /* [1] change at which the fine mesh is made */
  struct lb_ode *ode = gas->ode[gas->chambers];
  double end[STATES_MOST], sum[SUMS_MOST], sensitivity[STATES_MOST * STATES_MOST];
  enum lb_status status = LB_OK;
  bool frozen = false, close = false;
  for (int i = 0; i < ROUGH_REVOLUTIONS + FINE_REVOLUTIONS && status == LB_OK; i++) {
    const struct lb_ode_problem problem = problem_of(gas, close ? fine : rough);
    memcpy(end, start, sizeof end);
    if (frozen)
      status = lb_ode_repeat(ode, &problem, end, sum, sensitivity, error);
    else
      status = lb_ode_run(ode, &problem, end, sum, sensitivity, gas->stop, gas->stops, error);
    if (status != LB_OK)
      return status;
    frozen = close;
    report->revolutions = i + 1;
    report->residual = change(gas, start, end);
    if (frozen && report->residual <= settled)
      return LB_OK;
    close = close || report->residual <= near || i + 1 >= ROUGH_REVOLUTIONS;
    improve(gas, start, end, sensitivity);
  }
  return lb_error_set(
      error, LB_NUMERIC,
      "no revolution repeats itself: after %d of them the state still changes by %.1e "
      "of itself",
      report->revolutions, report->residual);
}

/* Where a chamber's events stand in a revolution that is looked at. */
static void set_events(struct notes *notes, const struct lb_gas *gas, const double *cutoff) {
  for (size_t i = 0; i < gas->chambers; i++) {
    enum lb_end end = gas->chamber[i].end;
    struct window inlet = window_of(gas, end, LB_INLET_VALVE, cutoff[end]);
    struct window exhaust = window_of(gas, end, LB_EXHAUST_VALVE, cutoff[end]);
    notes->cutoff[i] = within_turn(inlet.from + inlet.width, 0);
    notes->release[i] = within_turn(exhaust.from, 0);
    notes->turn[end].coldest_temperature = (double)INFINITY;
  }
}

static void put_parts(struct lb_gas_worth *worth, const double *part) {
  *worth = (struct lb_gas_worth){.supplied = part[SUPPLIED],
                                 .inlet = part[INLET],
                                 .mixing = part[MIXING],
                                 .exhaust_valve = part[EXHAUST_VALVE],
                                 .heat = part[HEAT],
                                 .leakage = part[LEAKAGE],
                                 .exhaust = part[EXHAUST]};
}

/* One revolution of all worked ends from the start that was found, looking at everything. */
static enum lb_status look_through(struct lb_gas *gas, struct lb_gas_cylinder *cylinder,
                                   bool with_worth, double *start, const double *cutoff,
                                   struct lb_error *error) {
  struct lb_ode *ode = with_worth ? gas->audit[gas->chambers] : gas->ode[gas->chambers];
  struct lb_ode_problem problem = problem_of(gas, fine);
  struct notes notes = {.gas = gas, .turn = cylinder->end};
  double sum[SUMS_MOST + PARTS_MOST];
  if (with_worth) {
    problem.rates = audit_rates;
    problem.slopes = audit_slopes;
  }
  set_events(&notes, gas, cutoff);
  lb_ode_observe(ode, see, &notes);
  enum lb_status status = lb_ode_run(ode, &problem, start, sum, NULL, gas->stop, gas->stops, error);
  lb_ode_observe(ode, NULL, NULL);
  if (status != LB_OK)
    return status;
  for (size_t i = 0; i < gas->chambers; i++) {
    struct lb_gas_turn *t = &cylinder->end[gas->chamber[i].end];
    t->work = sum[SUMS_OF_END * i];
    t->air = sum[SUMS_OF_END * i + 1];
    t->exhausted = sum[SUMS_OF_END * i + 2];
  }
  cylinder->absolute_force = sum[gas->chambers * SUMS_OF_END];
  if (with_worth)
    put_parts(&cylinder->worth, sum + sums_of(gas));
  return LB_OK;
}

/* What is asked about a cylinder. */
struct question {
  const struct lb_machine *machine;
  const double *cutoff;
  double speed;
};

/* Find the periodic start of some ends, which are one system; the report becomes that of the worst.
 * start  out: start[STATES_OF_END * ends], the ends in order */
static enum lb_status find_start(struct lb_gas *gas, double *start, struct lb_gas_report *report,
                                 const struct question *q, const bool *ends,
                                 struct lb_error *error) {
  struct lb_gas_report found = {0};
  enum lb_status status = prepare(gas, q->machine, q->cutoff, q->speed, ends, error);
  if (status != LB_OK)
    return status;
  set_scale(gas);
  guess(gas, start);
  status = settle(gas, start, &found, error);
  if (found.revolutions > report->revolutions)
    report->revolutions = found.revolutions;
  report->residual = fmax(report->residual, found.residual);
  return status;
}

enum lb_status lb_gas_solve(struct lb_gas *gas, struct lb_gas_cylinder *cylinder, bool with_worth,
                            const struct lb_machine *machine, const double *cutoff, double speed,
                            struct lb_error *error) {
  const struct question q = {machine, cutoff, speed};
  double start[STATES_MOST];
  size_t states = 0;
  enum lb_status status = LB_OK;
  *cylinder = (struct lb_gas_cylinder){0};
  if (machine->leakage > 0)
    status = find_start(gas, start, &cylinder->report, &q, machine->works, error);
  for (int end = 0; end < LB_ENDS && machine->leakage <= 0 && status == LB_OK; end++) {
    const bool alone[LB_ENDS] = {end == LB_CAP_END, end == LB_ROD_END};
    if (!machine->works[end])
      continue;
    status = find_start(gas, start + states, &cylinder->report, &q, alone, error);
    states += STATES_OF_END;
  }
  if (status == LB_OK)
    status = prepare(gas, machine, cutoff, speed, machine->works, error);
  if (status != LB_OK)
    return status;
  set_scale(gas);
  return look_through(gas, cylinder, with_worth, start, cutoff, error);
}

_Static_assert((int)PARTS == (int)PARTS_MOST, "PARTS_MOST is wrong");
