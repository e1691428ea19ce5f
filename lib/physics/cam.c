/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Motion laws, the envelope of the roller, and what limits a cam. Invariant: both flanks are alike,
 * one the mirror image of the other, so whatever is sought along them is sought on one.
 */
#include "physics/cam.h"

#include "base/constants.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

/* Flanks that overlap by less than this share of a turn touch: a few roundings of angles given in
 * degrees. */
static const double overlap_slack = 1e-12;

/* Tolerances of a place on a flank [1] of the ramp: of the roller's where a ray meets the profile,
 * and of the worst, where a figure is flat and no place is known better. */
static const double meeting_tolerance = 1e-14, worst_tolerance = 1e-9;

enum {
  SCAN = 240,       /* intervals in which the worst of a flank is sought; its figures turn a few
                       times at most */
  NEWTON_MOST = 100 /* steps; far more than halving the distance each time to the last digit */
};

struct lb_cam_motion lb_cam_law_motion(enum lb_cam_law law, double share) {
  double u = share, turn = 2 * LB_PI;
  if (!(u >= 0 && u <= 1))
    return (struct lb_cam_motion){(double)NAN, (double)NAN, (double)NAN};
  if (law == LB_CAM_CYCLOIDAL)
    return (struct lb_cam_motion){.lift = u - sin(turn * u) / turn,
                                  .velocity = 1 - cos(turn * u),
                                  .acceleration = turn * sin(turn * u)};
  return (struct lb_cam_motion){.lift = u * u * u * (10 + u * (6 * u - 15)),
                                .velocity = 30 * u * u * (1 - u) * (1 - u),
                                .acceleration = 60 * u * (1 - u) * (1 - 2 * u)};
}

/* How long the valve is open [rad]. */
static double window(const struct lb_cam_design *cam) {
  return cam->closes - cam->opens;
}

static bool sizes_fit(const struct lb_cam_design *cam) {
  return cam->base_radius > 0 && isfinite(cam->base_radius) && cam->lift >= 0 &&
         isfinite(cam->lift) && cam->roller_radius >= 0 && isfinite(cam->roller_radius) &&
         cam->ramp > 0 && window(cam) > 0 && window(cam) < 2 * LB_PI;
}

static bool flanks_fit(const struct lb_cam_design *cam) {
  return 2 * cam->ramp <= window(cam) + overlap_slack;
}

enum lb_status lb_cam_check(const struct lb_cam_design *cam, struct lb_error *error) {
  if (!sizes_fit(cam))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a cam needs a base radius and a ramp above 0, lift and roller not below "
                        "it, and a valve that opens before it closes within one turn");
  if (!flanks_fit(cam))
    return lb_error_set(error, LB_NO_ANSWER,
                        "two flanks of %.6g deg do not fit into the %.6g deg that the valve is "
                        "open; a ramp of %.6g deg is the longest that does",
                        cam->ramp / LB_DEGREE, window(cam) / LB_DEGREE,
                        window(cam) / 2 / LB_DEGREE);
  return LB_OK;
}

/* Motion on the rising flank, a share [1] of the ramp from its foot. */
static struct lb_cam_motion flank_motion(const struct lb_cam_design *cam, double share) {
  struct lb_cam_motion m = lb_cam_law_motion(cam->law, share);
  m.lift *= cam->lift;
  m.velocity *= cam->lift / cam->ramp;
  m.acceleration *= cam->lift / (cam->ramp * cam->ramp);
  return m;
}

/* An angle counted from the opening, 0 ... less than a turn. */
static double after_opening(const struct lb_cam_design *cam, double angle) {
  double turned = fmod(angle - cam->opens, 2 * LB_PI);
  return turned < 0 ? turned + 2 * LB_PI : turned;
}

/* The distance [rad] to the foot of the nearer flank, as far as the ramp goes; negative on the base
 * circle. *falls says which flank it is. */
static double from_foot(const struct lb_cam_design *cam, double angle, bool *falls) {
  double turned = after_opening(cam, angle), left = window(cam) - turned;
  *falls = left < turned;
  return fmin(fmin(turned, left), cam->ramp);
}

struct lb_cam_motion lb_cam_motion(const struct lb_cam_design *cam, double angle) {
  if (!sizes_fit(cam) || !flanks_fit(cam))
    return (struct lb_cam_motion){(double)NAN, (double)NAN, (double)NAN};
  bool falls;
  double place = from_foot(cam, angle, &falls);
  if (place < 0)
    return (struct lb_cam_motion){0, 0, 0};
  struct lb_cam_motion m = flank_motion(cam, place / cam->ramp);
  if (falls)
    m.velocity = -m.velocity;
  return m;
}

/* R, with R' and R'' the roller's velocity and acceleration. */
static double reach(const struct lb_cam_design *cam, const struct lb_cam_motion *m) {
  return cam->base_radius + cam->roller_radius + m->lift;
}

