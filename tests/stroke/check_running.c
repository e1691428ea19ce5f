/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The machine at speed: sums over cylinders, friction, power, and the slow cycle as its limit.
 */
#include "stroke/running.h"

#include "base/constants.h"
#include "machine_text.h"
#include "support.h"

static const double rpm = 2 * LB_PI / 60;

static struct lb_machine machine_of(int cylinders) {
  struct lb_machine m = machine_text(machine_text_least, "timing.cut-off=70 deg");
  m.cylinders = cylinders;
  m.friction = 15;
  m.friction_share = 0.05;
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){2e-8, 0.3, 0.5};
  return m;
}

static struct lb_running turn(const struct lb_machine *m, double speed) {
  struct lb_running running;
  struct lb_error error = {0};
  struct lb_gas *gas = lb_gas_new();
  ck_assert_ptr_nonnull(gas);
  const double cutoff[LB_ENDS] = {m->timing[LB_CAP_END].cutoff, m->timing[LB_ROD_END].cutoff};
  enum lb_status status = lb_running_turn(&running, gas, m, cutoff, speed, false, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  lb_gas_free(gas);
  return running;
}

START_TEST(three_cylinders_are_three_times_one) {
  struct lb_machine one = machine_of(1), three = machine_of(3);
  struct lb_running a = turn(&one, 120 * rpm), b = turn(&three, 120 * rpm);
  ck_close_relative(b.revolution.work, 3 * a.revolution.work, IDENTITY);
  ck_close_relative(b.revolution.air, 3 * a.revolution.air, IDENTITY);
  ck_close_relative(b.revolution.friction_work, 3 * a.revolution.friction_work, IDENTITY);
  ck_close_relative(b.revolution.mean_effective_pressure, a.revolution.mean_effective_pressure,
                    IDENTITY);
  ck_close_relative(b.power, b.revolution.mean_torque * 120 * rpm, IDENTITY);
  ck_close_relative(a.revolution.indicated_work - a.revolution.friction_work, a.revolution.work,
                    IDENTITY);
}
END_TEST

/* The friction of the slow cycle, share of the gas force included, is the limit of that at speed.
 */
START_TEST(friction_tends_to_the_slow_one) {
  struct lb_machine m = machine_of(1);
  struct lb_cycle *cycle = lb_cycle_new();
  struct lb_revolution slow;
  const double cutoff[LB_ENDS] = {m.timing[LB_CAP_END].cutoff, m.timing[LB_ROD_END].cutoff};
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&slow, cycle, cutoff, NULL), LB_OK);
  lb_cycle_free(cycle);
  struct lb_running running = turn(&m, 0.5 * rpm);
  ck_close_relative(running.revolution.friction_work, slow.friction_work, 1e-3);
  ck_close_relative(running.revolution.work, slow.work, 1e-3);
  ck_close_relative(running.revolution.work_per_kg, slow.work_per_kg, 1e-3);
}
END_TEST

static Suite *running_suite(void) {
  Suite *suite = suite_create("running");
  TCase *tests = tcase_create("running");
  tcase_add_test(tests, three_cylinders_are_three_times_one);
  tcase_add_test(tests, friction_tends_to_the_slow_one);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(running_suite(), NULL);
}
