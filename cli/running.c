/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Questions about one machine at a speed.
 */
#include "running.h"

#include "command.h"
#include "message.h"

#include <stdio.h>
#include <stdlib.h>

/* The answers of the rules, and everything about the one asked for. */
struct running {
  struct lb_gas *gas;
  struct lb_running_choice choice, own; /* the one asked for; as timed, if that was asked too */
  struct lb_cutoff_answer answer;
  struct lb_advice advice;
  struct lb_warning warning[LB_WARNINGS_MOST + LB_ADVICE_WARNINGS];
  struct lb_running_paper paper;
};

/* The machine's warnings but those about the slow cycle, and what there is to say at the speed. */
static void collect_warnings(struct running *r, const struct input *input) {
  size_t count = input_warnings_at_speed(r->warning, input);
  const struct lb_running_choice *told = r->choice.found ? &r->choice : &r->own;
  if (told->found)
    count += lb_advice_warnings(r->warning + count, &input->machine, told);
  r->paper.paper.warning = r->warning;
  r->paper.paper.warnings = count;
}

/* Ask every rule that is shown, the one asked for last: its revolution stays in the workspace. */
static enum lb_status ask_rules(struct running *r, const struct lb_cutoff_paper *paper, bool alone,
                                struct lb_error *error) {
  enum lb_status status = LB_OK;
  for (int i = 1; i <= LB_ECONOMY + 1 && status == LB_OK; i++) {
    enum lb_rule rule = (enum lb_rule)((paper->rule + (unsigned)i) % (LB_ECONOMY + 1));
    if (alone && rule != paper->rule)
      continue;
    status = lb_running_cutoff(&r->choice, r->gas, paper->machine, rule, paper->margin,
                               paper->speed, error);
    if (status == LB_OK && rule == LB_AS_TIMED)
      r->own = r->choice;
    if (status == LB_OK)
      lb_answer_running_choice(&r->answer.choice[rule], paper->machine, &r->choice);
  }
  return status;
}

/* The advice, then the revolution once more with the worth of its air. */
static enum lb_status look_closer(struct running *r, const struct lb_cutoff_paper *paper,
                                  struct lb_error *error) {
  if (!r->choice.found)
    return LB_OK;
  enum lb_status status = lb_advice_find(&r->advice, r->gas, paper->machine, &r->choice, error);
  if (status != LB_OK)
    return status;
  r->paper.advice = &r->advice;
  return lb_running_follow(&r->choice, r->gas, paper->machine, error);
}

static enum lb_status ask(struct running *r, const struct input *input,
                          const struct options *options, enum lb_rule rule, bool alone,
                          struct lb_error *error) {
  *r = (struct running){0};
  r->gas = lb_gas_new();
  if (!r->gas)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  r->paper = (struct lb_running_paper){.paper = {.machine = &input->machine,
                                                 .answer = &r->answer,
                                                 .margin = options->margin,
                                                 .speed = options->speed,
                                                 .rule = rule},
                                       .choice = &r->choice,
                                       .gas = r->gas};
  enum lb_status status = ask_rules(r, &r->paper.paper, alone, error);
  if (status == LB_OK)
    status = look_closer(r, &r->paper.paper, error);
  if (status == LB_OK)
    collect_warnings(r, input);
  return status;
}

int running_answer(const struct input *input, const struct options *options, enum lb_rule rule,
                   bool alone,
                   enum lb_status (*write)(char **text, const struct lb_running_paper *paper,
                                           const struct options *options, struct lb_error *error)) {
  if (options->sketch || options->disc > 0)
    return message_usage(options->command,
                         "%s is for the slow cycle; leave out --speed, or leave it out",
                         options->sketch ? "--sketch" : "--disc");
  struct running *r = malloc(sizeof *r);
  struct lb_error error = {0};
  char *text = NULL;
  enum lb_status status = r ? ask(r, input, options, rule, alone, &error)
                            : lb_error_set(&error, LB_NO_MEMORY, "no memory for an answer");
  if (status == LB_OK)
    status = write(&text, &r->paper, options, &error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  bool found = status == LB_OK && r->choice.found;
  if (r)
    lb_gas_free(r->gas);
  free(r);
  if (status == LB_OK)
    return found ? ANSWERED : message_no_answer(options, rule);
  error.file = options->operand[0];
  return message_error(&error, options);
}
