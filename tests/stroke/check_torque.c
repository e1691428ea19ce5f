/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Torque over the revolution: against the work of the cycle, against a reference that shares no
 * formula with the library, and against closed forms at full admission.
 */
#include "stroke/torque.h"

#include "base/constants.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/cycle.h"
#include "support.h"

#include <gsl/gsl_integration.h>
#include <stdbool.h>
#include <stdlib.h>

static const double full_turn = 2 * LB_PI;
static const double full_admission[LB_ENDS] = {LB_PI, LB_PI};

static struct lb_cycle *prepared(const struct lb_machine *m) {
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  return cycle;
}

/* Greatest torque that pressure could give [N m], as a measure of rounding. */
static double torque_scale(const struct lb_machine *m) {
  double area = fmax(lb_machine_area(m, LB_CAP_END), lb_machine_area(m, LB_ROD_END));
  return m->cylinders * area * m->linkage.stroke *
         (m->supply_pressure + m->back_pressure + m->ambient_pressure);
}

/* A random machine with a breakaway friction too. */
static void next_machine(struct lb_machine *m, uint64_t *state) {
  random_machine(m, state);
  m->breakaway_friction = m->friction * support_between(state, 1, 3);
}

/* Crank angles of all events of all cylinders, in order, from 0 to a full turn. */
struct events {
  double angle[2 + LB_CYLINDERS_MOST * LB_ENDS * 5];
  size_t count;
};

