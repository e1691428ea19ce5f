/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files of a drawing, read back by programs that are not ours: poppler, Pillow, ezdxf, and a
 * reader of SVG.
 */
#include "paper/drawing_cairo.h"
#include "paper/drawing_dxf.h"

#include "base/constants.h"
#include "readers.h"
#include "support.h"

#include <locale.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* What cairo's fixed numbers leave of a millimetre: 1/256 of a unit, in SVG a millimetre. */
#define FIXED_NUMBERS (1.0 / 256)

static const struct lb_pen pen = {.layer = LB_LAYER_MARK, .width = 0.25};
static const struct lb_pen cut = {.layer = LB_LAYER_CUT, .width = 0.13};
static const struct lb_pen dashed = {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 2};
static const double degree = LB_PI / 180;

static struct lb_drawing drawing;
static char *bytes;
static size_t length;

static struct lb_point point(double x, double y) {
  return (struct lb_point){x, y};
}

static const struct lb_point triangle[] = {{150, 30}, {190, 30}, {190, 60}};
static const struct lb_point bar[] = {{20, 40}, {120, 40}, {120, 45}, {20, 45}};
static const struct lb_point shaded[] = {{20, 200}, {60, 200}, {60, 240}, {20, 240}};
static const struct lb_point hatched[] = {{80, 200}, {120, 200}, {120, 240}, {80, 240}};

/* One of each shape on an A4 page. */
static void probe(void) {
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "Probe", 210, 297);
  lb_drawing_line(&drawing, &pen, point(20, 20), point(120, 20));
  lb_drawing_line(&drawing, &pen, point(15, 30), point(15, 130));
  lb_drawing_circle(&drawing, &cut, point(60, 100), 25);
  lb_drawing_arc(&drawing, &dashed, point(140, 120), 30, 30 * degree, 300 * degree);
  lb_drawing_polyline(&drawing, &cut, triangle, 3, true);
  lb_drawing_polyline(&drawing, &cut, triangle, 2, false);
  lb_drawing_area(&drawing, 0, bar, 4);
  lb_drawing_area(&drawing, 0.7, shaded, 4);
  lb_drawing_sector(&drawing, 0.7, point(140, 180), 5, 15, 0, 1);
  lb_drawing_hatch(&drawing, &pen, hatched, 4, 45 * degree, 2);
}

/* A text of the probe: where the reader of DXF finds it, and its letters as they should be read. */
static const struct {
  struct lb_lettering lettering;
  struct lb_point at;
  const char *utf8;
  int across, up;
} texts[] = {
    {{.size = 5}, {30, 260}, "Inlet closes 57.3\u00B0 \u00B1 0.5\u00B0", 0, 0},
    {{.size = 4, .align = LB_ALIGN_RIGHT}, {190, 262}, "\u00D6ffnung \u03B1 = 30 %", 2, 0},
    {{.size = 4, .align = LB_ALIGN_BELOW, .bold = true}, {100, 272}, "IIIIIIII", 1, 0},
    {{.size = 4, .align = LB_ALIGN_MIDDLE, .turn = LB_PI / 6}, {150, 275}, "a^b \\U+0041", 1, 2},
};

enum {
  TEXTS = sizeof texts / sizeof texts[0]
};

static void probe_texts(void) {
  for (size_t i = 0; i < TEXTS; i++)
    lb_drawing_text(&drawing, &texts[i].lettering, texts[i].at, texts[i].utf8);
}

static void write_as(enum lb_drawing_format format, double dpi) {
  struct lb_error error = {0};
  bytes = NULL;
  enum lb_status status =
      lb_drawing_write(&bytes, &length, &drawing, format, "Sheets of \u00DC\xFF", dpi, &error);
  ck_assert_msg(status == LB_OK, "%s", error.text);
}

static void write_dxf(void) {
  struct lb_error error = {0};
  bytes = NULL;
  ck_assert_msg(lb_drawing_dxf(&bytes, &length, &drawing, &error) == LB_OK, "%s", error.text);
}

