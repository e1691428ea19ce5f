/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Everything the program says on standard error, and the exit status that goes with it.
 *
 * A message is one line: "lastbar: where: what was found; what would do".
 */
#ifndef LASTBAR_CLI_MESSAGE_H
#define LASTBAR_CLI_MESSAGE_H

#include "base/status.h"
#include "options.h"

struct command;

/* A mistake on the command line. Always returns BAD_USAGE.
 * command  the command it was made with, or NULL */
int message_usage(const struct command *command, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* One error of the library: "lastbar: FILE:LINE: [section] key: text", with the option in place of
 * FILE:LINE when the value came from one. Returns the exit status for it. */
int message_error(const struct lb_error *error, const struct options *options);

/* All errors of a list, and how many more were not kept. Returns the exit status for `status`. */
int message_errors(const struct lb_errors *errors, enum lb_status status,
                   const struct options *options);

/* That the question asked has no answer. Always returns NO_ANSWER.
 * rule  the rule it was about */
int message_no_answer(const struct options *options, enum lb_rule rule);

/* See that standard output took everything; the last thing before the program ends.
 * Returns `status`, or NO_FILE after saying what went wrong. */
int message_finish(int status);

#endif
