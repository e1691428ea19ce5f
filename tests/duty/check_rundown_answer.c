/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer about running a store down: what is refused and in which words, which plans are not
 * run, the verdict, and the force on the pin.
 */
#include "base/constants.h"
#include "duty/rundown.h"
#include "rundown_case.h"
#include "slow_reference.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------- what is refused ---------- */

/* One clear line: not cut off, no full stop. */
static void expect_line(const char *text, size_t room) {
  size_t length = strlen(text);
  ck_assert(length > 0 && length < room - 1 && !strchr(text, '\n'));
  ck_assert_msg(text[length - 1] != '.', "%s", text);
}

/* Run down a machine that cannot be; the text is static. */
static const char *refused(const struct lb_machine *machine, double speed, enum lb_status expected,
                           const char *part) {
  static struct lb_error error;
  struct lb_rundown *rundown = lb_rundown_new();
  struct lb_rundown_question question = {.rule = LB_AS_TIMED, .speed = speed};
  error = (struct lb_error){0};
  enum lb_status status = lb_rundown_find(rundown, machine, &question, &error);
  ck_assert_msg(status == expected, "status %d: %s", status, error.text);
  ck_assert_msg(strstr(error.text, part), "\"%s\" is not in \"%s\"", part, error.text);
  expect_line(error.text, sizeof error.text);
  lb_rundown_free(rundown);
  return error.text;
}

START_TEST(nothing_to_run) {
  struct lb_machine no_store = rundown_case_machine(), no_load = no_store;
  no_store.store.given = false;
  no_load.load_torque = 0;
  refused(&no_store, 0, LB_BAD_INPUT, "[store]");
  refused(&no_load, 0, LB_BAD_INPUT, "[load]");
}
END_TEST

START_TEST(what_needs_time) {
  struct lb_machine leaks = rundown_case_machine(), warms = leaks, droops = leaks, fan = leaks;
  leaks.store.leakage = 1e-10;
  warms.store.heat = LB_STORE_TIME_CONSTANT;
  warms.store.time_constant = 60;
  droops.regulator.droop = 1e7;
  fan.load.torque_per_speed_squared = 0.01;
  refused(&leaks, 0, LB_BAD_INPUT, "[store] leakage");
  refused(&warms, 0, LB_BAD_INPUT, "[store] heat");
  refused(&droops, 0, LB_BAD_INPUT, "[regulator] droop");
  warms.store.leakage = 1e-10;
  warms.regulator.droop = 1e7;
  ck_assert(strstr(refused(&warms, 0, LB_BAD_INPUT, "[store] leakage and [store] heat"), "droop"));
  refused(&warms, 0, LB_BAD_INPUT, "--speed");
  refused(&leaks, 0, LB_BAD_INPUT, "--speed");
  refused(&droops, 0, LB_BAD_INPUT, "--speed");
  refused(&fan, 0, LB_BAD_INPUT, "--speed");
}
END_TEST

/* A vehicle that rolls downhill by itself. */
START_TEST(the_load_drives) {
  struct lb_machine m = rundown_case_machine();
  m.load_torque = 0;
  m.load.mass = 100;
  m.load.rolling_resistance = 0.01;
  m.load.wheel_diameter = 0.3;
  m.load.gradient = -0.05;
  refused(&m, 0, LB_NO_ANSWER, "drives the machine");
  refused(&m, 60 * LB_RPM, LB_NO_ANSWER, "drives the machine");
  m.load.gradient = 0.01;
  lb_rundown_free(rundown_case_find(&m, 0, false));
}
END_TEST

/* From 300 bar without heat the air would fall below what is known of it. */
START_TEST(too_cold_a_store) {
  struct lb_machine m = rundown_case_machine();
  m.store.start_pressure = 300e5;
  m.store.heat = LB_STORE_ADIABATIC;
  refused(&m, 0, LB_NO_ANSWER, "-123.15");
  m.store.start_pressure = 360e5;
  refused(&m, 0, LB_NO_ANSWER, "350");
  /* Where its own timing is too weak and its rating too low, the best supply says so, too. */
  m.store.start_pressure = 300e5;
  m.rated_pressure = 11e5;
  m.timing[LB_CAP_END].cutoff = m.timing[LB_ROD_END].cutoff = 1 * LB_DEGREE;
  refused(&m, 0, LB_NO_ANSWER, "-123.15");
}
END_TEST

