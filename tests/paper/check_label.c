/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Labels around a circle: where one alone stands, that many never cover each other nor pass the
 * circle however close they are, keep their order, and have leaders that cross nothing.
 */
#include "paper/label.h"

#include "base/constants.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

static const double degree = LB_PI / 180;
static const double gap = 0.5, spare = 12; /* [mm] */

static struct lb_label_ring ring_of(bool inside, double radius, double most_spare) {
  return (struct lb_label_ring){
      .inside = inside, .radius = radius, .spare = most_spare, .gap = gap};
}

/* The distance of a label's closest or farthest point from the centre, found by walking along its
 * edge. */
static double reach(const struct lb_label *label, bool farthest) {
  const int steps = 4000;
  struct lb_box box = lb_label_box(label);
  double found = farthest ? 0 : HUGE_VAL;
  for (int i = 0; i <= steps; i++) {
    double share = (double)i / steps;
    double x = box.left + share * (box.right - box.left);
    double y = box.bottom + share * (box.top - box.bottom);
    const double distance[] = {hypot(x, box.bottom), hypot(x, box.top), hypot(box.left, y),
                               hypot(box.right, y)};
    for (int k = 0; k < 4; k++)
      found = farthest ? fmax(found, distance[k]) : fmin(found, distance[k]);
  }
  return found;
}

/* How far a step along an edge of at most 30 mm can miss its closest point [mm]. */
static const double walked = 1e-4;

START_TEST(alone_it_touches_the_circle_where_it_points) {
  const struct lb_label_ring rings[] = {ring_of(false, 40, 0), ring_of(true, 25, 0)};
  const double close = 2; /* [mm] from the circle at that direction to the label */
  for (int i = 0; i < 2; i++)
    for (int d = -720; d <= 720; d += 7) {
      struct lb_label label = {.direction = d * degree, .width = 17, .height = 6};
      ck_assert(lb_label_place(&label, 1, &rings[i]));
      ck_close(reach(&label, rings[i].inside), rings[i].radius, walked);
      struct lb_point there = {rings[i].radius * cos(d * degree),
                               rings[i].radius * sin(d * degree)};
      struct lb_point joint = lb_label_joint(&label, there);
      ck_close(hypot(joint.x - there.x, joint.y - there.y), 0, close);
      ck_close(label.pushed, 0, 0);
      ck_close(label.radius, rings[i].radius, 0);
    }
}
END_TEST

START_TEST(box_is_about_its_middle) {
  struct lb_label label = {.direction = LB_PI / 2, .width = 10, .height = 4};
  const struct lb_label_ring ring = {.radius = 30};
  ck_assert(lb_label_place(&label, 1, &ring));
  struct lb_box box = lb_label_box(&label);
  ck_close(box.left, -5, EXACT);
  ck_close(box.right, 5, EXACT);
  ck_close(box.bottom, 30, EXACT * 30);
  ck_close(box.top, 34, EXACT * 34);
}
END_TEST

/* Two alike that name the same are pushed as far to one side as to the other. */
START_TEST(pushed_alike) {
  for (int inside = 0; inside < 2; inside++) {
    struct lb_label label[2] = {{.direction = LB_PI / 2, .width = 12, .height = 5},
                                {.direction = LB_PI / 2, .width = 12, .height = 5}};
    const struct lb_label_ring ring = ring_of(inside, 40, 0);
    ck_assert(lb_label_place(label, 2, &ring));
    ck_close(label[0].at.x, -label[1].at.x, IDENTITY * 40);
    ck_close(label[0].at.y, label[1].at.y, IDENTITY * 40);
    double between = fabs(label[0].at.x - label[1].at.x) - 12;
    ck_assert_msg(between >= gap && between < gap + 1, "%.3f mm between them", between);
  }
}
END_TEST

/* Far from each other they do not push. */
START_TEST(apart_they_stay) {
  struct lb_label label[4];
  const struct lb_label_ring ring = ring_of(false, 40, spare);
  for (int i = 0; i < 4; i++)
    label[i] = (struct lb_label){.direction = i * LB_PI / 2, .width = 20, .height = 6};
  ck_assert(lb_label_place(label, 4, &ring));
  for (int i = 0; i < 4; i++)
    ck_close(label[i].pushed, 0, 0);
}
END_TEST

