/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The machine that a command works on: its file, with the overrides of the command line in it.
 */
#ifndef LASTBAR_CLI_INPUT_H
#define LASTBAR_CLI_INPUT_H

#include "machine/check.h"
#include "machine/read.h"
#include "options.h"

struct input {
  struct lb_textfile *text;
  struct lb_given given; /* valid as long as the text */
  struct lb_machine machine;
  struct lb_warning warning[LB_WARNINGS_MOST]; /* warning[warnings] about the machine */
  size_t warnings;
};

/* Read the machine file that the first operand names, with --set and --expansion.
 * input  out: to be released with input_free, also after a failure
 * Returns ANSWERED, or the exit status after saying what is wrong. */
int input_read(struct input *input, const struct options *options);

void input_free(struct input *input);

#endif
