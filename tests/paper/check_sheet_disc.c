/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Switch discs: the shapes are turned by hand, point by point, under a switch that stands still,
 * and the valves must open and shut at the angles of the timing. Lengths are measured between
 * points of the drawing, not calculated as the library does.
 */
#include "paper/sheet_disc.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "random_machine.h"
#include "sheet_maker.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

static const double degree = LB_PI / 180, turn = 2 * LB_PI, rpm = 2 * LB_PI / 60;

/* A yoke with [switch disc], timed by hand. */
static const char disc_text[] = MACHINE_TEXT_YOKE "[surroundings]\n"
                                                  "pressure = 1 bar absolute\n"
                                                  "[timing]\n"
                                                  "inlet opens = 10 deg\n"
                                                  "cut-off = 70 deg\n"
                                                  "release = 170 deg\n"
                                                  "exhaust closes = 350 deg\n"
                                                  "[inlet valve]\n"
                                                  "on delay = 10 ms\n"
                                                  "off delay = 20 ms\n"
                                                  "[exhaust valve]\n"
                                                  "on delay = 10 ms\n"
                                                  "off delay = 20 ms\n"
                                                  "[switch disc]\n"
                                                  "outer diameter = 120 mm\n"
                                                  "bore = 12 mm\n"
                                                  "track radius = 54 mm\n"
                                                  "track width = 6 mm\n"
                                                  "track spacing = 8 mm\n"
                                                  "least arc = 2 mm\n";

/* A random machine with a disc that suits its tracks, and delays that its valves can follow. */
static struct lb_machine random_disc(uint64_t *state) {
  struct lb_machine machine;
  random_machine(&machine, state);
  struct lb_switch_disc *disc = &machine.switch_disc;
  machine.clockwise = support_uniform(state) < 0.5;
  double width = support_between(state, 0.5e-3, 8e-3),
         spacing = width + support_between(state, 0, 5e-3);
  double inner = support_between(state, 8e-3, 60e-3);
  disc->given = true;
  disc->track_width = width;
  disc->track_spacing = spacing;
  disc->bore = 2 * inner * support_between(state, 0.1, 0.4);
  disc->keyway_width =
      support_uniform(state) < 0.5 ? 0 : disc->bore * support_between(state, 0.1, 0.4);
  disc->keyway_depth = disc->keyway_width / 2;
  disc->bolt_count = (int)support_between(state, 0, 6);
  disc->bolt_circle = disc->bolt_count ? 1.4 * inner : 0;
  disc->bolt_hole = disc->bolt_count ? 0.2 * inner : 0;
  disc->track_radius = inner + 3 * spacing + width / 2 + support_between(state, 0, 20e-3);
  disc->outer_diameter = 2 * (disc->track_radius + width / 2 + support_between(state, 0, 8e-3));
  disc->switch_offset = support_uniform(state) < 0.3 ? 0 : support_between(state, -turn, turn);
  if (support_uniform(state) < 0.5)
    disc->compensated_speed = support_between(state, 10, 300) * rpm;
  for (int valve = 0; valve < LB_VALVES; valve++)
    machine.valve_delay[valve] =
        (struct lb_valve_delay){support_between(state, 0, 20e-3), support_between(state, 0, 20e-3)};
  return machine;
}

/* A disc and what it was drawn from; alone, without paper, in true size. */
struct drawn {
  struct sheet_maker maker;
  struct lb_drawing drawing;
  struct lb_point centre; /* on the page */
  enum lb_status status;
  struct lb_error error;
};