/* A circle too small for all: the next one that has room is taken, or none is. */
START_TEST(further_off_in_need) {
  struct lb_label label[LB_LABELS_MOST];
  for (int i = 0; i < LB_LABELS_MOST; i++)
    label[i] = (struct lb_label){.direction = 0, .width = 12, .height = 6};
  struct lb_label_ring ring = ring_of(false, 6, 40);
  ck_assert(lb_label_place(label, LB_LABELS_MOST, &ring));
  ck_assert_msg(label[0].radius > ring.radius, "%.1f mm", label[0].radius);
  for (int i = 1; i < LB_LABELS_MOST; i++)
    ck_close(label[i].radius, label[0].radius, 0);
  ring.spare = 0;
  ck_assert(!lb_label_place(label, LB_LABELS_MOST, &ring));
  ring = ring_of(true, 12, 3);
  ck_assert(!lb_label_place(label, LB_LABELS_MOST, &ring));
  ck_assert(lb_label_place(label, 0, &ring));
}
END_TEST

/* Labels of random sizes in a cluster, up to ten of them. Returns how many. */
static size_t random_labels(struct lb_label *label, uint64_t *state, bool inside) {
  static const double spread[] = {0, 0.1, 1, 10, 60, 360}; /* [degrees] */
  size_t count = 1 + (size_t)(support_uniform(state) * (inside ? 6 : 10));
  double middle = support_between(state, -360, 360);
  double width = spread[(int)(support_uniform(state) * 6)];
  for (size_t i = 0; i < count; i++) {
    bool letter = support_uniform(state) < 0.3;
    label[i] =
        (struct lb_label){.direction = (middle + support_between(state, 0, 1) * width) * degree,
                          .width = letter ? 2.5 : support_between(state, 6, inside ? 12 : 20),
                          .height = letter ? 2.5 : support_between(state, 5, 9)};
  }
  return count;
}

static void ck_apart(const struct lb_label *label, size_t count, double least) {
  for (size_t i = 0; i < count; i++)
    for (size_t j = 0; j < i; j++) {
      struct lb_box a = lb_label_box(&label[i]), b = lb_label_box(&label[j]);
      double beside = fmax(a.left - b.right, b.left - a.right);
      double above = fmax(a.bottom - b.top, b.bottom - a.top);
      ck_assert_msg(fmax(beside, above) >= least - IDENTITY * 40, "%zu and %zu: %.3f, %.3f mm", i,
                    j, beside, above);
    }
}

/* Going round once, starting from the first of them, the directions asked for and those pushed to
 * come in the same order. */
static void ck_order(const struct lb_label *label, size_t count) {
  for (size_t i = 0; i < count; i++)
    for (size_t j = 0; j < count; j++) {
      double asked = remainder(label[j].direction - label[i].direction, 2 * LB_PI);
      double put = asked + label[j].pushed - label[i].pushed;
      if (asked > IDENTITY)
        ck_assert_msg(put > 0, "%zu was pushed past %zu: %.4f then %.4f", j, i, asked, put);
    }
}

START_TEST(never_cover_each_other) {
  uint64_t state = 3;
  int pushed = 0;
  for (int n = 0; n < support_times(600); n++) {
    struct lb_label label[LB_LABELS_MOST];
    bool inside = n % 2;
    const struct lb_label_ring ring = ring_of(inside, inside ? 26 : 42, inside ? 6 : spare);
    size_t count = random_labels(label, &state, inside);
    ck_assert_msg(lb_label_place(label, count, &ring), "sample %d finds no room", n);
    ck_apart(label, count, gap);
    ck_order(label, count);
    for (size_t i = 0; i < count; i++) {
      double passed =
          inside ? reach(&label[i], true) - ring.radius : ring.radius - reach(&label[i], false);
      ck_assert_msg(passed <= walked, "a label of sample %d passes its circle by %.4f mm", n,
                    passed);
      pushed += label[i].pushed != 0;
    }
  }
  ck_assert_msg(pushed > support_least(1000), "%d labels pushed", pushed);
}
END_TEST

