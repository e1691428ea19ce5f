/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The economical cut-offs: stationary, better than their neighbours and than dense grids, with the
 * properties the theory gives them, and a plain answer where there is none.
 */
#include "base/constants.h"
#include "decide/cutoff.h"
#include "decide/economy.h"
#include "physics/air.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/timing.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

enum {
  MACHINES = 1000,
  GRIDS = 400, /* machines searched by brute force */
  GRID = 60
};

/* More than this is better, not rounding [1]. */
static const double surpass = 1e-9;

static struct lb_cycle *cycle;

static void set_up(void) {
  cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
}

static void tear_down(void) {
  lb_cycle_free(cycle);
}

static void prepare(const struct lb_machine *machine) {
  struct lb_error error;
  enum lb_status status = lb_cycle_prepare(cycle, machine, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
}

/* Work per kilogram at cut-offs; 0 where there is no work, no air or no revolution. */
static double worth(const double *cutoff) {
  struct lb_revolution r;
  if (lb_cycle_turn(&r, cycle, cutoff, NULL) != LB_OK || !(r.work > 0 && r.air > 0))
    return 0;
  return r.work_per_kg;
}

static void windows(double *low, double *high, const struct lb_machine *m) {
  for (int end = 0; end < LB_ENDS; end++) {
    low[end] = high[end] = 0;
    if (m->works[end])
      lb_timing_window(&low[end], &high[end], m, (enum lb_end)end);
  }
}

/* Whether heat alone can turn the machine: it takes in warm air and gives back as much that the
 * surroundings have cooled, so W/m knows no bound. No cut-off is economical then. */
static bool heat_engine(const struct lb_machine *m, double work_per_kg) {
  double hottest = fmax(m->supply_temperature, m->ambient_temperature);
  return work_per_kg > lb_air_isothermal_ideal(hottest, m->supply_pressure, m->back_pressure);
}

/* What the exponents forbid, and what a heat engine would do, is no matter of the search. */
static bool unbelieved(const struct lb_choice *choice) {
  return strstr(choice->why, "exponents closer to each other") != NULL ||
         strstr(choice->why, "would live on the warmth") != NULL;
}

/* An answer that does more than the air drawn holds is refused, and some machines have no other. */
START_TEST(no_answer_lives_on_heat) {
  uint64_t state = 59;
  int refused = 0;
  for (int i = 0; i < 2 * MACHINES; i++) {
    struct lb_machine m;
    struct lb_choice choice;
    random_machine(&m, &state);
    m.expansion_exponent = m.compression_exponent = 1;
    m.supply_temperature = m.ambient_temperature + 60;
    m.friction = m.friction_share = 0;
    prepare(&m);
    ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
    ck_assert(!choice.found || !heat_engine(&m, choice.revolution.work_per_kg));
    refused += unbelieved(&choice);
  }
  ck_assert_int_gt(refused, 0);
}
END_TEST

/* Call with the economical choice of random machines that have one; returns how many had. */
static int every_choice(uint64_t state, int machines,
                        void (*check)(const struct lb_machine *, const struct lb_choice *)) {
  struct tally tally = {{0}};
  int found = 0;
  for (int i = 0; i < machines; i++) {
    struct lb_machine m;
    struct lb_choice choice;
    random_machine(&m, &state);
    prepare(&m);
    ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
    if (!choice.found || heat_engine(&m, choice.revolution.work_per_kg))
      continue;
    tally_add(&tally, &m);
    check(&m, &choice);
    found++;
  }
  tally_require(&tally, machines / 30);
  return found;
}

/* Whether an end of a choice sits on the bend of m where its release passes back pressure: the
 * slope jumps there, and it may jump through zero. */
static bool on_bend(const struct lb_machine *m, const struct lb_choice *c, int end) {
  bool bends = m->timing[end].inlet_opens < 0 || machine_is(m, CASE_BLOW_BACK);
  double release = c->revolution.end[end].turn.release_pressure / m->back_pressure;
  return bends && fabs(release - 1) < 1e-9;
}

static void check_stationary(const struct lb_machine *m, const struct lb_choice *choice) {
  struct lb_cycle_slope s;
  double low[LB_ENDS], high[LB_ENDS];
  const double *x = choice->cutoff;
  double slack = 1 + 1e-3 * lb_cycle_ceiling(m) / choice->revolution.work;
  windows(low, high, m);
  ck_assert_int_eq(lb_cycle_slopes(&s, cycle, x, NULL), LB_OK);
  ck_assert(choice->stationarity <= 1e-11 * slack);
  for (int end = 0; end < LB_ENDS; end++) {
    double slope = (s.work_per_angle[end] - s.work / s.air * s.air_per_angle[end]) / s.work;
    if (!m->works[end])
      continue;
    ck_assert(x[end] >= low[end] && x[end] <= high[end]);
    ck_assert(choice->earliest[end] == (x[end] == low[end]));
    if (x[end] == low[end])
      ck_assert(slope <= SOLVER * slack);
    else if (x[end] == high[end])
      ck_assert(slope >= -SOLVER * slack);
    else if (!on_bend(m, choice, end))
      ck_close(slope, 0, 1e-11 * slack);
  }
}

START_TEST(stationary) {
  ck_assert_int_gt(every_choice(51, 2 * MACHINES, check_stationary), MACHINES);
}
END_TEST

/* No cut-off beside the one found, of one end or both, is better. */
static void check_neighbours(const struct lb_machine *m, const struct lb_choice *choice) {
  const double step[] = {-1, -0.1, -0.01, 0, 0.01, 0.1, 1};
  const int steps = sizeof step / sizeof step[0];
  double low[LB_ENDS], high[LB_ENDS], best = choice->revolution.work_per_kg;
  windows(low, high, m);
  for (int i = 0; i < steps * steps; i++) {
    const double by[LB_ENDS] = {step[i % steps] * LB_PI / 180, step[i / steps] * LB_PI / 180};
    double beside[LB_ENDS];
    for (int end = 0; end < LB_ENDS; end++)
      beside[end] = fmin(fmax(choice->cutoff[end] + by[end], low[end]), high[end]);
    ck_assert(worth(beside) <= best * (1 + 1e-12));
  }
}

START_TEST(better_than_its_neighbours) {
  ck_assert_int_gt(every_choice(52, MACHINES, check_neighbours), MACHINES / 2);
}
END_TEST

/* The best of a grid over both windows, `points` each way; `at` gets the place. */
static double grid(double *at, const struct lb_machine *m, int points) {
  double low[LB_ENDS], high[LB_ENDS], best = 0;
  int cap = m->works[LB_CAP_END] ? points : 1, rod = m->works[LB_ROD_END] ? points : 1;
  windows(low, high, m);
  for (int i = 0; i < cap * rod; i++) {
    const double share[LB_ENDS] = {i % cap / (points - 1.0), i / cap / (points - 1.0)};
    double x[LB_ENDS];
    for (int end = 0; end < LB_ENDS; end++)
      x[end] = fmin(low[end] + (high[end] - low[end]) * share[end], high[end]);
    double value = worth(x);
    if (value > best) {
      best = value;
      memcpy(at, x, sizeof x);
    }
  }
  return best;
}

/* Search a machine both ways; the grid must not find more. Returns 1 when found, -1 when neither
 * finds anything, 0 when there is nothing to compare. */
static int compare_with_grid(const struct lb_machine *m, int points) {
  struct lb_choice choice;
  double at[LB_ENDS] = {0};
  prepare(m);
  ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
  double best = grid(at, m, points), found = choice.found ? choice.revolution.work_per_kg : 0;
  if (unbelieved(&choice) || heat_engine(m, fmax(best, found)))
    return 0;
  ck_assert_msg(best <= found * (1 + surpass),
                "%.10g J/kg at %g and %g rad, but %.10g at %g and %g: %s", found, choice.cutoff[0],
                choice.cutoff[1], best, at[0], at[1], choice.why);
  return choice.found ? 1 : -1;
}

START_TEST(better_than_a_dense_grid) {
  uint64_t state = 53;
  int compared = 0, none = 0;
  for (int i = 0; i < support_times(GRIDS); i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    int outcome = compare_with_grid(&m, GRID);
    compared += outcome > 0;
    none += outcome < 0;
  }
  ck_assert_int_gt(compared, support_least(300));
  ck_assert_int_gt(none, support_least(5));
}
END_TEST

/* What is trapped counts most where it is warm: with lead or over-compression the air drawn bends
 * where outside air comes in, and either side may have its own maximum. */
START_TEST(either_side_of_a_bend) {
  uint64_t state = 58;
  int compared = 0;
  for (int i = 0; i < 2 * MACHINES; i++) {
    struct lb_machine m;
    random_machine(&m, &state);
    m.expansion_exponent = m.compression_exponent = support_between(&state, 1, 1.05);
    m.supply_temperature = m.ambient_temperature + support_between(&state, 20, 60);
    m.friction = m.friction_share = 0;
    if (machine_is(&m, CASE_LEAD) || machine_is(&m, CASE_BLOW_BACK))
      compared += compare_with_grid(&m, 24) > 0;
  }
  ck_assert_int_gt(compared, MACHINES);
}
END_TEST

/* With lead the earliest cut-offs give air back, which the start's own rule does not see; there is
 * work to be had further on. */
START_TEST(start_where_air_is_given_back) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  m.works[LB_CAP_END] = false;
  m.bore = 0.05;
  m.dead_volume[LB_ROD_END] = 5e-5;
  m.supply_pressure = 10.6e5;
  m.back_pressure = 2.5e5;
  m.supply_temperature = 308;
  m.ambient_temperature = 278;
  m.friction_share = 0.01;
  m.expansion_exponent = m.compression_exponent = 1.05;
  m.timing[LB_ROD_END] =
      (struct lb_timing){.inlet_opens = -0.4, .release = 2.4, .exhaust_closes = 3.74};
  ck_assert_int_eq(compare_with_grid(&m, 400), 1);
}
END_TEST

