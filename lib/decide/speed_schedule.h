/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The cut-off over a range of speeds at the machine's supply pressure, with what really flows, as a
 * table from which a controller interpolates.
 *
 * The rows lie on round speeds, as far apart as linear interpolation in the speed allows. A
 * revolution at speed takes a while, so that interpolation is looked at in one place between any
 * two rows, near the middle. The range ends where an end of the machine has no cut-off by the rule,
 * and says why.
 */
#ifndef LASTBAR_DECIDE_SPEED_SCHEDULE_H
#define LASTBAR_DECIDE_SPEED_SCHEDULE_H

#include "decide/running_cutoff.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_SPEED_ROWS = 60 /* at most */
};

/* What is asked. */
struct lb_speed_question {
  enum lb_rule rule; /* LB_AS_TIMED (the same at every speed), LB_ATMOSPHERIC or LB_ECONOMY */
  double margin;     /* [Pa] >= 0: release this much above back pressure, by the atmospheric rule */
  double from, to;   /* [rad/s] the range; 0: from 10 rpm, or a tenth of `to` where that is less; to
                        600 rpm, or twice `from` where that is more */
  double tolerance;  /* [rad] > 0: what interpolation may err by; 0.2 deg is well above what an
                        economical cut-off is uncertain by */
};

struct lb_speed_row {
  double speed;              /* [rad/s] */
  double cutoff[LB_ENDS];    /* [rad] the valve is shut, after each worked end's own dead centre */
  struct lb_running running; /* the revolution */
};

struct lb_speed_schedule {
  struct lb_speed_row row[LB_SPEED_ROWS]; /* row[rows], by rising speed; at least two */
  size_t rows;
  double error;                /* [rad] greatest error of interpolation between two rows: that found
                                  near the middle, as if the curve bent evenly */
  double asked_from, asked_to; /* [rad/s] the range before it was narrowed */
  char below[LB_SENTENCE], above[LB_SENTENCE]; /* why it begins later, or ends earlier; else "" */
};

/* Make the table, on all processors; the digits do not depend on how many there are.
 *
 * schedule  out; of no use after a failure
 * machine   one that has passed lb_machine_check
 * Fails (LB_BAD_INPUT) when from is not below to, and as lb_gas_solve; (LB_NO_ANSWER) when no speed
 * of the range has an answer, when it holds no two rows, when the cut-off jumps within it, and when
 * LB_SPEED_ROWS do not do; (LB_NUMERIC) naming the speed; and with LB_NO_MEMORY. */
enum lb_status lb_speed_schedule_find(struct lb_speed_schedule *schedule,
                                      const struct lb_machine *machine,
                                      const struct lb_speed_question *question,
                                      struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
