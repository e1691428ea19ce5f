/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The indicator diagram, read back from its shapes with the scales as they are printed, against
 * pressures and volumes that the library had no part in.
 */
#include "paper/sheet_indicator.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "plot_probe.h"
#include "random_machine.h"
#include "sheet_maker.h"
#include "slow_reference.h"
#include "support.h"

#include <stdlib.h>
#include <string.h>

static const double degree = LB_PI / 180, turn = 2 * LB_PI;
/* [mm] widths and dashes of the pens, and distance of the hatching. */
static const double heavy = 0.5, normal = 0.25, mean_dash = 4, complete = 0.35, complete_dash = 1;
static const double slow_dash = 1.5; /* of the slow loop below one at speed */
static const double spacing = 1.5;
static const double flat = 0.05;  /* [mm] that a curve may be off */
static const double exact = 1e-6; /* [mm] that a corner may be off */

/* One end's diagram with what it is of. */
struct seen {
  struct plot_probe probe;
  const struct lb_machine *machine;
  const struct lb_end_turn *turn;
  enum lb_end end;
  double cutoff;            /* [rad] */
  double release, complete; /* [m3] volumes at release, and where complete expansion ends */
  double release_pressure;  /* [Pa absolute] */
  double right, top;        /* [m3], [Pa absolute] that the frame shows */
  double volume_unit, pressure_unit; /* [m3 per mm], [Pa per mm] */
  double width, dash;                /* [mm] the pen of the slow loop */
};

/* The units printed. */
static double cubic(bool inch) {
  return inch ? LB_CUBIC_INCH : LB_CUBIC_CENTIMETRE;
}
static double pressure_of(bool inch) {
  return inch ? LB_PSI : LB_BAR;
}

static double pressure(const struct seen *s, double angle) {
  return reference_pressure(s->machine, s->end, s->cutoff, angle);
}

static struct seen look(const struct lb_drawing *drawing, const struct sheet_maker *maker,
                        enum lb_end end, int nth) {
  const double beside = 1e-9; /* [rad] */
  bool inch = maker->sheet.inch;
  struct seen s = {.probe = plot_probe_find(drawing, 0, nth),
                   .machine = &maker->machine,
                   .turn = &maker->detail.revolution.end[end],
                   .end = end,
                   .width = maker->sheet.running ? normal : heavy,
                   .dash = maker->sheet.running ? slow_dash : 0,
                   .cutoff = maker->detail.cutoff[end]};
  const struct lb_box *f = &s.probe.frame;
  s.volume_unit = s.probe.scale[LB_PLOT_BOTTOM].unit * cubic(inch);
  s.pressure_unit = s.probe.scale[LB_PLOT_LEFT].unit * pressure_of(inch);
  s.right = s.volume_unit * (f->right - f->left);
  s.top = s.pressure_unit * (f->top - f->bottom);
  double angle = s.machine->timing[end].release;
  s.release = reference_volume(s.machine, end, angle);
  s.release_pressure = pressure(&s, angle - beside);
  s.complete = s.release * pow(s.release_pressure / s.machine->back_pressure,
                               1 / s.machine->expansion_exponent);
  return s;
}

/* Volume [m3] and absolute pressure [Pa] on the page. */
static struct lb_point at(const struct seen *s, double volume, double absolute) {
  return (struct lb_point){s->probe.frame.left + volume / s->volume_unit,
                           s->probe.frame.bottom + absolute / s->pressure_unit};
}

static void check_scales(const struct seen *s, bool inch) {
  const struct probe_scale *scale = s->probe.scale;
  double stroke = s->machine->linkage.stroke / (inch ? LB_INCH : 1e-3);
  double area = lb_machine_area(s->machine, s->end);
  double dead = s->machine->dead_volume[s->end];
  double length = s->probe.frame.right - s->probe.frame.left;
  double unit = inch ? LB_INCH : 1e-3;
  for (int side = 0; side < LB_PLOT_SIDES; side++)
    ck_assert_int_ge(scale[side].figures, 2);
  ck_close(scale[LB_PLOT_BOTTOM].low, 0, SOLVER * s->right / cubic(inch));
  ck_close(scale[LB_PLOT_TOP].low * unit, -dead / area, SOLVER * s->right / area);
  ck_close((scale[LB_PLOT_TOP].low + scale[LB_PLOT_TOP].unit * length) * unit,
           (s->right - dead) / area, SOLVER * s->right / area);
  ck_assert_double_le(scale[LB_PLOT_TOP].step * (scale[LB_PLOT_TOP].figures - 1),
                      stroke * (1 + SOLVER));
  ck_close(scale[LB_PLOT_RIGHT].low, 0, SOLVER * s->top / pressure_of(inch));
  ck_close_relative(scale[LB_PLOT_RIGHT].unit, scale[LB_PLOT_LEFT].unit, SOLVER);
  ck_close_relative(scale[LB_PLOT_LEFT].low * pressure_of(inch), -s->machine->ambient_pressure,
                    SOLVER);
}

