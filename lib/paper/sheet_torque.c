/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The torque page. Invariant: curves are drawn from one valve event to the next, where they are
 * smooth; at an event they have two points at one angle, so that what jumps is upright.
 */
#include "paper/sheet_torque.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/plot.h"
#include "stroke/force.h"
#include "stroke/timing.h"
#include "stroke/torque.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double turn = 2 * LB_PI;
/* How far from an event its side is looked at [rad], and the most between two points of a curve. */
static const double beside = 1e-9, step = LB_PI / 720;
/* Room above and below the curves, as a share of their range [1]. */
static const double head_room = 0.12;
/* Hatching of dead arcs. */
static const double dead_angle = LB_PI / 4, dead_spacing = 2; /* [rad], [mm] */

static const struct lb_pen mean_pen = {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 4};
static const struct lb_pen load_pen = {.layer = LB_LAYER_MARK, .width = 0.35, .dash = 8};

enum {
  SHOWN_APART = 4, /* cylinders; of more the first alone is drawn */
  ARCS_NAMED = 8,  /* in the diagram; all stand in the text */
  EVENTS_MOST = LB_CYLINDERS_MOST * LB_FORCE_POINTS + 2
};
static const struct lb_pen cylinder_pen[SHOWN_APART] = {
    {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 0.6},
    {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 1.2},
    {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 2},
    {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 3}};

/* The crank angles between which all curves are smooth [rad], in order, from 0 to a turn. */
struct events {
  double angle[EVENTS_MOST];
  size_t count;
};

static int by_size(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void add_event(struct events *events, double angle) {
  angle = fmod(angle, turn);
  events->angle[events->count++] = angle < 0 ? angle + turn : angle;
}

static void find_events(struct events *events, const struct lb_sheet *sheet) {
  const struct lb_machine *m = sheet->paper->machine;
  const struct lb_force *force = lb_cycle_force(sheet->cycle);
  const double *cutoff = lb_sheet_cutoff(sheet);
  events->count = 0;
  add_event(events, 0);
  for (int k = 0; k < m->cylinders; k++) {
    for (int i = 0; i < force->points; i++)
      add_event(events, force->point[i].angle + m->crank_angle[k]);
    for (int i = 0; i < LB_ENDS; i++)
      if (m->works[i])
        add_event(events, lb_timing_crank_angle(m, (enum lb_end)i, cutoff[i]) + m->crank_angle[k]);
  }
  qsort(events->angle, events->count, sizeof events->angle[0], by_size);
  events->angle[events->count++] = turn;
}

/* Which torque a curve is of: one cylinder's, counted from 0, or that of all. */
enum {
  ALL = -1
};
struct curve {
  const struct lb_sheet *sheet;
  enum lb_motion motion;
  int cylinder;
};

static double torque_at(const struct curve *c, double angle) {
  const double *cutoff = lb_sheet_cutoff(c->sheet);
  if (c->cylinder == ALL)
    return lb_torque_machine(c->sheet->cycle, cutoff, c->motion, angle);
  return lb_torque_cylinder(c->sheet->cycle, cutoff, c->motion,
                            angle - c->sheet->paper->machine->crank_angle[c->cylinder]);
}

/* The points of a curve: x the crank angle [rad], y the torque [N m]. */
static void sample(struct lb_plot_path *path, const struct curve *c, const struct events *events) {
  for (size_t i = 0; i + 1 < events->count; i++) {
    double from = events->angle[i], to = events->angle[i + 1];
    if (to - from <= 2 * beside)
      continue;
    double steps = ceil((to - from) / step);
    for (double k = 0; k <= steps; k++) {
      double angle = k < steps ? from + k * (to - from) / steps : to;
      double looked_at = fmin(fmax(angle, from + beside), to - beside);
      lb_plot_path_add(path, (struct lb_point){angle, torque_at(c, looked_at)});
    }
  }
}

/* A page in the making, one diagram after the other. */
struct page {
  const struct lb_sheet *sheet;
  const struct lb_machine *machine;
  const struct lb_detail *detail;
  struct lb_style style;
  int decimals; /* of torques */
  struct events events;
  struct lb_plot plot;
};

/* In the digits of all torques of the page: "12.70 N m". */
static struct lb_shown torque(const struct page *p, double value) {
  struct lb_shown shown;
  lb_format(shown.text, sizeof shown.text, "%.40s %s",
            lb_show_number(lb_show_value(&p->style, LB_SHOW_TORQUE, value), p->decimals).text,
            lb_show_unit(&p->style, LB_SHOW_TORQUE));
  return shown;
}

/* Take the torques of a path into a range. */
static void take_in(double *least, double *greatest, const struct lb_plot_path *path) {
  for (size_t i = 0; i < path->count; i++) {
    *least = fmin(*least, path->point[i].y);
    *greatest = fmax(*greatest, path->point[i].y);
  }
}

/* The heading of a diagram, frame and scales for torques in a range, and the line of none. */
static void begin(struct page *p, struct lb_drawing *drawing, struct lb_box box, const char *title,
                  double least, double greatest) {
  const struct lb_lettering bold = {.size = LB_LETTERS_NORMAL, .bold = true};
  const double all_degrees = 360, degrees_apart = 30, below_title = 1 /* [mm] */;
  const double none = 1; /* [N m] range of the scale where there is no torque at all */
  double room = greatest > least ? head_room * (greatest - least) : none / 2;
  struct lb_plot_window window = {.right = turn, .bottom = least - room, .top = greatest + room};
  char angle[96], moment[96];
  lb_format(angle, sizeof angle, "crank angle from %s cap-end dead centre, deg",
            p->machine->cylinders > 1 ? "cylinder 1's" : "the");
  lb_format(moment, sizeof moment, "torque, %s", lb_show_unit(&p->style, LB_SHOW_TORQUE));
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = angle, .high = all_degrees, .step = degrees_apart},
      [LB_PLOT_LEFT] = {.title = moment,
                        .low = lb_show_value(&p->style, LB_SHOW_TORQUE, window.bottom),
                        .high = lb_show_value(&p->style, LB_SHOW_TORQUE, window.top)}};
  box.top -= LB_LETTERS_NORMAL;
  lb_sheet_text(drawing, &bold, (struct lb_point){box.left, box.top}, box.right - box.left, title);
  box.top -= below_title;
  lb_plot_begin(&p->plot, drawing, box, &window, axis);
  lb_plot_level(&p->plot, &lb_pen_normal, 0);
}

