/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was understood of a machine file: every key as given and in SI, with its default where none
 * was given, and the warnings.
 */
#ifndef LASTBAR_PAPER_ANSWER_CHECK_H
#define LASTBAR_PAPER_ANSWER_CHECK_H

#include "machine/check.h"
#include "machine/keys.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What the answer is made of. Everything is borrowed. */
struct lb_check_paper {
  const struct lb_machine *machine;
  const struct lb_given *given;     /* which keys the file gave */
  const char *file;                 /* its name as typed, for the next command */
  bool inch;                        /* show defaults in inch units */
  const struct lb_warning *warning; /* warning[warnings] */
  size_t warnings;
};

/* A table to read, with the warnings and the next command to type.
 * text  out: [UTF-8] to be released with free; unchanged on failure
 * Keys that say nothing about this machine are left out unless they were given.
 * Fails with LB_NO_MEMORY. */
enum lb_status lb_answer_check_text(char **text, const struct lb_check_paper *paper,
                                    struct lb_error *error);

/* One JSON object with a list "keys", each {"section", "key", "given": the text or null, "line",
 * "value", "unit"}: the value in SI, null where there is no single number.
 * json  out: as above
 * Fails with LB_NO_MEMORY, and with LB_BAD_INPUT when a text is not UTF-8. */
enum lb_status lb_answer_check_json(char **json, const struct lb_check_paper *paper,
                                    struct lb_error *error);

/* The same list as CSV. Fails likewise. */
enum lb_status lb_answer_check_csv(char **csv, const struct lb_check_paper *paper,
                                   struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