static bool draw(struct drawn *drawn, const struct lb_machine *machine, bool cutting) {
  *drawn = (struct drawn){.status = LB_OK};
  if (!sheet_maker_begin(&drawn->maker, machine))
    return false;
  drawn->maker.sheet.cutting = cutting;
  drawn->status = lb_sheet_disc(&drawn->drawing, &drawn->maker.sheet, &drawn->error);
  if (drawn->status != LB_OK)
    ck_assert_int_eq(drawn->status, LB_NO_ANSWER);
  for (size_t i = 0; i < drawn->drawing.shapes && drawn->status == LB_OK; i++) {
    const struct lb_shape *shape = &drawn->drawing.shape[i];
    if (shape->kind == LB_SHAPE_CIRCLE && shape->pen.layer == LB_LAYER_CUT)
      if (fabs(shape->radius - machine->switch_disc.outer_diameter * 500) < 1e-9)
        drawn->centre = probe_seen(&drawn->drawing, shape, shape->at);
  }
  return true;
}

static void release(struct drawn *drawn) {
  lb_drawing_free(&drawn->drawing);
  sheet_maker_end(&drawn->maker);
}

/* Radius of the middle of a valve's track [mm]: the cap end's inlet outermost. */
static double track_radius(const struct lb_machine *machine, enum lb_end end, enum lb_valve valve) {
  int before = (end == LB_ROD_END && machine->works[LB_CAP_END] ? 2 : 0) + (int)valve;
  return 1e3 * (machine->switch_disc.track_radius - before * machine->switch_disc.track_spacing);
}

/* The solid arc of a radius on the layer of marks; the broken ones are the rest of a track. */
static const struct lb_shape *find_arc(const struct lb_drawing *drawing, double radius) {
  for (size_t i = 0; i < drawing->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind == LB_SHAPE_ARC && shape->pen.layer == LB_LAYER_MARK && shape->pen.dash == 0 &&
        fabs(shape->radius - radius) < 1e-9)
      return shape;
  }
  ck_abort_msg("no arc of %.3f mm", radius);
  return NULL;
}

/* Whether an arc of a disc on the shaft is at a place, seen from the side the chart is mounted on,
 * when the crank has turned by an angle: its ends are turned as points, and the place lies between.
 * place  [rad] from the pointer, which is up, in the direction of rotation */
static bool is_at(const struct lb_machine *machine, const struct lb_shape *arc, double place,
                  double crank) {
  double way = machine->clockwise ? -1 : 1;
  struct lb_point start = {cos(arc->from), sin(arc->from)};
  double c = cos(way * crank), s = sin(way * crank);
  struct lb_point turned = {c * start.x - s * start.y, s * start.x + c * start.y};
  struct lb_point fixed = {cos(LB_PI / 2 + way * place), sin(LB_PI / 2 + way * place)};
  double ahead =
      atan2(turned.x * fixed.y - turned.y * fixed.x, turned.x * fixed.x + turned.y * fixed.y);
  if (ahead < 0)
    ahead += turn;
  return ahead < arc->sweep;
}

/* Angle of an event after its end's dead centre [rad], and by how much its signal comes before. */
static double event_angle(const struct drawn *drawn, enum lb_end end, enum lb_valve valve,
                          bool on) {
  const struct lb_timing *t = &drawn->maker.machine.timing[end];
  if (valve == LB_INLET_VALVE)
    return on ? t->inlet_opens : drawn->maker.answer.choice[LB_AS_TIMED].cutoff[end];
  return on ? t->release : t->exhaust_closes;
}

static double lead_of(const struct lb_machine *machine, enum lb_valve valve, bool on) {
  const struct lb_valve_delay *delay = &machine->valve_delay[valve];
  return machine->switch_disc.compensated_speed * (on ? delay->on : delay->off);
}

/* The arcs of a track switch when the shaft has turned so far for the first cylinder, and for every
 * other cylinder under switches of its own. */