/* The pressure [Pa absolute] of "a supply of 12.34 bar gauge". */
static double named_supply(const char *text, const struct lb_machine *m) {
  static const char before[] = "a supply of ";
  const char *at = strstr(text, before);
  double gauge = 0;
  ck_assert_ptr_nonnull(at);
  ck_assert_int_eq(sscanf(at + strlen(before), "%lf bar gauge", &gauge), 1);
  return m->ambient_pressure + gauge * LB_BAR;
}

/* A load that never turns: the pressure in the text, printed to a hundredth of a bar, really
 * would. */
static void expect_named_supply(void) {
  struct lb_machine m = rundown_case_machine();
  const double printed = 0.006e5;
  m.load_torque = 40;
  double needed =
      named_supply(refused(&m, 0, LB_NO_ANSWER, "no plan turns the load of 40 N m"), &m);
  ck_assert(needed > m.store.start_pressure + printed);
  m.store.start_pressure = needed - printed;
  refused(&m, 0, LB_NO_ANSWER, "no plan turns");
  m.store.start_pressure = needed + printed;
  struct lb_rundown *rundown = rundown_case_find(&m, 0, false);
  ck_assert(rundown_case_run(rundown, LB_PLAN_FOLLOWING, 0)->ran);
  lb_rundown_free(rundown);
}

START_TEST(never_turns) {
  expect_named_supply();
  struct lb_machine m = rundown_case_machine();
  m.load_torque = 1e4;
  refused(&m, 0, LB_NO_ANSWER, "a lighter load");
}
END_TEST

/* A plan that is too weak while others run names the supply at which its own timing would carry the
 * load. */
START_TEST(too_weak_a_plan) {
  struct lb_machine m = rundown_case_machine();
  m.regulator.set_pressure = 2e5;
  struct lb_rundown *rundown = rundown_case_find(&m, 0, false);
  const struct lb_run *run = rundown_case_run(rundown, LB_PLAN_REGULATED, 0);
  ck_assert(!run->ran && run->revolutions == 0);
  expect_line(run->why, sizeof run->why);
  double needed = named_supply(run->why, &m);
  ck_close(needed, rundown->running, 0.006e5);
  ck_assert(rundown->run[LB_PLAN_UNREGULATED].ran);
  lb_rundown_free(rundown);
  struct lb_run *at_it = rundown_case_fixed(&m, 0, 0);
  ck_assert_int_eq(at_it->ended, LB_RUN_LOAD);
  ck_close(needed, at_it->end_pressure, 0.006e5);
  free(at_it);
}
END_TEST

/* A droop that leaves too little: what is named as too little is what it leaves. */
START_TEST(too_weak_by_its_droop) {
  struct lb_machine m = rundown_case_machine();
  double left = 0;
  m.regulator.droop = 20e5 / 1e-3;
  struct lb_rundown *rundown = rundown_case_find(&m, 60 * LB_RPM, false);
  const struct lb_run *run = rundown_case_run(rundown, LB_PLAN_REGULATED, 0);
  ck_assert(!run->ran);
  expect_line(run->why, sizeof run->why);
  ck_assert_int_eq(sscanf(run->why, "on %lf bar gauge", &left), 1);
  ck_assert(left > 0 && m.ambient_pressure + left * LB_BAR < named_supply(run->why, &m));
  lb_rundown_free(rundown);
}
END_TEST

