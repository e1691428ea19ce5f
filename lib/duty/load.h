/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the load asks of the crank, standing and at a speed.
 *
 *   torque: T = T_0 + T_1 w + T_2 w^2
 *   vehicle: F = m g (c cos a + sin a) + 1/2 rho A (v + w)|v + w|,  tan a = gradient,
 *            T = F (d/2) gearing / efficiency,  v = speed gearing d/2
 *
 * with the density rho of the surroundings. Drag is the only part that is left out without a speed.
 */
#ifndef LASTBAR_DUTY_LOAD_H
#define LASTBAR_DUTY_LOAD_H

#include "machine/machine.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The load at one speed. */
struct lb_demand {
  double torque;                  /* [N m] at the crank; not above 0: it drives the machine */
  double standing_torque;         /* [N m] without what comes with speed or wind */
  double work;                    /* [J] per revolution of the crank */
  double distance;                /* [m] per revolution of the crank; 0: no vehicle */
  double vehicle_speed;           /* [m/s] 0 without a speed or vehicle */
  double rolling, climbing, drag; /* [N] at the wheel's rim; 0 without a vehicle */
  bool drag_left_out;             /* there is drag or wind, but no speed was given */
  double motoring_work; /* [J] per revolution that coasting costs: constant friction of all
                           cylinders where the cylinder goes along, else 0 */
};

/* Work it out.
 * demand  out
 * speed   [rad/s] of the crank; 0: slow
 * Fails (LB_BAD_INPUT) when a torque that comes with speed is asked for without one: the text names
 * --speed. A load that drives the machine is no failure here. */
enum lb_status lb_load_demand(struct lb_demand *demand, const struct lb_machine *machine,
                              double speed, struct lb_error *error);

/* The gradient [1] that a vehicle climbs with a torque [N m] at the crank and a speed [rad/s] of
 * it; negative: it needs a slope; infinite where it climbs a wall; NaN without a vehicle. */
double lb_load_gradient(const struct lb_machine *machine, double torque, double speed);

#ifdef __cplusplus
}
#endif

#endif
