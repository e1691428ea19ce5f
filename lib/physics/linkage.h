/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How far the piston has travelled at a crank angle, how fast it moves there, and the way back from
 * travel to angle.
 *
 * The crank angle is 0 at the cap-end dead centre, where the piston is closest to the cap end, and
 * grows in the direction of rotation. Three linkages, all with crank radius r and stroke S:
 *
 *   connecting rod  length L, piston line offset by e from the crank centre; with
 *                   phi = angle + asin(e/(L+r)):
 *                   travel = sqrt((L+r)^2 - e^2) - [r cos phi + sqrt(L^2 - (r sin phi - e)^2)]
 *   swinging        the cylinder body pivots at distance D from the crank centre:
 *                   travel = sqrt((D-r)^2 + 4 D r sin^2(angle/2)) - (D - r),  S = 2r
 *   yoke            (Scotch yoke) travel = 2 r sin^2(angle/2),  S = 2r
 *
 * Formulas are written so that nothing cancels near a dead centre. The inverse is closed: the
 * triangle crank - rod - piston line (or pivot) is solved for its angle by half-angle formulas.
 */
#ifndef LASTBAR_PHYSICS_LINKAGE_H
#define LASTBAR_PHYSICS_LINKAGE_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The two ends of a cylinder: the cap end has no piston rod, the rod end has it. */
enum lb_end {
  LB_CAP_END,
  LB_ROD_END,
  LB_ENDS
};

enum lb_linkage_kind {
  LB_CONNECTING_ROD,
  LB_SWINGING,
  LB_YOKE
};

/* A linkage ready for use; filled by lb_linkage_init, read freely. */
struct lb_linkage {
  enum lb_linkage_kind kind;
  double stroke;       /* S [m] */
  double length;       /* connecting rod L, or pivot to crank centre D [m]; 0 for a yoke */
  double offset;       /* e [m], 0 unless a connecting rod; positive makes the outward stroke longer
                          than half a turn */
  double crank_radius; /* r [m] */
  double outward;      /* crank angle of the rod-end dead centre [rad]: pi without offset */
  /* of the connecting rod */
  double start_angle;              /* asin(e/(L+r)) [rad], with its cosine and sine */
  double start_cosine, start_sine; /* [1] */
  double far_reach, near_reach;    /* sqrt((L+r)^2-e^2) and sqrt((L-r)^2-e^2) [m] */
};

/* Set up a linkage.
 * linkage  out
 * stroke   [m] > 0: the travel of the piston between its dead centres
 * length   [m] > 0: rod length or pivot distance; not used for a yoke
 * offset   [m]: of the connecting rod's piston line, not used for the others
 * The crank radius follows from the stroke: r = (S/2) sqrt(1 - e^2/(L^2 - S^2/4)), S/2 without
 * offset.
 * Fails (LB_BAD_INPUT) when the crank could not turn: L - r <= |e|, or D <= r; the text names the
 * least length that would do. */
enum lb_status lb_linkage_init(struct lb_linkage *linkage, enum lb_linkage_kind kind, double stroke,
                               double length, double offset, struct lb_error *error);

/* Travel of the piston from its cap-end dead centre [m], 0 ... S.
 * angle  [rad] crank angle, any */
double lb_linkage_travel(const struct lb_linkage *linkage, double angle);

/* Travel per radian of crank, dx/d(angle) [m/rad]; negative on the inward stroke. */
double lb_linkage_slope(const struct lb_linkage *linkage, double angle);

/* A piston's place and how it changes with the crank angle. */
struct lb_piston {
  double travel;    /* [m] */
  double slope;     /* d(travel)/d(angle) [m/rad] */
  double curvature; /* d2(travel)/d(angle)2 [m/rad2] */
};

/* All three at a crank angle [rad], for less than one by one. */
struct lb_piston lb_linkage_piston(const struct lb_linkage *linkage, double angle);

/* Crank angle of an end's own dead centre [rad]: 0 for the cap end, `outward` for the rod end. */
double lb_linkage_dead_centre(const struct lb_linkage *linkage, enum lb_end end);

/* Angle from an end's own dead centre to the opposite one [rad], in the direction of rotation:
 * where the stroke away from this end stops. */
double lb_linkage_stroke_angle(const struct lb_linkage *linkage, enum lb_end end);

/* Distance of the piston from an end's own dead centre [m], 0 ... S.
 * angle  [rad] counted from that dead centre in the direction of rotation */
double lb_linkage_distance(const struct lb_linkage *linkage, enum lb_end end, double angle);

/* Its derivative [m/rad]: positive while the piston moves away from this end. */
double lb_linkage_distance_slope(const struct lb_linkage *linkage, enum lb_end end, double angle);

/* Angle, from an end's own dead centre [rad], at which the piston is at a distance from it.
 * distance  [m] 0 ... S; NaN outside
 * _away: on the stroke away from this end, 0 ... stroke angle
 * _back: on the stroke back to it, stroke angle ... 2 pi */
double lb_linkage_angle_away(const struct lb_linkage *linkage, enum lb_end end, double distance);
double lb_linkage_angle_back(const struct lb_linkage *linkage, enum lb_end end, double distance);

#ifdef __cplusplus
}
#endif

#endif
