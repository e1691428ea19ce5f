/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Volumes at the valve events.
 */
#include "stroke/timing.h"

#include "base/constants.h"

#include <math.h>

/* Share of the stroke by which a search stays clear of a dead centre without dead volume [1]. */
static const double hair = 1e-6;

double lb_timing_volume(const struct lb_machine *machine, enum lb_end end, double angle) {
  return machine->dead_volume[end] +
         lb_machine_area(machine, end) * lb_linkage_distance(&machine->linkage, end, angle);
}

double lb_timing_volume_slope(const struct lb_machine *machine, enum lb_end end, double angle) {
  return lb_machine_area(machine, end) * lb_linkage_distance_slope(&machine->linkage, end, angle);
}

double lb_timing_angle(const struct lb_machine *machine, enum lb_end end, double volume) {
  double distance = (volume - machine->dead_volume[end]) / lb_machine_area(machine, end);
  return lb_linkage_angle_away(&machine->linkage, end, distance);
}

void lb_timing_volumes(struct lb_volumes *volumes, const struct lb_machine *machine,
                       enum lb_end end) {
  const struct lb_timing *t = &machine->timing[end];
  double dead = machine->dead_volume[end];
  double full = dead + lb_machine_area(machine, end) * machine->linkage.stroke;
  double far = lb_linkage_stroke_angle(&machine->linkage, end), turn = 2 * LB_PI;
  struct lb_volumes v;
  v.opening = lb_timing_volume(machine, end, t->inlet_opens);
  v.filled = t->inlet_opens < 0 ? dead : v.opening;
  v.release = lb_timing_volume(machine, end, t->release);
  v.closing = t->exhaust_closes == turn ? dead : lb_timing_volume(machine, end, t->exhaust_closes);
  if (t->release >= far)
    v.exhausting = v.release;
  else
    v.exhausting = t->exhaust_closes >= far ? full : v.closing;
  v.swept_out = t->exhaust_closes > turn ? dead : v.closing;
  if (t->exhaust_closes < turn && t->inlet_opens > 0)
    v.trapped_least = dead;
  else
    v.trapped_least = fmin(v.opening, v.closing);
  *volumes = v;
}

void lb_timing_window(double *earliest, double *latest, const struct lb_machine *machine,
                      enum lb_end end) {
  const struct lb_timing *t = &machine->timing[end];
  double stroke = machine->linkage.stroke;
  *earliest = fmax(t->inlet_opens, 0);
  if (*earliest == 0 && machine->dead_volume[end] == 0)
    *earliest = lb_linkage_angle_away(&machine->linkage, end, hair * stroke);
  *latest = fmin(t->release, lb_linkage_stroke_angle(&machine->linkage, end));
}

void lb_timing_cutoff(double *volume, double *greatest, const struct lb_machine *machine,
                      enum lb_end end, double cutoff) {
  double far = lb_linkage_stroke_angle(&machine->linkage, end);
  *volume = lb_timing_volume(machine, end, cutoff);
  if (cutoff <= far)
    *greatest = *volume;
  else
    *greatest = lb_timing_volume(machine, end, fmax(far, machine->timing[end].inlet_opens));
}

const char *lb_timing_event_name(enum lb_varied event) {
  static const char *const names[] = {[LB_VARIED_INLET_OPENS] = "inlet opens",
                                      [LB_VARIED_CUTOFF] = "cut-off",
                                      [LB_VARIED_RELEASE] = "release",
                                      [LB_VARIED_EXHAUST_CLOSES] = "exhaust closes"};
  return names[event];
}

double lb_timing_event(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                       double cutoff) {
  const struct lb_timing *t = &machine->timing[end];
  switch (event) {
  case LB_VARIED_INLET_OPENS:
    return t->inlet_opens;
  case LB_VARIED_CUTOFF:
    return cutoff;
  case LB_VARIED_RELEASE:
    return t->release;
  default: /* LB_VARIED_EXHAUST_CLOSES */
    return t->exhaust_closes;
  }
}

