/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cams against what they are for: the profile is what circles of the roller's size leave standing,
 * found here along rays without any derivative; slopes, normals and curvatures are differences;
 * limits are approached from both sides.
 */
#include "base/constants.h"
#include "physics/cam.h"
#include "support.h"

#include <string.h>

static const double turn = 2 * LB_PI, degree = LB_PI / 180;
static const double millimetre = 1e-3;

enum {
  MANY = 400 /* random designs */
};

static struct lb_workspace *workspace;

static void make_workspace(void) {
  workspace = lb_workspace_new();
  ck_assert_ptr_nonnull(workspace);
}

static void free_workspace(void) {
  lb_workspace_free(workspace);
}

/* A design that may be undercut; its window often just holds the two flanks. */
static struct lb_cam_design random_design(int i, uint64_t *state) {
  struct lb_cam_design cam = {.law = i % 2 ? LB_CAM_CYCLOIDAL : LB_CAM_POLYNOMIAL};
  cam.base_radius = support_between(state, 5, 60) * millimetre;
  cam.lift = support_between(state, 0.5, 12) * millimetre;
  cam.roller_radius = support_between(state, 1, 15) * millimetre;
  cam.ramp = support_between(state, 8, 90) * degree;
  cam.opens = support_between(state, -180, 360) * degree;
  double dwell = i % 3 ? support_between(state, 0, 170) * degree : 0;
  cam.closes = cam.opens + 2 * cam.ramp + dwell;
  return cam;
}

