/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sums over chambers and cylinders. All cylinders are equal, so one is calculated and multiplied;
 * their crank angles matter to the torque, not to the sums.
 */
#include "stroke/cycle.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "physics/air.h"
#include "stroke/force.h"
#include "stroke/timing.h"

#include <stdio.h>
#include <stdlib.h>

static const char *const end_name[] = {[LB_CAP_END] = "cap end", [LB_ROD_END] = "rod end"};

struct lb_cycle {
  struct lb_workspace *workspace;
  struct lb_machine machine;
  struct lb_chamber chamber[LB_ENDS];
  struct lb_force force;
};

struct lb_cycle *lb_cycle_new(void) {
  struct lb_cycle *cycle = calloc(1, sizeof *cycle);
  if (!cycle)
    return NULL;
  cycle->workspace = lb_workspace_new();
  if (cycle->workspace)
    return cycle;
  free(cycle);
  return NULL;
}

void lb_cycle_free(struct lb_cycle *cycle) {
  if (!cycle)
    return;
  lb_workspace_free(cycle->workspace);
  free(cycle);
}

/* Say which end an error is about. */
static enum lb_status at_end(enum lb_status status, enum lb_end end, struct lb_error *error) {
  if (status != LB_OK && error) {
    struct lb_error plain = *error;
    lb_error_set(error, status, "%s: %s", end_name[end], plain.text);
  }
  return status;
}

static struct lb_conditions conditions_of(const struct lb_machine *m) {
  return (struct lb_conditions){.supply_pressure = m->supply_pressure,
                                .supply_temperature = m->supply_temperature,
                                .back_pressure = m->back_pressure,
                                .outside_temperature = m->ambient_temperature,
                                .expansion_exponent = m->expansion_exponent,
                                .compression_exponent = m->compression_exponent};
}

enum lb_status lb_cycle_prepare(struct lb_cycle *cycle, const struct lb_machine *machine,
                                struct lb_error *error) {
  struct lb_chamber chamber[LB_ENDS] = {0};
  struct lb_conditions conditions = conditions_of(machine);
  for (int i = 0; i < LB_ENDS; i++) {
    if (!machine->works[i])
      continue;
    struct lb_volumes volumes;
    lb_timing_volumes(&volumes, machine, (enum lb_end)i);
    enum lb_status status = lb_chamber_prepare(&chamber[i], &conditions, &volumes, error);
    if (status != LB_OK)
      return at_end(status, (enum lb_end)i, error);
  }
  cycle->machine = *machine;
  for (int i = 0; i < LB_ENDS; i++)
    cycle->chamber[i] = chamber[i];
  lb_force_prepare(&cycle->force, &cycle->machine, cycle->chamber);
  return LB_OK;
}

const struct lb_machine *lb_cycle_machine(const struct lb_cycle *cycle) {
  return &cycle->machine;
}

const struct lb_chamber *lb_cycle_chamber(const struct lb_cycle *cycle, enum lb_end end) {
  return &cycle->chamber[end];
}

const struct lb_force *lb_cycle_force(const struct lb_cycle *cycle) {
  return &cycle->force;
}

struct lb_workspace *lb_cycle_workspace(const struct lb_cycle *cycle) {
  return cycle->workspace;
}

/* The integral of |net force| over a cylinder's travel, left at zero when no share of it is lost,
 * and the friction of the cylinder over a revolution [J]. */
static enum lb_status friction_of(double *friction, struct lb_force_integral *integral,
                                  const struct lb_cycle *cycle, const double *cutoff,
                                  struct lb_error *error) {
  const struct lb_machine *m = &cycle->machine;
  *integral = (struct lb_force_integral){0};
  if (m->friction_share > 0) {
    enum lb_status status =
        lb_force_integrate(integral, &cycle->force, cycle->workspace, cutoff, error);
    if (status != LB_OK)
      return status;
  }
  *friction = 2 * m->linkage.stroke * m->friction + m->friction_share * integral->absolute;
  return LB_OK;
}

/* Whether an end that opens its exhaust only after the opposite dead centre has expanded below back
 * pressure there, although it is above again when it opens. */
