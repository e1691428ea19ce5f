/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The best regulated supply: a grid of set pressures, each with the cut-offs that are best there or
 * at a lower pressure of the grid, then the simplex method in set pressure and cut-offs together.
 * It begins with the machine's own, too, so that the best is never less than the given. Without
 * coasting the best lies on a ridge, which is walked along first.
 */
#include "duty/rundown_parts.h"

#include <math.h>
#include <string.h>

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
  double low, high;       /* [Pa absolute] set pressures */
  double cutoff[LB_ENDS]; /* the last that just carried the load */
};

/* A point of the search as a setting; set pressures as a share of their range. */
static double unpack(const struct search *s, const double *x, double *cutoff) {
  const bool *works = s->task->engine.machine.works;
  int next = 1;
  for (int end = 0; end < LB_ENDS; end++)
    cutoff[end] = works[end] ? x[next++] : 0;
  return fmin(s->low + x[0] * (s->high - s->low), s->high);
}

static size_t pack(const struct search *s, double *x, double set_pressure, const double *cutoff) {
  const bool *works = s->task->engine.machine.works;
  size_t next = 1;
  x[0] = (set_pressure - s->low) / (s->high - s->low);
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
  bool within = x[0] >= 0 && x[0] <= 1;
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

/* Try the grid, from the least pressure that carries the load. Cut-offs that are best at a pressure
 * carry it from there on. */
static void survey(struct lb_policy *best, double *range, struct search *s) {
  double cutoff[LB_ENDS] = {0}, setting[SETTINGS + 1];
  double least = lb_follow_least(s->task, NULL, s->high);
  if (!isfinite(least))
    return;
  for (int i = 0; i <= SETTINGS; i++)
    setting[i] = fmin(least * pow(s->high / least, (double)i / SETTINGS), s->high);
  for (int i = 0; i <= SETTINGS; i++)
    if (lb_follow_choose(s->task, setting[i], cutoff))
      for (int k = i; k <= SETTINGS; k++)
        compare(best, range, s, setting[k], cutoff);
}

/* The range with its sign turned of a set pressure at which its cut-offs just carry the load. */
static double shortfall_just_carried(const double *x, void *context) {
  struct search *s = context;
  double cutoff[LB_ENDS] = {0}, set_pressure = unpack(s, x, cutoff);
  memcpy(cutoff, s->cutoff, sizeof cutoff);
  if (!(x[0] >= 0 && x[0] <= 1) || !lb_follow_choose(s->task, set_pressure, cutoff))
    return (double)INFINITY;
  memcpy(s->cutoff, cutoff, sizeof cutoff);
  return -lb_process_timing(s->task, set_pressure, cutoff);
}

/* Without coasting a set pressure above that at which its cut-offs just carry the load takes more
 * air and goes on no longer: the best lies on that line, along which one variable is left. */
static void follow_line(struct lb_policy *best, double *range, struct search *s) {
  double x[VARIABLES], cutoff[LB_ENDS];
  memcpy(s->cutoff, best->position[0].cutoff, sizeof s->cutoff);
  pack(s, x, best->set_pressure, s->cutoff);
  if (lb_numeric_simplex(s->task->workspace, x, 1, shortfall_just_carried, s, &pressure_step,
                         tolerance, NULL) != LB_OK)
    return;
  double set_pressure = unpack(s, x, cutoff);
  memcpy(cutoff, s->cutoff, sizeof cutoff);
  if (lb_follow_choose(s->task, set_pressure, cutoff))
    compare(best, range, s, set_pressure, cutoff);
}

bool lb_best_regulated(struct lb_policy *policy, double *range, struct lb_task *task) {
  const struct lb_machine *m = task->machine;
  double highest = m->store.start_pressure - m->regulator.least_difference;
  struct search s = {
      .task = task, .low = task->least_supply, .high = fmin(highest, task->highest_supply)};
  *policy = (struct lb_policy){.positions = 1};
  *range = 0;
  if (!(s.high > s.low))
    return false;
  survey(policy, range, &s);
  compare(policy, range, &s, fmin(lb_task_set_pressure(task), s.high), task->fixed);
  if (!(*range > 0))
    return false;
  if (!task->coasts)
    follow_line(policy, range, &s);
  for (int i = 0; i < SIMPLEXES; i++) {
    double before = *range;
    refine(policy, range, &s);
    if (*range - before <= same * before)
      break;
  }
  return true;
}
