/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar cutoff: where to shut the inlet.
 */
#include "command.h"
#include "input.h"
#include "question.h"
#include "running.h"

#include "paper/answer_cutoff.h"

static const struct option_row rows[] = {
    OPTION_SET,    OPTION_EXPANSION, OPTION_RULE, OPTION_MARGIN, OPTION_SPEED, OPTION_DISC,
    OPTION_SKETCH, OPTION_UNITS,     OPTION_JSON, OPTION_CSV,    OPTION_HELP,  OPTION_END};

static enum lb_status write_running(char **text, const struct lb_running_paper *paper,
                                    const struct options *options, struct lb_error *error) {
  return options->json  ? lb_answer_running_cutoff_json(text, paper, error)
         : options->csv ? lb_answer_running_cutoff_csv(text, paper, error)
                        : lb_answer_running_cutoff_text(text, paper, options->inch, error);
}

static int answer(const struct input *input, const struct options *options) {
  struct question q;
  struct lb_error error;
  char *text = NULL;
  if (options->speed > 0)
    return running_answer(input, options, options->rule, false, write_running);
  enum lb_status status = question_ask(&q, input, options, options->rule, false, &error);
  if (status == LB_OK)
    status = options->json  ? lb_answer_cutoff_json(&text, &q.paper, &error)
             : options->csv ? lb_answer_cutoff_csv(&text, &q.paper, &error)
                            : lb_answer_cutoff_text(&text, &q.paper, options->inch, &error);
  int exit_status = question_print(&q, text, status, &error, options);
  question_free(&q);
  return exit_status;
}

static int run(const struct options *options) {
  return input_answer(options, answer);
}

const struct command command_cutoff = {
    .name = "cutoff",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "where to shut the inlet, and what that gives and costs",
    .description =
        "Finds the crank angle at which each inlet has to shut so that the air is\n"
        "released at ambient pressure, and the one that gives the most work from the\n"
        "air, and compares both with the timing in FILE. Of one of them it tells whether\n"
        "the machine starts, where the worth of the air goes, how exact the cut-off must\n"
        "be. With --speed both are found for that speed with what really flows, and when\n"
        "to switch valves that follow late. FILE - is standard input.\n",
    .example = "lastbar cutoff --set 'supply.pressure=5 bar gauge' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
