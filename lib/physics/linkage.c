/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The three linkages. Invariant: travel(angle_at(x)) = x to 1e-12 of the stroke on both strokes.
 */
#include "physics/linkage.h"

#include "base/constants.h"

#include <math.h>

/* Connecting rod: the crank centre is the origin, the piston line runs parallel to the x axis at
 * height e; the pin is at (r cos phi, r sin phi), the piston end of the rod at (u, e).
 */

/* Sine and cosine of phi at an end's dead centre, where rod and crank are in one line: the crank
 * points to the piston at the cap end and away from it at the rod end. */
static void rod_dead_centre(const struct lb_linkage *k, enum lb_end end, double *sine,
                            double *cosine) {
  double reach = k->length - k->crank_radius;
  *sine = end == LB_CAP_END ? k->start_sine : -k->offset / reach;
  *cosine = end == LB_CAP_END ? k->start_cosine : -k->near_reach / reach;
}

/* Distance from an end's dead centre, phi = start + angle there. With h = angle/2, m = start + h,
 * the rod's rise s = r sin phi - e and s0 at the start, and the sum R of the roots
 * sqrt(L^2 - s^2), sqrt(L^2 - s0^2), the difference of u = r cos phi + sqrt(L^2 - s^2) becomes
 *   4 r sin^2 h [L +- r cos m (cos m - sin m (s + s0)/R)]/R,
 * + for the cap end: nothing cancels as the angle goes to 0. */
static double rod_distance(const struct lb_linkage *k, enum lb_end end, double angle) {
  double start_sine, start_cosine, side = end == LB_CAP_END ? 1 : -1;
  rod_dead_centre(k, end, &start_sine, &start_cosine);
  double half_sine = sin(angle / 2), half_cosine = cos(angle / 2);
  double middle_sine = start_sine * half_cosine + start_cosine * half_sine;
  double middle_cosine = start_cosine * half_cosine - start_sine * half_sine;
  double r = k->crank_radius, l = k->length;
  double rise_start = -side * l * start_sine;
  double rise = rise_start + 2 * r * half_sine * middle_cosine;
  double roots = side * l * start_cosine + sqrt(l * l - rise * rise);
  double turned = middle_cosine - middle_sine * (rise + rise_start) / roots;
  return 4 * r * half_sine * half_sine * (l + side * r * middle_cosine * turned) / roots;
}

static double rod_slope(const struct lb_linkage *k, double angle) {
  double sine = sin(angle), cosine = cos(angle);
  double phi_sine = k->start_sine * cosine + k->start_cosine * sine;
  double phi_cosine = k->start_cosine * cosine - k->start_sine * sine;
  double r = k->crank_radius, rise = r * phi_sine - k->offset;
  return r * phi_sine + r * phi_cosine * rise / sqrt(k->length * k->length - rise * rise);
}

/* Triangle with sides r, L and the distance d from crank centre to (u, e): the angle psi between
 * crank and d, from 1 -+ cos psi. With x the travel and y = S - x both factors that vanish at a
 * dead centre are formed from x and y: (L+r)^2 - d^2 = x (2 u0 - x), d^2 - (L-r)^2 = y (2 u1 + y).
 */
static double rod_opening(const struct lb_linkage *k, double x) {
  double r = k->crank_radius, l = k->length, y = k->stroke - x;
  double u = k->far_reach - x;
  double d = hypot(u, k->offset);
  double near_cap = x * (2 * k->far_reach - x) / (l + r + d) * (l + d - r);
  double near_rod = y * (2 * k->near_reach + y) / (d + l - r) * (d + r + l);
  return 2 * atan2(sqrt(near_cap), sqrt(near_rod));
}

static double rod_angle(const struct lb_linkage *k, double x, int inward) {
  double u = k->far_reach - x, e = k->offset;
  double turned = atan2(e * x, u * k->far_reach + e * e); /* atan(e/u) - atan(e/u0) */
  double opening = rod_opening(k, x);
  return turned + (inward ? 2 * LB_PI - opening : opening);
}

