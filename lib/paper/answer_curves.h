/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curves over the speed (decide/curves.h) as a note to read, as JSON and as CSV.
 */
#ifndef LASTBAR_PAPER_ANSWER_CURVES_H
#define LASTBAR_PAPER_ANSWER_CURVES_H

#include "decide/curves.h"
#include "machine/check.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What an answer is made of. Everything is borrowed. */
struct lb_curves_paper {
  const struct lb_machine *machine;
  const struct lb_curves *curves;
  enum lb_rule rule;
  double margin;                    /* [Pa] with which it was found */
  const struct lb_warning *warning; /* warning[warnings] */
  size_t warnings;
};

/* The note: the speeds a builder asks for, by supply pressure, and the curve of each in a few
 * steps.
 *
 * text, json, csv  out: [UTF-8] to be released with free; unchanged on failure
 * inch             whether to use inch units
 * Fails with LB_NO_MEMORY; JSON and CSV with LB_BAD_INPUT when the machine's name is not UTF-8. */
enum lb_status lb_answer_curves_text(char **text, const struct lb_curves_paper *paper, bool inch,
                                     struct lb_error *error);

/* One object with "curves", the speeds by supply pressure, and "points", all of them. */
enum lb_status lb_answer_curves_json(char **json, const struct lb_curves_paper *paper,
                                     struct lb_error *error);

/* One row for each point. */
enum lb_status lb_answer_curves_csv(char **csv, const struct lb_curves_paper *paper,
                                    struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
