/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drawing by cairo. A page is painted in its own millimetres, y up, whatever a format counts in.
 * cairo remembers its first failure, so that only the end is looked at.
 */
#include "paper/drawing_cairo.h"

#include "base/checksum.h"
#include "base/constants.h"
#include "base/format.h"
#include "base/plain.h"
#include "paper/drawing_letters.h"
#include "paper/table_write.h"

#include <cairo/cairo-pdf.h>
#include <cairo/cairo-svg.h>
#include <cairo/cairo.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double millimetres_per_inch = 25.4, points_per_inch = 72;

/* How far a curve may run beside the true one, in the smallest unit of a format [1]. */
static const double tolerance = 1e-3;

/* The families of letters, in the order in which they are tried for a text. */
static const char *const families[] = {"DejaVu Sans",         "Noto Sans",
                                       "Noto Sans CJK SC",    "WenQuanYi Zen Hei",
                                       "Droid Sans Fallback", "sans-serif"};

/* Letters of a text for which the font selected has no shape. */
static int missing_letters(cairo_t *cairo, const char *text) {
  cairo_glyph_t *glyph = NULL;
  int count = 0, missing = 0;
  cairo_status_t status = cairo_scaled_font_text_to_glyphs(cairo_get_scaled_font(cairo), 0, 0, text,
                                                           -1, &glyph, &count, NULL, NULL, NULL);
  for (int i = 0; status == CAIRO_STATUS_SUCCESS && i < count; i++)
    missing += glyph[i].index == 0;
  cairo_glyph_free(glyph);
  return missing;
}