START_TEST(common_angle_better_than_a_dense_grid) {
  uint64_t state = 54;
  int compared = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    struct lb_choice choice, each;
    double low[LB_ENDS], high[LB_ENDS], best = 0;
    random_machine(&m, &state);
    if (!machine_is(&m, CASE_DOUBLE_ACTING))
      continue;
    if (i % 2)
      m.friction_share = 0;
    prepare(&m);
    windows(low, high, &m);
    ck_assert_int_eq(lb_cutoff_common(&choice, cycle, LB_COMMON_ECONOMY, 0, NULL), LB_OK);
    ck_assert_int_eq(lb_cutoff_economy(&each, cycle, NULL), LB_OK);
    double from = fmax(low[0], low[1]), to = fmin(high[0], high[1]);
    for (int k = 0; k <= 1000; k++) {
      double x = fmin(from + (to - from) * k / 1000, to);
      best = fmax(best, worth((const double[LB_ENDS]){x, x}));
    }
    double found = choice.found ? choice.revolution.work_per_kg : 0;
    if (unbelieved(&choice) || heat_engine(&m, fmax(best, found)))
      continue;
    ck_assert_msg(best <= found * (1 + surpass), "machine %d: %.10g at %g, but %.10g", i, found,
                  choice.cutoff[0], best);
    ck_assert(!choice.found || choice.cutoff[0] == choice.cutoff[1]);
    if (choice.found && each.found)
      ck_assert(found <= each.revolution.work_per_kg * (1 + surpass));
    compared += choice.found;
  }
  ck_assert_int_gt(compared, support_least(400));
}
END_TEST

