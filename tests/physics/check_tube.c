/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tubes: friction against the formulas of others, Fanno's function and whole tubes by quadrature of
 * the equation of motion, trends, the limit of a long tube, refusals.
 */
#include "physics/tube.h"

#include "base/constants.h"
#include "physics/conductance.h"
#include "support.h"

#include <stdbool.h>

/* Friction: the implicit equation where it is turbulent, 64/Re where laminar, no jump, and nowhere
 * far from two explicit formulas of others: Blasius (up to 10^5) and Haaland. */
START_TEST(friction) {
  for (double reynolds = 4000; reynolds < 1e8; reynolds *= 1.3) {
    double f = lb_tube_friction(reynolds), haaland = 1.8 * log10(reynolds / 6.9);
    ck_close(1 / sqrt(f), 2 * log10(reynolds * sqrt(f)) - 0.8, 1e-11);
    ck_close_relative(f, 1 / (haaland * haaland), 0.015);
    if (reynolds < 1e5)
      ck_close_relative(f, 0.3164 / pow(reynolds, 0.25), 0.03);
  }
  for (double reynolds = 1e-3; reynolds < 1000; reynolds *= 1.3)
    ck_close_relative(lb_tube_friction(reynolds), 64 / reynolds, EXACT);
  for (double reynolds = 10; reynolds < 1e4; reynolds *= 1.0001) {
    double f = lb_tube_friction(reynolds), next = lb_tube_friction(reynolds * 1.0001);
    ck_assert(next < f && next > f * (1 - 1.1e-4));
  }
}
END_TEST

/* f L/D between two squares of the Mach number from the equation of motion,
 *   d(f L/D)/dz = (1 - z)/(gamma z^2 (1 + (gamma - 1)/2 z)),
 * by Simpson's rule in ln z. */
static double fanno_by_quadrature(double low, double high) {
  enum {
    PANELS = 4000
  };
  double step = log(high / low) / PANELS, sum = 0;
  for (int i = 0; i <= PANELS; i++) {
    double z = low * exp(i * step);
    double weight = i == 0 || i == PANELS ? 1 : i % 2 ? 4 : 2;
    sum += weight * (1 - z) / (LB_GAMMA * z * (1 + (LB_GAMMA - 1) / 2 * z));
  }
  return sum * step / 3;
}

START_TEST(fanno) {
  for (double mach = 0.02; mach < 1; mach *= 1.1)
    ck_close_relative(lb_tube_fanno(mach), fanno_by_quadrature(mach * mach, 1), 1e-9);
  ck_close(lb_tube_fanno(1), 0, 0);
}
END_TEST

static struct lb_workspace *workspace;

static void begin(void) {
  workspace = lb_workspace_new();
  ck_assert_ptr_nonnull(workspace);
}

static void end(void) {
  lb_workspace_free(workspace);
}

