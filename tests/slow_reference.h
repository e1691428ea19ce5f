/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The slow revolution calculated the long way: pressure against crank angle integrated by adaptive
 * quadrature, and the air marched step by step, revolution after revolution, until it repeats
 * itself. Nothing here uses the library's closed forms; only its structs are shared.
 *
 * Angles of an end count from its own dead centre, as in machine/machine.h.
 */
#ifndef LASTBAR_TESTS_SLOW_REFERENCE_H
#define LASTBAR_TESTS_SLOW_REFERENCE_H

#include "machine/machine.h"

#include <stdbool.h>

/* Travel from the cap-end dead centre [m], and its slope [m/rad], at a crank angle [rad]: the
 * formulas of the header of physics/linkage.h as they stand, in long double. */
long double reference_travel(const struct lb_linkage *linkage, long double angle);
long double reference_slope(const struct lb_linkage *linkage, long double angle);

/* Crank angle of the rod-end dead centre [rad]: crank and rod in one line, folded. */
long double reference_outward(const struct lb_linkage *linkage);

/* Angle from an end's dead centre to the opposite one [rad]. */
double reference_far(const struct lb_machine *machine, enum lb_end end);

/* Volume of a chamber at an angle [m3]; its pressure there [Pa absolute] with the inlet shut at
 * `cutoff`. */
double reference_volume(const struct lb_machine *machine, enum lb_end end, double angle);
double reference_pressure(const struct lb_machine *machine, enum lb_end end, double cutoff,
                          double angle);

/* Greatest pressure while the air is trapped between the exhaust's closing and the inlet's opening
 * [Pa absolute]. */
double reference_peak(const struct lb_machine *machine, enum lb_end end);

/* Work of a chamber on its piston face in one revolution [J], by quadrature over the angle. */
double reference_work(const struct lb_machine *machine, enum lb_end end, double cutoff);

/* Net force on the piston of the first cylinder [N] at a crank angle, cutoff[LB_ENDS]. */
double reference_net_force(const struct lb_machine *machine, const double *cutoff, double crank);

/* Work of all cylinders [J] as the integral of the gas torque over the crank angle; the
 * surroundings on piston and rod taken in. */
double reference_machine_work(const struct lb_machine *machine, const double *cutoff);

/* Integral of |net force| over the travel of one revolution of one cylinder [J]. */
double reference_absolute_work(const struct lb_machine *machine, const double *cutoff);

/* One chamber's air when it repeats itself. Masses [kg] and enthalpies [J] of one revolution. */
struct reference_air {
  bool periodic;   /* it came to repeat itself */
  int revolutions; /* until it did */
  double trapped;  /* mass before the inlet opens */
  double filling, admitted, pushed_back, outside, outgoing;
  double held;                            /* mass at cut-off */
  double enthalpy_in, enthalpy_out;       /* cp T dm over all that enters and leaves */
  double release_pressure, trap_pressure; /* [Pa absolute] at release, before the inlet opens */
  /* [K] */
  double trap_temperature, filled_temperature, cutoff_temperature, release_temperature;
  double exhaust_temperature;  /* at the greatest volume with the exhaust open */
  double outgoing_temperature; /* of all that leaves through the exhaust, mixed */
};

/* March a chamber with the inlet shut at `cutoff`. */
struct reference_air reference_march(const struct lb_machine *machine, enum lb_end end,
                                     double cutoff);

#endif
