/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The torque page, read back from its shapes with the scales as they are printed.
 */
#include "paper/sheet_torque.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "plot_probe.h"
#include "random_machine.h"
#include "sheet_maker.h"
#include "slow_reference.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double degree = LB_PI / 180, turn = 2 * LB_PI;
/* [mm] widths and dashes of the pens, and distance of the hatching. */
static const double heavy = 0.5, normal = 0.25, mean_dash = 4, load_width = 0.35, load_dash = 8;
static const double fine = 0.13, dead_spacing = 2;
static const double cylinder_dash[] = {0.6, 1.2, 2, 3};
static const double exact = 1e-6; /* [mm] */
static const double aside = 1e-7; /* [rad] off the events, where torque jumps */

enum {
  RUNNING,
  STANDSTILL,
  DIAGRAMS
};

/* The page with what it is of. */
struct seen {
  struct plot_probe probe[DIAGRAMS];
  const struct sheet_maker *maker;
  const struct lb_machine *machine;
  double torque_unit; /* [N m] that the unit printed is */
};

static struct seen look(const struct lb_drawing *drawing, const struct sheet_maker *maker) {
  const double pound_foot = LB_PSI * LB_INCH * LB_INCH * 12 * LB_INCH;
  struct seen s = {.maker = maker,
                   .machine = &maker->machine,
                   .torque_unit = maker->sheet.inch ? pound_foot : 1};
  ck_assert_int_eq(plot_probe_count(drawing, 0), DIAGRAMS);
  for (int i = 0; i < DIAGRAMS; i++) {
    s.probe[i] = plot_probe_find(drawing, 0, i);
    const struct probe_scale *across = &s.probe[i].scale[LB_PLOT_BOTTOM];
    ck_assert_int_eq(across->figures, 13);
    ck_close(across->low, 0, SOLVER);
    ck_close(across->unit * (s.probe[i].frame.right - s.probe[i].frame.left), 360, SOLVER * 360);
  }
  return s;
}

/* Crank angle [rad] and torque [N m] of a point of the page. */
static struct lb_point data(const struct seen *s, int diagram, struct lb_point p) {
  struct lb_point d = plot_probe_data(&s->probe[diagram], p, LB_PLOT_BOTTOM, LB_PLOT_LEFT);
  return (struct lb_point){d.x * degree, d.y * s->torque_unit};
}

/* Millimetres of a torque above the lower edge. */
static double height(const struct seen *s, int diagram, double torque) {
  const struct probe_scale *up = &s->probe[diagram].scale[LB_PLOT_LEFT];
  return (torque / s->torque_unit - up->low) / up->unit;
}

/* Torque of a cylinder, calculated the long way. */
static double cylinder_torque(const struct seen *s, int cylinder, double angle) {
  const struct lb_machine *m = s->machine;
  double own = angle - m->crank_angle[cylinder];
  double net = reference_net_force(m, s->maker->detail.cutoff, own);
  double slope = (double)reference_slope(&m->linkage, (long double)own);
  return net * slope - (m->friction + m->friction_share * fabs(net)) * fabs(slope);
}

static double torque(const struct seen *s, double angle) {
  double sum = 0;
  for (int k = 0; k < s->machine->cylinders; k++)
    sum += cylinder_torque(s, k, angle);
  return sum;
}

/* Torque of the machine at standstill: supply pressure while an inlet is open, else back pressure.
 */
static double standing(const struct seen *s, double angle) {
  const struct lb_machine *m = s->machine;
  double sum = 0;
  for (int k = 0; k < m->cylinders; k++) {
    double own = angle - m->crank_angle[k], net = 0;
    for (int i = 0; i < LB_ENDS; i++) {
      double centre = i == LB_CAP_END ? 0 : (double)reference_outward(&m->linkage);
      double since = own - centre - m->timing[i].inlet_opens;
      since -= turn * floor(since / turn);
      bool open = since < s->maker->detail.cutoff[i] - m->timing[i].inlet_opens;
      double p = !m->works[i] ? m->ambient_pressure : open ? m->supply_pressure : m->back_pressure;
      net += (i == LB_CAP_END ? 1 : -1) * (p - m->ambient_pressure) *
             lb_machine_area(m, (enum lb_end)i);
    }
    double slope = (double)reference_slope(&m->linkage, (long double)own);
    sum += net * slope - (m->breakaway_friction + m->friction_share * fabs(net)) * fabs(slope);
  }
  return sum;
}

