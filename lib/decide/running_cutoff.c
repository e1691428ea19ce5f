/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The atmospheric rule is a root of the release pressure, end by end; where air passes from one end
 * to the other both are found in turn until they stay. Economy is the fixed point of lambda = W/m,
 * with each cut-off the best of W - lambda m.
 */
#include "decide/running_cutoff.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/numeric.h"
#include "stroke/timing.h"

#include <math.h>

enum {
  SWEEPS = 30, /* at most, over the ends */
  LOOKS = 12   /* cut-offs tried over a window to see where the best one lies */
};
static const double root_tolerance = 1e-7; /* [rad] */
static const double same = 1e-6;           /* [rad] atmospheric cut-offs that stay */
static const double best_tolerance = 1e-4; /* [rad] of a flat maximum */
static const double same_best = 5e-4;      /* [rad] economical cut-offs that stay */
static const double hair = 1e-3;           /* [rad] the shortest a valve is open */

/* A search at one speed. */
struct search {
  struct lb_gas *gas;
  const struct lb_machine *machine;
  double speed, target;               /* [rad/s], [Pa] at release */
  double low[LB_ENDS], high[LB_ENDS]; /* [rad] the window of each end */
  double cutoff[LB_ENDS];             /* [rad] the valve is shut */
  double lambda;                      /* [J/kg] */
  enum lb_end end;                    /* whose cut-off is moved */
  struct lb_running running;          /* of the last trial */
  enum lb_status status;              /* of the first trial that failed */
  struct lb_error error;
};

/* Both ends, from the inlet's opening to the release. */
static void set_windows(struct search *s) {
  for (int e = 0; e < LB_ENDS; e++) {
    const struct lb_timing *t = &s->machine->timing[e];
    double opens =
        t->inlet_opens + lb_timing_lag(s->machine, (enum lb_end)e, LB_VARIED_INLET_OPENS, s->speed);
    double release =
        t->release + lb_timing_lag(s->machine, (enum lb_end)e, LB_VARIED_RELEASE, s->speed);
    s->low[e] = opens + hair;
    s->high[e] = fmax(release, s->low[e] + hair);
  }
}

/* Remember the first failure: what a solver says that stumbles over it tells less. */
static enum lb_status keep_first(struct search *s, enum lb_status status,
                                 const struct lb_error *error) {
  if (s->status == LB_OK && status != LB_OK) {
    s->status = status;
    s->error = *error;
  }
  return status;
}

/* A revolution with these cut-offs of the valves. */
static enum lb_status turn_with(struct search *s, const struct lb_machine *machine,
                                bool with_worth) {
  double given[LB_ENDS];
  for (int e = 0; e < LB_ENDS; e++)
    given[e] = s->cutoff[e] - lb_timing_lag(s->machine, (enum lb_end)e, LB_VARIED_CUTOFF, s->speed);
  struct lb_error error;
  enum lb_status status =
      lb_running_turn(&s->running, s->gas, machine, given, s->speed, with_worth, &error);
  for (int e = 0; e < LB_ENDS && status == LB_OK; e++)
    if (machine->works[e]) {
      s->running.revolution.end[e].cutoff = s->cutoff[e];
      s->running.revolution.end[e].stroke_fraction =
          lb_timing_stroke_fraction(machine, (enum lb_end)e, s->cutoff[e]);
    }
  return keep_first(s, status, &error);
}

static enum lb_status turn(struct search *s, const struct lb_machine *machine) {
  return turn_with(s, machine, false);
}

/* ---------- the atmospheric rule ---------- */

/* Whether the ends act on each other. */
static bool coupled(const struct lb_machine *machine) {
  return machine->leakage > 0 || machine->supply_line.conductance > 0;
}

/* By how much an end's release pressure misses the target. */
static double miss(double cutoff, void *context) {
  struct search *s = context;
  struct lb_machine machine = *s->machine;
  if (!coupled(&machine))
    machine.works[1 - s->end] = false; /* half the work for the same answer */
  s->cutoff[s->end] = cutoff;
  if (turn(s, &machine) != LB_OK)
    return (double)NAN;
  return s->running.revolution.end[s->end].turn.release_pressure - s->target;
}

/* Say why an end has no cut-off at this speed.
 * late  even shut at release it does not fill; else even the earliest lets in too much */
static void refuse_end(struct lb_running_choice *choice, const struct search *s, bool late) {
  const char *name = s->end == LB_CAP_END ? "cap end" : "rod end";
  double rpm = s->speed / LB_RPM, target = s->target;
  lb_format(
      choice->why, sizeof choice->why,
      late ? "at %.4g rpm the %s does not reach %.3f bar absolute (%.2f psia) at release, even "
             "with the inlet open until then"
           : "at %.4g rpm the %s is still above %.3f bar absolute (%.2f psia) at release, even "
             "with the earliest cut-off",
      rpm, name, target / LB_BAR, target / LB_PSI);
  lb_format(choice->would_do, sizeof choice->would_do, "%s",
            late ? "a lower speed or a wider inlet valve would do"
                 : "a lower supply pressure, less dead volume or less leakage would do");
}

