/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The search a careful user of the GNU Scientific Library would write with the closed forms at hand
 * and no derivative: what lastbar's own search is measured against.
 *
 *   atmospheric  each end apart: Brent's root of the release pressure, as lastbar does it
 *   economy      each end apart by Brent's minimum of -W/m, the other end held, for a start; then
 *                the simplex of Nelder and Mead over both ends
 *
 * Every value of W/m comes from lb_cycle_slopes, so both searches evaluate the same closed forms at
 * the same cost. All solvers are allocated beforehand.
 *
 * W/m is flat at its maximum: a change of the angle by d changes it by about d^2, so values alone
 * place the angle no better than the root of the rounding, some 1e-8 rad. The simplex is stopped as
 * soon as W/m itself is right to some roundings, its angles to some 1e-7 rad.
 */
#ifndef LASTBAR_TESTS_BENCH_PEER_H
#define LASTBAR_TESTS_BENCH_PEER_H

#include "stroke/cycle.h"

struct peer;

/* What the two rules give. */
struct peer_answer {
  double atmospheric[LB_ENDS], economy[LB_ENDS]; /* cut-offs [rad] after each end's dead centre */
  struct lb_revolution at_atmospheric, at_economy;
};

/* The solvers, to be released with peer_free; NULL when memory runs out. */
struct peer *peer_new(void);

/* Takes NULL too. */
void peer_free(struct peer *peer);

/* Both rules for a double-acting machine without margin. Fails (LB_NUMERIC) when a solver does, and
 * as lb_cycle_turn. */
enum lb_status peer_search(struct peer_answer *answer, struct peer *peer,
                           const struct lb_cycle *cycle);

#endif
