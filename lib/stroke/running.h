/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole machine at a speed: all its cylinders, friction, and the figures that the slow cycle
 * has too, so that both can be compared.
 */
#ifndef LASTBAR_STROKE_RUNNING_H
#define LASTBAR_STROKE_RUNNING_H

#include "stroke/cycle.h"
#include "stroke/gas_exchange.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A revolution at speed. */
struct lb_running {
  struct lb_revolution revolution; /* of an end's turn: work, air, pressures, temperatures */
  double speed;                    /* [rad/s] */
  double power;                    /* [W] after friction */
  struct lb_gas_cylinder cylinder; /* one of them */
};

/* Find it.
 * running     out
 * gas         workspace
 * with_worth  as lb_gas_solve
 * cutoff      cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * speed       [rad/s] > 0
 * Fails as lb_gas_solve. */
enum lb_status lb_running_turn(struct lb_running *running, struct lb_gas *gas,
                               const struct lb_machine *machine, const double *cutoff, double speed,
                               bool with_worth, struct lb_error *error);

/* The coldest air in a cylinder in a revolution [K], of all worked ends. */
double lb_running_coldest(const struct lb_running *running, const struct lb_machine *machine);

/* Torque on the shaft [N m] at a crank angle [rad] of the revolution that the workspace found last:
 * the gas on all pistons less friction. Behind a receiver all cylinders are taken as the first.
 *
 * machine  the one it was found for */
double lb_running_torque(const struct lb_gas *gas, const struct lb_machine *machine, double angle);

#ifdef __cplusplus
}
#endif

#endif
