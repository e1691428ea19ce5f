/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * GSL's Runge-Kutta method of Prince and Dormand from bend to bend.
 */
#include "reference_speed.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <string.h>

enum {
  REVOLUTIONS_MOST = 400
};
static const double settled = 1e-9;    /* [1] change that lastbar calls periodic */
static const double first_step = 1e-4; /* [rad] */

/* What a revolution needs. */
struct run {
  const struct peer_chamber *chamber;
  int piece;
};

static int rates(double angle, const double *state, double *rate, void *context) {
  const struct run *run = context;
  if (!(state[PEER_PRESSURE] > 0 && state[PEER_AIR] > 0))
    return GSL_FAILURE; /* the driver takes the step again, shorter */
  peer_chamber_rates(rate, NULL, run->chamber, run->piece, angle, state);
  return GSL_SUCCESS;
}

static bool turn(gsl_odeiv2_driver *driver, struct run *run, double *state) {
  const struct peer_chamber *c = run->chamber;
  for (run->piece = 0; run->piece + 1 < c->stops; run->piece++) {
    double angle = c->stop[run->piece], to = c->stop[run->piece + 1];
    if (!(to > angle))
      continue;
    gsl_odeiv2_driver_reset_hstart(driver, fmin(first_step, to - angle));
    if (gsl_odeiv2_driver_apply(driver, &angle, to, state) != GSL_SUCCESS)
      return false;
  }
  return true;
}

static bool march(struct reference_speed *reference, gsl_odeiv2_driver *driver, struct run *run) {
  double state[PEER_STATES], before[PEER_STATES];
  int last = REVOLUTIONS_MOST;
  memcpy(state, run->chamber->start, sizeof state);
  reference->revolutions = 0;
  for (int i = 1; i <= last; i++) {
    state[PEER_WORK] = 0;
    memcpy(before, state, sizeof before);
    if (!turn(driver, run, state))
      return false;
    if (reference->revolutions == 0 && peer_chamber_change(before, state) <= settled) {
      reference->revolutions = i;
      last = i + i / 2 + 1; /* as each shrinks what is left by about the same share */
    }
  }
  reference->work = state[PEER_WORK];
  return reference->revolutions > 0;
}

bool reference_speed_find(struct reference_speed *reference, const struct peer_chamber *chamber,
                          double tolerance) {
  struct run run = {.chamber = chamber};
  gsl_odeiv2_system system = {rates, NULL, PEER_STATES, &run};
  gsl_odeiv2_driver *driver =
      gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, first_step, tolerance, 0);
  bool found = driver && march(reference, driver, &run);
  if (driver)
    gsl_odeiv2_driver_free(driver);
  return found;
}
