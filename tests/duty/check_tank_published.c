/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stores of air against printed figures: contents, worth, work, discharge through a hole, a tram.
 * Every figure comes from a file in data/published.
 */
#include "base/constants.h"
#include "duty/tank.h"
#include "physics/conductance.h"
#include "support.h"
#include "tank_maker.h"

#include <string.h>

static const double pound = 0.45359237, litre = 1e-3;          /* [kg], [m3] */
static const double cubic_foot = 12 * 12 * 12 * LB_CUBIC_INCH; /* [m3] */
static const double sea_level = 14.7;                          /* [psi], as the sources count */

static struct lb_real_air *air;

static void set_up(void) {
  air = lb_real_air_new();
  ck_assert_ptr_nonnull(air);
}

static void tear_down(void) {
  lb_real_air_free(air);
}

static double kelvin_of_fahrenheit(double degrees) {
  return (degrees + 459.67) * 5 / 9;
}

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

static void close_to_print(double value, const struct support_row *row) {
  ck_close(value, support_number(row, "value"), support_number(row, "tolerance"));
}

/* The air that a room holds [kg]. */
static double content(double room, double pressure, double temperature) {
  struct lb_machine machine = tank_maker_machine(room, pressure, temperature, LB_STORE_ISOTHERMAL);
  return tank_maker_prepare(&machine, air).start_mass;
}

static void tram_row(const struct support_row *row) {
  const double miles = 3.25, from = 42.6 * LB_ATMOSPHERE, to = 20.9 * LB_ATMOSPHERE;
  double before = content(71 * cubic_foot, from, kelvin_of_fahrenheit(84)) / pound;
  double after = content(71 * cubic_foot, to, kelvin_of_fahrenheit(71)) / pound;
  double value = (double)NAN;
  if (is(row, "quantity", "air used"))
    value = before - after;
  else if (is(row, "quantity", "air per mile"))
    value = (before - after) / miles;
  else if (is(row, "quantity", "index"))
    value = log(from / to) / log(before / after);
  close_to_print(value, row);
}

/* Beaumont's car on trial, 1885. */
START_TEST(tram) {
  support_published("beaumont_tram.csv", tram_row);
}
END_TEST

/* Worth of a full store at the temperature of its surroundings [J]. */
static double full_worth(double room, double pressure, double temperature) {
  struct lb_machine machine = tank_maker_machine(room, pressure, temperature, LB_STORE_ISOTHERMAL);
  machine.ambient_pressure = LB_BAR;
  machine.ambient_temperature = temperature;
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state state = tank_maker_state(&tank, tank.start_mass, temperature);
  return lb_tank_worth(&tank, &state);
}

static void cengel_row(const struct support_row *row) {
  close_to_print(full_worth(200, 1e6, 300) / 1e6, row);
}

static void encyclopaedia_row(const struct support_row *row) {
  close_to_print(full_worth(1, 70 * LB_BAR, 293.15) / 1e6, row);
}

/* Cengel and Boles; an encyclopaedia. */
START_TEST(worth) {
  support_published("cengel_stored_air.csv", cengel_row);
  support_published("stored_air_encyclopaedia.csv", encyclopaedia_row);
}
END_TEST

static void bottle_row(const struct support_row *row) {
  double room = support_number(row, "volume_L") * litre;
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  double mass = content(room, support_number(row, "pressure_bar") * LB_BAR, temperature);
  bool free_air = is(row, "unit", "ft3");
  close_to_print(free_air ? mass / content(1, LB_ATMOSPHERE, temperature) / cubic_foot : mass, row);
}

/* Air in bottles. */
START_TEST(bottles) {
  support_published("cylinder_contents.csv", bottle_row);
}
END_TEST

static void receiver_row(const struct support_row *row) {
  double room = support_number(row, "volume_in3") * LB_CUBIC_INCH;
  double temperature = kelvin_of_fahrenheit(68);
  double from = (support_number(row, "from_psi_gauge") + sea_level) * LB_PSI;
  double to = (support_number(row, "to_psi_gauge") + sea_level) * LB_PSI;
  double given = content(room, from, temperature) - content(room, to, temperature);
  double free_air = given / content(1, sea_level * LB_PSI, temperature);
  ck_close_relative(free_air / cubic_foot, support_number(row, "free_air_ft3"),
                    support_number(row, "tolerance"));
}

/* Esposito; Sullivan. */
START_TEST(receivers) {
  support_published("receiver_size.csv", receiver_row);
}
END_TEST

/* The state after air has left without heat, by the classical method of Runge and Kutta, until the
 * pressure is down to one. */
