/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two cut-offs of the trolley once more, in long double and by other means: what both searches
 * of the benchmark are judged by. Nothing of the library is called.
 *
 * - The air is followed revolution after revolution until it repeats itself, instead of solving the
 *   balance.
 * - Friction's integral of |net gas force| goes from event to event over the crank angle, the
 *   change of sign found by bisection.
 * - The best cut-offs are where differences of W/m of the sixth order vanish; no derivative is
 *   formed.
 */
#ifndef LASTBAR_TESTS_BENCH_REFERENCE_H
#define LASTBAR_TESTS_BENCH_REFERENCE_H

#include "machine/machine.h"

#include <stdbool.h>

struct reference {
  long double atmospheric[LB_ENDS], economy[LB_ENDS]; /* [rad] after each end's own dead centre */
  long double work_per_kg; /* [J/kg] at the economical cut-offs, after friction */
  long double doubt;       /* [rad] by which the economical angles move when the differences are
                              taken over half the step */
};

/* Find them. False when the machine is not of the trolley's kind: one or more double-acting
 * swinging cylinders, an inlet that opens with lead, an exhaust that opens before the far and
 * closes before the near dead centre, equal exponents above 1, and trapped air that stays below
 * supply pressure. */
bool reference_find(struct reference *reference, const struct lb_machine *machine);

#endif
