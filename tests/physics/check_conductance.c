/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes as conductances: the nozzle from energy, conversions by a second chain of units, elements
 * in series by the pressures between them.
 */
#include "physics/conductance.h"

#include "base/constants.h"
#include "support.h"

#include <string.h>

enum {
  MANY = 2000 /* random pairs of elements */
};

static const double litre_per_bar = 1e-3 / LB_BAR; /* 1 L/(s bar) in m3/(s Pa) */

/* phi as it is printed, in the ratio. */
static long double reference_share(const struct lb_flow *flow, long double ratio) {
  const long double b = (long double)flow->critical_ratio, linear = 0.999L;
  if (ratio <= b && ratio <= linear)
    return 1;
  if (ratio > linear)
    return reference_share(flow, linear) * (1 - ratio) / (1 - linear);
  long double z = (ratio - b) / (1 - b);
  return powl(1 - z * z, (long double)flow->subsonic_index);
}

static struct lb_flow flow_of(double critical_ratio, double index) {
  return (struct lb_flow){2.5 * litre_per_bar, critical_ratio, index};
}

/* The nozzle from energy: jet temperature, speed, density. Choked it passes the most there is. */
static double jet(double ratio, double gamma) {
  double temperature = pow(ratio, (gamma - 1) / gamma);
  double speed = sqrt(2 * gamma / (gamma - 1) * (1 - temperature));
  return ratio / temperature * speed;
}

START_TEST(nozzle_by_energy) {
  const double gammas[] = {1.135, 1.3, 1.4, 1.47, 5.0 / 3};
  for (size_t i = 0; i < sizeof gammas / sizeof *gammas; i++) {
    double most = 0, at = 0;
    for (int j = 1; j < 10000; j++) {
      double ratio = j / 10000.0, flow = jet(ratio, gammas[i]);
      at = flow > most ? ratio : at;
      most = fmax(most, flow);
    }
    ck_close(lb_conductance_critical_ratio(gammas[i]), at, 2e-4);
    ck_close_relative(lb_conductance_nozzle(0, gammas[i]), most, 1e-7);
    ck_close_relative(lb_conductance_nozzle(0.2, gammas[i]), most, 1e-7);
    for (int j = 60; j < 100; j++)
      ck_close_relative(lb_conductance_nozzle(j / 100.0, gammas[i]), jet(j / 100.0, gammas[i]),
                        IDENTITY);
  }
  ck_close(lb_conductance_nozzle(1, LB_GAMMA), 0, 0);
}
END_TEST

/* The law with the nozzle's b is within 0.3 per cent of the nozzle down to a drop of 0.002. */
START_TEST(law_is_close_to_the_nozzle) {
  struct lb_flow flow = flow_of(lb_conductance_critical_ratio(LB_GAMMA), LB_CONDUCTANCE_INDEX);
  for (int i = 0; i <= 998; i++) {
    double nozzle =
        lb_conductance_nozzle(i / 1000.0, LB_GAMMA) / lb_conductance_nozzle(0, LB_GAMMA);
    ck_close_relative(lb_flow_share(&flow, i / 1000.0, NULL), nozzle, 0.0031);
  }
}
END_TEST

/* A restriction's flow choked, and at the nominal drop, through the law. */
START_TEST(area_and_nominal_flow) {
  const double temperature = 305, area = 7e-6;
  uint64_t state = 5;
  for (int i = 0; i < 200; i++) {
    double b = support_between(&state, 0, 0.6);
    struct lb_flow flow = lb_conductance_of_area(area, b);
    double expected =
        area * 9e5 * jet(lb_conductance_critical_ratio(1.4), 1.4) / sqrt(287.05 * 305);
    ck_close_relative(lb_flow_mass(&flow, 9e5, temperature, 0), expected, IDENTITY);
    struct lb_flow orifice = lb_conductance_of_orifice(2 * sqrt(area / LB_PI), 0.5, b);
    ck_close_relative(2 * orifice.conductance, flow.conductance, IDENTITY);
    struct lb_flow stated = lb_conductance_of_nominal(700 * 1e-3 / 60, b);
    double litres = lb_flow_mass(&stated, 7e5, 293.15, 6e5) / 1.185 * 60 * 1000;
    ck_close_relative(litres, 700, IDENTITY);
    ck_close_relative(lb_conductance_nominal(&stated), 700e-3 / 60, IDENTITY);
    ck_close(stated.critical_ratio, b, 0);
    ck_close(stated.subsonic_index, LB_CONDUCTANCE_INDEX, 0);
  }
}
END_TEST

