/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rundown page, read back from its shapes with the scales as they are printed, against runs
 * that are made up here.
 */
#include "paper/sheet_rundown.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "machine_text.h"
#include "paper/chart.h"
#include "plot_probe.h"
#include "sheet_maker.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  PRESSURE,
  CUTOFF,
  TORQUE,
  REACH,
  DIAGRAMS
};

static const double exact = 1e-6;                                           /* [mm] */
static const double radius = 0.9;                                           /* [mm] of a ring */
static const double pound_foot = LB_PSI * LB_INCH * LB_INCH * 12 * LB_INCH; /* [J] */
static const double foot = 12 * LB_INCH, mile = 5280 * 12 * LB_INCH;        /* [m] */
static const double anr = 1.185;                                            /* [kg/m3] */
/* [mm] by plan: widths of its two lines, and dashes. */
static const double widths[LB_PLANS][2] = {
    {0.3, 0.15}, {0.3, 0.15}, {0.3, 0.15}, {0.3, 0.15}, {0.5, 0.25}};
static const double dashes[LB_PLANS] = {2, 4, 1.1, 0.5, 0};
static const char *const names[LB_PLANS] = {"unregulated", "regulated as set", "regulated best",
                                            "steps", "following"};
static const char *const counts[] = {"", "", "two", "three", "four", "five", "six"};
static const double normal = 0.25; /* [mm] */

/* A rundown and a machine. */
struct made {
  struct sheet_maker maker;
  struct lb_rundown rundown;
  bool vehicle;
};

/* ---------- making up ---------- */

static bool often(uint64_t *state, double share) {
  return support_between(state, 0, 1) < share;
}

/* Points of a run: all goes evenly, but for cut-offs that jump. */
static void make_points(struct made *made, struct lb_run *run, double torque, uint64_t *state) {
  const struct lb_machine *m = &made->maker.machine;
  double start = m->ambient_pressure + exp(support_between(state, 0, 6)) * LB_BAR;
  double metres = made->rundown.demand.distance, air = exp(support_between(state, -9, -5));
  bool jumps = run->plan == LB_PLAN_STEPPED;
  size_t parts = (size_t)support_between(state, 2, LB_RUN_POINTS / 2);
  const double cutoff[] = {support_between(state, 0.3, 2), support_between(state, 0.3, 2)};
  double steepness = run->plan == LB_PLAN_FOLLOWING || jumps ? support_between(state, 0, 0.8) : 0;
  run->points = 0;
  for (size_t k = 0; k < 2 * parts; k++) {
    size_t part = jumps ? k / 2 : k;
    double last = (double)(jumps ? parts - 1 : 2 * parts - 1);
    double share = jumps ? (double)((k + 1) / 2) / (double)parts : (double)k / last;
    struct lb_run_point *p = &run->point[run->points++];
    *p = (struct lb_run_point){.tank_pressure = start - (start - run->end_pressure) * share,
                               .mean_torque = torque * (1 + 3 * (1 - share)),
                               .air = air * (2 - share),
                               .powered_revolutions = run->powered_revolutions * share,
                               .revolutions = run->revolutions * share,
                               .distance = run->revolutions * share * metres};
    p->supply_pressure =
        run->set_pressure > 0 ? fmin(run->set_pressure, p->tank_pressure - 3e4) : p->tank_pressure;
    for (int end = 0; end < LB_ENDS; end++)
      p->cutoff[end] = cutoff[end] + steepness * (double)part / last;
  }
  memcpy(run->cutoff, run->point[0].cutoff, sizeof run->cutoff);
  run->distance = run->revolutions * metres;
  run->air_left = exp(support_between(state, -3, 1));
}

