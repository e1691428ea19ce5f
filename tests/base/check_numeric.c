/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Roots, minima and surfaces on functions whose answer is known beforehand: easy, nasty and
 * impossible ones.
 */
#include "base/numeric.h"
#include "support.h"

#include <pthread.h>
#include <stdbool.h>
#include <string.h>

static struct lb_workspace *workspace;

static void set_up(void) {
  workspace = lb_workspace_new();
  ck_assert_ptr_nonnull(workspace);
}

static void tear_down(void) {
  lb_workspace_free(workspace);
}

/* Functions that change sign at *root only, each nasty in its own way. */

static double line(double x, void *root) {
  return x - *(double *)root;
}

static double flat(double x, void *root) {
  return pow(x - *(double *)root, 9);
}

static double very_flat(double x, void *root) {
  double d = x - *(double *)root;
  return d == 0 ? 0 : copysign(exp(-1 / fabs(d)), d);
}

static double steep(double x, void *root) {
  return tanh(1e9 * (x - *(double *)root));
}

static double cube_root(double x, void *root) {
  return cbrt(x - *(double *)root);
}

static double step(double x, void *root) {
  return x < *(double *)root ? -1 : 2;
}

static double lopsided_step(double x, void *root) {
  return x < *(double *)root ? -1e-12 : 1e12;
}

static double pole(double x, void *root) {
  double d = x - *(double *)root;
  return d == 0 ? 1 : 1 / d;
}

static double growing(double x, void *root) {
  return expm1(60 * (x - *(double *)root));
}

static double falling(double x, void *root) {
  return -growing(x, root);
}

static const lb_function nasty[] = {line, flat,          very_flat, steep,   cube_root,
                                    step, lopsided_step, pole,      growing, falling};

enum {
  NASTY = sizeof nasty / sizeof nasty[0]
};

static int sign(double value) {
  return (value > 0) - (value < 0);
}

/* Whether a function changes sign, or vanishes, within the tolerance of x. */
static bool changes_sign(lb_function f, double *root, double x, double tolerance) {
  double slack = tolerance + 4 * DBL_EPSILON * fabs(x);
  return sign(f(x - slack, root)) * sign(f(x + slack, root)) <= 0;
}

START_TEST(root_within_tolerance) {
  uint64_t state = 7;
  int seen = 0;
  for (int i = 0; i < 300; i++) {
    double root = support_between(&state, -1, 2), low = root - support_between(&state, 0, 3);
    double high = root + support_between(&state, 0, 3);
    double tolerance = pow(10, support_between(&state, -13, -2));
    double x = (double)NAN;
    enum lb_status status =
        lb_numeric_root(workspace, &x, nasty[_i], &root, low, high, tolerance, NULL);
    ck_assert_int_eq(status, LB_OK);
    ck_assert(x >= low && x <= high);
    ck_assert_msg(changes_sign(nasty[_i], &root, x, tolerance),
                  "function %d: %.17g is not within %g of the root %.17g", _i, x, tolerance, root);
    seen++;
  }
  ck_assert_int_eq(seen, 300);
}
END_TEST

START_TEST(root_at_an_end) {
  double root = 0.3, x = (double)NAN;
  ck_assert_int_eq(lb_numeric_root(workspace, &x, line, &root, 0.3, 2, 1e-12, NULL), LB_OK);
  ck_close(x, 0.3, 1e-12);
  x = (double)NAN;
  ck_assert_int_eq(lb_numeric_root(workspace, &x, line, &root, -2, 0.3, 1e-12, NULL), LB_OK);
  ck_close(x, 0.3, 1e-12);
}
END_TEST

START_TEST(no_change_of_sign) {
  double root = 5, x = 77;
  struct lb_error error;
  ck_assert_int_eq(lb_numeric_root(workspace, &x, line, &root, 1, 2, 1e-12, &error), LB_NUMERIC);
  ck_assert_int_eq(error.status, LB_NUMERIC);
  ck_assert_str_eq(error.text, "no change of sign between 1 and 2");
  ck_assert_int_eq(lb_numeric_root(workspace, &x, line, &root, 6, 7, 1e-12, NULL), LB_NUMERIC);
  ck_assert(x == 77);
}
END_TEST

/* x - root, and not a number in between. */
static double hole(double x, void *root) {
  return fabs(x - *(double *)root) < 0.9 ? (double)NAN : x - *(double *)root;
}

static double nothing(double x, void *context) {
  (void)context;
  return x * (double)NAN;
}

