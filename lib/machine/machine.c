/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What follows directly from a machine's own figures.
 */
#include "machine/machine.h"

#include "base/constants.h"

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

void lb_machine_defaults(struct lb_machine *machine) {
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
  for (int end = 0; end < LB_ENDS; end++)
    machine->timing[end] = (struct lb_timing){.release = LB_PI, .exhaust_closes = 2 * LB_PI};
}
