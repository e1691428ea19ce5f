/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The outline of a cam with all that is drawn on and around it. On the template a crank angle lies
 * where it passes the roller.
 */
#include "paper/sheet_cam_parts.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/label.h"

#include <math.h>
#include <stdlib.h>

/* Angles closer than this are one [rad]. */
static const double same_angle = 1e-9;

static const struct lb_point centre = {0, 0};

static const struct lb_lettering letters = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_MIDDLE};

enum {
  MARKS = 5 /* labels around a template, at most */
};

/* The direction on the template [rad] of an angle of the cam: a roller at the pointer sees it. */
static double direction(const struct lb_valve_cam *cam, double angle) {
  const struct lb_machine *machine = lb_valve_cam_machine(cam);
  double crank = lb_linkage_dead_centre(&machine->linkage, cam->end) + angle;
  return lb_sheet_template_direction(machine, 0, crank);
}

/* The angle of the cam at the mark. */
static double mark_angle(const struct lb_valve_cam *cam) {
  return -lb_linkage_dead_centre(&lb_valve_cam_machine(cam)->linkage, cam->end);
}

static struct lb_point place(const struct lb_valve_cam *cam, double radius, double angle) {
  return lb_sheet_polar(centre, radius, direction(cam, angle));
}

/* Radii of the template [mm]. */
static double base_of(const struct lb_valve_cam *cam) {
  return cam->design.base_radius / LB_MILLIMETRE;
}

static double roller_of(const struct lb_valve_cam *cam) {
  return cam->design.roller_radius / LB_MILLIMETRE;
}

static double lift_of(const struct lb_valve_cam *cam) {
  return cam->design.lift / LB_MILLIMETRE;
}

/* The largest radius of the pitch curve. */
static double pitch_of(const struct lb_valve_cam *cam) {
  return base_of(cam) + lift_of(cam) + roller_of(cam);
}

static void draw_arc(struct lb_drawing *drawing, const struct lb_pen *pen,
                     const struct lb_valve_cam *cam, double radius, double from, double to) {
  double first = direction(cam, from), last = direction(cam, to);
  lb_sheet_order(&first, &last, !lb_valve_cam_machine(cam)->clockwise);
  lb_drawing_arc(drawing, pen, centre, radius, first, last);
}

/* One flank of the profile or, for `pitch`, of the pitch curve, from its foot upwards. */
static void draw_flank(struct lb_drawing *drawing, const struct lb_pen *pen,
                       const struct lb_valve_cam *cam, bool falls, bool pitch) {
  const struct lb_cam_design *design = &cam->design;
  const int steps = lb_cam_flank_steps(design, LB_CAM_CHORD_TOLERANCE);
  const double foot = falls ? design->closes : design->opens, sign = falls ? -1 : 1;
  struct lb_point *point = malloc(((size_t)steps + 1) * sizeof *point);
  drawing->failed |= !point;
  for (int i = 0; point && i <= steps; i++) {
    double angle = foot + sign * design->ramp * i / steps;
    struct lb_cam_point at = lb_cam_profile(design, angle);
    if (pitch)
      at = (struct lb_cam_point){lb_cam_pitch_radius(design, angle), angle};
    point[i] = place(cam, at.radius / LB_MILLIMETRE, at.angle);
  }
  if (point)
    lb_drawing_polyline(drawing, pen, point, (size_t)steps + 1, false);
  free(point);
}

/* The profile, or the pitch curve at a roller's radius from it: shut, rising, open, falling. */
static void draw_curve(struct lb_drawing *drawing, const struct lb_pen *pen,
                       const struct lb_valve_cam *cam, bool pitch) {
  const struct lb_cam_design *design = &cam->design;
  double base = base_of(cam) + (pitch ? roller_of(cam) : 0);
  draw_arc(drawing, pen, cam, base, design->closes, design->opens);
  draw_flank(drawing, pen, cam, false, pitch);
  draw_arc(drawing, pen, cam, base + lift_of(cam), design->opens + design->ramp,
           design->closes - design->ramp);
  draw_flank(drawing, pen, cam, true, pitch);
}

/* The shaft's hole and its centre. */
static void draw_centre(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  const double past_hole = 3; /* [mm] */
  double hole = lb_valve_cam_machine(cam)->cam.bore / 2 / LB_MILLIMETRE;
  double arm = fmin(hole + past_hole, base_of(cam));
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){-arm, 0}, (struct lb_point){arm, 0});
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){0, -arm}, (struct lb_point){0, arm});
  lb_drawing_circle(drawing, &lb_pen_cut, centre, hole);
}

/* The mark, and the roller where it stands above it. */
static void draw_roller(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  const double arm = 1.5; /* [mm] */
  double hole = lb_valve_cam_machine(cam)->cam.bore / 2 / LB_MILLIMETRE, mark = mark_angle(cam);
  struct lb_point at = place(cam, lb_cam_pitch_radius(&cam->design, mark) / LB_MILLIMETRE, mark);
  lb_drawing_line(drawing, &lb_pen_heavy, place(cam, hole, mark), at);
  lb_drawing_circle(drawing, &lb_pen_normal, at, roller_of(cam));
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){at.x - arm, at.y},
                  (struct lb_point){at.x + arm, at.y});
  lb_drawing_line(drawing, &lb_pen_fine, at, (struct lb_point){at.x, at.y + arm});
}

