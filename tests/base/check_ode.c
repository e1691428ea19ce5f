/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stiff equations: closed solutions, a published solution, the observed order, and what a run says
 * about its end when the start changes.
 */
#include "base/ode.h"

#include "base/constants.h"
#include "support.h"

#include <string.h>

enum {
  STATES_MOST = 3
};

static bool anything(const double *state, const void *context) {
  (void)state;
  (void)context;
  return true;
}

/* y' = -lambda (y - cos t) - sin t, whose solution through 1 is cos t however stiff it is; the sum
 * is the integral of y. */
static void follow_rates(double *rate, double t, size_t segment, const double *y,
                         const void *context) {
  const double *lambda = context;
  (void)segment;
  rate[0] = -*lambda * (y[0] - cos(t)) - sin(t);
  rate[1] = y[0];
}

static void follow_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                          const double *y, const void *context) {
  const double *lambda = context;
  follow_rates(rate, t, segment, y, context);
  slope[0] = -*lambda;
  slope[1] = 1;
  by_time[0] = -*lambda * sin(t) - cos(t);
  by_time[1] = 0;
}

START_TEST(follows_a_curve_however_stiff) {
  const double end = 3, scale[] = {1, 1}, stop[] = {0, end};
  struct lb_ode *ode = lb_ode_new(1, 1);
  for (double lambda = 1; lambda < 1e10; lambda *= 100) {
    for (double tolerance = 1e-4; tolerance > 1e-9; tolerance /= 100) {
      const struct lb_ode_problem problem = {follow_rates, follow_slopes, anything,
                                             &lambda,      scale,         tolerance};
      double y = 1, sum;
      ck_assert_int_eq(lb_ode_run(ode, &problem, &y, &sum, NULL, stop, 2, NULL), LB_OK);
      /* an error of each step, no more than a hundred steps or so */
      ck_close(y, cos(end), 10 * tolerance);
      ck_close(sum, sin(end), 10 * tolerance);
      ck_assert_uint_lt(lb_ode_steps(ode), 2000);
    }
  }
  lb_ode_free(ode);
}
END_TEST

/* The pendulum-like y'' = -sin y, with the sum of y^2. */
static void swing_rates(double *rate, double t, size_t segment, const double *y,
                        const void *context) {
  (void)t;
  (void)segment;
  (void)context;
  rate[0] = y[1];
  rate[1] = -sin(y[0]);
  rate[2] = y[0] * y[0];
}

static void swing_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                         const double *y, const void *context) {
  const double all[] = {0, 1, -cos(y[0]), 0, 2 * y[0], 0};
  swing_rates(rate, t, segment, y, context);
  memcpy(slope, all, sizeof all);
  memset(by_time, 0, 3 * sizeof *by_time);
}

/* The end of a swing at a tolerance; returns the number of steps. */
static double swing(struct lb_ode *ode, double tolerance, double *y, double *sum) {
  const double stop[] = {0, 20}, scale[] = {1, 1, 1};
  const struct lb_ode_problem problem = {swing_rates, swing_slopes, anything,
                                         NULL,        scale,        tolerance};
  y[0] = 1;
  y[1] = 0;
  ck_assert_int_eq(lb_ode_run(ode, &problem, y, sum, NULL, stop, 2, NULL), LB_OK);
  return (double)lb_ode_steps(ode);
}

START_TEST(order_is_four) {
  const double exact_tolerance = 1e-13, coarse = 1e-5, fine = 1e-9;
  double exact[2], y[2][2], exact_sum, sum[2], steps[2];
  struct lb_ode *ode = lb_ode_new(2, 1);
  swing(ode, exact_tolerance, exact, &exact_sum);
  steps[0] = swing(ode, coarse, y[0], &sum[0]);
  steps[1] = swing(ode, fine, y[1], &sum[1]);
  double more = log(steps[1] / steps[0]);
  double order = log(fabs((y[0][0] - exact[0]) / (y[1][0] - exact[0]))) / more;
  double of_sum = log(fabs((sum[0] - exact_sum) / (sum[1] - exact_sum))) / more;
  ck_assert_msg(order > 3.5 && order < 5, "order %g", order);
  ck_assert_msg(of_sum > 3.5 && of_sum < 5, "order of the sum %g", of_sum);
  lb_ode_free(ode);
}
END_TEST

