/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shapes and their boxes, texts and the room they take, hatching against areas known, windows.
 */
#include "paper/drawing.h"

#include "base/constants.h"
#include "paper/drawing_clip.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

static const struct lb_pen thin = {.layer = LB_LAYER_MARK, .width = 0.2};
static const double quarter = LB_PI / 2, turn = 2 * LB_PI;

static struct lb_drawing drawing;

static void begin(void) {
  drawing = (struct lb_drawing){0};
  lb_drawing_page(&drawing, "Page", 200, 100);
}

/* Every drawing of these tests is whole. */
static void end(void) {
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  lb_drawing_free(&drawing);
}

static struct lb_point point(double x, double y) {
  return (struct lb_point){x, y};
}

static const struct lb_shape *last(void) {
  ck_assert_uint_gt(drawing.shapes, 0);
  return &drawing.shape[drawing.shapes - 1];
}

/* The box of the shape added last. */
static void ck_box(double left, double bottom, double right, double top) {
  struct lb_box box = lb_drawing_box(&drawing, last());
  ck_close(box.left, left, IDENTITY * 200);
  ck_close(box.bottom, bottom, IDENTITY * 200);
  ck_close(box.right, right, IDENTITY * 200);
  ck_close(box.top, top, IDENTITY * 200);
}

START_TEST(boxes_of_lines) {
  static const struct lb_point corner[] = {{10, 10}, {30, 50}, {60, 20}};
  begin();
  lb_drawing_line(&drawing, &thin, point(30, 20), point(10, 50));
  ck_box(9.9, 19.9, 30.1, 50.1);
  lb_drawing_polyline(&drawing, &thin, corner, 3, true);
  ck_box(9.9, 9.9, 60.1, 50.1);
  lb_drawing_area(&drawing, 0.5, corner, 3);
  ck_box(10, 10, 60, 50);
  lb_drawing_circle(&drawing, &thin, point(50, 40), 20);
  ck_box(29.9, 19.9, 70.1, 60.1);
  lb_drawing_line(&drawing, &thin, point(-30, 20), point(10, 150));
  ck_box(0, 19.9, 10.1, 100);
  lb_drawing_line(&drawing, &thin, point(-30, 20), point(-10, 30));
  ck_box(0, 19.9, 0, 30.1);
  end();
}
END_TEST

START_TEST(boxes_of_arcs) {
  begin();
  lb_drawing_arc(&drawing, &thin, point(50, 50), 20, 0, quarter);
  ck_box(49.9, 49.9, 70.1, 70.1);
  lb_drawing_arc(&drawing, &thin, point(50, 50), 20, -LB_PI / 6, LB_PI / 6);
  ck_box(50 + 10 * sqrt(3) - 0.1, 39.9, 70.1, 60.1);
  lb_drawing_arc(&drawing, &thin, point(50, 50), 20, LB_PI / 6, -LB_PI / 6);
  ck_box(29.9, 29.9, 50 + 10 * sqrt(3) + 0.1, 70.1);
  lb_drawing_sector(&drawing, 0.5, point(50, 50), 10, 20, LB_PI / 6, LB_PI / 3);
  ck_box(55, 55, 50 + 10 * sqrt(3), 50 + 10 * sqrt(3));
  lb_drawing_sector(&drawing, 0.5, point(50, 50), 0, 20, LB_PI, LB_PI + quarter);
  ck_box(30, 30, 50, 50);
  end();
}
END_TEST

/* Against points along the arc: the box holds all, and none of its sides lies further out than the
 * sagitta between two points. */
