/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * DXF R12: pairs of a group code and a value, each on a line of its own. The codes are those of the
 * format's reference: 0 begins something, 2 names it, 8 is its layer, 10 20 30 and 11 21 31 are its
 * points, 40 a size or radius, 50 and 51 angles in degrees.
 */
#include "paper/drawing_dxf.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/drawing_clip.h"
#include "paper/drawing_letters.h"
#include "paper/text.h"

#include <math.h>

/* Windows are held this much wider, so that what touches the edge is not cut by rounding [mm]. */
static const double edge = 1e-6;

static const double degrees = 180 / LB_PI;

/* Plotter letters are about as wide as they are high; this makes them as wide as the letters that
 * lb_drawing_text_width measures. */
static const double narrowing = 0.8;

static const struct {
  const char *name;
  int colour; /* index: 1 red, 3 green, 5 blue */
} layers[LB_LAYERS] = {
    [LB_LAYER_CUT] = {"CUT", 1}, [LB_LAYER_MARK] = {"MARK", 5}, [LB_LAYER_TEXT] = {"TEXT", 3}};

/* The layer that a DXF always has: for what is not to be made. */
static const char no_layer[] = "0";

static void word(struct lb_text *dxf, int code, const char *value) {
  lb_text_add(dxf, "%3d\r\n%s\r\n", code, value);
}

static void count(struct lb_text *dxf, int code, int value) {
  lb_text_add(dxf, "%3d\r\n%6d\r\n", code, value);
}

/* Six decimals; what would round to a nought with a sign has none. */
static void number(struct lb_text *dxf, int code, double value) {
  const double half_of_last = 5e-7;
  lb_text_add(dxf, "%3d\r\n%.6f\r\n", code, fabs(value) < half_of_last ? 0 : value);
}

/* A point under the codes 10 20 30, or 11 21 31. */
static void place(struct lb_text *dxf, int code, struct lb_point p) {
  number(dxf, code, p.x);
  number(dxf, code + 10, p.y);
  number(dxf, code + 20, 0);
}

static void variable(struct lb_text *dxf, const char *name, struct lb_point p) {
  word(dxf, 9, name);
  number(dxf, 10, p.x);
  number(dxf, 20, p.y);
}

static void setting(struct lb_text *dxf, const char *name, int value) {
  word(dxf, 9, name);
  count(dxf, 70, value);
}

static void begin_section(struct lb_text *dxf, const char *name) {
  word(dxf, 0, "SECTION");
  word(dxf, 2, name);
}

/* The version, the sheet, and the unit in the words of later versions. */
static void header(struct lb_text *dxf, const struct lb_page *page) {
  enum {
    UNIT_MILLIMETRE = 4,
    METRIC = 1
  };
  struct lb_point corner = {0, 0}, far_corner = {page->width, page->height};
  word(dxf, 999, "lengths in mm: one unit is one millimetre");
  begin_section(dxf, "HEADER");
  word(dxf, 9, "$ACADVER");
  word(dxf, 1, "AC1009");
  variable(dxf, "$EXTMIN", corner);
  variable(dxf, "$EXTMAX", far_corner);
  variable(dxf, "$LIMMIN", corner);
  variable(dxf, "$LIMMAX", far_corner);
  setting(dxf, "$MEASUREMENT", METRIC);
  setting(dxf, "$INSUNITS", UNIT_MILLIMETRE);
  word(dxf, 0, "ENDSEC");
}

static void begin_table(struct lb_text *dxf, const char *name, int entries) {
  word(dxf, 0, "TABLE");
  word(dxf, 2, name);
  count(dxf, 70, entries);
}

/* The name of a pen's type of line, by the length of its dashes in micrometres. */
struct type_name {
  char text[32];
};

static struct type_name line_type(const struct lb_pen *pen) {
  struct type_name name = {"CONTINUOUS"};
  if (pen->dash > 0)
    lb_format(name.text, sizeof name.text, "DASHED_%.0f", pen->dash * 1000);
  return name;
}

/* A type of line: its name, what it looks like, and its dashes and gaps. */
static void add_line_type(struct lb_text *dxf, const struct lb_pen *pen) {
  const int alignment = 'A';
  word(dxf, 0, "LTYPE");
  word(dxf, 2, line_type(pen).text);
  count(dxf, 70, 0);
  word(dxf, 3, pen->dash > 0 ? "_ _ _ _ _" : "");
  count(dxf, 72, alignment);
  count(dxf, 73, pen->dash > 0 ? 2 : 0);
  number(dxf, 40, 2 * pen->dash);
  if (pen->dash > 0) {
    number(dxf, 49, pen->dash);
    number(dxf, 49, -pen->dash);
  }
}

