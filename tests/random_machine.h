/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random machines for tests of invariants: seeded, valid by the rules of machine/machine.h, and of
 * every kind the slow cycle has a special case for. A test asserts with tally_require that it
 * really met them.
 */
#ifndef LASTBAR_TESTS_RANDOM_MACHINE_H
#define LASTBAR_TESTS_RANDOM_MACHINE_H

#include "machine/machine.h"

#include <stdint.h>

/* What a machine may be; several hold at once. Those of one end hold when any worked end has them.
 */
enum machine_case {
  CASE_CONNECTING_ROD,
  CASE_OFFSET,
  CASE_SWINGING,
  CASE_YOKE,
  CASE_DOUBLE_ACTING,
  CASE_CAP_END_ONLY,
  CASE_ROD_END_ONLY,
  CASE_THROUGH_ROD,
  CASE_SEVERAL_CYLINDERS,
  CASE_NO_DEAD_VOLUME,
  CASE_NO_COMPRESSION,
  CASE_OVER_COMPRESSION, /* trapped air rises above supply pressure */
  CASE_BLOW_BACK,        /* it still is above when the inlet opens */
  CASE_RELEASE_BELOW,    /* below back pressure */
  CASE_LEAD,
  CASE_LATE_INLET,
  CASE_EARLY_RELEASE,      /* before the far dead centre */
  CASE_LATE_RELEASE,       /* after it */
  CASE_LATE_CUTOFF,        /* after the far dead centre */
  CASE_EARLIEST_CUTOFF,    /* with the inlet's opening */
  CASE_LATE_CLOSING,       /* exhaust shuts after the near dead centre */
  CASE_EARLY_CLOSING,      /* exhaust shuts before the far dead centre */
  CASE_VACUUM,             /* supply is ambient, back pressure below */
  CASE_HIGH_BACK_PRESSURE, /* above ambient */
  CASE_ISOTHERMAL,
  CASE_ADIABATIC,
  CASE_EQUAL_BETWEEN, /* equal exponents between those two */
  CASE_UNEQUAL,
  CASE_FRICTION_SHARE,
  CASE_NO_FRICTION_SHARE,
  CASE_WARM_SUPPLY, /* warmer than the surroundings */
  CASE_COLD_SUPPLY,
  MACHINE_CASES
};

/* The next machine of a sequence; its cut-offs are given and valid, most on the stroke away. */
void random_machine(struct lb_machine *machine, uint64_t *state);

/* The machine's own cut-offs into cutoff[LB_ENDS]; 0 for an idle end. */
void random_machine_cutoff(double *cutoff, const struct lb_machine *machine);

/* Whether a machine, at its own cut-offs, is such a case; found without the library. */
bool machine_is(const struct lb_machine *machine, enum machine_case which);

/* How many machines of each case were seen. */
struct tally {
  int seen[MACHINE_CASES];
};
void tally_add(struct tally *tally, const struct lb_machine *machine);

/* Fail unless every case was seen at least `least` times. */
void tally_require(const struct tally *tally, int least);

#endif
