/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air in a store: closed forms of the ideal gas as the limit of low pressure, and at 200 bar
 * the balances of mass, energy, entropy and worth, with the rates of the library integrated here.
 */
#include "duty/tank.h"

#include "base/constants.h"
#include "support.h"
#include "tank_maker.h"

#include <string.h>

static const double volume = 0.05; /* [m3] */

static struct lb_real_air *air;

static void set_up(void) {
  air = lb_real_air_new();
  ck_assert_ptr_nonnull(air);
}

static void tear_down(void) {
  lb_real_air_free(air);
}

static struct lb_tank_state start_of(const struct lb_tank *tank) {
  return tank_maker_state(tank, tank->start_mass, tank->machine->store.temperature);
}

static double energy(const struct lb_tank_state *state) {
  return state->mass * (state->gas.enthalpy - state->pressure / state->gas.density);
}

/* What is integrated along a discharge, beside the temperature. */
enum {
  TEMPERATURE,
  ENTHALPY, /* [J] that has left */
  WORTH,    /* [J] that has left with it */
  HEAT,     /* [J] from the walls */
  SUMS
};

static void rates(double *by_mass, const struct lb_tank *tank, double mass, double temperature,
                  double rate) {
  struct lb_tank_state state = tank_maker_state(tank, mass, temperature);
  by_mass[TEMPERATURE] = lb_tank_cooling(tank, &state, rate);
  by_mass[ENTHALPY] = -state.gas.enthalpy;
  by_mass[WORTH] = -lb_tank_flow_worth(tank, &state.gas);
  by_mass[HEAT] = -lb_tank_heat_per_kg(tank, &state, rate);
}

/* Let air leave at a rate [kg/s] until a share is left, by the classical method of Runge and Kutta.
 * sum  out: sum[SUMS] */
static struct lb_tank_state discharge(double *sum, const struct lb_tank *tank, double left,
                                      double rate) {
  enum {
    STEPS = 200
  };
  double step = -tank->start_mass * (1 - left) / STEPS, slope[4][SUMS];
  memset(sum, 0, SUMS * sizeof *sum);
  sum[TEMPERATURE] = tank->machine->store.temperature;
  for (int i = 0; i < STEPS; i++) {
    double mass = tank->start_mass + i * step, t = sum[TEMPERATURE];
    rates(slope[0], tank, mass, t, rate);
    rates(slope[1], tank, mass + step / 2, t + step / 2 * slope[0][TEMPERATURE], rate);
    rates(slope[2], tank, mass + step / 2, t + step / 2 * slope[1][TEMPERATURE], rate);
    rates(slope[3], tank, mass + step, t + step * slope[2][TEMPERATURE], rate);
    for (int k = 0; k < SUMS; k++)
      sum[k] += step / 6 * (slope[0][k] + 2 * slope[1][k] + 2 * slope[2][k] + slope[3][k]);
  }
  return tank_maker_state(tank, tank->start_mass * left, sum[TEMPERATURE]);
}

/* p V = Z m R T at every filling; isothermal walls hold T whatever leaves. */
START_TEST(isothermal) {
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 293.15, LB_STORE_ISOTHERMAL);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  ck_close_relative(start_of(&tank).pressure, 200e5, SOLVER);
  for (int i = 1; i <= 10; i++) {
    double mass = tank.start_mass * i / 10;
    struct lb_tank_state state = tank_maker_state(&tank, mass, 293.15);
    ck_close_relative(state.pressure * volume,
                      state.gas.compressibility * mass * LB_GAS_CONSTANT * 293.15, SOLVER);
    ck_assert(lb_tank_cooling(&tank, &state, 1) == 0);
    ck_assert(state.mass == mass && state.temperature == 293.15);
  }
}
END_TEST

/* "A tank gives its gauge atmospheres times its volume as free air": common practice, no source.
 * A real gas gives 0.04 per cent more for each atmosphere. */
