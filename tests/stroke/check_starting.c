/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Does it start: dead arcs against closed forms and against sampling, the least supply pressure
 * against closed forms and against the arcs just above and just below it.
 */
#include "base/constants.h"
#include "random_machine.h"
#include "stroke/cycle.h"
#include "stroke/torque.h"
#include "support.h"

#include <stdbool.h>

static const double full_turn = 2 * LB_PI, degree = LB_PI / 180;
static const double full_admission[LB_ENDS] = {LB_PI, LB_PI};
/* Events are looked at this far to either side; an arc's end may be wrong by as much [rad]. */
static const double beside = 4e-9;

static struct lb_cycle *prepared(const struct lb_machine *m) {
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  return cycle;
}

/* A yoke without rod or dead volume, cranks evenly apart. */
static struct lb_machine simple_machine(int cylinders, bool double_acting, double apart_deg) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.cylinders = cylinders;
  m.works[LB_ROD_END] = double_acting;
  m.bore = 0.04;
  m.supply_pressure = m.ambient_pressure + 5e5;
  for (int k = 0; k < cylinders; k++)
    m.crank_angle[k] = k * apart_deg * degree;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  return m;
}

/* Force times crank radius, the greatest torque of one such cylinder [N m]. */
static double unit_torque(const struct lb_machine *m) {
  return (m->supply_pressure - m->ambient_pressure) * LB_PI / 4 * m->bore * m->bore *
         m->linkage.stroke / 2;
}

/* The arcs must be those expected, in order of angle. */
static void expect_arcs(const struct lb_machine *m, double load, const struct lb_arc *expected,
                        size_t expected_count) {
  struct lb_cycle *cycle = prepared(m);
  struct lb_arc arc[LB_ARCS_MOST];
  size_t count = LB_ARCS_MOST;
  ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, full_admission, load, NULL), LB_OK);
  ck_assert_uint_eq(count, expected_count);
  for (size_t i = 0; i < count; i++) {
    ck_close(arc[i].from, expected[i].from, IDENTITY);
    ck_close(arc[i].to, expected[i].to, IDENTITY);
  }
  lb_cycle_free(cycle);
}

/* Each single-acting cylinder pushes on its own outward stroke, 180 deg from its crank angle on;
 * nothing pushes in what those leave. */
START_TEST(dead_arcs_without_load) {
  struct lb_machine one = simple_machine(1, false, 0), two = simple_machine(2, false, 120);
  struct lb_machine three = simple_machine(3, false, 120), both = simple_machine(1, true, 0);
  struct lb_machine opposed = simple_machine(2, false, 180);
  expect_arcs(&one, 0, (struct lb_arc[]){{LB_PI, full_turn}}, 1);
  expect_arcs(&two, 0, (struct lb_arc[]){{300 * degree, 360 * degree}}, 1);
  expect_arcs(&three, 0, NULL, 0);
  expect_arcs(&both, 0, NULL, 0);    /* its dead centres are points */
  expect_arcs(&opposed, 0, NULL, 0); /* likewise */
}
END_TEST

/* The two cylinders at 120 deg with the crank counted from elsewhere: the arc goes over 0. */
START_TEST(dead_arc_over_zero) {
  struct lb_machine m = simple_machine(2, false, 120);
  m.crank_angle[0] = 30 * degree;
  m.crank_angle[1] = 150 * degree;
  expect_arcs(&m, 0, (struct lb_arc[]){{330 * degree, 390 * degree}}, 1);
}
END_TEST

/* One double-acting yoke gives F r |sin t|: a load T stops it within asin(T/(F r)) of both dead
 * centres. Two at 90 deg give F r (|sin t| + |cos t|), sqrt 2 sin(t + 45 deg) in the first quarter:
 * a load of F r or less never stops them; one above does within asin(T/(sqrt 2 F r)) - 45 deg of
 * every quarter. */
