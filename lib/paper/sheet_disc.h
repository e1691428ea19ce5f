/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of a switch disc, in true size.
 *
 * The disc carries a track for each valve of each worked end; while the outlined part of a track
 * passes its switch, the valve is switched on. Being fixed to the crank the disc runs the other way
 * round than the timing circle, see paper/sheet.h. A table for dividers follows on a page of its
 * own, but for a machine that cuts.
 */
#ifndef LASTBAR_PAPER_SHEET_DISC_H
#define LASTBAR_PAPER_SHEET_DISC_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing, which the caller owns. Fails as lb_chart_draw
 * (paper/chart.h). */
enum lb_status lb_sheet_disc(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
