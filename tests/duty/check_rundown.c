/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Running a store down by one fixed timing: revolutions turned one by one, closed forms, and the
 * balances of mass, energy and worth, all written out here. Of the library only the revolution and
 * the state of air are taken.
 */
#include "duty/rundown.h"

#include "base/constants.h"
#include "rundown_case.h"
#include "support.h"

#include <stdlib.h>

static struct lb_real_air *air;

static void set_up(void) {
  air = lb_real_air_new();
  ck_assert_ptr_nonnull(air);
}

static void tear_down(void) {
  lb_real_air_free(air);
}

/* ---------- a store, emptied here ---------- */

struct vessel {
  double volume, mass, temperature, pressure;
  struct lb_real_state gas;
};

static void find_state(struct vessel *v) {
  enum {
    REPEATS = 12
  };
  for (int i = 0; i < REPEATS; i++) {
    v->gas = rundown_case_air(air, v->pressure, v->temperature);
    v->pressure = v->gas.compressibility * v->mass / v->volume * LB_GAS_CONSTANT * v->temperature;
  }
}

static struct vessel vessel_of(const struct lb_machine *m) {
  struct vessel v = {.volume = m->store.volume,
                     .temperature = m->store.temperature,
                     .pressure = m->store.start_pressure};
  v.gas = rundown_case_air(air, v.pressure, v.temperature);
  v.mass = v.volume * v.pressure / (v.gas.compressibility * LB_GAS_CONSTANT * v.temperature);
  return v;
}

static double energy_of(const struct vessel *v) {
  return v->mass * v->gas.enthalpy - v->pressure * v->volume;
}

/* Let a mass out. Without heat: U falls by what flows out with it, of its mean enthalpy. */
static void let_out(struct vessel *v, double mass, enum lb_store_heat heat) {
  enum {
    REPEATS = 7
  };
  const struct vessel before = *v;
  v->mass -= mass;
  find_state(v);
  for (int i = 0; heat == LB_STORE_ADIABATIC && i < REPEATS; i++) {
    double mean = (before.gas.enthalpy + v->gas.enthalpy) / 2;
    v->temperature -= (energy_of(v) - energy_of(&before) + mass * mean) / (v->mass * LB_CV);
    find_state(v);
  }
}

/* The temperature behind a throttle: that with the same enthalpy. */
static double behind_throttle(double pressure, const struct vessel *v) {
  enum {
    REPEATS = 12
  };
  double temperature = v->temperature;
  for (int i = 0; i < REPEATS; i++)
    temperature -=
        (rundown_case_air(air, pressure, temperature).enthalpy - v->gas.enthalpy) / LB_CP;
  return temperature;
}

/* Revolutions turned one by one until the work is less than the load's. */
static int turn_one_by_one(const struct lb_machine *machine, double set_pressure) {
  struct lb_machine m = *machine;
  struct vessel v = vessel_of(machine);
  struct lb_cycle *cycle = lb_cycle_new();
  const double cutoff[LB_ENDS] = {m.timing[LB_CAP_END].cutoff, m.timing[LB_ROD_END].cutoff};
  int turns = 0;
  for (;; turns++) {
    struct lb_revolution r;
    m.supply_pressure = set_pressure > 0
                            ? fmin(set_pressure, v.pressure - m.regulator.least_difference)
                            : v.pressure;
    if (!m.supply_temperature_given)
      m.supply_temperature = behind_throttle(m.supply_pressure, &v);
    ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
    ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
    if (r.work < 2 * LB_PI * m.load_torque)
      break;
    let_out(&v, r.air, m.store.heat);
  }
  lb_cycle_free(cycle);
  return turns;
}

static void expect_turns(const struct lb_machine *m, double set_pressure, int least) {
  struct lb_run *run = rundown_case_fixed(m, 0, set_pressure);
  int turns = turn_one_by_one(m, set_pressure);
  ck_assert_int_ge(turns, least);
  ck_close(run->powered_revolutions, turns, 1);
  ck_assert_int_eq(run->ended, LB_RUN_LOAD);
  free(run);
}

/* With the pressure of a bottle, where Z matters. */
static struct lb_machine with_bottle(double start_pressure) {
  struct lb_machine m = rundown_case_machine();
  m.store.start_pressure = start_pressure;
  return m;
}

START_TEST(turned_one_by_one) {
  struct lb_machine m = rundown_case_machine(), bottle = with_bottle(150e5);
  m.store.volume = 0.04;
  expect_turns(&m, 0, 400);
  expect_turns(&m, m.regulator.set_pressure, 400);
  expect_turns(&bottle, bottle.regulator.set_pressure, 700);
}
END_TEST

