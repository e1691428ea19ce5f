/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole machine: its work as the integral of the torque, its derivatives, symmetries, scaling,
 * limits, bounds of thermodynamics, and a thousand random machines that keep every invariant.
 */
#include "base/constants.h"
#include "machine/check.h"
#include "physics/air.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/cycle.h"
#include "stroke/timing.h"
#include "support.h"

#include <string.h>

enum {
  MACHINES = 1000
};

static const double turn = 2 * LB_PI;

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

/* A machine's revolution at its own cut-offs; false when unequal exponents have none. */
static bool revolve(struct lb_revolution *r, const struct lb_machine *machine) {
  double cutoff[LB_ENDS];
  struct lb_error error;
  random_machine_cutoff(cutoff, machine);
  prepare(machine);
  enum lb_status status = lb_cycle_turn(r, cycle, cutoff, &error);
  ck_assert(status == LB_OK || status == LB_NO_ANSWER);
  ck_assert_msg(status == LB_OK || machine_is(machine, CASE_UNEQUAL), "%s", error.text);
  return status == LB_OK;
}

/* All there is to turn into work, as a measure of roundings [J]. */
static double scale(const struct lb_machine *m) {
  double peak = m->supply_pressure;
  for (int end = 0; end < LB_ENDS; end++)
    if (m->works[end])
      peak = fmax(peak, reference_peak(m, (enum lb_end)end));
  return peak * lb_machine_swept_volume(m);
}

/* Call for every random machine that has a revolution; asserts that every case was met. */
static void every_machine(void (*check)(const struct lb_machine *, const struct lb_revolution *)) {
  uint64_t state = 31;
  struct tally tally = {{0}};
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine machine;
    struct lb_revolution revolution;
    random_machine(&machine, &state);
    if (!revolve(&revolution, &machine))
      continue;
    tally_add(&tally, &machine);
    check(&machine, &revolution);
  }
  tally_require(&tally, support_least(50));
}

/* The random machines are such as a machine file may describe. */
static void check_validity(const struct lb_machine *m, const struct lb_revolution *r) {
  (void)r;
  struct lb_errors errors = {0};
  ck_assert_msg(lb_machine_check(m, &errors) == LB_OK, "%s: %s", errors.item[0].key,
                errors.item[0].text);
}

START_TEST(random_machines_are_valid) {
  every_machine(check_validity);
}
END_TEST

static void check_torque(const struct lb_machine *m, const struct lb_revolution *r) {
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, m);
  ck_close(r->indicated_work, reference_machine_work(m, cutoff), IDENTITY * scale(m));
}

START_TEST(work_is_the_integral_of_the_torque) {
  every_machine(check_torque);
}
END_TEST

/* The machine's pressures, temperatures and exponents reach each of its chambers. */
static void check_chambers(const struct lb_machine *m, const struct lb_revolution *r) {
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_turn *t = &r->end[end].turn;
    if (!m->works[end])
      continue;
    struct reference_air a = reference_march(m, (enum lb_end)end, m->timing[end].cutoff);
    ck_close_relative(t->cutoff_temperature, a.cutoff_temperature, SOLVER);
    ck_close_relative(t->exhaust_temperature, a.exhaust_temperature, SOLVER);
    ck_close(t->air, a.filling + a.admitted - a.pushed_back, SOLVER * a.held);
    ck_close_relative(t->release_pressure, a.release_pressure, SOLVER);
  }
}

START_TEST(chambers) {
  every_machine(check_chambers);
}
END_TEST