static void draw_curve(struct page *p, const struct lb_pen *pen, const struct lb_plot_path *data) {
  struct lb_plot_path path = {.failed = data->failed};
  for (size_t i = 0; i < data->count; i++)
    lb_plot_path_add_data(&path, &p->plot, data->point[i].x, data->point[i].y);
  lb_plot_curve(&p->plot, pen, &path, false);
  lb_plot_path_free(&path);
}

/* Name a cylinder where its curve is highest. */
static void label_cylinder(struct page *p, const struct lb_plot_path *data, int number) {
  size_t highest = 0;
  for (size_t i = 1; i < data->count; i++)
    if (data->point[i].y > data->point[highest].y)
      highest = i;
  if (data->count > 0)
    lb_plot_label(
        &p->plot,
        lb_plot_spot(lb_plot_at(&p->plot, data->point[highest].x, data->point[highest].y)),
        "cylinder %d", number);
}

/* An extreme of the whole machine's torque. */
static void label_extreme(struct page *p, const char *name, double angle, double value) {
  struct lb_point at = lb_plot_at(&p->plot, angle, value);
  lb_plot_mark(&p->plot, at);
  lb_plot_label(&p->plot, lb_plot_spot(at), "%s %s at %s deg", name, torque(p, value).text,
                lb_show_crank(angle, 0).text);
}

static void draw_load(struct page *p) {
  double load = p->machine->load_torque;
  if (!(load > 0))
    return;
  lb_plot_level(&p->plot, &load_pen, load);
  lb_plot_label(&p->plot, lb_plot_box(&p->plot, 0, load, turn, load), "load %s",
                lb_show(&p->style, LB_SHOW_TORQUE, load).text);
}