static void require_switching(const struct drawn *drawn, enum lb_end end, enum lb_valve valve) {
  const struct lb_machine *machine = &drawn->maker.machine;
  const double aside = 1e-7; /* [rad] */
  double width = machine->switch_disc.track_width * 1e3;
  double dead_centre = lb_linkage_dead_centre(&machine->linkage, end);
  double radius = track_radius(machine, end, valve);
  double on = dead_centre + event_angle(drawn, end, valve, true) - lead_of(machine, valve, true);
  double off = dead_centre + event_angle(drawn, end, valve, false) - lead_of(machine, valve, false);
  for (int side = -1; side <= 1; side += 2) {
    const struct lb_shape *arc = find_arc(&drawn->drawing, radius + side * width / 2);
    struct lb_point centre = probe_seen(&drawn->drawing, arc, arc->at);
    ck_close(hypot(centre.x - drawn->centre.x, centre.y - drawn->centre.y), 0, 1e-9);
    ck_close(arc->sweep, off - on, 1e-9);
    for (int k = 0; k < machine->cylinders; k++) {
      double later = machine->crank_angle[k];
      double place = machine->switch_disc.switch_offset + later;
      ck_assert(!is_at(machine, arc, place, on + later - aside));
      ck_assert(is_at(machine, arc, place, on + later + aside));
      ck_assert(is_at(machine, arc, place, (on + off) / 2 + later));
      ck_assert(is_at(machine, arc, place, off + later - aside));
      ck_assert(!is_at(machine, arc, place, off + later + aside));
    }
  }
}

START_TEST(turned_disc_switches_at_the_events) {
  uint64_t state = 21;
  int drawn_discs = 0, several = 0, compensated = 0, ways[2] = {0, 0};
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine machine = random_disc(&state);
    struct drawn drawn;
    if (!draw(&drawn, &machine, true))
      continue;
    if (drawn.status == LB_OK) {
      drawn_discs++;
      several += machine.cylinders > 1;
      compensated += machine.switch_disc.compensated_speed > 0;
      ways[machine.clockwise]++;
      for (int end = 0; end < LB_ENDS; end++)
        for (int valve = 0; valve < LB_VALVES && machine.works[end]; valve++)
          require_switching(&drawn, (enum lb_end)end, (enum lb_valve)valve);
      probe_inside_pages(&drawn.drawing, 0);
      probe_no_overlapping_texts(&drawn.drawing);
    }
    release(&drawn);
  }
  int least = support_times(200) / 10;
  ck_assert_int_ge(drawn_discs, 5 * least);
  ck_assert_int_ge(several, least);
  ck_assert_int_ge(compensated, least);
  ck_assert(ways[0] >= least && ways[1] >= least);
}
END_TEST

/* On every paper, however close the events and large the disc. */
START_TEST(sheets_keep_to_the_paper) {
  static const double measured[][2] = {{100, 100}, {97.2, 97.5}, {104, 101}};
  uint64_t state = 22;
  int sheets = 0, tiled = 0;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine machine = random_disc(&state);
    struct sheet_maker maker;
    struct lb_drawing drawing = {0};
    struct lb_error error;
    if (!sheet_maker_begin(&maker, &machine))
      continue;
    maker.sheet.size = (enum lb_paper_size)(i % LB_PAPER_SIZES);
    maker.sheet.measured[0] = measured[i / 3 % 3][0];
    maker.sheet.measured[1] = measured[i / 3 % 3][1];
    maker.sheet.inch = i % 2;
    if (lb_sheet_disc(&drawing, &maker.sheet, &error) == LB_OK) {
      sheets++;
      tiled += drawing.pages > 2;
      probe_sheet(&drawing);
      ck_assert_ptr_nonnull(probe_find(&drawing, drawing.pages - 1, "chord"));
      ck_assert_ptr_nonnull(probe_find(&drawing, drawing.pages - 2, "Tracks: A "));
    }
    lb_drawing_free(&drawing);
    sheet_maker_end(&maker);
  }
  ck_assert_int_ge(sheets, support_times(200) / 2);
  ck_assert_int_ge(tiled, support_times(200) / 20);
}
END_TEST

