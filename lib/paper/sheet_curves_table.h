/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table on the curves page: for each supply pressure the speeds a builder asks for. Internal to
 * that sheet; use paper/sheet_curves.h.
 */
#ifndef LASTBAR_PAPER_SHEET_CURVES_TABLE_H
#define LASTBAR_PAPER_SHEET_CURVES_TABLE_H

#include "paper/sheet.h"

#include <stdbool.h>

/* Draw the table at the top of a box. Returns the room left below.
 * sheet  its curves are there, at most as many as a page holds */
struct lb_box lb_curves_table(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                              struct lb_box box);

/* Whether a curve makes most work from its air within the range: only then there are columns for
 * that. */
bool lb_curves_table_has_economy(const struct lb_curves *curves);

#endif
