/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rundown page. Invariant: a line is drawn through the points of its run as they were found,
 * from the start to its end, which has a ring; what jumps stands twice among them and is a step.
 */
#include "paper/sheet_rundown.h"

#include "base/format.h"
#include "paper/answer_rundown_page.h"
#include "paper/plot.h"
#include "paper/sheet_rundown_table.h"
#include "paper/text.h"

#include <math.h>
#include <string.h>

enum diagram {
  PRESSURE,
  CUTOFF,
  TORQUE,
  REACH, /* distance, or air used */
  DIAGRAMS,
  ACROSS = 2 /* of them side by side */
};

/* A diagram has up to two lines for a plan: of the store and the supply, or of the two ends. */
enum trace {
  WIDE,
  THIN,
  TRACES
};

static const double head_room = 0.08;  /* [1] of the range, above it and, where it does not begin at
                                          nothing, below */
static const double side_room = 1.03;  /* [1] of the most revolutions: the scale goes on to there */
static const double between = 3;       /* [mm] diagrams, and what stands below them */
static const double least_angles = 10; /* [deg] that the scale of cut-offs spans */
static const double least_height = 45; /* [mm] of a diagram */
static const double enough_share = 0.9; /* [1] of what following gains: so many steps are drawn */

static const struct lb_pen load_pen = {.layer = LB_LAYER_MARK, .width = 0.25};
/* By plan: width of its lines, and dashes, which are short where there are small steps. */
static const double width[LB_PLANS][TRACES] = {[LB_PLAN_UNREGULATED] = {0.3, 0.15},
                                               [LB_PLAN_REGULATED] = {0.3, 0.15},
                                               [LB_PLAN_REGULATED_BEST] = {0.3, 0.15},
                                               [LB_PLAN_STEPPED] = {0.3, 0.15},
                                               [LB_PLAN_FOLLOWING] = {0.5, 0.25}}; /* [mm] */
static const double dash[LB_PLANS] = {[LB_PLAN_UNREGULATED] = 2,
                                      [LB_PLAN_REGULATED] = 4,
                                      [LB_PLAN_REGULATED_BEST] = 1.1,
                                      [LB_PLAN_STEPPED] = 0.5}; /* [mm] */

/* A page in the making. Figures are in the units shown. */
struct page {
  struct lb_rundown_page note; /* what the note about the same says */
  const struct lb_rundown *rundown;
  const struct lb_machine *machine;
  struct lb_style style;
  const struct lb_run *run[LB_PLANS]; /* run[runs]: those that have lines */
  size_t runs;
  struct lb_plot plot;
};

/* ---------- what is drawn ---------- */

/* The stepped plan that has lines; NULL when none was run. */
static const struct lb_run *stepped_of(const struct lb_rundown *rundown) {
  const struct lb_run *most = NULL;
  for (size_t i = 0; i < rundown->runs; i++) {
    const struct lb_run *run = &rundown->run[i];
    if (!run->ran || run->plan != LB_PLAN_STEPPED)
      continue;
    if (rundown->verdict.step_share[run->steps] >= enough_share)
      return run;
    most = run;
  }
  return most;
}

static void choose_runs(struct page *p) {
  const struct lb_run *stepped = stepped_of(p->rundown);
  for (size_t i = 0; i < p->rundown->runs; i++) {
    const struct lb_run *run = &p->rundown->run[i];
    if (run->ran && run->points > 0 && (run->plan != LB_PLAN_STEPPED || run == stepped))
      p->run[p->runs++] = run;
  }
}

/* The end whose cut-off a trace shows. */
static enum lb_end end_of(const struct page *p, enum trace trace) {
  return trace == THIN || !p->machine->works[LB_CAP_END] ? LB_ROD_END : LB_CAP_END;
}

static bool is_drawn(const struct page *p, enum diagram diagram, const struct lb_run *run,
                     enum trace trace) {
  const bool *works = p->machine->works;
  return trace == WIDE || (diagram == PRESSURE && run->set_pressure > 0) ||
         (diagram == CUTOFF && works[LB_CAP_END] && works[LB_ROD_END]);
}

/* Air used from the start of a run to one of its points [kg]. */
static double air_used(const struct lb_run *run, size_t k) {
  double used = 0;
  for (size_t i = 1; i <= k; i++)
    used += (run->point[i].powered_revolutions - run->point[i - 1].powered_revolutions) *
            (run->point[i].air + run->point[i - 1].air) / 2;
  return used;
}

/* What a diagram shows at a point [SI]. */
static double value_of(const struct page *p, enum diagram diagram, const struct lb_run *run,
                       enum trace trace, size_t k) {
  const struct lb_run_point *point = &run->point[k];
  switch (diagram) {
  case PRESSURE:
    return trace == WIDE ? point->tank_pressure : point->supply_pressure;
  case CUTOFF:
    return point->cutoff[end_of(p, trace)];
  case TORQUE:
    return point->mean_torque;
  default: /* REACH */
    return p->note.vehicle ? point->distance : air_used(run, k);
  }
}

