/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Roots and minima, made safe: the solvers of the GNU Scientific Library behind functions that
 * return a status and never abort.
 *
 * A workspace holds the solvers, so nothing is allocated while one is used; it serves one thread at
 * a time. Threads that each have their own workspace do not disturb each other. The function being
 * solved must not use the same solver of the same workspace itself.
 */
#ifndef LASTBAR_BASE_NUMERIC_H
#define LASTBAR_BASE_NUMERIC_H

#include "base/status.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The most variables a minimisation takes. */
enum {
  LB_VARIABLES_MOST = 2
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

#ifdef __cplusplus
}
#endif

#endif