static enum lb_status rod_init(struct lb_linkage *k, struct lb_error *error) {
  double half = k->stroke / 2, l = k->length, e = k->offset;
  double room = l * l - half * half;
  if (!(l > half))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a connecting rod of %.6g mm is too short for a stroke of %.6g mm: the "
                        "crank could not turn; it must be longer than half the stroke",
                        l * 1e3, k->stroke * 1e3);
  /* A crank gives this stroke only if, folded, crank and rod still reach the piston line on the
   * same side: L |e| < L^2 - S^2/4. Then L - r > |e| too. */
  if (!(l * fabs(e) < room))
    return lb_error_set(error, LB_BAD_INPUT,
                        "no crank gives a stroke of %.6g mm with a rod of %.6g mm and an offset of "
                        "%.6g mm; the rod must be longer than %.6g mm",
                        k->stroke * 1e3, l * 1e3, e * 1e3,
                        (fabs(e) + hypot(e, k->stroke)) / 2 * 1e3);
  double r = half * sqrt(1 - e * e / room);
  k->crank_radius = r;
  k->start_sine = e / (l + r);
  k->start_angle = asin(k->start_sine);
  k->far_reach = sqrt((l + r - e) * (l + r + e));
  k->start_cosine = k->far_reach / (l + r);
  k->near_reach = sqrt((l - r - e) * (l - r + e));
  k->outward = LB_PI + asin(e / (l - r)) - k->start_angle;
  return LB_OK;
}

/* Swinging cylinder: the pivot is at distance D from the crank centre, the pin at distance s from
 * the pivot: s^2 = (D-r)^2 + 4 D r sin^2(angle/2), travel = s - (D - r).
 */

/* From the rod end likewise: (D+r)^2 - s^2 = 4 D r sin^2(angle/2) with the angle from there. */
static double swinging_distance(const struct lb_linkage *k, enum lb_end end, double angle) {
  double r = k->crank_radius, d = k->length, sine = sin(angle / 2);
  double difference = 4 * d * r * sine * sine;
  if (end == LB_CAP_END)
    return difference / (sqrt((d - r) * (d - r) + difference) + d - r);
  return difference / (sqrt((d + r) * (d + r) - difference) + d + r);
}

static double swinging_slope(const struct lb_linkage *k, double angle) {
  double r = k->crank_radius, d = k->length;
  double half_sine = sin(angle / 2), half_cosine = cos(angle / 2);
  double s = sqrt((d - r) * (d - r) + 4 * d * r * half_sine * half_sine);
  return 2 * d * r * half_sine * half_cosine / s;
}

/* sin^2(angle/2) = (s^2 - (D-r)^2)/(4 D r), cos^2 = ((D+r)^2 - s^2)/(4 D r); atan2 needs only their
 * ratio. */
static double swinging_angle(const struct lb_linkage *k, double x, int inward) {
  double r = k->crank_radius, d = k->length, y = k->stroke - x;
  double sine2 = x * (2 * (d - r) + x), cosine2 = y * (2 * (d + r) - y);
  double opening = 2 * atan2(sqrt(sine2), sqrt(cosine2));
  return inward ? 2 * LB_PI - opening : opening;
}

static double yoke_angle(const struct lb_linkage *k, double x, int inward) {
  double opening = 2 * atan2(sqrt(x), sqrt(k->stroke - x));
  return inward ? 2 * LB_PI - opening : opening;
}

enum lb_status lb_linkage_init(struct lb_linkage *linkage, enum lb_linkage_kind kind, double stroke,
                               double length, double offset, struct lb_error *error) {
  if (!(stroke > 0 && isfinite(stroke)))
    return lb_error_set(error, LB_BAD_INPUT, "the stroke must be greater than 0");
  if (kind != LB_YOKE && !(length > 0 && isfinite(length) && isfinite(offset)))
    return lb_error_set(error, LB_BAD_INPUT, "the linkage's length must be greater than 0");
  struct lb_linkage k = {.kind = kind,
                         .stroke = stroke,
                         .length = kind == LB_YOKE ? 0 : length,
                         .offset = kind == LB_CONNECTING_ROD ? offset : 0,
                         .crank_radius = stroke / 2,
                         .outward = LB_PI};
  enum lb_status status = LB_OK;
  if (kind == LB_CONNECTING_ROD)
    status = rod_init(&k, error);
  else if (kind == LB_SWINGING && !(length > k.crank_radius))
    status = lb_error_set(error, LB_BAD_INPUT,
                          "a pivot %.6g mm from the crank centre lies within the crank circle; it "
                          "must be farther than half the stroke (%.6g mm)",
                          length * 1e3, k.crank_radius * 1e3);
  if (status == LB_OK)
    *linkage = k;
  return status;
}

double lb_linkage_travel(const struct lb_linkage *linkage, double angle) {
  return lb_linkage_distance(linkage, LB_CAP_END, angle);
}

double lb_linkage_slope(const struct lb_linkage *linkage, double angle) {
  switch (linkage->kind) {
  case LB_CONNECTING_ROD:
    return rod_slope(linkage, angle);
  case LB_SWINGING:
    return swinging_slope(linkage, angle);
  case LB_YOKE:
    break;
  }
  return linkage->crank_radius * sin(angle);
}