static struct lb_cam_survey surveyed(const struct lb_cam_design *cam) {
  struct lb_cam_survey survey;
  struct lb_error error;
  enum lb_status status = lb_cam_survey(&survey, cam, workspace, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return survey;
}

static bool sound(const struct lb_cam_design *cam) {
  struct lb_cam_survey survey = surveyed(cam);
  return survey.curvature_radius >= cam->roller_radius &&
         survey.tangent_distance > cam->roller_radius;
}

/* The lift written out once more, without the library. */
static double lift_by_hand(const struct lb_cam_design *cam, double angle) {
  double turned = angle - cam->opens - turn * floor((angle - cam->opens) / turn);
  double open = cam->closes - cam->opens;
  double u = fmin(fmin(turned, open - turned) / cam->ramp, 1);
  if (!(u > 0))
    return 0;
  double share = cam->law == LB_CAM_CYCLOIDAL ? u - sin(turn * u) / turn
                                              : 10 * pow(u, 3) - 15 * pow(u, 4) + 6 * pow(u, 5);
  return cam->lift * share;
}

static double pitch_by_hand(const struct lb_cam_design *cam, double angle) {
  return cam->base_radius + cam->roller_radius + lift_by_hand(cam, angle);
}

/* Distance from the centre, along a ray, at which a roller standing at `angle` is first met;
 * infinite when it is missed. */
static double first_met(const struct lb_cam_design *cam, double ray, double angle) {
  double r = pitch_by_hand(cam, angle), aside = r * sin(angle - ray);
  double inside = cam->roller_radius * cam->roller_radius - aside * aside;
  return inside < 0 ? (double)INFINITY : r * cos(angle - ray) - sqrt(inside);
}

/* What all the roller's circles leave of a ray: the least of first_met, by brute force and golden
 * section. */
static double left_standing(const struct lb_cam_design *cam, double ray) {
  const int steps = 1500;
  const double golden = (sqrt(5) - 1) / 2;
  double side = asin(cam->roller_radius / (cam->base_radius + cam->roller_radius));
  double best = ray, least = first_met(cam, ray, ray), step = side / steps;
  for (int i = -steps; i <= steps; i++)
    if (first_met(cam, ray, ray + i * step) < least) {
      best = ray + i * step;
      least = first_met(cam, ray, best);
    }
  double low = best - step, high = best + step;
  while (high - low > 1e-10) {
    double inner = high - golden * (high - low), outer = low + golden * (high - low);
    *(first_met(cam, ray, inner) < first_met(cam, ray, outer) ? &high : &low) =
        first_met(cam, ray, inner) < first_met(cam, ray, outer) ? outer : inner;
  }
  return first_met(cam, ray, (low + high) / 2);
}

START_TEST(laws_rise_from_rest_to_rest) {
  for (int law = 0; law < 2; law++) {
    struct lb_cam_motion foot = lb_cam_law_motion((enum lb_cam_law)law, 0);
    struct lb_cam_motion head = lb_cam_law_motion((enum lb_cam_law)law, 1);
    ck_close(foot.lift, 0, 0);
    ck_close(head.lift, 1, EXACT);
    ck_close(foot.velocity, 0, EXACT);
    ck_close(head.velocity, 0, EXACT);
    ck_close(foot.acceleration, 0, EXACT);
    ck_close(head.acceleration, 0, EXACT);
    ck_close(lb_cam_law_motion((enum lb_cam_law)law, 0.5).lift, 0.5, EXACT);
  }
}
END_TEST

START_TEST(laws_are_symmetric_and_their_derivatives_are_differences) {
  const double step = 1e-5; /* errs by step^2 times the third derivative, at most 60 and 250 */
  for (int i = 1; i < 400; i++) {
    enum lb_cam_law law = i % 2 ? LB_CAM_CYCLOIDAL : LB_CAM_POLYNOMIAL;
    double u = i / 400.0;
    struct lb_cam_motion m = lb_cam_law_motion(law, u), mirrored = lb_cam_law_motion(law, 1 - u);
    struct lb_cam_motion before = lb_cam_law_motion(law, u - step);
    struct lb_cam_motion after = lb_cam_law_motion(law, u + step);
    ck_close(m.lift + mirrored.lift, 1, EXACT);
    ck_close(m.velocity, mirrored.velocity, 4 * EXACT);
    ck_close(m.acceleration, -mirrored.acceleration, 16 * EXACT);
    ck_close((after.lift - before.lift) / (2 * step), m.velocity, 1e-8);
    ck_close((after.velocity - before.velocity) / (2 * step), m.acceleration, 1e-7);
  }
}
END_TEST

START_TEST(a_law_outside_its_flank_is_nothing) {
  const double outside[] = {-1e-9, 1 + 1e-9, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
    struct lb_cam_motion m = lb_cam_law_motion(LB_CAM_CYCLOIDAL, outside[i]);
    ck_assert(isnan(m.lift) && isnan(m.velocity) && isnan(m.acceleration));
    m = lb_cam_law_motion(LB_CAM_POLYNOMIAL, outside[i]);
    ck_assert(isnan(m.lift) && isnan(m.velocity) && isnan(m.acceleration));
  }
}
END_TEST

START_TEST(motion_over_a_turn) {
  uint64_t state = 1;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double angle = support_between(&state, -10, 20), step = 1e-6 * cam.ramp;
    struct lb_cam_motion m = lb_cam_motion(&cam, angle);
    struct lb_cam_motion before = lb_cam_motion(&cam, angle - step);
    struct lb_cam_motion after = lb_cam_motion(&cam, angle + step);
    double speed = cam.lift / cam.ramp;
    ck_close(m.lift, lift_by_hand(&cam, angle), 1e-13 * cam.lift / cam.ramp);
    ck_close((after.lift - before.lift) / (2 * step), m.velocity, 1e-8 * speed);
    ck_close((after.velocity - before.velocity) / (2 * step), m.acceleration,
             1e-4 * speed / cam.ramp); /* the jerk jumps where a flank begins and ends */
    ck_close(lb_cam_pitch_radius(&cam, angle), pitch_by_hand(&cam, angle), 1e-13 * speed + 1e-16);
  }
}
END_TEST

