/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drawing: pages of shapes in millimetres, before any file format and without a graphics library.
 *
 * The origin of a page is its lower left corner, x to the right, y up; angles are in radians,
 * counterclockwise from the x axis. What a drawing looks like is tested here, on its shapes; the
 * writers (paper/drawing_dxf.h, paper/drawing_cairo.h) only say the same in the words of a format.
 * Running out of memory is remembered in the drawing and told once, by lb_drawing_status, so that
 * what adds to it need not look.
 */
#ifndef LASTBAR_PAPER_DRAWING_H
#define LASTBAR_PAPER_DRAWING_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

struct lb_point {
  double x, y; /* [mm] */
};

struct lb_box {
  double left, bottom, right, top; /* [mm] */
};

/* What a shape is for; the layers of a DXF file. */
enum lb_layer {
  LB_LAYER_CUT,  /* the tool goes through here */
  LB_LAYER_MARK, /* scribed, engraved, or drawn */
  LB_LAYER_TEXT,
  LB_LAYERS
};

/* How a line is drawn. */
struct lb_pen {
  enum lb_layer layer;
  double width; /* [mm] > 0 */
  double shade; /* [1] 0 black ... 1 white */
  double dash;  /* [mm] length of dashes and of the gaps between them; 0: unbroken */
};

/* Where a text lies to its point. Its height is centred on the point, or stands on it. */
enum lb_align {
  LB_ALIGN_LEFT,  /* begins at the point, on its base line */
  LB_ALIGN_RIGHT, /* ends there, on its base line */
  LB_ALIGN_BELOW, /* centred, standing on the point */
  LB_ALIGN_MIDDLE /* centred in both directions */
};

/* How a text is written. */
struct lb_lettering {
  double size; /* [mm] of the letters' body: a capital is 0.73 of it high */
  enum lb_align align;
  bool bold;
  double turn; /* [rad] direction it runs in, counterclockwise from the x axis */
};

enum lb_shape_kind {
  LB_SHAPE_LINE,     /* from `at` to `to` */
  LB_SHAPE_ARC,      /* about `at`, from `from` counterclockwise over `sweep` */
  LB_SHAPE_CIRCLE,   /* about `at` */
  LB_SHAPE_POLYLINE, /* through point[first] ... point[first + count - 1] */
  LB_SHAPE_AREA,     /* a shaded polygon, the same points; without outline */
  LB_SHAPE_SECTOR,   /* a shaded piece of the ring between `inner` and `radius`; without outline */
  LB_SHAPE_TEXT      /* letter[first] ... closed by a zero */
};

/* One shape. Members that a kind does not need are 0. */
struct lb_shape {
  enum lb_shape_kind kind;
  size_t view;       /* index of the view it is drawn in */
  struct lb_pen pen; /* of lines; of areas and texts layer and shade alone */
  struct lb_point at, to;
  double radius, inner, from, sweep; /* [mm], [rad]; 0 < sweep <= 2 pi */
  bool closed;                       /* of a polyline: its last point joins the first */
  size_t first, count;
  struct lb_lettering lettering;
};

/* A window on the page through which shapes are seen in another scale: a shape's point p stands
 * at origin + (scale_x p.x, scale_y p.y) of the page, and what falls outside the window is not
 * drawn. Print correction and tiles are views; view 0 of each page is the page itself. Line widths
 * and texts keep their size. */
struct lb_view {
  struct lb_point origin;
  double scale_x, scale_y; /* [1] > 0 */
  struct lb_box window;    /* [mm] on the page */
};

struct lb_page {
  char name[80];        /* of the sheet: "Timing"; [UTF-8] */
  double width, height; /* [mm] */
  size_t view;          /* index of its view 0 */
  size_t first, shapes; /* shape[first] ... shape[first + shapes - 1] */
};

/* Starts as all zeroes. Read freely; add with the functions below. */
struct lb_drawing {
  struct lb_page *page; /* page[pages] */
  struct lb_shape *shape;
  struct lb_view *view;
  struct lb_point *point;
  char *letter; /* texts, each closed by a zero [UTF-8] */
  size_t pages, shapes, views, points, letters;
  size_t current; /* index of the view that shapes are drawn in now */
  size_t room[5]; /* allocated for each of the five */
  bool failed;    /* memory ran out: the drawing is not whole */
  bool strange;   /* something was not added: it has no finite place or size, or too many lines */
};

