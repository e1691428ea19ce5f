/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Parallel lines cut to a region: the geometry of hatching.
 *
 * Line number k lies at the distance k * spacing to the left of the line through the origin in the
 * direction of the hatching. Where it runs through the region is found from its crossings with the
 * region's edge, taken in order. Internal to the drawings.
 */
#ifndef LASTBAR_PAPER_DRAWING_HATCH_H
#define LASTBAR_PAPER_DRAWING_HATCH_H

#include "paper/drawing.h"

struct lb_hatching {
  double angle;                                                         /* [rad] */
  double spacing;                                                       /* [mm] > 0 */
  void (*put)(void *context, struct lb_point from, struct lb_point to); /* takes one line */
  void *context;
};

/* The highest number of a line; hatching finer than this, or of no finite place, is refused. */
enum {
  LB_HATCH_LINES_MOST = 100000
};

/* Hatch a polygon that may be concave or cross itself (even-odd rule).
 * point  point[count], count >= 1
 * Fails with LB_NO_MEMORY, or LB_NUMERIC (too many lines). */
enum lb_status lb_hatch_polygon(const struct lb_hatching *hatching, const struct lb_point *point,
                                size_t count);

/* A piece of a ring. */
struct lb_ring_piece {
  struct lb_point centre;
  double inner, outer; /* [mm] 0 <= inner < outer */
  double from, sweep;  /* [rad] 0 < sweep <= 2 pi */
};

/* Hatch a piece of a ring up to its true arcs. Fails with LB_NUMERIC (too many lines). */
enum lb_status lb_hatch_ring_piece(const struct lb_hatching *hatching,
                                   const struct lb_ring_piece *piece);

#endif