static bool dips(const struct lb_cycle *cycle, enum lb_end end, double cutoff, double volume) {
  const struct lb_machine *m = &cycle->machine;
  double far = lb_linkage_stroke_angle(&m->linkage, end);
  if (!(cutoff < far && m->timing[end].release > far))
    return false;
  double full = lb_timing_volume(m, end, far);
  return lb_air_polytropic_pressure(m->supply_pressure, volume, full, m->expansion_exponent) <
         m->back_pressure;
}

enum lb_status lb_cycle_turn(struct lb_revolution *revolution, const struct lb_cycle *cycle,
                             const double *cutoff, struct lb_error *error) {
  const struct lb_machine *m = &cycle->machine;
  struct lb_revolution r = {0};
  struct lb_force_integral integral;
  double friction;
  enum lb_status status = friction_of(&friction, &integral, cycle, cutoff, error);
  if (status != LB_OK)
    return status;
  r.friction_work = m->cylinders * friction;
  for (int i = 0; i < LB_ENDS; i++) {
    if (!m->works[i])
      continue;
    enum lb_end end = (enum lb_end)i;
    double volume, greatest;
    lb_timing_cutoff(&volume, &greatest, m, end, cutoff[i]);
    status = lb_chamber_turn(&r.end[i].turn, &cycle->chamber[i], greatest, volume, error);
    if (status != LB_OK)
      return at_end(status, end, error);
    if (dips(cycle, end, cutoff[i], volume))
      r.end[i].turn.flags |= LB_NEGATIVE_LOOP;
    r.end[i].cutoff = cutoff[i];
    r.end[i].stroke_fraction = lb_timing_stroke_fraction(m, end, cutoff[i]);
    r.indicated_work += m->cylinders * r.end[i].turn.work;
    r.air += m->cylinders * r.end[i].turn.air;
  }
  lb_cycle_compare(&r, m);
  *revolution = r;
  return LB_OK;
}

enum lb_status lb_cycle_slopes(struct lb_cycle_slope *slope, const struct lb_cycle *cycle,
                               const double *cutoff, struct lb_error *error) {
  const struct lb_machine *m = &cycle->machine;
  struct lb_cycle_slope s = {0};
  struct lb_force_integral integral;
  double friction;
  enum lb_status status = friction_of(&friction, &integral, cycle, cutoff, error);
  if (status != LB_OK)
    return status;
  s.work = -m->cylinders * friction;
  for (int i = 0; i < LB_ENDS; i++) {
    if (!m->works[i])
      continue;
    struct lb_margin margin;
    double volume = lb_timing_volume(m, (enum lb_end)i, cutoff[i]);
    lb_chamber_margin(&margin, &cycle->chamber[i], volume);
    /* the expansion's pressures are p_s (V_c/V)^n: they rise by n/V_c of themselves */
    double rubbing = m->friction_share * m->expansion_exponent / volume * integral.end[i].expansion;
    double volume_slope = m->cylinders * lb_timing_volume_slope(m, (enum lb_end)i, cutoff[i]);
    s.work += m->cylinders * margin.work;
    s.air += m->cylinders * margin.air;
    s.work_per_angle[i] = (margin.work_per_volume - rubbing) * volume_slope;
    s.air_per_angle[i] = margin.air_per_volume * volume_slope;
  }
  *slope = s;
  return LB_OK;
}

void lb_cycle_compare(struct lb_revolution *revolution, const struct lb_machine *machine) {
  struct lb_revolution *r = revolution;
  const struct lb_machine *m = machine;
  r->work = r->indicated_work - r->friction_work;
  r->mean_torque = r->work / (2 * LB_PI);
  r->mean_effective_pressure = r->indicated_work / lb_machine_swept_volume(m);
  if (!(r->air > 0))
    return;
  r->work_per_kg = r->work / r->air;
  double isothermal =
      lb_air_isothermal_ideal(m->supply_temperature, m->supply_pressure, m->back_pressure);
  double isentropic =
      lb_air_isentropic_ideal(m->supply_temperature, m->supply_pressure, m->back_pressure);
  if (isothermal > 0) {
    r->isothermal_efficiency = r->work_per_kg / isothermal;
    r->isentropic_efficiency = r->work_per_kg / isentropic;
  }
}

double lb_cycle_ceiling(const struct lb_machine *machine) {
  return (machine->supply_pressure - machine->back_pressure) * lb_machine_swept_volume(machine);
}
