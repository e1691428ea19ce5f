/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curves page, read back from its shapes with the scales as they are printed, against curves
 * that are made up here.
 */
#include "paper/sheet_curves.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "plot_probe.h"
#include "sheet_maker.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  TORQUE,
  POWER,
  AIR,
  YIELD,
  RELEASE,
  COLDEST,
  DIAGRAMS,
  SPEEDS_MOST = 90
};

static const double turn = 2 * LB_PI;
static const double exact = 1e-6;                                           /* [mm] */
static const double radius = 0.9;                                           /* [mm] of a ring */
static const double pound_foot = LB_PSI * LB_INCH * LB_INCH * 12 * LB_INCH; /* [J] */
/* [mm] widths by cap and rod end, and dashes, of the pens. */
static const double own_width[LB_ENDS] = {0.5, 0.25}, other_width[LB_ENDS] = {0.3, 0.15};
static const double dashes[] = {0.6, 1.1, 1.8, 2.8, 4.2, 6};
static const double normal = 0.25, load_width = 0.35, load_dash = 8;

/* Curves with the memory they are in, and a machine. */
struct made {
  struct sheet_maker maker;
  struct lb_curves curves;
  double speed[SPEEDS_MOST];
  struct lb_running point[LB_SHEET_CURVES_MOST][SPEEDS_MOST];
};

/* ---------- making up ---------- */

static bool often(uint64_t *state, double share) {
  return support_between(state, 0, 1) < share;
}

/* One point: torque falls from its value at rest to nothing, and below. */
static void make_point(struct lb_running *p, double speed, double torque, double air,
                       const double *at_rest) {
  *p = (struct lb_running){.speed = speed, .power = torque * speed};
  p->revolution.mean_torque = torque;
  p->revolution.work = torque * turn;
  p->revolution.air = air;
  p->revolution.work_per_kg = air > 0 ? p->revolution.work / air : 0;
  for (int end = 0; end < LB_ENDS; end++) {
    p->revolution.end[end].turn.release_pressure = at_rest[end] * (0.4 + 0.6 * exp(-speed / 30));
    p->cylinder.end[end].coldest_temperature = 180 + 100 / (1 + speed / (20 + 10 * end));
  }
}

static void make_curve(struct made *made, size_t i, double pressure, uint64_t *state) {
  struct lb_curve *c = &made->curves.curve[i];
  double last = made->speed[made->curves.speeds - 1], first = made->speed[0];
  double rest = (often(state, 0.1) ? -1 : 1) * exp(support_between(state, -2, 5)); /* [N m] */
  double none = first + (last - first) * support_between(state, 0.1, 1.5);
  double air = exp(support_between(state, -9, -5)); /* [kg] */
  const double at_rest[] = {pressure * support_between(state, 0.2, 0.6),
                            pressure * support_between(state, 0.2, 0.6)};
  *c = (struct lb_curve){.supply_pressure = pressure, .found = !often(state, 0.1)};
  if (!c->found) {
    strcpy(c->why, "even with the inlet open all the way the air is at back pressure by then");
    return;
  }
  c->point = made->point[i];
  c->slow.mean_torque = rest * 1.05;
  c->slow.work = c->slow.mean_torque * turn;
  for (size_t k = 0; k < made->curves.speeds; k++) {
    double w = made->speed[k], torque = rest - fabs(rest) * w / none;
    make_point(&c->point[k], w, torque, air * (1 - 0.9 * w / (none + last)), at_rest);
  }
  if (rest > 0 && none < last)
    c->no_load_speed = none;
  double end = fmin(none, last);
  double *const found[] = {&c->best_power_speed, &c->best_economy_speed, &c->tenth_lost_speed,
                           &c->load_speed};
  for (size_t k = 0; k < sizeof found / sizeof found[0] && rest > 0; k++)
    *found[k] = often(state, 0.3) ? 0 : support_between(state, first, end);
  c->best_power = c->best_power_speed > 0 ? rest * end / 4 : 0;
  c->best_economy = c->best_economy_speed > 0 ? rest * turn / air : 0;
  if (made->maker.machine.load_torque <= 0)
    c->load_speed = 0;
}

