/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages on standard error.
 */
#include "message.h"

#include "command.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

int message_usage(const struct command *command, const char *format, ...) {
  const char *name = command ? command->name : "";
  fprintf(stderr, "lastbar: %s%s", name, command ? ": " : "");
  va_list arguments;
  va_start(arguments, format);
  vfprintf(stderr, format, arguments);
  va_end(arguments);
  fprintf(stderr, "; try: lastbar %s%s--help\n", name, command ? " " : "");
  return BAD_USAGE;
}

static int exit_status(enum lb_status status) {
  switch (status) {
  case LB_OK:
    return ANSWERED;
  case LB_NO_ANSWER:
  case LB_NUMERIC:
    return NO_ANSWER;
  case LB_IO:
  case LB_NO_MEMORY:
    return NO_FILE;
  case LB_BAD_INPUT:
    break;
  }
  return BAD_USAGE;
}

static const char *shown_name(const char *file) {
  return strcmp(file, "-") == 0 ? "standard input" : file;
}

int message_error(const struct lb_error *error, const struct options *options) {
  fputs("lastbar: ", stderr);
  if (error->set > options->sets)
    fputs("--expansion: ", stderr);
  else if (error->set > 0)
    fprintf(stderr, "--set %d: ", error->set);
  else if (error->file && error->line > 0)
    fprintf(stderr, "%s:%d: ", shown_name(error->file), error->line);
  else if (error->file)
    fprintf(stderr, "%s: ", shown_name(error->file));
  fprintf(stderr, "%s%s%s\n", error->key, *error->key ? ": " : "", error->text);
  return exit_status(error->status);
}

int message_errors(const struct lb_errors *errors, enum lb_status status,
                   const struct options *options) {
  for (size_t i = 0; i < errors->count; i++)
    message_error(&errors->item[i], options);
  if (errors->dropped > 0)
    fprintf(stderr, "lastbar: and %zu more\n", errors->dropped);
  return exit_status(status);
}

int message_no_answer(const struct options *options, enum lb_rule rule) {
  const char *file = shown_name(options->operand[0]);
  if (options->rule_given || rule == LB_AS_TIMED)
    fprintf(stderr, "lastbar: %s: no cut-off by the rule asked for (%s); the answer says why\n",
            file, lb_cutoff_rule_name(rule));
  else
    fprintf(stderr, "lastbar: %s: no cut-off releases the air %s; the answer says why\n", file,
            options->margin > 0 ? "with this margin" : "at back pressure");
  return NO_ANSWER;
}

int message_finish(int status) {
  bool failed = ferror(stdout) != 0;
  errno = 0;
  if (fclose(stdout) != 0 || failed) {
    const char *reason = errno ? strerror(errno) : "an earlier write failed";
    fprintf(stderr, "lastbar: could not write to standard output: %s\n", reason);
    return NO_FILE;
  }
  return status;
}
