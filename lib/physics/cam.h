/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A disc cam that opens a valve through a roller, from the motion wanted to the shape that gives
 * it.
 *
 * The roller's centre moves on a straight line through the shaft's centre. Angles are counted on
 * the cam from any mark in the order in which they pass below the roller: at `opens` the roller
 * begins to rise from the base circle, over the ramp it follows a motion law up to the full lift,
 * and over an equal ramp that ends at `closes` it comes down again the same way.
 *
 *   roller centre (pitch curve)   R = base + roller + lift(angle)
 *   profile                       a roller's radius inside the pitch curve, square to it
 *   pressure angle                atan(R'/R), between the push on the roller and its travel
 *   curvature of the pitch curve  (R^2 + 2 R'^2 - R R'')/(R^2 + R'^2)^(3/2)
 *
 * Where the pitch curve is bent more tightly than the roller the profile is undercut: it would have
 * a cusp, and the roller could not follow the motion. Derivatives are by the cam's angle. Pure
 * functions give NaN outside their domain, and for a design that lb_cam_check refuses.
 */
#ifndef LASTBAR_PHYSICS_CAM_H
#define LASTBAR_PHYSICS_CAM_H

#include "base/numeric.h"
#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* How a flank rises from 0 to 1 over a share u of its ramp, at rest at both ends in velocity and
 * acceleration. */
enum lb_cam_law {
  LB_CAM_POLYNOMIAL, /* 3-4-5 polynomial: 10 u^3 - 15 u^4 + 6 u^5 */
  LB_CAM_CYCLOIDAL   /* u - sin(2 pi u)/(2 pi) */
};

/* A cam as it is wanted. */
struct lb_cam_design {
  enum lb_cam_law law;
  double base_radius;   /* [m] > 0 */
  double lift;          /* [m] >= 0 */
  double roller_radius; /* [m] >= 0 */
  double opens, closes; /* [rad] the valve begins to lift, and is shut again; opens < closes, less
                           than a turn apart */
  double ramp;          /* [rad] > 0, of each flank; two of them fit between opens and closes */
};

/* Where a roller is and how it moves, at a speed of one radian in a unit of time. */
struct lb_cam_motion {
  double lift;         /* [m] */
  double velocity;     /* [m/rad] first derivative */
  double acceleration; /* [m/rad2] second derivative */
};

/* A point of a cam, in the order of its angles. */
struct lb_cam_point {
  double radius; /* [m] from the shaft's centre */
  double angle;  /* [rad] */
};

/* The worst along the flanks, with its place as an angle [rad] from the flank's foot: that much
 * after the opening and, alike, before the closing. */
struct lb_cam_survey {
  double pressure_angle, pressure_place;   /* [rad] the greatest */
  double curvature_radius, tightest_place; /* [m] the least radius of the pitch curve where it
                                              bulges outwards; undercut below the roller's radius */
  double tangent_distance; /* [m] the least distance from the shaft's centre to a tangent of the
                              pitch curve: below the roller's radius the profile hangs over, and a
                              ray from the centre would leave it more than once */
};

/* A law's lift, velocity and acceleration [1].
 * share  [1] u, 0 ... 1; NaN outside */
struct lb_cam_motion lb_cam_law_motion(enum lb_cam_law law, double share);

/* Whether a design can be drawn at all.
 * Fails (LB_BAD_INPUT) when a size is out of its range above, and (LB_NO_ANSWER) when the flanks
 * overlap; the text names the longest ramp that fits. */
enum lb_status lb_cam_check(const struct lb_cam_design *cam, struct lb_error *error);

/* The roller's motion at an angle of the cam [rad], any. */
struct lb_cam_motion lb_cam_motion(const struct lb_cam_design *cam, double angle);

/* Radius of the pitch curve [m]: where the roller's centre stands at an angle. It is also the path
 * of a milling cutter of the roller's size. */
double lb_cam_pitch_radius(const struct lb_cam_design *cam, double angle);

/* Pressure angle [rad]: positive while the roller rises, negative while it comes down. */
double lb_cam_pressure_angle(const struct lb_cam_design *cam, double angle);

/* Curvature of the pitch curve [1/m]: positive where it bulges outwards, negative in a hollow. */
double lb_cam_pitch_curvature(const struct lb_cam_design *cam, double angle);

/* The point of the profile that the roller touches when it stands at an angle. On a flank it lies
 * to the side of the roller's centre: its own angle differs from the roller's. */
struct lb_cam_point lb_cam_profile(const struct lb_cam_design *cam, double angle);

/* The radius of the profile on a ray from the centre, for who turns or files.
 * radius  [m] out
 * angle   [rad] of the ray, any: the profile point's own
 * The profile must not hang over (lb_cam_survey). Fails as lb_cam_check and lb_numeric_root. */
enum lb_status lb_cam_profile_radius(double *radius, const struct lb_cam_design *cam, double angle,
                                     struct lb_workspace *workspace, struct lb_error *error);

/* The number of equal steps of the roller over a flank such that the chords between the points of
 * the profile leave it by a tolerance at most.
 * tolerance  [m] > 0; met to the first order of the step
 * Returns at least 1; 0 for a design that lb_cam_check refuses. */
int lb_cam_flank_steps(const struct lb_cam_design *cam, double tolerance);

/* Look for the worst along the flanks. Fails as lb_cam_check and lb_numeric_lowest. */
enum lb_status lb_cam_survey(struct lb_cam_survey *survey, const struct lb_cam_design *cam,
                             struct lb_workspace *workspace, struct lb_error *error);

/* The base radius [m] from which on no pressure angle exceeds a limit and nothing is undercut or
 * hangs over; 0 when any will do. At that radius itself one of the limits is just met.
 * base_radius  out
 * cam          whose own base radius does not matter
 * limit        [rad] of the pressure angle, between 0 and pi/2
 * Fails as lb_cam_check and lb_numeric_lowest, and (LB_BAD_INPUT) for a limit that is out of
 * range. */
enum lb_status lb_cam_least_base(double *base_radius, const struct lb_cam_design *cam, double limit,
                                 struct lb_workspace *workspace, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
