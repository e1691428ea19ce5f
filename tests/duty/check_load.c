/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a load asks of the crank: polynomials, road load in closed form, a rider on the level.
 */
#include "duty/load.h"

#include "base/constants.h"
#include "support.h"

#include <string.h>

static const double gravity = 9.80665; /* [m/s2] */

/* A vehicle of 100 kg on wheels of half a metre, geared two to one, with all kinds of resistance.
 */
static struct lb_machine vehicle(void) {
  struct lb_machine machine;
  lb_machine_defaults(&machine);
  machine.load = (struct lb_load){.mass = 100,
                                  .rolling_resistance = 0.02,
                                  .drag_area = 0.6,
                                  .gradient = 0.05,
                                  .wheel_diameter = 0.5,
                                  .gearing = 2,
                                  .drive_efficiency = 0.8};
  return machine;
}

static struct lb_demand demand_of(const struct lb_machine *machine, double speed) {
  struct lb_demand demand;
  ck_assert_int_eq(lb_load_demand(&demand, machine, speed, NULL), LB_OK);
  return demand;
}

START_TEST(torque_polynomial) {
  struct lb_machine machine;
  lb_machine_defaults(&machine);
  machine.load_torque = 3;
  struct lb_demand slow = demand_of(&machine, 0);
  ck_close_relative(slow.torque, 3, EXACT);
  ck_close_relative(slow.work, 6 * LB_PI, EXACT);
  ck_assert(slow.distance == 0 && slow.vehicle_speed == 0 && slow.rolling == 0 && slow.drag == 0);
  ck_assert(!slow.drag_left_out);
  machine.load.torque_per_speed = 0.5;
  machine.load.torque_per_speed_squared = 0.25;
  struct lb_demand turning = demand_of(&machine, 10);
  ck_close_relative(turning.torque, 3 + 0.5 * 10 + 0.25 * 100, EXACT);
  ck_close_relative(turning.standing_torque, 3, EXACT);
  ck_close_relative(turning.work, 2 * LB_PI * 33, EXACT);
}
END_TEST

/* Each coefficient alone needs a speed, and the caller's data stay as they were. */
START_TEST(torque_that_comes_with_speed_needs_one) {
  struct lb_machine machine;
  struct lb_error error;
  for (int which = 0; which < 2; which++) {
    struct lb_demand demand = {.torque = 7};
    lb_machine_defaults(&machine);
    machine.load_torque = 3;
    (which ? &machine.load.torque_per_speed : &machine.load.torque_per_speed_squared)[0] = 1;
    ck_assert_int_eq(lb_load_demand(&demand, &machine, 0, &error), LB_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(error.text, "--speed"));
    ck_assert(demand.torque == 7);
    ck_assert_int_eq(lb_load_demand(&demand, &machine, 1, &error), LB_OK);
  }
}
END_TEST

/* On a slope of 3 in 4 the cosine is 4/5 and the sine 3/5; a wall without rolling resistance takes
 * all the weight in the limit; downhill it turns round where the rolling resistance is the slope.
 */
START_TEST(gradients) {
  struct lb_machine machine = vehicle();
  machine.load.gradient = 0.75;
  struct lb_demand demand = demand_of(&machine, 0);
  ck_close_relative(demand.rolling, 100 * gravity * 0.02 * 0.8, IDENTITY);
  ck_close_relative(demand.climbing, 100 * gravity * 0.6, IDENTITY);
  machine.load.gradient = 1e9;
  ck_close_relative(demand_of(&machine, 0).climbing, 100 * gravity, IDENTITY);
  machine.load.gradient = -0.02;
  ck_close(demand_of(&machine, 0).torque, 0, IDENTITY);
  machine.load.gradient = -0.03;
  ck_assert(demand_of(&machine, 0).torque < 0);
}
END_TEST

/* Force times travel is the work at the rim, whatever wheel and gearing; the drive asks for more.
 */
START_TEST(work_at_the_rim) {
  struct lb_machine machine = vehicle();
  const double speed = 12;
  struct lb_demand demand = demand_of(&machine, speed);
  double force = demand.rolling + demand.climbing + demand.drag;
  ck_close_relative(demand.distance, LB_PI * 0.5 * 2, IDENTITY);
  ck_close_relative(demand.vehicle_speed, speed * 0.25 * 2, IDENTITY);
  ck_close_relative(demand.work * 0.8, force * demand.distance, IDENTITY);
  ck_close_relative(demand.torque * speed * 0.8, force * demand.vehicle_speed, IDENTITY);
  ck_close_relative(demand.standing_torque * 2 * LB_PI * 0.8,
                    (force - demand.drag) * demand.distance, IDENTITY);
  machine.load_torque = 1e3; /* follows from the vehicle, and is not added to it */
  ck_close_relative(demand_of(&machine, speed).torque, demand.torque, EXACT);
}
END_TEST

/* At 6 m/s: a wind of 6 m/s against it makes four times the drag, one from behind none, and a
 * faster one pushes. */
START_TEST(wind) {
  struct lb_machine machine = vehicle();
  double still = demand_of(&machine, 12).drag;
  double density = machine.ambient_pressure / (LB_GAS_CONSTANT * machine.ambient_temperature);
  ck_close_relative(still, density / 2 * 0.6 * 36, IDENTITY);
  machine.load.head_wind = 6;
  ck_close_relative(demand_of(&machine, 12).drag, 4 * still, IDENTITY);
  machine.load.head_wind = -6;
  ck_close(demand_of(&machine, 12).drag, 0, IDENTITY);
  machine.load.head_wind = -12;
  ck_close_relative(demand_of(&machine, 12).drag, -still, IDENTITY);
}
END_TEST