START_TEST(events_are_where_the_valve_lifts) {
  const struct lb_cam_design cam = {.base_radius = 0.02,
                                    .lift = 0.004,
                                    .roller_radius = 0.006,
                                    .opens = -10 * degree,
                                    .closes = 80 * degree,
                                    .ramp = 30 * degree};
  ck_close(lb_cam_motion(&cam, -10.001 * degree).lift, 0, 0);
  ck_assert(lb_cam_motion(&cam, -9.9 * degree).lift > 0);
  ck_assert(lb_cam_motion(&cam, -9.9 * degree).velocity > 0);
  ck_close(lb_cam_motion(&cam, 5 * degree).lift, 0.002, EXACT);
  ck_close(lb_cam_motion(&cam, 20 * degree).lift, 0.004, EXACT);
  ck_close(lb_cam_motion(&cam, 50 * degree).lift, 0.004, EXACT);
  ck_close(lb_cam_motion(&cam, (65 + 720) * degree).lift, 0.002, 1e-15);
  ck_assert(lb_cam_motion(&cam, 65 * degree).velocity < 0);
  ck_assert(lb_cam_motion(&cam, 79.9 * degree).lift > 0);
  ck_close(lb_cam_motion(&cam, 80.001 * degree).lift, 0, 0);
}
END_TEST

/* The profile's radius at 60 rays against the circles of the roller: 1e-6 mm. */
START_TEST(profile_is_what_the_roller_leaves) {
  uint64_t state = 2;
  int looked_at = 0, times = support_times(60);
  for (int i = 0; looked_at < times; i++) {
    struct lb_cam_design cam = random_design(i, &state);
    ck_assert_int_lt(i, 20 * times);
    if (!sound(&cam))
      continue;
    looked_at++;
    for (int j = 0; j < 60; j++) {
      double radius, on_flank = support_between(&state, -0.1, 1.1) * cam.ramp;
      double ray = j % 2 ? cam.opens + on_flank : cam.closes - on_flank;
      ck_assert_int_eq(lb_cam_profile_radius(&radius, &cam, ray, workspace, NULL), LB_OK);
      ck_close(radius, left_standing(&cam, ray), 1e-6 * millimetre);
    }
  }
}
END_TEST

/* The nearest that any roller comes to a point of the profile [m], over a dense grid. */
static double nearest_roller(const struct lb_cam_design *cam, struct lb_cam_point point) {
  const int steps = 3000;
  double nearest = (double)INFINITY;
  for (int i = 0; i < steps; i++) {
    double angle = turn * i / steps, r = pitch_by_hand(cam, angle);
    nearest = fmin(nearest, hypot(r * cos(angle) - point.radius * cos(point.angle),
                                  r * sin(angle) - point.radius * sin(point.angle)));
  }
  return nearest;
}

/* A point of the profile is touched by its own roller and cut away by no other, unless the survey
 * says that the cam is undercut; then some point is cut away. */
START_TEST(survey_knows_what_is_undercut) {
  uint64_t state = 3;
  int whole = 0, undercut = 0, times = support_times(80);
  for (int i = 0; i < times; i++) {
    struct lb_cam_design cam = random_design(i, &state);
    struct lb_cam_survey survey = surveyed(&cam);
    bool is_undercut = survey.curvature_radius < 0.98 * cam.roller_radius;
    double deepest = 0;
    for (int j = 0; j <= 100; j++) {
      struct lb_cam_point point = lb_cam_profile(&cam, cam.opens + cam.ramp * j / 100);
      deepest = fmax(deepest, cam.roller_radius - nearest_roller(&cam, point));
    }
    if (is_undercut)
      ck_assert_msg(deepest > 1e-6 * cam.roller_radius, "design %d is not cut away", i);
    else if (sound(&cam))
      ck_close(fmax(deepest, 0), 0, 1e-12);
    undercut += is_undercut;
    whole += sound(&cam);
  }
  ck_assert_int_gt(undercut, times / 8);
  ck_assert_int_gt(whole, times / 8);
}
END_TEST

