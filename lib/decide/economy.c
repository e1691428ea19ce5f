/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Work per kilogram of air, maximised over one or two angles within limits. Invariant: the point
 * held is always within its limits; a polished one is never worse than the one before.
 */
#include "decide/economy.h"

#include "base/constants.h"
#include "base/numeric.h"
#include "stroke/timing.h"

#include <math.h>

/* The start need only be near [1]; its iteration is quadratic, so a few steps do. */
static const double start_tolerance = 1e-6;
/* The minimiser hands over here; then Newton doubles the digits. Gradient of ln(W/m) [1/rad]. */
static const double minimiser_tolerance = 1e-5;
/* What Newton aims at, a few roundings of W [1/rad], and when it stops trying. */
static const double stationary = 1e-13;
/* Step of the numerical second derivative [rad]: its error, of the first order, only slows the
 * last steps a little. */
static const double second_step = 1e-6;
/* Two values of W/m closer than this are equal [1]: some roundings of the sums behind it. */
static const double rounding = 1e-14;
/* First trial step of the minimiser [rad]. */
static const double first_step = 0.01;
/* No Newton step is longer [rad]. */
static const double longest_step = 0.2;

/* How far from a limit a climb begins, and how near a bend it is taken to end on it [rad]. */
static const double off_limit = 0.1, near_bend = 0.02;
/* Where the far side of a bend is looked at [rad]. */
static const double beside_bend = 1e-6;
/* A greater slope left over is a sign of a bend [1/rad]. */
static const double unsettled = 1e-9;

enum {
  START_STEPS = 12,
  NEWTON_STEPS = 30,
  HALVINGS = 12
};

struct search {
  const struct lb_cycle *cycle;
  int variables;         /* 1 or 2 */
  int variable[LB_ENDS]; /* which variable an end follows; -1 when idle */
  double low[LB_VARIABLES_MOST], high[LB_VARIABLES_MOST];
  bool pinned[LB_VARIABLES_MOST]; /* held where the slope jumps through zero, see pin() */
  double scale;                   /* a typical W/m [J/kg] */
  enum lb_status status;          /* of the last evaluation */
  struct lb_error *error;
};

static bool set_up(struct search *s, bool common) {
  const struct lb_machine *m = lb_cycle_machine(s->cycle);
  for (int i = 0; i < LB_ENDS; i++) {
    s->variable[i] = -1;
    if (!m->works[i])
      continue;
    double low, high;
    lb_timing_window(&low, &high, m, (enum lb_end)i);
    if (s->variables == 0 || !common) {
      s->variable[i] = s->variables++;
      s->low[s->variable[i]] = low;
      s->high[s->variable[i]] = high;
    } else {
      s->variable[i] = 0;
      s->low[0] = fmax(s->low[0], low);
      s->high[0] = fmin(s->high[0], high);
    }
  }
  return s->low[0] <= s->high[0];
}

static double within(const struct search *s, int variable, double x) {
  return fmin(fmax(x, s->low[variable]), s->high[variable]);
}

/* Work and air at x[], and what each end's derivative adds up to for the variables. */
static enum lb_status evaluate(struct search *s, const double *x, double *work, double *air,
                               double *work_slope, double *air_slope) {
  struct lb_cycle_slope slope;
  double cutoff[LB_ENDS] = {0};
  for (int i = 0; i < LB_ENDS; i++)
    if (s->variable[i] >= 0)
      cutoff[i] = x[s->variable[i]];
  s->status = lb_cycle_slopes(&slope, s->cycle, cutoff, s->error);
  if (s->status != LB_OK)
    return s->status;
  *work = slope.work;
  *air = slope.air;
  for (int v = 0; v < s->variables; v++)
    work_slope[v] = air_slope[v] = 0;
  for (int i = 0; i < LB_ENDS; i++)
    if (s->variable[i] >= 0) {
      work_slope[s->variable[i]] += slope.work_per_angle[i];
      air_slope[s->variable[i]] += slope.air_per_angle[i];
    }
  return LB_OK;
}

