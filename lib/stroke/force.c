/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Walks once round the crank from event to event. Invariant: between two points each end is in one
 * phase, with its pressure at the start known.
 */
#include "stroke/force.h"

#include "base/constants.h"
#include "physics/air.h"
#include "stroke/timing.h"

#include <math.h>

/* How exactly the change of sign is placed: the integral is wrong by the square of this, its
 * derivative by its first power. Share of the stroke [1]. */
static const double crossing_tolerance = 1e-13;

/* An exhaust that closes this close to the inlet's opening leaves no compression [rad]: the two
 * angles, reduced to one turn, might otherwise change places by rounding. */
static const double no_compression = 1e-9;

/* What an end is doing; each event of enum lb_event starts the phase of the same number. */
enum phase {
  ADMISSION = LB_INLET_OPENS,
  EXPANSION = LB_CUTOFF,
  EXHAUST = LB_RELEASE,
  COMPRESSION = LB_EXHAUST_CLOSES,
  IDLE
};

struct walker {
  const struct lb_force *force;
  enum phase phase[LB_ENDS];
  double pressure[LB_ENDS]; /* at the start of the segment [Pa absolute] */
  double travel;            /* there [m] */
};

static double full_turn(double angle) {
  double turned = fmod(angle, 2 * LB_PI);
  return turned < 0 ? turned + 2 * LB_PI : turned;
}

/* Keep point[] sorted by angle. A cut-off goes before what happens at the same angle (a release);
 * nothing else can coincide at one end. */
static int insert(struct lb_force_point *point, int points, struct lb_force_point added) {
  int i = points;
  for (; i > 0 && (point[i - 1].angle > added.angle ||
                   (point[i - 1].angle == added.angle && point[i - 1].event > added.event));
       i--)
    point[i] = point[i - 1];
  point[i] = added;
  return points + 1;
}

static struct lb_force_point point_at(const struct lb_machine *machine, enum lb_end end,
                                      enum lb_event event, double angle) {
  double crank = full_turn(lb_linkage_dead_centre(&machine->linkage, end) + angle);
  return (struct lb_force_point){crank, lb_linkage_travel(&machine->linkage, crank), event, end};
}

void lb_force_prepare(struct lb_force *force, const struct lb_machine *machine,
                      const struct lb_chamber *chamber) {
  *force = (struct lb_force){.machine = machine, .chamber = chamber};
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    const struct lb_timing *t = &machine->timing[end];
    force->area[end] = lb_machine_area(machine, end);
    force->points = insert(force->point, force->points, point_at(machine, end, LB_DEAD_CENTRE, 0));
    if (!machine->works[end])
      continue;
    if (t->exhaust_closes - t->inlet_opens < 2 * LB_PI - no_compression)
      force->points = insert(force->point, force->points,
                             point_at(machine, end, LB_EXHAUST_CLOSES, t->exhaust_closes));
    force->points =
        insert(force->point, force->points, point_at(machine, end, LB_INLET_OPENS, t->inlet_opens));
    force->points =
        insert(force->point, force->points, point_at(machine, end, LB_RELEASE, t->release));
  }
}

static double volume(const struct lb_force *f, enum lb_end end, double travel) {
  double distance = end == LB_CAP_END ? travel : f->machine->linkage.stroke - travel;
  return f->machine->dead_volume[end] + f->area[end] * distance;
}

static double exponent(const struct walker *w, enum lb_end end) {
  const struct lb_conditions *c = &w->force->chamber[end].conditions;
  return w->phase[end] == EXPANSION ? c->expansion_exponent : c->compression_exponent;
}

static int shut(const struct walker *w, enum lb_end end) {
  return w->phase[end] == EXPANSION || w->phase[end] == COMPRESSION;
}

