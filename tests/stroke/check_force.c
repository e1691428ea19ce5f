/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The integral of |net force| against brute-force quadrature over the crank angle, and its
 * derivative against differences.
 */
#include "base/constants.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/force.h"
#include "stroke/timing.h"
#include "support.h"

enum {
  MACHINES = 1000
};

static const double turn = 2 * LB_PI;

/* A machine made ready. */
struct trial {
  struct lb_machine machine;
  struct lb_chamber chamber[LB_ENDS];
  struct lb_force force;
  struct lb_workspace *workspace;
};

static void make_ready(struct trial *t) {
  const struct lb_machine *m = &t->machine;
  struct lb_conditions conditions = {m->supply_pressure,    m->supply_temperature,
                                     m->back_pressure,      m->ambient_temperature,
                                     m->expansion_exponent, m->compression_exponent};
  for (int end = 0; end < LB_ENDS; end++) {
    struct lb_volumes volumes;
    if (!m->works[end])
      continue;
    lb_timing_volumes(&volumes, m, (enum lb_end)end);
    ck_assert_int_eq(lb_chamber_prepare(&t->chamber[end], &conditions, &volumes, NULL), LB_OK);
  }
  lb_force_prepare(&t->force, m, t->chamber);
}

static struct lb_force_integral integrate(const struct trial *t, const double *cutoff) {
  struct lb_force_integral integral;
  struct lb_error error;
  enum lb_status status = lb_force_integrate(&integral, &t->force, t->workspace, cutoff, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return integral;
}

static void compare(const struct trial *t, const double *cutoff) {
  double expected = reference_absolute_work(&t->machine, cutoff);
  ck_close_relative(integrate(t, cutoff).absolute, expected, SOLVER);
}

START_TEST(absolute_work) {
  struct trial t = {.workspace = lb_workspace_new()};
  struct tally tally = {{0}};
  uint64_t state = 21;
  for (int i = 0; i < support_times(MACHINES); i++) {
    double cutoff[LB_ENDS];
    random_machine(&t.machine, &state);
    tally_add(&tally, &t.machine);
    make_ready(&t);
    random_machine_cutoff(cutoff, &t.machine);
    compare(&t, cutoff);
  }
  tally_require(&tally, support_least(50));
  lb_workspace_free(t.workspace);
}
END_TEST

/* Cut-offs at the ends of their windows, where events fall together. */
START_TEST(events_that_fall_together) {
  struct trial t = {.workspace = lb_workspace_new()};
  uint64_t state = 22;
  for (int i = 0; i < support_times(MACHINES); i++) {
    double low[LB_ENDS] = {0}, high[LB_ENDS] = {0};
    random_machine(&t.machine, &state);
    make_ready(&t);
    for (int end = 0; end < LB_ENDS; end++)
      if (t.machine.works[end])
        lb_timing_window(&low[end], &high[end], &t.machine, (enum lb_end)end);
    compare(&t, low);
    compare(&t, high);
  }
  lb_workspace_free(t.workspace);
}
END_TEST

/* Both ends act at the very same crank angles: yoke, half a turn apart. */
START_TEST(ends_that_act_together) {
  struct trial t = {.workspace = lb_workspace_new()};
  uint64_t state = 23;
  const double quarter = LB_PI / 2;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine *m = &t.machine;
    random_machine(m, &state);
    m->works[LB_CAP_END] = m->works[LB_ROD_END] = true;
    m->dead_volume[LB_CAP_END] = m->dead_volume[LB_ROD_END] = 1e-5;
    lb_linkage_init(&m->linkage, LB_YOKE, 0.1, 0, 0, NULL);
    for (int end = 0; end < LB_ENDS; end++)
      m->timing[end] =
          (struct lb_timing){.inlet_opens = i % 3 ? 0 : -quarter / 3,
                             .cutoff_given = true,
                             .cutoff = i % 2 ? quarter : LB_PI,
                             .release = LB_PI,
                             .exhaust_closes = i % 5 ? 3 * quarter : turn - quarter / 3};
    make_ready(&t);
    const double cutoff[LB_ENDS] = {m->timing[LB_CAP_END].cutoff, m->timing[LB_ROD_END].cutoff};
    compare(&t, cutoff);
  }
  lb_workspace_free(t.workspace);
}
END_TEST

/* Events exactly where the crank angle is counted from, whatever the linkage rounds them to. */
START_TEST(events_at_crank_angle_zero) {
  struct trial t = {.workspace = lb_workspace_new()};
  uint64_t state = 24;
  for (int i = 0; i < support_times(MACHINES); i++) {
    double low, cutoff[LB_ENDS];
    random_machine(&t.machine, &state);
    struct lb_timing *rod = &t.machine.timing[LB_ROD_END];
    double far = lb_linkage_stroke_angle(&t.machine.linkage, LB_ROD_END);
    if (!t.machine.works[LB_ROD_END] || rod->exhaust_closes < far + 0.01)
      continue;
    rod->release = i % 3 ? far : nextafter(far, i % 2 ? 0 : 9);
    make_ready(&t);
    random_machine_cutoff(cutoff, &t.machine);
    lb_timing_window(&low, &cutoff[LB_ROD_END], &t.machine, LB_ROD_END);
    compare(&t, cutoff);
    cutoff[LB_ROD_END] = (low + cutoff[LB_ROD_END]) / 2;
    compare(&t, cutoff);
  }
  lb_workspace_free(t.workspace);
}
END_TEST

