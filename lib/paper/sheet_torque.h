/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The torque page: turning moment over the crank angle, running and at standstill.
 *
 * One page: above the slow revolution, each cylinder and their sum, the mean and the load; below
 * the torque at standstill with the dead arcs, from which the machine does not start.
 */
#ifndef LASTBAR_PAPER_SHEET_TORQUE_H
#define LASTBAR_PAPER_SHEET_TORQUE_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sheet's pages to a drawing, which the caller owns. Fails as lb_chart_draw
 * (paper/chart.h). */
enum lb_status lb_sheet_torque(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
