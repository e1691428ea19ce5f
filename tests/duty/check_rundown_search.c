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
  for (int i = 0; i <= LB_COASTING_MOTORING; i++)
    ck_assert_int_ge(seen[i], support_least(2));
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
    lb_follow_choose(&open->task, pressure * 1.04, cutoff); /* a guess, as a run has one */
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

/* The range of a timing on an isothermal store down to where it ends, by Simpson's rule in
 * its mass. Each revolution takes its air from the store, of which the
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
    PARTS = 8 /* of Simpson's rule in the mass */
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
  if (!isfinite(end) || open > start)
    return 0;
  return range_between(e, set_pressure, cutoff, start, open) +
         range_between(e, set_pressure, cutoff, open, end);
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

/* Both ends at work: a little more or less of anything goes no further. */
static void expect_regulated_nearby(enum lb_coasting coasting, double start, double load) {
  const double moves[] = {-0.1, -0.03, -0.01, 0, 0.01, 0.03, 0.1};
  enum {
    MOVES = sizeof moves / sizeof *moves
  };
  struct lb_machine m = rundown_case_machine();
  m.load.coasting = coasting;
  m.store.start_pressure = start;
  m.load_torque = load;
  struct rundown_case_task *open = rundown_case_open(&m, 0);
  struct emptying e = {&m, lb_cycle_new(), open->air};
  struct lb_policy best;
  double range;
  ck_assert(lb_best_regulated(&best, &range, &open->task));
  const double *own = best.position[0].cutoff;
  range = range_regulated(&e, best.set_pressure, own);
  for (int i = 0; i < MOVES * MOVES * MOVES; i++) {
    const double cutoff[LB_ENDS] = {own[LB_CAP_END] + moves[i % MOVES],
                                    own[LB_ROD_END] + moves[i / MOVES % MOVES]};
    double set = best.set_pressure * (1 + moves[i / MOVES / MOVES]);
    double other = range_regulated(&e, set, cutoff);
    ck_assert_msg(range >= other * (1 - 2e-5),
                  "coasting %d: %.9g at %.6g Pa %.4f %.4f, but %.9g at %.6g Pa %.4f %.4f", coasting,
                  range, best.set_pressure, own[0], own[1], other, set, cutoff[0], cutoff[1]);
  }
  lb_cycle_free(e.cycle);
  rundown_case_close(open);
}

/* The cut-off of the cap end that just carries the load on a supply. */
static double just_carries(const struct emptying *e, const struct lb_engine *engine,
                           double pressure) {
  double low = engine->low[LB_CAP_END], high = engine->high[LB_CAP_END];
  for (int i = 0; i < 40; i++) {
    double middle = (low + high) / 2;
    const double cutoff[LB_ENDS] = {middle, 0};
    *(yield_of(e->machine, e->cycle, pressure, cutoff) > 0 ? &high : &low) = middle;
  }
  return high;
}

/* Without coasting the best set pressure is one that its cut-off just carries the load on: of all
 * of these none goes further. */
static void expect_best_of_ridge(double load) {
  enum {
    SETTINGS = 60
  };
  struct lb_machine m = single_acting(LB_COASTING_NONE);
  m.load_torque = load;
  struct rundown_case_task *open = rundown_case_open(&m, 0);
  struct emptying e = {&m, lb_cycle_new(), open->air};
  struct lb_policy best;
  double range;
  ck_assert(lb_best_regulated(&best, &range, &open->task));
  for (int i = 0; i < SETTINGS; i++) {
    double set = best.set_pressure * (0.7 + 0.6 * i / SETTINGS);
    if (set > m.store.start_pressure - m.regulator.least_difference)
      break;
    const double cutoff[LB_ENDS] = {just_carries(&e, &open->task.engine, set), 0};
    double other = range_regulated(&e, set, cutoff);
    ck_assert_msg(range >= other * (1 - 2e-5), "load %g: %.9g at %.6g Pa, but %.9g at %.6g Pa",
                  load, range, best.set_pressure, other, set);
  }
  lb_cycle_free(e.cycle);
  rundown_case_close(open);
}

START_TEST(regulated_along_its_ridge) {
  for (int i = 1; i <= 6; i++)
    expect_best_of_ridge(i);
}
END_TEST

