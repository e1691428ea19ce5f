/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cut-offs at speed: they release where they should, no neighbour does better, and towards no speed
 * they are those of the slow cycle.
 */
#include "decide/running_cutoff.h"

#include "base/constants.h"
#include "machine_text.h"
#include "stroke/timing.h"
#include "support.h"

#include <string.h>

static struct lb_gas *gas;

static void set_up(void) {
  gas = lb_gas_new();
  ck_assert_ptr_nonnull(gas);
}

static void tear_down(void) {
  lb_gas_free(gas);
}

/* A machine with valves of a conductance [L/(s bar)]; the demo machine has delays, a friction share
 * and warm walls. */
static struct lb_machine demo(double conductance) {
  struct lb_machine m = machine_text_demo(MACHINE_TEXT_TROLLEY);
  for (int valve = 0; valve < LB_VALVES; valve++)
    m.path[valve].flow = (struct lb_flow){conductance * 1e-8, 0.3, 0.5};
  return m;
}

static struct lb_running_choice choose(const struct lb_machine *m, enum lb_rule rule, double margin,
                                       double speed) {
  struct lb_running_choice choice;
  struct lb_error error = {0};
  enum lb_status status = lb_running_cutoff(&choice, gas, m, rule, margin, speed, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return choice;
}

/* Alone, behind a leak and behind a receiver: each end releases at back pressure and margin. */
START_TEST(releases_at_the_target) {
  const double margin = 0.1e5;
  for (int kind = 0; kind < 4; kind++) {
    struct lb_machine m = demo(2);
    m.leakage = kind == 1 ? 2e-10 : 0;
    if (kind == 2) {
      m.supply_line = (struct lb_flow){2e-8, 0.5, 0.5};
      m.receiver_volume = 5e-4;
    }
    for (int e = 0; e < LB_ENDS; e++)
      m.timing[e].angles_are_switching = kind == 3;
    struct lb_running_choice c = choose(&m, LB_ATMOSPHERIC, margin, 100 * LB_RPM);
    ck_assert_msg(c.found, "%s", c.why);
    for (int e = 0; e < LB_ENDS; e++) {
      ck_close(c.running.revolution.end[e].turn.release_pressure, m.back_pressure + margin,
               1e-6 * m.supply_pressure);
      ck_close(c.running.revolution.end[e].cutoff, c.cutoff[e], EXACT);
    }
  }
}
END_TEST

/* The valve is shut at the angle that is told, however the machine means its angles. */
START_TEST(angle_is_that_of_the_valve) {
  const double speed = 100 * LB_RPM;
  struct lb_machine events = demo(2), switched = events;
  for (int e = 0; e < LB_ENDS; e++) {
    struct lb_timing *t = &switched.timing[e];
    t->angles_are_switching = true;
    t->inlet_opens -= speed * switched.valve_delay[LB_INLET_VALVE].on;
    t->cutoff -= speed * switched.valve_delay[LB_INLET_VALVE].off;
    t->release -= speed * switched.valve_delay[LB_EXHAUST_VALVE].on;
    t->exhaust_closes -= speed * switched.valve_delay[LB_EXHAUST_VALVE].off;
  }
  for (int rule = LB_AS_TIMED; rule <= LB_ECONOMY; rule++) {
    struct lb_running_choice a = choose(&events, (enum lb_rule)rule, 0, speed);
    struct lb_running_choice b = choose(&switched, (enum lb_rule)rule, 0, speed);
    for (int e = 0; e < LB_ENDS; e++)
      ck_close(a.cutoff[e], b.cutoff[e], rule == LB_ECONOMY ? 2e-3 : 1e-6);
  }
}
END_TEST

/* No other pair of cut-offs gives more work from the air. */
START_TEST(no_neighbour_is_more_economical) {
  struct lb_machine m = demo(2);
  const double speed = 150 * LB_RPM;
  struct lb_running_choice best = choose(&m, LB_ECONOMY, 0, speed);
  double most = best.running.revolution.work_per_kg;
  ck_assert(best.found && most > 0);
  int step = support_is_rough() ? 6 : 1;
  for (int i = -6; i <= 6; i += step)
    for (int j = -6; j <= 6; j += step) {
      double cutoff[] = {best.cutoff[0] + i * 3 * LB_DEGREE, best.cutoff[1] + j * 3 * LB_DEGREE};
      struct lb_running other;
      ck_assert_int_eq(lb_running_turn(&other, gas, &m, cutoff, speed, false, NULL), LB_OK);
      ck_assert_msg(other.revolution.work_per_kg <= most * (1 + 1e-6), "%d %d: %.9g above %.9g", i,
                    j, other.revolution.work_per_kg, most);
    }
}
END_TEST

/* Slow, tight and without heat, both rules are those of the slow cycle. */
START_TEST(slow_rules_are_the_limit) {
  struct lb_machine m = demo(200);
  struct lb_cycle *cycle = lb_cycle_new();
  struct lb_choice slow[2];
  m.wall_heat_transfer = 0;
  for (int e = 0; e < LB_ENDS; e++)
    m.timing[e].opening_ramp = m.timing[e].opening_ramp_time = 0;
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_atmospheric(&slow[0], cycle, 0, NULL), LB_OK);
  ck_assert_int_eq(lb_cutoff_economy(&slow[1], cycle, NULL), LB_OK);
  for (int i = 0; i < 2; i++) {
    struct lb_running_choice c = choose(&m, i ? LB_ECONOMY : LB_ATMOSPHERIC, 0, 2 * LB_RPM);
    for (int e = 0; e < LB_ENDS; e++)
      ck_close(c.cutoff[e], slow[i].cutoff[e], (i ? 0.5 : 0.05) * LB_DEGREE);
  }
  lb_cycle_free(cycle);
}
END_TEST

