/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates of the cams, in true size.
 *
 * One cam for each valve of each worked end. The valve lifts from its opening event over the
 * opening ramp of the timing and is shut again at its closing event; the outline is the envelope of
 * the roller (physics/cam.h). A table of radii for each degree follows, but for a machine that
 * cuts.
 */
#ifndef LASTBAR_PAPER_SHEET_CAM_H
#define LASTBAR_PAPER_SHEET_CAM_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing, which the caller owns. Fails as lb_chart_draw
 * (paper/chart.h). */
enum lb_status lb_sheet_cam(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                            struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
