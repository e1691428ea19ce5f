/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trade's own spellings of units, asked before the general unit library. Use base/units.h,
 * which reads values.
 *
 * A unit comes in plain form (base/plain.h) and ends as a ratio and two zeros:
 *   SI = (value - unit_zero) numerator / denominator + si_zero
 */
#ifndef LASTBAR_BASE_UNITS_TABLE_H
#define LASTBAR_BASE_UNITS_TABLE_H

#include "base/units.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Whether capitals matter: they do where they are prefixes (mPa, MPa). */
enum lb_letter_case {
  LB_AS_WRITTEN,
  LB_ANY_CASE
};

struct lb_scale {
  double numerator, denominator; /* [SI unit] in a unit */
  double unit_zero;              /* [unit] */
  double si_zero;                /* [SI unit] */
};

/* Spellings, parted by '|', in plain form. */
struct lb_unit {
  enum lb_quantity quantity;
  enum lb_letter_case letter_case;
  const char *spellings;
  struct lb_scale scale;
};

/* Whether two pieces of `length` bytes are the same letters. */
bool lb_unit_same(const char *a, const char *b, size_t length, enum lb_letter_case letter_case);

/* Whether a plain unit is one of the spellings parted by '|'. */
bool lb_unit_spelled(const char *spellings, const char *form, enum lb_letter_case letter_case);

/* The row of a plain unit, or NULL.
 * quantity  what it has to measure
 * any_case  whether capitals are free even where they matter, to make a guess for a message */
const struct lb_unit *lb_unit_find(enum lb_quantity quantity, const char *form, bool any_case);

#ifdef __cplusplus
}
#endif

#endif