/* What cannot be says why: too fast to fill, no work at all, a supply that is none. */
START_TEST(says_why_not) {
  struct lb_machine m = demo(1);
  struct lb_running_choice c = choose(&m, LB_ATMOSPHERIC, 0, 3000 * LB_RPM);
  ck_assert(!c.found && strstr(c.why, "does not reach 0.992 bar absolute (14.39 psia) at release"));
  ck_assert_ptr_nonnull(strstr(c.would_do, "a lower speed or a wider inlet valve"));
  c = choose(&m, LB_ECONOMY, 0, 3000 * LB_RPM);
  ck_assert(!c.found && strstr(c.why, "take all the work, at any cut-off"));
  m = demo(1);
  m.path[LB_INLET_VALVE].seat_leakage = 1e-9;
  c = choose(&m, LB_ATMOSPHERIC, 0, 20 * LB_RPM);
  ck_assert(!c.found && strstr(c.why, "is still above 0.992 bar absolute (14.39 psia) at release"));
  m = demo(1);
  m.supply_pressure = m.back_pressure;
  c = choose(&m, LB_ATMOSPHERIC, 0, 60 * LB_RPM);
  ck_assert(!c.found && strstr(c.why, "is not above back pressure and margin"));
  c = choose(&m, LB_ECONOMY, 0, 60 * LB_RPM);
  ck_assert(!c.found && strstr(c.why, "the supply is not above back pressure"));
  ck_assert_str_eq(c.would_do, "a higher supply pressure would do");
}
END_TEST

/* The revolution with the worth of its air is the same revolution. */
START_TEST(following_changes_nothing) {
  struct lb_machine m = demo(2);
  struct lb_running_choice c = choose(&m, LB_ATMOSPHERIC, 0, 100 * LB_RPM), followed = c;
  ck_assert_int_eq(lb_running_follow(&followed, gas, &m, NULL), LB_OK);
  ck_close(followed.running.revolution.work, c.running.revolution.work, EXACT * 100);
  ck_assert(followed.running.cylinder.worth.supplied > c.running.revolution.work);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("running cut-off");
  TCase *tests = tcase_create("running cut-off");
  tcase_set_timeout(tests, 300);
  tcase_add_checked_fixture(tests, set_up, tear_down);
  tcase_add_test(tests, releases_at_the_target);
  tcase_add_test(tests, angle_is_that_of_the_valve);
  tcase_add_test(tests, no_neighbour_is_more_economical);
  tcase_add_test(tests, slow_rules_are_the_limit);
  tcase_add_test(tests, says_why_not);
  tcase_add_test(tests, following_changes_nothing);
  suite_add_tcase(suite, tests);
  return support_run(suite, NULL);
}
