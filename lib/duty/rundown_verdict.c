/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which plan goes furthest, by how much, and what would turn that round.
 *
 * There are two kinds of plan: behind a regulator, and on the store's own pressure. The furthest of
 * each are compared. For what turns the ranking round the best of both kinds are searched anew at
 * other values of a quantity, further and further from the machine's own on both sides, until the
 * sign of the difference changes; false position then closes in on it.
 */
#include "duty/rundown_parts.h"

#include "base/constants.h"

#include <math.h>

enum {
  LOOKS = 3,    /* values tried on either side */
  CLOSINGS = 12 /* at most, once the sign has changed */
};
static const double farthest = 8;        /* [1] factor of dead volume, load and start pressure */
static const double close_enough = 5e-3; /* [1] of the value */

static bool throttled(enum lb_plan plan) {
  return plan == LB_PLAN_REGULATED || plan == LB_PLAN_REGULATED_BEST;
}

/* The run of a kind that goes furthest; the number of runs when none ran. */
static size_t furthest(const struct lb_rundown *r, bool regulated) {
  size_t best = r->runs;
  for (size_t i = 0; i < r->runs; i++)
    if (r->run[i].ran && throttled(r->run[i].plan) == regulated &&
        (best == r->runs || r->run[i].revolutions >= r->run[best].revolutions))
      best = i;
  return best;
}

static const struct lb_run *run_of(const struct lb_rundown *r, enum lb_plan plan, int steps) {
  for (size_t i = 0; i < r->runs; i++)
    if (r->run[i].plan == plan && r->run[i].steps == steps)
      return r->run[i].ran ? &r->run[i] : NULL;
  return NULL;
}

static void set_shares(struct lb_rundown *r) {
  const struct lb_run *fixed = run_of(r, LB_PLAN_UNREGULATED, 0);
  const struct lb_run *following = run_of(r, LB_PLAN_FOLLOWING, 0);
  for (int k = 0; k <= LB_STEPS_MOST; k++) {
    const struct lb_run *run = k < LB_STEPS_LEAST ? NULL : run_of(r, LB_PLAN_STEPPED, k);
    double gain = fixed && following ? following->revolutions - fixed->revolutions : 0;
    r->verdict.step_share[k] =
        run && gain > 0 ? (run->revolutions - fixed->revolutions) / gain : (double)NAN;
  }
}

/* ---------- what turns it round ---------- */

/* The machine with one quantity changed. */
struct change {
  const struct lb_task *task;
  enum lb_knob knob;
  struct lb_machine machine;
  double lead; /* [1] of what follows over the best regulated supply, less 1; NaN: neither runs */
};

static void turn_knob(struct change *c, double value) {
  struct lb_machine *m = &c->machine;
  *m = *c->task->machine;
  switch (c->knob) {
  case LB_KNOB_DEAD_VOLUME:
    for (int end = 0; end < LB_ENDS; end++)
      m->dead_volume[end] *= value;
    break;
  case LB_KNOB_LOAD:
    m->load_torque *= value;
    m->load.torque_per_speed *= value;
    m->load.torque_per_speed_squared *= value;
    m->load.drive_efficiency /= value; /* a vehicle's torque at the crank */
    break;
  case LB_KNOB_START_PRESSURE:
    m->store.start_pressure = value;
    break;
  case LB_KNOBS:
    break;
  }
}

/* Compare the best of both kinds at a value. */
static enum lb_status try_value(struct change *c, double value, struct lb_error *error) {
  struct lb_task task;
  struct lb_policy policy;
  double regulated = 0;
  turn_knob(c, value);
  enum lb_status status = lb_task_open(&task, &c->machine, c->task->air, c->task->engine.speed,
                                       c->task->fixed, true, error);
  c->lead = (double)NAN;
  if (status == LB_OK) {
    double following =
        c->machine.store.start_pressure <= task.highest_supply ? lb_process_following(&task) : 0;
    lb_best_regulated(&policy, &regulated, &task);
    if (following > 0 || regulated > 0)
      c->lead = (following - regulated) / fmax(following, regulated);
  }
  lb_task_close(&task);
  return status == LB_NO_MEMORY ? status : LB_OK; /* what cannot be calculated there runs nothing */
}

