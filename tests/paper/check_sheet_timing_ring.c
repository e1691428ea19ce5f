/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The circular diagram on its shapes: sectors, hatching, lines of events and scale where the
 * machine's angles put them, and labels that keep off them.
 */
#include "paper/sheet_timing_ring.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "support.h"
#include "timing_maker.h"

#include <stdlib.h>

static const double degree = LB_PI / 180;
static const double turn = 2 * LB_PI;

enum {
  RADII = 2 * LB_ENDS
};

/* The radii of the circles of a sheet, from the outermost inwards. Returns how many. */
static int ring_radii(double *radius, struct lb_point *centre, const struct lb_drawing *drawing) {
  int count = 0;
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind != LB_SHAPE_CIRCLE)
      continue;
    ck_assert_int_lt(count, RADII);
    int at = count++;
    for (; at > 0 && radius[at - 1] < shape->radius; at--)
      radius[at] = radius[at - 1];
    radius[at] = shape->radius;
    *centre = shape->at;
  }
  return count;
}

/* The sectors that fill a ring, in the order drawn. Returns how many. */
static int ring_sectors(const struct lb_shape **sector, const struct lb_drawing *drawing,
                        double outer, double inner) {
  int count = 0;
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind == LB_SHAPE_SECTOR && shape->radius == outer && shape->inner == inner) {
      ck_assert_int_lt(count, LB_EVENTS);
      sector[count++] = shape;
    }
  }
  return count;
}

/* The direction on the page of a crank angle, worked out here. */
static double page_direction(bool clockwise, double crank) {
  return clockwise ? LB_PI / 2 - crank : LB_PI / 2 + crank;
}

static void ck_same_direction(double actual, double expected) {
  ck_close(remainder(actual - expected, turn), 0, 1e-9);
}

/* The four phases of a ring: together a turn, each from its event to the next. */
static void ck_ring(const struct lb_drawing *drawing, double outer, double inner, bool clockwise,
                    double dead_centre, const double *event) {
  const struct lb_shape *sector[LB_EVENTS];
  double sum = 0;
  ck_assert_int_eq(ring_sectors(sector, drawing, outer, inner), LB_EVENTS);
  for (int i = 0; i < LB_EVENTS; i++) {
    double from = dead_centre + event[i];
    double to = dead_centre + (i + 1 < LB_EVENTS ? event[i + 1] : event[0] + turn);
    ck_same_direction(sector[i]->from, page_direction(clockwise, clockwise ? to : from));
    ck_close(sector[i]->sweep, to - from, 1e-9);
    sum += sector[i]->sweep;
  }
  ck_close(sum, turn, IDENTITY * turn);
}

START_TEST(rings_lie_as_the_crank_does) {
  static const char *const rotation[] = {"machine.rotation=anticlockwise",
                                         "machine.rotation=clockwise"};
  const double event[] = {-5 * degree, 50 * degree, 170 * degree, 340 * degree};
  double rod_end = timing_maker_odd_rod_end();
  for (int clockwise = 0; clockwise < 2; clockwise++) {
    struct sheet_maker *maker = timing_maker_begin(timing_maker_odd, rotation[clockwise]);
    struct lb_drawing drawing;
    struct lb_point centre;
    double radius[RADII];
    timing_maker_draw(&drawing, maker);
    ck_assert_int_eq(ring_radii(radius, &centre, &drawing), 4);
    ck_close(radius[0] - radius[1], radius[2] - radius[3], IDENTITY * radius[0]);
    ck_assert_msg(radius[0] > radius[1] && radius[1] > radius[2] && radius[3] > 10, "%.2f %.2f",
                  radius[1], radius[3]);
    ck_ring(&drawing, radius[0], radius[1], clockwise, 0, event);
    ck_ring(&drawing, radius[2], radius[3], clockwise, rod_end, event);
    lb_drawing_free(&drawing);
    sheet_maker_end(maker);
  }
}
END_TEST

/* Which hatching lies in a sector: a bit for 45, one for 135, one for any other direction. */
static int hatching(const struct lb_drawing *drawing, const struct lb_shape *sector) {
  const double within = 0.01; /* [mm], and [rad] */
  int found = 0;
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *line = &drawing->shape[i];
    if (line->kind != LB_SHAPE_LINE || line->pen.width != lb_pen_fine.width)
      continue;
    double x = (line->at.x + line->to.x) / 2 - sector->at.x;
    double y = (line->at.y + line->to.y) / 2 - sector->at.y;
    double radius = hypot(x, y), angle = fmod(atan2(y, x) - sector->from + 2 * turn, turn);
    if (radius < sector->inner + within || radius > sector->radius - within || angle < within ||
        angle > sector->sweep - within)
      continue;
    double way = fmod(atan2(line->to.y - line->at.y, line->to.x - line->at.x) / degree + 360, 180);
    found |= fabs(way - 45) < 1e-6 ? 1 : fabs(way - 135) < 1e-6 ? 2 : 4;
  }
  return found;
}

