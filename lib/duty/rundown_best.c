/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The best regulated supply: a grid of set pressures, each with the cut-offs that are best there or
 * at a lower pressure of the grid, then the simplex method in set pressure and cut-offs together.
 * It begins with the machine's own, too, so that the best is never less than the given. Without
 * coasting the best lies on a ridge, on which a simplex soon falls flat: a fresh one goes on.
 */
#include "duty/rundown_parts.h"

#include <math.h>

enum {
  SETTINGS = 12, /* set pressures tried */
  SIMPLEXES = 8, /* one after the other, at most */
  VARIABLES = 3  /* set pressure and two cut-offs; the latter alone for one end */
};
static const double pressure_step = 0.05; /* [1] of the range of set pressures */
static const double angle_step = 0.03;    /* [rad] */
static const double tolerance = 1e-4;     /* [1] of the steps, at which the range is flat */
static const double same = 1e-6;          /* [1] a gain in range not worth another simplex */

/* What is searched. */
struct search {
  struct lb_task *task;
  double low, high; /* [Pa absolute] set pressures */
};

/* A point of the search as a setting. */
static double unpack(const struct search *s, const double *x, double *cutoff) {
  const bool *works = s->task->engine.machine.works;
  int next = 1;
  for (int end = 0; end < LB_ENDS; end++)
    cutoff[end] = works[end] ? x[next++] : 0;
  return x[0] * (s->high - s->low);
}

static size_t pack(const struct search *s, double *x, double set_pressure, const double *cutoff) {
  const bool *works = s->task->engine.machine.works;
  size_t next = 1;
  x[0] = set_pressure / (s->high - s->low);
  for (int end = 0; end < LB_ENDS; end++)
    if (works[end])
      x[next++] = cutoff[end];
  return next;
}

/* The range with its sign turned; infinite beyond the bounds. */
static double shortfall(const double *x, void *context) {
  struct search *s = context;
  const struct lb_engine *e = &s->task->engine;
  double cutoff[LB_ENDS], set_pressure = unpack(s, x, cutoff);
  bool within = set_pressure >= s->low && set_pressure <= s->high;
  for (int end = 0; end < LB_ENDS; end++)
    within = within && cutoff[end] >= e->low[end] && cutoff[end] <= e->high[end];
  return within ? -lb_process_timing(s->task, set_pressure, cutoff) : (double)INFINITY;
}

/* Take a setting where it is better. */
static void compare(struct lb_policy *best, double *range, struct search *s, double set_pressure,
                    const double *cutoff) {
  double reached = lb_process_timing(s->task, set_pressure, cutoff);
  if (!(reached > *range))
    return;
  *range = reached;
  best->set_pressure = set_pressure;
  for (int end = 0; end < LB_ENDS; end++)
    best->position[0].cutoff[end] = cutoff[end];
}

static void refine(struct lb_policy *best, double *range, struct search *s) {
  double x[VARIABLES], step[VARIABLES] = {pressure_step, angle_step, angle_step}, cutoff[LB_ENDS];
  size_t n = pack(s, x, best->set_pressure, best->position[0].cutoff);
  if (lb_numeric_simplex(s->task->workspace, x, n, shortfall, s, step, tolerance, NULL) != LB_OK)
    return;
  double set_pressure = unpack(s, x, cutoff);
  compare(best, range, s, set_pressure, cutoff);
}

/* Try the grid. Cut-offs that are best at a pressure carry the load from there on. */
static void survey(struct lb_policy *best, double *range, struct search *s) {
  double cutoff[LB_ENDS] = {0}, step = pow(s->high / s->low, 1.0 / SETTINGS);
  for (int i = 1; i <= SETTINGS; i++)
    if (lb_follow_choose(s->task, s->low * pow(step, i), cutoff))
      for (int k = i; k <= SETTINGS; k++)
        compare(best, range, s, s->low * pow(step, k), cutoff);
}

bool lb_best_regulated(struct lb_policy *policy, double *range, struct lb_task *task) {
  const struct lb_machine *m = task->machine;
  struct search s = {
      task, task->least_supply,
      fmin(m->store.start_pressure - m->regulator.least_difference, task->highest_supply)};
  *policy = (struct lb_policy){.positions = 1};
  *range = 0;
  if (!(s.high > s.low))
    return false;
  survey(policy, range, &s);
  compare(policy, range, &s, fmin(lb_task_set_pressure(task), s.high), task->fixed);
  if (!(*range > 0))
    return false;
  for (int i = 0; i < SIMPLEXES; i++) {
    double before = *range;
    refine(policy, range, &s);
    if (*range - before <= same * before)
      break;
  }
  return true;
}
