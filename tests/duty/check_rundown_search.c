/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is chosen for a plan: more freedom never goes less far, over random machines; and against
 * grids of cut-offs and set pressures, walked through here, nothing better is found.
 */
#include "base/constants.h"
#include "rundown_case.h"
#include "support.h"

#include <stdlib.h>

/* ---------- more freedom never goes less far ---------- */

/* The range of a plan, 0 if it does not run. */
static double range_of(const struct lb_rundown *r, enum lb_plan plan, int steps) {
  const struct lb_run *run = rundown_case_run(r, plan, steps);
  return run->ran ? run->revolutions : 0;
}

static void expect_order(const struct lb_rundown *r, int sample, double tolerance) {
  double last = range_of(r, LB_PLAN_UNREGULATED, 0);
  for (int k = LB_STEPS_LEAST; k <= LB_STEPS_MOST + 1; k++) {
    bool follows = k > LB_STEPS_MOST;
    double range = range_of(r, follows ? LB_PLAN_FOLLOWING : LB_PLAN_STEPPED, follows ? 0 : k);
    ck_assert_msg(range >= last * (1 - tolerance), "machine %d, %s %d: %.9g after %.9g", sample,
                  follows ? "following" : "steps", k, range, last);
    last = range;
  }
  ck_assert(last > 0);
  double given = range_of(r, LB_PLAN_REGULATED, 0), best = range_of(r, LB_PLAN_REGULATED_BEST, 0);
  ck_assert_msg(best >= given * (1 - tolerance), "machine %d, regulated: best %.9g, given %.9g",
                sample, best, given);
}

/* Without coasting the range is the powered revolutions, with it all of them. */
START_TEST(order_of_the_plans) {
  uint64_t state = 20;
  int samples = support_times(12), seen[LB_COASTING_MOTORING + 1] = {0};
  for (int i = 0; i < samples; i++) {
    struct lb_machine m;
    rundown_case_random(&m, &state);
    struct lb_rundown *r = rundown_case_find(&m, 0, false);
    seen[m.load.coasting]++;
    expect_order(r, i, 1e-6);
    lb_rundown_free(r);
  }
  for (int i = 0; i <= LB_COASTING_MOTORING && !support_is_rough(); i++)
    ck_assert_int_ge(seen[i], 2);
}
END_TEST

/* ---------- grids ---------- */

/* The range that a kilogram brings: the definition, with the revolution as it is. */
static double yield_of(const struct lb_machine *machine, struct lb_cycle *cycle, double pressure,
                       const double *cutoff) {
  struct lb_machine m = *machine;
  struct lb_revolution r;
  m.supply_pressure = pressure;
  if (lb_cycle_prepare(cycle, &m, NULL) != LB_OK || lb_cycle_turn(&r, cycle, cutoff, NULL) != LB_OK)
    return 0;
  double load = 2 * LB_PI * m.load_torque;
  double paid =
      m.load.coasting == LB_COASTING_MOTORING ? 2 * m.linkage.stroke * m.friction * m.cylinders : 0;
  double gain = m.load.coasting == LB_COASTING_NONE ? 1 : (r.work + paid) / (load + paid);
  return r.work >= load * (1 - 1e-8) && r.air > 0 ? gain / r.air : 0;
}

/* The i-th of n cut-offs over the window of an end. */
static double place_of(const struct lb_engine *e, int end, int i, int n) {
  return e->low[end] + (e->high[end] - e->low[end]) * i / (n - 1);
}

static double best_of_grid(const struct lb_machine *m, const struct lb_engine *e,
                           struct lb_cycle *cycle, double pressure) {
  enum {
    PLACES = 25
  };
  double best = 0;
  int cap = m->works[LB_CAP_END] ? PLACES : 1, rod = m->works[LB_ROD_END] ? PLACES : 1;
  for (int i = 0; i < cap; i++)
    for (int j = 0; j < rod; j++) {
      const double cutoff[LB_ENDS] = {cap > 1 ? place_of(e, LB_CAP_END, i, PLACES) : 0,
                                      rod > 1 ? place_of(e, LB_ROD_END, j, PLACES) : 0};
      best = fmax(best, yield_of(m, cycle, pressure, cutoff));
    }
  return best;
}

