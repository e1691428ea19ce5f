/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The indicator diagram. Invariant: the loop is drawn from the volumes and pressures that the work
 * was calculated from, so that its area is the indicated work.
 */
#include "paper/sheet_indicator.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/plot.h"
#include "physics/air.h"
#include "stroke/timing.h"

#include <math.h>

static const double same_pressure = 1; /* [Pa] less is no difference */
/* How far a chord of a drawn curve may lie beside it [mm]. */
static const double flatness = 0.02;
/* The frame shows pressures up to this many times the greater of supply and back pressure, and
 * volumes up to this many times the chamber's greatest; what lies beyond is cut off and said. Above
 * and to the right of what is shown some room is left. All [1]. */
static const double pressures_most = 1.5, volumes_most = 1.7, head_room = 1.13, side_room = 1.04;
/* Shorter phases have neither arrow nor name [mm]. */
static const double least_phase = 6;
static const double hatch_spacing = 1.5;       /* [mm] */
static const double lost_angle = LB_PI / 4;    /* of hatching [rad]: rising */
static const double costly_angle = -LB_PI / 4; /* falling */

static const struct lb_pen complete_pen = {.layer = LB_LAYER_MARK, .width = 0.35, .dash = 1};
static const struct lb_pen mean_pen = {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 4};

/* Added to the label of what the frame does not show. */
static const char beyond[] = ", beyond the scale";

/* The phases in the order of the revolution; two of them take no travel. */
enum phase {
  ADMISSION,
  EXPANSION,
  BLOW_DOWN,
  EXHAUST,
  COMPRESSION,
  FILLING,
  PHASES
};

/* One end's diagram in the making. */
struct card {
  const struct lb_sheet *sheet;
  const struct lb_machine *machine;
  const struct lb_chamber *chamber;
  const struct lb_end_turn *turn;
  struct lb_style style;
  enum lb_end end;
  double cutoff, dead, full; /* [m3] V_c; volumes at the dead centres */
  double release_pressure;   /* [Pa absolute] */
  double complete;           /* [m3] where the expansion, continued or not, is at back pressure */
  double lost;               /* [J] > 0: work not gained above back pressure, or spent below */
  double mean;               /* [Pa] mean effective pressure of this end */
  const struct lb_gas_point *point; /* point[points] of the revolution at speed; or NULL */
  size_t points;
  struct lb_plot plot;
  struct lb_plot_path path; /* the loop */
  size_t first[PHASES + 1]; /* point[first[i]] ... point[first[i + 1]] is phase i */
};

static struct card card_of(const struct lb_sheet *sheet, enum lb_end end) {
  const struct lb_machine *m = sheet->paper->machine;
  struct card c = {.sheet = sheet,
                   .machine = m,
                   .chamber = lb_cycle_chamber(sheet->cycle, end),
                   .turn = &sheet->paper->detail->revolution.end[end],
                   .style = lb_sheet_style(sheet),
                   .end = end,
                   .dead = m->dead_volume[end]};
  if (sheet->running)
    c.point = lb_gas_points(sheet->gas, end, &c.points);
  const struct lb_conditions *k = &c.chamber->conditions;
  double swept = lb_machine_area(m, end) * m->linkage.stroke, greatest;
  double release = c.chamber->volumes.release, n = k->expansion_exponent;
  lb_timing_cutoff(&c.cutoff, &greatest, m, end, c.turn->cutoff);
  c.full = c.dead + swept;
  c.release_pressure = c.turn->turn.release_pressure;
  c.mean = c.turn->turn.work / swept;
  c.complete = release * pow(c.release_pressure / k->back_pressure, 1 / n);
  c.lost = lb_air_polytropic_work(NULL, c.release_pressure, release, c.complete, n) -
           k->back_pressure * (c.complete - release);
  return c;
}

static double value(const struct card *c, enum lb_measure measure, double si) {
  return lb_show_value(&c->style, measure, si);
}

/* The greatest pressure that the frame shows without its head room. */
static double greatest_pressure(const struct card *c) {
  const struct lb_conditions *k = &c->chamber->conditions;
  double most = fmax(k->supply_pressure, k->back_pressure);
  double peak = fmax(c->chamber->peak_pressure, c->release_pressure);
  for (size_t i = 0; i < c->points; i++)
    peak = fmax(peak, c->point[i].pressure);
  most = fmax(most, fmin(peak, pressures_most * most));
  return fmax(fmax(most, c->machine->ambient_pressure), k->back_pressure + c->mean);
}

