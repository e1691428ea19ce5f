/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The circular timing diagram: a ring for each worked end, the cap end's outside, with a scale of
 * the crank's degrees between them. Part of the timing sheet.
 *
 * The diagram lies as the crank does: cap-end dead centre up, turning as the machine does seen from
 * the side the chart is mounted on. Both rings are on the crank, so that of the rod end begins at
 * its own dead centre. The labels of the outer ring stand around it, those of an inner ring within
 * it, and no leader crosses a ring or the scale.
 */
#ifndef LASTBAR_PAPER_SHEET_TIMING_RING_H
#define LASTBAR_PAPER_SHEET_TIMING_RING_H

#include "paper/label.h"
#include "paper/sheet.h"

enum {
  LB_RING_PHASES = LB_EVENTS, /* a phase begins at each event and is in its order */
  LB_RING_LINES = 3,          /* of one label */
  LB_RING_SIDES = 2           /* labels outside, labels inside */
};

/* A label of the diagram: lines one below the other, and what they belong to. */
struct lb_ring_label {
  char line[LB_RING_LINES][16]; /* [UTF-8] */
  int lines;
  double start; /* [mm] distance from the diagram's centre at which its leader starts */
};

/* The diagram as it fits its room. */
struct lb_ring {
  double letters;                        /* [mm] size of its letters */
  bool brief;                            /* labels inside are angles alone, to save room */
  struct lb_point centre;                /* [mm] */
  double inner[LB_ENDS], outer[LB_ENDS]; /* [mm] radii of the rings; 0 for an idle end */
  double scale_inner, scale_outer;       /* [mm] radii between which the scale lies */
  double most[LB_RING_SIDES];            /* [mm] radii that labels outside and inside touch */
  struct lb_ring_label text[LB_RING_SIDES][LB_LABELS_MOST]; /* text[side][labels[side]] */
  struct lb_label label[LB_RING_SIDES][LB_LABELS_MOST];     /* the places of these */
  size_t labels[LB_RING_SIDES];
};

/* Make the diagram as large as its room and its labels let it be.
 * ring     out
 * box      [mm] the room
 * letters  [mm]
 * Returns false when the room is too small for all labels to stand apart. */
bool lb_ring_fit(struct lb_ring *ring, const struct lb_sheet *sheet, struct lb_box box,
                 double letters);

void lb_ring_draw(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                  const struct lb_ring *ring);

/* Draw what the hatchings mean. Returns the room left below. */
struct lb_box lb_ring_legend(struct lb_drawing *drawing, struct lb_box box, double letters);

/* The crank angle [rad], not brought into one turn, at which a phase of an end begins; that of
 * LB_RING_PHASES is where the last one ends. */
double lb_ring_crank(const struct lb_sheet *sheet, enum lb_end end, int phase);

#endif
