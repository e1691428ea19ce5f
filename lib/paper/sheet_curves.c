/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curves page. Invariant: a line is drawn through the points as calculated, up to the speed
 * without load, and every mark lies on its line.
 */
#include "paper/sheet_curves.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/plot.h"
#include "paper/sheet_curves_table.h"
#include "paper/text.h"

#include <math.h>

enum diagram {
  TORQUE,
  POWER,
  AIR,
  YIELD,
  RELEASE,
  COLDEST,
  DIAGRAMS,
  ACROSS = 2 /* of them side by side */
};

/* Room above, and below: more of it where lines end at nothing and are named below that; as a share
 * of the range [1]. */
static const double head_room = 0.08, foot_room = 0.16;
static const double between = 3;       /* [mm] diagrams, and what stands below them */
static const double name_room = 1.24;  /* [1] of the speed where lines end: right of it are names */
static const double seconds = 60;      /* [s] a minute */
static const double same_share = 1e-9; /* [1] of a pressure: less is no difference */

static const struct lb_pen load_pen = {.layer = LB_LAYER_MARK, .width = 0.35, .dash = 8};
/* The lines of an end's own supply pressure and of others, in order: those of the cap end, or of
 * all, and of the rod end beside it. */
static const double own_width[LB_ENDS] = {0.5, 0.25}, other_width[LB_ENDS] = {0.3, 0.15}; /* [mm] */
static const double dashes[LB_SHEET_CURVES_MOST] = {0.6, 1.1, 1.8, 2.8, 4.2, 6};          /* [mm] */

/* A page in the making. Figures are in the units shown. */
struct page {
  const struct lb_sheet *sheet;
  const struct lb_machine *machine;
  const struct lb_curves *curves;
  struct lb_style style;
  double end[LB_SHEET_CURVES_MOST]; /* [rad/s] where a line ends; 0: there is none */
  size_t own;                       /* index of the unbroken line */
  struct lb_plot plot;
};

/* ---------- the supply pressures ---------- */

/* The nearest round number that is not above a positive one, or not below it: 1, 1.5, 2, 3, 4, 5, 6
 * or 8 times a power of ten. */
static double round_number(double value, bool up) {
  static const double mantissa[] = {1, 1.5, 2, 3, 4, 5, 6, 8, 10};
  enum {
    LAST = sizeof mantissa / sizeof mantissa[0] - 1
  };
  const double rounding = 1e-9; /* [1] */
  double power = pow(10, floor(log10(value)));
  int i = 0;
  while (i < LAST && mantissa[i] * power < value * (1 - rounding))
    i++;
  bool exact = mantissa[i] * power <= value * (1 + rounding);
  return up || exact ? mantissa[i] * power : mantissa[i - 1] * power;
}

void lb_sheet_curves_pressures(struct lb_curves_question *question,
                               const struct lb_machine *machine, bool inch) {
  static const double below[] = {0.55, 0.8}; /* [1] of the machine's own: not more than that */
  const double above = 1.25;                 /* [1] not less */
  const double unit = inch ? LB_PSI : LB_BAR, ambient = machine->ambient_pressure;
  double gauge = (machine->supply_pressure - ambient) / unit;
  question->pressures = 0;
  for (size_t i = 0; i < sizeof below / sizeof below[0] && gauge > 0; i++) {
    double pressure = ambient + round_number(below[i] * gauge, false) * unit;
    size_t count = question->pressures;
    bool again = count > 0 && question->pressure[count - 1] == pressure;
    if (pressure > machine->back_pressure && !again)
      question->pressure[question->pressures++] = pressure;
  }
  question->pressure[question->pressures++] = machine->supply_pressure;
  double higher = gauge > 0 ? ambient + round_number(above * gauge, true) * unit : 0;
  if (higher > 0 && higher <= machine->rated_pressure * (1 + same_share))
    question->pressure[question->pressures++] = higher;
}

/* ---------- figures ---------- */