/* (R^2 + 2 R'^2 - R R'')/(R^2 + R'^2)^(3/2) */
static double curvature(const struct lb_cam_design *cam, const struct lb_cam_motion *m) {
  double r = reach(cam, m), v = m->velocity, h = hypot(r, v);
  return (r * r + 2 * v * v - r * m->acceleration) / (h * h * h);
}

/* The foot of the perpendicular on the profile. In the directions along and across the ray to the
 * roller the pitch curve runs as (R', R), its inward normal is (-R, R')/h, and the contact lies at
 * (R, 0) + roller (-R, R')/h. */
static struct lb_cam_point contact(const struct lb_cam_design *cam, const struct lb_cam_motion *m) {
  double r = reach(cam, m), h = hypot(r, m->velocity);
  double along = r * (1 - cam->roller_radius / h), across = cam->roller_radius * m->velocity / h;
  return (struct lb_cam_point){hypot(along, across), atan2(across, along)};
}

double lb_cam_pitch_radius(const struct lb_cam_design *cam, double angle) {
  struct lb_cam_motion m = lb_cam_motion(cam, angle);
  return reach(cam, &m);
}

double lb_cam_pressure_angle(const struct lb_cam_design *cam, double angle) {
  struct lb_cam_motion m = lb_cam_motion(cam, angle);
  return atan(m.velocity / reach(cam, &m));
}

double lb_cam_pitch_curvature(const struct lb_cam_design *cam, double angle) {
  struct lb_cam_motion m = lb_cam_motion(cam, angle);
  return curvature(cam, &m);
}

struct lb_cam_point lb_cam_profile(const struct lb_cam_design *cam, double angle) {
  struct lb_cam_motion m = lb_cam_motion(cam, angle);
  struct lb_cam_point point = contact(cam, &m);
  point.angle += angle;
  return point;
}

/* A ray that meets a flank. */
struct ray {
  const struct lb_cam_design *cam;
  double angle; /* [rad] from the flank's foot */
};

/* How far the point touched lies past the ray [rad], by the roller's share of the ramp. */
static double past_ray(double share, void *context) {
  const struct ray *ray = context;
  struct lb_cam_motion m = flank_motion(ray->cam, share);
  return share * ray->cam->ramp + contact(ray->cam, &m).angle - ray->angle;
}

enum lb_status lb_cam_profile_radius(double *radius, const struct lb_cam_design *cam, double angle,
                                     struct lb_workspace *workspace, struct lb_error *error) {
  enum lb_status status = lb_cam_check(cam, error);
  if (status != LB_OK)
    return status;
  bool falls;
  double place = from_foot(cam, angle, &falls), share = 0;
  if (place > 0 && place < cam->ramp) {
    /* foot and head of the flank are touched straight below the roller, so they bracket it */
    struct ray ray = {cam, place};
    status = lb_numeric_root(workspace, &share, past_ray, &ray, 0, 1, meeting_tolerance, error);
  } else if (place > 0) {
    share = 1;
  }
  if (status == LB_OK) {
    struct lb_cam_motion m = flank_motion(cam, share);
    *radius = contact(cam, &m).radius;
  }
  return status;
}

/* While the roller turns by d the contact moves by h |1 - roller c| d along an arc of curvature
 * c/(1 - roller c), h = hypot(R, R') and c of the pitch curve: a chord leaves an arc of length l by
 * l^2/8 times its curvature. */
int lb_cam_flank_steps(const struct lb_cam_design *cam, double tolerance) {
  double most = 0;
  if (!(tolerance > 0) || !sizes_fit(cam) || !flanks_fit(cam))
    return 0;
  for (int i = 0; i <= SCAN; i++) {
    struct lb_cam_motion m = flank_motion(cam, (double)i / SCAN);
    double h = hypot(reach(cam, &m), m.velocity), c = curvature(cam, &m);
    most = fmax(most, h * h * fabs(c * (1 - cam->roller_radius * c)));
  }
  return (int)fmax(1, ceil(cam->ramp * sqrt(most / (8 * tolerance))));
}

/* A figure of a flank whose greatest value is sought. */
struct search {
  const struct lb_cam_design *cam;
  double limit; /* [rad] of the pressure angle; not read by every figure */
  double (*figure)(const struct search *search, const struct lb_cam_motion *motion);
};

static double lowered(double share, void *context) {
  const struct search *search = context;
  struct lb_cam_motion m = flank_motion(search->cam, share);
  return -search->figure(search, &m);
}

/* The greatest value of a figure, by a scan of the flank and Brent's method around the best; two
 * intervals to each side, so that there is a hollow also where neighbours are equal. */