static int ascending(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void find_events(struct events *e, const struct lb_machine *m) {
  e->count = 0;
  e->angle[e->count++] = 0;
  e->angle[e->count++] = full_turn;
  for (int k = 0; k < m->cylinders; k++)
    for (int i = 0; i < LB_ENDS; i++) {
      const struct lb_timing *t = &m->timing[i];
      double centre = i == LB_CAP_END ? 0 : (double)reference_outward(&m->linkage);
      const double event[] = {0, t->inlet_opens, t->cutoff, t->release, t->exhaust_closes};
      for (size_t j = 0; j < (m->works[i] ? sizeof event / sizeof event[0] : 1); j++) {
        double angle = fmod(centre + event[j] + m->crank_angle[k] + full_turn, full_turn);
        e->angle[e->count++] = angle;
      }
    }
  qsort(e->angle, e->count, sizeof e->angle[0], ascending);
}

struct torque {
  const struct lb_cycle *cycle;
  const double *cutoff;
};

static double running(double angle, void *context) {
  const struct torque *t = context;
  return lb_torque_machine(t->cycle, t->cutoff, LB_RUNNING, angle);
}

/* The integral of the torque over a revolution [J], split at the events; adaptive, because the
 * friction has a kink where the net force changes sign. */
static double integral(const struct lb_machine *m, const struct lb_cycle *cycle,
                       const double *cutoff, gsl_integration_workspace *workspace) {
  struct torque torque = {cycle, cutoff};
  gsl_function function = {running, &torque};
  struct events e;
  find_events(&e, m);
  double sum = 0, absolute = 1e-13 * torque_scale(m);
  for (size_t i = 1; i < e.count; i++) {
    double piece = 0, error;
    if (e.angle[i] - e.angle[i - 1] > 1e-13)
      gsl_integration_qag(&function, e.angle[i - 1], e.angle[i], absolute, 1e-13, 1000,
                          GSL_INTEG_GAUSS21, workspace, &piece, &error);
    sum += piece;
  }
  return sum;
}

/* Torque integrated over the revolution is the work after friction, cylinder by cylinder and for
 * the machine. */
START_TEST(torque_gives_the_work) {
  uint64_t state = 301;
  gsl_integration_workspace *workspace = gsl_integration_workspace_alloc(1000);
  struct tally tally = {{0}};
  int checked = 0;
  for (int i = 0; i < support_times(500); i++) {
    struct lb_machine m;
    struct lb_revolution r;
    double cutoff[LB_ENDS];
    next_machine(&m, &state);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    if (lb_cycle_turn(&r, cycle, cutoff, NULL) == LB_OK) {
      ck_close(integral(&m, cycle, cutoff, workspace), r.work, 1e-10 * torque_scale(&m));
      ck_close(r.work / full_turn, r.mean_torque, EXACT * fabs(r.mean_torque));
      tally_add(&tally, &m);
      checked++;
    }
    lb_cycle_free(cycle);
  }
  gsl_integration_workspace_free(workspace);
  ck_assert_int_ge(checked, support_least(400));
  tally_require(&tally, support_least(5));
}
END_TEST

/* Net force [N] at standstill: supply pressure while the inlet is open, else back pressure. */
static double standing_force(const struct lb_machine *m, const double *cutoff, double crank) {
  double pressure[LB_ENDS], bore = LB_PI / 4 * m->bore * m->bore;
  double cap = bore - LB_PI / 4 * m->through_rod_diameter * m->through_rod_diameter;
  double rod = bore - LB_PI / 4 * m->rod_diameter * m->rod_diameter;
  for (int i = 0; i < LB_ENDS; i++) {
    double centre = i == LB_CAP_END ? 0 : (double)reference_outward(&m->linkage);
    double opens = m->timing[i].inlet_opens, since = crank - centre - opens;
    since -= full_turn * floor(since / full_turn);
    pressure[i] = since < cutoff[i] - opens ? m->supply_pressure : m->back_pressure;
    if (!m->works[i])
      pressure[i] = m->ambient_pressure;
  }
  return pressure[LB_CAP_END] * cap - pressure[LB_ROD_END] * rod -
         m->ambient_pressure * (cap - rod);
}

/* What the torque of one cylinder should be [N m]. */
static double expected_torque(const struct lb_machine *m, const double *cutoff,
                              enum lb_motion motion, double crank) {
  double slope = (double)reference_slope(&m->linkage, (long double)crank);
  double force = motion == LB_RUNNING ? reference_net_force(m, cutoff, crank)
                                      : standing_force(m, cutoff, crank);
  double constant = motion == LB_RUNNING ? m->friction : m->breakaway_friction;
  return force * slope - (constant + m->friction_share * fabs(force)) * fabs(slope);
}

static void compare(const struct lb_machine *m, const struct lb_cycle *cycle, const double *cutoff,
                    enum lb_motion motion, double crank) {
  double sum = 0, tolerance = IDENTITY * torque_scale(m);
  for (int k = 0; k < m->cylinders; k++)
    sum += expected_torque(m, cutoff, motion, crank - m->crank_angle[k]);
  ck_close(lb_torque_cylinder(cycle, cutoff, motion, crank),
           expected_torque(m, cutoff, motion, crank), tolerance);
  ck_close(lb_torque_machine(cycle, cutoff, motion, crank), sum, tolerance);
}

/* Any angle, also before 0 and past a turn. */
START_TEST(torque_of_random_machines) {
  uint64_t state = 302;
  struct tally tally = {{0}};
  for (int i = 0; i < support_times(500); i++) {
    struct lb_machine m;
    double cutoff[LB_ENDS];
    next_machine(&m, &state);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    for (int k = 0; k < 20; k++) {
      double crank = support_between(&state, -full_turn, 2 * full_turn);
      compare(&m, cycle, cutoff, LB_RUNNING, crank);
      compare(&m, cycle, cutoff, LB_STANDSTILL, crank);
    }
    tally_add(&tally, &m);
    lb_cycle_free(cycle);
  }
  tally_require(&tally, support_least(5));
}
END_TEST

/* A yoke without rod or dead volume, so that force F and crank radius r say everything. */
static struct lb_machine simple_machine(int cylinders, bool double_acting, double apart_deg) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.cylinders = cylinders;
  m.works[LB_ROD_END] = double_acting;
  m.bore = 0.04;
  m.supply_pressure = m.ambient_pressure + 5e5;
  for (int k = 0; k < cylinders; k++)
    m.crank_angle[k] = k * apart_deg * LB_PI / 180;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  return m;
}