/* A figure of a point; NaN where there is none. */
static double figure_of(const struct page *p, enum diagram diagram, enum lb_end end,
                        const struct lb_running *point) {
  const struct lb_style *style = &p->style;
  const struct lb_revolution *r = &point->revolution;
  double per_minute = seconds * point->speed / (2 * LB_PI); /* revolutions */
  switch (diagram) {
  case TORQUE:
    return lb_show_value(style, LB_SHOW_TORQUE, r->mean_torque);
  case POWER:
    return lb_show_value(style, LB_SHOW_POWER, point->power);
  case AIR:
    return lb_show_value(style, LB_SHOW_AIR, r->air * per_minute);
  case YIELD:
    return lb_show_value(style, LB_SHOW_YIELD, r->air > 0 ? r->work_per_kg : (double)NAN);
  case RELEASE:
    return lb_show_value(style, LB_SHOW_GAUGE, r->end[end].turn.release_pressure);
  default: /* COLDEST */
    return lb_show_value(style, LB_SHOW_TEMPERATURE, lb_running_coldest(point, p->machine));
  }
}

/* Likewise at any speed of the range, on the line between two points. */
static double figure_at(const struct page *p, enum diagram diagram, enum lb_end end, size_t curve,
                        double speed) {
  const struct lb_running *point = p->curves->curve[curve].point;
  size_t k = 1;
  while (k + 1 < p->curves->speeds && p->curves->speed[k] < speed)
    k++;
  double from = p->curves->speed[k - 1], to = p->curves->speed[k];
  double a = figure_of(p, diagram, end, &point[k - 1]), b = figure_of(p, diagram, end, &point[k]);
  return a + (b - a) * (speed - from) / (to - from);
}

static double last_speed(const struct lb_curves *curves) {
  return curves->speed[curves->speeds - 1];
}

/* Where the line of a curve ends [rad/s]; 0 when the machine does not run. */
static double end_of(const struct lb_curves *curves, const struct lb_curve *curve) {
  bool runs = false;
  for (size_t k = 0; k < curves->speeds && curve->found; k++)
    runs = runs || curve->point[k].revolution.mean_torque > 0;
  return !runs ? 0 : curve->no_load_speed > 0 ? curve->no_load_speed : last_speed(curves);
}

/* The curve of the machine's own supply pressure, or else the first that is drawn. */
static size_t own_of(const struct page *p) {
  double own = p->machine->supply_pressure;
  size_t first = p->curves->curves;
  for (size_t i = p->curves->curves; i-- > 0;)
    first = p->end[i] > 0 ? i : first;
  for (size_t i = 0; i < p->curves->curves; i++)
    if (p->end[i] > 0 && fabs(p->curves->curve[i].supply_pressure - own) <= same_share * own)
      return i;
  return first;
}

/* The ends that a diagram tells apart: at most both at release, else that which works. */
static bool is_shown(const struct page *p, enum diagram diagram, enum lb_end end) {
  const bool *works = p->machine->works;
  return works[end] && (diagram == RELEASE || end == LB_CAP_END || !works[LB_CAP_END]);
}

/* ---------- one diagram ---------- */

/* Whether lines come down to nothing where the machine runs no faster. */
static bool is_from_nothing(enum diagram diagram) {
  return diagram == TORQUE || diagram == POWER || diagram == YIELD;
}

static void take_in(double *low, double *high, double figure) {
  *low = fmin(*low, figure);
  *high = fmax(*high, figure);
}

