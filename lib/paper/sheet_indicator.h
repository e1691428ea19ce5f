/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The indicator diagram: pressure over volume at each end, and what it says about the timing.
 *
 * One page, a diagram for each worked end: filling, admission, expansion along p V^n, blow-down,
 * exhaust and compression of the slow cycle, the mean effective pressure as a rectangle as large as
 * the diagram, and hatched what expansion down to back pressure would have added. Where a
 * revolution at speed is given it is drawn over the slow one, which is broken then.
 */
#ifndef LASTBAR_PAPER_SHEET_INDICATOR_H
#define LASTBAR_PAPER_SHEET_INDICATOR_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing, which the caller owns. Fails as lb_chart_draw
 * (paper/chart.h). */
enum lb_status lb_sheet_indicator(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