/* The cut-off of an end where n/(n-1) R T_s [1 - (V_c/V_r)^(n-1)] = lambda. */
static double marginal_cutoff(const struct search *s, enum lb_end end, double lambda) {
  const struct lb_machine *m = lb_cycle_machine(s->cycle);
  const struct lb_chamber *chamber = lb_cycle_chamber(s->cycle, end);
  double n = chamber->conditions.expansion_exponent;
  double share = lambda / (n * LB_GAS_CONSTANT * chamber->conditions.supply_temperature);
  double left = 1 - (n - 1) * share; /* (V_c/V_r)^(n-1) */
  double ratio = n == 1 ? exp(-share) : left > 0 ? exp(log(left) / (n - 1)) : 0;
  double volume = fmin(ratio, 1) * chamber->volumes.release;
  int variable = s->variable[end];
  if (volume <= lb_timing_volume(m, end, s->low[variable]))
    return s->low[variable];
  if (volume >= lb_timing_volume(m, end, s->high[variable]))
    return s->high[variable];
  return lb_timing_angle(m, end, volume);
}

/* Work and air of the machine without its friction share, at cut-offs of each end. */
static void without_share(const struct search *s, const double *cutoff, double *work, double *air) {
  const struct lb_machine *m = lb_cycle_machine(s->cycle);
  struct lb_margin margin;
  *work = -2 * m->linkage.stroke * m->friction;
  *air = 0;
  for (int i = 0; i < LB_ENDS; i++)
    if (s->variable[i] >= 0) {
      lb_chamber_margin(&margin, lb_cycle_chamber(s->cycle, (enum lb_end)i),
                        lb_timing_volume(m, (enum lb_end)i, cutoff[i]));
      *work += margin.work;
      *air += margin.air;
    }
}

/* Iterate lambda = W/m; x[] gets the cut-offs, averaged where ends share a variable. */
static void start(struct search *s, double *x) {
  double cutoff[LB_ENDS] = {0}, lambda = 0;
  for (int step = 0; step < START_STEPS; step++) {
    double work, air, last = lambda, next[LB_ENDS] = {0};
    for (int i = 0; i < LB_ENDS; i++)
      if (s->variable[i] >= 0)
        next[i] = marginal_cutoff(s, (enum lb_end)i, lambda);
    without_share(s, next, &work, &air);
    bool lost = !(air > 0 && work > 0); /* with lead the margin is another */
    if (step > 0 && lost)
      break;
    for (int i = 0; i < LB_ENDS; i++)
      cutoff[i] = next[i];
    if (lost)
      break;
    lambda = work / air;
    if (fabs(lambda - last) <= start_tolerance * lambda)
      break;
  }
  int ends[LB_VARIABLES_MOST] = {0};
  for (int i = 0; i < LB_ENDS; i++)
    if (s->variable[i] >= 0) {
      int v = s->variable[i];
      x[v] = ends[v]++ ? (x[v] + cutoff[i]) / 2 : cutoff[i];
    }
  s->scale = lambda > 0 ? lambda : LB_GAS_CONSTANT * LB_ZERO_CELSIUS;
}

/* -W/m in units of the scale, with a parabola outside the limits, for the minimiser. */
static double objective(const double *x, double *gradient, void *context) {
  struct search *s = context;
  double inside[LB_VARIABLES_MOST], work, air, work_slope[LB_VARIABLES_MOST],
      air_slope[LB_VARIABLES_MOST];
  double outside = 0;
  for (int v = 0; v < s->variables; v++) {
    inside[v] = within(s, v, x[v]);
    outside += (x[v] - inside[v]) * (x[v] - inside[v]);
  }
  if (evaluate(s, inside, &work, &air, work_slope, air_slope) != LB_OK || !(air > 0)) {
    for (int v = 0; v < s->variables; v++)
      gradient[v] = 0;
    return (double)INFINITY;
  }
  double lambda = work / air;
  for (int v = 0; v < s->variables; v++)
    gradient[v] = x[v] == inside[v] ? (lambda * air_slope[v] - work_slope[v]) / (air * s->scale)
                                    : 2 * (x[v] - inside[v]);
  return outside - lambda / s->scale;
}