/* Distance of a point from a line between two others. */
static double distance_from(struct lb_point p, struct lb_point from, struct lb_point to) {
  double x = to.x - from.x, y = to.y - from.y;
  double share = ((p.x - from.x) * x + (p.y - from.y) * y) / (x * x + y * y);
  share = fmin(fmax(share, 0), 1);
  return hypot(p.x - from.x - share * x, p.y - from.y - share * y);
}

/* No line goes through the letter of a track, which stands within its outlined part. */
static void require_clear_letter(const struct drawn *drawn, const struct lb_shape *letter) {
  const double half = 1.1; /* [mm] of the widest letter, and of its height above the middle */
  for (size_t i = 0; i < drawn->drawing.shapes; i++) {
    const struct lb_shape *line = &drawn->drawing.shape[i];
    if (line->kind == LB_SHAPE_LINE)
      ck_assert(distance_from(letter->at, line->at, line->to) > half);
  }
}

START_TEST(letters_of_tracks_are_clear_of_lines) {
  uint64_t state = 23;
  int seen = 0;
  for (int i = 0; i < support_times(200); i++) {
    struct lb_machine machine = random_disc(&state);
    struct drawn drawn;
    if (!draw(&drawn, &machine, true))
      continue;
    for (size_t k = 0; k < drawn.drawing.shapes && drawn.status == LB_OK; k++) {
      const struct lb_shape *shape = &drawn.drawing.shape[k];
      if (shape->kind != LB_SHAPE_TEXT || strlen(probe_letters(&drawn.drawing, shape)) != 1)
        continue;
      require_clear_letter(&drawn, shape);
      seen++;
    }
    release(&drawn);
  }
  ck_assert_int_ge(seen, support_times(200) / 2);
}
END_TEST

/* What is cut is closed: the hole's arc and the sides of its keyway meet end to end. */
START_TEST(outlines_can_be_cut) {
  struct lb_machine machine = machine_text(disc_text, NULL);
  machine.switch_disc.keyway_width = 4e-3;
  machine.switch_disc.keyway_depth = 1.8e-3;
  machine.switch_disc.bolt_count = 3;
  machine.switch_disc.bolt_circle = 40e-3;
  machine.switch_disc.bolt_hole = 4.3e-3;
  struct drawn drawn;
  struct lb_point open[20], first = {0, 0};
  int ends = 0, holes = 0;
  ck_assert(draw(&drawn, &machine, true) && drawn.status == LB_OK);
  for (size_t i = 0; i < drawn.drawing.shapes; i++) {
    const struct lb_shape *shape = &drawn.drawing.shape[i];
    if (shape->pen.layer != LB_LAYER_CUT)
      continue;
    if (shape->kind == LB_SHAPE_LINE) {
      open[ends++] = shape->at;
      open[ends++] = shape->to;
    } else if (shape->kind == LB_SHAPE_ARC) {
      ck_close(shape->radius, 6, 1e-9);
      open[ends++] = lb_sheet_polar(shape->at, 6, shape->from);
      open[ends++] = lb_sheet_polar(shape->at, 6, shape->from + shape->sweep);
    } else if (fabs(shape->radius - 2.15) < 1e-9) {
      ck_close(hypot(shape->at.x, shape->at.y), 20, 1e-9);
      first = holes++ == 0 ? shape->at : first;
    }
  }
  ck_assert_int_eq(ends, 8);
  for (int i = 0; i < ends; i++) {
    int met = 0;
    for (int j = 0; j < ends; j++)
      met += j != i && hypot(open[i].x - open[j].x, open[i].y - open[j].y) < 1e-9;
    ck_assert_int_eq(met, 1);
  }
  /* the first hole and the keyway are at the mark, 1.8 mm deep and 4 mm wide */
  double top = 0, left = 0, right = 0;
  for (int i = 0; i < ends; i++) {
    top = fmax(top, open[i].y);
    left = fmin(left, open[i].x);
    right = fmax(right, open[i].x);
  }
  ck_close(top, 7.8, 1e-9);
  ck_close(right, 2, 1e-9);
  ck_close(left, -2, 1e-9);
  ck_assert_int_eq(holes, 3);
  ck_close(first.x, 0, 1e-9);
  ck_close(first.y, 20, 1e-9);
  release(&drawn);
}
END_TEST

