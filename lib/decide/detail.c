/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Asks every room about one timing.
 */
#include "decide/detail.h"

/* Torque at rest and running, dead arcs, starting pressures. */
static enum lb_status find_torque(struct lb_detail *d, const struct lb_cycle *cycle,
                                  struct lb_error *error) {
  double load = lb_cycle_machine(cycle)->load_torque;
  enum lb_status status;
  if ((status = lb_torque_range(&d->running, cycle, d->cutoff, LB_RUNNING, error)) ||
      (status = lb_torque_range(&d->standstill, cycle, d->cutoff, LB_STANDSTILL, error)) ||
      (status = lb_torque_dead_arcs(d->arc, &d->arcs, cycle, d->cutoff, load, error)))
    return status;
  return lb_torque_starting_supply(&d->starting, cycle, d->cutoff, load, error);
}

static enum lb_status find_tolerances(struct lb_detail *d, const struct lb_cycle *cycle,
                                      struct lb_error *error) {
  d->tolerances_found = d->revolution.work_per_kg > 0;
  for (int end = 0; end < LB_ENDS; end++)
    for (int event = 0; event < LB_EVENTS; event++) {
      if (!d->tolerances_found || !lb_cycle_machine(cycle)->works[end])
        continue;
      enum lb_status status =
          lb_sensitivity_tolerance(&d->work[end][event], &d->pressure[end][event], cycle, d->cutoff,
                                   (enum lb_end)end, (enum lb_varied)event, error);
      if (status != LB_OK)
        return status;
    }
  return LB_OK;
}

enum lb_status lb_detail_find(struct lb_detail *detail, const struct lb_cycle *cycle,
                              const double *cutoff, struct lb_error *error) {
  struct lb_detail d = {.cutoff = {cutoff[LB_CAP_END], cutoff[LB_ROD_END]}};
  enum lb_status status = lb_cycle_turn(&d.revolution, cycle, cutoff, error);
  if (status != LB_OK)
    return status;
  lb_audit_revolution(&d.audit, cycle, &d.revolution);
  if ((status = find_torque(&d, cycle, error)) ||
      (status = lb_sensitivity_find(d.sensitivity, &d.sensitivities, cycle, cutoff, error)) ||
      (status = find_tolerances(&d, cycle, error)))
    return status;
  *detail = d;
  return LB_OK;
}

double lb_detail_dead(const struct lb_detail *detail) {
  double dead = 0;
  for (size_t i = 0; i < detail->arcs; i++)
    dead += detail->arc[i].to - detail->arc[i].from;
  return dead;
}
