/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shapes as the points of their outlines; texts as convex polygons.
 */
#include "drawing_probe.h"

#include "base/constants.h"
#include "paper/sheet.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

/* Roundings of places on a page [mm], and by how much texts may touch. */
static const double rounding = 1e-9, touch = 1e-3;

enum {
  STEPS = 720, /* points of an arc: off by less than a thousandth of a millimetre at 100 mm */
  CORNERS = 16 /* room for a text's corners, cut by a window */
};

struct polygon {
  struct lb_point point[CORNERS];
  int points;
};

const char *probe_letters(const struct lb_drawing *drawing, const struct lb_shape *shape) {
  ck_assert_int_eq(shape->kind, LB_SHAPE_TEXT);
  return drawing->letter + shape->first;
}

struct lb_point probe_seen(const struct lb_drawing *drawing, const struct lb_shape *shape,
                           struct lb_point point) {
  const struct lb_view *view = &drawing->view[shape->view];
  return (struct lb_point){view->origin.x + view->scale_x * point.x,
                           view->origin.y + view->scale_y * point.y};
}

const struct lb_shape *probe_find(const struct lb_drawing *drawing, size_t page,
                                  const char *letters) {
  const struct lb_page *p = &drawing->page[page];
  for (size_t i = p->first; i < p->first + p->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind == LB_SHAPE_TEXT && strstr(probe_letters(drawing, shape), letters))
      return shape;
  }
  return NULL;
}

/* Fail unless a point of a shape lies in a box. */
static void require_within(const struct lb_drawing *drawing, const struct lb_page *page,
                           const struct lb_shape *shape, struct lb_point p, struct lb_box box) {
  p = probe_seen(drawing, shape, p);
  if (!(p.x >= box.left - rounding && p.x <= box.right + rounding && p.y >= box.bottom - rounding &&
        p.y <= box.top + rounding))
    ck_abort_msg("page '%s': shape of kind %d reaches (%.3f, %.3f), outside %.1f ... %.1f, %.1f "
                 "... %.1f",
                 page->name, (int)shape->kind, p.x, p.y, box.left, box.right, box.bottom, box.top);
}

static void require_arc_within(const struct lb_drawing *drawing, const struct lb_page *page,
                               const struct lb_shape *shape, double radius, double sweep,
                               struct lb_box box) {
  for (int i = 0; i <= STEPS; i++) {
    double angle = shape->from + sweep * i / STEPS;
    struct lb_point p = {shape->at.x + radius * cos(angle), shape->at.y + radius * sin(angle)};
    require_within(drawing, page, shape, p, box);
  }
}

static void require_text_within(const struct lb_drawing *drawing, const struct lb_page *page,
                                const struct lb_shape *shape, struct lb_box box) {
  struct lb_point corner[4];
  lb_drawing_text_corners(corner, drawing, shape);
  for (int i = 0; i < 4; i++)
    if (!(corner[i].x >= box.left - rounding && corner[i].x <= box.right + rounding &&
          corner[i].y >= box.bottom - rounding && corner[i].y <= box.top + rounding))
      ck_abort_msg("page '%s': '%s' reaches (%.3f, %.3f), outside %.1f ... %.1f, %.1f ... %.1f",
                   page->name, probe_letters(drawing, shape), corner[i].x, corner[i].y, box.left,
                   box.right, box.bottom, box.top);
}

static void require_shape_within(const struct lb_drawing *drawing, const struct lb_page *page,
                                 const struct lb_shape *shape, struct lb_box box) {
  switch (shape->kind) {
  case LB_SHAPE_LINE:
    require_within(drawing, page, shape, shape->at, box);
    require_within(drawing, page, shape, shape->to, box);
    break;
  case LB_SHAPE_SECTOR:
    require_arc_within(drawing, page, shape, shape->inner, shape->sweep, box);
    require_arc_within(drawing, page, shape, shape->radius, shape->sweep, box);
    break;
  case LB_SHAPE_ARC:
    require_arc_within(drawing, page, shape, shape->radius, shape->sweep, box);
    break;
  case LB_SHAPE_CIRCLE:
    require_arc_within(drawing, page, shape, shape->radius, 2 * LB_PI, box);
    break;
  case LB_SHAPE_POLYLINE:
  case LB_SHAPE_AREA:
    for (size_t i = 0; i < shape->count; i++)
      require_within(drawing, page, shape, drawing->point[shape->first + i], box);
    break;
  case LB_SHAPE_TEXT:
    require_text_within(drawing, page, shape, box);
    break;
  }
}

void probe_inside_pages(const struct lb_drawing *drawing, double border) {
  ck_assert(!drawing->failed && !drawing->strange);
  for (size_t i = 0; i < drawing->pages; i++) {
    const struct lb_page *page = &drawing->page[i];
    struct lb_box box = {border, border, page->width - border, page->height - border};
    for (size_t j = page->first; j < page->first + page->shapes; j++) {
      const struct lb_shape *shape = &drawing->shape[j];
      const struct lb_box *window = &drawing->view[shape->view].window;
      if (shape->view == page->view)
        require_shape_within(drawing, page, shape, box);
      else
        ck_assert_msg(
            window->left >= box.left - rounding && window->right <= box.right + rounding &&
                window->bottom >= box.bottom - rounding && window->top <= box.top + rounding,
            "page '%s': a view shows what is off the page", page->name);
    }
  }
}