START_TEST(regulated_against_its_neighbours) {
  expect_regulated_nearby(LB_COASTING_NONE, 20e5, 30);
  expect_regulated_nearby(LB_COASTING_NONE, 12e5, 4);
  expect_regulated_nearby(LB_COASTING_MOTORING, 12e5, 4);
  expect_regulated_nearby(LB_COASTING_FREEWHEEL, 12e5, 9);
}
END_TEST

/* ---------- steps ---------- */

/* The range of positions, each down to where it changes or stops. */
static double range_of_positions(const struct emptying *e, const struct lb_position *position,
                                 int positions) {
  double from = e->machine->store.start_pressure, range = 0;
  for (int i = 0; i < positions; i++) {
    double to = fmax(stops_at(e, position[i].cutoff, e->machine->store.start_pressure),
                     i + 1 < positions ? position[i].to : 0);
    if (to < from)
      range += range_between(e, 0, position[i].cutoff, from, to);
    from = fmin(from, to);
  }
  return range;
}

static void expect_no_better(const struct emptying *e, const struct lb_policy *policy,
                             const struct lb_position *other, double found) {
  double range = range_of_positions(e, other, policy->positions);
  ck_assert_msg(found >= range * (1 - 2e-5), "coasting %d, %d positions: %.9g, but %.9g nearby",
                (int)e->machine->load.coasting, policy->positions, found, range);
}

/* Move every cut-off and every change by a little and by much: nothing goes further. */
static void expect_best_nearby(const struct emptying *e, const struct lb_policy *policy) {
  const double moves[] = {-0.2, -0.05, -0.01, 0.01, 0.05, 0.2};
  double found = range_of_positions(e, policy->position, policy->positions);
  ck_assert(found > 100);
  for (int i = 0; i < policy->positions; i++)
    for (size_t k = 0; k < sizeof moves / sizeof *moves; k++) {
      struct lb_policy other = *policy;
      struct lb_position *p = &other.position[i];
      p->to *= 1 + moves[k];
      expect_no_better(e, policy, other.position, found);
      p->to = policy->position[i].to;
      p->cutoff[LB_CAP_END] += moves[k];
      expect_no_better(e, policy, other.position, found);
      p->to = 0; /* as far as it carries the load */
      expect_no_better(e, policy, other.position, found);
    }
}

START_TEST(steps_against_their_neighbours) {
  for (int coasting = LB_COASTING_NONE; coasting <= LB_COASTING_FREEWHEEL; coasting++) {
    struct lb_machine m = single_acting((enum lb_coasting)coasting);
    struct rundown_case_task *open = rundown_case_open(&m, 0);
    struct emptying e = {&m, lb_cycle_new(), open->air};
    struct lb_policy policy[LB_STEPS_MOST + 1];
    ck_assert(lb_best_steps(policy, &open->task));
    for (int k = LB_STEPS_LEAST; k <= LB_STEPS_LEAST + 2; k++) {
      ck_assert_int_eq(policy[k].positions, k);
      expect_best_nearby(&e, &policy[k]);
    }
    lb_cycle_free(e.cycle);
    rundown_case_close(open);
  }
}
END_TEST

/* Of all pairs of cut-offs, the first used as far as it carries the load or a pressure of a grid,
 * none goes further. */
static void expect_best_two_steps(enum lb_coasting coasting) {
  enum {
    PLACES = 14,
    CHANGES = 8
  };
  struct lb_machine m = single_acting(coasting);
  struct rundown_case_task *open = rundown_case_open(&m, 0);
  struct emptying e = {&m, lb_cycle_new(), open->air};
  struct lb_policy policy[LB_STEPS_MOST + 1];
  ck_assert(lb_best_steps(policy, &open->task));
  double found = range_of_positions(&e, policy[2].position, policy[2].positions);
  for (int i = 0; i < PLACES; i++)
    for (int j = i; j < PLACES; j++)
      for (int k = 0; k < CHANGES; k++) {
        const struct lb_position pair[2] = {
            {.cutoff = {place_of(&open->task.engine, LB_CAP_END, i, PLACES)},
             .to = k * m.store.start_pressure / CHANGES},
            {.cutoff = {place_of(&open->task.engine, LB_CAP_END, j, PLACES)}}};
        expect_no_better(&e, &policy[2], pair, found);
      }
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
  tcase_add_test(cases, regulated_along_its_ridge);
  if (!support_is_rough()) { /* what they ask takes seconds as it is */
    tcase_add_test(cases, regulated_against_its_neighbours);
    tcase_add_test(cases, steps_against_their_neighbours);
    tcase_add_test(cases, two_steps_against_a_grid);
  }
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