START_TEST(dead_arcs_against_a_load) {
  struct lb_machine one = simple_machine(1, true, 0), two = simple_machine(2, true, 90);
  double unit = unit_torque(&one), quarter = LB_PI / 2;
  for (double share = 0.05; share < 1; share += 0.05) {
    double half = asin(share);
    expect_arcs(
        &one, share * unit,
        (struct lb_arc[]){{LB_PI - half, LB_PI + half}, {full_turn - half, full_turn + half}}, 2);
    expect_arcs(&two, share * unit, NULL, 0);
  }
  double half = asin(1.2 / sqrt(2)) - LB_PI / 4;
  expect_arcs(&two, 1.2 * unit,
              (struct lb_arc[]){{quarter - half, quarter + half},
                                {2 * quarter - half, 2 * quarter + half},
                                {3 * quarter - half, 3 * quarter + half},
                                {full_turn - half, full_turn + half}},
              4);
}
END_TEST

/* Shut off at 91 deg, a single-acting yoke moves all but F r itself only close to 90 deg. */
START_TEST(a_sliver_that_moves) {
  struct lb_machine m = simple_machine(1, false, 0);
  const double cutoff[LB_ENDS] = {91 * degree, 0}, share = 0.99999;
  struct lb_cycle *cycle = prepared(&m);
  struct lb_arc arc[LB_ARCS_MOST];
  size_t count;
  ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, share * unit_torque(&m), NULL),
                   LB_OK);
  ck_assert_uint_eq(count, 1);
  ck_close(arc[0].from, LB_PI - asin(share), beside);
  ck_close(arc[0].to, full_turn + asin(share), beside);
  lb_cycle_free(cycle);
}
END_TEST

static void expect_all_dead(const struct lb_cycle *cycle, const double *cutoff, double load) {
  struct lb_arc arc[LB_ARCS_MOST];
  size_t count = 0;
  ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, load, NULL), LB_OK);
  ck_assert_uint_eq(count, 1);
  ck_assert(arc[0].from >= 0 && arc[0].from < full_turn);
  ck_close(arc[0].to - arc[0].from, full_turn, beside);
}

/* A load above the greatest torque: one arc of a full turn, whatever the machine. */
START_TEST(nothing_moves_too_great_a_load) {
  uint64_t state = 311;
  struct lb_machine m = simple_machine(1, true, 0);
  struct lb_cycle *cycle = prepared(&m);
  expect_all_dead(cycle, full_admission, 1.001 * unit_torque(&m));
  for (int i = 0; i < 50; i++) {
    double cutoff[LB_ENDS];
    struct lb_torque_range range;
    random_machine(&m, &state);
    random_machine_cutoff(cutoff, &m);
    ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
    ck_assert_int_eq(lb_torque_range(&range, cycle, cutoff, LB_STANDSTILL, NULL), LB_OK);
    expect_all_dead(cycle, cutoff, range.greatest + 1e-3 * fabs(range.greatest));
  }
  lb_cycle_free(cycle);
}
END_TEST

/* A random machine with a breakaway friction; every other one with its cranks evenly apart, so
 * that some start anywhere. */
static void next_machine(struct lb_machine *m, uint64_t *state, bool even) {
  random_machine(m, state);
  m->breakaway_friction = m->friction * support_between(state, 1, 3);
  if (!even)
    return;
  m->cylinders = 3 + (int)(4 * support_uniform(state));
  for (int k = 0; k < m->cylinders; k++)
    m->crank_angle[k] = k * full_turn / m->cylinders;
}

/* Whether an angle lies in an arc: 1, outside all: 0, too near an end to say: -1. */
static int arcs_hold(const struct lb_arc *arc, size_t count, double angle) {
  int held = 0;
  for (size_t i = 0; i < count; i++)
    for (double a = angle; a <= angle + full_turn; a += full_turn) {
      if (fabs(a - arc[i].from) < beside || fabs(a - arc[i].to) < beside)
        return -1;
      held |= a > arc[i].from && a < arc[i].to;
    }
  return held;
}

static void check_order(const struct lb_arc *arc, size_t count) {
  for (size_t i = 0; i < count; i++) {
    ck_assert(arc[i].from >= 0 && arc[i].from < full_turn);
    ck_assert(arc[i].to > arc[i].from && arc[i].to <= arc[i].from + full_turn);
    double next = i + 1 < count ? arc[i + 1].from : arc[0].from + full_turn;
    ck_assert(count == 1 || arc[i].to < next);
  }
}

/* Compare arcs with the sign of the torque every hundredth of a degree; how many samples were
 * dead. */
