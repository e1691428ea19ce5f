/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The timing circle in plain text, for a place where only letters survive.
 *
 * One ring for each worked end, its own dead centre up, drawn in the direction of rotation: what
 * the valves do is told by the mark of the ring, an event by a letter on it.
 */
#ifndef LASTBAR_PAPER_SKETCH_H
#define LASTBAR_PAPER_SKETCH_H

#include "machine/machine.h"
#include "paper/text.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Add the sketch, a line with the angles under each ring, and what the marks mean.
 * cutoff  cutoff[LB_ENDS] [rad] after each end's own dead centre; not read for an idle end
 * No line is longer than 78 columns, all of it is ASCII, no line ends in blanks. */
void lb_sketch_timing(struct lb_text *text, const struct lb_machine *machine, const double *cutoff);

#ifdef __cplusplus
}
#endif

#endif
