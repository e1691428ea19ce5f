/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which workshop sheets there are, which of them a machine has, and drawing them.
 */
#ifndef LASTBAR_PAPER_CHART_H
#define LASTBAR_PAPER_CHART_H

#include "paper/sheet.h"

#ifdef __cplusplus
extern "C" {
#endif

enum lb_chart {
  LB_CHART_TIMING,
  LB_CHART_INDICATOR,
  LB_CHART_TORQUE,
  LB_CHART_CURVES,
  LB_CHART_RUNDOWN,
  LB_CHART_DISC,
  LB_CHART_CAM,
  LB_CHARTS
};

/* The word for a sheet on a command line: "timing", "indicator" ... */
const char *lb_chart_name(enum lb_chart chart);

/* Whether a machine has this sheet: a disc and cams only where the file describes them, curves only
 * where something is known of the cycle at speed, the rundown with a store and a load. */
bool lb_chart_applies(enum lb_chart chart, const struct lb_machine *machine);

/* Add the pages of a sheet to a drawing.
 * sheet  with its curves for LB_CHART_CURVES, its rundown for LB_CHART_RUNDOWN
 * Fails (LB_NO_ANSWER) when the machine does not have it, or when it cannot be made: events closer
 * than a switch can act, a cam whose roller would undercut it; the text says what would do. Fails
 * with LB_NUMERIC and LB_NO_MEMORY. A drawing that failed is to be released unused. */
enum lb_status lb_chart_draw(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             enum lb_chart chart, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