static void release(void) {
  free(bytes);
  lb_drawing_free(&drawing);
}

/* The numbers of a line are these. */
#define ck_numbers(line, tolerance, ...)                                                           \
  do {                                                                                             \
    const double wanted[] = {__VA_ARGS__};                                                         \
    ck_assert_msg((line).numbers == sizeof wanted / sizeof wanted[0], "%s", (line).text);          \
    for (size_t n = 0; n < (line).numbers; n++)                                                    \
      ck_assert_msg(fabs((line).number[n] - wanted[n]) <= (tolerance), "%s: number %zu is not %g", \
                    (line).text, n, wanted[n]);                                                    \
  } while (0)

/* The shapes of the probe as a reader of paths shows them, in the order drawn. */
static void ck_paths(const char *output) {
  struct readers_line line = readers_first(output, "page");
  const char *at = output;
  ck_numbers(line, 1e-4, 210, 297);
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.25, 20, 20, 120, 20);
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.25, 15, 30, 15, 130);
  ck_assert(readers_next(&line, &at, "curve"));
  ck_numbers(line, 2 * FIXED_NUMBERS, 0.13, 35, 75, 85, 125);
  ck_assert(readers_next(&line, &at, "curve"));
  ck_numbers(line, 2 * FIXED_NUMBERS, 0.25, 110, 90, 140 + 30 * cos(30 * degree), 150);
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.13, 150, 30, 190, 30, 190, 60, 150, 30);
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.13, 150, 30, 190, 30);
  ck_assert(readers_next(&line, &at, "area"));
  ck_numbers(line, FIXED_NUMBERS, 0, 20, 40, 120, 45);
  ck_assert(readers_next(&line, &at, "area"));
  ck_numbers(line, FIXED_NUMBERS, 0.7, 20, 200, 60, 240);
  ck_assert(readers_next(&line, &at, "area"));
  ck_numbers(line, 2 * FIXED_NUMBERS, 0.7, 140 + 5 * cos(1), 180, 155, 180 + 15 * sin(1));
}

START_TEST(pdf_is_true_to_size) {
  probe();
  write_as(LB_DRAWING_PDF, 0);
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_paths.py FILE 1", ".pdf", bytes, length);
  ck_paths(output);
  free(output);
  release();
}
END_TEST

START_TEST(svg_is_true_to_size) {
  probe();
  write_as(LB_DRAWING_SVG, 0);
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_paths.py FILE", ".svg", bytes, length);
  ck_paths(output);
  free(output);
  output = readers_run("cat FILE", ".svg", bytes, length);
  ck_assert(strstr(output, " width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\"") != NULL);
  free(output);
  release();
}
END_TEST

START_TEST(pdf_has_all_pages) {
  probe();
  lb_drawing_page(&drawing, "A3", 420, 297);
  lb_drawing_line(&drawing, &pen, point(300, 20), point(400, 20));
  write_as(LB_DRAWING_PDF, 0);
  char *output = readers_run("pdfinfo -f 1 -l 2 FILE", ".pdf", bytes, length);
  struct readers_line line = readers_first(output, "Page    1 size:");
  ck_close(line.number[1], 210 / 25.4 * 72, 1e-2);
  ck_close(line.number[2], 297 / 25.4 * 72, 1e-2);
  line = readers_first(output, "Page    2 size:");
  ck_close(line.number[1], 420 / 25.4 * 72, 1e-2);
  ck_close(line.number[2], 297 / 25.4 * 72, 1e-2);
  ck_assert_str_eq(readers_first(output, "Pages:").text, "Pages:           2");
  ck_assert_str_eq(readers_first(output, "Title:").text, "Title:           Sheets of \u00DC\uFFFD");
  ck_assert_str_eq(readers_first(output, "Creator:").text,
                   "Creator:         lastbar " PACKAGE_VERSION);
  ck_assert_uint_eq(readers_count(output, "CreationDate"), 0);
  ck_assert_uint_eq(readers_count(output, "ModDate"), 0);
  free(output);
  output = readers_run("/usr/bin/python3 tests/paper/read_paths.py FILE 2", ".pdf", bytes, length);
  line = readers_first(output, "line");
  ck_numbers(line, FIXED_NUMBERS, 0.25, 300, 20, 400, 20);
  free(output);
  release();
}
END_TEST

