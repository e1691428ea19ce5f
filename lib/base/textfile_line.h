/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One line of a text as raw bytes: its blanks, its comment, its names, and whether it is text at
 * all. Use base/textfile.h, of which this is a part.
 *
 * A blank is a space or a tab. Nothing here needs bytes that are text, or a NUL behind them, and
 * nothing depends on the locale.
 */
#ifndef LASTBAR_BASE_TEXTFILE_LINE_H
#define LASTBAR_BASE_TEXTFILE_LINE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_NAME_MOST = 49 /* bytes of a section or key name; inih keeps no more of a section */
};

/* Part of a text: at[length], not ended by NUL; at may be NULL when length is 0. */
struct lb_span {
  const char *at;
  size_t length;
};

bool lb_line_is_blank(char c);

/* Without the blanks at both ends. */
struct lb_span lb_line_trimmed(struct lb_span s);

/* What stands before a comment, which begins with ';' or '#' at the start or after a blank. */
struct lb_span lb_line_content(struct lb_span s);

/* Fold a name for comparing: trimmed, lower case (A to Z; other letters stay), runs of blanks to
 * one space.
 * name  out: ended by NUL; "" on failure
 * Returns false when it would be over LB_NAME_MOST bytes. */
bool lb_line_fold(char name[LB_NAME_MOST + 1], struct lb_span s);

/* Whether these bytes are well-formed UTF-8 without control characters other than the tab.
 * error  out: names the first byte at fault, counted from 1, when they are not; may be NULL */
bool lb_line_is_text(struct lb_span s, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
