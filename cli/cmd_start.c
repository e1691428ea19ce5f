/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar start: a machine file to fill in.
 */
#include "command.h"
#include "message.h"

#include "machine/keys.h"

#include <stdio.h>
#include <stdlib.h>

static const struct option_row rows[] = {OPTION_HELP, OPTION_END};

static int run(const struct options *options) {
  char *text = lb_keys_starter();
  if (!text) {
    struct lb_error error;
    lb_error_set(&error, LB_NO_MEMORY, "no memory for the starter file");
    return message_error(&error, options);
  }
  fputs(text, stdout);
  free(text);
  return ANSWERED;
}

const struct command command_start = {
    .name = "start",
    .operand = "",
    .summary = "a commented machine file to begin with",
    .description =
        "Prints a machine file with every key explained. It can be calculated as it is;\n"
        "put your own values in, and take the mark from the lines you need.\n",
    .example = "lastbar start > mine.ini",
    .options = rows,
    .run = run,
};
