/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts that the sheet of cams is put together from. Use paper/sheet_cam.h, which gives the
 * sheet whole.
 *
 * A cam's angles count after its own end's dead centre, as the events of its valve do. The mark of
 * a template is what is below the roller when the crank stands at the cap-end dead centre.
 */
#ifndef LASTBAR_PAPER_SHEET_CAM_PARTS_H
#define LASTBAR_PAPER_SHEET_CAM_PARTS_H

#include "paper/sheet.h"
#include "physics/cam.h"

/* What a flank of straight pieces may be off its true shape [m]: a fiftieth of what a template
 * must be right to. */
#define LB_CAM_CHORD_TOLERANCE 2e-6

/* The cam of one valve. */
struct lb_valve_cam {
  const struct lb_sheet *sheet; /* borrowed */
  enum lb_end end;
  enum lb_valve valve;
  struct lb_cam_design design; /* can be drawn: lb_cam_check holds */
  struct lb_cam_survey survey; /* of it */
};

const struct lb_machine *lb_valve_cam_machine(const struct lb_valve_cam *cam);

/* "inlet", "exhaust". */
const char *lb_valve_name(enum lb_valve valve);

/* A length [m] with its unit, as the sheet is to show it. */
struct lb_shown lb_cam_length(const struct lb_sheet *sheet, double metres);

/* An angle of the cam [rad] as the crank's after the cap-end dead centre: "0.0" ... "359.9" [deg].
 */
struct lb_shown lb_valve_cam_crank(const struct lb_valve_cam *cam, double angle);

/* Draw a template about the shaft's centre [mm].
 * context  a struct lb_valve_cam */
void lb_valve_cam_draw(struct lb_drawing *drawing, const void *context);

/* Add the radii of an end's cams, in blocks side by side on as many pages as it takes.
 * cam  cam[LB_VALVES]
 * Fails as lb_cam_profile_radius. */
enum lb_status lb_valve_cam_radii(struct lb_drawing *drawing, const struct lb_valve_cam *cam,
                                  struct lb_error *error);

#endif
