/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air as it is under the pressure of a bottle: compressibility Z, and what follows from it.
 *
 *   p v = Z(p, T) R T
 *   h = cp T + h_r,  h_r = -R T^2 integral of dZ/dT dp/p
 *   s = cp ln(T/293.15 K) - R ln(p/100 kPa) + s_r,  s_r = -R integral of [(Z - 1) + T dZ/dT] dp/p
 *
 * with both integrals from 0 to p at constant T. Z is a table made from the published equation of
 * state of Lemmon, Jacobsen, Penoncello and Friend (J. Phys. Chem. Ref. Data 29, 2000, 331) by
 * data/air_compressibility.py, with bicubic splines between its rows. cp is that of the ideal gas,
 * constant. At pressure 0 everything is ideal.
 */
#ifndef LASTBAR_PHYSICS_REAL_AIR_H
#define LASTBAR_PHYSICS_REAL_AIR_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The range of the table: pressures from 0 [Pa absolute], temperatures [K]. */
#define LB_REAL_AIR_HIGHEST 350e5
#define LB_REAL_AIR_COLDEST 150.0
#define LB_REAL_AIR_HOTTEST 400.0

struct lb_real_air; /* the table made ready; constant, so that any number of threads may use one */

/* To be released with lb_real_air_free; NULL when memory runs out. */
struct lb_real_air *lb_real_air_new(void);

/* Takes NULL too. */
void lb_real_air_free(struct lb_real_air *air);

/* A state of air. */
struct lb_real_state {
  double compressibility;               /* Z [1] */
  double density;                       /* [kg/m3] */
  double enthalpy;                      /* h [J/kg] */
  double entropy;                       /* s [J/(kg K)] */
  double pressure_coefficient;          /* dp/dT at constant volume [Pa/K] */
  double isochoric_heat, isobaric_heat; /* cv, cp of the real gas [J/(kg K)] */
  double compressibility_by_pressure;   /* dZ/dp at constant temperature [1/Pa] */
};

/* The state at a pressure [Pa absolute] > 0 and temperature [K].
 * Fails (LB_NO_ANSWER) outside the range, saying what was asked and what the range is. */
enum lb_status lb_real_air_state(struct lb_real_state *state, const struct lb_real_air *air,
                                 double pressure, double temperature, struct lb_error *error);

/* The pressure [Pa absolute] at a density [kg/m3] > 0 and temperature [K].
 * pressure  in: a guess, or 0; out
 * Fails (LB_NO_ANSWER) outside the range, (LB_NUMERIC) when no pressure is found. */
enum lb_status lb_real_air_pressure(double *pressure, const struct lb_real_air *air, double density,
                                    double temperature, struct lb_error *error);

/* The temperature [K] behind a throttle without heat, where the enthalpy is what it was before.
 * temperature   out
 * pressure_1, temperature_1  before [Pa absolute], [K];  pressure_2  behind [Pa absolute]
 * Fails (LB_NO_ANSWER) when either state lies outside the range, and with LB_NUMERIC. */
enum lb_status lb_real_air_throttled(double *temperature, const struct lb_real_air *air,
                                     double pressure_1, double temperature_1, double pressure_2,
                                     struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
