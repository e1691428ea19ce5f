/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Diagrams read back.
 */
#include "plot_probe.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "support.h"

#include <stdlib.h>

static const double rounding = 1e-9;       /* [mm] */
static const double tick_length = 1.2;     /* [mm] */
static const double frame_width = 0.25;    /* [mm] of the pen */
static const double finest = 0.13;         /* [mm] likewise */
static const double least_frame = 25;      /* [mm] in both directions */
static const double same_direction = 1e-6; /* [rad] */

static bool near(double a, double b) {
  return fabs(a - b) <= rounding;
}

static size_t page_end(const struct lb_drawing *drawing, size_t page) {
  return drawing->page[page].first + drawing->page[page].shapes;
}

/* Whether a shape is the frame of a diagram: an upright rectangle, closed. */
static bool is_frame(const struct lb_drawing *drawing, const struct lb_shape *shape,
                     struct lb_box *frame) {
  if (shape->kind != LB_SHAPE_POLYLINE || !shape->closed || shape->count != 4 ||
      shape->pen.width != frame_width || shape->pen.dash != 0)
    return false;
  const struct lb_point *p = &drawing->point[shape->first];
  *frame = (struct lb_box){p[0].x, p[0].y, p[2].x, p[2].y};
  return p[0].y == p[1].y && p[1].x == p[2].x && p[2].y == p[3].y && p[3].x == p[0].x &&
         p[2].x - p[0].x > least_frame && p[2].y - p[0].y > least_frame;
}

int plot_probe_count(const struct lb_drawing *drawing, size_t page) {
  int count = 0;
  struct lb_box frame;
  for (size_t i = drawing->page[page].first; i < page_end(drawing, page); i++)
    count += is_frame(drawing, &drawing->shape[i], &frame);
  return count;
}

/* Whether a shape is a tick on a side of the frame; how far along it stands. */
static bool is_tick(const struct lb_shape *shape, const struct lb_box *f, enum lb_plot_side side,
                    double *along) {
  if (shape->kind != LB_SHAPE_LINE)
    return false;
  struct lb_point a = shape->at, b = shape->to;
  bool level = side == LB_PLOT_LEFT || side == LB_PLOT_RIGHT;
  double outwards = side == LB_PLOT_BOTTOM || side == LB_PLOT_LEFT ? -tick_length : tick_length;
  double edge = side == LB_PLOT_BOTTOM ? f->bottom
                : side == LB_PLOT_TOP  ? f->top
                : side == LB_PLOT_LEFT ? f->left
                                       : f->right;
  *along = level ? a.y - f->bottom : a.x - f->left;
  double most = level ? f->top - f->bottom : f->right - f->left;
  return *along >= -rounding && *along <= most + rounding &&
         (level ? near(a.x, edge) && near(b.x, edge + outwards) && near(a.y, b.y)
                : near(a.y, edge) && near(b.y, edge + outwards) && near(a.x, b.x));
}

/* Read the ticks of a side, each of which is followed by its figure. */
static struct probe_scale read_scale(const struct plot_probe *probe, enum lb_plot_side side) {
  const struct lb_drawing *drawing = probe->drawing;
  struct probe_scale scale = {.figures = 0};
  double first = 0, first_along = 0, last = 0, last_along = 0, along;
  for (size_t i = drawing->page[probe->page].first; i < probe->frame_shape; i++) {
    if (!is_tick(&drawing->shape[i], &probe->frame, side, &along))
      continue;
    double value = strtod(probe_letters(drawing, &drawing->shape[i + 1]), NULL);
    if (scale.figures == 0) {
      first = value;
      first_along = along;
    } else {
      double step = value - last, unit = step / (along - last_along);
      if (scale.figures == 1) {
        scale.step = step;
        scale.unit = unit;
      }
      ck_close_relative(step, scale.step, IDENTITY);
      ck_close_relative(unit, scale.unit, SOLVER);
    }
    last = value;
    last_along = along;
    scale.figures++;
  }
  ck_assert_int_ne(scale.figures, 1); /* one alone does not say what a millimetre means */
  if (scale.figures > 0) {
    scale.unit = (last - first) / (last_along - first_along);
    scale.low = first - first_along * scale.unit;
  }
  return scale;
}

