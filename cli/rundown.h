/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Running a store down as the options ask it, with a bar when it lasts.
 */
#ifndef LASTBAR_CLI_RUNDOWN_H
#define LASTBAR_CLI_RUNDOWN_H

#include "duty/rundown.h"
#include "options.h"

#include <stdbool.h>

/* Run it down.
 * rundown  from lb_rundown_new; NULL when memory ran out
 * rule     of the fixed timing
 * flips    whether to look for what turns the ranking round
 * Fails as lb_rundown_find. */
enum lb_status rundown_ask(struct lb_rundown *rundown, const struct lb_machine *machine,
                           const struct options *options, enum lb_rule rule, bool flips,
                           struct lb_error *error);

#endif