/* The air comes to the valve as cold as the store and the regulator make it. */
START_TEST(turned_one_by_one_adiabatic) {
  struct lb_machine m = rundown_case_machine(), bottle = with_bottle(25e5);
  m.store.volume = 0.04;
  m.store.heat = bottle.store.heat = LB_STORE_ADIABATIC;
  m.supply_temperature_given = bottle.supply_temperature_given = false;
  expect_turns(&m, 0, 300);
  expect_turns(&m, m.regulator.set_pressure, 300);
  expect_turns(&bottle, bottle.regulator.set_pressure, 100);
}
END_TEST

/* ---------- closed forms ---------- */

static double swept_of(const struct lb_machine *m) {
  return LB_PI / 4 * m->bore * m->bore * m->linkage.stroke;
}

/* Every revolution takes p V_s/(R T), so that dN = V/V_s d(p/Z)/p, and stops at the pressure whose
 * (p - p_a) V_s is the work of the load. */
START_TEST(full_admission) {
  enum {
    PARTS = 400 /* of Simpson's rule */
  };
  struct lb_machine m = rundown_case_full_admission();
  m.store.start_pressure = 60e5;
  double swept = swept_of(&m), t = m.store.temperature;
  double end = m.ambient_pressure + 2 * LB_PI * m.load_torque / swept;
  double width = log(m.store.start_pressure / end) / PARTS, sum = 0;
  for (int i = 0; i <= PARTS; i++) {
    double weight = i == 0 || i == PARTS ? 1 : i % 2 == 1 ? 4 : 2;
    sum += weight / rundown_case_air(air, end * exp(i * width), t).compressibility;
  }
  sum *= width / 3;
  sum += 1 / rundown_case_air(air, m.store.start_pressure, t).compressibility -
         1 / rundown_case_air(air, end, t).compressibility;
  struct lb_run *run = rundown_case_fixed(&m, 0, 0);
  ck_close_relative(run->powered_revolutions, m.store.volume / swept * sum, 1e-7);
  ck_close_relative(run->end_pressure, end, 1e-8);
  free(run);
}
END_TEST

/* Behind a regulator that never opens wide every revolution takes the same. */
static struct lb_machine constant_supply(enum lb_coasting coasting) {
  struct lb_machine m = rundown_case_full_admission();
  m.store.start_pressure = 60e5;
  m.store.lowest_pressure = m.regulator.set_pressure + m.regulator.least_difference;
  m.load.coasting = coasting;
  m.friction = 20;
  return m;
}

/* Air between start and lowest pressure over p_s V_s/(R T). */
static double constant_revolutions(const struct lb_machine *m) {
  double high = m->store.start_pressure, low = m->store.lowest_pressure;
  double t = m->store.temperature;
  double used = high / rundown_case_air(air, high, t).compressibility -
                low / rundown_case_air(air, low, t).compressibility;
  return m->store.volume * used / (m->regulator.set_pressure * swept_of(m));
}

START_TEST(constant_supply_and_coasting) {
  for (int i = LB_COASTING_NONE; i <= LB_COASTING_MOTORING; i++) {
    struct lb_machine m = constant_supply((enum lb_coasting)i);
    struct lb_run *run = rundown_case_fixed(&m, 0, m.regulator.set_pressure);
    double friction = 2 * m.linkage.stroke * m.friction, load = 2 * LB_PI * m.load_torque;
    double work = (m.regulator.set_pressure - m.ambient_pressure) * swept_of(&m) - friction;
    double paid = i == LB_COASTING_MOTORING ? friction : 0;
    double turns = constant_revolutions(&m);
    double range = i == LB_COASTING_NONE ? turns : turns * (work + paid) / (load + paid);
    ck_assert(work > 1.1 * load);
    ck_close_relative(run->powered_revolutions, turns, 1e-8);
    ck_close_relative(run->work, turns * work, 1e-8);
    ck_close_relative(run->revolutions, range, 1e-8);
    ck_close_relative(run->useful_work, range * load, 1e-8);
    ck_assert_int_eq(run->ended, LB_RUN_LOWEST);
    ck_close_relative(run->end_pressure, m.store.lowest_pressure, 1e-6);
    free(run);
  }
}
END_TEST

/* A last step that would pass both ends tells of the one that came first. */
START_TEST(lowest_pressure_above_the_load) {
  struct lb_machine m = rundown_case_machine();
  struct lb_run *run = rundown_case_fixed(&m, 0, 0);
  double stopped = run->end_pressure;
  ck_assert_int_eq(run->ended, LB_RUN_LOAD);
  free(run);
  for (int side = -1; side <= 1; side += 2) {
    m.store.lowest_pressure = stopped + side * 500;
    run = rundown_case_fixed(&m, 0, 0);
    ck_assert_int_eq(run->ended, side > 0 ? LB_RUN_LOWEST : LB_RUN_LOAD);
    ck_close_relative(run->end_pressure, fmax(stopped, m.store.lowest_pressure), 1e-8);
    free(run);
  }
}
END_TEST

