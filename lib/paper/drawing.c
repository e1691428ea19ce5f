/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drawing: five arrays that grow, and the geometry of shapes on their page.
 */
#include "paper/drawing.h"

#include "base/constants.h"
#include "paper/drawing_hatch.h"
#include "paper/drawing_letters.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Angles closer than this are the same [rad]: a billionth, which no radius makes visible. */
static const double same_angle = 1e-9;

/* The growing arrays, in the order of `room`. */
enum array {
  PAGES,
  SHAPES,
  VIEWS,
  POINTS,
  LETTERS
};

enum {
  FIRST_ROOM = 64
};

/* Make room for `more` items of `size` bytes behind the `used` ones. Returns the array, which may
 * have moved; NULL, and the drawing has failed, without memory. */
static void *with_room(struct lb_drawing *drawing, enum array array, void *items, size_t used,
                       size_t more, size_t size) {
  size_t *room = &drawing->room[array];
  if (drawing->failed)
    return NULL;
  if (*room - used >= more)
    return items;
  size_t wanted = *room ? *room : FIRST_ROOM;
  while (wanted - used < more && wanted < SIZE_MAX / 2 / size)
    wanted *= 2;
  void *grown = wanted - used < more ? NULL : realloc(items, wanted * size);
  if (grown)
    *room = wanted;
  drawing->failed = !grown;
  return grown;
}

static void add_view(struct lb_drawing *drawing, const struct lb_view *view) {
  struct lb_view *views =
      with_room(drawing, VIEWS, drawing->view, drawing->views, 1, sizeof *views);
  if (!views)
    return;
  drawing->view = views;
  drawing->current = drawing->views;
  views[drawing->views++] = *view;
}

/* Put a text behind the letters there are, not yet among them. Returns how many bytes it takes, 0
 * without memory. */
static size_t put_letters(struct lb_drawing *drawing, const char *utf8) {
  size_t most = LB_LETTERS_CLEAN * strlen(utf8) + 1;
  char *letters =
      with_room(drawing, LETTERS, drawing->letter, drawing->letters, most, sizeof *letters);
  if (!letters)
    return 0;
  drawing->letter = letters;
  return lb_letters_clean(letters + drawing->letters, utf8);
}

/* The name of a page, made clean like a text and cut after a whole letter. */
static void name_page(struct lb_page *page, struct lb_drawing *drawing, const char *name) {
  size_t kept = put_letters(drawing, name);
  if (kept == 0)
    return;
  const char *clean = drawing->letter + drawing->letters;
  if (kept > sizeof page->name)
    kept = sizeof page->name;
  for (kept--; ((unsigned char)clean[kept] & 0xC0) == 0x80;)
    kept--; /* a byte 10xxxxxx continues a letter */
  memcpy(page->name, clean, kept);
}

void lb_drawing_page(struct lb_drawing *drawing, const char *name, double width, double height) {
  struct lb_page page = {
      .width = width, .height = height, .view = drawing->views, .first = drawing->shapes};
  name_page(&page, drawing, name);
  add_view(drawing, &(struct lb_view){.scale_x = 1, .scale_y = 1, .window = {0, 0, width, height}});
  struct lb_page *pages =
      with_room(drawing, PAGES, drawing->page, drawing->pages, 1, sizeof *pages);
  if (!pages)
    return;
  drawing->page = pages;
  pages[drawing->pages++] = page;
  drawing->strange |= !isfinite(width) || !isfinite(height);
}

void lb_drawing_view(struct lb_drawing *drawing, const struct lb_view *view) {
  const struct lb_box *window = &view->window;
  double sum = view->origin.x + view->origin.y + view->scale_x + view->scale_y + window->left +
               window->bottom + window->right + window->top;
  drawing->strange |= !isfinite(sum);
  add_view(drawing, view);
}

void lb_drawing_page_view(struct lb_drawing *drawing) {
  if (drawing->pages > 0)
    drawing->current = drawing->page[drawing->pages - 1].view;
}

