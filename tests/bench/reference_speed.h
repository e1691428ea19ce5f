/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The work of a chamber at speed as surely as can be had: what both solutions of the benchmark at
 * speed are judged by.
 *
 * The peer's equations, marched by GSL's explicit method of order eight until a revolution changes
 * pressure and air by no more than 1e-9 of their scales, and half as many revolutions again.
 */
#ifndef LASTBAR_TESTS_BENCH_REFERENCE_SPEED_H
#define LASTBAR_TESTS_BENCH_REFERENCE_SPEED_H

#include "peer_equations.h"

/* What a chamber does, and how soon. */
struct reference_speed {
  double work; /* of the periodic revolution, as a share of supply pressure times swept volume */
  int revolutions; /* from the cold start until one changes nothing by more than 1e-9 */
};

/* Find it; false when there is no periodic revolution.
 * tolerance  [1] of a step, absolute in the states, which are shares */
bool reference_speed_find(struct reference_speed *reference, const struct peer_chamber *chamber,
                          double tolerance);

#endif