/* Frame and scales: absolute pressure and volume from nothing at all. */
static void begin(struct card *c, struct lb_drawing *drawing, struct lb_box box) {
  double top = head_room * greatest_pressure(c);
  double right = side_room * fmax(c->full, fmin(c->complete, volumes_most * c->full));
  double area = lb_machine_area(c->machine, c->end), stroke = c->machine->linkage.stroke;
  char title[LB_PLOT_SIDES][96];
  lb_format(title[LB_PLOT_BOTTOM], sizeof title[0], "volume, dead volume included, %s",
            lb_show_unit(&c->style, LB_SHOW_VOLUME));
  lb_format(title[LB_PLOT_TOP], sizeof title[0], "piston travel from the %s-end dead centre, %s",
            c->end == LB_CAP_END ? "cap" : "rod", lb_show_unit(&c->style, LB_SHOW_LENGTH));
  lb_format(title[LB_PLOT_LEFT], sizeof title[0], "pressure, %s",
            lb_show_unit(&c->style, LB_SHOW_GAUGE));
  lb_format(title[LB_PLOT_RIGHT], sizeof title[0], "pressure, %s absolute",
            lb_show_unit(&c->style, LB_SHOW_PRESSURE));
  const struct lb_plot_axis axis[LB_PLOT_SIDES] = {
      [LB_PLOT_BOTTOM] = {.title = title[LB_PLOT_BOTTOM], .high = value(c, LB_SHOW_VOLUME, right)},
      [LB_PLOT_TOP] = {.title = title[LB_PLOT_TOP],
                       .low = value(c, LB_SHOW_LENGTH, -c->dead / area),
                       .high = value(c, LB_SHOW_LENGTH, (right - c->dead) / area),
                       .last = value(c, LB_SHOW_LENGTH, stroke)},
      [LB_PLOT_LEFT] = {.title = title[LB_PLOT_LEFT],
                        .low = value(c, LB_SHOW_GAUGE, 0),
                        .high = value(c, LB_SHOW_GAUGE, top)},
      [LB_PLOT_RIGHT] = {.title = title[LB_PLOT_RIGHT], .high = value(c, LB_SHOW_PRESSURE, top)},
  };
  const struct lb_plot_window window = {.right = right, .top = top};
  lb_plot_begin(&c->plot, drawing, box, &window, axis);
}

/* Add a change along p V^n = const from a volume, where the pressure is known, to another; its
 * first point is there. The chord of a step by the ratio q lies at most p n (n + 1) (q - 1)^2 / 8
 * beside the curve. */
static void add_change(struct lb_plot_path *path, const struct card *c, double pressure,
                       double from, double to, double n) {
  enum {
    STEPS_MOST = 4000
  };
  double shown = fmin(pressure * fmax(1, pow(from / to, n)), c->plot.window.top);
  double height = lb_plot_at(&c->plot, 0, shown).y - c->plot.frame.bottom; /* [mm] */
  double ratio = sqrt(8 * flatness / (n * (n + 1) * height));
  double steps = fmax(1, fmin(ceil(fabs(log(to / from)) / log1p(ratio)), STEPS_MOST));
  for (double i = 1; i <= steps; i++) {
    double volume = i < steps ? from * pow(to / from, i / steps) : to;
    double here = lb_air_polytropic_pressure(pressure, from, volume, n);
    lb_plot_path_add_data(path, &c->plot, volume, here);
  }
}

enum {
  VOLUMES_MOST = 6 /* of a phase: its first and last, and those of the dead centres between */
};

/* The volumes between which a phase runs one way. Returns how many.
 * volume  out: volume[VOLUMES_MOST] */
static int phase_volumes(double *volume, const struct card *c, double from_angle, double to_angle,
                         double from, double to) {
  double far = lb_linkage_stroke_angle(&c->machine->linkage, c->end), turn = 2 * LB_PI;
  const double centre[] = {0, far, turn, turn + far};
  int count = 0;
  volume[count++] = from;
  for (int i = 0; i < (int)(sizeof centre / sizeof centre[0]); i++)
    if (centre[i] > from_angle && centre[i] < to_angle)
      volume[count++] = i % 2 == 0 ? c->dead : c->full;
  volume[count++] = to;
  return count;
}