/* Begin a page, with its view 0; shapes go on the page begun last.
 * name           [UTF-8] cut after a whole letter when it is too long
 * width, height  [mm] > 0 */
void lb_drawing_page(struct lb_drawing *drawing, const char *name, double width, double height);

/* Begin another view of the page; shapes added from now on are drawn in it. */
void lb_drawing_view(struct lb_drawing *drawing, const struct lb_view *view);

/* Go back to view 0 of the page begun last. */
void lb_drawing_page_view(struct lb_drawing *drawing);

void lb_drawing_line(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point from,
                     struct lb_point to);

/* An arc from one direction counterclockwise to another [rad]; to - from is taken modulo a turn.
 * Within a billionth of a radian a difference of nothing draws nothing, and one of a turn or
 * several is a whole circle. The same holds for pieces of rings. Nothing is drawn of a radius that
 * is not above 0. */
void lb_drawing_arc(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point centre,
                    double radius, double from, double to);
void lb_drawing_circle(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point centre,
                       double radius);

/* Lines through points; at least two, of a closed one three. */
void lb_drawing_polyline(struct lb_drawing *drawing, const struct lb_pen *pen,
                         const struct lb_point *point, size_t count, bool closed);

/* A polygon, and a piece of a ring, filled with a shade [1], on the layer of marks.
 * inner  [mm] >= 0 */
void lb_drawing_area(struct lb_drawing *drawing, double shade, const struct lb_point *point,
                     size_t count);
void lb_drawing_sector(struct lb_drawing *drawing, double shade, struct lb_point centre,
                       double inner, double outer, double from, double to);

/* Parallel lines within a polygon (which may be concave), and within a piece of a ring.
 * angle    [rad] direction of the lines
 * spacing  [mm] > 0 between them; lines lie at whole multiples of it from the origin of the
 *          view, so that neighbours with the same hatching run on */
void lb_drawing_hatch(struct lb_drawing *drawing, const struct lb_pen *pen,
                      const struct lb_point *point, size_t count, double angle, double spacing);
void lb_drawing_hatch_sector(struct lb_drawing *drawing, const struct lb_pen *pen,
                             struct lb_point centre, double inner, double outer, double from,
                             double to, double angle, double spacing);

/* A filled arrow head with its tip at a point, showing in a direction [rad]; a third as wide as it
 * is long [mm]. */
void lb_drawing_arrow(struct lb_drawing *drawing, const struct lb_pen *pen, struct lb_point tip,
                      double direction, double length);

/* A text, on the layer of texts.
 * utf8  one line; control characters are left out, and bytes that are no UTF-8 become U+FFFD */
void lb_drawing_text(struct lb_drawing *drawing, const struct lb_lettering *lettering,
                     struct lb_point at, const char *utf8);

/* Room that a text takes along its line [mm], from a table of widths that holds for the usual
 * sans-serif letters. A writer whose letters are wider narrows them, so that no text is longer than
 * this. */
double lb_drawing_text_width(const struct lb_lettering *lettering, const char *utf8);

/* The upright box around a shape on its page [mm], half the line's width on all sides included, cut
 * to its view's window: without extent, at the window's edge, for what lies outside. Of a text it
 * is the box around its letters, from below a "g" to above a "b", or to above the accent of a
 * capital where there is a letter that may have one. */
struct lb_box lb_drawing_box(const struct lb_drawing *drawing, const struct lb_shape *shape);

/* The four corners of a text's own, turned box on its page [mm], counterclockwise from the start of
 * the line's lower side.
 * corner  out: corner[4] */
void lb_drawing_text_corners(struct lb_point *corner, const struct lb_drawing *drawing,
                             const struct lb_shape *shape);

/* LB_OK; LB_NO_MEMORY when the drawing is not whole; LB_NUMERIC when something was not added
 * because its place or size is not a finite number, or its hatching has over 100 000 lines. */
enum lb_status lb_drawing_status(const struct lb_drawing *drawing, struct lb_error *error);

/* Release the drawing and leave it empty. Takes an empty one too. */
void lb_drawing_free(struct lb_drawing *drawing);

#ifdef __cplusplus
}
#endif

#endif
