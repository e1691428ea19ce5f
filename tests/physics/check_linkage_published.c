/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The linkages against worked examples of textbooks: piston motion, rod angle, turning moment, the
 * events of a slide valve (whose eccentric is a Scotch yoke), and a grid of cut-off angles.
 * Accelerations are differences of the library's slope; forces follow from it by statics alone.
 */
#include "base/constants.h"
#include "physics/air.h"
#include "physics/linkage.h"
#include "support.h"

#include <stdbool.h>
#include <string.h>

static const double inch = 0.0254, foot = 0.3048;  /* [m], exact */
static const double pound_force = 4.4482216152605; /* [N], exact */
static const double psi = 6894.757293168361;       /* [Pa], from the two above */
static const double gravity = 9.81;                /* [m/s2], as the examples take it */

static double radians(double degrees) {
  return degrees * LB_PI / 180;
}

static double degrees(double angle) {
  return angle * 180 / LB_PI;
}

static double rad_per_s(double rpm) {
  return rpm * 2 * LB_PI / 60;
}

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

/* A connecting rod without offset; any unit of length. */
static struct lb_linkage crank_and_rod(double crank, double rod) {
  struct lb_linkage linkage;
  ck_assert_int_eq(lb_linkage_init(&linkage, LB_CONNECTING_ROD, 2 * crank, rod, 0, NULL), LB_OK);
  return linkage;
}

/* Second derivative of travel by crank angle [m/rad2]: a central difference of the slope, whose
 * error step^2/6 is far below any printed digit. */
static double curvature(const struct lb_linkage *linkage, double angle) {
  const double step = 1e-4;
  return (lb_linkage_slope(linkage, angle + step) - lb_linkage_slope(linkage, angle - step)) /
         (2 * step);
}

/* Angle between the rod and the piston line [rad]. A piston force turns the crank with the arm
 * slope = r sin(angle + rod angle)/cos(rod angle) = r (sin + cos tan(rod angle)). */
static double rod_angle(const struct lb_linkage *linkage, double angle) {
  double arm = lb_linkage_slope(linkage, angle) / linkage->crank_radius;
  return atan((arm - sin(angle)) / cos(angle));
}

static double rod_angle_slope(const struct lb_linkage *linkage, double angle) {
  const double step = 1e-3;
  return (rod_angle(linkage, angle + step) - rod_angle(linkage, angle - step)) / (2 * step);
}

static double rod_angle_curvature(const struct lb_linkage *linkage, double angle) {
  const double step = 1e-3;
  return (rod_angle(linkage, angle + step) - 2 * rod_angle(linkage, angle) +
          rod_angle(linkage, angle - step)) /
         (step * step);
}