/* What holds of every machine whatever it is. */
static void check_invariants(const struct lb_machine *m, const struct lb_revolution *r) {
  double work = 0, air = 0, cutoff[LB_ENDS], tiny = IDENTITY * scale(m);
  random_machine_cutoff(cutoff, m);
  for (int end = 0; end < LB_ENDS; end++) {
    static const struct lb_end_turn blank;
    const struct lb_end_turn *e = &r->end[end];
    if (!m->works[end]) {
      ck_assert(memcmp(e, &blank, sizeof blank) == 0);
      continue;
    }
    work += m->cylinders * e->turn.work;
    air += m->cylinders * e->turn.air;
    ck_assert(e->cutoff == cutoff[end]);
    ck_assert(e->stroke_fraction >= 0 && e->stroke_fraction <= 1 + EXACT);
    ck_assert(e->turn.exhaust_temperature > 0 && e->turn.cutoff_temperature > 0);
    ck_assert(e->turn.outside_air >= -IDENTITY * e->turn.cutoff_air);
    ck_assert(e->turn.pushed_back_air >= -IDENTITY * e->turn.cutoff_air);
    ck_assert(e->turn.peak_pressure >= m->back_pressure * (1 - EXACT));
  }
  ck_close(r->indicated_work, work, tiny);
  ck_close_relative(r->air, air, IDENTITY);
  ck_close(r->work, r->indicated_work - r->friction_work, tiny);
  ck_close(r->mean_torque * turn, r->work, tiny);
  ck_close(r->mean_effective_pressure * lb_machine_swept_volume(m), r->indicated_work, tiny);
  ck_assert(r->indicated_work <= lb_cycle_ceiling(m) + tiny);
}

START_TEST(invariants) {
  every_machine(check_invariants);
}
END_TEST

static void check_friction(const struct lb_machine *m, const struct lb_revolution *r) {
  double cutoff[LB_ENDS];
  random_machine_cutoff(cutoff, m);
  double share = m->friction_share > 0 ? m->friction_share * reference_absolute_work(m, cutoff) : 0;
  double expected = m->cylinders * (2 * m->linkage.stroke * m->friction + share);
  ck_close_relative(r->friction_work, expected, SOLVER);
  if (m->friction == 0 && m->friction_share == 0)
    ck_assert(r->friction_work == 0);
}

START_TEST(friction) {
  every_machine(check_friction);
}
END_TEST

/* W/m and what is derived from it, against the formulas of the ideal machines. */
static void check_efficiency(const struct lb_machine *m, const struct lb_revolution *r) {
  double ratio = m->supply_pressure / m->back_pressure, t = m->supply_temperature;
  double isothermal = LB_GAS_CONSTANT * t * log(ratio);
  double isentropic = LB_CP * t * (1 - pow(ratio, -(LB_GAMMA - 1) / LB_GAMMA));
  if (!(r->air > 0)) {
    ck_assert(r->work_per_kg == 0 && r->isothermal_efficiency == 0);
    return;
  }
  ck_close_relative(r->work_per_kg * r->air, r->work, IDENTITY);
  ck_close_relative(r->isothermal_efficiency * isothermal, r->work_per_kg, IDENTITY);
  ck_close_relative(r->isentropic_efficiency * isentropic, r->work_per_kg, IDENTITY);
}

START_TEST(efficiencies) {
  every_machine(check_efficiency);
}
END_TEST

static int bounded_by_isentropic;

/* With equal exponents no machine beats an ideal one with the air it draws. */
static void check_bounds(const struct lb_machine *m, const struct lb_revolution *r) {
  double outside = 0, hottest = fmax(m->supply_temperature, m->ambient_temperature);
  if (m->expansion_exponent != m->compression_exponent || !(r->air > 0))
    return;
  for (int end = 0; end < LB_ENDS; end++)
    if (m->works[end]) {
      outside += r->end[end].turn.outside_air;
    }
  double per_kg = r->indicated_work / r->air;
  double slack = 1 + IDENTITY * scale(m) / fabs(r->indicated_work);
  ck_assert(per_kg <=
            lb_air_isothermal_ideal(hottest, m->supply_pressure, m->back_pressure) * slack);
  if (m->expansion_exponent == LB_GAMMA && outside == 0) {
    ck_assert(per_kg <=
              lb_air_isentropic_ideal(m->supply_temperature, m->supply_pressure, m->back_pressure) *
                  slack);
    bounded_by_isentropic++;
  }
}