/* By the second chain of units: gallons and pounds-force per square inch from the
 * gallon's 3.785411784 litres and 6894.757 Pa; the area from the speed sqrt(2 dp/rho) that water
 * reaches; the jet of air at 6/7 from energy, in litres of 1.185 g. */
static double litres_by_water(double litres_a_second, double pascals) {
  double speed = sqrt(2 * pascals / 1000), square_metres = litres_a_second / 1000 / speed;
  double grams = 1000 * square_metres * 7e5 * jet(6.0 / 7, 1.4) / sqrt(287.05 * 293.15);
  return grams / 1.185;
}

START_TEST(water_tests) {
  const double b[] = {0.1, 0.3, 0.5};
  for (int i = 0; i < 3; i++) {
    double z = (6.0 / 7 - b[i]) / (1 - b[i]), share = sqrt(1 - z * z);
    struct lb_flow kv = lb_conductance_of_kv(1.0 / 3600, b[i]), cv = lb_conductance_of_cv(1, b[i]);
    ck_close_relative(kv.conductance / litre_per_bar, litres_by_water(1 / 3.6, 1e5) / 7 / share,
                      IDENTITY);
    ck_close_relative(cv.conductance / litre_per_bar,
                      litres_by_water(3.785411784 / 60, 6894.757293168361) / 7 / share, IDENTITY);
    struct lb_flow per_minute = lb_conductance_of_kv(1e-3 / 60, b[i]);
    ck_close_relative(per_minute.conductance * 1000 / 60, kv.conductance, IDENTITY);
  }
}
END_TEST

/* The header's figures for a Cv of 1, and that the three ways to match agree at the nozzle's b. */
START_TEST(water_tests_band) {
  double area = 3.785411784e-3 / 60 / sqrt(2 * 6894.757293168361 / 1000);
  double choked = lb_conductance_of_area(area, 0).conductance / litre_per_bar;
  double unit = area / (1.185 * sqrt(287.05 * 293.15)) / litre_per_bar;
  ck_close(choked, 3.4, 0.05);
  ck_close(unit * sqrt(1 - 0.3), 4.1, 0.05);
  ck_close(lb_conductance_of_cv(1, 0.3).conductance / litre_per_bar, 4.0, 0.05);
  ck_close(lb_conductance_of_kv(1.0 / 3600, 0.3).conductance / litre_per_bar, 4.6, 0.05);
  double b = lb_conductance_critical_ratio(LB_GAMMA);
  ck_close_relative(lb_conductance_of_cv(1, b).conductance / litre_per_bar, choked, 0.01);
  ck_close_relative(unit * sqrt(1 - b), choked, 0.01);
}
END_TEST

/* C1 times C2 may differ by a factor of 50 either way. */
static struct lb_flow random_element(uint64_t *state) {
  double size = exp(support_between(state, -2, 2));
  return (struct lb_flow){size * litre_per_bar, support_between(state, 0, 0.6),
                          LB_CONDUCTANCE_INDEX};
}

/* Flow through two elements over the pressure before them and the air's factor: the pressure
 * between them by bisection, until as much comes as goes. */