static int check_samples(const struct lb_machine *m, const struct lb_cycle *cycle,
                         const double *cutoff, double load) {
  enum {
    SAMPLES = 36000
  };
  struct lb_arc arc[LB_ARCS_MOST];
  size_t count;
  double area = fmax(lb_machine_area(m, LB_CAP_END), lb_machine_area(m, LB_ROD_END));
  double none = 1e-12 * m->cylinders * area * m->linkage.stroke *
                (m->supply_pressure + m->back_pressure + m->ambient_pressure);
  int dead_samples = 0, undecided = 0;
  ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, load, NULL), LB_OK);
  check_order(arc, count);
  for (int i = 0; i < support_times(SAMPLES); i++) {
    double angle = (i + 0.5) * full_turn / SAMPLES;
    bool dead = !(lb_torque_machine(cycle, cutoff, LB_STANDSTILL, angle) - load > none);
    int held = arcs_hold(arc, count, angle);
    ck_assert_msg(held < 0 || held == dead, "at %.5f rad: dead %d, in an arc %d", angle, dead,
                  held);
    dead_samples += dead;
    undecided += held < 0;
  }
  ck_assert_int_le(undecided, 2 * (int)count);
  return dead_samples;
}

/* Arcs of random machines against brute force, without a load and against a share of the greatest
 * torque. */
START_TEST(dead_arcs_by_sampling) {
  uint64_t state = 312;
  int some_dead = 0, none_dead = 0;
  struct tally tally = {{0}};
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine m;
    struct lb_torque_range range;
    double cutoff[LB_ENDS];
    next_machine(&m, &state, i % 2 == 0);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    ck_assert_int_eq(lb_torque_range(&range, cycle, cutoff, LB_STANDSTILL, NULL), LB_OK);
    double load = i % 3 == 0 ? 0 : fmax(range.greatest, 0) * support_uniform(&state);
    int dead = check_samples(&m, cycle, cutoff, load);
    some_dead += dead > 0;
    none_dead += dead == 0;
    tally_add(&tally, &m);
    lb_cycle_free(cycle);
  }
  ck_assert_int_ge(some_dead, support_least(50));
  ck_assert_int_ge(none_dead, support_least(5));
  tally_require(&tally, support_least(1));
}
END_TEST

/* Whether an angle lies in an arc or within `near` of one. */
static bool near_arc(const struct lb_arc *arc, size_t count, double angle, double near) {
  for (size_t i = 0; i < count; i++)
    for (double a = angle - full_turn; a <= angle + full_turn; a += full_turn)
      if (a > arc[i].from - near && a < arc[i].to + near)
        return true;
  return false;
}

/* A load just above the least torque leaves a sliver dead, however narrow, and one just below the
 * greatest torque a sliver that moves. */
START_TEST(slivers_are_found) {
  uint64_t state = 314;
  for (int i = 0; i < support_times(1000); i++) {
    struct lb_machine m;
    struct lb_torque_range range;
    struct lb_arc arc[LB_ARCS_MOST];
    double cutoff[LB_ENDS];
    size_t count;
    next_machine(&m, &state, i % 2 == 0);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    ck_assert_int_eq(lb_torque_range(&range, cycle, cutoff, LB_STANDSTILL, NULL), LB_OK);
    double little = 1e-6 * (range.greatest - range.least);
    ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, range.least + little, NULL),
                     LB_OK);
    ck_assert(near_arc(arc, count, range.least_angle, beside));
    ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, range.greatest - little, NULL),
                     LB_OK);
    ck_assert(!near_arc(arc, count, range.greatest_angle, -beside));
    lb_cycle_free(cycle);
  }
}
END_TEST

/* Friction F_b and a share s of the net force: a cylinder pushes with (1 - s) F - F_b. Two
 * double-acting yokes at 90 deg give at least one crank radius of it and at most sqrt 2; three
 * single-acting ones at 120 deg at least sqrt 3/2 and at most 1 of (1 - s) F - 2 F_b, because the
 * piston that does not push rubs too: |sin t| summed over the three is twice the sum over those
 * that push. */