/* The cut-off of one end, the other held. Returns LB_NO_ANSWER after saying why.
 * around  [rad] it lies no farther than this from where it was, as a rule; infinite: not known */
static enum lb_status release_at_target(struct lb_running_choice *choice, struct search *s,
                                        double around, struct lb_workspace *workspace) {
  double x, here = s->cutoff[s->end];
  double low = fmax(s->low[s->end], here - around), high = fmin(s->high[s->end], here + around);
  double first = miss(low, s), last = miss(high, s);
  if (isfinite(around) && s->status == LB_OK && (first > 0 || last < 0))
    return release_at_target(choice, s, (double)INFINITY, workspace);
  if (s->status != LB_OK)
    return s->status;
  if (first > 0 || last < 0) {
    refuse_end(choice, s, last < 0);
    return LB_NO_ANSWER;
  }
  struct lb_error error;
  keep_first(s, lb_numeric_root(workspace, &x, miss, s, low, high, root_tolerance, &error), &error);
  if (s->status == LB_OK)
    s->cutoff[s->end] = x;
  return s->status;
}

static enum lb_status atmospheric(struct lb_running_choice *choice, struct search *s,
                                  struct lb_workspace *workspace) {
  double moved = (double)INFINITY, supply = s->machine->supply_pressure;
  if (supply <= s->target) {
    lb_format(choice->why, sizeof choice->why,
              "the supply of %.3f bar absolute (%.2f psia) is not above back pressure and margin, "
              "%.3f bar absolute (%.2f psia)",
              supply / LB_BAR, supply / LB_PSI, s->target / LB_BAR, s->target / LB_PSI);
    lb_format(choice->would_do, sizeof choice->would_do, "a higher supply pressure would do");
    return LB_NO_ANSWER;
  }
  for (int sweep = 0; sweep < SWEEPS && moved > same; sweep++) {
    double around = moved; /* what the ends do to each other shrinks from sweep to sweep */
    moved = 0;
    for (int e = 0; e < LB_ENDS; e++) {
      double before = s->cutoff[e];
      s->end = (enum lb_end)e;
      if (!s->machine->works[e])
        continue;
      enum lb_status status = release_at_target(choice, s, around, workspace);
      if (status != LB_OK)
        return status;
      moved = fmax(moved, coupled(s->machine) ? fabs(s->cutoff[e] - before) : 0);
    }
  }
  if (moved > same)
    return lb_error_set(&s->error, LB_NUMERIC,
                        "the cut-offs of the two ends still move by %.1e rad after %d rounds",
                        moved, SWEEPS);
  return LB_OK;
}

/* ---------- economy ---------- */

/* What a cut-off is not worth: -(W - lambda m). */
static double loss(double cutoff, void *context) {
  struct search *s = context;
  s->cutoff[s->end] = cutoff;
  if (turn(s, s->machine) != LB_OK)
    return (double)NAN;
  return s->lambda * s->running.revolution.air - s->running.revolution.work;
}

/* Bring a window around the lowest of some looks over it. */
static double look_over(struct search *s, double *low, double *high) {
  double best = (double)INFINITY, place = *low, step = (*high - *low) / LOOKS, from = *low;
  for (int i = 0; i <= LOOKS; i++) {
    double here = loss(from + i * step, s);
    if (here < best) {
      best = here;
      place = from + i * step;
    }
  }
  *low = fmax(*low, place - step);
  *high = fmin(*high, place + step);
  return place;
}

/* The best cut-off of one end for a lambda, the other held.
 * first  nothing is known of it yet */
static void improve_end(struct search *s, struct lb_workspace *workspace, bool first) {
  const double around = 0.2; /* [rad] in which a later round looks */
  double low = s->low[s->end], high = s->high[s->end], x = s->cutoff[s->end];
  if (first) {
    x = look_over(s, &low, &high);
  } else {
    low = fmax(low, x - around);
    high = fmin(high, x + around);
  }
  struct lb_error error;
  if (s->status != LB_OK)
    return;
  keep_first(s, lb_numeric_lowest(workspace, &x, loss, s, low, high, best_tolerance, &error),
             &error);
  s->cutoff[s->end] = x;
}

/* Say that no cut-off gives work, if so. */
static bool refuse_best(struct lb_running_choice *choice, const struct search *s) {
  const struct lb_revolution *r = &s->running.revolution;
  if (r->work > 0 && r->air > 0)
    return false;
  if (!(s->machine->supply_pressure > s->machine->back_pressure)) {
    lb_format(choice->why, sizeof choice->why, "the supply is not above back pressure");
    lb_format(choice->would_do, sizeof choice->would_do, "a higher supply pressure would do");
    return true;
  }
  lb_format(choice->why, sizeof choice->why,
            r->work > 0
                ? "at %.4g rpm the machine draws no air from the supply"
                : "at %.4g rpm throttling, back pressure and friction take all the work, at "
                  "any cut-off",
            s->speed / LB_RPM);
  lb_format(choice->would_do, sizeof choice->would_do,
            "a lower speed, wider valves or a higher supply pressure would do");
  return true;
}