/* Greatest and least against a dense grid over the whole turn. */
START_TEST(survey_finds_the_worst) {
  uint64_t state = 4;
  const int steps = 20000;
  for (int i = 0; i < support_times(100); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    struct lb_cam_survey survey = surveyed(&cam);
    double pressure = 0, curvature = 0;
    for (int j = 0; j < steps; j++) {
      pressure = fmax(pressure, lb_cam_pressure_angle(&cam, turn * j / steps));
      curvature = fmax(curvature, lb_cam_pitch_curvature(&cam, turn * j / steps));
    }
    ck_assert(survey.pressure_angle >= pressure - EXACT);
    ck_close(survey.pressure_angle, pressure, 1e-4);
    ck_assert(1 / survey.curvature_radius >= curvature * (1 - EXACT));
    ck_close_relative(1 / survey.curvature_radius, curvature, 1e-4);
    ck_close(lb_cam_pressure_angle(&cam, cam.opens + survey.pressure_place), survey.pressure_angle,
             IDENTITY);
    ck_close(lb_cam_pressure_angle(&cam, cam.closes - survey.pressure_place),
             -survey.pressure_angle, IDENTITY);
    ck_close_relative(lb_cam_pitch_curvature(&cam, cam.closes - survey.tightest_place),
                      1 / survey.curvature_radius, SOLVER);
  }
}
END_TEST

/* Pressure angle: between the ray to the roller's centre and the line from the contact to it. */
START_TEST(pressure_angle_is_that_of_the_push) {
  uint64_t state = 5;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double angle = cam.opens + support_between(&state, 0, 1) * (cam.closes - cam.opens);
    struct lb_cam_point touched = lb_cam_profile(&cam, angle);
    double r = pitch_by_hand(&cam, angle), aside = touched.angle - angle;
    double push = atan2(-touched.radius * sin(aside), r - touched.radius * cos(aside));
    ck_close(-push, lb_cam_pressure_angle(&cam, angle), 1e-9);
    ck_close_relative(hypot(touched.radius * sin(aside), r - touched.radius * cos(aside)),
                      cam.roller_radius, 1e-10);
  }
}
END_TEST

/* Curvature of the circle through three points [1/m], positive when they turn to the left. */
static double three_points(double x[3], double y[3]) {
  double ax = x[1] - x[0], ay = y[1] - y[0], bx = x[2] - x[1], by = y[2] - y[1];
  return 2 * (ax * by - ay * bx) / (hypot(ax, ay) * hypot(bx, by) * hypot(ax + bx, ay + by));
}

START_TEST(curvature_is_that_of_a_circle_through_three_points) {
  uint64_t state = 6;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double step = 1e-4 * cam.ramp, x[3], y[3];
    double angle = cam.opens + support_between(&state, 0.01, 0.99) * cam.ramp;
    for (int j = 0; j < 3; j++) {
      double there = angle + (j - 1) * step;
      x[j] = pitch_by_hand(&cam, there) * cos(there);
      y[j] = pitch_by_hand(&cam, there) * sin(there);
    }
    double scale = 1 / cam.base_radius + cam.lift / pow(cam.ramp * cam.base_radius, 2);
    ck_close(lb_cam_pitch_curvature(&cam, angle), three_points(x, y), 1e-5 * scale);
  }
}
END_TEST

START_TEST(without_a_roller_the_profile_is_the_pitch_curve) {
  uint64_t state = 7;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double angle = support_between(&state, 0, turn), radius;
    cam.roller_radius = 0;
    struct lb_cam_point point = lb_cam_profile(&cam, angle);
    ck_close(point.angle, angle, 0);
    ck_close(point.radius, lb_cam_pitch_radius(&cam, angle), EXACT * point.radius);
    ck_assert_int_eq(lb_cam_profile_radius(&radius, &cam, angle, workspace, NULL), LB_OK);
    ck_close_relative(radius, point.radius, 1e-11);
  }
}
END_TEST

