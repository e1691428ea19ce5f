/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Volumes at the events against volumes by definition; greatest and least ones against a search of
 * the whole phase.
 */
#include "base/constants.h"
#include "random_machine.h"
#include "slow_reference.h"
#include "stroke/timing.h"
#include "support.h"

enum {
  MACHINES = 1000,
  SAMPLES = 400
};

static const double turn = 2 * LB_PI;

/* Call for every worked end of the random machines. */
static void every_end(void (*check)(const struct lb_machine *, enum lb_end, uint64_t *)) {
  uint64_t state = 1, own = 2;
  struct tally tally = {{0}};
  int ends = 0;
  for (int i = 0; i < support_times(MACHINES); i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    tally_add(&tally, &machine);
    for (int end = 0; end < LB_ENDS; end++)
      if (machine.works[end]) {
        check(&machine, (enum lb_end)end, &own);
        ends++;
      }
  }
  ck_assert_int_gt(ends, MACHINES);
  tally_require(&tally, 50);
}

static double swept(const struct lb_machine *machine, enum lb_end end) {
  return lb_machine_area(machine, end) * machine->linkage.stroke;
}

static void check_volume(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  double angle = support_between(state, -3, 9), h = 1e-4;
  double lever = 1 + m->linkage.length / m->linkage.stroke, tiny = EXACT * swept(m, end) * lever;
  ck_close(lb_timing_volume(m, end, angle), reference_volume(m, end, angle), 4 * tiny);
  double rise = reference_volume(m, end, angle + h) - reference_volume(m, end, angle - h);
  ck_close(lb_timing_volume_slope(m, end, angle), rise / (2 * h), 1e-5 * swept(m, end) * lever);
  double area = lb_machine_area(m, end);
  ck_close_relative(lb_timing_volume_slope(m, end, angle),
                    area * lb_linkage_distance_slope(&m->linkage, end, angle), EXACT);
  double fraction = lb_timing_stroke_fraction(m, end, angle);
  ck_close(m->dead_volume[end] + fraction * swept(m, end), reference_volume(m, end, angle),
           4 * tiny);
}

START_TEST(volume_at_an_angle) {
  every_end(check_volume);
}
END_TEST

static void check_angle(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  double angle = reference_far(m, end) * support_between(state, 0.01, 0.99);
  ck_close(lb_timing_angle(m, end, reference_volume(m, end, angle)), angle, 1e-9);
  ck_assert(isnan(lb_timing_angle(m, end, m->dead_volume[end] - 1e-6 * swept(m, end))));
  ck_assert(isnan(lb_timing_angle(m, end, m->dead_volume[end] + 1.000001 * swept(m, end))));
}

START_TEST(angle_of_a_volume) {
  every_end(check_angle);
}
END_TEST

/* Greatest (side = 1) or least (-1) volume between two angles, by looking. */
static double extreme(const struct lb_machine *m, enum lb_end end, double from, double to,
                      int side) {
  double found = side * reference_volume(m, end, from);
  const double dead_centre[] = {reference_far(m, end) - turn, 0, reference_far(m, end), turn,
                                reference_far(m, end) + turn};
  for (int i = 1; i <= SAMPLES; i++)
    found = fmax(found, side * reference_volume(m, end, from + (to - from) * i / SAMPLES));
  for (size_t i = 0; i < sizeof dead_centre / sizeof dead_centre[0]; i++)
    if (dead_centre[i] >= from && dead_centre[i] <= to)
      found = fmax(found, side * reference_volume(m, end, dead_centre[i]));
  return side * found;
}

static void check_events(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  (void)state;
  const struct lb_timing *t = &m->timing[end];
  double far = reference_far(m, end), next = t->inlet_opens + turn;
  double tiny = 4 * EXACT * swept(m, end) * (1 + m->linkage.length / m->linkage.stroke);
  struct lb_volumes v;
  lb_timing_volumes(&v, m, end);
  ck_close(v.opening, reference_volume(m, end, t->inlet_opens), tiny);
  ck_close(v.filled, extreme(m, end, t->inlet_opens, fmax(0, t->inlet_opens), -1), tiny);
  ck_close(v.release, reference_volume(m, end, t->release), tiny);
  ck_close(v.closing, reference_volume(m, end, t->exhaust_closes), tiny);
  ck_close(v.exhausting, extreme(m, end, t->release, fmin(t->exhaust_closes, turn), 1), tiny);
  double back = fmin(fmax(far, t->release), t->exhaust_closes); /* it sweeps out from here on */
  ck_close(v.swept_out, extreme(m, end, back, t->exhaust_closes, -1), tiny);
  ck_close(v.trapped_least, extreme(m, end, t->exhaust_closes, next, -1), tiny);
}

START_TEST(volumes_at_events) {
  every_end(check_events);
}
END_TEST

static void check_window(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  (void)state;
  const struct lb_timing *t = &m->timing[end];
  double low, high, far = reference_far(m, end);
  lb_timing_window(&low, &high, m, end);
  ck_close(high, fmin(far, t->release), EXACT);
  ck_assert(low < high);
  if (m->dead_volume[end] > 0 || t->inlet_opens > 0) {
    ck_assert(low == fmax(0, t->inlet_opens));
  } else {
    ck_assert(low > 0 && low < 0.01);
    ck_assert(lb_timing_volume(m, end, low) > 0);
  }
}

START_TEST(window_of_a_search) {
  every_end(check_window);
}
END_TEST

static void check_cutoff(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  (void)state;
  double cutoff = m->timing[end].cutoff, volume, greatest;
  double from = m->timing[end].inlet_opens;
  double tiny = 4 * EXACT * swept(m, end) * (1 + m->linkage.length / m->linkage.stroke);
  lb_timing_cutoff(&volume, &greatest, m, end, cutoff);
  ck_close(volume, reference_volume(m, end, cutoff), tiny);
  ck_close(greatest, extreme(m, end, fmax(0, from), cutoff, 1), tiny);
}

START_TEST(volume_at_cutoff) {
  every_end(check_cutoff);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("timing");
  TCase *volumes = tcase_create("volumes");
  tcase_set_timeout(volumes, 60);
  tcase_add_test(volumes, volume_at_an_angle);
  tcase_add_test(volumes, angle_of_a_volume);
  tcase_add_test(volumes, volumes_at_events);
  tcase_add_test(volumes, window_of_a_search);
  tcase_add_test(volumes, volume_at_cutoff);
  suite_add_tcase(suite, volumes);
  return support_run(suite, NULL);
}
