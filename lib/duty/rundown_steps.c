/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A few fixed cut-offs in place of one that follows.
 *
 * The positions are taken from what following does at one pressure or another, a family with one
 * parameter: its pressure. Which k of them are best, and where to change from one to the next, is
 * found on a grid by dynamic programming: the best use of the air down to a pressure with k
 * positions is the best with k - 1 down to some higher pressure, and one position from there. Then
 * each position is moved in turn, changes of position where two give the same range for their air,
 * or where the higher one no longer carries the load. The fixed timing is a candidate, too, and k +
 * 1 positions begin with what k found, so that more are never worse.
 */
#include "duty/rundown_parts.h"

#include <math.h>
#include <string.h>

enum {
  FAMILY = 40,             /* pressures at which following is asked */
  CANDIDATES = FAMILY + 1, /* and the fixed timing */
  CELLS = 64,              /* of the way down, on the grid */
  SWEEPS = 3               /* over all positions */
};
static const double same = 1e-5;             /* [1] a gain in range not worth another sweep */
static const double place_tolerance = 1e-4;  /* [1] of the family, at which the range is flat */
static const double change_tolerance = 1e-2; /* [Pa] */
static const double impossible = -1e300;     /* worse than any range */

/* The family, and what it gives on the grid. */
struct steps {
  struct lb_task *task;
  double start, end;                  /* [Pa absolute] of the store */
  double cutoff[CANDIDATES][LB_ENDS]; /* by falling pressure; the last is the fixed timing */
  double sum[CANDIDATES][CELLS + 1];  /* range of a candidate from the start on; `impossible`
                                         from where it does not carry the load */
  double place[LB_STEPS_MOST];        /* where in the family: 0 ... FAMILY - 1; FAMILY: the
                                         fixed timing */
  struct lb_position position[LB_STEPS_MOST];
  int positions;
  int moved; /* which place a search moves */
};

/* ---------- positions ---------- */

/* The pressure at a share of the way down. */
static double pressure_at(const struct steps *s, double share) {
  return s->start * pow(s->end / s->start, share);
}

/* The cut-offs at a place of the family. */
static void cutoffs_at(double *cutoff, const struct steps *s, double place) {
  int i = (int)place;
  bool last = i >= FAMILY - 1;
  double share = last ? 0 : place - i;
  for (int end = 0; end < LB_ENDS; end++)
    cutoff[end] =
        s->cutoff[i][end] + (last ? 0 : share * (s->cutoff[i + 1][end] - s->cutoff[i][end]));
}

/* By how much the first of two positions gives more range for its air than the second. */
struct rivals {
  struct lb_task *task;
  const double *first, *second; /* cut-offs */
};

static double advantage(double pressure, void *context) {
  const struct rivals *r = context;
  return lb_task_yield(r->task, pressure, r->first) - lb_task_yield(r->task, pressure, r->second);
}

/* Where to change from one position to the next [Pa absolute], from `from` down. */
static double change(struct steps *s, const struct lb_position *one, const struct lb_position *next,
                     double from) {
  struct rivals r = {s->task, one->cutoff, next->cutoff};
  double least = lb_process_end(s->task, 0, one->cutoff), x = least;
  if (!(least < from) || advantage(from, &r) <= 0)
    return from;
  least *= 1 + change_tolerance / least;
  if (advantage(least, &r) >= 0 || lb_numeric_root(s->task->workspace, &x, advantage, &r, least,
                                                   from, change_tolerance, NULL) != LB_OK)
    return least;
  return x;
}

/* Set out the positions at the places, by falling pressure, and return the range they bring. */
static double set_out(struct steps *s, int positions) {
  double range = 0, from = s->start;
  for (int i = 0; i < positions; i++)
    cutoffs_at(s->position[i].cutoff, s, s->place[i]);
  for (int i = 0; i < positions; i++) {
    struct lb_position *p = &s->position[i];
    double to =
        i + 1 < positions ? change(s, p, p + 1, from) : lb_process_end(s->task, 0, p->cutoff);
    p->from = from;
    p->to = fmin(to, from);
    range += lb_process_fixed(s->task, 0, p->cutoff, from, p->to);
    from = p->to;
  }
  s->positions = positions;
  return range;
}

/* ---------- the grid ---------- */

/* Ask following at pressures of the whole way down. Returns false when nothing carries the load. */
static bool raise_family(struct steps *s) {
  struct lb_task *task = s->task;
  s->start = task->machine->store.start_pressure;
  s->end = lb_process_end(task, 0, NULL);
  if (!(s->end < s->start))
    return false;
  for (int i = 0; i < FAMILY; i++) {
    memcpy(s->cutoff[i], s->cutoff[i > 0 ? i - 1 : 0], sizeof s->cutoff[i]);
    lb_follow_choose(task, pressure_at(s, (double)i / (FAMILY - 1)), s->cutoff[i]);
  }
  for (int end = 0; end < LB_ENDS; end++)
    s->cutoff[FAMILY][end] = task->fixed[end];
  return true;
}