START_TEST(gauge_atmospheres_times_volume) {
  for (int atmospheres = 1; atmospheres <= 10; atmospheres++) {
    struct lb_machine machine =
        tank_maker_machine(volume, (1 + atmospheres) * LB_ATMOSPHERE, 293.15, LB_STORE_ISOTHERMAL);
    struct lb_tank tank = tank_maker_prepare(&machine, air);
    double left = tank.surroundings.density * volume;
    double free_air = (tank.start_mass - left) / tank.surroundings.density;
    ck_close_relative(free_air, atmospheres * volume, 0.0004 * (1 + atmospheres));
  }
}
END_TEST

/* Without heat and at low pressure T goes as m^(gamma-1), and the isothermal walls give R T; what
 * is missing falls with the pressure. */
START_TEST(ideal_limit) {
  double sum[SUMS];
  for (int i = 0; i < 3; i++) {
    double pressure = LB_BAR * pow(10, -i), near = 0.004 * pow(10, -i);
    struct lb_machine machine = tank_maker_machine(volume, pressure, 293.15, LB_STORE_ADIABATIC);
    machine.ambient_pressure = pressure;
    struct lb_tank tank = tank_maker_prepare(&machine, air);
    struct lb_tank_state end = discharge(sum, &tank, 0.4, 1);
    ck_close_relative(end.temperature, 293.15 * pow(0.4, LB_GAMMA - 1), near);
    ck_close_relative(end.pressure, pressure * pow(0.4, LB_GAMMA), near);
    machine.store.heat = LB_STORE_ISOTHERMAL;
    ck_close_relative(lb_tank_heat_per_kg(&tank, &end, 1), LB_GAS_CONSTANT * end.temperature, near);
  }
}
END_TEST

/* The balances of a discharge from 200 bar to a share of the air, to what the table's splines keep
 * of the exact relations between h, s and cv. */
static void balances(enum lb_store_heat heat, double rate, double left) {
  const double closure = 1e-6;
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 293.15, heat);
  machine.store.time_constant = heat == LB_STORE_TIME_CONSTANT ? 300 : 0;
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state start = start_of(&tank);
  double sum[SUMS], scale = energy(&start);
  struct lb_tank_state end = discharge(sum, &tank, left, rate);
  ck_close(energy(&start) + sum[HEAT], energy(&end) + sum[ENTHALPY], closure * scale);
  if (heat == LB_STORE_ADIABATIC) {
    ck_close(end.gas.entropy, start.gas.entropy, closure * LB_CP);
    ck_assert(sum[HEAT] == 0 && end.temperature < 250);
  } else {
    ck_assert(sum[HEAT] > 0);
  }
  if (heat != LB_STORE_TIME_CONSTANT) /* its heat crosses a difference of temperature */
    ck_close(lb_tank_worth(&tank, &start), lb_tank_worth(&tank, &end) + sum[WORTH],
             closure * lb_tank_worth(&tank, &start));
  else
    ck_assert(lb_tank_worth(&tank, &start) > lb_tank_worth(&tank, &end) + sum[WORTH]);
}

START_TEST(energy_entropy_and_worth) {
  balances(LB_STORE_ADIABATIC, 1, 0.4);
  balances(LB_STORE_ISOTHERMAL, 1, 0.1);
  balances(LB_STORE_TIME_CONSTANT, 0.01, 0.3);
}
END_TEST

/* Walls with a time constant: their heat is m1 cv1/tau for each kelvin; the air holds the
 * temperature at which it equals what isothermal walls would give; they lie between the two. */
START_TEST(time_constant) {
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 293.15, LB_STORE_TIME_CONSTANT);
  machine.store.time_constant = 300;
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state start = start_of(&tank);
  struct lb_tank_state cold = tank_maker_state(&tank, tank.start_mass / 2, 283.15);
  ck_close_relative(tank.heat_per_kelvin * 300, tank.start_mass * start.gas.isochoric_heat, SOLVER);
  ck_close_relative(lb_tank_heat(&tank, &cold), 10 * tank.heat_per_kelvin, IDENTITY);
  ck_close(lb_tank_heat(&tank, &start), 0, IDENTITY);
  struct lb_machine other = machine;
  other.store.heat = LB_STORE_ISOTHERMAL;
  struct lb_tank steady = tank_maker_prepare(&other, air);
  double balanced = lb_tank_heat(&tank, &cold) / lb_tank_heat_per_kg(&steady, &cold, 1);
  ck_close(lb_tank_cooling(&tank, &cold, balanced), 0, IDENTITY);
  other.store.heat = LB_STORE_ADIABATIC;
  struct lb_tank adiabatic = tank_maker_prepare(&other, air);
  ck_assert(lb_tank_heat(&adiabatic, &cold) == 0 && adiabatic.heat_per_kelvin == 0);
  ck_close_relative(lb_tank_cooling(&tank, &cold, 1e9 * balanced),
                    lb_tank_cooling(&adiabatic, &cold, 1), 1e-8);
  ck_close_relative(lb_tank_cooling(&tank, &cold, 2 * balanced),
                    lb_tank_cooling(&adiabatic, &cold, 1) / 2, IDENTITY);
}
END_TEST

