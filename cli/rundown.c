/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The question to the library.
 */
#include "rundown.h"

#include "progress.h"

#include <stdio.h>
#include <unistd.h>

static void tell(double share, void *context) {
  progress_tell(context, share, progress_clock());
}

enum lb_status rundown_ask(struct lb_rundown *rundown, const struct lb_machine *machine,
                           const struct options *options, enum lb_rule rule, bool flips,
                           struct lb_error *error) {
  struct progress progress;
  const struct lb_rundown_question question = {.rule = rule,
                                               .margin = options->margin,
                                               .speed = options->speed,
                                               .flips = flips,
                                               .progress = tell,
                                               .context = &progress};
  if (!rundown)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for running the store down");
  progress_begin(&progress, stderr, isatty(STDERR_FILENO) == 1, progress_clock());
  enum lb_status status = lb_rundown_find(rundown, machine, &question, error);
  progress_end(&progress);
  return status;
}
