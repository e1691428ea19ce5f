/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why the machine gives less at a speed than slowly, and what would cure it: every cause is taken
 * away in turn, all others left as they are, and the revolution calculated again. The gains do not
 * add up to the whole, because one cause often hides another.
 */
#ifndef LASTBAR_DECIDE_ADVICE_H
#define LASTBAR_DECIDE_ADVICE_H

#include "decide/running_cutoff.h"
#include "machine/check.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What can take work away. */
enum lb_cause {
  LB_CAUSE_INLET,       /* the inlet's restriction */
  LB_CAUSE_EXHAUST,     /* the exhaust's */
  LB_CAUSE_RAMP,        /* valves that open and shut slowly */
  LB_CAUSE_DELAY,       /* valves that follow late, where the angles are those of switching */
  LB_CAUSE_SUPPLY_LINE, /* the line to the receiver */
  LB_CAUSE_LEAKAGE,     /* past piston, rod and seats */
  LB_CAUSE_HEAT,        /* from the walls, which may give work as well */
  LB_CAUSE_DEAD_VOLUME,
  LB_CAUSE_FRICTION,
  LB_CAUSES
};

/* A cause in words: "flow through the inlet" ... */
const char *lb_advice_cause(enum lb_cause cause);

/* The machine without one cause. */
struct lb_without {
  bool applies;       /* the machine has it */
  double work;        /* [J] per revolution after friction, of all cylinders */
  double work_per_kg; /* [J/kg] */
};

struct lb_advice {
  struct lb_revolution slow; /* slow and adiabatic, with the same events */
  struct lb_without without[LB_CAUSES];
  double wanted; /* [1] share of the slow work asked of wider valves */
  double wider;  /* both valves this many times as wide would give it; 1 or less: they do; 0: no
                    width would */
};

/* Work it out for a choice.
 *
 * advice  out
 * choice  one that was found for this machine at this speed
 * Fails as lb_gas_solve and lb_cycle_turn, and with LB_NO_MEMORY. */
enum lb_status lb_advice_find(struct lb_advice *advice, struct lb_gas *gas,
                              const struct lb_machine *machine,
                              const struct lb_running_choice *choice, struct lb_error *error);

enum {
  LB_ADVICE_WARNINGS = 12 /* at most */
};

/* What to be warned of at a speed: codes "piston_speed", "valves_overlap", "valve_window",
 * "short_ramp", "above_rated_pressure", "ice" and "no_work".
 *
 * warning  out: warning[LB_ADVICE_WARNINGS]
 * Returns their number. */
size_t lb_advice_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                          const struct lb_running_choice *choice);

/* Only whether the piston moves faster than the cylinder bears.
 *
 * warning  out: warning[1]
 * Returns their number, 0 or 1. */
size_t lb_advice_piston_speed(struct lb_warning *warning, const struct lb_machine *machine,
                              double speed);

#ifdef __cplusplus
}
#endif

#endif