/* The only curve of a diagram in a pen, whole and from left to right. */
static const struct lb_shape *curve_of(const struct plot_probe *probe, double width, double dash) {
  size_t at = 0;
  const struct lb_shape *curve = plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dash);
  ck_assert_ptr_nonnull(curve);
  ck_assert(!curve->closed);
  const struct lb_point *p = &probe->drawing->point[curve->first];
  ck_close(p[0].x, probe->frame.left, exact);
  ck_close(p[curve->count - 1].x, probe->frame.right, exact);
  for (size_t i = 1; i < curve->count; i++)
    ck_assert_double_ge(p[i].x, p[i - 1].x);
  return curve;
}

/* The integral of a curve over the revolution [J], and of its size. */
static double integral(const struct seen *s, int diagram, const struct lb_shape *curve,
                       double *size) {
  const struct lb_point *p = &s->probe[diagram].drawing->point[curve->first];
  double sum = 0;
  *size = 0;
  for (size_t i = 1; i < curve->count; i++) {
    struct lb_point a = data(s, diagram, p[i - 1]), b = data(s, diagram, p[i]);
    sum += (b.x - a.x) * (a.y + b.y) / 2;
    *size += (b.x - a.x) * (fabs(a.y) + fabs(b.y)) / 2;
  }
  return sum;
}

/* A curve goes through what a torque is at many angles off the events. */
static void check_curve(const struct seen *s, int diagram, const struct lb_shape *curve,
                        double (*torque_at)(const struct seen *s, double angle)) {
  const struct plot_probe *probe = &s->probe[diagram];
  for (int i = 0; i < 360; i++) {
    double angle = (i + 0.37) * degree;
    struct lb_point p = {probe->frame.left +
                             (probe->frame.right - probe->frame.left) * angle / turn,
                         probe->frame.bottom + height(s, diagram, torque_at(s, angle))};
    plot_probe_passes(probe, curve, p, 0.02);
  }
}

/* Where a torque jumps, the curve is upright and reaches both its values. */
static void check_jumps(const struct seen *s, int diagram, const struct lb_shape *curve,
                        double (*torque_at)(const struct seen *s, double angle)) {
  const struct lb_machine *m = s->machine;
  const struct plot_probe *probe = &s->probe[diagram];
  const struct lb_point *p = &probe->drawing->point[curve->first];
  for (int i = 0; i < LB_ENDS; i++) {
    const struct lb_timing *t = &m->timing[i];
    const double event[] = {t->inlet_opens, s->maker->detail.cutoff[i], t->release};
    double centre = i == LB_CAP_END ? 0 : (double)reference_outward(&m->linkage);
    for (size_t k = 0; m->works[i] && k < sizeof event / sizeof event[0]; k++) {
      double angle = centre + event[k];
      angle -= turn * floor(angle / turn);
      double before = height(s, diagram, torque_at(s, angle - aside));
      double after = height(s, diagram, torque_at(s, angle + aside));
      double x = probe->frame.left + (probe->frame.right - probe->frame.left) * angle / turn;
      /* a jump at the end of the turn has one of its values at each edge of the frame */
      if (fabs(before - after) < 1 /* [mm] */ || angle < exact || angle > turn - exact)
        continue;
      double low = HUGE_VAL, high = -HUGE_VAL;
      for (size_t j = 0; j < curve->count; j++)
        if (fabs(p[j].x - x) < exact) {
          low = fmin(low, p[j].y - probe->frame.bottom);
          high = fmax(high, p[j].y - probe->frame.bottom);
        }
      ck_close(low, fmin(before, after), 1e-3);
      ck_close(high, fmax(before, after), 1e-3);
    }
  }
}

/* Each cylinder drawn apart; where all are, they add up to the whole at every angle. */
static void check_cylinders(const struct seen *s, const struct lb_shape *total) {
  const struct plot_probe *probe = &s->probe[RUNNING];
  const struct lb_point *point = probe->drawing->point;
  int cylinders = s->machine->cylinders, apart = cylinders == 1 ? 0 : cylinders > 4 ? 1 : cylinders;
  const struct lb_shape *curve[4];
  for (int k = 0; k < 4; k++) {
    size_t at = 0;
    ck_assert_int_eq(plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, normal, cylinder_dash[k]) !=
                         NULL,
                     k < apart);
    if (k < apart)
      curve[k] = curve_of(probe, normal, cylinder_dash[k]);
  }
  for (size_t i = 0; i < total->count && apart > 1; i++) {
    double sum = 0;
    for (int k = 0; k < apart; k++) {
      ck_assert_uint_eq(curve[k]->count, total->count);
      sum += data(s, RUNNING, point[curve[k]->first + i]).y;
    }
    double whole = data(s, RUNNING, point[total->first + i]).y;
    ck_close(height(s, RUNNING, sum), height(s, RUNNING, whole), exact);
  }
  for (int k = 0; k < apart; k++) {
    const struct lb_point *p = &point[curve[k]->first];
    for (size_t i = 1; i + 1 < curve[k]->count; i++) {
      double angle = data(s, RUNNING, p[i]).x;
      if (p[i].x > p[i - 1].x + exact && p[i + 1].x > p[i].x + exact)
        ck_close(p[i].y - probe->frame.bottom, height(s, RUNNING, cylinder_torque(s, k, angle)),
                 1e-3);
    }
  }
}

