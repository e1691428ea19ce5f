/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A tube as a restriction: air that flows without heat through a smooth bore (Fanno's flow).
 *
 * Friction speeds a subsonic flow up until it leaves with Mach 1 and chokes. How much length it
 * takes from a Mach number to 1 is Fanno's function F = f L/D, with the friction factor f of a
 * smooth wall. The entrance, square-edged, loses half a velocity head and is counted as length:
 *
 *   F(M_in) - F(M_out) = f L/D + 0.5
 *
 * C comes from the choked tube, M_out = 1. b is such that the law of ISO 6358-1 meets the true flow
 * at r = 0.9.
 */
#ifndef LASTBAR_PHYSICS_TUBE_H
#define LASTBAR_PHYSICS_TUBE_H

#include "base/numeric.h"
#include "base/status.h"
#include "physics/flow.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A tube and the air before it. */
struct lb_tube {
  double diameter;    /* bore [m] > 0 */
  double length;      /* [m] >= 0 */
  double pressure;    /* [Pa absolute] > 0, at which the friction factor is taken; ten times of it
                         make C of a long tube about a fifth greater */
  double temperature; /* [K] > 0 */
};

/* Reynolds number [1] of a mass flow [kg/s] through a round bore [m], with the viscosity of air at
 * a temperature [K]. */
double lb_tube_reynolds(double mass, double diameter, double temperature);

/* Friction factor of a smooth tube [1], Darcy's: the drop of pressure over length/diameter times
 * the dynamic pressure. 1/sqrt(f) = 2 log10(Re sqrt(f)) - 0.8 (Prandtl and von Karman), good from
 * Re = 4000 to 10^7, or 64/Re (laminar) where that is more; from 1000 to 4000 rather too much.
 * reynolds  [1] > 0 */
double lb_tube_friction(double reynolds);

/* Fanno's function of air [1].
 * mach  [1] > 0 */
double lb_tube_fanno(double mach);

/* C and b of a tube, with m = 0.5.
 * flow      out; b is kept from falling below 0
 * reynolds  out: Reynolds number of the choked flow [1]; may be NULL
 * Fails (LB_BAD_INPUT) for a figure out of its range, and as lb_numeric_root. */
enum lb_status lb_tube_flow(struct lb_flow *flow, double *reynolds, const struct lb_tube *tube,
                            struct lb_workspace *workspace, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
