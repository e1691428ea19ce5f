/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Diagrams, read back from their shapes: scales, what the frame leaves of curves and regions, and
 * where labels stand.
 */
#include "paper/plot.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "paper/sheet.h"
#include "plot_probe.h"
#include "support.h"

#include <string.h>

static const double page_width = 210, page_height = 297; /* [mm] */
static const double rounding = 1e-9;                     /* [mm] */
static const struct lb_pen pen = {.layer = LB_LAYER_MARK, .width = 0.5};

/* A diagram of 0 ... 100 by 0 ... 10 with scales below and on the left. */
static void begin(struct lb_plot *plot, struct lb_drawing *drawing) {
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = "volume, cm3", .high = 100},
      [LB_PLOT_LEFT] = {.title = "pressure, bar absolute", .high = 10}};
  lb_drawing_page(drawing, "Test", page_width, page_height);
  lb_plot_begin(plot, drawing, (struct lb_box){10, 100, 200, 200},
                &(struct lb_plot_window){0, 100, 0, 10}, axis);
}

static double random_figure(uint64_t *state) {
  return support_between(state, -1, 1) * pow(10, support_between(state, -3, 5));
}

static struct lb_plot_axis random_axis(uint64_t *state) {
  struct lb_plot_axis axis = {.title = "a quantity, its unit", .low = random_figure(state)};
  axis.high = axis.low + fabs(axis.low) * support_between(state, 0.01, 3) +
              pow(10, support_between(state, -2, 4));
  return axis;
}

/* Whether a step is 1, 2 or 5 times a power of ten. */
static bool is_round(double step) {
  double mantissa = step / pow(10, floor(log10(step) + 1e-9));
  return fabs(mantissa - 1) < 1e-9 || fabs(mantissa - 2) < 1e-9 || fabs(mantissa - 5) < 1e-9;
}

START_TEST(scales) {
  uint64_t state = 41;
  for (int i = 0; i < support_times(400); i++) {
    struct lb_drawing drawing = {0};
    struct lb_plot plot;
    struct lb_plot_axis axis[LB_PLOT_SIDES];
    for (int side = 0; side < LB_PLOT_SIDES; side++)
      axis[side] = random_axis(&state);
    struct lb_box box = {10, 20, support_between(&state, 75, 200),
                         support_between(&state, 75, 287)};
    lb_drawing_page(&drawing, "Scales", page_width, page_height);
    lb_plot_begin(&plot, &drawing, box, &(struct lb_plot_window){0, 1, 0, 1}, axis);
    lb_plot_end(&plot);
    probe_sheet(&drawing);
    struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
    for (int side = 0; side < LB_PLOT_SIDES; side++) {
      const struct probe_scale *scale = &probe.scale[side];
      bool level = side == LB_PLOT_BOTTOM || side == LB_PLOT_TOP;
      double length =
          level ? probe.frame.right - probe.frame.left : probe.frame.top - probe.frame.bottom;
      double range = axis[side].high - axis[side].low;
      ck_assert_int_ge(scale->figures, 2);
      ck_assert_msg(is_round(scale->step), "step %.17g", scale->step);
      ck_close(scale->low, axis[side].low, SOLVER * (range + fabs(axis[side].low)));
      ck_close(scale->low + scale->unit * length, axis[side].high,
               SOLVER * (range + fabs(axis[side].high)));
    }
    lb_drawing_free(&drawing);
  }
}
END_TEST