/* Whether a shape is the first of its page with such dashes. */
static bool new_dashes(const struct lb_drawing *drawing, size_t shape) {
  double dash = drawing->shape[shape].pen.dash;
  for (size_t i = drawing->page[0].first; dash > 0 && i < shape; i++)
    if (drawing->shape[i].pen.dash == dash)
      return false;
  return dash > 0;
}

static void line_types(struct lb_text *dxf, const struct lb_drawing *drawing) {
  const struct lb_page *page = &drawing->page[0];
  int entries = 1;
  for (size_t i = page->first; i < page->first + page->shapes; i++)
    entries += new_dashes(drawing, i);
  begin_table(dxf, "LTYPE", entries);
  add_line_type(dxf, &(struct lb_pen){0});
  for (size_t i = page->first; i < page->first + page->shapes; i++)
    if (new_dashes(drawing, i))
      add_line_type(dxf, &drawing->shape[i].pen);
  word(dxf, 0, "ENDTAB");
}

static void add_layer(struct lb_text *dxf, const char *name, int colour) {
  word(dxf, 0, "LAYER");
  word(dxf, 2, name);
  count(dxf, 70, 0);
  count(dxf, 62, colour);
  word(dxf, 6, "CONTINUOUS");
}

static void layer_table(struct lb_text *dxf) {
  enum {
    BLACK_OR_WHITE = 7
  };
  begin_table(dxf, "LAYER", LB_LAYERS + 1);
  add_layer(dxf, no_layer, BLACK_OR_WHITE);
  for (size_t i = 0; i < LB_LAYERS; i++)
    add_layer(dxf, layers[i].name, layers[i].colour);
  word(dxf, 0, "ENDTAB");
}

/* The one style of letters: upright, of any height, from the plotter font that all readers have. */
static void style_table(struct lb_text *dxf) {
  begin_table(dxf, "STYLE", 1);
  word(dxf, 0, "STYLE");
  word(dxf, 2, "STANDARD");
  count(dxf, 70, 0);
  number(dxf, 40, 0);
  number(dxf, 41, narrowing);
  number(dxf, 50, 0);
  count(dxf, 71, 0);
  number(dxf, 42, LB_LETTER_CAPITAL);
  word(dxf, 3, "txt");
  word(dxf, 4, "");
  word(dxf, 0, "ENDTAB");
}

static void tables(struct lb_text *dxf, const struct lb_drawing *drawing) {
  begin_section(dxf, "TABLES");
  line_types(dxf, drawing);
  layer_table(dxf);
  style_table(dxf);
  word(dxf, 0, "ENDSEC");
  begin_section(dxf, "BLOCKS");
  word(dxf, 0, "ENDSEC");
}

static void begin_entity(struct lb_text *dxf, const char *kind, const struct lb_pen *pen) {
  word(dxf, 0, kind);
  word(dxf, 8, layers[pen->layer].name);
  if (pen->dash > 0)
    word(dxf, 6, line_type(pen).text);
}

/* Where a shape stands on the page, and what of the page it is seen through. */
struct sight {
  struct lb_point origin;
  struct lb_box window;
};

static struct lb_point seen(const struct sight *sight, struct lb_point p) {
  return (struct lb_point){sight->origin.x + p.x, sight->origin.y + p.y};
}

static void line(struct lb_text *dxf, const struct lb_pen *pen, const struct sight *sight,
                 struct lb_point from, struct lb_point to) {
  struct lb_point a = seen(sight, from), b = seen(sight, to);
  if (!lb_clip_line(&a, &b, &sight->window))
    return;
  begin_entity(dxf, "LINE", pen);
  place(dxf, 10, a);
  place(dxf, 11, b);
}

/* An angle in degrees from 0 to below 360. */
static double turned(double angle) {
  double whole = fmod(angle, 2 * LB_PI) * degrees;
  return whole < 0 ? whole + 360 : whole;
}