START_TEST(function_not_finite) {
  double root = 0.25, x = 77;
  struct lb_error error = {0};
  ck_assert_int_eq(lb_numeric_root(workspace, &x, hole, &root, -1, 2, 1e-9, &error), LB_NUMERIC);
  ck_assert_ptr_nonnull(strstr(error.text, "not finite"));
  ck_assert_int_eq(lb_numeric_root(workspace, &x, nothing, NULL, -1, 2, 1e-9, NULL), LB_NUMERIC);
  ck_assert(x == 77);
  /* and the workspace is as good as new */
  ck_assert_int_eq(lb_numeric_root(workspace, &x, line, &root, -1, 2, 1e-12, NULL), LB_OK);
  ck_close(x, root, 1e-12);
}
END_TEST

/* a (x - c)^2 + b (y - d)^2 + e (x - c)(y - d); for one variable the first term. */
struct bowl {
  int n;
  double a, b, c, d, e;
};

static double bowl(const double *x, double *gradient, void *context) {
  const struct bowl *k = context;
  double u = x[0] - k->c, v = k->n > 1 ? x[1] - k->d : 0;
  gradient[0] = 2 * k->a * u + k->e * v;
  if (k->n > 1)
    gradient[1] = 2 * k->b * v + k->e * u;
  return k->a * u * u + k->b * v * v + k->e * u * v;
}

START_TEST(minimum_of_a_bowl) {
  const double tolerance = 1e-8;
  uint64_t state = 11;
  for (int i = 0; i < 200; i++) {
    struct bowl k = {.n = 1 + i % 2,
                     .c = support_between(&state, -3, 3),
                     .d = support_between(&state, -3, 3),
                     .a = support_between(&state, 0.1, 10),
                     .b = support_between(&state, 0.1, 10)};
    k.e = k.n > 1 ? support_between(&state, -1.5, 1.5) * sqrt(k.a * k.b) : 0;
    double x[2] = {support_between(&state, -3, 3), support_between(&state, -3, 3)},
           gradient[2] = {0};
    double untouched = x[1];
    enum lb_status status =
        lb_numeric_minimum(workspace, x, (size_t)k.n, bowl, &k, 0.1, tolerance, NULL);
    ck_assert_int_eq(status, LB_OK);
    bowl(x, gradient, &k);
    ck_close(hypot(gradient[0], gradient[1]), 0, tolerance);
    ck_close(x[0], k.c, 1e-6);
    ck_close(x[1], k.n > 1 ? k.d : untouched, k.n > 1 ? 1e-6 : 0);
  }
}
END_TEST

/* A bent valley: 100 (y - x^2)^2 + (1 - x)^2. */
static double valley(const double *x, double *gradient, void *context) {
  (void)context;
  double wall = x[1] - x[0] * x[0], along = 1 - x[0];
  gradient[0] = -400 * x[0] * wall - 2 * along;
  gradient[1] = 200 * wall;
  return 100 * wall * wall + along * along;
}

START_TEST(minimum_of_a_bent_valley) {
  double x[2] = {-1.2, 1};
  ck_assert_int_eq(lb_numeric_minimum(workspace, x, 2, valley, NULL, 0.01, 1e-6, NULL), LB_OK);
  ck_close(x[0], 1, 1e-5);
  ck_close(x[1], 1, 1e-5);
}
END_TEST

/* A bowl about 0 that ends in a wall beyond 2; a search from 1 must not walk into it. */
static double walled(const double *x, double *gradient, void *context) {
  (void)context;
  gradient[0] = 2 * x[0];
  return fabs(x[0]) > 2 ? (double)INFINITY : x[0] * x[0];
}

START_TEST(minimum_with_a_wall) {
  double x = 1;
  ck_assert_int_eq(lb_numeric_minimum(workspace, &x, 1, walled, NULL, 0.5, 1e-8, NULL), LB_OK);
  ck_close(x, 0, 1e-7);
}
END_TEST

START_TEST(minimum_from_nowhere) {
  double x = 3;
  struct lb_error error;
  ck_assert_int_eq(lb_numeric_minimum(workspace, &x, 1, walled, NULL, 0.5, 1e-8, &error),
                   LB_NUMERIC);
  ck_assert_int_eq(error.status, LB_NUMERIC);
  ck_assert_str_eq(error.text, "the search starts where the function is not finite");
  ck_assert(x == 3);
}
END_TEST

static double falls(double x, void *shift) {
  return *(double *)shift - x;
}

/* A guess that rounding has moved onto an end, or past it, where the function is lowest. */
START_TEST(lowest_at_an_end_guessed_past_it) {
  double x = nextafter(1.3, 2), shift = 1;
  ck_assert_int_eq(lb_numeric_lowest(workspace, &x, falls, &shift, 1, 1.3, 1e-6, NULL), LB_OK);
  ck_assert(x == 1.3);
  x = 1.3;
  ck_assert_int_eq(lb_numeric_lowest(workspace, &x, falls, &shift, 1, 1.3, 1e-6, NULL), LB_OK);
  ck_assert(x == 1.3);
}
END_TEST