/* Robertson's reaction, stiff by eleven powers of ten. */
static void react_rates(double *rate, double t, size_t segment, const double *y,
                        const void *context) {
  (void)t;
  (void)segment;
  (void)context;
  rate[0] = -0.04 * y[0] + 1e4 * y[1] * y[2];
  rate[2] = 3e7 * y[1] * y[1];
  rate[1] = -rate[0] - rate[2];
  rate[3] = 1;
}

static void react_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                         const double *y, const void *context) {
  const double all[] = {-0.04,       1e4 * y[2], 1e4 * y[1], 0.04, -1e4 * y[2] - 6e7 * y[1],
                        -1e4 * y[1], 0,          6e7 * y[1], 0,    0,
                        0,           0};
  react_rates(rate, t, segment, y, context);
  memcpy(slope, all, sizeof all);
  memset(by_time, 0, 4 * sizeof *by_time);
}

/* Printed, four digits, with the example of a widely used solver, which was run at a tolerance of
 * 1e-4: a unit of the last digit; from memory. */
START_TEST(reaction_of_robertson) {
  const double stop[] = {0, 40}, scale[] = {1, 1e-4, 1, 1};
  const struct lb_ode_problem problem = {react_rates, react_slopes, anything, NULL, scale, 1e-8};
  double y[STATES_MOST] = {1, 0, 0}, sum;
  struct lb_ode *ode = lb_ode_new(3, 1);
  ck_assert_int_eq(lb_ode_run(ode, &problem, y, &sum, NULL, stop, 2, NULL), LB_OK);
  ck_close(y[0], 0.7158, 1e-4);
  ck_close(y[1], 9.185e-6, 1e-9);
  ck_close(y[2], 0.2842, 1e-4);
  ck_close(y[0] + y[1] + y[2], 1, 1e-12);
  ck_close(sum, 40, 1e-9);
  lb_ode_free(ode);
}
END_TEST

START_TEST(repeats_itself) {
  const double stop[] = {0, 0.7, 0.7, 2}, scale[] = {1, 1, 1};
  const struct lb_ode_problem problem = {swing_rates, swing_slopes, anything, NULL, scale, 1e-6};
  double y[] = {1, 0}, sum, sensitivity[4], again[] = {1, 0}, sum_again, other[] = {1 + 1e-6, 0};
  struct lb_ode *ode = lb_ode_new(2, 1);
  ck_assert_int_eq(lb_ode_repeat(ode, &problem, y, &sum, NULL, NULL), LB_NUMERIC);
  ck_assert_int_eq(lb_ode_run(ode, &problem, y, &sum, sensitivity, stop, 4, NULL), LB_OK);
  ck_assert_int_eq(lb_ode_repeat(ode, &problem, again, &sum_again, NULL, NULL), LB_OK);
  ck_assert(y[0] == again[0] && y[1] == again[1] && sum == sum_again);
  ck_assert_int_eq(lb_ode_repeat(ode, &problem, other, &sum_again, NULL, NULL), LB_OK);
  /* J is frozen within each step, which errs by a step's share of its change */
  ck_close((other[0] - y[0]) / 1e-6, sensitivity[0], 0.02);
  ck_close((other[1] - y[1]) / 1e-6, sensitivity[2], 0.02);
  const double *mesh = lb_ode_mesh(ode);
  for (size_t i = 0; i < lb_ode_steps(ode); i++)
    ck_assert(mesh[i] < mesh[i + 1]);
  ck_assert(mesh[0] == 0 && mesh[lb_ode_steps(ode)] == 2);
  lb_ode_free(ode);
}
END_TEST

/* With J the same everywhere the sensitivity is exact: a decay by e^-lambda t. */
START_TEST(linear_sensitivity_is_exact) {
  const double lambda = 3, stop[] = {0, 2}, scale[] = {1, 1};
  const struct lb_ode_problem problem = {follow_rates, follow_slopes, anything,
                                         &lambda,      scale,         1e-10};
  double y = 1, sum, sensitivity;
  struct lb_ode *ode = lb_ode_new(1, 1);
  ck_assert_int_eq(lb_ode_run(ode, &problem, &y, &sum, &sensitivity, stop, 2, NULL), LB_OK);
  ck_close_relative(sensitivity, exp(-lambda * 2), 1e-6);
  lb_ode_free(ode);
}
END_TEST