/* Through a view a line is longer and not thicker, and what lies outside its window is not seen. */
START_TEST(views_are_drawn) {
  const struct lb_view view = {
      .origin = {10, 20}, .scale_x = 1.02, .scale_y = 0.5, .window = {20, 20, 100, 100}};
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "View", 200, 150);
  lb_drawing_view(&drawing, &view);
  lb_drawing_line(&drawing, &pen, point(0, 100), point(100, 120));
  lb_drawing_area(&drawing, 0, (struct lb_point[]){{0, 0}, {300, 0}, {300, 300}, {0, 300}}, 4);
  lb_drawing_page_view(&drawing);
  lb_drawing_line(&drawing, &pen, point(0, 120), point(100, 120));
  write_as(LB_DRAWING_SVG, 0);
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_paths.py FILE", ".svg", bytes, length);
  const char *at = output;
  struct readers_line line;
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.25, 10, 70, 112, 80);
  ck_assert(readers_next(&line, &at, "line"));
  ck_numbers(line, FIXED_NUMBERS, 0.25, 0, 120, 100, 120);
  free(output);
  free(bytes);
  write_as(LB_DRAWING_PNG, 254);
  output = readers_run("/usr/bin/python3 tests/paper/read_png.py FILE 0 0 200 119", ".png", bytes,
                       length);
  line = readers_first(output, "inked");
  ck_numbers(line, 0.11, 80.0 * 80 / (200 * 119), 20, 20, 100, 100);
  free(output);
  release();
}
END_TEST

/* The bar is as long as it should be to a pixel; shaded and hatched areas are as dark as they
 * should be to a hundredth. */
START_TEST(png_is_true_to_size) {
  const double dpi = 300, pixel = 25.4 / dpi;
  probe();
  write_as(LB_DRAWING_PNG, dpi);
  char *output = readers_run(
      "/usr/bin/python3 tests/paper/read_png.py FILE 18 38 130 47 20 200 60 240 80 200 120 240 "
      "10 10 130 25",
      ".png", bytes, length);
  struct readers_line line = readers_first(output, "size");
  ck_numbers(line, 0, ceil(210 / pixel), ceil(297 / pixel));
  line = readers_first(output, "dpi");
  ck_numbers(line, 0.0254 / 2, dpi, dpi);
  const char *at = output;
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close(line.number[1], 20, pixel);
  ck_close(line.number[2], 40, pixel);
  ck_close(line.number[3], 120, pixel);
  ck_close(line.number[4], 45, pixel);
  ck_close_relative(line.number[0], 100.0 * 5 / (112 * 9), 0.01);
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close_relative(line.number[0], 0.3, 0.01);
  double hatching = 0;
  for (size_t i = 0; i < drawing.shapes; i++) {
    const struct lb_shape *shape = &drawing.shape[i];
    if (shape->kind == LB_SHAPE_LINE && shape->at.y > 199)
      hatching += 0.25 * hypot(shape->to.x - shape->at.x, shape->to.y - shape->at.y);
  }
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close_relative(line.number[0], hatching / (40 * 40), 0.01);
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close(line.number[3] - line.number[1], 100, pixel);
  free(output);
  release();
}
END_TEST

/* Where the letters "HHH" of a body of 10 mm lie: in DejaVu Sans an H is 0.729 high and has a
 * margin of 0.098 on both sides of its advance of 0.752. */
