/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Roots, minima, steps and splines, made safe: the GNU Scientific Library behind functions that
 * return a status and never abort.
 *
 * A workspace holds the solvers, so nothing is allocated while one is used; it serves one thread at
 * a time. Threads that each have their own workspace do not disturb each other. The function being
 * solved must not use the same solver of the same workspace itself.
 *
 * A surface is a table made smooth; it is constant, and any number of threads may read one.
 */
#ifndef LASTBAR_BASE_NUMERIC_H
#define LASTBAR_BASE_NUMERIC_H

#include "base/status.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The most variables that a minimisation with and without a gradient takes. */
enum {
  LB_VARIABLES_MOST = 2,
  LB_SIMPLEX_MOST = 3
};

struct lb_workspace;

/* A function of one variable; `context` is the caller's. */
typedef double (*lb_function)(double x, void *context);

/* A function of n variables with its gradient: x[n] in, gradient[n] out. */
typedef double (*lb_gradient_function)(const double *x, double *gradient, void *context);

/* Turn off the GNU Scientific Library's own error handler, which aborts the process. The handler
 * belongs to the whole process: call this once before any other thread uses that library. Every
 * function below relies on it; lb_workspace_new calls it too. */
void lb_init(void);

/* A workspace, to be released with lb_workspace_free; NULL when memory runs out. */
struct lb_workspace *lb_workspace_new(void);

/* Takes NULL too. */
void lb_workspace_free(struct lb_workspace *workspace);

/* A root between two ends of different sign, by Brent's method.
 * x          out: the root, within `tolerance` of a change of sign
 * low, high  the ends; a root at an end is found
 * tolerance  [unit of x] > 0
 * Fails (LB_NUMERIC) when the ends do not differ in sign, the function is not finite, or the
 * bracket does not shrink. */
enum lb_status lb_numeric_root(struct lb_workspace *workspace, double *x, lb_function function,
                               void *context, double low, double high, double tolerance,
                               struct lb_error *error);

/* The lowest point of a function that has one minimum between two ends, by Brent's method.
 * x            in: a guess between the ends; out: the lowest point met
 * low, high    the ends; when the function is lowest at an end that end is found
 * tolerance    [unit of x] > 0
 * Fails (LB_NUMERIC) when the function is not finite. */
enum lb_status lb_numeric_lowest(struct lb_workspace *workspace, double *x, lb_function function,
                                 void *context, double low, double high, double tolerance,
                                 struct lb_error *error);

/* A local minimum of a smooth function without bounds, by the Broyden-Fletcher-Goldfarb-Shanno
 * method.
 * x          x[n] in: the start; out: the best point met
 * n          1 ... LB_VARIABLES_MOST
 * step       > 0: length of the first trial step [unit of x]
 * tolerance  > 0: stops when the gradient's norm is below it
 * Returns LB_OK also when rounding stops the descent first: the caller who needs a certain gradient
 * tests it. Fails (LB_NUMERIC) when the start is not finite. */
enum lb_status lb_numeric_minimum(struct lb_workspace *workspace, double *x, size_t n,
                                  lb_gradient_function function, void *context, double step,
                                  double tolerance, struct lb_error *error);

/* A function of n variables without gradient. */
typedef double (*lb_value_function)(const double *x, void *context);

/* A local minimum of a function without gradient, by the simplex method of Nelder and Mead. A
 * function that knows bounds gives INFINITY beyond them.
 * x          x[n] in: the start; out: the best point met
 * n          1 ... LB_SIMPLEX_MOST
 * step       step[n] > 0: size of the first simplex [unit of x]
 * tolerance  > 0: stops when the simplex is that small in units of the steps
 * Returns LB_OK also when it stops before. Fails (LB_NUMERIC) when the start is not finite. */
enum lb_status lb_numeric_simplex(struct lb_workspace *workspace, double *x, size_t n,
                                  lb_value_function function, void *context, const double *step,
                                  double tolerance, struct lb_error *error);

/* A non-stiff differential equation dy/dx = slope(x, y), y[n]: writes slope[n] and returns LB_OK,
 * or what failed, which ends the step. */
typedef enum lb_status (*lb_slope_function)(double x, const double *y, double *slope,
                                            void *context);

/* Steps of the embedded Runge-Kutta method of Fehlberg, order 4(5). */
struct lb_stepper;

/* For n equations, to be released with lb_stepper_free; NULL when memory runs out. */
struct lb_stepper *lb_stepper_new(size_t n);

/* Takes NULL too. */
void lb_stepper_free(struct lb_stepper *stepper);

/* One step from x to x + h.
 * y         y[n] in: at x; out: at x + h, unchanged on failure
 * estimate  out: estimate[n], the error of the step
 * slope     slope[n] in: at x; out: at x + h, unchanged on failure
 * Fails as the function does, and (LB_NUMERIC) when it is not finite. */
enum lb_status lb_stepper_step(struct lb_stepper *stepper, double x, double h, double *y,
                               double *estimate, double *slope, lb_slope_function function,
                               void *context);

/* A bicubic spline z(x, y) through a table: twice continuously differentiable, its second
 * derivative across the outermost rows and columns 0. */
struct lb_surface;

/* A surface through z[i + nx j] at x[i], y[j], to be released with lb_surface_free. The table is
 * copied.
 * x, y    x[nx], y[ny], each growing
 * nx, ny  >= 4
 * NULL when memory runs out. */
struct lb_surface *lb_surface_new(const double *x, size_t nx, const double *y, size_t ny,
                                  const double *z);

/* Takes NULL too. */
void lb_surface_free(struct lb_surface *surface);

/* z; dz/dx; dz/dy; d2z/dxdy. NaN outside the table. */
double lb_surface_value(const struct lb_surface *surface, double x, double y);
double lb_surface_by_x(const struct lb_surface *surface, double x, double y);
double lb_surface_by_y(const struct lb_surface *surface, double x, double y);
double lb_surface_by_xy(const struct lb_surface *surface, double x, double y);

#ifdef __cplusplus
}
#endif

#endif