/* A constant torque takes every part of the air as it finds it. */
START_TEST(twice_the_store) {
  struct lb_machine m = rundown_case_machine(), twice = m;
  twice.store.volume *= 2;
  struct lb_rundown *one = rundown_case_find(&m, 0, false);
  struct lb_rundown *two = rundown_case_find(&twice, 0, false);
  for (size_t i = 0; i < one->runs; i++) {
    ck_assert(one->run[i].ran && two->run[i].ran && one->run[i].revolutions > 10);
    ck_close_relative(two->run[i].revolutions, 2 * one->run[i].revolutions, 1e-8);
    ck_close_relative(two->run[i].work, 2 * one->run[i].work, 1e-8);
  }
  lb_rundown_free(one);
  lb_rundown_free(two);
}
END_TEST

/* ---------- balances ---------- */

static double sum_of(const struct lb_run_books *b) {
  return b->crank + b->friction + b->inlet + b->filling + b->pushed_back + b->release + b->heat +
         b->leakage + b->exhaust + b->regulator + b->pipe + b->ideal + b->store_walls +
         b->store_leak;
}

/* m [u - u_a + p_a (v - v_a) - T_a (s - s_a)] */
static double worth_of(const struct lb_machine *m, const struct vessel *v) {
  struct lb_real_state dead = rundown_case_air(air, m->ambient_pressure, m->ambient_temperature);
  return energy_of(v) + m->ambient_pressure * v->volume - v->mass * dead.enthalpy -
         m->ambient_temperature * v->mass * (v->gas.entropy - dead.entropy);
}

static void expect_books(const struct lb_run *run, const struct lb_machine *m, double tolerance) {
  struct vessel v = vessel_of(m);
  const struct lb_run_books *b = &run->books;
  ck_assert(run->ran);
  ck_close_relative(run->air_left + run->air_used + run->air_leaked, v.mass, SOLVER);
  ck_close_relative(b->start, worth_of(m, &v), SOLVER);
  ck_close(sum_of(b) / b->start, 1 - b->end / b->start, tolerance);
  ck_close(b->closure, sum_of(b) / b->start - 1 + b->end / b->start, IDENTITY);
  ck_assert(b->crank == run->work);
  v = (struct vessel){m->store.volume, run->air_left, run->end_temperature, run->end_pressure,
                      rundown_case_air(air, run->end_pressure, run->end_temperature)};
  ck_close_relative(b->end, worth_of(m, &v), 1e-8);
  ck_close_relative(run->air_left, v.volume * v.gas.density, 1e-8);
  v.temperature = m->ambient_temperature;
  find_state(&v);
  ck_close_relative(run->warmed_pressure, v.pressure, 1e-8);
}

START_TEST(slow_books) {
  for (int heat = LB_STORE_ISOTHERMAL; heat <= LB_STORE_ADIABATIC; heat++) {
    struct lb_machine m = rundown_case_machine();
    m.store.heat = (enum lb_store_heat)heat;
    m.store.start_pressure = 16e5;
    m.store.temperature = 300;
    m.supply_temperature_given = heat == LB_STORE_ISOTHERMAL;
    m.load.coasting = LB_COASTING_FREEWHEEL;
    struct lb_rundown *rundown = rundown_case_find(&m, 0, false);
    for (size_t i = 0; i < rundown->runs; i++)
      expect_books(&rundown->run[i], &m, heat == LB_STORE_ISOTHERMAL ? 1e-8 : 1e-6);
    ck_assert(rundown->run[LB_PLAN_REGULATED].books.regulator > 0);
    lb_rundown_free(rundown);
  }
}
END_TEST

/* A bottle behind a regulator, down to 50 bar absolute. */
static struct lb_machine bottle_of(enum lb_store_heat heat) {
  struct lb_machine m = with_bottle(100e5);
  m.store.lowest_pressure = 50e5;
  m.store.heat = heat;
  m.supply_temperature_given = false;
  return m;
}

/* What flows out of a bottle, by the rule of trapezoids. */
struct outflow {
  struct vessel left;
  double enthalpy;  /* [J] */
  double regulator; /* [J] T_a times the entropy made */
};

static double made(const struct lb_machine *m, const struct vessel *v) {
  double p = m->regulator.set_pressure;
  return m->ambient_temperature *
         (rundown_case_air(air, p, behind_throttle(p, v)).entropy - v->gas.entropy);
}

