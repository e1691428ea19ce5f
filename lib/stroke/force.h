/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The net gas force on the piston of one cylinder around a slow revolution, and the friction that
 * goes with it.
 *
 *   net = p_cap A_cap - p_rod A_rod - p_a (A_cap - A_rod)
 *
 * Between two valve events and on one stroke the net force only falls with travel (the cap end
 * expands while the rod end is compressed), so it changes sign at most once there: the integral of
 * |net| over the travel is split exactly.
 */
#ifndef LASTBAR_STROKE_FORCE_H
#define LASTBAR_STROKE_FORCE_H

#include "base/numeric.h"
#include "machine/machine.h"
#include "stroke/chamber.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What happens at a point of the revolution. */
enum lb_event {
  LB_INLET_OPENS,
  LB_CUTOFF,
  LB_RELEASE,
  LB_EXHAUST_CLOSES,
  LB_DEAD_CENTRE
};

struct lb_force_point {
  double angle;  /* crank angle [rad] 0 ... 2 pi */
  double travel; /* from the cap-end dead centre [m] */
  enum lb_event event;
  enum lb_end end; /* whose event it is */
};

enum {
  LB_FORCE_POINTS = 2 * 4 + 2 /* four events of two ends, and the dead centres */
};

/* One cylinder made ready by lb_force_prepare: all points but the cut-offs, in order of angle. */
struct lb_force {
  const struct lb_machine *machine; /* borrowed */
  const struct lb_chamber *chamber; /* chamber[LB_ENDS], borrowed; only worked ends are read */
  double area[LB_ENDS];
  struct lb_force_point point[LB_FORCE_POINTS];
  int points;
};

/* What the integral below changes by when something about one end does. All are taken with the sign
 * of the net force towards the motion. */
struct lb_force_parts {
  double expansion, compression;           /* integral of p dV while shut [J] */
  double expansion_fall, compression_fall; /* fall of pressure from their start to their end [Pa] */
  double admission;                        /* volume swept while the inlet is open [m3] */
  double jump[LB_DEAD_CENTRE]; /* |net force| just before an event less that after [N] */
};

/* The integral of |net| over the travel of one revolution [N m], and its parts. */
struct lb_force_integral {
  double absolute;
  struct lb_force_parts end[LB_ENDS];
};

/* Make a cylinder ready. Both `machine` and chamber[LB_ENDS] must outlive it. */
void lb_force_prepare(struct lb_force *force, const struct lb_machine *machine,
                      const struct lb_chamber *chamber);

/* The pressures [Pa absolute] at both ends of a running cylinder at a crank angle; an idle end has
 * ambient pressure. At an event, those just after it.
 * pressure     out: pressure[LB_ENDS]
 * cutoff       cutoff[LB_ENDS] [rad] from each end's own dead centre; not read for an idle end
 * crank_angle  [rad] of this cylinder's own crank */
void lb_force_pressures(double *pressure, const struct lb_force *force, const double *cutoff,
                        double crank_angle);

/* The same at standstill: supply pressure while the inlet is open, back pressure otherwise. */
void lb_force_standstill(double *pressure, const struct lb_force *force, const double *cutoff,
                         double crank_angle);

/* The net gas force [N] of pressure[LB_ENDS] [Pa absolute], positive away from the cap end. */
double lb_force_net(const struct lb_force *force, const double *pressure);

/* Integrate over one revolution.
 * integral  out
 * workspace for the roots; no memory is taken
 * cutoff    cutoff[LB_ENDS] [rad] from each end's own dead centre; not read for an idle end
 * Fails (LB_NUMERIC) when the change of sign cannot be found. */
enum lb_status lb_force_integrate(struct lb_force_integral *integral, const struct lb_force *force,
                                  struct lb_workspace *workspace, const double *cutoff,
                                  struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