/* The range of a diagram: all its lines, and nothing where that is a measure. */
static struct lb_plot_window window_of(const struct page *p, enum diagram diagram) {
  const struct lb_machine *m = p->machine;
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (size_t i = 0; i < p->curves->curves; i++)
    for (int end = 0; end < LB_ENDS && p->end[i] > 0; end++) {
      if (!is_shown(p, diagram, (enum lb_end)end))
        continue;
      const struct lb_running *point = p->curves->curve[i].point;
      for (size_t k = 0; k < p->curves->speeds && point[k].speed < p->end[i]; k++)
        take_in(&low, &high, figure_of(p, diagram, (enum lb_end)end, &point[k]));
      take_in(&low, &high, figure_at(p, diagram, (enum lb_end)end, i, p->end[i]));
    }
  if (diagram == RELEASE)
    take_in(&low, &high, lb_show_value(&p->style, LB_SHOW_GAUGE, m->back_pressure));
  else if (diagram != COLDEST)
    take_in(&low, &high, 0);
  if (diagram == TORQUE && m->load_torque > 0)
    take_in(&low, &high, lb_show_value(&p->style, LB_SHOW_TORQUE, m->load_torque));
  if (!(high > low)) {
    low = isfinite(low) ? low : 0;
    high = low + 1;
  }
  double ends = 0;
  for (size_t i = 0; i < p->curves->curves; i++)
    ends = fmax(ends, p->end[i]);
  double room = (is_from_nothing(diagram) ? foot_room : head_room) * (high - low);
  return (struct lb_plot_window){.right = fmax(name_room * ends, last_speed(p->curves)) / LB_RPM,
                                 .bottom = diagram == AIR ? low : low - room,
                                 .top = high + head_room * (high - low)};
}

/* What a diagram measures, with its unit. */
static struct lb_shown title_of(const struct page *p, enum diagram diagram) {
  static const struct {
    const char *name, *unit_ends;
    enum lb_measure measure;
  } titles[DIAGRAMS] = {[TORQUE] = {"torque", "", LB_SHOW_TORQUE},
                        [POWER] = {"power", "", LB_SHOW_POWER},
                        [AIR] = {"air", "/min", LB_SHOW_AIR},
                        [YIELD] = {"work", "", LB_SHOW_YIELD},
                        [RELEASE] = {"at release", "", LB_SHOW_GAUGE},
                        [COLDEST] = {"coldest air", "", LB_SHOW_TEMPERATURE}};
  struct lb_shown title;
  lb_format(title.text, sizeof title.text, "%s, %s%s", titles[diagram].name,
            lb_show_unit(&p->style, titles[diagram].measure), titles[diagram].unit_ends);
  return title;
}

static void begin(struct page *p, struct lb_drawing *drawing, struct lb_box box,
                  enum diagram diagram) {
  const struct lb_plot_window window = window_of(p, diagram);
  const struct lb_shown title = title_of(p, diagram);
  bool from_nothing =
      is_from_nothing(diagram) && window.bottom > -window.top; /* for the most part */
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = "speed, rpm",
                          .high = window.right,
                          .last = last_speed(p->curves) / LB_RPM},
      [LB_PLOT_LEFT] = {.title = title.text,
                        .low = window.bottom,
                        .high = window.top,
                        .last = from_nothing ? window.top : 0}};
  lb_plot_begin(&p->plot, drawing, box, &window, axis);
}

/* The left side of the frame that a diagram has in a box [mm]. */
static double frame_left(const struct page *p, struct lb_drawing *drawing, struct lb_box box,
                         enum diagram diagram) {
  struct page trial = *p;
  struct lb_drawing scratch = {0};
  lb_drawing_page(&scratch, "", box.right, box.top);
  begin(&trial, &scratch, box, diagram);
  drawing->failed |= scratch.failed;
  lb_drawing_free(&scratch);
  return trial.plot.frame.left;
}

static struct lb_pen pen_of(const struct page *p, size_t curve, enum lb_end end) {
  bool thin = end == LB_ROD_END && p->machine->works[LB_CAP_END];
  struct lb_pen pen = {.layer = LB_LAYER_MARK, .width = own_width[thin]};
  if (curve == p->own)
    return pen;
  pen.width = other_width[thin];
  pen.dash = dashes[curve];
  return pen;
}