static double two_by_bisection(const struct lb_flow element[2], double ratio) {
  double low = ratio, high = 1;
  for (int i = 0; i < 100; i++) {
    double middle = (low + high) / 2;
    double in = element[0].conductance * (double)reference_share(&element[0], (long double)middle);
    double out = element[1].conductance * middle *
                 (double)reference_share(&element[1], (long double)(ratio / middle));
    *(in > out ? &low : &high) = middle;
  }
  return element[0].conductance * (double)reference_share(&element[0], (long double)low);
}

/* C is exact but for the straight end of the law; with the fitted b the law comes within 3 per
 * cent. */
START_TEST(two_in_series_by_bisection) {
  uint64_t state = 6;
  for (int i = 0; i < 300; i++) {
    struct lb_flow element[] = {random_element(&state), random_element(&state)};
    struct lb_flow whole = lb_conductance_series(element, 2);
    ck_close_relative(whole.conductance, two_by_bisection(element, 0), 3e-4);
    for (int j = 1; j <= 20; j++) {
      double truth = two_by_bisection(element, j / 20.0) / whole.conductance;
      ck_close(lb_flow_share(&whole, j / 20.0, NULL), truth, 0.03);
    }
  }
}
END_TEST

/* The equation of two elements, and where the first one alone decides. */
START_TEST(two_in_series_by_equation) {
  uint64_t state = 7;
  int first_decides = 0;
  for (int i = 0; i < MANY; i++) {
    struct lb_flow element[] = {random_element(&state), random_element(&state)};
    double c1 = element[0].conductance, c2 = element[1].conductance, b = element[0].critical_ratio;
    struct lb_flow whole = lb_conductance_series(element, 2);
    double x = whole.conductance / c2, z = (x - b) / (1 - b);
    if (c1 <= b * c2) {
      ck_close_relative(whole.conductance, c1, EXACT);
      first_decides++;
    } else {
      ck_assert(x > b && x <= 1);
      ck_close(c1 * c1 * (1 - z * z), c2 * c2 * x * x, IDENTITY * (c1 * c1 + c2 * c2));
    }
    double sum = (1 - b) / (c1 * c1) + (1 - element[1].critical_ratio) / (c2 * c2);
    ck_close(whole.critical_ratio, fmax(0, 1 - whole.conductance * whole.conductance * sum),
             IDENTITY);
  }
  ck_assert(first_decides > MANY / 20 && first_decides < MANY / 2);
}
END_TEST

START_TEST(series_limits) {
  struct lb_flow small = {litre_per_bar, 0.35, LB_CONDUCTANCE_INDEX};
  struct lb_flow large = {1e9 * litre_per_bar, 0.2, LB_CONDUCTANCE_INDEX};
  struct lb_flow ahead = lb_conductance_series((struct lb_flow[]){large, small}, 2);
  struct lb_flow behind = lb_conductance_series((struct lb_flow[]){small, large}, 2);
  ck_close_relative(ahead.conductance, small.conductance, IDENTITY);
  ck_close_relative(behind.conductance, small.conductance, IDENTITY);
  ck_close(ahead.critical_ratio, small.critical_ratio, IDENTITY);
  ck_close(behind.critical_ratio, small.critical_ratio, IDENTITY);
  struct lb_flow odd = flow_of(0.4, 0.6), alone = lb_conductance_series(&odd, 1);
  ck_assert(memcmp(&alone, &odd, sizeof odd) == 0);
}
END_TEST

/* n equal elements with b = 0 pass sqrt(p^2 - p'^2) each, so squares of pressure add: C/sqrt(n) and
 * b = 0. */
