/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For the tests of the timing sheet: machines whose angles are easy to work out, any timing at all,
 * and the sheet of one.
 */
#ifndef LASTBAR_TESTS_TIMING_MAKER_H
#define LASTBAR_TESTS_TIMING_MAKER_H

#include "sheet_maker.h"

#include <stdint.h>

/* A Scotch yoke of 100 mm stroke, double-acting: inlet opens -6, cut-off 60, release 150, exhaust
 * closes 300 deg. */
extern const char timing_maker_yoke[];

/* A connecting rod of 120 mm, 30 mm off its line, 100 mm stroke, and dead volumes that nobody
 * knows: -5, 50, 170, 340 deg. */
extern const char timing_maker_odd[];

/* Of that one: the radius of its crank [mm], and the crank angle of its rod-end dead centre [rad].
 */
double timing_maker_odd_radius(void);
double timing_maker_odd_rod_end(void);

/* All that a sheet of a machine is made of; static, to be ended before the next one begins.
 * override  of the text, or NULL */
struct sheet_maker *timing_maker_begin(const char *text, const char *override);

/* Draw the sheet; it has one page. The drawing is to be freed. */
void timing_maker_draw(struct lb_drawing *drawing, const struct sheet_maker *maker);

/* Give a sheet any timing: events from a tenth of a degree to a turn apart, the two ends anywhere
 * or in the same place of the crank, either rotation. Its figures stay those of the timing it had.
 */
void timing_maker_random(struct sheet_maker *maker, uint64_t *state);

#endif