/* The loop passes through every state of the chamber that the frame shows. */
static void check_states(const struct seen *s) {
  int shown = 0;
  const double aside = 1e-7; /* [rad] off the events, where the pressure jumps */
  for (int i = 0; i < 360; i++) {
    double angle = s->machine->timing[s->end].inlet_opens + i * degree + aside;
    struct lb_point p = at(s, reference_volume(s->machine, s->end, angle), pressure(s, angle));
    if (p.y > s->probe.frame.top)
      continue;
    ck_close(plot_probe_distance(&s->probe, p, s->width, s->dash), 0, flat);
    shown++;
  }
  ck_assert_int_gt(shown, 180);
}

/* Whether a volume and a pressure belong to the revolution: on one of the two lines of constant
 * pressure, on expansion or compression, or upright at release or where the inlet opens. */
static bool belongs(const struct seen *s, double volume, double absolute) {
  const struct lb_timing *t = &s->machine->timing[s->end];
  double p_s = s->machine->supply_pressure, p_e = s->machine->back_pressure;
  double cutoff = reference_volume(s->machine, s->end, s->cutoff);
  double closing = reference_volume(s->machine, s->end, t->exhaust_closes);
  double opening = reference_volume(s->machine, s->end, t->inlet_opens);
  double near = exact * s->pressure_unit, beside = exact * s->volume_unit;
  double expansion = p_s * pow(cutoff / volume, s->machine->expansion_exponent);
  double compression = p_e * pow(closing / volume, s->machine->compression_exponent);
  return fabs(absolute - p_s) <= near || fabs(absolute - p_e) <= near ||
         fabs(volume - s->release) <= beside || fabs(volume - opening) <= beside ||
         fabs(absolute - expansion) <= near + SOLVER * expansion ||
         fabs(absolute - compression) <= near + SOLVER * compression ||
         (closing <= beside && fabs(absolute) <= near);
}

/* Every point of the loop but those where the frame cuts it. */
static void check_points(const struct seen *s) {
  const struct lb_shape *curve;
  int points = 0;
  for (size_t i = 0;
       (curve = plot_probe_next(&s->probe, &i, LB_SHAPE_POLYLINE, s->width, s->dash));)
    for (size_t k = 0; k < curve->count; k++) {
      struct lb_point p = s->probe.drawing->point[curve->first + k];
      if (s->probe.frame.top - p.y < exact)
        continue;
      ck_assert_msg(belongs(s, (p.x - s->probe.frame.left) * s->volume_unit,
                            (p.y - s->probe.frame.bottom) * s->pressure_unit),
                    "(%.4f, %.4f) mm is on no line of the diagram", p.x, p.y);
      points++;
    }
  ck_assert_int_ge(points, 4);
}

/* Area that a closed curve goes round clockwise [mm2], and its length. */
static double area_of(const struct lb_drawing *drawing, const struct lb_shape *curve,
                      double *length) {
  double area = 0;
  *length = 0;
  for (size_t i = 0; i < curve->count; i++) {
    struct lb_point a = drawing->point[curve->first + i];
    struct lb_point b = drawing->point[curve->first + (i + 1) % curve->count];
    area += (b.x - a.x) * (a.y + b.y) / 2;
    *length += hypot(b.x - a.x, b.y - a.y);
  }
  return area;
}

/* The loop's area is the work of the end. Returns whether the frame shows it whole. */
static bool check_area(const struct seen *s) {
  size_t i = 0;
  double length;
  const struct lb_shape *curve =
      plot_probe_next(&s->probe, &i, LB_SHAPE_POLYLINE, s->width, s->dash);
  ck_assert_ptr_nonnull(curve);
  if (!curve->closed)
    return false;
  double joule = s->volume_unit * s->pressure_unit; /* [per mm2] */
  double area = area_of(s->probe.drawing, curve, &length) * joule;
  ck_close(area, s->turn->turn.work, flat / 2 * length * joule);
  ck_close(area, reference_work(s->machine, s->end, s->cutoff), flat / 2 * length * joule);
  return true;
}