static struct lb_tank_state emptied(const struct lb_tank *tank, double pressure) {
  const double step = -tank->start_mass / 1000;
  struct lb_tank_state state =
      tank_maker_state(tank, tank->start_mass, tank->machine->store.temperature);
  while (state.pressure > pressure) {
    struct lb_tank_state at = state;
    double slope[4], lead[] = {0, 0.5, 0.5, 1};
    for (int i = 0; i < 4; i++) {
      double part = lead[i] * step;
      if (i > 0)
        at = tank_maker_state(tank, state.mass + part, state.temperature + part * slope[i - 1]);
      slope[i] = lb_tank_cooling(tank, &at, 1);
    }
    double mean = (slope[0] + 2 * slope[1] + 2 * slope[2] + slope[3]) / 6;
    state = tank_maker_state(tank, state.mass + step, state.temperature + step * mean);
  }
  return state;
}

static double energy(const struct lb_tank_state *state) {
  return state->mass * (state->gas.enthalpy - state->pressure / state->gas.density);
}

/* The work of 3.18, whose engine exhausts at the vessel's last state; 3.21 at a fifth. */
static void singh_row(const struct support_row *row) {
  bool third = is(row, "example", "3.18");
  const double full = third ? 5e5 : 35e5;
  struct lb_machine machine =
      tank_maker_machine(third ? 2 : 0.3, full, third ? 375 : 313, LB_STORE_ADIABATIC);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  struct lb_tank_state start = tank_maker_state(&tank, tank.start_mass, machine.store.temperature);
  struct lb_tank_state end = emptied(&tank, third ? 1.013e5 : full / 5);
  double value = (double)NAN;
  if (is(row, "quantity", "work"))
    value = (energy(&start) - energy(&end) - (start.mass - end.mass) * end.gas.enthalpy) / 1e3;
  else if (is(row, "quantity", "air"))
    value = start.mass;
  else if (is(row, "quantity", "temperature at a fifth"))
    value = end.temperature;
  else if (is(row, "quantity", "air at a fifth"))
    value = end.mass;
  close_to_print(value, row);
}

/* Onkar Singh, Applied Thermodynamics. */
START_TEST(air_bottle_without_heat) {
  support_published("singh_air_bottle.csv", singh_row);
}
END_TEST

static void joel_row(const struct support_row *row) {
  const double books_gas_constant = 1005 - 715; /* [J/(kg K)] */
  struct lb_machine machine = tank_maker_machine(0.85, 275e3, 288.15, LB_STORE_ISOTHERMAL);
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  double added = 1.7 * books_gas_constant / LB_GAS_CONSTANT;
  close_to_print(tank_maker_state(&tank, tank.start_mass + added, 288.15).pressure / 1e3, row);
}

/* Rayner Joel, Basic Engineering Thermodynamics. */
START_TEST(charging) {
  support_published("joel_charging.csv", joel_row);
}
END_TEST

/* The tank of 1.39 empties at 333 K through a leak as large as the hole, dt = -dm/q: by Simpson's
 * rule in the logarithm of the mass. At this temperature Z is 1 within 0.1 per cent up to 40 bar,
 * so that the book's ideal gas tells the time. */
static void murugaperumal_row(const struct support_row *row) {
  enum {
    PANELS = 100
  };
  if (!is(row, "quantity", "time"))
    return;
  const double temperature = 333, from = 40 * LB_BAR, to = 2 * LB_BAR, room = 5;
  struct lb_machine machine = tank_maker_machine(room, from, temperature, LB_STORE_ISOTHERMAL);
  machine.ambient_pressure = LB_BAR;
  machine.store.leakage =
      lb_conductance_of_area(10e-4, lb_conductance_critical_ratio(LB_GAMMA)).conductance;
  struct lb_tank tank = tank_maker_prepare(&machine, air);
  double left = content(room, to, temperature), time = 0;
  double step = log(tank.start_mass / left) / PANELS;
  for (int i = 0; i <= PANELS; i++) {
    double weight = i == 0 || i == PANELS ? 1 : i % 2 ? 4 : 2;
    struct lb_tank_state state = tank_maker_state(&tank, left * exp(i * step), temperature);
    time += weight * step / 3 * state.mass / lb_tank_leak(&tank, &state);
  }
  ck_close(time, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Murugaperumal, Gas Dynamics and Jet Propulsion. */
START_TEST(blow_down) {
  support_published("murugaperumal_gas_dynamics.csv", murugaperumal_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/tank, published");
  TCase *all = tcase_create("all");
  tcase_add_unchecked_fixture(all, set_up, tear_down);
  tcase_add_test(all, tram);
  tcase_add_test(all, worth);
  tcase_add_test(all, bottles);
  tcase_add_test(all, receivers);
  tcase_add_test(all, air_bottle_without_heat);
  tcase_add_test(all, charging);
  tcase_add_test(all, blow_down);
  suite_add_tcase(suite, all);
  return support_run(suite, (Suite *)NULL);
}
