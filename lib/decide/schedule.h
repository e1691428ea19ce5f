/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cut-off over a range of supply pressures, as a table from which a controller interpolates.
 *
 * The rows lie on round gauge pressures, as far apart as linear interpolation in the supply
 * pressure allows: between any two of them it errs by less than a tolerance. The machine's own
 * supply pressure is a row of its own, with the very angles that lb_cutoff_find gives for it. The
 * range ends where an end of the machine has no cut-off by the rule, and says why. For a controller
 * that knows pressures in whole units only, the rows lie on those, so that none is rounded.
 */
#ifndef LASTBAR_DECIDE_SCHEDULE_H
#define LASTBAR_DECIDE_SCHEDULE_H

#include "decide/cutoff.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_SCHEDULE_ROWS = 400 /* at most */
};

/* What is asked. */
struct lb_schedule_question {
  enum lb_rule rule; /* LB_AS_TIMED (the same at every pressure), LB_ATMOSPHERIC or LB_ECONOMY */
  double margin;     /* [Pa] >= 0: release this much above back pressure, by the atmospheric rule */
  double from, to;   /* [Pa absolute] the range; 0: from 0.2 bar above the least pressure that could
                        do, to the cylinder's rated pressure, or as far above back pressure again as
                        the supply is when none is stated; in any case so that it
                        holds the supply and, when nothing is said, 1 bar */
  double step;       /* [Pa] > 0: rows lie on whole multiples of it, gauge, or of its halves where
                        the curve is steep */
  double unit;      /* [Pa] rows lie on whole multiples of it, absolute, as near to the above as may
                       be; much less than step; 0: it does not matter */
  double tolerance; /* [rad] > 0: what interpolation may err by */
};

struct lb_schedule_row {
  double supply_pressure; /* [Pa absolute] */
  bool own;               /* the machine's own, or the multiple of the unit next to it */
  double speed;           /* [rad/s] 0: of the slow cycle */
  double cutoff[LB_ENDS]; /* [rad] after each worked end's own dead centre */
};

struct lb_schedule {
  struct lb_schedule_row row[LB_SCHEDULE_ROWS]; /* row[rows], by rising pressure; at least two */
  size_t rows;
  double error; /* [rad] greatest error of interpolation found, in 64 places between any two rows */
  double asked_from, asked_to;                 /* [Pa absolute] the range before it was narrowed */
  char below[LB_SENTENCE], above[LB_SENTENCE]; /* why it begins later, or ends earlier; else "" */
};

/* Make the table.
 * schedule  out; of no use after a failure
 * machine   one that has passed lb_machine_check
 * Fails (LB_NO_ANSWER) when no pressure of the range has an answer, when it holds no two rows, when
 * the cut-off jumps within it, and when LB_SCHEDULE_ROWS do not do; (LB_BAD_INPUT) when from is not
 * below to; and with LB_NO_MEMORY and LB_NUMERIC. */
enum lb_status lb_schedule_find(struct lb_schedule *schedule, const struct lb_machine *machine,
                                const struct lb_schedule_question *question,
                                struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
