/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What follows directly from a machine's own figures.
 */
#include "machine/machine.h"

#include "base/constants.h"
#include "physics/conductance.h"

#include <math.h>

void lb_machine_road_forces(double *rolling, double *climbing, const struct lb_load *load) {
  double weight = load->mass * LB_GRAVITY, secant = hypot(1, load->gradient);
  *rolling = weight * load->rolling_resistance / secant;
  *climbing = weight * load->gradient / secant;
}

double lb_machine_area(const struct lb_machine *machine, enum lb_end end) {
  double rod = end == LB_CAP_END ? machine->through_rod_diameter : machine->rod_diameter;
  return LB_PI / 4 * (machine->bore - rod) * (machine->bore + rod);
}

double lb_machine_swept_volume(const struct lb_machine *machine) {
  double area = 0;
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->works[end])
      area += lb_machine_area(machine, (enum lb_end)end);
  return machine->cylinders * area * machine->linkage.stroke;
}

double lb_machine_dead_share(enum lb_dead_volume assumed) {
  static const double share[] = {
      [LB_DEAD_VOLUME_LOW] = 0.05, [LB_DEAD_VOLUME_USUAL] = 0.10, [LB_DEAD_VOLUME_HIGH] = 0.20};
  return share[assumed];
}

void lb_machine_assume_dead_volume(struct lb_machine *machine, enum lb_dead_volume assumed) {
  for (int end = 0; end < LB_ENDS; end++)
    if (machine->dead_volume_unknown[end])
      machine->dead_volume[end] = lb_machine_dead_share(assumed) *
                                      lb_machine_area(machine, (enum lb_end)end) *
                                      machine->linkage.stroke +
                                  machine->tube_volume;
}

bool lb_machine_assumes(const struct lb_machine *machine) {
  return (machine->works[LB_CAP_END] && machine->dead_volume_unknown[LB_CAP_END]) ||
         (machine->works[LB_ROD_END] && machine->dead_volume_unknown[LB_ROD_END]);
}

void lb_machine_defaults(struct lb_machine *machine) {
  /* Common practice, without a source. */
  const double track_width = 6e-3, least_arc = 2e-3;  /* [m] */
  const double pressure_angle_limit = 30 * LB_DEGREE; /* [rad] */
  const double line_critical_ratio = 0.5;             /* [1] of hoses and fittings */
  double room_temperature = 20 + LB_ZERO_CELSIUS;
  *machine = (struct lb_machine){.name = "Unnamed machine",
                                 .cylinders = 1,
                                 .clockwise = true,
                                 .ambient_pressure = LB_ATMOSPHERE,
                                 .ambient_temperature = room_temperature,
                                 .supply_temperature = room_temperature,
                                 .back_pressure = LB_ATMOSPHERE,
                                 .expansion_exponent = LB_GAMMA,
                                 .compression_exponent = LB_GAMMA,
                                 .works = {true, true}};
  machine->switch_disc.track_width = track_width;
  machine->switch_disc.least_arc = least_arc;
  machine->cam.pressure_angle_limit = pressure_angle_limit;
  machine->load.gearing = 1;
  machine->load.drive_efficiency = 1;
  machine->supply_line.critical_ratio = line_critical_ratio;
  machine->supply_line.subsonic_index = LB_CONDUCTANCE_INDEX;
  for (int valve = 0; valve < LB_VALVES; valve++)
    machine->valve_size[valve].subsonic_index = LB_CONDUCTANCE_INDEX;
  for (int end = 0; end < LB_ENDS; end++)
    machine->timing[end] = (struct lb_timing){.release = LB_PI, .exhaust_closes = 2 * LB_PI};
}
