/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air functions against printed tables: the standard atmosphere, densities, adiabatic
 * compression, vapour pressures and dew points. Every figure comes from a file in data/published.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "support.h"

#include <stdbool.h>
#include <string.h>

static const double foot = 0.3048;           /* [m], exact */
static const double pound = 0.45359237;      /* [kg], exact */
static const double psi = 6894.757293168361; /* [Pa], from the two above and standard gravity */
static const double mmhg = 133.322387415;    /* [Pa] conventional millimetre of mercury */

static double kelvin_of_fahrenheit(double degrees) {
  return (degrees + 459.67) * 5 / 9;
}

static double kelvin_of(const struct support_row *row, const char *column) {
  return LB_ZERO_CELSIUS + support_number(row, column);
}

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

static void standard_atmosphere_row(const struct support_row *row) {
  double pressure = lb_air_pressure_at_height(support_number(row, "height_m"));
  ck_close(pressure, support_number(row, "pressure_Pa"), support_number(row, "pressure_tolerance"));
  ck_close(lb_air_density(pressure, support_number(row, "temperature_K")),
           support_number(row, "density_kg_per_m3"), support_number(row, "density_tolerance"));
}

/* U.S. Standard Atmosphere, 1976. */
START_TEST(standard_atmosphere) {
  support_published("us_standard_atmosphere_1976.csv", standard_atmosphere_row);
}
END_TEST

static void altitude_row(const struct support_row *row) {
  double pressure = lb_air_pressure_at_height(support_number(row, "height_ft") * foot);
  ck_close(pressure / psi, support_number(row, "pressure_psi"), support_number(row, "tolerance"));
}

/* ASHRAE Handbook, Fundamentals. */
START_TEST(altitude_in_feet) {
  support_published("ashrae_altitude_pressure.csv", altitude_row);
}
END_TEST

static void density_row(const struct support_row *row) {
  ck_close(lb_air_density(support_number(row, "pressure_Pa"), kelvin_of(row, "temperature_degC")),
           support_number(row, "density_kg_per_m3"), support_number(row, "tolerance"));
}

/* CIBSE, U.S. Standard Atmosphere, ISO 6358. */
START_TEST(dry_air_density) {
  support_published("dry_air_density.csv", density_row);
}
END_TEST

static void old_density_row(const struct support_row *row) {
  double density = lb_air_density(support_number(row, "pressure_psi_absolute") * psi,
                                  kelvin_of_fahrenheit(support_number(row, "temperature_degF")));
  ck_close(density * foot * foot * foot / pound, support_number(row, "density_lb_per_ft3"),
           support_number(row, "tolerance"));
}

/* Babcock & Wilcox, Steam, Its Generation and Use, Table 27. */
START_TEST(density_in_pounds) {
  support_published("babcock_air_density.csv", old_density_row);
}
END_TEST

static int compression_temperatures; /* rows with a temperature, counted by the test below */

/* One cubic foot of 60 degF and one atmosphere, compressed: its volume from mass, pressure and
 * temperature; the pressure at the printed volume from both sides; and the temperature, with the
 * table's own exponent and absolute zero. */
static void compression_row(const struct support_row *row) {
  const double exponent = 1.41, temperature_exponent = 1.408;
  const double start_rankine = 521, zero_rankine = 461; /* 60 degF as the table counts it */
  double atmospheres = support_number(row, "pressure_atmospheres");
  double start = kelvin_of_fahrenheit(60), pressure = atmospheres * LB_ATMOSPHERE;
  double end = lb_air_polytropic_temperature(start, LB_ATMOSPHERE, pressure, exponent);
  double volume = lb_air_volume_at(lb_air_density(LB_ATMOSPHERE, start), pressure, end);
  double printed = support_number(row, "volume_cubic_feet");
  double tolerance = support_number(row, "volume_tolerance");
  ck_close(volume, printed, tolerance);
  double greatest = lb_air_polytropic_pressure(1, 1, printed - tolerance, exponent);
  double least = lb_air_polytropic_pressure(1, 1, printed + tolerance, exponent);
  ck_assert_msg(least <= atmospheres && atmospheres <= greatest,
                "%g atmospheres are not in %.6g ... %.6g", atmospheres, least, greatest);
  if (is(row, "temperature_degF", ""))
    return;
  compression_temperatures++;
  double rankine =
      lb_air_polytropic_temperature(start_rankine, 1, atmospheres, temperature_exponent);
  ck_close(rankine - zero_rankine, support_number(row, "temperature_degF"),
           support_number(row, "temperature_tolerance"));
}

/* Saunders, Compressed Air Production, 1891. */
START_TEST(adiabatic_compression) {
  compression_temperatures = 0;
  support_published("saunders_1891_compression.csv", compression_row);
  ck_assert_int_eq(compression_temperatures, 16);
}
END_TEST

