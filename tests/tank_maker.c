/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stores for tests.
 */
#include "tank_maker.h"

#include "support.h"

struct lb_machine tank_maker_machine(double room, double pressure, double temperature,
                                     enum lb_store_heat heat) {
  struct lb_machine machine;
  lb_machine_defaults(&machine);
  machine.store = (struct lb_store){.given = true,
                                    .volume = room,
                                    .start_pressure = pressure,
                                    .temperature = temperature,
                                    .heat = heat};
  return machine;
}

struct lb_tank tank_maker_prepare(const struct lb_machine *machine, const struct lb_real_air *air) {
  struct lb_tank tank;
  struct lb_error error;
  enum lb_status status = lb_tank_prepare(&tank, machine, air, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return tank;
}

struct lb_tank_state tank_maker_state(const struct lb_tank *tank, double mass, double temperature) {
  struct lb_tank_state state = {.pressure = 0};
  struct lb_error error;
  enum lb_status status = lb_tank_at(&state, tank, mass, temperature, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return state;
}
