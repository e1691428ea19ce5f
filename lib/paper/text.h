/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A text that grows in memory, and the width it has on paper.
 *
 * Everything a person reads is first put together here and handed over whole, so that an answer is
 * printed in full or not at all. Running out of memory is remembered in the text and told once, by
 * lb_text_take, so that what adds to it need not look.
 */
#ifndef LASTBAR_PAPER_TEXT_H
#define LASTBAR_PAPER_TEXT_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Starts as all zeroes. */
struct lb_text {
  char *bytes; /* [UTF-8] closed by a zero; NULL while empty */
  size_t length, capacity;
  bool failed; /* memory ran out: the text is not whole */
};

/* Add a printf-style text. */
void lb_text_add(struct lb_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Add words in lines of at most `width` columns, and a line end. A number stays with the word
 * behind it, which is its unit as a rule, and a unit like L/(s bar) stays whole; what is longer
 * than a line has one of its own.
 *
 * first, rest  what the first line begins with, and what every other does
 * words        [UTF-8] parted by single blanks */
void lb_text_wrap(struct lb_text *text, size_t width, const char *first, const char *rest,
                  const char *words);

/* Hand the text over and leave it empty.
 * bytes  out: to be released with free; "" for an empty text; unchanged on failure
 * Fails with LB_NO_MEMORY when the text is not whole. */
enum lb_status lb_text_take(char **bytes, struct lb_text *text, struct lb_error *error);

/* Release the text and leave it empty. Takes an empty one too. */
void lb_text_free(struct lb_text *text);

/* Columns that a piece of UTF-8 takes on a terminal: none for a combining mark, two for the wide
 * letters of East Asia and for pictures, one for the rest. */
size_t lb_text_columns(const char *utf8);

#ifdef __cplusplus
}
#endif

#endif
