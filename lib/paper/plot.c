/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Scales, and cutting to the frame.
 */
#include "paper/plot.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/drawing_clip.h"
#include "paper/drawing_letters.h"
#include "paper/plot_label.h"
#include "paper/sheet.h"
#include "paper/show.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>

/* Around the frame [mm]: length of a tick; free room between tick, figures and title; room that a
 * figure at a corner may stand over. */
static const double tick = 1.2, gap = 1.0, overhang = 6;
/* Free room between neighbouring figures, side by side and one above the other [mm]. */
static const double figure_gap = 3, figure_rise = 3;
/* Rounding that a figure at the end of a scale is allowed, as a share of the step [1]. */
static const double at_the_end = 1e-6;

static const struct lb_pen grid_pen = {.layer = LB_LAYER_MARK, .width = 0.1, .shade = 0.7};
static const double mark_radius = 0.9; /* [mm] */

static const struct lb_lettering figures = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_MIDDLE};

const double lb_plot_key_height = 4.2;

static bool level_side(enum lb_plot_side side) {
  return side == LB_PLOT_BOTTOM || side == LB_PLOT_TOP;
}

/* Where the figures of a scale stand: at k * step, k = first ... last. */
struct steps {
  double step;
  double first, last; /* whole numbers */
  int decimals;
};

static struct lb_shown figure(const struct steps *steps, double k) {
  return lb_show_number(k * steps->step, steps->decimals);
}

static struct steps steps_of(const struct lb_plot_axis *axis, double step) {
  bool all_along = axis->first == 0 && axis->last == 0;
  double from = all_along ? axis->low : axis->first, to = all_along ? axis->high : axis->last;
  double decimals = -floor(log10(step) + at_the_end);
  return (struct steps){.step = step,
                        .first = ceil(from / step - at_the_end),
                        .last = floor(to / step + at_the_end),
                        .decimals = decimals > 0 ? (int)decimals : 0};
}

/* The room that the widest figure takes. */
static double widest_figure(const struct steps *steps) {
  double widest = 0;
  for (double k = steps->first; k <= steps->last; k++)
    widest = fmax(widest, lb_drawing_text_width(&figures, figure(steps, k).text));
  return widest;
}

/* The steps of a scale on a side of some length [mm]: the finest round ones whose figures have
 * room. */
static struct steps fitting_steps(const struct lb_plot_axis *axis, double length, bool level) {
  static const double mantissa[] = {1, 2, 5};
  enum {
    MANTISSAS = sizeof mantissa / sizeof mantissa[0]
  };
  if (axis->step > 0)
    return steps_of(axis, axis->step);
  double unit = length / (axis->high - axis->low); /* [mm] */
  double least = (LB_LETTERS_SMALL + figure_rise) / unit, decade = floor(log10(least));
  for (int i = 0;; i++) {
    double step = mantissa[i % MANTISSAS] * pow(10, decade + floor(i / (double)MANTISSAS));
    if (step < least * (1 - at_the_end))
      continue;
    struct steps steps = steps_of(axis, step);
    bool none = steps.last <= steps.first;
    if (none || !level || widest_figure(&steps) + figure_gap <= step * unit)
      return steps;
  }
}

/* Room that a scale takes outside the frame, along its figures' own direction [mm]. */
static double scale_room(const struct lb_plot_axis *axis, enum lb_plot_side side, double height) {
  if (!axis->title)
    return level_side(side) ? figures.size : overhang;
  if (level_side(side))
    return tick + gap + figures.size + gap + figures.size + gap / 2;
  struct steps steps = fitting_steps(axis, height, false);
  return fmax(overhang, tick + gap + widest_figure(&steps) + gap + figures.size + gap / 2);
}

static struct lb_box frame_within(struct lb_box box, const struct lb_plot_axis *axis) {
  box.bottom += scale_room(&axis[LB_PLOT_BOTTOM], LB_PLOT_BOTTOM, 0);
  box.top -= scale_room(&axis[LB_PLOT_TOP], LB_PLOT_TOP, 0);
  double height = box.top - box.bottom;
  box.left += scale_room(&axis[LB_PLOT_LEFT], LB_PLOT_LEFT, height);
  box.right -= scale_room(&axis[LB_PLOT_RIGHT], LB_PLOT_RIGHT, height);
  return box;
}

