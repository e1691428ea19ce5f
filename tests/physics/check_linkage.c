/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The linkages against their own definition: long-double travel, differences, quadrature, limits,
 * symmetries, the way back from travel to angle, and the refusals.
 */
#include "base/constants.h"
#include "physics/linkage.h"
#include "slow_reference.h"
#include "support.h"

#include <stdbool.h>
#include <string.h>

enum {
  MANY = 600 /* random linkages */
};

static const double turn = 2 * LB_PI;

/* Set up a linkage that must turn. */
static struct lb_linkage made(enum lb_linkage_kind kind, double stroke, double length,
                              double offset) {
  struct lb_linkage k;
  struct lb_error error;
  enum lb_status status = lb_linkage_init(&k, kind, stroke, length, offset, &error);
  ck_assert_msg(status == LB_OK, "%s", status == LB_OK ? "" : error.text);
  return k;
}

/* Of each kind in turn; every other connecting rod has an offset of either sign. */
static struct lb_linkage random_linkage(int i, uint64_t *state) {
  enum lb_linkage_kind kind = (enum lb_linkage_kind)(i % 3);
  double stroke = support_between(state, 0.01, 0.5);
  double length = stroke * support_between(state, 0.55, 5);
  double offset = i % 2 ? 0 : (length - stroke / 2) * support_between(state, -0.9, 0.9);
  return made(kind, stroke, length, kind == LB_CONNECTING_ROD ? offset : 0);
}

START_TEST(travel_and_slope_by_definition) {
  uint64_t state = 1;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    for (int j = 0; j < 20; j++) {
      double angle = support_between(&state, -8, 15);
      ck_close(lb_linkage_travel(&k, angle), (double)reference_travel(&k, (long double)angle),
               EXACT * (k.stroke + k.length));
      ck_close(lb_linkage_slope(&k, angle), (double)reference_slope(&k, (long double)angle),
               EXACT * (k.stroke + k.length) * (1 + fabs(angle)) * 4);
    }
  }
}
END_TEST

/* Travel from 0 to a small angle: the integral of the slope, in which nothing cancels. */
static double small_travel(const struct lb_linkage *k, long double from, double angle) {
  static const long double node[] = {0.0L, 0.538469310105683091036L, 0.906179845938663992798L};
  static const long double weight[] = {0.568888888888888888889L, 0.478628670499366468041L,
                                       0.236926885056189087514L};
  long double half = (long double)angle / 2, sum = weight[0] * reference_slope(k, from + half);
  for (int i = 1; i < 3; i++)
    sum += weight[i] * (reference_slope(k, from + half * (1 + node[i])) +
                        reference_slope(k, from + half * (1 - node[i])));
  return (double)(sum * half);
}

START_TEST(nothing_cancels_near_the_cap_end) {
  uint64_t state = 2;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    double angle = pow(10, support_between(&state, -5, -2)) * (i % 4 < 2 ? 1 : -1);
    ck_close_relative(lb_linkage_travel(&k, angle), small_travel(&k, 0, angle), IDENTITY);
    ck_close_relative(lb_linkage_distance(&k, LB_CAP_END, angle), small_travel(&k, 0, angle),
                      IDENTITY);
  }
}
END_TEST

START_TEST(nothing_cancels_near_the_rod_end) {
  uint64_t state = 3;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    double angle = pow(10, support_between(&state, -5, -2)) * (i % 4 < 2 ? 1 : -1);
    double distance = -small_travel(&k, reference_outward(&k), angle);
    ck_close_relative(lb_linkage_distance(&k, LB_ROD_END, angle), distance, IDENTITY);
    ck_assert(lb_linkage_distance(&k, LB_ROD_END, 0) == 0);
  }
}
END_TEST