START_TEST(phases_differ_by_hatching_and_shade) {
  static const int expected[] = {3, 1, 0, 2};
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  struct lb_drawing drawing;
  struct lb_point centre;
  double radius[RADII];
  timing_maker_draw(&drawing, maker);
  ck_assert_int_eq(ring_radii(radius, &centre, &drawing), 4);
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_shape *sector[LB_EVENTS];
    ck_assert_int_eq(ring_sectors(sector, &drawing, radius[2 * end], radius[2 * end + 1]), 4);
    for (int i = 0; i < LB_EVENTS; i++) {
      int next = (i + 1) % LB_EVENTS;
      ck_assert_int_eq(hatching(&drawing, sector[i]), expected[i]);
      ck_assert_msg(fabs(sector[i]->pen.shade - sector[next]->pen.shade) > 0.05, "phase %d", i);
    }
  }
  for (int i = 0; i < LB_EVENTS; i++)
    ck_assert_int_ne(expected[i], expected[(i + 1) % LB_EVENTS]);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

/* A heavy line along the radius at every event, over the whole ring. */
START_TEST(a_line_at_every_event) {
  static const double event[] = {-6, 60, 150, 300};
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  struct lb_drawing drawing;
  struct lb_point centre;
  double radius[RADII];
  int found = 0;
  timing_maker_draw(&drawing, maker);
  ring_radii(radius, &centre, &drawing);
  for (size_t i = 0; i < drawing.shapes; i++) {
    const struct lb_shape *line = &drawing.shape[i];
    if (line->kind != LB_SHAPE_LINE || line->pen.width != lb_pen_heavy.width)
      continue;
    int end = found / LB_EVENTS;
    double crank = event[found % LB_EVENTS] * degree + end * LB_PI;
    double near = hypot(line->at.x - centre.x, line->at.y - centre.y);
    double far = hypot(line->to.x - centre.x, line->to.y - centre.y);
    ck_same_direction(atan2(line->at.y - centre.y, line->at.x - centre.x),
                      page_direction(true, crank));
    ck_same_direction(atan2(line->to.y - centre.y, line->to.x - centre.x),
                      page_direction(true, crank));
    ck_assert_msg(fmin(near, far) <= radius[2 * end + 1] + 1e-9 &&
                      fmax(near, far) >= radius[2 * end] - 1e-9,
                  "the line of event %d is too short", found);
    found++;
  }
  ck_assert_int_eq(found, 2 * LB_EVENTS);
  lb_drawing_free(&drawing);
  sheet_maker_end(maker);
}
END_TEST

/* Numbers of the scale stand where the crank has turned that far, every 30 degrees. */
START_TEST(scale_counts_with_the_crank) {
  for (int clockwise = 0; clockwise < 2; clockwise++) {
    struct sheet_maker *maker =
        timing_maker_begin(timing_maker_yoke, clockwise ? "machine.rotation=clockwise"
                                                        : "machine.rotation=anticlockwise");
    struct lb_drawing drawing;
    struct lb_point centre;
    double radius[RADII];
    int found = 0;
    timing_maker_draw(&drawing, maker);
    ring_radii(radius, &centre, &drawing);
    for (size_t i = 0; i < drawing.shapes; i++) {
      const struct lb_shape *shape = &drawing.shape[i];
      if (shape->kind != LB_SHAPE_TEXT || shape->lettering.align != LB_ALIGN_MIDDLE)
        continue;
      char *end;
      double number = strtod(probe_letters(&drawing, shape), &end) * degree;
      if (*end)
        continue;
      double x = shape->at.x - centre.x, y = shape->at.y - centre.y;
      ck_same_direction(atan2(y, x), page_direction(clockwise, number));
      ck_assert(hypot(x, y) < radius[1] && hypot(x, y) > radius[2]);
      ck_assert_msg(fabs(remainder(shape->lettering.turn, turn)) <= LB_PI / 2 + EXACT,
                    "on its head");
      found++;
    }
    ck_assert_int_eq(found, 12);
    lb_drawing_free(&drawing);
    sheet_maker_end(maker);
  }
}
END_TEST

/* One worked end: one ring, one table, one release; both dead centres all the same. */
START_TEST(one_end_alone) {
  static const char *const acting[] = {"cylinder.acting=cap end", "cylinder.acting=rod end"};
  static const char *const title[] = {"Cap end", "Rod end"};
  static const char *const release[] = {"release, cap end", "release, rod end"};
  const double event[] = {-6 * degree, 60 * degree, 150 * degree, 300 * degree};
  for (int end = 0; end < LB_ENDS; end++) {
    struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, acting[end]);
    struct lb_drawing drawing;
    struct lb_point centre;
    double radius[RADII];
    timing_maker_draw(&drawing, maker);
    probe_sheet(&drawing);
    ck_assert_int_eq(ring_radii(radius, &centre, &drawing), 2);
    ck_ring(&drawing, radius[0], radius[1], true, end == LB_CAP_END ? 0 : LB_PI, event);
    ck_assert_ptr_nonnull(probe_find(&drawing, 0, title[end]));
    ck_assert_ptr_null(probe_find(&drawing, 0, title[1 - end]));
    ck_assert_ptr_nonnull(probe_find(&drawing, 0, release[end]));
    ck_assert_ptr_null(probe_find(&drawing, 0, release[1 - end]));
    ck_assert_ptr_null(probe_find(&drawing, 0, "Outer ring"));
    ck_assert_ptr_nonnull(probe_find(&drawing, 0, "cap-end"));
    ck_assert_ptr_nonnull(probe_find(&drawing, 0, "rod-end"));
    lb_drawing_free(&drawing);
    sheet_maker_end(maker);
  }
}
END_TEST