/* Curves of a machine, whose own supply pressure may be among them. */
static void make(struct made *made, const struct lb_machine *machine, size_t curves,
                 uint64_t *state) {
  ck_assert(sheet_maker_begin(&made->maker, machine));
  made->curves.speeds = (size_t)support_between(state, 2, SPEEDS_MOST);
  made->curves.curves = curves;
  made->curves.speed = made->speed;
  double last = exp(support_between(state, 1, 5.7)); /* [rad/s] */
  double first = last / (double)made->curves.speeds;
  for (size_t k = 0; k < made->curves.speeds; k++)
    made->speed[k] = first + (last - first) * (double)k / (double)(made->curves.speeds - 1);
  size_t own = (size_t)support_between(state, 0, (double)curves + 1);
  for (size_t i = 0; i < curves; i++)
    make_curve(made, i,
               i == own ? machine->supply_pressure
                        : machine->ambient_pressure + (0.37 + 1.1 * (double)i) * LB_BAR,
               state);
  made->maker.sheet.curves = &made->curves;
}

/* ---------- what is expected ---------- */

/* Where a line ends, by which it is told whether there is one. */
static double end_of(const struct made *made, size_t i) {
  const struct lb_curve *c = &made->curves.curve[i];
  if (!c->found || !(c->slow.mean_torque > 0))
    return 0;
  bool runs = c->point[0].revolution.mean_torque > 0;
  return !runs ? 0 : c->no_load_speed > 0 ? c->no_load_speed : made->speed[made->curves.speeds - 1];
}

/* The unbroken line, or -1. */
static int own_of(const struct made *made) {
  int first = -1;
  for (int i = (int)made->curves.curves - 1; i >= 0; i--) {
    bool own = made->curves.curve[i].supply_pressure == made->maker.machine.supply_pressure;
    if (end_of(made, (size_t)i) > 0 && own)
      return i;
    first = end_of(made, (size_t)i) > 0 ? i : first;
  }
  return first;
}

/* A figure of a point in the unit printed. */
static double figure(const struct made *made, int diagram, int end, const struct lb_running *p) {
  const struct lb_machine *m = &made->maker.machine;
  bool inch = made->maker.sheet.inch;
  double foot = 12 * LB_INCH,
         volume = 1 / 1.185 / (inch ? foot * foot * foot : 1e-3); /* [per kg] */
  double joule = inch ? 1 / pound_foot : 1;
  double coldest = HUGE_VAL;
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i])
      coldest = fmin(coldest, p->cylinder.end[i].coldest_temperature);
  switch (diagram) {
  case TORQUE:
    return p->revolution.mean_torque * joule;
  case POWER:
    return p->power * (inch ? joule / 550 : 1);
  case AIR:
    return p->revolution.air * volume * p->speed / turn * 60;
  case YIELD:
    return p->revolution.work * joule / (p->revolution.air * volume);
  case RELEASE:
    return (p->revolution.end[end].turn.release_pressure - m->ambient_pressure) /
           (inch ? LB_PSI : LB_BAR);
  default:
    return inch ? (coldest - 273.15) * 9 / 5 + 32 : coldest - 273.15;
  }
}

/* On the straight line between two points. */
static double figure_at(const struct made *made, int diagram, int end, size_t curve, double speed) {
  const struct lb_running *p = made->curves.curve[curve].point;
  size_t k = 1;
  while (made->speed[k] < speed && k + 1 < made->curves.speeds)
    k++;
  double a = figure(made, diagram, end, &p[k - 1]), b = figure(made, diagram, end, &p[k]);
  return a + (b - a) * (speed - made->speed[k - 1]) / (made->speed[k] - made->speed[k - 1]);
}

/* ---------- looking ---------- */

/* Place on the page of a speed [rad/s] and a figure. */
static struct lb_point place(const struct plot_probe *probe, double speed, double value) {
  const struct probe_scale *x = &probe->scale[LB_PLOT_BOTTOM], *y = &probe->scale[LB_PLOT_LEFT];
  return (struct lb_point){probe->frame.left + (speed / LB_RPM - x->low) / x->unit,
                           probe->frame.bottom + (value - y->low) / y->unit};
}

/* One line: all its points, from the first speed to its end and no further. */
static void check_line(const struct made *made, const struct plot_probe *probe, int diagram,
                       size_t i, int end) {
  bool thin = end == LB_ROD_END && made->maker.machine.works[LB_CAP_END];
  bool own = (int)i == own_of(made);
  double width = own ? own_width[thin] : other_width[thin], dash = own ? 0 : dashes[i];
  double last = end_of(made, i);
  size_t at = 0;
  const struct lb_shape *line = plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dash);
  ck_assert_int_eq(line != NULL, last > 0);
  if (!line)
    return;
  ck_assert_ptr_null(plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dash));
  const struct lb_point *p = &probe->drawing->point[line->first];
  size_t k = 0;
  for (; k < made->curves.speeds && made->speed[k] < last; k++) {
    ck_assert_uint_lt(k, line->count);
    struct lb_point expected =
        place(probe, made->speed[k], figure(made, diagram, end, &made->curves.curve[i].point[k]));
    ck_close(p[k].x, expected.x, exact);
    ck_close(p[k].y, expected.y, exact);
  }
  struct lb_point expected = place(probe, last, figure_at(made, diagram, end, i, last));
  ck_assert_uint_eq(line->count, k + 1);
  ck_close(p[k].x, expected.x, exact);
  ck_close(p[k].y, expected.y, exact);
}