START_TEST(dead_centres) {
  uint64_t state = 4;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    double tiny = EXACT * (k.stroke + k.length), s = k.stroke;
    ck_assert(lb_linkage_travel(&k, 0) == 0);
    ck_close(lb_linkage_travel(&k, k.outward), s, tiny);
    ck_close(lb_linkage_slope(&k, 0), 0, tiny);
    ck_close(lb_linkage_slope(&k, k.outward), 0, 4 * tiny);
    ck_close(k.outward, (double)reference_outward(&k), EXACT);
    ck_assert(k.offset == 0 ? k.outward == LB_PI : (k.outward > LB_PI) == (k.offset > 0));
    ck_assert(lb_linkage_dead_centre(&k, LB_CAP_END) == 0);
    ck_assert(lb_linkage_dead_centre(&k, LB_ROD_END) == k.outward);
    ck_assert(lb_linkage_stroke_angle(&k, LB_CAP_END) == k.outward);
    ck_close(lb_linkage_stroke_angle(&k, LB_ROD_END) + k.outward, turn, EXACT);
    for (int j = 0; j < 2; j++) {
      enum lb_end end = j ? LB_ROD_END : LB_CAP_END;
      ck_close(lb_linkage_distance(&k, end, 0), 0, tiny);
      ck_close(lb_linkage_distance(&k, end, lb_linkage_stroke_angle(&k, end)), s, tiny);
    }
  }
}
END_TEST

/* The piston moves away from an end all the way to the other, and back all the way. */
START_TEST(one_stroke_each_way) {
  uint64_t state = 5;
  for (int i = 0; i < 60; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    for (int j = 0; j < 2; j++) {
      enum lb_end end = j ? LB_ROD_END : LB_CAP_END;
      double away = lb_linkage_stroke_angle(&k, end);
      for (int step = 1; step < 100; step++) {
        double out = away * step / 100, back = away + (turn - away) * step / 100;
        ck_assert(lb_linkage_distance_slope(&k, end, out) > 0);
        ck_assert(lb_linkage_distance_slope(&k, end, back) < 0);
      }
    }
  }
}
END_TEST

/* Central differences of distance at h, h/2, h/4 put together: error of the sixth order. */
static double difference(const struct lb_linkage *k, enum lb_end end, double angle) {
  double d[3], h = 0.02;
  for (int i = 0; i < 3; i++, h /= 2)
    d[i] =
        (lb_linkage_distance(k, end, angle + h) - lb_linkage_distance(k, end, angle - h)) / (2 * h);
  double first = (4 * d[1] - d[0]) / 3, second = (4 * d[2] - d[1]) / 3;
  return (16 * second - first) / 15;
}

START_TEST(slope_is_the_derivative) {
  uint64_t state = 6;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    double angle = support_between(&state, -4, 8), lever = k.stroke + k.length;
    bool folded = k.kind != LB_YOKE && k.length < 0.8 * k.stroke; /* bends too sharply */
    for (int j = 0; !folded && j < 2; j++) {
      enum lb_end end = j ? LB_ROD_END : LB_CAP_END;
      ck_close(lb_linkage_distance_slope(&k, end, angle), difference(&k, end, angle), 1e-8 * lever);
    }
  }
}
END_TEST

static void check_inverse(const struct lb_linkage *k, enum lb_end end, double distance) {
  double away = lb_linkage_angle_away(k, end, distance), stroke = k->stroke;
  double back = lb_linkage_angle_back(k, end, distance), far = lb_linkage_stroke_angle(k, end);
  ck_close(lb_linkage_distance(k, end, away), distance, IDENTITY * stroke);
  ck_close(lb_linkage_distance(k, end, back), distance, IDENTITY * stroke);
  ck_assert(away >= -EXACT && away <= far + EXACT);
  ck_assert(back >= far - EXACT && back <= turn + EXACT);
}

START_TEST(piston_at_once) {
  const double step = 1e-4; /* [rad] of a difference of slopes; it errs by its square */
  uint64_t state = 4;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    double size = k.stroke + k.length;
    for (int j = 0; j < 20; j++) {
      double angle = support_between(&state, -8, 15);
      struct lb_piston piston = lb_linkage_piston(&k, angle);
      ck_close(piston.travel, lb_linkage_travel(&k, angle), EXACT * size);
      ck_close(piston.slope, lb_linkage_slope(&k, angle), EXACT * size * (1 + fabs(angle)) * 4);
      double turned = (double)(reference_slope(&k, (long double)(angle + step)) -
                               reference_slope(&k, (long double)(angle - step))) /
                      (2 * step);
      /* the nearer the rod comes to the crank, the faster the curvature changes; a yoke has none */
      double near = k.kind == LB_YOKE ? 1 : 1 - (k.crank_radius + fabs(k.offset)) / k.length;
      ck_close(piston.curvature, turned, 1e-8 * k.stroke / pow(near, 4));
    }
  }
}
END_TEST

