/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a command is to the rest of the command line: a row of the table in main.c.
 *
 * To add a command, write cmd_NAME.c with its row and name it in the table. The row drives the
 * reading of its options and its --help; the command itself calls the library in the order of the
 * data flow and prints one text.
 */
#ifndef LASTBAR_CLI_COMMAND_H
#define LASTBAR_CLI_COMMAND_H

#include "options.h"

/* How the program ends. */
enum exit_status {
  ANSWERED = 0,  /* warnings do not change it */
  NO_ANSWER = 1, /* the question asked has none; why, and what would make one, is said */
  BAD_USAGE = 2, /* or bad input */
  NO_FILE = 3    /* something could not be read or written */
};

struct command {
  const char *name;
  const char *operand;               /* what follows the options: "FILE", "[KEY]", "SHELL" or "" */
  int least_operands, most_operands; /* how many of it are taken */
  const char *summary;               /* what it answers: a phrase without full stop */
  const char *description;           /* lines for its --help, each with its line end */
  const char *example;               /* a line to type */
  const struct option_row *options;  /* option[...], closed by a row without name */

  /* Does the work; the operands are within their limits. Returns an enum exit_status. */
  int (*run)(const struct options *options);
};

extern const struct command command_start, command_help, command_check, command_cutoff,
    command_cycle, command_curves, command_rundown, command_table, command_chart,
    command_completion;

/* All commands, in the order in which a builder meets them, closed by NULL. */
extern const struct command *const commands[];

/* The command of a name, or NULL. */
const struct command *command_find(const char *name);

/* Print the commands with their summaries. */
void command_list(void);

/* Print the --help of a command. */
void command_usage(const struct command *command);

#endif