/* Add a shape to the page begun last. A sum is finite only if its terms are. */
static void add_shape(struct lb_drawing *drawing, const struct lb_shape *shape) {
  double sum = shape->at.x + shape->at.y + shape->to.x + shape->to.y + shape->radius +
               shape->inner + shape->from + shape->sweep + shape->pen.width + shape->pen.shade +
               shape->pen.dash + shape->lettering.size + shape->lettering.turn;
  if (!isfinite(sum)) {
    drawing->strange = true;
    return;
  }
  if (drawing->pages == 0)
    return;
  struct lb_shape *shapes =
      with_room(drawing, SHAPES, drawing->shape, drawing->shapes, 1, sizeof *shapes);
  if (!shapes)
    return;
  drawing->shape = shapes;
  struct lb_shape *added = &shapes[drawing->shapes++];
  *added = *shape;
  added->view = drawing->current;
  drawing->page[drawing->pages - 1].shapes++;
}

/* Whether all points have a place; if not, that is remembered. */
static bool have_places(struct lb_drawing *drawing, const struct lb_point *point, size_t count) {
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += point[i].x + point[i].y;
  drawing->strange |= !isfinite(sum);
  return isfinite(sum);
}

/* Add a shape with points of its own. */
static void add_points(struct lb_drawing *drawing, struct lb_shape shape,
                       const struct lb_point *point) {
  if (!have_places(drawing, point, shape.count))
    return;
  struct lb_point *points =
      with_room(drawing, POINTS, drawing->point, drawing->points, shape.count, sizeof *points);
  if (!points)
    return;
  drawing->point = points;
  memcpy(points + drawing->points, point, shape.count * sizeof *point);
  shape.first = drawing->points;
  drawing->points += shape.count;
  add_shape(drawing, &shape);
}

void lb_drawing_line(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point from,
                     struct lb_point to) {
  add_shape(drawing, &(struct lb_shape){.kind = LB_SHAPE_LINE, .pen = *pen, .at = from, .to = to});
}

/* The sweep from one direction counterclockwise to another: 0 for none, 2 pi for whole turns. */
static double sweep_between(double from, double to) {
  const double turn = 2 * LB_PI;
  double difference = to - from;
  if (fabs(difference) < same_angle)
    return 0;
  if (fabs(remainder(difference, turn)) < same_angle)
    return turn;
  double sweep = fmod(difference, turn);
  return sweep < 0 ? sweep + turn : sweep;
}

void lb_drawing_arc(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point centre,
                    double radius, double from, double to) {
  double sweep = sweep_between(from, to);
  if (radius <= 0 || sweep == 0)
    return;
  if (sweep == 2 * LB_PI)
    lb_drawing_circle(drawing, pen, centre, radius);
  else
    add_shape(drawing, &(struct lb_shape){.kind = LB_SHAPE_ARC,
                                          .pen = *pen,
                                          .at = centre,
                                          .radius = radius,
                                          .from = from,
                                          .sweep = sweep});
}

void lb_drawing_circle(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point centre,
                       double radius) {
  if (radius <= 0)
    return;
  add_shape(drawing, &(struct lb_shape){
                         .kind = LB_SHAPE_CIRCLE, .pen = *pen, .at = centre, .radius = radius});
}

void lb_drawing_polyline(struct lb_drawing *drawing, const struct lb_pen *pen,
                         const struct lb_point *point, size_t count, bool closed) {
  struct lb_shape shape = {
      .kind = LB_SHAPE_POLYLINE, .pen = *pen, .closed = closed, .count = count};
  if (count >= 2)
    add_points(drawing, shape, point);
}

void lb_drawing_area(struct lb_drawing *drawing, double shade, const struct lb_point *point,
                     size_t count) {
  struct lb_shape shape = {
      .kind = LB_SHAPE_AREA, .pen = {.layer = LB_LAYER_MARK, .shade = shade}, .count = count};
  if (count >= 3)
    add_points(drawing, shape, point);
}

void lb_drawing_sector(struct lb_drawing *drawing, double shade, struct lb_point centre,
                       double inner, double outer, double from, double to) {
  double sweep = sweep_between(from, to);
  if (outer <= inner || sweep == 0)
    return;
  add_shape(drawing, &(struct lb_shape){.kind = LB_SHAPE_SECTOR,
                                        .pen = {.layer = LB_LAYER_MARK, .shade = shade},
                                        .at = centre,
                                        .radius = outer,
                                        .inner = inner,
                                        .from = from,
                                        .sweep = sweep});
}

/* What a line of hatching is added to, and in what pen. */
struct hatched {
  struct lb_drawing *drawing;
  const struct lb_pen *pen;
};

static void put_hatch(void *context, struct lb_point from, struct lb_point to) {
  const struct hatched *hatched = context;
  lb_drawing_line(hatched->drawing, hatched->pen, from, to);
}

