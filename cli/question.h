/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What commands about one machine ask the library: the answers of all rules, and everything about
 * the one that was asked for.
 */
#ifndef LASTBAR_CLI_QUESTION_H
#define LASTBAR_CLI_QUESTION_H

#include "decide/remarks.h"
#include "input.h"
#include "options.h"
#include "paper/answer_cutoff.h"
#include "stroke/cycle.h"

struct question {
  struct lb_cycle *cycle; /* prepared for the machine of the input */
  struct lb_cutoff_answer answer;
  struct lb_detail detail;
  struct lb_assumed assumed[LB_DEAD_VOLUMES];
  struct lb_warning warning[LB_WARNINGS_MOST + LB_REMARKS_MOST];
  struct lb_cutoff_paper paper; /* all of it, for lib/paper */
};

/* Ask.
 * question  out: to be released with question_free, also after a failure; it borrows the input
 * rule      the question asked
 * alone     whether the other rules do not matter: nothing is remarked on them
 * Returns LB_OK also when a rule has no answer. */
enum lb_status question_ask(struct question *question, const struct input *input,
                            const struct options *options, enum lb_rule rule, bool alone,
                            struct lb_error *error);

void question_free(struct question *question);

/* Print a text the library made, or say why there is none, and whether the question has an answer.
 * text  released here
 * Returns the exit status. */
int question_print(struct question *question, char *text, enum lb_status status,
                   struct lb_error *error, const struct options *options);

#endif
