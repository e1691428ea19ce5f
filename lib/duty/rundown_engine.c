/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The machine at any supply, slow or at speed, by the cycles of the rooms above.
 */
#include "duty/rundown_parts.h"

#include "base/constants.h"
#include "stroke/force.h"
#include "stroke/timing.h"

#include <math.h>

/* The shortest a valve is open in a search at speed. */
static const double hair = 1e-3; /* [rad] */

enum {
  PIN_STEPS = 720 /* crank angles at which the force on the pin is looked at */
};

/* The cut-offs of a search: those of the slow cycle, and at speed none that the valve cannot do,
 * which must have begun to open before it is switched off. */
static void set_windows(struct lb_engine *e) {
  const struct lb_machine *m = &e->machine;
  for (int i = 0; i < LB_ENDS; i++) {
    enum lb_end end = (enum lb_end)i;
    e->low[i] = e->high[i] = 0;
    if (!m->works[i])
      continue;
    lb_timing_window(&e->low[i], &e->high[i], m, end);
    if (e->speed > 0) {
      double opens =
          m->timing[i].inlet_opens + lb_timing_lag(m, end, LB_VARIED_INLET_OPENS, e->speed);
      double least = fmax(hair, e->speed * m->valve_delay[LB_INLET_VALVE].off);
      e->low[i] = fmin(fmax(e->low[i], opens + least), e->high[i]);
    }
  }
}

enum lb_status lb_engine_open(struct lb_engine *engine, const struct lb_machine *machine,
                              double speed, struct lb_error *error) {
  *engine = (struct lb_engine){
      .machine = *machine, .speed = speed, .look_temperature = machine->supply_temperature};
  engine->cycle = lb_cycle_new();
  engine->gas = speed > 0 ? lb_gas_new() : NULL;
  if (!engine->cycle || (speed > 0 && !engine->gas))
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycles of a run");
  set_windows(engine);
  return LB_OK;
}

void lb_engine_close(struct lb_engine *engine) {
  lb_cycle_free(engine->cycle);
  lb_gas_free(engine->gas);
  lb_engine_map_free(engine->map);
  *engine = (struct lb_engine){0};
}

static void set_supply(struct lb_engine *e, double pressure, double temperature) {
  e->machine.supply_pressure = pressure;
  e->machine.supply_temperature = temperature;
}

/* ---------- slow ---------- */

static double coldest_slow(const struct lb_revolution *r, const struct lb_machine *m) {
  double coldest = (double)INFINITY;
  for (int end = 0; end < LB_ENDS; end++)
    if (m->works[end])
      coldest = fmin(coldest, fmin(r->end[end].turn.release_temperature,
                                   fmin(r->end[end].turn.exhaust_temperature,
                                        r->end[end].turn.closing_temperature)));
  return coldest;
}

/* Make the cycle ready for the machine, unless it is. The cycle serves the same machine everywhere,
 * but for its supply and, in one search, its friction. */
static enum lb_status prepare(struct lb_engine *e, struct lb_error *error) {
  const struct lb_machine *ready = lb_cycle_machine(e->cycle), *m = &e->machine;
  bool same = ready->supply_pressure == m->supply_pressure &&
              ready->supply_temperature == m->supply_temperature && ready->friction == m->friction;
  return same ? LB_OK : lb_cycle_prepare(e->cycle, m, error);
}

static enum lb_status turn_slow(struct lb_powered *powered, struct lb_engine *e,
                                const double *cutoff, bool with_worth, struct lb_error *error) {
  struct lb_revolution r;
  struct lb_audit a;
  enum lb_status status = prepare(e, error);
  if (status == LB_OK)
    status = lb_cycle_turn(&r, e->cycle, cutoff, error);
  if (status != LB_OK)
    return status;
  *powered =
      (struct lb_powered){.work = r.work, .air = r.air, .coldest = coldest_slow(&r, &e->machine)};
  if (!with_worth)
    return LB_OK;
  lb_audit_revolution(&a, e->cycle, &r);
  powered->worth = (struct lb_powered_worth){.friction = a.friction,
                                             .filling = a.filling,
                                             .pushed_back = a.pushed_back,
                                             .release = a.blow_down,
                                             .heat = a.heat,
                                             .exhaust = a.exhaust};
  return LB_OK;
}

/* ---------- at speed ---------- */

static enum lb_status turn_running(struct lb_powered *powered, struct lb_engine *e,
                                   const double *cutoff, bool with_worth, struct lb_error *error) {
  struct lb_running r;
  double given[LB_ENDS];
  for (int i = 0; i < LB_ENDS; i++)
    given[i] = cutoff[i] - lb_timing_lag(&e->machine, (enum lb_end)i, LB_VARIED_CUTOFF, e->speed);
  enum lb_status status =
      lb_running_turn(&r, e->gas, &e->machine, given, e->speed, with_worth, error);
  if (status != LB_OK)
    return status;
  const struct lb_gas_worth *w = &r.cylinder.worth;
  double all = e->machine.cylinders;
  *powered = (struct lb_powered){.work = r.revolution.work,
                                 .air = r.revolution.air,
                                 .coldest = lb_running_coldest(&r, &e->machine),
                                 .worth = {.friction = r.revolution.friction_work,
                                           .inlet = all * w->inlet,
                                           .filling = all * w->mixing,
                                           .release = all * w->exhaust_valve,
                                           .heat = all * w->heat,
                                           .leakage = all * w->leakage,
                                           .exhaust = all * w->exhaust}};
  return LB_OK;
}