START_TEST(no_machine_beats_the_ideal) {
  every_machine(check_bounds);
  ck_assert_int_ge(bounded_by_isentropic, support_least(30));
}
END_TEST

/* Central differences at h, h/2, h/4 put together; spread[] gets how much the last two still
 * differ, a measure of kinks nearby. */
static bool differences(double *value, double *spread, const double *cutoff, int end) {
  double d[3][2], h = 1e-3;
  for (int i = 0; i < 3; i++, h /= 2) {
    double before[LB_ENDS] = {cutoff[0], cutoff[1]}, after[LB_ENDS] = {cutoff[0], cutoff[1]};
    struct lb_revolution low, high;
    before[end] -= h;
    after[end] += h;
    if (lb_cycle_turn(&low, cycle, before, NULL) != LB_OK ||
        lb_cycle_turn(&high, cycle, after, NULL) != LB_OK)
      return false;
    d[i][0] = (high.work - low.work) / (2 * h);
    d[i][1] = (high.air - low.air) / (2 * h);
  }
  for (int k = 0; k < 2; k++) {
    double first = (4 * d[1][k] - d[0][k]) / 3;
    value[k] = (4 * d[2][k] - d[1][k]) / 3;
    spread[k] = fabs(value[k] - first);
  }
  return true;
}

/* A cut-off inside each worked end's window. */
static void random_inside(double *cutoff, const struct lb_machine *m, uint64_t *state) {
  for (int end = 0; end < LB_ENDS; end++) {
    double low, high;
    cutoff[end] = 0;
    if (!m->works[end])
      continue;
    lb_timing_window(&low, &high, m, (enum lb_end)end);
    cutoff[end] = low + (high - low) * support_between(state, 0.08, 0.92);
  }
}

START_TEST(slopes) {
  uint64_t state = 32;
  int seen = 0, smooth = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine m;
    struct lb_revolution r;
    struct lb_cycle_slope slope;
    double cutoff[LB_ENDS], value[2], spread[2];
    random_machine(&m, &state);
    prepare(&m);
    random_inside(cutoff, &m, &state);
    if (lb_cycle_turn(&r, cycle, cutoff, NULL) != LB_OK)
      continue;
    ck_assert_int_eq(lb_cycle_slopes(&slope, cycle, cutoff, NULL), LB_OK);
    ck_close(slope.work, r.work, IDENTITY * scale(&m));
    ck_close_relative(slope.air, r.air, SOLVER);
    for (int end = 0; end < LB_ENDS; end++) {
      if (!m.works[end]) {
        ck_assert(slope.work_per_angle[end] == 0 && slope.air_per_angle[end] == 0);
        continue;
      }
      double air = m.cylinders * r.end[end].turn.cutoff_air;
      if (!differences(value, spread, cutoff, end))
        continue;
      ck_close(slope.work_per_angle[end], value[0], 1e-9 * scale(&m) + 4 * spread[0]);
      ck_close(slope.air_per_angle[end], value[1], 1e-9 * air + 4 * spread[1]);
      seen++;
      smooth += spread[0] < 1e-8 * scale(&m) && spread[1] < 1e-8 * air;
    }
  }
  ck_assert_int_gt(seen, support_least(MACHINES));
  ck_assert_int_gt(smooth, seen * 9 / 10);
}
END_TEST

