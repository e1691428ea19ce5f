/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run as a builder would write it down: one revolution after the other, each taking its air from
 * the store. What a run integrated over the store is measured against.
 *
 * The revolutions are those of lastbar (lb_cycle_turn, at speed lb_running_turn), the cut-off of
 * one that follows is chosen anew for each by lb_follow_choose; the chamber is made ready again
 * only when the supply has changed. A revolution is taken at the pressure that the store has in its
 * middle: with that at its start each would draw a little too much, which adds up to about half the
 * logarithm of the air of the last over that of the first, a whole revolution with a cut-off that
 * follows. The store is isothermal and does not leak, its regulator does
 * not droop.
 */
#ifndef LASTBAR_TESTS_BENCH_PEER_RUNDOWN_H
#define LASTBAR_TESTS_BENCH_PEER_RUNDOWN_H

#include "duty/rundown_parts.h"

/* What came of it. */
struct peer_run {
  unsigned long powered; /* revolutions */
  double work;           /* [J] after friction */
  double air;            /* [kg] drawn from the store */
};

/* Whether a machine has a store of the kind above. */
bool peer_rundown_takes(const struct lb_machine *machine);

/* Step to the end of a plan with one timing, fixed or following.
 * run    out
 * task   its engine serves only to choose the cut-offs of one that follows
 * cycle  workspace of the slow revolutions
 * gas    workspace of those at speed; NULL: slow
 * Fails as lb_tank_at, lb_tank_outlet, lb_cycle_turn and lb_running_turn. */
enum lb_status peer_rundown_step(struct peer_run *run, struct lb_task *task,
                                 const struct lb_policy *policy, struct lb_cycle *cycle,
                                 struct lb_gas *gas, struct lb_error *error);

#endif
