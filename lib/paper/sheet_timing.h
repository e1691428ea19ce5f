/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing sheet: what the valves do around the crank, and at which angles to set them.
 *
 * One page. The timing circle with dead centre up, as the crank turns, the cap end's ring outside
 * and the rod end's, turned by where its own dead centre lies, inside; a table of events with
 * travel and tolerance; how to find dead centre; a log with what to expect of a run.
 */
#ifndef LASTBAR_PAPER_SHEET_TIMING_H
#define LASTBAR_PAPER_SHEET_TIMING_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing, which the caller owns. Fails as lb_chart_draw
 * (paper/chart.h). Also fails (LB_NO_ANSWER) when the labels of the events find no room. */
enum lb_status lb_sheet_timing(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