/* What a half plane leaves of a convex polygon: a x + b y <= c. */
static void clip(struct polygon *polygon, double a, double b, double c) {
  struct polygon left = {.points = 0};
  for (int i = 0; i < polygon->points; i++) {
    struct lb_point p = polygon->point[i], q = polygon->point[(i + 1) % polygon->points];
    double at_p = a * p.x + b * p.y - c, at_q = a * q.x + b * q.y - c;
    if (at_p <= 0)
      left.point[left.points++] = p;
    if ((at_p < 0 && at_q > 0) || (at_p > 0 && at_q < 0)) {
      double share = at_p / (at_p - at_q);
      left.point[left.points++] =
          (struct lb_point){p.x + share * (q.x - p.x), p.y + share * (q.y - p.y)};
    }
  }
  *polygon = left;
}

/* A text as far as its view shows it. */
static struct polygon shown(const struct lb_drawing *drawing, const struct lb_shape *text) {
  const struct lb_box *window = &drawing->view[text->view].window;
  struct polygon polygon = {.points = 4};
  lb_drawing_text_corners(polygon.point, drawing, text);
  clip(&polygon, -1, 0, -window->left);
  clip(&polygon, 1, 0, window->right);
  clip(&polygon, 0, -1, -window->bottom);
  clip(&polygon, 0, 1, window->top);
  return polygon;
}

/* The greatest and the least of a polygon along a direction. */
static void extent(double *least, double *most, const struct polygon *polygon, double x, double y) {
  *least = HUGE_VAL;
  *most = -HUGE_VAL;
  for (int i = 0; i < polygon->points; i++) {
    double along = x * polygon->point[i].x + y * polygon->point[i].y;
    *least = fmin(*least, along);
    *most = fmax(*most, along);
  }
}

/* Whether a direction across one of the first polygon's sides parts the two. */
static bool parted_by(const struct polygon *one, const struct polygon *other) {
  for (int i = 0; i < one->points; i++) {
    struct lb_point p = one->point[i], q = one->point[(i + 1) % one->points];
    double length = hypot(q.x - p.x, q.y - p.y), least[2], most[2];
    if (length < touch)
      continue;
    double x = (q.y - p.y) / length, y = -(q.x - p.x) / length;
    extent(&least[0], &most[0], one, x, y);
    extent(&least[1], &most[1], other, x, y);
    if (most[0] <= least[1] + touch || most[1] <= least[0] + touch)
      return true;
  }
  return false;
}

/* Two convex polygons are apart when a line along a side of one of them parts them. */
static bool overlap(const struct polygon *one, const struct polygon *other) {
  return one->points > 2 && other->points > 2 && !parted_by(one, other) && !parted_by(other, one);
}

bool probe_overlap(const struct lb_drawing *drawing, const struct lb_shape *one,
                   const struct lb_shape *other) {
  struct polygon a = shown(drawing, one), b = shown(drawing, other);
  return overlap(&a, &b);
}

/* A page's texts as polygons. */
struct texts {
  const struct lb_shape **shape;
  struct polygon *polygon;
  size_t count;
};

static struct texts collect_texts(const struct lb_drawing *drawing, const struct lb_page *page) {
  struct texts texts = {calloc(page->shapes + 1, sizeof *texts.shape),
                        calloc(page->shapes + 1, sizeof *texts.polygon), 0};
  ck_assert(texts.shape && texts.polygon);
  for (size_t i = page->first; i < page->first + page->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_TEXT) {
      texts.shape[texts.count] = &drawing->shape[i];
      texts.polygon[texts.count++] = shown(drawing, &drawing->shape[i]);
    }
  return texts;
}

void probe_no_overlapping_texts(const struct lb_drawing *drawing) {
  for (size_t i = 0; i < drawing->pages; i++) {
    struct texts texts = collect_texts(drawing, &drawing->page[i]);
    for (size_t j = 0; j < texts.count; j++)
      for (size_t k = 0; k < j; k++)
        if (overlap(&texts.polygon[j], &texts.polygon[k]))
          ck_abort_msg("page '%s': '%s' at (%.2f, %.2f) and '%s' at (%.2f, %.2f) overlap",
                       drawing->page[i].name, probe_letters(drawing, texts.shape[k]),
                       texts.polygon[k].point[0].x, texts.polygon[k].point[0].y,
                       probe_letters(drawing, texts.shape[j]), texts.polygon[j].point[0].x,
                       texts.polygon[j].point[0].y);
    free(texts.shape);
    free(texts.polygon);
  }
}

void probe_readable_texts(const struct lb_drawing *drawing) {
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind != LB_SHAPE_TEXT)
      continue;
    const char *letters = probe_letters(drawing, shape);
    ck_assert_msg(strspn(letters, " ") < strlen(letters), "an empty text");
    if (!(shape->lettering.size >= LB_LETTERS_SMALL - rounding))
      ck_abort_msg("'%s' is written in letters of %.3f mm", letters, shape->lettering.size);
  }
}

void probe_sheet(const struct lb_drawing *drawing) {
  probe_inside_pages(drawing, LB_SHEET_MARGIN);
  probe_no_overlapping_texts(drawing);
  probe_readable_texts(drawing);
}