/* How many cylinders are drawn by themselves: one alone is the machine. */
static int shown_apart(const struct lb_machine *machine) {
  int cylinders = machine->cylinders;
  return cylinders == 1 ? 0 : cylinders <= SHOWN_APART ? cylinders : 1;
}

static void draw_mean(struct page *p) {
  double mean = p->detail->revolution.mean_torque;
  lb_plot_level(&p->plot, &mean_pen, mean);
  lb_plot_label(&p->plot, lb_plot_box(&p->plot, 0, mean, turn, mean), "mean %s",
                torque(p, mean).text);
}

/* Running: cylinders, all of them, mean and load. */
static void draw_running(struct page *p, struct lb_drawing *drawing, struct lb_box box) {
  const struct lb_torque_range *extreme = &p->detail->running;
  struct lb_plot_path total = {0}, cylinder[SHOWN_APART] = {{0}};
  struct curve curve = {p->sheet, LB_RUNNING, ALL};
  double least = 0, greatest = p->machine->load_torque;
  int apart = shown_apart(p->machine);
  sample(&total, &curve, &p->events);
  take_in(&least, &greatest, &total);
  for (int k = 0; k < apart; k++) {
    curve.cylinder = k;
    sample(&cylinder[k], &curve, &p->events);
    take_in(&least, &greatest, &cylinder[k]);
  }
  begin(p, drawing, box, "Running slowly, after friction", least, greatest);
  draw_mean(p);
  draw_load(p);
  for (int k = 0; k < apart; k++)
    draw_curve(p, &cylinder_pen[k], &cylinder[k]);
  draw_curve(p, &lb_pen_heavy, &total);
  label_extreme(p, "greatest", extreme->greatest_angle, extreme->greatest);
  label_extreme(p, "least", extreme->least_angle, extreme->least);
  for (int k = 0; k < apart; k++) {
    label_cylinder(p, &cylinder[k], k + 1);
    lb_plot_path_free(&cylinder[k]);
  }
  lb_plot_path_free(&total);
  lb_plot_end(&p->plot);
}

/* Hatch a range of crank angles over the whole height. */
static void hatch_arc(struct page *p, double from, double to) {
  const struct lb_plot_window *w = &p->plot.window;
  struct lb_plot_path path = {0};
  lb_plot_path_add_data(&path, &p->plot, from, w->bottom);
  lb_plot_path_add_data(&path, &p->plot, to, w->bottom);
  lb_plot_path_add_data(&path, &p->plot, to, w->top);
  lb_plot_path_add_data(&path, &p->plot, from, w->top);
  lb_plot_hatch(&p->plot, &lb_pen_fine, &path, dead_angle, dead_spacing);
  lb_plot_upright(&p->plot, &lb_pen_fine, from);
  lb_plot_upright(&p->plot, &lb_pen_fine, to);
  lb_plot_path_free(&path);
}

/* A dead arc; one over the end of the revolution goes on at its beginning. */
static void draw_arc(struct page *p, const struct lb_arc *arc) {
  hatch_arc(p, arc->from, fmin(arc->to, turn));
  if (arc->to > turn)
    hatch_arc(p, 0, arc->to - turn);
}

/* Name it in its larger part. */
static void label_arc(struct page *p, const struct lb_arc *arc) {
  const struct lb_plot_window *w = &p->plot.window;
  bool goes_on = arc->to > turn + LB_DEGREE / 1000; /* else it ends at 360.0 deg */
  bool second = goes_on && arc->to - turn > turn - arc->from;
  double from = second ? 0 : arc->from, to = second ? arc->to - turn : fmin(arc->to, turn);
  lb_plot_label(&p->plot, lb_plot_box(&p->plot, from, w->bottom, to, w->top),
                "dead %.1f to %.1f deg", arc->from / LB_DEGREE,
                (arc->to - (goes_on ? turn : 0)) / LB_DEGREE);
}