START_TEST(above_the_rated_pressure) {
  struct lb_machine m = rundown_case_machine();
  m.rated_pressure = 8e5;
  struct lb_rundown *rundown = rundown_case_find(&m, 0, true);
  for (size_t i = 0; i < rundown->runs; i++) {
    const struct lb_run *run = &rundown->run[i];
    bool regulated = run->plan == LB_PLAN_REGULATED || run->plan == LB_PLAN_REGULATED_BEST;
    ck_assert(run->ran == regulated && (run->why[0] == '\0') == regulated);
    if (regulated) {
      ck_assert(run->set_pressure <= m.rated_pressure);
      continue;
    }
    expect_line(run->why, sizeof run->why);
    ck_assert(strstr(run->why, "rated pressure of 7.00 bar gauge"));
    ck_assert(strstr(run->why, "supply of 11.00 bar gauge"));
  }
  ck_assert(!rundown->verdict.compared);
  ck_assert_uint_eq(rundown->verdict.winner, LB_PLAN_REGULATED_BEST);
  lb_rundown_free(rundown);
}
END_TEST

/* ---------- the verdict ---------- */

static bool throttled(const struct lb_run *run) {
  return run->plan == LB_PLAN_REGULATED || run->plan == LB_PLAN_REGULATED_BEST;
}

static void expect_verdict(const struct lb_rundown *r) {
  const struct lb_verdict *v = &r->verdict;
  const struct lb_run *winner = &r->run[v->winner], *rival = &r->run[v->rival];
  double fixed = rundown_case_run(r, LB_PLAN_UNREGULATED, 0)->revolutions;
  double following = rundown_case_run(r, LB_PLAN_FOLLOWING, 0)->revolutions;
  ck_assert(v->compared && throttled(winner) != throttled(rival));
  ck_close_relative(1 + v->margin, winner->revolutions / rival->revolutions, EXACT);
  for (size_t i = 0; i < r->runs; i++) {
    ck_assert(r->run[i].revolutions <= winner->revolutions);
    if (throttled(&r->run[i]) == throttled(rival))
      ck_assert(r->run[i].revolutions <= rival->revolutions);
  }
  for (int k = LB_STEPS_LEAST; k <= LB_STEPS_MOST; k++) {
    double gain = rundown_case_run(r, LB_PLAN_STEPPED, k)->revolutions - fixed;
    ck_close_relative(v->step_share[k], gain / (following - fixed), IDENTITY);
  }
}

/* The machine with one quantity changed. */
static struct lb_machine turned(const struct lb_machine *machine, enum lb_knob knob, double value) {
  struct lb_machine m = *machine;
  if (knob == LB_KNOB_START_PRESSURE)
    m.store.start_pressure = value;
  else if (knob == LB_KNOB_LOAD)
    m.load_torque *= value;
  else
    for (int end = 0; end < LB_ENDS; end++)
      m.dead_volume[end] *= value;
  return m;
}

static bool regulated_wins(const struct lb_machine *m) {
  struct lb_rundown *r = rundown_case_find(m, 0, false);
  bool wins = throttled(&r->run[r->verdict.winner]);
  lb_rundown_free(r);
  return wins;
}

/* Where the ranking is said to turn round, it does; where it is said not to, it does not at the
 * ends of what was searched. */
static void expect_flips(const struct lb_machine *machine, int *found) {
  struct lb_rundown *r = rundown_case_find(machine, 0, true);
  bool now = throttled(&r->run[r->verdict.winner]);
  expect_verdict(r);
  for (int knob = 0; knob < LB_KNOBS; knob++) {
    const struct lb_flip *flip = &r->verdict.flip[knob];
    double own = knob == LB_KNOB_START_PRESSURE ? machine->store.start_pressure : 1;
    ck_assert(flip->from <= own && own <= flip->to && flip->from < flip->to);
    if (!flip->found)
      continue;
    bool above = flip->value > own;
    struct lb_machine before =
        turned(machine, (enum lb_knob)knob, flip->value * (above ? 0.9 : 1.1));
    struct lb_machine after =
        turned(machine, (enum lb_knob)knob, flip->value * (above ? 1.1 : 0.9));
    ck_assert(flip->from <= flip->value && flip->value <= flip->to);
    ck_assert(regulated_wins(&before) == now && regulated_wins(&after) != now);
    found[knob]++;
  }
  lb_rundown_free(r);
}

