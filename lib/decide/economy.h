/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The search for the cut-offs with the most work per kilogram of air.
 *
 * With lambda = W/m, the best cut-offs are where dW = lambda dm for every free one. Without lead
 * and friction share that reads n/(n-1) R T_s [1 - (V_c/V_r)^(n-1)] = lambda at every end, and the
 * iteration lambda <- W/m from it converges in about three steps: the start. A minimiser then takes
 * in what couples the ends, and Newton steps on the derivative finish. With lead, or air that blows
 * back, m bends where a release passes back pressure, as outside air comes in: each side may have a
 * hill of its own, and the best cut-off may lie on the bend, where no point is stationary.
 */
#ifndef LASTBAR_DECIDE_ECONOMY_H
#define LASTBAR_DECIDE_ECONOMY_H

#include "stroke/cycle.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What the search found. */
struct lb_economy {
  double cutoff[LB_ENDS]; /* [rad] after each worked end's own dead centre */
  bool earliest[LB_ENDS]; /* it lies at the earliest of the end's window */
  double stationarity;    /* greatest |dW - lambda dm| / W over the cut-offs that are neither at a
                             limit nor where the slope jumps through zero, see below [1/rad] */
  double work, air;       /* [J], [kg] there; a result with work <= 0 or air <= 0 is no answer */
};

/* Search within the windows of lb_timing_window.
 * best    out
 * common  both ends get the same angle
 * Fails with LB_NO_ANSWER when the windows share no angle, and with LB_NUMERIC as
 * lb_cycle_slopes. */
enum lb_status lb_economy_search(struct lb_economy *best, const struct lb_cycle *cycle, bool common,
                                 struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