/* Without a speed drag and wind are left out, and that is said where there would be any. */
START_TEST(drag_left_out) {
  struct lb_machine machine = vehicle();
  machine.load.head_wind = 10;
  struct lb_demand slow = demand_of(&machine, 0);
  ck_assert(slow.drag_left_out && slow.drag == 0 && slow.vehicle_speed == 0);
  ck_close_relative(slow.torque, slow.standing_torque, EXACT);
  ck_assert(!demand_of(&machine, 1).drag_left_out);
  machine.load.drag_area = 0;
  ck_assert(!demand_of(&machine, 0).drag_left_out);
}
END_TEST

/* Two cylinders of 0.1 m stroke rub 50 N each, out and back. */
START_TEST(motoring) {
  struct lb_machine machine = vehicle();
  machine.cylinders = 2;
  machine.friction = 50;
  machine.linkage.stroke = 0.1;
  ck_assert(demand_of(&machine, 0).motoring_work == 0);
  machine.load.coasting = LB_COASTING_FREEWHEEL;
  ck_assert(demand_of(&machine, 0).motoring_work == 0);
  machine.load.coasting = LB_COASTING_MOTORING;
  ck_close_relative(demand_of(&machine, 0).motoring_work, 2 * 50 * 0.2, EXACT);
}
END_TEST

/* The rider of the table on the level at 6 m/s in air of 1.225 kg/m3; one turn of the crank is one
 * of the wheel. */
static void rider_row(const struct support_row *row) {
  struct lb_machine machine = vehicle();
  const double vehicle_speed = 6;
  machine.ambient_pressure = LB_ATMOSPHERE;
  machine.ambient_temperature = LB_ATMOSPHERE / (LB_GAS_CONSTANT * 1.225);
  machine.load.mass = support_number(row, "mass_kg");
  machine.load.rolling_resistance = support_number(row, "rolling_resistance");
  machine.load.drag_area = support_number(row, "drag_area_m2");
  machine.load.drive_efficiency = support_number(row, "drive_efficiency");
  machine.load.gradient = 0;
  machine.load.gearing = 1;
  double speed = vehicle_speed / (machine.load.wheel_diameter / 2);
  struct lb_demand demand = demand_of(&machine, speed);
  const char *quantity = support_text(row, "quantity");
  double value = (double)NAN;
  if (strcmp(quantity, "rolling resistance") == 0)
    value = demand.rolling;
  else if (strcmp(quantity, "drag") == 0)
    value = demand.drag;
  else if (strcmp(quantity, "power at the wheel") == 0)
    value = (demand.rolling + demand.drag) * demand.vehicle_speed;
  else if (strcmp(quantity, "power at the crank") == 0)
    value = demand.torque * speed;
  ck_close(value, support_number(row, "value"), support_number(row, "tolerance"));
}

START_TEST(rider_on_the_level) {
  support_published("cyclist_road_load.csv", rider_row);
}
END_TEST

static double steepest,
    flattest; /* rolling resistance over weight, of what the table below holds */

/* A vehicle rolls down by itself from the slope on that its resistance is; a wheel on rails does so
 * on less than any tyre. */
static void rolling_row(const struct support_row *row) {
  struct lb_machine machine = vehicle();
  double least = support_number(row, "least"), most = support_number(row, "most");
  ck_assert(least > 0 && least <= most);
  machine.load.rolling_resistance = most;
  machine.load.gradient = -most * (1 + 1e-9);
  ck_assert(demand_of(&machine, 0).torque < 0);
  machine.load.gradient = -most * (1 - 1e-9);
  ck_assert(demand_of(&machine, 0).torque > 0);
  flattest = fmin(flattest, least);
  steepest = fmax(steepest, most);
}

START_TEST(rolling_resistances) {
  flattest = (double)INFINITY, steepest = 0;
  support_published("rolling_resistance.csv", rolling_row);
  ck_assert(flattest == 0.001 && steepest == 0.4);
}
END_TEST

/* What a torque climbs is the gradient that asks for it; nothing climbs a wall by rolling. */
START_TEST(gradient_that_a_torque_climbs) {
  struct lb_machine machine = vehicle();
  struct lb_demand demand;
  const double gradient[] = {-0.3, 0, 0.02, 0.5, 3}, speed[] = {0, 12};
  for (size_t i = 0; i < sizeof gradient / sizeof gradient[0]; i++)
    for (size_t j = 0; j < sizeof speed / sizeof speed[0]; j++) {
      machine.load.gradient = gradient[i];
      ck_assert_int_eq(lb_load_demand(&demand, &machine, speed[j], NULL), LB_OK);
      ck_close(lb_load_gradient(&machine, demand.torque, speed[j]), gradient[i], 1e-12);
    }
  double weight = machine.load.mass * LB_GRAVITY;
  double lever = machine.load.wheel_diameter / 2 * machine.load.gearing;
  double wall = 1.1 * weight * lever / machine.load.drive_efficiency;
  ck_assert(isinf(lb_load_gradient(&machine, wall, 0)));
  machine.load.mass = 0;
  ck_assert(isnan(lb_load_gradient(&machine, 1, 0)));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/load");
  TCase *all = tcase_create("all");
  tcase_add_test(all, torque_polynomial);
  tcase_add_test(all, torque_that_comes_with_speed_needs_one);
  tcase_add_test(all, gradients);
  tcase_add_test(all, work_at_the_rim);
  tcase_add_test(all, wind);
  tcase_add_test(all, drag_left_out);
  tcase_add_test(all, motoring);
  tcase_add_test(all, rider_on_the_level);
  tcase_add_test(all, rolling_resistances);
  tcase_add_test(all, gradient_that_a_torque_climbs);
  suite_add_tcase(suite, all);
  return support_run(suite, (Suite *)NULL);
}
