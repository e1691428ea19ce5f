/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Brent's root, Brent's minimum and the simplex, in this order.
 */
#include "peer.h"

#include "physics/air.h"
#include "stroke/timing.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_multimin.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdlib.h>

/* Of the atmospheric angle [rad]: lastbar's own. */
static const double root_tolerance = 1e-12;
/* Of the start by Brent's minimum, and the first size of the simplex [rad]: the quickest of a few
 * pairs tried; a finer start costs more than it saves. */
static const double start_tolerance = 1e-1, first_size = 3e-3;
/* Size at which the simplex stops [rad]: W/m is then right to some roundings. Below 3e-8 rounding
 * keeps it from shrinking at all for some supply pressures. */
static const double last_size = 1e-7;
/* Well over what any of the solvers takes. */
static const int iterations_most = 400;

struct peer {
  gsl_root_fsolver *root;
  gsl_min_fminimizer *minimum;
  gsl_multimin_fminimizer *simplex;
  gsl_vector *start, *size;
};

struct peer *peer_new(void) {
  struct peer *p = calloc(1, sizeof *p);
  if (!p)
    return NULL;
  p->root = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  p->minimum = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
  p->simplex = gsl_multimin_fminimizer_alloc(gsl_multimin_fminimizer_nmsimplex2, LB_ENDS);
  p->start = gsl_vector_alloc(LB_ENDS);
  p->size = gsl_vector_alloc(LB_ENDS);
  if (p->root && p->minimum && p->simplex && p->start && p->size)
    return p;
  peer_free(p);
  return NULL;
}

void peer_free(struct peer *peer) {
  if (!peer)
    return;
  if (peer->root)
    gsl_root_fsolver_free(peer->root);
  if (peer->minimum)
    gsl_min_fminimizer_free(peer->minimum);
  if (peer->simplex)
    gsl_multimin_fminimizer_free(peer->simplex);
  if (peer->start)
    gsl_vector_free(peer->start);
  if (peer->size)
    gsl_vector_free(peer->size);
  free(peer);
}

/* What the solvers' functions need. */
struct question {
  const struct lb_cycle *cycle;
  enum lb_end end;        /* the one searched apart */
  double cutoff[LB_ENDS]; /* the other is held here */
  double low[LB_ENDS], high[LB_ENDS];
};

static double release_excess(double cutoff, void *context) {
  const struct question *q = context;
  const struct lb_machine *m = lb_cycle_machine(q->cycle);
  return lb_air_polytropic_pressure(m->supply_pressure, lb_timing_volume(m, q->end, cutoff),
                                    lb_cycle_chamber(q->cycle, q->end)->volumes.release,
                                    m->expansion_exponent) -
         m->back_pressure;
}

static enum lb_status atmospheric(double *cutoff, struct peer *p, struct question *q) {
  gsl_function f = {.function = release_excess, .params = q};
  if (gsl_root_fsolver_set(p->root, &f, q->low[q->end], q->high[q->end]) != GSL_SUCCESS)
    return LB_NUMERIC;
  for (int i = 0; i < iterations_most; i++) {
    double last = gsl_root_fsolver_root(p->root);
    if (gsl_root_fsolver_iterate(p->root) != GSL_SUCCESS)
      return LB_NUMERIC;
    *cutoff = gsl_root_fsolver_root(p->root);
    if (gsl_root_test_delta(*cutoff, last, root_tolerance, 0) == GSL_SUCCESS)
      return LB_OK;
  }
  return LB_NUMERIC;
}

/* -W/m [J/kg]; outside the windows, or without air, nothing can be worth less. */
static double worth(const struct question *q, const double *cutoff) {
  struct lb_cycle_slope slope;
  for (int i = 0; i < LB_ENDS; i++)
    if (!(cutoff[i] >= q->low[i] && cutoff[i] <= q->high[i]))
      return (double)INFINITY;
  if (lb_cycle_slopes(&slope, q->cycle, cutoff, NULL) != LB_OK || !(slope.air > 0))
    return (double)INFINITY;
  return -slope.work / slope.air;
}

static double worth_of_one(double angle, void *context) {
  const struct question *q = context;
  double cutoff[LB_ENDS] = {q->cutoff[LB_CAP_END], q->cutoff[LB_ROD_END]};
  cutoff[q->end] = angle;
  return worth(q, cutoff);
}

static double worth_of_both(const gsl_vector *x, void *context) {
  double cutoff[LB_ENDS] = {gsl_vector_get(x, LB_CAP_END), gsl_vector_get(x, LB_ROD_END)};
  return worth(context, cutoff);
}

/* Move one end's cut-off to its best with the other held; where that lies at a limit Brent's
 * minimum has no bracket, and the simplex starts from where it is. */
static void improve(struct peer *p, struct question *q) {
  gsl_function f = {.function = worth_of_one, .params = q};
  double *x = &q->cutoff[q->end];
  if (gsl_min_fminimizer_set(p->minimum, &f, *x, q->low[q->end], q->high[q->end]) != GSL_SUCCESS)
    return;
  for (int i = 0; i < iterations_most; i++) {
    double last = *x;
    if (gsl_min_fminimizer_iterate(p->minimum) != GSL_SUCCESS)
      return;
    *x = gsl_min_fminimizer_x_minimum(p->minimum);
    if (i > 0 && fabs(*x - last) <= start_tolerance)
      return;
  }
}

static enum lb_status economy(double *cutoff, struct peer *p, struct question *q) {
  gsl_multimin_function f = {.f = worth_of_both, .n = LB_ENDS, .params = q};
  for (size_t i = 0; i < LB_ENDS; i++) {
    q->end = (enum lb_end)i;
    improve(p, q);
    gsl_vector_set(p->start, i, q->cutoff[i]);
  }
  gsl_vector_set_all(p->size, first_size);
  if (gsl_multimin_fminimizer_set(p->simplex, &f, p->start, p->size) != GSL_SUCCESS)
    return LB_NUMERIC;
  for (int i = 0; i < iterations_most; i++) {
    if (gsl_multimin_fminimizer_iterate(p->simplex) != GSL_SUCCESS)
      return LB_NUMERIC;
    if (gsl_multimin_test_size(gsl_multimin_fminimizer_size(p->simplex), last_size) ==
        GSL_SUCCESS) {
      for (size_t end = 0; end < LB_ENDS; end++)
        cutoff[end] = gsl_vector_get(gsl_multimin_fminimizer_x(p->simplex), end);
      return LB_OK;
    }
  }
  return LB_NUMERIC;
}

enum lb_status peer_search(struct peer_answer *answer, struct peer *peer,
                           const struct lb_cycle *cycle) {
  struct question q = {.cycle = cycle};
  enum lb_status status;
  for (int i = 0; i < LB_ENDS; i++) {
    q.end = (enum lb_end)i;
    lb_timing_window(&q.low[i], &q.high[i], lb_cycle_machine(cycle), q.end);
    if ((status = atmospheric(&answer->atmospheric[i], peer, &q)) != LB_OK)
      return status;
    q.cutoff[i] = answer->atmospheric[i];
  }
  if ((status = lb_cycle_turn(&answer->at_atmospheric, cycle, answer->atmospheric, NULL)) !=
          LB_OK ||
      (status = economy(answer->economy, peer, &q)) != LB_OK)
    return status;
  return lb_cycle_turn(&answer->at_economy, cycle, answer->economy, NULL);
}