/* The last place of a path that the frame shows. Returns false when it shows nothing. */
static bool last_shown(struct lb_point *last, const struct lb_plot *plot,
                       const struct lb_plot_path *path) {
  bool any = false;
  for (size_t i = 0; i + 1 < path->count; i++) {
    struct lb_point from = path->point[i], to = path->point[i + 1];
    if (lb_plot_cut(plot, &from, &to)) {
      *last = to;
      any = true;
    }
  }
  return any;
}

/* Add a point to a line; where there is no figure the line is broken. */
static void add_figure(struct page *p, struct lb_plot_path *path, const struct lb_pen *pen,
                       double speed, double figure) {
  if (isfinite(figure)) {
    lb_plot_path_add_data(path, &p->plot, speed / LB_RPM, figure);
    return;
  }
  lb_plot_curve(&p->plot, pen, path, false);
  path->count = 0;
}

/* The gauge pressure of the supply without that word: "3.60 bar". */
static struct lb_shown short_name(const struct page *p, size_t curve) {
  double gauge = p->curves->curve[curve].supply_pressure - p->machine->ambient_pressure;
  return lb_show(&p->style, LB_SHOW_PRESSURE, gauge);
}

/* The line of a curve, named at its end. */
static void draw_line(struct page *p, enum diagram diagram, size_t curve, enum lb_end end) {
  const struct lb_running *point = p->curves->curve[curve].point;
  const struct lb_pen pen = pen_of(p, curve, end);
  double last_speed = p->end[curve];
  struct lb_plot_path path = {0};
  struct lb_point last;
  for (size_t k = 0; k < p->curves->speeds && point[k].speed < last_speed; k++)
    add_figure(p, &path, &pen, point[k].speed, figure_of(p, diagram, end, &point[k]));
  add_figure(p, &path, &pen, last_speed, figure_at(p, diagram, end, curve, last_speed));
  lb_plot_curve(&p->plot, &pen, &path, false);
  bool first_end = end == LB_CAP_END || !p->machine->works[LB_CAP_END];
  if (first_end && !path.failed && last_shown(&last, &p->plot, &path))
    lb_plot_label(&p->plot, lb_plot_spot(last), "%s", short_name(p, curve).text);
  lb_plot_path_free(&path);
}

/* A ring on a line at a speed, if there is one; named on the machine's own. */
static void mark(struct page *p, enum diagram diagram, size_t curve, double speed,
                 const char *name) {
  enum lb_end end = p->machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  if (!(speed > 0 && speed <= p->end[curve]))
    return;
  struct lb_point at =
      lb_plot_at(&p->plot, speed / LB_RPM, figure_at(p, diagram, end, curve, speed));
  lb_plot_mark(&p->plot, at);
  if (curve == p->own)
    lb_plot_label(&p->plot, lb_plot_spot(at), "%s %.0f rpm", name, speed / LB_RPM);
}

static void draw_marks(struct page *p, enum diagram diagram, size_t curve) {
  const struct lb_curve *c = &p->curves->curve[curve];
  if (diagram == TORQUE) {
    mark(p, diagram, curve, c->tenth_lost_speed, "tenth lost");
    mark(p, diagram, curve, c->load_speed, "at the load");
    mark(p, diagram, curve, c->no_load_speed, "no load");
  }
  if (diagram == POWER)
    mark(p, diagram, curve, c->best_power_speed, "best power");
  if (diagram == YIELD)
    mark(p, diagram, curve, c->best_economy_speed, "best economy");
}

/* The level that lines of a diagram are compared with [SI]; NaN where there is none. */
static double level_of(const struct page *p, enum diagram diagram) {
  const struct lb_machine *m = p->machine;
  return diagram == TORQUE && m->load_torque > 0 ? m->load_torque
         : diagram == RELEASE                    ? m->back_pressure
                                                 : (double)NAN;
}

