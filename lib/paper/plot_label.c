/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Placing labels. All costs are in millimetres of distance.
 */
#include "paper/plot_label.h"

#include "paper/drawing_letters.h"
#include "paper/sheet.h"

#include <math.h>
#include <stdlib.h>

static const double cell_size = 0.5; /* [mm] of the cells, and of the raster of places */
static const double clear = 0.7;     /* [mm] around a label */
static const double ground = 0.4;    /* [mm] of white around its letters */
static const double apart = 2;       /* [mm] more on the left and right, lest two read as one */
static const double near_enough = 2; /* [mm] a label that close needs no leader */
/* What covering a millimetre of line costs, by the pen; fine ones are hatching. */
static const double line_cost = 8, fine_cost = 0.15, fine_width = 0.2 /* [mm] */;
/* What having a leader costs, crossing a millimetre of line with it (as a share of covering that),
 * and covering a cell of another label. */
static const double leader_cost = 3, crossing_share = 0.5, label_cost = 1e6;
/* A leader to a rectangle ends so far in it [mm]. */
static const double into_rectangle = 2;
/* A leader leaves its own line within [mm], which costs nothing. */
static const double own_line = 1.5;
/* What it costs to stand outside a rectangle that it names. */
static const double outside_cost = 30;
/* How much its distance from the middle of what it names counts: little, to tell places along a
 * line apart; more in a rectangle [1]. */
static const double middle_of_line = 0.02, middle_of_rectangle = 0.2;

static const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_LEFT};

/* What is drawn where: cost[row * columns + column], and its sums over all cells below and to the
 * left, sum[row * (columns + 1) + column], with a row and a column of zeroes first. */
struct ink {
  struct lb_point origin;
  size_t columns, rows;
  double *cost, *sum;
};

/* The cell of a coordinate, kept within the frame. */
static size_t cell_of(double coordinate, double origin, size_t cells) {
  double cell = floor((coordinate - origin) / cell_size);
  return cell < 0 ? 0 : cell >= (double)cells ? cells - 1 : (size_t)cell;
}

static double *cost_at(const struct ink *ink, struct lb_point p) {
  return &ink->cost[cell_of(p.y, ink->origin.y, ink->rows) * ink->columns +
                    cell_of(p.x, ink->origin.x, ink->columns)];
}