/* From sin and cos of half the angle. With the rise u = r sin(phi) - e and the root
 * q = sqrt(L^2 - u^2): slope = r sin(phi) - q', q' = -u u'/q, q'' = -(u'^2 + u u'' + q'^2)/q. The
 * travel as in rod_distance. */
static struct lb_piston rod_motion(const struct lb_linkage *k, double sine, double cosine) {
  double r = k->crank_radius, l = k->length;
  double turned_sine = 2 * sine * cosine, turned_cosine = 1 - 2 * sine * sine;
  double phi_sine = k->start_sine * turned_cosine + k->start_cosine * turned_sine;
  double phi_cosine = k->start_cosine * turned_cosine - k->start_sine * turned_sine;
  double u = r * phi_sine - k->offset, u1 = r * phi_cosine, u2 = -r * phi_sine;
  double q = sqrt(l * l - u * u), q1 = -u * u1 / q, q2 = -(u1 * u1 + u * u2 + q1 * q1) / q;
  double middle_sine = k->start_sine * cosine + k->start_cosine * sine;
  double middle_cosine = k->start_cosine * cosine - k->start_sine * sine;
  double rise_start = -l * k->start_sine, roots = l * k->start_cosine + q;
  double turned = middle_cosine - middle_sine * (u + rise_start) / roots;
  return (struct lb_piston){4 * r * sine * sine * (l + r * middle_cosine * turned) / roots,
                            r * phi_sine - q1, r * phi_cosine - q2};
}

/* s s' = D r sin(angle), s s'' = D r cos(angle) - s'^2. */
static struct lb_piston swinging_motion(const struct lb_linkage *k, double sine, double cosine) {
  double product = k->crank_radius * k->length, least = k->length - k->crank_radius;
  double difference = 4 * product * sine * sine, s = sqrt(least * least + difference);
  double inverse = 1 / s, slope = 2 * product * sine * cosine * inverse;
  return (struct lb_piston){difference / (s + least), slope,
                            (product * (1 - 2 * sine * sine) - slope * slope) * inverse};
}

struct lb_piston lb_linkage_piston(const struct lb_linkage *linkage, double angle) {
  double sine = sin(angle / 2), cosine = cos(angle / 2), r = linkage->crank_radius;
  switch (linkage->kind) {
  case LB_CONNECTING_ROD:
    return rod_motion(linkage, sine, cosine);
  case LB_SWINGING:
    return swinging_motion(linkage, sine, cosine);
  case LB_YOKE:
    break;
  }
  return (struct lb_piston){2 * r * sine * sine, 2 * r * sine * cosine, r * (1 - 2 * sine * sine)};
}

double lb_linkage_dead_centre(const struct lb_linkage *linkage, enum lb_end end) {
  return end == LB_CAP_END ? 0 : linkage->outward;
}

double lb_linkage_stroke_angle(const struct lb_linkage *linkage, enum lb_end end) {
  return end == LB_CAP_END ? linkage->outward : 2 * LB_PI - linkage->outward;
}

double lb_linkage_distance(const struct lb_linkage *linkage, enum lb_end end, double angle) {
  switch (linkage->kind) {
  case LB_CONNECTING_ROD:
    return rod_distance(linkage, end, angle);
  case LB_SWINGING:
    return swinging_distance(linkage, end, angle);
  case LB_YOKE:
    break;
  }
  double sine = sin(angle / 2);
  return 2 * linkage->crank_radius * sine * sine;
}

double lb_linkage_distance_slope(const struct lb_linkage *linkage, enum lb_end end, double angle) {
  if (end == LB_CAP_END)
    return lb_linkage_slope(linkage, angle);
  return -lb_linkage_slope(linkage, linkage->outward + angle);
}

/* Crank angle of a travel on the outward (0 ... outward) or inward stroke (outward ... 2 pi). */
static double angle_at(const struct lb_linkage *k, double travel, int inward) {
  if (!(travel >= 0 && travel <= k->stroke))
    return (double)NAN;
  switch (k->kind) {
  case LB_CONNECTING_ROD:
    return rod_angle(k, travel, inward);
  case LB_SWINGING:
    return swinging_angle(k, travel, inward);
  case LB_YOKE:
    break;
  }
  return yoke_angle(k, travel, inward);
}

double lb_linkage_angle_away(const struct lb_linkage *linkage, enum lb_end end, double distance) {
  if (end == LB_CAP_END)
    return angle_at(linkage, distance, 0);
  return angle_at(linkage, linkage->stroke - distance, 1) - linkage->outward;
}

double lb_linkage_angle_back(const struct lb_linkage *linkage, enum lb_end end, double distance) {
  if (end == LB_CAP_END)
    return angle_at(linkage, distance, 1);
  return angle_at(linkage, linkage->stroke - distance, 0) + 2 * LB_PI - linkage->outward;
}