static void draw_levels(struct page *p, enum diagram diagram) {
  enum lb_measure measure = diagram == TORQUE ? LB_SHOW_TORQUE : LB_SHOW_GAUGE;
  double y = lb_show_value(&p->style, measure, level_of(p, diagram));
  if (is_from_nothing(diagram))
    lb_plot_level(&p->plot, &lb_pen_normal, 0);
  if (isfinite(y))
    lb_plot_level(&p->plot, diagram == TORQUE ? &load_pen : &lb_pen_normal, y);
}

static void label_level(struct page *p, enum diagram diagram) {
  enum lb_measure measure = diagram == TORQUE ? LB_SHOW_TORQUE : LB_SHOW_GAUGE;
  double level = level_of(p, diagram), y = lb_show_value(&p->style, measure, level);
  if (isfinite(y))
    lb_plot_label(&p->plot, lb_plot_box(&p->plot, 0, y, p->plot.window.right, y), "%s %s",
                  diagram == TORQUE ? "load" : "back pressure",
                  lb_show(&p->style, measure, level).text);
}

static void draw_diagram(struct page *p, struct lb_drawing *drawing, struct lb_box box,
                         enum diagram diagram) {
  begin(p, drawing, box, diagram);
  draw_levels(p, diagram);
  for (size_t i = 0; i < p->curves->curves; i++)
    for (int end = LB_ENDS - 1; end >= 0 && p->end[i] > 0; end--)
      if (is_shown(p, diagram, (enum lb_end)end))
        draw_line(p, diagram, i, (enum lb_end)end);
  for (size_t i = 0; i < p->curves->curves; i++)
    draw_marks(p, diagram, i);
  label_level(p, diagram);
  lb_plot_end(&p->plot);
}

/* All diagrams; the frames of a column stand one above the other. */
static void draw_diagrams(struct page *p, struct lb_drawing *drawing, struct lb_box room) {
  const int rows = DIAGRAMS / ACROSS;
  double width = (room.right - room.left + between) / ACROSS;
  double height = (room.top - room.bottom + between) / rows;
  for (int column = 0; column < ACROSS; column++) {
    struct lb_box box[DIAGRAMS / ACROSS];
    double left[DIAGRAMS / ACROSS], most = 0;
    for (int row = 0; row < rows; row++) {
      box[row] = (struct lb_box){.left = room.left + column * width,
                                 .right = room.left + (column + 1) * width - between,
                                 .bottom = room.top - (row + 1) * height + between,
                                 .top = room.top - row * height};
      left[row] = frame_left(p, drawing, box[row], (enum diagram)(row * ACROSS + column));
      most = fmax(most, left[row]);
    }
    for (int row = 0; row < rows; row++) {
      box[row].left += most - left[row];
      draw_diagram(p, drawing, box[row], (enum diagram)(row * ACROSS + column));
    }
  }
}

/* ---------- what stands below ---------- */

/* Whether every line makes most work from its air at its lowest speed. */
static bool best_when_slow(const struct page *p) {
  bool slow = true;
  for (size_t i = 0; i < p->curves->curves; i++)
    for (size_t k = 1; k < p->curves->speeds && p->end[i] > 0; k++) {
      const struct lb_running *point = p->curves->curve[i].point;
      slow = slow && point[k].revolution.work_per_kg < point[k - 1].revolution.work_per_kg;
      if (point[k].speed >= p->end[i])
        break;
    }
  return slow;
}

/* What there is to know to read the page; and why a supply pressure has no line. */
static void add_notes(struct lb_text *text, const struct page *p) {
  const struct lb_curves *curves = p->curves;
  const double first = curves->speed[0] / LB_RPM, last = last_speed(curves) / LB_RPM;
  lb_text_add(
      text,
      "Each line is named by its supply pressure (gauge) where it ends: at the speed without load, "
      "or at the last. Rings: the speeds of the table. Slow: torque of the slow "
      "cycle. Tenth lost: a tenth of its work is lost. No load: the torque has come down to "
      "nothing. -: nowhere from %.4g to %.4g rpm.%s",
      first, last,
      lb_curves_table_has_economy(curves) ? " Economy: most work from the air."
      : best_when_slow(p) ? " The slower it runs, the more work it makes from its air."
                          : "");
  for (size_t i = 0; i < curves->curves; i++) {
    const struct lb_curve *c = &curves->curve[i];
    struct lb_shown supply = lb_show(&p->style, LB_SHOW_GAUGE, c->supply_pressure);
    if (!c->found)
      lb_text_add(text, "\nNo line for %s: %s.", supply.text,
                  lb_show_sentence(&p->style, c->why).text);
    else if (!(p->end[i] > 0))
      lb_text_add(text, "\nNo line for %s: it does not run by itself at any of these speeds.",
                  supply.text);
  }
}