static struct outflow flow_out(const struct lb_machine *m, double mass) {
  enum {
    PARTS = 400
  };
  struct outflow out = {.left = vessel_of(m)};
  for (int i = 0; i < PARTS; i++) {
    struct vessel before = out.left;
    let_out(&out.left, mass / PARTS, m->store.heat);
    out.enthalpy += mass / PARTS * (before.gas.enthalpy + out.left.gas.enthalpy) / 2;
    out.regulator += mass / PARTS * (made(m, &before) + made(m, &out.left)) / 2;
  }
  return out;
}

/* The air behind the regulator has the enthalpy of that before it. */
static void expect_throttled(const struct lb_run *run) {
  ck_assert_uint_gt(run->points, 5);
  for (size_t i = 0; i < run->points; i++) {
    const struct lb_run_point *p = &run->point[i];
    ck_close(rundown_case_air(air, p->supply_pressure, p->supply_temperature).enthalpy,
             rundown_case_air(air, p->tank_pressure, p->tank_temperature).enthalpy, 1e-3);
    ck_assert(p->supply_temperature < p->tank_temperature - 2);
  }
}

START_TEST(energy_of_an_adiabatic_bottle) {
  struct lb_machine m = bottle_of(LB_STORE_ADIABATIC);
  struct lb_run *run = rundown_case_fixed(&m, 0, m.regulator.set_pressure);
  struct outflow out = flow_out(&m, run->air_used);
  struct vessel start = vessel_of(&m);
  ck_close(run->end_temperature, out.left.temperature, 1e-4);
  ck_close(rundown_case_air(air, run->end_pressure, run->end_temperature).entropy,
           start.gas.entropy, 1e-4);
  ck_close_relative(run->books.regulator, out.regulator, 1e-5);
  ck_assert(run->books.store_walls == 0);
  ck_close(run->coldest_tank, run->end_temperature, 1e-3);
  expect_throttled(run);
  free(run);
}
END_TEST

/* Q = H_out - (U_1 - U_2) comes from walls 30 K warmer than the surroundings. */
START_TEST(energy_of_an_isothermal_bottle) {
  struct lb_machine m = bottle_of(LB_STORE_ISOTHERMAL);
  m.store.temperature = m.ambient_temperature + 30;
  struct lb_run *run = rundown_case_fixed(&m, 0, m.regulator.set_pressure);
  struct outflow out = flow_out(&m, run->air_used);
  struct vessel start = vessel_of(&m);
  double heat = out.enthalpy + energy_of(&out.left) - energy_of(&start);
  ck_assert(heat > 0 && run->end_temperature == m.store.temperature);
  ck_close_relative(run->books.store_walls,
                    -heat * (1 - m.ambient_temperature / m.store.temperature), 1e-5);
  ck_close_relative(run->books.regulator, out.regulator, 1e-5);
  expect_throttled(run);
  free(run);
}
END_TEST

/* Common practice, without a source: an isothermal cylinder without dead volume uses twice the air
 * when it releases at two atmospheres absolute instead of one. */
START_TEST(release_at_two_atmospheres) {
  struct lb_machine m = rundown_case_full_admission();
  struct lb_cycle *cycle = lb_cycle_new();
  double used[2];
  m.supply_pressure = 6 * LB_ATMOSPHERE;
  m.ambient_pressure = m.back_pressure = LB_ATMOSPHERE;
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  for (int atmospheres = 1; atmospheres <= 2; atmospheres++) {
    struct lb_revolution r;
    double share = atmospheres / 6.0; /* of the stroke, which the yoke makes (1 - cos)/2 */
    const double cutoff[LB_ENDS] = {acos(1 - 2 * share), 0};
    ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
    ck_close_relative(r.end[LB_CAP_END].turn.release_pressure, atmospheres * LB_ATMOSPHERE, 1e-9);
    used[atmospheres - 1] = r.air;
  }
  ck_close_relative(used[1], 2 * used[0], 1e-9);
  lb_cycle_free(cycle);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/rundown");
  TCase *cases = tcase_create("one timing");
  tcase_add_checked_fixture(cases, set_up, tear_down);
  tcase_add_test(cases, turned_one_by_one);
  tcase_add_test(cases, turned_one_by_one_adiabatic);
  tcase_add_test(cases, full_admission);
  tcase_add_test(cases, constant_supply_and_coasting);
  tcase_add_test(cases, lowest_pressure_above_the_load);
  tcase_add_test(cases, energy_of_an_adiabatic_bottle);
  tcase_add_test(cases, energy_of_an_isothermal_bottle);
  tcase_add_test(cases, release_at_two_atmospheres);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_test(cases, twice_the_store);
    tcase_add_test(cases, slow_books);
  }
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