static enum lb_measure measure_of(const struct page *p, enum diagram diagram) {
  const enum lb_measure measure[DIAGRAMS] = {
      [PRESSURE] = LB_SHOW_GAUGE,
      [CUTOFF] = LB_SHOW_ANGLE,
      [TORQUE] = LB_SHOW_TORQUE,
      [REACH] = p->note.vehicle ? lb_rundown_page_distance(p->rundown) : LB_SHOW_AIR};
  return measure[diagram];
}

static double figure_of(const struct page *p, enum diagram diagram, const struct lb_run *run,
                        enum trace trace, size_t k) {
  return lb_show_value(&p->style, measure_of(p, diagram), value_of(p, diagram, run, trace, k));
}

static struct lb_pen pen_of(const struct lb_run *run, enum trace trace) {
  return (struct lb_pen){
      .layer = LB_LAYER_MARK, .width = width[run->plan][trace], .dash = dash[run->plan]};
}

/* ---------- one diagram ---------- */

/* The least and the greatest figure of a diagram's lines. */
static void range_of(double *low, double *high, const struct page *p, enum diagram diagram) {
  for (size_t i = 0; i < p->runs; i++)
    for (int trace = 0; trace < TRACES; trace++)
      for (size_t k = 0; k < p->run[i]->points; k++) {
        if (!is_drawn(p, diagram, p->run[i], (enum trace)trace))
          continue;
        double figure = figure_of(p, diagram, p->run[i], (enum trace)trace, k);
        *low = fmin(*low, figure);
        *high = fmax(*high, figure);
      }
}

/* All that a diagram shows: cut-offs as far as they go, the others from nothing on. */
static struct lb_plot_window window_of(const struct page *p, enum diagram diagram) {
  double most = 0, low = 0, high = 0;
  for (size_t i = 0; i < p->runs; i++)
    most = fmax(most, p->run[i]->point[p->run[i]->points - 1].revolutions);
  if (diagram == CUTOFF && p->runs > 0)
    low = high = figure_of(p, diagram, p->run[0], WIDE, 0);
  if (diagram == TORQUE)
    high = lb_show_value(&p->style, LB_SHOW_TORQUE, p->rundown->demand.torque);
  range_of(&low, &high, p, diagram);
  double span = diagram == CUTOFF ? fmax(high - low, least_angles) : high - low;
  if (!(span > 0))
    span = 1;
  double middle = (low + high) / 2, room = head_room * span;
  struct lb_plot_window window = {.right = most > 0 ? side_room * most : 1,
                                  .bottom = low < 0 ? low - room : low,
                                  .top = low + span + room};
  if (diagram == CUTOFF) {
    window.bottom = middle - span / 2 - room;
    window.top = middle + span / 2 + room;
  }
  return window;
}

/* What a diagram measures, with its unit. */
static struct lb_shown title_of(const struct page *p, enum diagram diagram) {
  const char *const name[DIAGRAMS] = {[PRESSURE] = "store",
                                      [CUTOFF] = "cut-off",
                                      [TORQUE] = "mean torque",
                                      [REACH] = p->note.vehicle ? "distance" : "air used"};
  struct lb_shown title;
  lb_format(title.text, sizeof title.text, "%s, %s", name[diagram],
            lb_show_unit(&p->style, measure_of(p, diagram)));
  return title;
}

static void begin(struct page *p, struct lb_drawing *drawing, struct lb_box box,
                  enum diagram diagram) {
  const struct lb_plot_window window = window_of(p, diagram);
  const struct lb_shown title = title_of(p, diagram);
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = p->note.coasts ? "revolutions, with coasting" : "revolutions",
                          .high = window.right},
      [LB_PLOT_LEFT] = {.title = title.text, .low = window.bottom, .high = window.top}};
  lb_plot_begin(&p->plot, drawing, box, &window, axis);
}

/* The line of a plan, with a ring where it ends. */
static void draw_line(struct page *p, enum diagram diagram, const struct lb_run *run,
                      enum trace trace) {
  const struct lb_pen pen = pen_of(run, trace);
  struct lb_plot_path path = {0};
  for (size_t k = 0; k < run->points; k++)
    lb_plot_path_add_data(&path, &p->plot, run->point[k].revolutions,
                          figure_of(p, diagram, run, trace, k));
  lb_plot_curve(&p->plot, &pen, &path, false);
  if (!path.failed)
    lb_plot_mark(&p->plot, path.point[path.count - 1]);
  lb_plot_path_free(&path);
}