/* At an event the torque is the one just after it. */
START_TEST(torque_just_after_an_event) {
  struct lb_machine m = simple_machine(1, false, 0);
  const double cutoff[LB_ENDS] = {1, 0};
  m.timing[LB_CAP_END].release = 2;
  struct lb_cycle *cycle = prepared(&m);
  double radius = m.linkage.crank_radius, area = lb_machine_area(&m, LB_CAP_END);
  ck_close(lb_torque_machine(cycle, cutoff, LB_RUNNING, 2), 0, 0);
  ck_assert_double_gt(lb_torque_machine(cycle, cutoff, LB_RUNNING, 2 - 1e-9), 0.1);
  ck_close(lb_torque_machine(cycle, cutoff, LB_STANDSTILL, 1), 0, 0);
  ck_close_relative(lb_torque_machine(cycle, cutoff, LB_STANDSTILL, 1 - 1e-9),
                    5e5 * area * radius * sin(1), 1e-8);
  lb_cycle_free(cycle);
}
END_TEST

/* Full admission on a yoke: a worked end gives F r sin t on its own stroke, a cylinder worked at
 * both ends F r |sin t|. In units of F r:
 *
 *   single-acting, 1:            0 ... 1, mean 1/pi
 *   2 at 180 deg:  |sin t|:      0 ... 1, mean 2/pi
 *   2 at 90 deg:   both push from 90 to 180 deg, sin t - cos t = sqrt 2 sin(t - 45 deg); none from
 *                  270 deg on:   0 ... sqrt 2, mean 2/pi
 *   3 at 120 deg:  two push for 60 deg, sin t + sin(t + 120 deg) = sin(t + 60 deg), then one, sin t
 *                  from 60 to 120 deg: sqrt 3/2 ... 1, mean 3/pi
 *   double-acting, 1:            0 ... 1, mean 2/pi
 *   2 at 90 deg:   |sin t| + |cos t|: 1 ... sqrt 2, mean 4/pi
 *   3 at 120 deg:  |sin t| + |sin(t - 60 deg)| + |sin(t - 120 deg)|, that is 2 sin(t + 60 deg) from
 *                  0 to 60 deg:  sqrt 3 ... 2, mean 6/pi */
static const struct closed_form {
  int cylinders;
  bool double_acting;
  double apart_deg;
  double least, mean, greatest;
} closed_forms[] = {
    {1, false, 0, 0, 1 / LB_PI, 1},
    {2, false, 180, 0, 2 / LB_PI, 1},
    {2, false, 90, 0, 2 / LB_PI, 1.4142135623730951},
    {3, false, 120, 0.86602540378443865, 3 / LB_PI, 1},
    {1, true, 0, 0, 2 / LB_PI, 1},
    {2, true, 90, 1, 4 / LB_PI, 1.4142135623730951},
    {3, true, 120, 1.7320508075688773, 6 / LB_PI, 2},
};

static void check_closed_form(const struct closed_form *c, enum lb_motion motion) {
  struct lb_machine m = simple_machine(c->cylinders, c->double_acting, c->apart_deg);
  struct lb_cycle *cycle = prepared(&m);
  struct lb_torque_range range;
  struct lb_revolution r;
  double unit = 5e5 * LB_PI / 4 * m.bore * m.bore * m.linkage.stroke / 2;
  double beside = 1e-8 * unit; /* extremes at an event are looked at a hair beside it */
  ck_assert_int_eq(lb_torque_range(&range, cycle, full_admission, motion, NULL), LB_OK);
  ck_close(range.least, c->least * unit, beside);
  ck_close(range.greatest, c->greatest * unit, beside);
  ck_close(lb_torque_machine(cycle, full_admission, motion, range.least_angle), range.least,
           beside);
  ck_close(lb_torque_machine(cycle, full_admission, motion, range.greatest_angle), range.greatest,
           beside);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, full_admission, NULL), LB_OK);
  ck_close_relative(r.mean_torque, c->mean * unit, IDENTITY);
  lb_cycle_free(cycle);
}

START_TEST(torque_at_full_admission) {
  for (size_t i = 0; i < sizeof closed_forms / sizeof closed_forms[0]; i++) {
    check_closed_form(&closed_forms[i], LB_RUNNING);
    check_closed_form(&closed_forms[i], LB_STANDSTILL);
  }
}
END_TEST