/* A ring at each event that the frame shows, at the pressure before it. */
static void check_rings(const struct seen *s) {
  const struct lb_timing *t = &s->machine->timing[s->end];
  const double aside = 1e-9 /* [rad] */, radius = 0.9 /* [mm] */;
  const struct {
    double angle, pressure;
  } event[] = {{t->inlet_opens, pressure(s, t->inlet_opens + turn - aside)},
               {s->cutoff, s->machine->supply_pressure},
               {t->release, s->release_pressure},
               {t->exhaust_closes, s->machine->back_pressure}};
  int expected = 0, found = 0;
  const struct lb_shape *ring;
  for (size_t k = 0; k < sizeof event / sizeof event[0]; k++) {
    struct lb_point p =
        at(s, reference_volume(s->machine, s->end, event[k].angle), event[k].pressure);
    bool there = !plot_probe_inside(&s->probe, p);
    expected += !there;
    for (size_t i = 0; (ring = plot_probe_next(&s->probe, &i, LB_SHAPE_CIRCLE, normal, 0));)
      there = there || hypot(ring->at.x - p.x, ring->at.y - p.y) < 2 * radius;
    ck_assert_msg(there, "no ring at event %zu", k);
  }
  for (size_t i = 0; plot_probe_next(&s->probe, &i, LB_SHAPE_CIRCLE, normal, 0);)
    found++;
  ck_assert_int_eq(found, expected);
}

/* Integral of the expansion's pressure less back pressure over the volume, by Simpson's rule [J].
 */
static double excess_work(const struct seen *s, double from, double to) {
  enum {
    HALVES = 2000
  };
  double n = s->machine->expansion_exponent, sum = 0, step = (to - from) / HALVES;
  for (int i = 0; i <= HALVES; i++) {
    double p = s->release_pressure * pow(s->release / (from + i * step), n);
    double weight = i == 0 || i == HALVES ? 1 : i % 2 ? 4 : 2;
    sum += weight * (p - s->machine->back_pressure);
  }
  return sum * step / 3;
}

/* The last text before a frame that has some words in it, and what follows them. */
static const char *behind(const struct seen *s, const char *words) {
  const char *found = NULL;
  for (size_t i = 0; i < s->probe.frame_shape; i++) {
    const struct lb_shape *shape = &s->probe.drawing->shape[i];
    const char *at =
        shape->kind == LB_SHAPE_TEXT ? strstr(probe_letters(s->probe.drawing, shape), words) : NULL;
    found = at ? at + strlen(words) : found;
  }
  ck_assert_msg(found != NULL, "'%s' is missing", words);
  return found;
}

/* Whether the release is at back pressure, for all that can be told. */
static bool at_back_pressure(const struct seen *s) {
  return fabs(s->release_pressure - s->machine->back_pressure) < 1; /* [Pa] */
}

/* What is hatched is what expansion down to back pressure would add, or what it cost to go below;
 * the figure in the heading is all of it. Returns that [J]. */
static double check_loss(const struct seen *s, bool inch) {
  const double joule = s->volume_unit * s->pressure_unit; /* [per mm2] */
  const double printed_unit = inch ? LB_PSI * LB_INCH * LB_INCH * 12 * LB_INCH : 1;
  bool above = s->release_pressure > s->machine->back_pressure, none = at_back_pressure(s);
  double longest, other;
  double hatched = plot_probe_hatching(&s->probe, above ? LB_PI / 4 : -LB_PI / 4, &longest);
  ck_assert_double_eq(plot_probe_hatching(&s->probe, above ? -LB_PI / 4 : LB_PI / 4, &other), 0);
  if (none)
    ck_assert_double_eq(hatched, 0);
  else if (s->release_pressure <= s->top) { /* else the top of it is cut off */
    double shown = excess_work(s, s->release, fmin(s->complete, s->right));
    ck_close(hatched * spacing * joule, shown, (spacing * longest + spacing * spacing) * joule);
  }
  const char *rest = behind(s, none    ? "back pressure, nothing is lost"
                               : above ? "complete expansion would add "
                                       : "expanding so far costs ");
  double lost = excess_work(s, s->release, s->complete);
  if (!none) /* three digits, at most six decimals */
    ck_close(strtod(rest, NULL), lost / printed_unit, 0.006 * fabs(lost / printed_unit) + 0.5e-6);
  return lost;
}