/* With one end worked the common angle is that end's own. */
START_TEST(common_angle_of_one_end) {
  uint64_t state = 55;
  int seen = 0;
  for (int i = 0; i < support_times(MACHINES / 2); i++) {
    struct lb_machine m;
    struct lb_choice own, common;
    random_machine(&m, &state);
    if (machine_is(&m, CASE_DOUBLE_ACTING))
      continue;
    prepare(&m);
    ck_assert_int_eq(lb_cutoff_economy(&own, cycle, NULL), LB_OK);
    ck_assert_int_eq(lb_cutoff_common(&common, cycle, LB_COMMON_ECONOMY, 0, NULL), LB_OK);
    ck_assert(own.found == common.found);
    ck_assert(memcmp(own.cutoff, common.cutoff, sizeof own.cutoff) == 0);
    seen += own.found;
  }
  ck_assert_int_gt(seen, support_least(100));
}
END_TEST

/* Without friction share, lead and over-compression dW = (W/m) dm reads
 * n/(n-1) R T_s [1 - (V_c/V_r)^(n-1)] = W/m at every end inside its window: all release at one
 * pressure, never below back pressure. */
static void check_margin(const struct lb_machine *m, const struct lb_choice *choice, int end,
                         double *release) {
  double low[LB_ENDS], high[LB_ENDS], n = m->expansion_exponent;
  double x = choice->cutoff[end], lambda = choice->revolution.work_per_kg;
  windows(low, high, m);
  ck_assert(choice->earliest[end] == (x == low[end]));
  if (x == low[end] || x == high[end])
    return;
  double ratio = reference_volume(m, (enum lb_end)end, x) /
                 reference_volume(m, (enum lb_end)end, m->timing[end].release);
  double heat = LB_GAS_CONSTANT * m->supply_temperature;
  double margin = n == 1 ? -heat * log(ratio) : heat * n / (n - 1) * (1 - pow(ratio, n - 1));
  double pressure = choice->revolution.end[end].turn.release_pressure;
  ck_close_relative(margin, lambda, 1e-9);
  ck_assert(pressure >= m->back_pressure * (1 - 1e-9));
  if (*release > 0)
    ck_close_relative(pressure, *release, 1e-9);
  *release = pressure;
}

