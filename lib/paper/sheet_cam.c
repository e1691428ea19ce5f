/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which cams a machine has, whether they can be made, and what is written below their templates.
 */
#include "paper/sheet_cam.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/sheet_cam_parts.h"
#include "paper/text.h"
#include "stroke/timing.h"

#include <math.h>

/* Angles closer than this are one [rad]. */
static const double same_angle = 1e-9;

enum {
  CAMS = LB_ENDS * LB_VALVES /* at most */
};

const struct lb_machine *lb_valve_cam_machine(const struct lb_valve_cam *cam) {
  return cam->sheet->paper->machine;
}

const char *lb_valve_name(enum lb_valve valve) {
  return valve == LB_INLET_VALVE ? "inlet" : "exhaust";
}

struct lb_shown lb_cam_length(const struct lb_sheet *sheet, double metres) {
  const struct lb_style style = lb_sheet_style(sheet);
  return lb_show(&style, LB_SHOW_LENGTH, metres);
}

static struct lb_shown degrees(double angle) {
  return lb_page_angle(true, angle);
}

struct lb_shown lb_valve_cam_crank(const struct lb_valve_cam *cam, double angle) {
  return lb_show_crank(lb_timing_crank_angle(lb_valve_cam_machine(cam), cam->end, angle), 1);
}

static struct lb_valve_cam make_cam(const struct lb_sheet *sheet, enum lb_end end,
                                    enum lb_valve valve) {
  const struct lb_machine *machine = sheet->paper->machine;
  const struct lb_cam *given = &machine->cam;
  double cutoff = lb_sheet_cutoff(sheet)[end];
  bool inlet = valve == LB_INLET_VALVE;
  struct lb_valve_cam cam = {.sheet = sheet, .end = end, .valve = valve};
  cam.design = (struct lb_cam_design){
      .law = given->cycloidal ? LB_CAM_CYCLOIDAL : LB_CAM_POLYNOMIAL,
      .base_radius = given->base_radius,
      .lift = given->lift,
      .roller_radius = given->roller_radius,
      .opens =
          lb_timing_event(machine, end, inlet ? LB_VARIED_INLET_OPENS : LB_VARIED_RELEASE, cutoff),
      .closes = lb_timing_event(machine, end, inlet ? LB_VARIED_CUTOFF : LB_VARIED_EXHAUST_CLOSES,
                                cutoff),
      .ramp = machine->timing[end].opening_ramp,
  };
  return cam;
}

/* All cams of a machine; returns how many. */
static int make_cams(struct lb_valve_cam cam[CAMS], const struct lb_sheet *sheet) {
  int count = 0;
  for (int end = 0; end < LB_ENDS; end++)
    for (int valve = 0; valve < LB_VALVES && sheet->paper->machine->works[end]; valve++)
      cam[count++] = make_cam(sheet, (enum lb_end)end, (enum lb_valve)valve);
  return count;
}

static double window(const struct lb_valve_cam *cam) {
  return cam->design.closes - cam->design.opens;
}

/* Every flank has a length, and both fit into the time that the valve is open. */
static enum lb_status test_ramps(const struct lb_valve_cam *cam, int count,
                                 struct lb_error *error) {
  const struct lb_valve_cam *short_one = NULL;
  double longest = (double)INFINITY;
  for (int i = 0; i < count; i++) {
    if (!(cam[i].design.ramp > 0))
      return lb_error_set(error, LB_NO_ANSWER,
                          "a cam needs an opening ramp in degrees; write 'opening ramp = 30 deg' "
                          "in [timing]");
    if (lb_cam_check(&cam[i].design, NULL) == LB_OK)
      continue;
    short_one = short_one ? short_one : &cam[i];
    longest = fmin(longest, window(&cam[i]) / 2);
  }
  if (!short_one)
    return LB_OK;
  /* down to whole hundredths, but not by a rounding */
  double fits = floor(longest / LB_DEGREE * 100 + same_angle) / 100;
  return lb_error_set(error, LB_NO_ANSWER,
                      "cam of the %s, %s: the valve is open for %s, too short for two flanks of "
                      "%s; an opening ramp of %s deg or less fits every cam",
                      lb_page_end(short_one->end), lb_valve_name(short_one->valve),
                      degrees(window(short_one)).text, degrees(short_one->design.ramp).text,
                      lb_show_number(fits, 2).text);
}

/* A base radius with a small allowance, in round figures: "33.4 mm". */
static struct lb_shown round_base(const struct lb_sheet *sheet, double least) {
  const double allowance = 1.001;
  const struct lb_style style = lb_sheet_style(sheet);
  const int decimals = style.inch ? 2 : 1;
  const double parts = style.inch ? 100 : 10; /* of an inch or millimetre */
  double value = ceil(lb_show_value(&style, LB_SHOW_LENGTH, least * allowance) * parts) / parts;
  struct lb_shown shown;
  lb_format(shown.text, sizeof shown.text, "%.60s %s", lb_show_number(value, decimals).text,
            lb_show_unit(&style, LB_SHOW_LENGTH));
  return shown;
}

/* Add to a text what is wrong with a cam; nothing for a good one. */
static void add_faults(struct lb_text *text, const struct lb_valve_cam *cam) {
  const struct lb_cam_survey *found = &cam->survey;
  double limit = lb_valve_cam_machine(cam)->cam.pressure_angle_limit;
  double roller = cam->design.roller_radius;
  const char *and = "";
  if (found->pressure_angle > limit) {
    lb_text_add(text, "the pressure angle reaches %s, over its limit of %s",
                degrees(found->pressure_angle).text, degrees(limit).text);
    and = ", and ";
  }
  if (found->curvature_radius < roller) {
    lb_text_add(text, "%sit is undercut, as the path of a roller of %s radius bends to %s", and,
                lb_cam_length(cam->sheet, roller).text,
                lb_cam_length(cam->sheet, found->curvature_radius).text);
    and = ", and ";
  }
  if (found->tangent_distance <= roller)
    lb_text_add(text, "%sits flanks hang over", and);
}