START_TEST(without_lift_the_profile_is_the_base_circle) {
  uint64_t state = 8;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    cam.lift = 0;
    double angle = support_between(&state, 0, turn), base = cam.base_radius;
    ck_close_relative(lb_cam_profile(&cam, angle).radius, base, EXACT);
    ck_close_relative(lb_cam_pitch_curvature(&cam, angle), 1 / (base + cam.roller_radius), EXACT);
    struct lb_cam_survey survey = surveyed(&cam);
    ck_close(survey.pressure_angle, 0, 0);
    ck_close_relative(survey.tangent_distance, base + cam.roller_radius, EXACT);
  }
}
END_TEST

START_TEST(shut_and_fully_open_the_profile_is_round) {
  uint64_t state = 9;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double shut = cam.closes + support_between(&state, 0, 1) * (cam.opens + turn - cam.closes);
    double open = cam.opens + cam.ramp +
                  support_between(&state, 0, 1) * (cam.closes - cam.opens - 2 * cam.ramp);
    double radius;
    ck_close_relative(lb_cam_profile(&cam, shut).radius, cam.base_radius, 1e-11);
    ck_close(lb_cam_profile(&cam, shut).angle, shut, 1e-11);
    ck_close_relative(lb_cam_profile(&cam, open).radius, cam.base_radius + cam.lift, 1e-11);
    ck_assert_int_eq(lb_cam_profile_radius(&radius, &cam, shut, workspace, NULL), LB_OK);
    ck_close_relative(radius, cam.base_radius, 1e-11);
    ck_assert_int_eq(lb_cam_profile_radius(&radius, &cam, open, workspace, NULL), LB_OK);
    ck_close_relative(radius, cam.base_radius + cam.lift, 1e-11);
  }
}
END_TEST

static bool within_limits(const struct lb_cam_design *cam, double limit) {
  struct lb_cam_survey survey = surveyed(cam);
  return survey.pressure_angle <= limit && sound(cam);
}

/* At the least base radius one limit is just met; from there on all hold, and below not all. */
START_TEST(least_base_radius_is_the_limit) {
  uint64_t state = 10;
  int by_pressure = 0, by_curvature = 0;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    double limit = support_between(&state, 15, 75) * degree, least;
    ck_assert_int_eq(lb_cam_least_base(&least, &cam, limit, workspace, NULL), LB_OK);
    for (double more = 1 + 1e-9; more < 20; more = 1 + (more - 1) * 10) {
      cam.base_radius = fmax(least, millimetre) * more;
      ck_assert_msg(within_limits(&cam, limit), "design %d fails at %g times the least", i, more);
    }
    if (least == 0)
      continue;
    cam.base_radius = least * (1 - 1e-6);
    ck_assert_msg(!within_limits(&cam, limit), "design %d: a smaller base does too", i);
    cam.base_radius = least;
    struct lb_cam_survey survey = surveyed(&cam);
    by_pressure += fabs(survey.pressure_angle - limit) <= 1e-9;
    by_curvature += fabs(survey.curvature_radius / cam.roller_radius - 1) <= 1e-9;
  }
  ck_assert_int_gt(by_pressure, support_least(MANY / 10));
  ck_assert_int_gt(by_curvature, support_least(MANY / 10));
}
END_TEST

/* A flat slow lift about a large circle is bound by nothing. */
START_TEST(any_base_radius_may_do) {
  struct lb_cam_design cam = {.base_radius = 0.02,
                              .lift = 1e-4,
                              .roller_radius = 0.01,
                              .closes = 300 * degree,
                              .ramp = 150 * degree};
  double least = 1;
  ck_assert_int_eq(lb_cam_least_base(&least, &cam, 30 * degree, workspace, NULL), LB_OK);
  ck_close(least, 0, 0);
}
END_TEST

