/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One cylinder at speed: what really flows in and out of its chambers in a revolution that repeats
 * itself.
 *
 * The state of a chamber is its pressure p and the mass m of its air, T = p V/(m R). Per second
 *
 *   dm/dt = sum of the flows in
 *   dp/dt = (gamma - 1)/V [sum of enthalpy flows in + wall heat] - gamma p/V dV/dt
 *
 * with flows through inlet, exhaust, their seats, the piston seal and the rod seal by ISO 6358-1
 * (physics/flow.h), each bringing the temperature of its upstream side. A receiver before the
 * inlets is one more such state, shared by all cylinders; no heat passes its wall. Chambers between
 * which air passes are one system. The periodic state is solved for: from any start air that is
 * left over dies away quickly, and Newton's method on the start of the revolution finishes.
 */
#ifndef LASTBAR_STROKE_GAS_EXCHANGE_H
#define LASTBAR_STROKE_GAS_EXCHANGE_H

#include "machine/machine.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

struct lb_gas; /* a cylinder at speed with its workspace; it serves one thread at a time */

/* One chamber in a periodic revolution. */
struct lb_gas_turn {
  double work;                 /* on the piston face [J] */
  double air;                  /* drawn from the supply, net of what flows back [kg] */
  double exhausted;            /* gone through the exhaust, net of what flows in [kg] */
  double release_pressure;     /* [Pa absolute] when the exhaust begins to open */
  double cutoff_pressure;      /* [Pa absolute] when the inlet is shut */
  double compression_pressure; /* [Pa absolute] when the inlet begins to open */
  double closing_pressure;     /* [Pa absolute] when the exhaust is shut */
  double cutoff_temperature, release_temperature;      /* [K] */
  double compression_temperature, closing_temperature; /* [K] when the exhaust is shut */
  double greatest_pressure,
      coldest_temperature; /* [Pa absolute], [K] on the mesh of the solution */
};

/* Where the worth of the air goes in a revolution of the cylinder [J], measured against
 * surroundings at p_a, T_a; the parts from entropy production integrated for each of them,
 * destroyed = T_a S:
 *
 *   supplied = work + inlet + mixing + exhaust_valve + heat + leakage + exhaust */
struct lb_gas_worth {
  double supplied;      /* exergy drawn from the supply, net of what flows back; and of air drawn in
                           from elsewhere */
  double inlet;         /* throttled at the inlet */
  double mixing;        /* air mixing with what is in the chamber */
  double exhaust_valve; /* throttled at the exhaust: the blow-down, and the outflow */
  double heat;          /* between wall and air */
  double leakage;
  double exhaust; /* exergy of what leaves, by its cold */
};

/* How the solution was found. */
struct lb_gas_report {
  int revolutions; /* calculated until it repeated itself, by the system that took most */
  size_t steps;    /* of the last of them, of all systems */
  double residual; /* greatest change of a state over a revolution, as a share of supply
                      pressure and of the air of a full chamber */
};

/* One cylinder in a periodic revolution. Behind a receiver cylinders may differ: then work, air,
 * force and worth are the mean of all, and pressures and temperatures those of the first. */
struct lb_gas_cylinder {
  struct lb_gas_turn end[LB_ENDS];  /* that of an idle end is 0 */
  double absolute_force;            /* integral of |net gas force| |dx| [J], for friction's share */
  double mean_supply, least_supply; /* [Pa absolute] at the inlet valves: the receiver's pressure,
                                       by angle; the supply itself without one */
  struct lb_gas_worth worth;        /* where asked for */
  struct lb_gas_report report;
};

/* A chamber at one moment of a revolution. */
struct lb_gas_point {
  double angle;                 /* [rad] of the crank, from cap-end dead centre */
  double volume;                /* [m3] dead volume included */
  double volume_slope;          /* d(volume)/d(angle) [m3/rad] */
  double pressure, temperature; /* [Pa absolute], [K] */
  double work;                  /* [J] on the piston face, from the first point on */
};

/* An empty cylinder's workspace, to be released with lb_gas_free; NULL when memory runs out. */
struct lb_gas *lb_gas_new(void);

/* Takes NULL too. */
void lb_gas_free(struct lb_gas *gas);

/* Find the periodic revolution. Ends between which nothing leaks are solved apart.
 *
 * cylinder    out
 * with_worth  whether the worth of the air is followed, which takes about as long again
 * cutoff      cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * speed       [rad/s] > 0
 * Angles that mean switching are moved later by the delays of the valves. Fails (LB_BAD_INPUT) when
 * a path has no conductance, a working end no dead volume, or the speed is not above 0;
 * (LB_NUMERIC) when no revolution repeats itself, saying how far it got; and with LB_NO_MEMORY. */
enum lb_status lb_gas_solve(struct lb_gas *gas, struct lb_gas_cylinder *cylinder, bool with_worth,
                            const struct lb_machine *machine, const double *cutoff, double speed,
                            struct lb_error *error);

/* One end of the first cylinder through the revolution found last, at the steps of the solution.
 *
 * points  out: how many there are
 * Returns point[points], by rising angle from 0 to 2 pi, for as long as nothing else is asked of
 * the workspace; NULL before the first solution. */
const struct lb_gas_point *lb_gas_points(const struct lb_gas *gas, enum lb_end end, size_t *points);

/* Torque of the gas on the crank [N m] of the first cylinder at a crank angle [rad] of that
 * revolution, friction left out. */
double lb_gas_torque(const struct lb_gas *gas, double angle);

#ifdef __cplusplus
}
#endif

#endif