/* Rings at the speeds of a diagram on every line, and nowhere else. */
static void check_rings(const struct made *made, const struct plot_probe *probe, int diagram) {
  int expected = 0, found = 0;
  int end = made->maker.machine.works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  const struct lb_shape *ring;
  for (size_t i = 0; i < made->curves.curves; i++) {
    const struct lb_curve *c = &made->curves.curve[i];
    const double speeds[DIAGRAMS][3] = {
        [TORQUE] = {c->tenth_lost_speed, c->load_speed, c->no_load_speed},
        [POWER] = {c->best_power_speed},
        [YIELD] = {c->best_economy_speed}};
    for (int k = 0; k < 3 && end_of(made, i) > 0; k++) {
      double speed = speeds[diagram][k];
      bool there = false;
      if (!(speed > 0))
        continue;
      struct lb_point p = place(probe, speed, figure_at(made, diagram, end, i, speed));
      for (size_t at = 0; (ring = plot_probe_next(probe, &at, LB_SHAPE_CIRCLE, normal, 0));)
        there = there || (fabs(ring->at.x - p.x) <= radius && fabs(ring->at.y - p.y) <= exact);
      ck_assert_msg(there, "no ring at %g rpm", speed / LB_RPM);
      expected++;
    }
  }
  for (size_t at = 0; plot_probe_next(probe, &at, LB_SHAPE_CIRCLE, normal, 0);)
    found++;
  ck_assert_int_eq(found, expected);
}

/* Whether a level line in a pen is at a figure. */
static bool has_level(const struct plot_probe *probe, double width, double dash, double value) {
  const struct lb_shape *line;
  double y = place(probe, 0, value).y;
  for (size_t at = 0; (line = plot_probe_next(probe, &at, LB_SHAPE_LINE, width, dash));)
    if (fabs(line->at.y - y) <= exact && fabs(line->to.y - y) <= exact &&
        fabs(line->at.x - probe->frame.left) <= exact &&
        fabs(line->to.x - probe->frame.right) <= exact)
      return true;
  return false;
}

static void check_levels(const struct made *made, const struct plot_probe *probe, int diagram) {
  const struct lb_machine *m = &made->maker.machine;
  bool inch = made->maker.sheet.inch, loaded = m->load_torque > 0;
  double load = m->load_torque / (inch ? pound_foot : 1);
  double back = (m->back_pressure - m->ambient_pressure) / (inch ? LB_PSI : LB_BAR);
  if (diagram == TORQUE) {
    size_t at = 0;
    ck_assert_int_eq(has_level(probe, load_width, load_dash, load), loaded);
    ck_assert_int_eq(plot_probe_next(probe, &at, LB_SHAPE_LINE, load_width, load_dash) != NULL,
                     loaded);
  }
  if (diagram == TORQUE || diagram == POWER || diagram == YIELD)
    ck_assert(has_level(probe, normal, 0, 0));
  if (diagram == RELEASE)
    ck_assert(has_level(probe, normal, 0, back));
}

/* The six diagrams have one scale of speed, from nothing to beyond the last; those of a column
 * stand one above the other. */
static void check_scales(const struct made *made, const struct plot_probe *probe) {
  double last = made->speed[made->curves.speeds - 1] / LB_RPM;
  for (int i = 0; i < DIAGRAMS; i++) {
    const struct probe_scale *x = &probe[i].scale[LB_PLOT_BOTTOM];
    double right = x->low + x->unit * (probe[i].frame.right - probe[i].frame.left);
    ck_close(x->low, 0, SOLVER * last);
    ck_assert_double_ge(right, last * (1 - SOLVER));
    ck_assert_double_le(right, last * 1.25);
    ck_close(x->unit, probe[i % 2].scale[LB_PLOT_BOTTOM].unit, SOLVER * x->unit);
    ck_close(probe[i].frame.left, probe[i % 2].frame.left, exact);
    ck_close(probe[i].frame.right, probe[i % 2].frame.right, exact);
  }
}