static void select_family(cairo_t *cairo, size_t family, const struct lb_lettering *lettering) {
  cairo_select_font_face(cairo, families[family], CAIRO_FONT_SLANT_NORMAL,
                         lettering->bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
}

/* Select the first family that lacks the fewest letters of a text. */
static void select_font(cairo_t *cairo, const char *text, const struct lb_lettering *lettering) {
  const size_t count = sizeof families / sizeof families[0];
  size_t best = 0;
  cairo_set_font_size(cairo, lettering->size);
  select_family(cairo, best, lettering);
  int fewest = missing_letters(cairo, text);
  for (size_t i = 1; i < count && fewest > 0; i++) {
    select_family(cairo, i, lettering);
    int missing = missing_letters(cairo, text);
    if (missing < fewest) {
      fewest = missing;
      best = i;
    }
  }
  select_family(cairo, best, lettering);
}

/* Letters run along x, and stand on their heads where y is up: hence the mirror. */
static void paint_text(cairo_t *cairo, const struct lb_drawing *drawing,
                       const struct lb_shape *shape) {
  const struct lb_lettering *lettering = &shape->lettering;
  const struct lb_view *view = &drawing->view[shape->view];
  const char *text = drawing->letter + shape->first;
  cairo_save(cairo);
  cairo_translate(cairo, view->origin.x + view->scale_x * shape->at.x,
                  view->origin.y + view->scale_y * shape->at.y);
  cairo_rotate(cairo, lettering->turn);
  cairo_scale(cairo, 1, -1);
  select_font(cairo, text, lettering);
  cairo_text_extents_t extents;
  cairo_text_extents(cairo, text, &extents);
  double room = lb_drawing_text_width(lettering, text);
  if (extents.x_advance > room)
    cairo_scale(cairo, room / extents.x_advance, 1);
  double before = lettering->align == LB_ALIGN_LEFT    ? 0
                  : lettering->align == LB_ALIGN_RIGHT ? extents.x_advance
                                                       : extents.x_advance / 2;
  double drop = lettering->align == LB_ALIGN_MIDDLE ? LB_LETTER_CAPITAL / 2 * lettering->size : 0;
  cairo_move_to(cairo, -before, drop);
  cairo_show_text(cairo, text);
  cairo_restore(cairo);
}

/* Outer arc and back on the inner one; of a whole ring two circles. */
static void trace_sector(cairo_t *cairo, const struct lb_shape *shape) {
  double to = shape->from + shape->sweep;
  cairo_arc(cairo, shape->at.x, shape->at.y, shape->radius, shape->from, to);
  if (shape->sweep >= 2 * LB_PI)
    cairo_new_sub_path(cairo);
  cairo_arc_negative(cairo, shape->at.x, shape->at.y, shape->inner, to, shape->from);
  cairo_close_path(cairo);
}

/* The path of a shape that is no text, in the shape's own measures. */
static void trace(cairo_t *cairo, const struct lb_drawing *drawing, const struct lb_shape *shape) {
  cairo_new_path(cairo);
  switch (shape->kind) {
  case LB_SHAPE_LINE:
    cairo_move_to(cairo, shape->at.x, shape->at.y);
    cairo_line_to(cairo, shape->to.x, shape->to.y);
    break;
  case LB_SHAPE_ARC:
    cairo_arc(cairo, shape->at.x, shape->at.y, shape->radius, shape->from,
              shape->from + shape->sweep);
    break;
  case LB_SHAPE_CIRCLE:
    cairo_arc(cairo, shape->at.x, shape->at.y, shape->radius, 0, 2 * LB_PI);
    cairo_close_path(cairo);
    break;
  case LB_SHAPE_SECTOR:
    trace_sector(cairo, shape);
    break;
  case LB_SHAPE_POLYLINE:
  case LB_SHAPE_AREA:
    for (size_t i = shape->first; i < shape->first + shape->count; i++)
      cairo_line_to(cairo, drawing->point[i].x, drawing->point[i].y);
    if (shape->closed)
      cairo_close_path(cairo);
    break;
  case LB_SHAPE_TEXT:
    break;
  }
}

/* The path is seen through the view; the width of the line is not. */
static void paint_path(cairo_t *cairo, const struct lb_drawing *drawing,
                       const struct lb_shape *shape) {
  const struct lb_view *view = &drawing->view[shape->view];
  cairo_save(cairo);
  cairo_translate(cairo, view->origin.x, view->origin.y);
  cairo_scale(cairo, view->scale_x, view->scale_y);
  trace(cairo, drawing, shape);
  cairo_restore(cairo);
  if (shape->kind == LB_SHAPE_AREA || shape->kind == LB_SHAPE_SECTOR) {
    cairo_fill(cairo);
    return;
  }
  cairo_set_line_width(cairo, shape->pen.width);
  cairo_set_dash(cairo, &shape->pen.dash, shape->pen.dash > 0, 0);
  cairo_stroke(cairo);
}

static void clip(cairo_t *cairo, const struct lb_box *window) {
  cairo_reset_clip(cairo);
  cairo_rectangle(cairo, window->left, window->bottom, window->right - window->left,
                  window->top - window->bottom);
  cairo_clip(cairo);
}

/* Paint a page on a surface that has `unit` of its own units to a millimetre. Letters are measured
 * and drawn as they are designed, not as they fall on pixels. */
static void paint_page(cairo_surface_t *surface, const struct lb_drawing *drawing,
                       const struct lb_page *page, double unit) {
  cairo_t *cairo = cairo_create(surface);
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  cairo_set_font_options(cairo, options);
  cairo_font_options_destroy(options);
  cairo_scale(cairo, unit, -unit);
  cairo_translate(cairo, 0, -page->height);
  cairo_set_tolerance(cairo, tolerance);
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
  cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
  cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
  size_t view = page->view;
  for (size_t i = page->first; i < page->first + page->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->view != view)
      clip(cairo, &drawing->view[shape->view].window);
    view = shape->view;
    cairo_set_source_rgb(cairo, shape->pen.shade, shape->pen.shade, shape->pen.shade);
    if (shape->kind == LB_SHAPE_TEXT)
      paint_text(cairo, drawing, shape);
    else
      paint_path(cairo, drawing, shape);
  }
  cairo_show_page(cairo);
  cairo_destroy(cairo);
}

