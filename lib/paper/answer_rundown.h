/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came of running a store down by every plan (duty/rundown.h) as a note to read, as JSON and
 * as CSV.
 */
#ifndef LASTBAR_PAPER_ANSWER_RUNDOWN_H
#define LASTBAR_PAPER_ANSWER_RUNDOWN_H

#include "duty/rundown.h"
#include "machine/check.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What an answer is made of. Everything is borrowed. */
struct lb_rundown_paper {
  const struct lb_machine *machine;
  const struct lb_rundown *rundown;
  enum lb_rule rule;                /* of the fixed timing */
  double margin;                    /* [Pa] with which it was found */
  const struct lb_warning *warning; /* warning[warnings] */
  size_t warnings;
};

/* The note: store and load, a row for each plan in a few tables, the fixed steps, where the worth
 * of the air went, which plan goes furthest and what would change that, and the least supply.
 *
 * text, json, csv  out: [UTF-8] to be released with free; unchanged on failure
 * inch             whether to use inch units
 * Fails with LB_NO_MEMORY; JSON and CSV with LB_BAD_INPUT when the machine's name is not UTF-8. */
enum lb_status lb_answer_rundown_text(char **text, const struct lb_rundown_paper *paper, bool inch,
                                      struct lb_error *error);

/* One object with "store", "load", "plans" and their course, and "verdict". */
enum lb_status lb_answer_rundown_json(char **json, const struct lb_rundown_paper *paper,
                                      struct lb_error *error);

/* One row for each plan, also for one that was not run. */
enum lb_status lb_answer_rundown_csv(char **csv, const struct lb_rundown_paper *paper,
                                     struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