/* Work of an end on the piston from the walker's place to a travel [J]; the pressure there. */
static double piece(const struct walker *w, enum lb_end end, double travel, double *pressure) {
  double start = volume(w->force, end, w->travel), stop = volume(w->force, end, travel);
  *pressure = w->pressure[end];
  if (!shut(w, end))
    return *pressure * (stop - start);
  if (*pressure == 0) /* nothing was trapped */
    return 0;
  return lb_air_polytropic_work(pressure, *pressure, start, stop, exponent(w, end));
}

double lb_force_net(const struct lb_force *force, const double *pressure) {
  double ambient = force->machine->ambient_pressure;
  return (pressure[LB_CAP_END] - ambient) * force->area[LB_CAP_END] -
         (pressure[LB_ROD_END] - ambient) * force->area[LB_ROD_END];
}

static double net_at(double travel, void *context) {
  const struct walker *w = context;
  double pressure[LB_ENDS];
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    pressure[i] = w->pressure[i];
    if (shut(w, end) && pressure[i] > 0)
      pressure[i] = lb_air_polytropic_pressure(pressure[i], volume(w->force, end, w->travel),
                                               volume(w->force, end, travel), exponent(w, end));
  }
  return lb_force_net(w->force, pressure);
}

/* Add the stretch from the walker's place to a travel, on which the net force keeps its sign, and
 * move the walker there. */
static void advance(struct lb_force_integral *sum, struct walker *w, double travel) {
  double work[LB_ENDS], pressure[LB_ENDS];
  for (int i = 0; i < LB_ENDS; i++)
    work[i] = piece(w, (enum lb_end)i, travel, &pressure[i]);
  double back = w->force->machine->ambient_pressure *
                (w->force->area[LB_CAP_END] - w->force->area[LB_ROD_END]);
  double net = work[LB_CAP_END] + work[LB_ROD_END] - back * (travel - w->travel);
  sum->absolute += fabs(net);
  for (int i = 0; i < LB_ENDS; i++) {
    double sign = net < 0 ? -1 : 1;
    struct lb_force_parts *part = &sum->end[i];
    if (w->phase[i] == EXPANSION) {
      part->expansion += sign * work[i];
      part->expansion_fall += sign * (w->pressure[i] - pressure[i]);
    } else if (w->phase[i] == COMPRESSION) {
      part->compression += sign * work[i];
      part->compression_fall += sign * (w->pressure[i] - pressure[i]);
    } else if (w->phase[i] == ADMISSION) {
      part->admission += sign * work[i] / pressure[i];
    }
    w->pressure[i] = pressure[i];
  }
  w->travel = travel;
}

/* A stretch between two points, split where the net force changes sign. */
static enum lb_status stretch(struct lb_force_integral *sum, struct walker *w,
                              struct lb_workspace *workspace, double travel,
                              struct lb_error *error) {
  double crossing;
  double low = fmin(w->travel, travel), high = fmax(w->travel, travel);
  double here = net_at(w->travel, w), there = net_at(travel, w);
  double tolerance = crossing_tolerance * w->force->machine->linkage.stroke;
  if (here * there < 0 && high - low > tolerance) {
    enum lb_status status =
        lb_numeric_root(workspace, &crossing, net_at, w, low, high, tolerance, error);
    if (status != LB_OK)
      return status;
    advance(sum, w, crossing);
  }
  advance(sum, w, travel);
  return LB_OK;
}

/* Phase and pressure of a worked end at a crank angle and the travel there; at an event, those just
 * after it. */
static enum phase state(double *pressure, const struct lb_force *f, enum lb_end end, double cutoff,
                        double crank_angle, double travel) {
  const struct lb_machine *m = f->machine;
  const struct lb_timing *t = &m->timing[end];
  const struct lb_conditions *c = &f->chamber[end].conditions;
  double angle = crank_angle - lb_linkage_dead_centre(&m->linkage, end);
  angle = t->inlet_opens + full_turn(angle - t->inlet_opens);
  double here = volume(f, end, travel);
  if (angle < cutoff) {
    *pressure = c->supply_pressure;
    return ADMISSION;
  }
  if (angle < t->release) {
    *pressure = lb_air_polytropic_pressure(c->supply_pressure, lb_timing_volume(m, end, cutoff),
                                           here, c->expansion_exponent);
    return EXPANSION;
  }
  if (angle < t->exhaust_closes) {
    *pressure = c->back_pressure;
    return EXHAUST;
  }
  double closing = f->chamber[end].volumes.closing;
  *pressure = closing > 0 ? lb_air_polytropic_pressure(c->back_pressure, closing, here,
                                                       c->compression_exponent)
                          : 0;
  return COMPRESSION;
}

