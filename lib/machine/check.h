/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a machine can be calculated at all (errors), and what about it is unusual (warnings).
 *
 * The limits of single values come from the table of keys; the rules between values stand here:
 * the order of the four events, rods thinner than the bore, a crank that can turn, no air trapped
 * in no volume. A machine that passes is one that every later room takes.
 */
#ifndef LASTBAR_MACHINE_CHECK_H
#define LASTBAR_MACHINE_CHECK_H

#include "base/status.h"
#include "machine/keys.h"
#include "machine/machine.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Check a machine, whether read or built in code.
 * errors  out: appended; `key` names the key of the machine file that holds the value, with the
 *         timing of an end under that end's own section; file and line are not set
 * The timing of an end that does not work is not looked at.
 * Returns LB_OK or LB_BAD_INPUT. */
enum lb_status lb_machine_check(const struct lb_machine *machine, struct lb_errors *errors);

/* The same for a machine just read from a text, leaving out all that rests on a key whose value is
 * not known.
 * given    which keys the text gave; errors get the section, line and override of the key at fault,
 *          or of the given key it clashes with
 * unknown  by end and index of the row, as in struct lb_given; a key unknown under LB_ENDS is
 *          unknown at both ends */
enum lb_status lb_machine_check_text(const struct lb_machine *machine, const struct lb_given *given,
                                     const bool unknown[LB_ENDS + 1][LB_KEYS_MOST],
                                     struct lb_errors *errors);

/* Something unusual that does not stop the calculation. */
struct lb_warning {
  const char *code; /* one word for programs, e.g. "above_rated_pressure"; never changes */
  char text[320];   /* one line, no full stop */
};

enum {
  LB_WARNINGS_MOST = 32 /* of one machine */
};

/* What is unusual about a machine that passes lb_machine_check.
 * warning  out: warning[LB_WARNINGS_MOST]
 * given    which keys the text gave, or NULL when the machine does not come from a text; then
 *          nothing is said about settings without effect
 * Returns their number. */
size_t lb_machine_warnings(struct lb_warning *warning, const struct lb_machine *machine,
                           const struct lb_given *given);

#ifdef __cplusplus
}
#endif

#endif