START_TEST(figures_on_part_of_a_scale) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = "angle, deg", .high = 360, .step = 30},
      [LB_PLOT_TOP] = {.title = "travel, mm", .low = -16, .high = 184, .last = 100}};
  lb_drawing_page(&drawing, "Test", page_width, page_height);
  lb_plot_begin(&plot, &drawing, (struct lb_box){10, 100, 200, 200},
                &(struct lb_plot_window){0, 1, 0, 1}, axis);
  struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
  ck_assert_int_eq(probe.scale[LB_PLOT_BOTTOM].figures, 13);
  ck_assert_double_eq(probe.scale[LB_PLOT_BOTTOM].step, 30);
  ck_close(probe.scale[LB_PLOT_TOP].low, -16, SOLVER);
  ck_close(probe.scale[LB_PLOT_TOP].step * (probe.scale[LB_PLOT_TOP].figures - 1), 100, SOLVER);
  ck_assert_int_eq(probe.scale[LB_PLOT_LEFT].figures, 0);
  ck_assert_int_eq(probe.scale[LB_PLOT_RIGHT].figures, 0);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(data_and_back) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
  for (int i = 0; i <= 10; i++) {
    struct lb_point p = lb_plot_at(&plot, 13.7 * i, 1.3 * i);
    struct lb_point data = plot_probe_data(&probe, p, LB_PLOT_BOTTOM, LB_PLOT_LEFT);
    ck_close(data.x, 13.7 * i, SOLVER);
    ck_close(data.y, 1.3 * i, SOLVER);
    ck_assert_int_eq(lb_plot_holds(&plot, p), i <= 7);
  }
  lb_drawing_free(&drawing);
}
END_TEST

/* Length of a line that lies in a box, by looking at many points of it. */
static double looked_at(struct lb_point a, struct lb_point b, const struct plot_probe *probe) {
  enum {
    LOOKS = 4000
  };
  int inside = 0;
  for (int i = 0; i < LOOKS; i++) {
    double share = (i + 0.5) / LOOKS;
    inside += plot_probe_inside(
        probe, (struct lb_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)});
  }
  return hypot(b.x - a.x, b.y - a.y) * inside / LOOKS;
}

/* Length of all curves in the frame; every point of them must lie on the path. */
static double drawn_length(const struct plot_probe *probe, const struct lb_plot_path *path,
                           bool closed) {
  struct lb_shape whole = {.kind = LB_SHAPE_POLYLINE, .closed = closed, .count = path->count};
  struct lb_drawing origin = {.point = path->point};
  struct plot_probe of_path = {.drawing = &origin};
  double length = 0;
  const struct lb_shape *curve;
  for (size_t at = 0; (curve = plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, pen.width, 0));) {
    const struct lb_point *p = &probe->drawing->point[curve->first];
    for (size_t i = 0; i < curve->count; i++)
      plot_probe_passes(&of_path, &whole, p[i], rounding);
    for (size_t i = 0; i + !curve->closed < curve->count; i++) {
      struct lb_point next = p[(i + 1) % curve->count];
      length += hypot(next.x - p[i].x, next.y - p[i].y);
    }
  }
  return length;
}

START_TEST(curves_keep_to_the_frame) {
  uint64_t state = 42;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_drawing drawing = {0};
    struct lb_plot plot;
    struct lb_plot_path path = {0};
    begin(&plot, &drawing);
    struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
    bool closed = i % 2;
    int points = 2 + i % 7;
    for (int k = 0; k < points; k++)
      lb_plot_path_add_data(&path, &plot, support_between(&state, -60, 160),
                            support_between(&state, -6, 16));
    size_t before = drawing.shapes;
    lb_plot_curve(&plot, &pen, &path, closed);
    for (size_t k = before; k < drawing.shapes; k++)
      for (size_t j = 0; j < drawing.shape[k].count; j++)
        ck_assert(plot_probe_inside(&probe, drawing.point[drawing.shape[k].first + j]));
    double expected = 0, around = 0;
    for (int k = 0; k + !closed < points; k++) {
      struct lb_point a = path.point[k], b = path.point[(k + 1) % points];
      expected += looked_at(a, b, &probe);
      around += hypot(b.x - a.x, b.y - a.y);
    }
    /* each of a line's two ends in the frame is found within a look */
    ck_close(drawn_length(&probe, &path, closed), expected, 2 * around / 4000);
    lb_plot_path_free(&path);
    lb_drawing_free(&drawing);
  }
}
END_TEST

