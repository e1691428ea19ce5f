/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The machine that a command works on: its file, with the overrides of the command line in it.
 */
#ifndef LASTBAR_CLI_INPUT_H
#define LASTBAR_CLI_INPUT_H

#include "machine/check.h"
#include "machine/read.h"
#include "options.h"

#include <stdint.h>

struct input {
  struct lb_textfile *text;
  struct lb_given given; /* valid as long as the text */
  struct lb_machine machine;
  struct lb_warning warning[LB_WARNINGS_MOST]; /* warning[warnings] about the machine */
  size_t warnings;
  const char *name;  /* of the file, without its folders; "standard input" */
  uint32_t checksum; /* of the file's bytes, whatever the command line changed */
  char *changes;     /* that: "supply.pressure=5 bar gauge; margin=0.2 bar", "" for nothing */
};

/* Read the machine file that the first operand names, with --set and --expansion, and hand it to
 * what answers the command.
 * answer  returns the exit status; what it is given is released afterwards
 *
 * Returns that status, or one of its own after saying what is wrong with the file. */
int input_answer(const struct options *options,
                 int (*answer)(const struct input *input, const struct options *options));

/* The warnings about the machine that hold at speed, too.
 * warning  out: warning[LB_WARNINGS_MOST]; how many is returned */
size_t input_warnings_at_speed(struct lb_warning *warning, const struct input *input);

#endif