START_TEST(boxes_of_random_arcs) {
  enum {
    STEPS = 500
  };
  uint64_t seed = 1;
  begin();
  for (int i = 0; i < support_times(300); i++) {
    double radius = support_between(&seed, 1, 40);
    double from = support_between(&seed, -20, 20), to = from + support_between(&seed, 0.01, 6.28);
    lb_drawing_arc(&drawing, &thin, point(100, 50), radius, from, to);
    struct lb_box box = lb_drawing_box(&drawing, last());
    struct lb_box seen = {1e9, 1e9, -1e9, -1e9};
    for (int k = 0; k <= STEPS; k++) {
      double angle = from + (to - from) * k / STEPS;
      double x = 100 + radius * cos(angle), y = 50 + radius * sin(angle);
      seen = (struct lb_box){fmin(seen.left, x), fmin(seen.bottom, y), fmax(seen.right, x),
                             fmax(seen.top, y)};
    }
    double step = (to - from) / STEPS, sagitta = radius * step * step / 8;
    double within = sagitta / 2 + IDENTITY * 200;
    ck_close(box.left + 0.1, seen.left - sagitta / 2, within);
    ck_close(box.bottom + 0.1, seen.bottom - sagitta / 2, within);
    ck_close(box.right - 0.1, seen.right + sagitta / 2, within);
    ck_close(box.top - 0.1, seen.top + sagitta / 2, within);
  }
  end();
}
END_TEST

/* What lb_drawing_arc makes of two directions: the sweep, a whole turn for a circle, 0 for
 * nothing. */
static double sweep_of(double from, double to) {
  size_t before = drawing.shapes;
  lb_drawing_arc(&drawing, &thin, point(50, 50), 20, from, to);
  if (drawing.shapes == before)
    return 0;
  return last()->kind == LB_SHAPE_CIRCLE ? turn : last()->sweep;
}

START_TEST(sweeps_of_arcs) {
  begin();
  ck_close(sweep_of(1, 2), 1, EXACT);
  ck_close(sweep_of(2, 1), turn - 1, EXACT * turn);
  ck_close(sweep_of(1, 2 + 3 * turn), 1, EXACT * 20);
  ck_close(sweep_of(0.5, 0.5), 0, 0);
  ck_close(sweep_of(0.5, 0.5 - 1e-12), 0, 0);
  ck_close(sweep_of(0.5, 0.5 + turn), turn, 0);
  ck_close(sweep_of(0.5, 0.5 - turn), turn, 0);
  ck_close(sweep_of(0.5, 0.5 + turn - 1e-12), turn, 0);
  size_t before = drawing.shapes;
  lb_drawing_arc(&drawing, &thin, point(50, 50), 0, 1, 2);
  lb_drawing_circle(&drawing, &thin, point(50, 50), 0);
  lb_drawing_sector(&drawing, 0.5, point(50, 50), 20, 20, 1, 2);
  lb_drawing_sector(&drawing, 0.5, point(50, 50), 10, 20, 1, 1);
  ck_assert_uint_eq(drawing.shapes, before);
  end();
}
END_TEST

START_TEST(views_move_and_scale) {
  struct lb_view view = {
      .origin = {10, 20}, .scale_x = 2, .scale_y = 0.5, .window = {0, 0, 90, 90}};
  begin();
  lb_drawing_view(&drawing, &view);
  lb_drawing_line(&drawing, &thin, point(0, 0), point(20, 40));
  ck_box(9.9, 19.9, 50.1, 40.1);
  lb_drawing_circle(&drawing, &thin, point(10, 40), 5);
  ck_box(19.9, 37.4, 40.1, 42.6);
  struct lb_lettering plain = {.size = 10};
  lb_drawing_text(&drawing, &plain, point(10, 40), "1");
  ck_box(30, 40 - 2.4, 30 + 6.4, 40 + 7.6);
  lb_drawing_line(&drawing, &thin, point(20, 20), point(60, 40));
  ck_box(49.9, 29.9, 90, 40.1);
  lb_drawing_page_view(&drawing);
  lb_drawing_line(&drawing, &thin, point(0.1, 0.1), point(20, 40));
  ck_box(0, 0, 20.1, 40.1);
  ck_assert_uint_eq(last()->view, 0);
  lb_drawing_page(&drawing, "Second", 50, 50);
  lb_drawing_view(&drawing, &view);
  lb_drawing_page_view(&drawing);
  lb_drawing_line(&drawing, &thin, point(10, 10), point(80, 20));
  ck_box(9.9, 9.9, 50, 20.1);
  ck_assert_uint_eq(drawing.page[1].shapes, 1);
  ck_assert_uint_eq(drawing.page[1].first, drawing.page[0].shapes);
  end();
}
END_TEST

