/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What commands about one machine at a speed ask the library.
 */
#ifndef LASTBAR_CLI_RUNNING_H
#define LASTBAR_CLI_RUNNING_H

#include "input.h"
#include "options.h"
#include "paper/answer_running.h"

/* Ask, and print what `write` makes of the answer.
 *
 * rule   the question asked
 * alone  whether the other rules do not matter
 * write  as lb_answer_running_cutoff_text, with the format that the options ask for
 * Returns the exit status. */
int running_answer(const struct input *input, const struct options *options, enum lb_rule rule,
                   bool alone,
                   enum lb_status (*write)(char **text, const struct lb_running_paper *paper,
                                           const struct options *options, struct lb_error *error));

#endif