/* A phase at constant pressure, and one shut off, whose pressure is known where it begins; its
 * first point is there. */
static void add_open(struct card *c, const double *volume, int count, double pressure) {
  for (int i = 1; i < count; i++)
    lb_plot_path_add_data(&c->path, &c->plot, volume[i], pressure);
}

static void add_shut(struct card *c, const double *volume, int count, double pressure, double n) {
  for (int i = 1; i < count; i++) {
    if (volume[i] == volume[i - 1])
      continue;
    add_change(&c->path, c, pressure, volume[i - 1], volume[i], n);
    pressure = lb_air_polytropic_pressure(pressure, volume[i - 1], volume[i], n);
  }
}

/* Compression; where nothing is trapped there is no pressure to begin with. */
static void add_compression(struct card *c, const double *volume, int count) {
  const struct lb_conditions *k = &c->chamber->conditions;
  if (volume[0] > 0) {
    add_shut(c, volume, count, k->back_pressure, k->compression_exponent);
    return;
  }
  if (volume[count - 1] > 0)
    lb_plot_path_add_data(&c->path, &c->plot, 0, 0);
  add_open(c, volume, count, c->chamber->compression_pressure);
}

static void begin_phase(struct card *c, enum phase phase) {
  c->first[phase] = c->path.count > 0 ? c->path.count - 1 : 0;
}

/* The loop from the inlet's opening round to it again. */
static void trace(struct card *c) {
  const struct lb_volumes *v = &c->chamber->volumes;
  const struct lb_conditions *k = &c->chamber->conditions;
  const struct lb_timing *t = &c->machine->timing[c->end];
  double volume[VOLUMES_MOST], next = t->inlet_opens + 2 * LB_PI, cutoff = c->turn->cutoff;
  int count = phase_volumes(volume, c, t->inlet_opens, cutoff, v->opening, c->cutoff);
  lb_plot_path_add_data(&c->path, &c->plot, v->opening, k->supply_pressure);
  begin_phase(c, ADMISSION);
  add_open(c, volume, count, k->supply_pressure);
  begin_phase(c, EXPANSION);
  count = phase_volumes(volume, c, cutoff, t->release, c->cutoff, v->release);
  add_shut(c, volume, count, k->supply_pressure, k->expansion_exponent);
  begin_phase(c, BLOW_DOWN);
  lb_plot_path_add_data(&c->path, &c->plot, v->release, k->back_pressure);
  begin_phase(c, EXHAUST);
  count = phase_volumes(volume, c, t->release, t->exhaust_closes, v->release, v->closing);
  add_open(c, volume, count, k->back_pressure);
  begin_phase(c, COMPRESSION);
  count = phase_volumes(volume, c, t->exhaust_closes, next, v->closing, v->opening);
  add_compression(c, volume, count);
  begin_phase(c, FILLING);
  lb_plot_path_add_data(&c->path, &c->plot, v->opening, k->supply_pressure);
  begin_phase(c, PHASES);
}

/* Hatch what is lost at release, and continue the expansion; or hatch what was expanded too far. */
static void draw_loss(struct card *c) {
  const struct lb_conditions *k = &c->chamber->conditions;
  double n = k->expansion_exponent, release = c->chamber->volumes.release;
  double excess = c->release_pressure - k->back_pressure;
  struct lb_plot_path curve = {0};
  if (fabs(excess) < same_pressure)
    return;
  lb_plot_path_add_data(&curve, &c->plot, release, c->release_pressure);
  add_change(&curve, c, c->release_pressure, release, c->complete, n);
  if (excess > 0)
    lb_plot_curve(&c->plot, &complete_pen, &curve, false);
  lb_plot_path_add_data(&curve, &c->plot, release, k->back_pressure);
  lb_plot_hatch(&c->plot, &lb_pen_fine, &curve, excess > 0 ? lost_angle : costly_angle,
                hatch_spacing);
  lb_plot_path_free(&curve);
}