/* The texts of a page in the order in which they were written. */
struct texts {
  const char *text[400];
  int count;
};

static struct texts texts_of(const struct lb_drawing *drawing, size_t page) {
  struct texts texts = {.count = 0};
  const struct lb_page *p = &drawing->page[page];
  for (size_t i = p->first; i < p->first + p->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_TEXT) {
      ck_assert_int_lt(texts.count, 400);
      texts.text[texts.count++] = probe_letters(drawing, &drawing->shape[i]);
    }
  return texts;
}

static int find_text(const struct texts *texts, int from, const char *text) {
  for (int i = from; i < texts->count; i++)
    if (strcmp(texts->text[i], text) == 0)
      return i;
  ck_abort_msg("no '%s'", text);
  return -1;
}

static double number(const char *text) {
  double value;
  ck_assert_msg(sscanf(text, "%lf", &value) == 1, "'%s' is no number", text);
  return value;
}

/* Half a unit of the last digit of what is printed to a tenth. */
static const double printed = 0.05 + 1e-9;

/* The row of an edge in the table of a page, against the points of the drawing: the mark, and the
 * end of an arc, on the middle of the track.
 * begins  whether the edge is where the arc of the drawing begins, counterclockwise */
static void require_row(const struct drawn *drawn, const struct texts *texts, int row,
                        enum lb_end end, enum lb_valve valve, bool on) {
  const struct lb_machine *machine = &drawn->maker.machine;
  double width = machine->switch_disc.track_width * 1e3;
  double radius = track_radius(machine, end, valve);
  const struct lb_shape *arc = find_arc(&drawn->drawing, radius + width / 2);
  /* a disc that turns clockwise meets the switch with the clockwise end of the arc first */
  bool begins = machine->clockwise == on;
  double direction = begins ? arc->from : arc->from + arc->sweep;
  struct lb_point mark = {0, radius},
                  edge = lb_sheet_polar((struct lb_point){0, 0}, radius, direction);
  double way = acos(fmin(fmax((mark.x * edge.x + mark.y * edge.y) / (radius * radius), -1), 1));
  bool back = machine->clockwise ? edge.x < 0 : edge.x > 0;
  double place = back ? way : turn - way;
  ck_close(number(texts->text[row + 2]), event_angle(drawn, end, valve, on) / degree, printed);
  ck_close(number(texts->text[row + 3]), lead_of(machine, valve, on) / degree, printed);
  ck_close(remainder(number(texts->text[row + 4]) - place / degree, 360), 0, printed);
  ck_close(number(texts->text[row + 5]), way / degree, printed);
  ck_assert_ptr_nonnull(strstr(texts->text[row + 5], back ? " back" : " ahead"));
  ck_close(number(texts->text[row + 6]), radius * way, printed);
  ck_close(number(texts->text[row + 7]), hypot(mark.x - edge.x, mark.y - edge.y), printed);
  ck_assert_ptr_nonnull(strstr(texts->text[row + 7], " mm"));
}

static const char *const names[LB_ENDS][LB_VALVES] = {{"A cap end, inlet", "B cap end, exhaust"},
                                                      {"C rod end, inlet", "D rod end, exhaust"}};

