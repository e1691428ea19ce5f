/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing sheet: what the valves do around the crank, and at which angles to set them.
 */
#ifndef LASTBAR_PAPER_SHEET_TIMING_H
#define LASTBAR_PAPER_SHEET_TIMING_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing. Fails as lb_chart_draw (paper/chart.h). */
enum lb_status lb_sheet_timing(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
