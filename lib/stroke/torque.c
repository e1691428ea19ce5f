/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Torque and dead arcs. Invariant: every search stays between two neighbouring events, where the
 * torque is smooth.
 */
#include "stroke/torque.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "stroke/force.h"

#include <math.h>

/* Samples between two events: two extremes of a torque curve between the same events are never
 * closer than that, at the dozen harmonics a crank mechanism shows. */
enum {
  SAMPLES = 24,
  EVENTS_MOST = LB_CYLINDERS_MOST * LB_FORCE_POINTS
};

/* How far from an event its side is looked at [rad], and how exactly angles are found [rad]. */
static const double beside = 1e-9;
static const double angle_tolerance = 1e-12, extreme_tolerance = 1e-8;
/* Torque below this share of the largest there can be counts as none: rounding [1]. */
static const double nothing = 1e-12;
/* Supply pressures are searched from back pressure, where the inlet makes no difference, to this
 * many times the greater of ambient and back pressure [1], and to [Pa]. */
static const double greatest_supply = 1e3, supply_tolerance = 0.01;

double lb_torque_cylinder(const struct lb_cycle *cycle, const double *cutoff, enum lb_motion motion,
                          double crank_angle) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  const struct lb_force *force = lb_cycle_force(cycle);
  double pressure[LB_ENDS], slope = lb_linkage_slope(&m->linkage, crank_angle);
  if (motion == LB_RUNNING)
    lb_force_pressures(pressure, force, cutoff, crank_angle);
  else
    lb_force_standstill(pressure, force, cutoff, crank_angle);
  double net = lb_force_net(force, pressure);
  double constant = motion == LB_RUNNING ? m->friction : m->breakaway_friction;
  return net * slope - (constant + m->friction_share * fabs(net)) * fabs(slope);
}

double lb_torque_machine(const struct lb_cycle *cycle, const double *cutoff, enum lb_motion motion,
                         double crank_angle) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double torque = 0;
  for (int k = 0; k < m->cylinders; k++)
    torque += lb_torque_cylinder(cycle, cutoff, motion, crank_angle - m->crank_angle[k]);
  return torque;
}

static double wrapped(double angle) {
  double turned = fmod(angle, 2 * LB_PI);
  return turned < 0 ? turned + 2 * LB_PI : turned;
}

/* Every event of every cylinder in order of crank angle, closed by the first one a turn later. */
struct events {
  double angle[EVENTS_MOST + 1];
  size_t count;
};

static void add_event(struct events *e, double angle) {
  size_t i = e->count++;
  for (; i > 0 && e->angle[i - 1] > angle; i--)
    e->angle[i] = e->angle[i - 1];
  e->angle[i] = angle;
}

static void find_events(struct events *e, const struct lb_cycle *cycle, const double *cutoff) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  const struct lb_force *force = lb_cycle_force(cycle);
  e->count = 0;
  for (int k = 0; k < m->cylinders; k++) {
    for (int i = 0; i < force->points; i++)
      add_event(e, wrapped(force->point[i].angle + m->crank_angle[k]));
    for (int i = 0; i < LB_ENDS; i++)
      if (m->works[i])
        add_event(e, wrapped(lb_linkage_dead_centre(&m->linkage, (enum lb_end)i) + cutoff[i] +
                             m->crank_angle[k]));
  }
  e->angle[e->count] = e->angle[0] + 2 * LB_PI;
}

/* The torque less a load, turned upside down for a search of the greatest. */
struct curve {
  const struct lb_cycle *cycle;
  const double *cutoff;
  enum lb_motion motion;
  double load, sign;
};

static double curve_at(double angle, void *context) {
  const struct curve *c = context;
  return c->sign * (lb_torque_machine(c->cycle, c->cutoff, c->motion, angle) - c->load);
}

/* The lowest point of a curve between two events, from samples and a search round the lowest. */
static enum lb_status lowest_between(double *angle, double *value, struct curve *c, double from,
                                     double to, struct lb_error *error) {
  double step = (to - from) / SAMPLES;
  int lowest = 0;
  for (int i = 0; i <= SAMPLES; i++) {
    double here = curve_at(from + i * step, c);
    if (i == 0 || here < *value) {
      *value = here;
      lowest = i;
    }
  }
  double inner = step / 1024; /* an end is no guess: the minimum may lie just inside it */
  *angle = fmin(fmax(from + lowest * step, from + inner), to - inner);
  enum lb_status status =
      lb_numeric_lowest(lb_cycle_workspace(c->cycle), angle, curve_at, c, fmax(from, *angle - step),
                        fmin(to, *angle + step), extreme_tolerance, error);
  *value = curve_at(*angle, c);
  return status;
}

