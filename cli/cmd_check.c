/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar check: what was understood of a machine file.
 */
#include "command.h"
#include "input.h"
#include "message.h"

#include "paper/answer_check.h"

#include <stdio.h>
#include <stdlib.h>

static const struct option_row rows[] = {OPTION_SET, OPTION_EXPANSION, OPTION_UNITS, OPTION_JSON,
                                         OPTION_CSV, OPTION_HELP,      OPTION_END};

static int answer(const struct input *input, const struct options *options) {
  const struct lb_check_paper paper = {&input->machine, &input->given,  options->operand[0],
                                       options->inch,   input->warning, input->warnings};
  char *text;
  struct lb_error error;
  enum lb_status status = options->json  ? lb_answer_check_json(&text, &paper, &error)
                          : options->csv ? lb_answer_check_csv(&text, &paper, &error)
                                         : lb_answer_check_text(&text, &paper, &error);
  if (status != LB_OK)
    return message_error(&error, options);
  fputs(text, stdout);
  free(text);
  return ANSWERED;
}

static int run(const struct options *options) {
  return input_answer(options, answer);
}

const struct command command_check = {
    .name = "check",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "what was understood of a machine file, as given and in SI",
    .description =
        "Reads FILE and shows every key as given and in SI units, what holds where none\n"
        "was given, warnings, and what to type next. FILE - is standard input.\n",
    .example = "lastbar check data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