/* A level line in a pen stands at a torque, all across, and is the only one; or there is none. */
static void check_level(const struct seen *s, int diagram, double width, double dash, bool there,
                        double torque_of_it) {
  const struct plot_probe *probe = &s->probe[diagram];
  size_t at = 0;
  const struct lb_shape *line = plot_probe_next(probe, &at, LB_SHAPE_LINE, width, dash);
  ck_assert_int_eq(line != NULL, there);
  if (!there)
    return;
  double y = probe->frame.bottom + height(s, diagram, torque_of_it);
  ck_close(line->at.y, y, exact);
  ck_close(line->to.y, y, exact);
  ck_close(line->at.x, probe->frame.left, exact);
  ck_close(line->to.x, probe->frame.right, exact);
  ck_assert_ptr_null(plot_probe_next(probe, &at, LB_SHAPE_LINE, width, dash));
}

/* Whether a diagram has an upright fine line at a crank angle. */
static bool has_limit(const struct plot_probe *probe, double angle) {
  double x = probe->frame.left + (probe->frame.right - probe->frame.left) * angle / turn;
  const struct lb_shape *line;
  for (size_t at = 0; (line = plot_probe_next(probe, &at, LB_SHAPE_LINE, fine, 0));)
    if (fabs(line->at.x - x) < exact && fabs(line->to.x - x) < exact &&
        fabs(line->to.y - line->at.y) > probe->frame.top - probe->frame.bottom - exact)
      return true;
  return false;
}

/* Dead arcs: their limits, and as much hatching as they are wide. */
static void check_arcs(const struct seen *s) {
  const struct lb_detail *d = &s->maker->detail;
  const struct plot_probe *probe = &s->probe[STANDSTILL];
  double width = 0, longest, pieces = 0;
  for (size_t i = 0; i < d->arcs; i++) {
    double from = d->arc[i].from, to = d->arc[i].to;
    ck_assert(has_limit(probe, from));
    ck_assert(has_limit(probe, to > turn ? to - turn : to));
    width += to - from;
    pieces += to > turn ? 2 : 1;
    if (i < 8) { /* the text has them all */
      char words[64];
      snprintf(words, sizeof words, "dead %.1f to %.1f deg", from / degree,
               to / degree - (to > turn + degree / 1000 ? 360 : 0));
      ck_assert_msg(probe_find(probe->drawing, 0, words) != NULL, "'%s' is missing", words);
    }
  }
  double hatched = plot_probe_hatching(probe, LB_PI / 4, &longest) * dead_spacing;
  const struct lb_box *f = &probe->frame;
  double area = (f->right - f->left) * width / turn * (f->top - f->bottom);
  ck_close(hatched, area, pieces * dead_spacing * (longest + dead_spacing));
}

/* The first label that begins so says a crank angle to the nearest degree of a turn. */
static void check_extreme(const struct lb_drawing *drawing, const char *name, double angle) {
  const struct lb_shape *shape = probe_find(drawing, 0, name);
  ck_assert_msg(shape != NULL, "'%s' is missing", name);
  const char *at = strstr(probe_letters(drawing, shape), " at ");
  ck_assert_ptr_nonnull(at);
  double said = strtod(at + strlen(" at "), NULL);
  ck_assert(said >= 0 && said < 360);
  ck_close(remainder(said - angle / degree, 360), 0, 0.5 + SOLVER);
}

