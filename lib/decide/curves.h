/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Torque, power and air over the speed, for one or more supply pressures, and the speeds a builder
 * asks for: where the machine runs without load, where it gives most power, where it makes most of
 * its air, where a tenth of the slow work is lost, where it carries its load.
 */
#ifndef LASTBAR_DECIDE_CURVES_H
#define LASTBAR_DECIDE_CURVES_H

#include "decide/cutoff.h"
#include "stroke/running.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_CURVES_MOST = 24,         /* supply pressures at once */
  LB_CURVES_SPEEDS_MOST = 2000 /* speeds of one curve */
};

/* What is asked. */
struct lb_curves_question {
  enum lb_rule rule; /* LB_AS_TIMED: the machine's own angles at every pressure; LB_ATMOSPHERIC or
                        LB_ECONOMY: those of the slow cycle at each pressure */
  double margin;     /* [Pa] >= 0: release this much above back pressure, by the atmospheric rule */
  double pressure[LB_CURVES_MOST]; /* pressure[pressures] [Pa absolute] of the supply */
  size_t pressures;                /* 0: the machine's own alone */
  double from, to; /* [rad/s] the first and the last speed, 0 < from < to; 0: to the next round
                      speed above that without load at the highest pressure, but 3000 rpm at most
                      (twice the first where that is more), and from it divided by `speeds` */
  size_t speeds;   /* 2 ... LB_CURVES_SPEEDS_MOST, evenly spaced */
};

/* The curve of one supply pressure. Speeds [rad/s] that lie nowhere within the range are 0. */
struct lb_curve {
  double supply_pressure;              /* [Pa absolute] */
  bool found;                          /* false: the rule has no answer at this pressure */
  char why[LB_SENTENCE];               /* not found: what stands in the way; else empty */
  double cutoff[LB_ENDS];              /* [rad] after each worked end's own dead centre */
  struct lb_revolution slow;           /* the slow adiabatic revolution with the same timing */
  struct lb_running *point;            /* point[speeds], one for each speed; NULL when not found */
  double no_load_speed;                /* the torque comes down to nothing */
  double best_power_speed, best_power; /* [rad/s], [W] */
  double best_economy_speed, best_economy; /* [rad/s], [J/kg] */
  double tenth_lost_speed;                 /* the work comes down to nine tenths of the slow one */
  double load_speed;                       /* the torque comes down to the machine's load */
};

struct lb_curves {
  double *speed; /* speed[speeds] [rad/s] */
  size_t speeds;
  struct lb_curve curve[LB_CURVES_MOST]; /* curve[curves], in the order asked for */
  size_t curves;
};

/* Calculate them, on all processors; the digits do not depend on how many there are.
 *
 * curves   out: to be released with lb_curves_free; empty after a failure
 * machine  one that has passed lb_machine_check
 * Fails (LB_BAD_INPUT) as lb_gas_solve does and for a range that is none; (LB_NO_ANSWER) when the
 * rule has no answer at any pressure, saying why at the first; (LB_NUMERIC) naming speed and
 * pressure; and with LB_NO_MEMORY. */
enum lb_status lb_curves_find(struct lb_curves *curves, const struct lb_machine *machine,
                              const struct lb_curves_question *question, struct lb_error *error);

/* Takes empty ones too. */
void lb_curves_free(struct lb_curves *curves);

#ifdef __cplusplus
}
#endif

#endif
