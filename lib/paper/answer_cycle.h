/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One revolution as timed: what happens at each event, what it gives, whether it starts, where the
 * worth of the air goes and how exact it must be; as a note to read, as JSON, and the curve over
 * the crank angle as CSV.
 */
#ifndef LASTBAR_PAPER_ANSWER_CYCLE_H
#define LASTBAR_PAPER_ANSWER_CYCLE_H

#include "paper/answer_cutoff.h"

#ifdef __cplusplus
extern "C" {
#endif

/* The note about the choice that paper->rule names. Without an answer to it the note says why.
 * text  out: [UTF-8] to be released with free; unchanged on failure
 * Fails with LB_NO_MEMORY. */
enum lb_status lb_answer_cycle_text(char **text, const struct lb_cutoff_paper *paper, bool inch,
                                    struct lb_error *error);

/* One JSON object with the choice under "result". Without an answer "audit" and "torque" are null.
 * cycle  prepared for the machine, for the torque over the crank angle
 * Fails with LB_NO_MEMORY, and with LB_BAD_INPUT when the machine's name is not UTF-8. */
enum lb_status lb_answer_cycle_json(char **json, const struct lb_cutoff_paper *paper,
                                    const struct lb_cycle *cycle, struct lb_error *error);

/* CSV with one row for each degree of the crank, 0 ... 360: torque of the machine and of the first
 * cylinder, running and at standstill, pressure and volume of that cylinder's chambers. Empty
 * without an answer. Fails likewise. */
enum lb_status lb_answer_cycle_csv(char **csv, const struct lb_cutoff_paper *paper,
                                   const struct lb_cycle *cycle, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
