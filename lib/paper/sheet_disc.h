/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of a switch disc, in true size.
 */
#ifndef LASTBAR_PAPER_SHEET_DISC_H
#define LASTBAR_PAPER_SHEET_DISC_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing. Fails as lb_chart_draw (paper/chart.h). */
enum lb_status lb_sheet_disc(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