/* How many texts of the page are these words and no more. */
static int count_texts(const struct lb_drawing *drawing, const char *words) {
  int count = 0;
  for (size_t i = 0; i < drawing->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_TEXT)
      count += strcmp(probe_letters(drawing, &drawing->shape[i]), words) == 0;
  return count;
}

/* Every line is named in every diagram, those that are not there in none. */
static void check_names(const struct made *made, const struct lb_drawing *drawing) {
  bool inch = made->maker.sheet.inch;
  for (size_t i = 0; i < made->curves.curves; i++) {
    char name[40];
    double gauge = made->curves.curve[i].supply_pressure - made->maker.machine.ambient_pressure;
    snprintf(name, sizeof name, inch ? "%.1f psi" : "%.2f bar", gauge / (inch ? LB_PSI : LB_BAR));
    ck_assert_int_eq(count_texts(drawing, name), end_of(made, i) > 0 ? DIAGRAMS : 0);
  }
}

/* A cell is that of a number, to its own decimals; "-" where there is none. */
static void check_cell(const struct lb_drawing *drawing, size_t *at, bool there, double value) {
  while (drawing->shape[*at].kind != LB_SHAPE_TEXT)
    ++*at;
  const char *cell = probe_letters(drawing, &drawing->shape[(*at)++]);
  const char *point = strchr(cell, '.');
  if (!there) {
    ck_assert_str_eq(cell, "-");
    return;
  }
  double decimals = point ? (double)strlen(point + 1) : 0;
  ck_close(strtod(cell, NULL), value, 0.5 * pow(10, -decimals) * (1 + SOLVER));
}

/* That of the speed at which a tenth of the work is lost, which may lie below the first. */
static void check_tenth_lost(const struct lb_drawing *drawing, size_t *at,
                             const struct lb_curve *c) {
  bool there = c->tenth_lost_speed > 0;
  bool before = c->found && !there && c->slow.work > 0 &&
                c->point[0].revolution.mean_torque < 0.9 * c->slow.mean_torque;
  char expected[40];
  if (!before) {
    check_cell(drawing, at, there, c->tenth_lost_speed / LB_RPM);
    return;
  }
  while (drawing->shape[*at].kind != LB_SHAPE_TEXT)
    ++*at;
  snprintf(expected, sizeof expected, "under %.4g", c->point[0].speed / LB_RPM);
  ck_assert_str_eq(probe_letters(drawing, &drawing->shape[(*at)++]), expected);
}

/* The table, row by row. */
static void check_table(const struct made *made, const struct lb_drawing *drawing) {
  const struct lb_machine *m = &made->maker.machine;
  bool inch = made->maker.sheet.inch, loaded = m->load_torque > 0, economy = false;
  double joule = inch ? 1 / pound_foot : 1, foot = 12 * LB_INCH;
  double anr = 1.185 * (inch ? foot * foot * foot : 1e-3); /* [kg] */
  const struct lb_shape *heading = probe_find(drawing, 0, "tenth lost");
  ck_assert_ptr_nonnull(heading);
  size_t at = (size_t)(heading - drawing->shape);
  for (size_t i = 0; i < made->curves.curves; i++)
    economy = economy || made->curves.curve[i].best_economy_speed > 0;
  for (int skip = (5 + loaded + 2 * economy) * 2 - 2; skip > 0; at++) /* to the last heading */
    skip -= drawing->shape[at].kind == LB_SHAPE_TEXT;
  for (size_t i = 0; i < made->curves.curves; i++) {
    const struct lb_curve *c = &made->curves.curve[i];
    double gauge = (c->supply_pressure - m->ambient_pressure) / (inch ? LB_PSI : LB_BAR);
    check_cell(drawing, &at, true, gauge);
    check_cell(drawing, &at, c->found, c->slow.mean_torque * joule);
    check_tenth_lost(drawing, &at, c);
    if (loaded)
      check_cell(drawing, &at, c->load_speed > 0, c->load_speed / LB_RPM);
    check_cell(drawing, &at, c->best_power_speed > 0, c->best_power_speed / LB_RPM);
    check_cell(drawing, &at, c->best_power_speed > 0, c->best_power * (inch ? joule / 550 : 1));
    check_cell(drawing, &at, c->no_load_speed > 0, c->no_load_speed / LB_RPM);
    if (!economy)
      continue;
    check_cell(drawing, &at, c->best_economy_speed > 0, c->best_economy_speed / LB_RPM);
    check_cell(drawing, &at, c->best_economy_speed > 0, c->best_economy * joule * anr);
  }
}

