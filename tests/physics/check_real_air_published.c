/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real air against printed tables and against the equation of state it is made from:
 * compressibility, density, what cylinders hold, throttling. Every figure comes from a file in
 * data/published.
 */
#include "base/constants.h"
#include "physics/real_air.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

static struct lb_real_air *air;

static void set_up(void) {
  air = lb_real_air_new();
  ck_assert_ptr_nonnull(air);
}

static void tear_down(void) {
  lb_real_air_free(air);
}

static struct lb_real_state state_at(double pressure, double temperature) {
  struct lb_real_state state;
  ck_assert_int_eq(lb_real_air_state(&state, air, pressure, temperature, NULL), LB_OK);
  return state;
}

static void compressibility_row(const struct support_row *row) {
  static const int bars[] = {1, 5, 10, 20, 40, 60, 80, 100, 150, 200, 250, 300};
  for (size_t i = 0; i < sizeof bars / sizeof bars[0]; i++) {
    char column[8];
    snprintf(column, sizeof column, "%d", bars[i]);
    double z = state_at(bars[i] * LB_BAR, support_number(row, "temperature_K")).compressibility;
    ck_close(z, support_number(row, column), support_number(row, "tolerance"));
  }
}

/* Lemmon, Jacobsen, Penoncello and Friend, 2000. */
START_TEST(equation_of_2000) {
  support_published("lemmon_2000_compressibility.csv", compressibility_row);
}
END_TEST

/* Perry's Chemical Engineers' Handbook. */
START_TEST(handbook) {
  support_published("perry_compressibility.csv", compressibility_row);
}
END_TEST

static void density_row(const struct support_row *row) {
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  ck_close(state_at(support_number(row, "pressure_Pa"), temperature).density,
           support_number(row, "density_kg_per_m3"), support_number(row, "tolerance"));
}

/* Densities by the equation of 2000. */
START_TEST(density) {
  support_published("real_air_density.csv", density_row);
}
END_TEST

static void contents_row(const struct support_row *row) {
  const double litre = 1e-3, cubic_foot = 12 * 12 * 12 * LB_CUBIC_INCH;
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  double mass = support_number(row, "volume_L") * litre *
                state_at(support_number(row, "pressure_bar") * LB_BAR, temperature).density;
  double free_air = mass / state_at(LB_ATMOSPHERE, temperature).density / cubic_foot;
  bool weighed = strcmp(support_text(row, "unit"), "kg") == 0;
  ck_close(weighed ? mass : free_air, support_number(row, "value"),
           support_number(row, "tolerance"));
}

/* A diving cylinder, and three more by the equation of 2000. */
START_TEST(contents) {
  support_published("cylinder_contents.csv", contents_row);
}
END_TEST

static double throttled(double from, double temperature, double to) {
  double behind = (double)NAN;
  ck_assert_int_eq(lb_real_air_throttled(&behind, air, from, temperature, to, NULL), LB_OK);
  return behind;
}

/* Half an atmosphere to each side. */
static void coefficient_row(const struct support_row *row) {
  double pressure = support_number(row, "pressure_atm") * LB_ATMOSPHERE;
  double temperature = LB_ZERO_CELSIUS + support_number(row, "temperature_degC");
  double above = throttled(pressure, temperature, pressure + LB_ATMOSPHERE / 2);
  double below = throttled(pressure, temperature, pressure - LB_ATMOSPHERE / 2);
  ck_close_relative(above - below, support_number(row, "coefficient_K_per_atm"),
                    support_number(row, "relative_tolerance"));
}

/* Roebuck's measurements. */
START_TEST(joule_thomson) {
  support_published("ball_joule_thomson.csv", coefficient_row);
}
END_TEST

static void throttled_row(const struct support_row *row) {
  double from = support_number(row, "pressure_bar") * LB_BAR;
  ck_close(throttled(from, 20 + LB_ZERO_CELSIUS, 8 * LB_BAR) - LB_ZERO_CELSIUS,
           support_number(row, "temperature_degC"), support_number(row, "tolerance"));
}

/* A regulator set to 8 bar, by the equation of 2000. */
START_TEST(regulator) {
  support_published("real_air_throttled.csv", throttled_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("real air, published");
  TCase *cases = tcase_create("real air, published");
  tcase_add_checked_fixture(cases, set_up, tear_down);
  tcase_add_test(cases, equation_of_2000);
  tcase_add_test(cases, handbook);
  tcase_add_test(cases, density);
  tcase_add_test(cases, contents);
  tcase_add_test(cases, joule_thomson);
  tcase_add_test(cases, regulator);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
