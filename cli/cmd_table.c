/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar table: the cut-off over supply pressures, for a controller.
 */
#include "command.h"
#include "input.h"
#include "message.h"

#include "base/constants.h"
#include "base/units.h"
#include "machine/keys.h"
#include "paper/controller.h"

#include <stdio.h>
#include <stdlib.h>

static const double tolerance = 0.1 * LB_DEGREE; /* [rad] of interpolation */
static const double step_bar = 0.05 * LB_BAR;    /* [Pa] round pressures, gauge */
static const double step_psi = 1 * LB_PSI;

static const struct option_row rows[] = {
    OPTION_TABLE_RULE, OPTION_MARGIN,    OPTION_SPEED, OPTION_FROM, OPTION_TO,
    OPTION_SET,        OPTION_EXPANSION, OPTION_UNITS, OPTION_JSON, OPTION_CSV,
    OPTION_C_HEADER,   OPTION_HELP,      OPTION_END};

/* An end of the range; it stays 0 when it is not said. */
static bool read_end(double *pressure, const char *option, const char *value,
                     const struct input *input, const struct options *options) {
  const struct lb_key *supply = lb_keys_find(NULL, "supply", "pressure");
  double ambient = input->machine.ambient_pressure;
  struct lb_error error;
  if (!value || (lb_units_read(pressure, value, LB_PRESSURE, ambient, &error) == LB_OK &&
                 lb_keys_limit(supply, *pressure, ambient, value, &error) == LB_OK))
    return true;
  message_usage(options->command, "--%s: %s", option, error.text);
  return false;
}

/* The table as the options want it. */
static enum lb_status write_table(char **text, const struct lb_controller *controller,
                                  const struct options *options, struct lb_error *error) {
  if (options->c_header)
    return lb_controller_code(text, controller, options->c_header, error);
  if (options->json)
    return lb_controller_json(text, controller, error);
  if (options->csv)
    return lb_controller_csv(text, controller, error);
  return lb_controller_text(text, controller, error);
}

/* Print the table of a range. */
static int print_table(const struct input *input, const struct options *options,
                       const struct lb_schedule_question *question) {
  struct lb_schedule schedule;
  struct lb_error error = {0};
  char *text = NULL;
  const struct lb_controller controller = {.machine = &input->machine,
                                           .schedule = &schedule,
                                           .rule = question->rule,
                                           .margin = question->margin,
                                           .speed = options->speed,
                                           .inch = options->inch,
                                           .file = input->name,
                                           .checksum = input->checksum,
                                           .changes = input->changes,
                                           .warning = input->warning,
                                           .warnings = input->warnings};
  enum lb_status status = options->c_header
                              ? lb_controller_schedule(&schedule, &input->machine, question, &error)
                              : lb_schedule_find(&schedule, &input->machine, question, &error);
  if (status == LB_OK)
    status = lb_controller_test(&controller, &error);
  if (status == LB_OK)
    status = write_table(&text, &controller, options, &error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  if (status == LB_OK)
    return ANSWERED;
  error.file = options->operand[0];
  return message_error(&error, options);
}

static int answer(const struct input *input, const struct options *options) {
  struct lb_schedule_question question = {.rule = options->rule,
                                          .margin = options->margin,
                                          .step = options->inch ? step_psi : step_bar,
                                          .tolerance = tolerance};
  if (!read_end(&question.from, "from", options->from, input, options) ||
      !read_end(&question.to, "to", options->to, input, options))
    return BAD_USAGE;
  return print_table(input, options, &question);
}

static int run(const struct options *options) {
  if (options->c_header && (options->json || options->csv))
    return message_usage(options->command, "--c-header and %s exclude each other",
                         options->json ? "--json" : "--csv");
  return input_answer(options, answer);
}

const struct command command_table = {
    .name = "table",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "cut-off over supply pressure, for a controller",
    .description = "Finds the cut-off of the machine in FILE over a range of supply pressures, in\n"
                   "rows from which a controller interpolates linearly to less than 0.1 deg: in\n"
                   "degrees, shares of stroke and turn, encoder counts and, with --speed, times,\n"
                   "with the angles at which valves with delays are to be switched. FILE - is\n"
                   "standard input.\n",
    .example = "lastbar table --speed '120 rpm' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
