/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Derivatives of a revolution, and tolerances found by moving one event until the loss is there.
 */
#include "decide/sensitivity.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "stroke/force.h"

#include <math.h>

/* The losses that define a tolerance: a share of work per kilogram [1], a pressure [Pa]. */
static const double work_loss = 0.01, pressure_change = 0.1e5;
/* Steps outwards in which a loss is looked for, and how exactly it is placed [rad]. */
static const double search_step = LB_PI / 720, angle_tolerance = 1e-10;
/* Events keep this distance from their neighbours [rad]. */
static const double apart = 1e-9;

/* The travel per radian at an event of an end, without sign [m/rad]. */
static double speed_at(const struct lb_machine *m, enum lb_end end, double angle) {
  return fabs(lb_linkage_distance_slope(&m->linkage, end, angle));
}

static double event_angle(const struct lb_machine *m, enum lb_end end, const double *cutoff,
                          enum lb_varied event) {
  const struct lb_timing *t = &m->timing[end];
  const double angle[] = {[LB_VARIED_INLET_OPENS] = t->inlet_opens,
                          [LB_VARIED_CUTOFF] = cutoff[end],
                          [LB_VARIED_RELEASE] = t->release,
                          [LB_VARIED_EXHAUST_CLOSES] = t->exhaust_closes};
  return angle[event];
}

/* Rate of the integral of |net force| over one cylinder's travel, from the parts of an end: shut
 * pressures are p_0 (V_0/V)^n, so they change by n V_0'/V_0 of themselves less n V'/V; while the
 * inlet is open they change with the supply; a moving event trades one force for another. */
static double rubbing_rate(const struct lb_cycle *cycle, const struct lb_force_parts *part,
                           const double *cutoff, enum lb_end end, enum lb_varied varied,
                           const struct lb_chamber_rates *d) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  const struct lb_chamber *h = lb_cycle_chamber(cycle, end);
  double dead = varied == LB_VARIED_DEAD_VOLUME ? 1 : 0;
  double start = lb_timing_volume(m, end, cutoff[end]), closing = h->volumes.closing;
  double rate =
      (d->supply_pressure / m->supply_pressure + m->expansion_exponent * d->cutoff / start) *
          part->expansion -
      dead * part->expansion_fall + d->supply_pressure * part->admission;
  if (closing > 0)
    rate += m->compression_exponent * d->volumes.closing / closing * part->compression -
            dead * part->compression_fall;
  if (varied <= LB_VARIED_EXHAUST_CLOSES)
    rate += part->jump[varied] * speed_at(m, end, event_angle(m, end, cutoff, varied));
  return rate;
}

/* The rates of one end's chamber. */
static void chamber_rates(struct lb_chamber_tangent *tangent, struct lb_chamber_rates *d,
                          const struct lb_cycle *cycle, const double *cutoff, enum lb_end end,
                          enum lb_varied varied) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  double volume, greatest;
  lb_timing_cutoff(&volume, &greatest, m, end, cutoff[end]);
  lb_timing_rates(d, m, end, cutoff[end], varied);
  lb_chamber_tangent(tangent, lb_cycle_chamber(cycle, end), greatest, volume, d);
}

/* One row; the supply acts on both ends, the rest on its own. */
static void find_row(struct lb_sensitivity *row, const struct lb_cycle *cycle,
                     const struct lb_force_integral *integral, const double *cutoff,
                     enum lb_end end, enum lb_varied varied) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  *row = (struct lb_sensitivity){.end = end, .varied = varied};
  for (int i = 0; i < LB_ENDS; i++) {
    if (!m->works[i] || (i != (int)end && varied != LB_VARIED_SUPPLY_PRESSURE))
      continue;
    struct lb_chamber_rates d;
    struct lb_chamber_tangent tangent;
    chamber_rates(&tangent, &d, cycle, cutoff, (enum lb_end)i, varied);
    double rubbing = m->friction_share *
                     rubbing_rate(cycle, &integral->end[i], cutoff, (enum lb_end)i, varied, &d);
    row->work += m->cylinders * (tangent.work - rubbing);
    row->air += m->cylinders * tangent.air;
    if (i == (int)end)
      row->release_pressure = tangent.release_pressure;
  }
}

enum lb_status lb_sensitivity_find(struct lb_sensitivity *row, size_t *count,
                                   const struct lb_cycle *cycle, const double *cutoff,
                                   struct lb_error *error) {
  const struct lb_machine *m = lb_cycle_machine(cycle);
  struct lb_force_integral integral = {0};
  if (m->friction_share > 0) {
    enum lb_status status = lb_force_integrate(&integral, lb_cycle_force(cycle),
                                               lb_cycle_workspace(cycle), cutoff, error);
    if (status != LB_OK)
      return status;
  }
  *count = 0;
  for (int end = 0; end < LB_ENDS; end++)
    for (int varied = 0; m->works[end] && varied < LB_VARIED; varied++)
      find_row(&row[(*count)++], cycle, &integral, cutoff, (enum lb_end)end,
               (enum lb_varied)varied);
  return LB_OK;
}

/* A machine with one event moved. */
struct moved {
  struct lb_cycle *cycle; /* of its own */
  struct lb_machine machine;
  double cutoff[LB_ENDS];
  enum lb_end end;
  enum lb_varied event;
  double direction;            /* -1 earlier, 1 later */
  bool of_pressure;            /* which loss is looked for */
  double work_per_kg, release; /* unmoved [J/kg], [Pa] */
};