/* At standstill: all cylinders against the load, and the dead arcs. */
static void draw_standstill(struct page *p, struct lb_drawing *drawing, struct lb_box box) {
  const struct lb_torque_range *extreme = &p->detail->standstill;
  struct lb_plot_path total = {0};
  struct curve curve = {p->sheet, LB_STANDSTILL, ALL};
  double least = 0, greatest = p->machine->load_torque;
  sample(&total, &curve, &p->events);
  take_in(&least, &greatest, &total);
  begin(p, drawing, box, "At standstill, after breakaway friction", least, greatest);
  for (size_t i = 0; i < p->detail->arcs; i++)
    draw_arc(p, &p->detail->arc[i]);
  draw_load(p);
  draw_curve(p, &lb_pen_heavy, &total);
  label_extreme(p, "greatest", extreme->greatest_angle, extreme->greatest);
  for (size_t i = 0; i < p->detail->arcs && i < ARCS_NAMED; i++)
    label_arc(p, &p->detail->arc[i]);
  lb_plot_path_free(&total);
  lb_plot_end(&p->plot);
}

/* What there is to say about torque and starting, as in the note. */
static struct lb_box write_starting(const struct page *p, struct lb_drawing *drawing,
                                    struct lb_box box) {
  struct lb_text text = {0};
  struct lb_cutoff_page page = lb_page_begin(p->sheet->paper, p->sheet->inch, true, &text);
  struct lb_detail_page detail = lb_page_detail(&page);
  lb_detail_starting(&detail);
  drawing->failed |= text.failed;
  if (!text.failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text.bytes + strspn(text.bytes, "\n"));
  lb_text_free(&text);
  return box;
}

/* What the lines mean. Returns the room left above, the keys being at the bottom. */
static struct lb_box draw_keys(const struct page *p, struct lb_drawing *drawing,
                               struct lb_box box) {
  const double line = (double)NAN;
  const struct lb_machine *m = p->machine;
  int apart = shown_apart(m);
  bool loaded = m->load_torque > 0;
  struct lb_box keys = box;
  keys.top = box.bottom + (3 + (apart > 0) + loaded) * lb_plot_key_height;
  box.bottom = keys.top;
  keys = lb_plot_key(drawing, keys, &lb_pen_heavy, line, 0,
                     m->cylinders > 1 ? "all cylinders together" : "the machine");
  if (apart > 0)
    keys = lb_plot_key(drawing, keys, &cylinder_pen[0], line, 0,
                       apart > 1 ? "each cylinder in dashes of its own, named where it is greatest"
                                 : "the first cylinder; the others are alike, each behind it by "
                                   "its crank angle");
  keys = lb_plot_key(drawing, keys, &mean_pen, line, 0, "mean of the revolution, running");
  if (loaded)
    keys = lb_plot_key(drawing, keys, &load_pen, line, 0, "load");
  lb_plot_key(drawing, keys, &lb_pen_fine, dead_angle, dead_spacing,
              loaded ? "dead arcs: from here it does not start against the load"
                     : "dead arcs: from here it does not start");
  return box;
}

enum lb_status lb_sheet_torque(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error) {
  const double between = 3; /* [mm] texts, diagrams and keys */
  struct page p = {.sheet = sheet,
                   .machine = sheet->paper->machine,
                   .detail = sheet->paper->detail,
                   .style = lb_sheet_style(sheet)};
  const double all[] = {p.detail->revolution.mean_torque, p.detail->running.least,
                        p.detail->running.greatest, p.detail->standstill.greatest};
  p.decimals = lb_show_decimals(&p.style, LB_SHOW_TORQUE, all, sizeof all / sizeof all[0]);
  (void)error; /* the drawing remembers what goes wrong */
  find_events(&p.events, sheet);
  struct lb_box box = lb_sheet_begin(drawing, sheet, "Torque");
  box = draw_keys(&p, drawing, write_starting(&p, drawing, box));
  struct lb_box upper = box, lower = box;
  upper.bottom = lower.top = (box.top + box.bottom) / 2;
  upper.top -= between;
  lower.top -= between;
  lower.bottom += between;
  draw_running(&p, drawing, upper);
  draw_standstill(&p, drawing, lower);
  return LB_OK;
}
