/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Room for labels around a circle, so that none covers another however close what they name lies.
 *
 * A label stands outside a circle or inside it and touches it, in the direction of what it names as
 * long as it has that to itself. Labels that would cover each other are pushed apart along the
 * circumference, alike in both directions and without changing places; where a circle has no room
 * for all, one further off is taken. The leader to a label runs in the ring between the circle and
 * another, where leaders start; there it goes evenly round and up, so that it crosses no label, no
 * other leader, and nothing beyond that ring. The same labels always get the same places. Internal
 * to the sheets.
 */
#ifndef LASTBAR_PAPER_LABEL_H
#define LASTBAR_PAPER_LABEL_H

#include "paper/drawing.h"

#include <stdbool.h>
#include <stddef.h>

enum {
  LB_LABELS_MOST = 16,      /* around one circle */
  LB_LABEL_LEADER_MOST = 64 /* points of a leader */
};

/* A label, and where it is put. Points are [mm] from the centre of the circle. */
struct lb_label {
  double direction;     /* [rad] any: where that what it names lies, seen from the centre */
  double width, height; /* [mm] > 0 */
  double pushed;        /* out: [rad] how far from that direction it stands */
  double radius;        /* out: [mm] of the circle that it touches */
  struct lb_point at;   /* out: its middle */
};

/* Where labels may stand. */
struct lb_label_ring {
  bool inside;   /* within the radius; else beyond it */
  double radius; /* [mm] > 0 that no part of a label passes */
  double spare;  /* [mm] >= 0 how much further off the labels may stand in need */
  double gap;    /* [mm] >= 0 at least left between two labels, above and beside */
};

/* Put labels around a circle.
 * label  in: direction, width, height; out: the rest. label[count]
 * count  0 ... LB_LABELS_MOST
 * Returns false when there is not room for all; they stand as well as may be then. */
bool lb_label_place(struct lb_label *label, size_t count, const struct lb_label_ring *ring);

/* The box of a label [mm] from the centre of the circle. */
struct lb_box lb_label_box(const struct lb_label *label);

/* The point of a label that is closest to a point outside of it. */
struct lb_point lb_label_joint(const struct lb_label *label, struct lb_point from);

/* The leader to a label that was placed.
 * point  out: point[LB_LABEL_LEADER_MOST], from what it names to the label's edge
 * start  [mm] > 0: distance from the centre at which all leaders start
 * Returns the number of points, at least 2. */
size_t lb_label_leader(struct lb_point *point, const struct lb_label *label, double start);

#endif
