/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the text of a machine file to a machine.
 *
 * Every key is looked up in the table of keys (machine/keys.h), every value is read with its unit,
 * what is left out gets its default, and the whole is checked (machine/check.h). All errors of a
 * text are found in one go, and nothing is clipped, guessed or ignored.
 */
#ifndef LASTBAR_MACHINE_READ_H
#define LASTBAR_MACHINE_READ_H

#include "base/status.h"
#include "base/textfile.h"
#include "machine/keys.h"
#include "machine/machine.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Read a machine.
 * machine  out: every member finite and within its limits; unchanged on failure
 * given    out: which keys the text gave, valid until the text is overridden, changed or freed; may
 *          be NULL; unchanged on failure
 * text     with any overrides already in it (lb_textfile_override); of a text with faults of form
 *          what is sound is judged, and nothing that may stand in its faulty lines is missed
 * errors   out: added to those of reading the text and of its overrides, and all put in the order
 *          of lines, those of overrides last; an error about a missing key has the line of its
 *          section's header, or 0 if there is no such section
 * Gauge pressures are relative to the surroundings of the same text. A setting that cannot have an
 * effect because another makes it void is an error when it came as an override. Errors that would
 * only follow from another error are left out.
 * Returns LB_OK; or LB_BAD_INPUT, also when a text with faults of form has no other errors. */
enum lb_status lb_machine_read(struct lb_machine *machine, struct lb_given *given,
                               const struct lb_textfile *text, struct lb_errors *errors);

#ifdef __cplusplus
}
#endif

#endif