/* Nothing in the dead state; V (p ln p/p_a - p + p_a) of an ideal gas; flowing it is worth the
 * push (p - p_a) v more. */
START_TEST(worth) {
  struct lb_machine machine =
      tank_maker_machine(volume, LB_ATMOSPHERE, 293.15, LB_STORE_ISOTHERMAL);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state dead = start_of(&tank);
  ck_close(lb_tank_worth(&tank, &dead) / dead.mass, 0, 1e-6);
  ck_close(lb_tank_flow_worth(&tank, &dead.gas), 0, 1e-6);
  for (int bar = 2; bar <= 16; bar *= 2) {
    double p = bar * LB_BAR, p_a = LB_ATMOSPHERE;
    struct lb_tank_state full =
        tank_maker_state(&tank, p * volume / (LB_GAS_CONSTANT * 293.15), 293.15);
    p = full.pressure;
    double ideal = volume * (p * log(p / p_a) - p + p_a);
    ck_close_relative(lb_tank_worth(&tank, &full), ideal, 0.0005 * bar);
    ck_close_relative(full.mass * lb_tank_flow_worth(&tank, &full.gas),
                      lb_tank_worth(&tank, &full) + (p - p_a) * volume, 1e-9);
  }
  struct lb_tank_state cold = tank_maker_state(&tank, dead.mass, 260),
                       warm = tank_maker_state(&tank, dead.mass, 320);
  ck_assert(lb_tank_worth(&tank, &cold) > 0 && lb_tank_worth(&tank, &warm) > 0);
}
END_TEST

/* Choked: C rho_0 p sqrt(T_0/T), whatever is outside; nothing once the store is down to it. */
START_TEST(leak) {
  const double conductance = 1e-3 / LB_BAR / 100;
  struct lb_machine machine = tank_maker_machine(volume, 50e5, 273.15, LB_STORE_ISOTHERMAL);
  machine.store.leakage = conductance;
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state full = start_of(&tank);
  ck_close_relative(lb_tank_leak(&tank, &full),
                    conductance * LB_DENSITY_ANR * 50e5 * sqrt(293.15 / 273.15), SOLVER);
  struct lb_tank_state low = tank_maker_state(&tank, full.mass * 1.5 / 50, 273.15);
  double choked = conductance * LB_DENSITY_ANR * low.pressure * sqrt(293.15 / 273.15);
  double z = (machine.ambient_pressure / low.pressure - 0.5) / 0.5;
  ck_close_relative(lb_tank_leak(&tank, &low), choked * sqrt(1 - z * z), IDENTITY);
  struct lb_tank_state empty = tank_maker_state(&tank, full.mass / 100, 273.15);
  ck_assert(lb_tank_leak(&tank, &empty) == 0);
  machine.store.leakage = 0;
  ck_assert(lb_tank_leak(&tank, &full) == 0);
}
END_TEST

/* The same air in the same room, at the temperature of the surroundings. */
START_TEST(warmed) {
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 310, LB_STORE_ADIABATIC);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state cold = tank_maker_state(&tank, tank.start_mass / 3, 220);
  double pressure = 0;
  struct lb_real_state gas;
  ck_assert_int_eq(lb_tank_warmed(&pressure, &tank, &cold, NULL), LB_OK);
  ck_assert_int_eq(lb_real_air_state(&gas, air, pressure, machine.ambient_temperature, NULL),
                   LB_OK);
  ck_close_relative(gas.density * volume, cold.mass, SOLVER);
  ck_assert(pressure > cold.pressure);
}
END_TEST