/* What a surface has written so far. */
struct sink {
  char *bytes;
  size_t length, room;
};

enum {
  FIRST_ROOM = 4096
};

static cairo_status_t take(void *closure, const unsigned char *data, unsigned int length) {
  struct sink *sink = closure;
  size_t room = sink->room ? sink->room : FIRST_ROOM;
  while (room - sink->length < length)
    room *= 2;
  if (room != sink->room) {
    char *bytes = realloc(sink->bytes, room);
    if (!bytes)
      return CAIRO_STATUS_NO_MEMORY;
    sink->bytes = bytes;
    sink->room = room;
  }
  memcpy(sink->bytes + sink->length, data, length);
  sink->length += length;
  return CAIRO_STATUS_SUCCESS;
}

/* End a surface, so that it writes what it still has. Returns what became of all done to it. */
static cairo_status_t end_surface(cairo_surface_t *surface) {
  cairo_surface_finish(surface);
  cairo_status_t status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  return status;
}

/* Who made it and what it is called, but not when: an empty date keeps cairo from writing one. */
static cairo_status_t describe(cairo_surface_t *surface, const char *title) {
  char creator[64], *clean = malloc(LB_LETTERS_CLEAN * strlen(title) + 1);
  if (!clean)
    return CAIRO_STATUS_NO_MEMORY;
  lb_letters_clean(clean, title);
  lb_format(creator, sizeof creator, "lastbar %s", lb_table_write_version());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, clean);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, creator);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
  free(clean);
  return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t write_pdf(struct sink *sink, const struct lb_drawing *drawing,
                                const char *title) {
  const double unit = points_per_inch / millimetres_per_inch;
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
      take, sink, drawing->page[0].width * unit, drawing->page[0].height * unit);
  cairo_status_t described = describe(surface, title);
  for (size_t i = 0; i < drawing->pages; i++) {
    const struct lb_page *page = &drawing->page[i];
    char place[32];
    lb_format(place, sizeof place, "page=%zu", i + 1);
    cairo_pdf_surface_set_size(surface, page->width * unit, page->height * unit);
    cairo_pdf_surface_add_outline(surface, CAIRO_PDF_OUTLINE_ROOT, page->name, place, 0);
    paint_page(surface, drawing, page, unit);
  }
  cairo_status_t status = end_surface(surface);
  return described == CAIRO_STATUS_SUCCESS ? status : described;
}

/* Drop the numbers behind "surface": cairo counts all surfaces of the process in them, so that the
 * same drawing would be another file each time. */
static void drop_surface_numbers(struct sink *sink) {
  static const char name[] = "id=\"surface";
  const size_t named = sizeof name - 1;
  size_t kept = 0;
  for (size_t i = 0; i < sink->length;) {
    bool ours = kept >= named && memcmp(sink->bytes + kept - named, name, named) == 0;
    while (ours && i < sink->length && lb_plain_digit(sink->bytes[i]))
      i++;
    if (i < sink->length)
      sink->bytes[kept++] = sink->bytes[i++];
  }
  sink->length = kept;
}

static cairo_status_t write_svg(struct sink *sink, const struct lb_drawing *drawing) {
  cairo_surface_t *surface = cairo_svg_surface_create_for_stream(take, sink, drawing->page[0].width,
                                                                 drawing->page[0].height);
  cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_MM);
  paint_page(surface, drawing, &drawing->page[0], 1);
  cairo_status_t status = end_surface(surface);
  drop_surface_numbers(sink);
  return status;
}

/* A number of PNG: four bytes, the greatest first. */
static void put_number(unsigned char *to, uint32_t number) {
  for (int i = 0; i < 4; i++)
    to[i] = (unsigned char)(number >> (24 - 8 * i) & 0xFF);
}

/* Say the resolution: the chunk pHYs goes behind the signature and the chunk IHDR. Its data are
 * pixels per unit in x and y and the unit, the metre; length and checksum stand around. */
