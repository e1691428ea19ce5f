/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rectangular diagram: a frame with scales on its sides, and curves, lines, hatched regions and
 * labels in it.
 *
 * Data are mapped to millimetres linearly. What is drawn is cut off at the frame as geometry, so
 * that no shape leaves it. Figures on a scale stand at round steps (1, 2 or 5 times a power of ten)
 * and never closer than they can be read. Labels are collected and put last, where they touch
 * neither each other nor, if there is room, a line; one that cannot stand beside what it names gets
 * a line to it. Internal to the sheets.
 */
#ifndef LASTBAR_PAPER_PLOT_H
#define LASTBAR_PAPER_PLOT_H

#include "paper/drawing.h"

#include <stdbool.h>
#include <stddef.h>

enum lb_plot_side {
  LB_PLOT_BOTTOM,
  LB_PLOT_LEFT,
  LB_PLOT_TOP,
  LB_PLOT_RIGHT,
  LB_PLOT_SIDES
};

/* The scale on a side of the frame. The grid is that of the lower and the left one. */
struct lb_plot_axis {
  const char *title;  /* what it measures and the unit [UTF-8]; NULL: the side has no scale */
  double low, high;   /* [that unit] at the left or lower end of the side, and at the other; low <
                         high */
  double first, last; /* [that unit] figures stand from here to there; both 0: all along */
  double step;        /* [that unit] between figures; 0: a round one that leaves room */
};

/* The data that lie on the sides of the frame, in the units that lb_plot_at takes. */
struct lb_plot_window {
  double left, right; /* left < right */
  double bottom, top; /* bottom < top */
};

/* Points on the page, in a row that grows. Starts as all zeroes; released with lb_plot_path_free.
 * Running out of memory is remembered and told to the drawing that it is drawn in. */
struct lb_plot_path {
  struct lb_point *point; /* point[count] [mm] */
  size_t count, room;
  bool failed; /* memory ran out: the path is not whole */
};

/* A label that waits to be put. */
struct lb_plot_label {
  struct lb_box anchor; /* [mm] what it names: a point, a level or upright line, a rectangle in
                           which it stands if there is room */
  char text[88];        /* [UTF-8] */
};

enum {
  LB_PLOT_LABELS_MOST = 40
};

struct lb_plot {
  struct lb_drawing *drawing; /* borrowed */
  struct lb_box frame;        /* [mm] */
  struct lb_plot_window window;
  size_t first; /* shape of the drawing with which the content of the frame begins */
  struct lb_plot_label label[LB_PLOT_LABELS_MOST];
  size_t labels;
};

/* Begin a diagram: draw the frame, its scales and the grid.
 * plot    out: borrows the drawing until lb_plot_end
 * box     [mm] everything lies in here, at least 60 x 40
 * axis    axis[LB_PLOT_SIDES] */
void lb_plot_begin(struct lb_plot *plot, struct lb_drawing *drawing, struct lb_box box,
                   const struct lb_plot_window *window, const struct lb_plot_axis *axis);

/* Where data lie on the page [mm], in the frame or outside. */
struct lb_point lb_plot_at(const struct lb_plot *plot, double x, double y);

/* Whether a point of the page lies in the frame or on it. */
bool lb_plot_holds(const struct lb_plot *plot, struct lb_point point);

/* Cut a line to the frame. Returns false, and leaves it alone, when nothing of it lies there. */
bool lb_plot_cut(const struct lb_plot *plot, struct lb_point *from, struct lb_point *to);

/* Add a point to a path; add data to it; release it and leave it empty. */
void lb_plot_path_add(struct lb_plot_path *path, struct lb_point point);
void lb_plot_path_add_data(struct lb_plot_path *path, const struct lb_plot *plot, double x,
                           double y);
void lb_plot_path_free(struct lb_plot_path *path);

/* The part of a curve that lies in the frame, as one polyline or several. */
void lb_plot_curve(struct lb_plot *plot, const struct lb_pen *pen, const struct lb_plot_path *path,
                   bool closed);

/* Hatch the part of a polygon that lies in the frame.
 * angle, spacing  [rad], [mm] as in lb_drawing_hatch */
void lb_plot_hatch(struct lb_plot *plot, const struct lb_pen *pen, const struct lb_plot_path *path,
                   double angle, double spacing);

/* A level and an upright line through the frame; nothing where it lies outside. */
void lb_plot_level(struct lb_plot *plot, const struct lb_pen *pen, double y);
void lb_plot_upright(struct lb_plot *plot, const struct lb_pen *pen, double x);

/* A small ring round a point of the page; nothing where it lies outside. */
void lb_plot_mark(struct lb_plot *plot, struct lb_point point);

/* A printf-style label for what lies in a box on the page, to be put by lb_plot_end; labels first
 * asked for have the best places. Of the box the part in the frame counts, or the point of the
 * frame that is nearest. At most LB_PLOT_LABELS_MOST; further ones are left out. */
void lb_plot_label(struct lb_plot *plot, struct lb_box anchor, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* What a label may name: a point of the page; what lies between two corners given as data. */
struct lb_box lb_plot_spot(struct lb_point point);
struct lb_box lb_plot_box(const struct lb_plot *plot, double x_1, double y_1, double x_2,
                          double y_2);

/* Put the labels. Nothing is added to the diagram afterwards. */
void lb_plot_end(struct lb_plot *plot);

/* A row of a key to diagrams: a sample and a line of words.
 * box      [mm] rows are put at its top
 * pen      of the sample
 * angle    [rad] of hatching; NaN: the sample is a line
 * spacing  [mm] of hatching
 * Returns the room left below. */
struct lb_box lb_plot_key(struct lb_drawing *drawing, struct lb_box box, const struct lb_pen *pen,
                          double angle, double spacing, const char *utf8);

/* Height of such a row [mm]. */
extern const double lb_plot_key_height;

#endif