/* Machines of both directions, with and without compensation. */
static void require_table(const char *override, bool clockwise) {
  struct lb_machine machine = machine_text(disc_text, override);
  machine.clockwise = clockwise;
  struct drawn drawn;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  ck_assert_uint_eq(drawn.drawing.pages, 2);
  struct texts texts = texts_of(&drawn.drawing, 1);
  for (int end = 0; end < LB_ENDS; end++)
    for (int valve = 0; valve < LB_VALVES; valve++) {
      int row = find_text(&texts, 0, names[end][valve]);
      require_row(&drawn, &texts, row, (enum lb_end)end, (enum lb_valve)valve, true);
      row = find_text(&texts, row + 1, names[end][valve]);
      require_row(&drawn, &texts, row, (enum lb_end)end, (enum lb_valve)valve, false);
      row = find_text(&texts, row + 1, names[end][valve]);
      double radius = track_radius(&machine, (enum lb_end)end, (enum lb_valve)valve);
      double window = find_arc(&drawn.drawing, radius + 3)->sweep;
      ck_close(number(texts.text[row + 1]), radius, printed);
      ck_close(number(texts.text[row + 2]), window / degree, printed);
      ck_close(number(texts.text[row + 3]), radius * window, printed);
      ck_close(number(texts.text[row + 4]), 360 - window / degree, printed);
      ck_close(number(texts.text[row + 5]), radius * (turn - window), printed);
    }
  release(&drawn);
}

START_TEST(table_agrees_with_the_drawing) {
  static const char *const overrides[] = {
      "switch disc.switch offset=0 deg", "switch disc.switch offset=100 deg",
      "switch disc.switch offset=-33 deg", "switch disc.compensated speed=100 rpm"};
  for (size_t i = 0; i < sizeof overrides / sizeof overrides[0]; i++) {
    require_table(overrides[i], true);
    require_table(overrides[i], false);
  }
}
END_TEST

START_TEST(labels_say_where_the_tracks_end) {
  /* yoke, no offset: angles on the disc are those of the crank */
  static const char *const labels[] = {
      "A on 10.0\302\260",  "A off 70.0\302\260",  "B on 170.0\302\260", "B off 350.0\302\260",
      "C on 190.0\302\260", "C off 250.0\302\260", "D on 350.0\302\260", "D off 170.0\302\260"};
  struct lb_machine machine = machine_text(disc_text, NULL);
  struct drawn drawn;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  for (size_t i = 0; i < sizeof labels / sizeof labels[0]; i++)
    ck_assert_msg(probe_find(&drawn.drawing, 0, labels[i]) != NULL, "%s", labels[i]);
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "cap-end dead centre"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "rod-end dead centre"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "Not compensated for delays of the valves."));
  release(&drawn);
}
END_TEST

START_TEST(compensation_is_printed) {
  struct lb_machine machine = machine_text(disc_text, "switch disc.compensated speed=100 rpm");
  struct drawn drawn;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0,
                                   "Compensated for 100 rpm: on 10 ms = 6.0 deg, off 20 ms = 12.0 "
                                   "deg; right at this speed only."));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "A on 4.0\302\260"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "A off 58.0\302\260"));
  release(&drawn);
  machine.valve_delay[LB_EXHAUST_VALVE].on = 5e-3;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  ck_assert_ptr_nonnull(probe_find(
      &drawn.drawing, 0, "inlet on 10 ms = 6.0 deg, off 20 ms = 12.0 deg; exhaust on 5 "));
  release(&drawn);
}
END_TEST

/* Angles that are those of switching stay; a cut-off that a rule has found is none of them. */
START_TEST(angles_of_switching_stay) {
  struct lb_machine machine = machine_text(disc_text, "switch disc.compensated speed=100 rpm");
  struct drawn drawn;
  machine.timing[LB_CAP_END].angles_are_switching = true;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "A on 10.0\302\260"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "A off 70.0\302\260"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "C on 184.0\302\260"));
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "the cap end as those of switching"));
  release(&drawn);
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  char label[40];
  ck_assert(sheet_maker_begin_rule(&maker, &machine, LB_ECONOMY));
  ck_assert_int_eq(lb_sheet_disc(&drawing, &maker.sheet, NULL), LB_OK);
  snprintf(label, sizeof label, "A off %.1f\302\260",
           maker.answer.choice[LB_ECONOMY].cutoff[LB_CAP_END] / degree - 12);
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "A on 10.0\302\260"));
  ck_assert_msg(probe_find(&drawing, 0, label) != NULL, "%s", label);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