START_TEST(letters_stand_where_they_should) {
  static const struct {
    struct lb_lettering lettering;
    double left, bottom, right, top; /* [mm] from the point */
  } row[] = {
      {{10, LB_ALIGN_LEFT, false, 0}, 0.98, 0, 21.58, 7.29},
      {{10, LB_ALIGN_RIGHT, false, 0}, -21.58, 0, -0.98, 7.29},
      {{10, LB_ALIGN_BELOW, false, 0}, -10.3, 0, 10.3, 7.29},
      {{10, LB_ALIGN_MIDDLE, false, 0}, -10.3, -3.65, 10.3, 3.65},
      {{10, LB_ALIGN_LEFT, false, LB_PI / 2}, -7.29, 0.98, 0, 21.58},
      {{10, LB_ALIGN_MIDDLE, false, LB_PI / 2}, -3.65, -10.3, 3.65, 10.3},
      {{10, LB_ALIGN_RIGHT, false, LB_PI}, 0.98, -7.29, 21.58, 0},
  };
  const double pixel = 0.1;
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    drawing = (struct lb_drawing){0};
    lb_drawing_page(&drawing, "Letters", 60, 60);
    lb_drawing_text(&drawing, &row[i].lettering, point(30, 30), "HHH");
    write_as(LB_DRAWING_PNG, 254);
    char *output = readers_run("/usr/bin/python3 tests/paper/read_png.py FILE 0 0 60 60", ".png",
                               bytes, length);
    struct readers_line line = readers_first(output, "inked");
    ck_close(line.number[1], 30 + row[i].left, pixel);
    ck_close(line.number[2], 30 + row[i].bottom, pixel);
    ck_close(line.number[3], 30 + row[i].right, pixel);
    ck_close(line.number[4], 30 + row[i].top, pixel);
    free(output);
    release();
  }
}
END_TEST

START_TEST(dashes_are_as_long_as_gaps) {
  const struct lb_pen broad = {.layer = LB_LAYER_MARK, .width = 1, .dash = 2};
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "Dashes", 60, 20);
  lb_drawing_line(&drawing, &broad, point(10, 10), point(50, 10));
  write_as(LB_DRAWING_PNG, 254);
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_png.py FILE 10 9.5 50 10.5 12 9.5 14 10.5",
                  ".png", bytes, length);
  const char *at = output;
  struct readers_line line;
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close(line.number[0], 0.5, 0.005);
  ck_assert(readers_next(&line, &at, "inked"));
  ck_close(line.number[0], 0, 0.005);
  free(output);
  release();
}
END_TEST

/* Letters are letters, carried along with their font, and none is wider than was said. */
START_TEST(pdf_has_letters) {
  const double point_length = 25.4 / 72;
  probe();
  probe_texts();
  write_as(LB_DRAWING_PDF, 0);
  char *output = readers_run("pdftotext -layout FILE -", ".pdf", bytes, length);
  ck_assert(strstr(output, texts[0].utf8) && strstr(output, texts[1].utf8));
  free(output);
  output = readers_run("pdffonts FILE", ".pdf", bytes, length);
  ck_assert_msg(strstr(output, "DejaVuSans") != NULL,
                "no letters of DejaVu Sans; install Debian's fonts-dejavu-core:\n%s", output);
  struct readers_line line;
  const char *at = strstr(output, "--\n") + strlen("--\n");
  while (readers_next(&line, &at, ""))
    ck_assert_msg(strstr(line.text, " yes yes yes "), "not carried along: %s", line.text);
  free(output);
  output = readers_run("pdftotext -bbox FILE - | tr '\"' ' ' | grep IIII", ".pdf", bytes, length);
  line = readers_first(output, "");
  double width = lb_drawing_text_width(&texts[2].lettering, texts[2].utf8);
  ck_close((line.number[2] - line.number[0]) * point_length, width, 0.01);
  ck_close((line.number[2] + line.number[0]) / 2 * point_length, texts[2].at.x, 0.01);
  free(output);
  release();
}
END_TEST

/* Each letter of ASCII as the font has it is hardly narrower than the table says, and never wider:
 * poppler tells how far sixteen of them reach. */