static void meriam_row(const struct support_row *row) {
  struct lb_linkage linkage =
      crank_and_rod(support_number(row, "crank_in") * inch, support_number(row, "rod_in") * inch);
  double angle = radians(support_number(row, "angle_deg"));
  double speed = rad_per_s(support_number(row, "speed_rpm")), actual = 0;
  if (is(row, "quantity", "rod angle"))
    actual = degrees(rod_angle(&linkage, angle));
  else if (is(row, "quantity", "piston speed"))
    actual = speed * lb_linkage_slope(&linkage, angle) / foot;
  else if (is(row, "quantity", "rod angular speed"))
    actual = speed * rod_angle_slope(&linkage, angle);
  else if (is(row, "quantity", "piston acceleration"))
    actual = speed * speed * curvature(&linkage, angle) / foot;
  else if (is(row, "quantity", "rod angular acceleration"))
    actual = -speed * speed * rod_angle_curvature(&linkage, angle);
  else
    ck_abort_msg("%s:%d: unknown quantity", row->file, row->line);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Meriam and Kraige, Engineering Mechanics: Dynamics, sample problems 5/9 and 5/15. */
START_TEST(slider_crank) {
  support_published("meriam_slider_crank.csv", meriam_row);
}
END_TEST

/* The angle on the outward stroke at which the piston is fastest [rad], by halving. */
static double fastest_angle(const struct lb_linkage *linkage) {
  double low = radians(45), high = radians(90);
  for (int i = 0; i < 50; i++) {
    double middle = (low + high) / 2;
    *(curvature(linkage, middle) > 0 ? &low : &high) = middle;
  }
  return low;
}

static void khurmi_motion_row(const struct support_row *row) {
  struct lb_linkage linkage =
      crank_and_rod(support_number(row, "crank_m"), support_number(row, "rod_m"));
  double speed = rad_per_s(support_number(row, "speed_rpm")), actual = 0;
  double angle = is(row, "angle_deg", "") ? 0 : radians(support_number(row, "angle_deg"));
  if (is(row, "quantity", "angle of greatest speed") ||
      is(row, "quantity", "angle of no acceleration"))
    actual = degrees(fastest_angle(&linkage));
  else if (is(row, "quantity", "piston speed"))
    actual = speed * lb_linkage_slope(&linkage, angle);
  else if (is(row, "quantity", "piston acceleration"))
    actual = speed * speed * curvature(&linkage, angle);
  else if (is(row, "quantity", "inertia force"))
    actual = support_number(row, "moving_kg") * speed * speed * curvature(&linkage, angle) / 1e3;
  else
    ck_abort_msg("%s:%d: unknown quantity", row->file, row->line);
  ck_close(actual, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Khurmi and Gupta, Theory of Machines, examples 15.3 to 15.6. */
START_TEST(piston_motion) {
  support_published("khurmi_piston_motion.csv", khurmi_motion_row);
}
END_TEST

static void helm_row(const struct support_row *row) {
  struct lb_linkage linkage =
      crank_and_rod(support_number(row, "crank_mm"), support_number(row, "rod_mm"));
  double angle = radians(support_number(row, "angle_deg"));
  ck_close(curvature(&linkage, angle) / linkage.crank_radius,
           support_number(row, "acceleration_per_w2r_numerator") /
               support_number(row, "acceleration_per_w2r_denominator"),
           support_number(row, "tolerance"));
}

/* HELM workbook 12.2. */
START_TEST(acceleration_at_dead_centre) {
  support_published("helm_crank_acceleration.csv", helm_row);
}
END_TEST

static double circle(double diameter) {
  return LB_PI / 4 * diameter * diameter;
}

static void bevan_row(const struct support_row *row) {
  struct lb_linkage linkage = crank_and_rod(support_number(row, "stroke_in") / 2 * inch,
                                            support_number(row, "rod_in") * inch);
  double bore = circle(support_number(row, "bore_in") * inch);
  double rod = circle(support_number(row, "rod_diameter_in") * inch);
  double force = psi * (support_number(row, "driving_psi_absolute") * bore -
                        support_number(row, "opposing_psi_absolute") * (bore - rod));
  double moment = force * lb_linkage_slope(&linkage, radians(support_number(row, "angle_deg")));
  ck_close(moment / (pound_force * foot), support_number(row, "turning_moment_lb_ft"),
           support_number(row, "tolerance"));
}

/* Bevan, The Theory of Machines, example 12.3. */
START_TEST(turning_moment) {
  support_published("bevan_turning_moment.csv", bevan_row);
}
END_TEST

/* Pressure behind the piston [Pa]: that of the supply up to the cut-off, pV = const after it. */
static double driving_pressure(const struct support_row *row, const struct lb_linkage *linkage,
                               double angle) {
  double supply = support_number(row, "driving_kPa_absolute") * 1e3;
  if (is(row, "cutoff_fraction", ""))
    return supply;
  double cutoff = support_number(row, "cutoff_fraction") * linkage->stroke;
  double travel = lb_linkage_travel(linkage, angle);
  return travel > cutoff ? lb_air_polytropic_pressure(supply, cutoff, travel, 1) : supply;
}

/* Force along the piston line [N]: gas, weight and friction, less inertia. */
static double piston_force(const struct support_row *row, const struct lb_linkage *linkage,
                           double angle) {
  double bore = circle(support_number(row, "bore_mm") / 1e3);
  double rod = circle(support_number(row, "rod_diameter_mm") / 1e3);
  double speed = rad_per_s(support_number(row, "speed_rpm"));
  double mass = support_number(row, "moving_kg");
  return driving_pressure(row, linkage, angle) * bore -
         support_number(row, "opposing_kPa_absolute") * 1e3 * (bore - rod) -
         mass * speed * speed * curvature(linkage, angle) +
         support_number(row, "weight_helps") * mass * gravity - support_number(row, "friction_N");
}

static void khurmi_moment_row(const struct support_row *row) {
  struct lb_linkage linkage =
      crank_and_rod(support_number(row, "crank_mm") / 1e3, support_number(row, "rod_mm") / 1e3);
  double angle = radians(support_number(row, "angle_deg")), rod = rod_angle(&linkage, angle);
  double force = piston_force(row, &linkage, angle), actual = 0;
  double moment = force * lb_linkage_slope(&linkage, angle);
  if (is(row, "quantity", "side force"))
    actual = force * tan(rod);
  else if (is(row, "quantity", "rod force"))
    actual = force / cos(rod);
  else if (is(row, "quantity", "tangential force"))
    actual = moment / linkage.crank_radius;
  else if (is(row, "quantity", "turning moment"))
    actual = moment;
  else if (is(row, "quantity", "bearing force"))
    actual = force * cos(angle + rod) / cos(rod);
  else if (is(row, "quantity", "cylinder pressure"))
    actual = driving_pressure(row, &linkage, angle);
  else
    ck_abort_msg("%s:%d: unknown quantity", row->file, row->line);
  double unit = is(row, "unit", "bar") ? 1e5 : strncmp(support_text(row, "unit"), "k", 1) ? 1 : 1e3;
  ck_close(actual / unit, support_number(row, "value"), support_number(row, "tolerance"));
}

/* Khurmi and Gupta, Theory of Machines, examples 15.7, 15.12 and 15.14. */
START_TEST(turning_moment_with_inertia) {
  support_published("khurmi_turning_moment.csv", khurmi_moment_row);
}
END_TEST

/* The valve moves as a yoke does whose crank leads the engine's by a right angle and the advance;
 * a port edge is passed at a lap beyond the middle of the travel, going and coming. */
static void slide_valve_row(const struct support_row *row) {
  double half_travel = support_number(row, "half_travel_in");
  double steam = half_travel + support_number(row, "steam_lap_in");
  double exhaust = half_travel - support_number(row, "exhaust_lap_in"), eccentric = 0;
  struct lb_linkage valve;
  ck_assert_int_eq(lb_linkage_init(&valve, LB_YOKE, 2 * half_travel, 0, 0, NULL), LB_OK);
  if (is(row, "event", "admission"))
    eccentric = lb_linkage_angle_away(&valve, LB_CAP_END, steam);
  else if (is(row, "event", "cut-off"))
    eccentric = lb_linkage_angle_back(&valve, LB_CAP_END, steam);
  else if (is(row, "event", "release"))
    eccentric = lb_linkage_angle_back(&valve, LB_CAP_END, exhaust);
  else if (is(row, "event", "compression"))
    eccentric = lb_linkage_angle_away(&valve, LB_CAP_END, exhaust) + 2 * LB_PI;
  else
    ck_abort_msg("%s:%d: unknown event", row->file, row->line);
  ck_close(degrees(eccentric) - 90 - support_number(row, "advance_deg"),
           support_number(row, "crank_angle_deg"), support_number(row, "tolerance"));
}

/* Bevan, The Theory of Machines, example 5.1. */
START_TEST(slide_valve) {
  support_published("bevan_slide_valve.csv", slide_valve_row);
}
END_TEST

static void cutoff_angle_row(const struct support_row *row) {
  struct lb_linkage linkage;
  if (is(row, "rod_per_crank", "infinite"))
    ck_assert_int_eq(lb_linkage_init(&linkage, LB_YOKE, 2, 0, 0, NULL), LB_OK);
  else
    linkage = crank_and_rod(1, support_number(row, "rod_per_crank"));
  double distance = support_number(row, "stroke_fraction") * linkage.stroke;
  double tolerance = support_number(row, "tolerance");
  ck_close(degrees(lb_linkage_angle_away(&linkage, LB_CAP_END, distance)),
           support_number(row, "outward_deg"), tolerance);
  ck_close(degrees(lb_linkage_angle_away(&linkage, LB_ROD_END, distance)),
           support_number(row, "inward_deg"), tolerance);
}

/* Exact geometry, worked out apart. */
START_TEST(cutoff_angles) {
  support_published("piston_angle_regression.csv", cutoff_angle_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("linkage, published");
  TCase *cases = tcase_create("linkage, published");
  tcase_add_test(cases, slider_crank);
  tcase_add_test(cases, piston_motion);
  tcase_add_test(cases, acceleration_at_dead_centre);
  tcase_add_test(cases, turning_moment);
  tcase_add_test(cases, turning_moment_with_inertia);
  tcase_add_test(cases, slide_valve);
  tcase_add_test(cases, cutoff_angles);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