/* What the lines mean. Returns the room left below. */
static struct lb_box draw_keys(const struct page *p, struct lb_drawing *drawing,
                               struct lb_box box) {
  const double line = (double)NAN;
  char own[96];
  if (p->own < p->curves->curves) {
    const struct lb_pen solid = pen_of(p, p->own, LB_CAP_END);
    double supply = p->curves->curve[p->own].supply_pressure;
    lb_format(own, sizeof own, "supply %s%s", lb_show(&p->style, LB_SHOW_GAUGE, supply).text,
              p->curves->curves > 1 ? "; each other one in dashes of its own" : "");
    box = lb_plot_key(drawing, box, &solid, line, 0, own);
    if (p->machine->works[LB_CAP_END] && p->machine->works[LB_ROD_END]) {
      const struct lb_pen thin = pen_of(p, p->own, LB_ROD_END);
      box = lb_plot_key(drawing, box, &thin, line, 0,
                        "at release, likewise the rod end; the cap end in the wider pen");
    }
  }
  if (p->machine->load_torque > 0)
    box = lb_plot_key(drawing, box, &load_pen, line, 0, "load");
  return box;
}

/* Table, keys and notes at the top of a box. Returns the room left below. */
static struct lb_box draw_below(const struct page *p, struct lb_drawing *drawing,
                                struct lb_box box) {
  struct lb_text notes = {0};
  box = lb_curves_table(drawing, p->sheet, box);
  box.top -= between / 2;
  box = draw_keys(p, drawing, box);
  add_notes(&notes, p);
  drawing->failed |= notes.failed;
  if (!notes.failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, notes.bytes);
  lb_text_free(&notes);
  return box;
}

/* How high that is [mm], at most a share of the room. */
static double height_below(const struct page *p, struct lb_drawing *drawing, struct lb_box room) {
  struct lb_drawing scratch = {0};
  lb_drawing_page(&scratch, "", room.right, room.top);
  double height = room.top - draw_below(p, &scratch, room).top;
  drawing->failed |= scratch.failed;
  lb_drawing_free(&scratch);
  return height;
}

enum lb_status lb_sheet_curves(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error) {
  struct lb_cutoff_paper paper = *sheet->paper; /* whose heading is that of a cycle at speed */
  struct lb_sheet at_speed = *sheet;
  struct page p = {.sheet = &at_speed,
                   .machine = paper.machine,
                   .curves = sheet->curves,
                   .style = lb_sheet_style(sheet)};
  if (p.curves->curves > LB_SHEET_CURVES_MOST)
    return lb_error_set(error, LB_BAD_INPUT,
                        "curves for %zu supply pressures are too many for a page; it holds %d",
                        p.curves->curves, LB_SHEET_CURVES_MOST);
  for (size_t i = 0; i < p.curves->curves; i++)
    p.end[i] = end_of(p.curves, &p.curves->curve[i]);
  p.own = own_of(&p);
  paper.speed = (double)INFINITY;
  at_speed.paper = &paper;
  struct lb_box room = lb_sheet_begin(drawing, &at_speed, "Curves"), below = room;
  below.top = room.bottom + height_below(&p, drawing, room);
  draw_below(&p, drawing, below);
  room.bottom = below.top + between;
  draw_diagrams(&p, drawing, room);
  return LB_OK;
}