static void arc(struct lb_text *dxf, const struct lb_shape *shape, const struct sight *sight) {
  struct lb_arc_piece whole = {shape->from, shape->sweep}, piece[LB_CLIP_PIECES_MOST];
  struct lb_point centre = seen(sight, shape->at);
  if (shape->kind == LB_SHAPE_CIRCLE)
    whole = (struct lb_arc_piece){0, 2 * LB_PI};
  size_t pieces = lb_clip_arc(piece, centre, shape->radius, &whole, &sight->window);
  for (size_t i = 0; i < pieces; i++) {
    bool circle = piece[i].sweep == 2 * LB_PI;
    begin_entity(dxf, circle ? "CIRCLE" : "ARC", &shape->pen);
    place(dxf, 10, centre);
    number(dxf, 40, shape->radius);
    if (!circle) {
      number(dxf, 50, turned(piece[i].from));
      number(dxf, 51, turned(piece[i].from + piece[i].sweep));
    }
  }
}

static void whole_polyline(struct lb_text *dxf, const struct lb_drawing *drawing,
                           const struct lb_shape *shape, const struct sight *sight) {
  begin_entity(dxf, "POLYLINE", &shape->pen);
  count(dxf, 66, 1); /* vertices follow */
  place(dxf, 10, (struct lb_point){0, 0});
  count(dxf, 70, shape->closed);
  for (size_t i = shape->first; i < shape->first + shape->count; i++) {
    begin_entity(dxf, "VERTEX", &shape->pen);
    place(dxf, 10, seen(sight, drawing->point[i]));
  }
  word(dxf, 0, "SEQEND");
  word(dxf, 8, layers[shape->pen.layer].name);
}

/* A polyline; one that leaves the window falls into its lines. */
static void polyline(struct lb_text *dxf, const struct lb_drawing *drawing,
                     const struct lb_shape *shape, const struct sight *sight) {
  const struct lb_point *point = drawing->point + shape->first;
  bool inside = true;
  for (size_t i = 0; i < shape->count; i++)
    inside &= lb_clip_holds(&sight->window, seen(sight, point[i]));
  if (inside) {
    whole_polyline(dxf, drawing, shape, sight);
    return;
  }
  for (size_t i = 1; i < shape->count; i++)
    line(dxf, &shape->pen, sight, point[i - 1], point[i]);
  if (shape->closed)
    line(dxf, &shape->pen, sight, point[shape->count - 1], point[0]);
}

/* A letter in the words of the format. "%%" begins a command, of which "%%d" is a degree, "%%p" a
 * plus and minus, and "%%%" one percent, needed before another and before what may be written as
 * a command (those begin with C2 in UTF-8); "^" begins a control character and is meant itself
 * before a blank; "\U+" and "\M+" begin the number of a letter. */
static void letter(struct lb_text *dxf, const char **at) {
  enum {
    BACKSLASH = 0x5C,
    DEGREE = 0xB0,
    PLUS_MINUS = 0xB1,
    LAST_ASCII = 0x7E,
    LAST_OF_FOUR_DIGITS = 0xFFFF
  };
  bool percent = (*at)[0] == '%' && ((*at)[1] == '%' || (*at)[1] == '\xC2');
  uint32_t code = lb_letter_next(at);
  bool numbers = code == BACKSLASH && (**at == 'U' || **at == 'M') && (*at)[1] == '+';
  if (percent)
    lb_text_add(dxf, "%%%%%%");
  else if (code == DEGREE)
    lb_text_add(dxf, "%%%%d");
  else if (code == PLUS_MINUS)
    lb_text_add(dxf, "%%%%p");
  else if (code == '^')
    lb_text_add(dxf, "^ ");
  else if (code > LAST_OF_FOUR_DIGITS)
    lb_text_add(dxf, "?");
  else if (code > LAST_ASCII || numbers)
    lb_text_add(dxf, "\\U+%04X", (unsigned)code);
  else
    lb_text_add(dxf, "%c", (int)code);
}

/* A text whose letters' capitals are `height` high. The codes 72 and 73 say how it lies to its
 * second point: left 0, centred 1, right 2; on its line 0, about its middle 2. */
static void letters(struct lb_text *dxf, const char *utf8, double height) {
  number(dxf, 40, height);
  lb_text_add(dxf, "%3d\r\n", 1);
  for (const char *at = utf8; *at;)
    letter(dxf, &at);
  lb_text_add(dxf, "\r\n");
  number(dxf, 41, narrowing);
  word(dxf, 7, "STANDARD");
}

/* Where a text begins on its line. */
static struct lb_point start_of(const struct lb_shape *shape, struct lb_point at,
                                const char *utf8) {
  const struct lb_lettering *lettering = &shape->lettering;
  double width = lb_drawing_text_width(lettering, utf8);
  double before = lettering->align == LB_ALIGN_LEFT    ? 0
                  : lettering->align == LB_ALIGN_RIGHT ? width
                                                       : width / 2;
  double drop = lettering->align == LB_ALIGN_MIDDLE ? LB_LETTER_CAPITAL / 2 * lettering->size : 0;
  double x = cos(lettering->turn), y = sin(lettering->turn);
  return (struct lb_point){at.x - before * x + drop * y, at.y - before * y - drop * x};
}

