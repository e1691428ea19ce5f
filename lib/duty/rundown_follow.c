/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The best cut-off at a supply pressure.
 *
 * With coasting that is the one with the most (W + W_f)/m, as long as its work carries the load:
 * the economical cut-off, of a machine without constant friction where coasting pays that friction.
 * Where it does not carry the load, and always without coasting, it is the one that takes the least
 * air for just the work of the load: on that curve the two ends trade work for air at one rate.
 */
#include "duty/rundown_parts.h"

#include "base/constants.h"
#include "decide/economy.h"

#include <math.h>
#include <string.h>

enum {
  LOOKS = 8,      /* cut-offs tried over a window */
  SECANTS = 8,    /* at most */
  ITERATIONS = 20 /* of lambda = W/m, at most, at speed */
};
static const double slack = 1e-9; /* [1] of the load's work, for what solvers leave over */
static const double root_tolerance = 1e-11; /* [rad] */
static const double best_tolerance = 1e-5;  /* [rad] of a flat minimum: air is good to its square */
static const double nearby = 1e-3;          /* [rad] the first step of the secants */
static const double nearly_carried = 1e-12; /* [1] of the load's work */
static const double around = 0.03;          /* [rad] how far a guess is trusted */
static const double same = 1e-9;            /* [1] values of lambda that stay */
static const double pressure_tolerance = 1e-5; /* [Pa] */

double lb_task_gain(const struct lb_task *task, double work) {
  const struct lb_demand *d = &task->demand;
  return task->coasts ? (work + d->motoring_work) / (d->work + d->motoring_work) : 1;
}

static bool carries(const struct lb_task *task, double work) {
  return work >= task->wanted_work * (1 - slack);
}

double lb_task_yield(struct lb_task *task, double pressure, const double *cutoff) {
  double work, air;
  lb_engine_look(&work, &air, &task->engine, pressure, cutoff);
  return carries(task, work) && air > 0 ? lb_task_gain(task, work) / air : 0;
}

/* ---------- cut-offs of one pressure ---------- */

/* A search at one pressure. */
struct search {
  struct lb_task *task;
  double pressure;
  double cutoff[LB_ENDS];
  double guess[LB_ENDS]; /* where a cut-off is likely to be; 0: not known */
  double most[LB_ENDS];  /* cut-offs with the most work */
  enum lb_end end;       /* whose cut-off is moved */
  double lambda;         /* [J/kg] */
};

static double work_of(struct search *s) {
  double work, air;
  lb_engine_look(&work, &air, &s->task->engine, s->pressure, s->cutoff);
  return work;
}

static double air_of(struct search *s) {
  double work, air;
  lb_engine_look(&work, &air, &s->task->engine, s->pressure, s->cutoff);
  return air;
}

static double work_missing(double cutoff, void *context) {
  struct search *s = context;
  s->cutoff[s->end] = cutoff;
  return work_of(s) - s->task->wanted_work;
}

/* Try to get to where the machine just carries the load from a guess, by secants. */
static bool carry_nearby(struct search *s, enum lb_end end) {
  const struct lb_engine *e = &s->task->engine;
  double last = s->guess[end], x = last + nearby, at_last = work_missing(last, s);
  for (int i = 0; i < SECANTS && x > e->low[end] && x < s->most[end]; i++) {
    double here = work_missing(x, s);
    if (fabs(here) <= nearly_carried * s->task->wanted_work) {
      s->guess[end] = x;
      return true;
    }
    double next = x - here * (x - last) / (here - at_last);
    last = x;
    at_last = here;
    x = next;
  }
  return false;
}

/* Move an end's cut-off to where the machine just carries the load, or to that from the earliest to
 * the one of most work that comes nearest to that. Returns whether the load is carried. */
static bool just_carry(struct search *s, enum lb_end end) {
  const struct lb_engine *e = &s->task->engine;
  double x = e->low[end];
  s->end = end;
  if (s->guess[end] > e->low[end] && s->guess[end] < s->most[end] && carry_nearby(s, end))
    return true;
  if (work_missing(e->low[end], s) >= 0)
    return true;
  if (!(work_missing(s->most[end], s) > 0))
    return carries(s->task, work_of(s));
  if (lb_numeric_root(s->task->workspace, &x, work_missing, s, e->low[end], s->most[end],
                      root_tolerance, NULL) != LB_OK)
    return false;
  s->cutoff[end] = s->guess[end] = x;
  return true;
}

/* Air with the cap end's cut-off given, and the rod end's what just carries the load. */
static double air_to_carry(double cutoff, void *context) {
  struct search *s = context;
  s->cutoff[LB_CAP_END] = cutoff;
  just_carry(s, LB_ROD_END);
  return air_of(s);
}

/* The lowest point of a function of one cut-off between two limits: in the hollow around a guess,
 * if it is in one, else the lowest of a few points, and the hollow that is in. */