/* The lowest point of a curve over the revolution. */
static enum lb_status lowest_of(double *angle, double *value, struct curve *c,
                                struct lb_error *error) {
  struct events events;
  find_events(&events, c->cycle, c->cutoff);
  *value = (double)INFINITY;
  for (size_t i = 0; i < events.count; i++) {
    double from = events.angle[i] + beside, to = events.angle[i + 1] - beside, at, low;
    if (to <= from)
      continue;
    enum lb_status status = lowest_between(&at, &low, c, from, to, error);
    if (status != LB_OK)
      return status;
    /* Cylinders alike have extremes alike: the first of them is told, whatever the rounding. */
    if (*value == (double)INFINITY || low < *value - nothing * fmax(fabs(low), fabs(*value))) {
      *value = low;
      *angle = wrapped(at);
    }
  }
  return LB_OK;
}

enum lb_status lb_torque_range(struct lb_torque_range *range, const struct lb_cycle *cycle,
                               const double *cutoff, enum lb_motion motion,
                               struct lb_error *error) {
  struct lb_torque_range r;
  struct curve curve = {cycle, cutoff, motion, 0, 1};
  enum lb_status status = lowest_of(&r.least_angle, &r.least, &curve, error);
  if (status != LB_OK)
    return status;
  curve.sign = -1;
  status = lowest_of(&r.greatest_angle, &r.greatest, &curve, error);
  if (status != LB_OK)
    return status;
  r.greatest = -r.greatest;
  *range = r;
  return LB_OK;
}

/* ---------- swing ---------- */

/* The integral of a curve between two angles between which it is smooth, by the five-point rule of
 * Gauss and Legendre. */
static double area_of(struct curve *c, double from, double to) {
  double far = sqrt(5 + 2 * sqrt(10 / 7.0)) / 3, near = sqrt(5 - 2 * sqrt(10 / 7.0)) / 3;
  double heavy = (322 + 13 * sqrt(70)) / 900, light = (322 - 13 * sqrt(70)) / 900;
  double middle = (from + to) / 2, half = (to - from) / 2;
  return half * (128 / 225.0 * curve_at(middle, c) +
                 heavy * (curve_at(middle - half * near, c) + curve_at(middle + half * near, c)) +
                 light * (curve_at(middle - half * far, c) + curve_at(middle + half * far, c)));
}

/* The energy given so far, and its extremes. */
struct given {
  double energy, least, greatest; /* [J] */
  double least_angle, greatest_angle;
};

static void note_energy(struct given *g, double energy, double angle) {
  if (energy < g->least) {
    g->least = energy;
    g->least_angle = wrapped(angle);
  }
  if (energy > g->greatest) {
    g->greatest = energy;
    g->greatest_angle = wrapped(angle);
  }
}

/* Go from one event to the next. Extremes lie at events, or where the curve passes through zero. */
static enum lb_status give(struct given *g, struct curve *c, double from, double to,
                           struct lb_error *error) {
  double step = (to - from) / SAMPLES, inside = fmin(beside, step / 4);
  for (int i = 0; i < SAMPLES; i++) {
    double a = from + i * step, b = a + step, root = a;
    double at_a = curve_at(i == 0 ? a + inside : a, c);
    double at_b = curve_at(i + 1 == SAMPLES ? b - inside : b, c);
    if (!isfinite(at_a) || !isfinite(at_b))
      return lb_error_set(error, LB_NUMERIC, "the torque is not finite near %.3g rad", a);
    if (at_a * at_b < 0) {
      enum lb_status status =
          lb_numeric_root(lb_cycle_workspace(c->cycle), &root, curve_at, c, i == 0 ? a + inside : a,
                          i + 1 == SAMPLES ? b - inside : b, angle_tolerance, error);
      if (status != LB_OK)
        return status;
      note_energy(g, g->energy + area_of(c, a, root), root);
    }
    g->energy += area_of(c, a, b);
    note_energy(g, g->energy, b);
  }
  return LB_OK;
}