static cairo_status_t put_resolution(struct sink *sink, double dpi) {
  enum {
    DATA = 9,
    CHUNK = 4 + 4 + DATA + 4, /* length, name, data, checksum */
    PLACE = 8 + 25            /* bytes of the signature and of IHDR */
  };
  const double millimetres_per_metre = 1000;
  uint32_t density = (uint32_t)lround(dpi * millimetres_per_metre / millimetres_per_inch);
  unsigned char chunk[CHUNK] = {0};
  put_number(chunk, DATA);
  memcpy(chunk + 4, "pHYs", 4);
  put_number(chunk + 8, density);
  put_number(chunk + 12, density);
  chunk[16] = 1; /* the metre */
  put_number(chunk + 4 + 4 + DATA, lb_checksum((const char *)chunk + 4, 4 + DATA));
  cairo_status_t status = take(sink, chunk, CHUNK);
  if (status == CAIRO_STATUS_SUCCESS) {
    memmove(sink->bytes + PLACE + CHUNK, sink->bytes + PLACE, sink->length - PLACE - CHUNK);
    memcpy(sink->bytes + PLACE, chunk, CHUNK);
  }
  return status;
}

/* The pixels that hold a length; one that is a hair over a whole number takes no further one. */
static int pixels(double length, double unit) {
  return (int)fmin(ceil(length * unit - tolerance), INT_MAX);
}

static cairo_status_t write_png(struct sink *sink, const struct lb_drawing *drawing, double dpi) {
  const struct lb_page *page = &drawing->page[0];
  const double unit = dpi / millimetres_per_inch;
  cairo_surface_t *surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, pixels(page->width, unit), pixels(page->height, unit));
  cairo_t *cairo = cairo_create(surface);
  cairo_set_source_rgb(cairo, 1, 1, 1);
  cairo_paint(cairo);
  cairo_destroy(cairo);
  paint_page(surface, drawing, page, unit);
  cairo_status_t status = cairo_surface_write_to_png_stream(surface, take, sink);
  cairo_surface_destroy(surface);
  return status == CAIRO_STATUS_SUCCESS ? put_resolution(sink, dpi) : status;
}

static cairo_status_t write_format(struct sink *sink, const struct lb_drawing *drawing,
                                   enum lb_drawing_format format, const char *title, double dpi) {
  switch (format) {
  case LB_DRAWING_PDF:
    return write_pdf(sink, drawing, title);
  case LB_DRAWING_SVG:
    return write_svg(sink, drawing);
  case LB_DRAWING_PNG:
    break;
  }
  return write_png(sink, drawing, dpi);
}

/* Say why cairo refused. */
static enum lb_status refused(cairo_status_t status, enum lb_drawing_format format,
                              struct lb_error *error) {
  if (status == CAIRO_STATUS_NO_MEMORY)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the drawing%s",
                        format == LB_DRAWING_PNG ? "; a lower resolution takes less" : "");
  if (status == CAIRO_STATUS_INVALID_SIZE)
    return lb_error_set(error, LB_NUMERIC,
                        "the drawing has more pixels than a picture may have; "
                        "ask for a lower resolution, or for a PDF");
  return lb_error_set(error, LB_NUMERIC, "cairo cannot write the drawing (%s); try another format",
                      cairo_status_to_string(status));
}

enum lb_status lb_drawing_write(char **bytes, size_t *length, const struct lb_drawing *drawing,
                                enum lb_drawing_format format, const char *title, double dpi,
                                struct lb_error *error) {
  enum lb_status whole = lb_drawing_status(drawing, error);
  if (whole != LB_OK)
    return whole;
  if (drawing->pages == 0)
    return lb_error_set(error, LB_BAD_INPUT, "the drawing has no page; draw something first");
  struct sink sink = {0};
  cairo_status_t status = write_format(&sink, drawing, format, title, dpi);
  if (status != CAIRO_STATUS_SUCCESS) {
    free(sink.bytes);
    return refused(status, format, error);
  }
  *bytes = sink.bytes;
  *length = sink.length;
  return LB_OK;
}