/* A point with all the polishing needs to know of it. */
struct point {
  double x[LB_VARIABLES_MOST];
  double work, air, lambda;
  double slope[LB_VARIABLES_MOST]; /* (dW - lambda dm)/(|lambda| m) [1/rad] */
  bool held[LB_VARIABLES_MOST];    /* at a limit, and better only beyond it */
};

/* Slope at x with a given lambda, or with its own where lambda is NaN. */
static enum lb_status look(struct search *s, struct point *p, double lambda) {
  double work_slope[LB_VARIABLES_MOST], air_slope[LB_VARIABLES_MOST];
  enum lb_status status = evaluate(s, p->x, &p->work, &p->air, work_slope, air_slope);
  if (status != LB_OK)
    return status;
  p->lambda = isnan(lambda) ? p->work / p->air : lambda;
  double unit = fabs(p->lambda * p->air);
  for (int v = 0; v < s->variables; v++) {
    p->slope[v] = (work_slope[v] - p->lambda * air_slope[v]) / unit;
    p->held[v] = s->pinned[v] || (p->x[v] <= s->low[v] && p->slope[v] <= 0) ||
                 (p->x[v] >= s->high[v] && p->slope[v] >= 0);
  }
  return LB_OK;
}

static double remaining(const struct search *s, const struct point *p) {
  double most = 0;
  for (int v = 0; v < s->variables; v++)
    if (!p->held[v])
      most = fmax(most, fabs(p->slope[v]));
  return most;
}

/* Second derivatives of W - lambda m at frozen lambda; rows and columns of held variables are those
 * of the unit matrix with the sign of a maximum. */
static enum lb_status curvature(struct search *s, const struct point *p,
                                double (*h)[LB_VARIABLES_MOST]) {
  for (int column = 0; column < s->variables; column++) {
    struct point beside = *p;
    double step = p->x[column] + second_step <= s->high[column] ? second_step : -second_step;
    beside.x[column] += step;
    enum lb_status status = p->held[column] ? LB_OK : look(s, &beside, p->lambda);
    if (status != LB_OK)
      return status;
    for (int row = 0; row < s->variables; row++)
      h[row][column] = p->held[row] || p->held[column] ? (row == column ? -1 : 0)
                                                       : (beside.slope[row] - p->slope[row]) / step;
  }
  return LB_OK;
}

/* The step of one variable alone: to where its slope vanishes, or uphill as far as allowed where
 * the curvature is not that of a maximum. */
static double single_step(double slope, double curvature) {
  if (slope == 0)
    return 0;
  return curvature < 0 ? -slope / curvature : copysign(longest_step, slope);
}

/* The step to where both slopes vanish, or, where the curvature is not that of a maximum, of each
 * variable alone; move() shortens it as needed. */
static void newton_step(const struct search *s, const struct point *p,
                        double (*h)[LB_VARIABLES_MOST], double *step) {
  double g0 = p->held[0] ? 0 : p->slope[0], a = h[0][0];
  step[0] = single_step(g0, a);
  if (s->variables == 2) {
    double g1 = p->held[1] ? 0 : p->slope[1], b = (h[0][1] + h[1][0]) / 2, d = h[1][1];
    double determinant = a * d - b * b;
    step[1] = single_step(g1, d);
    if (a < 0 && determinant > 0) {
      step[0] = (b * g1 - d * g0) / determinant;
      step[1] = (b * g0 - a * g1) / determinant;
    }
  }
  for (int v = 0; v < s->variables; v++)
    step[v] = fmin(fmax(step[v], -longest_step), longest_step);
}

/* The rounding of W/m: W may be the small difference of works of the order R T for each kilogram.
 */
