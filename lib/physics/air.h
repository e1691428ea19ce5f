/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air as an ideal gas: changes of state, free air, the standard atmosphere, moisture.
 *
 * All functions take plain numbers in SI with absolute pressures, know no machine, and return NaN
 * outside the domain stated.
 */
#ifndef LASTBAR_PHYSICS_AIR_H
#define LASTBAR_PHYSICS_AIR_H

#ifdef __cplusplus
extern "C" {
#endif

/* Work done by a closed gas that changes from volume_1 to volume_2 along p V^n = const [J]:
 *   p1 V1 ln(V2/V1) for n = 1, else p1 V1 (1 - (V1/V2)^(n-1))/(n-1),
 * negative when compressed. Both come from one formula that is smooth through n = 1.
 * pressure_2  out: p1 (V1/V2)^n [Pa absolute]; may be NULL
 * pressure_1  [Pa absolute] >= 0
 * volume_1, volume_2  [m3] > 0
 * exponent    n [1], any finite */
double lb_air_polytropic_work(double *pressure_2, double pressure_1, double volume_1,
                              double volume_2, double exponent);

/* Pressure after that change [Pa absolute]; domain as above. */
double lb_air_polytropic_pressure(double pressure_1, double volume_1, double volume_2,
                                  double exponent);

/* Temperature after a change from pressure_1 to pressure_2 along p V^n = const [K]:
 * T1 (p2/p1)^((n-1)/n). Pressures > 0. */
double lb_air_polytropic_temperature(double temperature_1, double pressure_1, double pressure_2,
                                     double exponent);

/* The greatest work a kilogram of air can do between two pressures [J/kg]: at constant temperature
 * R T ln(p1/p2), and without heat cp T (1 - (p2/p1)^((gamma-1)/gamma)). Negative when p1 < p2. */
double lb_air_isothermal_ideal(double temperature, double pressure_1, double pressure_2);
double lb_air_isentropic_ideal(double temperature, double pressure_1, double pressure_2);

/* Free air: a mass [kg] as volume [m3] at the reference atmosphere ANR (ISO 8778), or at any
 * pressure [Pa absolute] and temperature [K]. */
double lb_air_volume_anr(double mass);
double lb_air_volume_at(double mass, double pressure, double temperature);

/* Density of dry air [kg/m3]. */
double lb_air_density(double pressure, double temperature);

/* Pressure of the standard atmosphere at a height above sea level [Pa absolute] (ISO 2533; U.S.
 * Standard Atmosphere, 1976). The height is geometric, turned into the geopotential one.
 * height  [m] -1000 ... 11000 */
double lb_air_pressure_at_height(double height);

/* What saturated vapour stands over. Below 0 degC water may stay liquid; a table must say which. */
enum lb_phase {
  LB_OVER_WATER,
  LB_OVER_ICE
};

/* Saturation pressure of water vapour [Pa absolute] by the Magnus form of the WMO guide (WMO-No. 8,
 * after Sonntag 1990): 611.2 exp(17.62 t/(243.12 + t)) over water, 611.2 exp(22.46 t/(272.62 + t))
 * over ice, t in degC.
 * temperature  [K] 173.15 ... 373.15 */
double lb_air_saturation_pressure(double temperature, enum lb_phase phase);

/* Its inverse: the temperature [K] at which a vapour pressure [Pa absolute] > 0 is saturated: dew
 * point over water, frost point over ice. */
double lb_air_dew_point(double vapour_pressure, enum lb_phase phase);

#ifdef __cplusplus
}
#endif

#endif
