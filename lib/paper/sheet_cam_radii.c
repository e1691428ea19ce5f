/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of radii. All cams share sizes and law, and those of an end their ramp: so do their
 * radii, and only the places of the flanks differ.
 */
#include "paper/sheet_cam_parts.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/sheet_grid.h"
#include "paper/text.h"

#include <math.h>

/* Angles closer than this are one [rad]. */
static const double same_angle = 1e-9;

/* The columns of the table of radii. */
enum column {
  FROM_FOOT,
  INLET_RISES,
  INLET_FALLS,
  EXHAUST_RISES,
  EXHAUST_FALLS,
  ROLLER_CENTRE,
  PROFILE,
  COLUMNS
};
static const double column_width[COLUMNS] = {10, 12, 12, 15.5, 15.5, 13, 13}; /* [mm] */

static void begin_block(struct lb_grid *block, const struct lb_sheet *sheet) {
  static const char *const headings[COLUMNS] = {[FROM_FOOT] = "from\nfoot\ndeg",
                                                [INLET_RISES] = "inlet\nrises\ndeg",
                                                [INLET_FALLS] = "inlet\nfalls\ndeg",
                                                [EXHAUST_RISES] = "exhaust\nrises\ndeg",
                                                [EXHAUST_FALLS] = "exhaust\nfalls\ndeg",
                                                [ROLLER_CENTRE] = "roller\ncentre\n",
                                                [PROFILE] = "cam\nitself\n"};
  block->columns = COLUMNS;
  block->cells = 0;
  for (int column = 0; column < COLUMNS; column++)
    lb_grid_add(block, "%s%s", headings[column],
                column < ROLLER_CENTRE ? ""
                : sheet->inch          ? "in"
                                       : "mm");
}

/* A radius in hundredths of a millimetre or ten-thousandths of an inch. */
static struct lb_shown radius_text(const struct lb_sheet *sheet, double radius) {
  const struct lb_style style = lb_sheet_style(sheet);
  return lb_show_number(lb_show_value(&style, LB_SHOW_LENGTH, radius), style.inch ? 4 : 2);
}

/* The row of an angle from the flank's foot, its cells in the order of the columns.
 * cam  cam[LB_VALVES] of one end */
static enum lb_status add_row(struct lb_grid *block, const struct lb_valve_cam *cam,
                              double from_foot, struct lb_error *error) {
  const struct lb_cam_design *design = &cam->design;
  double radius, angle = design->opens + from_foot;
  enum lb_status status =
      lb_cam_profile_radius(&radius, design, angle, lb_cycle_workspace(cam->sheet->cycle), error);
  if (status != LB_OK)
    return status;
  lb_grid_add(block, "%s", lb_show_number(from_foot / LB_DEGREE, 1).text);
  for (int valve = 0; valve < LB_VALVES; valve++) {
    const struct lb_valve_cam *of = &cam[valve];
    lb_grid_add(block, "%s", lb_valve_cam_crank(of, of->design.opens + from_foot).text);
    lb_grid_add(block, "%s", lb_valve_cam_crank(of, of->design.closes - from_foot).text);
  }
  lb_grid_add(block, "%s", radius_text(cam->sheet, lb_cam_pitch_radius(design, angle)).text);
  lb_grid_add(block, "%s", radius_text(cam->sheet, radius).text);
  return LB_OK;
}

/* Begin a page of radii and say above them what they are. */
static struct lb_box begin_radii(struct lb_drawing *drawing, const struct lb_valve_cam *cam) {
  const double below = 2; /* [mm] */
  const struct lb_cam_design *design = &cam->design;
  const struct lb_sheet *sheet = cam->sheet;
  double shut = design->base_radius, open = shut + design->lift, roller = design->roller_radius;
  char title[64];
  struct lb_text text = {0};
  lb_format(title, sizeof title, "Cams: %s, radii", lb_page_end(cam->end));
  struct lb_box box = lb_sheet_begin(drawing, sheet, title);
  lb_text_add(&text,
              "Radii from the shaft's centre, degree by degree over a flank: from its foot on "
              "the base circle, on from the opening or back from the closing; both flanks are "
              "alike. The next columns say where that is on each cam: angles from the mark, "
              "against the direction of rotation.\n");
  lb_text_add(
      &text,
      "Roller centre: where the roller's centre stands at that angle, and the centre of a "
      "cutter or wheel with its radius of %s. Cam itself: the radius to its outline at that "
      "angle, for a caliper and a file.\n",
      lb_cam_length(sheet, roller).text);
  lb_text_add(&text, "Elsewhere: shut %s (roller centre %s), fully open %s (roller centre %s).",
              lb_cam_length(sheet, shut).text, lb_cam_length(sheet, shut + roller).text,
              lb_cam_length(sheet, open).text, lb_cam_length(sheet, open + roller).text);
  drawing->failed |= text.failed;
  if (!text.failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text.bytes);
  lb_text_free(&text);
  box.top -= below;
  return box;
}

/* Rows below a heading of three lines that surely fit into a height [mm]. */
static int rows_in(double height) {
  const double around = 1.2; /* [mm] the cells' own room above and below */
  const double row = lb_sheet_height(height, LB_LETTERS_SMALL, "0") + around;
  return (int)fmin(floor(height / row) - 3, LB_GRID_ROWS - 1);
}

/* Whole degrees of a flank and its end. */
static int rows_of(const struct lb_valve_cam *cam) {
  return (int)ceil(cam->design.ramp / LB_DEGREE - same_angle) + 1;
}

enum lb_status lb_valve_cam_radii(struct lb_drawing *drawing, const struct lb_valve_cam *cam,
                                  struct lb_error *error) {
  const double between = 5; /* [mm] */
  double width = 0;
  struct lb_box box = {0, 0, 0, 0};
  enum lb_status status = LB_OK;
  for (int column = 0; column < COLUMNS; column++)
    width += column_width[column];
  for (int row = 0; row < rows_of(cam) && status == LB_OK;) {
    struct lb_grid block;
    if (box.left + width > box.right)
      box = begin_radii(drawing, cam);
    begin_block(&block, cam->sheet);
    int last = row + rows_in(box.top - box.bottom);
    for (; row < last && row < rows_of(cam) && status == LB_OK; row++)
      status = add_row(&block, cam, fmin(row * LB_DEGREE, cam->design.ramp), error);
    lb_grid_draw(drawing, box, LB_LETTERS_SMALL, &block, column_width, 1);
    box.left += width + between;
  }
  return status;
}