START_TEST(inverse) {
  uint64_t state = 8;
  for (int i = 0; i < MANY; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    for (int j = 0; j < 2; j++) {
      enum lb_end end = j ? LB_ROD_END : LB_CAP_END;
      double tiny = pow(10, support_between(&state, -15, -3)) * k.stroke;
      check_inverse(&k, end, 0);
      check_inverse(&k, end, k.stroke);
      check_inverse(&k, end, tiny);
      check_inverse(&k, end, k.stroke - tiny);
      for (int step = 0; step < 10; step++)
        check_inverse(&k, end, k.stroke * support_uniform(&state));
      /* away from dead centres the angle itself comes back */
      double angle = lb_linkage_stroke_angle(&k, end) * support_between(&state, 0.1, 0.9);
      double distance = lb_linkage_distance(&k, end, angle);
      ck_close(lb_linkage_angle_away(&k, end, distance), angle, IDENTITY);
    }
  }
}
END_TEST

START_TEST(no_inverse_outside_the_stroke) {
  uint64_t state = 9;
  for (int i = 0; i < 3; i++) {
    struct lb_linkage k = random_linkage(i, &state);
    const double outside[] = {-1e-12, k.stroke * 1.000001, (double)NAN, (double)INFINITY};
    for (size_t j = 0; j < sizeof outside / sizeof outside[0]; j++)
      for (int end = 0; end < LB_ENDS; end++) {
        ck_assert(isnan(lb_linkage_angle_away(&k, (enum lb_end)end, outside[j])));
        ck_assert(isnan(lb_linkage_angle_back(&k, (enum lb_end)end, outside[j])));
      }
  }
}
END_TEST

/* Greatest difference of travel between a long linkage and the yoke. */
static double from_yoke(enum lb_linkage_kind kind, double length) {
  const double stroke = 0.1;
  struct lb_linkage k = made(kind, stroke, length, 0), yoke = made(LB_YOKE, stroke, 0, 0);
  double most = 0;
  for (double angle = 0; angle < turn; angle += 0.01)
    most = fmax(most, fabs(lb_linkage_travel(&k, angle) - lb_linkage_travel(&yoke, angle)));
  return most;
}

START_TEST(yoke_is_the_limit_of_a_long_linkage) {
  const enum lb_linkage_kind kinds[] = {LB_CONNECTING_ROD, LB_SWINGING};
  for (int i = 0; i < 2; i++)
    for (double length = 4; length < 100; length *= 2) {
      double order = log2(from_yoke(kinds[i], length) / from_yoke(kinds[i], 2 * length));
      ck_close(order, 1, 2e-2);
    }
}
END_TEST

/* An offset to the other side is the same linkage turned the other way. */
START_TEST(mirrored_offset) {
  uint64_t state = 10;
  for (int i = 0; i < MANY; i++) {
    double stroke = support_between(&state, 0.01, 0.5), length = stroke * 1.5;
    double offset = stroke * support_between(&state, 0.01, 0.9);
    double angle = support_between(&state, 0, turn);
    struct lb_linkage k = made(LB_CONNECTING_ROD, stroke, length, offset);
    struct lb_linkage mirrored = made(LB_CONNECTING_ROD, stroke, length, -offset);
    ck_close(lb_linkage_travel(&k, angle), lb_linkage_travel(&mirrored, -angle), EXACT * length);
    ck_close(k.outward + mirrored.outward, turn, EXACT);
  }
}
END_TEST

/* A linkage that must be refused, and what the text begins with. */
struct refusal {
  enum lb_linkage_kind kind;
  double stroke, length, offset;
  const char *text;
};

