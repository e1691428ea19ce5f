/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the torque swings round its mean: closed forms of full admission, the work of the cycle, and
 * the same sum over many small steps.
 */
#include "base/constants.h"
#include "random_machine.h"
#include "stroke/torque.h"
#include "support.h"

static const double full_turn = 2 * LB_PI;

static struct lb_cycle *prepared(const struct lb_machine *m) {
  struct lb_cycle *cycle = lb_cycle_new();
  ck_assert_ptr_nonnull(cycle);
  ck_assert_int_eq(lb_cycle_prepare(cycle, m, NULL), LB_OK);
  return cycle;
}

/* A yoke with equal areas at both ends, no dead volume and full admission: every cylinder gives
 * (p_s - p_e) A r |sin(angle)|. */
static struct lb_machine yoke(int cylinders) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  m.bore = 0.05;
  m.rod_diameter = m.through_rod_diameter = 0.02;
  m.supply_pressure = 5e5;
  m.cylinders = cylinders;
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  for (int k = 0; k < cylinders; k++)
    m.crank_angle[k] = k * LB_PI / 2;
  return m;
}

/* Of one cylinder the torque passes its mean, 2/pi of the greatest, at asin(2/pi); of two at right
 * angles sin + cos passes 4/pi. */
START_TEST(full_admission) {
  const double cutoff[LB_ENDS] = {LB_PI, LB_PI};
  struct lb_machine m = yoke(_i);
  struct lb_cycle *cycle = prepared(&m);
  struct lb_torque_swing swing;
  double greatest = (m.supply_pressure - m.back_pressure) * lb_machine_area(&m, LB_CAP_END) * 0.05;
  double mean = _i * 2 / LB_PI;
  double from = _i == 1 ? asin(mean) : asin(mean / sqrt(2)) - LB_PI / 4;
  double to = _i == 1 ? LB_PI - from : LB_PI / 2 - from;
  double given = _i == 1 ? cos(from) - cos(to) : cos(from) - cos(to) + sin(to) - sin(from);
  ck_assert_int_eq(lb_torque_swing(&swing, cycle, cutoff, NULL), LB_OK);
  ck_close_relative(swing.mean, mean * greatest, 1e-10);
  ck_close_relative(swing.energy, (given - mean * (to - from)) * greatest, 1e-9);
  ck_close(fmod(swing.slowest, LB_PI / _i), from, 1e-9);
  ck_close(fmod(swing.fastest, LB_PI / _i), to, 1e-9);
  lb_cycle_free(cycle);
}
END_TEST

/* The mean is the work of the cycle; the energy that of a sum over small steps. */
START_TEST(random_machines) {
  enum {
    STEPS = 7200
  };
  uint64_t state = 77;
  int seen = 0;
  for (int i = 0, n = support_times(60); i < n; i++) {
    struct lb_machine m;
    struct lb_revolution r;
    struct lb_torque_swing swing;
    random_machine(&m, &state);
    const double cutoff[LB_ENDS] = {m.timing[LB_CAP_END].cutoff, m.timing[LB_ROD_END].cutoff};
    struct lb_cycle *cycle = prepared(&m);
    if (lb_cycle_turn(&r, cycle, cutoff, NULL) != LB_OK) { /* exponents that break the first law */
      lb_cycle_free(cycle);
      continue;
    }
    seen++;
    ck_assert_int_eq(lb_torque_swing(&swing, cycle, cutoff, NULL), LB_OK);
    double energy = 0, least = 0, greatest = 0, gross = 0, h = full_turn / STEPS;
    for (int k = 0; k < STEPS; k++) {
      double torque = lb_torque_machine(cycle, cutoff, LB_RUNNING, (k + 0.5) * h);
      energy += h * (torque - r.mean_torque);
      gross += h * fabs(torque);
      least = fmin(least, energy);
      greatest = fmax(greatest, energy);
    }
    ck_close(swing.mean, r.mean_torque, 1e-5 * gross);
    ck_close(swing.energy, greatest - least, 2e-3 * gross);
    lb_cycle_free(cycle);
  }
  ck_assert_int_ge(seen, support_least(40));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("swing of the torque");
  TCase *all = tcase_create("all");
  tcase_add_loop_test(all, full_admission, 1, 3);
  tcase_add_test(all, random_machines);
  suite_add_tcase(suite, all);
  return support_run(suite, (Suite *)NULL);
}