/* The rectangle of the mean effective pressure has the area of the loop. */
static void check_mean(const struct seen *s) {
  size_t i = 0;
  const struct lb_shape *mean =
      plot_probe_next(&s->probe, &i, LB_SHAPE_POLYLINE, normal, mean_dash);
  double swept = lb_machine_area(s->machine, s->end) * s->machine->linkage.stroke;
  double level = s->machine->back_pressure + reference_work(s->machine, s->end, s->cutoff) / swept;
  if (level <= 0)
    return; /* below the frame */
  ck_assert_ptr_nonnull(mean);
  ck_assert_uint_eq(mean->count, 4);
  const struct lb_point *p = &s->probe.drawing->point[mean->first];
  double dead = s->machine->dead_volume[s->end];
  const struct lb_point corner[] = {at(s, dead, s->machine->back_pressure), at(s, dead, level),
                                    at(s, dead + swept, level),
                                    at(s, dead + swept, s->machine->back_pressure)};
  for (int k = 0; k < 4; k++) {
    ck_close(p[k].x, corner[k].x, exact);
    ck_close(p[k].y, corner[k].y, 1e-4);
  }
}

/* Complete expansion is dashed where there is some, on the curve. */
static void check_complete(const struct seen *s) {
  double n = s->machine->expansion_exponent;
  bool above = s->release_pressure > s->machine->back_pressure && !at_back_pressure(s);
  size_t i = 0;
  const struct lb_shape *curve =
      plot_probe_next(&s->probe, &i, LB_SHAPE_POLYLINE, complete, complete_dash);
  ck_assert_int_eq(curve != NULL, above);
  for (int k = 0; above && k <= 50; k++) {
    double volume = s->release + (fmin(s->complete, s->right) - s->release) * k / 50;
    struct lb_point p = at(s, volume, s->release_pressure * pow(s->release / volume, n));
    if (p.y <= s->probe.frame.top)
      ck_close(plot_probe_distance(&s->probe, p, complete, complete_dash), 0, flat);
  }
}

/* A number behind some words before the frame is one that is printed to three digits. */
static void check_figure(const struct seen *s, const char *words, double value) {
  ck_close(strtod(behind(s, words), NULL), value, 0.006 * fabs(value) + 0.5e-6);
}

/* The revolution at speed is drawn through the states that were calculated, its area is its work,
 * and both works are said. */
static void check_at_speed(const struct seen *s, const struct sheet_maker *maker) {
  if (!maker->sheet.running)
    return;
  const double joule = s->volume_unit * s->pressure_unit; /* [per mm2] */
  const double printed_unit = maker->sheet.inch ? LB_PSI * LB_INCH * LB_INCH * 12 * LB_INCH : 1;
  double length, work = maker->sheet.running->cylinder.end[s->end].work;
  size_t points, i = 0;
  const struct lb_gas_point *point = lb_gas_points(maker->sheet.gas, s->end, &points);
  const struct lb_shape *curve = plot_probe_next(&s->probe, &i, LB_SHAPE_POLYLINE, heavy, 0);
  ck_assert_ptr_nonnull(curve);
  ck_assert_uint_gt(points, 50);
  for (size_t k = 0; k < points; k++) {
    struct lb_point p = at(s, point[k].volume, point[k].pressure);
    if (plot_probe_inside(&s->probe, p))
      ck_close(plot_probe_distance(&s->probe, p, heavy, 0), 0, exact);
  }
  if (curve->closed) {
    double area = area_of(s->probe.drawing, curve, &length) * joule;
    ck_close(area, work, flat / 2 * length * joule);
  }
  check_figure(s, "with the same timing: indicated work ", work / printed_unit);
  check_figure(s, "slow ", s->turn->turn.work / printed_unit);
}

/* Draw and look at all of it. Returns how many ends were shown whole. */
static int check_sheet(struct sheet_maker *maker) {
  struct lb_drawing drawing = {0};
  ck_assert_int_eq(lb_sheet_indicator(&drawing, &maker->sheet, NULL), LB_OK);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  ck_assert_uint_eq(drawing.pages, 1);
  probe_sheet(&drawing);
  const bool *works = maker->machine.works;
  ck_assert_int_eq(plot_probe_count(&drawing, 0), works[LB_CAP_END] + works[LB_ROD_END]);
  int whole = 0, nth = 0;
  for (int end = 0; end < LB_ENDS; end++) {
    if (!works[end])
      continue;
    struct seen s = look(&drawing, maker, (enum lb_end)end, nth++);
    check_scales(&s, maker->sheet.inch);
    check_states(&s);
    check_points(&s);
    check_rings(&s);
    check_loss(&s, maker->sheet.inch);
    check_mean(&s);
    check_complete(&s);
    check_at_speed(&s, maker);
    whole += check_area(&s);
  }
  lb_drawing_free(&drawing);
  return whole;
}

