/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The motion laws of cams against printed figures: a table of a cycloidal follower, and the factors
 * of textbooks for peak velocity, acceleration and jerk.
 */
#include "base/constants.h"
#include "physics/cam.h"
#include "support.h"

#include <string.h>

static const double degree = LB_PI / 180;

static bool is(const struct support_row *row, const char *column, const char *text) {
  return strcmp(support_text(row, column), text) == 0;
}

/* Its motion does not depend on base and roller. */
static void homework_row(const struct support_row *row) {
  struct lb_cam_design cam = {.law = LB_CAM_CYCLOIDAL,
                              .base_radius = 0.04,
                              .lift = 0.02,
                              .roller_radius = 0.01,
                              .opens = 240 * degree,
                              .closes = 360 * degree,
                              .ramp = 60 * degree};
  double from = is(row, "flank", "rise") ? 240 : 300;
  struct lb_cam_motion m = lb_cam_motion(&cam, (from + support_number(row, "angle_deg")) * degree);
  ck_close(m.lift * 1e3, support_number(row, "lift_mm"), support_number(row, "lift_tolerance"));
  ck_close(m.velocity * 1e3 * degree, support_number(row, "velocity_mm_deg"),
           support_number(row, "velocity_tolerance"));
  ck_close(m.acceleration * 1e3 * degree * degree, support_number(row, "acceleration_mm_deg2"),
           support_number(row, "acceleration_tolerance"));
}

START_TEST(cycloidal_follower) {
  support_published("cycloidal_follower_homework.csv", homework_row);
}
END_TEST

/* The greatest of |velocity|, |acceleration| or |jerk|, a difference of the acceleration, over a
 * fine grid. */
static double peak(const struct support_row *row, enum lb_cam_law law) {
  const int steps = 20000;
  double greatest = 0, before = 0;
  for (int i = 0; i <= steps; i++) {
    struct lb_cam_motion m = lb_cam_law_motion(law, (double)i / steps);
    double here = m.velocity;
    if (is(row, "quantity", "acceleration"))
      here = m.acceleration;
    else if (is(row, "quantity", "jerk"))
      here = (m.acceleration - before) * (i > 0 ? steps : 0);
    else
      ck_assert_str_eq(support_text(row, "quantity"), "velocity");
    greatest = fmax(greatest, fabs(here));
    before = m.acceleration;
  }
  return greatest;
}

static void factor_row(const struct support_row *row) {
  enum lb_cam_law law = is(row, "law", "cycloidal") ? LB_CAM_CYCLOIDAL : LB_CAM_POLYNOMIAL;
  ck_assert(law == LB_CAM_CYCLOIDAL || is(row, "law", "3-4-5 polynomial"));
  ck_close(peak(row, law), support_number(row, "value"), support_number(row, "tolerance"));
}

START_TEST(peak_factors) {
  support_published("norton_cam_factors.csv", factor_row);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("cam, published");
  TCase *cases = tcase_create("cam, published");
  tcase_add_test(cases, cycloidal_follower);
  tcase_add_test(cases, peak_factors);
  suite_add_tcase(suite, cases);
  return support_run(suite, (Suite *)NULL);
}
