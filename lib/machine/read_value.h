/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading the text of one value as its row of the table of keys says.
 */
#ifndef LASTBAR_MACHINE_READ_VALUE_H
#define LASTBAR_MACHINE_READ_VALUE_H

#include "base/status.h"
#include "machine/keys.h"
#include "machine/machine.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What a text says. Which members count depends on the kind of the key. */
struct lb_value {
  double number;   /* [SI unit of quantity]; the index of the word for LB_KEY_CHOICE; 0 for
                      isothermal and infinity for adiabatic with LB_KEY_HEAT; the pressure of an
                      LB_KEY_RATING */
  bool is_time;    /* LB_KEY_RAMP: the number is a time [s], not an angle */
  bool is_share;   /* LB_KEY_EVENT: the number is a share [1] of the stroke its row speaks of */
  bool is_unknown; /* the value is not known, and its row allows that */
  double amount;   /* LB_KEY_RATING: [m3] > 0 */
  bool is_free;    /* LB_KEY_RATING: the amount is free air, not room for air */
  int angles;      /* LB_KEY_ANGLES: how many, and each [rad] */
  double angle[LB_CYLINDERS_MOST];
};

/* Read one value.
 * value    out
 * key      its row; not one of kind LB_KEY_TEXT, which needs no reading
 * text     as in the machine file, not empty
 * ambient  [Pa absolute] what gauge pressures count from; NaN when it is not known, and they are
 *          then refused
 * Fails (LB_BAD_INPUT) when it cannot be read or lies outside the limits of the row; the message
 * has no file, line or key. */
enum lb_status lb_value_read(struct lb_value *value, const struct lb_key *key, const char *text,
                             double ambient, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
