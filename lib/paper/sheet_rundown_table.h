/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table on the rundown page: what each plan is set to and what comes of it. Internal to that
 * sheet; use paper/sheet_rundown.h.
 */
#ifndef LASTBAR_PAPER_SHEET_RUNDOWN_TABLE_H
#define LASTBAR_PAPER_SHEET_RUNDOWN_TABLE_H

#include "paper/answer_rundown_page.h"
#include "paper/sheet.h"

/* What a plan is called on the page: "unregulated", "three steps". No name begins with a figure, by
 * which a column of figures is told. */
struct lb_shown lb_rundown_table_plan(const struct lb_run *run);

/* Draw the table at the top of a box. Returns the room left below. */
struct lb_box lb_rundown_table(struct lb_drawing *drawing, const struct lb_rundown_page *page,
                               struct lb_box box);

#endif
