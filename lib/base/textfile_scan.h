/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the bytes of a text to its sections and values, with every fault of form on the way. Use
 * base/textfile.h, of which this is a part.
 */
#ifndef LASTBAR_BASE_TEXTFILE_SCAN_H
#define LASTBAR_BASE_TEXTFILE_SCAN_H

#include "base/status.h"
#include "base/textfile.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

#define LB_LINE_HOPELESS ((size_t)1024 * 1024) /* [bytes] a longer line ends the reading */

/* Fill an empty text's lists from its bytes and mark what the faults touch.
 * usable  out: whether what was found may be used; false for what is not text and without memory
 * errors  out: appended in the order of lines
 * Returns LB_OK; LB_BAD_INPUT for any fault; or LB_NO_MEMORY. */
enum lb_status lb_textfile_scan(struct lb_textfile *text, bool *usable, struct lb_errors *errors);

#ifdef __cplusplus
}
#endif

#endif