START_TEST(widths_are_those_of_the_font) {
  const double point_length = 25.4 / 72;
  const struct lb_lettering lettering = {.size = 4};
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "Letters", 210, 1000);
  for (int letter = '!'; letter <= '~'; letter++) {
    char text[17];
    memset(text, letter, 16);
    text[16] = '\0';
    lb_drawing_text(&drawing, &lettering, point(10, 10 * (letter - '!') + 10), text);
  }
  write_as(LB_DRAWING_PDF, 0);
  char *output =
      readers_run("pdftotext -bbox FILE - | grep '<word' | tr '\"' ' '", ".pdf", bytes, length);
  struct readers_line line;
  int letter = '~';
  for (const char *at = output; readers_next(&line, &at, ""); letter--) {
    char text[2] = {(char)letter, '\0'};
    double table = 16 * lb_drawing_text_width(&lettering, text);
    double width = (line.number[2] - line.number[0]) * point_length;
    ck_assert_msg(width <= table + 0.01 && width >= table - 16 * 0.01 * 4, "%s: %g, %g", text,
                  width, table);
  }
  ck_assert_int_eq(letter, '!' - 1);
  free(output);
  release();
}
END_TEST

START_TEST(dxf_has_true_shapes) {
  probe();
  lb_drawing_arc(&drawing, &cut, point(60, 100), 20, -60 * degree, 30 * degree);
  write_dxf();
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_dxf.py FILE", ".dxf", bytes, length);
  ck_assert_str_eq(readers_first(output, "version").text, "version AC1009");
  ck_assert_str_eq(readers_first(output, "unit").text, "unit 4");
  ck_assert_str_eq(readers_first(output, "layer CUT").text, "layer CUT 1");
  ck_assert_str_eq(readers_first(output, "layer MARK").text, "layer MARK 5");
  ck_assert_str_eq(readers_first(output, "layer TEXT").text, "layer TEXT 3");
  ck_numbers(readers_first(output, "linetype DASHED_2000"), 1e-6, 4, 2, -2);
  ck_assert_uint_eq(readers_count(output, "fault"), 0);
  ck_assert_uint_eq(readers_count(output, "CIRCLE"), 1);
  ck_assert_uint_eq(readers_count(output, "ARC"), 2);
  ck_assert_uint_eq(readers_count(output, "POLYLINE"), 2);
  size_t lines = 0;
  for (size_t i = 0; i < drawing.shapes; i++)
    lines += drawing.shape[i].kind == LB_SHAPE_LINE;
  ck_assert_uint_gt(lines, 20);
  ck_assert_uint_eq(readers_count(output, "LINE MARK BYLAYER"), lines);
  ck_numbers(readers_first(output, "LINE"), 1e-6, 20, 20, 120, 20);
  ck_numbers(readers_first(output, "CIRCLE CUT BYLAYER"), 1e-6, 60, 100, 25);
  ck_numbers(readers_first(output, "ARC MARK DASHED_2000"), 1e-6, 140, 120, 30, 30, 300);
  ck_numbers(readers_first(output, "ARC CUT BYLAYER"), 1e-6, 60, 100, 20, 300, 30);
  ck_numbers(readers_first(output, "POLYLINE CUT BYLAYER 1"), 1e-6, 1, 150, 30, 190, 30, 190, 60);
  ck_numbers(readers_first(output, "POLYLINE CUT BYLAYER 0"), 1e-6, 0, 150, 30, 190, 30);
  ck_numbers(readers_first(output, "TEXT 0"), 1e-6, 0, 2, 0, 0, 0, 0, 0, 0, 0);
  free(output);
  release();
}
END_TEST