/* Which cam it is, on itself, where there is room. */
static void draw_name(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  const double clear = 1; /* [mm] */
  double hole = lb_valve_cam_machine(cam)->cam.bore / 2 / LB_MILLIMETRE, base = base_of(cam);
  double middle = (hole + base) / 2, height = LB_LETTERS_SMALL / 2 + clear;
  char name[32];
  lb_format(name, sizeof name, "%s %s", lb_page_end(cam->end), lb_valve_name(cam->valve));
  double corner = hypot(lb_drawing_text_width(&letters, name) / 2 + clear, middle + height);
  if (corner < base && middle - height > hole)
    lb_drawing_text(drawing, &letters, (struct lb_point){0, -middle}, name);
}

/* What is written beside a place of the cam. */
struct mark {
  double angle; /* [rad] of the cam */
  char text[40];
};

static struct mark make_mark(const struct lb_valve_cam *cam, double angle, const char *what) {
  struct mark mark = {.angle = angle};
  lb_format(mark.text, sizeof mark.text, "%s %s deg", what, lb_valve_cam_crank(cam, angle).text);
  return mark;
}

/* Returns how many there are. */
static size_t make_marks(struct mark mark[MARKS], const struct lb_valve_cam *cam) {
  const struct lb_cam_design *design = &cam->design;
  double open = design->opens + design->ramp, falls = design->closes - design->ramp;
  size_t count = 0;
  mark[count++] = (struct mark){mark_angle(cam), "cap-end dead centre"};
  mark[count++] = make_mark(cam, design->opens, "opens");
  mark[count++] = make_mark(cam, open, "full lift");
  if (falls - open > same_angle)
    mark[count++] = make_mark(cam, falls, "full lift to");
  mark[count++] = make_mark(cam, design->closes, "shut");
  return count;
}

/* Lead a label to its place: along its ray across the outline and past the roller, then to it. */
static void draw_mark(struct lb_drawing *drawing, const struct lb_valve_cam *cam,
                      const struct mark *mark, const struct lb_label *label) {
  const double inside = 2, outside = 1; /* [mm] */
  double knee = pitch_of(cam) + roller_of(cam) + outside;
  struct lb_point leader[LB_LABEL_LEADER_MOST];
  size_t points = lb_label_leader(leader, label, knee);
  lb_drawing_line(drawing, &lb_pen_fine, place(cam, fmax(base_of(cam) - inside, 0), mark->angle),
                  place(cam, knee, mark->angle));
  lb_drawing_polyline(drawing, &lb_pen_fine, leader, points, false);
  lb_drawing_text(drawing, &letters, label->at, mark->text);
}

/* The middle of the widest gap [rad] between directions, and half its width. */
static double widest_gap(double *half, const struct lb_label *label, size_t count) {
  double middle = 0, widest = 0;
  for (size_t i = 0; i < count; i++) {
    double nearest = 2 * LB_PI; /* on to the next, counterclockwise */
    for (size_t j = 0; j < count; j++) {
      double gap = fmod(label[j].direction - label[i].direction + 8 * LB_PI, 2 * LB_PI);
      if (gap > same_angle)
        nearest = fmin(nearest, gap);
    }
    if (nearest > widest) {
      widest = nearest;
      middle = label[i].direction + nearest / 2;
    }
  }
  *half = widest / 2;
  return middle;
}

/* The way the cam turns, outside of the pitch curve. */
static void draw_rotation(struct lb_drawing *drawing, const struct lb_valve_cam *cam, double middle,
                          double half) {
  const double off_curve = 2, arc = 18, head = 3; /* [mm] */
  bool clockwise = lb_valve_cam_machine(cam)->clockwise;
  double radius = pitch_of(cam) + off_curve, sign = clockwise ? -1 : 1;
  half = fmin(half / 2, arc / radius / 2);
  double tip = middle + sign * half;
  lb_drawing_arc(drawing, &lb_pen_normal, centre, radius, middle - half, middle + half);
  lb_drawing_arrow(drawing, &lb_pen_normal, lb_sheet_polar(centre, radius, tip),
                   tip + sign * LB_PI / 2, head);
}

/* What happens where, clear of the roller, and which way the cam turns. */
static void draw_marks(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  const double off = 3, line = 1.2; /* [mm]; height of a label in letters */
  struct lb_label label[MARKS + 1];
  struct mark mark[MARKS];
  size_t count = make_marks(mark, cam);
  const char *turns =
      lb_valve_cam_machine(cam)->clockwise ? "turns clockwise" : "turns anticlockwise";
  const struct lb_label_ring ring = {
      .radius = pitch_of(cam) + roller_of(cam) + off, .spare = 6 * LB_LETTERS_SMALL, .gap = 3};
  double half;
  for (size_t i = 0; i < count; i++)
    label[i] = (struct lb_label){.direction = direction(cam, mark[i].angle),
                                 .width = lb_drawing_text_width(&letters, mark[i].text)};
  double middle = widest_gap(&half, label, count);
  label[count] =
      (struct lb_label){.direction = middle, .width = lb_drawing_text_width(&letters, turns)};
  for (size_t i = 0; i <= count; i++)
    label[i].height = line * LB_LETTERS_SMALL;
  lb_label_place(label, count + 1, &ring);
  for (size_t i = 0; i < count; i++)
    draw_mark(drawing, cam, &mark[i], &label[i]);
  draw_rotation(drawing, cam, middle, half);
  lb_drawing_text(drawing, &letters, label[count].at, turns);
}

void lb_valve_cam_draw(struct lb_drawing *drawing, const void *context) {
  const struct lb_valve_cam *cam = context;
  draw_curve(drawing, &lb_pen_cut, cam, false);
  draw_curve(drawing, &lb_pen_dashed, cam, true);
  draw_arc(drawing, &lb_pen_dashed, cam, base_of(cam), cam->design.opens, cam->design.closes);
  draw_centre(drawing, cam);
  draw_roller(drawing, cam);
  draw_name(drawing, cam);
  draw_marks(drawing, cam);
}