static void text(struct lb_text *dxf, const struct lb_drawing *drawing,
                 const struct lb_shape *shape, const struct sight *sight) {
  static const struct {
    int across, up;
  } code[] = {[LB_ALIGN_LEFT] = {0, 0},
              [LB_ALIGN_RIGHT] = {2, 0},
              [LB_ALIGN_BELOW] = {1, 0},
              [LB_ALIGN_MIDDLE] = {1, 2}};
  const struct lb_lettering *lettering = &shape->lettering;
  const char *utf8 = drawing->letter + shape->first;
  struct lb_point at = seen(sight, shape->at);
  struct lb_box box = lb_drawing_box(drawing, shape);
  if (box.left == box.right || box.bottom == box.top)
    return;
  begin_entity(dxf, "TEXT", &shape->pen);
  place(dxf, 10, start_of(shape, at, utf8));
  letters(dxf, utf8, LB_LETTER_CAPITAL * lettering->size);
  number(dxf, 50, turned(lettering->turn));
  if (lettering->align != LB_ALIGN_LEFT) {
    count(dxf, 72, code[lettering->align].across);
    place(dxf, 11, at);
    count(dxf, 73, code[lettering->align].up);
  }
}

static void entity(struct lb_text *dxf, const struct lb_drawing *drawing,
                   const struct lb_shape *shape) {
  const struct lb_view *view = &drawing->view[shape->view];
  const struct lb_box *window = &view->window;
  const struct sight sight = {
      view->origin,
      {window->left - edge, window->bottom - edge, window->right + edge, window->top + edge}};
  switch (shape->kind) {
  case LB_SHAPE_LINE:
    line(dxf, &shape->pen, &sight, shape->at, shape->to);
    break;
  case LB_SHAPE_ARC:
  case LB_SHAPE_CIRCLE:
    arc(dxf, shape, &sight);
    break;
  case LB_SHAPE_POLYLINE:
    polyline(dxf, drawing, shape, &sight);
    break;
  case LB_SHAPE_TEXT:
    text(dxf, drawing, shape, &sight);
    break;
  case LB_SHAPE_AREA:
  case LB_SHAPE_SECTOR:
    break;
  }
}

/* The shapes, and in the corner of the page the unit, for people. */
static void entities(struct lb_text *dxf, const struct lb_drawing *drawing) {
  const double height = 2 /* [mm] */;
  const struct lb_page *page = &drawing->page[0];
  begin_section(dxf, "ENTITIES");
  word(dxf, 0, "TEXT");
  word(dxf, 8, no_layer);
  place(dxf, 10, (struct lb_point){0, 0});
  letters(dxf, "mm", height);
  for (size_t i = page->first; i < page->first + page->shapes; i++)
    entity(dxf, drawing, &drawing->shape[i]);
  word(dxf, 0, "ENDSEC");
  word(dxf, 0, "EOF");
}

/* Whether all shapes of the first page are as large as they say. */
static bool true_to_size(const struct lb_drawing *drawing) {
  const double rounding = 1e-12;
  const struct lb_page *page = &drawing->page[0];
  for (size_t i = page->first; i < page->first + page->shapes; i++) {
    const struct lb_view *view = &drawing->view[drawing->shape[i].view];
    if (fabs(view->scale_x - 1) > rounding || fabs(view->scale_y - 1) > rounding)
      return false;
  }
  return true;
}

enum lb_status lb_drawing_dxf(char **bytes, size_t *length, const struct lb_drawing *drawing,
                              struct lb_error *error) {
  enum lb_status status = lb_drawing_status(drawing, error);
  if (status != LB_OK)
    return status;
  if (drawing->pages == 0)
    return lb_error_set(error, LB_BAD_INPUT, "the drawing has no page; draw something first");
  if (!true_to_size(drawing))
    return lb_error_set(error, LB_BAD_INPUT,
                        "a part of the drawing is not true to size, as a DXF "
                        "is; draw it without correction for a printer");
  struct lb_text dxf = {0};
  header(&dxf, &drawing->page[0]);
  tables(&dxf, drawing);
  entities(&dxf, drawing);
  size_t written = dxf.length;
  status = lb_text_take(bytes, &dxf, error);
  if (status == LB_OK)
    *length = written;
  return status;
}