static void make_run(struct made *made, enum lb_plan plan, int steps, double most,
                     uint64_t *state) {
  static const char *const whys[] = {
      "the store's 200.00 bar gauge (2900.8 psig) are above the cylinder's rated 10.00 bar gauge "
      "(145.0 psig); regulate it, or begin with less",
      "no cut-off carries the load with this supply"};
  struct lb_run *run = &made->rundown.run[made->rundown.runs++];
  *run = (struct lb_run){.plan = plan, .steps = steps, .ran = !often(state, 0.2)};
  if (!run->ran) {
    strcpy(run->why, whys[often(state, 0.5)]);
    return;
  }
  if (plan == LB_PLAN_REGULATED || plan == LB_PLAN_REGULATED_BEST)
    run->set_pressure =
        made->maker.machine.ambient_pressure + support_between(state, 0.2, 9) * LB_BAR;
  run->powered_revolutions = most * support_between(state, 1e-3, 0.4);
  run->revolutions = run->powered_revolutions * support_between(state, 1, 2.5);
  run->end_pressure =
      made->maker.machine.ambient_pressure + support_between(state, 0.05, 0.9) * LB_BAR;
  make_points(made, run, made->rundown.demand.torque, state);
}

/* The winner and its rival among those that ran. */
static void judge(struct made *made, uint64_t *state) {
  struct lb_verdict *v = &made->rundown.verdict;
  *v = (struct lb_verdict){.margin = support_between(state, 0, 0.6)};
  for (size_t i = made->rundown.runs; i-- > 0;)
    if (made->rundown.run[i].ran)
      v->winner = i;
  for (size_t i = 0; i < made->rundown.runs; i++) {
    const struct lb_run *run = &made->rundown.run[i];
    bool throttled = made->rundown.run[v->winner].set_pressure > 0;
    if (run->ran && (run->set_pressure > 0) != throttled) {
      v->compared = true;
      v->rival = i;
    }
  }
  for (int steps = 0; steps <= LB_STEPS_MOST; steps++)
    v->step_share[steps] =
        steps < LB_STEPS_LEAST || often(state, 0.1) ? (double)NAN : support_between(state, 0.5, 1);
}

/* A rundown of a machine: some of the nine runs, over a range of revolutions. */
static void make(struct made *made, const struct lb_machine *machine, size_t runs, bool vehicle,
                 uint64_t *state) {
  ck_assert(sheet_maker_begin(&made->maker, machine));
  double most = exp(support_between(state, 0, 14));
  made->vehicle = vehicle;
  made->rundown = (struct lb_rundown){.start_mass = 2};
  made->rundown.demand = (struct lb_demand){.torque = exp(support_between(state, -3, 5)),
                                            .distance = vehicle ? 0.4 : 0};
  for (int i = 0; i < LB_RUNS; i++) {
    bool stepped = i > 2 && i < LB_RUNS - 1;
    enum lb_plan plan = i < 3 ? (enum lb_plan)i : stepped ? LB_PLAN_STEPPED : LB_PLAN_FOLLOWING;
    if (runs == LB_RUNS || often(state, (double)runs / LB_RUNS) ||
        (i == LB_RUNS - 1 && made->rundown.runs == 0))
      make_run(made, plan, stepped ? i - 1 : 0, most, state);
  }
  judge(made, state);
  made->maker.sheet.rundown = &made->rundown;
}

/* ---------- what is expected ---------- */

/* The stepped run that has a line, by index; -1: none. */
static int stepped_of(const struct lb_rundown *rundown) {
  int most = -1;
  for (int i = (int)rundown->runs - 1; i >= 0; i--) {
    const struct lb_run *run = &rundown->run[i];
    if (run->plan != LB_PLAN_STEPPED || !run->ran)
      continue;
    bool enough = rundown->verdict.step_share[run->steps] >= 0.9;
    bool was_enough = most >= 0 && rundown->verdict.step_share[rundown->run[most].steps] >= 0.9;
    if (most < 0 || enough || (!was_enough && run->steps > rundown->run[most].steps))
      most = i;
  }
  return most;
}

static bool has_line(const struct made *made, size_t i) {
  const struct lb_run *run = &made->rundown.run[i];
  return run->ran && (run->plan != LB_PLAN_STEPPED || (int)i == stepped_of(&made->rundown));
}

/* Whether distances are long enough for kilometres. */
static bool goes_far(const struct made *made) {
  double most = 0;
  for (size_t i = 0; i < made->rundown.runs; i++)
    most = fmax(most, made->rundown.run[i].ran ? made->rundown.run[i].distance : 0);
  return most >= 10e3;
}

