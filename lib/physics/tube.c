/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fanno's flow through a smooth tube. Flows are counted in q sqrt(R T)/(A p) of the state before
 * the tube, and roots are sought in the logarithm of the Mach number behind the entrance.
 */
#include "physics/tube.h"

#include "base/constants.h"
#include "physics/conductance.h"

#include <math.h>

static const double entrance_loss = 0.5;    /* velocity heads, of a square-edged entrance */
static const double fit_ratio = 0.9;        /* where the law meets the true flow */
static const double slowest_mach = 1e-8;    /* below that of any tube */
static const double mach_tolerance = 1e-13; /* of its logarithm */

/* Sutherland's law for air with the figures of the U.S. Standard Atmosphere, 1976: beta T^1.5/(T +
 * S) [Pa s]. */
static double viscosity(double temperature) {
  const double beta = 1.458e-6, sutherland = 110.4; /* [kg/(s m K^0.5)], [K] */
  return beta * temperature * sqrt(temperature) / (temperature + sutherland);
}

double lb_tube_reynolds(double mass, double diameter, double temperature) {
  return 4 * mass / (LB_PI * diameter * viscosity(temperature));
}

/* With x = 1/sqrt(f): x + 2 log10(x) = 2 log10(Re) - 0.8. Haaland's formula starts within 5 % of
 * the root, the left side is nearly straight, and three of Newton's steps reach rounding. */
static double turbulent_friction(double reynolds) {
  const double slope = 2 / log(10), offset = 0.8;
  const double haaland_slope = 1.8, haaland_reynolds = 6.9;
  const int steps = 3;
  double x = haaland_slope * log10(reynolds / haaland_reynolds);
  for (int i = 0; i < steps; i++)
    x -= (x + slope * log(x / reynolds) + offset) / (1 + slope / x);
  return 1 / (x * x);
}

double lb_tube_friction(double reynolds) {
  const double laminar_for_sure = 500; /* the two laws cross at about 1000 */
  double laminar = 64 / reynolds;
  return reynolds < laminar_for_sure ? laminar : fmax(laminar, turbulent_friction(reynolds));
}

/* F = (1 - M^2)/(gamma M^2) + (gamma + 1)/(2 gamma) ln((gamma + 1) M^2/(2 + (gamma - 1) M^2)).
 * With e = (1 - M^2)/(1 + (gamma - 1)/2 M^2) the logarithm is ln(1 - e). */
double lb_tube_fanno(double mach) {
  double square = mach * mach;
  double excess = (1 - square) / (1 + (LB_GAMMA - 1) / 2 * square);
  return (1 - square) / (LB_GAMMA * square) + (LB_GAMMA + 1) / (2 * LB_GAMMA) * log1p(-excess);
}

/* What the roots below are functions of. */
struct passage {
  double length;   /* in diameters */
  double reynolds; /* Reynolds number over the flow */
};

/* The flow at the entrance, isentropic from rest:
 * sqrt(gamma) M (1 + (gamma - 1)/2 M^2)^(-(gamma + 1)/(2 (gamma - 1))). */
static double entrance_flow(double mach) {
  const double exponent = -(LB_GAMMA + 1) / (2 * (LB_GAMMA - 1));
  return sqrt(LB_GAMMA) * mach * pow(1 + (LB_GAMMA - 1) / 2 * mach * mach, exponent);
}

/* What the tube takes of Fanno's function. */
static double losses(const struct passage *passage, double flow) {
  return entrance_loss + lb_tube_friction(passage->reynolds * flow) * passage->length;
}

/* Zero for the choked tube, which leaves nothing of Fanno's function. There is one root: Fanno's
 * function falls with at least the square of the Mach number, f with at most its first power. */
static double beyond_choking(double log_mach, void *context) {
  double mach = exp(log_mach);
  return lb_tube_fanno(mach) - losses(context, entrance_flow(mach));
}

/* Zero for the tube whose jet meets the ratio of the fit. The stagnation temperature at the exit is
 * that at the entrance, so that with k = (gamma - 1)/2
 *   q sqrt(R T)/(A p_down) = sqrt(gamma) M sqrt(1 + k M^2), a quadratic equation for M^2. */
static double beyond_fit(double log_mach, void *context) {
  const double k = (LB_GAMMA - 1) / 2;
  double mach = exp(log_mach), flow = entrance_flow(mach);
  double x = flow / fit_ratio, square = 2 * x * x / LB_GAMMA;
  double exit_mach = sqrt(square / (1 + sqrt(1 + 2 * k * square)));
  return lb_tube_fanno(mach) - lb_tube_fanno(exit_mach) - losses(context, flow);
}

/* The choked flow, and that at the ratio of the fit. */
static enum lb_status flows(double *choked, double *fitted, struct passage *passage,
                            struct lb_workspace *workspace, struct lb_error *error) {
  double low = log(slowest_mach), high = 0, x = 0;
  enum lb_status status =
      lb_numeric_root(workspace, &high, beyond_choking, passage, low, 0, mach_tolerance, error);
  if (status == LB_OK)
    status = lb_numeric_root(workspace, &x, beyond_fit, passage, low, high, mach_tolerance, error);
  *choked = entrance_flow(exp(high));
  *fitted = entrance_flow(exp(x));
  return status;
}

/* b of the law that passes `share` of the choked flow at `fit_ratio`: y (2 - y) = share^2 with
 * y = (1 - fit_ratio)/(1 - b). */
static double fitted_ratio(double share) {
  double square = share * share, y = square / (1 + sqrt(1 - square));
  return fmax(0, 1 - (1 - fit_ratio) / y);
}

static enum lb_status check(const struct lb_tube *tube, struct lb_error *error) {
  if (!(tube->diameter > 0 && tube->length >= 0 && isfinite(tube->diameter) &&
        isfinite(tube->length)))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a tube has a bore of %.6g mm and a length of %.6g m; the bore must be "
                        "greater than 0 and the length not less",
                        tube->diameter * 1e3, tube->length);
  if (!(tube->pressure > 0 && tube->temperature > 0 && isfinite(tube->pressure) &&
        isfinite(tube->temperature)))
    return lb_error_set(error, LB_BAD_INPUT,
                        "the air before a tube has %.6g Pa and %.6g K; both must be greater than 0",
                        tube->pressure, tube->temperature);
  return LB_OK;
}

/* The conductance: an effective area that passes, as an ideal nozzle, what the choked tube does. */
enum lb_status lb_tube_flow(struct lb_flow *flow, double *reynolds, const struct lb_tube *tube,
                            struct lb_workspace *workspace, struct lb_error *error) {
  enum lb_status status = check(tube, error);
  if (status != LB_OK)
    return status;
  double area = LB_PI / 4 * tube->diameter * tube->diameter;
  double unit = area * tube->pressure / sqrt(LB_GAS_CONSTANT * tube->temperature); /* [kg/s] */
  struct passage passage = {tube->length / tube->diameter,
                            lb_tube_reynolds(unit, tube->diameter, tube->temperature)};
  double choked, fitted;
  status = flows(&choked, &fitted, &passage, workspace, error);
  if (status != LB_OK)
    return status;
  *flow = lb_conductance_of_area(area * choked / lb_conductance_nozzle(0, LB_GAMMA),
                                 fitted_ratio(fitted / choked));
  if (reynolds)
    *reynolds = passage.reynolds * choked;
  return LB_OK;
}