/* Go once round. */
static enum lb_status give_all(struct given *g, struct curve *c, struct lb_error *error) {
  struct events events;
  find_events(&events, c->cycle, c->cutoff);
  *g = (struct given){.least_angle = wrapped(events.angle[0]),
                      .greatest_angle = wrapped(events.angle[0])};
  enum lb_status status = LB_OK;
  for (size_t i = 0; i < events.count && status == LB_OK; i++)
    if (events.angle[i + 1] - events.angle[i] > 2 * beside)
      status = give(g, c, events.angle[i], events.angle[i + 1], error);
  return status;
}

enum lb_status lb_torque_swing(struct lb_torque_swing *swing, const struct lb_cycle *cycle,
                               const double *cutoff, struct lb_error *error) {
  struct curve curve = {cycle, cutoff, LB_RUNNING, 0, 1};
  struct given given;
  enum lb_status status = give_all(&given, &curve, error);
  if (status != LB_OK)
    return status;
  curve.load = given.energy / (2 * LB_PI);
  status = give_all(&given, &curve, error);
  if (status != LB_OK)
    return status;
  *swing = (struct lb_torque_swing){.mean = curve.load,
                                    .energy = given.greatest - given.least,
                                    .slowest = given.least_angle,
                                    .fastest = given.greatest_angle};
  return LB_OK;
}

/* The largest torque that gas could ever give, as a measure of rounding [N m]. */
static double scale(const struct lb_machine *m) {
  double area = fmax(lb_machine_area(m, LB_CAP_END), lb_machine_area(m, LB_ROD_END));
  return m->cylinders * area * m->linkage.stroke *
         (m->supply_pressure + m->back_pressure + m->ambient_pressure);
}

/* Dead arcs in the making. */
struct arcs {
  struct lb_arc *arc;
  size_t count;
};

static void add_arc(struct arcs *a, double from, double to) {
  if (a->count > 0 && from - a->arc[a->count - 1].to <= 3 * beside)
    a->arc[a->count - 1].to = to;
  else if (a->count < LB_ARCS_MOST)
    a->arc[a->count++] = (struct lb_arc){from, to};
}

/* Between two neighbouring samples, at least one of them dead; where just one is, to the root. */
static enum lb_status add_sample(struct arcs *a, struct curve *c, double from, double to,
                                 bool from_live, bool to_live, struct lb_error *error) {
  if (from_live && to_live)
    return LB_OK;
  double crossing = from;
  if (from_live != to_live) {
    double at_from = curve_at(from, c), at_to = curve_at(to, c);
    if (at_from * at_to < 0) {
      enum lb_status status = lb_numeric_root(lb_cycle_workspace(c->cycle), &crossing, curve_at, c,
                                              from, to, angle_tolerance, error);
      if (status != LB_OK)
        return status;
    } else { /* it touches zero at one of them: that one is the limit */
      crossing = from_live ? to : from;
    }
  }
  add_arc(a, from_live ? crossing : from, to_live ? crossing : to);
  return LB_OK;
}

/* The dead arcs between two events. */
static enum lb_status scan(struct arcs *a, struct curve *c, double from, double to, double tiny,
                           struct lb_error *error) {
  double step = (to - from) / SAMPLES, last = from;
  bool last_live = curve_at(from, c) > tiny;
  double dip, depth;
  enum lb_status status = lowest_between(&dip, &depth, c, from, to, error);
  struct curve over = *c;
  double top, height;
  over.sign = -1;
  if (status == LB_OK)
    status = lowest_between(&top, &height, &over, from, to, error);
  for (int i = 1; status == LB_OK && i <= SAMPLES; i++) {
    double next = i == SAMPLES ? to : from + i * step;
    bool live = curve_at(next, c) > tiny;
    if (last_live && live && dip > last && dip < next && depth <= tiny) {
      /* a dip between two live samples */
      status = add_sample(a, c, last, dip, true, false, error);
      if (status == LB_OK)
        status = add_sample(a, c, dip, next, false, true, error);
    } else if (!last_live && !live && top > last && top < next && -height > tiny) {
      /* a live sliver between two dead ones */
      status = add_sample(a, c, last, top, false, true, error);
      if (status == LB_OK)
        status = add_sample(a, c, top, next, true, false, error);
    } else {
      status = add_sample(a, c, last, next, last_live, live, error);
    }
    last = next;
    last_live = live;
  }
  return status;
}