/* Outside the table nothing is changed, and the text is that of the table. */
START_TEST(outside_the_table) {
  struct lb_error error;
  struct lb_machine machine = tank_maker_machine(volume, 400e5, 293.15, LB_STORE_ADIABATIC);
  struct lb_tank tank = {.start_mass = 7};
  ck_assert_int_eq(lb_tank_prepare(&tank, &machine, air, &error), LB_NO_ANSWER);
  machine.store.start_pressure = 200e5;
  machine.ambient_temperature = 100;
  ck_assert_int_eq(lb_tank_prepare(&tank, &machine, air, &error), LB_NO_ANSWER);
  ck_assert(tank.start_mass == 7);
  machine.ambient_temperature = 293.15;
  tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state state = start_of(&tank), before = state;
  ck_assert_int_eq(lb_tank_at(&state, &tank, tank.start_mass, 149, &error), LB_NO_ANSWER);
  ck_assert_int_eq(lb_tank_at(&state, &tank, 2 * tank.start_mass, 293.15, &error), LB_NO_ANSWER);
  ck_assert_mem_eq(&state, &before, sizeof state);
  struct lb_outlet outlet = {.pressure = 7};
  machine.supply_temperature_given = true;
  machine.supply_temperature = 500;
  ck_assert_int_eq(lb_tank_outlet(&outlet, &tank, &state, 8e5, 0, &error), LB_NO_ANSWER);
  ck_assert(outlet.pressure == 7);
}
END_TEST

static struct lb_outlet outlet_of(const struct lb_tank *tank, const struct lb_tank_state *state,
                                  double set, double flow) {
  struct lb_outlet outlet;
  struct lb_error error;
  enum lb_status status = lb_tank_outlet(&outlet, tank, state, set, flow, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
  return outlet;
}

static double ideal_flow_worth(const struct lb_machine *machine, const struct lb_outlet *outlet) {
  double t = outlet->temperature, t_a = machine->ambient_temperature;
  double entropy =
      LB_CP * log(t / t_a) - LB_GAS_CONSTANT * log(outlet->pressure / machine->ambient_pressure);
  return LB_CP * (t - t_a) - t_a * entropy;
}

/* Behind the regulator the pressure is that set, or follows the store at the least difference; the
 * droop goes with the flow. */
START_TEST(regulator_pressure) {
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 293.15, LB_STORE_ISOTHERMAL);
  machine.regulator = (struct lb_regulator){.given = true, .least_difference = 1e5, .droop = 5e7};
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state full = start_of(&tank);
  struct lb_tank_state low = tank_maker_state(&tank, tank.start_mass * 0.03, 293.15);
  double litre = 1e-3; /* [m3/s] ANR drop the pressure by half a bar */
  ck_close_relative(outlet_of(&tank, &full, 8e5, 0).pressure, 8e5, EXACT);
  ck_close_relative(outlet_of(&tank, &full, 8e5, 10 * litre * LB_DENSITY_ANR).pressure, 3e5,
                    IDENTITY);
  ck_assert(low.pressure < 8e5);
  ck_close_relative(outlet_of(&tank, &low, 8e5, 0).pressure, low.pressure - 1e5, EXACT);
  ck_close_relative(outlet_of(&tank, &low, 8e5, litre * LB_DENSITY_ANR).pressure,
                    low.pressure - 1.5e5, IDENTITY);
  struct lb_outlet outlet = {.pressure = 7};
  struct lb_error error;
  ck_assert_int_eq(lb_tank_outlet(&outlet, &tank, &full, 8e5, 16 * litre * LB_DENSITY_ANR, &error),
                   LB_NO_ANSWER);
  ck_assert_ptr_nonnull(strstr(error.text, "lets nothing through at 200 bar"));
  ck_assert(outlet.pressure == 7);
}
END_TEST

