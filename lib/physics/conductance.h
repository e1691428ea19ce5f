/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the size of a valve, however it is stated, makes of the flow law of ISO 6358-1; and several
 * restrictions one behind the other as one.
 *
 * Makers state a size as C and b, as nominal flow, as effective area, as the bore of an orifice, or
 * as the water it passes (Kv, Cv). All of them are brought to C by an ideal nozzle, in which a gas
 * expands from rest without loss: choked where the figure stands for choked flow, at the nominal
 * drop from 6 to 5 bar gauge where it does not.
 *
 * All functions take plain numbers in SI with absolute pressures, know no machine, and return NaN
 * outside the domain stated.
 */
#ifndef LASTBAR_PHYSICS_CONDUCTANCE_H
#define LASTBAR_PHYSICS_CONDUCTANCE_H

#include "physics/flow.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What b is when nobody says. Of a whole valve, however its size is stated (C, Kv, Cv, effective
 * area, nominal flow), 0.3: makers' tables run from 0.2 to 0.5. An orifice with a discharge
 * coefficient has the b of an ideal nozzle, lb_conductance_critical_ratio(LB_GAMMA): the
 * coefficient holds all its losses. */
#define LB_CONDUCTANCE_VALVE_RATIO 0.3

/* What m is when nobody says [1]: above b the law is a quarter of an ellipse. Every restriction
 * made here has it. */
#define LB_CONDUCTANCE_INDEX 0.5

/* The ideal nozzle.
 * _critical_ratio: p_down/p_up [1] at and below which it is choked: 0.528 for air
 * _nozzle: q sqrt(R T_up)/(A p_up) [1]; the law with the nozzle's b follows it to 0.3 %
 * ratio  p_down/p_up [1] 0 ... 1
 * gamma  ratio of specific heats [1] > 1 */
double lb_conductance_critical_ratio(double gamma);
double lb_conductance_nozzle(double ratio, double gamma);

/* A restriction from an effective area S: it passes, choked, what an ideal nozzle of that area
 * passes. C = 0.199 L/(s bar) for each mm2, whatever b is.
 * area            [m2] > 0
 * critical_ratio  [1] 0 <= b < 1 */
struct lb_flow lb_conductance_of_area(double area, double critical_ratio);

/* A restriction from an orifice: the effective area is the discharge coefficient's share of it.
 * diameter     [m] > 0
 * coefficient  Cd [1] > 0: 0.6 sharp-edged, 0.85 short bore, 0.97 rounded */
struct lb_flow lb_conductance_of_orifice(double diameter, double coefficient,
                                         double critical_ratio);

/* A restriction from its nominal flow: free air (ANR) at 20 degC from 6 to 5 bar gauge, the
 * atmosphere counted as 1 bar. C in L/(s bar) is the L/min over 254 for b = 0.3, over 227 for 0.1,
 * over 294 for 0.5.
 * nominal  [m3/s] > 0 */
struct lb_flow lb_conductance_of_nominal(double nominal, double critical_ratio);

/* Its inverse: the nominal flow [m3/s] of a restriction. */
double lb_conductance_nominal(const struct lb_flow *flow);

/* A restriction from a water test: Kv is the water that passes at a drop of 1 bar, Cv the gallons a
 * minute at 1 psi. Water gives an area; an ideal nozzle of that area, at the nominal drop from 6 to
 * 5 bar gauge, gives the nominal flow of air. For b = 0.3 a Cv of 1 makes C = 4.0 L/(s bar), a Kv
 * of 1 m3/h 4.6.
 *
 * No conversion is exact, for water cannot say where air chokes: take it as good to 20 %. Here is
 * what other ways give for a Cv of 1. The choked ends of valve and nozzle made equal: 3.4, whatever
 * b is; a vanishing drop: 4.1 for b = 0.3. For b of the nozzle the three agree within 1 %. The
 * choked end of the control-valve formula of IEC 60534-2-1, with a pressure ratio factor of 0.7:
 * 3.9.
 * water  Kv [m3/s] > 0: the figure in m3/h over 3600, in L/min over 60 000
 * cv     [US gal/min at 1 psi] > 0 */
struct lb_flow lb_conductance_of_kv(double water, double critical_ratio);
struct lb_flow lb_conductance_of_cv(double cv, double critical_ratio);

/* Elements one behind the other as one restriction. C is exact for elliptic elements (the law's
 * straight end above r = 0.999, which is left out, can take 0.03 %). b is exact for small drops; in
 * between the law then keeps within 3 % of the choked flow for two elements whose b is up to 0.6.
 * The order matters. The flow is taken as adiabatic: every element sees the temperature before the
 * first.
 *
 * element  element[count], in the direction of flow, each with C > 0, and with m = 0.5 unless it is
 *          the only one
 * count    > 0 */
struct lb_flow lb_conductance_series(const struct lb_flow *element, size_t count);

#ifdef __cplusplus
}
#endif

#endif
