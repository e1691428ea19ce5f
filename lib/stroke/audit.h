/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the worth of the supplied air goes: its exergy, the work it could do against surroundings
 * at p_a, T_a, followed through a slow revolution.
 *
 *   e = cp (T - T_a) - T_a (cp ln T/T_a - R ln p/p_a)          of flowing air [J/kg]
 *   m e(T_s, p_s) = crank + friction + filling + pushed back + blow-down + heat + exhaust
 *
 * Every part comes from its own step: what is destroyed is T_a times the entropy that the step
 * makes, heat is the integral of (1 - T_a/T) dQ at the gas's own temperature, what leaves carries
 * e. No part is found as a remainder, so that their sum is a check, returned with them.
 */
#ifndef LASTBAR_STROKE_AUDIT_H
#define LASTBAR_STROKE_AUDIT_H

#include "stroke/cycle.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The parts for the whole machine and one revolution [J]. */
struct lb_audit {
  double supplied; /* net air drawn times its exergy */
  double crank;    /* work after friction */
  double friction;
  double filling;     /* destroyed while the chamber fills and the incoming air mixes */
  double pushed_back; /* air that goes back into the supply changed: its exergy above or below that
                         of supply air */
  double blow_down;   /* destroyed at release, down (or up) to back pressure, and by outside air
                         mixing in */
  double heat;        /* leaves with heat, of either sign; 0 when both exponents are gamma. With a
                         fixed exponent below gamma it is accounting: where the heat comes from is
                         not part of the model */
  double exhaust;     /* leaves with the exhaust, unmixed, less that of outside air drawn in */
  double closure;     /* (sum of parts - supplied) over the greatest of |supplied|, |exhaust| and
                         gross work [1]: rounding only */
};

/* The audit of a revolution.
 * audit       out
 * revolution  from lb_cycle_turn of the same cycle */
void lb_audit_revolution(struct lb_audit *audit, const struct lb_cycle *cycle,
                         const struct lb_revolution *revolution);

#ifdef __cplusplus
}
#endif

#endif
