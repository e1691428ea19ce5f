/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Counts what the process takes from the heap, to show that a timed loop takes nothing.
 *
 * malloc, calloc, realloc and free of the program stand before those of the C library, so the calls
 * of every library in the process are seen, whether it is linked in or loaded.
 */
#ifndef LASTBAR_TESTS_BENCH_ALLOCATIONS_H
#define LASTBAR_TESTS_BENCH_ALLOCATIONS_H

/* How often malloc, calloc and realloc were called since the process began; always 0 where another
 * allocator stands in front, as in a build with the address sanitizer and under valgrind. */
unsigned long allocations_count(void);

#endif
