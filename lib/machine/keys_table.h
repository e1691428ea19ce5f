/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts that the table of keys is kept in. Use machine/keys.h, which knows it as one table.
 *
 * The limits in the rows are set where a value is certainly a slip of the pen, not where it is
 * merely unusual; unusual values are the business of the warnings.
 */
#ifndef LASTBAR_MACHINE_KEYS_TABLE_H
#define LASTBAR_MACHINE_KEYS_TABLE_H

#include "base/constants.h"
#include "machine/keys.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Units in which the limits are written. */
#define LB_ROW_DEGREE LB_DEGREE                   /* [rad] */
#define LB_ROW_RPM LB_RPM                         /* [rad/s] */
#define LB_ROW_BAR LB_BAR                         /* [Pa] */
#define LB_ROW_CELSIUS(t) ((t) + LB_ZERO_CELSIUS) /* [K] */

/* Where a member stands. */
#define LB_ROW_MACHINE(member) offsetof(struct lb_machine, member)
#define LB_ROW_TIMING(member) offsetof(struct lb_timing, member)

/* Some rows, in the order of the machine file. */
struct lb_keys_part {
  const struct lb_key *row; /* row[count] */
  size_t count;
};

extern const struct lb_keys_part lb_keys_of_air;      /* [machine] ... [air] */
extern const struct lb_keys_part lb_keys_of_cylinder; /* [cylinder] */
extern const struct lb_keys_part lb_keys_of_motion;   /* [linkage] and [timing] */
extern const struct lb_keys_part lb_keys_of_load;     /* [load] */
extern const struct lb_keys_part lb_keys_of_store;    /* [store] and [regulator] */
extern const struct lb_keys_part lb_keys_of_valve;    /* [inlet valve] and [exhaust valve] */
extern const struct lb_keys_part lb_keys_of_tube;     /* [tube] */
extern const struct lb_keys_part lb_keys_of_bench;    /* [switch disc] ... [encoder] */

#ifdef __cplusplus
}
#endif

#endif
