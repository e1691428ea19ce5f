/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Torque over the revolution, running and at standstill: does the machine start, from where, and
 * at what supply pressure.
 *
 *   torque(angle) = sum over cylinders of  net force * dx/dangle - friction * |dx/dangle|
 *
 * with friction = constant + share * |net force|, the breakaway friction standing for the constant
 * at standstill. The crank angle counts from the first cylinder's cap-end dead centre; cylinder k
 * passes its own crank_angle[k] later. Between two valve events the torque is smooth, at an event
 * it may jump: every search goes from event to event.
 */
#ifndef LASTBAR_STROKE_TORQUE_H
#define LASTBAR_STROKE_TORQUE_H

#include "stroke/cycle.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Whether the machine runs slowly or stands still: at standstill a chamber is at supply pressure
 * while its inlet is open and at back pressure otherwise. */
enum lb_motion {
  LB_RUNNING,
  LB_STANDSTILL
};

/* Torque of the first cylinder, or of all of them [N m].
 * cutoff       cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * crank_angle  [rad], any; at an event the torque just after it */
double lb_torque_cylinder(const struct lb_cycle *cycle, const double *cutoff, enum lb_motion motion,
                          double crank_angle);
double lb_torque_machine(const struct lb_cycle *cycle, const double *cutoff, enum lb_motion motion,
                         double crank_angle);

/* The least and the greatest torque of the machine over a revolution [N m], and where [rad]. */
struct lb_torque_range {
  double least, least_angle;
  double greatest, greatest_angle;
};

/* Fails (LB_NUMERIC) when a torque is not finite. */
enum lb_status lb_torque_range(struct lb_torque_range *range, const struct lb_cycle *cycle,
                               const double *cutoff, enum lb_motion motion, struct lb_error *error);

/* How the torque of a running machine swings round its mean: the energy it has given beyond the
 * mean so far rises and falls, and a flywheel takes that up. With an inertia J [kg m2] at a mean
 * speed w [rad/s] the speed varies by energy/(J w^2) of its mean, as long as that is little. */
struct lb_torque_swing {
  double mean;             /* [N m] */
  double energy;           /* [J] greatest less least of that energy */
  double slowest, fastest; /* [rad] crank angles, 0 ... 2 pi, at which the speed is least and
                              greatest */
};

/* Find it. Fails (LB_NUMERIC) as lb_numeric_root, and when a torque is not finite. */
enum lb_status lb_torque_swing(struct lb_torque_swing *swing, const struct lb_cycle *cycle,
                               const double *cutoff, struct lb_error *error);

/* A range of crank angles [rad], 0 <= from < 2 pi, from < to <= from + 2 pi. */
struct lb_arc {
  double from, to;
};

enum {
  LB_ARCS_MOST = 12 * LB_CYLINDERS_MOST /* more than a revolution can have */
};

/* The dead arcs: crank angles at which the torque at standstill does not exceed a load [N m].
 * arc    out: arc[LB_ARCS_MOST], in order of angle; arcs that meet are one
 * count  out: how many; 0 when the machine starts from any position, single points such as a dead
 *        centre not counted
 * Fails (LB_NUMERIC) as lb_numeric_root. */
enum lb_status lb_torque_dead_arcs(struct lb_arc *arc, size_t *count, const struct lb_cycle *cycle,
                                   const double *cutoff, double load, struct lb_error *error);

/* The least supply pressures [Pa absolute] at which the machine starts against a load. */
struct lb_starting_supply {
  bool anywhere_found; /* false: some position stays dead at any pressure */
  double anywhere;     /* from any position */
  bool best_found;
  double best;       /* from the best position */
  double best_angle; /* crank angle of that position [rad], at that pressure */
};

/* Fails with LB_NO_MEMORY (it prepares cycles of its own) or LB_NUMERIC. */
enum lb_status lb_torque_starting_supply(struct lb_starting_supply *supply,
                                         const struct lb_cycle *cycle, const double *cutoff,
                                         double load, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
