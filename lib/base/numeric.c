/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The GNU Scientific Library's Brent root and BFGS minimum, with all their memory in one workspace;
 * its Runge-Kutta steps and its bicubic spline.
 */
#include "base/numeric.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_multimin.h>
#include <gsl/gsl_odeiv2.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_spline2d.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Iterations after which a solver is given up: Brent never needs more than three times the
 * bisections of a double (about 60), and a smooth minimum of two variables takes under ten.
 */
enum {
  ROOT_ITERATIONS = 200,
  MINIMUM_ITERATIONS = 60,
  SIMPLEX_ITERATIONS = 400
};

/* How exact the line searches of the minimiser are, as its manual advises. */
static const double line_tolerance = 0.1;

struct lb_workspace {
  gsl_root_fsolver *root;
  gsl_min_fminimizer *lowest;
  gsl_multimin_fdfminimizer *minimum[LB_VARIABLES_MOST]; /* for 1, 2, ... variables */
  gsl_vector *start[LB_VARIABLES_MOST];
  gsl_multimin_fminimizer *simplex[LB_SIMPLEX_MOST]; /* likewise */
  gsl_vector *corner[LB_SIMPLEX_MOST], *size[LB_SIMPLEX_MOST];
};

void lb_init(void) {
  gsl_set_error_handler_off();
}

struct lb_workspace *lb_workspace_new(void) {
  lb_init();
  struct lb_workspace *w = calloc(1, sizeof *w);
  if (!w)
    return NULL;
  w->root = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  w->lowest = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
  int complete = w->root && w->lowest;
  for (size_t i = 0; i < LB_VARIABLES_MOST; i++) {
    w->minimum[i] = gsl_multimin_fdfminimizer_alloc(gsl_multimin_fdfminimizer_vector_bfgs2, i + 1);
    w->start[i] = gsl_vector_alloc(i + 1);
    complete = complete && w->minimum[i] && w->start[i];
  }
  for (size_t i = 0; i < LB_SIMPLEX_MOST; i++) {
    w->simplex[i] = gsl_multimin_fminimizer_alloc(gsl_multimin_fminimizer_nmsimplex2, i + 1);
    w->corner[i] = gsl_vector_alloc(i + 1);
    w->size[i] = gsl_vector_alloc(i + 1);
    complete = complete && w->simplex[i] && w->corner[i] && w->size[i];
  }
  if (complete)
    return w;
  lb_workspace_free(w);
  return NULL;
}

static void free_simplex(struct lb_workspace *w) {
  for (size_t i = 0; i < LB_SIMPLEX_MOST; i++) {
    if (w->simplex[i])
      gsl_multimin_fminimizer_free(w->simplex[i]);
    if (w->corner[i])
      gsl_vector_free(w->corner[i]);
    if (w->size[i])
      gsl_vector_free(w->size[i]);
  }
}

void lb_workspace_free(struct lb_workspace *workspace) {
  if (!workspace)
    return;
  for (size_t i = 0; i < LB_VARIABLES_MOST; i++) {
    if (workspace->minimum[i])
      gsl_multimin_fdfminimizer_free(workspace->minimum[i]);
    if (workspace->start[i])
      gsl_vector_free(workspace->start[i]);
  }
  if (workspace->root)
    gsl_root_fsolver_free(workspace->root);
  if (workspace->lowest)
    gsl_min_fminimizer_free(workspace->lowest);
  free_simplex(workspace);
  free(workspace);
}

/* The bracket of Brent's method may stay wide on one side although the root is found, so a small
 * step is trusted only when the function really changes sign within the tolerance. */