START_TEST(curve_within_stays_whole) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  struct lb_plot_path path = {0};
  begin(&plot, &drawing);
  lb_plot_path_add_data(&path, &plot, 10, 1);
  lb_plot_path_add_data(&path, &plot, 90, 1);
  lb_plot_path_add_data(&path, &plot, 90, 9);
  lb_plot_curve(&plot, &pen, &path, true);
  const struct lb_shape *last = &drawing.shape[drawing.shapes - 1];
  ck_assert_int_eq(last->kind, LB_SHAPE_POLYLINE);
  ck_assert(last->closed);
  ck_assert_uint_eq(last->count, 3);
  size_t before = drawing.shapes;
  path.count = 1; /* no line */
  lb_plot_curve(&plot, &pen, &path, false);
  ck_assert_uint_eq(drawing.shapes, before);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  path.count = 0;
  lb_plot_path_add_data(&path, &plot, 10, 1);
  lb_plot_path_add_data(&path, &plot, (double)NAN, 1);
  lb_plot_curve(&plot, &pen, &path, false);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_NUMERIC);
  lb_plot_path_free(&path);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(path_without_memory) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  struct lb_plot_path path = {.failed = true};
  begin(&plot, &drawing);
  lb_plot_path_add_data(&path, &plot, 10, 1);
  ck_assert_uint_eq(path.count, 0);
  lb_plot_hatch(&plot, &pen, &path, 0, 1);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_NO_MEMORY);
  lb_drawing_free(&drawing);
  begin(&plot, &drawing);
  lb_plot_curve(&plot, &pen, &path, false);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_NO_MEMORY);
  lb_drawing_free(&drawing);
}
END_TEST

/* A rectangle with a corner far outside on each side in turn: what is left has a known area. */
START_TEST(hatching_keeps_to_the_frame) {
  const double spacing = 0.25;
  for (int i = 0; i < 16; i++) {
    struct lb_drawing drawing = {0};
    struct lb_plot plot;
    struct lb_plot_path path = {0};
    begin(&plot, &drawing);
    double left = i & 1 ? -50 : 20, right = i & 2 ? 170 : 70;
    double bottom = i & 4 ? -4 : 3, top = i & 8 ? 15 : 8, longest;
    lb_plot_path_add_data(&path, &plot, left, bottom);
    lb_plot_path_add_data(&path, &plot, right, bottom);
    lb_plot_path_add_data(&path, &plot, right, top);
    lb_plot_path_add_data(&path, &plot, left, top);
    lb_plot_hatch(&plot, &lb_pen_fine, &path, LB_PI / 4, spacing);
    struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
    double length = plot_probe_hatching(&probe, LB_PI / 4, &longest);
    double width = (plot.frame.right - plot.frame.left) * (fmin(right, 100) - fmax(left, 0)) / 100;
    double height = (plot.frame.top - plot.frame.bottom) * (fmin(top, 10) - fmax(bottom, 0)) / 10;
    ck_assert_double_gt(length, 0);
    ck_close(length * spacing, width * height, spacing * longest);
    for (size_t k = probe.frame_shape + 1; k < drawing.shapes; k++)
      ck_assert(plot_probe_inside(&probe, drawing.shape[k].at) &&
                plot_probe_inside(&probe, drawing.shape[k].to));
    lb_plot_path_free(&path);
    lb_drawing_free(&drawing);
  }
}
END_TEST

START_TEST(lines_and_marks_keep_to_the_frame) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
  size_t before = drawing.shapes;
  lb_plot_level(&plot, &pen, 10.5);
  lb_plot_level(&plot, &pen, -0.5);
  lb_plot_upright(&plot, &pen, 101);
  lb_plot_upright(&plot, &pen, -1);
  lb_plot_mark(&plot, lb_plot_at(&plot, 50, 11));
  ck_assert_uint_eq(drawing.shapes, before);
  lb_plot_level(&plot, &pen, 4);
  lb_plot_upright(&plot, &pen, 25);
  const struct lb_shape *level = &drawing.shape[before], *upright = level + 1;
  ck_close(level->at.x, plot.frame.left, rounding);
  ck_close(level->to.x, plot.frame.right, rounding);
  ck_close(plot_probe_data(&probe, level->at, LB_PLOT_BOTTOM, LB_PLOT_LEFT).y, 4, SOLVER);
  ck_close(plot_probe_data(&probe, level->to, LB_PLOT_BOTTOM, LB_PLOT_LEFT).y, 4, SOLVER);
  ck_close(upright->at.y, plot.frame.bottom, rounding);
  ck_close(upright->to.y, plot.frame.top, rounding);
  ck_close(plot_probe_data(&probe, upright->at, LB_PLOT_BOTTOM, LB_PLOT_LEFT).x, 25, SOLVER);
  before = drawing.shapes;
  lb_plot_mark(&plot, lb_plot_at(&plot, 0, 10));
  lb_plot_mark(&plot, lb_plot_at(&plot, 100, 0));
  lb_plot_mark(&plot, lb_plot_at(&plot, 50, 5));
  for (size_t i = before; i < drawing.shapes; i++) {
    const struct lb_shape *mark = &drawing.shape[i];
    ck_assert_int_eq(mark->kind, LB_SHAPE_CIRCLE);
    ck_assert(plot_probe_inside(&probe, (struct lb_point){mark->at.x - mark->radius, mark->at.y}));
    ck_assert(plot_probe_inside(&probe, (struct lb_point){mark->at.x, mark->at.y + mark->radius}));
    ck_assert(plot_probe_inside(&probe, (struct lb_point){mark->at.x + mark->radius, mark->at.y}));
    ck_assert(plot_probe_inside(&probe, (struct lb_point){mark->at.x, mark->at.y - mark->radius}));
  }
  ck_assert_uint_eq(drawing.shapes, before + 3);
  lb_drawing_free(&drawing);
}
END_TEST

