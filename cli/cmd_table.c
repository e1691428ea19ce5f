/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar table: the cut-off over supply pressures or speeds, for a controller.
 */
#include "command.h"
#include "input.h"
#include "message.h"

#include "base/constants.h"
#include "base/units.h"
#include "decide/advice.h"
#include "machine/keys.h"
#include "paper/controller.h"

#include <stdio.h>
#include <stdlib.h>

static const double tolerance = 0.1 * LB_DEGREE;       /* [rad] of interpolation */
static const double speed_tolerance = 0.2 * LB_DEGREE; /* [rad] likewise, by speed */
static const double step_bar = 0.05 * LB_BAR;          /* [Pa] round pressures, gauge */
static const double step_psi = 1 * LB_PSI;

static const struct option_row rows[] = {
    OPTION_BY,  OPTION_TABLE_RULE, OPTION_MARGIN,    OPTION_SPEED, OPTION_FROM,
    OPTION_TO,  OPTION_SET,        OPTION_EXPANSION, OPTION_UNITS, OPTION_JSON,
    OPTION_CSV, OPTION_C_HEADER,   OPTION_HELP,      OPTION_END};

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

/* What a table is made of, but for its rows. */
static struct lb_controller controller_of(const struct input *input, const struct options *options,
                                          const struct lb_schedule *schedule) {
  return (struct lb_controller){.machine = &input->machine,
                                .schedule = schedule,
                                .rule = options->rule,
                                .margin = options->margin,
                                .speed = options->speed,
                                .inch = options->inch,
                                .file = input->name,
                                .checksum = input->checksum,
                                .changes = input->changes,
                                .warning = input->warning,
                                .warnings = input->warnings};
}

/* Print a table whose rows were found, or say why there is none. */
static int print_table(const struct lb_controller *controller, const struct options *options,
                       enum lb_status status, struct lb_error *error) {
  char *text = NULL;
  if (status == LB_OK)
    status = lb_controller_test(controller, error);
  if (status == LB_OK)
    status = write_table(&text, controller, options, error);
  if (status == LB_OK)
    fputs(text, stdout);
  free(text);
  if (status == LB_OK)
    return ANSWERED;
  error->file = options->operand[0];
  return message_error(error, options);
}

/* Print the table of a range of speeds. */
static int print_by_speed(const struct input *input, const struct options *options,
                          const struct lb_speed_question *question) {
  struct lb_warning warning[LB_WARNINGS_MOST + 1];
  struct lb_schedule schedule;
  struct lb_error error = {0};
  struct lb_controller controller = controller_of(input, options, &schedule);
  struct lb_speed_schedule *speeds = malloc(sizeof *speeds);
  enum lb_status status =
      speeds ? lb_speed_schedule_find(speeds, &input->machine, question, &error)
             : lb_error_set(&error, LB_NO_MEMORY, "no memory for the rows of a table");
  if (status == LB_OK)
    lb_controller_speed_rows(&schedule, speeds, &input->machine);
  controller.speeds = speeds;
  controller.warning = warning;
  controller.warnings = input_warnings_at_speed(warning, input);
  if (status == LB_OK)
    controller.warnings += lb_advice_piston_speed(warning + controller.warnings, &input->machine,
                                                  speeds->row[speeds->rows - 1].speed);
  int exit_status = print_table(&controller, options, status, &error);
  free(speeds);
  return exit_status;
}

static int answer_by_speed(const struct input *input, const struct options *options) {
  struct lb_speed_question question = {
      .rule = options->rule, .margin = options->margin, .tolerance = speed_tolerance};
  if (options->from && !options_read_speed(&question.from, "from", options->from, options))
    return BAD_USAGE;
  if (options->to && !options_read_speed(&question.to, "to", options->to, options))
    return BAD_USAGE;
  return print_by_speed(input, options, &question);
}

static int answer_by_pressure(const struct input *input, const struct options *options) {
  struct lb_schedule schedule;
  struct lb_error error = {0};
  struct lb_schedule_question question = {.rule = options->rule,
                                          .margin = options->margin,
                                          .step = options->inch ? step_psi : step_bar,
                                          .tolerance = tolerance};
  if (!read_end(&question.from, "from", options->from, input, options) ||
      !read_end(&question.to, "to", options->to, input, options))
    return BAD_USAGE;
  enum lb_status status =
      options->c_header ? lb_controller_schedule(&schedule, &input->machine, &question, &error)
                        : lb_schedule_find(&schedule, &input->machine, &question, &error);
  struct lb_controller controller = controller_of(input, options, &schedule);
  return print_table(&controller, options, status, &error);
}

static int run(const struct options *options) {
  if (options->c_header && (options->json || options->csv))
    return message_usage(options->command, "--c-header and %s exclude each other",
                         options->json ? "--json" : "--csv");
  if (options->by_speed && options->speed > 0)
    return message_usage(options->command,
                         "--speed is that of a table by pressure; with --by speed write --from and "
                         "--to, such as --from '30 rpm' --to '300 rpm'");
  return input_answer(options, options->by_speed ? answer_by_speed : answer_by_pressure);
}

const struct command command_table = {
    .name = "table",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "cut-off over supply pressure or speed, for a controller",
    .description = "Finds the cut-off of the machine in FILE over a range of supply pressures, in\n"
                   "rows from which a controller interpolates linearly to less than 0.1 deg: in\n"
                   "degrees, shares of stroke and turn, encoder counts and, with --speed, times,\n"
                   "with the angles at which valves with delays are to be switched. With --by\n"
                   "speed the rows are speeds at the file's supply pressure, with real flow, heat\n"
                   "and leakage, to about 0.2 deg; the valves need a conductance then. FILE - is\n"
                   "standard input.\n",
    .example = "lastbar table --speed '120 rpm' data/machines/trolley.ini",
    .options = rows,
    .run = run,
};