/* Refuse a cam whose faults are known. The base radius named cures all cams. */
static enum lb_status refuse(const struct lb_valve_cam *cam, const struct lb_text *faults,
                             double least, struct lb_error *error) {
  if (faults->failed)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cams");
  return lb_error_set(error, LB_NO_ANSWER,
                      "cam of the %s, %s: %s; a base radius of %s would do for every cam",
                      lb_page_end(cam->end), lb_valve_name(cam->valve), faults->bytes,
                      round_base(cam->sheet, least).text);
}

/* The roller can follow every cam. */
static enum lb_status test_shapes(struct lb_valve_cam *cam, int count, struct lb_error *error) {
  struct lb_workspace *workspace = lb_cycle_workspace(cam->sheet->cycle);
  double limit = lb_valve_cam_machine(cam)->cam.pressure_angle_limit, least = 0;
  enum lb_status status = LB_OK;
  for (int i = 0; i < count && status == LB_OK; i++) {
    double base;
    status = lb_cam_survey(&cam[i].survey, &cam[i].design, workspace, error);
    if (status == LB_OK)
      status = lb_cam_least_base(&base, &cam[i].design, limit, workspace, error);
    if (status == LB_OK)
      least = fmax(least, base);
  }
  for (int i = 0; i < count && status == LB_OK; i++) {
    struct lb_text faults = {0};
    add_faults(&faults, &cam[i]);
    if (faults.failed || faults.length > 0)
      status = refuse(&cam[i], &faults, least, error);
    lb_text_free(&faults);
  }
  return status;
}

/* Sizes and law. */
static void write_sizes(struct lb_text *note, const struct lb_valve_cam *cam) {
  const struct lb_cam_design *design = &cam->design;
  double hole = lb_valve_cam_machine(cam)->cam.bore;
  lb_text_add(note, "Base radius %s, lift %s, roller radius %s",
              lb_cam_length(cam->sheet, design->base_radius).text,
              lb_cam_length(cam->sheet, design->lift).text,
              lb_cam_length(cam->sheet, design->roller_radius).text);
  if (hole > 0)
    lb_text_add(note, ", hole %s", lb_cam_length(cam->sheet, hole).text);
  lb_text_add(note, ". Each flank: %s over %s.\n",
              design->law == LB_CAM_CYCLOIDAL ? "cycloidal law" : "3-4-5 polynomial",
              degrees(design->ramp).text);
}

/* Which cam belongs where. */
static void write_place(struct lb_text *note, const struct lb_valve_cam *cam) {
  lb_text_add(note,
              "Printed side to where the timing chart is mounted. The roller moves towards the "
              "shaft's centre and stands over the mark when the crank is at the cap-end dead "
              "centre; angles are the crank's after it.\n");
  lb_text_add(note, "After the %s's own dead centre: opens %s, shut %s.\n", lb_page_end(cam->end),
              degrees(cam->design.opens).text, degrees(cam->design.closes).text);
  if (lb_valve_cam_machine(cam)->cylinders > 1)
    lb_text_add(note, "For the first cylinder. The others have the same cam, its mark behind this "
                      "one's by their angle on the crank.\n");
}

/* How well the roller can follow. */
static void write_limits(struct lb_text *note, const struct lb_valve_cam *cam) {
  const struct lb_cam_survey *found = &cam->survey;
  lb_text_add(note, "The pressure angle reaches %s (limit %s), %s from the foot of a flank.\n",
              degrees(found->pressure_angle).text,
              degrees(lb_valve_cam_machine(cam)->cam.pressure_angle_limit).text,
              degrees(found->pressure_place).text);
  lb_text_add(
      note,
      "The roller's path (dashed) bends to a radius of %s at least, the cam itself to %s, %s "
      "from the foot of a flank.\n",
      lb_cam_length(cam->sheet, found->curvature_radius).text,
      lb_cam_length(cam->sheet, found->curvature_radius - cam->design.roller_radius).text,
      degrees(found->tightest_place).text);
}

static void add_template(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  struct lb_text note = {0};
  char title[64];
  lb_format(title, sizeof title, "Cam: %s, %s", lb_page_end(cam->end), lb_valve_name(cam->valve));
  write_sizes(&note, cam);
  write_place(&note, cam);
  write_limits(&note, cam);
  lb_text_add(&note,
              "Shut and fully open the outline is of true arcs; the flanks are of straight pieces "
              "within %s mm of their shape.",
              lb_show_number(LB_CAM_CHORD_TOLERANCE / LB_MILLIMETRE, 3).text);
  drawing->failed |= note.failed;
  struct lb_template template = {.title = title,
                                 .note = note.failed ? NULL : note.bytes,
                                 .draw = lb_valve_cam_draw,
                                 .context = cam};
  lb_sheet_measure(drawing, &template);
  lb_sheet_template(drawing, cam->sheet, &template);
  lb_text_free(&note);
}

enum lb_status lb_sheet_cam(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                            struct lb_error *error) {
  struct lb_valve_cam cam[CAMS];
  int count = make_cams(cam, sheet);
  enum lb_status status = test_ramps(cam, count, error);
  if (status == LB_OK)
    status = test_shapes(cam, count, error);
  for (int i = 0; i < count && status == LB_OK; i++) {
    add_template(drawing, &cam[i]);
    if (cam[i].valve == LB_EXHAUST_VALVE && !sheet->cutting)
      status = lb_valve_cam_radii(drawing, &cam[i - 1], error);
  }
  return status;
}