/* The range of every candidate over the cells of the grid, as sums from the start. */
static void survey(struct steps *s) {
  for (int j = 0; j < CANDIDATES; j++) {
    double least = lb_process_end(s->task, 0, s->cutoff[j]);
    s->sum[j][0] = 0;
    for (int i = 0; i < CELLS; i++) {
      double high = pressure_at(s, (double)i / CELLS),
             low = pressure_at(s, (double)(i + 1) / CELLS);
      bool carried = least < high;
      s->sum[j][i + 1] =
          carried ? s->sum[j][i] + lb_process_cell(s->task, s->cutoff[j], high, fmax(low, least))
                  : impossible;
    }
  }
}

/* The best use of the air down to each cell of the grid. */
struct plan {
  double range[LB_STEPS_MOST + 1][CELLS + 1];
  int since[LB_STEPS_MOST + 1][CELLS + 1];     /* cell at which the last position began */
  int candidate[LB_STEPS_MOST + 1][CELLS + 1]; /* and which it is */
};

/* Fill in the plan for k positions down to a cell. */
static void best_until(struct plan *plan, const struct steps *s, int k, int cell) {
  plan->range[k][cell] = impossible;
  for (int since = 0; since < cell; since++)
    for (int j = 0; j < CANDIDATES; j++) {
      if (s->sum[j][cell] <= impossible)
        continue;
      double range = plan->range[k - 1][since] + s->sum[j][cell] - s->sum[j][since];
      if (!(range > plan->range[k][cell]))
        continue;
      plan->range[k][cell] = range;
      plan->since[k][cell] = since;
      plan->candidate[k][cell] = j;
    }
}

static void make_plan(struct plan *plan, const struct steps *s) {
  for (int cell = 0; cell <= CELLS; cell++)
    plan->range[0][cell] = cell == 0 ? 0 : impossible;
  for (int k = 1; k <= LB_STEPS_MOST; k++) {
    plan->range[k][0] = 0; /* a position that is not used */
    plan->candidate[k][0] = 0;
    for (int cell = 1; cell <= CELLS; cell++)
      best_until(plan, s, k, cell);
  }
}

/* The places of the best plan with k positions. */
static void take_places(struct steps *s, const struct plan *plan, int k) {
  int cell = 0;
  for (int i = 1; i <= CELLS; i++)
    if (plan->range[k][i] > plan->range[k][cell])
      cell = i;
  for (; k > 0; k--) {
    s->place[k - 1] = plan->candidate[k][cell];
    cell = cell > 0 ? plan->since[k][cell] : 0;
  }
}

/* ---------- moving ---------- */

static double shortfall(double place, void *context) {
  struct steps *s = context;
  s->place[s->moved] = place;
  return -set_out(s, s->positions);
}

/* Move one place to where it brings most, within reach of its grid. Returns the range. */
static double move(struct steps *s, int moved, double range) {
  const double reach = 2, inwards = 0.25;
  double here = s->place[moved], low = fmax(here - reach, 0);
  double high = fmin(here + reach, FAMILY - 1), x = fmin(fmax(here, low + inwards), high - inwards);
  s->moved = moved;
  if (here > FAMILY - 1)
    return range;
  if (lb_numeric_lowest(s->task->workspace, &x, shortfall, s, low, high, place_tolerance, NULL) !=
      LB_OK)
    x = here;
  s->place[moved] = x;
  double reached = set_out(s, s->positions);
  if (reached > range)
    return reached;
  s->place[moved] = here;
  return range;
}

/* Move all of them until that brings nothing more. Returns the range, with the positions set
 * out. */
static double settle(struct steps *s, int positions) {
  double range = set_out(s, positions);
  for (int sweep = 0; sweep < SWEEPS; sweep++) {
    double before = range;
    for (int i = 0; i < positions; i++)
      range = move(s, i, range);
    if (range - before <= same * range)
      break;
  }
  return set_out(s, positions);
}

/* Hand over the positions that are of use. */
static void hand_over(struct lb_policy *policy, const struct steps *s) {
  *policy = (struct lb_policy){0};
  for (int i = 0; i < s->positions; i++)
    if (s->position[i].from > s->position[i].to)
      policy->position[policy->positions++] = s->position[i];
}

bool lb_best_steps(struct lb_policy *policy, struct lb_task *task) {
  struct steps s = {.task = task};
  struct plan plan;
  if (!raise_family(&s))
    return false;
  survey(&s);
  make_plan(&plan, &s);
  s.place[0] = FAMILY;
  double range = set_out(&s, 1);
  struct steps before = s;
  for (int k = LB_STEPS_LEAST; k <= LB_STEPS_MOST; k++) {
    take_places(&s, &plan, k);
    double reached = settle(&s, k);
    if (!(reached >= range)) {
      s = before; /* one position more brings nothing */
      reached = range;
    }
    hand_over(&policy[k], &s);
    before = s;
    range = reached;
  }
  return true;
}
