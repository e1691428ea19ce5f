/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curves page: what the machine does over its speed, for a few supply pressures.
 *
 * One page, six diagrams over the same scale of speed: torque with the load, power, air in a
 * minute, work from the air, pressure at release, coldest air. A line for each supply pressure has
 * dashes of its own, ends where the machine runs no faster, and is named there; the machine's own
 * is unbroken, and its marks say what they are. A table below gives the speeds a builder asks for.
 */
#ifndef LASTBAR_PAPER_SHEET_CURVES_H
#define LASTBAR_PAPER_SHEET_CURVES_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_SHEET_CURVES_MOST = 6 /* supply pressures on a page */
};

/* Put into a question the supply pressures that make a page: the machine's own, two round ones
 * below it that are above back pressure, and one above it that does not exceed the rated pressure,
 * as far as there are such; none but its own when that is not above the surroundings.
 *
 * question  out: pressure[pressures], rising; the rest is left alone
 * machine   one that has passed lb_machine_check
 * inch      whether round ones are so in psi gauge, else in bar gauge */
void lb_sheet_curves_pressures(struct lb_curves_question *question,
                               const struct lb_machine *machine, bool inch);

/* Add the sheet's page to a drawing, which the caller owns.
 * sheet  its curves are there
 * Fails (LB_BAD_INPUT) for more supply pressures than a page holds, and as lb_chart_draw
 * (paper/chart.h). */
enum lb_status lb_sheet_curves(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