/* A yoke with a through rod of one thickness is the same from both ends. */
START_TEST(ends_can_be_swapped) {
  uint64_t state = 33;
  for (int i = 0; i < support_times(300); i++) {
    struct lb_machine m, swapped;
    struct lb_revolution r, s;
    random_machine(&m, &state);
    ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, m.linkage.stroke, 0, 0, NULL), LB_OK);
    m.works[LB_CAP_END] = m.works[LB_ROD_END] = true;
    m.through_rod_diameter = m.rod_diameter;
    for (int end = 0; end < LB_ENDS; end++) /* a valid turn on a symmetric linkage */
      m.timing[end] = (struct lb_timing){.inlet_opens = support_between(&state, -0.3, 0.3),
                                         .cutoff_given = true,
                                         .cutoff = support_between(&state, 0.5, 1.5),
                                         .release = support_between(&state, 2, 3.5),
                                         .exhaust_closes = support_between(&state, 4, 5.9)};
    m.dead_volume[LB_CAP_END] += 1e-7;
    m.dead_volume[LB_ROD_END] += 1e-7;
    swapped = m;
    for (int end = 0; end < LB_ENDS; end++) {
      swapped.timing[end] = m.timing[1 - end];
      swapped.dead_volume[end] = m.dead_volume[1 - end];
    }
    if (!revolve(&r, &m))
      continue;
    ck_assert(revolve(&s, &swapped));
    ck_close(s.work, r.work, IDENTITY * scale(&m));
    ck_close(s.friction_work, r.friction_work, IDENTITY * scale(&m));
    ck_close_relative(s.air, r.air, SOLVER);
    ck_close_relative(s.end[LB_ROD_END].turn.exhaust_temperature,
                      r.end[LB_CAP_END].turn.exhaust_temperature, SOLVER);
  }
}
END_TEST

/* Twice the lengths, eight times the dead volumes, four times the friction: eight times the work
 * and air, the same pressures and temperatures. All factors are powers of two: nothing rounds. */
static void check_scaling(const struct lb_machine *m, const struct lb_revolution *r) {
  struct lb_machine big = *m;
  struct lb_revolution b;
  const struct lb_linkage *k = &m->linkage;
  ck_assert_int_eq(
      lb_linkage_init(&big.linkage, k->kind, 2 * k->stroke, 2 * k->length, 2 * k->offset, NULL),
      LB_OK);
  big.bore *= 2;
  big.rod_diameter *= 2;
  big.through_rod_diameter *= 2;
  big.friction *= 4;
  for (int end = 0; end < LB_ENDS; end++)
    big.dead_volume[end] *= 8;
  ck_assert(revolve(&b, &big));
  ck_close_relative(b.indicated_work, 8 * r->indicated_work, EXACT);
  ck_close_relative(b.friction_work, 8 * r->friction_work, EXACT);
  ck_close_relative(b.air, 8 * r->air, EXACT);
  ck_close_relative(b.work_per_kg, r->work_per_kg, EXACT);
  ck_close_relative(b.mean_effective_pressure, r->mean_effective_pressure, EXACT);
}

START_TEST(twice_as_large) {
  every_machine(check_scaling);
}
END_TEST

/* A double-acting machine with timing that suits any linkage. */
static struct lb_machine sound_machine(enum lb_linkage_kind kind, double length) {
  struct lb_machine m;
  lb_machine_defaults(&m);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, kind, 0.1, length, 0, NULL), LB_OK);
  m.bore = 0.05;
  m.rod_diameter = 0.02;
  m.supply_pressure = 7e5;
  m.friction_share = 0.1;
  for (int end = 0; end < LB_ENDS; end++) {
    m.dead_volume[end] = 1.5e-5;
    m.timing[end] = (struct lb_timing){.inlet_opens = -0.1,
                                       .cutoff_given = true,
                                       .cutoff = 1.1,
                                       .release = 2.9,
                                       .exhaust_closes = 5.5};
  }
  return m;
}

START_TEST(yoke_is_the_limit_of_long_linkages) {
  const enum lb_linkage_kind kinds[] = {LB_CONNECTING_ROD, LB_SWINGING};
  struct lb_machine yoke = sound_machine(LB_YOKE, 0);
  struct lb_revolution limit;
  ck_assert(revolve(&limit, &yoke));
  for (int i = 0; i < 2; i++)
    for (double length = 12; length < 100; length *= 2) {
      double off[2][2];
      for (int j = 0; j < 2; j++) {
        struct lb_machine m = sound_machine(kinds[i], length * (j + 1));
        struct lb_revolution r;
        ck_assert(revolve(&r, &m));
        off[j][0] = r.end[LB_CAP_END].turn.work - limit.end[LB_CAP_END].turn.work;
        off[j][1] = r.air - limit.air;
      }
      ck_close(log2(off[0][0] / off[1][0]), 1, 0.05);
      ck_close(log2(off[0][1] / off[1][1]), 1, 0.05);
    }
}
END_TEST