START_TEST(best_cutoff_against_a_grid) {
  uint64_t state = 31;
  int samples = support_times(40), feasible = 0;
  struct lb_cycle *cycle = lb_cycle_new();
  for (int i = 0; i < samples; i++) {
    struct lb_machine m;
    double cutoff[LB_ENDS] = {0};
    rundown_case_random(&m, &state);
    struct rundown_case_task *open = rundown_case_open(&m, 0);
    double pressure = m.store.start_pressure * support_between(&state, 0.3, 1);
    double grid = best_of_grid(&m, &open->task.engine, cycle, pressure);
    if (lb_follow_choose(&open->task, pressure, cutoff)) {
      double chosen = yield_of(&m, cycle, pressure, cutoff);
      feasible++;
      ck_assert_msg(chosen > 0 && chosen >= grid * (1 - 1e-6),
                    "machine %d at %.6g Pa: chosen %.9g, grid %.9g", i, pressure, chosen, grid);
    } else {
      ck_assert_msg(grid == 0, "machine %d at %.6g Pa: none chosen, grid %.9g", i, pressure, grid);
    }
    rundown_case_close(open);
  }
  ck_assert(support_is_rough() || (feasible > samples / 2 && feasible < samples));
  lb_cycle_free(cycle);
}
END_TEST

/* The range of a timing on an isothermal store down to where it ends, by the rule of trapezoids
 * over the logarithm of the pressure. Each revolution takes its air from the store, of which the
 * state of air tells the content. */
struct emptying {
  const struct lb_machine *machine;
  struct lb_cycle *cycle;
  const struct lb_real_air *air;
};

static double mass_at(const struct emptying *e, double pressure) {
  return e->machine->store.volume *
         rundown_case_air(e->air, pressure, e->machine->store.temperature).density;
}

/* The range between two pressures behind a regulator, or without one. */
static double range_between(const struct emptying *e, double set_pressure, const double *cutoff,
                            double from, double to) {
  enum {
    PARTS = 12 /* of Simpson's rule in the mass */
  };
  double difference = set_pressure > 0 ? e->machine->regulator.least_difference : 0;
  double high = mass_at(e, from), low = mass_at(e, to), sum = 0, t = e->machine->store.temperature;
  for (int i = 0; i <= PARTS; i++) {
    double weight = i == 0 || i == PARTS ? 1 : i % 2 == 1 ? 4 : 2;
    double mass = low + (high - low) * i / PARTS, p = mass / high * from;
    for (int k = 0; k < 6; k++)
      p *= mass / mass_at(e, p);
    double supply = set_pressure > 0 ? fmin(set_pressure, p - difference) : p;
    struct lb_machine m = *e->machine;
    m.supply_temperature = t;
    sum += weight * yield_of(&m, e->cycle, supply, cutoff);
  }
  return sum * (high - low) / PARTS / 3;
}

/* Where a timing stops [Pa absolute] of the supply: halved until there is nothing between. */
static double stops_at(const struct emptying *e, const double *cutoff, double highest) {
  double low = e->machine->back_pressure, high = highest;
  if (!(yield_of(e->machine, e->cycle, high, cutoff) > 0))
    return (double)INFINITY;
  for (int i = 0; i < 40; i++) {
    double middle = (low + high) / 2;
    *(yield_of(e->machine, e->cycle, middle, cutoff) > 0 ? &high : &low) = middle;
  }
  return high;
}

static double range_regulated(const struct emptying *e, double set_pressure, const double *cutoff) {
  double start = e->machine->store.start_pressure;
  double difference = e->machine->regulator.least_difference, open = set_pressure + difference;
  double end = stops_at(e, cutoff, set_pressure) + difference;
  return end < open ? range_between(e, set_pressure, cutoff, start, open) +
                          range_between(e, set_pressure, cutoff, open, end)
                    : 0;
}

/* A cylinder with one worked end, so that grids have few sides. */
static struct lb_machine single_acting(enum lb_coasting coasting) {
  struct lb_machine m = rundown_case_machine();
  m.works[LB_ROD_END] = false;
  m.load.coasting = coasting;
  m.load_torque = 2;
  m.store.volume = 0.02;
  return m;
}