static int root_reached(const gsl_root_fsolver *solver, const gsl_function *f, double last,
                        double tolerance) {
  double low = gsl_root_fsolver_x_lower(solver), high = gsl_root_fsolver_x_upper(solver);
  double x = gsl_root_fsolver_root(solver);
  if (high - low <= tolerance)
    return 1;
  if (!(fabs(x - last) <= tolerance / 2))
    return 0;
  double here = GSL_FN_EVAL(f, x);
  return here == 0 || (GSL_FN_EVAL(f, fmin(x + tolerance, high)) < 0) != (here < 0) ||
         (GSL_FN_EVAL(f, fmax(x - tolerance, low)) < 0) != (here < 0);
}

enum lb_status lb_numeric_root(struct lb_workspace *workspace, double *x, lb_function function,
                               void *context, double low, double high, double tolerance,
                               struct lb_error *error) {
  gsl_function f = {.function = function, .params = context};
  gsl_root_fsolver *solver = workspace->root;
  if (gsl_root_fsolver_set(solver, &f, low, high) != GSL_SUCCESS)
    return lb_error_set(error, LB_NUMERIC, "no change of sign between %.17g and %.17g", low, high);
  for (int i = 0; i < ROOT_ITERATIONS; i++) {
    double last = gsl_root_fsolver_root(solver);
    if (gsl_root_fsolver_iterate(solver) != GSL_SUCCESS)
      return lb_error_set(error, LB_NUMERIC, "the function is not finite near %.17g", last);
    if (root_reached(solver, &f, last, tolerance)) {
      *x = gsl_root_fsolver_root(solver);
      return LB_OK;
    }
  }
  return lb_error_set(error, LB_NUMERIC, "no root within %.3g after %d steps between %g and %g",
                      tolerance, ROOT_ITERATIONS, low, high);
}

enum lb_status lb_numeric_lowest(struct lb_workspace *workspace, double *x, lb_function function,
                                 void *context, double low, double high, double tolerance,
                                 struct lb_error *error) {
  gsl_function f = {.function = function, .params = context};
  gsl_min_fminimizer *solver = workspace->lowest;
  double at_low = function(low, context), at_high = function(high, context);
  double here = function(*x, context);
  if (!isfinite(at_low) || !isfinite(at_high) || !isfinite(here))
    return lb_error_set(error, LB_NUMERIC, "the function is not finite between %g and %g", low,
                        high);
  bool inside = *x > low && *x < high;
  if (!(inside && here < at_low && here < at_high)) {
    *x = at_low <= at_high ? low : high;
    return LB_OK;
  }
  gsl_min_fminimizer_set_with_values(solver, &f, *x, here, low, at_low, high, at_high);
  for (int i = 0; i < ROOT_ITERATIONS; i++) {
    if (gsl_min_fminimizer_iterate(solver) != GSL_SUCCESS)
      break; /* rounding has been reached: the best point stands */
    if (gsl_min_fminimizer_x_upper(solver) - gsl_min_fminimizer_x_lower(solver) <= tolerance)
      break;
  }
  *x = gsl_min_fminimizer_x_minimum(solver);
  return LB_OK;
}

/* What the minimiser's callbacks need. */
struct descent {
  lb_gradient_function function;
  void *context;
  size_t n;
};

static double descent_both(const gsl_vector *x, struct descent *d, gsl_vector *gradient) {
  double point[LB_VARIABLES_MOST], slope[LB_VARIABLES_MOST];
  for (size_t i = 0; i < d->n; i++)
    point[i] = gsl_vector_get(x, i);
  double value = d->function(point, slope, d->context);
  if (gradient)
    for (size_t i = 0; i < d->n; i++)
      gsl_vector_set(gradient, i, slope[i]);
  return value;
}

static double descent_value(const gsl_vector *x, void *context) {
  return descent_both(x, context, NULL);
}

static void descent_gradient(const gsl_vector *x, void *context, gsl_vector *gradient) {
  descent_both(x, context, gradient);
}

static void descent_value_gradient(const gsl_vector *x, void *context, double *value,
                                   gsl_vector *gradient) {
  *value = descent_both(x, context, gradient);
}