/* What a thread of its own workspace finds. */
static void *solve_many(void *worst) {
  struct lb_workspace *own = lb_workspace_new();
  uint64_t state = 5;
  for (int i = 0; i < 2000; i++) {
    double root = support_uniform(&state), x = 9;
    if (!own || lb_numeric_root(own, &x, cube_root, &root, -1, 2, 1e-12, NULL) != LB_OK)
      x = 9;
    *(double *)worst = fmax(*(double *)worst, fabs(x - root));
  }
  lb_workspace_free(own);
  return NULL;
}

START_TEST(a_workspace_for_each_thread) {
  pthread_t thread[2];
  double worst[2] = {0};
  lb_init();
  for (int i = 0; i < 2; i++)
    ck_assert_int_eq(pthread_create(&thread[i], NULL, solve_many, &worst[i]), 0);
  for (int i = 0; i < 2; i++)
    ck_assert_int_eq(pthread_join(thread[i], NULL), 0);
  ck_close(worst[0], 0, 2e-12);
  ck_close(worst[1], 0, 2e-12);
}
END_TEST

enum {
  ROWS = 7
};

/* Rows apart by no rule. */
static const double row_x[ROWS] = {-1, -0.7, 0, 0.2, 1.1, 1.5, 2};
static const double row_y[ROWS] = {3, 3.1, 4, 4.4, 5, 7, 7.5};

static struct lb_surface *surface_of(double (*function)(double x, double y), size_t nx) {
  double z[ROWS * ROWS];
  for (size_t i = 0; i < nx; i++)
    for (size_t j = 0; j < ROWS; j++)
      z[i + nx * j] = function(row_x[i], row_y[j]);
  struct lb_surface *surface = lb_surface_new(row_x, nx, row_y, ROWS, z);
  ck_assert_ptr_nonnull(surface);
  return surface;
}

static double twisted(double x, double y) {
  return 1 + 2 * x - 3 * y + 4 * x * y;
}

/* A spline without curvature at its ends is exact for what has none. */
START_TEST(surface_without_curvature) {
  struct lb_surface *surface = surface_of(twisted, ROWS - 1);
  const double tolerance = 1e-11; /* of 100, through differences over rows 0.1 apart, twice */
  uint64_t state = 21;
  for (int i = 0; i < 500; i++) {
    double x = support_between(&state, -1, 1.5), y = support_between(&state, 3, 7.5);
    ck_close(lb_surface_value(surface, x, y), twisted(x, y), tolerance);
    ck_close(lb_surface_by_x(surface, x, y), 2 + 4 * y, tolerance);
    ck_close(lb_surface_by_y(surface, x, y), -3 + 4 * x, tolerance);
    ck_close(lb_surface_by_xy(surface, x, y), 4, tolerance);
  }
  lb_surface_free(surface);
}
END_TEST

static double waves(double x, double y) {
  return sin(x) * cos(y / 2);
}

START_TEST(surface_through_its_table) {
  struct lb_surface *surface = surface_of(waves, ROWS);
  for (size_t i = 0; i < ROWS; i++)
    for (size_t j = 0; j < ROWS; j++)
      ck_close(lb_surface_value(surface, row_x[i], row_y[j]), waves(row_x[i], row_y[j]), EXACT);
  lb_surface_free(surface);
}
END_TEST

/* The slopes are those of the value. */
START_TEST(surface_slopes) {
  const double step = 1e-5, tolerance = 1e-8;
  struct lb_surface *s = surface_of(waves, ROWS);
  uint64_t state = 22;
  for (int i = 0; i < 500; i++) {
    double x = support_between(&state, -0.9, 1.9), y = support_between(&state, 3.05, 7.4);
    double right = x + step, left = x - step, up = y + step, down = y - step;
    ck_close((lb_surface_value(s, right, y) - lb_surface_value(s, left, y)) / (2 * step),
             lb_surface_by_x(s, x, y), tolerance);
    ck_close((lb_surface_value(s, x, up) - lb_surface_value(s, x, down)) / (2 * step),
             lb_surface_by_y(s, x, y), tolerance);
    ck_close((lb_surface_by_y(s, right, y) - lb_surface_by_y(s, left, y)) / (2 * step),
             lb_surface_by_xy(s, x, y), tolerance);
  }
  lb_surface_free(s);
}
END_TEST

enum {
  FINEST = 65
};