/* Where a plan ends, and how far that is: the lines of several may lie on each other. */
static void label_end(struct page *p, const struct lb_run *run) {
  size_t last = run->points - 1;
  struct lb_point end =
      lb_plot_at(&p->plot, run->point[last].revolutions, figure_of(p, REACH, run, WIDE, last));
  lb_plot_label(&p->plot, lb_plot_spot(end), "%s %s", lb_rundown_table_plan(run).text,
                lb_show(&p->style, measure_of(p, REACH), value_of(p, REACH, run, WIDE, last)).text);
}

/* The torque of the load, which lines come down to. */
static void draw_load(struct page *p) {
  double torque = p->rundown->demand.torque;
  double y = lb_show_value(&p->style, LB_SHOW_TORQUE, torque);
  lb_plot_level(&p->plot, &load_pen, y);
  lb_plot_label(&p->plot, lb_plot_box(&p->plot, 0, y, p->plot.window.right, y), "load %s",
                lb_show(&p->style, LB_SHOW_TORQUE, torque).text);
}

static void draw_diagram(struct page *p, struct lb_drawing *drawing, struct lb_box box,
                         enum diagram diagram) {
  begin(p, drawing, box, diagram);
  for (int trace = TRACES - 1; trace >= 0; trace--)
    for (size_t i = 0; i < p->runs; i++)
      if (is_drawn(p, diagram, p->run[i], (enum trace)trace))
        draw_line(p, diagram, p->run[i], (enum trace)trace);
  if (diagram == TORQUE)
    draw_load(p);
  for (size_t i = 0; diagram == REACH && i < p->runs; i++)
    label_end(p, p->run[i]);
  lb_plot_end(&p->plot);
}

/* How far inside a box the left side of a diagram's frame stands [mm]. */
static double scale_room(const struct page *p, struct lb_drawing *drawing, struct lb_box box,
                         enum diagram diagram) {
  struct page trial = *p;
  struct lb_drawing scratch = {0};
  lb_drawing_page(&scratch, "", box.right, box.top);
  begin(&trial, &scratch, box, diagram);
  drawing->failed |= scratch.failed;
  lb_drawing_free(&scratch);
  return trial.plot.frame.left - box.left;
}

/* All diagrams, their frames equally wide. */
static void draw_diagrams(struct page *p, struct lb_drawing *drawing, struct lb_box room) {
  const double across = (room.right - room.left + between) / ACROSS;
  const double height = (room.top - room.bottom + between) / (DIAGRAMS / ACROSS);
  struct lb_box box[DIAGRAMS];
  double inside[DIAGRAMS], most = 0;
  for (int i = 0; i < DIAGRAMS; i++) {
    double left = room.left + i % ACROSS * across, top = room.top - i / ACROSS * height;
    box[i] = (struct lb_box){left, top - height + between, left + across - between, top};
    inside[i] = scale_room(p, drawing, box[i], (enum diagram)i);
    most = fmax(most, inside[i]);
  }
  for (int i = 0; i < DIAGRAMS; i++) {
    box[i].left += most - inside[i];
    draw_diagram(p, drawing, box[i], (enum diagram)i);
  }
}

/* ---------- what stands below ---------- */

/* What the lines mean, several side by side. Returns the room left below. */
static struct lb_box draw_keys(const struct page *p, struct lb_drawing *drawing,
                               struct lb_box box) {
  enum {
    KEYS_ACROSS = 3
  };
  const double column = (box.right - box.left) / KEYS_ACROSS;
  double left = box.left, bottom = box.top;
  for (size_t i = 0; i < p->runs; i++) {
    const struct lb_pen pen = pen_of(p->run[i], WIDE);
    struct lb_box key = box;
    key.left = left + (double)(i % KEYS_ACROSS) * column;
    key.right = key.left + column - between;
    key.top -= (double)(i / KEYS_ACROSS) * lb_plot_key_height;
    bottom =
        lb_plot_key(drawing, key, &pen, (double)NAN, 0, lb_rundown_table_plan(p->run[i]).text).top;
  }
  box.top = bottom;
  return box;
}

/* Which plan to build, and what a few steps bring of that. */
static void add_verdict(struct lb_text *text, const struct page *p) {
  const struct lb_verdict *verdict = &p->rundown->verdict;
  const struct lb_run *stepped = stepped_of(p->rundown);
  if (p->rundown->runs == 0 || !p->rundown->run[verdict->winner].ran)
    return;
  lb_rundown_page_winner(text, &p->note);
  if (stepped && isfinite(verdict->step_share[stepped->steps]))
    lb_text_add(text, " With %s fixed steps: %s %% of what following gains over the fixed timing.",
                lb_rundown_page_count(stepped->steps),
                lb_show_number(100 * verdict->step_share[stepped->steps], 0).text);
}