START_TEST(equal_release_pressures) {
  uint64_t state = 56;
  int both = 0;
  for (int i = 0; i < 2 * MACHINES; i++) {
    struct lb_machine m;
    struct lb_choice choice;
    random_machine(&m, &state);
    m.friction_share = 0;
    prepare(&m);
    if (machine_is(&m, CASE_LEAD) || machine_is(&m, CASE_BLOW_BACK) || machine_is(&m, CASE_UNEQUAL))
      continue;
    ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
    double release = 0, cap = 0;
    for (int end = 0; choice.found && end < LB_ENDS; end++) {
      if (m.works[end])
        check_margin(&m, &choice, end, &release);
      both += end == LB_ROD_END && cap > 0 && release > 0;
      cap = release;
    }
  }
  ck_assert_int_gt(both, 50);
}
END_TEST

/* Friction that takes everything: no answer, and the supply named turns the machine. */
START_TEST(too_much_friction) {
  uint64_t state = 57;
  int named = 0;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine m;
    struct lb_choice choice;
    random_machine(&m, &state);
    m.friction = 2 * m.supply_pressure * LB_PI / 4 * m.bore * m.bore;
    prepare(&m);
    ck_assert_int_eq(lb_cutoff_economy(&choice, cycle, NULL), LB_OK);
    ck_assert(!choice.found);
    if (unbelieved(&choice))
      continue;
    ck_assert(!choice.end_found[LB_CAP_END] && !choice.end_found[LB_ROD_END]);
    ck_assert_str_eq(choice.why,
                     "friction and back pressure take all the work the air gives, at any cut-off");
    const char *number = "a supply of more than ", *text = choice.would_do;
    if (strncmp(text, number, strlen(number)) != 0)
      continue;
    double least = strtod(text + strlen(number), NULL) * 1e5 + m.ambient_pressure, hair = 2e3;
    double low[LB_ENDS], high[LB_ENDS];
    windows(low, high, &m);
    m.supply_pressure = least + hair;
    prepare(&m);
    struct lb_cycle_slope s;
    ck_assert_int_eq(lb_cycle_slopes(&s, cycle, high, NULL), LB_OK);
    ck_assert(s.work > 0);
    m.supply_pressure = least - hair;
    prepare(&m);
    ck_assert_int_eq(lb_cycle_slopes(&s, cycle, high, NULL), LB_OK);
    ck_assert(s.work < 0);
    named++;
  }
  ck_assert_int_gt(named, support_least(100));
}
END_TEST

/* Windows that share no angle. */
START_TEST(nothing_in_common) {
  struct lb_machine m;
  struct lb_choice choice;
  lb_machine_defaults(&m);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  m.bore = 0.05;
  m.rod_diameter = 0.02;
  m.supply_pressure = 7e5;
  m.dead_volume[LB_CAP_END] = m.dead_volume[LB_ROD_END] = 1e-5;
  m.timing[LB_CAP_END].release = 1;
  m.timing[LB_ROD_END].inlet_opens = 1.5;
  prepare(&m);
  ck_assert_int_eq(lb_cutoff_common(&choice, cycle, LB_COMMON_ECONOMY, 0, NULL), LB_OK);
  ck_assert(!choice.found);
  ck_assert_str_eq(choice.why, "the ends have no cut-off angle in common");
  m.supply_pressure = 1.5e5; /* both have an atmospheric cut-off, at 0.9 and 2.1 rad */
  prepare(&m);
  ck_assert_int_eq(lb_cutoff_atmospheric(&choice, cycle, 0, NULL), LB_OK);
  ck_assert(choice.found);
  ck_assert_int_eq(lb_cutoff_common(&choice, cycle, LB_COMMON_ATMOSPHERIC, 0, NULL), LB_OK);
  ck_assert(!choice.found);
  ck_assert_str_eq(choice.why, "the ends have no cut-off angle in common");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("economy");
  TCase *optimum = tcase_create("optimum");
  tcase_set_timeout(optimum, 60);
  tcase_add_checked_fixture(optimum, set_up, tear_down);
  tcase_add_test(optimum, stationary);
  tcase_add_test(optimum, better_than_its_neighbours);
  tcase_add_test(optimum, better_than_a_dense_grid);
  tcase_add_test(optimum, either_side_of_a_bend);
  tcase_add_test(optimum, no_answer_lives_on_heat);
  tcase_add_test(optimum, start_where_air_is_given_back);
  tcase_add_test(optimum, common_angle_better_than_a_dense_grid);
  tcase_add_test(optimum, common_angle_of_one_end);
  tcase_add_test(optimum, equal_release_pressures);
  suite_add_tcase(suite, optimum);
  TCase *none = tcase_create("no answer");
  tcase_add_checked_fixture(none, set_up, tear_down);
  tcase_add_test(none, too_much_friction);
  tcase_add_test(none, nothing_in_common);
  suite_add_tcase(suite, none);
  return support_run(suite, NULL);
}
