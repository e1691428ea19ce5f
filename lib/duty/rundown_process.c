/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The range as an integral over the air that leaves the store, for searches that need it many
 * times: five-point Gauss rules in the logarithm of the store's pressure.
 *
 *   range = integral of y dm,  dm/dp = V rho/p (1 - p/Z dZ/dp) [cv/cp without heat],
 *   1/y = 1/yield + leak 2 pi/speed
 */
#include "duty/rundown_parts.h"

#include "base/constants.h"

#include <math.h>

enum {
  GAUSS_POINTS = 5,
  PANELS = 3,           /* of a stretch with fixed cut-offs */
  FOLLOWING_PANELS = 7, /* of the whole way */
  ISENTROPIC_STEPS = 30 /* of Newton, at most */
};
static const double panel_ratio = 2;              /* [1] of pressures over a panel, at most */
static const double isentropic_tolerance = 1e-10; /* [K] */
static const double settled = 1e-10;              /* [1] of the supply's pressure */

/* ---------- the supply ---------- */

/* A machine behind a regulator that droops. */
struct drooping {
  struct lb_task *task;
  const struct lb_policy *policy;
  const struct lb_tank_state *state;
  const double *cutoff;
};

/* [kg/s] that the machine draws on a pressure. */
static double flow_on(const struct drooping *d, double pressure) {
  double work, air;
  lb_engine_look(&work, &air, &d->task->engine, pressure, d->cutoff);
  return fmax(air, 0) * d->task->engine.speed / (2 * LB_PI);
}

/* What a pressure is above the one that the regulator holds at the flow it makes. */
static double too_high(double pressure, void *context) {
  const struct drooping *d = context;
  return pressure - lb_tank_outlet_pressure(&d->task->tank, d->state, d->policy->set_pressure,
                                            flow_on(d, pressure));
}

/* The flow [kg/s] that goes with its own droop: it rises with the pressure, which falls with it, so
 * that they meet once. Below the least supply the machine draws what it does on that. */
static enum lb_status settle_flow(double *flow, const struct drooping *d, struct lb_error *error) {
  double set = d->policy->set_pressure, low = d->task->least_supply;
  double high = lb_tank_outlet_pressure(&d->task->tank, d->state, set, 0), settles = low;
  struct drooping context = *d;
  enum lb_status status = LB_OK;
  if (high > low && too_high(low, &context) < 0)
    status = lb_numeric_root(d->task->workspace, &settles, too_high, &context, low, high,
                             settled * high, error);
  *flow = status == LB_OK ? flow_on(d, settles) : 0;
  return status;
}

enum lb_status lb_policy_supply(struct lb_outlet *outlet, struct lb_task *task,
                                const struct lb_policy *policy, const struct lb_tank_state *state,
                                const double *cutoff, struct lb_error *error) {
  const struct drooping drooping = {task, policy, state, cutoff};
  double flow = 0;
  enum lb_status status = LB_OK;
  if (policy->set_pressure > 0 && task->machine->regulator.droop > 0)
    status = settle_flow(&flow, &drooping, error);
  return status == LB_OK
             ? lb_tank_outlet(outlet, &task->tank, state, policy->set_pressure, flow, error)
             : status;
}

/* ---------- the way down ---------- */

/* The temperature at which the air of the start has come down to a pressure without heat. */
static enum lb_status isentropic(double *temperature, const struct lb_task *task, double pressure,
                                 struct lb_error *error) {
  const struct lb_store *s = &task->machine->store;
  struct lb_real_state start, here;
  double t = s->temperature * pow(pressure / s->start_pressure, (LB_GAMMA - 1) / LB_GAMMA);
  enum lb_status status =
      lb_real_air_state(&start, task->air, s->start_pressure, s->temperature, error);
  for (int i = 0; status == LB_OK && i < ISENTROPIC_STEPS; i++) {
    status = lb_real_air_state(&here, task->air, pressure, t, error);
    if (status != LB_OK)
      break;
    double step = t / here.isobaric_heat * (start.entropy - here.entropy);
    t += step;
    if (fabs(step) <= isentropic_tolerance)
      break;
  }
  *temperature = t;
  return status;
}

enum lb_status lb_process_at(struct lb_tank_state *state, const struct lb_task *task,
                             double pressure, struct lb_error *error) {
  const struct lb_store *s = &task->machine->store;
  *state = (struct lb_tank_state){.temperature = s->temperature, .pressure = pressure};
  enum lb_status status = LB_OK;
  if (s->heat == LB_STORE_ADIABATIC)
    status = isentropic(&state->temperature, task, pressure, error);
  if (status == LB_OK)
    status = lb_real_air_state(&state->gas, task->air, pressure, state->temperature, error);
  state->mass = status == LB_OK ? s->volume * state->gas.density : 0;
  return status;
}

/* Air that leaves for a fall of pressure of the store [kg/Pa]. */
static double air_per_pressure(const struct lb_task *task, const struct lb_tank_state *state) {
  const struct lb_real_state *g = &state->gas;
  double isothermal = state->mass / state->pressure *
                      (1 - state->pressure / g->compressibility * g->compressibility_by_pressure);
  return task->machine->store.heat == LB_STORE_ADIABATIC
             ? isothermal * g->isochoric_heat / g->isobaric_heat
             : isothermal;
}

