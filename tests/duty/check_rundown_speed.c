/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Running a store down at a speed, where the store leaks and takes heat from its walls: limits,
 * orderings and balances.
 */
#include "duty/rundown.h"

#include "base/constants.h"
#include "rundown_case.h"
#include "support.h"

#include <stdlib.h>

/* Few revolutions of one end, which is all that the laws need; valves that are open or shut. */
static struct lb_machine small_machine(void) {
  struct lb_machine m = rundown_case_machine();
  m.works[LB_ROD_END] = false;
  m.timing[LB_CAP_END].opening_ramp = 0;
  m.store.start_pressure = 8e5;
  m.load_torque = 2;
  return m;
}

/* Revolutions on the store itself at a speed. */
static double turns_at(const struct lb_machine *m, double speed) {
  struct lb_run *run = rundown_case_fixed(m, speed, 0);
  double turns = run->powered_revolutions;
  free(run);
  return turns;
}

/* What the slow run leaves out is in proportion to the speed where valves open at once: flowing in
 * and out takes that much more of a revolution. */
START_TEST(first_order_in_speed) {
  struct lb_machine m = small_machine();
  double slow = turns_at(&m, 0);
  double at_3 = turns_at(&m, 3 * LB_RPM) - slow, at_6 = turns_at(&m, 6 * LB_RPM) - slow;
  ck_assert(fabs(at_3) < 1e-3 * slow);
  ck_close(at_6 / at_3, 2, 0.05);
}
END_TEST

/* A regulator that droops, a store that leaks and takes heat from walls that are warmer than the
 * surroundings: all that a run at speed can lose. */
static struct lb_machine losing_machine(void) {
  struct lb_machine m = small_machine();
  m.supply_temperature_given = false;
  m.leakage = 1e-10;
  m.wall_heat_transfer = 40;
  m.store.temperature = 300;
  m.store.heat = LB_STORE_TIME_CONSTANT;
  m.store.time_constant = 20;
  m.store.leakage = 1e-10;
  m.regulator.droop = 0.2e5 / 1e-3;
  m.regulator.set_pressure = 6e5;
  m.load.coasting = LB_COASTING_MOTORING;
  return m;
}

START_TEST(books_at_speed) {
  struct lb_machine m = losing_machine();
  const double speed = 90 * LB_RPM;
  struct lb_run *run = rundown_case_fixed(&m, speed, m.regulator.set_pressure);
  const struct lb_run_books *b = &run->books;
  struct lb_real_air *air = lb_real_air_new();
  double parts[] = {b->crank,   b->friction, b->inlet,       b->filling,   b->pushed_back,
                    b->release, b->heat,     b->leakage,     b->exhaust,   b->regulator,
                    b->pipe,    b->ideal,    b->store_walls, b->store_leak};
  double sum = b->end,
         start = m.store.volume * rundown_case_air(air, m.store.start_pressure, 300).density;
  for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
    sum += parts[i];
  ck_close_relative(sum, b->start, 1e-5);
  ck_close_relative(run->air_left + run->air_used + run->air_leaked, start, SOLVER);
  ck_assert(b->inlet > 0 && b->release > 0 && b->leakage > 0 && b->regulator > 0);
  ck_assert(b->store_leak > 0 && run->air_leaked > 0.01 * start);
  ck_close_relative(run->duration, run->revolutions * 2 * LB_PI / speed, IDENTITY);
  ck_assert(run->revolutions > run->powered_revolutions);
  lb_real_air_free(air);
  free(run);
}
END_TEST

/* The outlet stands below its set pressure by the droop for what flows, of free air. */
START_TEST(droop_of_the_regulator) {
  struct lb_machine m = losing_machine();
  const double speed = 90 * LB_RPM;
  struct lb_run *run = rundown_case_fixed(&m, speed, m.regulator.set_pressure);
  const struct lb_run_point *p = &run->point[0];
  double flow = p->air * speed / (2 * LB_PI) / LB_DENSITY_ANR;
  ck_assert(p->supply_pressure < m.regulator.set_pressure - 1e3);
  ck_close_relative(p->supply_pressure, m.regulator.set_pressure - m.regulator.droop * flow, 1e-3);
  free(run);
}
END_TEST

/* However much it droops: where the machine draws so much that air and droop, each found from the
 * other, would swing further and further. */