/* Draw and look at all of it. */
static void check_sheet(struct sheet_maker *maker) {
  struct lb_drawing drawing = {0};
  ck_assert_int_eq(lb_sheet_torque(&drawing, &maker->sheet, NULL), LB_OK);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  ck_assert_uint_eq(drawing.pages, 1);
  probe_sheet(&drawing);
  struct seen s = look(&drawing, maker);
  const struct lb_revolution *r = &maker->detail.revolution;
  double size, load = maker->machine.load_torque;
  const struct lb_shape *running = curve_of(&s.probe[RUNNING], heavy, 0);
  const struct lb_shape *still = curve_of(&s.probe[STANDSTILL], heavy, 0);
  double work = integral(&s, RUNNING, running, &size);
  ck_close(work, r->work, 1e-4 * size);
  check_curve(&s, RUNNING, running, torque);
  check_jumps(&s, RUNNING, running, torque);
  check_curve(&s, STANDSTILL, still, standing);
  check_jumps(&s, STANDSTILL, still, standing);
  check_cylinders(&s, running);
  check_level(&s, RUNNING, normal, mean_dash, true, r->work / turn);
  check_level(&s, STANDSTILL, normal, mean_dash, false, 0);
  check_level(&s, RUNNING, load_width, load_dash, load > 0, load);
  check_level(&s, STANDSTILL, load_width, load_dash, load > 0, load);
  check_arcs(&s);
  check_extreme(&drawing, "greatest ", maker->detail.running.greatest_angle);
  check_extreme(&drawing, "least ", maker->detail.running.least_angle);
  lb_drawing_free(&drawing);
}

START_TEST(random_machines) {
  static struct sheet_maker maker;
  struct tally tally = {{0}};
  uint64_t state = 61;
  int times = support_times(200), arcs = 0, loads = 0, seen = 0;
  for (int i = 0; i < times; i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    if (i % 3 == 0)
      machine.load_torque = lb_cycle_ceiling(&machine) / turn * support_between(&state, 0.01, 1.2);
    if (i % 5 == 0)
      machine.breakaway_friction = machine.friction * 1.5;
    if (i % 20 == 7) {
      machine.cylinders = 5 + i / 20;
      for (int k = 1; k < machine.cylinders; k++)
        machine.crank_angle[k] = k * turn / machine.cylinders;
    }
    if (!sheet_maker_begin(&maker, &machine))
      continue;
    maker.sheet.inch = i % 2;
    maker.sheet.size = (enum lb_paper_size)(i % LB_PAPER_SIZES);
    check_sheet(&maker);
    arcs += maker.detail.arcs > 0;
    loads += machine.load_torque > 0;
    tally_add(&tally, &machine);
    sheet_maker_end(&maker);
    seen++;
  }
  ck_assert_int_gt(seen, times * 8 / 10);
  ck_assert_int_gt(arcs, seen / 4);
  ck_assert_int_gt(loads, seen / 5);
  if (times == 200)
    tally_require(&tally, 4);
}
END_TEST

START_TEST(demo_machines) {
  sheet_maker_demos(check_sheet);
}
END_TEST

static void require_words(const struct lb_machine *machine, const char *const *expected,
                          size_t count) {
  static struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  ck_assert(sheet_maker_begin(&maker, machine));
  ck_assert_int_eq(lb_sheet_torque(&drawing, &maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < count; i++)
    ck_assert_msg(probe_find(&drawing, 0, expected[i]) != NULL, "'%s' is missing", expected[i]);
  check_sheet(&maker);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}

START_TEST(words) {
  static const char *const of_one[] = {"torque, N m",
                                       "crank angle from the cap-end dead centre, deg",
                                       "mean ",
                                       "greatest ",
                                       "least ",
                                       "the machine",
                                       "Running slowly",
                                       "At standstill",
                                       "It does not start"};
  static const char *const of_two[] = {"cylinder 1",
                                       "cylinder 2",
                                       "load ",
                                       "crank angle from cylinder 1's cap-end dead centre, deg",
                                       "all cylinders together",
                                       "against the load"};
  static const char *const of_many[] = {"cylinder 1", "the first cylinder; the others are alike",
                                        "It starts from every position."};
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  require_words(&machine, of_one, sizeof of_one / sizeof of_one[0]);
  machine.cylinders = 2;
  machine.crank_angle[1] = LB_PI / 2;
  machine.load_torque = 10;
  require_words(&machine, of_two, sizeof of_two / sizeof of_two[0]);
  machine.load_torque = 0;
  machine.cylinders = LB_CYLINDERS_MOST;
  for (int k = 0; k < machine.cylinders; k++)
    machine.crank_angle[k] = k * turn / machine.cylinders;
  require_words(&machine, of_many, sizeof of_many / sizeof of_many[0]);
}
END_TEST

/* A load beyond all torque is dead all round. */
START_TEST(dead_everywhere) {
  static const char *const expected[] = {"It does not start against a load of ",
                                         "from any position."};
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.load_torque = 1000;
  require_words(&machine, expected, sizeof expected / sizeof expected[0]);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sheet_torque");
  TCase *cases = tcase_create("torque page");
  tcase_set_timeout(cases, 600);
  tcase_add_test(cases, random_machines);
  tcase_add_test(cases, demo_machines);
  tcase_add_test(cases, words);
  tcase_add_test(cases, dead_everywhere);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