/* Metres or feet, kilometres or miles, in one of what is shown. */
static double distance_unit(const struct made *made) {
  bool inch = made->maker.sheet.inch, far = goes_far(made);
  return inch ? (far ? mile : foot) : far ? 1e3 : 1;
}

static double air_unit(const struct made *made) {
  return anr * (made->maker.sheet.inch ? foot * foot * foot : 1e-3);
}

static double gauge(const struct made *made, double pressure) {
  return (pressure - made->maker.machine.ambient_pressure) /
         (made->maker.sheet.inch ? LB_PSI : LB_BAR);
}

/* A figure of a point in the unit printed. `thin`: of the thinner line. */
static double figure(const struct made *made, int diagram, bool thin, const struct lb_run *run,
                     size_t k) {
  const struct lb_run_point *p = &run->point[k];
  bool cap = made->maker.machine.works[LB_CAP_END];
  double per_powered = run->point[0].air * p->powered_revolutions;
  switch (diagram) {
  case PRESSURE:
    return gauge(made, thin ? p->supply_pressure : p->tank_pressure);
  case CUTOFF:
    return p->cutoff[thin || !cap ? LB_ROD_END : LB_CAP_END] * 180 / LB_PI;
  case TORQUE:
    return p->mean_torque / (made->maker.sheet.inch ? pound_foot : 1);
  default: /* the air of a revolution falls evenly from the first to half of it */
    return made->vehicle
               ? p->distance / distance_unit(made)
               : per_powered * (1 - p->powered_revolutions / run->powered_revolutions / 4) /
                     air_unit(made);
  }
}

/* ---------- looking ---------- */

static struct lb_point place(const struct plot_probe *probe, double revolutions, double value) {
  const struct probe_scale *x = &probe->scale[LB_PLOT_BOTTOM], *y = &probe->scale[LB_PLOT_LEFT];
  return (struct lb_point){probe->frame.left + (revolutions - x->low) / x->unit,
                           probe->frame.bottom + (value - y->low) / y->unit};
}

/* A line of a plan: all its points, and a ring where it ends. */
static void check_line(const struct made *made, const struct plot_probe *probe, int diagram,
                       size_t i, bool thin) {
  const struct lb_run *run = &made->rundown.run[i];
  const bool *works = made->maker.machine.works;
  double width = widths[run->plan][thin];
  size_t at = 0;
  const struct lb_shape *line =
      plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dashes[run->plan]);
  bool there = !thin || (diagram == PRESSURE && run->set_pressure > 0) ||
               (diagram == CUTOFF && works[LB_CAP_END] && works[LB_ROD_END]);
  ck_assert_int_eq(line != NULL, there);
  if (!line)
    return;
  ck_assert_ptr_null(plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, width, dashes[run->plan]));
  ck_assert_uint_eq(line->count, run->points);
  const struct lb_point *p = &probe->drawing->point[line->first];
  struct lb_point expected = {0};
  for (size_t k = 0; k < run->points; k++) {
    expected = place(probe, run->point[k].revolutions, figure(made, diagram, thin, run, k));
    ck_close(p[k].x, expected.x, exact);
    ck_close(p[k].y, expected.y, exact);
  }
  bool ring = false;
  const struct lb_shape *circle;
  for (size_t c = 0; (circle = plot_probe_next(probe, &c, LB_SHAPE_CIRCLE, normal, 0));)
    ring = ring || (fabs(circle->at.x - expected.x) <= radius + exact &&
                    fabs(circle->at.y - expected.y) <= radius + exact);
  ck_assert(ring);
}

/* The lines of all plans that have some, and none besides. */
static void check_lines(const struct made *made, const struct plot_probe *probe, int diagram) {
  bool drawn[LB_PLANS] = {false};
  size_t at = 0;
  for (size_t i = 0; i < made->rundown.runs; i++)
    if (has_line(made, i)) {
      drawn[made->rundown.run[i].plan] = true;
      check_line(made, probe, diagram, i, false);
      check_line(made, probe, diagram, i, true);
    }
  for (int plan = 0; plan < LB_PLANS; plan++)
    if (!drawn[plan])
      for (int thin = 0; thin < 2; thin++, at = 0)
        ck_assert_ptr_null(
            plot_probe_next(probe, &at, LB_SHAPE_POLYLINE, widths[plan][thin], dashes[plan]));
}