START_TEST(random_machines) {
  static struct sheet_maker maker;
  struct tally tally = {{0}};
  uint64_t state = 51;
  int whole = 0, times = support_times(200), seen = 0;
  for (int i = 0; i < times; i++) {
    struct lb_machine machine;
    random_machine(&machine, &state);
    if (!sheet_maker_begin(&maker, &machine))
      continue;
    maker.sheet.inch = i % 2;
    maker.sheet.size = (enum lb_paper_size)(i % LB_PAPER_SIZES);
    whole += check_sheet(&maker);
    tally_add(&tally, &machine);
    sheet_maker_end(&maker);
    seen++;
  }
  ck_assert_int_gt(whole, seen); /* most are double-acting */
  ck_assert_int_gt(seen, times * 8 / 10);
  if (times == 200)
    tally_require(&tally, 4);
}
END_TEST

static void check_demo(struct sheet_maker *maker) {
  ck_assert_int_gt(check_sheet(maker), 0);
}

/* Let a machine run at a speed; returns false when it cannot. */
static bool run_at(struct sheet_maker *maker, struct lb_gas *gas, struct lb_running *running,
                   double speed) {
  struct lb_error error = {0};
  enum lb_status status =
      lb_running_turn(running, gas, &maker->machine, maker->detail.cutoff, speed, false, &error);
  ck_assert_msg(status == LB_OK || status == LB_NUMERIC, "%s", error.text);
  maker->sheet.running = running;
  maker->sheet.gas = gas;
  return status == LB_OK;
}

/* At speed, over the slow revolution. */
START_TEST(random_machines_at_speed) {
  static struct sheet_maker maker;
  const double litre_per_second_bar = 1e-3 / 1e5; /* [m3/(s Pa)] */
  uint64_t state = 57;
  int times = support_times(60), seen = 0;
  struct lb_gas *gas = lb_gas_new();
  for (int i = 0; i < times; i++) {
    struct lb_machine machine;
    struct lb_running running;
    random_machine(&machine, &state);
    for (int valve = 0; valve < LB_VALVES; valve++)
      machine.path[valve].flow =
          (struct lb_flow){support_between(&state, 0.3, 6) * litre_per_second_bar, 0.3, 0.5};
    for (int end = 0; end < LB_ENDS; end++)
      machine.dead_volume[end] = fmax(machine.dead_volume[end], 1e-6);
    double speed = support_between(&state, 20, 600) * LB_RPM;
    if (!sheet_maker_begin(&maker, &machine))
      continue;
    maker.sheet.inch = i % 2;
    maker.sheet.size = (enum lb_paper_size)(i % LB_PAPER_SIZES);
    if (run_at(&maker, gas, &running, speed)) {
      check_sheet(&maker);
      seen++;
    }
    sheet_maker_end(&maker);
  }
  ck_assert_int_gt(seen, times * 7 / 10);
  lb_gas_free(gas);
}
END_TEST

/* What is said of the revolution at speed, and that nothing of it is where there is none. */
START_TEST(words_at_speed) {
  static const char *const expected[] = {"At 120 rpm, with the same timing", "slow", "120 rpm",
                                         "the air in one chamber at 120 rpm"};
  static struct sheet_maker maker;
  const int trolley = 4;
  struct lb_machine machine = machine_text_demo(trolley);
  struct lb_gas *gas = lb_gas_new();
  struct lb_running running;
  struct lb_drawing slow = {0}, drawing = {0};
  ck_assert(sheet_maker_begin(&maker, &machine));
  ck_assert_int_eq(lb_sheet_indicator(&slow, &maker.sheet, NULL), LB_OK);
  ck_assert_ptr_null(probe_find(&slow, 0, "rpm"));
  ck_assert(run_at(&maker, gas, &running, 120 * LB_RPM));
  ck_assert_int_eq(lb_sheet_indicator(&drawing, &maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, expected[i]) != NULL, "'%s' is missing", expected[i]);
  check_sheet(&maker);
  lb_drawing_free(&slow);
  lb_drawing_free(&drawing);
  lb_gas_free(gas);
  sheet_maker_end(&maker);
}
END_TEST