/* Cylinders add up; where they stand on the crank changes nothing over a revolution. */
START_TEST(cylinders_add_up) {
  struct lb_machine one = sound_machine(LB_SWINGING, 0.3), three = one;
  struct lb_revolution r, s;
  one.friction = three.friction = 20;
  three.cylinders = 3;
  three.crank_angle[1] = 1;
  three.crank_angle[2] = 4;
  ck_assert(revolve(&r, &one));
  ck_assert(revolve(&s, &three));
  ck_close_relative(s.work, 3 * r.work, EXACT);
  ck_close_relative(s.air, 3 * r.air, EXACT);
  ck_close_relative(s.friction_work, 3 * r.friction_work, EXACT);
  ck_close_relative(s.mean_effective_pressure, r.mean_effective_pressure, EXACT);
  ck_close_relative(lb_cycle_ceiling(&three), 3 * lb_cycle_ceiling(&one), EXACT);
  double area = LB_PI / 4 * (2 * 0.05 * 0.05 - 0.02 * 0.02);
  ck_close_relative(lb_cycle_ceiling(&one), (7e5 - LB_ATMOSPHERE) * area * 0.1, IDENTITY);
}
END_TEST

START_TEST(idle_end_is_not_read) {
  struct lb_machine m = sound_machine(LB_YOKE, 0);
  struct lb_revolution r, s;
  const double cutoff[LB_ENDS] = {1.1, 0}, nonsense[LB_ENDS] = {1.1, (double)NAN};
  m.works[LB_ROD_END] = false;
  prepare(&m);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
  m.timing[LB_ROD_END] = (struct lb_timing){.release = (double)NAN};
  prepare(&m);
  ck_assert_int_eq(lb_cycle_turn(&s, cycle, nonsense, NULL), LB_OK);
  ck_assert(r.work == s.work && r.air == s.air);
}
END_TEST

START_TEST(machine_is_copied) {
  struct lb_machine m = sound_machine(LB_YOKE, 0);
  struct lb_revolution r, s;
  const double cutoff[LB_ENDS] = {1.1, 1.1};
  prepare(&m);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
  memset(&m, 0x7f, sizeof m);
  ck_assert_int_eq(lb_cycle_turn(&s, cycle, cutoff, NULL), LB_OK);
  ck_assert(r.work == s.work && r.friction_work == s.friction_work);
}
END_TEST

/* A machine that cannot be leaves the cycle with the one before. */
START_TEST(failure_changes_nothing) {
  struct lb_machine m = sound_machine(LB_YOKE, 0), bad = m;
  struct lb_error error;
  prepare(&m);
  bad.dead_volume[LB_ROD_END] = -1;
  ck_assert_int_eq(lb_cycle_prepare(cycle, &bad, &error), LB_BAD_INPUT);
  ck_assert_str_eq(error.text, "rod end: volumes must be finite and not negative, and there must "
                               "be room at release");
  ck_assert(lb_cycle_machine(cycle)->dead_volume[LB_ROD_END] == 1.5e-5);
  bad = m;
  bad.expansion_exponent = 1;
  bad.compression_exponent = 1.42;
  bad.timing[LB_CAP_END].exhaust_closes = 3.6;
  prepare(&bad);
  struct lb_revolution r, before;
  memset(&r, 0x11, sizeof r);
  memcpy(&before, &r, sizeof r);
  const double cutoff[LB_ENDS] = {1.1, 1.1};
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, &error), LB_NO_ANSWER);
  ck_assert(strncmp(error.text, "cap end: with the exponents 1 and 1.42 ", 39) == 0);
  ck_assert(memcmp(&r, &before, sizeof r) == 0);
  lb_cycle_free(NULL);
}
END_TEST