/* The greatest error in the middle of a table of n x n waves, away from its ends. */
static double surface_error(size_t n) {
  static double x[FINEST], y[FINEST], z[FINEST * FINEST];
  for (size_t i = 0; i < n; i++) {
    x[i] = 4.0 * (double)i / (double)(n - 1);
    y[i] = 2 * x[i];
  }
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j < n; j++)
      z[i + n * j] = waves(x[i], y[j]);
  struct lb_surface *surface = lb_surface_new(x, n, y, n, z);
  ck_assert_ptr_nonnull(surface);
  double worst = 0;
  uint64_t state = 23;
  for (int i = 0; i < 2000; i++) {
    double at = support_between(&state, 1.5, 2.5), up = support_between(&state, 3, 5);
    worst = fmax(worst, fabs(lb_surface_value(surface, at, up) - waves(at, up)));
  }
  lb_surface_free(surface);
  return worst;
}

/* Half the distance of the rows, a sixteenth of the error. */
START_TEST(surface_order) {
  double ratio = surface_error((FINEST + 1) / 2) / surface_error(FINEST);
  ck_assert_msg(ratio > 14 && ratio < 18, "the error falls by %g", ratio);
}
END_TEST

START_TEST(surface_outside) {
  struct lb_surface *s = surface_of(waves, ROWS);
  double nan = (double)NAN,
         beside[][2] = {{-1.01, 4}, {2.01, 4}, {0, 2.99}, {0, 7.51}, {nan, 4}, {0, nan}};
  for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++) {
    double x = beside[i][0], y = beside[i][1];
    ck_assert_double_nan(lb_surface_value(s, x, y));
    ck_assert_double_nan(lb_surface_by_x(s, x, y));
    ck_assert_double_nan(lb_surface_by_y(s, x, y));
    ck_assert_double_nan(lb_surface_by_xy(s, x, y));
  }
  lb_surface_free(s);
}
END_TEST

/* What one thread sums up over a surface that others read too. */
struct reader {
  const struct lb_surface *surface;
  uint64_t state;
  double sum;
};

static void *read_many(void *context) {
  struct reader *r = context;
  for (int i = 0; i < 200000; i++) {
    double x = support_between(&r->state, -1, 2), y = support_between(&r->state, 3, 7.5);
    r->sum += lb_surface_value(r->surface, x, y) + lb_surface_by_xy(r->surface, x, y);
  }
  return NULL;
}

START_TEST(a_surface_for_all_threads) {
  struct lb_surface *surface = surface_of(waves, ROWS);
  struct reader alone[2] = {{surface, 24, 0}, {surface, 25, 0}};
  struct reader beside[2] = {alone[0], alone[1]};
  pthread_t thread[2];
  for (int i = 0; i < 2; i++)
    read_many(&alone[i]);
  for (int i = 0; i < 2; i++)
    ck_assert_int_eq(pthread_create(&thread[i], NULL, read_many, &beside[i]), 0);
  for (int i = 0; i < 2; i++) {
    ck_assert_int_eq(pthread_join(thread[i], NULL), 0);
    ck_assert(beside[i].sum == alone[i].sum);
  }
  lb_surface_free(surface);
}
END_TEST

START_TEST(nothing_to_free) {
  lb_workspace_free(NULL);
  lb_surface_free(NULL);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("numeric");
  TCase *root = tcase_create("root");
  tcase_add_checked_fixture(root, set_up, tear_down);
  tcase_add_loop_test(root, root_within_tolerance, 0, NASTY);
  tcase_add_test(root, root_at_an_end);
  tcase_add_test(root, no_change_of_sign);
  tcase_add_test(root, function_not_finite);
  suite_add_tcase(suite, root);
  TCase *minimum = tcase_create("minimum");
  tcase_add_checked_fixture(minimum, set_up, tear_down);
  tcase_add_test(minimum, minimum_of_a_bowl);
  tcase_add_test(minimum, minimum_of_a_bent_valley);
  tcase_add_test(minimum, minimum_with_a_wall);
  tcase_add_test(minimum, minimum_from_nowhere);
  tcase_add_test(minimum, lowest_at_an_end_guessed_past_it);
  suite_add_tcase(suite, minimum);
  TCase *surface = tcase_create("surface");
  tcase_add_test(surface, surface_without_curvature);
  tcase_add_test(surface, surface_through_its_table);
  tcase_add_test(surface, surface_slopes);
  tcase_add_test(surface, surface_order);
  tcase_add_test(surface, surface_outside);
  tcase_add_test(surface, a_surface_for_all_threads);
  suite_add_tcase(suite, surface);
  TCase *space = tcase_create("workspace");
  tcase_add_test(space, a_workspace_for_each_thread);
  tcase_add_test(space, nothing_to_free);
  suite_add_tcase(suite, space);
  return support_run(suite, NULL);
}
