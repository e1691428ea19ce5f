/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Curves over the speed: each point is the revolution itself, the speeds told are where they should
 * be, and the number of threads changes no digit. Advice: each cause taken away is a machine
 * without it, and the width that is told gives the work that is wanted.
 */
#include "decide/advice.h"
#include "decide/curves.h"

#include "base/constants.h"
#include "machine/complete.h"
#include "machine_text.h"
#include "support.h"

#include <math.h>

#include <stdlib.h>
#include <string.h>

static struct lb_machine demo(double conductance) {
  struct lb_machine m = machine_text_demo(MACHINE_TEXT_TROLLEY);
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){conductance * 1e-8, 0.3, 0.5};
  return m;
}

static struct lb_curves found(const struct lb_machine *m, const struct lb_curves_question *q) {
  struct lb_curves curves;
  struct lb_error error = {0};
  enum lb_status status = lb_curves_find(&curves, m, q, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return curves;
}

static struct lb_running turn(const struct lb_machine *m, double pressure, const double *cutoff,
                              double speed) {
  struct lb_machine at = *m;
  struct lb_running running;
  struct lb_gas *gas = lb_gas_new();
  at.supply_pressure = pressure;
  ck_assert_int_eq(lb_running_turn(&running, gas, &at, cutoff, speed, false, NULL), LB_OK);
  lb_gas_free(gas);
  return running;
}

START_TEST(points_are_revolutions) {
  struct lb_machine m = demo(1.4);
  const struct lb_curves_question q = {.pressure = {3e5, 6e5}, .pressures = 2, .speeds = 7};
  struct lb_curves curves = found(&m, &q);
  ck_assert_uint_eq(curves.curves, 2);
  ck_assert_uint_eq(curves.speeds, 7);
  for (size_t i = 0; i < curves.curves; i++)
    for (size_t k = 0; k < curves.speeds; k++) {
      const struct lb_curve *c = &curves.curve[i];
      struct lb_running own = turn(&m, c->supply_pressure, c->cutoff, curves.speed[k]);
      ck_assert(own.revolution.work == c->point[k].revolution.work);
      ck_assert(own.revolution.air == c->point[k].revolution.air);
      ck_close(own.power, c->point[k].power, EXACT * fabs(own.power));
    }
  lb_curves_free(&curves);
}
END_TEST

/* The speeds a builder asks for, checked by the revolutions at and around them. */
START_TEST(speeds_are_where_they_should_be) {
  struct lb_machine m = demo(1.4);
  m.load_torque = 5;
  const struct lb_curves_question q = {.speeds = 40};
  struct lb_curves curves = found(&m, &q);
  const struct lb_curve *c = &curves.curve[0];
  double p = c->supply_pressure;
  ck_assert(c->no_load_speed > 0 && c->best_power_speed > 0 && c->tenth_lost_speed > 0);
  ck_close(turn(&m, p, c->cutoff, c->no_load_speed).revolution.mean_torque, 0, 1e-5);
  ck_close(turn(&m, p, c->cutoff, c->load_speed).revolution.mean_torque, 5, 1e-5);
  ck_close(turn(&m, p, c->cutoff, c->tenth_lost_speed).revolution.work, 0.9 * c->slow.work, 1e-4);
  ck_close_relative(turn(&m, p, c->cutoff, c->best_power_speed).power, c->best_power, 1e-9);
  for (int i = -10; i <= 10; i++)
    ck_assert(turn(&m, p, c->cutoff, c->best_power_speed * (1 + 0.03 * i)).power <=
              c->best_power * (1 + 1e-7));
  ck_assert(c->no_load_speed < curves.speed[curves.speeds - 1]);
  lb_curves_free(&curves);
}
END_TEST

/* Best economy inside the range, where leakage makes a slow machine wasteful. */
START_TEST(leakage_makes_slow_wasteful) {
  struct lb_machine m = demo(3);
  m.leakage = 5e-10;
  const struct lb_curves_question q = {.speeds = 40};
  struct lb_curves curves = found(&m, &q);
  const struct lb_curve *c = &curves.curve[0];
  ck_assert(c->best_economy_speed > curves.speed[0]);
  for (int i = -5; i <= 5; i++)
    ck_assert(turn(&m, c->supply_pressure, c->cutoff, c->best_economy_speed * (1 + 0.05 * i))
                  .revolution.work_per_kg <= c->best_economy * (1 + 1e-6));
  lb_curves_free(&curves);
}
END_TEST

/* By a rule each pressure has its own angles; one below back pressure has none, and says why. */
START_TEST(rules_choose_at_each_pressure) {
  struct lb_machine m = demo(1.4);
  const struct lb_curves_question q = {
      .rule = LB_ATMOSPHERIC, .pressure = {0.9e5, 3e5, 6e5}, .pressures = 3, .speeds = 4};
  struct lb_curves curves = found(&m, &q);
  ck_assert(!curves.curve[0].found && strlen(curves.curve[0].why) > 0);
  ck_assert(curves.curve[1].cutoff[0] > curves.curve[2].cutoff[0]);
  lb_curves_free(&curves);
}
END_TEST

START_TEST(refusals) {
  struct lb_machine m = demo(1.4);
  struct lb_curves curves;
  struct lb_error error = {0};
  struct lb_curves_question q = {.from = 20, .to = 10, .speeds = 4};
  ck_assert_int_eq(lb_curves_find(&curves, &m, &q, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "are no range; the first must be the lower one"));
  q = (struct lb_curves_question){.speeds = 1};
  ck_assert_int_eq(lb_curves_find(&curves, &m, &q, &error), LB_BAD_INPUT);
  q = (struct lb_curves_question){
      .rule = LB_ATMOSPHERIC, .pressure = {0.9e5}, .pressures = 1, .speeds = 4};
  ck_assert_int_eq(lb_curves_find(&curves, &m, &q, &error), LB_NO_ANSWER);
  m.path[LB_INLET_VALVE].flow.conductance = 0;
  q = (struct lb_curves_question){.speeds = 4};
  ck_assert_int_eq(lb_curves_find(&curves, &m, &q, &error), LB_BAD_INPUT);
  ck_assert_ptr_nonnull(strstr(error.text, "[inlet valve] has no conductance"));
  ck_assert_ptr_null(curves.speed);
}
END_TEST

/* ---------- advice ---------- */

static struct lb_running_choice as_timed(struct lb_gas *gas, const struct lb_machine *m,
                                         double speed) {
  struct lb_running_choice choice;
  ck_assert_int_eq(lb_running_cutoff(&choice, gas, m, LB_AS_TIMED, 0, speed, NULL), LB_OK);
  ck_assert(choice.found);
  return choice;
}

/* With all causes in the machine each is told, and what is told is what a machine without it does.
 */
START_TEST(causes_are_taken_away) {
  const double speed = 120 * LB_RPM;
  struct lb_machine m = demo(1.4);
  struct lb_gas *gas = lb_gas_new();
  struct lb_advice advice;
  m.leakage = 1e-10;
  m.supply_line = (struct lb_flow){2e-8, 0.5, 0.5};
  m.receiver_volume = 1e-3;
  for (int e = 0; e < LB_ENDS; e++)
    m.timing[e].angles_are_switching = true;
  struct lb_running_choice choice = as_timed(gas, &m, speed);
  ck_assert_int_eq(lb_advice_find(&advice, gas, &m, &choice, NULL), LB_OK);
  for (int cause = 0; cause < LB_CAUSES; cause++)
    ck_assert(advice.without[cause].applies);
  const double given[] = {m.timing[0].cutoff, m.timing[1].cutoff};
  struct lb_machine without = m;
  without.leakage = 0;
  ck_close_relative(advice.without[LB_CAUSE_LEAKAGE].work,
                    turn(&without, m.supply_pressure, given, speed).revolution.work, 1e-9);
  without = m;
  without.friction = without.friction_share = 0;
  ck_close_relative(advice.without[LB_CAUSE_FRICTION].work,
                    choice.running.revolution.indicated_work, 1e-9);
  without = m;
  memset(without.valve_delay, 0, sizeof without.valve_delay);
  ck_close_relative(advice.without[LB_CAUSE_DELAY].work,
                    turn(&without, m.supply_pressure, given, speed).revolution.work, 1e-9);
  ck_assert(advice.without[LB_CAUSE_INLET].work > choice.running.revolution.work);
  ck_assert(advice.without[LB_CAUSE_SUPPLY_LINE].work > choice.running.revolution.work);
  lb_gas_free(gas);
}
END_TEST

/* A machine without a cause is not told of it. */
START_TEST(absent_causes_do_not_apply) {
  struct lb_machine m = demo(1.4);
  struct lb_gas *gas = lb_gas_new();
  struct lb_advice advice;
  m.wall_heat_transfer = m.friction = m.friction_share = 0;
  struct lb_running_choice choice = as_timed(gas, &m, 60 * LB_RPM);
  ck_assert_int_eq(lb_advice_find(&advice, gas, &m, &choice, NULL), LB_OK);
  ck_assert(!advice.without[LB_CAUSE_HEAT].applies && !advice.without[LB_CAUSE_FRICTION].applies);
  ck_assert(!advice.without[LB_CAUSE_DELAY].applies && !advice.without[LB_CAUSE_LEAKAGE].applies);
  ck_assert(!advice.without[LB_CAUSE_SUPPLY_LINE].applies);
  lb_gas_free(gas);
}
END_TEST

/* Valves as wide as told give nine tenths of the slow work, whether wider than they are or not, and
 * where valves a little narrower cannot be calculated at all. */
START_TEST(width_gives_what_is_wanted) {
  const double conductance[] = {1.4, 6, 1.4}, speed[] = {120 * LB_RPM, 120 * LB_RPM, 3000 * LB_RPM};
  for (int i = 0; i < 3; i++) {
    struct lb_machine m = demo(conductance[i]);
    struct lb_gas *gas = lb_gas_new();
    struct lb_advice advice;
    struct lb_running_choice choice = as_timed(gas, &m, speed[i]);
    ck_assert_int_eq(lb_advice_find(&advice, gas, &m, &choice, NULL), LB_OK);
    ck_assert((advice.wider > 1) == (i != 1));
    for (int valve = 0; valve < LB_VALVES; valve++)
      m.path[valve].flow.conductance *= advice.wider;
    ck_close_relative(turn(&m, m.supply_pressure, choice.cutoff, speed[i]).revolution.work,
                      0.9 * advice.slow.work, 1e-4);
    lb_gas_free(gas);
  }
}
END_TEST

/* A tube in the way stays: wider valves are promised what they give, and nothing where the tube
 * takes it all. */
START_TEST(a_tube_is_not_widened) {
  struct lb_machine m = demo(1.4);
  struct lb_gas *gas = lb_gas_new();
  struct lb_advice advice;
  m.tube = (struct lb_tubing){.given = true, .length = 0.5, .bore = 8e-3, .serves = LB_TUBE_BOTH};
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  struct lb_running_choice choice = as_timed(gas, &m, 120 * LB_RPM);
  ck_assert_int_eq(lb_advice_find(&advice, gas, &m, &choice, NULL), LB_OK);
  ck_assert(advice.wider > 1);
  struct lb_machine wide = m;
  for (int valve = 0; valve < LB_VALVES; valve++)
    wide.valve_size[valve].conductance *= advice.wider;
  ck_assert_int_eq(lb_machine_complete(&wide, NULL), LB_OK);
  ck_close_relative(turn(&wide, m.supply_pressure, choice.cutoff, 120 * LB_RPM).revolution.work,
                    0.9 * advice.slow.work, 1e-4);
  m.tube.length = 2;
  m.tube.bore = 4e-3;
  ck_assert_int_eq(lb_machine_complete(&m, NULL), LB_OK);
  choice = as_timed(gas, &m, 120 * LB_RPM);
  ck_assert_int_eq(lb_advice_find(&advice, gas, &m, &choice, NULL), LB_OK);
  ck_assert(advice.wider == 0);
  lb_gas_free(gas);
}
END_TEST

static bool warns(const struct lb_machine *m, double speed, const char *code) {
  struct lb_warning warning[LB_ADVICE_WARNINGS];
  struct lb_gas *gas = lb_gas_new();
  struct lb_running_choice choice = as_timed(gas, m, speed);
  size_t count = lb_advice_warnings(warning, m, &choice);
  bool there = false;
  for (size_t i = 0; i < count; i++)
    there = there || strcmp(warning[i].code, code) == 0;
  lb_gas_free(gas);
  return there;
}

/* Each warning from the speed on at which it holds, and not below. */
START_TEST(warnings_begin_where_they_should) {
  struct lb_machine m = demo(1.4);
  double limit = m.piston_speed_limit * LB_PI / m.linkage.stroke;
  ck_assert(warns(&m, limit * 1.01, "piston_speed") && !warns(&m, limit * 0.99, "piston_speed"));
  double window = m.timing[0].cutoff - m.timing[0].inlet_opens; /* the shortest */
  double fits = window / m.valve_delay[LB_INLET_VALVE].off;
  ck_assert(warns(&m, fits * 1.01, "valve_window") && !warns(&m, fits * 0.99, "valve_window"));
  for (int e = 0; e < LB_ENDS; e++)
    m.timing[e].angles_are_switching = true; /* the signal must last as long as the on delay */
  /* the exhaust shuts late by its off delay, the inlet opens late by its on delay */
  double apart = 2 * LB_PI + m.timing[0].inlet_opens - m.timing[0].exhaust_closes;
  double meet = apart / (m.valve_delay[LB_EXHAUST_VALVE].off - m.valve_delay[LB_INLET_VALVE].on);
  ck_assert(warns(&m, meet + 11 * LB_DEGREE / 2e-3, "valves_overlap"));
  ck_assert(!warns(&m, meet, "valves_overlap"));
  fits = window / m.valve_delay[LB_INLET_VALVE].on;
  ck_assert(warns(&m, fits * 1.01, "valve_window") && !warns(&m, fits * 0.99, "valve_window"));
  for (int e = 0; e < LB_ENDS; e++)
    m.timing[e].angles_are_switching = false;
  ck_assert(!warns(&m, 60 * LB_RPM, "above_rated_pressure"));
  m.rated_pressure = 0.9 * m.supply_pressure; /* which the cylinder reaches */
  ck_assert(warns(&m, 60 * LB_RPM, "above_rated_pressure"));
  m.rated_pressure = 0;
  ck_assert(!warns(&m, 60 * LB_RPM, "above_rated_pressure"));
  ck_assert(!warns(&m, 60 * LB_RPM, "short_ramp"));
  m.timing[0].opening_ramp = 0.51 * window;
  ck_assert(warns(&m, 60 * LB_RPM, "short_ramp"));
  ck_assert(warns(&m, 60 * LB_RPM, "ice"));
  m.humidity = 0; /* dry air has no ice */
  ck_assert(!warns(&m, 60 * LB_RPM, "ice"));
  ck_assert(warns(&m, 1000 * LB_RPM, "no_work") && !warns(&m, 60 * LB_RPM, "no_work"));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("curves");
  TCase *curves = tcase_create("curves"), *advice = tcase_create("advice");
  tcase_set_timeout(curves, 300);
  tcase_add_test(curves, points_are_revolutions);
  tcase_add_test(curves, speeds_are_where_they_should_be);
  tcase_add_test(curves, leakage_makes_slow_wasteful);
  tcase_add_test(curves, rules_choose_at_each_pressure);
  tcase_add_test(curves, refusals);
  tcase_set_timeout(advice, 300);
  tcase_add_test(advice, causes_are_taken_away);
  tcase_add_test(advice, absent_causes_do_not_apply);
  tcase_add_test(advice, width_gives_what_is_wanted);
  tcase_add_test(advice, a_tube_is_not_widened);
  tcase_add_test(advice, warnings_begin_where_they_should);
  suite_add_tcase(suite, curves);
  suite_add_tcase(suite, advice);
  return support_run(suite, NULL);
}
