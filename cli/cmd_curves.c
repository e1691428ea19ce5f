/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar curves: torque, power and air over the speed.
 */
#include "command.h"
#include "input.h"
#include "message.h"

#include "base/units.h"
#include "decide/advice.h"
#include "machine/keys.h"
#include "paper/answer_curves.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  SPEEDS = 60 /* unless --points says otherwise */
};

static const struct option_row rows[] = {OPTION_PRESSURE, OPTION_FIRST_SPEED, OPTION_LAST_SPEED,
                                         OPTION_POINTS,   OPTION_CYCLE_RULE,  OPTION_MARGIN,
                                         OPTION_SET,      OPTION_UNITS,       OPTION_JSON,
                                         OPTION_CSV,      OPTION_HELP,        OPTION_END};

/* The supply pressures. Returns false after saying which is none. */
static bool read_pressures(struct lb_curves_question *question, const struct input *input,
                           const struct options *options) {
  const struct lb_key *supply = lb_keys_find(NULL, "supply", "pressure");
  double ambient = input->machine.ambient_pressure;
  struct lb_error error;
  for (int i = 0; i < options->pressures; i++) {
    double *pressure = &question->pressure[question->pressures++];
    const char *text = options->pressure[i];
    if (lb_units_read(pressure, text, LB_PRESSURE, ambient, &error) != LB_OK ||
        lb_keys_limit(supply, *pressure, ambient, text, &error) != LB_OK) {
      message_usage(options->command, "--pressure: %s", error.text);
      return false;
    }
  }
  return true;
}

/* One end of the range of speeds; it stays 0 when it is not said. */
static bool read_speed(double *speed, const char *option, const char *value,
                       const struct options *options) {
  struct lb_error error;
  if (!value)
    return true;
  if (lb_units_read(speed, value, LB_ROTATIONAL_SPEED, 0, &error) == LB_OK && *speed > 0)
    return true;
  message_usage(options->command, "--%s: '%s' is no speed above 0; write e.g. '60 rpm'", option,
                value);
  return false;
}

static enum lb_status write_curves(char **text, const struct lb_curves_paper *paper,
                                   const struct options *options, struct lb_error *error) {
  return options->json  ? lb_answer_curves_json(text, paper, error)
         : options->csv ? lb_answer_curves_csv(text, paper, error)
                        : lb_answer_curves_text(text, paper, options->inch, error);
}

static int answer(const struct input *input, const struct options *options) {
  struct lb_curves_question question = {.rule = options->rule_given ? options->rule : LB_AS_TIMED,
                                        .margin = options->margin,
                                        .speeds = SPEEDS};
  struct lb_curves curves = {0};
  struct lb_warning warning[LB_WARNINGS_MOST + 1];
  struct lb_error error = {0};
  char *text = NULL;
  if (options->points > 0)
    question.speeds = (size_t)options->points;
  if (!read_pressures(&question, input, options) ||
      !read_speed(&question.from, "from", options->from, options) ||
      !read_speed(&question.to, "to", options->to, options))
    return BAD_USAGE;
  struct lb_curves_paper paper = {.machine = &input->machine,
                                  .curves = &curves,
                                  .rule = question.rule,
                                  .margin = question.margin,
                                  .warning = warning,
                                  .warnings = input_warnings_at_speed(warning, input)};
  enum lb_status status = lb_curves_find(&curves, &input->machine, &question, &error);
  if (status == LB_OK)
    paper.warnings += lb_advice_piston_speed(warning + paper.warnings, &input->machine,
                                             curves.speed[curves.speeds - 1]);
  if (status == LB_OK)
    status = write_curves(&text, &paper, options, &error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  lb_curves_free(&curves);
  if (status == LB_OK)
    return ANSWERED;
  error.file = options->operand[0];
  return message_error(&error, options);
}

static int run(const struct options *options) {
  return input_answer(options, answer);
}

const struct command command_curves = {
    .name = "curves",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "torque, power and air over the speed",
    .description =
        "Follows the machine in FILE over a range of speeds, for its supply pressure or\n"
        "for others, with real flow, heat and leakage: torque, power, air, pressure at\n"
        "release, the coldest air; and where it runs without load, gives most power,\n"
        "loses a tenth of its slow work, carries its load. The valves need a\n"
        "conductance. FILE - is standard input.\n",
    .example = "lastbar curves --pressure '5 bar gauge' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
