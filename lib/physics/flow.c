/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curve of ISO 6358-1 and what follows from it.
 */
#include "physics/flow.h"

#include "base/constants.h"

#include <math.h>
#include <stddef.h>

static const double reference_temperature = 293.15; /* [K] T_0, ISO 8778 */
static const double straight_above = 0.999;         /* [1] ratio from which phi is a line */
static const double usual_index = 0.5;

/* phi above b [1], and its slope where it is asked for. */
static inline double curve(const struct lb_flow *flow, double ratio, double *slope) {
  double b = flow->critical_ratio, m = flow->subsonic_index;
  double z = (ratio - b) / (1 - b), rest = 1 - z * z;
  double share = m == usual_index ? sqrt(rest) : pow(rest, m);
  if (slope)
    *slope = -2 * m * z / (1 - b) * share / rest;
  return share;
}

double lb_flow_share(const struct lb_flow *flow, double ratio, double *slope) {
  if (ratio <= flow->critical_ratio) {
    if (slope)
      *slope = 0;
    return 1;
  }
  if (ratio <= straight_above)
    return curve(flow, ratio, slope);
  double knee = flow->critical_ratio < straight_above ? curve(flow, straight_above, NULL) : 1;
  if (slope)
    *slope = -knee / (1 - straight_above);
  return knee * (1 - ratio) / (1 - straight_above);
}

double lb_flow_mass(const struct lb_flow *flow, double upstream_pressure,
                    double upstream_temperature, double downstream_pressure) {
  return flow->conductance * LB_DENSITY_ANR * upstream_pressure *
         sqrt(reference_temperature / upstream_temperature) *
         lb_flow_share(flow, downstream_pressure / upstream_pressure, NULL);
}

/* The flow downhill: mass [kg/s] and its derivatives by the upstream and downstream pressure and
 * the upstream temperature. */
static double downhill(const struct lb_flow *flow, double opening, double up, double temperature,
                       double down, double *by_up, double *by_down, double *by_temperature) {
  double ratio = down / up, slope;
  double share = lb_flow_share(flow, ratio, &slope);
  double choked = opening * flow->conductance * LB_DENSITY_ANR *
                  sqrt(reference_temperature / temperature); /* [kg/(s Pa)] */
  *by_up = choked * (share - ratio * slope);
  *by_down = choked * slope;
  *by_temperature = -choked * up * share / (2 * temperature);
  return choked * up * share;
}

void lb_flow_between(struct lb_flow_rate *rate, const struct lb_flow *flow, double opening,
                     double pressure_1, double temperature_1, double pressure_2,
                     double temperature_2) {
  struct lb_flow_rate r = {0};
  if (pressure_1 >= pressure_2) {
    r.mass = downhill(flow, opening, pressure_1, temperature_1, pressure_2, &r.by_pressure_1,
                      &r.by_pressure_2, &r.by_temperature_1);
  } else {
    r.mass = -downhill(flow, opening, pressure_2, temperature_2, pressure_1, &r.by_pressure_2,
                       &r.by_pressure_1, &r.by_temperature_2);
    r.by_pressure_1 = -r.by_pressure_1;
    r.by_pressure_2 = -r.by_pressure_2;
    r.by_temperature_2 = -r.by_temperature_2;
  }
  *rate = r;
}
