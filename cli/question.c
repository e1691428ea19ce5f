/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Questions about one machine.
 */
#include "question.h"

#include "command.h"
#include "message.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The machine's and the answer's warnings, one after the other. */
static void collect_warnings(struct question *q, const struct input *input, bool alone) {
  struct lb_cutoff_answer answer = q->answer;
  const struct lb_machine *m = &input->machine;
  bool own = (m->works[LB_CAP_END] && m->timing[LB_CAP_END].cutoff_given) ||
             (m->works[LB_ROD_END] && m->timing[LB_ROD_END].cutoff_given);
  /* a file without a cut-off is timed by the atmospheric rule, and remarked on under that name */
  enum lb_rule told = q->paper.rule == LB_AS_TIMED && !own ? LB_ATMOSPHERIC : q->paper.rule;
  for (int rule = 0; alone && rule < LB_RULES; rule++)
    if (rule != (int)told)
      answer.choice[rule].found = false;
  memcpy(q->warning, input->warning, sizeof input->warning);
  q->paper.warning = q->warning;
  q->paper.warnings = input->warnings;
  q->paper.warnings += lb_remarks_cutoff(q->warning + input->warnings, &input->machine, &answer);
}

/* What there is to say about the choice, and about dead volumes that are not known. */
static enum lb_status look_closer(struct question *q, const struct input *input,
                                  struct lb_error *error) {
  const struct lb_choice *choice = &q->answer.choice[q->paper.rule];
  enum lb_status status = LB_OK;
  if (choice->found) {
    status = lb_detail_find(&q->detail, q->cycle, choice->cutoff, error);
    q->paper.detail = &q->detail;
  }
  if (status == LB_OK && lb_machine_assumes(&input->machine)) {
    status = lb_cutoff_assume(q->assumed, &input->machine, q->paper.margin, error);
    q->paper.assumed = q->assumed;
  }
  return status;
}

enum lb_status question_ask(struct question *question, const struct input *input,
                            const struct options *options, enum lb_rule rule, bool alone,
                            struct lb_error *error) {
  struct question *q = question;
  q->paper = (struct lb_cutoff_paper){.machine = &input->machine,
                                      .answer = &q->answer,
                                      .margin = options->margin,
                                      .rule = rule,
                                      .disc = options->disc,
                                      .sketch = options->sketch};
  q->cycle = lb_cycle_new();
  if (!q->cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  enum lb_status status = lb_cycle_prepare(q->cycle, &input->machine, error);
  if (status == LB_OK)
    status = lb_cutoff_find(&q->answer, q->cycle, options->margin, error);
  if (status == LB_OK)
    status = look_closer(q, input, error);
  if (status == LB_OK)
    collect_warnings(q, input, alone);
  return status;
}

void question_free(struct question *question) {
  lb_cycle_free(question->cycle);
}

int question_print(struct question *question, char *text, enum lb_status status,
                   struct lb_error *error, const struct options *options) {
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  if (status != LB_OK) {
    error->file = options->operand[0];
    return message_error(error, options);
  }
  const struct lb_choice *choice = &question->answer.choice[question->paper.rule];
  return choice->found ? ANSWERED : message_no_answer(options, question->paper.rule);
}