/* The load is a level line through the torque diagram alone. */
static void check_load(const struct made *made, const struct plot_probe *probe, int diagram) {
  size_t at = 0;
  const struct lb_shape *line = plot_probe_next(probe, &at, LB_SHAPE_LINE, normal, 0);
  ck_assert_int_eq(line != NULL, diagram == TORQUE);
  if (!line)
    return;
  double torque = made->rundown.demand.torque / (made->maker.sheet.inch ? pound_foot : 1);
  double y = place(probe, 0, torque).y;
  ck_close(line->at.y, y, exact);
  ck_close(line->to.y, y, exact);
  ck_close(line->at.x, probe->frame.left, exact);
  ck_close(line->to.x, probe->frame.right, exact);
}

/* All diagrams have one scale of revolutions, from nothing to a little beyond the most. */
static void check_scales(const struct made *made, const struct plot_probe *probe) {
  double most = 0;
  for (size_t i = 0; i < made->rundown.runs; i++)
    most = fmax(most, has_line(made, i) ? made->rundown.run[i].revolutions : 0);
  for (int i = 0; i < DIAGRAMS; i++) {
    const struct probe_scale *x = &probe[i].scale[LB_PLOT_BOTTOM];
    double width = probe[i].frame.right - probe[i].frame.left, right = x->low + x->unit * width;
    ck_assert_double_ge(right, most);
    if (most > 0)
      ck_assert_double_le(right, most * 1.1);
    ck_close(x->low, 0, SOLVER * right);
    ck_close(x->unit, probe[0].scale[LB_PLOT_BOTTOM].unit, SOLVER * x->unit);
    ck_close(width, probe[0].frame.right - probe[0].frame.left, exact);
    ck_close(probe[i].frame.left, probe[i % 2].frame.left, exact);
  }
}

/* The next text of the page. */
static const char *next_text(const struct lb_drawing *drawing, size_t *at) {
  while (drawing->shape[*at].kind != LB_SHAPE_TEXT)
    ++*at;
  return probe_letters(drawing, &drawing->shape[(*at)++]);
}

/* A text begins with a number, to its own decimals. */
static void check_number(const char *text, double value) {
  char *end;
  double found = strtod(text, &end);
  const char *point = memchr(text, '.', (size_t)(end - text));
  double decimals = point ? (double)(end - point - 1) : 0;
  ck_close(found, value, 0.5 * pow(10, -decimals) * (1 + SOLVER) + 1e-9);
}

/* A cell is that of a number; "-" where there is none. */
static void check_cell(const struct lb_drawing *drawing, size_t *at, bool there, double value) {
  const char *cell = next_text(drawing, at);
  if (there)
    check_number(cell, value);
  else
    ck_assert_str_eq(cell, "-");
}

/* "46.2 to 97.0", or one angle where they are the same. */
static void check_angles(const struct lb_drawing *drawing, size_t *at, const struct lb_run *run,
                         int end) {
  const char *cell = next_text(drawing, at);
  const double tenth = 0.05 + 1e-9;
  if (!run->ran) {
    ck_assert_str_eq(cell, "-");
    return;
  }
  double first = run->point[0].cutoff[end] * 180 / LB_PI;
  double last = run->point[run->points - 1].cutoff[end] * 180 / LB_PI;
  const char *to = strstr(cell, " to ");
  ck_close(strtod(cell, NULL), first, tenth);
  if (to)
    ck_close(strtod(to + 4, NULL), last, tenth);
  else
    ck_close(last, first, 2 * tenth);
}

/* The name of a plan as it stands in the key and the table. */
static void name_of(char *name, size_t room, const struct lb_run *run) {
  if (run->plan == LB_PLAN_STEPPED)
    snprintf(name, room, "%s steps", counts[run->steps]);
  else
    snprintf(name, room, "%s", names[run->plan]);
}

