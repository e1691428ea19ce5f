/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Labels around a circle. A point of a label's edge always lies on the ray of its direction: a
 * corner, or close to an axis a point of the side that slides along it, so that nothing jumps. The
 * label is as close to the circle as it can be then; directions are what is pushed.
 */
#include "paper/label.h"

#include "base/constants.h"

#include <math.h>

/* How far two labels in conflict are pushed apart at a time [rad], and how often that is tried: a
 * step is a fifth of a millimetre on the circles of a sheet, and all steps together are several
 * turns. */
static const double push = 0.004;
enum {
  PUSHES = 3000
};

/* How much further off labels are tried when a circle has no room [mm]. */
static const double tier = 1.0;

/* A label while it is pushed about. */
struct moving {
  struct lb_label *label;
  double direction; /* [rad] 0 ... 2 pi as asked for */
};

/* How soon the point of the edge reaches a corner when the direction leaves an axis; slow enough
 * for the label to move the way it is pushed. */
static const double slide_most = 2, slide_share = 0.7;

/* How far the point of the edge is off the middle, as a share [1] of half the label's size, where
 * the direction has a component. */
static double slide(double component, double half_size, double radius) {
  double most = fmin(slide_most, slide_share * radius / half_size);
  return fmin(most * component, 1);
}

/* Distance from the centre of the point of the edge, so that the whole label lies beyond the circle
 * and touches it.
 * u     direction, in the quadrant where both components are positive
 * rest  [mm] how far the label reaches from that point towards the axes */
static double distance_outside(struct lb_point u, struct lb_point rest, double radius) {
  double along = rest.x * u.x + rest.y * u.y;
  double t =
      along + sqrt(fmax(along * along - rest.x * rest.x - rest.y * rest.y + radius * radius, 0));
  if (t * u.x < rest.x)
    return (radius + rest.y) / u.y;
  if (t * u.y < rest.y)
    return (radius + rest.x) / u.x;
  return t;
}

/* Likewise within the circle; 0 when the label is too large for it.
 * rest  [mm] how far it reaches from that point away from the axes */
static double distance_inside(struct lb_point u, struct lb_point rest, double radius) {
  double along = rest.x * u.x + rest.y * u.y;
  double t =
      sqrt(fmax(along * along - rest.x * rest.x - rest.y * rest.y + radius * radius, 0)) - along;
  return fmax(t, 0);
}

static void put(struct moving *m, const struct lb_label_ring *ring, double radius) {
  struct lb_label *label = m->label;
  double direction = m->direction + label->pushed, a = label->width / 2, b = label->height / 2;
  struct lb_point u = {cos(direction), sin(direction)}, quadrant = {fabs(u.x), fabs(u.y)};
  double off_x = a * slide(quadrant.x, a, radius), off_y = b * slide(quadrant.y, b, radius);
  struct lb_point rest = {a - off_x, b - off_y};
  double t = ring->inside ? distance_inside(quadrant, rest, radius)
                          : distance_outside(quadrant, rest, radius);
  double outwards = ring->inside ? -1 : 1;
  label->radius = radius;
  label->at = (struct lb_point){t * u.x + outwards * copysign(off_x, u.x),
                                t * u.y + outwards * copysign(off_y, u.y)};
}

static bool in_conflict(const struct lb_label *one, const struct lb_label *other, double gap) {
  double beside = (one->width + other->width) / 2 + gap;
  double above = (one->height + other->height) / 2 + gap;
  return fabs(one->at.x - other->at.x) < beside && fabs(one->at.y - other->at.y) < above;
}

/* Push two labels apart, `one` being in front of `other` in the order around the circle. */
static void push_apart(struct moving *one, struct moving *other) {
  double between = other->direction + other->label->pushed - one->direction - one->label->pushed;
  double way = between <= LB_PI ? push : -push;
  one->label->pushed -= way;
  other->label->pushed += way;
}

/* Push all that are in conflict once. Returns whether any were. */
static bool push_all(struct moving *m, size_t count, const struct lb_label_ring *ring,
                     double radius) {
  bool any = false;
  for (size_t i = 0; i < count; i++)
    for (size_t j = i + 1; j < count; j++)
      if (in_conflict(m[i].label, m[j].label, ring->gap)) {
        push_apart(&m[i], &m[j]);
        put(&m[i], ring, radius);
        put(&m[j], ring, radius);
        any = true;
      }
  return any;
}

/* Whether all labels find room on one circle. */
static bool place_on(struct moving *m, size_t count, const struct lb_label_ring *ring,
                     double radius) {
  for (size_t i = 0; i < count; i++) {
    m[i].label->pushed = 0;
    put(&m[i], ring, radius);
  }
  for (int i = 0; i < PUSHES; i++)
    if (!push_all(m, count, ring, radius))
      return true;
  return false;
}

/* The labels in the order of their directions; those with the same keep theirs. */
static void sort(struct moving *m, struct lb_label *label, size_t count) {
  const double turn = 2 * LB_PI;
  for (size_t i = 0; i < count; i++) {
    double direction = fmod(label[i].direction, turn);
    struct moving added = {&label[i], direction < 0 ? direction + turn : direction};
    size_t at = i;
    for (; at > 0 && m[at - 1].direction > added.direction; at--)
      m[at] = m[at - 1];
    m[at] = added;
  }
}

bool lb_label_place(struct lb_label *label, size_t count, const struct lb_label_ring *ring) {
  struct moving m[LB_LABELS_MOST];
  int tiers = 1 + (int)(ring->spare / tier);
  bool placed = false;
  sort(m, label, count);
  for (int i = 0; i < tiers && !placed; i++)
    placed = place_on(m, count, ring, ring->radius + (ring->inside ? -i : i) * tier);
  return placed;
}

struct lb_box lb_label_box(const struct lb_label *label) {
  double a = label->width / 2, b = label->height / 2;
  return (struct lb_box){label->at.x - a, label->at.y - b, label->at.x + a, label->at.y + b};
}

struct lb_point lb_label_joint(const struct lb_label *label, struct lb_point from) {
  struct lb_box box = lb_label_box(label);
  return (struct lb_point){fmin(fmax(from.x, box.left), box.right),
                           fmin(fmax(from.y, box.bottom), box.top)};
}

size_t lb_label_leader(struct lb_point *point, const struct lb_label *label, double start) {
  const double step = LB_PI / 60;
  size_t steps = 1 + (size_t)fmin(fabs(label->pushed) / step, LB_LABEL_LEADER_MOST - 3);
  for (size_t i = 0; i <= steps; i++) {
    double share = (double)i / (double)steps;
    double radius = start + share * (label->radius - start);
    double direction = label->direction + share * label->pushed;
    point[i] = (struct lb_point){radius * cos(direction), radius * sin(direction)};
  }
  point[steps + 1] = lb_label_joint(label, point[steps]);
  return steps + 2;
}