/* The farthest that the profile is from the chords of a flank in so many steps [m]. */
static double worst_chord(const struct lb_cam_design *cam, int steps) {
  const int parts = 10;
  double worst = 0;
  for (int i = 0; i < steps; i++) {
    struct lb_cam_point end[2];
    for (int j = 0; j < 2; j++)
      end[j] = lb_cam_profile(cam, cam->opens + cam->ramp * (i + j) / steps);
    double x = end[0].radius * cos(end[0].angle), y = end[0].radius * sin(end[0].angle);
    double dx = end[1].radius * cos(end[1].angle) - x, dy = end[1].radius * sin(end[1].angle) - y;
    for (int j = 1; j < parts; j++) {
      struct lb_cam_point p =
          lb_cam_profile(cam, cam->opens + cam->ramp * (i + (double)j / parts) / steps);
      double px = p.radius * cos(p.angle) - x, py = p.radius * sin(p.angle) - y;
      worst = fmax(worst, fabs(px * dy - py * dx) / hypot(dx, dy));
    }
  }
  return worst;
}

/* Within the tolerance, and not with half the steps. */
START_TEST(chords_keep_to_their_tolerance) {
  uint64_t state = 11;
  const double tolerance = 0.002 * millimetre;
  for (int i = 0; i < support_times(MANY); i++) {
    struct lb_cam_design cam = random_design(i, &state);
    if (!sound(&cam))
      continue;
    int steps = lb_cam_flank_steps(&cam, tolerance);
    ck_assert_int_gt(steps, 3);
    ck_assert_int_lt(steps, 400);
    double worst = worst_chord(&cam, steps);
    ck_assert_msg(worst <= 1.05 * tolerance, "design %d: %g mm", i, worst * 1e3);
    ck_assert_msg(worst_chord(&cam, (steps + 1) / 2) > tolerance, "design %d: steps too fine", i);
  }
}
END_TEST

START_TEST(flanks_that_overlap_are_refused) {
  struct lb_cam_design cam = {.base_radius = 0.02,
                              .lift = 0.004,
                              .roller_radius = 0.006,
                              .opens = -3 * degree,
                              .closes = 72 * degree,
                              .ramp = 40 * degree};
  struct lb_error error;
  struct lb_cam_survey survey;
  double number = 7;
  ck_assert_int_eq(lb_cam_check(&cam, &error), LB_NO_ANSWER);
  ck_assert_str_eq(error.text,
                   "two flanks of 40 deg do not fit into the 75 deg that the valve is open; a "
                   "ramp of 37.5 deg is the longest that does");
  ck_assert_int_eq(lb_cam_survey(&survey, &cam, workspace, &error), LB_NO_ANSWER);
  ck_assert_int_eq(lb_cam_least_base(&number, &cam, 1, workspace, &error), LB_NO_ANSWER);
  ck_assert_int_eq(lb_cam_profile_radius(&number, &cam, 0, workspace, &error), LB_NO_ANSWER);
  ck_close(number, 7, 0);
  ck_assert_int_eq(lb_cam_flank_steps(&cam, 1e-6), 0);
  ck_assert(isnan(lb_cam_motion(&cam, 0).lift) && isnan(lb_cam_pitch_radius(&cam, 0)));
  ck_assert(isnan(lb_cam_pressure_angle(&cam, 0)) && isnan(lb_cam_pitch_curvature(&cam, 0)));
  ck_assert(isnan(lb_cam_profile(&cam, 0).radius));
  cam.ramp = 37.5 * degree;
  ck_assert_int_eq(lb_cam_check(&cam, &error), LB_OK);
  ck_close(lb_cam_motion(&cam, 34.5 * degree).lift, 0.004, EXACT);
}
END_TEST

