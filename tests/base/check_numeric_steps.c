/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simplex search and the Runge-Kutta steps, on problems whose answer is known beforehand.
 */
#include "base/numeric.h"
#include "support.h"

static struct lb_workspace *workspace;

static void set_up(void) {
  workspace = lb_workspace_new();
  ck_assert_ptr_nonnull(workspace);
}

static void tear_down(void) {
  lb_workspace_free(workspace);
}

/* ---------- the simplex ---------- */

/* The valley of Rosenbrock (1960), lowest at (1, 1), and a third variable of its own, lowest at 3.
 */
struct valley {
  size_t n;
  double wall; /* nothing is defined below this first variable */
};

static double valley(const double *x, void *context) {
  const struct valley *v = context;
  if (x[0] < v->wall)
    return (double)INFINITY;
  if (v->n == 1)
    return (x[0] - 1) * (x[0] - 1);
  double bend = x[1] - x[0] * x[0], run = 1 - x[0], own = v->n == 3 ? x[2] - 3 : 0;
  return 100 * bend * bend + run * run + own * own;
}

START_TEST(simplex_finds_the_lowest_point) {
  struct valley v = {.n = (size_t)_i, .wall = -(double)INFINITY};
  double x[LB_SIMPLEX_MOST] = {-1.2, 1, 0}, step[LB_SIMPLEX_MOST] = {0.5, 0.5, 0.5};
  const double lowest[LB_SIMPLEX_MOST] = {1, 1, 3};
  ck_assert_int_eq(lb_numeric_simplex(workspace, x, v.n, valley, &v, step, 1e-9, NULL), LB_OK);
  for (size_t i = 0; i < v.n; i++)
    ck_close(x[i], lowest[i], 1e-6); /* a flat valley: the square root of the rounding of 1 */
}
END_TEST

/* With a wall in the way the lowest point lies at it. */
START_TEST(simplex_stays_within_its_bounds) {
  struct valley v = {.n = 2, .wall = 1.5};
  double x[2] = {3, 3}, step[2] = {0.5, 0.5};
  ck_assert_int_eq(lb_numeric_simplex(workspace, x, 2, valley, &v, step, 1e-10, NULL), LB_OK);
  ck_assert(x[0] >= v.wall);
  ck_close(x[0], 1.5, 1e-4);
  ck_close(x[1], 2.25, 1e-3);
}
END_TEST

START_TEST(simplex_refuses_a_start_beyond_them) {
  struct valley v = {.n = 2, .wall = 1.5};
  double x[2] = {0, 0}, step[2] = {0.5, 0.5};
  struct lb_error error;
  ck_assert_int_eq(lb_numeric_simplex(workspace, x, 2, valley, &v, step, 1e-10, &error),
                   LB_NUMERIC);
  ck_assert_str_eq(error.text, "the search starts where the function is not finite");
}
END_TEST

/* ---------- steps ---------- */

enum {
  TURNING = 2 /* y = (cos x, sin x) */
};

static enum lb_status turning(double x, const double *y, double *slope, void *context) {
  const double *breaks_at = context;
  if (breaks_at && x > *breaks_at)
    return LB_NO_ANSWER;
  slope[0] = -y[1];
  slope[1] = y[0];
  return LB_OK;
}

/* The greatest error after `steps` steps from 0 to 1, and of the estimates added up. */
static double turn(int steps, double *estimated) {
  struct lb_stepper *stepper = lb_stepper_new(TURNING);
  double y[TURNING] = {1, 0}, slope[TURNING] = {0, 1}, estimate[TURNING], h = 1.0 / steps;
  ck_assert_ptr_nonnull(stepper);
  *estimated = 0;
  for (int i = 0; i < steps; i++) {
    ck_assert_int_eq(lb_stepper_step(stepper, i * h, h, y, estimate, slope, turning, NULL), LB_OK);
    *estimated += fmax(fabs(estimate[0]), fabs(estimate[1]));
    ck_close(slope[0], -y[1], EXACT);
    ck_close(slope[1], y[0], EXACT);
  }
  lb_stepper_free(stepper);
  return fmax(fabs(y[0] - cos(1)), fabs(y[1] - sin(1)));
}

/* Half the step, a thirty-second of the error: order five; and what a step says of its error is no
 * less than the error. */
START_TEST(steps_are_of_order_five) {
  double estimated, coarse = turn(8, &estimated), fine;
  ck_assert(estimated >= coarse && estimated < 1e-4);
  fine = turn(16, &estimated);
  ck_assert(estimated >= fine);
  ck_assert(coarse / fine > 25 && coarse / fine < 40);
}
END_TEST

/* What fails within a step is handed on, and nothing has changed. */
START_TEST(steps_hand_on_a_failure) {
  struct lb_stepper *stepper = lb_stepper_new(TURNING);
  double y[TURNING] = {1, 0}, slope[TURNING] = {0, 1}, estimate[TURNING], breaks_at = 0.05;
  ck_assert_ptr_nonnull(stepper);
  ck_assert_int_eq(lb_stepper_step(stepper, 0, 0.1, y, estimate, slope, turning, &breaks_at),
                   LB_NO_ANSWER);
  ck_assert(y[0] == 1 && y[1] == 0 && slope[0] == 0 && slope[1] == 1);
  y[0] = (double)NAN;
  ck_assert_int_eq(lb_stepper_step(stepper, 0, 0.1, y, estimate, slope, turning, NULL), LB_NUMERIC);
  lb_stepper_free(stepper);
  lb_stepper_free(NULL);
}
END_TEST

static Suite *suite(void) {
  Suite *s = suite_create("numeric steps");
  TCase *simplex = tcase_create("simplex"), *steps = tcase_create("steps");
  tcase_add_checked_fixture(simplex, set_up, tear_down);
  tcase_add_loop_test(simplex, simplex_finds_the_lowest_point, 1, LB_SIMPLEX_MOST + 1);
  tcase_add_test(simplex, simplex_stays_within_its_bounds);
  tcase_add_test(simplex, simplex_refuses_a_start_beyond_them);
  tcase_add_test(steps, steps_are_of_order_five);
  tcase_add_test(steps, steps_hand_on_a_failure);
  suite_add_tcase(s, simplex);
  suite_add_tcase(s, steps);
  return s;
}

int main(void) {
  return support_run(suite(), NULL);
}