/* The widths are those of the font in hundredths of its body: "1" 64, "i" 28, "W" 99. */
START_TEST(widths_of_texts) {
  struct lb_lettering plain = {.size = 10}, bold = {.size = 10, .bold = true};
  ck_close(lb_drawing_text_width(&plain, ""), 0, 0);
  ck_close(lb_drawing_text_width(&plain, "1"), 6.4, IDENTITY);
  ck_close(lb_drawing_text_width(&plain, "iW"), 2.8 + 9.9, IDENTITY * 10);
  ck_close(lb_drawing_text_width(&plain, "e\xCC\x81"), lb_drawing_text_width(&plain, "e"), EXACT);
  ck_close(lb_drawing_text_width(&plain, "\xE6\xB0\x97"), 10, IDENTITY);
  ck_close(lb_drawing_text_width(&plain, "\xF0\x9F\x9A\x82"), 10, IDENTITY);
  ck_close(lb_drawing_text_width(&plain, "1\t\x7F"), 6.4, IDENTITY);
  ck_assert(lb_drawing_text_width(&bold, "1W") > lb_drawing_text_width(&plain, "1W"));
  uint64_t seed = 2;
  for (int i = 0; i < support_times(200); i++) {
    char whole[21] = "", half[11];
    for (int k = 0; k < 20; k++)
      whole[k] = (char)support_between(&seed, ' ', 0x7F);
    memcpy(half, whole, 10);
    half[10] = '\0';
    double size = support_between(&seed, 2, 8);
    struct lb_lettering any = {.size = size, .bold = i % 2};
    double sum = lb_drawing_text_width(&any, half) + lb_drawing_text_width(&any, whole + 10);
    ck_close_relative(lb_drawing_text_width(&any, whole), sum, IDENTITY);
  }
}
END_TEST

static void ck_corners(double x0, double y0, double x2, double y2) {
  struct lb_point corner[4];
  lb_drawing_text_corners(corner, &drawing, last());
  ck_close(corner[0].x, x0, IDENTITY * 200);
  ck_close(corner[0].y, y0, IDENTITY * 200);
  ck_close(corner[2].x, x2, IDENTITY * 200);
  ck_close(corner[2].y, y2, IDENTITY * 200);
}

START_TEST(corners_of_texts) {
  struct lb_lettering lettering = {.size = 10};
  begin();
  lb_drawing_text(&drawing, &lettering, point(50, 40), "111");
  ck_corners(50, 37.6, 69.2, 47.6);
  lettering.align = LB_ALIGN_RIGHT;
  lb_drawing_text(&drawing, &lettering, point(50, 40), "111");
  ck_corners(30.8, 37.6, 50, 47.6);
  lettering.align = LB_ALIGN_BELOW;
  lb_drawing_text(&drawing, &lettering, point(50, 40), "111");
  ck_corners(40.4, 37.6, 59.6, 47.6);
  lettering.align = LB_ALIGN_MIDDLE;
  lb_drawing_text(&drawing, &lettering, point(50, 40), "111");
  ck_corners(40.4, 37.6 - 3.65, 59.6, 47.6 - 3.65);
  lettering = (struct lb_lettering){.size = 10, .turn = quarter};
  lb_drawing_text(&drawing, &lettering, point(50, 40), "111");
  ck_corners(52.4, 40, 42.4, 59.2);
  ck_box(42.4, 40, 52.4, 59.2);
  lettering.turn = 0;
  lb_drawing_text(&drawing, &lettering, point(50, 40), "\xC3\x9C"); /* U with diaeresis */
  ck_corners(50, 37.6, 57, 50.3);
  end();
}
END_TEST

