/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air through a valve, a tube or a leak, as ISO 6358-1 describes it.
 *
 *   q = C p_u rho_0 sqrt(T_0/T_u) phi(p_d/p_u)      phi = 1                             r <= b
 *                                                   phi = (1 - ((r-b)/(1-b))^2)^m       r > b
 *
 * with the sonic conductance C, the critical ratio b and the subsonic index m; rho_0 = 1.185 kg/m3
 * and T_0 = 293.15 K (ISO 8778). Above r = 0.999 phi is a straight line to 0 at r = 1, so that a
 * flow that turns round has a slope there.
 */
#ifndef LASTBAR_PHYSICS_FLOW_H
#define LASTBAR_PHYSICS_FLOW_H

#ifdef __cplusplus
extern "C" {
#endif

struct lb_flow {
  double conductance;    /* C [m3/(s Pa)] >= 0, volume ANR */
  double critical_ratio; /* b [1] 0 ... less than 1 */
  double subsonic_index; /* m [1] > 0; usually 0.5 */
};

/* Share of choked flow [1] at a ratio of pressures downstream to upstream, 0 ... 1.
 * slope  out: d(phi)/d(ratio), of the curve above b where it bends; or NULL */
double lb_flow_share(const struct lb_flow *flow, double ratio, double *slope);

/* Mass flow [kg/s] from an upstream state to a lower pressure downstream, all > 0. */
double lb_flow_mass(const struct lb_flow *flow, double upstream_pressure,
                    double upstream_temperature, double downstream_pressure);

/* A flow that may go either way, with its derivatives. */
struct lb_flow_rate {
  double mass;          /* [kg/s] from side 1 to side 2; negative the other way */
  double by_pressure_1; /* [kg/(s Pa)] */
  double by_pressure_2;
  double by_temperature_1; /* [kg/(s K)] 0 while side 1 is downstream */
  double by_temperature_2;
};

/* The flow between two sides [Pa absolute], [K], all > 0, through a path open to a share [1]. */
void lb_flow_between(struct lb_flow_rate *rate, const struct lb_flow *flow, double opening,
                     double pressure_1, double temperature_1, double pressure_2,
                     double temperature_2);

#ifdef __cplusplus
}
#endif

#endif