enum lb_status lb_numeric_minimum(struct lb_workspace *workspace, double *x, size_t n,
                                  lb_gradient_function function, void *context, double step,
                                  double tolerance, struct lb_error *error) {
  struct descent descent = {.function = function, .context = context, .n = n};
  gsl_multimin_function_fdf f = {.f = descent_value,
                                 .df = descent_gradient,
                                 .fdf = descent_value_gradient,
                                 .n = n,
                                 .params = &descent};
  gsl_multimin_fdfminimizer *solver = workspace->minimum[n - 1];
  gsl_vector *start = workspace->start[n - 1];
  for (size_t i = 0; i < n; i++)
    gsl_vector_set(start, i, x[i]);
  gsl_multimin_fdfminimizer_set(solver, &f, start, step, line_tolerance);
  if (!isfinite(gsl_multimin_fdfminimizer_minimum(solver)))
    return lb_error_set(error, LB_NUMERIC, "the search starts where the function is not finite");
  /* A step that makes no progress means that rounding has been reached: the best point stands. */
  for (int i = 0; i < MINIMUM_ITERATIONS; i++)
    if (gsl_multimin_test_gradient(gsl_multimin_fdfminimizer_gradient(solver), tolerance) ==
            GSL_SUCCESS ||
        gsl_multimin_fdfminimizer_iterate(solver) != GSL_SUCCESS)
      break;
  for (size_t i = 0; i < n; i++)
    x[i] = gsl_vector_get(gsl_multimin_fdfminimizer_x(solver), i);
  return LB_OK;
}

/* What the simplex's callback needs. */
struct valley {
  lb_value_function function;
  void *context;
  size_t n;
};

static double valley_value(const gsl_vector *x, void *context) {
  struct valley *v = context;
  double point[LB_SIMPLEX_MOST];
  for (size_t i = 0; i < v->n; i++)
    point[i] = gsl_vector_get(x, i);
  return v->function(point, v->context);
}

/* GSL takes no infinite corner: one that lies far above all others does as well. */
static double valley_finite(const gsl_vector *x, void *context) {
  const double far_above = 1e100;
  double value = valley_value(x, context);
  return isfinite(value) ? value : far_above;
}

enum lb_status lb_numeric_simplex(struct lb_workspace *workspace, double *x, size_t n,
                                  lb_value_function function, void *context, const double *step,
                                  double tolerance, struct lb_error *error) {
  struct valley valley = {.function = function, .context = context, .n = n};
  gsl_multimin_function f = {.f = valley_finite, .n = n, .params = &valley};
  gsl_multimin_fminimizer *solver = workspace->simplex[n - 1];
  gsl_vector *corner = workspace->corner[n - 1], *size = workspace->size[n - 1];
  double unit = step[0];
  for (size_t i = 0; i < n; i++) {
    gsl_vector_set(corner, i, x[i]);
    gsl_vector_set(size, i, step[i]);
    unit = fmin(unit, step[i]);
  }
  if (!isfinite(function(x, context)) ||
      gsl_multimin_fminimizer_set(solver, &f, corner, size) != GSL_SUCCESS)
    return lb_error_set(error, LB_NUMERIC, "the search starts where the function is not finite");
  for (int i = 0; i < SIMPLEX_ITERATIONS; i++)
    if (gsl_multimin_fminimizer_iterate(solver) != GSL_SUCCESS ||
        gsl_multimin_fminimizer_size(solver) <= tolerance * unit)
      break;
  for (size_t i = 0; i < n; i++)
    x[i] = gsl_vector_get(gsl_multimin_fminimizer_x(solver), i);
  return LB_OK;
}

struct lb_stepper {
  gsl_odeiv2_step *step;
  size_t n;
  lb_slope_function function;
  void *context;
  enum lb_status status; /* of the function, in the step that is taken */
  double y[];            /* y[n], slope[n] before and behind a step */
};