START_TEST(demo_machines) {
  sheet_maker_demos(check_demo);
}
END_TEST

/* Released isothermally at the temperature of the surroundings, air has lost at release just what
 * it could still have done: there the hatching is the worth that the audit misses. */
START_TEST(loss_is_worth_when_isothermal) {
  static struct sheet_maker maker;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.expansion_exponent = machine.compression_exponent = 1;
  machine.supply_temperature = machine.ambient_temperature;
  for (int end = 0; end < LB_ENDS; end++) {
    machine.timing[end].cutoff_given = true;
    machine.timing[end].cutoff = 100 * degree;
  }
  ck_assert(sheet_maker_begin(&maker, &machine));
  struct lb_drawing drawing = {0};
  ck_assert_int_eq(lb_sheet_indicator(&drawing, &maker.sheet, NULL), LB_OK);
  double lost = 0;
  for (int end = 0; end < LB_ENDS; end++) {
    struct seen s = look(&drawing, &maker, (enum lb_end)end, end);
    lost += check_loss(&s, false);
  }
  ck_close_relative(lost, maker.detail.audit.blow_down, 1e-6);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

/* What cannot be told from curves is written. */
START_TEST(words) {
  static const char *const expected[] = {"Cap end",
                                         "Rod end",
                                         "admission at ",
                                         "expansion",
                                         "blow-down",
                                         "exhaust",
                                         "compression",
                                         "inlet opens ",
                                         "cut-off ",
                                         "release ",
                                         "exhaust closes ",
                                         "dead volume ",
                                         "surroundings and back pressure ",
                                         "bar absolute",
                                         "mean effective pressure ",
                                         "lost at release",
                                         "lists the air's worth instead",
                                         "complete expansion, to ",
                                         "pressure, bar gauge",
                                         "pressure, bar absolute",
                                         "piston travel from the cap-end dead centre, mm",
                                         "volume, dead volume included, cm3"};
  static struct sheet_maker maker;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  for (int end = 0; end < LB_ENDS; end++) {
    machine.timing[end].cutoff_given = true;
    machine.timing[end].cutoff = 90 * degree;
    machine.timing[end].exhaust_closes = 320 * degree;
  }
  ck_assert(sheet_maker_begin(&maker, &machine));
  struct lb_drawing drawing = {0};
  ck_assert_int_eq(lb_sheet_indicator(&drawing, &maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, expected[i]) != NULL, "'%s' is missing", expected[i]);
  ck_assert_ptr_null(probe_find(&drawing, 0, "expanded too far"));
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

/* A back pressure of its own has a line of its own, and what is compressed beyond the frame is
 * said. */
START_TEST(words_of_special_cases) {
  static struct sheet_maker maker;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.works[LB_ROD_END] = false;
  machine.back_pressure = machine.ambient_pressure + 0.5e5;
  machine.dead_volume[LB_CAP_END] /= 4;
  machine.dead_volume_unknown[LB_CAP_END] = true;
  machine.cylinders = 2;
  struct lb_timing *t = &machine.timing[LB_CAP_END];
  t->cutoff_given = true;
  t->cutoff = 40 * degree;
  t->exhaust_closes = 200 * degree;
  ck_assert(sheet_maker_begin(&maker, &machine));
  struct lb_drawing drawing = {0};
  ck_assert_int_eq(lb_sheet_indicator(&drawing, &maker.sheet, NULL), LB_OK);
  static const char *const expected[] = {"Cap end of each cylinder",
                                         "back pressure 0.50 bar gauge",
                                         "surroundings 1.01 bar absolute",
                                         "compressed to ",
                                         "dead volume, assumed ",
                                         "expanded too far",
                                         "air flows back in",
                                         "beyond the scale",
                                         "blow-back"};
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, expected[i]) != NULL, "'%s' is missing", expected[i]);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sheet_indicator");
  TCase *cases = tcase_create("indicator diagram");
  tcase_set_timeout(cases, 600);
  tcase_add_test(cases, random_machines);
  tcase_add_test(cases, random_machines_at_speed);
  tcase_add_test(cases, words_at_speed);
  tcase_add_test(cases, demo_machines);
  tcase_add_test(cases, loss_is_worth_when_isothermal);
  tcase_add_test(cases, words);
  tcase_add_test(cases, words_of_special_cases);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