/* Distance from a point to a text's upright box. */
static double distance(const struct lb_drawing *drawing, const struct lb_shape *text,
                       struct lb_point p) {
  struct lb_box box = lb_drawing_box(drawing, text);
  return hypot(fmax(fmax(box.left - p.x, p.x - box.right), 0),
               fmax(fmax(box.bottom - p.y, p.y - box.top), 0));
}

START_TEST(crowded_labels) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  struct lb_plot_path path = {0};
  begin(&plot, &drawing);
  for (int i = 0; i <= 100; i++)
    lb_plot_path_add_data(&path, &plot, i, 5 + 3 * sin(i / 10.0));
  lb_plot_curve(&plot, &pen, &path, false);
  struct lb_point spot = lb_plot_at(&plot, 60, 5);
  for (int i = 0; i < 30; i++)
    lb_plot_label(&plot, lb_plot_spot(spot), "label number %d", i);
  lb_plot_end(&plot);
  probe_sheet(&drawing);
  struct plot_probe probe = plot_probe_find(&drawing, 0, 0);
  int labels = 0, leaders = 0;
  for (size_t i = probe.frame_shape + 1; i < drawing.shapes; i++) {
    const struct lb_shape *shape = &drawing.shape[i];
    if (shape->kind == LB_SHAPE_LINE) {
      ck_close(shape->at.x, spot.x, rounding);
      ck_close(shape->at.y, spot.y, rounding);
      leaders++;
    } else if (shape->kind == LB_SHAPE_TEXT) {
      struct lb_box box = lb_drawing_box(&drawing, shape);
      ck_assert(plot_probe_inside(&probe, (struct lb_point){box.left, box.bottom}));
      ck_assert(plot_probe_inside(&probe, (struct lb_point){box.right, box.top}));
      labels++;
      leaders -= distance(&drawing, shape, spot) > 2; /* those need one */
    }
  }
  ck_assert_int_eq(labels, 30);
  ck_assert_int_eq(leaders, 0);
  lb_plot_path_free(&path);
  lb_drawing_free(&drawing);
}
END_TEST

/* The only label of a diagram with a curve, for something. */
static struct lb_box place_of(struct lb_plot *plot, struct lb_drawing *drawing,
                              struct lb_box anchor) {
  lb_plot_label(plot, anchor, "a label");
  lb_plot_end(plot);
  const struct lb_shape *text = probe_find(drawing, 0, "a label");
  ck_assert_ptr_nonnull(text);
  return lb_drawing_box(drawing, text);
}

START_TEST(label_in_a_rectangle) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  struct lb_box room = lb_plot_box(&plot, 20, 2, 60, 6);
  struct lb_box place = place_of(&plot, &drawing, room);
  ck_close(place.left + place.right, room.left + room.right, 1);
  ck_close(place.bottom + place.top, room.bottom + room.top, 1);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(label_beside_a_line) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  lb_plot_level(&plot, &pen, 4);
  struct lb_box line = lb_plot_box(&plot, 0, 4, 100, 4);
  struct lb_box place = place_of(&plot, &drawing, line);
  double gap = fmax(place.bottom - line.top, line.bottom - place.top);
  ck_assert_double_ge(gap, 0.5);
  ck_assert_double_le(gap, 2);
  lb_drawing_free(&drawing);
}
END_TEST

