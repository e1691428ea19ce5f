/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Volumes at the events against volumes by definition; greatest and least ones against a search of
 * the whole phase. Crank angles against where the piston stands there; how valves are switched
 * against figures worked by hand and against their turning.
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
  ck_assert_int_gt(ends, support_least(MACHINES));
  tally_require(&tally, support_least(50));
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

static void check_crank(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  double angle = support_between(state, -3, 9), h = 1e-3;
  double lever = 1 + m->linkage.length / m->linkage.stroke;
  double tiny = 16 * EXACT * m->linkage.stroke * lever;
  for (int i = 0; i < 2; i++) { /* two places, for the piston comes by twice in a turn */
    double crank = lb_timing_crank_angle(m, end, angle + i * h);
    double travel = (double)reference_travel(&m->linkage, (long double)crank);
    double away =
        (reference_volume(m, end, angle + i * h) - m->dead_volume[end]) / lb_machine_area(m, end);
    ck_assert(crank >= 0 && crank < turn);
    ck_close(travel, end == LB_CAP_END ? away : m->linkage.stroke - away, tiny);
  }
}

START_TEST(crank_angles) {
  every_end(check_crank);
}
END_TEST

/* Where a rod is offset the dead centres are no half turn apart. */
START_TEST(crank_angle_of_an_offset_rod) {
  struct lb_machine m;
  uint64_t state = 3;
  do {
    random_machine(&m, &state);
  } while (!machine_is(&m, CASE_OFFSET));
  double r = m.linkage.crank_radius, l = m.linkage.length, e = m.linkage.offset;
  double apart = turn / 2 - asin(e / (l + r)) + asin(e / (l - r));
  ck_assert(fabs(apart - turn / 2) > 1e-4);
  ck_close(lb_timing_crank_angle(&m, LB_ROD_END, 0), fmod(apart + turn, turn), IDENTITY);
  ck_close(lb_timing_crank_angle(&m, LB_ROD_END, -apart / 2), apart / 2, IDENTITY);
  ck_assert(lb_timing_crank_angle(&m, LB_CAP_END, turn) == 0);
  ck_assert(lb_timing_crank_angle(&m, LB_CAP_END, -1e-300) < turn);
}
END_TEST

static void check_event(const struct lb_machine *m, enum lb_end end, uint64_t *state) {
  const struct lb_timing *t = &m->timing[end];
  double cutoff = support_between(state, 0, 3);
  ck_assert(lb_timing_event(m, end, LB_VARIED_INLET_OPENS, cutoff) == t->inlet_opens);
  ck_assert(lb_timing_event(m, end, LB_VARIED_CUTOFF, cutoff) == cutoff);
  ck_assert(lb_timing_event(m, end, LB_VARIED_RELEASE, cutoff) == t->release);
  ck_assert(lb_timing_event(m, end, LB_VARIED_EXHAUST_CLOSES, cutoff) == t->exhaust_closes);
}

START_TEST(angles_of_events) {
  every_end(check_event);
}
END_TEST

/* The words of the machine file's keys. */
START_TEST(names_of_events) {
  ck_assert_str_eq(lb_timing_event_name(LB_VARIED_INLET_OPENS), "inlet opens");
  ck_assert_str_eq(lb_timing_event_name(LB_VARIED_CUTOFF), "cut-off");
  ck_assert_str_eq(lb_timing_event_name(LB_VARIED_RELEASE), "release");
  ck_assert_str_eq(lb_timing_event_name(LB_VARIED_EXHAUST_CLOSES), "exhaust closes");
}
END_TEST

/* 6 deg for each rpm and second. */
START_TEST(valves_are_late_by_the_speed) {
  static const struct {
    double seconds, rpm, degrees;
  } rows[] = {{0.010, 300, 18}, {0.020, 300, 36}, {0.020, 600, 72}, {0.004, 1000, 24}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    for (int which = 0; which < 4; which++) {
      struct lb_machine m = {0};
      struct lb_valve_delay *inlet = &m.valve_delay[LB_INLET_VALVE];
      struct lb_valve_delay *exhaust = &m.valve_delay[LB_EXHAUST_VALVE];
      double *delay[] = {&inlet->on, &inlet->off, &exhaust->on, &exhaust->off};
      *delay[which] = rows[i].seconds;
      double speed = rows[i].rpm * turn / 60;
      for (int event = 0; event < 4; event++)
        ck_close(lb_timing_lead(&m, LB_ROD_END, (enum lb_varied)event, false, speed) * 360 / turn,
                 event == which ? rows[i].degrees : 0, IDENTITY * 360);
    }
}
END_TEST

/* Angles of switching are where the valve is switched; a cut-off that a rule found is not one. */
START_TEST(angles_of_switching_have_no_lead) {
  struct lb_machine m = {0};
  m.valve_delay[LB_INLET_VALVE] = m.valve_delay[LB_EXHAUST_VALVE] =
      (struct lb_valve_delay){.on = 0.01, .off = 0.02};
  m.timing[LB_CAP_END].angles_are_switching = true;
  for (int event = 0; event < 4; event++) {
    enum lb_varied e = (enum lb_varied)event;
    ck_assert(lb_timing_lead(&m, LB_CAP_END, e, false, 10) == 0);
    ck_close(lb_timing_lead(&m, LB_CAP_END, e, true, 10), e == LB_VARIED_CUTOFF ? 0.2 : 0, EXACT);
    ck_assert(lb_timing_lead(&m, LB_ROD_END, e, false, 10) > 0);
  }
}
END_TEST

/* Whether a valve follows, from the turning of the crank: when it is switched, when it acts. */
static bool follows(const struct lb_valve_delay *delay, double window, double speed) {
  double opens = 0, shuts = window;
  double on = opens - speed * delay->on, off = shuts - speed * delay->off;
  return off >= opens && on + turn >= shuts;
}

START_TEST(greatest_speed_by_looking) {
  uint64_t state = 11;
  for (int i = 0; i < 200; i++) {
    struct lb_machine m = {0};
    enum lb_valve valve = i % 2 ? LB_EXHAUST_VALVE : LB_INLET_VALVE;
    struct lb_valve_delay *delay = &m.valve_delay[valve];
    *delay = (struct lb_valve_delay){i % 5 ? support_between(&state, 1e-3, 0.1) : 0,
                                     i % 7 ? support_between(&state, 1e-3, 0.1) : 0};
    double window = support_between(&state, 0.1, 6), low = 0, high = 1e5;
    for (int k = 0; k < 200; k++) {
      double middle = (low + high) / 2;
      *(follows(delay, window, middle) ? &low : &high) = middle;
    }
    double found = lb_timing_greatest_speed(&m, valve, window);
    if (delay->on > 0 || delay->off > 0)
      ck_close_relative(found, low, 1e-9);
    else
      ck_assert(isinf(found));
  }
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
  TCase *valves = tcase_create("valves");
  tcase_set_timeout(valves, 60);
  tcase_add_test(valves, crank_angles);
  tcase_add_test(valves, crank_angle_of_an_offset_rod);
  tcase_add_test(valves, angles_of_events);
  tcase_add_test(valves, names_of_events);
  tcase_add_test(valves, valves_are_late_by_the_speed);
  tcase_add_test(valves, angles_of_switching_have_no_lead);
  tcase_add_test(valves, greatest_speed_by_looking);
  suite_add_tcase(suite, valves);
  return support_run(suite, NULL);
}
