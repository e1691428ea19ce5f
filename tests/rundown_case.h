/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of running a store down: machines with a store and a load, filled in here, and what
 * becomes of them, without an excuse for failing.
 */
#ifndef LASTBAR_TESTS_RUNDOWN_CASE_H
#define LASTBAR_TESTS_RUNDOWN_CASE_H

#include "duty/rundown_parts.h"

#include <stdint.h>

/* A double-acting cylinder of 40 mm bore and 80 mm stroke on a yoke, with dead volume, friction and
 * valves of a known size; 3 L at 12 bar absolute, isothermal, 20 degC as the surroundings; a
 * regulator set to 5 bar absolute with a least difference of 0.3 bar; 4 N m; no coasting. The
 * supply comes at the temperature of the store. */
struct lb_machine rundown_case_machine(void);

/* The same cylinder, made simple: only the cap end works, no dead volume, no friction, isothermal
 * law, inlet open from dead centre to dead centre. */
struct lb_machine rundown_case_full_admission(void);

/* A random machine with a store and a load that it can carry from the full store. */
void rundown_case_random(struct lb_machine *machine, uint64_t *state);

/* Run it down with the machine's own timing. To be released with lb_rundown_free. */
struct lb_rundown *rundown_case_find(const struct lb_machine *machine, double speed, bool flips);

/* A plan's run of an answer; the test fails unless it is there. */
const struct lb_run *rundown_case_run(const struct lb_rundown *rundown, enum lb_plan plan,
                                      int steps);

/* A task opened for a machine with its own timing. To be released with rundown_case_close. */
struct rundown_case_task {
  struct lb_task task;
  struct lb_real_air *air;
};
struct rundown_case_task *rundown_case_open(const struct lb_machine *machine, double speed);
void rundown_case_close(struct rundown_case_task *open);

/* The run of the machine's own timing; set_pressure 0: on the store itself. The run is the
 * caller's, to be released with free. */
struct lb_run *rundown_case_fixed(const struct lb_machine *machine, double speed,
                                  double set_pressure);

/* A state of air; the test fails outside the table. */
struct lb_real_state rundown_case_air(const struct lb_real_air *air, double pressure,
                                      double temperature);

#endif
