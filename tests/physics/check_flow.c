/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The flow curve of ISO 6358-1: its ends, a value worked by hand, derivatives by differences, both
 * ways.
 */
#include "physics/flow.h"

#include "base/constants.h"
#include "support.h"

static const double bar = 1e5, room = 293.15; /* [Pa], [K] */

/* C = 1 dm3/(s bar), b = 0.30 and 0.528, from 7 to 6 bar absolute at 20 degC: 254.3 and 301.0
 * litres ANR a minute, derived from the law of ISO 6358:1989 (recalled from memory). */
START_TEST(a_litre_a_second_and_bar) {
  const double minute = 60, litre = 1e-3;
  struct lb_flow flow = {1e-8, 0.30, 0.5};
  double q = lb_flow_mass(&flow, 7 * bar, room, 6 * bar) / LB_DENSITY_ANR;
  ck_close(q * minute / litre, 254.3, 0.05);
  flow.critical_ratio = 0.528;
  q = lb_flow_mass(&flow, 7 * bar, room, 6 * bar) / LB_DENSITY_ANR;
  ck_close(q * minute / litre, 301.0, 0.05);
  /* choked: C itself, by the pressure */
  ck_close_relative(lb_flow_mass(&flow, 7 * bar, room, 1 * bar), 7e-3 * LB_DENSITY_ANR, EXACT);
  ck_close_relative(lb_flow_mass(&flow, 7 * bar, 4 * room, 1 * bar), 3.5e-3 * LB_DENSITY_ANR,
                    EXACT);
}
END_TEST

START_TEST(share_has_no_jump) {
  uint64_t state = 51;
  for (int i = 0; i < 200; i++) {
    struct lb_flow flow = {1, support_between(&state, 0, 0.9), support_between(&state, 0.4, 0.7)};
    double b = flow.critical_ratio, last = 1;
    ck_assert(lb_flow_share(&flow, 0, NULL) == 1 && lb_flow_share(&flow, b, NULL) == 1);
    ck_close(lb_flow_share(&flow, b + 1e-9, NULL), 1, 1e-12);
    ck_close(lb_flow_share(&flow, 0.999 - 1e-12, NULL), lb_flow_share(&flow, 0.999 + 1e-12, NULL),
             1e-8);
    ck_assert(lb_flow_share(&flow, 1, NULL) == 0);
    for (double r = b; r < 1; r += 0.01) {
      double share = lb_flow_share(&flow, r, NULL), slope;
      ck_assert(share <= last && share >= 0);
      last = share;
      if (r < b + 1e-3 || fabs(r - 0.999) < 1e-3)
        continue;
      lb_flow_share(&flow, r, &slope);
      const double step = 1e-6;
      double difference =
          (lb_flow_share(&flow, r + step, NULL) - lb_flow_share(&flow, r - step, NULL)) /
          (2 * step);
      ck_close(slope, difference, 1e-5 * (1 + fabs(slope)));
    }
  }
}
END_TEST

/* The flow the other way is the same flow, and its derivatives are those of differences. */
START_TEST(either_way) {
  uint64_t state = 52;
  for (int i = 0; i < 500; i++) {
    const struct lb_flow flow = {1e-8, support_between(&state, 0, 0.6), 0.5};
    double p1 = support_between(&state, 0.1, 9) * bar, p2 = support_between(&state, 0.1, 9) * bar;
    double t1 = support_between(&state, 200, 320), t2 = support_between(&state, 200, 320);
    double opening = support_between(&state, 0.01, 1), ratio = fmin(p1, p2) / fmax(p1, p2);
    struct lb_flow_rate there, back, up, down;
    lb_flow_between(&there, &flow, opening, p1, t1, p2, t2);
    lb_flow_between(&back, &flow, opening, p2, t2, p1, t1);
    ck_close_relative(there.mass, -back.mass, EXACT);
    double one_way = p1 > p2 ? lb_flow_mass(&flow, p1, t1, p2) : -lb_flow_mass(&flow, p2, t2, p1);
    ck_close_relative(there.mass, opening * one_way, EXACT);
    if (fabs(ratio - flow.critical_ratio) < 1e-3 || ratio > 0.99)
      continue;
    const double small = 1e-6;
    double scale = fabs(there.mass);
    lb_flow_between(&up, &flow, opening, p1 * (1 + small), t1, p2, t2);
    lb_flow_between(&down, &flow, opening, p1 * (1 - small), t1, p2, t2);
    ck_close(there.by_pressure_1 * p1, (up.mass - down.mass) / (2 * small), 1e-6 * scale);
    lb_flow_between(&up, &flow, opening, p1, t1, p2 * (1 + small), t2);
    lb_flow_between(&down, &flow, opening, p1, t1, p2 * (1 - small), t2);
    ck_close(there.by_pressure_2 * p2, (up.mass - down.mass) / (2 * small), 1e-6 * scale);
    lb_flow_between(&up, &flow, opening, p1, t1 * (1 + small), p2, t2 * (1 + small));
    lb_flow_between(&down, &flow, opening, p1, t1 * (1 - small), p2, t2 * (1 - small));
    ck_close(there.by_temperature_1 * t1 + there.by_temperature_2 * t2,
             (up.mass - down.mass) / (2 * small), 1e-6 * scale);
    ck_assert(there.by_temperature_1 == 0 || there.by_temperature_2 == 0);
  }
}
END_TEST

static Suite *flow_suite(void) {
  Suite *suite = suite_create("flow");
  TCase *tests = tcase_create("flow");
  tcase_add_test(tests, a_litre_a_second_and_bar);
  tcase_add_test(tests, share_has_no_jump);
  tcase_add_test(tests, either_way);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(flow_suite(), NULL);
}