/* One for what lies outside stands at the edge of the frame nearest to it. */
START_TEST(label_of_what_is_outside) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  struct lb_box place = place_of(&plot, &drawing, lb_plot_spot(lb_plot_at(&plot, 150, 20)));
  ck_assert_double_lt(plot.frame.right - place.right, 2);
  ck_assert_double_lt(plot.frame.top - place.top, 2);
  ck_assert_double_ge(plot.frame.right, place.right);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(labels_most) {
  struct lb_drawing drawing = {0};
  struct lb_plot plot;
  begin(&plot, &drawing);
  for (int i = 0; i < LB_PLOT_LABELS_MOST + 5; i++)
    lb_plot_label(&plot, lb_plot_spot(lb_plot_at(&plot, 50, 5)), "%d", i);
  ck_assert_uint_eq(plot.labels, LB_PLOT_LABELS_MOST);
  lb_plot_end(&plot);
  probe_no_overlapping_texts(&drawing);
  lb_drawing_free(&drawing);
}
END_TEST

/* The same diagram twice is the same to the last bit. */
START_TEST(deterministic) {
  struct lb_drawing drawing[2] = {{0}, {0}};
  for (int i = 0; i < 2; i++) {
    struct lb_plot plot;
    begin(&plot, &drawing[i]);
    lb_plot_level(&plot, &pen, 4);
    for (int k = 0; k < 12; k++)
      lb_plot_label(&plot, lb_plot_spot(lb_plot_at(&plot, 7.7 * k, 4)), "event %d", k);
    lb_plot_end(&plot);
  }
  ck_assert_uint_eq(drawing[0].shapes, drawing[1].shapes);
  ck_assert_uint_eq(drawing[0].letters, drawing[1].letters);
  ck_assert_int_eq(memcmp(drawing[0].letter, drawing[1].letter, drawing[0].letters), 0);
  for (size_t i = 0; i < drawing[0].shapes; i++) {
    ck_assert_double_eq(drawing[0].shape[i].at.x, drawing[1].shape[i].at.x);
    ck_assert_double_eq(drawing[0].shape[i].at.y, drawing[1].shape[i].at.y);
  }
  lb_drawing_free(&drawing[0]);
  lb_drawing_free(&drawing[1]);
}
END_TEST

START_TEST(keys) {
  struct lb_drawing drawing = {0};
  lb_drawing_page(&drawing, "Keys", page_width, page_height);
  struct lb_box box = {10, 10, 200, 100};
  struct lb_box left =
      lb_plot_key(&drawing, box, &lb_pen_heavy, (double)NAN, 0, "a line, and what it means");
  ck_close(left.top, box.top - lb_plot_key_height, rounding);
  ck_assert_int_eq(drawing.shape[0].kind, LB_SHAPE_LINE);
  size_t before = drawing.shapes;
  left = lb_plot_key(&drawing, left, &lb_pen_fine, LB_PI / 4, 1, "hatching, and what it means");
  ck_assert_uint_gt(drawing.shapes, before + 3);
  ck_assert_double_eq(left.left, box.left);
  probe_sheet(&drawing);
  lb_drawing_free(&drawing);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("plot");
  TCase *cases = tcase_create("diagrams");
  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, scales);
  tcase_add_test(cases, figures_on_part_of_a_scale);
  tcase_add_test(cases, data_and_back);
  tcase_add_test(cases, curves_keep_to_the_frame);
  tcase_add_test(cases, curve_within_stays_whole);
  tcase_add_test(cases, path_without_memory);
  tcase_add_test(cases, hatching_keeps_to_the_frame);
  tcase_add_test(cases, lines_and_marks_keep_to_the_frame);
  tcase_add_test(cases, label_in_a_rectangle);
  tcase_add_test(cases, label_beside_a_line);
  tcase_add_test(cases, label_of_what_is_outside);
  if (!support_is_rough()) { /* a minute, there */
    tcase_add_test(cases, crowded_labels);
    tcase_add_test(cases, labels_most);
  }
  tcase_add_test(cases, deterministic);
  tcase_add_test(cases, keys);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