/* A point beside the frame: some way along a side, and so far outside it [mm]. */
static struct lb_point beside(const struct lb_box *frame, enum lb_plot_side side, double along,
                              double outside) {
  switch (side) {
  case LB_PLOT_BOTTOM:
    return (struct lb_point){frame->left + along, frame->bottom - outside};
  case LB_PLOT_TOP:
    return (struct lb_point){frame->left + along, frame->top + outside};
  case LB_PLOT_LEFT:
    return (struct lb_point){frame->left - outside, frame->bottom + along};
  default: /* LB_PLOT_RIGHT */
    return (struct lb_point){frame->right + outside, frame->bottom + along};
  }
}

/* A tick with its figure; figures of upright scales end, or begin, at the ticks. */
static void draw_figure(struct lb_drawing *drawing, const struct lb_box *frame,
                        enum lb_plot_side side, double along, const char *text) {
  struct lb_lettering lettering = figures;
  double outside = tick + gap + (level_side(side) ? figures.size / 2 : 0);
  struct lb_point at = beside(frame, side, along, outside);
  if (!level_side(side)) {
    lettering.align = side == LB_PLOT_LEFT ? LB_ALIGN_RIGHT : LB_ALIGN_LEFT;
    at.y -= LB_LETTER_CAPITAL / 2 * figures.size;
  }
  lb_drawing_line(drawing, &lb_pen_fine, beside(frame, side, along, 0),
                  beside(frame, side, along, tick));
  lb_drawing_text(drawing, &lettering, at, text);
}

static void draw_title(struct lb_drawing *drawing, const struct lb_box *frame,
                       enum lb_plot_side side, double figures_room, const char *title) {
  struct lb_lettering lettering = figures;
  double length = level_side(side) ? frame->right - frame->left : frame->top - frame->bottom;
  lettering.turn = level_side(side) ? 0 : LB_PI / 2;
  double outside = tick + gap + figures_room + gap + figures.size / 2;
  lb_drawing_text(drawing, &lettering, beside(frame, side, length / 2, outside), title);
}

static void draw_scale(struct lb_drawing *drawing, const struct lb_box *frame,
                       enum lb_plot_side side, const struct lb_plot_axis *axis) {
  bool level = level_side(side), grid = side == LB_PLOT_BOTTOM || side == LB_PLOT_LEFT;
  double length = level ? frame->right - frame->left : frame->top - frame->bottom;
  double across = level ? frame->top - frame->bottom : frame->right - frame->left;
  struct steps steps = fitting_steps(axis, length, level);
  for (double k = steps.first; k <= steps.last; k++) {
    double along = length * (k * steps.step - axis->low) / (axis->high - axis->low);
    if (grid)
      lb_drawing_line(drawing, &grid_pen, beside(frame, side, along, 0),
                      beside(frame, side, along, -across));
    draw_figure(drawing, frame, side, along, figure(&steps, k).text);
  }
  draw_title(drawing, frame, side, level ? figures.size : widest_figure(&steps), axis->title);
}

/* The corners of a box, counterclockwise. */
static void corners_of(struct lb_point *corner, const struct lb_box *box) {
  corner[0] = (struct lb_point){box->left, box->bottom};
  corner[1] = (struct lb_point){box->right, box->bottom};
  corner[2] = (struct lb_point){box->right, box->top};
  corner[3] = (struct lb_point){box->left, box->top};
}

void lb_plot_begin(struct lb_plot *plot, struct lb_drawing *drawing, struct lb_box box,
                   const struct lb_plot_window *window, const struct lb_plot_axis *axis) {
  struct lb_box frame = frame_within(box, axis);
  struct lb_point corner[4];
  corners_of(corner, &frame);
  for (int i = 0; i < LB_PLOT_SIDES; i++)
    if (axis[i].title)
      draw_scale(drawing, &frame, (enum lb_plot_side)i, &axis[i]);
  lb_drawing_polyline(drawing, &lb_pen_normal, corner, 4, true);
  plot->drawing = drawing;
  plot->frame = frame;
  plot->window = *window;
  plot->first = drawing->shapes;
  plot->labels = 0;
}

struct lb_point lb_plot_at(const struct lb_plot *plot, double x, double y) {
  const struct lb_box *f = &plot->frame;
  const struct lb_plot_window *w = &plot->window;
  return (struct lb_point){f->left + (f->right - f->left) * (x - w->left) / (w->right - w->left),
                           f->bottom +
                               (f->top - f->bottom) * (y - w->bottom) / (w->top - w->bottom)};
}

bool lb_plot_holds(const struct lb_plot *plot, struct lb_point point) {
  return lb_clip_holds(&plot->frame, point);
}

