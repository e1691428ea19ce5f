/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One chamber of the trolley at speed, written out once more: what the peer of the benchmark at
 * speed and its reference integrate. Nothing of the library's flow, linkage or chamber is called.
 *
 * The variable is the crank angle from the cap-end dead centre. The states are shares: pressure of
 * the supply's, air of a full chamber's at supply, work of supply pressure times swept volume.
 *
 *   dp/dt = (gamma - 1)/V [sum of cp T m' + wall heat] - gamma p/V dV/dt
 *   dm/dt = sum of m'         m' = C p_u rho_0 sqrt(T_0/T_u) phi(p_d/p_u)      (ISO 6358-1)
 *   dW/dt = p dV/dt
 */
#ifndef LASTBAR_TESTS_BENCH_PEER_EQUATIONS_H
#define LASTBAR_TESTS_BENCH_PEER_EQUATIONS_H

#include "machine/machine.h"

enum {
  PEER_PRESSURE,
  PEER_AIR,
  PEER_WORK,
  PEER_STATES,
  PEER_STOPS_MOST = 4 * LB_VALVES + 2
};

/* A valve: what it passes wide open, and the state on its other side. */
struct peer_valve {
  double choked;                      /* C rho_0 sqrt(T_0) [kg sqrt(K)/(s Pa)] */
  double critical;                    /* b [1] */
  double pressure, temperature, root; /* [Pa absolute], [K], sqrt [K^1/2] */
};

/* How far a valve is open within a piece: at + by * angle [1]. */
struct peer_opening {
  double at, by;
};

/* A chamber, ready to be integrated. */
struct peer_chamber {
  double area, dead, first, by_travel;  /* [m2], [m3]; V = first + by_travel * travel */
  double squares, product, near_centre; /* D^2 + r^2, D r [m2], D - r [m] */
  double heat, perimeter, wall;         /* h [W/(m2 K)], [m], wall temperature [K] */
  double speed;                         /* [rad/s] */
  double scale[PEER_STATES];            /* [Pa], [kg], [J] that a share of 1 stands for */
  struct peer_valve valve[LB_VALVES];
  double stop[PEER_STOPS_MOST]; /* [rad] 0 ... 2 pi: where an opening bends */
  struct peer_opening opening[PEER_STOPS_MOST][LB_VALVES]; /* by the piece after a stop */
  int stops;
  double start[PEER_STATES]; /* cold: at supply or at back pressure, as the valves stand */
};

/* Make a chamber ready.
 * speed  [rad/s]
 * False when the machine is not of the trolley's kind: swinging, a cut-off of its own, no leaks, a
 * subsonic index of 0.5, a constant supply, a ramp in degrees, angles that mean events. */
bool peer_chamber_set(struct peer_chamber *chamber, const struct lb_machine *machine,
                      enum lb_end end, double speed);

/* Rates by the angle within a piece: rate[PEER_STATES].
 * column  column[2][PEER_STATES]: derivatives of the rates by pressure and air; or NULL */
void peer_chamber_rates(double *rate, double (*column)[PEER_STATES],
                        const struct peer_chamber *chamber, int piece, double angle,
                        const double *state);

/* The greatest change of pressure and air over a revolution. */
double peer_chamber_change(const double *before, const double *after);

#endif
