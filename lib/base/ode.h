/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ordinary differential equations that may be stiff, integrated from stop to stop, with sums along
 * the way and with how the end depends on the start.
 *
 *   y' = f(t, y)      states: what the future depends on
 *   s' = g(t, y)      sums: integrated along, without acting back
 *
 * The method is a Rosenbrock method of order 4 with an embedded one of order 3, L-stable and
 * stiffly accurate (Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd ed., section
 * IV.7: RODAS): a step solves six linear systems with one matrix and never iterates, so that it
 * takes a valve that is wide open at a crawl as easily as one that chokes. Between two stops f and
 * g must be smooth; at a stop they may jump. A run can be repeated on its own mesh: there the end
 * is a smooth function of the start, which a search for a periodic state needs.
 */
#ifndef LASTBAR_BASE_ODE_H
#define LASTBAR_BASE_ODE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

struct lb_ode; /* room for runs of one size; it serves one thread at a time */

/* What is integrated. */
struct lb_ode_problem {
  /* The rates at a time and state: rate[states + sums], the sums' last. `segment` counts the
   * intervals between stops from 0, so that what jumps at a stop is known on either side of it. */
  void (*rates)(double *rate, double time, size_t segment, const double *state,
                const void *context);

  /* The same, and their derivatives by the states: slope[(states + sums) * states], row by row; and
   * by time alone: by_time[states + sums]. */
  void (*slopes)(double *rate, double *slope, double *by_time, double time, size_t segment,
                 const double *state, const void *context);

  /* Whether a state can exist; a step that leads to one that cannot is taken again, shorter. On the
   * way the rates may be asked at one that cannot: they may then be anything, or not a number. */
  bool (*possible)(const double *state, const void *context);

  const void *context;
  const double *scale; /* scale[states + sums] > 0: an error counts as a share of it */
  double tolerance;    /* [1] > 0: greatest share a step may err by */
};

/* Room for a number of states and sums, both at least 1 and together at most 256; NULL when memory
 * runs out.
 */
struct lb_ode *lb_ode_new(size_t states, size_t sums);

/* Takes NULL too. */
void lb_ode_free(struct lb_ode *ode);

/* Integrate from stop[0] to stop[stops - 1].
 * state        in: state[states] at the start; out: at the end
 * sum          out: sum[sums], from 0 at the start
 * sensitivity  out: [states * states], row by row: d(end)/d(start), with the slopes frozen within
 *              each step, which is close enough for a Newton iteration; or NULL
 * stop         stop[stops] in ascending order, stops >= 2; two may coincide
 * Fails (LB_NUMERIC) when the step would have to be shorter than rounding allows, or a million
 * steps do not do, saying at which time; and with LB_NO_MEMORY. state is then unchanged. */
enum lb_status lb_ode_run(struct lb_ode *ode, const struct lb_ode_problem *problem, double *state,
                          double *sum, double *sensitivity, const double *stop, size_t stops,
                          struct lb_error *error);

/* The same on the mesh of the last run, whatever the errors are. Fails (LB_NUMERIC) when there is
 * none, or a state comes out that cannot exist. */
enum lb_status lb_ode_repeat(struct lb_ode *ode, const struct lb_ode_problem *problem,
                             double *state, double *sum, double *sensitivity,
                             struct lb_error *error);

/* From now on call something at the start of every run and repetition and after every step, with
 * the time reached, the states and, behind them, the sums; NULL: no more.
 *
 * notes  handed to it */
void lb_ode_observe(struct lb_ode *ode, void (*see)(double time, const double *state, void *notes),
                    void *notes);

/* How many steps the last run took, and how many it took back. */
size_t lb_ode_steps(const struct lb_ode *ode);
size_t lb_ode_refused(const struct lb_ode *ode);

/* The greatest error of a step of the last repetition, as a share of what is allowed [1]. */
double lb_ode_excess(const struct lb_ode *ode);

/* The times of the mesh of the last run: time[lb_ode_steps() + 1], for as long as there is no other
 * run. */
const double *lb_ode_mesh(const struct lb_ode *ode);

#ifdef __cplusplus
}
#endif

#endif