void lb_force_pressures(double *pressure, const struct lb_force *force, const double *cutoff,
                        double crank_angle) {
  double travel = lb_linkage_travel(&force->machine->linkage, crank_angle);
  for (int i = 0; i < LB_ENDS; i++) {
    pressure[i] = force->machine->ambient_pressure;
    if (force->machine->works[i])
      state(&pressure[i], force, (enum lb_end)i, cutoff[i], crank_angle, travel);
  }
}

void lb_force_standstill(double *pressure, const struct lb_force *force, const double *cutoff,
                         double crank_angle) {
  const struct lb_machine *m = force->machine;
  for (int i = 0; i < LB_ENDS; i++) {
    pressure[i] = m->ambient_pressure;
    if (!m->works[i])
      continue;
    double opens = m->timing[i].inlet_opens;
    double angle = crank_angle - lb_linkage_dead_centre(&m->linkage, (enum lb_end)i);
    bool open = opens + full_turn(angle - opens) < cutoff[i];
    pressure[i] = open ? m->supply_pressure : m->back_pressure;
  }
}

/* The walker at crank angle 0. */
static void enter(struct walker *w, enum lb_end end, double cutoff) {
  w->phase[end] = IDLE;
  w->pressure[end] = w->force->machine->ambient_pressure;
  if (w->force->machine->works[end])
    w->phase[end] = state(&w->pressure[end], w->force, end, cutoff, 0, 0);
}

/* Go over an event: the end's next phase and pressure, and the jump of the net force. */
static void pass(struct lb_force_integral *sum, struct walker *w,
                 const struct lb_force_point *point) {
  if (point->event == LB_DEAD_CENTRE)
    return;
  enum lb_end end = point->end;
  const struct lb_chamber *chamber = &w->force->chamber[end];
  double before = fabs(lb_force_net(w->force, w->pressure));
  w->phase[end] = (enum phase)point->event;
  if (point->event == LB_INLET_OPENS || point->event == LB_CUTOFF)
    w->pressure[end] = chamber->conditions.supply_pressure;
  else if (point->event == LB_RELEASE || chamber->volumes.closing > 0)
    w->pressure[end] = chamber->conditions.back_pressure;
  else
    w->pressure[end] = 0;
  sum->end[end].jump[point->event] = before - fabs(lb_force_net(w->force, w->pressure));
}

enum lb_status lb_force_integrate(struct lb_force_integral *integral, const struct lb_force *force,
                                  struct lb_workspace *workspace, const double *cutoff,
                                  struct lb_error *error) {
  const struct lb_machine *machine = force->machine;
  struct lb_force_point point[LB_FORCE_POINTS];
  struct lb_force_integral sum = {0};
  struct walker w = {.force = force};
  int points = 0;
  for (; points < force->points; points++)
    point[points] = force->point[points];
  for (int i = 0; i < LB_ENDS; i++) {
    enter(&w, (enum lb_end)i, cutoff[i]);
    if (machine->works[i])
      points = insert(point, points, point_at(machine, (enum lb_end)i, LB_CUTOFF, cutoff[i]));
  }
  for (int i = 0; i < points; i++) {
    enum lb_status status = stretch(&sum, &w, workspace, point[i].travel, error);
    if (status != LB_OK)
      return status;
    pass(&sum, &w, &point[i]);
  }
  enum lb_status status = stretch(&sum, &w, workspace, 0, error);
  if (status != LB_OK)
    return status;
  *integral = sum;
  return LB_OK;
}
