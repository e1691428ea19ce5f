/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes as conductances. Invariant: C and b of a series lie within the law's domain whatever the
 * elements.
 */
#include "physics/conductance.h"

#include "base/constants.h"

#include <math.h>
#include <stdbool.h>

/* T0 of the reference atmosphere ANR [K] (ISO 8778). */
static const double reference_temperature = LB_ZERO_CELSIUS + 20;

/* The drop at which nominal flow is stated: from 6 to 5 bar gauge [Pa absolute]. */
static const double nominal_up = 7 * LB_BAR, nominal_down = 6 * LB_BAR;

/* The Mach number is 1 where the jet has the pressure p_up (2/(gamma + 1))^(gamma/(gamma - 1)). */
double lb_conductance_critical_ratio(double gamma) {
  return pow(2 / (gamma + 1), gamma / (gamma - 1));
}

/* Isentropic expansion from rest to r: T/T_up = r^((gamma-1)/gamma) = t, speed sqrt(2 cp (T_up -
 * T)), density p_up r/(R T), so that q sqrt(R T_up)/(A p_up) = (r/t) sqrt(2 gamma/(gamma - 1) (1 -
 * t)), and where choked the jet stays at the critical ratio. */
double lb_conductance_nozzle(double ratio, double gamma) {
  if (!(ratio >= 0 && ratio <= 1))
    return (double)NAN;
  double critical = lb_conductance_critical_ratio(gamma);
  double r = ratio < critical ? critical : ratio, exponent = (gamma - 1) / gamma;
  double cooling = -expm1(exponent * log(r)); /* 1 - t */
  return r / (1 - cooling) * sqrt(2 / exponent * cooling);
}

/* Free air through an ideal nozzle, over its area and the pressure upstream [m/(s Pa)], from air of
 * 20 degC. */
static double nozzle_conductance(double ratio) {
  return lb_conductance_nozzle(ratio, LB_GAMMA) /
         (LB_DENSITY_ANR * sqrt(LB_GAS_CONSTANT * reference_temperature));
}

static struct lb_flow ellipse(double conductance, double critical_ratio) {
  return (struct lb_flow){conductance, critical_ratio, LB_CONDUCTANCE_INDEX};
}

/* Choked flow of both equal: C p rho0 sqrt(T0/T) = A p psi/sqrt(R T), where psi is the choked value
 * of lb_conductance_nozzle; the temperature drops out. */
struct lb_flow lb_conductance_of_area(double area, double critical_ratio) {
  return ellipse(area * nozzle_conductance(0), critical_ratio);
}

struct lb_flow lb_conductance_of_orifice(double diameter, double coefficient,
                                         double critical_ratio) {
  return lb_conductance_of_area(coefficient * LB_PI / 4 * diameter * diameter, critical_ratio);
}

/* q/rho0 = C p_up phi(r) at T_up = T0. */
double lb_conductance_nominal(const struct lb_flow *flow) {
  return flow->conductance * nominal_up * lb_flow_share(flow, nominal_down / nominal_up, NULL);
}

struct lb_flow lb_conductance_of_nominal(double nominal, double critical_ratio) {
  struct lb_flow unit = ellipse(1, critical_ratio);
  return ellipse(nominal / lb_conductance_nominal(&unit), critical_ratio);
}

/* Water Q at a drop dp leaves an area A at the speed sqrt(2 dp/rho): A = Q/sqrt(2 dp/rho). Air is
 * given the same area, as an ideal nozzle at the nominal drop. That assumes that the jet contracts
 * alike for water and for air at that drop, and that what the valve recovers of the pressure behind
 * its throat, which is why b of valves is low, acts on water and on air in the same way. */
static struct lb_flow of_water(double water, double drop, double critical_ratio) {
  const double water_density = 1000; /* [kg/m3] */
  double area = water / sqrt(2 * drop / water_density);
  double nominal = area * nominal_up * nozzle_conductance(nominal_down / nominal_up);
  return lb_conductance_of_nominal(nominal, critical_ratio);
}

struct lb_flow lb_conductance_of_kv(double water, double critical_ratio) {
  return of_water(water, LB_BAR, critical_ratio);
}

struct lb_flow lb_conductance_of_cv(double cv, double critical_ratio) {
  const double gallon = 231 * LB_CUBIC_INCH, minute = 60; /* [m3] US, exact; [s] */
  return of_water(cv * gallon / minute, LB_PSI, critical_ratio);
}

/* The pressure P before an element, where p is behind it and s = q/C is what it would be if choked.
 * Choked when p <= b s. Else
 *   P^2 ((1 - b)^2 - (p/P - b)^2) = s^2 (1 - b)^2,
 * a quadratic equation in P whose root is written so that b = 1/2 is nothing special. */
static double pressure_before(const struct lb_flow *element, double s, double p) {
  double b = element->critical_ratio, reach = 1 - b;
  if (p <= b * s)
    return s;
  return (p * p + s * s * reach * reach) / (b * p + reach * sqrt(p * p + (1 - 2 * b) * s * s));
}

static bool all_elliptic(const struct lb_flow *element, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (element[i].subsonic_index != LB_CONDUCTANCE_INDEX)
      return false;
  return count > 0;
}

/* C: into a vacuum the last element is choked. Let the pressure before it be 1, so that q = C_N,
 * and go upstream from element to element; C = q over the pressure before the first. For two
 * elements this is the root x = p_between/p_up of C1 sqrt(1 - ((x - b1)/(1 - b1))^2) = C2 x, with C
 * = C2 x.
 *
 * b: for small drops q^2 = 2 C^2 p dp/(1 - b), and drops add: (1 - b)/C^2 = sum of (1 - b_i)/C_i^2.
 * Since (1 - b) phi^2 <= 1 - r^2 for all r and b, the terms C^2 (1 - b_i)/C_i^2 sum up to 1 at
 * most; only rounding can bring b below 0. */
struct lb_flow lb_conductance_series(const struct lb_flow *element, size_t count) {
  if (count == 1)
    return element[0];
  if (!all_elliptic(element, count))
    return ellipse((double)NAN, (double)NAN);
  double q = element[count - 1].conductance, pressure = 1;
  for (size_t i = count - 1; i-- > 0;)
    pressure = pressure_before(&element[i], q / element[i].conductance, pressure);
  double conductance = q / pressure, b = 1;
  for (size_t i = 0; i < count; i++) {
    double ratio = conductance / element[i].conductance;
    b -= ratio * ratio * (1 - element[i].critical_ratio);
  }
  return ellipse(conductance, b < 0 ? 0 : b);
}
