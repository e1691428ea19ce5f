/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * CVODE from bend to bend.
 */
#include "peer_speed.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

enum {
  STEPS_MOST = 100000 /* between two bends */
};
static const double settled = 1e-9; /* [1] change that is called periodic: lastbar's own */

struct peer_speed {
  SUNContext context;
  void *cvode;
  N_Vector state;
  SUNMatrix matrix;
  SUNLinearSolver linear;
  const struct peer_chamber *chamber;
  int piece;
};

bool peer_speed_there(void) {
  return true;
}

static int rates(realtype angle, N_Vector state, N_Vector rate, void *context) {
  const struct peer_speed *peer = context;
  const double *y = N_VGetArrayPointer(state);
  if (!(y[PEER_PRESSURE] > 0 && y[PEER_AIR] > 0))
    return 1; /* CVODE takes the step again, shorter */
  peer_chamber_rates(N_VGetArrayPointer(rate), NULL, peer->chamber, peer->piece, angle, y);
  return 0;
}

static int jacobian(realtype angle, N_Vector state, N_Vector rate, SUNMatrix matrix, void *context,
                    N_Vector unused_1, N_Vector unused_2, N_Vector unused_3) {
  const struct peer_speed *peer = context;
  double column[2][PEER_STATES], unused[PEER_STATES];
  (void)rate, (void)unused_1, (void)unused_2, (void)unused_3;
  peer_chamber_rates(unused, column, peer->chamber, peer->piece, angle, N_VGetArrayPointer(state));
  for (int j = 0; j < 2; j++)
    memcpy(SM_COLUMN_D(matrix, j), column[j], sizeof column[j]);
  memset(SM_COLUMN_D(matrix, PEER_WORK), 0, PEER_STATES * sizeof(double));
  return 0;
}

static bool set_up(struct peer_speed *p) {
  if (SUNContext_Create(NULL, &p->context) != 0 || !(p->cvode = CVodeCreate(CV_BDF, p->context)) ||
      !(p->state = N_VNew_Serial(PEER_STATES, p->context)) ||
      !(p->matrix = SUNDenseMatrix(PEER_STATES, PEER_STATES, p->context)) ||
      !(p->linear = SUNLinSol_Dense(p->state, p->matrix, p->context)))
    return false;
  N_VConst(1, p->state);
  return CVodeInit(p->cvode, rates, 0, p->state) == CV_SUCCESS &&
         CVodeSStolerances(p->cvode, 1, 1) == CV_SUCCESS &&
         CVodeSetLinearSolver(p->cvode, p->linear, p->matrix) == CV_SUCCESS &&
         CVodeSetJacFn(p->cvode, jacobian) == CV_SUCCESS &&
         CVodeSetUserData(p->cvode, p) == CV_SUCCESS &&
         CVodeSetErrFile(p->cvode, NULL) == CV_SUCCESS &&
         CVodeSetMaxNumSteps(p->cvode, STEPS_MOST) == CV_SUCCESS;
}

struct peer_speed *peer_speed_new(void) {
  struct peer_speed *peer = calloc(1, sizeof *peer);
  if (peer && set_up(peer))
    return peer;
  peer_speed_free(peer);
  return NULL;
}

void peer_speed_free(struct peer_speed *peer) {
  if (!peer)
    return;
  if (peer->cvode)
    CVodeFree(&peer->cvode);
  if (peer->linear)
    SUNLinSolFree(peer->linear);
  if (peer->matrix)
    SUNMatDestroy(peer->matrix);
  if (peer->state)
    N_VDestroy(peer->state);
  if (peer->context)
    SUNContext_Free(&peer->context);
  free(peer);
}

/* One revolution. */
static bool turn(struct peer_speed *peer) {
  const struct peer_chamber *c = peer->chamber;
  for (peer->piece = 0; peer->piece + 1 < c->stops; peer->piece++) {
    double from = c->stop[peer->piece], to = c->stop[peer->piece + 1], reached;
    if (!(to > from))
      continue;
    if (CVodeReInit(peer->cvode, from, peer->state) != CV_SUCCESS ||
        CVodeSetStopTime(peer->cvode, to) != CV_SUCCESS)
      return false;
    if (CVode(peer->cvode, to, peer->state, &reached, CV_NORMAL) < 0)
      return false;
  }
  return true;
}

bool peer_speed_solve(double *work, struct peer_speed *peer, const struct peer_chamber *chamber,
                      double tolerance, int revolutions) {
  double *y = N_VGetArrayPointer(peer->state), before[PEER_STATES], change = (double)INFINITY;
  peer->chamber = chamber;
  memcpy(y, chamber->start, sizeof before);
  if (CVodeSStolerances(peer->cvode, tolerance, tolerance) != CV_SUCCESS)
    return false;
  for (int i = 0; i < revolutions && change > settled; i++) {
    y[PEER_WORK] = 0;
    memcpy(before, y, sizeof before);
    if (!turn(peer))
      return false;
    change = peer_chamber_change(before, y);
  }
  *work = y[PEER_WORK];
  return true;
}
