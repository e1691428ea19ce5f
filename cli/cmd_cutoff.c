/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar cutoff: where to shut the inlet.
 */
#include "command.h"
#include "input.h"
#include "message.h"

#include "decide/remarks.h"
#include "paper/answer_cutoff.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct option_row rows[] = {OPTION_SET,    OPTION_EXPANSION, OPTION_RULE,
                                         OPTION_MARGIN, OPTION_UNITS,     OPTION_JSON,
                                         OPTION_CSV,    OPTION_HELP,      OPTION_END};

/* The answer of a machine. */
static enum lb_status find(struct lb_cutoff_answer *answer, const struct lb_machine *machine,
                           double margin, struct lb_error *error) {
  struct lb_cycle *cycle = lb_cycle_new();
  if (!cycle)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the calculation");
  enum lb_status status = lb_cycle_prepare(cycle, machine, error);
  if (status == LB_OK)
    status = lb_cutoff_find(answer, cycle, margin, error);
  lb_cycle_free(cycle);
  return status;
}

static enum lb_status print(const struct lb_cutoff_paper *paper, const struct options *options,
                            struct lb_error *error) {
  char *text = NULL;
  enum lb_status status = options->json ? lb_answer_cutoff_json(&text, paper, error)
                          : options->csv
                              ? lb_answer_cutoff_csv(&text, paper, error)
                              : lb_answer_cutoff_text(&text, paper, options->inch, error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  return status;
}

static int answer(const struct input *input, const struct options *options) {
  struct lb_warning warning[LB_WARNINGS_MOST + LB_REMARKS_MOST];
  struct lb_cutoff_answer found;
  struct lb_error error;
  enum lb_status status = find(&found, &input->machine, options->margin, &error);
  if (status == LB_OK) {
    memcpy(warning, input->warning, sizeof input->warning);
    size_t count = input->warnings;
    count += lb_remarks_cutoff(warning + count, &input->machine, &found);
    const struct lb_cutoff_paper paper = {&input->machine, &found, options->margin, warning, count};
    status = print(&paper, options, &error);
  }
  if (status != LB_OK) {
    error.file = options->operand[0];
    return message_error(&error, options);
  }
  return found.choice[options->rule].found ? ANSWERED : message_no_answer(options);
}

static int run(const struct options *options) {
  struct input input;
  int status = input_read(&input, options);
  if (status == ANSWERED)
    status = answer(&input, options);
  input_free(&input);
  return status;
}

const struct command command_cutoff = {
    .name = "cutoff",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "where to shut the inlet, and what that gives and costs",
    .description = "Finds the crank angle at which each inlet has to shut so that the air is\n"
                   "released at ambient pressure, and the one that gives the most work from the\n"
                   "air, and compares both with the timing in FILE. FILE - is standard input.\n",
    .example = "lastbar cutoff --set 'supply.pressure=5 bar gauge' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