/* Draw and look at all of it. */
static void check_sheet(const struct made *made) {
  struct lb_drawing drawing = {0};
  struct plot_probe probe[DIAGRAMS];
  const bool *works = made->maker.machine.works;
  ck_assert_int_eq(lb_sheet_curves(&drawing, &made->maker.sheet, NULL), LB_OK);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  ck_assert_uint_eq(drawing.pages, 1);
  probe_sheet(&drawing);
  ck_assert_int_eq(plot_probe_count(&drawing, 0), DIAGRAMS);
  /* drawn column by column */
  for (int i = 0; i < DIAGRAMS; i++)
    probe[i % 3 * 2 + i / 3] = plot_probe_find(&drawing, 0, i);
  check_scales(made, probe);
  for (int diagram = 0; diagram < DIAGRAMS; diagram++) {
    for (size_t i = 0; i < made->curves.curves; i++)
      for (int end = 0; end < LB_ENDS; end++)
        if (works[end] && (diagram == RELEASE || end == LB_CAP_END || !works[LB_CAP_END]))
          check_line(made, &probe[diagram], diagram, i, end);
    check_rings(made, &probe[diagram], diagram);
    check_levels(made, &probe[diagram], diagram);
  }
  check_names(made, &drawing);
  check_table(made, &drawing);
  lb_drawing_free(&drawing);
}

START_TEST(random_curves) {
  static struct made made;
  uint64_t state = 71;
  int times = support_times(100), not_found = 0, not_running = 0;
  for (int i = 0; i < times; i++) {
    struct lb_machine machine = machine_text(machine_text_least, NULL);
    machine.works[LB_CAP_END] = i % 4 != 1;
    machine.works[LB_ROD_END] = i % 4 != 2;
    machine.load_torque = i % 3 == 0 ? 0 : exp(support_between(&state, -1, 3));
    machine.back_pressure += i % 5 == 0 ? support_between(&state, -0.5, 1) * LB_BAR : 0;
    make(&made, &machine, (size_t)(1 + i % LB_SHEET_CURVES_MOST), &state);
    made.maker.sheet.inch = i / 2 % 2;
    made.maker.sheet.size = (enum lb_paper_size)(i / 4 % LB_PAPER_SIZES);
    check_sheet(&made);
    for (size_t k = 0; k < made.curves.curves; k++) {
      not_found += !made.curves.curve[k].found;
      not_running += made.curves.curve[k].found && !(end_of(&made, k) > 0);
    }
    sheet_maker_end(&made.maker);
  }
  ck_assert_int_ge(not_found, support_least(11));
  ck_assert_int_ge(not_running, support_least(11));
}
END_TEST

/* What cannot be told from lines is written. */
START_TEST(words) {
  static const char *const expected[] = {"Curves (as timed in the file)",
                                         "At speed, with flow, heat, leakage",
                                         "torque, N m",
                                         "power, W",
                                         "air, L ANR/min",
                                         "work, J/L ANR",
                                         "at release, bar gauge",
                                         "coldest air, degC",
                                         "speed, rpm",
                                         "tenth lost 100 rpm",
                                         "at the load 150 rpm",
                                         "no load 200 rpm",
                                         "best power 120 rpm",
                                         "best economy 50 rpm",
                                         "load 3.00 N m",
                                         "back pressure ",
                                         "vent before you reach in",
                                         "No line for 0.50 bar gauge: nothing would do.",
                                         "No line for 0.60 bar gauge: it does not run by itself"};
  static struct made made;
  uint64_t state = 1;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  struct lb_drawing drawing = {0};
  machine.load_torque = 3;
  for (int end = 0; end < LB_ENDS; end++) {
    machine.timing[end].cutoff_given = true;
    machine.timing[end].cutoff = LB_PI / 2;
  }
  make(&made, &machine, 3, &state);
  const double at_rest[] = {2e5, 2e5}, none = 200 * LB_RPM;
  made.curves.speeds = 10;
  for (size_t k = 0; k < 10; k++)
    made.speed[k] = (double)(k + 1) * 25 * LB_RPM;
  for (size_t i = 0; i < 3; i++) {
    struct lb_curve *c = &made.curves.curve[i];
    *c = (struct lb_curve){.supply_pressure =
                               machine.ambient_pressure + (0.4 + 0.1 * (double)i) * LB_BAR,
                           .found = i != 1,
                           .why = "nothing would do",
                           .slow = {.mean_torque = 10},
                           .point = made.point[i]};
    for (size_t k = 0; k < 10; k++)
      make_point(&c->point[k], made.speed[k], i == 0 ? 10 - 10 * made.speed[k] / none : -1, 1e-3,
                 at_rest);
  }
  struct lb_curve *own = &made.curves.curve[0];
  own->supply_pressure = machine.supply_pressure;
  own->tenth_lost_speed = 100 * LB_RPM;
  own->load_speed = 150 * LB_RPM;
  own->no_load_speed = none;
  own->best_power_speed = 120 * LB_RPM;
  own->best_power = 1;
  own->best_economy_speed = 50 * LB_RPM;
  own->best_economy = 1e5;
  ck_assert_int_eq(lb_sheet_curves(&drawing, &made.maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, expected[i]) != NULL, "'%s' is missing", expected[i]);
  lb_drawing_free(&drawing);
  sheet_maker_end(&made.maker);
}
END_TEST