static enum lb_status economy(struct lb_running_choice *choice, struct search *s,
                              struct lb_workspace *workspace) {
  double moved = (double)INFINITY;
  for (int sweep = 0; sweep < SWEEPS && moved > same_best && s->status == LB_OK; sweep++) {
    moved = 0;
    for (int e = 0; e < LB_ENDS && s->status == LB_OK; e++) {
      double before = s->cutoff[e];
      s->end = (enum lb_end)e;
      if (s->machine->works[e])
        improve_end(s, workspace, sweep == 0);
      moved = fmax(moved, fabs(s->cutoff[e] - before));
    }
    if (turn(s, s->machine) != LB_OK)
      return s->status;
    const struct lb_revolution *r = &s->running.revolution;
    s->lambda = r->air > 0 ? fmax(0, r->work / r->air) : 0;
    moved = sweep == 0 ? (double)INFINITY : moved; /* lambda was a guess */
  }
  if (s->status == LB_OK && refuse_best(choice, s))
    return LB_NO_ANSWER;
  return s->status;
}

/* ---------- all rules ---------- */

/* Where the search begins: the machine's own cut-offs, or those of the slow atmospheric rule. */
static enum lb_status begin(struct lb_running_choice *choice, struct search *s, double margin,
                            struct lb_error *error) {
  struct lb_cycle *cycle = lb_cycle_new();
  struct lb_choice slow = {.found = true};
  if (!cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for a slow cycle");
  enum lb_status status = lb_cycle_prepare(cycle, s->machine, error);
  if (status == LB_OK)
    status = lb_cutoff_as_timed(&slow, cycle, margin, error);
  lb_cycle_free(cycle);
  for (int e = 0; e < LB_ENDS && status == LB_OK; e++)
    s->cutoff[e] = slow.end_found[e]
                       ? slow.cutoff[e] + (s->machine->timing[e].cutoff_given
                                               ? lb_timing_lag(s->machine, (enum lb_end)e,
                                                               LB_VARIED_CUTOFF, s->speed)
                                               : 0)
                       : (s->low[e] + s->high[e]) / 2;
  if (status == LB_OK && !slow.found) {
    lb_format(choice->why, sizeof choice->why, "%s", slow.why);
    lb_format(choice->would_do, sizeof choice->would_do, "%s", slow.would_do);
  }
  return status;
}

/* By the rule, in s->cutoff. */
static enum lb_status apply(struct lb_running_choice *choice, struct search *s, enum lb_rule rule,
                            struct lb_error *error) {
  if (rule == LB_AS_TIMED)
    return choice->why[0] ? LB_NO_ANSWER : LB_OK;
  struct lb_workspace *workspace = lb_workspace_new();
  if (!workspace)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the search of a cut-off");
  choice->why[0] = choice->would_do[0] = '\0';
  enum lb_status status =
      rule == LB_ECONOMY ? economy(choice, s, workspace) : atmospheric(choice, s, workspace);
  lb_workspace_free(workspace);
  return status;
}

enum lb_status lb_running_cutoff(struct lb_running_choice *choice, struct lb_gas *gas,
                                 const struct lb_machine *machine, enum lb_rule rule, double margin,
                                 double speed, struct lb_error *error) {
  struct search s = {.gas = gas, .machine = machine, .speed = speed};
  struct lb_running_choice found = {0};
  s.target = machine->back_pressure + margin;
  set_windows(&s);
  enum lb_status status = begin(&found, &s, margin, error);
  if (status != LB_OK)
    return status;
  status = apply(&found, &s, rule, &s.error);
  if (status == LB_OK)
    status = turn(&s, machine);
  if (status != LB_OK && status != LB_NO_ANSWER) {
    if (error)
      *error = s.error;
    return status;
  }
  found.found = status == LB_OK;
  for (int e = 0; e < LB_ENDS; e++)
    found.cutoff[e] = found.found && machine->works[e] ? s.cutoff[e] : 0;
  if (found.found)
    found.running = s.running;
  *choice = found;
  return LB_OK;
}

enum lb_status lb_running_follow(struct lb_running_choice *choice, struct lb_gas *gas,
                                 const struct lb_machine *machine, struct lb_error *error) {
  struct search s = {.gas = gas,
                     .machine = machine,
                     .speed = choice->running.speed,
                     .cutoff = {choice->cutoff[LB_CAP_END], choice->cutoff[LB_ROD_END]}};
  enum lb_status status = turn_with(&s, machine, true);
  if (status == LB_OK)
    choice->running = s.running;
  else if (error)
    *error = s.error;
  return status;
}
