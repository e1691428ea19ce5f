/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Putting a changed value of a machine back into the text it was read from.
 *
 * Only the value itself changes; comments, spacing and every other line stay as they are.
 */
#ifndef LASTBAR_MACHINE_WRITE_H
#define LASTBAR_MACHINE_WRITE_H

#include "base/status.h"
#include "base/textfile.h"
#include "machine/keys.h"
#include "machine/machine.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Write the value that a machine has for a key into a text.
 * text     changed only on success; a key it does not have is added to its section
 * key      a row of the table
 * end      the end of its section; for a row of timing LB_ENDS is [timing], and both working ends
 *          need the same value
 * machine  read from that text, with the value changed since; it gives the ambient pressure that
 *          gauge pressures count from, and the linkage that shares of the stroke refer to
 * The value is written in the unit that the text has for it, else in the key's usual unit, with the
 * fewest digits that read back to the same double. Where no number of that unit does (degrees
 * cannot express every double in radians) it is the one that reads back nearest, within a few units
 * of the last place. A share of the stroke that could not be read back so becomes an angle.
 * Fails (LB_BAD_INPUT) when the machine has no value for the key (a cut-off left to the rule), the
 * two ends differ, the text gives the alternative of the key (altitude for pressure), an end has
 * its own value that would hide this one, or the key is the altitude, which a machine keeps as
 * pressure; and with LB_NO_MEMORY. */
enum lb_status lb_machine_write_value(struct lb_textfile *text, const struct lb_key *key,
                                      enum lb_end end, const struct lb_machine *machine,
                                      struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