/* Range for each kilogram that leaves the store at a state of it. */
static double range_per_kg(struct lb_task *task, const struct lb_policy *policy,
                           const struct lb_tank_state *state, const double *cutoff) {
  struct lb_outlet outlet;
  if (lb_policy_supply(&outlet, task, policy, state, cutoff, NULL) != LB_OK)
    return (double)NAN;
  double yield = lb_task_yield(task, outlet.pressure, cutoff) * outlet.temperature /
                 task->engine.look_temperature;
  if (!(yield > 0))
    return 0;
  double speed = task->engine.speed;
  double leak = speed > 0 ? lb_tank_leak(&task->tank, state) * 2 * LB_PI / speed : 0;
  return 1 / (1 / yield + leak);
}

/* What is integrated: range for each ratio of pressures. */
struct stretch {
  struct lb_task *task;
  const struct lb_policy *policy;
  double followed[LB_ENDS]; /* the last cut-offs of one that follows */
};

static double integrand(struct stretch *s, double logarithm) {
  struct lb_tank_state state;
  const double *used = s->policy->position[0].cutoff;
  if (lb_process_at(&state, s->task, exp(logarithm), NULL) != LB_OK)
    return (double)NAN;
  if (s->policy->follows) {
    if (!lb_follow_choose(s->task, state.pressure, s->followed))
      return 0;
    used = s->followed;
  }
  return range_per_kg(s->task, s->policy, &state, used) * air_per_pressure(s->task, &state) *
         state.pressure;
}

/* The five-point rule of Gauss and Legendre on panels of equal ratios of pressure. */
static double integrate(struct stretch *s, double from, double to, int panels) {
  double far = sqrt(5 + 2 * sqrt(10 / 7.0)) / 3, near = sqrt(5 - 2 * sqrt(10 / 7.0)) / 3;
  double heavy = (322 + 13 * sqrt(70)) / 900, light = (322 - 13 * sqrt(70)) / 900;
  const double node[GAUSS_POINTS] = {-far, -near, 0, near, far};
  const double weight[GAUSS_POINTS] = {light, heavy, 128 / 225.0, heavy, light};
  double half = log(from / to) / panels / 2, sum = 0;
  for (int panel = 0; panel < panels; panel++)
    for (int i = 0; i < GAUSS_POINTS; i++)
      sum += weight[i] * integrand(s, log(to) + half * (2 * panel + 1 + node[i]));
  return half * sum;
}

static struct lb_policy fixed_policy(double set_pressure, const double *cutoff) {
  struct lb_policy policy = {.set_pressure = set_pressure, .positions = 1};
  for (int end = 0; end < LB_ENDS; end++)
    policy.position[0].cutoff[end] = cutoff[end];
  return policy;
}

static int panels_of(double from, double to) {
  return 1 + (int)(log(from / to) / log(panel_ratio));
}

double lb_process_cell(struct lb_task *task, const double *cutoff, double from, double to) {
  struct lb_policy policy = fixed_policy(0, cutoff);
  struct stretch s = {.task = task, .policy = &policy};
  return log(from / to) * integrand(&s, (log(from) + log(to)) / 2);
}

double lb_process_fixed(struct lb_task *task, double set_pressure, const double *cutoff,
                        double from, double to) {
  struct lb_policy policy = fixed_policy(set_pressure, cutoff);
  struct stretch s = {.task = task, .policy = &policy};
  double wide_open =
      set_pressure > 0 ? set_pressure + task->machine->regulator.least_difference : 0;
  if (!(from > to))
    return 0;
  if (!(wide_open > to && wide_open < from))
    return integrate(&s, from, to, panels_of(from, to));
  return integrate(&s, from, wide_open, panels_of(from, wide_open)) +
         integrate(&s, wide_open, to, panels_of(wide_open, to));
}

double lb_process_end(struct lb_task *task, double set_pressure, const double *cutoff) {
  const struct lb_store *s = &task->machine->store;
  double difference = set_pressure > 0 ? task->machine->regulator.least_difference : 0;
  double highest =
      set_pressure > 0 ? fmin(set_pressure, s->start_pressure - difference) : s->start_pressure;
  return fmax(lb_follow_least(task, cutoff, highest) + difference, s->lowest_pressure);
}

double lb_process_timing(struct lb_task *task, double set_pressure, const double *cutoff) {
  double end = lb_process_end(task, set_pressure, cutoff);
  return isfinite(end) ? lb_process_fixed(task, set_pressure, cutoff,
                                          task->machine->store.start_pressure, end)
                       : 0;
}

double lb_process_following(struct lb_task *task) {
  struct lb_policy policy = {.follows = true};
  struct stretch s = {.task = task, .policy = &policy};
  double end = lb_process_end(task, 0, NULL);
  double start = task->machine->store.start_pressure;
  return end < start ? integrate(&s, start, end, FOLLOWING_PANELS) : 0;
}