static int stepper_slope(double x, const double *y, double *slope, void *context) {
  struct lb_stepper *s = context;
  s->status = s->function(x, y, slope, s->context);
  return s->status == LB_OK ? GSL_SUCCESS : GSL_EBADFUNC;
}

struct lb_stepper *lb_stepper_new(size_t n) {
  lb_init();
  struct lb_stepper *s = calloc(1, sizeof *s + 3 * n * sizeof s->y[0]);
  if (!s)
    return NULL;
  s->n = n;
  s->step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rkf45, n);
  if (s->step)
    return s;
  free(s);
  return NULL;
}

void lb_stepper_free(struct lb_stepper *stepper) {
  if (!stepper)
    return;
  gsl_odeiv2_step_free(stepper->step);
  free(stepper);
}

enum lb_status lb_stepper_step(struct lb_stepper *stepper, double x, double h, double *y,
                               double *estimate, double *slope, lb_slope_function function,
                               void *context) {
  struct lb_stepper *s = stepper;
  size_t n = s->n;
  double *next = s->y, *before = s->y + n, *behind = s->y + 2 * n;
  gsl_odeiv2_system system = {.function = stepper_slope, .dimension = n, .params = s};
  s->function = function;
  s->context = context;
  s->status = LB_OK;
  memcpy(next, y, n * sizeof *y);
  memcpy(before, slope, n * sizeof *slope);
  if (gsl_odeiv2_step_apply(s->step, x, h, next, estimate, before, behind, &system) != GSL_SUCCESS)
    return s->status != LB_OK ? s->status : LB_NUMERIC;
  for (size_t i = 0; i < n; i++)
    if (!isfinite(next[i]) || !isfinite(behind[i]))
      return LB_NUMERIC;
  memcpy(y, next, n * sizeof *y);
  memcpy(slope, behind, n * sizeof *slope);
  return LB_OK;
}

struct lb_surface {
  gsl_spline2d *spline;
};

struct lb_surface *lb_surface_new(const double *x, size_t nx, const double *y, size_t ny,
                                  const double *z) {
  lb_init();
  struct lb_surface *s = calloc(1, sizeof *s);
  if (!s)
    return NULL;
  s->spline = gsl_spline2d_alloc(gsl_interp2d_bicubic, nx, ny);
  if (s->spline && gsl_spline2d_init(s->spline, x, y, z, nx, ny) == GSL_SUCCESS)
    return s;
  lb_surface_free(s);
  return NULL;
}

void lb_surface_free(struct lb_surface *surface) {
  if (!surface)
    return;
  if (surface->spline)
    gsl_spline2d_free(surface->spline);
  free(surface);
}

/* The signature of GSL's evaluations. Its accelerators remember where the last point lay; without
 * them an evaluation writes nothing, so that threads may share a surface. */
typedef int evaluation(const gsl_spline2d *spline, double x, double y, gsl_interp_accel *x_memory,
                       gsl_interp_accel *y_memory, double *value);

static double evaluate(evaluation *kind, const struct lb_surface *surface, double x, double y) {
  double value;
  int status = kind(surface->spline, x, y, NULL, NULL, &value);
  return status == GSL_SUCCESS ? value : (double)NAN;
}

double lb_surface_value(const struct lb_surface *surface, double x, double y) {
  return evaluate(gsl_spline2d_eval_e, surface, x, y);
}

double lb_surface_by_x(const struct lb_surface *surface, double x, double y) {
  return evaluate(gsl_spline2d_eval_deriv_x_e, surface, x, y);
}

double lb_surface_by_y(const struct lb_surface *surface, double x, double y) {
  return evaluate(gsl_spline2d_eval_deriv_y_e, surface, x, y);
}

double lb_surface_by_xy(const struct lb_surface *surface, double x, double y) {
  return evaluate(gsl_spline2d_eval_deriv_xy_e, surface, x, y);
}