START_TEST(letters_are_made_clean) {
  struct lb_lettering lettering = {.size = 10};
  begin();
  lb_drawing_text(&drawing, &lettering, point(0, 0),
                  "a\tb\x01\xC2\x85"
                  "c\xFF\xC3 \xE2\x82\xAC\xED\xA0\x80");
  ck_assert_str_eq(drawing.letter + last()->first,
                   "abc\xEF\xBF\xBD\xEF\xBF\xBD \xE2\x82\xAC\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  lb_drawing_text(&drawing, &lettering, point(0, 0), "\xC1\x81\xF5\x80\x80\x80");
  for (int i = 0; i < 6; i++)
    ck_assert(memcmp(drawing.letter + last()->first + 3 * i, "\xEF\xBF\xBD", 3) == 0);
  size_t before = drawing.shapes;
  lb_drawing_text(&drawing, &lettering, point(0, 0), "");
  lb_drawing_text(&drawing, &lettering, point(0, 0), "\n");
  ck_assert_uint_eq(drawing.shapes, before);
  char name[200] = "", cut[80] = "";
  for (int i = 0; i < 60; i++)
    strcat(name, "\xC3\xA4");
  memcpy(cut, name, 78);
  lb_drawing_page(&drawing, name, 10, 10);
  ck_assert_str_eq(drawing.page[1].name, cut);
  lb_drawing_page(&drawing,
                  "Sh\xFF"
                  "eet",
                  10, 10);
  ck_assert_str_eq(drawing.page[2].name, "Sh\xEF\xBF\xBD"
                                         "eet");
  end();
}
END_TEST

/* The lengths of all lines drawn since `first`. */
static double drawn(size_t first) {
  double sum = 0;
  for (size_t i = first; i < drawing.shapes; i++) {
    const struct lb_shape *line = &drawing.shape[i];
    ck_assert_int_eq(line->kind, LB_SHAPE_LINE);
    sum += hypot(line->to.x - line->at.x, line->to.y - line->at.y);
  }
  return sum;
}

START_TEST(hatching_of_a_square) {
  static const struct lb_point square[] = {{10, 10.5}, {20, 10.5}, {20, 20.5}, {10, 20.5}};
  begin();
  lb_drawing_hatch(&drawing, &thin, square, 4, 0, 1);
  ck_assert_uint_eq(drawing.shapes, 10);
  for (size_t i = 0; i < 10; i++) {
    const struct lb_shape *line = &drawing.shape[i];
    ck_close(line->at.y, 11 + (double)i, EXACT * 20);
    ck_close(line->to.y, 11 + (double)i, EXACT * 20);
    ck_close(line->at.x, 10, EXACT * 20);
    ck_close(line->to.x, 20, EXACT * 20);
  }
  lb_drawing_hatch(&drawing, &thin, square, 4, quarter, 0.5);
  ck_close(drawn(10), 20 * 10, 10 + IDENTITY);
  end();
}
END_TEST

/* A letter M: each line through its notch falls into two. */
static const struct lb_point notched[] = {{20, 20}, {60, 20}, {60, 60}, {40, 35}, {20, 60}};
static const double notched_area = 40 * 40 - 40 * 25 / 2.0;

START_TEST(hatching_of_a_concave_polygon) {
  begin();
  lb_drawing_hatch(&drawing, &thin, notched, 5, 0, 10);
  ck_assert_uint_ge(drawing.shapes, 4);
  size_t at_50 = 0;
  for (size_t i = 0; i < drawing.shapes; i++) {
    const struct lb_shape *line = &drawing.shape[i];
    if (fabs(line->at.y - 50) > 1)
      continue;
    at_50++;
    double length = fabs(line->to.x - line->at.x);
    ck_close(length, 8, IDENTITY * 100); /* the notch is 15/25 of 40 wide there */
    ck_close(fabs(line->at.x + line->to.x - 80) / 2, 16, IDENTITY * 100);
  }
  ck_assert_uint_eq(at_50, 2);
  end();
}
END_TEST

/* Lines times their spacing are the area, whatever the direction. */
START_TEST(hatching_fills_polygons) {
  static const struct lb_point bow[] = {{100, 20}, {140, 60}, {140, 20}, {100, 60}};
  const double spacing = 0.05, bow_area = 2 * 40 * 20 / 2;
  begin();
  for (int i = 0; i < 12; i++) {
    double angle = -2 + 0.37 * i;
    size_t first = drawing.shapes;
    lb_drawing_hatch(&drawing, &thin, notched, 5, angle, spacing);
    ck_close_relative(drawn(first) * spacing, notched_area, 2e-3);
    first = drawing.shapes;
    lb_drawing_hatch(&drawing, &thin, bow, 4, angle, spacing);
    ck_close_relative(drawn(first) * spacing, bow_area, 2e-3);
  }
  end();
}
END_TEST

/* Whether a point lies in a piece of a ring about (100, 50), or closer than `gap` to it. */
static bool in_ring(struct lb_point p, double inner, double outer, double from, double to,
                    double gap) {
  double radius = hypot(p.x - 100, p.y - 50);
  double ahead = fmod(atan2(p.y - 50, p.x - 100) - from + 2 * turn, turn);
  double beside = gap / fmax(radius, gap);
  return radius >= inner - gap && radius <= outer + gap &&
         (ahead <= to - from + beside || ahead >= turn - beside);
}

START_TEST(hatching_of_rings) {
  const double spacing = 0.05, gap = 1e-6;
  uint64_t seed = 3;
  begin();
  for (int i = 0; i < support_times(60); i++) {
    double outer = support_between(&seed, 10, 40);
    double inner = i % 4 ? outer * support_between(&seed, 0.1, 0.95) : 0;
    double from = support_between(&seed, 0, 3), sweep = support_between(&seed, 0.1, turn);
    sweep = i % 5 ? sweep : turn;
    double angle = support_between(&seed, -4, 4);
    size_t first = drawing.shapes;
    lb_drawing_hatch_sector(&drawing, &thin, point(100, 50), inner, outer, from, from + sweep,
                            angle, spacing);
    double area = sweep / 2 * (outer * outer - inner * inner);
    ck_close_relative(drawn(first) * spacing, area, 5e-3);
    for (size_t k = first; k < drawing.shapes; k++) {
      struct lb_point a = drawing.shape[k].at, b = drawing.shape[k].to;
      for (int part = 0; part <= 8; part++) {
        struct lb_point p = {a.x + (b.x - a.x) * part / 8, a.y + (b.y - a.y) * part / 8};
        ck_assert(in_ring(p, inner, outer, from, from + sweep, gap));
      }
      double across = (a.y * cos(angle) - a.x * sin(angle)) / spacing;
      ck_close(across, round(across), 1e-8);
    }
  }
  end();
}
END_TEST

/* A whole ring hatched in the page's own directions: the line through its centre has two parts, and
 * one that just touches the outer circle none. */
START_TEST(hatching_at_corners) {
  begin();
  lb_drawing_hatch_sector(&drawing, &thin, point(100, 50), 10, 20, 0, turn, 0, 10);
  /* at 30, 40, 50, 60 and 70: nothing, a chord, two parts, a chord, nothing */
  ck_assert_uint_eq(drawing.shapes, 4);
  ck_close(drawn(0), 2 * 2 * sqrt(20 * 20 - 10 * 10) + 2 * 10, IDENTITY * 100);
  size_t first = drawing.shapes;
  lb_drawing_hatch_sector(&drawing, &thin, point(100, 50), 0, 20, -1, 1, 0, 50);
  ck_close(drawn(first), 20, IDENTITY * 100);
  end();
}
END_TEST

START_TEST(arrow_head) {
  begin();
  lb_drawing_arrow(&drawing, &thin, point(50, 50), quarter, 6);
  ck_assert_uint_eq(drawing.shapes, 2);
  ck_assert_int_eq(drawing.shape[0].kind, LB_SHAPE_AREA);
  ck_assert_int_eq(drawing.shape[1].kind, LB_SHAPE_POLYLINE);
  struct lb_box box = lb_drawing_box(&drawing, &drawing.shape[0]);
  ck_close(box.left, 49, IDENTITY * 100);
  ck_close(box.right, 51, IDENTITY * 100);
  ck_close(box.bottom, 44, IDENTITY * 100);
  ck_close(box.top, 50, IDENTITY * 100);
  end();
}
END_TEST

START_TEST(remembers_failure) {
  struct lb_error error;
  begin();
  lb_drawing_circle(&drawing, &thin, point(50, 50), 10);
  size_t letters = drawing.letters;
  drawing.failed = true;
  struct lb_lettering plain = {.size = 10};
  lb_drawing_page(&drawing, "Another", 10, 10);
  lb_drawing_view(&drawing, &drawing.view[0]);
  lb_drawing_arrow(&drawing, &thin, point(50, 50), 1, 5);
  lb_drawing_text(&drawing, &plain, point(50, 50), "text");
  lb_drawing_hatch(&drawing, &thin, notched, 5, 0, 10);
  for (int i = 0; i < support_times(200); i++)
    lb_drawing_line(&drawing, &thin, point(0, 0), point(1, 1));
  ck_assert_uint_eq(drawing.pages, 1);
  ck_assert_uint_eq(drawing.views, 1);
  ck_assert_uint_eq(drawing.shapes, 1);
  ck_assert_uint_eq(drawing.letters, letters);
  ck_assert_int_eq(lb_drawing_status(&drawing, &error), LB_NO_MEMORY);
  ck_assert_str_eq(error.text, "no memory for the drawing");
  lb_drawing_free(&drawing);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  lb_drawing_free(&drawing);
}
END_TEST

/* What cannot be drawn is left out and told: each is tried alone. */
START_TEST(remembers_what_is_no_number) {
  const struct lb_point bad[] = {{0, 0}, {10, (double)NAN}, {5, 5}};
  const struct lb_view view = {.scale_x = 1, .scale_y = HUGE_VAL};
  const struct lb_lettering lettering = {.size = (double)NAN};
  for (int i = 0; i < 9; i++) {
    struct lb_error error;
    begin();
    switch (i) {
    case 0:
      lb_drawing_line(&drawing, &thin, point(0, 0), point(HUGE_VAL, 0));
      break;
    case 1:
      lb_drawing_polyline(&drawing, &thin, bad, 3, false);
      break;
    case 2:
      lb_drawing_view(&drawing, &view);
      break;
    case 3:
      lb_drawing_text(&drawing, &lettering, point(0, 0), "text");
      break;
    case 4:
      lb_drawing_arc(&drawing, &thin, point(0, 0), 5, 0, (double)NAN);
      break;
    case 5:
      lb_drawing_hatch(&drawing, &thin, bad, 3, 0, 1);
      break;
    case 6:
      lb_drawing_hatch(&drawing, &thin, notched, 5, 0, 1e-9);
      break;
    case 7:
      lb_drawing_hatch_sector(&drawing, &thin, point(0, 0), 0, HUGE_VAL, 0, 1, 0, 1);
      break;
    default:
      lb_drawing_page(&drawing, "Wide", HUGE_VAL, 1);
    }
    ck_assert_uint_eq(drawing.shapes, 0);
    ck_assert_msg(lb_drawing_status(&drawing, &error) == LB_NUMERIC, "case %d", i);
    ck_assert_str_eq(error.text, "a part of the drawing has no place or size that can be drawn; "
                                 "check the lengths of the machine");
    lb_drawing_free(&drawing);
  }
}
END_TEST

/* Lines and arcs cut to a window, against many points along them: as much of them as lies inside is
 * kept. */
START_TEST(windows_cut) {
  enum {
    STEPS = 20000
  };
  const struct lb_box window = {20, 30, 70, 60};
  uint64_t seed = 4;
  size_t several = 0;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_point centre = {support_between(&seed, 10, 80), support_between(&seed, 20, 70)};
    double radius = support_between(&seed, 1, 40);
    struct lb_arc_piece piece[LB_CLIP_PIECES_MOST];
    struct lb_arc_piece arc = {support_between(&seed, -9, 9), support_between(&seed, 0.1, turn)};
    arc.sweep = i % 3 ? arc.sweep : turn;
    size_t pieces = lb_clip_arc(piece, centre, radius, &arc, &window);
    several += pieces > 1;
    double kept = 0;
    for (size_t k = 0; k < pieces; k++) {
      kept += piece[k].sweep;
      ck_assert(k == 0 || piece[k].from > piece[k - 1].from + piece[k - 1].sweep + 1e-9);
    }
    int inside = 0;
    for (int k = 0; k < STEPS; k++) {
      double angle = arc.from + arc.sweep * (k + 0.5) / STEPS;
      struct lb_point p = {centre.x + radius * cos(angle), centre.y + radius * sin(angle)};
      bool among = false;
      for (size_t n = 0; n < pieces; n++)
        among |= angle >= piece[n].from && angle <= piece[n].from + piece[n].sweep;
      inside += lb_clip_holds(&window, p);
      ck_assert(among == lb_clip_holds(&window, p));
    }
    ck_close(kept, arc.sweep * inside / STEPS, 10 * turn / STEPS);
    struct lb_point a = {support_between(&seed, 0, 90), support_between(&seed, 10, 80)};
    struct lb_point b = {support_between(&seed, 0, 90), support_between(&seed, 10, 80)}, c = a,
                    d = b;
    double length = lb_clip_line(&c, &d, &window) ? hypot(d.x - c.x, d.y - c.y) : 0;
    inside = 0;
    for (int k = 0; k < STEPS; k++) {
      double share = (k + 0.5) / STEPS;
      inside += lb_clip_holds(&window, point(a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)));
    }
    ck_close(length, hypot(b.x - a.x, b.y - a.y) * inside / STEPS, 200.0 / STEPS);
  }
  ck_assert_uint_ge(several, (unsigned)support_least(21));
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/drawing");
  TCase *shapes = tcase_create("shapes"), *texts = tcase_create("texts");
  TCase *hatching = tcase_create("hatching"), *failure = tcase_create("failure");
  tcase_add_test(shapes, boxes_of_lines);
  tcase_add_test(shapes, boxes_of_arcs);
  tcase_add_test(shapes, boxes_of_random_arcs);
  tcase_add_test(shapes, sweeps_of_arcs);
  tcase_add_test(shapes, views_move_and_scale);
  tcase_add_test(shapes, arrow_head);
  tcase_add_test(shapes, windows_cut);
  tcase_add_test(texts, widths_of_texts);
  tcase_add_test(texts, corners_of_texts);
  tcase_add_test(texts, letters_are_made_clean);
  tcase_add_test(hatching, hatching_of_a_square);
  tcase_add_test(hatching, hatching_of_a_concave_polygon);
  tcase_add_test(hatching, hatching_fills_polygons);
  tcase_add_test(hatching, hatching_of_rings);
  tcase_add_test(hatching, hatching_at_corners);
  tcase_add_test(failure, remembers_failure);
  tcase_add_test(failure, remembers_what_is_no_number);
  suite_add_tcase(suite, shapes);
  suite_add_tcase(suite, texts);
  suite_add_tcase(suite, hatching);
  suite_add_tcase(suite, failure);
  return support_run(suite, NULL);
}