/* Add a line that costs so much per millimetre. */
static void add_line(struct ink *ink, struct lb_point from, struct lb_point to, double cost) {
  double length = hypot(to.x - from.x, to.y - from.y);
  double pieces = ceil(length / (cell_size / 2));
  for (double i = 0; i < pieces; i++) {
    double share = (i + 0.5) / pieces;
    struct lb_point p = {from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
    *cost_at(ink, p) += cost * length / pieces;
  }
}

static void add_shape(struct ink *ink, const struct lb_drawing *drawing,
                      const struct lb_shape *shape) {
  double cost = shape->pen.width < fine_width ? fine_cost : line_cost;
  struct lb_point a = shape->at;
  double r = shape->radius;
  switch (shape->kind) {
  case LB_SHAPE_LINE:
    add_line(ink, a, shape->to, cost);
    break;
  case LB_SHAPE_CIRCLE: /* small: its level and upright diameter */
    add_line(ink, (struct lb_point){a.x - r, a.y}, (struct lb_point){a.x + r, a.y}, cost);
    add_line(ink, (struct lb_point){a.x, a.y - r}, (struct lb_point){a.x, a.y + r}, cost);
    break;
  case LB_SHAPE_POLYLINE:
    for (size_t i = shape->first + !shape->closed; i < shape->first + shape->count; i++)
      add_line(ink, drawing->point[i == shape->first ? shape->first + shape->count - 1 : i - 1],
               drawing->point[i], cost);
    break;
  default: /* areas are heads of arrows, which have an outline too */
    break;
  }
}

static void sum_up(struct ink *ink) {
  for (size_t row = 0; row < ink->rows; row++) {
    double along = 0;
    for (size_t column = 0; column < ink->columns; column++) {
      size_t at = (row + 1) * (ink->columns + 1) + column + 1;
      along += ink->cost[row * ink->columns + column];
      ink->sum[at] = along + ink->sum[at - (ink->columns + 1)];
    }
  }
}

/* The cost of all cells that a box touches. */
static double cost_of_box(const struct ink *ink, const struct lb_box *box) {
  size_t width = ink->columns + 1;
  size_t left = cell_of(box->left, ink->origin.x, ink->columns);
  size_t right = cell_of(box->right, ink->origin.x, ink->columns) + 1;
  size_t bottom = cell_of(box->bottom, ink->origin.y, ink->rows);
  size_t top = cell_of(box->top, ink->origin.y, ink->rows) + 1;
  return ink->sum[top * width + right] - ink->sum[bottom * width + right] -
         ink->sum[top * width + left] + ink->sum[bottom * width + left];
}

/* Cover the cells of a label's box for good. */
static void add_label(struct ink *ink, const struct lb_box *box) {
  size_t left = cell_of(box->left - apart, ink->origin.x, ink->columns);
  size_t right = cell_of(box->right + apart, ink->origin.x, ink->columns);
  size_t bottom = cell_of(box->bottom, ink->origin.y, ink->rows);
  size_t top = cell_of(box->top, ink->origin.y, ink->rows);
  for (size_t row = bottom; row <= top; row++)
    for (size_t column = left; column <= right; column++)
      ink->cost[row * ink->columns + column] += label_cost;
}

/* The gap between two ranges and where it is: out: a point of each. */
static double range_gap(double *in_a, double *in_b, double low_a, double high_a, double low_b,
                        double high_b) {
  if (high_a < low_b) {
    *in_a = high_a;
    *in_b = low_b;
  } else if (high_b < low_a) {
    *in_a = low_a;
    *in_b = high_b;
  } else {
    *in_a = *in_b = (fmax(low_a, low_b) + fmin(high_a, high_b)) / 2;
  }
  return fabs(*in_a - *in_b);
}

/* A way from what a label names to the label: the shortest. */
struct way {
  struct lb_point from, to;
  double length;
};

static bool is_rectangle(const struct lb_box *anchor) {
  return anchor->right > anchor->left && anchor->top > anchor->bottom;
}

/* What a leader goes to: of a rectangle, some way inside. */
static struct lb_box core_of(const struct lb_box *anchor) {
  struct lb_box core = *anchor;
  if (!is_rectangle(anchor))
    return core;
  double x = fmin(into_rectangle, (core.right - core.left) / 2);
  double y = fmin(into_rectangle, (core.top - core.bottom) / 2);
  return (struct lb_box){core.left + x, core.bottom + y, core.right - x, core.top - y};
}

static struct way way_to(const struct lb_box *anchor, const struct lb_box *box) {
  struct lb_box core = core_of(anchor);
  struct way way;
  double x = range_gap(&way.from.x, &way.to.x, core.left, core.right, box->left, box->right);
  double y = range_gap(&way.from.y, &way.to.y, core.bottom, core.top, box->bottom, box->top);
  way.length = hypot(x, y);
  return way;
}

/* What a leader costs for what it crosses. */
static double cost_of_leader(const struct ink *ink, const struct way *way) {
  double cost = leader_cost, pieces = ceil(way->length / cell_size);
  for (double i = 0; i < pieces; i++) {
    double share = (i + 0.5) / pieces;
    struct lb_point p = {way->from.x + share * (way->to.x - way->from.x),
                         way->from.y + share * (way->to.y - way->from.y)};
    double here = *cost_at(ink, p);
    if (here >= label_cost || share * way->length > own_line)
      cost += crossing_share * here;
  }
  return cost;
}

static bool holds(const struct lb_box *outer, const struct lb_box *inner) {
  return inner->left >= outer->left && inner->right <= outer->right &&
         inner->bottom >= outer->bottom && inner->top <= outer->top;
}

static double middle_distance(const struct lb_box *a, const struct lb_box *b) {
  return hypot(a->left + a->right - b->left - b->right, a->bottom + a->top - b->bottom - b->top) /
         2;
}

/* What a place costs; not followed up when it is more than the best so far. */
static double cost_of_place(const struct ink *ink, const struct lb_box *anchor,
                            const struct lb_box *box, double best) {
  struct lb_box around = {box->left - clear, box->bottom - clear, box->right + clear,
                          box->top + clear};
  struct way way = way_to(anchor, box);
  bool rectangle = is_rectangle(anchor);
  double middle = rectangle ? middle_of_rectangle : middle_of_line;
  double cost = way.length + middle * middle_distance(anchor, box);
  if (rectangle && !holds(anchor, box))
    cost += outside_cost;
  if (cost >= best)
    return cost;
  cost += cost_of_box(ink, &around);
  if (cost < best && way.length > near_enough)
    cost += cost_of_leader(ink, &way);
  return cost;
}

/* A label in search of its place. */
struct search {
  const struct ink *ink;
  const struct lb_box *frame, *anchor;
  double width, height; /* [mm] of the label */
  double best;          /* cost of the place */
  struct lb_box place;
};

/* Look along one row of the raster. */
static void search_row(struct search *s, double bottom) {
  double first = s->frame->left + clear, last = s->frame->right - clear - s->width;
  for (double left = first; left <= last; left += cell_size) {
    struct lb_box box = {left, bottom, left + s->width, bottom + s->height};
    double cost = cost_of_place(s->ink, s->anchor, &box, s->best);
    if (cost < s->best) {
      s->best = cost;
      s->place = box;
    }
  }
}

/* The best place: from the row nearest to what it names up and down, until rows are too far off. */
static void search_all(struct search *s) {
  const struct lb_box *f = s->frame;
  double first = f->bottom + clear, room = f->top - clear - s->height - first;
  double middle = (s->anchor->bottom + s->anchor->top - s->height) / 2;
  double rows = floor(room / cell_size), start = round((middle - first) / cell_size);
  start = fmin(fmax(start, 0), rows);
  s->best = HUGE_VAL;
  s->place = (struct lb_box){f->left, f->bottom, f->left + s->width, f->bottom + s->height};
  for (double i = 0; i <= rows; i++)
    for (int way = 1; way >= -1; way -= 2) {
      double row = start + way * i, bottom = first + row * cell_size;
      double gap = fmax(bottom - s->anchor->top, s->anchor->bottom - bottom - s->height);
      if (row >= 0 && row <= rows && gap < s->best)
        search_row(s, bottom);
    }
}

/* Leader, white ground, letters. */
static void draw(struct lb_drawing *drawing, struct ink *ink, const struct lb_plot_label *label,
                 const struct lb_box *box) {
  struct way way = way_to(&label->anchor, box);
  if (way.length > near_enough) {
    lb_drawing_line(drawing, &lb_pen_fine, way.from, way.to);
    add_line(ink, way.from, way.to, line_cost);
  }
  const struct lb_point corner[] = {{box->left - ground, box->bottom - ground},
                                    {box->right + ground, box->bottom - ground},
                                    {box->right + ground, box->top + ground},
                                    {box->left - ground, box->top + ground}};
  lb_drawing_area(drawing, 1, corner, sizeof corner / sizeof corner[0]);
  lb_drawing_text(drawing, &lettering,
                  (struct lb_point){box->left, box->bottom + LB_LETTER_LOWER * lettering.size},
                  label->text);
  add_label(ink, box);
}

static void place_all(struct lb_plot *plot, struct ink *ink) {
  double height = (LB_LETTER_UPPER + LB_LETTER_LOWER) * lettering.size;
  struct lb_drawing *drawing = plot->drawing;
  for (size_t i = plot->first; i < drawing->shapes; i++)
    add_shape(ink, drawing, &drawing->shape[i]);
  for (size_t i = 0; i < plot->labels; i++) {
    const struct lb_plot_label *label = &plot->label[i];
    struct search search = {.ink = ink,
                            .frame = &plot->frame,
                            .anchor = &label->anchor,
                            .width = lb_drawing_text_width(&lettering, label->text),
                            .height = height};
    sum_up(ink);
    search_all(&search);
    draw(drawing, ink, label, &search.place);
  }
}

void lb_plot_label_place(struct lb_plot *plot) {
  const struct lb_box *f = &plot->frame;
  struct ink ink = {.origin = {f->left, f->bottom},
                    .columns = (size_t)ceil((f->right - f->left) / cell_size),
                    .rows = (size_t)ceil((f->top - f->bottom) / cell_size)};
  ink.cost = calloc(ink.columns * ink.rows, sizeof *ink.cost);
  ink.sum = calloc((ink.columns + 1) * (ink.rows + 1), sizeof *ink.sum);
  if (ink.cost && ink.sum)
    place_all(plot, &ink);
  else
    plot->drawing->failed = true;
  free(ink.cost);
  free(ink.sum);
}
