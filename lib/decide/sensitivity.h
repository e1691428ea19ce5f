/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a degree costs: exact derivatives of release pressure, work and air, and how far an event
 * may be off before the builder would notice.
 */
#ifndef LASTBAR_DECIDE_SENSITIVITY_H
#define LASTBAR_DECIDE_SENSITIVITY_H

#include "stroke/cycle.h"
#include "stroke/timing.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How an end's release pressure and the whole machine's work and air change with one quantity, per
 * [rad] of an event, [m3] of dead volume of one chamber in every cylinder, [Pa] of supply. */
struct lb_sensitivity {
  enum lb_end end;
  enum lb_varied varied;
  double release_pressure; /* [Pa per unit] of this end */
  double work;             /* [J per unit] per revolution, after friction */
  double air;              /* [kg per unit] per revolution */
};

enum {
  LB_SENSITIVITIES = LB_ENDS * LB_VARIED
};

/* All of them, worked end by worked end in the order of enum lb_varied.
 * row     out: row[LB_SENSITIVITIES]
 * count   out: how many rows there are
 * cutoff  cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * Derivatives are exact; where an event sits on a corner of the model (see lb_chamber_tangent) they
 * are those of one side. Fails (LB_NUMERIC) as lb_force_integrate. */
enum lb_status lb_sensitivity_find(struct lb_sensitivity *row, size_t *count,
                                   const struct lb_cycle *cycle, const double *cutoff,
                                   struct lb_error *error);

/* How far an event may move, earlier and later, before something is lost [rad], both >= 0. Where
 * nothing is lost up to the event before or after it, or up to LB_TOLERANCE_MOST, that distance
 * is given and `limited` is set. */
struct lb_tolerance {
  double earlier, later;
  bool earlier_limited, later_limited;
};

/* As far as a tolerance is looked for [degrees]. */
enum {
  LB_TOLERANCE_MOST_DEG = 90
};

/* The tolerance of one event of one end, all others and the other end held.
 * work      out: work per kilogram of air stays at or above 99 % of what it is
 * pressure  out: the end's release pressure stays within 0.1 bar of what it is
 * event     LB_VARIED_INLET_OPENS ... LB_VARIED_EXHAUST_CLOSES
 * Fails (LB_NO_ANSWER) when the machine gives no work, (LB_NO_MEMORY), (LB_NUMERIC). */
enum lb_status lb_sensitivity_tolerance(struct lb_tolerance *work, struct lb_tolerance *pressure,
                                        const struct lb_cycle *cycle, const double *cutoff,
                                        enum lb_end end, enum lb_varied event,
                                        struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