static void over_water_row(const struct support_row *row) {
  double kilopascal =
      lb_air_saturation_pressure(kelvin_of(row, "temperature_degC"), LB_OVER_WATER) / 1e3;
  ck_close(kilopascal, support_number(row, "table_kPa"), support_number(row, "table_tolerance"));
  ck_close(kilopascal, support_number(row, "magnus_kPa"), support_number(row, "magnus_tolerance"));
}

/* CRC Handbook of Chemistry and Physics; Magnus form of the WMO guide. */
START_TEST(vapour_over_water) {
  support_published("vapour_pressure_over_water.csv", over_water_row);
}
END_TEST

static void its90_row(const struct support_row *row) {
  ck_close(lb_air_saturation_pressure(kelvin_of(row, "temperature_degC"), LB_OVER_WATER),
           support_number(row, "pressure_Pa"), support_number(row, "tolerance"));
}

/* Formulation on the ITS-90 scale. */
START_TEST(vapour_its90) {
  support_published("vapour_pressure_its90.csv", its90_row);
}
END_TEST

static void over_ice_row(const struct support_row *row) {
  ck_close(lb_air_saturation_pressure(kelvin_of(row, "temperature_degC"), LB_OVER_ICE) / mmhg,
           support_number(row, "pressure_mmHg"), support_number(row, "tolerance"));
}

/* Manual of a dew-point hygrometer. */
START_TEST(vapour_over_ice) {
  support_published("vapour_pressure_over_ice.csv", over_ice_row);
}
END_TEST

static void steam_table_row(const struct support_row *row) {
  ck_close(lb_air_saturation_pressure(kelvin_of(row, "temperature_degC"), LB_OVER_WATER) / 1e3,
           support_number(row, "pressure_kPa"), support_number(row, "tolerance"));
}

/* Borgnakke and Sonntag, Fundamentals of Thermodynamics, example 13.7. */
START_TEST(vapour_steam_table) {
  support_published("sonntag_vapour_pressure.csv", steam_table_row);
}
END_TEST

static void dew_point_row(const struct support_row *row) {
  double saturated = lb_air_saturation_pressure(kelvin_of(row, "temperature_degC"), LB_OVER_WATER);
  double vapour = is(row, "vapour_pressure_bar", "")
                      ? saturated * support_number(row, "relative_humidity_percent") / 100
                      : support_number(row, "vapour_pressure_bar") * 1e5;
  double actual = is(row, "quantity", "dew point")
                      ? lb_air_dew_point(vapour, LB_OVER_WATER) - LB_ZERO_CELSIUS
                      : 100 * vapour / saturated;
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Rajput, Engineering Thermodynamics, examples 10.1 and 10.2. */
START_TEST(dew_point) {
  support_published("rajput_dew_point.csv", dew_point_row);
}
END_TEST

/* The share of vapour stays the same while the pressure changes by `factor`. */
static void pressure_dew_point_row(const struct support_row *row) {
  double atmosphere = support_number(row, "atmosphere_bar");
  double ratio = (support_number(row, "pressure_bar_gauge") + atmosphere) / atmosphere;
  double factor = is(row, "quantity", "pressure dew point") ? ratio : 1 / ratio;
  enum lb_phase given = is(row, "given_phase", "ice") ? LB_OVER_ICE : LB_OVER_WATER;
  double vapour = factor * support_number(row, "relative_humidity") *
                  lb_air_saturation_pressure(kelvin_of(row, "given_degC"), given);
  double tolerance = support_number(row, "tolerance");
  ck_close(lb_air_dew_point(vapour, LB_OVER_WATER), kelvin_of(row, "over_water_degC"), tolerance);
  if (!is(row, "over_ice_degC", ""))
    ck_close(lb_air_dew_point(vapour, LB_OVER_ICE), kelvin_of(row, "over_ice_degC"), tolerance);
}

/* Derived pairs, and the trade's -23 degC for +3 degC at 7 bar. */
START_TEST(pressure_dew_point) {
  support_published("pressure_dew_point.csv", pressure_dew_point_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("air, published");
  TCase *cases = tcase_create("air, published");
  tcase_add_test(cases, standard_atmosphere);
  tcase_add_test(cases, altitude_in_feet);
  tcase_add_test(cases, dry_air_density);
  tcase_add_test(cases, density_in_pounds);
  tcase_add_test(cases, adiabatic_compression);
  tcase_add_test(cases, vapour_over_water);
  tcase_add_test(cases, vapour_its90);
  tcase_add_test(cases, vapour_over_ice);
  tcase_add_test(cases, vapour_steam_table);
  tcase_add_test(cases, dew_point);
  tcase_add_test(cases, pressure_dew_point);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