START_TEST(steep_droop_settles) {
  const double speed = 90 * LB_RPM, set = 6e5, steep[] = {1e8, 5e8, 2e9};
  struct lb_machine m = small_machine();
  struct rundown_case_task *open = rundown_case_open(&m, speed);
  struct lb_policy policy = {.set_pressure = set, .positions = 1};
  struct lb_tank_state state;
  double last = set;
  ck_assert_int_eq(lb_process_at(&state, &open->task, 8e5, NULL), LB_OK);
  for (size_t i = 0; i < sizeof steep / sizeof *steep; i++) {
    struct lb_outlet outlet;
    double work, air;
    m.regulator.droop = steep[i];
    ck_assert_int_eq(
        lb_policy_supply(&outlet, &open->task, &policy, &state, open->task.fixed, NULL), LB_OK);
    lb_engine_look(&work, &air, &open->task.engine, outlet.pressure, open->task.fixed);
    double flow = air * speed / (2 * LB_PI) / LB_DENSITY_ANR;
    ck_assert(outlet.pressure < last && outlet.pressure > m.back_pressure);
    ck_close_relative(outlet.pressure, set - steep[i] * flow, 1e-8);
    last = outlet.pressure;
  }
  rundown_case_close(open);
}
END_TEST

/* A leak takes its share for as long as the run lasts, the coasting included. */
START_TEST(slower_runs_leak_more) {
  struct lb_machine m = small_machine();
  struct lb_run *run[3];
  const double rpm[3] = {60, 30, 60};
  m.store.leakage = 2e-10;
  for (int i = 0; i < 3; i++) {
    m.load.coasting = i == 2 ? LB_COASTING_FREEWHEEL : LB_COASTING_NONE;
    run[i] = rundown_case_fixed(&m, rpm[i] * LB_RPM, 0);
  }
  ck_assert(run[0]->air_leaked > 0.01 * run[0]->air_used);
  ck_assert(run[1]->air_leaked > 1.5 * run[0]->air_leaked);
  ck_assert(run[1]->powered_revolutions < 0.99 * run[0]->powered_revolutions);
  ck_assert(run[2]->air_leaked > 1.05 * run[0]->air_leaked);
  ck_assert(run[2]->powered_revolutions < run[0]->powered_revolutions);
  for (int i = 0; i < 3; i++)
    free(run[i]);
}
END_TEST

/* Choked, a leak of conductance C takes C rho p sqrt(293.15 K/T) for as long as the run lasts. */
START_TEST(leak_in_closed_form) {
  struct lb_machine m = small_machine();
  m.store.leakage = 2e-10;
  m.store.lowest_pressure = 5e5;
  struct lb_run *run = rundown_case_fixed(&m, 60 * LB_RPM, 0);
  double sum = 0;
  for (size_t i = 1; i < run->points; i++)
    sum += (run->point[i].duration - run->point[i - 1].duration) *
           (run->point[i].tank_pressure + run->point[i - 1].tank_pressure) / 2;
  ck_assert_int_eq(run->ended, LB_RUN_LOWEST);
  ck_close_relative(run->air_leaked, m.store.leakage * LB_DENSITY_ANR * sum, 1e-3);
  free(run);
}
END_TEST

/* Revolutions of a store whose walls warm the air, as cold as it leaves. */
static double turns_of(enum lb_store_heat heat, double time_constant) {
  struct lb_machine m = small_machine();
  m.supply_temperature_given = false;
  m.store.heat = heat;
  m.store.time_constant = time_constant;
  return turns_at(&m, 60 * LB_RPM);
}

/* The run lasts about a minute. */
START_TEST(walls_between_their_limits) {
  double isothermal = turns_of(LB_STORE_ISOTHERMAL, 0);
  double adiabatic = turns_of(LB_STORE_ADIABATIC, 0);
  double span = fabs(isothermal - adiabatic), quick = turns_of(LB_STORE_TIME_CONSTANT, 1);
  double middle = turns_of(LB_STORE_TIME_CONSTANT, 30);
  double lazy = turns_of(LB_STORE_TIME_CONSTANT, 1e5);
  ck_assert(span > 0.1 * isothermal);
  ck_assert((isothermal - middle) * (middle - adiabatic) > 0);
  ck_close(quick, isothermal, 0.02 * span);
  ck_close(lazy, adiabatic, 1e-3 * span);
  ck_assert(fabs(turns_of(LB_STORE_TIME_CONSTANT, 0.5) - isothermal) <
            0.6 * fabs(quick - isothermal));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/rundown: at speed");
  TCase *cases = tcase_create("at speed");
  tcase_add_test(cases, books_at_speed);
  tcase_add_test(cases, steep_droop_settles);
  tcase_add_test(cases, slower_runs_leak_more);
  tcase_add_test(cases, leak_in_closed_form);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_test(cases, first_order_in_speed);
    tcase_add_test(cases, droop_of_the_regulator);
    tcase_add_test(cases, walls_between_their_limits);
  }
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
