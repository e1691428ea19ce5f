/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The form of a rule between values, for the files that hold some. Use machine/check.h, which tries
 * them all.
 *
 * A rule is tried only when every key it rests on is known and within its limits, so that one slip
 * gives one message; it passes where another rule has already said what is wrong.
 */
#ifndef LASTBAR_MACHINE_CHECK_RULES_H
#define LASTBAR_MACHINE_CHECK_RULES_H

#include "base/status.h"
#include "machine/machine.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_RULE_RESTS = 12 /* keys a rule may rest on, and one to close them */
};

struct lb_rule {
  /* Whether it holds at an end; LB_OK or an error: what was found, and what would do. */
  enum lb_status (*test)(const struct lb_machine *machine, enum lb_end end, struct lb_error *error);
  bool of_end;        /* to be tried at each working end */
  bool needs_linkage; /* rests on a crank that can turn */
  struct {
    const char *section, *name;
  } rests[LB_RULE_RESTS]; /* the keys it rests on, the one to be blamed first; closed by NULL */
};

/* Some rules, in the order they are to be tried. */
struct lb_rules {
  const struct lb_rule *rule; /* rule[count] */
  size_t count;
};

extern const struct lb_rules lb_rules_of_valve; /* valves, tube and supply line */
extern const struct lb_rules lb_rules_of_store; /* store, regulator and load */
extern const struct lb_rules lb_rules_of_bench; /* switch disc and cams */

#ifdef __cplusplus
}
#endif

#endif