/* Plans that were not run; those for the same reason in one line. */
static void add_not_run(struct lb_text *text, const struct page *p) {
  const struct lb_run *before = NULL;
  for (size_t i = 0; i < p->rundown->runs; i++) {
    const struct lb_run *run = &p->rundown->run[i];
    if (run->ran)
      continue;
    if (before && strcmp(before->why, run->why) != 0) {
      lb_text_add(text, ": %s.", lb_show_sentence(&p->style, before->why).text);
      before = NULL;
    }
    lb_text_add(text, "%s%s", before ? ", " : "\nNot run, ", lb_rundown_table_plan(run).text);
    before = run;
  }
  if (before)
    lb_text_add(text, ": %s.", lb_show_sentence(&p->style, before->why).text);
}

/* What there is to know to read the page. */
static void add_notes(struct lb_text *text, const struct page *p) {
  const bool *works = p->machine->works;
  bool both = works[LB_CAP_END] && works[LB_ROD_END], throttled = false;
  for (size_t i = 0; i < p->runs; i++)
    throttled = throttled || p->run[i]->set_pressure > 0;
  static const char *const coasting[] = {[LB_COASTING_NONE] = "no coasting",
                                         [LB_COASTING_FREEWHEEL] = "coasting with a freewheel",
                                         [LB_COASTING_MOTORING] = "coasting with the cylinder"};
  lb_text_add(text, "Store %s at ",
              lb_show(&p->style, LB_SHOW_ROOM, p->machine->store.volume).text);
  lb_text_add(text, "%s; load ",
              lb_show_pressure(&p->style, p->machine->store.start_pressure).text);
  lb_text_add(text, "%s at the crank, %s. ",
              lb_show(&p->style, LB_SHOW_TORQUE, p->rundown->demand.torque).text,
              coasting[p->machine->load.coasting]);
  lb_text_add(text,
              "Cut-offs count from each end's own dead centre, in the table from the start to the "
              "end. Rings: the load stops it there, or the store is at its lowest pressure.");
  if (both || throttled)
    lb_text_add(text, " Thinner lines: %s%s%s.", throttled ? "the supply behind the regulator" : "",
                both && throttled ? "; " : "", both ? "the cut-off of the rod end" : "");
  if (p->rundown->demand.drag_left_out)
    lb_text_add(text, " The load is without drag and wind, which need a speed.");
  add_not_run(text, p);
}

/* Keys, table, verdict and notes at the top of a box. Returns the room left below. */
static struct lb_box draw_below(const struct page *p, struct lb_drawing *drawing,
                                struct lb_box box) {
  struct lb_text verdict = {0}, notes = {0};
  box = draw_keys(p, drawing, box);
  box.top -= between / 2;
  box = lb_rundown_table(drawing, &p->note, box);
  box.top -= between / 2;
  add_verdict(&verdict, p);
  add_notes(&notes, p);
  drawing->failed |= verdict.failed || notes.failed;
  if (!drawing->failed && verdict.length > 0)
    box = lb_sheet_write(drawing, box, LB_LETTERS_NORMAL, verdict.bytes);
  if (!drawing->failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, notes.bytes);
  lb_text_free(&verdict);
  lb_text_free(&notes);
  return box;
}

/* How high that is [mm]; not so high that the diagrams lose theirs. */
static double height_below(const struct page *p, struct lb_drawing *drawing, struct lb_box room) {
  struct lb_drawing scratch = {0};
  room.bottom += DIAGRAMS / ACROSS * (least_height + between);
  lb_drawing_page(&scratch, "", room.right, room.top);
  double height = room.top - draw_below(p, &scratch, room).top;
  drawing->failed |= scratch.failed;
  lb_drawing_free(&scratch);
  return height;
}

enum lb_status lb_sheet_rundown(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                struct lb_error *error) {
  struct lb_cutoff_paper head = *sheet->paper; /* whose heading is that of the runs */
  struct lb_sheet of_runs = *sheet;
  const struct lb_rundown_paper paper = {
      .machine = head.machine, .rundown = sheet->rundown, .rule = head.rule};
  struct lb_text unused = {0};
  head.speed = sheet->rundown->speed;
  of_runs.paper = &head;
  struct page p = {.note = lb_rundown_page_begin(&paper, &head, sheet->inch, &unused),
                   .rundown = sheet->rundown,
                   .machine = head.machine,
                   .style = lb_sheet_style(sheet)};
  (void)error; /* the drawing remembers what goes wrong */
  choose_runs(&p);
  struct lb_box room = lb_sheet_begin(drawing, &of_runs, "Running the store down"), below = room;
  below.top = room.bottom + height_below(&p, drawing, room);
  draw_below(&p, drawing, below);
  room.bottom = below.top + between;
  draw_diagrams(&p, drawing, room);
  return LB_OK;
}