/* An exhaust that opens after the far dead centre: the air may have been below back pressure there
 * and be back above it at release. p_s (V_c/V)^n = p_e at a volume between the two says when. */
START_TEST(dip_before_a_late_release) {
  const double dead = 10e-6, area = LB_PI / 4 * 0.05 * 0.05;
  struct lb_machine m;
  struct lb_revolution r;
  lb_machine_defaults(&m);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  m.works[LB_ROD_END] = false;
  m.bore = 0.05;
  m.dead_volume[LB_CAP_END] = dead;
  m.supply_pressure = 7e5;
  m.timing[LB_CAP_END].release = LB_PI + 0.6;
  prepare(&m);
  double release = dead + area * 0.1 * pow(sin(m.timing[LB_CAP_END].release / 2), 2);
  double full = dead + area * 0.1, ratio = pow(m.back_pressure / m.supply_pressure, 1 / LB_GAMMA);
  for (int i = 0; i < 2; i++) {
    double wanted =
        i == 0 ? (release + full) / 2 : full * 1.01; /* below p_e at the far end, or not */
    double cutoff[LB_ENDS] = {lb_timing_angle(&m, LB_CAP_END, ratio * wanted)};
    ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, NULL), LB_OK);
    ck_assert(r.end[LB_CAP_END].turn.release_pressure > m.back_pressure);
    ck_assert(!(r.end[LB_CAP_END].turn.flags & LB_NEGATIVE_LOOP) == (i == 1));
  }
}
END_TEST

/* Shut at a dead centre without dead volume, nothing is closed in. */
START_TEST(nothing_closed_in) {
  struct lb_machine m;
  struct lb_revolution r;
  struct lb_error error;
  const double cutoff[LB_ENDS] = {0};
  lb_machine_defaults(&m);
  ck_assert_int_eq(lb_linkage_init(&m.linkage, LB_YOKE, 0.1, 0, 0, NULL), LB_OK);
  m.works[LB_ROD_END] = false;
  m.bore = 0.05;
  m.supply_pressure = 5e5;
  m.timing[LB_CAP_END].inlet_opens = -0.1;
  m.timing[LB_CAP_END].exhaust_closes = turn - 0.1;
  prepare(&m);
  ck_assert_int_eq(lb_cycle_turn(&r, cycle, cutoff, &error), LB_NO_ANSWER);
  ck_assert_str_eq(error.text,
                   "cap end: the inlet closes at dead centre, where there is no volume: no air is "
                   "closed in; a later cut-off would do");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("cycle");
  TCase *machines = tcase_create("random machines");
  tcase_set_timeout(machines, 60);
  tcase_add_checked_fixture(machines, set_up, tear_down);
  tcase_add_test(machines, random_machines_are_valid);
  tcase_add_test(machines, work_is_the_integral_of_the_torque);
  tcase_add_test(machines, chambers);
  tcase_add_test(machines, invariants);
  tcase_add_test(machines, friction);
  tcase_add_test(machines, efficiencies);
  tcase_add_test(machines, no_machine_beats_the_ideal);
  tcase_add_test(machines, slopes);
  tcase_add_test(machines, twice_as_large);
  suite_add_tcase(suite, machines);
  TCase *relations = tcase_create("relations");
  tcase_add_checked_fixture(relations, set_up, tear_down);
  tcase_add_test(relations, ends_can_be_swapped);
  tcase_add_test(relations, yoke_is_the_limit_of_long_linkages);
  tcase_add_test(relations, cylinders_add_up);
  tcase_add_test(relations, dip_before_a_late_release);
  tcase_add_test(relations, nothing_closed_in);
  suite_add_tcase(suite, relations);
  TCase *use = tcase_create("use");
  tcase_add_checked_fixture(use, set_up, tear_down);
  tcase_add_test(use, idle_end_is_not_read);
  tcase_add_test(use, machine_is_copied);
  tcase_add_test(use, failure_changes_nothing);
  suite_add_tcase(suite, use);
  return support_run(suite, NULL);
}