static void expect_best_regulated(enum lb_coasting coasting) {
  enum {
    SETTINGS = 10,
    PLACES = 16
  };
  struct lb_machine m = single_acting(coasting);
  struct rundown_case_task *open = rundown_case_open(&m, 0);
  struct emptying e = {&m, lb_cycle_new(), open->air};
  struct lb_policy policy;
  double range, grid = 0;
  double highest = m.store.start_pressure - m.regulator.least_difference;
  ck_assert(lb_best_regulated(&policy, &range, &open->task));
  ck_close_relative(range, range_regulated(&e, policy.set_pressure, policy.position[0].cutoff),
                    1e-3);
  for (int i = 1; i <= SETTINGS; i++)
    for (int j = 0; j < PLACES; j++) {
      double set = m.back_pressure + (highest - m.back_pressure) * i / SETTINGS;
      const double cutoff[LB_ENDS] = {place_of(&open->task.engine, LB_CAP_END, j, PLACES), 0};
      grid = fmax(grid, range_regulated(&e, set, cutoff));
    }
  ck_assert(grid > 100);
  ck_assert_msg(range >= grid * (1 - 1e-4), "coasting %d: %.9g, grid %.9g", coasting, range, grid);
  lb_cycle_free(e.cycle);
  rundown_case_close(open);
}

START_TEST(best_regulated_against_a_grid) {
  expect_best_regulated(LB_COASTING_NONE);
  expect_best_regulated(LB_COASTING_FREEWHEEL);
}
END_TEST

/* The best use of two cut-offs one after the other: the first from the start down to where the
 * second yields more, or to where it stops. */
static void expect_best_two_steps(enum lb_coasting coasting) {
  enum {
    PLACES = 40,
    CELLS = 60
  };
  static double sum[PLACES][CELLS + 1];
  struct lb_machine m = single_acting(coasting);
  struct rundown_case_task *open = rundown_case_open(&m, 0);
  struct emptying e = {&m, lb_cycle_new(), open->air};
  struct lb_policy policy[LB_STEPS_MOST + 1];
  double found = 0, grid = 0, start = m.store.start_pressure;
  ck_assert(lb_best_steps(policy, &open->task));
  for (int i = 0; i < policy[2].positions; i++) {
    const struct lb_position *p = &policy[2].position[i];
    found += range_between(&e, 0, p->cutoff, p->from, p->to * (1 + 1e-9));
  }
  /* A change lies between two cells: each is whole for one of the two. */
  for (int j = 0; j < PLACES; j++) {
    const double cutoff[LB_ENDS] = {place_of(&open->task.engine, LB_CAP_END, j, PLACES), 0};
    double stop = stops_at(&e, cutoff, start);
    for (int i = 0; i < CELLS; i++) {
      double high = start * pow(m.back_pressure / start, (double)i / CELLS);
      double low = start * pow(m.back_pressure / start, (double)(i + 1) / CELLS);
      double to = fmax(low, stop);
      sum[j][i + 1] = sum[j][i];
      if (to < high)
        sum[j][i + 1] += log(high / to) / log(high / low) * range_between(&e, 0, cutoff, high, low);
    }
  }
  for (int j = 0; j < PLACES; j++)
    for (int k = 0; k < PLACES; k++)
      for (int i = 0; i <= CELLS; i++)
        grid = fmax(grid, sum[j][i] + sum[k][CELLS] - sum[k][i]);
  ck_assert(grid > 100);
  ck_assert_msg(found >= grid * (1 - 1e-4), "coasting %d: %.9g, grid %.9g", coasting, found, grid);
  lb_cycle_free(e.cycle);
  rundown_case_close(open);
}

START_TEST(two_steps_against_a_grid) {
  expect_best_two_steps(LB_COASTING_NONE);
  expect_best_two_steps(LB_COASTING_FREEWHEEL);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("duty/rundown: searches");
  TCase *cases = tcase_create("searches");
  tcase_add_test(cases, order_of_the_plans);
  tcase_add_test(cases, best_cutoff_against_a_grid);
  tcase_add_test(cases, best_regulated_against_a_grid);
  tcase_add_test(cases, two_steps_against_a_grid);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