/* Flanks that just fit, in degrees that do not come out even in radians. */
START_TEST(flanks_may_touch) {
  for (int tenths = 1; tenths < 1800; tenths++) {
    struct lb_cam_design cam = {.base_radius = 0.02, .lift = 0.004, .roller_radius = 0.006};
    cam.opens = -17.3 * degree;
    cam.closes = (tenths / 5.0 - 17.3) * degree;
    cam.ramp = tenths / 10.0 * degree;
    ck_assert_msg(lb_cam_check(&cam, NULL) == LB_OK, "%g deg", tenths / 10.0);
    ck_close_relative(lb_cam_motion(&cam, (cam.opens + cam.closes) / 2).lift, 0.004, EXACT);
  }
}
END_TEST

START_TEST(sizes_that_are_none_are_refused) {
  const struct lb_cam_design good = {.base_radius = 0.02,
                                     .lift = 0.004,
                                     .roller_radius = 0.006,
                                     .opens = 0,
                                     .closes = 2,
                                     .ramp = 1};
  ck_assert_int_eq(lb_cam_check(&good, NULL), LB_OK);
  struct lb_cam_design bad[9];
  for (int i = 0; i < 9; i++)
    bad[i] = good;
  bad[0].base_radius = 0;
  bad[1].lift = -1e-9;
  bad[2].roller_radius = (double)NAN;
  bad[3].ramp = 0;
  bad[4].closes = 0;
  bad[5].closes = turn;
  bad[6].opens = (double)NAN;
  bad[7].base_radius = (double)INFINITY;
  bad[8].ramp = (double)NAN;
  for (int i = 0; i < 9; i++) {
    struct lb_error error;
    ck_assert_msg(lb_cam_check(&bad[i], &error) == LB_BAD_INPUT, "design %d", i);
    ck_assert(isnan(lb_cam_motion(&bad[i], 1).lift));
    ck_assert_int_eq(lb_cam_flank_steps(&bad[i], 1e-6), 0);
  }
  ck_assert_int_eq(lb_cam_flank_steps(&good, 0), 0);
  const double limits[] = {0, LB_PI / 2, (double)NAN};
  for (int i = 0; i < 3; i++) {
    double least = 7;
    ck_assert_int_eq(lb_cam_least_base(&least, &good, limits[i], workspace, NULL), LB_BAD_INPUT);
    ck_close(least, 7, 0);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("cam");
  TCase *cases = tcase_create("cam");
  tcase_add_checked_fixture(cases, make_workspace, free_workspace);
  tcase_set_timeout(cases, 60);
  tcase_add_test(cases, laws_rise_from_rest_to_rest);
  tcase_add_test(cases, laws_are_symmetric_and_their_derivatives_are_differences);
  tcase_add_test(cases, a_law_outside_its_flank_is_nothing);
  tcase_add_test(cases, motion_over_a_turn);
  tcase_add_test(cases, events_are_where_the_valve_lifts);
  tcase_add_test(cases, profile_is_what_the_roller_leaves);
  tcase_add_test(cases, survey_knows_what_is_undercut);
  tcase_add_test(cases, survey_finds_the_worst);
  tcase_add_test(cases, pressure_angle_is_that_of_the_push);
  tcase_add_test(cases, curvature_is_that_of_a_circle_through_three_points);
  tcase_add_test(cases, without_a_roller_the_profile_is_the_pitch_curve);
  tcase_add_test(cases, without_lift_the_profile_is_the_base_circle);
  tcase_add_test(cases, shut_and_fully_open_the_profile_is_round);
  tcase_add_test(cases, least_base_radius_is_the_limit);
  tcase_add_test(cases, any_base_radius_may_do);
  tcase_add_test(cases, chords_keep_to_their_tolerance);
  tcase_add_test(cases, flanks_that_overlap_are_refused);
  tcase_add_test(cases, flanks_may_touch);
  tcase_add_test(cases, sizes_that_are_none_are_refused);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