START_TEST(switches_of_cylinders_are_listed) {
  struct lb_machine machine = machine_text(disc_text, "switch disc.switch offset=-30 deg");
  struct drawn drawn;
  machine.cylinders = 3;
  machine.crank_angle[1] = 120 * degree;
  machine.crank_angle[2] = 240 * degree;
  ck_assert(draw(&drawn, &machine, false) && drawn.status == LB_OK);
  struct texts texts = texts_of(&drawn.drawing, 1);
  int row = find_text(&texts, 0, "switches, from the pointer [deg]");
  static const char *const cells[] = {"1", "330.0", "2", "90.0", "3", "210.0"};
  for (int i = 0; i < 6; i++)
    ck_assert_str_eq(texts.text[row + 1 + i], cells[i]);
  ck_assert_ptr_nonnull(probe_find(&drawn.drawing, 0, "330.0, 90.0, 210.0 deg"));
  release(&drawn);
}
END_TEST

START_TEST(one_end_has_two_tracks) {
  struct lb_machine machine = machine_text(disc_text, "cylinder.acting=rod end");
  struct drawn drawn;
  ck_assert(draw(&drawn, &machine, true) && drawn.status == LB_OK);
  require_switching(&drawn, LB_ROD_END, LB_INLET_VALVE);
  require_switching(&drawn, LB_ROD_END, LB_EXHAUST_VALVE);
  ck_close(track_radius(&machine, LB_ROD_END, LB_INLET_VALVE), 54, 1e-9);
  ck_assert_ptr_null(probe_find(&drawn.drawing, 0, "C "));
  release(&drawn);
}
END_TEST

/* What a message says would do does, and a little less does not. */
static bool refused(const struct lb_machine *machine, char *message) {
  struct drawn drawn;
  ck_assert(draw(&drawn, machine, true));
  bool no_answer = drawn.status == LB_NO_ANSWER;
  if (no_answer) {
    ck_assert_uint_eq(drawn.drawing.pages, 0);
    strcpy(message, drawn.error.text);
  }
  release(&drawn);
  return no_answer;
}

static double after(const char *message, const char *words) {
  const char *at = strstr(message, words);
  ck_assert_msg(at != NULL, "'%s' in '%s'", words, message);
  return number(at + strlen(words));
}

START_TEST(arcs_too_short_are_refused) {
  struct lb_machine machine = machine_text(disc_text, "switch disc.least arc=50 mm");
  struct lb_switch_disc *disc = &machine.switch_disc;
  char message[sizeof((struct lb_error *)0)->text];
  /* A is on over 60 deg of 54 mm: 56.5 mm; C over 60 deg of 38 mm: 39.8 mm */
  ck_assert(refused(&machine, message));
  ck_assert_str_eq(message,
                   "rod end, inlet: the track is on over 39.8 mm only (60.0 deg at a radius "
                   "of 38.0 mm), and its switch tells 50.0 mm or more; a track radius of "
                   "63.8 mm on a disc to match would do, or a switch with a least arc of "
                   "39.7 mm");
  struct lb_machine larger = machine;
  larger.switch_disc.outer_diameter = 160e-3;
  larger.switch_disc.track_radius = after(message, "a track radius of ") * 1e-3;
  ck_assert(!refused(&larger, message));
  larger.switch_disc.track_radius -= 0.2e-3;
  ck_assert(refused(&larger, message));
  disc->least_arc = 39.7e-3;
  ck_assert(!refused(&machine, message));
  disc->least_arc = 39.9e-3;
  ck_assert(refused(&machine, message));
}
END_TEST

