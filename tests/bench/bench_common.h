/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the programs of the benchmark share: the machine, the clock, whether allocations are seen.
 */
#ifndef LASTBAR_TESTS_BENCH_BENCH_COMMON_H
#define LASTBAR_TESTS_BENCH_BENCH_COMMON_H

#include "machine/machine.h"

/* Read the machine; false, with the reasons on standard error, when it cannot be. */
bool bench_read_machine(struct lb_machine *machine, const char *path);

/* Processor time of the process [s] since some moment. */
double bench_processor_time(void);

/* Sort an odd number of times, so that the median stands in the middle. */
void bench_sort(double *time, int count);

/* Whether the count of allocations would see one inside the library; if not, standard error says
 * so. */
bool bench_sees_allocations(void);

#endif
