/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What people type, made plain: the blanks, signs and raised figures Unicode offers for the same
 * thing become one form in ASCII, and a piece of input becomes fit to be shown in a message.
 *
 * Letters and digits are those of ASCII in every locale. Bytes that are not valid UTF-8 are carried
 * along as they are.
 */
#ifndef LASTBAR_BASE_PLAIN_H
#define LASTBAR_BASE_PLAIN_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_PLAIN_SHOWN = 64, /* room for lb_plain_shown, its NUL included */
  LB_PLAIN_UNIT = 64   /* room for lb_plain_unit, its NUL included */
};

bool lb_plain_digit(char c);
bool lb_plain_letter(char c);

/* A letter in lower case, any other character as it is. */
char lb_plain_lower(char c);

/* The first byte at or behind `at` that is not blank: not a space, tab, line end, nor one of the
 * spaces that keep a number and its unit on one line (U+00A0, U+2007, U+2009, U+202F). */
const char *lb_plain_skip(const char *at);

/* A piece of input as a message may show it: blanks at both ends removed, control characters turned
 * into blanks, and a long one cut after a whole character and ended with "...".
 * shown   out: shown[LB_PLAIN_SHOWN]
 * length  [bytes] the most of text to look at; it may be more than there is
 * Returns shown. */
const char *lb_plain_shown(char *shown, const char *text, size_t length);

/* How unlike two short names are: the number of letters to add, drop, replace or exchange with
 * their neighbour to turn one into the other. Names over LB_PLAIN_SHOWN - 1 bytes are as unlike as
 * can be. */
size_t lb_plain_distance(const char *a, const char *b);

/* A unit in plain form.
 *   kg·m/s²  kg*m/s^2  kg.m / s2  kg-m per s²   ->  kg m/s2
 *   µm -> um    °C, ℃ -> degC    25″ -> 25"    m⁻¹ -> m-1    cu. in. -> cu in
 * form  out: form[LB_PLAIN_UNIT]: single blanks and only where units are multiplied or words are
 *       parted, none at the ends, around '/', in front of '(', or inside a bracket at its ends; "?"
 *       for what cannot be a unit: one longer than any is, or nothing but marks; "" for nothing
 * unit  [UTF-8] as typed */
void lb_plain_unit(char *form, const char *unit);

#ifdef __cplusplus
}
#endif

#endif