START_TEST(dxf_has_letters) {
  probe();
  probe_texts();
  write_dxf();
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_dxf.py FILE", ".dxf", bytes, length);
  struct readers_line line;
  const char *at = output;
  for (size_t i = 0; i < TEXTS; i++) {
    const struct lb_lettering *lettering = &texts[i].lettering;
    ck_assert(readers_next(&line, &at, "TEXT TEXT"));
    ck_close(line.number[0], 0.73 * lettering->size, 1e-6);
    ck_close(line.number[1], lettering->turn / degree, 1e-6);
    ck_assert_int_eq((int)line.number[2], texts[i].across);
    ck_assert_int_eq((int)line.number[3], texts[i].up);
    ck_close(line.number[4], texts[i].at.x, 1e-6);
    ck_close(line.number[5], texts[i].at.y, 1e-6);
    struct lb_point corner[4];
    lb_drawing_text_corners(corner, &drawing, &drawing.shape[drawing.shapes - TEXTS + i]);
    double rise = 0.24 * lettering->size;
    ck_close(line.number[6], corner[0].x - rise * sin(lettering->turn), 1e-6);
    ck_close(line.number[7], corner[0].y + rise * cos(lettering->turn), 1e-6);
    size_t behind = strlen(line.text) - strlen(texts[i].utf8);
    ck_assert_str_eq(line.text + behind, texts[i].utf8);
  }
  ck_assert(!readers_next(&line, &at, "TEXT TEXT"));
  free(output);
  release();
}
END_TEST

/* The bytes that a text becomes: commands of the format that a name holds by chance are not ones,
 * and a letter that the format cannot name is not left out silently. */
START_TEST(dxf_words) {
  const struct lb_lettering plain = {.size = 4};
  static const struct {
    const char *utf8, *written;
  } row[] = {
      {"50 %", "50 %"},
      {"%%d", "%%%%d"},
      {"%%%", "%%%%%%%"},
      {"5%\u00B0", "5%%%%%d"},
      {"\u00B1\u00B0", "%%p%%d"},
      {"^J", "^ J"},
      {"\\U+0041\\u\\", "\\U+005CU+0041\\u\\"},
      {"\u00E4\u6771", "\\U+00E4\\U+6771"},
      {"\U0001F682", "?"},
  };
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    char wanted[64];
    probe();
    lb_drawing_text(&drawing, &plain, point(50, 50), row[i].utf8);
    write_dxf();
    snprintf(wanted, sizeof wanted, "\r\n  1\r\n%s\r\n", row[i].written);
    ck_assert_msg(strstr(bytes, wanted) != NULL, "%s", row[i].written);
    release();
  }
}
END_TEST

/* Nothing but ASCII in lines that end alike, pairs of a code and a value, and no nought with a
 * sign. */
START_TEST(dxf_is_well_formed) {
  probe();
  probe_texts();
  lb_drawing_line(&drawing, &pen, point(-1e-9, -0.0), point(1e-9, 3));
  write_dxf();
  ck_assert_uint_eq(strlen(bytes), length);
  size_t lines = 0;
  for (const char *at = bytes; *at; lines++) {
    const char *end = strstr(at, "\r\n");
    ck_assert_ptr_nonnull(end);
    for (const char *c = at; c < end; c++)
      ck_assert(*c >= ' ' && *c <= '~');
    if (lines % 2 == 0) {
      char *rest;
      long code = strtol(at, &rest, 10);
      ck_assert(rest == end && code >= 0 && code <= 999);
    }
    at = end + 2;
  }
  ck_assert_uint_eq(lines % 2, 0);
  ck_assert(strstr(bytes, "-0.000000") == NULL);
  ck_assert(strstr(bytes, "one unit is one millimetre") != NULL);
  const char end[] = "  0\r\nEOF\r\n";
  ck_assert_str_eq(bytes + length - strlen(end), end);
  release();
}
END_TEST