static double noise(const struct search *s, const struct point *p) {
  double heat = LB_GAS_CONSTANT * lb_cycle_machine(s->cycle)->supply_temperature;
  return rounding * fmax(fabs(p->lambda), heat);
}

/* Move along a step, halved until W/m does not fall; false when no such move is left. */
static enum lb_status move(struct search *s, struct point *p, const double *step, bool *moved) {
  double share = 1;
  for (int i = 0; i < HALVINGS; i++, share /= 2) {
    struct point next = *p;
    for (int v = 0; v < s->variables; v++)
      next.x[v] = within(s, v, p->x[v] + share * step[v]);
    enum lb_status status = look(s, &next, (double)NAN);
    if (status != LB_OK)
      return status;
    bool higher = next.lambda > p->lambda;
    bool flatter = next.lambda >= p->lambda - noise(s, p) && remaining(s, &next) < remaining(s, p);
    if (next.air > 0 && (higher || flatter)) {
      *p = next;
      *moved = true;
      return LB_OK;
    }
  }
  *moved = false;
  return LB_OK;
}

static enum lb_status polish(struct search *s, struct point *p) {
  enum lb_status status = look(s, p, (double)NAN);
  bool moved = true;
  for (int i = 0; status == LB_OK && moved && i < NEWTON_STEPS; i++) {
    if (!(p->air > 0) || remaining(s, p) <= stationary)
      break;
    double h[LB_VARIABLES_MOST][LB_VARIABLES_MOST], step[LB_VARIABLES_MOST];
    status = curvature(s, p, h);
    if (status != LB_OK)
      break;
    newton_step(s, p, h, step);
    status = move(s, p, step, &moved);
  }
  return status;
}

/* Whether the air drawn depends on the temperature of what was trapped. It then bends where the
 * release passes back pressure, as outside air comes in. */
static bool bends(const struct lb_chamber *chamber) {
  return chamber->kept != 1 || chamber->compression_pressure > chamber->conditions.supply_pressure;
}

/* Whether there is one maximum, which start() finds: W is concave in m where nothing ties the air
 * drawn, or the ends to each other. */
static bool simple(const struct search *s) {
  const struct lb_machine *m = lb_cycle_machine(s->cycle);
  bool alone = s->variables == 2 || !(m->works[LB_CAP_END] && m->works[LB_ROD_END]);
  bool straight = true;
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i])
      straight = straight && !bends(lb_cycle_chamber(s->cycle, (enum lb_end)i));
  return m->friction_share == 0 && alone && straight;
}

static bool useful(const struct point *p) {
  return p->air > 0 && p->work > 0;
}

static bool better(const struct point *a, const struct point *b) {
  return useful(a) && (!useful(b) || a->lambda > b->lambda * (1 + rounding));
}

/* Polish, and where that ends close to an earliest cut-off, try that itself: at a dead centre the
 * slope fades towards it. */
static enum lb_status settle(struct search *s, struct point *p) {
  enum lb_status status = polish(s, p);
  for (int v = 0; v < s->variables && status == LB_OK; v++) {
    struct point limit = *p;
    limit.x[v] = s->low[v];
    if (p->x[v] == s->low[v] || p->x[v] > s->low[v] + off_limit)
      continue;
    status = look(s, &limit, (double)NAN);
    if (status != LB_OK || !(limit.air > 0 && limit.lambda >= p->lambda - noise(s, p)))
      continue;
    status = polish(s, &limit);
    *p = limit;
  }
  return status;
}

/* The maximum uphill of p->x. At a dead centre the slope by the angle vanishes whatever lies
 * beyond, so the climb begins a step off the earliest cut-off. */
static enum lb_status climb(struct search *s, struct point *p) {
  for (int v = 0; v < s->variables; v++)
    p->x[v] = fmin(fmax(p->x[v], s->low[v] + off_limit), s->high[v]);
  lb_numeric_minimum(lb_cycle_workspace(s->cycle), p->x, (size_t)s->variables, objective, s,
                     first_step, minimiser_tolerance, NULL);
  if (s->status != LB_OK)
    return s->status;
  for (int v = 0; v < s->variables; v++)
    p->x[v] = within(s, v, p->x[v]);
  return settle(s, p);
}

