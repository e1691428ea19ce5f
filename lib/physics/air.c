/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Closed forms of air. Invariant: every pair (change, inverse) returns to the start to rounding.
 */
#include "physics/air.h"

#include "base/constants.h"

#include <math.h>

double lb_air_polytropic_work(double *pressure_2, double pressure_1, double volume_1,
                              double volume_2, double exponent) {
  /* With a = ln(V2/V1) and z = (1-n) a: W = p1 V1 a (e^z - 1)/z, which tends to p1 V1 a as n -> 1,
   * and p2 V2 = p1 V1 e^z. */
  double logarithm = log(volume_2 / volume_1);
  double z = (1 - exponent) * logarithm;
  double growth = expm1(z);
  if (pressure_2)
    *pressure_2 = pressure_1 * (1 + growth) * (volume_1 / volume_2);
  return pressure_1 * volume_1 * (z == 0 ? logarithm : logarithm * (growth / z));
}

double lb_air_polytropic_pressure(double pressure_1, double volume_1, double volume_2,
                                  double exponent) {
  return pressure_1 * pow(volume_1 / volume_2, exponent);
}

double lb_air_polytropic_temperature(double temperature_1, double pressure_1, double pressure_2,
                                     double exponent) {
  return temperature_1 * pow(pressure_2 / pressure_1, (exponent - 1) / exponent);
}

double lb_air_isothermal_ideal(double temperature, double pressure_1, double pressure_2) {
  return LB_GAS_CONSTANT * temperature * log(pressure_1 / pressure_2);
}

double lb_air_isentropic_ideal(double temperature, double pressure_1, double pressure_2) {
  return -LB_CP * temperature * expm1((LB_GAMMA - 1) / LB_GAMMA * log(pressure_2 / pressure_1));
}

double lb_air_volume_anr(double mass) {
  return mass / LB_DENSITY_ANR;
}

double lb_air_density(double pressure, double temperature) {
  return pressure / (LB_GAS_CONSTANT * temperature);
}

double lb_air_volume_at(double mass, double pressure, double temperature) {
  return mass / lb_air_density(pressure, temperature);
}

/* The constants of the U.S. Standard Atmosphere, 1976: effective radius of the Earth [m], standard
 * gravity [m/s2], lapse rate [K/m], sea-level temperature [K], universal gas constant [J/(kmol K)],
 * molar mass of air [kg/kmol]; the troposphere ends at 11 km. */
static const double earth_radius = 6356766.0;
static const double gravity = 9.80665;
static const double lapse_rate = 6.5e-3;
static const double sea_level_temperature = 288.15;
static const double universal_gas_constant = 8314.32;
static const double molar_mass = 28.9644;
static const double lowest_height = -1000, greatest_height = 11000;

double lb_air_pressure_at_height(double height) {
  if (!(height >= lowest_height && height <= greatest_height))
    return (double)NAN;
  double geopotential = earth_radius * height / (earth_radius + height);
  double ratio = 1 - lapse_rate * geopotential / sea_level_temperature;
  return LB_ATMOSPHERE * pow(ratio, gravity * molar_mass / (universal_gas_constant * lapse_rate));
}

/* Magnus: p = p0 exp(a t/(b + t)). */
struct magnus {
  double a, b; /* [1], [K] */
};
static const struct magnus magnus[] = {
    [LB_OVER_WATER] = {17.62, 243.12}, [LB_OVER_ICE] = {22.46, 272.62}};
static const double magnus_pressure = 611.2;            /* p0 [Pa] */
static const double coldest = 173.15, hottest = 373.15; /* [K] */

double lb_air_saturation_pressure(double temperature, enum lb_phase phase) {
  if (!(temperature >= coldest && temperature <= hottest))
    return (double)NAN;
  double t = temperature - LB_ZERO_CELSIUS;
  return magnus_pressure * exp(magnus[phase].a * t / (magnus[phase].b + t));
}

double lb_air_dew_point(double vapour_pressure, enum lb_phase phase) {
  if (!(vapour_pressure > 0))
    return (double)NAN;
  double ratio = log(vapour_pressure / magnus_pressure);
  return LB_ZERO_CELSIUS + magnus[phase].b * ratio / (magnus[phase].a - ratio);
}