START_TEST(starting_supply_in_closed_form) {
  const double friction = 30, share = 0.1, load = 20;
  for (int three = 0; three < 2; three++) {
    struct lb_machine m = three ? simple_machine(3, false, 120) : simple_machine(2, true, 90);
    struct lb_starting_supply found;
    m.breakaway_friction = friction;
    m.friction_share = share;
    double least = three ? sqrt(3) / 2 : 1, greatest = three ? 1 : sqrt(2);
    double rubbing = three ? 2 * friction : friction;
    double area = LB_PI / 4 * m.bore * m.bore * (1 - share), radius = m.linkage.stroke / 2;
    struct lb_cycle *cycle = prepared(&m);
    ck_assert_int_eq(lb_torque_starting_supply(&found, cycle, full_admission, load, NULL), LB_OK);
    ck_assert(found.anywhere_found && found.best_found);
    ck_close(found.anywhere, m.back_pressure + (load / (radius * least) + rubbing) / area, 0.02);
    ck_close(found.best, m.back_pressure + (load / (radius * greatest) + rubbing) / area, 0.02);
    lb_cycle_free(cycle);
  }
}
END_TEST

/* One cylinder has dead centres: some position stays dead at any pressure. */
START_TEST(one_cylinder_never_starts_anywhere) {
  struct lb_machine m = simple_machine(1, true, 0);
  struct lb_cycle *cycle = prepared(&m);
  struct lb_starting_supply found;
  double area = LB_PI / 4 * m.bore * m.bore, radius = m.linkage.stroke / 2, load = 20;
  ck_assert_int_eq(lb_torque_starting_supply(&found, cycle, full_admission, load, NULL), LB_OK);
  ck_assert(!found.anywhere_found && found.best_found);
  ck_close(found.best, m.back_pressure + load / (radius * area), 0.02);
  lb_cycle_free(cycle);
}
END_TEST

static size_t arcs_at(const struct lb_machine *machine, double supply, const double *cutoff,
                      double load, bool *everything) {
  struct lb_machine m = *machine;
  struct lb_arc arc[LB_ARCS_MOST];
  size_t count;
  m.supply_pressure = supply;
  struct lb_cycle *cycle = prepared(&m);
  ck_assert_int_eq(lb_torque_dead_arcs(arc, &count, cycle, cutoff, load, NULL), LB_OK);
  lb_cycle_free(cycle);
  *everything = count == 1 && arc[0].to - arc[0].from > full_turn - beside;
  return count;
}

/* Just above the least supply for any position nothing is dead, just below something is; just above
 * that for the best position something moves, just below nothing. */
START_TEST(arcs_on_both_sides_of_the_starting_supply) {
  const double aside = 0.5; /* [Pa] */
  uint64_t state = 313;
  int anywhere = 0, best = 0;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine m;
    struct lb_starting_supply found;
    double cutoff[LB_ENDS];
    bool everything;
    next_machine(&m, &state, i % 4 != 0);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    double load = support_between(&state, 0.01, 0.5) * m.cylinders * 1e5 * m.linkage.stroke *
                  lb_machine_area(&m, LB_CAP_END);
    ck_assert_int_eq(lb_torque_starting_supply(&found, cycle, cutoff, load, NULL), LB_OK);
    if (found.anywhere_found && found.anywhere > m.back_pressure) {
      ck_assert_uint_eq(arcs_at(&m, found.anywhere + aside, cutoff, load, &everything), 0);
      ck_assert_uint_gt(arcs_at(&m, found.anywhere - aside, cutoff, load, &everything), 0);
      anywhere++;
    }
    if (found.best_found && found.best > m.back_pressure) {
      arcs_at(&m, found.best + aside, cutoff, load, &everything);
      ck_assert(!everything);
      arcs_at(&m, found.best - aside, cutoff, load, &everything);
      ck_assert(everything);
      best++;
    }
    lb_cycle_free(cycle);
  }
  ck_assert_int_ge(anywhere, support_least(30));
  ck_assert_int_ge(best, support_least(100));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("starting");
  TCase *cases = tcase_create("starting");
  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, dead_arcs_without_load);
  tcase_add_test(cases, dead_arc_over_zero);
  tcase_add_test(cases, dead_arcs_against_a_load);
  tcase_add_test(cases, a_sliver_that_moves);
  tcase_add_test(cases, nothing_moves_too_great_a_load);
  tcase_add_test(cases, dead_arcs_by_sampling);
  tcase_add_test(cases, slivers_are_found);
  tcase_add_test(cases, starting_supply_in_closed_form);
  tcase_add_test(cases, one_cylinder_never_starts_anywhere);
  tcase_add_test(cases, arcs_on_both_sides_of_the_starting_supply);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