static void remember(struct lb_drawing *drawing, enum lb_status status) {
  drawing->failed |= status == LB_NO_MEMORY;
  drawing->strange |= status == LB_NUMERIC;
}

void lb_drawing_hatch(struct lb_drawing *drawing, const struct lb_pen *pen,
                      const struct lb_point *point, size_t count, double angle, double spacing) {
  struct hatched hatched = {drawing, pen};
  struct lb_hatching hatching = {angle, spacing, put_hatch, &hatched};
  if (count >= 3 && have_places(drawing, point, count))
    remember(drawing, lb_hatch_polygon(&hatching, point, count));
}

void lb_drawing_hatch_sector(struct lb_drawing *drawing, const struct lb_pen *pen,
                             struct lb_point centre, double inner, double outer, double from,
                             double to, double angle, double spacing) {
  struct hatched hatched = {drawing, pen};
  struct lb_hatching hatching = {angle, spacing, put_hatch, &hatched};
  struct lb_ring_piece piece = {centre, inner, outer, from, sweep_between(from, to)};
  if (outer > inner && piece.sweep != 0)
    remember(drawing, lb_hatch_ring_piece(&hatching, &piece));
}

/* The area alone would be missing where a format has no areas; its outline is so fine that the tip
 * stays where it is. */
void lb_drawing_arrow(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point tip,
                      double direction, double length) {
  const double outline_width = 0.05 /* [mm] */, half_width = length / 6;
  double x = cos(direction), y = sin(direction);
  struct lb_point foot = {tip.x - length * x, tip.y - length * y};
  struct lb_point corner[] = {tip,
                              {foot.x - half_width * y, foot.y + half_width * x},
                              {foot.x + half_width * y, foot.y - half_width * x}};
  struct lb_shape area = {.kind = LB_SHAPE_AREA, .pen = *pen, .count = 3};
  area.pen.width = area.pen.dash = 0;
  struct lb_pen outline = *pen;
  outline.width = outline_width;
  outline.dash = 0;
  add_points(drawing, area, corner);
  lb_drawing_polyline(drawing, &outline, corner, 3, true);
}

void lb_drawing_text(struct lb_drawing *drawing, const struct lb_lettering *lettering,
                     struct lb_point at, const char *utf8) {
  struct lb_shape shape = {.kind = LB_SHAPE_TEXT,
                           .pen = {.layer = LB_LAYER_TEXT},
                           .at = at,
                           .first = drawing->letters,
                           .count = put_letters(drawing, utf8),
                           .lettering = *lettering};
  if (shape.count <= 1)
    return;
  drawing->letters += shape.count;
  add_shape(drawing, &shape);
}

double lb_drawing_text_width(const struct lb_lettering *lettering, const char *utf8) {
  double sum = 0;
  for (const char *at = utf8; *at;)
    sum += lb_letter_width(lb_letter_next(&at), lettering->bold);
  return lettering->size * sum;
}

/* A point of a shape on the page. */
static struct lb_point seen(const struct lb_view *view, struct lb_point p) {
  return (struct lb_point){view->origin.x + view->scale_x * p.x,
                           view->origin.y + view->scale_y * p.y};
}

/* How far its letters may reach above the line, as a share of the body. */
static double text_height(const char *utf8) {
  double height = 0;
  for (const char *at = utf8; *at;)
    height = fmax(height, lb_letter_height(lb_letter_next(&at)));
  return height;
}

void lb_drawing_text_corners(struct lb_point *corner, const struct lb_drawing *drawing,
                             const struct lb_shape *shape) {
  const struct lb_lettering *lettering = &shape->lettering;
  const char *text = drawing->letter + shape->first;
  struct lb_point at = seen(&drawing->view[shape->view], shape->at);
  double width = lb_drawing_text_width(lettering, text);
  double before = lettering->align == LB_ALIGN_LEFT    ? 0
                  : lettering->align == LB_ALIGN_RIGHT ? width
                                                       : width / 2;
  double base = lettering->align == LB_ALIGN_MIDDLE ? -LB_LETTER_CAPITAL / 2 * lettering->size : 0;
  double low = base - LB_LETTER_LOWER * lettering->size;
  double high = base + text_height(text) * lettering->size;
  const struct lb_point own[] = {
      {-before, low}, {width - before, low}, {width - before, high}, {-before, high}};
  double x = cos(lettering->turn), y = sin(lettering->turn);
  for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
    corner[i] =
        (struct lb_point){at.x + own[i].x * x - own[i].y * y, at.y + own[i].x * y + own[i].y * x};
}