/* A vessel that empties by the root of what is in it: y = (1 - t/2)^2 until t = 2; below zero there
 * is no root. */
static void empty_rates(double *rate, double t, size_t segment, const double *y,
                        const void *context) {
  (void)t;
  (void)context;
  rate[0] = segment == 0 ? -sqrt(y[0]) : 1;
  rate[1] = y[0];
}

static void empty_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                         const double *y, const void *context) {
  empty_rates(rate, t, segment, y, context);
  slope[0] = segment == 0 ? -0.5 / sqrt(y[0]) : 0;
  slope[1] = 1;
  by_time[0] = by_time[1] = 0;
}

static bool positive(const double *state, const void *context) {
  (void)context;
  return state[0] > 0;
}

START_TEST(impossible_states_are_avoided) {
  const double scale[] = {1, 1}, good[] = {0, 1.9, 3}, bad[] = {0, 2.5};
  const struct lb_ode_problem problem = {empty_rates, empty_slopes, positive, NULL, scale, 1e-8};
  double y = 1, sum;
  struct lb_ode *ode = lb_ode_new(1, 1);
  struct lb_error error = {0};
  ck_assert_int_eq(lb_ode_run(ode, &problem, &y, &sum, NULL, good, 3, NULL), LB_OK);
  ck_close(y, 0.05 * 0.05 + 1.1, 1e-6);
  y = 1;
  ck_assert_int_eq(lb_ode_run(ode, &problem, &y, &sum, NULL, bad, 2, &error), LB_NUMERIC);
  ck_assert(y == 1);
  ck_assert_ptr_nonnull(strstr(error.text, " do not do at "));
  lb_ode_free(ode);
}
END_TEST

/* y' = -k (y - e^-t) - e^-t has the solution e^-t; long steps look at y < 0 on their way from a
 * start beside it, where the first sum is no number and the second is one. */
static void sink_rates(double *rate, double t, size_t segment, const double *y,
                       const void *context) {
  (void)segment;
  (void)context;
  rate[0] = -1e3 * (y[0] - exp(-t)) - exp(-t);
  rate[1] = log(y[0]);
  rate[2] = 1;
}

static void sink_slopes(double *rate, double *slope, double *by_time, double t, size_t segment,
                        const double *y, const void *context) {
  sink_rates(rate, t, segment, y, context);
  slope[0] = -1e3;
  slope[1] = 1 / y[0];
  slope[2] = 0;
  by_time[0] = -1e3 * exp(-t) + exp(-t);
  by_time[1] = by_time[2] = 0;
}

/* A step on whose way a sum is no number is refused, whatever the others are. */
START_TEST(sums_that_are_no_numbers_are_refused) {
  const double stop[] = {0, 30}, scale[] = {1, 1, 1};
  struct lb_ode *ode = lb_ode_new(1, 2);
  const struct lb_ode_problem problem = {sink_rates, sink_slopes, anything, NULL, scale, 1e-3};
  double y = 50, sum[2];
  ck_assert_int_eq(lb_ode_run(ode, &problem, &y, sum, NULL, stop, 2, NULL), LB_OK);
  ck_assert_uint_ge(lb_ode_refused(ode), 1);
  ck_close(sum[0], -450, 0.5);
  ck_close(sum[1], 30, 1e-9);
  lb_ode_free(ode);
}
END_TEST

START_TEST(sizes_have_limits) {
  ck_assert_ptr_null(lb_ode_new(0, 1));
  ck_assert_ptr_null(lb_ode_new(1, 0));
  ck_assert_ptr_null(lb_ode_new(250, 7));
  lb_ode_free(NULL);
}
END_TEST

static Suite *ode_suite(void) {
  Suite *suite = suite_create("ode");
  TCase *tests = tcase_create("ode");
  tcase_add_test(tests, follows_a_curve_however_stiff);
  tcase_add_test(tests, order_is_four);
  tcase_add_test(tests, reaction_of_robertson);
  tcase_add_test(tests, repeats_itself);
  tcase_add_test(tests, linear_sensitivity_is_exact);
  tcase_add_test(tests, impossible_states_are_avoided);
  tcase_add_test(tests, sums_that_are_no_numbers_are_refused);
  tcase_add_test(tests, sizes_have_limits);
  suite_add_tcase(suite, tests);
  return suite;
}

int main(void) {
  return support_run(ode_suite(), NULL);
}
