/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What of a line or an arc lies within a window, for formats that have no windows of their own.
 * Internal to the drawings.
 */
#ifndef LASTBAR_PAPER_DRAWING_CLIP_H
#define LASTBAR_PAPER_DRAWING_CLIP_H

#include "paper/drawing.h"

#include <stdbool.h>

/* Whether a point lies in a window, its edge included. */
bool lb_clip_holds(const struct lb_box *window, struct lb_point p);

/* Cut a straight line to a window. Returns false, and leaves the line alone, when nothing of it
 * lies there. */
bool lb_clip_line(struct lb_point *from, struct lb_point *to, const struct lb_box *window);

/* A piece of an arc, counterclockwise. */
struct lb_arc_piece {
  double from, sweep; /* [rad] */
};

/* The most pieces of an arc: between its ends and the crossings, two with each of four sides. */
enum {
  LB_CLIP_PIECES_MOST = 9
};

/* Cut an arc to a window.
 * piece   out: piece[LB_CLIP_PIECES_MOST], in their order
 * radius  [mm] > 0
 * arc     0 < sweep <= 2 pi
 * Returns the number of pieces, 0 when nothing of it lies there. */
size_t lb_clip_arc(struct lb_arc_piece *piece, struct lb_point centre, double radius,
                   const struct lb_arc_piece *arc, const struct lb_box *window);

#endif
