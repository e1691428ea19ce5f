/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rundown page: how a store of air runs down by the plans of using it.
 *
 * One page, four diagrams over the same scale of revolutions: pressure of the store, cut-off, mean
 * torque with the load, and distance or, without a vehicle, air used. Each plan has dashes of its
 * own; of the stepped ones that is drawn which with the fewest steps brings nearly all that
 * following does. A table below gives the figures of all plans, and a sentence says which to build.
 */
#ifndef LASTBAR_PAPER_SHEET_RUNDOWN_H
#define LASTBAR_PAPER_SHEET_RUNDOWN_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's page to a drawing, which the caller owns.
 * sheet  its rundown is there
 * Fails as lb_chart_draw (paper/chart.h). */
enum lb_status lb_sheet_rundown(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