/* Twice the area of a triangle, positive when it runs counterclockwise. */
static double turned(struct lb_point a, struct lb_point b, struct lb_point c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static bool cross(struct lb_point a, struct lb_point b, struct lb_point c, struct lb_point d) {
  return turned(a, b, c) * turned(a, b, d) < -1e-9 && turned(c, d, a) * turned(c, d, b) < -1e-9;
}

/* Whether part of a line lies within a box, by more than a hundredth of a millimetre. */
static bool enters(struct lb_point a, struct lb_point b, struct lb_box box) {
  const int steps = 100;
  const double touch = 0.01;
  for (int i = 0; i <= steps; i++) {
    double x = a.x + (b.x - a.x) * i / steps, y = a.y + (b.y - a.y) * i / steps;
    if (x > box.left + touch && x < box.right - touch && y > box.bottom + touch &&
        y < box.top - touch)
      return true;
  }
  return false;
}

struct leader {
  struct lb_point point[LB_LABEL_LEADER_MOST];
  size_t points;
};

/* One leader against another and the label that this one ends at. */
static void ck_clear(const struct leader *one, const struct leader *other,
                     const struct lb_label *label, int sample) {
  for (size_t i = 0; i + 1 < one->points; i++) {
    ck_assert_msg(!enters(one->point[i], one->point[i + 1], lb_label_box(label)),
                  "a leader of sample %d crosses a label", sample);
    for (size_t j = 0; j + 1 < other->points; j++)
      ck_assert_msg(!cross(one->point[i], one->point[i + 1], other->point[j], other->point[j + 1]),
                    "leaders of sample %d cross", sample);
  }
}

START_TEST(leaders_cross_nothing) {
  uint64_t state = 8;
  const double off = 3; /* [mm] between the circle where leaders start and that of the labels */
  for (int n = 0; n < 300; n++) {
    struct lb_label label[LB_LABELS_MOST];
    struct leader leader[LB_LABELS_MOST];
    bool inside = n % 2;
    const struct lb_label_ring ring = ring_of(inside, inside ? 26 : 42, inside ? 6 : spare);
    double start = ring.radius + (inside ? off : -off);
    size_t count = random_labels(label, &state, inside);
    ck_assert(lb_label_place(label, count, &ring));
    for (size_t i = 0; i < count; i++) {
      leader[i].points = lb_label_leader(leader[i].point, &label[i], start);
      ck_assert_uint_le(leader[i].points, LB_LABEL_LEADER_MOST);
      ck_close(leader[i].point[0].x, start * cos(label[i].direction), IDENTITY * 45);
      ck_close(leader[i].point[0].y, start * sin(label[i].direction), IDENTITY * 45);
    }
    for (size_t i = 0; i < count; i++)
      for (size_t j = 0; j < count; j++)
        if (i != j)
          ck_clear(&leader[i], &leader[j], &label[j], n);
  }
}
END_TEST

/* A leader ends on the edge of its label. */
START_TEST(leader_ends_at_the_edge) {
  for (int d = 0; d < 360; d += 11) {
    struct lb_label label = {.direction = d * degree, .width = 14, .height = 6};
    const struct lb_label_ring ring = {.radius = 42};
    struct lb_point point[LB_LABEL_LEADER_MOST];
    ck_assert(lb_label_place(&label, 1, &ring));
    size_t points = lb_label_leader(point, &label, 39);
    ck_assert_uint_ge(points, 2);
    struct lb_point end = point[points - 1];
    double beside = fabs(end.x - label.at.x) - 7, above = fabs(end.y - label.at.y) - 3;
    ck_close(fmax(beside, above), 0, IDENTITY * 60);
  }
}
END_TEST

/* The same places whatever order they are named in, as long as none has the same direction. */
START_TEST(order_of_naming_does_not_matter) {
  struct lb_label label[3], other[3];
  const struct lb_label_ring ring = ring_of(false, 40, spare);
  for (int i = 0; i < 3; i++)
    label[i] = other[2 - i] =
        (struct lb_label){.direction = (80 + 3 * i) * degree, .width = 8 + 3 * i, .height = 6};
  ck_assert(lb_label_place(label, 3, &ring));
  ck_assert(lb_label_place(other, 3, &ring));
  for (int i = 0; i < 3; i++) {
    ck_close(label[i].at.x, other[2 - i].at.x, 0);
    ck_close(label[i].at.y, other[2 - i].at.y, 0);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/label");
  TCase *one = tcase_create("few"), *many = tcase_create("many");
  tcase_add_test(one, alone_it_touches_the_circle_where_it_points);
  tcase_add_test(one, box_is_about_its_middle);
  tcase_add_test(one, pushed_alike);
  tcase_add_test(one, apart_they_stay);
  tcase_add_test(one, further_off_in_need);
  tcase_add_test(one, leader_ends_at_the_edge);
  tcase_add_test(one, order_of_naming_does_not_matter);
  tcase_add_test(many, never_cover_each_other);
  tcase_add_test(many, leaders_cross_nothing);
  suite_add_tcase(suite, one);
  suite_add_tcase(suite, many);
  return support_run(suite, NULL);
}
