/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar cycle: one revolution as timed.
 */
#include "command.h"
#include "input.h"
#include "question.h"
#include "running.h"

#include "paper/answer_cycle.h"

static const struct option_row rows[] = {
    OPTION_SET,    OPTION_EXPANSION, OPTION_CYCLE_RULE, OPTION_MARGIN, OPTION_SPEED, OPTION_DISC,
    OPTION_SKETCH, OPTION_UNITS,     OPTION_JSON,       OPTION_CSV,    OPTION_HELP,  OPTION_END};

static enum lb_status write_running(char **text, const struct lb_running_paper *paper,
                                    const struct options *options, struct lb_error *error) {
  return options->json  ? lb_answer_running_cycle_json(text, paper, error)
         : options->csv ? lb_answer_running_cycle_csv(text, paper, error)
                        : lb_answer_running_cycle_text(text, paper, options->inch, error);
}

static int answer(const struct input *input, const struct options *options) {
  struct question q;
  struct lb_error error;
  char *text = NULL;
  enum lb_rule rule = options->rule_given ? options->rule : LB_AS_TIMED;
  if (options->speed > 0)
    return running_answer(input, options, rule, true, write_running);
  enum lb_status status = question_ask(&q, input, options, rule, true, &error);
  if (status == LB_OK)
    status = options->json  ? lb_answer_cycle_json(&text, &q.paper, q.cycle, &error)
             : options->csv ? lb_answer_cycle_csv(&text, &q.paper, q.cycle, &error)
                            : lb_answer_cycle_text(&text, &q.paper, options->inch, &error);
  int exit_status = question_print(&q, text, status, &error, options);
  question_free(&q);
  return exit_status;
}

static int run(const struct options *options) {
  return input_answer(options, answer);
}

const struct command command_cycle = {
    .name = "cycle",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "one revolution: torque, starting, losses, tolerances",
    .description =
        "Follows the machine in FILE through one slow revolution with the timing in the\n"
        "file, or that of a rule: pressure and temperature at each event, work and air,\n"
        "whether it starts, where the worth of the air goes, what a degree costs. With\n"
        "--speed through one at speed, with real flow, heat and leakage, and what each\n"
        "of them takes away. With --csv a row for each degree of the crank, at speed for\n"
        "each step of the calculation. FILE - is standard input.\n",
    .example = "lastbar cycle --sketch --disc '120 mm' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
