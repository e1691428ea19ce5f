/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The load: a torque, or the forces at the rim of a vehicle's wheel brought to the crank.
 */
#include "duty/load.h"

#include "base/constants.h"
#include "physics/air.h"

#include <math.h>

/* T = T_0 + T_1 w + T_2 w^2 */
static void of_torque(struct lb_demand *demand, const struct lb_machine *machine, double speed) {
  const struct lb_load *load = &machine->load;
  demand->standing_torque = machine->load_torque;
  demand->torque = machine->load_torque +
                   speed * (load->torque_per_speed + speed * load->torque_per_speed_squared);
}

/* F = m g (c cos a + sin a) + 1/2 rho A (v + w)|v + w|,  T = F (d/2) gearing / efficiency */
static void of_vehicle(struct lb_demand *demand, const struct lb_machine *machine, double speed) {
  const struct lb_load *load = &machine->load;
  double lever = load->wheel_diameter / 2 * load->gearing; /* [m] of travel per rad of the crank */
  double density = lb_air_density(machine->ambient_pressure, machine->ambient_temperature);
  lb_machine_road_forces(&demand->rolling, &demand->climbing, load);
  demand->distance = 2 * LB_PI * lever;
  demand->drag_left_out = speed == 0 && load->drag_area > 0;
  if (speed > 0) {
    double wind = speed * lever + load->head_wind;
    demand->vehicle_speed = speed * lever;
    demand->drag = density / 2 * load->drag_area * wind * fabs(wind);
  }
  demand->standing_torque = (demand->rolling + demand->climbing) * lever / load->drive_efficiency;
  demand->torque = demand->standing_torque + demand->drag * lever / load->drive_efficiency;
}

enum lb_status lb_load_demand(struct lb_demand *demand, const struct lb_machine *machine,
                              double speed, struct lb_error *error) {
  const struct lb_load *load = &machine->load;
  struct lb_demand found = {0};
  if (load->mass > 0)
    of_vehicle(&found, machine, speed);
  else if (speed == 0 && (load->torque_per_speed > 0 || load->torque_per_speed_squared > 0))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the torque of the load rises with speed, and no speed is given; give the "
                        "speed of the crank with --speed, or leave that part of the torque out");
  else
    of_torque(&found, machine, speed);
  found.work = 2 * LB_PI * found.torque;
  if (load->coasting == LB_COASTING_MOTORING)
    found.motoring_work = 2 * machine->linkage.stroke * machine->friction * machine->cylinders;
  *demand = found;
  return LB_OK;
}

/* c cos a + sin a = sqrt(1 + c^2) sin(a + atan c) */
double lb_load_gradient(const struct lb_machine *machine, double torque, double speed) {
  const struct lb_load *load = &machine->load;
  struct lb_demand demand = {0};
  if (!(load->mass > 0))
    return (double)NAN;
  of_vehicle(&demand, machine, speed);
  double lever = load->wheel_diameter / 2 * load->gearing;
  double force = torque * load->drive_efficiency / lever - demand.drag;
  double sine = force / (load->mass * LB_GRAVITY) / hypot(1, load->rolling_resistance);
  if (sine >= 1)
    return (double)INFINITY;
  return sine > -1 ? tan(asin(sine) - atan(load->rolling_resistance)) : -(double)INFINITY;
}