/* Take back the distance kept from events: a limit that close to one is the event. */
static void snap(struct arcs *a, const struct events *events) {
  for (size_t i = 0; i < 2 * a->count; i++) {
    double *limit = i % 2 ? &a->arc[i / 2].to : &a->arc[i / 2].from;
    for (size_t k = 0; k <= events->count; k++)
      if (fabs(*limit - events->angle[k]) <= 2 * beside)
        *limit = events->angle[k];
  }
}

/* An arc that ends where the first one begins, a turn later, is part of it. */
static void close_turn(struct arcs *a) {
  double turn = 2 * LB_PI;
  if (a->count > 1 && a->arc[0].from + turn - a->arc[a->count - 1].to <= 3 * beside) {
    a->arc[a->count - 1].to = a->arc[0].to + turn;
    for (size_t i = 1; i < a->count; i++)
      a->arc[i - 1] = a->arc[i];
    a->count--;
  }
  for (size_t i = 0; i < a->count; i++)
    if (a->arc[i].from >= turn) {
      a->arc[i].from -= turn;
      a->arc[i].to -= turn;
    }
}

enum lb_status lb_torque_dead_arcs(struct lb_arc *arc, size_t *count, const struct lb_cycle *cycle,
                                   const double *cutoff, double load, struct lb_error *error) {
  struct events events;
  struct curve curve = {cycle, cutoff, LB_STANDSTILL, load, 1};
  struct arcs arcs = {.arc = arc};
  double tiny = nothing * scale(lb_cycle_machine(cycle));
  find_events(&events, cycle, cutoff);
  for (size_t i = 0; i < events.count; i++) {
    double from = events.angle[i] + beside, to = events.angle[i + 1] - beside;
    if (to <= from)
      continue;
    enum lb_status status = scan(&arcs, &curve, from, to, tiny, error);
    if (status != LB_OK)
      return status;
  }
  snap(&arcs, &events);
  close_turn(&arcs);
  *count = arcs.count;
  return LB_OK;
}

/* The extreme torque at standstill less the load, as a function of the supply pressure. */
struct starting {
  struct lb_cycle *cycle;
  struct lb_machine machine;
  const double *cutoff;
  double load, sign; /* sign 1: the least torque, -1: the greatest */
  double angle;      /* out: where that is [rad] */
};

static double starting_torque(double supply_pressure, void *context) {
  struct starting *s = context;
  double value;
  s->machine.supply_pressure = supply_pressure;
  if (lb_cycle_prepare(s->cycle, &s->machine, NULL) != LB_OK)
    return (double)NAN;
  struct curve curve = {s->cycle, s->cutoff, LB_STANDSTILL, s->load, s->sign};
  if (lowest_of(&s->angle, &value, &curve, NULL) != LB_OK)
    return (double)NAN;
  return s->sign * value - nothing * scale(&s->machine);
}

/* The pressure at which starting_torque changes sign; found is false when it stays negative. */
static enum lb_status least_supply(bool *found, double *pressure, struct starting *s,
                                   struct lb_workspace *workspace, struct lb_error *error) {
  double low = s->machine.back_pressure;
  double high = greatest_supply * fmax(s->machine.ambient_pressure, low);
  *found = starting_torque(high, s) > 0;
  *pressure = 0;
  if (!*found)
    return LB_OK;
  if (starting_torque(low, s) > 0) {
    *pressure = low;
    return LB_OK;
  }
  return lb_numeric_root(workspace, pressure, starting_torque, s, low, high, supply_tolerance,
                         error);
}

enum lb_status lb_torque_starting_supply(struct lb_starting_supply *supply,
                                         const struct lb_cycle *cycle, const double *cutoff,
                                         double load, struct lb_error *error) {
  struct lb_starting_supply found = {0};
  struct starting s = {lb_cycle_new(), *lb_cycle_machine(cycle), cutoff, load, 1, 0};
  if (!s.cycle)
    return lb_error_set(error, LB_NO_MEMORY, "out of memory");
  struct lb_workspace *workspace = lb_cycle_workspace(cycle);
  enum lb_status status =
      least_supply(&found.anywhere_found, &found.anywhere, &s, workspace, error);
  s.sign = -1;
  if (status == LB_OK)
    status = least_supply(&found.best_found, &found.best, &s, workspace, error);
  if (status == LB_OK && found.best_found) {
    starting_torque(found.best, &s);
    found.best_angle = s.angle;
  }
  lb_cycle_free(s.cycle);
  if (status == LB_OK)
    *supply = found;
  return status;
}