enum lb_status lb_engine_turn(struct lb_powered *powered, struct lb_engine *engine, double pressure,
                              double temperature, const double *cutoff, bool with_worth,
                              struct lb_error *error) {
  set_supply(engine, pressure, temperature);
  return engine->gas ? turn_running(powered, engine, cutoff, with_worth, error)
                     : turn_slow(powered, engine, cutoff, with_worth, error);
}

/* Look at a slow revolution that has not been seen. */
static void see(struct lb_engine *engine, double pressure, const double *cutoff) {
  struct lb_powered powered;
  struct lb_error error;
  struct lb_engine_seen *seen = &engine->seen;
  set_supply(engine, pressure, engine->look_temperature);
  enum lb_status status = turn_slow(&powered, engine, cutoff, false, &error);
  if (status != LB_OK && engine->status == LB_OK) {
    engine->status = status;
    engine->error = error;
  }
  *seen = (struct lb_engine_seen){.pressure = status == LB_OK ? pressure : 0,
                                  .cutoff = {cutoff[LB_CAP_END], cutoff[LB_ROD_END]},
                                  .work = status == LB_OK ? powered.work : (double)NAN,
                                  .air = status == LB_OK ? powered.air : (double)NAN};
}

void lb_engine_look(double *work, double *air, struct lb_engine *engine, double pressure,
                    const double *cutoff) {
  const struct lb_engine_seen *seen = &engine->seen;
  if (engine->gas) {
    lb_engine_map_look(work, air, engine, pressure, cutoff);
    return;
  }
  if (seen->pressure != pressure || seen->cutoff[LB_CAP_END] != cutoff[LB_CAP_END] ||
      seen->cutoff[LB_ROD_END] != cutoff[LB_ROD_END])
    see(engine, pressure, cutoff);
  *work = seen->work;
  *air = seen->air;
}

void lb_engine_most(double *cutoff, const struct lb_engine *engine, double pressure) {
  if (engine->map) {
    lb_engine_map_most(cutoff, engine, pressure);
    return;
  }
  for (int end = 0; end < LB_ENDS; end++)
    cutoff[end] = engine->high[end];
}

/* ---------- the crank pin ---------- */

/* The cosine of a connecting rod's slant; 1 for linkages that push along the cylinder. */
static double slant(const struct lb_linkage *k, double angle) {
  if (k->kind != LB_CONNECTING_ROD)
    return 1;
  double sine = (k->crank_radius * sin(angle + k->start_angle) - k->offset) / k->length;
  return sqrt(1 - sine * sine);
}

/* Pressure of an end at speed at a crank angle 0 ... 2 pi; `from` is where the last one was. */
static double pressure_at(const struct lb_gas_point *point, size_t points, size_t *from,
                          double angle) {
  size_t i = *from;
  while (i + 2 < points && point[i + 1].angle < angle)
    i++;
  *from = i;
  double span = point[i + 1].angle - point[i].angle;
  double share = span > 0 ? fmin(fmax((angle - point[i].angle) / span, 0), 1) : 1;
  return point[i].pressure + share * (point[i + 1].pressure - point[i].pressure);
}

/* The pressures of both ends at a crank angle; `from[LB_ENDS]` as above, begun with zeroes. */
static void pressures(double *pressure, const struct lb_engine *e, const double *cutoff,
                      size_t *from, double angle) {
  if (!e->gas) {
    lb_force_pressures(pressure, lb_cycle_force(e->cycle), cutoff, angle);
    return;
  }
  for (int end = 0; end < LB_ENDS; end++) {
    size_t points;
    const struct lb_gas_point *point = lb_gas_points(e->gas, (enum lb_end)end, &points);
    pressure[end] = e->machine.works[end] && points > 1
                        ? pressure_at(point, points, &from[end], angle)
                        : e->machine.ambient_pressure;
  }
}

double lb_engine_pin_force(const struct lb_engine *engine, const double *cutoff) {
  double greatest = 0, pressure[LB_ENDS];
  size_t from[LB_ENDS] = {0};
  if (engine->gas && lb_cycle_prepare(engine->cycle, &engine->machine, NULL) != LB_OK)
    return (double)NAN;
  const struct lb_force *force = lb_cycle_force(engine->cycle);
  for (int i = 0; i < PIN_STEPS; i++) {
    double angle = 2 * LB_PI * i / PIN_STEPS;
    pressures(pressure, engine, cutoff, from, angle);
    greatest = fmax(greatest,
                    fabs(lb_force_net(force, pressure)) / slant(&engine->machine.linkage, angle));
  }
  return greatest;
}