/* An atmospheric release at the dead centre: there the force vanishes but for roundings of either
 * sign. */
START_TEST(force_that_just_vanishes) {
  struct trial t = {.workspace = lb_workspace_new()};
  struct lb_machine *m = &t.machine;
  uint64_t state = 26;
  for (int i = 0; i < support_times(500); i++) {
    lb_machine_defaults(m);
    ck_assert_int_eq(lb_linkage_init(&m->linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
    m->bore = 0.05;
    m->rod_diameter = i % 2 ? 0.02 : 0;
    m->supply_pressure = support_between(&state, 2e5, 9e5);
    m->dead_volume[LB_CAP_END] = m->dead_volume[LB_ROD_END] = support_between(&state, 0, 1e-5);
    make_ready(&t);
    double cutoff[LB_ENDS], ratio = pow(m->back_pressure / m->supply_pressure, 1 / LB_GAMMA);
    for (int end = 0; end < LB_ENDS; end++)
      cutoff[end] = lb_timing_angle(m, (enum lb_end)end, ratio * t.chamber[end].volumes.release);
    compare(&t, cutoff);
  }
  lb_workspace_free(t.workspace);
}
END_TEST

/* Central differences of |net force| by the volume at one end's cut-off, at h and h/2 put together.
 * `spread` gets the difference of the two, a measure of how smooth it is there. */
static double difference(const struct trial *t, const double *cutoff, int end, double *spread) {
  double d[2], h = 2e-3;
  for (int i = 0; i < 2; i++, h /= 2) {
    double before[LB_ENDS] = {cutoff[0], cutoff[1]}, after[LB_ENDS] = {cutoff[0], cutoff[1]};
    before[end] -= h;
    after[end] += h;
    d[i] = (integrate(t, after).absolute - integrate(t, before).absolute) / (2 * h);
  }
  *spread = fabs(d[1] - d[0]);
  return (4 * d[1] - d[0]) / 3 / lb_timing_volume_slope(&t->machine, (enum lb_end)end, cutoff[end]);
}

START_TEST(derivative) {
  struct trial t = {.workspace = lb_workspace_new()};
  uint64_t state = 25;
  int smooth = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    double cutoff[LB_ENDS] = {0}, low, high, spread;
    random_machine(&t.machine, &state);
    make_ready(&t);
    for (int end = 0; end < LB_ENDS; end++)
      if (t.machine.works[end]) {
        lb_timing_window(&low, &high, &t.machine, (enum lb_end)end);
        cutoff[end] = low + (high - low) * support_between(&state, 0.1, 0.9);
      }
    struct lb_force_integral integral = integrate(&t, cutoff);
    for (int end = 0; end < LB_ENDS; end++) {
      double pressure = t.machine.supply_pressure;
      if (!t.machine.works[end])
        continue;
      double expected = difference(&t, cutoff, end, &spread);
      double slope = lb_timing_volume_slope(&t.machine, (enum lb_end)end, cutoff[end]);
      /* the pressures of the expansion are p_s (V_c/V)^n */
      double volume = lb_timing_volume(&t.machine, (enum lb_end)end, cutoff[end]);
      double per_volume = t.machine.expansion_exponent / volume * integral.end[end].expansion;
      ck_close(per_volume, expected, 1e-7 * pressure + 2 * spread / slope);
      smooth += spread / slope < 1e-4 * pressure;
    }
  }
  ck_assert_int_gt(smooth, support_least(MACHINES));
  lb_workspace_free(t.workspace);
}
END_TEST

/* Nothing trapped, nothing moved by the surroundings: an idle end at equal pressures has no net
 * force at all. */
START_TEST(no_force) {
  struct trial t = {.workspace = lb_workspace_new()};
  struct lb_machine *m = &t.machine;
  lb_machine_defaults(m);
  lb_linkage_init(&m->linkage, LB_YOKE, 0.1, 0, 0, NULL);
  m->bore = 0.05;
  m->supply_pressure = m->ambient_pressure;
  m->dead_volume[LB_CAP_END] = m->dead_volume[LB_ROD_END] = 1e-5;
  make_ready(&t);
  const double full[LB_ENDS] = {LB_PI, LB_PI};
  ck_close(integrate(&t, full).absolute, 0, EXACT * m->supply_pressure * 0.1 * 0.002);
  lb_workspace_free(t.workspace);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("force");
  TCase *integral = tcase_create("integral");
  tcase_set_timeout(integral, 60);
  tcase_add_test(integral, absolute_work);
  tcase_add_test(integral, events_that_fall_together);
  tcase_add_test(integral, ends_that_act_together);
  tcase_add_test(integral, events_at_crank_angle_zero);
  tcase_add_test(integral, force_that_just_vanishes);
  tcase_add_test(integral, derivative);
  tcase_add_test(integral, no_force);
  suite_add_tcase(suite, integral);
  return support_run(suite, NULL);
}