/* The rectangle that has the area of the diagram, on back pressure. */
static void draw_mean(struct card *c) {
  double base = c->chamber->conditions.back_pressure, level = base + c->mean;
  struct lb_plot_path path = {0};
  lb_plot_path_add_data(&path, &c->plot, c->dead, base);
  lb_plot_path_add_data(&path, &c->plot, c->dead, level);
  lb_plot_path_add_data(&path, &c->plot, c->full, level);
  lb_plot_path_add_data(&path, &c->plot, c->full, base);
  lb_plot_curve(&c->plot, &mean_pen, &path, false);
  lb_plot_path_free(&path);
}

/* The revolution at speed, point by point; the last is the first again. */
static void draw_at_speed(struct card *c) {
  struct lb_plot_path path = {0};
  for (size_t i = 0; i + 1 < c->points; i++)
    lb_plot_path_add_data(&path, &c->plot, c->point[i].volume, c->point[i].pressure);
  lb_plot_curve(&c->plot, &lb_pen_heavy, &path, true);
  lb_plot_path_free(&path);
}

/* The speed of that revolution, "120 rpm". */
static struct lb_shown speed_of(const struct lb_sheet *sheet) {
  struct lb_shown shown;
  lb_format(shown.text, sizeof shown.text, "%.4g rpm", sheet->running->speed / LB_RPM);
  return shown;
}

/* Name the two revolutions on their expansions: the one at speed nearer to cut-off, the slow one
 * nearer to release. */
static void label_revolutions(struct card *c) {
  const double into = 0.35, onward = 0.7; /* [1] of the angle; of the volume */
  const struct lb_conditions *k = &c->chamber->conditions;
  double release = c->chamber->volumes.release;
  double cutoff = c->turn->cutoff;
  double own_angle = cutoff + into * (c->machine->timing[c->end].release - cutoff);
  double angle = fmod(lb_timing_crank_angle(c->machine, c->end, own_angle) + 2 * LB_PI, 2 * LB_PI);
  size_t at = 0;
  while (at + 1 < c->points && c->point[at].angle < angle)
    at++;
  if (c->points == 0)
    return;
  lb_plot_label(&c->plot,
                lb_plot_spot(lb_plot_at(&c->plot, c->point[at].volume, c->point[at].pressure)),
                "%s", speed_of(c->sheet).text);
  double volume = c->cutoff + onward * (release - c->cutoff);
  double pressure =
      lb_air_polytropic_pressure(k->supply_pressure, c->cutoff, volume, k->expansion_exponent);
  lb_plot_label(&c->plot, lb_plot_spot(lb_plot_at(&c->plot, volume, pressure)), "slow");
}

/* How far a place along a phase is, and which way it goes on there. */
struct place {
  struct lb_point at;
  double direction; /* [rad] */
  double length;    /* [mm] of the whole phase in the frame */
};

/* What the frame shows of a line of the loop, from its point number `line` on. Returns its length.
 */
static double shown_line(struct lb_point *from, struct lb_point *to, const struct card *c,
                         size_t line) {
  *from = c->path.point[line];
  *to = c->path.point[line + 1];
  return lb_plot_cut(&c->plot, from, to) ? hypot(to->x - from->x, to->y - from->y) : 0;
}

