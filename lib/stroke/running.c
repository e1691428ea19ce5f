/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sums over the cylinders, which are alike.
 */
#include "stroke/running.h"

#include "base/constants.h"
#include "stroke/timing.h"

#include <math.h>

/* What a chamber's revolution at speed has in common with a slow one. */
static struct lb_turn common(const struct lb_gas_turn *turn) {
  return (struct lb_turn){.work = turn->work,
                          .air = turn->air,
                          .release_pressure = turn->release_pressure,
                          .compression_pressure = turn->compression_pressure,
                          .peak_pressure = turn->greatest_pressure,
                          .compression_temperature = turn->compression_temperature,
                          .cutoff_temperature = turn->cutoff_temperature,
                          .release_temperature = turn->release_temperature,
                          .exhaust_temperature = turn->closing_temperature,
                          .closing_temperature = turn->closing_temperature};
}

enum lb_status lb_running_turn(struct lb_running *running, struct lb_gas *gas,
                               const struct lb_machine *machine, const double *cutoff, double speed,
                               bool with_worth, struct lb_error *error) {
  const struct lb_machine *m = machine;
  struct lb_running found = {.speed = speed};
  enum lb_status status =
      lb_gas_solve(gas, &found.cylinder, with_worth, machine, cutoff, speed, error);
  if (status != LB_OK)
    return status;
  struct lb_revolution *r = &found.revolution;
  r->friction_work = m->cylinders * (2 * m->linkage.stroke * m->friction +
                                     m->friction_share * found.cylinder.absolute_force);
  for (int end = 0; end < LB_ENDS; end++) {
    if (!m->works[end])
      continue;
    r->end[end] = (struct lb_end_turn){
        .cutoff = cutoff[end],
        .stroke_fraction = lb_timing_stroke_fraction(m, (enum lb_end)end, cutoff[end]),
        .turn = common(&found.cylinder.end[end])};
    r->indicated_work += m->cylinders * r->end[end].turn.work;
    r->air += m->cylinders * r->end[end].turn.air;
  }
  lb_cycle_compare(r, m);
  found.power = r->work * speed / (2 * LB_PI);
  *running = found;
  return LB_OK;
}

double lb_running_coldest(const struct lb_running *running, const struct lb_machine *machine) {
  double coldest = (double)INFINITY;
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end])
      coldest = fmin(coldest, running->cylinder.end[end].coldest_temperature);
  return coldest;
}

double lb_running_torque(const struct lb_gas *gas, const struct lb_machine *machine, double angle) {
  double torque = 0;
  for (int k = 0; k < machine->cylinders; k++) {
    double own = angle - (machine->crank_angle[k] - machine->crank_angle[0]);
    double of_gas = lb_gas_torque(gas, own);
    torque += of_gas - machine->friction_share * fabs(of_gas) -
              machine->friction * fabs(lb_linkage_slope(&machine->linkage, own));
  }
  return torque;
}
