/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Everything there is to say about one timing: torque and starting, where the worth of the air
 * goes, what a degree costs and how exact each event must be.
 */
#ifndef LASTBAR_DECIDE_DETAIL_H
#define LASTBAR_DECIDE_DETAIL_H

#include "decide/sensitivity.h"
#include "stroke/audit.h"
#include "stroke/torque.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_EVENTS = LB_VARIED_EXHAUST_CLOSES + 1 /* the events of one end */
};

struct lb_detail {
  double cutoff[LB_ENDS]; /* [rad] the timing it is about */
  struct lb_revolution revolution;
  struct lb_audit audit;
  struct lb_torque_range running, standstill; /* of the whole machine */
  struct lb_arc arc[LB_ARCS_MOST];            /* arc[arcs]: the dead arcs against the load */
  size_t arcs;
  struct lb_starting_supply starting;                  /* against the load */
  struct lb_sensitivity sensitivity[LB_SENSITIVITIES]; /* sensitivity[sensitivities] */
  size_t sensitivities;
  bool tolerances_found; /* false when the machine gives no work that could be lost */
  struct lb_tolerance work[LB_ENDS][LB_EVENTS];     /* 1 % of work per kilogram; worked ends */
  struct lb_tolerance pressure[LB_ENDS][LB_EVENTS]; /* 0.1 bar at release */
};

/* All of it.
 * detail  out
 * cutoff  cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * The load is that of the machine. Fails as lb_cycle_turn, with LB_NO_MEMORY and LB_NUMERIC. */
enum lb_status lb_detail_find(struct lb_detail *detail, const struct lb_cycle *cycle,
                              const double *cutoff, struct lb_error *error);

/* The part of the revolution that is dead [rad]. */
double lb_detail_dead(const struct lb_detail *detail);

#ifdef __cplusplus
}
#endif

#endif