static enum lb_status greatest(double *value, double *place, struct search *search,
                               struct lb_workspace *workspace, struct lb_error *error) {
  int best = 0;
  for (int i = 1; i <= SCAN; i++)
    if (lowered((double)i / SCAN, search) < lowered((double)best / SCAN, search))
      best = i;
  double low = fmax(best - 2, 0) / SCAN, high = fmin(best + 2, SCAN) / SCAN;
  double share = (double)best / SCAN;
  enum lb_status status =
      lb_numeric_lowest(workspace, &share, lowered, search, low, high, worst_tolerance, error);
  if (status == LB_OK) {
    *value = -lowered(share, search);
    *place = share * search->cam->ramp;
  }
  return status;
}

static double pressure_figure(const struct search *search, const struct lb_cam_motion *m) {
  return atan(m->velocity / reach(search->cam, m));
}

static double curvature_figure(const struct search *search, const struct lb_cam_motion *m) {
  return curvature(search->cam, m);
}

/* R^2/h, the distance of a tangent, upside down. */
static double tangent_figure(const struct search *search, const struct lb_cam_motion *m) {
  double r = reach(search->cam, m);
  return -r * r / hypot(r, m->velocity);
}

enum lb_status lb_cam_survey(struct lb_cam_survey *survey, const struct lb_cam_design *cam,
                             struct lb_workspace *workspace, struct lb_error *error) {
  struct lb_cam_survey s;
  struct search search = {.cam = cam, .figure = pressure_figure};
  double tightest = 0, distance = 0, place;
  enum lb_status status = lb_cam_check(cam, error);
  if (status == LB_OK)
    status = greatest(&s.pressure_angle, &s.pressure_place, &search, workspace, error);
  search.figure = curvature_figure;
  if (status == LB_OK)
    status = greatest(&tightest, &s.tightest_place, &search, workspace, error);
  search.figure = tangent_figure;
  if (status == LB_OK)
    status = greatest(&distance, &place, &search, workspace, error);
  if (status != LB_OK)
    return status;
  s.curvature_radius = 1 / tightest; /* at a flank's foot it is finite and positive */
  s.tangent_distance = -distance;
  *survey = s;
  return LB_OK;
}

/* Base radius at which the pressure angle is at its limit: R = R'/tan(limit). */
static double pressure_base(const struct search *search, const struct lb_cam_motion *m) {
  return m->velocity / tan(search->limit) - m->lift - search->cam->roller_radius;
}

/* Base radius at which the profile's tangent passes through the centre: R^2 = roller h, a square
 * equation for R^2. */
static double tangent_base(const struct search *search, const struct lb_cam_motion *m) {
  double p = search->cam->roller_radius;
  return sqrt(p * (p + hypot(p, 2 * m->velocity)) / 2) - m->lift - p;
}

/* Base radius from which on the pitch curve is no tighter than the roller: the last root above
 * R = roller of
 *   (R^2 + R'^2)^(3/2) - roller (R^2 + 2 R'^2 - R R''),
 * which is convex there, so that Newton's steps from above cannot pass it. They start where it is
 * positive for certain, and go down to the roller's radius where there is no root. */
static double curvature_base(const struct search *search, const struct lb_cam_motion *m) {
  double p = search->cam->roller_radius, v = m->velocity, a = m->acceleration;
  double r = 2 * (p + fabs(a) + fabs(v));
  for (int i = 0; i < NEWTON_MOST && r > p; i++) {
    double h = hypot(r, v);
    double excess = h * h * h - p * (r * r + 2 * v * v - r * a);
    double slope = 3 * r * h - p * (2 * r - a);
    if (!(slope > 0)) {
      r = p;
      break;
    }
    r -= excess / slope;
    if (excess <= DBL_EPSILON * h * h * h)
      break;
  }
  return fmax(r, p) - m->lift - p;
}

enum lb_status lb_cam_least_base(double *base_radius, const struct lb_cam_design *cam, double limit,
                                 struct lb_workspace *workspace, struct lb_error *error) {
  double (*const figures[])(const struct search *, const struct lb_cam_motion *) = {
      pressure_base, tangent_base, curvature_base};
  struct search search = {.cam = cam, .limit = limit};
  double least = 0;
  enum lb_status status = lb_cam_check(cam, error);
  if (status == LB_OK && !(limit > 0 && limit < LB_PI / 2))
    status = lb_error_set(error, LB_BAD_INPUT,
                          "the limit of a pressure angle must lie between 0 and 90 deg");
  for (size_t i = 0; i < sizeof figures / sizeof *figures && status == LB_OK; i++) {
    double base, place;
    search.figure = figures[i];
    status = greatest(&base, &place, &search, workspace, error);
    if (status == LB_OK)
      least = fmax(least, base);
  }
  if (status == LB_OK)
    *base_radius = least;
  return status;
}