/* The middle of what the frame shows of a phase; of length 0 when it shows nothing. */
static struct place middle_of(const struct card *c, enum phase phase) {
  struct place place = {.length = 0};
  struct lb_point a, b;
  size_t first = c->first[phase], last = c->first[phase + 1];
  for (size_t i = first; i < last; i++)
    place.length += shown_line(&a, &b, c, i);
  double left = place.length / 2;
  for (size_t i = first; i < last && left >= 0; i++) {
    double length = shown_line(&a, &b, c, i);
    if (length > 0 && left <= length) {
      double share = left / length;
      place.at = (struct lb_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
      place.direction = atan2(b.y - a.y, b.x - a.x);
    }
    left -= length;
  }
  return place;
}

/* What happens in a phase, in a word. */
static const char *phase_name(const struct card *c, enum phase phase) {
  const struct lb_conditions *k = &c->chamber->conditions;
  switch (phase) {
  case ADMISSION:
    return "admission";
  case EXPANSION:
    return c->release_pressure > k->supply_pressure ? "compressed again" : "expansion";
  case BLOW_DOWN:
    return c->release_pressure > k->back_pressure ? "blow-down" : "air flows back in";
  case EXHAUST:
    return "exhaust";
  case COMPRESSION:
    return "compression";
  default: /* FILLING */
    return c->chamber->compression_pressure > k->supply_pressure ? "blow-back" : "filling";
  }
}

/* An arrow in the middle of a phase, and its name. */
static void draw_phase(struct card *c, enum phase phase) {
  const double head = 3; /* [mm] */
  struct place place = middle_of(c, phase);
  if (place.length < least_phase)
    return;
  struct lb_point tip = {place.at.x + head / 2 * cos(place.direction),
                         place.at.y + head / 2 * sin(place.direction)};
  lb_drawing_arrow(c->plot.drawing, &lb_pen_heavy, tip, place.direction, head);
  if (phase == ADMISSION)
    lb_plot_label(&c->plot, lb_plot_spot(place.at), "admission at %s",
                  lb_show(&c->style, LB_SHOW_GAUGE, c->chamber->conditions.supply_pressure).text);
  else
    lb_plot_label(&c->plot, lb_plot_spot(place.at), "%s", phase_name(c, phase));
}

/* A ring at an event and its name with the angle. */
static void draw_event(struct card *c, enum lb_varied event, double volume, double pressure) {
  double angle = lb_timing_event(c->machine, c->end, event, c->turn->cutoff);
  struct lb_point at = lb_plot_at(&c->plot, volume, pressure);
  lb_plot_mark(&c->plot, at);
  lb_plot_label(&c->plot, lb_plot_spot(at), "%s %s%s", lb_timing_event_name(event),
                lb_show(&c->style, LB_SHOW_ANGLE, angle).text,
                lb_plot_holds(&c->plot, at) ? "" : beyond);
}

static void draw_events(struct card *c) {
  const struct lb_volumes *v = &c->chamber->volumes;
  double p_s = c->chamber->conditions.supply_pressure, p_e = c->chamber->conditions.back_pressure;
  draw_event(c, LB_VARIED_INLET_OPENS, v->opening, c->chamber->compression_pressure);
  draw_event(c, LB_VARIED_CUTOFF, c->cutoff, p_s);
  draw_event(c, LB_VARIED_RELEASE, v->release, c->release_pressure);
  draw_event(c, LB_VARIED_EXHAUST_CLOSES, v->closing, p_e);
  double peak = c->chamber->peak_pressure, top = c->plot.window.top;
  if (peak > top)
    lb_plot_label(&c->plot, lb_plot_spot(lb_plot_at(&c->plot, v->trapped_least, top)),
                  "compressed to %s", lb_show(&c->style, LB_SHOW_GAUGE, peak).text);
}

/* Dead volume: the piston never gets to the left of an upright line. */
static void draw_dead_volume(struct card *c) {
  const double height = 4, head = 2; /* [mm] */
  struct lb_point from = lb_plot_at(&c->plot, 0, 0), to = lb_plot_at(&c->plot, c->dead, 0);
  from.y = to.y += height;
  lb_plot_upright(&c->plot, &lb_pen_fine, c->dead);
  lb_plot_upright(&c->plot, &lb_pen_fine, c->full);
  if (c->dead == 0)
    return;
  lb_drawing_line(c->plot.drawing, &lb_pen_fine, from, to);
  if (to.x - from.x > 3 * head) {
    lb_drawing_arrow(c->plot.drawing, &lb_pen_fine, from, LB_PI, head);
    lb_drawing_arrow(c->plot.drawing, &lb_pen_fine, to, 0, head);
  }
  lb_plot_label(&c->plot, (struct lb_box){from.x, from.y, to.x, to.y}, "%s %s",
                c->machine->dead_volume_unknown[c->end] ? "dead volume, assumed" : "dead volume",
                lb_show(&c->style, LB_SHOW_VOLUME, c->dead).text);
}

/* Lines of the surroundings' and of back pressure. */
static void draw_levels(struct card *c) {
  double p_a = c->machine->ambient_pressure, p_e = c->chamber->conditions.back_pressure;
  bool same = fabs(p_a - p_e) < same_pressure;
  lb_plot_level(&c->plot, &lb_pen_normal, p_e);
  if (!same)
    lb_plot_level(&c->plot, &lb_pen_dashed, p_a);
  lb_plot_label(&c->plot, lb_plot_box(&c->plot, 0, p_a, c->plot.window.right, p_a),
                "%s %s absolute", same ? "surroundings and back pressure" : "surroundings",
                lb_show(&c->style, LB_SHOW_PRESSURE, p_a).text);
  if (!same)
    lb_plot_label(&c->plot, lb_plot_box(&c->plot, 0, p_e, c->plot.window.right, p_e),
                  "back pressure %s", lb_show(&c->style, LB_SHOW_GAUGE, p_e).text);
}

/* Names of what is drawn for comparison. */
static void label_comparison(struct card *c) {
  const double into = 0.35; /* [1] of the way along the hatching */
  const struct lb_conditions *k = &c->chamber->conditions;
  double release = c->chamber->volumes.release, excess = c->release_pressure - k->back_pressure;
  double mean = k->back_pressure + c->mean;
  lb_plot_label(&c->plot, lb_plot_box(&c->plot, c->dead, mean, c->full, mean),
                "mean effective pressure %s%s", lb_show(&c->style, LB_SHOW_PRESSURE, c->mean).text,
                mean < 0 ? beyond : "");
  if (fabs(excess) < same_pressure)
    return;
  /* a rectangle in the hatching, between its corner and the curve */
  double shown = fmin(c->complete, c->plot.window.right);
  double volume = release + into * (shown - release), n = k->expansion_exponent;
  double pressure = lb_air_polytropic_pressure(c->release_pressure, release, volume, n);
  lb_plot_label(&c->plot, lb_plot_box(&c->plot, release, k->back_pressure, volume, pressure), "%s",
                excess > 0 ? "lost at release" : "expanded too far");
  if (excess <= 0)
    return;
  volume = (release + shown) / 2;
  pressure = lb_air_polytropic_pressure(c->release_pressure, release, volume, n);
  struct lb_point at = lb_plot_at(&c->plot, volume, pressure);
  lb_plot_label(&c->plot, lb_plot_spot(at), "complete expansion, to %s",
                lb_show(&c->style, LB_SHOW_VOLUME, c->complete).text);
}

/* The heading of a diagram: what its figures are. */
static struct lb_box write_figures(const struct card *c, struct lb_drawing *drawing,
                                   struct lb_box box) {
  const struct lb_style *style = &c->style;
  const struct lb_lettering bold = {
      .size = LB_LETTERS_NORMAL, .align = LB_ALIGN_LEFT, .bold = true};
  double excess = c->release_pressure - c->chamber->conditions.back_pressure;
  char name[64], text[400];
  lb_format(name, sizeof name, "%s%s", c->end == LB_CAP_END ? "Cap end" : "Rod end",
            c->machine->cylinders > 1 ? " of each cylinder" : "");
  box.top -= LB_LETTERS_NORMAL;
  lb_drawing_text(drawing, &bold, (struct lb_point){box.left, box.top}, name);
  box.top -= LB_LETTERS_NORMAL / 2;
  int used = lb_format(text, sizeof text,
                       "Indicated work %s a revolution; mean effective pressure %s.\n"
                       "Released at %s: ",
                       lb_show(style, LB_SHOW_WORK, c->turn->turn.work).text,
                       lb_show(style, LB_SHOW_PRESSURE, c->mean).text,
                       lb_show_pressure(style, c->release_pressure).text);
  if (fabs(excess) < same_pressure)
    lb_format(text + used, sizeof text - (size_t)used, "back pressure, nothing is lost.");
  else
    lb_format(text + used, sizeof text - (size_t)used,
              excess > 0 ? "complete expansion would add %s." : "expanding so far costs %s.",
              lb_show(style, LB_SHOW_WORK, c->lost).text);
  box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text);
  if (c->points > 0) {
    lb_format(text, sizeof text, "At %s, with the same timing: indicated work %s, slow %s.",
              speed_of(c->sheet).text,
              lb_show(style, LB_SHOW_WORK, c->point[c->points - 1].work).text,
              lb_show(style, LB_SHOW_WORK, c->turn->turn.work).text);
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text);
  }
  box.top -= LB_LETTERS_SMALL / 2;
  return box;
}