static const struct refusal refusals[] = {
    {LB_YOKE, 0, 0, 0, "the stroke must be greater than 0"},
    {LB_YOKE, -1, 0, 0, "the stroke must be greater than 0"},
    {LB_YOKE, (double)NAN, 0, 0, "the stroke must be greater than 0"},
    {LB_YOKE, (double)INFINITY, 0, 0, "the stroke must be greater than 0"},
    {LB_SWINGING, 0.1, 0, 0, "the linkage's length must be greater than 0"},
    {LB_SWINGING, 0.1, (double)NAN, 0, "the linkage's length must be greater than 0"},
    {LB_CONNECTING_ROD, 0.1, (double)INFINITY, 0, "the linkage's length must be greater than 0"},
    {LB_CONNECTING_ROD, 0.1, 1, (double)NAN, "the linkage's length must be greater than 0"},
    {LB_CONNECTING_ROD, 0.1, 0.05, 0,
     "a connecting rod of 50 mm is too short for a stroke of 100 mm: the crank could not turn; it "
     "must be longer than half the stroke"},
    {LB_CONNECTING_ROD, 0.1, 0.1, 0.1,
     "no crank gives a stroke of 100 mm with a rod of 100 mm and an offset of 100 mm"},
    {LB_SWINGING, 0.1, 0.05, 0,
     "a pivot 50 mm from the crank centre lies within the crank circle; it must be farther than "
     "half the stroke (50 mm)"},
};

START_TEST(refused) {
  const struct refusal *r = &refusals[_i];
  struct lb_linkage k, before;
  struct lb_error error;
  memset(&k, 0x5a, sizeof k);
  memcpy(&before, &k, sizeof k);
  ck_assert_int_eq(lb_linkage_init(&k, r->kind, r->stroke, r->length, r->offset, &error),
                   LB_BAD_INPUT);
  ck_assert_msg(strncmp(error.text, r->text, strlen(r->text)) == 0, "%s", error.text);
  ck_assert(memcmp(&k, &before, sizeof k) == 0);
}
END_TEST

/* The longest stroke of a rod and an offset [m]: that of the largest crank that still turns. */
static double longest_stroke(double length, double offset) {
  double crank = length - fabs(offset);
  return crank > 0 ? sqrt((length + crank) * (length + crank) - offset * offset) : 0;
}

/* A stroke is accepted if some crank gives it, and then it is reached. */
START_TEST(accepted_if_it_turns) {
  const double stroke = 0.1;
  int accepted = 0, no = 0;
  for (int length = 51; length < 120; length++)
    for (int offset = -100; offset <= 100; offset += 3) {
      struct lb_linkage k;
      double l = length * 1e-3, e = offset * 1e-3;
      bool turns = lb_linkage_init(&k, LB_CONNECTING_ROD, stroke, l, e, NULL) == LB_OK;
      ck_assert(turns == (longest_stroke(l, e) > stroke));
      accepted += turns;
      no += !turns;
      if (turns)
        ck_close(lb_linkage_travel(&k, k.outward), stroke, 1e-10);
    }
  ck_assert_int_gt(accepted, 500);
  ck_assert_int_gt(no, 500);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("linkage");
  TCase *motion = tcase_create("motion");
  tcase_add_test(motion, travel_and_slope_by_definition);
  tcase_add_test(motion, nothing_cancels_near_the_cap_end);
  tcase_add_test(motion, nothing_cancels_near_the_rod_end);
  tcase_add_test(motion, dead_centres);
  tcase_add_test(motion, one_stroke_each_way);
  tcase_add_test(motion, slope_is_the_derivative);
  tcase_add_test(motion, piston_at_once);
  tcase_add_test(motion, inverse);
  tcase_add_test(motion, no_inverse_outside_the_stroke);
  tcase_add_test(motion, yoke_is_the_limit_of_a_long_linkage);
  tcase_add_test(motion, mirrored_offset);
  suite_add_tcase(suite, motion);
  TCase *limits = tcase_create("limits");
  tcase_add_loop_test(limits, refused, 0, sizeof refusals / sizeof refusals[0]);
  tcase_add_test(limits, accepted_if_it_turns);
  suite_add_tcase(suite, limits);
  return support_run(suite, NULL);
}