static struct lb_flow tube_of(double *reynolds, const struct lb_tube *k) {
  struct lb_flow flow;
  struct lb_error error;
  enum lb_status status = lb_tube_flow(&flow, reynolds, k, workspace, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return flow;
}

/* From 1.5 to 50 mm, up to 1000 bores long. */
static struct lb_tube random_tube(uint64_t *state) {
  double bore = 1e-3 * exp(support_between(state, 0.4, 3.9));
  double length = bore * support_between(state, 0, 1000);
  return (struct lb_tube){bore, length, support_between(state, 2e5, 12e5),
                          support_between(state, 260, 340)};
}

/* The square of the Mach number at which a flow passes, subsonic, with the stagnation pressure (or,
 * with `at_rest` false, the static one) of a place, by bisection. */
static double mach_squared(double mass, const struct lb_tube *k, double pressure, bool at_rest) {
  double area = LB_PI / 4 * k->diameter * k->diameter, low = 0, high = 1;
  double wanted = mass * sqrt(287.05 * k->temperature) / (area * pressure);
  for (int i = 0; i < 100; i++) {
    double z = (low + high) / 2, flow = sqrt(1.4 * z) * pow(1 + 0.2 * z, at_rest ? -3 : 0.5);
    *(flow < wanted ? &low : &high) = z;
  }
  return low;
}

/* What the tube costs at a flow: friction at that flow's own Reynolds number, and the entrance. */
static double tube_costs(double mass, const struct lb_tube *k) {
  double reynolds = lb_tube_reynolds(mass, k->diameter, k->temperature);
  return 0.5 + lb_tube_friction(reynolds) * k->length / k->diameter;
}

/* The choked flow leaves at Mach 1 after all the length; the flow at r = 0.9 leaves with that
 * pressure, unless b had to be kept from falling below 0. */
START_TEST(tube_by_quadrature) {
  uint64_t state = 9;
  int fitted = 0;
  for (int i = 0; i < 100; i++) {
    struct lb_tube k = random_tube(&state);
    double reynolds;
    struct lb_flow flow = tube_of(&reynolds, &k);
    double choked = lb_flow_mass(&flow, k.pressure, k.temperature, 0);
    double entry = mach_squared(choked, &k, k.pressure, true);
    ck_close_relative(fanno_by_quadrature(entry, 1), tube_costs(choked, &k), 1e-8);
    ck_close_relative(reynolds, lb_tube_reynolds(choked, k.diameter, k.temperature), IDENTITY);
    ck_assert(flow.critical_ratio >= 0 && flow.critical_ratio < 0.5283);
    if (flow.critical_ratio == 0)
      continue;
    double mass = lb_flow_mass(&flow, k.pressure, k.temperature, 0.9 * k.pressure);
    entry = mach_squared(mass, &k, k.pressure, true);
    double exit = mach_squared(mass, &k, 0.9 * k.pressure, false);
    ck_close_relative(fanno_by_quadrature(entry, exit), tube_costs(mass, &k), 1e-8);
    fitted++;
  }
  ck_assert_int_gt(fitted, 50);
}
END_TEST

/* A tube without length is an opening that loses half a velocity head: below the ideal nozzle, but
 * above a sharp edge. Longer or narrower passes less; ten times the pressure about a fifth more for
 * its size, when the tube is long. */
START_TEST(tube_trends) {
  struct lb_tube opening = {6e-3, 0, 7e5, 293.15};
  double area = LB_PI / 4 * 6e-3 * 6e-3, last = lb_conductance_of_area(area, 0).conductance;
  ck_assert(tube_of(NULL, &opening).conductance > 0.8 * last);
  for (double length = 0; length < 20; length = 2 * length + 0.01) {
    struct lb_tube k = {6e-3, length, 7e5, 293.15}, wide = k, high = k;
    struct lb_flow flow = tube_of(NULL, &k);
    ck_assert(flow.conductance < last);
    last = flow.conductance;
    wide.diameter *= 1.01;
    ck_assert(tube_of(NULL, &wide).conductance > flow.conductance);
    high.pressure *= 10;
    double gain = tube_of(NULL, &high).conductance / flow.conductance;
    ck_assert(gain >= 1 && gain < 1.3 && (length < 5 || gain > 1.15));
  }
}
END_TEST

/* A long tube: the square of the pressure falls evenly, q = A p sqrt((1 - r^2)/(R T N)). */
START_TEST(long_tube) {
  struct lb_tube k = {10e-3, 500, 8e5, 293.15};
  struct lb_flow flow = tube_of(NULL, &k);
  double mass = lb_flow_mass(&flow, k.pressure, k.temperature, 0);
  double area = LB_PI / 4 * 10e-3 * 10e-3;
  double expected = area * 8e5 / sqrt(287.05 * 293.15 * tube_costs(mass, &k));
  ck_close_relative(mass, expected, 0.01);
  ck_close(flow.critical_ratio, 0, 0);
}
END_TEST

START_TEST(tube_refusals) {
  static const struct {
    struct lb_tube tube;
    const char *text;
  } refused[] = {
      {{0, 1, 7e5, 293},
       "a tube has a bore of 0 mm and a length of 1 m; the bore must be greater than "
       "0 and the length not less"},
      {{6e-3, -1, 7e5, 293},
       "a tube has a bore of 6 mm and a length of -1 m; the bore must be "
       "greater than 0 and the length not less"},
      {{6e-3, 1, 0, 293}, "the air before a tube has 0 Pa and 293 K; both must be greater than 0"},
      {{6e-3, 1, 7e5, -1},
       "the air before a tube has 700000 Pa and -1 K; both must be greater than 0"},
  };
  for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
    struct lb_flow flow = {1e-8, 0.25, LB_CONDUCTANCE_INDEX};
    struct lb_error error;
    ck_assert_int_eq(lb_tube_flow(&flow, NULL, &refused[i].tube, workspace, &error), LB_BAD_INPUT);
    ck_assert_str_eq(error.text, refused[i].text);
    ck_close(flow.critical_ratio, 0.25, 0);
  }
}
END_TEST

static TCase *tube_cases(void) {
  TCase *cases = tcase_create("tube");
  tcase_add_checked_fixture(cases, begin, end);
  tcase_add_test(cases, friction);
  tcase_add_test(cases, fanno);
  tcase_add_test(cases, tube_by_quadrature);
  tcase_add_test(cases, tube_trends);
  tcase_add_test(cases, long_tube);
  tcase_add_test(cases, tube_refusals);
  return cases;
}

int main(void) {
  Suite *suite = suite_create("tube");
  suite_add_tcase(suite, tube_cases());
  return support_run(suite, (Suite *)NULL);
}