double lb_timing_crank_angle(const struct lb_machine *machine, enum lb_end end, double angle) {
  double turn = 2 * LB_PI;
  double crank = fmod(lb_linkage_dead_centre(&machine->linkage, end) + angle, turn);
  if (crank < 0)
    crank += turn;
  return crank < turn ? crank : 0;
}

/* The delay of an event's valve [s]. */
static double delay_of(const struct lb_machine *machine, enum lb_varied event) {
  bool inlet = event == LB_VARIED_INLET_OPENS || event == LB_VARIED_CUTOFF;
  bool opens = event == LB_VARIED_INLET_OPENS || event == LB_VARIED_RELEASE;
  const struct lb_valve_delay *delay =
      &machine->valve_delay[inlet ? LB_INLET_VALVE : LB_EXHAUST_VALVE];
  return opens ? delay->on : delay->off;
}

double lb_timing_lead(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                      bool found, double speed) {
  if (machine->timing[end].angles_are_switching && !(event == LB_VARIED_CUTOFF && found))
    return 0;
  return speed * delay_of(machine, event);
}

double lb_timing_lag(const struct lb_machine *machine, enum lb_end end, enum lb_varied event,
                     double speed) {
  return machine->timing[end].angles_are_switching ? speed * delay_of(machine, event) : 0;
}

double lb_timing_greatest_speed(const struct lb_machine *machine, enum lb_valve valve,
                                double window) {
  const struct lb_valve_delay *delay = &machine->valve_delay[valve];
  double open = delay->off > 0 ? window / delay->off : (double)INFINITY;
  double shut = delay->on > 0 ? (2 * LB_PI - window) / delay->on : (double)INFINITY;
  return fmin(open, shut);
}

/* The rates with an event's own angle. */
static void event_rates(struct lb_chamber_rates *d, const struct lb_machine *machine,
                        enum lb_end end, double cutoff, enum lb_varied varied) {
  const struct lb_timing *t = &machine->timing[end];
  double far = lb_linkage_stroke_angle(&machine->linkage, end);
  struct lb_volumes *v = &d->volumes;
  switch (varied) {
  case LB_VARIED_INLET_OPENS:
    v->opening = lb_timing_volume_slope(machine, end, t->inlet_opens);
    v->filled = t->inlet_opens < 0 ? 0 : v->opening;
    d->greatest = cutoff > far && t->inlet_opens > far ? v->opening : 0;
    break;
  case LB_VARIED_CUTOFF:
    d->cutoff = lb_timing_volume_slope(machine, end, cutoff);
    d->greatest = cutoff <= far ? d->cutoff : 0;
    break;
  case LB_VARIED_RELEASE:
    v->release = lb_timing_volume_slope(machine, end, t->release);
    v->exhausting = t->release >= far ? v->release : 0;
    break;
  default: /* LB_VARIED_EXHAUST_CLOSES */
    v->closing = lb_timing_volume_slope(machine, end, t->exhaust_closes);
    v->swept_out = t->exhaust_closes > 2 * LB_PI ? 0 : v->closing;
    v->exhausting = t->release < far && t->exhaust_closes < far ? v->closing : 0;
    break;
  }
}

void lb_timing_rates(struct lb_chamber_rates *rates, const struct lb_machine *machine,
                     enum lb_end end, double cutoff, enum lb_varied varied) {
  struct lb_chamber_rates d = {0};
  if (varied == LB_VARIED_SUPPLY_PRESSURE)
    d.supply_pressure = 1;
  else if (varied == LB_VARIED_DEAD_VOLUME)
    d = (struct lb_chamber_rates){{1, 1, 1, 1, 1, 1, 1}, 1, 1, 0};
  else
    event_rates(&d, machine, end, cutoff, varied);
  *rates = d;
}

double lb_timing_stroke_fraction(const struct lb_machine *machine, enum lb_end end, double angle) {
  return lb_linkage_distance(&machine->linkage, end, angle) / machine->linkage.stroke;
}