/* The table, row by row. */
static void check_table(const struct made *made, const struct lb_drawing *drawing) {
  const bool *works = made->maker.machine.works;
  const struct lb_shape *heading = probe_find(drawing, 0, "at the end");
  bool set = false;
  double most = 0;
  char name[40];
  ck_assert_ptr_nonnull(heading);
  size_t at = (size_t)(heading - drawing->shape) + 2; /* behind it and its unit */
  for (size_t i = 0; i < made->rundown.runs; i++)
    set = set || made->rundown.run[i].set_pressure > 0;
  for (size_t i = 0; i < made->rundown.runs; i++)
    most = fmax(most, made->rundown.run[i].revolutions);
  for (size_t i = 0; i < made->rundown.runs; i++) {
    const struct lb_run *run = &made->rundown.run[i];
    name_of(name, sizeof name, run);
    ck_assert_str_eq(next_text(drawing, &at), name);
    if (set)
      check_cell(drawing, &at, run->set_pressure > 0, gauge(made, run->set_pressure));
    for (int end = 0; end < LB_ENDS; end++)
      if (works[end])
        check_angles(drawing, &at, run, end);
    size_t revolutions = at;
    check_cell(drawing, &at, run->ran, run->revolutions);
    bool tenths = strchr(next_text(drawing, &revolutions), '.') != NULL;
    ck_assert_int_eq(tenths, run->ran && most < 100);
    if (made->vehicle)
      check_cell(drawing, &at, run->ran, run->distance / distance_unit(made));
    check_cell(drawing, &at, run->ran, run->air_left / air_unit(made));
    check_cell(drawing, &at, run->ran, gauge(made, run->end_pressure));
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

/* Whether the page says some words, which may be broken into lines. */
static bool says(const struct lb_drawing *drawing, const char *words) {
  static char all[20000];
  size_t used = 0;
  for (size_t i = 0; i < drawing->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_TEXT)
      used += (size_t)snprintf(all + used, sizeof all - used, "%s ",
                               probe_letters(drawing, &drawing->shape[i]));
  ck_assert_uint_lt(used, sizeof all);
  return strstr(all, words) != NULL;
}

/* A row of the key for each line, with a sample in its pen: left of its words, on their height. */
static void check_keys(const struct made *made, const struct lb_drawing *drawing) {
  char name[40];
  for (size_t i = 0; i < made->rundown.runs; i++) {
    const struct lb_run *run = &made->rundown.run[i];
    const struct lb_shape *words, *sample;
    name_of(name, sizeof name, run);
    ck_assert_int_eq(count_texts(drawing, name), has_line(made, i) ? 2 : 1);
    if (!has_line(made, i))
      continue;
    words = probe_find(drawing, 0, name);
    ck_assert(words > drawing->shape);
    sample = words - 1;
    ck_assert_int_eq(sample->kind, LB_SHAPE_LINE);
    ck_close(sample->pen.width, widths[run->plan][0], 0);
    ck_close(sample->pen.dash, dashes[run->plan], 0);
    ck_assert_double_lt(sample->to.x, words->at.x);
    ck_close(sample->at.y, words->at.y, 2);
  }
}

/* In the last diagram, and there alone, the end of each line says how far it goes. */
static void check_ends(const struct made *made, const struct plot_probe *probe) {
  const struct lb_drawing *drawing = probe->drawing;
  char name[40];
  for (size_t i = 0; i < made->rundown.runs; i++) {
    const struct lb_run *run = &made->rundown.run[i];
    int labels = 0;
    name_of(name, sizeof name, run);
    strcat(name, " ");
    for (size_t k = probe->frame_shape; k < drawing->shapes; k++) {
      const struct lb_shape *shape = &drawing->shape[k];
      const char *text = shape->kind == LB_SHAPE_TEXT ? probe_letters(drawing, shape) : "";
      if (strncmp(text, name, strlen(name)) != 0)
        continue;
      labels++;
      check_number(text + strlen(name), figure(made, REACH, false, run, run->points - 1));
      ck_assert(plot_probe_inside(probe, shape->at));
    }
    ck_assert_int_eq(labels, has_line(made, i));
  }
}

/* Draw and look at all of it. */
static void check_sheet(const struct made *made) {
  struct lb_drawing drawing = {0};
  struct plot_probe probe[DIAGRAMS];
  ck_assert_int_eq(lb_sheet_rundown(&drawing, &made->maker.sheet, NULL), LB_OK);
  ck_assert_int_eq(lb_drawing_status(&drawing, NULL), LB_OK);
  ck_assert_uint_eq(drawing.pages, 1);
  probe_sheet(&drawing);
  ck_assert_int_eq(plot_probe_count(&drawing, 0), DIAGRAMS);
  for (int i = 0; i < DIAGRAMS; i++)
    probe[i] = plot_probe_find(&drawing, 0, i);
  check_scales(made, probe);
  for (int i = 0; i < DIAGRAMS; i++) {
    check_lines(made, &probe[i], i);
    check_load(made, &probe[i], i);
  }
  check_ends(made, &probe[REACH]);
  check_table(made, &drawing);
  check_keys(made, &drawing);
  lb_drawing_free(&drawing);
}

START_TEST(random_rundowns) {
  static struct made made;
  uint64_t state = 31;
  int times = support_times(200), not_run = 0, far = 0;
  for (int i = 0; i < times; i++) {
    struct lb_machine machine = machine_text(machine_text_least, NULL);
    machine.works[LB_CAP_END] = i % 5 != 1;
    machine.works[LB_ROD_END] = i % 5 != 2;
    machine.load.coasting = i % 3 == 0 ? LB_COASTING_NONE : LB_COASTING_FREEWHEEL;
    make(&made, &machine, (size_t)(1 + i % LB_RUNS), i % 2 == 0, &state);
    made.rundown.speed = i % 7 == 0 ? 12 : 0;
    made.maker.sheet.inch = i / 2 % 2;
    made.maker.sheet.size = (enum lb_paper_size)(i / 4 % LB_PAPER_SIZES);
    check_sheet(&made);
    for (size_t k = 0; k < made.rundown.runs; k++)
      not_run += !made.rundown.run[k].ran;
    far += goes_far(&made);
    sheet_maker_end(&made.maker);
  }
  ck_assert_int_ge(not_run, support_least(51));
  ck_assert_int_ge(far, support_least(11));
}
END_TEST

/* All nine runs on every demo machine, which have the longest headings. */
static void check_demo(struct sheet_maker *maker) {
  static struct made made;
  uint64_t state = 3;
  make(&made, &maker->machine, LB_RUNS, true, &state);
  made.maker.sheet.inch = maker->sheet.inch;
  made.maker.sheet.size = maker->sheet.size;
  check_sheet(&made);
  sheet_maker_end(&made.maker);
}

START_TEST(demo_machines) {
  sheet_maker_demos(check_demo);
}
END_TEST

/* Six runs with the same why, in a machine with a load of 3 N m. */
static void make_plain(struct made *made, uint64_t *state) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  machine.load.coasting = LB_COASTING_FREEWHEEL;
  for (int end = 0; end < LB_ENDS; end++) {
    machine.timing[end].cutoff_given = true;
    machine.timing[end].cutoff = LB_PI / 2;
  }
  make(made, &machine, LB_RUNS, true, state);
  made->rundown.demand.torque = 3;
  for (size_t i = 0; i < LB_RUNS; i++) {
    struct lb_run *run = &made->rundown.run[i];
    bool stepped = run->plan == LB_PLAN_STEPPED;
    while (!run->ran) {
      made->rundown.runs = i;
      make_run(made, run->plan, run->steps, 1000, state);
    }
    run->ran = !stepped || run->steps == 3 || run->steps == 4;
    strcpy(run->why, run->ran ? "" : run->steps == 6 ? "too many" : "no time");
    run->revolutions = run->point[run->points - 1].revolutions;
  }
  made->rundown.runs = LB_RUNS;
  made->rundown.verdict =
      (struct lb_verdict){.winner = LB_RUNS - 1, .compared = true, .rival = 2, .margin = 0.312};
  for (int steps = 0; steps <= LB_STEPS_MOST; steps++)
    made->rundown.verdict.step_share[steps] = steps == 4 ? 0.934 : 0.5;
}

/* What cannot be told from lines is written. */
START_TEST(words) {
  static const char *const expected[] = {
      "Running the store down (as timed in the file)",
      "store, bar gauge",
      "cut-off, deg",
      "mean torque, N m",
      "distance, ",
      "revolutions, with coasting",
      "load 3.00 N m",
      "four steps",
      "cut-off, cap end",
      "cut-off, rod end",
      "Let the cut-off follow the pressure: 31 % further than the best regulated supply",
      "With four fixed steps: 93 % of what following gains over the fixed timing.",
      "Thinner lines: the supply behind the regulator; the cut-off of the rod end.",
      "The load is without drag and wind, which need a speed.",
      "Not run, two steps, five steps: no time.",
      "Not run, six steps: too many."};
  static struct made made;
  uint64_t state = 1;
  struct lb_drawing drawing = {0};
  make_plain(&made, &state);
  made.rundown.demand.drag_left_out = true;
  ck_assert_int_eq(lb_sheet_rundown(&drawing, &made.maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(says(&drawing, expected[i]), "'%s' is missing", expected[i]);
  lb_drawing_free(&drawing);
  sheet_maker_end(&made.maker);
}
END_TEST

/* What has no place on the page is not said: no distance, no regulator, one end, no coasting. */
START_TEST(words_left_out) {
  static const char *const absent[] = {"distance", "set to", "rod end", "Thinner", "Not run"};
  static const char *const expected[] = {
      "air used, L ANR",           "revolutions", "powered", "cut-off, cap end",
      "None with a regulator did", "no coasting"};
  static struct made made;
  uint64_t state = 8;
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  struct lb_drawing drawing = {0};
  machine.works[LB_ROD_END] = false;
  make(&made, &machine, LB_RUNS, false, &state);
  made.rundown.runs = 0;
  do {
    made.rundown.runs = 0;
    make_run(&made, LB_PLAN_FOLLOWING, 0, 500, &state);
  } while (!made.rundown.run[0].ran);
  judge(&made, &state);
  ck_assert_int_eq(lb_sheet_rundown(&drawing, &made.maker.sheet, NULL), LB_OK);
  for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
    ck_assert_msg(!says(&drawing, absent[i]), "'%s' is there", absent[i]);
  for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
    ck_assert_msg(says(&drawing, expected[i]), "'%s' is missing", expected[i]);
  lb_drawing_free(&drawing);
  sheet_maker_end(&made.maker);
}
END_TEST

/* A machine has the sheet with a store and a load of any kind. */
START_TEST(applies) {
  struct lb_machine machine = machine_text(machine_text_least, NULL);
  double *const loads[] = {&machine.load_torque, &machine.load.torque_per_speed,
                           &machine.load.torque_per_speed_squared, &machine.load.mass};
  for (size_t i = 0; i < sizeof loads / sizeof loads[0]; i++)
    *loads[i] = 0;
  for (size_t i = 0; i < sizeof loads / sizeof loads[0]; i++) {
    machine.store.given = true;
    ck_assert(!lb_chart_applies(LB_CHART_RUNDOWN, &machine));
    *loads[i] = 2;
    ck_assert(lb_chart_applies(LB_CHART_RUNDOWN, &machine));
    machine.store.given = false;
    ck_assert(!lb_chart_applies(LB_CHART_RUNDOWN, &machine));
    *loads[i] = 0;
  }
  ck_assert_str_eq(lb_chart_name(LB_CHART_RUNDOWN), "rundown");
}
END_TEST

int main(void) {
  Suite *suite = suite_create("sheet_rundown");
  TCase *cases = tcase_create("rundown page");
  tcase_set_timeout(cases, 600);
  tcase_add_test(cases, random_rundowns);
  tcase_add_test(cases, demo_machines);
  tcase_add_test(cases, words);
  tcase_add_test(cases, words_left_out);
  tcase_add_test(cases, applies);
  suite_add_tcase(suite, cases);
  return support_run(suite, NULL);
}