bool lb_plot_cut(const struct lb_plot *plot, struct lb_point *from, struct lb_point *to) {
  return lb_clip_line(from, to, &plot->frame);
}

void lb_plot_path_add(struct lb_plot_path *path, struct lb_point point) {
  enum {
    FIRST_ROOM = 256
  };
  if (path->failed)
    return;
  if (path->count == path->room) {
    size_t room = path->room ? 2 * path->room : FIRST_ROOM;
    struct lb_point *grown = realloc(path->point, room * sizeof *grown);
    path->failed = !grown;
    if (!grown)
      return;
    path->point = grown;
    path->room = room;
  }
  path->point[path->count++] = point;
}

void lb_plot_path_add_data(struct lb_plot_path *path, const struct lb_plot *plot, double x,
                           double y) {
  lb_plot_path_add(path, lb_plot_at(plot, x, y));
}

void lb_plot_path_free(struct lb_plot_path *path) {
  free(path->point);
  *path = (struct lb_plot_path){0};
}

/* Whether a path is whole; if not, the drawing is told. */
static bool whole(struct lb_plot *plot, const struct lb_plot_path *path) {
  plot->drawing->failed |= path->failed;
  return !path->failed;
}

static struct lb_point between(struct lb_point a, struct lb_point b, double share) {
  return (struct lb_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

static bool same(struct lb_point a, struct lb_point b) {
  return a.x == b.x && a.y == b.y;
}

/* Draw what has been collected of a curve, and begin anew. */
static void flush(struct lb_plot *plot, const struct lb_pen *pen, struct lb_plot_path *run) {
  if (whole(plot, run))
    lb_drawing_polyline(plot->drawing, pen, run->point, run->count, false);
  run->count = 0;
}

/* A curve that leaves the frame, in pieces. */
static void draw_pieces(struct lb_plot *plot, const struct lb_pen *pen,
                        const struct lb_plot_path *path, bool closed) {
  struct lb_plot_path run = {0};
  size_t lines = closed ? path->count : path->count - 1;
  for (size_t i = 0; i < lines; i++) {
    struct lb_point from = path->point[i], to = path->point[(i + 1) % path->count];
    if (!lb_plot_cut(plot, &from, &to))
      continue;
    if (run.count > 0 && !same(run.point[run.count - 1], from))
      flush(plot, pen, &run);
    if (run.count == 0)
      lb_plot_path_add(&run, from);
    lb_plot_path_add(&run, to);
  }
  flush(plot, pen, &run);
  lb_plot_path_free(&run);
}

void lb_plot_curve(struct lb_plot *plot, const struct lb_pen *pen, const struct lb_plot_path *path,
                   bool closed) {
  if (!whole(plot, path) || path->count < 2)
    return;
  bool inside = true, finite = true;
  for (size_t i = 0; i < path->count; i++) {
    inside = inside && lb_plot_holds(plot, path->point[i]);
    finite = finite && isfinite(path->point[i].x) && isfinite(path->point[i].y);
  }
  if (inside || !finite) /* the drawing remembers what is not finite */
    lb_drawing_polyline(plot->drawing, pen, path->point, path->count, closed);
  else
    draw_pieces(plot, pen, path, closed);
}

/* How far inside one side of the frame a point lies; negative outside. */
static double inside_by(const struct lb_box *frame, enum lb_plot_side side, struct lb_point p) {
  switch (side) {
  case LB_PLOT_BOTTOM:
    return p.y - frame->bottom;
  case LB_PLOT_TOP:
    return frame->top - p.y;
  case LB_PLOT_LEFT:
    return p.x - frame->left;
  default: /* LB_PLOT_RIGHT */
    return frame->right - p.x;
  }
}

/* Cut a polygon along one side of the frame. */
static void cut_polygon(struct lb_plot_path *out, const struct lb_plot_path *in,
                        const struct lb_box *frame, enum lb_plot_side side) {
  out->count = 0;
  for (size_t i = 0; i < in->count; i++) {
    struct lb_point here = in->point[i], next = in->point[(i + 1) % in->count];
    double at_here = inside_by(frame, side, here), at_next = inside_by(frame, side, next);
    if (at_here >= 0)
      lb_plot_path_add(out, here);
    if ((at_here < 0 && at_next > 0) || (at_here > 0 && at_next < 0))
      lb_plot_path_add(out, between(here, next, at_here / (at_here - at_next)));
  }
  out->failed |= in->failed;
}

void lb_plot_hatch(struct lb_plot *plot, const struct lb_pen *pen, const struct lb_plot_path *path,
                   double angle, double spacing) {
  struct lb_plot_path work[2] = {{0}, {0}};
  const struct lb_plot_path *left = path;
  for (int i = 0; i < LB_PLOT_SIDES; i++) {
    cut_polygon(&work[i % 2], left, &plot->frame, (enum lb_plot_side)i);
    left = &work[i % 2];
  }
  if (whole(plot, left))
    lb_drawing_hatch(plot->drawing, pen, left->point, left->count, angle, spacing);
  lb_plot_path_free(&work[0]);
  lb_plot_path_free(&work[1]);
}

void lb_plot_level(struct lb_plot *plot, const struct lb_pen *pen, double y) {
  const struct lb_plot_window *w = &plot->window;
  if (y >= w->bottom && y <= w->top)
    lb_drawing_line(plot->drawing, pen, lb_plot_at(plot, w->left, y),
                    lb_plot_at(plot, w->right, y));
}

void lb_plot_upright(struct lb_plot *plot, const struct lb_pen *pen, double x) {
  const struct lb_plot_window *w = &plot->window;
  if (x >= w->left && x <= w->right)
    lb_drawing_line(plot->drawing, pen, lb_plot_at(plot, x, w->bottom),
                    lb_plot_at(plot, x, w->top));
}

void lb_plot_mark(struct lb_plot *plot, struct lb_point point) {
  const struct lb_box *f = &plot->frame;
  if (!lb_plot_holds(plot, point))
    return;
  /* one on the frame moves in by its radius, so as not to leave it */
  point.x = fmin(fmax(point.x, f->left + mark_radius), f->right - mark_radius);
  point.y = fmin(fmax(point.y, f->bottom + mark_radius), f->top - mark_radius);
  lb_drawing_circle(plot->drawing, &lb_pen_normal, point, mark_radius);
}

void lb_plot_label(struct lb_plot *plot, struct lb_box anchor, const char *format, ...) {
  if (plot->labels == LB_PLOT_LABELS_MOST)
    return;
  struct lb_plot_label *label = &plot->label[plot->labels++];
  const struct lb_box *f = &plot->frame;
  label->anchor = (struct lb_box){.left = fmin(fmax(anchor.left, f->left), f->right),
                                  .bottom = fmin(fmax(anchor.bottom, f->bottom), f->top),
                                  .right = fmin(fmax(anchor.right, f->left), f->right),
                                  .top = fmin(fmax(anchor.top, f->bottom), f->top)};
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(label->text, sizeof label->text, format, arguments);
  va_end(arguments);
}

struct lb_box lb_plot_spot(struct lb_point point) {
  return (struct lb_box){point.x, point.y, point.x, point.y};
}

struct lb_box lb_plot_box(const struct lb_plot *plot, double x_1, double y_1, double x_2,
                          double y_2) {
  struct lb_point a = lb_plot_at(plot, x_1, y_1), b = lb_plot_at(plot, x_2, y_2);
  return (struct lb_box){fmin(a.x, b.x), fmin(a.y, b.y), fmax(a.x, b.x), fmax(a.y, b.y)};
}

void lb_plot_end(struct lb_plot *plot) {
  lb_plot_label_place(plot);
}

struct lb_box lb_plot_key(struct lb_drawing *drawing, struct lb_box box, const struct lb_pen *pen,
                          double angle, double spacing, const char *utf8) {
  const double inset = 0.5, sample_width = 20, sample_height = 2.6; /* [mm] */
  static const struct lb_lettering words = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_LEFT};
  double middle = box.top - lb_plot_key_height / 2;
  struct lb_box sample = {box.left + inset, middle - sample_height / 2, box.left + sample_width,
                          middle + sample_height / 2};
  struct lb_point corner[4];
  corners_of(corner, &sample);
  if (isnan(angle)) {
    lb_drawing_line(drawing, pen, (struct lb_point){sample.left, middle},
                    (struct lb_point){sample.right, middle});
  } else {
    lb_drawing_hatch(drawing, pen, corner, 4, angle, spacing);
    lb_drawing_polyline(drawing, &lb_pen_fine, corner, 4, true);
  }
  lb_sheet_text(
      drawing, &words,
      (struct lb_point){sample.right + 2 * gap, middle - LB_LETTER_CAPITAL / 2 * LB_LETTERS_SMALL},
      box.right - sample.right - 2 * gap, utf8);
  box.top -= lb_plot_key_height;
  return box;
}
