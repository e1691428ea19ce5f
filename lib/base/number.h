/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers as people write them, read and printed alike in every locale.
 *
 * A number stands at the front of a text and may be followed by a unit, which is left to the
 * caller:
 *   plain decimals   50   0.25   .25   0,25   1.2e-3   -3   +3   −3 (the true minus sign, U+2212)
 *   fractions        1/2   1-1/4   -3/8
 * A comma with one to three digits before it, the first not 0, and exactly three behind it may be a
 * decimal or a thousands comma: "10,585" is refused and both readings are shown; "0,250" and
 * "10,5850" can only be decimals.
 */
#ifndef LASTBAR_BASE_NUMBER_H
#define LASTBAR_BASE_NUMBER_H

#include "base/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Room for a number printed by lb_number_write, its NUL included. */
enum {
  LB_NUMBER_TEXT = 40
};

/* Read the number at the front of a text.
 * number  out: the double nearest to the decimal written, or to the fraction; finite, never -0
 * rest    out: points into text at the first byte behind the number that is not blank, or at the
 *         end of the text
 * text    [UTF-8] blanks in front are ignored; so are the blank characters of Unicode that keep
 *         numbers and units on one line
 * Fails (LB_BAD_INPUT) on an empty text, inf, nan, hexadecimal, an uncertain comma, separators of
 * thousands, two numbers ("4 5 mm", "5-10 mm", "1 1/4 in"), a fraction that is improper or over
 * zero, and a value beyond the range of a double; also with LB_NO_MEMORY. */
enum lb_status lb_number_read(double *number, const char **rest, const char *text,
                              struct lb_error *error);

/* Print a value for a person to read.
 * text    out: text[LB_NUMBER_TEXT]; decimal point, no exponent between 1e-4 and 1e15, never "-0"
 * value   finite
 * digits  1 ... 17: significant digits wanted; digits before the point are never rounded away
 * Returns text. */
const char *lb_number_write(char *text, double value, int digits);

/* A finite value rounded to a number of significant digits, 1 ... 15. */
double lb_number_round(double value, int digits);

#ifdef __cplusplus
}
#endif

#endif
