/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * In place of the peer where SUNDIALS is not there.
 */
#include "peer_speed.h"

#include <stddef.h>

bool peer_speed_there(void) {
  return false;
}

struct peer_speed *peer_speed_new(void) {
  return NULL;
}

void peer_speed_free(struct peer_speed *peer) {
  (void)peer;
}

bool peer_speed_solve(double *work, struct peer_speed *peer, const struct peer_chamber *chamber,
                      double tolerance, int revolutions) {
  (void)work, (void)peer, (void)chamber, (void)tolerance, (void)revolutions;
  return false;
}
