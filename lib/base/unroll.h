/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For small functions in the innermost loops: the compiler puts them into every caller anew, where
 * it may know how often a loop runs, and unrolls it.
 */
#ifndef LASTBAR_BASE_UNROLL_H
#define LASTBAR_BASE_UNROLL_H

#define LB_UNROLLED static inline __attribute__((always_inline))

#endif