/* The two ends of a leader: at the ring's edge, and at its label. */
START_TEST(leaders_keep_off_the_rings) {
  uint64_t state = 5;
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  for (int n = 0; n < support_times(100); n++) {
    struct lb_ring ring;
    timing_maker_random(maker, &state);
    ck_assert(lb_ring_fit(&ring, &maker->sheet, (struct lb_box){0, 0, 118, 105}, LB_LETTERS_SMALL));
    for (int side = 0; side < LB_RING_SIDES; side++)
      for (size_t i = 0; i < ring.labels[side]; i++) {
        struct lb_point point[LB_LABEL_LEADER_MOST];
        size_t points = lb_label_leader(point, &ring.label[side][i], ring.text[side][i].start);
        for (size_t k = 0; k < points; k++) {
          double radius = hypot(point[k].x, point[k].y);
          ck_assert_msg(side ? radius < ring.inner[LB_ROD_END] : radius > ring.outer[LB_CAP_END],
                        "a leader reaches %.2f mm", radius);
        }
      }
  }
  sheet_maker_end(maker);
}
END_TEST

/* A diagram as large as its room lets it be, in the middle; and no room at all. */
START_TEST(diagram_fills_its_room) {
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  const struct lb_box room = {20, 30, 140, 140}, none = {0, 0, 50, 30};
  struct lb_ring ring, smaller;
  ck_assert(lb_ring_fit(&ring, &maker->sheet, room, LB_LETTERS_SMALL));
  struct lb_box extent = {0, 0, 0, 0};
  for (size_t i = 0; i < ring.labels[0]; i++) {
    struct lb_box box = lb_label_box(&ring.label[0][i]);
    extent.bottom = fmin(extent.bottom, box.bottom);
    extent.top = fmax(extent.top, box.top);
  }
  ck_close(ring.centre.y + (extent.bottom + extent.top) / 2, 85, 1e-9);
  ck_assert(extent.top - extent.bottom <= 110 && extent.top - extent.bottom > 105);
  ck_assert(
      lb_ring_fit(&smaller, &maker->sheet, (struct lb_box){20, 30, 140, 120}, LB_LETTERS_SMALL));
  ck_assert_msg(smaller.outer[LB_CAP_END] < ring.outer[LB_CAP_END], "%.1f mm",
                smaller.outer[LB_CAP_END]);
  ck_assert(!lb_ring_fit(&ring, &maker->sheet, none, LB_LETTERS_SMALL));
  sheet_maker_end(maker);
}
END_TEST

/* In a small room the labels within the rings are angles alone, and there are none for letters. */
START_TEST(brief_where_room_is_short) {
  struct sheet_maker *maker = timing_maker_begin(timing_maker_yoke, NULL);
  struct lb_ring ring;
  ck_assert(lb_ring_fit(&ring, &maker->sheet, (struct lb_box){0, 0, 120, 110}, LB_LETTERS_SMALL));
  ck_assert(!ring.brief);
  ck_assert_int_eq(ring.text[1][1].lines, 2);
  ck_assert_str_eq(ring.text[1][1].line[0], "cut-off");
  ck_assert_str_eq(ring.text[1][1].line[1], "60.0\u00b0");
  ck_assert(lb_ring_fit(&ring, &maker->sheet, (struct lb_box){0, 0, 110, 88}, LB_LETTERS_SMALL));
  ck_assert(ring.brief);
  ck_assert_uint_eq(ring.labels[1], LB_EVENTS);
  for (int event = 0; event < LB_EVENTS; event++)
    ck_assert_int_eq(ring.text[1][event].lines, 1);
  ck_assert_str_eq(ring.text[1][1].line[0], "60.0\u00b0");
  sheet_maker_end(maker);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("paper/sheet_timing_ring");
  TCase *diagram = tcase_create("diagram");
  tcase_add_test(diagram, rings_lie_as_the_crank_does);
  tcase_add_test(diagram, phases_differ_by_hatching_and_shade);
  tcase_add_test(diagram, a_line_at_every_event);
  tcase_add_test(diagram, scale_counts_with_the_crank);
  tcase_add_test(diagram, one_end_alone);
  tcase_add_test(diagram, leaders_keep_off_the_rings);
  tcase_add_test(diagram, diagram_fills_its_room);
  tcase_add_test(diagram, brief_where_room_is_short);
  suite_add_tcase(suite, diagram);
  return support_run(suite, NULL);
}
