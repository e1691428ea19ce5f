/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Geometry, valves and gas of one chamber.
 */
#include "peer_equations.h"

#include <math.h>
#include <stdlib.h>

static const double pi = 3.14159265358979323846;
static const double gas_constant = 287.05, ratio_of_heats = 1.4;               /* [J/(kg K)], [1] */
static const double heat_capacity = 287.05 * 1.4 / (1.4 - 1);                  /* [J/(kg K)] */
static const double reference_density = 1.185, reference_temperature = 293.15; /* ISO 8778 */
static const double square_root = 0.5;      /* [1] the subsonic index */
static const double straight_above = 0.999; /* [1] ratio from which phi is a line */

/* Where a valve opens and shuts on the crank [rad], and how long a ramp takes. */
struct window {
  double opens, width, ramp;
};

static double forward(double from, double to) {
  double way = fmod(to - from, 2 * pi);
  return way < 0 ? way + 2 * pi : way;
}

static double share_open(const struct window *w, double angle) {
  double since = forward(w->opens, angle), left = w->width - since;
  if (left <= 0)
    return 0;
  return w->ramp > 0 ? fmin(1, fmin(since, left) / w->ramp) : 1;
}

static int ascending(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void set_stops(struct peer_chamber *c, const struct window *window) {
  c->stop[c->stops++] = 0;
  c->stop[c->stops++] = 2 * pi;
  for (int v = 0; v < LB_VALVES; v++) {
    const struct window *w = &window[v];
    const double after[] = {0, w->ramp, w->width - w->ramp, w->width};
    for (int k = 0; k < 4; k++)
      c->stop[c->stops++] = forward(0, w->opens + after[k]);
  }
  qsort(c->stop, (size_t)c->stops, sizeof c->stop[0], ascending);
}

/* The straight line through two angles inside each piece. */
static void set_openings(struct peer_chamber *c, const struct window *window) {
  for (int k = 0; k + 1 < c->stops; k++)
    for (int v = 0; v < LB_VALVES; v++) {
      double quarter = (c->stop[k + 1] - c->stop[k]) / 4, first = c->stop[k] + quarter;
      double low = share_open(&window[v], first);
      double high = share_open(&window[v], first + 2 * quarter);
      double by = quarter > 0 ? (high - low) / (2 * quarter) : 0;
      c->opening[k][v] = (struct peer_opening){low - by * first, by};
    }
}

static struct peer_valve valve_of(const struct lb_path *path, double pressure, double temperature) {
  return (struct peer_valve){.choked = path->flow.conductance * reference_density *
                                       sqrt(reference_temperature),
                             .critical = path->flow.critical_ratio,
                             .pressure = pressure,
                             .temperature = temperature,
                             .root = sqrt(temperature)};
}

static void set_geometry(struct peer_chamber *c, const struct lb_machine *m, enum lb_end end) {
  double rod = end == LB_CAP_END ? m->through_rod_diameter : m->rod_diameter;
  double pivot = m->linkage.length, radius = m->linkage.crank_radius;
  c->area = pi / 4 * (m->bore * m->bore - rod * rod);
  c->dead = m->dead_volume[end];
  c->first = end == LB_CAP_END ? c->dead : c->dead + c->area * 2 * radius;
  c->by_travel = end == LB_CAP_END ? c->area : -c->area;
  c->squares = pivot * pivot + radius * radius;
  c->product = pivot * radius;
  c->near_centre = pivot - radius;
  c->perimeter = pi * m->bore;
}

/* The volume [m3] and its derivative by the crank angle. */
static double volume_at(const struct peer_chamber *c, double angle, double *slope) {
  double reach = sqrt(c->squares - 2 * c->product * cos(angle));
  *slope = c->by_travel * c->product * sin(angle) / reach;
  return c->first + c->by_travel * (reach - c->near_centre);
}

static void set_start(struct peer_chamber *c, const struct lb_machine *m) {
  double unused;
  const struct peer_opening *inlet = &c->opening[0][LB_INLET_VALVE];
  double pressure = inlet->at > 0 || inlet->by > 0 ? m->supply_pressure : m->back_pressure;
  double air = pressure * volume_at(c, 0, &unused) / (gas_constant * m->ambient_temperature);
  c->start[PEER_PRESSURE] = pressure / c->scale[PEER_PRESSURE];
  c->start[PEER_AIR] = air / c->scale[PEER_AIR];
  c->start[PEER_WORK] = 0;
}

static bool of_its_kind(const struct lb_machine *m, enum lb_end end) {
  const struct lb_timing *t = &m->timing[end];
  bool is = m->linkage.kind == LB_SWINGING && m->works[end] && m->leakage <= 0 &&
            m->rod_seal_leakage <= 0 && m->supply_line.conductance <= 0 && t->cutoff_given &&
            t->opening_ramp_time <= 0 && !t->angles_are_switching;
  for (int v = 0; v < LB_VALVES; v++)
    is = is && m->path[v].seat_leakage <= 0 && m->path[v].flow.conductance > 0 &&
         fabs(m->path[v].flow.subsonic_index - square_root) <= 0;
  return is;
}

bool peer_chamber_set(struct peer_chamber *c, const struct lb_machine *m, enum lb_end end,
                      double speed) {
  const struct lb_timing *t = &m->timing[end];
  double centre = end == LB_CAP_END ? 0 : pi;
  struct window window[LB_VALVES] = {{centre + t->inlet_opens, t->cutoff - t->inlet_opens, 0},
                                     {centre + t->release, t->exhaust_closes - t->release, 0}};
  if (!of_its_kind(m, end))
    return false;
  *c = (struct peer_chamber){
      .heat = m->wall_heat_transfer, .wall = m->ambient_temperature, .speed = speed};
  set_geometry(c, m, end);
  double swept = c->area * 2 * m->linkage.crank_radius;
  c->scale[PEER_PRESSURE] = m->supply_pressure;
  c->scale[PEER_AIR] =
      m->supply_pressure * (swept + c->dead) / (gas_constant * m->supply_temperature);
  c->scale[PEER_WORK] = m->supply_pressure * swept;
  c->valve[LB_INLET_VALVE] =
      valve_of(&m->path[LB_INLET_VALVE], m->supply_pressure, m->supply_temperature);
  c->valve[LB_EXHAUST_VALVE] =
      valve_of(&m->path[LB_EXHAUST_VALVE], m->back_pressure, m->ambient_temperature);
  for (int v = 0; v < LB_VALVES; v++)
    window[v].ramp = fmin(t->opening_ramp, window[v].width / 2);
  set_stops(c, window);
  set_openings(c, window);
  set_start(c, m);
  return true;
}

/* What flows into the chamber: mass [kg/s] and power [W], with their derivatives by its pressure
 * and temperature. */
struct inflow {
  double mass, mass_p, mass_t, power, power_p, power_t;
};

/* phi and its slope. */
static double share_of_choked(double critical, double ratio, double *slope) {
  *slope = 0;
  if (ratio <= critical)
    return 1;
  double bent = fmin(ratio, straight_above), z = (bent - critical) / (1 - critical);
  double phi = sqrt(1 - z * z);
  *slope = -z / (phi * (1 - critical));
  if (ratio > straight_above) {
    *slope = -phi / (1 - straight_above);
    phi *= (1 - ratio) / (1 - straight_above);
  }
  return phi;
}

static void add_valve(struct inflow *in, const struct peer_valve *v, double opening, double p,
                      double t) {
  double slope, choked = opening * v->choked;
  if (p <= v->pressure) {
    double k = choked / v->root;
    double mass = k * v->pressure * share_of_choked(v->critical, p / v->pressure, &slope);
    in->mass += mass;
    in->mass_p += k * slope;
    in->power += heat_capacity * v->temperature * mass;
    in->power_p += heat_capacity * v->temperature * k * slope;
  } else {
    double ratio = v->pressure / p, k = choked / sqrt(t);
    double phi = share_of_choked(v->critical, ratio, &slope), mass = -k * p * phi;
    double mass_p = -k * (phi - ratio * slope);
    in->mass += mass;
    in->mass_p += mass_p;
    in->mass_t -= mass / (2 * t);
    in->power += heat_capacity * t * mass;
    in->power_p += heat_capacity * t * mass_p;
    in->power_t += heat_capacity * mass / 2;
  }
}

void peer_chamber_rates(double *rate, double (*column)[PEER_STATES], const struct peer_chamber *c,
                        int piece, double angle, const double *state) {
  const double *scale = c->scale;
  double p = state[PEER_PRESSURE] * scale[PEER_PRESSURE], m = state[PEER_AIR] * scale[PEER_AIR];
  double volume_slope, volume = volume_at(c, angle, &volume_slope);
  double t = p * volume / (m * gas_constant);
  double conduction =
      c->heat * (2 * c->area + c->perimeter * (volume - c->dead) / c->area); /* [W/K] */
  struct inflow in = {.power = conduction * (c->wall - t), .power_t = -conduction};
  for (int v = 0; v < LB_VALVES; v++) {
    double opening = c->opening[piece][v].at + c->opening[piece][v].by * angle;
    if (opening > 0)
      add_valve(&in, &c->valve[v], opening, p, t);
  }
  double by_power = (ratio_of_heats - 1) / (volume * c->speed);
  double squeeze = ratio_of_heats * volume_slope / volume;
  rate[PEER_PRESSURE] = (by_power * in.power - squeeze * p) / scale[PEER_PRESSURE];
  rate[PEER_AIR] = in.mass / (c->speed * scale[PEER_AIR]);
  rate[PEER_WORK] = p * volume_slope / scale[PEER_WORK];
  if (!column)
    return;
  double power_p = in.power_p + in.power_t * t / p, mass_p = in.mass_p + in.mass_t * t / p;
  double air_to_pressure = scale[PEER_AIR] / scale[PEER_PRESSURE];
  column[0][PEER_PRESSURE] = by_power * power_p - squeeze;
  column[0][PEER_AIR] = mass_p / (c->speed * air_to_pressure);
  column[0][PEER_WORK] = volume_slope * scale[PEER_PRESSURE] / scale[PEER_WORK];
  column[1][PEER_PRESSURE] = -by_power * in.power_t * t / m * air_to_pressure;
  column[1][PEER_AIR] = -in.mass_t * t / (m * c->speed);
  column[1][PEER_WORK] = 0;
}

double peer_chamber_change(const double *before, const double *after) {
  return fmax(fabs(after[PEER_PRESSURE] - before[PEER_PRESSURE]),
              fabs(after[PEER_AIR] - before[PEER_AIR]));
}