/* The diagram of one end. */
static void draw_end(struct lb_drawing *drawing, const struct lb_sheet *sheet, enum lb_end end,
                     struct lb_box box) {
  struct card c = card_of(sheet, end);
  box = write_figures(&c, drawing, box);
  begin(&c, drawing, box);
  trace(&c);
  draw_loss(&c);
  draw_dead_volume(&c);
  draw_levels(&c);
  draw_mean(&c);
  lb_plot_curve(&c.plot, c.points > 0 ? &lb_pen_dashed : &lb_pen_heavy, &c.path, true);
  draw_at_speed(&c);
  if (!c.path.failed) {
    label_revolutions(&c);
    draw_events(&c);
    label_comparison(&c);
    for (int i = 0; i < PHASES; i++)
      draw_phase(&c, (enum phase)i);
    lb_plot_end(&c.plot);
  }
  lb_plot_path_free(&c.path);
}

/* What hatching there is: whether a worked end releases above or below back pressure. */
static bool releases(const struct lb_sheet *sheet, bool above) {
  const struct lb_machine *m = sheet->paper->machine;
  bool any = false;
  for (int i = 0; i < LB_ENDS; i++) {
    double excess =
        sheet->paper->detail->revolution.end[i].turn.release_pressure - m->back_pressure;
    any = any || (m->works[i] && (above ? excess >= same_pressure : excess <= -same_pressure));
  }
  return any;
}