/* Where nothing runs there are frames without lines; and a page holds six supply pressures. */
START_TEST(at_the_limits) {
  static struct made made;
  uint64_t state = 5;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  struct lb_drawing drawing = {0};
  struct lb_error error = {0};
  make(&made, &machine, LB_SHEET_CURVES_MOST, &state);
  for (size_t i = 0; i < LB_SHEET_CURVES_MOST; i++)
    make_curve(&made, i, machine.ambient_pressure, &state);
  for (size_t i = 0; i < LB_SHEET_CURVES_MOST; i++) {
    made.curves.curve[i] =
        (struct lb_curve){.supply_pressure = machine.ambient_pressure + (double)(i + 1) * LB_BAR};
    strcpy(made.curves.curve[i].why, "nothing would do");
  }
  check_sheet(&made);
  made.curves.curves++;
  ck_assert_int_eq(lb_sheet_curves(&drawing, &made.maker.sheet, &error), LB_BAD_INPUT);
  ck_assert_str_eq(error.text, "curves for 7 supply pressures are too many for a page; it holds 6");
  lb_drawing_free(&drawing);
  sheet_maker_end(&made.maker);
}
END_TEST

/* Round supply pressures around a machine's own, in the unit that is read. */
START_TEST(pressures) {
  static const struct {
    double supply, back, rated; /* gauge, as below; rated < 0: not stated */
    bool inch;                  /* psi, else bar */
    size_t count;
    double expected[4];
  } rows[] = {
      {3.6, 0, 10, false, 4, {1.5, 2, 3.6, 5}},
      {3.6, 0, 5, false, 4, {1.5, 2, 3.6, 5}},
      {3.6, 0, 4.9, false, 3, {1.5, 2, 3.6}},
      {3.6, 0, -1, false, 3, {1.5, 2, 3.6}},
      {9, 2.4, 12, false, 3, {4, 6, 9}},
      {9, 4, 12, false, 2, {6, 9}},
      {0, -0.7, 10, false, 1, {0}},
      {5, 0, 10, false, 4, {2, 4, 5, 8}},
      {80, 0, 150, true, 4, {40, 60, 80, 100}},
      {0.2, 0, 10, false, 4, {0.1, 0.15, 0.2, 0.3}},
      {10, 0, 16, false, 4, {5, 8, 10, 15}},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct lb_machine machine = machine_text(machine_text_least, NULL);
    double unit = rows[i].inch ? LB_PSI : LB_BAR, ambient = machine.ambient_pressure;
    struct lb_curves_question question = {.pressures = 9, .speeds = 17};
    machine.supply_pressure = ambient + rows[i].supply * unit;
    machine.back_pressure = ambient + rows[i].back * unit;
    machine.rated_pressure = rows[i].rated < 0 ? 0 : ambient + rows[i].rated * unit;
    lb_sheet_curves_pressures(&question, &machine, rows[i].inch);
    ck_assert_uint_eq(question.pressures, rows[i].count);
    ck_assert_uint_eq(question.speeds, 17);
    for (size_t k = 0; k < rows[i].count; k++)
      ck_close((question.pressure[k] - ambient) / unit, rows[i].expected[k], IDENTITY * 100);
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sheet_curves");
  TCase *cases = tcase_create("curves page");
  tcase_set_timeout(cases, 600);
  tcase_add_test(cases, random_curves);
  tcase_add_test(cases, words);
  tcase_add_test(cases, at_the_limits);
  tcase_add_test(cases, pressures);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