/* Without a regulator the store's own air comes, whatever a regulator would do. */
START_TEST(no_regulator) {
  struct lb_machine machine = tank_maker_machine(volume, 200e5, 280, LB_STORE_ISOTHERMAL);
  machine.regulator = (struct lb_regulator){.given = true, .least_difference = 1e5, .droop = 1e9};
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state full = start_of(&tank);
  struct lb_outlet outlet = outlet_of(&tank, &full, 0, 1);
  ck_assert(outlet.pressure == full.pressure && outlet.throttled == 280);
  ck_assert(outlet.temperature == 280 && outlet.regulator == 0 && outlet.pipe == 0);
  ck_close_relative(outlet.ideal,
                    lb_tank_flow_worth(&tank, &full.gas) - ideal_flow_worth(&machine, &outlet),
                    1e-9);
}
END_TEST

/* What the air is worth in the store is what the four parts make, at any store, setting and stated
 * temperature; throttling always destroys; its enthalpy stays. */
START_TEST(worth_by_parts) {
  uint64_t random = 77;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine machine =
        tank_maker_machine(volume, support_between(&random, 20e5, 300e5),
                           support_between(&random, 260, 330), LB_STORE_ADIABATIC);
    machine.ambient_temperature = support_between(&random, 270, 310);
    machine.supply_temperature_given = i % 2;
    machine.supply_temperature = support_between(&random, 280, 360);
    struct lb_tank tank = tank_maker_prepare(&machine, air);
    struct lb_tank_state full = start_of(&tank);
    struct lb_outlet outlet = outlet_of(&tank, &full, support_between(&random, 2e5, 15e5), 0);
    struct lb_real_state behind;
    ck_close(outlet.regulator + outlet.pipe + outlet.ideal + ideal_flow_worth(&machine, &outlet),
             lb_tank_flow_worth(&tank, &full.gas), 1e-3);
    ck_assert(outlet.regulator > 0);
    ck_close(outlet.temperature, i % 2 ? machine.supply_temperature : outlet.throttled, EXACT);
    ck_assert_int_eq(lb_real_air_state(&behind, air, outlet.pressure, outlet.throttled, NULL),
                     LB_OK);
    ck_close(behind.enthalpy, full.gas.enthalpy, 1e-3);
    if (i % 2 == 0)
      ck_assert(outlet.pipe == 0);
  }
}
END_TEST

/* An ideal gas is not cooled by throttling and loses R T_a ln(p1/p2); in a pipe from T_a to T_a it
 * loses nothing. At low pressure the real one comes near it. */
START_TEST(throttled_ideal) {
  struct lb_machine machine = tank_maker_machine(volume, 4e5, 293.15, LB_STORE_ISOTHERMAL);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state full = start_of(&tank);
  struct lb_outlet outlet = outlet_of(&tank, &full, 2e5, 0);
  ck_close_relative(outlet.regulator, LB_GAS_CONSTANT * 293.15 * log(2), 0.002);
  ck_close(outlet.throttled, 293.15, 0.6);
  ck_assert(outlet.throttled < 293.15 - 0.3); /* a quarter of a kelvin for each bar */
  machine.supply_temperature_given = true;
  machine.supply_temperature = 293.15;
  outlet = outlet_of(&tank, &full, 2e5, 0);
  ck_assert(fabs(outlet.pipe) < 1 && fabs(outlet.ideal) < 100);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/tank");
  TCase *all = tcase_create("all");
  tcase_add_unchecked_fixture(all, set_up, tear_down);
  tcase_add_test(all, isothermal);
  tcase_add_test(all, gauge_atmospheres_times_volume);
  tcase_add_test(all, ideal_limit);
  tcase_add_test(all, energy_entropy_and_worth);
  tcase_add_test(all, time_constant);
  tcase_add_test(all, worth);
  tcase_add_test(all, leak);
  tcase_add_test(all, warmed);
  tcase_add_test(all, outside_the_table);
  tcase_add_test(all, regulator_pressure);
  tcase_add_test(all, no_regulator);
  tcase_add_test(all, worth_by_parts);
  tcase_add_test(all, throttled_ideal);
  suite_add_tcase(suite, all);
  return support_run(suite, (Suite *)NULL);
}