struct plot_probe plot_probe_find(const struct lb_drawing *drawing, size_t page, int nth) {
  struct plot_probe probe = {.drawing = drawing, .page = page};
  for (size_t i = drawing->page[page].first; i < page_end(drawing, page); i++)
    if (is_frame(drawing, &drawing->shape[i], &probe.frame) && nth-- == 0) {
      probe.frame_shape = i;
      break;
    }
  ck_assert_int_lt(nth, 0);
  for (int side = 0; side < LB_PLOT_SIDES; side++)
    probe.scale[side] = read_scale(&probe, (enum lb_plot_side)side);
  return probe;
}

struct lb_point plot_probe_data(const struct plot_probe *probe, struct lb_point p,
                                enum lb_plot_side x, enum lb_plot_side y) {
  const struct probe_scale *across = &probe->scale[x], *up = &probe->scale[y];
  ck_assert(across->figures > 0 && up->figures > 0);
  return (struct lb_point){across->low + across->unit * (p.x - probe->frame.left),
                           up->low + up->unit * (p.y - probe->frame.bottom)};
}

bool plot_probe_inside(const struct plot_probe *probe, struct lb_point p) {
  const struct lb_box *f = &probe->frame;
  return p.x >= f->left - rounding && p.x <= f->right + rounding && p.y >= f->bottom - rounding &&
         p.y <= f->top + rounding;
}

/* Whether all of a shape lies in the frame. */
static bool in_frame(const struct plot_probe *probe, const struct lb_shape *shape) {
  if (shape->kind == LB_SHAPE_LINE)
    return plot_probe_inside(probe, shape->at) && plot_probe_inside(probe, shape->to);
  for (size_t i = 0; i < shape->count && shape->kind != LB_SHAPE_TEXT; i++)
    if (!plot_probe_inside(probe, probe->drawing->point[shape->first + i]))
      return false;
  return shape->count > 0 || plot_probe_inside(probe, shape->at);
}

const struct lb_shape *plot_probe_next(const struct plot_probe *probe, size_t *after,
                                       enum lb_shape_kind kind, double width, double dash) {
  size_t i = *after > probe->frame_shape ? *after + 1 : probe->frame_shape + 1;
  for (; i < page_end(probe->drawing, probe->page); i++) {
    const struct lb_shape *shape = &probe->drawing->shape[i];
    if (shape->kind == kind && shape->pen.width == width && shape->pen.dash == dash &&
        in_frame(probe, shape)) {
      *after = i;
      return shape;
    }
  }
  return NULL;
}

double plot_probe_hatching(const struct plot_probe *probe, double angle, double *longest) {
  double sum = 0;
  const struct lb_shape *line;
  *longest = 0;
  for (size_t at = 0; (line = plot_probe_next(probe, &at, LB_SHAPE_LINE, finest, 0));) {
    double x = line->to.x - line->at.x, y = line->to.y - line->at.y, length = hypot(x, y);
    double direction = remainder(atan2(y, x) - angle, LB_PI);
    if (fabs(direction) > same_direction)
      continue;
    sum += length;
    *longest = fmax(*longest, length);
  }
  return sum;
}

static double distance_to_line(struct lb_point p, struct lb_point a, struct lb_point b) {
  double x = b.x - a.x, y = b.y - a.y, square = x * x + y * y;
  double share = square > 0 ? ((p.x - a.x) * x + (p.y - a.y) * y) / square : 0;
  share = fmin(fmax(share, 0), 1);
  return hypot(p.x - a.x - share * x, p.y - a.y - share * y);
}

static double distance_to_curve(const struct lb_drawing *drawing, const struct lb_shape *curve,
                                struct lb_point p) {
  double nearest = HUGE_VAL;
  size_t lines = curve->count - !curve->closed;
  for (size_t i = 0; i < lines; i++)
    nearest =
        fmin(nearest, distance_to_line(p, drawing->point[curve->first + i],
                                       drawing->point[curve->first + (i + 1) % curve->count]));
  return nearest;
}

void plot_probe_passes(const struct plot_probe *probe, const struct lb_shape *curve,
                       struct lb_point p, double distance) {
  ck_close(distance_to_curve(probe->drawing, curve, p), 0, distance);
}

double plot_probe_distance(const struct plot_probe *probe, struct lb_point p, double width,
                           double dash) {
  double nearest = HUGE_VAL;
  const struct lb_shape *curve;
  for (size_t at = 0; (curve = plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dash));)
    nearest = fmin(nearest, distance_to_curve(probe->drawing, curve, p));
  return nearest;
}