/* A window cuts what is drawn through it: a line, a polyline, a circle that becomes an arc. */
START_TEST(dxf_is_cut_to_windows) {
  const struct lb_view view = {
      .origin = {10, 0}, .scale_x = 1, .scale_y = 1, .window = {20, 20, 100, 100}};
  const struct lb_lettering plain = {.size = 4};
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "Page", 210, 297);
  lb_drawing_view(&drawing, &view);
  lb_drawing_line(&drawing, &pen, point(0, 30), point(50, 30));
  lb_drawing_line(&drawing, &pen, point(0, 10), point(50, 10));
  lb_drawing_polyline(&drawing, &pen, (struct lb_point[]){{20, 50}, {80, 50}, {120, 50}}, 3, true);
  lb_drawing_circle(&drawing, &pen, point(90, 60), 20);
  lb_drawing_circle(&drawing, &pen, point(50, 60), 40);
  lb_drawing_text(&drawing, &plain, point(50, 60), "inside");
  lb_drawing_text(&drawing, &plain, point(50, 160), "outside");
  lb_drawing_page_view(&drawing);
  lb_drawing_line(&drawing, &pen, point(210 + 1e-9, 10), point(210 + 1e-9, 20));
  write_dxf();
  char *output =
      readers_run("/usr/bin/python3 tests/paper/read_dxf.py FILE", ".dxf", bytes, length);
  const char *at = output;
  struct readers_line line;
  ck_assert(readers_next(&line, &at, "LINE"));
  ck_numbers(line, 1e-5, 20, 30, 60, 30);
  ck_assert(readers_next(&line, &at, "LINE"));
  ck_numbers(line, 1e-5, 30, 50, 90, 50);
  ck_assert(readers_next(&line, &at, "LINE"));
  ck_numbers(line, 1e-5, 90, 50, 100, 50);
  ck_assert(readers_next(&line, &at, "LINE"));
  ck_numbers(line, 1e-5, 100, 50, 30, 50);
  ck_assert(readers_next(&line, &at, "LINE"));
  ck_numbers(line, 1e-5, 210, 10, 210, 20);
  ck_assert(!readers_next(&line, &at, "LINE"));
  ck_numbers(readers_first(output, "ARC"), 1e-5, 100, 60, 20, 90, 270);
  ck_numbers(readers_first(output, "CIRCLE"), 1e-5, 60, 60, 40);
  ck_assert_uint_eq(readers_count(output, "ARC"), 1);
  ck_assert_uint_eq(readers_count(output, "TEXT TEXT"), 1);
  free(output);
  release();
}
END_TEST

START_TEST(refusals) {
  struct lb_error error;
  char *untouched = (char *)&error;
  bytes = untouched;
  drawing = (struct lb_drawing){0};
  const char *const no_page = "the drawing has no page; draw something first";
  ck_assert_int_eq(lb_drawing_write(&bytes, &length, &drawing, LB_DRAWING_PDF, "", 0, &error),
                   LB_BAD_INPUT);
  ck_assert_str_eq(error.text, no_page);
  ck_assert_int_eq(lb_drawing_dxf(&bytes, &length, &drawing, &error), LB_BAD_INPUT);
  ck_assert_str_eq(error.text, no_page);
  probe();
  struct lb_view view = drawing.view[0];
  view.scale_y = 1.01;
  lb_drawing_view(&drawing, &view);
  lb_drawing_line(&drawing, &pen, point(10, 10), point(20, 20));
  ck_assert_int_eq(lb_drawing_dxf(&bytes, &length, &drawing, &error), LB_BAD_INPUT);
  ck_assert_str_eq(error.text, "a part of the drawing is not true to size, as a DXF is; draw it "
                               "without correction for a printer");
  drawing.failed = true;
  ck_assert_int_eq(lb_drawing_dxf(&bytes, &length, &drawing, &error), LB_NO_MEMORY);
  ck_assert_int_eq(lb_drawing_write(&bytes, &length, &drawing, LB_DRAWING_SVG, "", 0, &error),
                   LB_NO_MEMORY);
  lb_drawing_free(&drawing);
  lb_drawing_page(&drawing, "Long", 10, 30000);
  ck_assert_int_eq(
      lb_drawing_write(&bytes, &length, &drawing, LB_DRAWING_PNG, "", LB_DPI_USUAL, &error),
      LB_NUMERIC);
  ck_assert_str_eq(error.text, "the drawing has more pixels than a picture may have; ask for a "
                               "lower resolution, or for a PDF");
  ck_assert_ptr_eq(bytes, untouched);
  lb_drawing_free(&drawing);
}
END_TEST

