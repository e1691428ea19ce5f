/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar rundown: how far a store of air carries the machine, by several plans.
 */
#include "command.h"
#include "input.h"
#include "message.h"
#include "rundown.h"

#include "decide/advice.h"
#include "paper/answer_rundown.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct option_row rows[] = {
    OPTION_RUN_SPEED, OPTION_FIXED_RULE, OPTION_MARGIN, OPTION_SET,  OPTION_EXPANSION,
    OPTION_UNITS,     OPTION_JSON,       OPTION_CSV,    OPTION_HELP, OPTION_END};

/* The warnings about the machine, at its speed, and about the runs. Returns their number. */
static size_t collect_warnings(struct lb_warning *warning, const struct input *input,
                               const struct options *options, const struct lb_rundown *rundown) {
  const struct lb_machine *machine = &input->machine;
  size_t count = input->warnings;
  if (options->speed > 0) {
    count = input_warnings_at_speed(warning, input);
    count += lb_advice_piston_speed(warning + count, machine, options->speed);
  } else {
    memcpy(warning, input->warning, sizeof input->warning);
  }
  return count + lb_rundown_warnings(warning + count, machine, rundown);
}

static enum lb_status write_rundown(char **text, const struct lb_rundown_paper *paper,
                                    const struct options *options, struct lb_error *error) {
  return options->json  ? lb_answer_rundown_json(text, paper, error)
         : options->csv ? lb_answer_rundown_csv(text, paper, error)
                        : lb_answer_rundown_text(text, paper, options->inch, error);
}

static int answer(const struct input *input, const struct options *options) {
  struct lb_warning warning[LB_WARNINGS_MOST + 1 + LB_RUNDOWN_WARNINGS];
  struct lb_error error = {0};
  char *text = NULL;
  struct lb_rundown *rundown = lb_rundown_new();
  struct lb_rundown_paper paper = {.machine = &input->machine,
                                   .rundown = rundown,
                                   .rule = options->rule_given ? options->rule : LB_AS_TIMED,
                                   .margin = options->margin,
                                   .warning = warning};
  enum lb_status status = rundown_ask(rundown, &input->machine, options, paper.rule, true, &error);
  if (status == LB_OK) {
    paper.warnings = collect_warnings(warning, input, options, rundown);
    status = write_rundown(&text, &paper, options, &error);
  }
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  lb_rundown_free(rundown);
  if (status == LB_OK)
    return ANSWERED;
  error.file = options->operand[0];
  return message_error(&error, options);
}

static int run(const struct options *options) {
  return input_answer(options, answer);
}

const struct command command_rundown = {
    .name = "rundown",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "how far a store of air carries it: regulated, or following",
    .description =
        "Runs the [store] in FILE down against its [load] by several plans: at its own\n"
        "pressure or behind the regulator with one fixed timing, behind a regulator set\n"
        "at best, with two to six fixed cut-offs, with a cut-off that follows the\n"
        "pressure. Revolutions, distance, work, what stays in the tank, force and cold\n"
        "of each; which goes furthest, by how much, and what would turn that round.\n"
        "Slowly; with --speed with real flow, heat and leakage. FILE - is standard\n"
        "input.\n",
    .example = "lastbar rundown --speed '120 rpm' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