/* Shut off just past 90 deg the greatest torque F r lies just before the event. */
START_TEST(greatest_torque_just_before_an_event) {
  struct lb_machine m = simple_machine(1, false, 0);
  const double cutoff[LB_ENDS] = {91 * LB_PI / 180, 0};
  struct lb_cycle *cycle = prepared(&m);
  struct lb_torque_range range;
  double unit = 5e5 * LB_PI / 4 * m.bore * m.bore * m.linkage.stroke / 2;
  ck_assert_int_eq(lb_torque_range(&range, cycle, cutoff, LB_STANDSTILL, NULL), LB_OK);
  ck_close_relative(range.greatest, unit, IDENTITY);
  ck_close(range.greatest_angle, LB_PI / 2, 1e-6);
  lb_cycle_free(cycle);
}
END_TEST

/* A 32 mm cylinder with a 12 mm rod at 6 bar gauge on a crank of 50 mm, worked out apart from the
 * program: 24.1 N m at most, 7.7 N m mean single-acting, 14.3 N m double-acting. */
START_TEST(torque_of_a_common_cylinder) {
  struct lb_machine m = simple_machine(1, true, 0);
  m.bore = 0.032;
  m.rod_diameter = 0.012;
  m.supply_pressure = m.ambient_pressure + 6e5;
  struct lb_cycle *cycle = prepared(&m);
  struct lb_torque_range range;
  struct lb_revolution r;
  ck_assert_int_eq(lb_torque_range(&range, cycle, full_admission, LB_RUNNING, NULL), LB_OK);
  ck_close(range.greatest, 24.1, 0.05);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, full_admission, NULL), LB_OK);
  ck_close(r.mean_torque, 14.3, 0.05);
  m.works[LB_ROD_END] = false;
  ck_assert_int_eq(lb_cycle_prepare(cycle, &m, NULL), LB_OK);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, full_admission, NULL), LB_OK);
  ck_close(r.mean_torque, 7.7, 0.05);
  lb_cycle_free(cycle);
}
END_TEST

/* No sample lies outside the range, and the range is reached where it says. */
static void check_range(const struct lb_machine *m, const struct lb_cycle *cycle,
                        const double *cutoff, enum lb_motion motion) {
  struct lb_torque_range range;
  double scale = torque_scale(m);
  ck_assert_int_eq(lb_torque_range(&range, cycle, cutoff, motion, NULL), LB_OK);
  for (int i = 0; i < support_times(3600); i++) {
    double torque = lb_torque_machine(cycle, cutoff, motion, (i + 0.37) * full_turn / 3600);
    ck_assert_double_ge(torque, range.least - 1e-9 * scale);
    ck_assert_double_le(torque, range.greatest + 1e-9 * scale);
  }
  ck_close(lb_torque_machine(cycle, cutoff, motion, range.least_angle), range.least,
           IDENTITY * scale);
  ck_close(lb_torque_machine(cycle, cutoff, motion, range.greatest_angle), range.greatest,
           IDENTITY * scale);
}

START_TEST(range_of_random_machines) {
  uint64_t state = 303;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine m;
    double cutoff[LB_ENDS];
    next_machine(&m, &state);
    random_machine_cutoff(cutoff, &m);
    struct lb_cycle *cycle = prepared(&m);
    check_range(&m, cycle, cutoff, LB_RUNNING);
    check_range(&m, cycle, cutoff, LB_STANDSTILL);
    lb_cycle_free(cycle);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("torque");
  TCase *cases = tcase_create("torque");
  tcase_set_timeout(cases, 60);
  tcase_add_test(cases, torque_gives_the_work);
  tcase_add_test(cases, torque_of_random_machines);
  tcase_add_test(cases, torque_just_after_an_event);
  tcase_add_test(cases, torque_at_full_admission);
  tcase_add_test(cases, greatest_torque_just_before_an_event);
  tcase_add_test(cases, torque_of_a_common_cylinder);
  tcase_add_test(cases, range_of_random_machines);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