START_TEST(verdict_and_what_turns_it) {
  int found[LB_KNOBS] = {0};
  struct lb_machine m = rundown_case_machine();
  m.friction_share = 0;
  m.load_torque = 3;
  for (int i = 0; i < 2; i++) {
    m.dead_volume[LB_CAP_END] *= 3;
    m.dead_volume[LB_ROD_END] *= 3;
    expect_flips(&m, found);
  }
}
END_TEST

/* ---------- the pin ---------- */

/* Full pressure on the piston up to the cut-off, where a rod r/l = 0.3 slants most:
 * (p - p_a) A/cos, sin = r/l sin(cut-off). */
START_TEST(pin_force_in_closed_form) {
  struct lb_machine m = rundown_case_full_admission();
  double area = LB_PI / 4 * m.bore * m.bore, gauge = m.store.start_pressure - m.ambient_pressure;
  m.load_torque = 0.5;
  for (int degrees = 0; degrees <= 60; degrees += 30) {
    double sine = 0.3 * sin(degrees * LB_DEGREE), radius = m.linkage.stroke / 2;
    if (degrees > 0)
      ck_assert_int_eq(
          lb_linkage_init(&m.linkage, LB_CONNECTING_ROD, 2 * radius, radius / 0.3, 0, NULL), LB_OK);
    m.timing[LB_CAP_END].cutoff = degrees > 0 ? degrees * LB_DEGREE : 60 * LB_DEGREE;
    struct lb_run *store = rundown_case_fixed(&m, 0, 0);
    struct lb_run *behind = rundown_case_fixed(&m, 0, m.regulator.set_pressure);
    ck_close_relative(store->peak_pin_force, gauge * area / sqrt(1 - sine * sine), 1e-3);
    ck_close_relative(
        behind->peak_pin_force,
        (m.regulator.set_pressure - m.ambient_pressure) * area / sqrt(1 - sine * sine), 1e-3);
    free(store);
    free(behind);
  }
}
END_TEST

/* No moment of a run that follows pushes harder, although its cut-offs move to where the rod slants
 * more. */
START_TEST(pin_force_of_all_moments) {
  enum {
    ANGLES = 90
  };
  struct lb_machine m = rundown_case_machine();
  m.load_torque = 1;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_CONNECTING_ROD, 0.08, 0.055, 0, NULL), LB_OK);
  struct lb_rundown *r = rundown_case_find(&m, 0, false);
  const struct lb_run *run = rundown_case_run(r, LB_PLAN_FOLLOWING, 0);
  for (size_t i = 0; i < run->points; i++) {
    m.supply_pressure = run->point[i].supply_pressure;
    for (int k = 0; k < ANGLES; k++) {
      double angle = 2 * LB_PI * k / ANGLES, sine = 0.04 / 0.055 * sin(angle);
      double force = reference_net_force(&m, run->point[i].cutoff, angle) / sqrt(1 - sine * sine);
      ck_assert_msg(fabs(force) <= run->peak_pin_force * (1 + 1e-9), "%g N at %.4g bar, not %g N",
                    force, m.supply_pressure / LB_BAR, run->peak_pin_force);
    }
  }
  lb_rundown_free(r);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/rundown: answers");
  TCase *cases = tcase_create("answers");
  tcase_add_test(cases, nothing_to_run);
  tcase_add_test(cases, what_needs_time);
  tcase_add_test(cases, too_cold_a_store);
  tcase_add_test(cases, never_turns);
  tcase_add_test(cases, too_weak_a_plan);
  tcase_add_test(cases, above_the_rated_pressure);
  tcase_add_test(cases, pin_force_in_closed_form);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_test(cases, the_load_drives);
    tcase_add_test(cases, too_weak_by_its_droop);
    tcase_add_test(cases, verdict_and_what_turns_it);
    tcase_add_test(cases, pin_force_of_all_moments);
  }
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