/* Close in between two values of different sign. */
static enum lb_status close_in(struct change *c, double *value, double a, double lead_a, double b,
                               double lead_b, struct lb_error *error) {
  double best = fmin(fabs(lead_a), fabs(lead_b));
  *value = fabs(lead_a) < fabs(lead_b) ? a : b;
  for (int i = 0, side = 0; i < CLOSINGS && fabs(b - a) > close_enough * fabs(b); i++) {
    double x = a + (b - a) * lead_a / (lead_a - lead_b);
    enum lb_status status = try_value(c, x, error);
    if (status != LB_OK || isnan(c->lead))
      return status;
    if (fabs(c->lead) < best) {
      best = fabs(c->lead);
      *value = x;
    }
    if ((c->lead > 0) == (lead_a > 0)) {
      a = x;
      lead_a = c->lead;
      lead_b = side > 0 ? lead_b / 2 : lead_b;
      side = 1;
    } else {
      b = x;
      lead_b = c->lead;
      lead_a = side < 0 ? lead_a / 2 : lead_a;
      side = -1;
    }
  }
  return LB_OK;
}

/* Look on one side of the machine's own value, as far as a limit, which is brought in to where
 * something still ran. */
static enum lb_status look_towards(struct change *c, struct lb_flip *flip, double own, double lead,
                                   double *limit, struct lb_error *error) {
  double last = own, last_lead = lead, farthest_out = *limit;
  for (int i = 1; i <= LOOKS; i++) {
    double value = own * pow(farthest_out / own, (double)i / LOOKS), found;
    enum lb_status status = try_value(c, value, error);
    if (status != LB_OK)
      return status;
    if (isnan(c->lead)) { /* neither runs any more */
      *limit = last;
      return LB_OK;
    }
    double here = c->lead;
    if ((here > 0) != (lead > 0)) {
      status = close_in(c, &found, last, last_lead, value, here, error);
      if (status != LB_OK)
        return status;
      bool nearer = !flip->found || fabs(log(found / own)) < fabs(log(flip->value / own));
      flip->value = nearer ? found : flip->value;
      flip->found = true;
      return LB_OK;
    }
    last = value;
    last_lead = here;
  }
  return LB_OK;
}

/* The machine's own value, and the range to be searched. */
static double own_value(const struct lb_task *task, enum lb_knob knob, double *from, double *to) {
  const struct lb_machine *m = task->machine;
  *from = 1 / farthest;
  *to = farthest;
  if (knob != LB_KNOB_START_PRESSURE)
    return 1;
  double own = m->store.start_pressure;
  double least = fmax(2 * task->least_supply, m->store.lowest_pressure);
  double most = fmin(m->store.marked_pressure, task->highest_supply); /* 0: no mark is known */
  *from = fmin(fmax(own / farthest, least), own);
  *to = fmax(fmin(own * farthest, most), own);
  return own;
}

static enum lb_status find_flip(struct lb_flip *flip, const struct lb_task *task, enum lb_knob knob,
                                struct lb_error *error) {
  struct change c = {.task = task, .knob = knob};
  *flip = (struct lb_flip){0};
  double own = own_value(task, knob, &flip->from, &flip->to);
  enum lb_status status = try_value(&c, own, error);
  double lead = c.lead;
  if (status == LB_OK && !isnan(lead))
    status = look_towards(&c, flip, own, lead, &flip->from, error);
  if (status == LB_OK && !isnan(lead))
    status = look_towards(&c, flip, own, lead, &flip->to, error);
  return status;
}

/* Winner, rival and margin. */
static void compare(struct lb_rundown *r) {
  struct lb_verdict *v = &r->verdict;
  size_t regulated = furthest(r, true), free = furthest(r, false);
  v->compared = regulated < r->runs && free < r->runs;
  v->winner = v->rival = regulated < r->runs ? regulated : free;
  if (!v->compared)
    return;
  bool free_wins = r->run[free].revolutions >= r->run[regulated].revolutions;
  v->winner = free_wins ? free : regulated;
  v->rival = free_wins ? regulated : free;
  v->margin = r->run[v->winner].revolutions / r->run[v->rival].revolutions - 1;
}

enum lb_status lb_verdict_find(struct lb_rundown *rundown, const struct lb_task *task,
                               const struct lb_rundown_question *question, struct lb_error *error) {
  struct lb_verdict *v = &rundown->verdict;
  enum lb_status status = LB_OK;
  set_shares(rundown);
  compare(rundown);
  for (int knob = 0; knob < LB_KNOBS && v->compared && question->flips && status == LB_OK; knob++) {
    status = find_flip(&v->flip[knob], task, (enum lb_knob)knob, error);
    if (question->progress)
      question->progress(LB_PLANS_SHARE + (1 - LB_PLANS_SHARE) * (knob + 1) / LB_KNOBS,
                         question->context);
  }
  return status;
}
