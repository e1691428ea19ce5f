/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer about cut-offs (decide/cutoff.h) as a note to read, as JSON and as CSV.
 *
 * The note reads from the top: where to shut the inlet, what that gives and costs, what lies behind
 * it, then warnings. JSON and CSV hold the same figures in SI units with absolute pressures, their
 * names ending in the unit.
 */
#ifndef LASTBAR_PAPER_ANSWER_CUTOFF_H
#define LASTBAR_PAPER_ANSWER_CUTOFF_H

#include "decide/cutoff.h"
#include "decide/detail.h"
#include "machine/check.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What an answer is made of. Everything is borrowed. */
struct lb_cutoff_paper {
  const struct lb_machine *machine;
  const struct lb_cutoff_answer *answer; /* of that machine */
  double margin;                         /* [Pa] with which it was found */
  double speed;                          /* [rad/s] at which; 0: slow; infinite: at several */
  enum lb_rule rule;                     /* the question asked */
  const struct lb_detail *detail;        /* of that choice; NULL when it has no answer */
  const struct lb_assumed *assumed;      /* assumed[LB_DEAD_VOLUMES], or NULL: none is unknown */
  double disc; /* [m] diameter on which tolerances are also given in length; 0: none */
  bool sketch; /* with the timing circle of that choice in letters */
  const struct lb_warning *warning; /* warning[warnings] */
  size_t warnings;
};

/* The note, in lines of at most 79 columns as long as names and figures are of usual length.
 * text  out: [UTF-8] to be released with free; unchanged on failure
 * inch  whether to use inch units
 * Fails with LB_NO_MEMORY. */
enum lb_status lb_answer_cutoff_text(char **text, const struct lb_cutoff_paper *paper, bool inch,
                                     struct lb_error *error);

/* One JSON object. An end that does not work is null, and so is a figure that does not apply.
 * json  out: as above
 * Fails with LB_NO_MEMORY, and with LB_BAD_INPUT when the machine's name is not UTF-8. */
enum lb_status lb_answer_cutoff_json(char **json, const struct lb_cutoff_paper *paper,
                                     struct lb_error *error);

/* CSV with one row for each choice and worked end. Fails likewise. */
enum lb_status lb_answer_cutoff_csv(char **csv, const struct lb_cutoff_paper *paper,
                                    struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