/* The cut-off at which an end releases at back pressure; NaN when its window has none. */
static double bend_of(const struct search *s, enum lb_end end) {
  const struct lb_machine *m = lb_cycle_machine(s->cycle);
  double ratio = pow(m->back_pressure / m->supply_pressure, 1 / m->expansion_exponent);
  double angle = lb_timing_angle(m, end, ratio * lb_cycle_chamber(s->cycle, end)->volumes.release);
  return angle == within(s, s->variable[end], angle) ? angle : (double)NAN;
}

/* Whether the ground rises from just beyond the bend of an end, away from it, while the other end
 * stays: only then a hill stands there, as each side has one at most. */
static enum lb_status rises(bool *rising, struct search *s, const struct point *p, int v,
                            double bend) {
  struct point beyond = *p;
  double away = copysign(1, bend - p->x[v]);
  beyond.x[v] = within(s, v, bend + away * beside_bend);
  enum lb_status status = look(s, &beyond, (double)NAN);
  *rising = beyond.slope[v] * away > 0;
  return status;
}

/* Climb from the start; then, as either side of a bend may have its own hill, from beyond the bend
 * of each end. */
static enum lb_status explore(struct search *s, struct point *p) {
  enum lb_status status = climb(s, p);
  for (int i = 0; i < LB_ENDS && status == LB_OK; i++) {
    int v = s->variable[i];
    if (v < 0 || !bends(lb_cycle_chamber(s->cycle, (enum lb_end)i)))
      continue;
    double bend = bend_of(s, (enum lb_end)i);
    struct point beyond = *p;
    bool rising = false;
    if (isnan(bend) || (status = rises(&rising, s, p, v, bend)) != LB_OK || !rising)
      continue;
    beyond.x[v] = within(s, v, bend + copysign(off_limit, bend - p->x[v]));
    status = climb(s, &beyond);
    if (status == LB_OK && better(&beyond, p))
      *p = beyond;
  }
  return status;
}

/* On a bend that is a maximum the slope jumps through zero and no point is stationary: stand on it,
 * releasing at back pressure, and polish what is left. */
static enum lb_status pin(struct search *s, struct point *p) {
  enum lb_status status = LB_OK;
  for (int i = 0; i < LB_ENDS && status == LB_OK; i++) {
    int v = s->variable[i];
    if (v < 0 || p->held[v] || !bends(lb_cycle_chamber(s->cycle, (enum lb_end)i)))
      continue;
    struct point there = *p;
    there.x[v] = bend_of(s, (enum lb_end)i);
    if (!(fabs(there.x[v] - p->x[v]) < near_bend))
      continue;
    s->pinned[v] = true;
    status = polish(s, &there);
    if (status == LB_OK && there.air > 0 && there.lambda >= p->lambda - noise(s, p))
      *p = there;
    else
      s->pinned[v] = false;
  }
  return status;
}

enum lb_status lb_economy_search(struct lb_economy *best, const struct lb_cycle *cycle, bool common,
                                 struct lb_error *error) {
  struct search s = {.cycle = cycle, .error = error};
  if (!set_up(&s, common))
    return LB_NO_ANSWER;
  struct point p = {0};
  start(&s, p.x);
  enum lb_status status = simple(&s) ? settle(&s, &p) : explore(&s, &p);
  if (status == LB_OK && remaining(&s, &p) > unsettled)
    status = pin(&s, &p);
  if (status != LB_OK)
    return status;
  *best = (struct lb_economy){.stationarity = remaining(&s, &p), .work = p.work, .air = p.air};
  for (int i = 0; i < LB_ENDS; i++)
    if (s.variable[i] >= 0) {
      best->cutoff[i] = p.x[s.variable[i]];
      best->earliest[i] = best->cutoff[i] <= s.low[s.variable[i]];
    }
  return LB_OK;
}