static const struct lb_box no_box = {HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL};

static void take_in(struct lb_box *box, struct lb_point p) {
  box->left = fmin(box->left, p.x);
  box->bottom = fmin(box->bottom, p.y);
  box->right = fmax(box->right, p.x);
  box->top = fmax(box->top, p.y);
}

static struct lb_point on_circle(struct lb_point centre, double radius, double angle) {
  return (struct lb_point){centre.x + radius * cos(angle), centre.y + radius * sin(angle)};
}

/* The ends of an arc, and the outermost points of the circle as far as it reaches them. */
static void take_in_arc(struct lb_box *box, const struct lb_shape *shape) {
  const double quarter = LB_PI / 2;
  static const struct lb_point outermost[] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
  double to = shape->from + shape->sweep;
  take_in(box, on_circle(shape->at, shape->radius, shape->from));
  take_in(box, on_circle(shape->at, shape->radius, to));
  double first = ceil(shape->from / quarter);
  for (int i = 0; i < 4 && (first + i) * quarter <= to; i++) {
    const struct lb_point *way = &outermost[((int)fmod(first + i, 4) + 4) % 4];
    take_in(box, (struct lb_point){shape->at.x + shape->radius * way->x,
                                   shape->at.y + shape->radius * way->y});
  }
}

/* The box of all that a shape is made of but texts, in its own measures and without the width of
 * the line. Inside of a ring only corners reach as far as the outer arc. */
static struct lb_box own_box(const struct lb_drawing *drawing, const struct lb_shape *shape) {
  struct lb_box box = no_box;
  switch (shape->kind) {
  case LB_SHAPE_LINE:
    take_in(&box, shape->at);
    take_in(&box, shape->to);
    break;
  case LB_SHAPE_CIRCLE:
    take_in(&box, (struct lb_point){shape->at.x - shape->radius, shape->at.y - shape->radius});
    take_in(&box, (struct lb_point){shape->at.x + shape->radius, shape->at.y + shape->radius});
    break;
  case LB_SHAPE_SECTOR:
    take_in(&box, on_circle(shape->at, shape->inner, shape->from));
    take_in(&box, on_circle(shape->at, shape->inner, shape->from + shape->sweep));
    take_in_arc(&box, shape);
    break;
  case LB_SHAPE_ARC:
    take_in_arc(&box, shape);
    break;
  case LB_SHAPE_POLYLINE:
  case LB_SHAPE_AREA:
    for (size_t i = 0; i < shape->count; i++)
      take_in(&box, drawing->point[shape->first + i]);
    break;
  case LB_SHAPE_TEXT:
    break;
  }
  return box;
}

static double within(double x, double low, double high) {
  return fmin(fmax(x, low), high);
}

struct lb_box lb_drawing_box(const struct lb_drawing *drawing, const struct lb_shape *shape) {
  const struct lb_view *view = &drawing->view[shape->view];
  const struct lb_box *window = &view->window;
  struct lb_box box = no_box;
  if (shape->kind == LB_SHAPE_TEXT) {
    struct lb_point corner[4];
    lb_drawing_text_corners(corner, drawing, shape);
    for (size_t i = 0; i < sizeof corner / sizeof corner[0]; i++)
      take_in(&box, corner[i]);
  } else {
    struct lb_box own = own_box(drawing, shape);
    take_in(&box, seen(view, (struct lb_point){own.left, own.bottom}));
    take_in(&box, seen(view, (struct lb_point){own.right, own.top}));
  }
  double half = shape->pen.width / 2;
  return (struct lb_box){.left = within(box.left - half, window->left, window->right),
                         .bottom = within(box.bottom - half, window->bottom, window->top),
                         .right = within(box.right + half, window->left, window->right),
                         .top = within(box.top + half, window->bottom, window->top)};
}

enum lb_status lb_drawing_status(const struct lb_drawing *drawing, struct lb_error *error) {
  if (drawing->failed)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the drawing");
  if (drawing->strange)
    return lb_error_set(error, LB_NUMERIC,
                        "a part of the drawing has no place or size that can be drawn; check the "
                        "lengths of the machine");
  return LB_OK;
}

void lb_drawing_free(struct lb_drawing *drawing) {
  free(drawing->page);
  free(drawing->shape);
  free(drawing->view);
  free(drawing->point);
  free(drawing->letter);
  *drawing = (struct lb_drawing){0};
}
