/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The periodic revolution of a chamber as a careful user of SUNDIALS would find it: what lastbar's
 * own solution is measured against.
 *
 * CVODE's backward differentiation formulas, its dense solver with the analytic Jacobian, started
 * anew at every bend of an opening, since a multistep method must not look back over one; the work
 * is a third state. Revolution follows revolution until one changes pressure and air by no more
 * than 1e-9 of their scales. With its steps chosen anew each time the end of a revolution trembles
 * by more than that at most tolerances; so the peer is told how many revolutions an exact solution
 * would take, and is done after these at the latest. The memory of the solver is kept from one call
 * to the next. (Slower: the Jacobian by differences, first steps given, other limits of the order,
 * an absolute tolerance above or below the relative one.)
 */
#ifndef LASTBAR_TESTS_BENCH_PEER_SPEED_H
#define LASTBAR_TESTS_BENCH_PEER_SPEED_H

#include "peer_equations.h"

struct peer_speed;

/* Whether this build has SUNDIALS; without it there is no peer. */
bool peer_speed_there(void);

/* The solver, to be released with peer_speed_free; NULL when it cannot be had. */
struct peer_speed *peer_speed_new(void);

/* Takes NULL too. */
void peer_speed_free(struct peer_speed *peer);

/* Solve from the chamber's cold start.
 * work         out: share of supply pressure times swept volume, of the last revolution
 * tolerance    [1] relative, and absolute in the states, which are shares
 * revolutions  at most
 * False when the solver gives up. */
bool peer_speed_solve(double *work, struct peer_speed *peer, const struct peer_chamber *chamber,
                      double tolerance, int revolutions);

#endif
