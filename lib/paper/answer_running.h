/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Answers about the machine at a speed: the cut-offs of decide/running_cutoff.h, one revolution,
 * and what takes work away there (decide/advice.h); as a note to read, as JSON and as CSV. Notes
 * and keys are those of the slow answers as far as they go, so that both can be compared line by
 * line.
 */
#ifndef LASTBAR_PAPER_ANSWER_RUNNING_H
#define LASTBAR_PAPER_ANSWER_RUNNING_H

#include "decide/advice.h"
#include "paper/answer_cutoff.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What an answer is made of. Everything is borrowed. */
struct lb_running_paper {
  struct lb_cutoff_paper paper; /* with its speed; of the answer's choices those as timed, of the
                                   atmospheric rule and of economy; no detail, nothing assumed */
  const struct lb_running_choice *choice; /* the one asked for, also when it has no answer */
  const struct lb_advice *advice;         /* of it; NULL when it has none */
  const struct lb_gas *gas;               /* with its revolution */
};

/* A choice at a speed as one of the slow cycle's form. */
void lb_answer_running_choice(struct lb_choice *slow, const struct lb_machine *machine,
                              const struct lb_running_choice *choice);

/* Where to shut the inlet at the speed, and what takes work away.
 *
 * text, json, csv  out: [UTF-8] to be released with free; unchanged on failure
 * inch             whether to use inch units
 * Fail with LB_NO_MEMORY; JSON and CSV with LB_BAD_INPUT when the machine's name is not UTF-8. */
enum lb_status lb_answer_running_cutoff_text(char **text, const struct lb_running_paper *paper,
                                             bool inch, struct lb_error *error);
enum lb_status lb_answer_running_cutoff_json(char **json, const struct lb_running_paper *paper,
                                             struct lb_error *error);
enum lb_status lb_answer_running_cutoff_csv(char **csv, const struct lb_running_paper *paper,
                                            struct lb_error *error);

/* One revolution at the speed: its events, what it gives, where the worth of the air goes. The CSV
 * has a row for each step of the solution and end, by rising crank angle. Fail likewise. */
enum lb_status lb_answer_running_cycle_text(char **text, const struct lb_running_paper *paper,
                                            bool inch, struct lb_error *error);
enum lb_status lb_answer_running_cycle_json(char **json, const struct lb_running_paper *paper,
                                            struct lb_error *error);
enum lb_status lb_answer_running_cycle_csv(char **csv, const struct lb_running_paper *paper,
                                           struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