/* All the bytes of the probe in a format, the last being DXF. */
enum {
  FORMATS = LB_DRAWING_PNG + 2
};

static void write_format(int format) {
  if (format <= LB_DRAWING_PNG)
    write_as((enum lb_drawing_format)format, LB_DPI_USUAL);
  else
    write_dxf();
}

/* Neither the time nor the locale is in a file. */
START_TEST(same_bytes_again) {
  char *before[FORMATS];
  size_t lengths[FORMATS];
  probe();
  probe_texts();
  for (int i = 0; i < FORMATS; i++) {
    write_format(i);
    before[i] = bytes;
    lengths[i] = length;
  }
  nanosleep(&(struct timespec){.tv_sec = 1, .tv_nsec = 100000000}, NULL);
  support_decimal_comma();
  for (int i = 0; i < FORMATS; i++) {
    write_format(i);
    ck_assert_msg(length == lengths[i] && memcmp(bytes, before[i], length) == 0, "format %d", i);
    free(bytes);
    free(before[i]);
  }
  setlocale(LC_ALL, "C");
  lb_drawing_free(&drawing);
}
END_TEST

/* What one thread writes while others do the same. */
struct written {
  char *bytes[LB_DRAWING_PNG + 1];
  size_t length[LB_DRAWING_PNG + 1];
};

static void *write_all(void *context) {
  struct written *written = context;
  for (int i = 0; i <= LB_DRAWING_PNG; i++)
    lb_drawing_write(&written->bytes[i], &written->length[i], &drawing, (enum lb_drawing_format)i,
                     "Threads", LB_DPI_USUAL, NULL);
  return NULL;
}

START_TEST(threads_do_not_disturb) {
  enum {
    THREADS = 4
  };
  pthread_t thread[THREADS];
  struct written written[THREADS] = {0}, alone = {0};
  probe();
  probe_texts();
  for (int i = 0; i < THREADS; i++)
    ck_assert_int_eq(pthread_create(&thread[i], NULL, write_all, &written[i]), 0);
  for (int i = 0; i < THREADS; i++)
    ck_assert_int_eq(pthread_join(thread[i], NULL), 0);
  write_all(&alone);
  for (int k = 0; k <= LB_DRAWING_PNG; k++) {
    ck_assert_ptr_nonnull(alone.bytes[k]);
    for (int i = 0; i < THREADS; i++) {
      ck_assert_ptr_nonnull(written[i].bytes[k]);
      ck_assert_uint_eq(written[i].length[k], alone.length[k]);
      ck_assert_mem_eq(written[i].bytes[k], alone.bytes[k], alone.length[k]);
      free(written[i].bytes[k]);
    }
    free(alone.bytes[k]);
  }
  lb_drawing_free(&drawing);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/drawing_files");
  TCase *files = tcase_create("files");
  tcase_set_timeout(files, 120);
  tcase_add_test(files, pdf_is_true_to_size);
  tcase_add_test(files, svg_is_true_to_size);
  tcase_add_test(files, pdf_has_all_pages);
  tcase_add_test(files, views_are_drawn);
  tcase_add_test(files, png_is_true_to_size);
  tcase_add_test(files, letters_stand_where_they_should);
  tcase_add_test(files, dashes_are_as_long_as_gaps);
  tcase_add_test(files, pdf_has_letters);
  tcase_add_test(files, widths_are_those_of_the_font);
  tcase_add_test(files, dxf_has_true_shapes);
  tcase_add_test(files, dxf_has_letters);
  tcase_add_test(files, dxf_words);
  tcase_add_test(files, dxf_is_well_formed);
  tcase_add_test(files, dxf_is_cut_to_windows);
  tcase_add_test(files, refusals);
  tcase_add_test(files, same_bytes_again);
  tcase_add_test(files, threads_do_not_disturb);
  suite_add_tcase(suite, files);
  return support_run(suite, NULL);
}