START_TEST(gaps_too_short_are_refused) {
  struct lb_machine machine = machine_text(disc_text, "timing.exhaust closes=369 deg");
  char message[sizeof((struct lb_error *)0)->text];
  machine.timing[LB_CAP_END].cutoff = 30 * degree;  /* A is on over 20 deg of 54 mm: 18.8 mm */
  machine.timing[LB_CAP_END].release = 30 * degree; /* B is off over 21 deg of 46 mm: 16.9 mm */
  machine.switch_disc.least_arc = 16.8e-3;
  ck_assert(!refused(&machine, message));
  machine.switch_disc.least_arc = 17.5e-3;
  ck_assert(refused(&machine, message));
  ck_assert_msg(strstr(message,
                       "cap end, exhaust: the track is off over 16.9 mm only (21.0 deg at a "
                       "radius of 46.0 mm)") == message,
                "%s", message);
}
END_TEST

START_TEST(valves_too_slow_are_refused) {
  struct lb_machine machine = machine_text(disc_text, "switch disc.compensated speed=600 rpm");
  struct lb_switch_disc *disc = &machine.switch_disc;
  char message[sizeof((struct lb_error *)0)->text];
  /* the inlet is open for 60 deg, which pass in 20 ms at 500 rpm */
  ck_assert(refused(&machine, message));
  ck_assert_str_eq(message,
                   "cap end, inlet: at the compensated speed of 600 rpm the valve would be "
                   "switched off before it has begun to open; its delays allow 500.0 rpm "
                   "at most");
  disc->compensated_speed = 499.9 * rpm;
  ck_assert(!refused(&machine, message));
  disc->compensated_speed = 500.1 * rpm;
  ck_assert(refused(&machine, message));
  /* the exhaust is shut for 180 deg, which pass in 60 ms at 500 rpm */
  machine.valve_delay[LB_INLET_VALVE] = (struct lb_valve_delay){0, 0};
  machine.valve_delay[LB_EXHAUST_VALVE] = (struct lb_valve_delay){60e-3, 1e-3};
  disc->compensated_speed = 600 * rpm;
  ck_assert(refused(&machine, message));
  ck_assert_ptr_nonnull(strstr(message, "cap end, exhaust: "));
  ck_assert_ptr_nonnull(strstr(message, "switched on again before it has shut"));
  ck_close(after(message, "its delays allow "), 500, 0.1 + 1e-9);
}
END_TEST

START_TEST(no_window_is_refused) {
  struct lb_machine machine = machine_text(disc_text, NULL);
  char message[sizeof((struct lb_error *)0)->text];
  machine.timing[LB_CAP_END].cutoff = machine.timing[LB_CAP_END].inlet_opens;
  machine.switch_disc.least_arc = 0;
  ck_assert(refused(&machine, message));
  ck_assert_ptr_nonnull(strstr(message, "its track would never be on"));
}
END_TEST

static Suite *suite(void) {
  Suite *s = suite_create("sheet_disc");
  TCase *c = tcase_create("sheet_disc");
  tcase_set_timeout(c, 300);
  tcase_add_test(c, turned_disc_switches_at_the_events);
  tcase_add_test(c, sheets_keep_to_the_paper);
  tcase_add_test(c, letters_of_tracks_are_clear_of_lines);
  tcase_add_test(c, outlines_can_be_cut);
  tcase_add_test(c, table_agrees_with_the_drawing);
  tcase_add_test(c, labels_say_where_the_tracks_end);
  tcase_add_test(c, compensation_is_printed);
  tcase_add_test(c, angles_of_switching_stay);
  tcase_add_test(c, switches_of_cylinders_are_listed);
  tcase_add_test(c, one_end_has_two_tracks);
  tcase_add_test(c, arcs_too_short_are_refused);
  tcase_add_test(c, gaps_too_short_are_refused);
  tcase_add_test(c, valves_too_slow_are_refused);
  tcase_add_test(c, no_window_is_refused);
  suite_add_tcase(s, c);
  return s;
}

int main(void) {
  return support_run(suite(), NULL);
}