static double lowest(struct search *s, lb_function function, double low, double high,
                     double guess) {
  double step = (high - low) / (LOOKS - 1), best = (double)INFINITY, at = low;
  if (!(high - low > best_tolerance))
    return low;
  if (guess - around > low && guess + around < high) {
    at = guess;
    lb_numeric_lowest(s->task->workspace, &at, function, s, guess - around, guess + around,
                      best_tolerance, NULL);
    if (fabs(at - guess) < around / 2) /* else the hollow may lie beyond */
      return at;
  }
  for (int i = 0; i < LOOKS; i++) {
    double x = low + i * step, value = function(x, s);
    if (value < best) {
      best = value;
      at = x;
    }
  }
  lb_numeric_lowest(s->task->workspace, &at, function, s, fmax(at - step, low),
                    fmin(at + step, high), best_tolerance, NULL);
  return at;
}

/* The least air that just carries the load. Returns false when nothing does. */
static bool least_air(struct search *s, double guess) {
  const struct lb_engine *e = &s->task->engine;
  const bool *works = e->machine.works;
  if (!works[LB_CAP_END] || !works[LB_ROD_END])
    return just_carry(s, works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END);
  s->cutoff[LB_ROD_END] = s->most[LB_ROD_END];
  if (!just_carry(s, LB_CAP_END))
    return false;
  double low = s->cutoff[LB_CAP_END];
  s->cutoff[LB_ROD_END] = e->low[LB_ROD_END];
  just_carry(s, LB_CAP_END);
  double high = s->cutoff[LB_CAP_END];
  air_to_carry(lowest(s, air_to_carry, low, high, guess), s);
  return true;
}

/* ---------- economy ---------- */

/* The economical cut-offs of the slow cycle. */
static bool economy_slow(struct search *s) {
  struct lb_engine *e = &s->task->engine;
  struct lb_machine machine = e->machine;
  struct lb_economy best;
  machine.supply_pressure = s->pressure;
  machine.supply_temperature = e->look_temperature;
  if (s->task->demand.motoring_work > 0)
    machine.friction = 0; /* work is then counted with the friction that coasting pays, too */
  if (lb_cycle_prepare(e->cycle, &machine, NULL) != LB_OK ||
      lb_economy_search(&best, e->cycle, false, NULL) != LB_OK)
    return false;
  for (int end = 0; end < LB_ENDS; end++)
    s->cutoff[end] = machine.works[end] ? best.cutoff[end] : 0;
  return true;
}

/* What a cut-off is not worth: lambda m - W. */
static double worthless(double cutoff, void *context) {
  struct search *s = context;
  double work, air;
  s->cutoff[s->end] = cutoff;
  lb_engine_look(&work, &air, &s->task->engine, s->pressure, s->cutoff);
  return s->lambda * air - work;
}

/* The economical cut-offs by the map. */
static bool economy_running(struct search *s) {
  const struct lb_engine *e = &s->task->engine;
  s->lambda = LB_GAS_CONSTANT * e->look_temperature;
  for (int i = 0; i < ITERATIONS; i++) {
    double work, air, last = s->lambda;
    for (int end = 0; end < LB_ENDS; end++)
      if (e->machine.works[end]) {
        s->end = (enum lb_end)end;
        s->cutoff[end] = lowest(s, worthless, e->low[end], e->high[end], s->cutoff[end]);
      }
    lb_engine_look(&work, &air, &s->task->engine, s->pressure, s->cutoff);
    if (!(air > 0))
      return false;
    s->lambda = fmax((work + s->task->demand.motoring_work) / air, 0);
    if (fabs(s->lambda - last) <= same * last)
      break;
  }
  return true;
}

bool lb_follow_choose(struct lb_task *task, double pressure, double *cutoff) {
  struct search s = {.task = task, .pressure = pressure};
  memcpy(s.guess, cutoff, sizeof s.guess);
  lb_engine_most(s.most, &task->engine, pressure);
  struct search economical = s;
  memcpy(economical.cutoff, cutoff, sizeof economical.cutoff);
  if (task->coasts &&
      (task->engine.gas ? economy_running(&economical) : economy_slow(&economical)) &&
      carries(task, work_of(&economical))) {
    s = economical;
  } else if (!least_air(&s, cutoff[LB_CAP_END])) {
    memcpy(cutoff, s.most, sizeof s.most);
    return false;
  }
  for (int end = 0; end < LB_ENDS; end++)
    cutoff[end] = s.cutoff[end];
  return true;
}

/* ---------- the least supply ---------- */

/* A machine with fixed cut-offs at any pressure. */
struct at_pressure {
  struct lb_task *task;
  const double *cutoff; /* NULL: those with the most work */
};

static double work_at(double pressure, void *context) {
  struct at_pressure *a = context;
  double work, air, most[LB_ENDS];
  lb_engine_most(most, &a->task->engine, pressure);
  lb_engine_look(&work, &air, &a->task->engine, pressure, a->cutoff ? a->cutoff : most);
  return work - a->task->wanted_work;
}

double lb_follow_least(struct lb_task *task, const double *cutoff, double highest) {
  struct at_pressure a = {task, cutoff};
  double low = task->least_supply, x = low;
  double spare = highest > low ? work_at(highest, &a) : -(double)INFINITY;
  if (!carries(task, task->wanted_work + spare))
    return (double)INFINITY;
  if (spare <= 0)
    return highest; /* but for what solvers leave over */
  if (work_at(low, &a) >= 0)
    return low;
  if (lb_numeric_root(task->workspace, &x, work_at, &a, low, highest, pressure_tolerance, NULL) !=
      LB_OK)
    return (double)INFINITY;
  return x;
}