/* The revolution with the event moved by a distance [rad]. */
static enum lb_status moved_turn(struct lb_revolution *revolution, struct moved *s,
                                 double distance) {
  struct lb_machine machine = s->machine;
  struct lb_timing *t = &machine.timing[s->end];
  double cutoff[LB_ENDS] = {s->cutoff[LB_CAP_END], s->cutoff[LB_ROD_END]};
  double *const angle[] = {[LB_VARIED_INLET_OPENS] = &t->inlet_opens,
                           [LB_VARIED_CUTOFF] = &cutoff[s->end],
                           [LB_VARIED_RELEASE] = &t->release,
                           [LB_VARIED_EXHAUST_CLOSES] = &t->exhaust_closes};
  *angle[s->event] += s->direction * distance;
  enum lb_status status = lb_cycle_prepare(s->cycle, &machine, NULL);
  return status == LB_OK ? lb_cycle_turn(revolution, s->cycle, cutoff, NULL) : status;
}

/* What is left before the loss is complete: positive while the event may still move. A state that
 * does not exist counts as lost. */
static double margin_left(double distance, void *context) {
  struct moved *s = context;
  struct lb_revolution r;
  if (moved_turn(&r, s, distance) != LB_OK)
    return -1;
  double left = r.work_per_kg / ((1 - work_loss) * s->work_per_kg) - 1;
  if (s->of_pressure)
    left = 1 - fabs(r.end[s->end].turn.release_pressure - s->release) / pressure_change;
  return isfinite(left) ? left : -1; /* trapped in no dead volume, say */
}

/* How far the event can go at all [rad]. */
static double room(const struct moved *s) {
  const struct lb_timing *t = &s->machine.timing[s->end];
  double turn = 2 * LB_PI, most = LB_TOLERANCE_MOST_DEG * LB_DEGREE;
  double here = event_angle(&s->machine, s->end, s->cutoff, s->event);
  double cutoff = s->cutoff[s->end];
  const double before[] = {[LB_VARIED_INLET_OPENS] = fmax(t->exhaust_closes - turn, -LB_PI / 2),
                           [LB_VARIED_CUTOFF] = fmax(t->inlet_opens + apart, 0),
                           [LB_VARIED_RELEASE] = cutoff,
                           [LB_VARIED_EXHAUST_CLOSES] = t->release + apart};
  const double after[] = {[LB_VARIED_INLET_OPENS] = cutoff - apart,
                          [LB_VARIED_CUTOFF] = t->release,
                          [LB_VARIED_RELEASE] = t->exhaust_closes - apart,
                          [LB_VARIED_EXHAUST_CLOSES] = t->inlet_opens + turn};
  double limit = s->direction < 0 ? here - before[s->event] : after[s->event] - here;
  return fmin(fmax(limit, 0), most);
}

/* The first distance at which the loss is complete. */
static enum lb_status reach(double *distance, bool *limited, struct moved *s,
                            struct lb_workspace *workspace, struct lb_error *error) {
  double limit = room(s), from = 0;
  *limited = true;
  *distance = limit;
  while (from < limit) {
    double to = fmin(from + search_step, limit);
    if (margin_left(to, s) < 0) {
      *limited = false;
      return lb_numeric_root(workspace, distance, margin_left, s, from, to, angle_tolerance, error);
    }
    from = to;
  }
  return LB_OK;
}

/* Earlier and later. */
static enum lb_status both_ways(struct lb_tolerance *t, struct moved *s,
                                struct lb_workspace *workspace, struct lb_error *error) {
  s->direction = -1;
  enum lb_status status = reach(&t->earlier, &t->earlier_limited, s, workspace, error);
  if (status != LB_OK)
    return status;
  s->direction = 1;
  return reach(&t->later, &t->later_limited, s, workspace, error);
}

enum lb_status lb_sensitivity_tolerance(struct lb_tolerance *work, struct lb_tolerance *pressure,
                                        const struct lb_cycle *cycle, const double *cutoff,
                                        enum lb_end end, enum lb_varied event,
                                        struct lb_error *error) {
  struct lb_revolution r;
  enum lb_status status = lb_cycle_turn(&r, cycle, cutoff, error);
  if (status != LB_OK)
    return status;
  if (!(r.work_per_kg > 0))
    return lb_error_set(error, LB_NO_ANSWER, "the machine gives no work that could be lost");
  struct moved s = {.cycle = lb_cycle_new(),
                    .machine = *lb_cycle_machine(cycle),
                    .cutoff = {cutoff[LB_CAP_END], cutoff[LB_ROD_END]},
                    .end = end,
                    .event = event,
                    .work_per_kg = r.work_per_kg,
                    .release = r.end[end].turn.release_pressure};
  if (!s.cycle)
    return lb_error_set(error, LB_NO_MEMORY, "out of memory");
  struct lb_tolerance of_work = {0}, of_pressure = {0};
  status = both_ways(&of_work, &s, lb_cycle_workspace(cycle), error);
  s.of_pressure = true;
  if (status == LB_OK)
    status = both_ways(&of_pressure, &s, lb_cycle_workspace(cycle), error);
  lb_cycle_free(s.cycle);
  if (status == LB_OK) {
    *work = of_work;
    *pressure = of_pressure;
  }
  return status;
}