START_TEST(equal_elements) {
  enum {
    N = 9
  };
  struct lb_flow element[N];
  for (size_t i = 0; i < N; i++)
    element[i] = (struct lb_flow){3 * litre_per_bar, 0, LB_CONDUCTANCE_INDEX};
  for (size_t n = 2; n <= N; n++) {
    struct lb_flow whole = lb_conductance_series(element, n);
    ck_close_relative(whole.conductance, 3 * litre_per_bar / sqrt((double)n), IDENTITY);
    ck_assert(whole.critical_ratio >= 0);
    ck_close(whole.critical_ratio, 0, IDENTITY);
  }
  /* b = 1/2: 1 - (2 x - 1)^2 = x^2, so x = 4/5; b = 1 - 2 x^2/2 = 9/25 */
  for (size_t i = 0; i < 2; i++)
    element[i].critical_ratio = 0.5;
  struct lb_flow whole = lb_conductance_series(element, 2);
  ck_close_relative(whole.conductance, 0.8 * 3 * litre_per_bar, IDENTITY);
  ck_close(whole.critical_ratio, 0.36, IDENTITY);
}
END_TEST

/* With b = 0 before b = 1/2, x = 1/sqrt 2; the other way round x = 4/5: the order matters. */
START_TEST(order_matters) {
  struct lb_flow zero = flow_of(0, LB_CONDUCTANCE_INDEX), half = flow_of(0.5, LB_CONDUCTANCE_INDEX);
  struct lb_flow one_way = lb_conductance_series((struct lb_flow[]){zero, half}, 2);
  struct lb_flow other_way = lb_conductance_series((struct lb_flow[]){half, zero}, 2);
  ck_close_relative(one_way.conductance, sqrt(0.5) * zero.conductance, IDENTITY);
  ck_close_relative(other_way.conductance, 0.8 * zero.conductance, IDENTITY);
}
END_TEST

/* Flow into a vacuum through a chain, marched downstream from a guess of it: it is too much when an
 * element cannot pass it. */
static bool passes(const struct lb_flow *element, int count, double flow) {
  double pressure = 1;
  for (int i = 0; i < count; i++) {
    double share = flow / (element[i].conductance * pressure);
    if (share > 1)
      return false;
    double b = element[i].critical_ratio;
    pressure *= b + (1 - b) * sqrt(1 - share * share);
  }
  return true;
}

START_TEST(chains_by_bisection) {
  enum {
    MOST = 6
  };
  uint64_t state = 8;
  for (int i = 0; i < 500; i++) {
    struct lb_flow element[MOST];
    int count = 2 + i % (MOST - 1);
    double low = 0, high = 100 * litre_per_bar, least = high;
    for (int j = 0; j < count; j++) {
      element[j] = random_element(&state);
      least = fmin(least, element[j].conductance);
    }
    for (int j = 0; j < 100; j++) {
      double middle = (low + high) / 2;
      *(passes(element, count, middle) ? &low : &high) = middle;
    }
    struct lb_flow whole = lb_conductance_series(element, (size_t)count);
    ck_close_relative(whole.conductance, low, SOLVER);
    ck_assert(whole.conductance <= least * (1 + EXACT));
    ck_assert(whole.critical_ratio >= 0 && whole.critical_ratio < 1);
  }
}
END_TEST

static TCase *conversion_cases(void) {
  TCase *cases = tcase_create("conversions");
  tcase_add_test(cases, nozzle_by_energy);
  tcase_add_test(cases, law_is_close_to_the_nozzle);
  tcase_add_test(cases, area_and_nominal_flow);
  tcase_add_test(cases, water_tests);
  tcase_add_test(cases, water_tests_band);
  return cases;
}

static TCase *series_cases(void) {
  TCase *cases = tcase_create("series");
  tcase_add_test(cases, two_in_series_by_bisection);
  tcase_add_test(cases, two_in_series_by_equation);
  tcase_add_test(cases, series_limits);
  tcase_add_test(cases, equal_elements);
  tcase_add_test(cases, order_matters);
  tcase_add_test(cases, chains_by_bisection);
  return cases;
}

int main(void) {
  Suite *suite = suite_create("conductance");
  suite_add_tcase(suite, conversion_cases());
  suite_add_tcase(suite, series_cases());
  return support_run(suite, (Suite *)NULL);
}