static const char notes[] = "Angles count from this end's own dead centre in the direction of "
                            "rotation. Gauge pressure left, absolute right.";

/* What the lines mean, at the bottom. Returns the room left above. */
static struct lb_box draw_keys(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_box box) {
  const double line = (double)NAN;
  bool lost = releases(sheet, true), costly = releases(sheet, false);
  struct lb_box keys = box;
  keys.top = box.bottom + lb_sheet_height(box.right - box.left, LB_LETTERS_SMALL, notes) +
             (2 + 2 * lost + costly + (sheet->running != NULL)) * lb_plot_key_height;
  box.bottom = keys.top;
  if (sheet->running) {
    char words[160];
    lb_format(words, sizeof words, "the air in one chamber at %s, with what really flows",
              speed_of(sheet).text);
    keys = lb_plot_key(drawing, keys, &lb_pen_heavy, line, 0, words);
  }
  keys = lb_plot_key(drawing, keys, sheet->running ? &lb_pen_dashed : &lb_pen_heavy, line, 0,
                     "the air in one chamber through a slow revolution, the way the arrows show");
  keys = lb_plot_key(drawing, keys, &mean_pen, line, 0,
                     "mean effective pressure: a rectangle on back pressure, as large as the "
                     "diagram and as long as the stroke");
  if (lost) {
    keys = lb_plot_key(drawing, keys, &complete_pen, line, 0,
                       "complete expansion, by the same law down to back pressure, for comparison");
    keys = lb_plot_key(drawing, keys, &lb_pen_fine, lost_angle, hatch_spacing,
                       "lost at release: work that complete expansion would add; 'lastbar cycle' "
                       "lists the air's worth instead");
  }
  if (costly)
    keys = lb_plot_key(drawing, keys, &lb_pen_fine, costly_angle, hatch_spacing,
                       "expanded too far: work that it costs to fall below back pressure");
  lb_sheet_write(drawing, keys, LB_LETTERS_SMALL, notes);
  return box;
}

enum lb_status lb_sheet_indicator(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  struct lb_error *error) {
  const double between = 4; /* [mm] diagrams and keys */
  const struct lb_machine *m = sheet->paper->machine;
  struct lb_box room = lb_sheet_begin(drawing, sheet, "Indicator diagram");
  room = draw_keys(drawing, sheet, room);
  double height = (room.top - room.bottom) / (m->works[LB_CAP_END] + m->works[LB_ROD_END]);
  double most = (room.right - room.left) * 3 / 4;
  (void)error; /* the drawing remembers what goes wrong */
  for (int i = 0; i < LB_ENDS; i++)
    if (m->works[i]) {
      struct lb_box box = room;
      box.bottom = room.top - fmin(height, most) + between;
      draw_end(drawing, sheet, (enum lb_end)i, box);
      room.top -= height;
    }
  return LB_OK;
}
