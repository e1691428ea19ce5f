/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the inlet should close at a speed, with what really flows.
 *
 * Atmospheric rule: each end is shut off so early that its air has come down to back pressure (plus
 * a margin) as the exhaust begins to open. Economy: the cut-offs with the most work after friction
 * per kilogram of air; with lambda = W/m there, each is the best of W - lambda m. Angles are those
 * at which the valve is shut, whatever the machine's angles mean; lb_timing_lead says how far ahead
 * of them to switch.
 */
#ifndef LASTBAR_DECIDE_RUNNING_CUTOFF_H
#define LASTBAR_DECIDE_RUNNING_CUTOFF_H

#include "decide/cutoff.h"
#include "stroke/running.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The answer of one rule at a speed. */
struct lb_running_choice {
  bool found;                 /* every worked end has its cut-off */
  char why[LB_SENTENCE];      /* not found: what stands in the way; else empty */
  char would_do[LB_SENTENCE]; /* not found: what would make an answer; else empty */
  double cutoff[LB_ENDS];     /* [rad] the valve is shut, after the end's own dead centre */
  struct lb_running running;  /* the revolution, where found */
};

/* A rule at a speed.
 *
 * choice   out
 * gas      workspace
 * machine  one that has passed lb_machine_check; for LB_AS_TIMED an end without a cut-off takes
 * that of the slow atmospheric rule rule     LB_AS_TIMED, LB_ATMOSPHERIC or LB_ECONOMY margin [Pa]
 * >= 0: release this much above back pressure, by the atmospheric rule speed    [rad/s] > 0 The
 * atmospheric cut-off is good to 1e-6 rad where the revolution is, the economical one to 1e-3 rad,
 * for work and air hardly change there. Fails as lb_gas_solve, and with LB_NO_MEMORY. */
enum lb_status lb_running_cutoff(struct lb_running_choice *choice, struct lb_gas *gas,
                                 const struct lb_machine *machine, enum lb_rule rule, double margin,
                                 double speed, struct lb_error *error);

/* Calculate the revolution of a choice once more, with the worth of its air: it then stands in
 * choice->running.cylinder.worth, and the revolution in the workspace (lb_gas_points).
 *
 * choice  in, out: one that was found for this machine
 * Fails as lb_gas_solve. */
enum lb_status lb_running_follow(struct lb_running_choice *choice, struct lb_gas *gas,
                                 const struct lb_machine *machine, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
