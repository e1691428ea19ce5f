/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of diagrams: reading a diagram back from its shapes, as a person would with a rule:
 * the frame, and from the ticks and their figures what a millimetre means.
 */
#ifndef LASTBAR_TESTS_PLOT_PROBE_H
#define LASTBAR_TESTS_PLOT_PROBE_H

#include "paper/plot.h"

#include <stdbool.h>
#include <stddef.h>

/* A scale as its figures give it. */
struct probe_scale {
  int figures; /* how many there are; without any there is nothing else */
  double low;  /* [its unit] at the left or lower end of the side */
  double unit; /* [its unit per mm] */
  double step; /* [its unit] from figure to figure */
};

struct plot_probe {
  const struct lb_drawing *drawing;
  size_t page, frame_shape; /* index of the shape that is the frame */
  struct lb_box frame;
  struct probe_scale scale[LB_PLOT_SIDES];
};

/* How many diagrams a page has. */
int plot_probe_count(const struct lb_drawing *drawing, size_t page);

/* The nth diagram of a page, counted from 0; the test fails when there is none, when the figures of
 * a scale are not evenly spaced or do not stand where their own values belong. */
struct plot_probe plot_probe_find(const struct lb_drawing *drawing, size_t page, int nth);

/* What a point of the page means on the scales of two sides, x and y. */
struct lb_point plot_probe_data(const struct plot_probe *probe, struct lb_point p,
                                enum lb_plot_side x, enum lb_plot_side y);

/* The next shape in the frame, after the frame itself or after another such shape, that is of a
 * kind and drawn in a pen of this width and dash [mm]; NULL when there is none.
 * after  in and out: index of a shape; 0 to begin with */
const struct lb_shape *plot_probe_next(const struct plot_probe *probe, size_t *after,
                                       enum lb_shape_kind kind, double width, double dash);

/* Whether a point lies in the frame, give or take a rounding. */
bool plot_probe_inside(const struct plot_probe *probe, struct lb_point p);

/* Length of all lines in the frame that are drawn in the finest pen at this angle [rad], and of the
 * longest of them: hatching. */
double plot_probe_hatching(const struct plot_probe *probe, double angle, double *longest);

/* Fail unless a curve passes through a point of the page, within a distance [mm]. */
void plot_probe_passes(const struct plot_probe *probe, const struct lb_shape *curve,
                       struct lb_point p, double distance);

/* Distance from a point of the page to the nearest of the curves in this pen [mm]. */
double plot_probe_distance(const struct plot_probe *probe, struct lb_point p, double width,
                           double dash);

#endif
